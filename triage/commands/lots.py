"""`lot`: starting a lot, typing what is in the box, and seeing how it stands."""

from __future__ import annotations

import math
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from catalog.text import Refused, clean_block
from triage.commands.lot_moved import moved
from triage.commands.output import json_line, percent, say, show, table, today_form
from triage.commands.shared import DAY, FILE, LINE, UNIT, Globals, Group, json_option, pairs

if TYPE_CHECKING:
    from collections.abc import Sequence

    from triage.actions.lot_view import LotView, UnitRow
    from triage.lot import Lot, SoldAs, Unit

TEXT_LIMIT = 1_000_000
"""Most that is read from standard input, in characters."""

_MONEY = ("paid", "postage", "cash_limit")
_TEXTS = ("name", "place", "note")
_DAYS = ("bought_on", "deadline")
_FIELDS = (*_TEXTS, *_MONEY, *_DAYS, "hours", "week", "price_fall")


@click.group(cls=Group)
def lot() -> None:
    """Lots and the units in them."""


lot.add_command(moved)


@lot.command()
@click.argument("name", type=LINE)
@click.option("--paid", type=LINE, metavar="AMOUNT", help="What the lot cost, such as 85.00.")
@click.option("--postage", type=LINE, metavar="AMOUNT", help="What fetching it cost.")
@click.option("--bought", "bought_on", type=DAY, metavar="DATE", help="When it was bought (else today).")
@click.option("--place", type=LINE, help="Where it came from.")
@click.option("--hours", type=LINE, metavar="H", help="Bench hours you give it.")
@click.option("--week", type=LINE, metavar="HOURS", help='Bench hours by day, such as "Mon-Fri 1; Sat 4".')
@click.option("--deadline", type=DAY, metavar="DATE", help="When it should be sold.")
@click.option("--price-fall", type=LINE, metavar="PERCENT", help="What prices lose in a week, in percent.")
@click.option("--cash-limit", type=LINE, metavar="AMOUNT", help="Most to spend on parts; no for no limit.")
@click.option("--note", type=LINE)
@json_option
@click.pass_obj
def new(held: Globals, /, *, as_json: bool, **stated: Any) -> None:
    """Start a lot called NAME."""
    from triage.actions import lots  # noqa: PLC0415 - loaded when a bench file is wanted

    with held.open() as bench:
        given = {name: str(value) for name, value in stated.items() if value is not None}
        given.setdefault("bought_on", bench.today.isoformat())
        made = lots.new_lot(bench, given.pop("name"), **_details(given, bench.currency))
    _tell(made, as_json=as_json, said=f"lot {made.id} “{made.name}” started")


@lot.command("set")
@click.argument("changes", nargs=-1, required=True, metavar="NAME=VALUE…")
@click.option("--lot", "lot_id", type=UNIT, metavar="N", help="Which lot (else the newest).")
@json_option
@click.pass_obj
def set_(held: Globals, changes: tuple[str, ...], lot_id: int | None, *, as_json: bool) -> None:
    """Change what is known of a lot.

    Names: name, place, note, paid, postage, cash_limit, bought_on, deadline, hours,
    week (hours by day, such as Mon-Fri 1; Sat 4), price_fall (percent a week).
    An empty value clears one; cash_limit=no says that there is none.
    """
    from triage.actions import lots  # noqa: PLC0415

    given = dict(pairs(changes, "lot"))
    with held.existing() as bench:
        known = lots.get_lot(bench, lot_id)
        changed = lots.change_lot(bench, known.id, **_details(given, known.currency))
    _tell(changed, as_json=as_json, said=f"lot {changed.id} “{changed.name}”: {', '.join(given)} changed")


@lot.command()
@click.argument("text", nargs=-1)
@click.option("--file", "path", type=FILE, metavar="LIST.csv", help="A list: count, class, symptom, model, note.")
@click.option("--untested", is_flag=True, help="They were sold as untested, not as faulty.")
@click.option("--lot", "lot_id", type=UNIT, metavar="N", help="Which lot (else the newest).")
@json_option
@click.pass_obj
def add(
    held: Globals, text: tuple[str, ...], path: Path | None, lot_id: int | None, *, untested: bool, as_json: bool
) -> None:
    """Add units, typed as you would say them.

    Counts, classes, symptoms and "untested" are understood; what is in doubt is asked, nothing is dropped.
    A single - reads lines from standard input.
    """
    from triage.actions import units  # noqa: PLC0415

    if (path is None) == (not text):
        raise click.UsageError("type what is in the box, or give --file LIST.csv")
    typed = _typed(text)
    sold_as: SoldAs = "untested" if untested else "faulty"
    with held.existing() as bench:
        if path is not None:
            added = units.add_units_csv(bench, path, lot_id=lot_id, sold_as=sold_as)
        else:
            added = units.add_units(bench, typed, lot_id=lot_id, sold_as=sold_as)
        names = {name: bench.classes[name].name for name in {unit.device_class for unit in added.units} - {""}}
    if added.note:
        say(f"{path}: {added.note}")
    if as_json:
        json_line({"units": [_unit_form(unit) for unit in added.units]})
        return
    table(
        ("unit", "class", "typed"),
        [(unit.number, names.get(unit.device_class, "?"), unit.typed) for unit in added.units],
        right=("unit",),
    )
    for question in added.asked:
        say(question)
    if added.doubtful:
        numbers = ", ".join(str(unit.number) for unit in added.doubtful)
        say(f"say what these are with `lotwright unit N class=…`: {numbers}")


