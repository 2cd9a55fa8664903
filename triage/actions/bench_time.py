"""The bench minutes that went into a lot, in all and today, and what is left of today's stated hours."""

from __future__ import annotations

from datetime import date

import msgspec

from triage import store
from triage.bench_file import BenchFile, day_of
from triage.bench_week import Today, today_of
from triage.lot import Lot


class BenchTime(msgspec.Struct, frozen=True):
    """What was counted on all units of a lot: looks, repairs, parts taken out and put in."""

    spent: float
    spent_today: float
    today: Today | None
    """Today's hours; None where the lot's hours by weekday limit nothing, without a last day too."""


def bench_time(bench: BenchFile, lot: Lot) -> BenchTime:
    """The minutes of the lot as they stand, so that the plan and the screens speak of the same ones."""
    counted = store.minutes_noted(bench.database, lot.id)
    spent_today = sum(minutes for at, minutes in counted if _was_on(at, bench.today))
    limits = lot.week if lot.deadline else ""
    return BenchTime(sum(minutes for _, minutes in counted), spent_today, today_of(limits, bench.today, spent_today))


def _was_on(at: str, day: date) -> bool:
    try:
        return day_of(at) == day
    except ValueError:  # a file taken in from elsewhere may hold moments that are none
        return False
