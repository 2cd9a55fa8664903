"""The dialog that says what exactly a needed part is: typed in one's own words, read and matched at every keystroke."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar, cast

import msgspec
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Input, Static

from catalog.reading import Reading
from catalog.text import clean_line
from triage.actions.finding import Found, Search, search
from triage.actions.wording import settled
from triage.bench_file import BenchFile
from triage.screens import parts_draw
from triage.screens.dialogs import Over
from triage.screens.plain import fitted, plain, styled
from triage.screens.room import GaveWay
from triage.screens.rows import RowList
from triage.wants import WantedPart

if TYPE_CHECKING:
    from triage.screens.app import LotwrightApp


_STANDS_IN = frozenset({"drop-in", "rework", "compromise"})
"""Grades of what is another part than the one described: its words would be another wish."""


def searched(bench: BenchFile, text: str, check_way: Callable[[], None], kind: str | None = None) -> Search:
    """Search in the back room, giving way to a newer search.

    Raises:
        GaveWay: something newer waits; this one is done afterwards if it is still wanted.
    """
    gave_way = False

    def cancelled() -> bool:
        nonlocal gave_way
        try:
            check_way()
        except GaveWay:
            gave_way = True
        return gave_way

    found = search(bench, text, kind=kind, cancelled=cancelled)
    if gave_way:
        raise GaveWay
    return found


class Way(msgspec.Struct, frozen=True):
    """One way to read what was typed; `words` say only that, or None."""

    reading: Reading
    words: str | None


class Described(msgspec.Struct, frozen=True):
    """What the person says a wanted part is."""

    text: str
    pieces: str


class Describe(Over[None]):
    """Say what a wanted part is. Enter keeps it; what is refused is said here and nothing typed is lost."""

    CSS_PATH = "parts_order.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "leave", tooltip="Leave it as it was", id="describe.leave"),
        Binding(
            "down", "into_list", "list", show=False, priority=True, tooltip="Into the list below", id="describe.list"
        ),
    ]

    def __init__(self, item: WantedPart, send: Callable[[Describe, Described], None]) -> None:
        """`send` gets this dialog and what was said; it calls `accepted` or `refused`."""
        super().__init__()
        self._item = item
        self._send = send
        self._text = item.need.text if item.need else item.fitted_before or item.on_sheet
        self._ways: tuple[Way, ...] = ()
        self._found: tuple[Found, ...] = ()

    def compose(self) -> ComposeResult:
        """What it is for, the lines, how it is read, what fits."""
        item = self._item
        with Vertical(classes="-dialog"):
            yield Static(plain(f"Unit {item.unit}, {item.class_name}: {item.part_name}", "bold"), classes="-title")
            yield Static(plain(f"for: {item.what or 'what was described by hand'}; read as {item.kind}"))
            if item.alike:
                yield Static(plain(item.alike), classes="-about")
            if item.on_sheet:
                yield Static(plain(f"the sheet of this model says: {item.on_sheet}"), classes="-about")
            with Horizontal(classes="-line"):
                yield Static(plain("what exactly"), classes="-label")
                hint = parts_draw.example(item.kind)
                yield Input(
                    clean_line(self._text), placeholder=hint, id="describe-text", compact=True, select_on_focus=False
                )
            with Horizontal(classes="-line"):
                yield Static(plain("pieces"), classes="-label")
                yield Input(str(item.pieces), id="describe-pieces", compact=True, max_length=4)
            yield Static("", id="describe-read")
            yield RowList(
                id="describe-rows", empty="say what it is, or nothing like it is at hand; it may be described anyway"
            )
            yield Static("", classes="-refused")
            yield Static(
                plain("Enter keeps it, ↓ into the list, Enter there takes its words, Esc leaves"),
                classes="-keys",
            )

    def on_mount(self) -> None:
        """Start typing."""
        self.query_one("#describe-text", Input).focus()
        self._look(self._text)

    @on(Input.Changed, "#describe-text")
    def _typed(self, event: Input.Changed) -> None:
        event.stop()
        self.query_one(".-refused", Static).update("")
        if event.value != self._text:
            self._look(event.value)

    def _look(self, text: str) -> None:
        self._text = text
        kind = self._kind
        shell = cast("LotwrightApp", self.app)
        way = shell.room("find").check_way
        if shell.place is not None:
            shell.place.work_out(
                lambda bench: _looked(bench, text, way, kind), self._show, kind="describe", lane="find"
            )

    @property
    def _kind(self) -> str | None:
        return None if self._item.kind == "listed" else self._item.kind

    def _show(self, looked: tuple[Search, tuple[Way, ...]]) -> None:
        found, ways = looked
        if found.query != self._text or not self.is_mounted:
            return
        self._ways = ways if self._kind else ()
        hits = tuple(found.found) if found.reading is not None else ()  # else it is the whole drawer
        fitting = tuple(one for one in hits if one.hit.grade not in {None, "refuse"} or one.hit.same_number)
        self._found = fitting or hits[:20]
        self.query_one("#describe-read", Static).update(self._read(found))
        self.query_one(RowList).show(len(self._ways) + len(self._found), self._row, at=0)

    def _read(self, found: Search) -> Content:
        if self._ways:
            return styled((" more than one way to read it; ↓ and Enter on the one that is meant:", "bold"))
        if found.reading is None:
            return styled((" type a value, a size or the number on it, in any order", "dim"))
        if self._kind is None:
            return styled((" a part of this kind is known by its number alone", "dim"))
        return parts_draw.reading(found)

    def _row(self, row: int, width: int) -> Content:
        if row < len(self._ways):
            way = self._ways[row]
            told = f"{way.reading.why}: {way.words or parts_draw.attributes(way.reading)}"
            return styled(("meant: ", "bold"), fitted(told, width - 7))
        return parts_draw.candidate(self._found[row - len(self._ways)], width)

    @on(RowList.Picked)
    def _picked(self, event: RowList.Picked) -> None:
        """Take the words of a reading or of a part found into the line."""
        event.stop()
        row = event.row or 0
        if row < len(self._ways):
            words = self._ways[row].words
        else:
            hit = self._found[row - len(self._ways)].hit
            if hit.grade in _STANDS_IN:
                self.refused(
                    "that only stands in for it: keep your own words, the plan takes it by itself where it pays"
                )
                return
            entry = hit.entry
            words = entry.part_number if self._kind is None and entry.part_number else entry.description
        if words:
            line = self.query_one("#describe-text", Input)
            line.value = words
            line.focus()
            line.action_end()
        else:
            self.refused("there are no short words for this reading; write out kind, value and unit")

    @on(RowList.PastTop)
    def _back(self, event: RowList.PastTop) -> None:
        event.stop()
        self.query_one("#describe-text", Input).focus()

    @on(Input.Submitted)
    def _enter(self, event: Input.Submitted) -> None:
        event.stop()
        text = self.query_one("#describe-text", Input).value
        pieces = self.query_one("#describe-pieces", Input).value
        if self._ways and text == self._text:
            self.query_one(RowList).focus()
        self._send(self, Described(text, pieces))

    def action_into_list(self) -> None:
        """From a line into the list."""
        self.set_focus(self.query_one(RowList))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """In the list its own keys move."""
        if action == "into_list":
            return isinstance(self.focused, Input)
        return super().check_action(action, parameters)

    def accepted(self, *_: object) -> None:
        """Close."""
        if self.is_current:
            self.dismiss(None)

    def refused(self, why: str) -> None:
        """Say why and stay open."""
        self.query_one(".-refused", Static).update(plain(f"! {why}", "bold"))

    def action_leave(self) -> None:
        """Nothing is kept."""
        self.dismiss(None)


def _looked(
    bench: BenchFile, text: str, check_way: Callable[[], None], kind: str | None
) -> tuple[Search, tuple[Way, ...]]:
    found = searched(bench, text, check_way, kind)
    readings = found.reading.readings if found.reading is not None and found.reading.status == "ambiguous" else ()
    return found, tuple(Way(one, settled(one, kind)) for one in readings)
