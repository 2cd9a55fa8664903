"""The help page of a place: what it is for and every key, with what it does."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from triage.screens.dialogs import Over
from triage.screens.plain import plain, stacked, styled

_NAMES = {
    "question_mark": "?",
    "left_square_bracket": "[",
    "right_square_bracket": "]",
    "up": "↑",
    "down": "↓",
    "left": "←",
    "right": "→",
    "escape": "Esc",
    "enter": "Enter",
    "slash": "/",
    "tab": "Tab",
    "space": "Space",
    "delete": "Del",
}


def key_words(binding: Binding) -> str:
    """The keys of a binding as a person reads them."""
    if binding.key_display:
        return binding.key_display
    keys = [key.strip() for key in binding.key.split(",")]
    return " or ".join(_NAMES.get(key, key.upper() if key[1:].isdigit() else key) for key in keys)


def bindings_of(owner: type) -> list[Binding]:
    """The bindings a class states itself, in order."""
    stated: Iterable[BindingType] = vars(owner).get("BINDINGS", ())
    return [item if isinstance(item, Binding) else Binding(*item) for item in stated]


class HelpPage(Over[None]):
    """Shown over a place until any of its keys closes it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q,f1,question_mark", "close", "close", tooltip="Close this page", id="help.close"),
    ]

    def __init__(self, title: str, about: str, sections: list[tuple[str, list[Binding]]]) -> None:
        """`sections` are headings with their bindings."""
        super().__init__()
        self._title = title
        self._about = about
        self._sections = sections

    def compose(self) -> ComposeResult:
        """Everything in one scrollable column."""
        with VerticalScroll(id="page"):
            yield Static(styled((self._title, "bold")))
            yield Static(plain(self._about))
            for heading, bindings in self._sections:
                yield Static(plain(heading, "bold underline"), classes="-heading")
                lines = [
                    styled((f"{key_words(item):>14}  ", "bold"), item.tooltip or item.description) for item in bindings
                ]
                yield Static(stacked(lines))
            yield Static(plain("Esc closes this page, the arrows move it"), classes="-keys")

    def on_mount(self) -> None:
        """The column takes the keys, so that the arrows scroll it."""
        self.query_one("#page").focus()

    def action_close(self) -> None:
        """Back to the place."""
        self.dismiss(None)
