"""Writing the order out, placing it, taking it back by a counter-entry, and receiving what comes."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

import msgspec

from catalog import store as catalog_store
from catalog.journal import Recorder
from catalog.safe_file import replacing
from catalog.search import search_form
from catalog.text import Refused, clean_line
from triage import store
from triage.actions.lots import get_lot
from triage.actions.planning import PlannedLine, PlanView, plan_lot
from triage.bench_file import BenchFile
from triage.lot import Need
from triage.papers import file_stem, order_csv, order_markdown
from triage.store import Order, OrderLine

__all__ = ["Order", "OrderLine", "Placed", "cancel_order", "list_orders", "place_order", "receive", "write_order"]

ARRIVED = "arrived"
"""The place of a part that came and has not been put away."""


class Placed(msgspec.Struct, frozen=True):
    """The orders that were placed, one a supplier, with their lines."""

    orders: tuple[Order, ...]
    lines: tuple[OrderLine, ...]


def write_order(bench: BenchFile, lot_id: int | None, folder: Path) -> tuple[Path, ...]:
    """Write the plan's order: one CSV a supplier and one Markdown sheet; returns the files.

    Raises:
        Refused: there is nothing to order, or the folder cannot be written.
    """
    plan = _with_lines(plan_lot(bench, lot_id, with_front=False))
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

    Only a counter-entry (`cancel_order`) reverses it. `as_shown` is the plan the person saw and agreed to.

    Raises:
        Refused: there is nothing to order, or it is not what was shown any more.
    """
    plan = _with_lines(plan_lot(bench, lot_id, with_front=False))
    if as_shown is not None and (plan.sheets, plan.drawer) != (as_shown.sheets, as_shown.drawer):
        raise Refused("the plan is another one than was shown; look at it anew first", where=f"lot {plan.lot.id}")
    orders: list[Order] = []
    lines: list[OrderLine] = []
    needs = {need.id: need for need in store.needs(bench.database, lot=plan.lot.id)}
    suppliers = ", ".join(sheet.supplier for sheet in plan.sheets)
    with bench.journal.event("order_place", f"order placed: {suppliers}", at=bench.now(), final=True) as recorder:
        for sheet in plan.sheets:
            order = Order(
                0, plan.lot.id, sheet.supplier, bench.now(), sheet.due, sheet.currency, sheet.goods, sheet.shipping
            )
            order = msgspec.structs.replace(order, id=store.save(recorder, "orders", order))
            orders.append(order)
            for line in (line for line in plan.order if line.supplier == sheet.supplier):
                lines.append(_place_line(recorder, order, line))
                _mark(recorder, needs, line, "ordered", f"order {order.id}")
        on_order = {need for line in plan.order for need in line.needs}
        for line in plan.drawer:
            _mark(recorder, needs, line, "reserved", line.place or "drawer", leave=on_order)
    return Placed(tuple(orders), tuple(lines))


def cancel_order(bench: BenchFile, order_id: int) -> Order:
    """The dated counter-entry to a placed order: its parts are to be found again.

    Raises:
        Refused: no such order, it was taken back already, or something of it has come.
    """
    order = next((item for item in store.orders(bench.database) if item.id == order_id), None)
    if order is None or order.cancelled:
        raise Refused("there is no such order in force", where=f"order {order_id}")
    lines = store.order_lines(bench.database, order_id)
    if any(line.received for line in lines):
        raise Refused("part of it has come already", where=f"order {order_id}")
    wanted = {need_id for line in lines for need_id in line.needs}
    cancelled = msgspec.structs.replace(order, cancelled=bench.now())
    with bench.journal.event(
        "order_cancel", f"order {order_id} with {order.supplier} taken back", at=bench.now(), final=True
    ) as recorder:
        store.save(recorder, "orders", cancelled)
        for need in store.needs(bench.database, lot=order.lot):
            if need.id in wanted and need.state == "ordered":
                store.save(recorder, "needs", msgspec.structs.replace(need, state="open", source=""))
    return cancelled


