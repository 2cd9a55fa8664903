"""`lot moved`: which decisions on a lot moved since the person last looked, and why."""

from __future__ import annotations

import click

from triage.commands.output import json_line, show
from triage.commands.shared import UNIT, Command, Globals, json_option


@click.command(cls=Command)
@click.argument("lot_id", type=UNIT, metavar="[LOT]", required=False)
@click.option("--seen", is_flag=True, help="You have seen it: only what moves from now on is told.")
@json_option
@click.pass_obj
def moved(held: Globals, lot_id: int | None, *, seen: bool, as_json: bool) -> None:
    """Which decisions moved since you last looked, and what was done since."""
    from catalog.money import shown  # noqa: PLC0415 - loaded when a bench file is wanted
    from triage.actions.lot_view import lot_view  # noqa: PLC0415
    from triage.actions.moved import mark_seen  # noqa: PLC0415
    from triage.lot import PILE_WORDS  # noqa: PLC0415

    with held.existing() as bench:
        view = lot_view(bench, lot_id)
        if seen:
            mark_seen(bench, view)
    if as_json:
        json_line(
            {
                "moved": [
                    {
                        "unit": one.move.unit,
                        "was": one.move.was.pile,
                        "now": one.move.now.pile,
                        "was_cents": one.move.was.value,
                        "now_cents": one.move.now.value,
                        "why": one.why,
                    }
                    for one in view.standing.moved
                ]
            }
        )
        return
    for one in view.standing.moved:
        was, now = one.move.was, one.move.now
        money = " to ".join(shown(each.value, view.lot.currency) for each in (was, now))
        show(f"unit {one.move.unit}: {PILE_WORDS[was.pile]} to {PILE_WORDS[now.pile]}, {money}: {one.why}")
    if not view.standing.moved:
        show("no decision moved since you last looked")
    if view.standing.unrecorded and not seen:
        show("nobody has looked at all of it yet: `lotwright lot moved --seen` keeps how the decisions stand")
