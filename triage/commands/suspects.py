"""`suspect`: a fault that is on no list, added to one unit or taken off again."""

from __future__ import annotations

import click

from triage.commands.advice import tell_next
from triage.commands.output import say
from triage.commands.shared import LINE, MINUS, MINUTES, UNIT, Command, Globals, json_option


@click.command(cls=Command, context_settings=MINUS)
@click.argument("number", type=UNIT, metavar="UNIT")
@click.argument("what", type=LINE, required=False, default="")
@click.option("--shows", "shows", type=LINE, multiple=True, metavar="CHECK", help="A check that it makes bad.")
@click.option("--chance", type=click.FloatRange(0, 1), default=0.1, metavar="P", help="How likely before any look.")
@click.option("--minutes", type=MINUTES, default=15.0, metavar="M", help="What a cure takes, the case open.")
@click.option("--cost", type=LINE, default="", metavar="AMOUNT", help="What its parts cost.")
@click.option("--success", type=click.FloatRange(0, 1), default=0.8, metavar="P", help="Chance that a cure works.")
@click.option("--outside", is_flag=True, help="It is cured without opening the case.")
@click.option("--no-cure", is_flag=True, help="It has no economic cure.")
@click.option("--drop", type=LINE, default="", metavar="ID", help="Take it off again.")
@json_option
@click.pass_obj
def suspect(
    held: Globals,
    *,
    number: int,
    what: str,
    shows: tuple[str, ...],
    chance: float,
    minutes: float,
    cost: str,
    success: float,
    outside: bool,
    no_cure: bool,
    drop: str,
    as_json: bool,
) -> None:
    """Add WHAT, a fault that is on no list, to a unit.

    It joins the suspects at once. Without --shows it is taken to show in every check that reads bad now.
    """
    from catalog.money import minor  # noqa: PLC0415 - loaded when a bench file is wanted
    from triage.actions.suspects import add_suspect, drop_suspect  # noqa: PLC0415
    from triage.own_faults import OwnFault  # noqa: PLC0415

    if bool(what) == bool(drop):
        raise click.UsageError("say what you suspect, or --drop one")
    with held.existing() as bench:
        if drop:
            drop_suspect(bench, number, drop)
            say(f"unit {number}: {drop} taken off")
        else:
            amount = minor(cost, bench.currency) if cost else 0
            said = OwnFault(what, shows, chance, minutes, amount, success, not outside, not no_cure)
            added = add_suspect(bench, number, said)
            say(f"unit {number}: {added.subject} suspected too: {what}")
        tell_next(bench, number, as_json=as_json)
