"""`undo`, `redo` and `history`: taking back, doing again, and what was done."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from triage.commands.output import json_line, say, table
from triage.commands.shared import UNIT, Command, Globals, Number, json_option

if TYPE_CHECKING:
    from catalog.journal import Event


@click.command(cls=Command)
@json_option
@click.pass_obj
def undo(held: Globals, *, as_json: bool) -> None:
    """Take back the latest action that is still in force, and say what it was."""
    from triage.actions.history import take_back  # noqa: PLC0415 - loaded when a bench file is wanted

    with held.existing() as bench:
        _tell("undone", take_back(bench), "there is nothing to take back", as_json=as_json)


@click.command(cls=Command)
@json_option
@click.pass_obj
def redo(held: Globals, *, as_json: bool) -> None:
    """Do again what was taken back last."""
    from triage.actions.history import do_again  # noqa: PLC0415

    with held.existing() as bench:
        _tell("redone", do_again(bench), "there is nothing to do again", as_json=as_json)


@click.command(cls=Command)
@click.argument("number", type=UNIT, metavar="[UNIT]", required=False)
@click.option(
    "--limit", type=Number(1, 1_000_000), default=200, show_default=True, metavar="N", help="At most so many."
)
@json_option
@click.pass_obj
def history(held: Globals, number: int | None, limit: int, *, as_json: bool) -> None:
    """List what was done, newest first, of one unit or of everything."""
    from triage.actions.history import history as events_of  # noqa: PLC0415
    from triage.actions.units import get_unit  # noqa: PLC0415

    with held.existing() as bench:
        if number is not None:
            get_unit(bench, number)
        events = events_of(bench, number, limit)
    if as_json:
        json_line({"events": [_form(event) for event in events]})
        return
    table(
        ("event", "at (UTC)", "what"),
        [(event.id, event.at[:16].replace("T", " "), _said(event)) for event in events],
        right=("event",),
    )


def _tell(word: str, event: Event | None, otherwise: str, *, as_json: bool) -> None:
    say(f"{word}: {event.summary}" if event else otherwise)
    if as_json:
        json_line({word: _form(event) if event else None})


def _said(event: Event) -> str:
    return f"{event.action}: {event.summary}" if event.action in {"undo", "redo"} else event.summary


def _form(event: Event) -> dict[str, Any]:
    return {"id": event.id, "at": event.at, "action": event.action, "summary": event.summary, "unit": event.unit}
