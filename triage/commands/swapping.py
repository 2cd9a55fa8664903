"""`swap`: one part changes places between two like units, and the fault moves or stays."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click
import msgspec

from triage.commands.advice import tell_next
from triage.commands.output import json_line, percent, say, show, table
from triage.commands.shared import LINE, UNIT, Command, Globals, json_option

if TYPE_CHECKING:
    from triage.bench_file import BenchFile
    from triage.swaps import Outcome

_OUTCOMES: tuple[Outcome, ...] = ("moves", "stays", "neither", "both")


@click.command(cls=Command)
@click.argument("number", type=UNIT, metavar="UNIT")
@click.argument("part", type=LINE, required=False)
@click.argument("other", type=UNIT, required=False, metavar="OTHER")
@click.argument("outcome", type=click.Choice(_OUTCOMES), required=False)
@click.option("--check", "check_id", type=LINE, default="", help="The check looked at (else the only one that can be).")
@json_option
@click.pass_obj
def swap(
    held: Globals,
    *,
    number: int,
    part: str | None,
    other: int | None,
    outcome: Outcome | None,
    check_id: str,
    as_json: bool,
) -> None:
    """Note what a swap test with a like unit told.

    PART of UNIT and of OTHER changed places: the fault moves, stays, neither or both show it then. Both parts are put
    back. Without PART: list the exchanges that would tell something, and what each puts at risk.
    """
    from triage.actions import swapping  # noqa: PLC0415 - loaded when a bench file is wanted

    if part is not None and (other is None or outcome is None):
        raise click.UsageError("PART, OTHER and the outcome go together")
    with held.existing() as bench:
        if part is None or other is None or outcome is None:
            _list(bench, number, as_json=as_json)
            return
        swapping.swap(bench, number, part, other, outcome, check_id=check_id)
        say(f"units {number} and {other}: {part} swapped, outcome {outcome}; test both again before they are sold")
        tell_next(bench, number, as_json=as_json)


def _list(bench: BenchFile, number: int, *, as_json: bool) -> None:
    from triage.actions.swapping import swap_offers  # noqa: PLC0415

    found = swap_offers(bench, number)
    if as_json:
        json_line({"unit": number, "swaps": [msgspec.to_builtins(one) for one in found]})
        return
    table(
        ("part", "with", "check", "suspect", "min", "question"),
        [(one.part, one.other, one.check, percent(one.chance), f"{one.minutes:.0f}", one.question) for one in found],
        right=("with", "suspect", "min"),
    )
    for risk in dict.fromkeys(one.risk for one in found):
        show(f"CAUTION {risk}")
