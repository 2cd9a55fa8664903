"""`settings`: what is known or assumed about the person, shown or changed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from catalog.text import Refused, clean_line
from triage.commands.output import json_line, say, table
from triage.commands.shared import Command, Globals, json_option, pairs

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from triage.person import Person

_FLAGS = ("live_mains", "tube")
_FIGURES = ("list_minutes", "day_cost_ratio", "returns_ratio", "incomplete_ratio")
_SAID = {"yes": True, "y": True, "true": True, "on": True, "no": False, "n": False, "false": False, "off": False}


@click.command(cls=Command)
@click.argument("changes", nargs=-1, metavar="[NAME=VALUE]…")
@json_option
@click.pass_obj
def settings(held: Globals, changes: tuple[str, ...], *, as_json: bool) -> None:
    """Show or change what is assumed about you.

    tools=screwdriver,iron,meter states all you have; scope=yes or scope=no speaks of one tool alone.

    cut_off is the hour from which an order counts as sent the next day (24 = none); holidays are dates with
    commas between. mains=230 says the volts at your sockets, which a supply must stand; mains=none takes it back.
    rates="USD 0.92 2026-11-20; GBP 1.15" says what one of another currency is worth, and since when.
    """
    from triage.actions.settings import change_person, say_tools  # noqa: PLC0415 - loaded when a bench file is wanted
    from triage.person import ALL_TOOLS  # noqa: PLC0415

    stated = dict(pairs(changes, "settings"))
    with held.open() as bench:
        tools = {name: _flag(text, name) for name, text in stated.items() if name in ALL_TOOLS}
        values = {name: text for name, text in stated.items() if name not in tools}
        if values and tools:
            raise click.UsageError(f"say {', '.join(tools)} apart from the other settings, so that each is one step")
        if values:
            change_person(bench, **_values(values, values.get("currency", bench.currency).upper(), bench.today))
        if tools:
            say_tools(bench, tools)
        if stated:
            say(f"settings: {', '.join(stated)} changed")
        person, said = bench.person, bench.said
    if as_json:
        json_line({**_form(person), "said": sorted(said.names), "tools_lacked": sorted(said.lacks)})
    else:
        rows = [(name, value, "" if name in said.names else "assumed") for name, value in _rows(person).items()]
        table(("setting", "value", ""), rows)


def _values(stated: Mapping[str, str], currency: str, today: date) -> dict[str, Any]:
    """Fields of the person from what was typed; an unknown name passes, to be refused with the known ones."""
    from catalog.money import code, minor  # noqa: PLC0415
    from triage.actions.settings import days_of, hour_of, mains_of, rates_of  # noqa: PLC0415

    values: dict[str, Any] = {}
    for name, text in stated.items():
        try:
            if name == "hour_worth":
                values[name] = minor(text, currency)
            elif name == "currency":
                values[name] = code(text)
            elif name == "cut_off":
                values[name] = hour_of(text)
            elif name == "mains":
                values[name] = mains_of(text)
            elif name == "holidays":
                values[name] = days_of(text)
            elif name == "rates":
                values[name] = rates_of(text, today)
            elif name == "tools":
                values[name] = [part.strip() for part in text.split(",") if part.strip()]
            elif name in _FLAGS:
                values[name] = _flag(text, name)
            elif name in _FIGURES:
                values[name] = _figure(text)
            else:
                values[name] = text
        except Refused as refusal:
            raise Refused(refusal.problem, where=f"settings.{name}") from None
    return values


def _flag(text: str, name: str) -> bool:
    if text.casefold() not in _SAID:
        raise Refused(f"expected yes or no, not “{clean_line(text, 40)}”", where=f"settings.{name}")
    return _SAID[text.casefold()]


def _figure(text: str) -> float:
    from catalog.money import figure  # noqa: PLC0415

    return float(figure(text))


def _form(person: Person) -> dict[str, Any]:
    return {
        "currency": person.currency,
        "hour_worth_cents": person.hour_worth,
        "tools": list(person.tools),
        "live_mains": person.live_mains,
        "tube": person.tube,
        "list_minutes": person.list_minutes,
        "day_cost_ratio": person.day_cost_ratio,
        "returns_ratio": person.returns_ratio,
        "incomplete_ratio": person.incomplete_ratio,
        "cut_off": person.cut_off,
        "holidays": [day.isoformat() for day in person.holidays],
        "mains": person.mains,
        "rates": {name: {"worth": rate.worth, "on": rate.on.isoformat()} for name, rate in person.rates.items()},
    }


def _rows(person: Person) -> dict[str, str]:
    from catalog.money import show  # noqa: PLC0415
    from triage.actions.settings import rates_text  # noqa: PLC0415

    shown = {name: f"{value:g}" for name, value in _form(person).items() if name in _FIGURES}
    return {
        "currency": person.currency,
        "hour_worth": show(person.hour_worth, person.currency),
        "tools": ",".join(person.tools),
        **{name: "yes" if getattr(person, name) else "no" for name in _FLAGS},
        **shown,
        "cut_off": "none" if person.cut_off == 24 else f"{person.cut_off} o'clock",
        "holidays": ",".join(day.isoformat() for day in person.holidays),
        "mains": "not said" if person.mains is None else f"{person.mains:g} V",
        "rates": rates_text(person.rates),
    }
