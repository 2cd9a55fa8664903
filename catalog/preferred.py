"""Preferred numbers: which series holds a value, and the nearest member. Source: IEC 60063."""

from __future__ import annotations

import math
from decimal import Decimal

import msgspec

_E24 = "10 11 12 13 15 16 18 20 22 24 27 30 33 36 39 43 47 51 56 62 68 75 82 91"
_SIZES = {"E3": 3, "E6": 6, "E12": 12, "E24": 24, "E48": 48, "E96": 96, "E192": 192}


class Nearest(msgspec.Struct, frozen=True):
    """A member of a series beside a value; `error` is (member - value) / value."""

    value: float
    error: float


def members(series: str) -> tuple[int, ...]:
    """The significant figures of one decade as whole numbers: two figures to E24, three from E48.

    The finer series follow the rounded geometric steps with one exception, 9.20; E3 to E24 are historic and listed.
    """
    size = _SIZES[series]
    if size <= 24:
        return tuple(int(figure) for figure in _E24.split())[:: 24 // size]
    steps = (round(100 * 10 ** (i / size)) for i in range(size))
    return tuple(920 if step == 919 else step for step in steps)


def series_of(value: float) -> tuple[str, ...]:
    """The names of all series that hold `value`, coarsest first; empty for a value no series holds."""
    if value <= 0:
        return ()
    figures = Decimal(f"{value:.5e}").normalize()
    mantissa = int(figures.scaleb(2 - figures.adjusted())) if figures == round(figures, 9) else 0
    whole = figures.scaleb(2 - figures.adjusted()) == mantissa
    return tuple(name for name in _SIZES if whole and mantissa in _hundreds(name))


def nearest(value: float, series: str) -> Nearest:
    """The member of `series` closest to `value` by ratio; value in any unit, greater than zero."""
    decade = math.floor(math.log10(value))
    options = [
        float(Decimal(figure).scaleb(step - 2))
        for step in (decade - 1, decade, decade + 1)
        for figure in _hundreds(series)
    ]
    best = min(options, key=lambda option: (abs(math.log(option / value)), option))
    return Nearest(best, (best - value) / value)


def _hundreds(series: str) -> frozenset[int]:
    return frozenset(figure * 10 if figure < 100 else figure for figure in members(series))
