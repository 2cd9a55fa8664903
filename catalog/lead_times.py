"""A supplier's waits as they turned out, beside those that the supplier states.

Pure. The stated waits count like some orders seen before: three in four of them within the typical wait, the rest
within the late one, so that a single quick parcel does not make the late case go away. The typical wait is then the day
within which half of all have come, the late one that of nine in ten, as the two are meant (`catalog.suppliers`). A
median and a ninth decile shrug off one parcel that lay at the customs.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

STATED_ORDERS: Final = 4.0
"""How many orders the stated waits count for (our choice)."""
STATED_TYPICAL: Final = 0.75
"""Share of those that came within the typical wait (our choice)."""
LATE_SHARE: Final = 0.9
"""Share of orders that have come within the late wait: all but one in ten."""


def learned_waits(typical: int, late: int, seen: Sequence[int]) -> tuple[int, int]:
    """(typical, late) wait in days after `seen` orders took so many days; the stated ones without any."""
    if not seen:
        return typical, late
    weighed = [
        (typical, STATED_ORDERS * STATED_TYPICAL),
        (late, STATED_ORDERS * (1.0 - STATED_TYPICAL)),
        *((days, 1.0) for days in seen),
    ]
    half, most = _within(weighed, 0.5), _within(weighed, LATE_SHARE)
    return half, max(half, most)


def _within(weighed: Sequence[tuple[int, float]], share: float) -> int:
    """The fewest days within which at least that share has come."""
    wanted, come = share * sum(weight for _, weight in weighed) - 1e-9, 0.0
    for days, weight in sorted(weighed):
        come += weight
        if come >= wanted:
            return days
    return max(days for days, _ in weighed)