def list_orders(bench: BenchFile, lot_id: int | None = None) -> tuple[tuple[Order, tuple[OrderLine, ...]], ...]:
    """The orders of a lot (of all lots with None), with their lines, oldest first."""
    return tuple(
        (order, tuple(store.order_lines(bench.database, order.id)))
        for order in store.orders(bench.database, get_lot(bench, lot_id).id if lot_id is not None else None)
    )


def receive(bench: BenchFile, line_id: int, packs: int | None = None) -> OrderLine:
    """Packs of an order line have come (all that is missing with None): they go to the drawer, the units are free.

    Raises:
        Refused: no such line, or more than is still to come.
    """
    line = next((item for item in store.order_lines(bench.database) if item.id == line_id), None)
    if line is None:
        raise Refused("there is no such order line", where=f"line {line_id}")
    if any(order.id == line.order_id and order.cancelled for order in store.orders(bench.database)):
        raise Refused("its order was taken back; add what came to the drawer by hand", where=f"line {line_id}")
    missing = line.packs - line.received
    if not missing:
        raise Refused("all of it has come already", where=f"line {line_id}")
    came = missing if packs is None else packs
    if not 1 <= came <= missing:
        raise Refused(f"expected 1 to {missing} packs still to come", where=f"line {line_id}")
    changed = msgspec.structs.replace(line, received=line.received + came)
    words = clean_line(f"{came} of {line.packs} packs of {line.description or line.part_number} came", 200)
    with bench.journal.event("receive", words, at=bench.now()) as recorder:
        store.save(recorder, "order_lines", changed)
        _into_drawer(bench, recorder, line, came * line.pack)
        if changed.received == line.packs:
            coming = _still_coming(bench)
            for need in store.needs(bench.database):
                if need.id in line.needs and need.id not in coming and need.state == "ordered":
                    store.save(recorder, "needs", msgspec.structs.replace(need, state="received"))
    return changed


def _still_coming(bench: BenchFile) -> set[int]:
    """Needs of which some order line in force is not wholly here."""
    standing = {order.id for order in store.orders(bench.database) if not order.cancelled}
    return {
        need
        for line in store.order_lines(bench.database)
        if line.order_id in standing and line.received < line.packs
        for need in line.needs
    }


def _with_lines(plan: PlanView) -> PlanView:
    if not plan.sheets:
        why = "; ".join(plan.conflicts) or (
            f"{len(plan.to_describe)} parts are still to be described" if plan.to_describe else "nothing is missing"
        )
        raise Refused(f"there is nothing to order: {why}", where=f"lot {plan.lot.id}")
    return plan


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
    )
    return msgspec.structs.replace(row, id=store.save(recorder, "order_lines", row))


def _mark(
    recorder: Recorder,
    needs: dict[int, Need],
    line: PlannedLine,
    state: str,
    where: str,
    *,
    leave: Collection[int] = (),
) -> None:
    """Give the line's needs a state; those to `leave` get the rest of their pieces elsewhere, which says more."""
    for need_id in dict.fromkeys(line.needs):
        if need_id in leave:
            continue
        need = msgspec.structs.replace(needs[need_id], state=state, source=where)
        needs[need_id] = need
        store.save(recorder, "needs", need)


def _into_drawer(bench: BenchFile, recorder: Recorder, line: OrderLine, pieces: int) -> None:
    held = next(
        (
            part
            for part in catalog_store.parts(bench.database)
            if (line.part_number and part.part_number == line.part_number)
            or (not line.part_number and part.description == line.description)
        ),
        None,
    )
    if held is not None:
        recorder.update("parts", held.id, {"quantity": held.quantity + pieces})
        return
    offer = next((item for item in catalog_store.offers(bench.database) if item.sku == line.sku), None)
    part = catalog_store.Part(
        id=0,
        part_number=line.part_number,
        description=line.description,
        kind=offer.kind if offer else "",
        spec=offer.spec if offer else None,
        left_over=offer.left_over if offer else "",
        quantity=pieces,
        place=ARRIVED,
        unit_cost=line.line_total // (line.packs * line.pack),
        currency=bench.currency,
        search=search_form(f"{line.part_number} {line.description}"),
    )
    catalog_store.save_part(recorder, part)
