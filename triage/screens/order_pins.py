"""The person's word on the order, said on a line and taken back on its row."""

from __future__ import annotations

from triage.actions.pins import KINDS, lift_pin, pin_order, said_in_words, said_of
from triage.actions.plan_view import PlannedLine, PlanView
from triage.papers import OrderSheet
from triage.screens.dialogs import Choice, Choose
from triage.screens.order_draw import Pin, Target
from triage.screens.places import Place


def ask_pin(place: Place, plan: PlanView, row: Target | None) -> None:
    """Ask what is to hold of a line, its supplier, or the needs it serves."""
    if isinstance(row, OrderSheet):
        supplier, sku, packs, choices = row.supplier, "", 0, _of_supplier(row.supplier)
    elif isinstance(row, PlannedLine) and row.supplier and row.coming is None:
        supplier, sku, packs, choices = row.supplier, row.sku, row.packs, _of_line(row)
    else:
        place.say("stand on a supplier or a line that is bought; h keeps it, or closes its supplier")
        return

    def chosen(word: str | None) -> None:
        if word is None:
            return
        first, _, need = word.partition(" ")
        kind = KINDS[first]
        of_line = sku if word in {"keep", "not line"} else ""
        kept, of = packs if kind == "keep" else 0, int(need) if need.isdigit() else None
        place.act(
            lambda bench: pin_order(bench, plan.lot.id, kind, supplier, of_line, packs=kept, need=of),
            lambda pin: place.say(f"{said_in_words(place.shell.bench, pin)}; the plan keeps to it"),
        )

    place.app.push_screen(Choose("What is to hold?", choices, "Whatever it is, the plan tells what it costs."), chosen)


def _of_supplier(name: str) -> list[Choice]:
    return [
        Choice("not", f"buy nothing from {name}"),
        Choice("only", f"buy only from {name}, and what the drawer has"),
    ]


def _of_line(line: PlannedLine) -> list[Choice]:
    name = line.description or line.part_number
    choices = [
        Choice("keep", f"keep this line: {line.packs} of {line.sku}"),
        Choice("not line", f"do not buy {line.sku}, {name}"),
        *_of_supplier(line.supplier),
    ]
    for use in line.uses:
        if use.need is not None:
            whose = f"{use.part} for unit {use.unit}"
            choices.append(Choice(f"only {use.need}", f"{whose}: only from {line.supplier}"))
            choices.append(Choice(f"not {use.need}", f"{whose}: not from {line.supplier}"))
    return choices


def lift(place: Place, pin: Pin) -> None:
    """Take a word back."""
    place.act(
        lambda bench: lift_pin(bench, pin.number),
        lambda held: place.say(f"no more: {said_of(held) if held.need is None else pin.words}"),
    )
