"""The person's word on the order, said on a line and taken back on its row."""

from __future__ import annotations

from triage.actions.pins import KINDS, lift_pin, pin_order, said_in_words, said_of
from triage.actions.plan_view import PlannedLine, PlanView
from triage.screens.dialogs import Choice, Choose
from triage.screens.order_draw import Pin, Target
from triage.screens.places import Place


def ask_pin(place: Place, plan: PlanView, line: Target | None) -> None:
    """Ask what is to hold of a line or its supplier."""
    if not isinstance(line, PlannedLine) or not line.supplier:
        place.say("stand on a line that is bought; h keeps it, or closes its supplier")
        return
    name = line.description or line.part_number
    choices = [
        Choice("keep", f"keep this line: {line.packs} of {line.sku}"),
        Choice("not line", f"do not buy {line.sku}, {name}"),
        Choice("not", f"buy nothing from {line.supplier}"),
        Choice("only", f"buy only from {line.supplier}, and what the drawer has"),
    ]
    for use in line.uses:
        if use.need is not None:
            whose = f"{use.part} for unit {use.unit}"
            choices.append(Choice(f"only {use.need}", f"{whose}: only from {line.supplier}"))
            choices.append(Choice(f"not {use.need}", f"{whose}: not from {line.supplier}"))

    def chosen(word: str | None) -> None:
        if word is None:
            return
        first, _, need = word.partition(" ")
        kind = KINDS[first]
        sku = line.sku if word in {"keep", "not line"} else ""
        of = int(need) if need.isdigit() else None
        place.act(
            lambda bench: pin_order(
                bench, plan.lot.id, kind, line.supplier, sku, packs=line.packs if kind == "keep" else 0, need=of
            ),
            lambda pin: place.say(f"{said_in_words(place.shell.bench, pin)}; the plan keeps to it"),
        )

    place.app.push_screen(Choose("What is to hold?", choices, "Whatever it is, the plan tells what it costs."), chosen)


def lift(place: Place, pin: Pin) -> None:
    """Take a word back."""
    place.act(
        lambda bench: lift_pin(bench, pin.number),
        lambda held: place.say(f"no more: {said_of(held) if held.need is None else pin.words}"),
    )
