"""Goods in: what came of an order line, and when; which units it frees; how long suppliers really take."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from fractions import Fraction

import msgspec

from catalog import store as catalog_store
from catalog.journal import Recorder
from catalog.lead_times import learned_waits
from catalog.pricing import half_up
from catalog.suppliers import starts
from catalog.text import Refused, clean_line
from triage import store
from triage.actions.lots import get_lot
from triage.actions.parts import read_anew
from triage.actions.promises import same_part, settle
from triage.actions.studies import study_unit
from triage.bench_file import BenchFile, day_of, in_one_transaction
from triage.lot import Outcome, SetAside
from triage.ready import Ready, finish_order
from triage.store import Arrival, Order, OrderLine
from triage.wants import cures_of, wanted_of

ARRIVED = "arrived"
"""The place of a part that came and has not been put away."""
FAILED: Mapping[Outcome, str] = {
    "dud": "came dead",
    "wrong": "came as something else",
    "never": "will not come",
}
"""What can go wrong with packs, in words."""


class Waits(msgspec.Struct, frozen=True):
    """How long a supplier takes: (typical, late) days as stated, as reckoned with, and from how many orders."""

    stated: tuple[int, int]
    used: tuple[int, int]
    orders: int


@in_one_transaction
def receive(bench: BenchFile, line_id: int, packs: int | None = None) -> OrderLine:
    """Packs of an order line have come (all that is missing with None): they go to the drawer, the units are free.

    Raises:
        Refused: no such line, its order was taken back, or more than is still to come.
    """
    line, order, came = _still_to_come(bench, line_id, packs)
    changed = msgspec.structs.replace(line, received=line.received + came)
    words = clean_line(f"{came} of {line.packs} packs of {_name(line)} came", 200)
    needs = _for_whom(bench, line)
    with bench.journal.event("receive", words, at=bench.now()) as recorder:
        recorder.update("order_lines", line.id, {"received": changed.received})
        store.save(recorder, "arrivals", Arrival(0, line.id, bench.now(), came, "came"))
        part_id = _into_drawer(bench, recorder, line, order.currency, came * line.pack)
        _hand_out(bench, recorder, line, part_id, came * line.pack)
        _promise_no_more(bench, recorder, changed)
        settle(bench, recorder, needs)
    return changed


@in_one_transaction
def went_wrong(
    bench: BenchFile, line_id: int, outcome: Outcome, packs: int | None = None, *, instead: str = ""
) -> OrderLine:
    """Packs of an order line came dead, came as something else, or will not come: their needs are open again.

    Args:
        bench: the open bench file.
        line_id: the order line.
        outcome: a word of `FAILED`.
        packs: how many; None for all that are still to come.
        instead: for `wrong`, what came; it goes to the drawer, as many pieces as were ordered.

    Raises:
        Refused: no such line or outcome, its order was taken back, or more than is still to come.
    """
    if outcome not in FAILED:
        raise Refused(f"expected one of: {', '.join(FAILED)}", where=f"line {line_id}")
    line, order, failed = _still_to_come(bench, line_id, packs)
    came_instead = clean_line(instead) if outcome == "wrong" else ""
    changed = msgspec.structs.replace(line, failed=line.failed + failed)
    words = f"{failed} of {line.packs} packs of {_name(line)} {FAILED[outcome]}"
    words += f": {came_instead}" if came_instead else ""
    needs = _for_whom(bench, line)
    with bench.journal.event("went_wrong", clean_line(words, 200), at=bench.now()) as recorder:
        recorder.update("order_lines", line.id, {"failed": changed.failed})
        store.save(recorder, "arrivals", Arrival(0, line.id, bench.now(), failed, outcome, came_instead))
        if came_instead:
            other = msgspec.structs.replace(line, part_number="", description=came_instead, kind="", line_total=0)
            _into_drawer(bench, recorder, other, order.currency, failed * line.pack)
        _promise_no_more(bench, recorder, changed)
        settle(bench, recorder, needs)
    return changed


def ready_to_finish(bench: BenchFile, lot_id: int | None = None) -> tuple[Ready, ...]:
    """The units of a lot that wait for nothing any more to be repaired, in the order in which to finish them.

    Raises:
        Refused: there is no such lot.
    """
    found = []
    for unit in store.units(bench.database, get_lot(bench, lot_id).id):
        if unit.device_class not in bench.classes:
            continue
        study = study_unit(bench, unit)
        cures = cures_of(study)
        needs = store.needs(bench.database, number=unit.number)
        wanted = wanted_of(study, needs)
        here = all(part.need is not None and part.need.state in {"received", "reserved"} for part in wanted)
        if not cures or not wanted or not here or study.plain is None or study.fixed.fixed:
            continue
        fix, as_it_is = study.plain.sum_of("fix"), study.plain.sum_of("as_is")
        found.append(
            Ready(
                unit=unit.number,
                minutes=fix.minutes,
                day_cost=study.case.worth.delay_per_day,
                gain=fix.value - as_it_is.value,
                what=", ".join(study.device_class.fault(fault).what for fault in cures),
            )
        )
    return finish_order(found)


def waits_of(bench: BenchFile) -> dict[str, Waits]:
    """{supplier: how long it takes}: as it states, moved by the orders that came whole.

    The last parcel counts, also where something dead or wrong was in it. What never came leaves its order out: how long
    it would have taken nobody knows, and the rest was not the whole of it.
    """
    seen: dict[str, list[int]] = {}
    lines: dict[int, list[OrderLine]] = {}
    for line in store.order_lines(bench.database):
        lines.setdefault(line.order_id, []).append(line)
    came: dict[int, str] = {}
    outcomes: dict[int, set[str]] = {}
    for arrival in store.arrivals(bench.database):
        outcomes.setdefault(arrival.line, set()).add(arrival.outcome)
        came[arrival.line] = max(came.get(arrival.line, ""), arrival.at)
    for order in store.orders(bench.database):
        mine = lines.get(order.id, [])
        last = max((came[line.id] for line in mine if line.id in came), default="")
        seen_of_it = set[str]().union(*(outcomes.get(line.id, ()) for line in mine))
        whole = "came" in seen_of_it and "never" not in seen_of_it and not any(line.open_packs for line in mine)
        if whole and not order.cancelled:
            start = starts(
                day_of(order.at), after_cut_off=_hour(order.at) >= bench.person.cut_off, holidays=bench.person.holidays
            )
            seen.setdefault(order.supplier, []).append(max(0, (day_of(last) - start).days))
    found = {}
    for supplier in catalog_store.suppliers(bench.database):
        stated = supplier.lead_days, supplier.lead_days_late
        days = seen.get(supplier.name, [])
        found[supplier.name] = Waits(stated, learned_waits(*stated, days), len(days))
    return found


def suppliers_as_they_are(bench: BenchFile) -> list[catalog_store.Supplier]:
    """The suppliers with the waits that are reckoned with in place of the stated ones."""
    waits = waits_of(bench)
    return [
        msgspec.structs.replace(
            supplier, lead_days=waits[supplier.name].used[0], lead_days_late=waits[supplier.name].used[1]
        )
        for supplier in catalog_store.suppliers(bench.database)
    ]


def days_late(order: Order, lines: Sequence[OrderLine], today: date) -> int:
    """Days since an order that is not wholly here was due, 0 before then."""
    if order.cancelled or not any(line.open_packs for line in lines):
        return 0
    return max(0, (today - date.fromisoformat(order.due[:10])).days)


def _still_to_come(bench: BenchFile, line_id: int, packs: int | None) -> tuple[OrderLine, Order, int]:
    line = next((item for item in store.order_lines(bench.database) if item.id == line_id), None)
    if line is None:
        raise Refused("there is no such order line", where=f"line {line_id}")
    order = next(item for item in store.orders(bench.database) if item.id == line.order_id)
    if order.cancelled:
        raise Refused("its order was taken back; add what came to the drawer by hand", where=f"line {line_id}")
    if not line.open_packs:
        raise Refused("nothing of it is still to come", where=f"line {line_id}")
    count = line.open_packs if packs is None else packs
    if not 1 <= count <= line.open_packs:
        raise Refused(f"expected 1 to {line.open_packs} packs still to come", where=f"line {line_id}")
    return line, order, count


def _for_whom(bench: BenchFile, line: OrderLine) -> set[int]:
    """The needs that a line was ordered for, and those that pieces of it were given to since."""
    return {*line.needs, *(item.need for item in store.set_asides(bench.database) if item.line == line.id)}


def _name(line: OrderLine) -> str:
    return line.description or line.part_number


def _hour(at: str) -> int:
    return datetime.fromisoformat(at).astimezone().hour


def _into_drawer(bench: BenchFile, recorder: Recorder, line: OrderLine, currency: str, pieces: int) -> int:
    """Add the pieces to the part they are, or as a new part; returns its id."""
    held = next((part for part in catalog_store.parts(bench.database) if same_part(part, line)), None)
    if held is not None:
        recorder.update("parts", held.id, {"quantity": held.quantity + pieces})
        return held.id
    part = read_anew(
        catalog_store.Part(
            id=0,
            part_number=line.part_number,
            description=line.description,
            kind=line.kind,
            spec=None,
            left_over="",
            quantity=pieces,
            place=ARRIVED,
            unit_cost=half_up(Fraction(line.line_total, line.packs * line.pack)),
            currency=currency,
            search="",
        )
    )
    return catalog_store.save_part(recorder, part)


def _promise_no_more(bench: BenchFile, recorder: Recorder, line: OrderLine) -> None:
    """A line promises no more than is still to come of it; the youngest promises go first."""
    left = line.open_packs * line.pack
    coming = [item for item in store.set_asides(bench.database) if item.line == line.id and item.coming]
    for item in coming:
        kept = min(left, item.pieces)
        left -= kept
        if not kept:
            recorder.delete("set_asides", item.id)
        elif kept < item.pieces:
            recorder.update("set_asides", item.id, {"pieces": kept})


def _hand_out(bench: BenchFile, recorder: Recorder, line: OrderLine, part_id: int, pieces: int) -> None:
    """What has come is set aside in the drawer for the needs that it was ordered for, the oldest first."""
    for item in store.set_asides(bench.database):
        if item.line != line.id or not item.coming or not pieces:
            continue
        here = min(item.pieces, pieces)
        pieces -= here
        if here == item.pieces:
            recorder.update("set_asides", item.id, {"part": part_id})
        else:
            recorder.update("set_asides", item.id, {"pieces": item.pieces - here})
            store.save(recorder, "set_asides", SetAside(0, item.need, here, part_id, line.id))
