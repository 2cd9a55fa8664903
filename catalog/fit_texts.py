"""May this part stand in for that one, where both are only described in words.

What can be read in several ways is judged in all of them; nothing is promised of a text that is not certain.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import partial
from typing import Protocol, TypeVar

import msgspec

from catalog.fit import Fit, Reason, fit
from catalog.rules import Grade, Pair, Rule, same_word
from catalog.spec import PartSpec
from catalog.text import clean_line
from catalog.unread import Rest, unread, with_unread


class Understood(Protocol):
    """One way a text can be read."""

    @property
    def spec(self) -> PartSpec | None:
        """The part, or None when nothing was understood."""


class Numbered(msgspec.Struct, frozen=True):
    """A part of which nothing is known but its number."""

    spec: PartSpec
    status: str = "ok"
    readings: tuple[Numbered, ...] = ()
    left_over: tuple[str, ...] = ()


class Read(Protocol):
    """What a reader of descriptions gives back."""

    @property
    def status(self) -> str:
        """`ok`, `ambiguous`, `refused` or `nothing`."""

    @property
    def spec(self) -> PartSpec | None:
        """The part as read."""

    @property
    def readings(self) -> Sequence[Understood]:
        """All ways to read it, when ambiguous."""

    @property
    def left_over(self) -> Sequence[str]:
        """The pieces that were not understood, in order."""


R = TypeVar("R", bound=Read)


class Side(msgspec.Struct, frozen=True):
    """One of two texts: what it says beyond what was understood, and the ways to take what was; none at all is `()`."""

    rest: Rest
    ways: tuple[PartSpec, ...]
    sure: bool = True
    """There is one way only."""

    @property
    def kind(self) -> str:
        """The kind of part, where all ways agree."""
        kinds = {one.kind for one in self.ways}
        return kinds.pop() if len(kinds) == 1 else ""


def fit_texts(
    wanted_text: str,
    candidate_text: str,
    role: str | None = None,
    *,
    read: Callable[[str], Read],
    pairs: Iterable[Pair] = (),
    rules: Iterable[Rule] = (),
    mains: float | None = None,
) -> Fit:
    """Judge two descriptions, read by `read`; the rest as in `catalog.fit.fit`.

    A text that can be read in several ways gives unknown, or refuse when every pair of readings is refused; a text
    of which nothing is understood gives unknown. What was left over is a check, and never exact (`catalog.unread`).
    """
    pairs, rules = tuple(pairs), tuple(rules)
    wanted, candidate = (side_of(text, by_number(read(text), text, pairs)) for text in (wanted_text, candidate_text))
    return fit_sides(wanted, candidate, partial(fit, role=role, pairs=pairs, rules=rules, mains=mains))


def side_of(text: str, seen: Read) -> Side:
    """A text with what a reader gave back of it."""
    return Side(Rest(clean_line(text), tuple(seen.left_over)), tuple(_ways(seen)), sure=seen.status == "ok")


def fit_sides(wanted: Side, candidate: Side, judge: Callable[[PartSpec, PartSpec], Fit]) -> Fit:
    """Judge two sides in all their ways, and by what they say beyond them; as `fit_texts`."""
    verdict = _judged(wanted, candidate, judge)
    left = unread(wanted.rest, candidate.rest, wanted.kind)
    both = wanted.ways and candidate.ways
    return with_unread(verdict, [one for one in left if both or one.grade is Grade.REFUSE])


def _judged(wanted: Side, candidate: Side, judge: Callable[[PartSpec, PartSpec], Fit]) -> Fit:
    sides = (("wanted", wanted), ("candidate", candidate))
    nothing = [(name, side.rest.text) for name, side in sides if not side.ways]
    if nothing:
        return _unread(nothing, "could not be read as a part")
    fits = (judge(one, other) for one in wanted.ways for other in candidate.ways)
    first = next(fits)
    several = [(name, side.rest.text) for name, side in sides if not side.sure]
    if not several or (first.grade is Grade.REFUSE and all(one.grade is Grade.REFUSE for one in fits)):
        return first
    return _unread(several, "can be read in more than one way")


def by_number(seen: R, text: str, pairs: Iterable[Pair]) -> R | Numbered:
    """What was read; a text of which nothing was, and which the list names as a number, is the part of that number."""
    if seen.status != "nothing":
        return seen
    names = (name for pair in pairs for name in (pair.wanted, pair.candidate))
    number = next((name for name in names if same_word(name, text)), "")
    return Numbered(spec=PartSpec("listed", part_number=number)) if number else seen


def _ways(seen: Read) -> list[PartSpec]:
    if seen.status == "ok":
        return [seen.spec] if seen.spec is not None else []
    ways = [one.spec for one in seen.readings if one.spec is not None]
    return ways if seen.status == "ambiguous" else []


def _unread(sides: Sequence[tuple[str, str]], why: str) -> Fit:
    reasons = tuple(
        Reason(
            "text",
            text if name == "wanted" else None,
            text if name == "candidate" else None,
            Grade.UNKNOWN,
            "G1",
            f"the {name} text {why}",
            "",
        )
        for name, text in sides
    )
    return Fit(Grade.UNKNOWN, reasons, tuple(f"Say more of the {name} part" for name, _ in sides))
