"""`need`, `plan`, `order` and `receive`: from described parts to one plan of the lot, its order, and goods in."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from catalog.text import Refused
from triage.commands.order_forms import (
    numbers,
    order_form,
    placed_line_form,
    plan_form,
    print_order,
    print_plan,
    print_wanted,
    tell_orders,
    wanted_form,
    why_form,
)
from triage.commands.output import json_line, say, show
from triage.commands.shared import (
    FILE,
    LINE,
    MINUS,
    NUMBER_LIMIT,
    UNIT,
    Command,
    Globals,
    Number,
    json_option,
    words,
)

if TYPE_CHECKING:
    from triage.actions.plan_view import PlanView
    from triage.bench_file import BenchFile

NO_PLAN = 4

_LOT = click.argument("lot_id", type=UNIT, metavar="[LOT]", required=False)


@click.command(cls=Command, context_settings=MINUS)
@click.argument("number", type=UNIT, metavar="UNIT")
@click.argument("part", type=LINE, required=False)
@words("text", nargs=-1)
@click.option("--kind", type=LINE, default="", help="Its kind, where it is not the one of the class file.")
@click.option("--role", type=LINE, default="", help="What it does in its place, such as coupling or timing.")
@click.option("--pieces", type=Number(1, 999), metavar="N", help="How many (else what the class file says).")
@click.option("--compromise", is_flag=True, help="The plan may use a part that is a compromise.")
@click.option("--drop", is_flag=True, help="This part is not wanted after all.")
@click.option("--want", is_flag=True, help="A dropped part is wanted again.")
@json_option
@click.pass_obj
def need(
    held: Globals,
    *,
    number: int,
    part: str | None,
    text: tuple[str, ...],
    kind: str,
    role: str,
    pieces: int | None,
    compromise: bool,
    drop: bool,
    want: bool,
    as_json: bool,
) -> None:
    """List the parts that a unit wants, or describe one.

    Once TEXT says what exactly PART is, it may be ordered.
    """
    from triage.actions import needs  # noqa: PLC0415 - loaded when a bench file is wanted
    from triage.actions.units import get_unit  # noqa: PLC0415

    if (drop or want) and (part is None or text or (drop and want)):
        raise click.UsageError("--drop and --want each take the part and no description")
    with held.existing() as bench:
        lot_id = get_unit(bench, number).lot
        if part is not None and drop:
            needs.drop_need(bench, _need_of(bench, lot_id, number, part))
            say(f"unit {number}: {part} is not wanted")
        elif part is not None and want:
            needs.want_again(bench, _need_of(bench, lot_id, number, part))
            say(f"unit {number}: {part} is wanted again")
        elif part is not None:
            needs.describe_need(
                bench, number, part, " ".join(text), kind=kind, role=role, pieces=pieces, compromise_ok=compromise
            )
            say(f"unit {number}: {part} is {' '.join(text)}")
        wanted = [entry for entry in needs.wanted_parts(bench, lot_id, aside=True) if entry.unit == number]
        if part is not None and not drop and part not in {entry.part for entry in wanted if not entry.aside}:
            say("it is kept, and counts once the unit leans to fix with that part")
        currency = bench.currency
    if as_json:
        json_line({"unit": number, "needs": [wanted_form(entry) for entry in wanted]})
    else:
        print_wanted(wanted, currency)


@click.command(cls=Command)
@_LOT
@json_option
@click.pass_obj
def plan(held: Globals, lot_id: int | None, *, as_json: bool) -> None:
    """Plan the whole lot at once, with one parts order.

    The newest lot, if none is named.
    """
    from triage.actions.planning import plan_lot  # noqa: PLC0415

    with held.existing() as bench:
        view = plan_lot(bench, lot_id)
    if as_json:
        json_line(plan_form(view))
    else:
        print_plan(view)
    _need_a_plan(view)


@click.command(cls=Command)
@_LOT
@click.option("--write", "folder", type=FILE, metavar="FOLDER", help="Write one CSV a supplier and one sheet to read.")
@click.option("--place", is_flag=True, help="Note that the order was sent; its parts are on their way.")
@click.option("--placed", is_flag=True, help="List the orders placed, with the numbers of their lines.")
@click.option("--cancel", type=Number(1, NUMBER_LIMIT), metavar="ORDER", help="Take back an order placed.")
@click.option("--why", type=LINE, metavar="SKU", help="Why the line with this number is as it is.")
@click.option("--from", "supplier", type=LINE, metavar="SUPPLIER", help="Whose number it is, where two have it.")
@json_option
@click.pass_obj
def order(
    held: Globals,
    *,
    lot_id: int | None,
    folder: Path | None,
    place: bool,
    placed: bool,
    cancel: int | None,
    why: str | None,
    supplier: str | None,
    as_json: bool,
) -> None:
    """Show the parts order of the plan, or act on it.

    Write it, place it, list what was placed, take an order back, or ask why a line is as it is.
    """
    from triage.actions import ordering, planning  # noqa: PLC0415

    if why is not None or supplier is not None:
        if why is None or cancel is not None or place or placed or folder:
            raise click.UsageError("--why takes the number of a line, --from its supplier, and nothing else")
        _tell_why(held, lot_id, supplier, why, as_json=as_json)
        return
    if cancel is not None and (place or placed or folder):
        raise click.UsageError("--cancel stands alone")
    if placed and (place or folder):
        raise click.UsageError("--placed stands alone")
    with held.existing() as bench:
        if cancel is not None:
            taken = ordering.cancel_order(bench, cancel)
            say(f"order {taken.id} with {taken.supplier} taken back")
        if placed or cancel is not None:
            tell_orders(ordering.list_orders(bench, lot_id), bench.today, as_json=as_json)
            return
        view = planning.plan_lot(bench, lot_id, with_front=False)
        _need_a_plan(view)
        if folder is not None:
            for path in ordering.write_order(bench, lot_id, folder, as_shown=view):
                say(f"written: {path}")
        if place:
            sent = ordering.place_order(bench, lot_id, as_shown=view)
            placed_with = ", ".join(f"order {one.id} with {one.supplier}" for one in sent.orders)
            say(f"placed: {placed_with}" if placed_with else "the drawer's parts are set aside")
            tell_orders(
                [(one, [line for line in sent.lines if line.order_id == one.id]) for one in sent.orders],
                bench.today,
                as_json=as_json,
            )
            return
    if as_json:
        json_line(order_form(view))
    else:
        print_order(view)


def _tell_why(held: Globals, lot_id: int | None, supplier: str | None, sku: str, *, as_json: bool) -> None:
    """Print why one line is as it is."""
    from triage.actions.plan_why import why_line  # noqa: PLC0415

    with held.existing() as bench:
        found = why_line(bench, lot_id, supplier, sku)
    if found is None:
        raise click.ClickException("stopped before it was proven")
    if as_json:
        json_line(why_form(found))
    else:
        say(f"{found.supplier} {found.sku}, {found.words}")
        for sentence in found.sentences:
            show(sentence)


@click.command(cls=Command)
@click.argument("kind", type=click.Choice(["only", "not", "keep", "lift"]), required=False)
@click.argument("supplier", type=LINE, required=False)
@click.argument("sku", type=LINE, required=False)
@click.option("--packs", type=Number(1, NUMBER_LIMIT), metavar="N", help="How many packs of a line are kept.")
@click.option("--lot", "lot_id", type=UNIT, metavar="LOT", help="The lot (else the newest).")
@click.option("--for", "of", type=LINE, metavar="UNIT:PART", help="Said of one part of one unit, not of all.")
@json_option
@click.pass_obj
def pin(
    held: Globals,
    *,
    kind: str | None,
    supplier: str | None,
    sku: str | None,
    packs: int | None,
    lot_id: int | None,
    of: str | None,
    as_json: bool,
) -> None:
    """Say where the order is bought, and keep a line of it.

    Only from a supplier, not from it, or not one line of it. Without arguments it lists what was said; `lift` and a
    number take one back. The plan keeps to it and tells what it costs.
    """
    from triage.actions import pins  # noqa: PLC0415 - loaded when a bench file is wanted

    if kind is not None and supplier is None:
        raise click.UsageError("name the supplier, or after lift the number")
    with held.existing() as bench:
        if kind == "lift":
            if supplier is None or not supplier.isdigit() or sku is not None:
                raise click.UsageError("lift takes the number of what was said")
            say(f"no more: {pins.said_in_words(bench, pins.lift_pin(bench, int(supplier)))}")
        elif kind is not None and supplier is not None:
            need = None if of is None else _need_named(bench, of)
            said = pins.pin_order(bench, lot_id, pins.KINDS[kind], supplier, sku or "", packs=packs or 0, need=need)
            say(pins.said_in_words(bench, said))
        listed = [(one, pins.said_in_words(bench, one)) for one in pins.list_pins(bench, lot_id)]
    if as_json:
        json_line(
            {
                "pins": [
                    {
                        "pin": one.id,
                        "kind": one.kind,
                        "supplier": one.supplier,
                        "sku": one.sku or None,
                        "packs": one.packs or None,
                        "need": one.need,
                        "words": words,
                    }
                    for one, words in listed
                ]
            }
        )
    elif kind is None:
        for one, words in listed:
            show(f"{one.id}  {words}")


@click.command(cls=Command)
@click.argument("order_line", type=Number(1, NUMBER_LIMIT), metavar="ORDER_LINE")
@click.argument("packs", type=Number(1, NUMBER_LIMIT), required=False)
@click.option("--dud", "outcome", flag_value="dud", help="They came dead.")
@click.option("--never", "outcome", flag_value="never", help="They will not come.")
@click.option("--wrong", "instead", type=LINE, metavar="TEXT", help="This came instead; it goes to the drawer.")
@json_option
@click.pass_obj
def receive(
    held: Globals,
    *,
    order_line: int,
    packs: int | None,
    outcome: Literal["dud", "never"] | None,
    instead: str | None,
    as_json: bool,
) -> None:
    """Note what came of an order line.

    All that is missing, if PACKS is not said. `order --placed` lists the lines with their numbers; `lot ready` says
    which unit to finish first.
    """
    from triage.actions import goods_in  # noqa: PLC0415

    if outcome is not None and instead is not None:
        raise click.UsageError("say one of --dud, --never and --wrong")
    with held.existing() as bench:
        if outcome is None and instead is None:
            line, word = goods_in.receive(bench, order_line, packs), "here"
        else:
            line = goods_in.went_wrong(bench, order_line, outcome or "wrong", packs, instead=instead or "")
            word = "here; what failed is to be found again"
    if as_json:
        json_line(placed_line_form(line))
    else:
        say(f"line {line.id}: {line.received} of {line.packs} packs {word}; for units {numbers(line.units)}")


def _need_a_plan(view: PlanView) -> None:
    """Leave with 4 where no plan exists, saying what stands in the way."""
    if view.status == "infeasible" or (view.status == "stopped" and not view.units):
        say(f"no plan exists: {'; '.join(view.conflicts) or view.status}")
        raise click.exceptions.Exit(NO_PLAN)


def _need_named(bench: BenchFile, of: str) -> int:
    """The need that `UNIT:PART` names."""
    from triage.actions.units import get_unit  # noqa: PLC0415

    unit, _, part = of.partition(":")
    if not unit.isdigit() or not part:
        raise click.UsageError("--for takes a unit and its part, such as 4:belt")
    return _need_of(bench, get_unit(bench, int(unit)).lot, int(unit), part)


def _need_of(bench: BenchFile, lot_id: int, number: int, part: str) -> int:
    from triage.actions.needs import wanted_parts  # noqa: PLC0415

    for entry in wanted_parts(bench, lot_id, aside=True):
        if entry.unit == number and entry.part == part and entry.need is not None:
            return entry.need.id
    raise Refused("no such part is described for it", where=f"unit {number}.{part}")
