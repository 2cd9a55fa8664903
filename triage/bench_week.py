"""Bench hours by weekday: what was typed, such as “Mon-Fri 1; Sat 4”, as minutes, and the days up to a last one.

Pure.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, timedelta

import msgspec

from catalog.text import Refused, clean_line

DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_GROUPS = {"weekdays": (0, 4), "weekend": (5, 6), "daily": (0, 6)}
_ENTRY = re.compile(r"([a-z]+)(?:\s*-\s*([a-z]+))?\s*:?\s+(\d+(?:[.,]\d+)?)\s*h?")
_MOST = 24.0


class Today(msgspec.Struct, frozen=True):
    """The bench minutes of the day that has begun: those said for it, and those that are gone already."""

    stated: float
    spent: float

    @property
    def left(self) -> float:
        """What is left of them; never below 0, however long one sat there."""
        return max(0.0, self.stated - self.spent)

    def __str__(self) -> str:
        if not self.stated:
            gone = f", {self.spent:.0f} min spent all the same" if self.spent else ""
            return f"at the bench today: no hours{gone}"
        return f"at the bench today: {self.left:.0f} of {self.stated:.0f} min left, {self.spent:.0f} spent"


def week_of(text: str) -> tuple[float, ...]:
    """Minutes on each weekday, Monday first; a day that is not named has none.

    Raises:
        Refused: it is no such list, a day stands twice, or a day has more than 24 hours.
    """
    minutes: dict[int, float] = {}
    for entry in filter(None, (piece.strip() for piece in re.split(r";|,(?!\d)", text.casefold()))):
        found = _ENTRY.fullmatch(entry)
        days = _days(found[1], found[2]) if found else ()
        if found is None or not days:
            said = clean_line(entry, 40)
            raise Refused(f"“{said}” is no day with its hours; write such as Mon-Fri 1; Sat 4", where="lot.week")
        hours = float(found[3].replace(",", "."))
        if hours > _MOST or any(day in minutes for day in days):
            wrong = "more hours than a day has" if hours > _MOST else "a day stands there twice"
            raise Refused(f"“{clean_line(entry, 40)}”: {wrong}", where="lot.week")
        minutes |= dict.fromkeys(days, hours * 60.0)
    return tuple(minutes.get(day, 0.0) for day in range(7)) if minutes else ()


def week_text(text: str) -> str:
    """The same in one form, days of equal hours together; raises `Refused` as `week_of`."""
    week = week_of(text)
    told, day = [], 0
    while day < len(week):
        last = day
        while last + 1 < len(week) and week[last + 1] == week[day]:
            last += 1
        if week[day]:
            names = DAYS[day][:3].title() + (f"-{DAYS[last][:3].title()}" if last > day else "")
            told.append(f"{names} {week[day] / 60:g}")
        day = last + 1
    return "; ".join(told)


def minutes_by_day(week: Sequence[float], today: date, days: int, spent: float = 0.0) -> tuple[float, ...]:
    """Minutes on each of `days` days from today on; of today only what is left after the `spent` ones."""
    first, *others = (week[(today + timedelta(days=day)).weekday()] for day in range(days))
    return (Today(first, spent).left, *others)


def today_of(text: str, today: date, spent: float) -> Today | None:
    """The minutes of today by a list of hours; None where no hours are said."""
    week = week_of(text)
    return Today(week[today.weekday()], spent) if week else None


def _days(first: str, last: str | None) -> tuple[int, ...]:
    if last is None and first in _GROUPS:
        low, high = _GROUPS[first]
        return tuple(range(low, high + 1))
    places = [_place(first), _place(last or first)]
    if places[0] is None or places[1] is None:
        return ()
    low, high = places[0], places[1]
    return tuple(range(low, high + 1)) if low <= high else (*range(low, 7), *range(high + 1))


def _place(name: str) -> int | None:
    """The weekday that begins so, by at least three letters."""
    return next((place for place, day in enumerate(DAYS) if len(name) >= 3 and day.startswith(name)), None)
