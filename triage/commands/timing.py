"""`timing`: which lines of the order to send today, and which to leave until the looks are done."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from triage.commands.order_forms import line_form, numbers
from triage.commands.output import json_line, percent, show, table
from triage.commands.shared import UNIT, Command, Globals, Number, json_option

if TYPE_CHECKING:
    from triage.actions.order_timing import TimedNeed, TimingView


@click.command(cls=Command)
@click.argument("lot_id", type=UNIT, metavar="[LOT]", required=False)
@click.option(
    "--looks", "look_days", type=Number(1, 365), metavar="DAYS", help="Days until the looks are done (else 3)."
)
@click.option(
    "--leftover",
    type=click.FloatRange(0.0, 1.0),
    metavar="SHARE",
    help="What a part left over is worth, as a share of its price (else 0.25).",
)
@json_option
@click.pass_obj
def timing(held: Globals, *, lot_id: int | None, look_days: int | None, leftover: float | None, as_json: bool) -> None:
    """Say what to order today, and what only after the looks.

    Weighs a part too many against a later parcel and the wait, over how the units may turn out.
    """
    from triage.actions.order_timing import order_timing, verdict  # noqa: PLC0415 - loaded when it is wanted
    from triage.two_stage_problem import LEFTOVER, LOOK_DAYS  # noqa: PLC0415

    with held.existing() as bench:
        view = order_timing(
            bench,
            lot_id,
            look_days=LOOK_DAYS if look_days is None else look_days,
            leftover=LEFTOVER if leftover is None else leftover,
        )
    if view is None:
        raise click.ClickException("stopped before every case was reckoned")
    if as_json:
        json_line(_form(view))
        return
    for sentence in verdict(view):
        show(sentence)
    _print_lines(view)


def _print_lines(view: TimingView) -> None:
    from catalog.money import show as written  # noqa: PLC0415

    if view.ordered.order:
        table(
            ("today from", "sku", "packs", "line", "units", "description"),
            [
                (
                    line.supplier,
                    line.sku,
                    line.packs,
                    written(line.amount, view.lot.currency),
                    numbers(line.units),
                    line.description or line.part_number,
                )
                for line in view.ordered.order
            ],
            right=("packs", "line"),
        )
    for one in view.left:
        show(f"leave: {one.part} for unit {one.unit}, wanted {percent(one.chance)}; alone it pays {from_chance(one)}")
    for other in view.to_describe[:5]:
        show(
            f"may be wanted ({percent(other.chance)}), but is not described:"
            f" lotwright need {other.unit} {other.part} TEXT ({other.name})"
        )


def from_chance(one: TimedNeed) -> str:
    """From which chance on ordering a part today pays by itself."""
    return f"from {percent(one.pays_from)} on"


def _form(view: TimingView) -> dict[str, Any]:
    from math import isfinite  # noqa: PLC0415

    return {
        "lot": view.lot.id,
        "look_days": view.look_days,
        "leftover": view.leftover,
        "currency": view.lot.currency,
        "now": [line_form(line) for line in view.ordered.order],
        "now_cents": view.money,
        "needs": [
            {
                "unit": one.unit,
                "part": one.part,
                "text": one.words,
                "now": one.now,
                "chance": one.chance,
                "bought": one.bought,
                "pays_from": one.pays_from,
            }
            for one in view.needs
        ],
        "against": [
            {
                "rule": one.rule,
                "now_cents": one.money,
                "ahead_cents": one.ahead if isfinite(one.ahead) else None,
                "error_cents": one.error,
                "same": one.same,
            }
            for one in view.comparisons
        ],
        "foresight_cents": view.foresight,
        "foresight_error_cents": view.foresight_error,
        "exact": view.exact,
        "judged": view.judged,
        "to_describe": [
            {"unit": one.unit, "part": one.part, "name": one.name, "chance": one.chance} for one in view.to_describe
        ],
        "looking": list(view.looking),
    }
