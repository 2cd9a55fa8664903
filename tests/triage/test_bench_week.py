"""Bench hours by weekday, as they are typed."""

from datetime import date

import pytest

from catalog.text import Refused
from triage.bench_week import minutes_by_day, today_of, week_of, week_text


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("Mon-Fri 1; Sat 4", (1, 1, 1, 1, 1, 4, 0)),
        ("mon 0.5, sat 3", (0.5, 0, 0, 0, 0, 3, 0)),
        ("weekdays 1,5; weekend 6 h", (1.5, 1.5, 1.5, 1.5, 1.5, 6, 6)),
        ("daily 2", (2,) * 7),
        ("Sat-Mon 3", (3, 0, 0, 0, 0, 3, 3)),
        ("Wednesday: 2", (0, 0, 2, 0, 0, 0, 0)),
        ("tues 1", (0, 1, 0, 0, 0, 0, 0)),
        ("sun 0", (0,) * 7),
    ],
)
def test_what_is_typed_is_hours_by_weekday(text, hours):
    week = week_of(text)
    assert week == tuple(60.0 * each for each in hours)
    if any(week):
        assert week_of(week_text(text)) == week


def test_it_is_kept_in_one_form():
    assert week_text("sat 4;mon 1; tue 1 ;wed 1,thu 1;fri 1") == "Mon-Fri 1; Sat 4"
    assert week_text("") == ""


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("often", "“often” is no day with its hours"),
        ("mon", "is no day"),
        ("mo 1", "is no day"),
        ("mon-xyz 1", "is no day"),
        ("mon 25", "more hours than a day has"),
        ("mon 1; weekdays 2", "a day stands there twice"),
        ("mon -1", "is no day"),
    ],
)
def test_what_is_no_week_is_refused(text, why):
    with pytest.raises(Refused, match=why):
        week_of(text)


def test_the_days_up_to_a_last_one_begin_today():
    week = week_of("Mon-Fri 1; Sat 4")
    assert minutes_by_day(week, date(2026, 12, 4), 4) == (60, 240, 0, 60)  # a Friday


@pytest.mark.parametrize(("spent", "left"), [(0, 240), (90, 150), (240, 0), (300, 0)])
def test_what_was_spent_today_is_taken_off_today_alone_and_never_below_nothing(spent, left):
    saturday, week = date(2026, 12, 5), "Mon-Fri 1; Sat 4"
    assert minutes_by_day(week_of(week), saturday, 3, spent) == (left, 0, 60)
    today = today_of(week, saturday, spent)
    assert (today.stated, today.spent, today.left) == (240, spent, left)
    assert str(today) == f"at the bench today: {left} of 240 min left, {spent} spent"


def test_a_day_without_hours_says_so_and_no_week_says_nothing():
    sunday = date(2026, 12, 6)
    assert str(today_of("Sat 4", sunday, 0)) == "at the bench today: no hours"
    assert str(today_of("Sat 4", sunday, 20)) == "at the bench today: no hours, 20 min spent all the same"
    assert today_of("", sunday, 20) is None
