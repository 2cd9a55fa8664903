"""The line a reading or an amount is typed into: opened by its first character, and it loses none of a burst."""

from __future__ import annotations

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.message import Message
from textual.widgets import Input, Static

from triage.screens.plain import plain

STARTS = frozenset("0123456789-+.")
"""What begins a reading; `o`, open, does too where one is asked for."""


class ReadingLine(Horizontal):
    """A label with an input, out of sight until a reading is begun."""

    class Read(Message):
        """A reading was typed and sent."""

        def __init__(self, said: str) -> None:
            """Carry what was typed."""
            super().__init__()
            self.said = said

    def compose(self) -> ComposeResult:
        """What a good reading is, and the field."""
        yield Static("", id="reading-label")
        # what is selected on focus would be replaced by the next digit
        yield Input(id="reading-in", compact=True, select_on_focus=False)

    @property
    def open(self) -> bool:
        """Whether a reading is being typed."""
        return bool(self.display)

    def begin(self, label: str, typed: str) -> None:
        """Come into sight with the first character, and take the keys at once: the next of a burst belong here."""
        self.display = True
        self.query_one("#reading-label", Static).update(plain(f"{label}; Enter keeps, Esc leaves:"))
        field = self.query_one(Input)
        field.value = typed
        field.cursor_position = len(typed)
        self.screen.set_focus(field)
        self.scroll_visible(animate=False)

    def add(self, typed: str) -> None:
        """A character that was on its way to the place before the field took the keys."""
        self.query_one(Input).insert_text_at_cursor(typed)

    def leave(self) -> None:
        """Out of sight, nothing kept."""
        field = self.query_one(Input)
        field.value = ""
        self.display = False
        if field.has_focus:
            self.screen.set_focus(None)

    @on(Input.Submitted)
    def _sent(self, event: Input.Submitted) -> None:
        event.stop()
        if event.value.strip():
            self.post_message(self.Read(event.value.strip()))
