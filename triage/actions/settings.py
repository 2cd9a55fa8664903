"""Changing what is assumed about the person: hour, tools, training, currency, selling figures."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

import msgspec

from catalog import money
from catalog.text import Refused, clean_line
from triage import store
from triage.bench_file import BenchFile, in_one_transaction
from triage.person import ALL_TOOLS, LEAST_MAINS, MOST_MAINS, TOOLS_LACKED, Person, Rate


@in_one_transaction
def change_person(bench: BenchFile, **changes: Any) -> Person:
    """Set fields of `Person`; returns the person as it is then.

    Raises:
        Refused: an unknown field or tool, a negative amount, a currency that is none or
            not that of the lots.
    """
    for name in changes:
        if name not in Person.__struct_fields__:
            known = ", ".join(Person.__struct_fields__)
            raise Refused(f"there is no such setting; known are {known}", where=f"settings.{name}")
    try:
        held = msgspec.to_builtins(bench.person)
        person = msgspec.convert({**held, **changes}, Person)
    except msgspec.ValidationError as error:
        raise Refused(str(error), where="settings") from None
    _check(bench, person)
    said = ", ".join(f"{name.replace('_', ' ')} {_said(value)}" for name, value in changes.items())
    with bench.journal.event("settings", f"settings: {said}", at=bench.now()) as recorder:
        for name in changes:
            store.save_setting(recorder, bench.database, name, msgspec.to_builtins(getattr(person, name)))
        if "tools" in changes:  # a list as a whole says of every other tool that it is not there
            lacks = [name for name in ALL_TOOLS if name not in person.tools]
            store.save_setting(recorder, bench.database, TOOLS_LACKED, lacks)
    return person


@in_one_transaction
def say_tools(bench: BenchFile, tools: Mapping[str, bool]) -> Person:
    """Say of {tool: whether it is there}; none of them is asked about again.

    Raises:
        Refused: a tool that is not known.
    """
    for tool in tools:
        _known_tool(tool)
    had, gone = ([name for name, there in tools.items() if there is side] for side in (True, False))
    others = [name for name in bench.person.tools if name not in tools]
    lacks = sorted((bench.said.lacks | set(gone)) - set(had), key=ALL_TOOLS.index)
    parts = [
        f"{word} {', '.join(name.replace('_', ' ') for name in names)}"
        for word, names in (("you have", had), ("without", gone))
        if names
    ]
    with bench.journal.event("settings", f"settings: {'; '.join(parts)}", at=bench.now()) as recorder:
        store.save_setting(recorder, bench.database, "tools", [*others, *had])
        store.save_setting(recorder, bench.database, TOOLS_LACKED, lacks)
    return bench.person


def hour_of(text: str) -> int:
    """An hour of the day, 24 for none; raises `Refused`."""
    if not (text.isascii() and text.isdigit() and len(text) <= 2 and int(text) <= 24):
        raise Refused(f"expected an hour of the day from 0 to 24 (none), not “{clean_line(text, 40)}”")
    return int(text)


def mains_of(text: str) -> float | None:
    """Volts such as `230` or `230 V`; None for nothing and for `none`; raises `Refused`."""
    said = text.strip().casefold()
    return float(money.figure(said.removesuffix("v").strip())) if said not in {"", "none"} else None


def rates_of(text: str, today: date) -> dict[str, Rate]:
    """Rates such as `USD 0.92 2026-11-20; GBP 1.15`, a rate without a day being of `today`; raises `Refused`."""
    rates: dict[str, Rate] = {}
    for entry in filter(None, map(str.strip, text.split(";"))):
        words = entry.split()
        if len(words) not in {2, 3}:
            raise Refused(f"“{clean_line(entry, 40)}” is no rate; write such as USD 0.92 2026-11-20")
        worth = money.figure(words[1])
        if not 0 < worth < 1_000_000 or worth != round(worth, 6):
            raise Refused("expected a rate above 0 with at most 6 digits after the point")
        day = days_of(words[2])[0] if len(words) == 3 else today
        rates[money.code(words[0])] = Rate(f"{worth.normalize():f}", day)
    return rates


def rates_text(rates: Mapping[str, Rate]) -> str:
    """Rates as one types them."""
    return "; ".join(f"{name} {rate.worth} {rate.on.isoformat()}" for name, rate in sorted(rates.items()))


def days_of(text: str) -> tuple[date, ...]:
    """Days with commas between; raises `Refused` for what is none."""
    days = []
    for word in filter(None, map(str.strip, text.split(","))):
        try:
            days.append(date.fromisoformat(word))
        except ValueError:
            raise Refused(f"“{clean_line(word, 40)}” is no day; write it such as 2026-12-25") from None
    return tuple(days)


def _check(bench: BenchFile, person: Person) -> None:
    if person.hour_worth < 0:
        raise Refused("expected zero or more", where="settings.hour_worth")
    if money.code(person.currency) != person.currency:
        raise Refused(f"write it in capitals, {money.code(person.currency)}", where="settings.currency")
    if person.currency != bench.currency and store.lots(bench.database):
        raise Refused(
            f"the lots of this bench file are in {bench.currency}; start another file for {person.currency}",
            where="settings.currency",
        )
    if person.currency in person.rates:
        raise Refused(f"{person.currency} is your own currency; state rates of others", where="settings.rates")
    for tool in person.tools:
        _known_tool(tool)
    if not 0 <= person.cut_off <= 24:
        raise Refused("expected an hour of the day from 0 to 24; 24 is none", where="settings.cut_off")
    if person.mains is not None and not LEAST_MAINS <= person.mains <= MOST_MAINS:
        raise Refused(f"expected volts from {LEAST_MAINS:g} to {MOST_MAINS:g}, or none", where="settings.mains")
    for field in ("list_minutes", "day_cost_ratio", "returns_ratio"):
        if not 0 <= getattr(person, field) < 1000:
            raise Refused("expected zero or more", where=f"settings.{field}")
    if not 0 <= person.incomplete_ratio <= 1:
        raise Refused("expected a share from 0 to 1", where="settings.incomplete_ratio")


def _known_tool(tool: str) -> None:
    if tool not in ALL_TOOLS:
        raise Refused(f"unknown tool; known are {', '.join(ALL_TOOLS)}", where=f"settings.tools.{clean_line(tool)}")


def _said(value: object) -> str:
    if isinstance(value, dict):
        return rates_text(value) or "none"
    if isinstance(value, list | tuple):
        return ", ".join(str(item) for item in value) or "none"
    if value is None:
        return "not said"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)
