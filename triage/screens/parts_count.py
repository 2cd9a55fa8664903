"""Counting a place of the drawer: one walks through what should lie there and types what does, then keeps it all."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.widgets import Static

from triage.actions.drawer import NO_PLACE, Counted, DrawerLine, PlaceSum, consequences, count_place, lines_of, places
from triage.screens.dialogs import Choice, Choose, Over
from triage.screens.places import Place
from triage.screens.plain import counted, fitted, plain, stacked, styled
from triage.screens.rows import RowList

MOST_DIGITS = 6
_WALK = "digits count this line, Enter keeps it and goes on, w is done already, Esc leaves"
_SURE = "Enter keeps it all as one step, ↑ goes back to the lines, Esc leaves it as it was"


class CountPlace(Over[None]):
    """The lines of one place, each with what is noted and what was counted."""

    CSS_PATH = "parts_order.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "leave", tooltip="Leave the drawer as it was noted", id="counting.leave"),
        Binding("enter", "go_on", "next", priority=True, tooltip="Keep this count, on to the next", id="counting.next"),
        Binding("w", "sum_up", "done", tooltip="What the counts would change", id="counting.sum"),
        Binding("backspace", "rub_out", "rub out", show=False, tooltip="Rub out a digit", id="counting.rub"),
    ]

    def __init__(self, place: Place, lines: Sequence[DrawerLine]) -> None:
        """Count `lines`, all of one place of the drawer; `place` is the screen below."""
        super().__init__()
        self._below = place
        self._lines = tuple(lines)
        self._counted: dict[int, int] = {}
        self._typed = ""
        self._sure: Counted | None = None
        self._asked: dict[int, int] = {}
        """What was summed up: just that is written."""

    def compose(self) -> ComposeResult:
        """The place, its lines, what would change, and the keys."""
        with Vertical(classes="-dialog"):
            yield Static(plain(f"Count: {self._lines[0].place or NO_PLACE}", "bold"), classes="-title")
            yield RowList(id="count-rows")
            yield Static("", id="count-told")
            yield Static("", classes="-refused")
            yield Static(plain(_WALK), classes="-keys")

    def on_mount(self) -> None:
        """Start on the first line."""
        rows = self.query_one(RowList)
        rows.show(len(self._lines), self._row, at=0)
        rows.focus()

    def _row(self, row: int, width: int) -> Content:
        line = self._lines[row]
        rows = self.query_one(RowList)
        now = self._typed if row == rows.cursor and self._typed else self._counted.get(line.part, "")
        promised = "; ".join(map(str, line.promised))
        aside = min(30, width // 3) if any(one.promised for one in self._lines) else 0
        return styled(
            fitted(f"noted {line.held}", 11),
            (fitted(f"here {now}" if now != "" else "here …", 12), "bold"),
            fitted(line.name, max(10, width - 24 - aside)),
            " ",
            (fitted(promised, aside), "dim"),
        )

    def on_key(self, event: events.Key) -> None:
        """A digit is part of the count of this line."""
        if event.character and event.character.isascii() and event.character.isdigit():
            event.stop()
            self._back_to_lines()
            if len(self._typed) < MOST_DIGITS:
                self._typed += event.character
            self.query_one(RowList).refresh()
        elif event.key in {"up", "down", "pageup", "pagedown", "home", "end"}:
            self._back_to_lines()
            self._keep()

    def action_rub_out(self) -> None:
        """One digit less; without any, what was counted of this line is forgotten."""
        self._back_to_lines()
        if self._typed:
            self._typed = self._typed[:-1]
        else:
            self._counted.pop(self._here.part, None)
        self.query_one(RowList).refresh()

    def action_go_on(self) -> None:
        """Keep what stands for this line and go to the next; after the last one, sum up; then write it."""
        if self._sure is not None:
            self._write()
            return
        rows = self.query_one(RowList)
        self._keep(noted=True)
        if rows.cursor == len(self._lines) - 1:
            self.action_sum_up()
        else:
            rows.action_step(1)

    def action_sum_up(self) -> None:
        """Say what the counts would change."""
        self._keep()
        counted = self._asked = dict(self._counted)
        self._below.work_out(lambda bench: consequences(bench, counted), self._ask, kind="count")

    def _ask(self, found: Counted) -> None:
        if not self.is_mounted:
            return
        self._sure = found
        left = len(self._lines) - len(self._counted)
        lines = [plain(str(one), "bold") for one in found.changed] or [plain("everything as it was noted", "bold")]
        lines += [plain(f"! {told}", "bold") for told in found.waiting]
        if left:
            lines.append(plain(f"{left} not counted; they stay as noted", "dim"))
        self.query_one("#count-told", Static).update(stacked(lines))
        self.query_one(".-keys", Static).update(plain(_SURE))

    def _write(self) -> None:
        noted = {line.part: line.held for line in self._lines}  # another program may have taken some meanwhile
        where, counted = self._lines[0].place, {part: n for part, n in self._asked.items() if n != noted[part]}

        def done(found: Counted) -> None:
            self._below.say(f"{found.told}; u takes it back" if found.changed else found.told)
            if self.is_current:
                self.dismiss(None)

        self._below.act(lambda bench: count_place(bench, where, counted), done, otherwise=self._refused)

    def _refused(self, why: str) -> None:
        self._back_to_lines()
        self.query_one(".-refused", Static).update(plain(f"! {why}", "bold"))

    def _keep(self, *, noted: bool = False) -> None:
        """What was typed counts for the line one stands on; with `noted`, a line without a number is as noted."""
        if self._typed:
            self._counted[self._here.part] = int(self._typed)
            self._typed = ""
        elif noted:
            self._counted.setdefault(self._here.part, self._here.held)
        self.query_one(RowList).refresh()

    def _back_to_lines(self) -> None:
        if self._sure is not None:
            self._sure = None
            self.query_one("#count-told", Static).update("")
            self.query_one(".-keys", Static).update(plain(_WALK))

    @property
    def _here(self) -> DrawerLine:
        return self._lines[self.query_one(RowList).cursor or 0]

    def action_leave(self) -> None:
        """Nothing is kept."""
        self.dismiss(None)


def choose_place(place: Place, title: str, then: Callable[[str], None]) -> None:
    """Choose one of the places in which parts lie; `then` gets its name."""

    def offer(found: tuple[PlaceSum, ...]) -> None:
        if not found:
            place.say("nothing lies in the drawer yet")
            return
        choices = [Choice(str(row), one.place or NO_PLACE, _about(one)) for row, one in enumerate(found)]

        def chosen(picked: str | None) -> None:
            if picked is not None:
                then(found[int(picked)].place)

        place.app.push_screen(Choose(title, choices), chosen)

    place.work_out(places, offer, kind="ask")


def count_a_place(place: Place) -> None:
    """Choose a place and count what lies there."""

    def shown(found: tuple[DrawerLine, ...]) -> None:
        place.app.push_screen(CountPlace(place, found))

    def lines(where: str) -> None:
        place.work_out(lambda bench: lines_of(bench, where), shown, kind="ask")

    choose_place(place, "Count which place?", lines)


def _about(one: PlaceSum) -> str:
    promised = f", {one.promised} promised" if one.promised else ""
    return f"{counted(one.lines, 'line', 'lines')}, {counted(one.pieces, 'piece', 'pieces')}{promised}"
