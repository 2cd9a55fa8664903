"""`find` and `parts`: searching what there is, and the person's own parts in and out."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from catalog.text import Refused
from triage.commands.lists import dry_run_option, take_in, telling
from triage.commands.output import json_line, say, table
from triage.commands.shared import (
    FILE,
    LINE,
    MINUS,
    NUMBER_LIMIT,
    Command,
    Globals,
    Group,
    Number,
    json_option,
    map_option,
    pairs,
    words,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from msgspec import Struct

    from catalog.search import Hit
    from triage.actions.drawer import DrawerLine

_MOST_PIECES = 1_000_000_000


@click.command(cls=Command, context_settings=MINUS)
@words("query", nargs=-1)
@click.option("--limit", type=Number(1, 10_000), default=20, show_default=True, metavar="N", help="At most so many.")
@click.option(
    "--text-only", is_flag=True, help="Most alike by their text, whatever they are; nothing is read or judged."
)
@click.option("--file", "source", type=FILE, help="One query a line (- is standard input), one line of JSON for each.")
@json_option
@click.pass_obj
def find(
    held: Globals, query: tuple[str, ...], *, limit: int, text_only: bool, source: Path | None, as_json: bool
) -> None:
    """Search your parts and the offers, best first.

    Type what you see or remember, in any order.
    """
    from triage.actions.findable import find_alike, find_parts  # noqa: PLC0415 - loaded when a bench file is wanted

    typed = _query(" ".join(query), "QUERY")
    if bool(typed) == (source is not None):
        raise click.UsageError("say what to search for, or name a file of queries with --file")
    look = find_alike if text_only else find_parts
    with held.existing() as bench:
        if source is not None:
            for line, text in enumerate(_lines(source), start=1):
                asked = _query(text.strip(), f"{source}:{line}")
                json_line({"query": asked, "hits": [_hit_form(hit) for hit in look(bench, asked, limit)]})
            return
        hits = look(bench, typed, limit)
    if as_json:
        json_line({"hits": [_hit_form(hit) for hit in hits]})
        return
    table(
        ("grade", "pieces", "where", "number", "description"),
        [
            (
                f"bad, {hit.grade or '-'}" if hit.bad else hit.grade or "-",
                "plenty" if hit.entry.quantity is None else hit.entry.quantity,
                hit.entry.supplier or hit.entry.place,
                hit.entry.part_number,
                hit.entry.description,
            )
            for hit in hits
        ],
        right=("pieces",),
    )


def _lines(source: Path) -> Iterator[str]:
    """The lines of a file, or of standard input as they come."""
    from catalog.columns import FILE_LIMIT, load  # noqa: PLC0415
    from catalog.encodings import decoded  # noqa: PLC0415

    if str(source) != "-":
        held = load(source)
        if held.note:
            say(f"{source}: {held.note}")
        yield from held.text.splitlines()
        return
    number = 0
    while line := sys.stdin.buffer.readline(FILE_LIMIT):
        number += 1
        yield decoded(line, f"standard input, line {number}").text


def _query(text: str, where: str) -> str:
    from triage.actions.findable import QUERY_LIMIT  # noqa: PLC0415

    if len(text) > QUERY_LIMIT:
        raise Refused(f"{len(text):,} characters; at most {QUERY_LIMIT} are searched, shorten it", where=where)
    return text


@click.group(cls=Group)
def parts() -> None:
    """Your own parts."""


@parts.command("import")
@click.argument("file", type=FILE)
@map_option
@dry_run_option
@json_option
@click.pass_obj
def import_(held: Globals, file: Path, column_map: dict[str, str], *, dry_run: bool, as_json: bool) -> None:
    """Take in a parts list (CSV).

    Columns: part_number, description, kind, quantity, place, unit_cost, currency.
    """
    from triage.actions.prices import stage_files  # noqa: PLC0415

    with held.open() as bench:
        staged = stage_files(bench, [file], column_map, kind="parts", progress=telling())
        take_in(bench, staged, dry_run=dry_run, as_json=as_json)


@parts.command()
@click.argument("file", type=FILE)
@json_option
@click.pass_obj
def export(held: Globals, file: Path, *, as_json: bool) -> None:
    """Write your parts to a new CSV file.

    `parts import` reads it back.
    """
    from triage.actions.parts import export_parts  # noqa: PLC0415

    with held.existing() as bench:
        count = export_parts(bench, file)
    say(f"{count} parts written to {file}")
    if as_json:
        json_line({"parts": count, "file": str(file)})


@parts.command("list")
@json_option
@click.pass_obj
def list_(held: Globals, *, as_json: bool) -> None:
    """All your parts, oldest first."""
    from triage.actions.parts import list_parts  # noqa: PLC0415

    with held.existing() as bench:
        found = [_part_form(part) for part in list_parts(bench)]
    if as_json:
        json_line({"parts": found})
        return
    table(
        ("part", "pieces", "place", "cost", "kind", "number", "description"),
        [
            (
                *(part[name] for name in ("id", "quantity", "place")),
                _cost(part),
                part["kind"] or "?",
                part["part_number"],
                part["description"],
            )
            for part in found
        ],
        right=("part", "pieces", "cost"),
    )


@parts.command(context_settings=MINUS)
@words("description", nargs=-1)
@click.option("--number", "part_number", type=LINE, default="", help="Its part number.")
@click.option("--kind", type=LINE, default="", help="Its kind, where the description does not tell.")
@click.option("--quantity", type=Number(0, _MOST_PIECES), default=1, metavar="N", help="Pieces there are (else 1).")
@click.option("--place", type=LINE, default="", help="Where it lies.")
@click.option("--cost", type=LINE, metavar="AMOUNT", help="Cost of one piece.")
@click.option("--currency", type=LINE, default="", help="Of the cost (else yours).")
@json_option
@click.pass_obj
def add(
    held: Globals,
    *,
    description: tuple[str, ...],
    part_number: str,
    kind: str,
    quantity: int,
    place: str,
    cost: str | None,
    currency: str,
    as_json: bool,
) -> None:
    """Add one part by its description."""
    from catalog.money import minor  # noqa: PLC0415
    from triage.actions.parts import add_part  # noqa: PLC0415

    with held.open() as bench:
        try:
            unit_cost = None if cost is None else minor(cost, currency or bench.currency)
        except Refused as refusal:
            raise Refused(refusal.problem, where="--cost") from None
        part = add_part(
            bench,
            " ".join(description),
            part_number=part_number,
            kind=kind,
            quantity=quantity,
            place=place,
            unit_cost=unit_cost,
            currency=currency,
        )
    if as_json:
        json_line(_part_form(part))
    else:
        unread = f"; not understood: {part.left_over}" if part.left_over and part.kind else ""
        pieces = f"{part.quantity} piece{'s' if part.quantity != 1 else ''}"
        say(f"part {part.id} added: {part.kind or 'not understood'}, {pieces}{unread}")


@parts.command()
@click.argument("place", type=LINE, required=False)
@json_option
@click.pass_obj
def places(held: Globals, place: str | None, *, as_json: bool) -> None:
    """The places in which your parts lie.

    With PLACE the lines there: held, promised to which unit, free.
    """
    from triage.actions import drawer  # noqa: PLC0415

    with held.existing() as bench:
        if place is not None:
            _tell_lines(drawer.lines_of(bench, place), as_json=as_json)
            return
        found = drawer.places(bench)
    if as_json:
        json_line({"places": [{name: getattr(one, name) for name in one.__struct_fields__} for one in found]})
        return
    table(
        ("place", "lines", "pieces", "promised"),
        [(one.place or drawer.NO_PLACE, one.lines, one.pieces, one.promised) for one in found],
        right=("lines", "pieces", "promised"),
    )


@parts.command()
@click.argument("place", type=LINE)
@click.argument("counted", type=LINE, nargs=-1, required=True, metavar="PART=PIECES…")
@json_option
@click.pass_obj
def count(held: Globals, place: str, counted: tuple[str, ...], *, as_json: bool) -> None:
    """Note what was counted in a place.

    What is not named there stays as noted.

    All of it is one action that undo takes back. Where fewer lie there than are promised, the youngest promise is let
    go, and it is said which unit waits again.
    """
    from triage.actions.drawer import count_place  # noqa: PLC0415

    stated = {_whole(part, "PART", 1): _whole(pieces, f"part {part}", 0) for part, pieces in pairs(counted, "COUNTED")}
    with held.existing() as bench:
        done = count_place(bench, place, stated)
    if as_json:
        changed = [{name: getattr(one, name) for name in one.__struct_fields__} for one in done.changed]
        json_line({"changed": changed, "waiting": list(done.waiting)})
    else:
        say(done.told)


@parts.command()
@click.argument("place", type=LINE)
@click.argument("numbers", type=Number(1, NUMBER_LIMIT), nargs=-1, required=True, metavar="PART…")
@json_option
@click.pass_obj
def move(held: Globals, place: str, numbers: tuple[int, ...], *, as_json: bool) -> None:
    """These parts lie in PLACE from now on."""
    from triage.actions.drawer import move_lines  # noqa: PLC0415

    with held.existing() as bench:
        moved = move_lines(bench, numbers, place)
    if as_json:
        json_line({"parts": [_part_form(part) for part in moved]})
    else:
        say(f"{len(moved)} lines moved" if len(moved) != 1 else f"part {moved[0].id} moved")


def _tell_lines(lines: tuple[DrawerLine, ...], *, as_json: bool) -> None:
    if as_json:
        stated = ("part", "name", "place", "held", "free")
        json_line(
            {
                "lines": [
                    {
                        **{name: getattr(line, name) for name in stated},
                        "promised": [
                            {"unit": item.unit, "need": item.need, "pieces": item.pieces} for item in line.promised
                        ],
                    }
                    for line in lines
                ]
            }
        )
        return
    table(
        ("part", "held", "free", "promised", "description"),
        [(line.part, line.held, line.free, ", ".join(map(str, line.promised)), line.name) for line in lines],
        right=("part", "held", "free"),
    )


def _whole(text: str, where: str, low: int) -> int:
    try:
        return Number(low, _MOST_PIECES).convert(text, None, None)
    except click.BadParameter as error:
        raise Refused(error.message, where=where) from None


def _hit_form(hit: Hit) -> dict[str, Any]:
    entry = hit.entry
    return {
        "source": entry.source,
        "id": entry.id,
        "part_number": entry.part_number,
        "description": entry.description,
        "kind": entry.kind,
        "bad": hit.bad or None,
        "grade": hit.grade,
        "why": hit.why,
        "score": hit.score,
        "same_number": hit.same_number,
        "quantity": entry.quantity,
        "place": entry.place,
        "supplier": entry.supplier or None,
        "left_over": entry.left_over,
    }


def _part_form(part: Struct) -> dict[str, Any]:
    from msgspec.structs import asdict  # noqa: PLC0415

    held = asdict(part)
    stated = ("id", "part_number", "description", "kind", "left_over", "quantity", "place", "currency")
    return {**{name: held[name] for name in stated}, "unit_cost_cents": held["unit_cost"]}


def _cost(form: dict[str, Any]) -> str:
    from catalog.money import show  # noqa: PLC0415

    return "" if form["unit_cost_cents"] is None else show(form["unit_cost_cents"], form["currency"], with_code=True)