@lot.command("list")
@json_option
@click.pass_obj
def list_(held: Globals, *, as_json: bool) -> None:
    """All lots, oldest first."""
    from triage.actions import lots  # noqa: PLC0415

    with held.existing() as bench:
        found = lots.list_lots(bench)
    if as_json:
        json_line({"lots": [_lot_form(each) for each in found]})
    else:
        table(
            ("lot", "name", "paid", "bought", "deadline"),
            [(each.id, each.name, _money(each.paid, each.currency), each.bought_on, each.deadline) for each in found],
            right=("lot", "paid"),
        )


@lot.command("show")
@click.argument("lot_id", type=UNIT, metavar="[LOT]", required=False)
@json_option
@click.pass_obj
def show_(held: Globals, lot_id: int | None, *, as_json: bool) -> None:
    """Every unit with its pile and what it should bring.

    The newest lot, if none is named.
    """
    from triage.actions.lot_view import lot_view  # noqa: PLC0415

    with held.existing() as bench:
        view = lot_view(bench, lot_id)
        for problem in bench.class_problems:
            say(problem)
    if as_json:
        json_line(_view_form(view))
    else:
        _print_view(view)


@lot.command()
@click.argument("lot_id", type=UNIT, metavar="[LOT]", required=False)
@json_option
@click.pass_obj
def ready(held: Globals, lot_id: int | None, *, as_json: bool) -> None:
    """Units whose parts are all here, the one to finish first on top.

    First goes where a day of waiting costs most for each minute of work.
    """
    from triage.actions.goods_in import ready_to_finish  # noqa: PLC0415

    with held.existing() as bench:
        found, currency = ready_to_finish(bench, lot_id), bench.currency
    if as_json:
        forms = [
            {
                "unit": one.unit,
                "minutes": one.minutes,
                "day_cents": one.day_cost,
                "gain_cents": one.gain,
                "what": one.what,
            }
            for one in found
        ]
        json_line({"ready": forms})
        return
    table(
        ("unit", "minutes", "a day costs", "brings more", "repair"),
        [
            (one.unit, f"{one.minutes:.0f}", *(_expected(x, currency) for x in (one.day_cost, one.gain)), one.what)
            for one in found
        ],
        right=("unit", "minutes", "a day costs", "brings more"),
    )


def _print_view(view: LotView) -> None:
    currency = view.lot.currency
    show(f"lot {view.lot.id} “{view.lot.name}”, amounts in {currency}")
    table(
        ("unit", "class", "pile", "value", "10 %", "90 %", "loss", "seen", "next"),
        [
            (
                row.number,
                row.class_name,
                row.pile_word + (" by hand" if row.by_hand else ""),
                *(_expected(amount, currency) for amount in (row.value, row.low, row.high)),
                percent(row.loss_chance),
                row.seen,
                row.hazard or (f"waits for {row.waits_for}" if row.waits_for else row.next_step),
            )
            for row in view.rows
        ],
        right=("unit", "value", "10 %", "90 %", "loss"),
    )
    if any(not row.low <= row.value <= row.high for row in view.rows):
        show("value is the mean: what is rarer than one time in ten counts in it, and is left out of 10 % and 90 %")
    for pile in view.piles:
        value = _expected(pile.value, currency)
        show(f"{pile.word}: {pile.units} for {value}, {pile.minutes:.0f} min to go")
    left = "" if view.minutes_left is None else f", {view.minutes_left:.0f} left"
    days = "" if view.days_left is None else f"; {view.days_left} days to the deadline"
    if view.today is not None:
        show(str(view.today))
    show(f"{view.minutes_spent:.0f} bench minutes spent{left}{days}; untouched {_expected(view.untouched, currency)}")


def _view_form(view: LotView) -> dict[str, Any]:
    return {
        "lot": _lot_form(view.lot),
        "units": [_row_form(row) for row in view.rows],
        "piles": [
            {"pile": pile.pile, "units": pile.units, "value_cents": pile.value, "minutes": pile.minutes}
            for pile in view.piles
        ],
        "minutes_spent": view.minutes_spent,
        "minutes_left": view.minutes_left,
        "days_left": view.days_left,
        "today": today_form(view.today),
        "untouched_cents": view.untouched,
        "best_look": view.best_look,
        "hour_worth_cents": view.hour_worth,
        "day_worth_cents": view.day_worth,
    }


