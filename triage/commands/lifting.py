"""`lift`: parts taken out of a unit, and put back."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click
import msgspec

from catalog.text import Refused
from triage.commands.output import json_line, say, table
from triage.commands.shared import LINE, MINUTES, UNIT, Command, Globals, Number, json_option, used_part

if TYPE_CHECKING:
    from triage.bench_file import BenchFile

_MOST = 999


@click.command(cls=Command)
@click.argument("number", type=UNIT, metavar="UNIT")
@click.argument("part", type=LINE, required=False)
@click.option("--pieces", type=Number(1, _MOST), metavar="N", help="How many (else all that are in it).")
@click.option("--place", type=LINE, default="", help="Where it is put (else “from unit UNIT”).")
@click.option("--words", type=LINE, default="", help="What exactly it is (else what was described for that part).")
@click.option("--for", "for_unit", type=UNIT, metavar="UNIT", help="Promise it to this unit, which waits for one.")
@click.option("--sat", type=LINE, default="", metavar="TEXT", help="How it sat: which way round, ribbons, screws.")
@click.option("--back", is_flag=True, help="It was put back.")
@click.option("--part", "parts", multiple=True, metavar="PART[:PIECES]", help="With --back: which part of yours.")
@click.option("--minutes", type=MINUTES, metavar="M", help="What it took (else what the class file says).")
@json_option
@click.pass_obj
def lift(
    held: Globals,
    *,
    number: int,
    part: str | None,
    pieces: int | None,
    place: str,
    words: str,
    for_unit: int | None,
    sat: str,
    back: bool,
    parts: tuple[str, ...],
    minutes: float | None,
    as_json: bool,
) -> None:
    """Note that a part was taken out of a unit.

    It lies in the drawer then. Without PART: list what may be taken.
    """
    from triage.actions import lifting, putting_back  # noqa: PLC0415 - loaded when a bench file is wanted

    if parts and not back:
        raise click.UsageError("--part says what went in, so it takes --back")
    if back and (place or words or sat or for_unit is not None):
        raise click.UsageError("--back takes no place, words or other unit")
    with held.existing() as bench:
        if part is None:
            _list(bench, number, as_json=as_json)
            return
        if back:
            used = tuple(used_part(one) for one in parts)
            seen = putting_back.put_back(bench, number, part, pieces, parts=used, minutes=minutes)
            said = f"unit {number}: {seen.value:g} × {part} put back; its functions are to be tested anew"
            form: dict[str, object] = {"unit": number, "part": part, "back": seen.value}
        else:
            need = None if for_unit is None else _need_of(bench, number, part, for_unit)
            sat = sat or _asked_how_it_sits()
            done = lifting.lift(
                bench, number, part, pieces, place=place, words=words, need=need, way_round=sat, minutes=minutes
            )
            count = done.happening.value or 0
            said = f"unit {number}: {count:g} × {part} taken out; now part {done.drawer_part}, {done.place}"
            said += f"; {done.promised} promised to unit {done.for_unit}" if done.promised else ""
            said += "" if sat else "; how it sat was not said (--sat keeps it)"
            form = {"unit": number, "part": part, "pieces": round(count), "drawer_part": done.drawer_part}
            form |= {"place": done.place, "words": done.words, "promised": done.promised, "for_unit": done.for_unit}
    if as_json:
        json_line(form)
    else:
        say(said)


def _asked_how_it_sits() -> str:
    """What a person at a terminal says of how the part sits, before it comes out; nothing where nobody sits there."""
    if not (sys.stdin and sys.stdin.isatty() and sys.stderr and sys.stderr.isatty()):
        return ""
    asked = "How does it sit: which way round, ribbons, screws? (Enter: nothing to note)"
    return str(click.prompt(asked, default="", show_default=False, prompt_suffix=" ", err=True, type=LINE))


def _list(bench: BenchFile, number: int, *, as_json: bool) -> None:
    from triage.actions.lifting import liftable  # noqa: PLC0415

    found = liftable(bench, number)
    if as_json:
        json_line({"unit": number, "parts": [msgspec.to_builtins(one) for one in found]})
        return
    table(
        ("part", "in it", "taken out", "name", "described as"),
        [(one.part, one.inside, one.lifted, one.name, one.words) for one in found],
        right=("in it", "taken out"),
    )


def _need_of(bench: BenchFile, number: int, part: str, for_unit: int) -> int:
    """The need of the other unit: that of the same part, else its only one of the kind."""
    from triage.actions.lifting import takers  # noqa: PLC0415

    mine = [taker for taker in takers(bench, number, part) if taker.unit == for_unit]
    same = [taker for taker in mine if taker.part == part] or mine
    if len(same) != 1:
        why = "it waits for no such part; describe it with `lotwright need`" if not same else "it waits for several"
        raise Refused(why, where=f"--for {for_unit}")
    return same[0].need
