"""When a parts order arrives: the supplier's typical and late wait counted from the day it starts on.

Days on which nobody works only move the start; the wait itself is in calendar days, as it was stated.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, timedelta
from typing import Protocol

WEEKEND = frozenset({5, 6})
"""Saturday and Sunday, as `date.weekday` counts."""


class Waits(Protocol):
    """A supplier's waits in days: the usual one, and the one of one order in ten."""

    @property
    def lead_days(self) -> int:
        """Typical wait."""

    @property
    def lead_days_late(self) -> int:
        """Late wait."""


def starts(
    order_day: date,
    *,
    after_cut_off: bool = False,
    holidays: Collection[date] = frozenset(),
    weekend: Collection[int] = WEEKEND,
) -> date:
    """The day the supplier starts on an order.

    Args:
        order_day: the day it is sent.
        after_cut_off: sent too late for that day.
        holidays: days off besides the weekend.
        weekend: weekdays off, Monday 0; not all seven.
    """
    day = order_day + timedelta(days=1) if after_cut_off else order_day
    while day.weekday() in weekend or day in holidays:
        day += timedelta(days=1)
    return day


def arrival(
    supplier: Waits,
    order_day: date,
    *,
    after_cut_off: bool = False,
    holidays: Collection[date] = frozenset(),
    weekend: Collection[int] = WEEKEND,
) -> tuple[date, date]:
    """The typical and the late arrival day: waiting is charged to the first, deadlines tested against the second."""
    start = starts(order_day, after_cut_off=after_cut_off, holidays=holidays, weekend=weekend)
    return start + timedelta(days=supplier.lead_days), start + timedelta(days=supplier.lead_days_late)


def lead(
    supplier: Waits,
    order_day: date,
    *,
    after_cut_off: bool = False,
    holidays: Collection[date] = frozenset(),
    weekend: Collection[int] = WEEKEND,
) -> tuple[int, int]:
    """The same as days from `order_day`: what a purchase problem takes as lead days."""
    typical, late = arrival(supplier, order_day, after_cut_off=after_cut_off, holidays=holidays, weekend=weekend)
    return (typical - order_day).days, (late - order_day).days
