"""The dialog that says what exactly a needed part is: typed in one's own words, read and matched at every keystroke."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar, cast

import msgspec
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from catalog.reading import Reading
from catalog.search import Hit
from triage.actions.judging import read_description
from triage.actions.needs import WantedPart
from triage.actions.parts import find_parts
from triage.bench_file import BenchFile
from triage.screens import parts_draw
from triage.screens.plain import plain, stacked, styled
from triage.screens.room import GaveWay

if TYPE_CHECKING:
    from triage.screens.app import LotwrightApp

MOST = 50


class Search(msgspec.Struct, frozen=True):
    """A query with what it is read as and what was found."""

    query: str
    reading: Reading | None
    hits: tuple[Hit, ...]


def searched(bench: BenchFile, text: str, check_way: Callable[[], None], kind: str | None = None) -> Search:
    """Read and search; gives way between slices to a newer search."""

    def cancelled() -> bool:
        try:
            check_way()
        except GaveWay:
            return True
        return False

    if not text.strip():
        return Search(text, None, ())
    return Search(text, read_description(text, kind), tuple(find_parts(bench, text, MOST, cancelled=cancelled)))


class Describe(ModalScreen[None]):
    """Say what a wanted part is. Enter keeps it; what is refused is said here and nothing typed is lost."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "leave", tooltip="Leave it as it was", id="describe.leave"),
    ]

    def __init__(self, item: WantedPart, send: Callable[[Describe, str, str], None]) -> None:
        """`send` gets this dialog, the text and the role; it calls `accepted` or `refused`."""
        super().__init__()
        self._item = item
        self._send = send
        self._text = item.need.text if item.need else ""

    def compose(self) -> ComposeResult:
        """What it is for, the line, how it is read, what fits."""
        item = self._item
        with Vertical(classes="-dialog"):
            yield Static(plain(f"Unit {item.unit}, {item.class_name}: {item.part_name}", "bold"))
            yield Static(plain(f"for: {item.what}; {item.pieces} wanted, read as {item.kind}"), classes="-about")
            if item.alike:
                yield Static(plain(item.alike), classes="-about")
            yield Input(self._text, placeholder=parts_draw.example(item.kind), id="describe-text", compact=True)
            yield Static("", id="describe-read")
            yield Static("", id="describe-hits")
            yield Static("", classes="-refused")
            yield Static(plain("Enter keeps it; it may then be ordered. Esc leaves it"), classes="-keys")

    def on_mount(self) -> None:
        """Start typing."""
        self.query_one(Input).focus()
        self._look(self._text)

    @on(Input.Changed)
    def _typed(self, event: Input.Changed) -> None:
        event.stop()
        self._look(event.value)

    def _look(self, text: str) -> None:
        self._text = text
        kind = None if self._item.kind == "listed" else self._item.kind
        shell = cast("LotwrightApp", self.app)
        way = shell.room("find").check_way
        if shell.place is not None:
            shell.place.work_out(
                lambda bench: searched(bench, text, way, kind), self._show, kind="describe", lane="find"
            )

    def _show(self, found: Search) -> None:
        if found.query != self._text or not self.is_mounted:
            return
        self.query_one("#describe-read", Static).update(parts_draw.reading(found))
        width = max(40, self.query_one("#describe-hits").size.width - 1)
        fitting = [item for item in found.hits if item.grade not in {None, "refuse"}][:7] or list(found.hits[:4])
        lines = [parts_draw.hit(item, width) for item in fitting]
        nothing = styled(("nothing in the drawer or on offer yet", "dim"))
        self.query_one("#describe-hits", Static).update(stacked(lines) if lines else nothing)

    @on(Input.Submitted)
    def _enter(self, event: Input.Submitted) -> None:
        event.stop()
        self._send(self, event.value, "")

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
