"""What the Bench asks or says now, in words: one question, one repair, or a plain stop, and the keys that answer it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Literal

import msgspec
from textual.content import Content

from triage.actions.look_view import Look
from triage.actions.telling import judged
from triage.actions.unit_view import UnitView
from triage.asking import Question
from triage.device_classes.schema import Hazard
from triage.lot import PILE_WORDS, Happening
from triage.screens.plain import Piece, plain, pressable, stacked, styled

NOTHING_BEFORE: Final = "no look can help before one of these answers is mended (a digit, or m)"

Kind = Literal["hazard", "look", "repair", "stop", "class", "conflict", "question"]


class Prompt(msgspec.Struct, frozen=True):
    """The one thing in front of the person."""

    kind: Kind
    title: str
    """The question or the statement, shown large."""
    lines: tuple[str, ...]
    """How to look, and how long it takes."""
    caution: str
    keys: tuple[tuple[str, str], ...]
    """(key, what it means), in the order shown."""
    reason: str
    look: Look | None = None
    """The look that the answer belongs to."""
    hazard: Hazard | None = None
    """The hazard that the answer belongs to."""
    question: Question | None = None
    """What is asked of the person, the unit or the lot."""


MOST_KEYS = 9
WORKS = "It works; what hides in it may show here. p settles its pile without."
"""Said above a look at a unit of which every function was tested good."""

_ANSWERS: tuple[tuple[str, str], ...] = (("y", "yes"), ("n", "no"), ("c", "can't tell"), ("s", "not now"))

_PUT_OFF = ("s", "not now")
_REPAIR_KEYS = (("r", "repair done"), ("d", "describe the part"), ("l", "other looks"))
_CONFIRM_KEY = ("h", "confirm what was done about it")
_STOP_KEYS = (("b", "next that pays"), ("l", "other looks"), ("p", "pile by hand"), ("v", "sums"))


_QUESTION_KEYS: dict[str, tuple[tuple[str, str], ...]] = {
    "hour": (("Enter", "keep what is assumed"), ("0-9", "an amount"), _PUT_OFF),
    "training": (("n", "no"), ("y", "yes, trained"), _PUT_OFF),
    "grade": (("1", "A fine"), ("2", "B used"), ("3", "C poor"), _PUT_OFF),
    "complete": (("y", "yes"), ("n", "something is missing"), _PUT_OFF),
    "keep": (("n", "no"), ("y", "yes"), _PUT_OFF),
    "found": (("y", "yes, that"), ("n", "something else"), _PUT_OFF),
}


def prompt_of(
    view: UnitView,
    chosen: Look | None,
    repair_words: tuple[str, ...],
    classes: tuple[str, ...],
    question: Question | None = None,
) -> Prompt:
    """What to put to the person.

    Args:
        view: the unit.
        chosen: a look that the person wants instead of the advised one.
        repair_words: the proposed faults in words.
        classes: names to choose from while the class is in doubt.
        question: what is to be asked where no look is in front.
    """
    if view.action == "choose_class":
        told = "a digit says what it is; 0 lists all, and none of these"
        return _listed("class", "What is it?", classes, told, f"typed as “{view.unit.typed}”")
    typed_of = view.ask_first is not None and view.ask_first.id in view.typed_of
    if view.action == "contradiction" and not typed_of:
        lines = [line.text for line in view.conflict]
        return _listed("conflict", "These answers cannot all be right", lines, "a digit mends that one; m lists all")
    if chosen is not None and not typed_of:
        return _chosen(view, chosen)
    if view.ask_first is not None:
        return _hazard(view, view.ask_first, view.reason)
    if view.action == "check" and view.look is not None:
        return _look(view.look, view.reason, WORKS if view.fixed else "", view.on_sheet)
    said = _statement(view, repair_words)
    return said if question is None else _question(question, said)


def _question(question: Question, meanwhile: Prompt) -> Prompt:
    """A question with what is advised meanwhile below it; the keys of the advice go on working."""
    keys = _QUESTION_KEYS.get(question.kind, (("y", "yes"), ("n", "no"), _PUT_OFF))
    told = meanwhile.lines if meanwhile.kind == "stop" else ()
    reason = f"meanwhile: {meanwhile.title}; {meanwhile.reason}"
    return Prompt("question", question.title, (*question.lines, *told), "", keys, reason, question=question)


def _chosen(view: UnitView, look: Look) -> Prompt:
    if look.ask_first:
        return _hazard(view, look.ask_first[0], look.question)
    return _look(look, "chosen by you; Esc goes back to the advised one")


def _hazard(view: UnitView, hazard: Hazard, then: str) -> Prompt:
    keys = (("y", "yes: locked at once"), ("n", "no"))
    look = "Look before anything else; when in doubt, y."
    if hazard.id in view.typed_of:
        look = f"What was typed of it speaks of this. {look}"
    elif hazard.when == "open" and not view.case_open:
        look = "It shows once the case is open: open it, look, then say; when in doubt, y."
    about: tuple[str, ...] = (look, f"If so: {hazard.caution}")
    if hazard.id in view.recharged:
        keys = (("y", "yes, and then what was done about it"), ("l", "other looks"))
        about = (f"It was powered on this bench since. First: {' or: '.join(hazard.releases)}.",)
    return Prompt("hazard", hazard.question, about, "", keys, f"then: {then}", hazard=hazard)


def _listed(kind: Kind, title: str, texts: Sequence[str], reason: str, *lines: str) -> Prompt:
    keys = tuple((str(place), text) for place, text in enumerate(texts[:MOST_KEYS], 1))
    return Prompt(kind, title, lines, "", keys, reason)


def _statement(view: UnitView, repair_words: tuple[str, ...]) -> Prompt:
    if view.action == "repair":
        title = "Repair: " + ", ".join(repair_words)
        lines = (*view.on_sheet, *view.alike, "The retest is asked for after it.")
        return Prompt("repair", title, lines, "", _REPAIR_KEYS, view.reason)
    title = "FIXED: every function tested good" if view.fixed else f"STOP: {PILE_WORDS.get(view.pile, view.pile)}"
    keys = (_CONFIRM_KEY, *_STOP_KEYS) if view.hazards_in_force else _STOP_KEYS
    tell = tuple(f"Whoever gets it must be told: {words}" for words in view.tell)
    return Prompt("stop", title, tell, "", keys, view.reason)


def _look(look: Look, reason: str, first: str = "", known: tuple[str, ...] = ()) -> Prompt:
    took = f"about {look.minutes:g} min" + (f" and {look.wait_minutes:g} min waiting" if look.wait_minutes else "")
    where = ("case open" if look.opened else "case closed") + (", powered" if look.powered else "")
    keys = _ANSWERS
    lines = [first, look.do, *known, f"{took}; {where}"]
    if look.reading:
        typed = f"10.9/12 (measured / {look.relative_to})" if look.relative_to else "0-9"
        keys = (*_ANSWERS, (typed, "reading"))
        lines.append(f"good is {look.reading}; o = open, over range")
    return Prompt("look", look.question, tuple(line for line in lines if line), look.caution, keys, reason, look)


def kept(title: str, said: str, result: object) -> str:
    """What is said once an answer is on disk: the question, the answer, and whether it was the good one."""
    judgement = judged(result) if isinstance(result, Happening) else ""
    return f"kept: {title} {said}" + (f" — {judgement}" if judgement else "")


def below_title(prompt: Prompt) -> Content:
    """Everything of a prompt below its title."""
    lines: list[Content] = []
    if prompt.caution:
        lines.append(styled((" ! ", "bold reverse"), (f" {prompt.caution}", "bold")))
    lines += [plain(line) for line in prompt.lines]
    if prompt.kind in {"class", "conflict"}:
        lines += [_key(key, text) for key, text in prompt.keys]
    else:
        pieces: list[Piece] = []
        for key, text in prompt.keys:
            pieces += [_key(key, text), "   "]
        lines += [Content(""), styled(*pieces)]
    lines.append(plain(prompt.reason, "dim"))
    return stacked(lines)


def _key(key: str, text: str) -> Content:
    """A key with its meaning, to be pressed by a click too where it is one key."""
    pieces: tuple[Piece, ...] = ((f" {key} ", "reverse bold"), f" {text}")
    return pressable(key.lower(), *pieces) if len(key) == 1 or key == "Enter" else styled(*pieces)
