"""Writing the order out, placing it, and taking it back by a counter-entry."""

from __future__ import annotations

from pathlib import Path

import msgspec

from catalog import store as catalog_store
from catalog.database import change_mark
from catalog.journal import Recorder
from catalog.safe_file import replacing
from catalog.text import Refused
from triage import store
from triage.actions.lots import get_lot
from triage.actions.on_the_way import free_on_the_way, take_over
from triage.actions.plan_view import PlannedLine, PlanView
from triage.actions.planning import plan_lot, still_holds
from triage.actions.promises import reserved, settle
from triage.bench_file import BenchFile, in_one_transaction
from triage.lot import SetAside, pieces_missing
from triage.papers import file_stem, order_csv, order_markdown
from triage.store import Order, OrderLine

__all__ = ["Order", "OrderLine", "Placed", "cancel_order", "list_orders", "place_order", "write_order"]


class Placed(msgspec.Struct, frozen=True):
    """The orders that were placed, one a supplier, with their lines."""

    orders: tuple[Order, ...]
    lines: tuple[OrderLine, ...]


def write_order(
    bench: BenchFile, lot_id: int | None, folder: Path, *, as_shown: PlanView | None = None
) -> tuple[Path, ...]:
    """Write the plan's order: one CSV a supplier and one Markdown sheet; returns the files.

    `as_shown` is the plan the person saw; without it the lot is planned now.

    Raises:
        Refused: there is nothing to order, it is not what was shown any more, or the folder cannot be written.
    """
    plan = _agreed(bench, lot_id, as_shown)
    if not plan.sheets:
        raise Refused(f"there is nothing to order: {_why_nothing(plan)}", where=f"lot {plan.lot.id}")
    stems: set[str] = set()
    texts: dict[Path, str] = {}
    for sheet in plan.sheets:
        stem, number = file_stem(sheet.supplier), 2
        while stem in stems:
            stem, number = f"{file_stem(sheet.supplier)}-{number}", number + 1
        stems.add(stem)
        texts[folder / f"order-{stem}.csv"] = order_csv(sheet)
    texts[folder / "order.md"] = order_markdown(plan.lot.name, bench.today.isoformat(), plan.sheets)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for path, text in texts.items():
            with replacing(path) as file:
                file.write(text)
    except OSError as error:
        raise Refused(f"cannot be written ({error.strerror}); name another folder", where=str(folder)) from None
    return tuple(texts)


def place_order(bench: BenchFile, lot_id: int | None = None, *, as_shown: PlanView | None = None) -> Placed:
    """Note that the planned order was sent; its parts are on their way and the drawer's parts are set aside.

    Only a counter-entry (`cancel_order`) reverses what was ordered. `as_shown` is the plan the person saw and agreed
    to; without it the lot is planned now. A plan that needs no supplier only sets the drawer's parts aside, and what is
    on its way already. What others were promised and want no more is taken over.

    Raises:
        Refused: there is nothing to order or set aside, or it is not what was shown any more.
    """
    mark = change_mark(bench.database)
    plan = as_shown or plan_lot(bench, lot_id, with_front=False)
    if not (plan.sheets or plan.drawer or plan.coming):
        raise Refused(f"there is nothing to order: {_why_nothing(plan)}", where=f"lot {plan.lot.id}")
    if as_shown is not None:
        _must_hold(bench, plan)
    return _place(bench, plan, mark)


@in_one_transaction
def _place(bench: BenchFile, plan: PlanView, mark: int) -> Placed:
    """Note it under the write lock: nobody can take meanwhile what the plan takes, or want again what it holds idle.

    The units were studied before it, at `mark`; under it they are only where another program wrote since.
    """
    if change_mark(bench.database) != mark:
        _must_hold(bench, plan)
    _still_there(bench, plan)
    orders: list[Order] = []
    lines: list[OrderLine] = []
    suppliers = ", ".join(sheet.supplier for sheet in plan.sheets)
    summary = f"order placed: {suppliers}" if suppliers else "parts at hand or on their way set aside"
    idle = frozenset(plan.idle)
    late = frozenset(plan.late)
    ordered = bool(plan.sheets)
    with bench.journal.event(
        "order_place" if ordered else "set_aside", summary, at=bench.now(), final=ordered
    ) as recorder:
        _replace_late(bench, recorder, plan)
        for sheet in plan.sheets:
            order = Order(
                0,
                plan.lot.id,
                sheet.supplier,
                bench.now(),
                sheet.due,
                sheet.currency,
                sheet.goods,
                sheet.shipping + sheet.charges,
            )
            order = msgspec.structs.replace(order, id=store.save(recorder, "orders", order))
            orders.append(order)
            for line in (line for line in plan.order if line.supplier == sheet.supplier):
                placed = _place_line(recorder, order, line)
                lines.append(placed)
                for need, pieces in _promised(line):
                    store.save(recorder, "set_asides", SetAside(0, need, pieces, line=placed.id))
                settle(bench, recorder, line.needs, f"order {order.id}")
        on_order = {need for other in plan.order for need in other.needs}
        for line in (*plan.drawer, *plan.coming):
            take_over(bench, recorder, idle, pieces=line.pieces, part=line.part_id, line=line.coming, late=late)
            for need, pieces in _promised(line):
                store.save(recorder, "set_asides", SetAside(0, need, pieces, part=line.part_id, line=line.coming))
            source = line.place or "drawer" if line.coming is None else f"on its way from {line.supplier}"
            settle(bench, recorder, set(line.needs) - on_order, source)
            settle(bench, recorder, set(line.needs) & on_order)
    return Placed(tuple(orders), tuple(lines))


