"""Small dialogs that stand over a place: choose one of a few, or fill in some lines.

A dialog never writes. `Choose` gives back what was chosen; a `Form` is sent by its owner and stays open, with what was
typed, until it is accepted.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import ClassVar

import msgspec
from textual import events, on
from textual.app import ComposeResult
from textual.await_complete import AwaitComplete
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.screen import ModalScreen, ScreenResultType
from textual.widget import Widget
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from catalog.text import clean_line
from triage.screens.plain import plain, styled


class Choice(msgspec.Struct, frozen=True):
    """One thing to choose; `aside` is a word about it."""

    id: str
    text: str
    aside: str = ""


class Over(ModalScreen[ScreenResultType]):
    """Stands over a place and is left once: a key that was on its way meanwhile does nothing more."""

    def dismiss(self, result: ScreenResultType | None = None) -> AwaitComplete:
        """Leave it, where it still stands in front."""
        return super().dismiss(result) if self.is_current else AwaitComplete()


class Choose(Over[str | None]):
    """One of a few, by digit, arrows or mouse; gives back its id, or None."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q", "leave", "leave", tooltip="Choose nothing", id="choose.leave"),
        Binding("j", "down", "down", show=False, tooltip="Next", id="choose.down"),
        Binding("k", "up", "up", show=False, tooltip="Previous", id="choose.up"),
    ]

    def __init__(self, title: str, choices: Sequence[Choice], about: str = "", *, weigh: bool = False) -> None:
        """Ask `title`; the first nine choices have a digit.

        With `weigh` nothing is marked at first, so that a stray Enter says nothing.
        """
        super().__init__()
        self._weigh = weigh
        self._title = title
        self._about = about
        self._choices = tuple(choices)

    def compose(self) -> ComposeResult:
        """Title, what it is about, the list, and the keys."""
        with Vertical(classes="-dialog"):
            yield Static(plain(self._title, "bold"), classes="-title")
            if self._about:
                yield Static(plain(self._about), classes="-about")
            yield OptionList(*(Option(self._line(place, item)) for place, item in enumerate(self._choices)))
            yield Static(plain("digit or Enter chooses, Esc leaves it"), classes="-keys")

    def on_mount(self) -> None:
        """The list takes the keys."""
        listed = self.query_one(OptionList)
        listed.focus()
        if self._weigh:
            listed.highlighted = None

    def on_key(self, event: events.Key) -> None:
        """A digit chooses at once."""
        if event.character and event.character.isascii() and event.character.isdigit():
            event.stop()
            place = int(event.character) - 1
            if 0 <= place < len(self._choices):
                self.dismiss(self._choices[place].id)

    @on(OptionList.OptionSelected)
    def _chosen(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        self.dismiss(self._choices[event.option_index].id)

    def action_leave(self) -> None:
        """Nothing chosen."""
        self.dismiss(None)

    def action_down(self) -> None:
        """Next choice."""
        self.query_one(OptionList).action_cursor_down()

    def action_up(self) -> None:
        """Previous choice."""
        self.query_one(OptionList).action_cursor_up()

    @staticmethod
    def _line(place: int, item: Choice) -> Content:
        digit = f"{place + 1}  " if place < 9 else "   "
        return styled((digit, "bold"), item.text, (f"   {item.aside}" if item.aside else "", "dim"))


class Tick(msgspec.Struct, frozen=True):
    """One thing to tick."""

    id: str
    text: str
    aside: str = ""


class Ticks(OptionList):
    """Things to tick, with a mark that does not rest on colour; Space or a click turns one, Enter keeps the form."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space", "select", "tick", show=False, tooltip="Tick it, or not", id="ticks.turn"),
        Binding("enter", "screen.send", "keep", show=False, tooltip="Keep what is ticked", id="ticks.keep"),
    ]

    class Turned(Message):
        """Something was ticked, or not any more."""

    def __init__(self, things: Sequence[Tick], ticked: Iterable[str]) -> None:
        """`ticked` holds the ids that are ticked at first."""
        self._things = tuple(things)
        self._on = set(ticked)
        super().__init__(*(self._drawn(item) for item in self._things), id="ticks", compact=True)

    @property
    def ticked(self) -> tuple[str, ...]:
        """The ids that are ticked, in the order shown."""
        return tuple(item.id for item in self._things if item.id in self._on)

    @on(OptionList.OptionSelected)
    def _turned(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        item = self._things[event.option_index]
        self._on ^= {item.id}
        self.replace_option_prompt_at_index(event.option_index, self._drawn(item))
        self.post_message(self.Turned())

    def _drawn(self, item: Tick) -> Content:
        mark = "[x] " if item.id in self._on else "[ ] "
        return styled((mark, "bold"), item.text, (f"  {item.aside}" if item.aside else "", "dim"))


class Line(msgspec.Struct, frozen=True):
    """One line of a form: what is typed goes to `id`."""

    id: str
    label: str
    value: str = ""
    hint: str = ""


class FormLine(Horizontal):
    """A label with its input on one row."""

    def __init__(self, line: Line) -> None:
        """Show `line`."""
        super().__init__(classes="-line")
        self._line = line

    def compose(self) -> ComposeResult:
        """Label, input."""
        yield Static(plain(self._line.label), classes="-label")
        value = clean_line(self._line.value)
        yield Input(value, placeholder=self._line.hint, id=f"in-{self._line.id}", compact=True)


class Form(Over[None]):
    """Lines to fill in. Enter sends; what is refused is said here, and nothing typed is lost."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "leave", tooltip="Leave it as it was", id="form.leave"),
        Binding("ctrl+s", "send", "send", tooltip="Keep it", id="form.send"),
        Binding("down", "app.focus_next", "next", show=False, tooltip="Next line", id="form.next"),
        Binding("up", "app.focus_previous", "previous", show=False, tooltip="Previous line", id="form.previous"),
    ]

    def __init__(
        self,
        title: str,
        lines: Sequence[Line],
        send: Callable[[Form, dict[str, str]], None],
        *,
        about: str = "",
        first: str = "",
        keys: str = "Enter keeps it, Tab or arrows move, Esc leaves it",
    ) -> None:
        """`send` gets this form and what was typed, by line id; it calls `accepted` or `refused`."""
        super().__init__()
        self._title = title
        self._about = about
        self._lines = tuple(lines)
        self._send = send
        self._keys = keys
        self._first = first or (self._lines[0].id if self._lines else "")

    def compose(self) -> ComposeResult:
        """Title, extra widgets, the lines, the place for a refusal, and the keys."""
        with VerticalScroll(classes="-dialog", can_focus=False):
            yield Static(plain(self._title, "bold"), classes="-title")
            if self._about:
                yield Static(plain(self._about), classes="-about")
            yield from self.compose_more()
            for line in self._lines:
                yield FormLine(line)
            yield from self.compose_below()
            yield Static("", classes="-refused")
            yield Static(plain(self._keys), classes="-keys")

    def compose_more(self) -> Sequence[Widget]:
        """Widgets above the lines."""
        return ()

    def compose_below(self) -> Sequence[Widget]:
        """Widgets below the lines."""
        return ()

    @property
    def start(self) -> str:
        """Selects what has the keys at first: the first line."""
        return f"#in-{self._first}"

    def on_mount(self) -> None:
        """Start there."""
        for field in self.query(self.start):  # none while the program is being left
            field.focus()

    @property
    def typed(self) -> dict[str, str]:
        """What stands in the lines now."""
        return {line.id: self.query_one(f"#in-{line.id}", Input).value.strip() for line in self._lines}

    def accepted(self, *_: object) -> None:
        """Close."""
        if self.is_current:
            self.dismiss(None)

    def refused(self, why: str) -> None:
        """Say why and stay open; nothing where it was left meanwhile."""
        self._line(plain(f"! {why}", "bold"), refused=True)

    def told(self, what: str) -> None:
        """Say what is going on while it is sent."""
        self._line(plain(what), refused=False)

    def _line(self, text: Content, *, refused: bool) -> None:
        for line in self.query(".-refused").results(Static):  # none, once it is being left
            line.set_class(not refused, "-told")
            line.update(text)

    @on(Input.Submitted)
    def _enter(self, event: Input.Submitted) -> None:
        event.stop()
        self.action_send()

    def action_send(self) -> None:
        """Hand over what was typed."""
        self._send(self, self.typed)

    def action_leave(self) -> None:
        """Nothing is kept."""
        self.dismiss(None)


class Page(Over[None]):
    """Something to read: closed by Esc, Enter or q."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q,enter", "leave", "close", tooltip="Close this page", id="page.close"),
    ]

    def __init__(self, title: str, text: Content) -> None:
        """Show `text` under `title`."""
        super().__init__()
        self._title = title
        self._text = text

    def compose(self) -> ComposeResult:
        """Title and text, scrollable."""
        with VerticalScroll(classes="-dialog", id="page"):
            yield Static(plain(self._title, "bold"), classes="-title")
            yield Static(self._text)
            yield Static(plain("Esc closes this page"), classes="-keys")

    def on_mount(self) -> None:
        """The page takes the arrows."""
        self.query_one("#page").focus()

    def action_leave(self) -> None:
        """Close."""
        self.dismiss(None)
