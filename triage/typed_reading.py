"""Numbers as they are typed at the meter: `4.9`, `4,9`, `4k7`, `-0.3`, `10.9/12`, `o` for open."""

from __future__ import annotations

import re

import msgspec

from catalog.quantity import decode_rkm, numbers
from catalog.text import Refused, clean_line
from triage.diagnosis import Reads

EXPECTED = "expected a number such as 4.9, 4,9 or 4k7, or o for open (over range)"
_OPEN = {"o", "ol", "o.l", "open", "over"}
_DEAD = {"dead", "nothing"}
_SCALED = re.compile(r"(\d*[.,]?\d+)\s*([kKM])")


class TypedReading(msgspec.Struct, frozen=True):
    """What was typed: a number, perhaps with what it is read against, or that the meter showed none."""

    value: float | None
    reads: Reads = "value"
    against: float | None = None
    """The label or rail value typed behind a slash."""


def typed_reading(text: str) -> TypedReading:
    """Read what was typed at the meter.

    Raises:
        Refused: it is no number, or it could be two (`1,500`).
    """
    word = clean_line(text, 40).casefold()
    if word in _OPEN:
        return TypedReading(None, "open")
    if word in _DEAD:
        return TypedReading(None, "dead")
    figure, slash, against = clean_line(text, 40).partition("/")
    return TypedReading(_number(figure.strip()), "value", _number(against.strip()) if slash else None)


def _number(text: str) -> float:
    sign = -1.0 if text[:1] in "-−" else 1.0
    digits = text.lstrip("+-−").strip()
    if len(text) - len(digits) > 1:
        raise Refused(f"“{text}” is no reading; {EXPECTED}")
    scaled = _SCALED.fullmatch(digits)
    try:
        if scaled:
            return sign * _plain(scaled[1]) * (1_000_000 if scaled[2] == "M" else 1_000)
        if any(letter.isalpha() for letter in digits):
            return sign * decode_rkm(digits).value
        return sign * _plain(digits)
    except Refused as problem:
        if "could be" in str(problem):
            raise
        raise Refused(f"“{text}” is no reading; {EXPECTED}") from None


def _plain(digits: str) -> float:
    found = numbers(digits)
    if len(found) > 1:
        raise Refused(f"“{digits}” could be {found[0]:g} or {found[1]:g}; type it with a point or without a comma")
    return found[0]