@in_one_transaction
def cancel_order(bench: BenchFile, order_id: int) -> Order:
    """The dated counter-entry to a placed order: its parts are to be found again.

    Raises:
        Refused: no such order, it was taken back already, or something of it has come.
    """
    order = next((item for item in store.orders(bench.database) if item.id == order_id), None)
    if order is None or order.cancelled:
        raise Refused("there is no such order in force", where=f"order {order_id}")
    lines = store.order_lines(bench.database, order_id)
    if any(line.received or line.failed for line in lines):
        raise Refused("part of it has come already", where=f"order {order_id}")
    cancelled = msgspec.structs.replace(order, cancelled=bench.now())
    ids = {line.id for line in lines}
    with bench.journal.event(
        "order_cancel", f"order {order_id} with {order.supplier} taken back", at=bench.now(), final=True
    ) as recorder:
        recorder.update("orders", order.id, {"cancelled": cancelled.cancelled})
        promised = [item for item in store.set_asides(bench.database) if item.line in ids]
        for item in promised:
            recorder.delete("set_asides", item.id)
        settle(bench, recorder, {item.need for item in promised})
    return cancelled


def list_orders(bench: BenchFile, lot_id: int | None = None) -> tuple[tuple[Order, tuple[OrderLine, ...]], ...]:
    """The orders of a lot (of all lots with None), with their lines, oldest first."""
    return tuple(
        (order, tuple(store.order_lines(bench.database, order.id)))
        for order in store.orders(bench.database, get_lot(bench, lot_id).id if lot_id is not None else None)
    )


def _agreed(bench: BenchFile, lot_id: int | None, as_shown: PlanView | None) -> PlanView:
    if as_shown is None:
        return plan_lot(bench, lot_id, with_front=False)
    _must_hold(bench, as_shown)
    return as_shown


def _must_hold(bench: BenchFile, plan: PlanView) -> None:
    if not still_holds(bench, plan):
        raise Refused("the plan is another one than was shown; look at it anew first", where=f"lot {plan.lot.id}")


def _why_nothing(plan: PlanView) -> str:
    if plan.conflicts:
        return "; ".join(plan.conflicts)
    return f"{len(plan.to_describe)} parts are still to be described" if plan.to_describe else "nothing is missing"


def _still_there(bench: BenchFile, plan: PlanView) -> None:
    """Refuse a plan that somebody else has carried out in part meanwhile; called under the write lock."""
    late = frozenset(plan.late)
    promised = [item for item in store.set_asides(bench.database) if item.id not in late]
    needs = {need.id: need for need in store.needs(bench.database) if not need.over}
    missing = {need.id: pieces_missing(need, promised) for need in needs.values()}
    in_drawer = {part.id: part.quantity for part in catalog_store.parts(bench.database)}
    idle = frozenset(plan.idle)
    set_aside = reserved(bench, idle)
    free = {one.line: one.pieces for one in free_on_the_way(bench, (), idle, bench.today, late)}
    for line in plan.coming:
        free[line.coming or 0] = free.get(line.coming or 0, 0) - line.pieces
    for line in (*plan.order, *plan.drawer, *plan.coming):
        for use in line.uses:
            if use.need is None:
                continue
            missing[use.need] = missing.get(use.need, 0) - use.pieces
            need = needs.get(use.need)
            if need is not None and not use.holds_for(need):
                raise Refused("it was described anew meanwhile; look at the plan anew first", where=f"unit {use.unit}")
    for line in plan.drawer:
        if line.part_id is not None:
            in_drawer[line.part_id] = in_drawer.get(line.part_id, 0) - line.pieces
    short = any(left < set_aside.get(part, 0) for part, left in in_drawer.items() if part in _parts_of(plan))
    if short or any(left < 0 for left in (*missing.values(), *free.values())):
        raise Refused("it was ordered or used meanwhile; look at the plan anew first", where=f"lot {plan.lot.id}")


def _replace_late(bench: BenchFile, recorder: Recorder, plan: PlanView) -> None:
    """What comes too late for a unit is promised to it no more where the plan takes other pieces in its place."""
    served = {need for line in (*plan.order, *plan.drawer, *plan.coming) for need, _ in _promised(line)}
    for item in store.set_asides(bench.database):
        if item.id in plan.late and item.need in served:
            recorder.delete("set_asides", item.id)


def _promised(line: PlannedLine) -> list[tuple[int, int]]:
    """(need, pieces) of what a line is for; spares are promised to nobody."""
    return [(use.need, use.pieces) for use in line.uses if use.need is not None]


def _parts_of(plan: PlanView) -> set[int]:
    return {line.part_id for line in plan.drawer if line.part_id is not None}


def _place_line(recorder: Recorder, order: Order, line: PlannedLine) -> OrderLine:
    row = OrderLine(
        id=0,
        order_id=order.id,
        sku=line.sku,
        part_number=line.part_number,
        description=line.description,
        packs=line.packs,
        pack=line.pack,
        line_total=line.amount,
        units=line.units,
        needs=line.needs,
        grade=line.grade,
        kind=line.kind,
    )
    return msgspec.structs.replace(row, id=store.save(recorder, "order_lines", row))
