"""May this part stand in for that one, where both are only described in words.

What can be read in several ways is judged in all of them; nothing is promised of a text that is not certain.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Protocol

from catalog.fit import Fit, Reason, fit
from catalog.rules import Grade, Pair, Rule
from catalog.spec import PartSpec


class Understood(Protocol):
    """One way a text can be read."""

    @property
    def spec(self) -> PartSpec | None:
        """The part, or None when nothing was understood."""


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
    of which nothing is understood gives unknown.
    """
    pairs, rules = tuple(pairs), tuple(rules)
    texts = (("wanted", wanted_text, read(wanted_text)), ("candidate", candidate_text, read(candidate_text)))
    unread = [(name, text) for name, text, seen in texts if not _ways(seen)]
    if unread:
        return _unread(unread, "could not be read as a part")
    fits = [
        fit(one, other, role, pairs, rules=rules, mains=mains)
        for one in _ways(texts[0][2])
        for other in _ways(texts[1][2])
    ]
    several = [(name, text) for name, text, seen in texts if seen.status != "ok"]
    if not several:
        return fits[0]
    if all(one.grade is Grade.REFUSE for one in fits):
        return fits[0]
    return _unread(several, "can be read in more than one way")


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
