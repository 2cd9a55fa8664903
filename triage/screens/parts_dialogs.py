"""The small forms of the place Parts: count a part, move lines, add one."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from textual.widget import Widget

from catalog.money import minor
from catalog.search import Entry
from triage.actions.drawer import NO_PLACE, Counted, DrawerLine, consequences, lines_of, move_lines
from triage.actions.parts import add_part, change_part
from triage.bench_file import BenchFile
from triage.screens import parts_draw
from triage.screens.dialogs import Form, Line, Tick, Ticks
from triage.screens.places import Place


def count_form(place: Place, entry: Entry) -> Form:
    """How many there are, and where."""

    def send(form: Form, typed: dict[str, str]) -> None:
        def done(found: Counted) -> None:
            place.say(f"{found.told}; u takes it back")
            form.accepted()

        place.act(lambda bench: _counted(bench, entry.id, typed), done, otherwise=form.refused)

    lines = [Line("quantity", "pieces", str(entry.quantity or 0)), Line("place", "lies where", entry.place)]
    return Form(entry.description or entry.part_number, lines, send)


def _counted(bench: BenchFile, part_id: int, typed: dict[str, str]) -> Counted:
    quantity = parts_draw.pieces(typed["quantity"])
    found = consequences(bench, {part_id: quantity})
    change_part(bench, part_id, quantity=quantity, place=typed["place"])
    return found


class MoveForm(Form):
    """Which lines of a place move, and where to."""

    def __init__(
        self, lines: Sequence[DrawerLine], part: int, send: Callable[[MoveForm, dict[str, str]], None]
    ) -> None:
        """`lines` of one place; `part` is ticked at first."""
        super().__init__(
            f"Move from {lines[0].place or NO_PLACE}",
            [Line("place", "to", "", "drawer 2, box B")],
            lambda form, typed: send(self, typed),
            about="Enter moves what is ticked; shift+Tab goes to the list, Space ticks more.",
        )
        self._things = [Tick(str(line.part), f"{line.held} × {line.name}") for line in lines]
        self._part = part

    def compose_more(self) -> Sequence[Widget]:
        """The lines of the place."""
        return [Ticks(self._things, [str(self._part)])]

    @property
    def ticked(self) -> tuple[int, ...]:
        """The part ids ticked."""
        return tuple(map(int, self.query_one(Ticks).ticked))


def move_form(place: Place, entry: Entry) -> None:
    """Move a line, and others of its place, to another place."""

    def send(form: MoveForm, typed: dict[str, str]) -> None:
        ticked, where = form.ticked, typed["place"]

        def done(moved: Sequence[object]) -> None:
            place.say(f"{len(moved)} moved to {where or NO_PLACE}; u takes it back")
            form.accepted()

        place.act(lambda bench: move_lines(bench, ticked, where), done, otherwise=form.refused)

    place.work_out(
        lambda bench: lines_of(bench, entry.place),
        lambda lines: _show(place, MoveForm(lines, entry.id, send)),
        kind="ask",
    )


def _show(place: Place, form: Form) -> None:
    place.app.push_screen(form)


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
