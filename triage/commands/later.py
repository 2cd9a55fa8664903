"""`later` and `spare`: what is makeshift and wished for properly, and spare parts that would be good to have."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from triage.commands.output import json_line, say, table
from triage.commands.shared import LINE, MINUS, NUMBER_LIMIT, UNIT, Command, Globals, Number, json_option, words

if TYPE_CHECKING:
    from triage.actions.later import Wish
    from triage.lot import Spare

_WISH = Number(1, NUMBER_LIMIT)


@click.command(cls=Command, context_settings=MINUS)
@click.argument("number", type=UNIT, metavar="[UNIT]", required=False)
@click.argument("part", type=LINE, required=False)
@words("text", nargs=-1)
@click.option("--instead", type=LINE, default="", metavar="WORDS", help="What is fitted for now.")
@click.option("--kind", type=LINE, default="", help="Its kind, where it is not the one of the class file.")
@click.option("--pieces", type=Number(1, 999), default=1, metavar="N", help="How many.")
@click.option("--worth", type=LINE, metavar="AMOUNT|price", help="Its worth (else by the price, less the exchange).")
@click.option("--change", type=_WISH, metavar="WISH", help="Change the worth of a wish.")
@click.option("--drop", type=_WISH, metavar="WISH", help="Not wished for any more, or again where it was dropped.")
@click.option("--done", type=_WISH, metavar="WISH", help="The proper part is in now.")
@json_option
@click.pass_obj
def later(
    held: Globals,
    *,
    number: int | None,
    part: str | None,
    text: tuple[str, ...],
    instead: str,
    kind: str,
    pieces: int,
    worth: str | None,
    change: int | None,
    drop: int | None,
    done: int | None,
    as_json: bool,
) -> None:
    """List what is makeshift, or add to it.

    UNIT and PART say what is makeshift, TEXT what the proper part is. A wish rides along in an order whose cost it
    raises by less than the proper part is worth; PART may be any name, such as feet.
    """
    from triage.actions import later as actions  # noqa: PLC0415 - loaded when a bench file is wanted

    if sum(one is not None for one in (number, change, drop, done)) > 1:
        raise click.UsageError("say one thing at a time: a unit and its part, --change, --drop or --done")
    if (number is None) != (part is None) or (change is not None and worth is None):
        raise click.UsageError("name the unit and the part; --change needs --worth")
    with held.existing() as bench:
        amount = _amount(worth, bench.currency) if worth not in {None, "price"} else None
        if number is not None and part is not None:
            actions.add_wish(
                bench, number, part, " ".join(text), instead=instead, kind=kind, pieces=pieces, worth=amount
            )
            say(f"unit {number}: {part} is makeshift")
        elif change is not None:
            actions.change_wish(bench, change, worth=amount, by_price=worth == "price")
        elif drop is not None:
            again = actions.drop_wish(bench, drop).state == "open"
            say(f"wish {drop} {'is wished for again' if again else 'dropped; what is makeshift stays told'}")
        elif done is not None:
            wish = actions.exchange(bench, done)
            say(f"unit {wish.unit}: the proper {wish.part} is in; its functions are to be tested anew")
        listed = actions.later_list(bench, everything=True)
        currency = bench.currency
    if as_json:
        json_line({"wishes": [_form(one) for one in listed]})
    else:
        _print(listed, currency)


@click.command(cls=Command, context_settings=MINUS)
@words("text", nargs=-1)
@click.option("--pieces", type=Number(1, 99), default=1, metavar="N", help="At most so many, the drawer's included.")
@click.option("--chance", type=LINE, metavar="PERCENT", help="Chance that one is used within a year, such as 60.")
@click.option("--price", type=LINE, metavar="AMOUNT", help="What a piece is reckoned at (else the least price).")
@click.option("--kind", type=LINE, default="", help="Its kind, where the words do not tell it.")
@click.option("--drop", type=_WISH, metavar="SPARE", help="Not wanted any more.")
@json_option
@click.pass_obj
def spare(
    held: Globals,
    *,
    text: tuple[str, ...],
    pieces: int,
    chance: str | None,
    price: str | None,
    kind: str,
    drop: int | None,
    as_json: bool,
) -> None:
    """List the spares wanted, or say of a part that spares would be good to have.

    A piece is worth its chance to be used within a year times its price, and rides along in an order whose cost it
    raises by less.
    """
    from triage.actions import spares as actions  # noqa: PLC0415 - loaded when a bench file is wanted

    if text and (chance is None or drop is not None):
        raise click.UsageError("a spare needs its --chance; --drop stands alone")
    if not text and (chance is not None or price is not None):
        raise click.UsageError("say which part")
    with held.existing() as bench:
        if text and chance is not None:
            actions.add_spare(
                bench,
                " ".join(text),
                pieces=pieces,
                chance=actions.chance_of(chance),
                price=None if price is None else _amount(price, bench.currency),
                kind=kind,
            )
        elif drop is not None:
            say(f"no spares wanted: {actions.drop_spare(bench, drop).text}")
        listed, currency = actions.list_spares(bench), bench.currency
    if as_json:
        json_line({"spares": [_spare_form(one) for one in listed]})
    else:
        _print_spares(listed, currency)


def _amount(text: str | None, currency: str) -> int | None:
    from catalog.money import minor  # noqa: PLC0415

    return None if text is None else minor(text, currency)


def _form(one: Wish) -> dict[str, Any]:
    need = one.need
    return {
        "wish": need.id,
        "unit": need.unit,
        "part": need.part,
        "name": one.part_name,
        "text": need.text,
        "pieces": need.pieces,
        "makeshift": need.instead,
        "tell": need.tell,
        "worth_cents": one.worth,
        "worth_stated": need.worth is not None,
        "state": need.state,
        "source": need.source,
    }


def _spare_form(one: Spare) -> dict[str, Any]:
    return {
        "spare": one.id,
        "text": one.text,
        "kind": one.kind,
        "pieces": one.pieces,
        "chance": one.chance,
        "price_cents": one.price,
    }


def _print(listed: tuple[Wish, ...], currency: str) -> None:
    from catalog.money import show as written  # noqa: PLC0415

    table(
        ("wish", "unit", "part", "worth", "state", "makeshift now", "the proper one"),
        [
            (
                one.need.id,
                one.need.unit,
                one.part_name,
                written(one.worth, currency),
                "ready" if one.need.state in {"reserved", "received"} else one.need.state,
                one.need.instead,
                one.need.text or "to be described",
            )
            for one in listed
        ],
        right=("wish", "unit", "worth"),
    )


def _print_spares(listed: list[Spare], currency: str) -> None:
    from catalog.money import show as written  # noqa: PLC0415

    table(
        ("spare", "pieces", "used within a year", "reckoned at", "part"),
        [
            (
                one.id,
                one.pieces,
                f"{one.chance * 100:g} %",
                "least price" if one.price is None else written(one.price, currency),
                one.text,
            )
            for one in listed
        ],
        right=("spare", "pieces", "used within a year", "reckoned at"),
    )
