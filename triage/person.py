"""The person at the bench: what an hour is worth, which tools and training they have, what selling costs.

Everything is assumed until it is said. What was said is stored, so that what is still assumed can be named and asked
for when it first matters.
"""

from __future__ import annotations

import locale
from collections.abc import Mapping
from datetime import date
from typing import Any

import msgspec

from catalog.money import DIGITS
from catalog.shapes import ready
from triage.locks import ASSUMED_TOOLS

ALL_TOOLS = (
    "screwdriver",
    "iron",
    "meter",
    "bench_supply",
    "scope",
    "load",
    "esr_meter",
    "series_lamp",
    "insulation_tester",
    "lens",
    "gauge",
    "tone_tape",
    "torque_cassette",
    "dummy_loads",
)

LEAST_MAINS, MOST_MAINS = 80.0, 500.0
"""Volts that may be a mains anywhere, the same that are looked for in the text of a supply (our choice)."""


class Rate(msgspec.Struct, frozen=True):
    """What one of another currency is worth in one's own, and the day that was said of."""

    worth: str
    """As stated, a plain decimal number."""
    on: date


class Person(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Settings of the person. Money in minor units of `currency`."""

    currency: str
    hour_worth: int = 1200
    """Worth of an hour; 0 when the evening is the fun of it."""
    tools: tuple[str, ...] = ASSUMED_TOOLS
    live_mains: bool = False
    tube: bool = False
    list_minutes: float = 10.0
    """Minutes to photograph and list a unit sold as it stands (from memory)."""
    day_cost_ratio: float = 0.002
    """Delay cost of one day as a share of the working price (from memory)."""
    returns_ratio: float = 0.02
    """Returns allowance as a share of the working price (from memory)."""
    incomplete_ratio: float = 0.85
    """What one that lacks something brings, as a share of a complete one (from memory)."""
    cut_off: int = 24
    """Hour of the day from which an order counts as sent the next day; 24 = none."""
    holidays: tuple[date, ...] = ()
    """Days besides the weekend on which no supplier starts on an order."""
    mains: float | None = None
    """Volts at the person's sockets, which a supply must stand; None = not said, then it is a check."""
    rates: dict[str, Rate] = {}
    """{currency: its rate}; what is priced in a currency without one is not ordered."""

    @property
    def minute_worth(self) -> float:
        """Worth of a bench minute, in minor units."""
        return self.hour_worth / 60

    @property
    def permissions(self) -> frozenset[str]:
        """The trainings the person has confirmed, as class files name them."""
        held = {"live_mains": self.live_mains, "tube": self.tube}
        return frozenset(name for name, given in held.items() if given)


TOOLS_LACKED = "tools_lacked"
"""Setting with the tools that the person said they do not have."""


class Said(msgspec.Struct, frozen=True):
    """What the person really said about themselves; the rest of `Person` is assumed."""

    names: frozenset[str] = frozenset()
    """Fields of `Person`."""
    lacks: frozenset[str] = frozenset()
    """Tools that were said not to be there."""


ready(Person)


def said_of(settings: Mapping[str, Any]) -> Said:
    """What was said, from the stored settings. Tools stated as a whole list are all there are."""
    names = frozenset(name for name in Person.__struct_fields__ if name in settings)
    lacks = frozenset(settings.get(TOOLS_LACKED, ()))
    if "tools" in names and TOOLS_LACKED not in settings:
        lacks = frozenset(ALL_TOOLS) - frozenset(settings["tools"])
    return Said(names, lacks)


def person_of(settings: Mapping[str, Any]) -> Person:
    """The person from the stored settings; what is not stored is assumed."""
    known = {name: settings[name] for name in Person.__struct_fields__ if name in settings}
    return msgspec.convert({"currency": locale_currency(), **known}, Person)


def locale_currency() -> str:
    """The currency of the person's locale, EUR when the locale does not tell."""
    symbol = locale.localeconv().get("int_curr_symbol", "")
    code = str(symbol).strip()
    return code if code in DIGITS else "EUR"
