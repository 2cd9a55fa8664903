"""Pieces that were ordered, or lie set aside, for nobody any more: free for whoever needs them, and taken over by them.

What a unit was promised stays its own until another need really takes it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from datetime import date

import msgspec

from catalog.describe import read
from catalog.journal import Recorder
from catalog.pricelists import described
from catalog.sourcing_data import Coming
from catalog.store import Supplier
from triage import store
from triage.actions.promises import settle
from triage.bench_file import BenchFile
from triage.lot import Need
from triage.store import Order
from triage.study import Study
from triage.wants import PROMISED, wanted_of


def idle_needs(studies: Iterable[Study], needs: Collection[Need]) -> frozenset[int]:
    """The needs that hold promised pieces for nothing: of units that are decided, and do not want such a part now."""
    idle = set()
    for found in studies:
        mine = [need for need in needs if need.unit == found.facts.unit.number and not need.wish]
        if found.pile == "undecided" or found.decision is None:
            continue
        without = [need for need in mine if need.state not in PROMISED]
        open_again = [_opened(need) for need in mine if need.state in PROMISED]
        wanted = {part.part for part in wanted_of(found, [*without, *open_again])}
        idle |= {need.id for need in mine if need.state in PROMISED and need.part not in wanted}
    return frozenset(idle)


def too_late(
    bench: BenchFile, suppliers: Sequence[Supplier], today: date, last_days: Mapping[int, int]
) -> dict[int, int]:
    """{promise: late day} of pieces that may not be here by the last day of their need (`last_days`)."""
    senders = _senders(bench)
    found = {}
    for item in store.set_asides(bench.database):
        if item.coming and item.line in senders and item.need in last_days:
            _, late = _expected(senders[item.line], suppliers, today)
            if late > last_days[item.need]:
                found[item.id] = late
    return found


def free_on_the_way(
    bench: BenchFile,
    suppliers: Sequence[Supplier],
    idle: AbstractSet[int],
    today: date,
    late: Collection[int] = (),
) -> tuple[Coming, ...]:
    """The pieces of each order line still to come that are promised to nobody, or to `idle` needs only.

    Promises that come too `late` for their needs hold nothing. An order that is overdue is expected tomorrow at the
    earliest.
    """
    orders = {order.id: order for order in store.orders(bench.database) if not order.cancelled}
    promised: dict[int, int] = {}
    for item in store.set_asides(bench.database):
        if item.coming and item.line is not None and item.need not in idle and item.id not in late:
            promised[item.line] = promised.get(item.line, 0) + item.pieces
    found = []
    for line in store.order_lines(bench.database):
        order = orders.get(line.order_id)
        left = line.open_packs * line.pack - promised.get(line.id, 0)
        if order is None or left <= 0:
            continue
        day, last = _expected(order, suppliers, today)
        what = described(line.description, line.part_number, line.kind, read)
        found.append(
            Coming(
                line=line.id,
                order=order.id,
                supplier=order.supplier,
                sku=line.sku,
                part_number=line.part_number,
                description=line.description,
                left_over=what.left_over,
                spec=what.spec,
                pieces=left,
                day=day,
                late=last,
            )
        )
    return tuple(found)


def promised_on_the_way(
    bench: BenchFile, suppliers: Sequence[Supplier], today: date, late: Collection[int] = ()
) -> dict[int, int]:
    """{need: typical day on which the last piece that it is promised of what is still to come is here}.

    Promises that come too `late` for their needs are left out.
    """
    senders = _senders(bench)
    found: dict[int, int] = {}
    for item in store.set_asides(bench.database):
        if item.coming and item.line in senders and item.id not in late:
            found[item.need] = max(found.get(item.need, 0), _expected(senders[item.line], suppliers, today)[0])
    return found


def _senders(bench: BenchFile) -> dict[int | None, Order]:
    """{order line: its order}, of orders in force."""
    orders = {order.id: order for order in store.orders(bench.database) if not order.cancelled}
    return {line.id: orders[line.order_id] for line in store.order_lines(bench.database) if line.order_id in orders}


def _expected(order: Order, suppliers: Iterable[Supplier], today: date) -> tuple[int, int]:
    """Typical and late day of what is still to come of an order; one that is overdue comes tomorrow at the earliest."""
    spread = next((one.lead_days_late - one.lead_days for one in suppliers if one.name == order.supplier), 0)
    day = max(1, (date.fromisoformat(order.due[:10]) - today).days)
    return day, day + max(0, spread)


def take_over(
    bench: BenchFile,
    recorder: Recorder,
    idle: AbstractSet[int],
    *,
    pieces: int,
    part: int | None = None,
    line: int | None = None,
    late: Collection[int] = (),
) -> None:
    """Let `idle` needs give up what is needed of a drawer part, or of an order line, so that `pieces` are free.

    So do promises that come too `late`. The youngest promises go first; what nobody is promised is used before any.
    """
    promised = [
        item
        for item in store.set_asides(bench.database)
        if (part is not None and item.part == part) or (line is not None and item.line == line and item.coming)
    ]
    short = pieces - (_there(bench, part, line) - sum(item.pieces for item in promised))
    touched = set()
    for item in reversed(promised):
        if short <= 0 or (item.need not in idle and item.id not in late):
            continue
        given = min(short, item.pieces)
        short -= given
        touched.add(item.need)
        if given == item.pieces:
            recorder.delete("set_asides", item.id)
        else:
            recorder.update("set_asides", item.id, {"pieces": item.pieces - given})
    settle(bench, recorder, touched)


def _there(bench: BenchFile, part: int | None, line: int | None) -> int:
    """Pieces in the drawer, or still to come."""
    if part is not None:
        row = bench.database.conn.execute("SELECT quantity FROM parts WHERE id = ?", (part,)).fetchone()
        return int(row[0]) if row else 0
    found = next((one for one in store.order_lines(bench.database) if one.id == line), None)
    return found.open_packs * found.pack if found is not None else 0


def _opened(need: Need) -> Need:
    """The need as if nothing were promised: whether its unit would still want the part."""
    return msgspec.structs.replace(need, state="open")