def _row_form(row: UnitRow) -> dict[str, Any]:
    return {
        "number": row.number,
        "class": row.device_class or None,
        "seen": row.seen,
        "pile": row.pile,
        "by_hand": row.by_hand,
        "value_cents": row.value,
        "low_cents": row.low,
        "high_cents": row.high,
        "loss_chance": row.loss_chance,
        "waits_for": row.waits_for,
        "fixed": row.fixed,
        "untested": list(row.untested),
        "suspect": row.suspect,
        "suspect_chance": row.suspect_chance,
        "hazard": row.hazard,
        "minutes": row.minutes,
        "minutes_to_go": row.minutes_to_go,
        "next": row.next_step,
    }


def _lot_form(lot: Lot) -> dict[str, Any]:
    return {
        "lot": lot.id,
        "name": lot.name,
        "currency": lot.currency,
        "paid_cents": lot.paid,
        "postage_cents": lot.postage,
        "bought_on": lot.bought_on or None,
        "place": lot.place,
        "bench_minutes": lot.bench_minutes,
        "deadline": lot.deadline or None,
        "week": lot.week,
        "price_fall": lot.price_fall,
        "cash_limit_cents": lot.cash_limit,
        "no_cash_limit": lot.no_cash_limit,
        "note": lot.note,
    }


def _unit_form(unit: Unit) -> dict[str, Any]:
    return {
        "number": unit.number,
        "lot": unit.lot,
        "class": unit.device_class or None,
        "candidates": list(unit.candidates),
        "symptoms": list(unit.symptoms),
        "typed": unit.typed,
        "model": unit.model,
        "note": unit.note,
        "sold_as": unit.sold_as,
    }


def _tell(lot: Lot, *, as_json: bool, said: str) -> None:
    if as_json:
        json_line(_lot_form(lot))
    else:
        say(said)


def _typed(text: Sequence[str]) -> str:
    """The typed lines: words without a space belong to one line; quoted phrases are a line each."""
    if text == ("-",):
        return clean_block(_from_standard_input(), TEXT_LIMIT)
    lines = [LINE.convert(word, None, None) for word in text]
    return "\n".join(lines) if any(" " in line for line in lines) else " ".join(lines)


def _from_standard_input() -> str:
    """The text that is piped in.

    Raises:
        Refused: it is too long, or no text.
    """
    data = sys.stdin.buffer.read(TEXT_LIMIT + 1)
    if len(data) > TEXT_LIMIT:
        raise Refused(f"more than {TEXT_LIMIT:,} bytes; add them in parts", where="standard input")
    try:
        read = data.decode("utf-8-sig")
        fault = read.find("\0")
    except UnicodeDecodeError as error:
        read, fault = "", error.start
    if fault >= 0:
        line = data.count(b"\n", 0, fault) + 1
        raise Refused("this is no UTF-8 text; type or paste the units", where=f"standard input:{line}")
    return read


def _details(given: dict[str, str], currency: str) -> dict[str, Any]:
    """Fields of a lot from what was typed.

    Raises:
        Refused: an unknown field, or a value that is none.
    """
    from catalog.money import minor  # noqa: PLC0415
    from triage.actions.lots import share_of  # noqa: PLC0415

    details: dict[str, Any] = {}
    for name, text in given.items():
        where = f"lot.{name}"
        if name not in _FIELDS:
            raise Refused(f"there is no such field; known are {', '.join(_FIELDS)}", where=where)
        try:
            if name == "price_fall":
                details[name] = share_of(text)
            elif name == "hours":
                details["bench_minutes"] = _minutes(text) if text else None
            elif name == "cash_limit" and text.casefold() == "no":
                details["no_cash_limit"] = True
            elif name in _MONEY:
                empty = None if name == "cash_limit" else 0
                details[name] = minor(text, currency) if text else empty
            else:
                details[name] = text
        except Refused as refusal:
            raise Refused(refusal.problem, where=where) from None
    return details


def _minutes(hours: str) -> int:
    from catalog.money import figure  # noqa: PLC0415

    minutes = float(figure(hours)) * 60
    if minutes > 1_000_000:
        raise Refused("more hours than a life at the bench")
    return math.floor(minutes + 0.5)


def _money(amount: int, currency: str) -> str:
    from catalog.money import show as written  # noqa: PLC0415

    return written(amount, currency)


def _expected(amount: float, currency: str) -> str:
    from catalog.money import shown  # noqa: PLC0415

    return shown(amount, currency)
