"""How the one question stands on the Bench, and the keys that answer it."""

from __future__ import annotations

import msgspec
from textual.content import Content
from textual.widgets import Static

from triage.actions.unit_view import Look, UnitView
from triage.screens.large import large
from triage.screens.plain import stacked, styled

_KEYS: tuple[tuple[str, str], ...] = (
    ("y yes", "answer('yes')"),
    ("n no", "answer('no')"),
    ("c can't tell", "answer('cant_tell')"),
    ("s not now", "answer('not_now')"),
    ("0-9 a reading", "reading"),
    ("o open", "open_reading"),
)


class AnswerKey(Static):
    """One answer, to press or to click."""

    def __init__(self, text: str, action: str) -> None:
        """`text` begins with the key."""
        key, _, word = text.partition(" ")
        super().__init__(styled((f" {key} ", "bold reverse"), f" {word}   "), classes="answer")
        self._action = action

    def applies_to(self, view: UnitView) -> bool:
        """Whether this answer makes sense now."""
        if view.ask_first is not None:
            return self._action in {"answer('yes')", "answer('no')"}
        reads = view.look is not None and bool(view.look.reading)
        return reads if self._action in {"reading", "open_reading"} else view.look is not None

    async def on_click(self) -> None:
        """The same as the key."""
        if self._action != "reading":
            await self.run_action(f"screen.{self._action}")


def answer_keys() -> tuple[tuple[str, str], ...]:
    """Text and action of every answer key."""
    return _KEYS


class Wording(msgspec.Struct, frozen=True):
    """What stands above the question, the question, what stands below it."""

    above: str
    asked: str
    below: str = ""
    caution: str = ""
    listed: tuple[str, ...] = ()


def question(view: UnitView, width: int, *, large_letters: bool) -> Content:
    """What to do and what to say about it, in the order of the hands: caution, do, look, answer."""
    words = _wording(view)
    lines: list[Content] = []
    if words.caution:
        lines.append(styled(" ", (f"! {words.caution}", "bold")))
    lines.append(styled(" ", words.above))
    if large_letters:
        lines += [Content(""), *(styled(" ", (line, "bold")) for line in large(words.asked, width)), Content("")]
    else:
        lines.append(styled(" ", (words.asked, "bold underline")))
    if words.below:
        lines.append(styled(" ", (words.below, "dim")))
    lines += [styled(f" {place} ", text) for place, text in enumerate(words.listed, 1)]
    return stacked(lines)


def _wording(view: UnitView) -> Wording:
    if view.ask_first is not None:
        return Wording("Before anything else:", view.ask_first.question)
    if view.look is not None:
        return _of_look(view.look)
    if view.action == "repair":
        what = [suspect.what for suspect in view.suspects if suspect.fault in view.repair]
        return Wording("Repair this, then press r:", "; ".join(what), "the retest comes first")
    if view.action == "choose_class":
        return Wording(f"“{view.unit.typed}”", "What is it?", "Enter shows the choices")
    if view.action == "contradiction":
        told = tuple(item.text for item in view.conflict)
        return Wording("These answers cannot all be right:", "Which one is wrong?", "m mends one", listed=told)
    return _of_end(view)


def _of_look(look: Look) -> Wording:
    below = f"about {look.minutes:.0f} min, {'case open' if look.opened else 'case closed'}"
    if look.wait_minutes:
        below += f", then {look.wait_minutes:.0f} min by itself"
    if look.reading:
        below += f"; good is {look.reading}"
    if look.relative_to:
        below += f", type it as reading/{look.relative_to}, such as 10.9/12"
    return Wording(look.do, look.question, below, look.caution)


def _of_end(view: UnitView) -> Wording:
    if view.fixed and view.pile == "fix":
        return Wording("Every function was shown to work.", "Fixed.", "→ next unit")
    said = {"fix": "Fix it.", "part_out": "Part it out.", "as_is": "Sell it as it stands."}
    words = said.get(view.pile, view.pile_word.capitalize() + ".")
    if any(need.state == "ordered" for need in view.needs):
        words = "Wait for its parts."
    return Wording("No further check pays.", words, "→ next unit, l other looks, p pile by hand")
