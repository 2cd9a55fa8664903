"""Arrival days counted from the working day an order starts on."""

from datetime import date, timedelta

import msgspec
from hypothesis import given
from hypothesis import strategies as st

from catalog.suppliers import WEEKEND, arrival, lead, starts


class Waits(msgspec.Struct, frozen=True):
    lead_days: int
    lead_days_late: int


SHOP = Waits(3, 5)
THURSDAY = date(2026, 1, 8)
FRIDAY = date(2026, 1, 9)
SATURDAY = date(2026, 1, 10)
MONDAY = date(2026, 1, 12)


def test_an_order_on_a_working_day_starts_that_day_and_waits_calendar_days():
    assert arrival(SHOP, THURSDAY) == (date(2026, 1, 11), date(2026, 1, 13))


def test_an_order_after_cut_off_starts_the_next_working_day():
    assert starts(THURSDAY, after_cut_off=True) == FRIDAY
    assert starts(FRIDAY, after_cut_off=True) == MONDAY


def test_an_order_on_a_weekend_or_holiday_starts_the_next_working_day():
    assert starts(SATURDAY) == MONDAY
    assert starts(SATURDAY, holidays={MONDAY}) == date(2026, 1, 13)
    assert starts(THURSDAY, holidays=[THURSDAY, FRIDAY]) == MONDAY
    assert starts(FRIDAY, weekend={4, 5}) == date(2026, 1, 11)


def test_lead_counts_from_the_order_day():
    assert lead(SHOP, SATURDAY) == (5, 7)
    assert lead(SHOP, THURSDAY) == (3, 5)


@given(st.dates(date(2000, 1, 1), date(2100, 1, 1)), st.integers(0, 60), st.integers(0, 60), st.booleans())
def test_the_late_day_is_never_before_the_typical_one(day, typical, more, after):
    shop = Waits(typical, typical + more)
    first, last = arrival(shop, day, after_cut_off=after)
    start = starts(day, after_cut_off=after)
    assert day <= start <= first <= last
    assert start.weekday() not in WEEKEND
    assert start - day <= timedelta(days=3)
    assert last - first == timedelta(days=more)
