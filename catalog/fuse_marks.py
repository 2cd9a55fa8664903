"""The mark on a miniature fuse: time letter, current, breaking letter, volts. Source: IEC 60127-1 and -2."""

from __future__ import annotations

import re

import msgspec

from catalog.quantity import numbers, scaled
from catalog.text import END, Refused

SPEEDS = ("FF", "F", "M", "T", "TT")
"""Quickest first."""
BREAKING = ("L", "E", "H")
"""Lowest breaking capacity first."""
PREFERRED_MILLIAMPS = (
    *(32, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800),
    *(1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000, 6300, 8000, 10000),
)
FUSE_MARK = re.compile(
    r"(?<![^\W_])(?:(FF|TT|F|T|M)\s?)?(\d{1,5}(?:[.,]\d{1,3})?)\s?(m?)A(?:\s?(FF|TT|F|T|M)(?![^\W\d_]))?"
    rf"(?:[\s/]{{0,3}}([LEH])(?![^\W\d_]))?(?:[\s/]{{0,3}}(\d{{2,4}})\s?(V?)(?:\s?(AC|DC|~|=))?{END})?(?![^\W_])"
)
"""Finds a mark inside a longer line; the parts are the time letter, current, breaking letter and volts."""


class FuseMark(msgspec.Struct, frozen=True):
    """A fuse mark read: amperes, and what the mark states of the rest."""

    current: float
    speed: str | None = None
    breaking: str | None = None
    volts: float | None = None
    direct: bool = False
    """True only where the volts are said to be direct current."""


def from_match(match: re.Match[str]) -> FuseMark:
    """A mark from a match of `FUSE_MARK`; of two time letters the first stands."""
    before, amps, milli, after, breaking, volts, sign, kind = match.groups()
    current = scaled(repr(numbers(amps)[0]), -3 if milli else 0)
    stated = float(volts) if volts and (sign or kind or breaking or before or after) else None
    return FuseMark(current, before or after, breaking, stated, direct=kind in {"DC", "="})


def decode_fuse(mark: str) -> FuseMark:
    """Read a whole mark: `T3,15AH250V`, `TT 0.63A L 250`, `M 800mA`, `1A T`."""
    match = FUSE_MARK.fullmatch(mark.strip())
    if match is None:
        raise Refused(f"'{mark[:40]}' is no fuse mark: expected a form such as T2AL250V or F 500 mA 250 V")
    if match[1] and match[4] and match[1] != match[4]:
        raise Refused(f"'{mark[:40]}' has two time letters: read the mark again")
    return from_match(match)


def encode_fuse(mark: FuseMark) -> str:
    """The mark as printed: `T3.15AH250V`, below one ampere in mA."""
    amps = f"{mark.current * 1000:g}mA" if mark.current < 1 else f"{mark.current:g}A"
    volts = f"{mark.volts:g}V{'DC' if mark.direct else ''}" if mark.volts else ""
    return f"{mark.speed or ''}{amps}{mark.breaking or ''}{volts}"
