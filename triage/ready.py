"""Which of the units whose parts are all here to finish first.

Pure. Every day a unit waits costs something and the bench does one unit at a time, so the unit with the highest cost of
a day for each minute of work goes first (Smith's rule, Naval Research Logistics Quarterly 3, 1956, for the least total
weighted completion time). Where a day costs nothing, what the finished unit brings more takes its place.
"""

from __future__ import annotations

from collections.abc import Iterable

import msgspec


class Ready(msgspec.Struct, frozen=True):
    """A unit that can be finished now. Amounts are minor units."""

    unit: int
    minutes: float
    """Bench minutes that finishing takes."""
    day_cost: float
    """What a day of waiting costs."""
    gain: float
    """What it brings more once it is finished than as it stands."""
    what: str = ""
    """What is to be done."""


def finish_order(ready: Iterable[Ready]) -> tuple[Ready, ...]:
    """The units in the order in which to finish them."""

    def rank(one: Ready) -> tuple[float, float, float, int]:
        minutes = max(one.minutes, 1.0)
        return (-one.day_cost / minutes, -one.gain / minutes, minutes, one.unit)

    return tuple(sorted(ready, key=rank))
