"""The small forms of the place Parts: count a part, add one."""

from __future__ import annotations

from catalog.money import minor
from catalog.search import Entry
from triage.actions.parts import add_part, change_part, get_part
from triage.bench_file import BenchFile
from triage.screens import parts_draw
from triage.screens.dialogs import Form, Line
from triage.screens.places import Place


def one_more(bench: BenchFile, part_id: int, by: int) -> object:
    """`by` pieces more than there are now, never below none; nothing is written where nothing changes."""
    held = get_part(bench, part_id)
    quantity = max(0, held.quantity + by)
    return change_part(bench, part_id, quantity=quantity) if quantity != held.quantity else held


def count_form(place: Place, entry: Entry) -> Form:
    """How many there are, and where."""

    def send(form: Form, typed: dict[str, str]) -> None:
        place.act(
            lambda bench: change_part(
                bench, entry.id, quantity=parts_draw.pieces(typed["quantity"]), place=typed["place"]
            ),
            form.accepted,
            otherwise=form.refused,
        )

    lines = [Line("quantity", "pieces", str(entry.quantity or 0)), Line("place", "lies where", entry.place)]
    return Form(entry.description or entry.part_number, lines, send)


def add_form(place: Place, query: str) -> Form:
    """A part for the drawer; what was searched for is taken over as its description."""
    currency = place.shell.bench.currency

    def send(form: Form, typed: dict[str, str]) -> None:
        place.act(lambda bench: _added(bench, typed), form.accepted, otherwise=form.refused)

    lines = [
        Line("description", "what it is", query, "electrolytic 100 uF 25 V radial"),
        Line("part_number", "part number, if it has one"),
        Line("quantity", "pieces", "1"),
        Line("place", "lies where", "", "drawer 3"),
        Line("unit_cost", f"paid for each, {currency}", "", "empty: not known"),
    ]
    return Form("Into the drawer", lines, send)


def _added(bench: BenchFile, typed: dict[str, str]) -> object:
    cost = typed["unit_cost"]
    return add_part(
        bench,
        typed["description"],
        part_number=typed["part_number"],
        quantity=parts_draw.pieces(typed["quantity"]),
        place=typed["place"],
        unit_cost=minor(cost, bench.currency) if cost else None,
    )
