"""The field that units are typed or pasted into, with what the program makes of it shown below while one types."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, cast

from textual import events, on
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.message import Message
from textual.timer import Timer
from textual.widgets import Static, TextArea

from catalog.text import Refused
from triage.actions.units import understood
from triage.screens.plain import plain, stacked, styled
from triage.typed_lines import TypedUnit

if TYPE_CHECKING:
    from triage.screens.app import LotwrightApp

_SHOWN = 5


class _Typing(TextArea):
    """Many lines; Enter on an empty one means that this was all."""

    class Ended(Message):
        """An empty line was entered."""

    async def _on_key(self, event: events.Key) -> None:
        row, _ = self.cursor_location
        if event.key == "enter" and not self.document.get_line(row).strip() and self.text.strip():
            event.stop()
            event.prevent_default()
            self.post_message(self.Ended())
            return
        await super()._on_key(event)


class UnitsField(Vertical):
    """Typing on top, below it what is understood."""

    class Sent(Message):
        """All units are typed."""

        def __init__(self, text: str) -> None:
            """Carry the whole text."""
            super().__init__()
            self.text = text

    def __init__(self) -> None:
        """Start empty."""
        super().__init__(id="units-field")
        self._soon: Timer | None = None

    def compose(self) -> ComposeResult:
        """The two halves."""
        yield _Typing(id="units", tab_behavior="focus", compact=True, highlight_cursor_line=False)
        yield Static("", id="understood")

    @property
    def text(self) -> str:
        """What is typed so far."""
        return self.query_one(_Typing).text

    def fill(self, text: str) -> None:
        """Put text in, as if it were typed."""
        self.query_one(_Typing).load_text(text)

    def take_focus(self) -> None:
        """Type here."""
        self.query_one(_Typing).focus()

    @on(TextArea.Changed)
    def _changed(self, event: TextArea.Changed) -> None:
        event.stop()
        if self._soon is not None:
            self._soon.stop()
        self._soon = self.set_timer(0.12, self._read)

    @on(_Typing.Ended)
    def _ended(self, event: _Typing.Ended) -> None:
        event.stop()
        self.post_message(self.Sent(self.text))

    def _read(self) -> None:
        app = cast("LotwrightApp", self.app)
        try:
            found = understood(app.bench, self.text) if self.text.strip() else ()
        except Refused as refused:
            self.query_one("#understood", Static).update(plain(f"! {refused}", "bold"))
            return
        self._show(found)

    def _show(self, found: Sequence[TypedUnit]) -> None:
        classes = cast("LotwrightApp", self.app).bench.classes
        lines = []
        for item in found[-_SHOWN if len(found) <= _SHOWN else 1 - _SHOWN :]:
            if item.class_id:
                held = classes[item.class_id]
                words = {symptom.id: symptom.words[0] for symptom in held.symptoms}
                said = ", ".join(words[name] for name in item.symptoms if name in words)
                said = ", ".join(filter(None, (said, item.sold_as or "")))
                kept = (f"  noted: {item.note}", "dim") if item.note else ""
                ask = (f"  {item.ask}", "italic") if item.ask else ""
                lines.append(styled((f"{item.count:>3} ", "bold"), held.name, f": {said}" if said else "", ask, kept))
            else:
                names = " or ".join(classes[one.id].name for one in item.doubt if one.id in classes)
                lines.append(
                    styled(
                        (f"{item.count:>3} ", "bold"),
                        f"“{item.raw}” ",
                        ("will be asked", "italic"),
                        f": {names}?" if names else "",
                    )
                )
        if len(found) > _SHOWN:
            lines.insert(0, plain(f"    and {len(found) - _SHOWN + 1} more above", "dim"))
        self.query_one("#understood", Static).update(stacked(lines))
