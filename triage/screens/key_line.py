"""The last line of a place: the keys that work now, as many as fit whole, in the order stated; `?` tells the rest."""

from __future__ import annotations

from collections.abc import Iterator

from rich.cells import cell_len
from textual.app import ComposeResult
from textual.binding import ActiveBinding, Binding
from textual.events import Resize
from textual.widgets import Footer
from textual.widgets._footer import FooterKey

from triage.screens.help import bindings_of, key_words

_GAP = 1
_MORE = "more keys"


class KeyLine(Footer):
    """Like the library's footer, but nothing is cut and the help key is always there."""

    def __init__(self) -> None:
        """Nothing drawn yet."""
        super().__init__(show_command_palette=False, compact=True)
        self._width = 0

    def compose(self) -> ComposeResult:
        """The keys that fit, then the one for help."""
        self._width = self.app.size.width
        keys = list(self._in_order())
        own = next((one for one in keys if one.binding.id == "help"), None)
        others = [one for one in keys if one is not own]
        told = _MORE if own is not None and not self._fit(keys) else ""
        reserved = [own] if own is not None else []
        kept = [*others]
        while kept and not self._fit([*kept, *reserved], told):
            kept.pop()
        for one in [*kept, *reserved]:
            yield self._key(one, told if one is own else "")

    def on_resize(self, _: Resize) -> None:
        """Another width holds other keys."""
        if self.is_attached and self.app.size.width != self._width:
            self.call_after_refresh(self.recompose)

    def _in_order(self) -> Iterator[ActiveBinding]:
        """The bindings to show in the order in which place and program state them, each action once."""
        stated = [*bindings_of(type(self.screen)), *bindings_of(type(self.app))]
        place = {binding.id: number for number, binding in reversed(list(enumerate(stated)))}
        active = [one for one in self.screen.active_bindings.values() if one.binding.show]
        seen = set[str]()
        for one in sorted(active, key=lambda one: place.get(one.binding.id, len(stated))):
            if one.binding.action not in seen:
                seen.add(one.binding.action)
                yield one

    def _fit(self, keys: list[ActiveBinding], told: str = "") -> bool:
        """Whether these keys fit on one line; `told` stands for the words of the help key."""
        width = 0
        for one in keys:
            words = told if told and one.binding.id == "help" else one.binding.description
            width += cell_len(_name(one.binding)) + 1 + cell_len(words) + _GAP
        return width <= self._width

    def _key(self, one: ActiveBinding, words: str) -> FooterKey:
        binding = one.binding
        key = FooterKey(
            binding.key,
            _name(binding),
            words or binding.description,
            binding.action,
            disabled=not one.enabled,
            tooltip=one.tooltip,
        )
        return key.data_bind(compact=Footer.compact)


def _name(binding: Binding) -> str:
    return key_words(binding).partition(" or ")[0]
