"""What is promised to which need: keeping the state of a need true to the pieces set aside for it."""

from __future__ import annotations

from collections.abc import Iterable

from catalog.journal import Recorder
from triage import store
from triage.bench_file import BenchFile
from triage.lot import Need, SetAside, need_state


def promised_to(bench: BenchFile, need_id: int) -> list[SetAside]:
    """What is promised to one need, oldest first."""
    return [item for item in store.set_asides(bench.database) if item.need == need_id]


def reserved(bench: BenchFile) -> dict[int, int]:
    """{part id: pieces of the drawer that are promised to some need}."""
    held: dict[int, int] = {}
    for item in store.set_asides(bench.database):
        if item.part is not None:
            held[item.part] = held.get(item.part, 0) + item.pieces
    return held


def coming(bench: BenchFile, need_id: int) -> bool:
    """Whether pieces for the need are still to come on an order line in force."""
    standing = {order.id for order in store.orders(bench.database) if not order.cancelled}
    open_lines = {
        line.id
        for line in store.order_lines(bench.database)
        if line.order_id in standing and line.received < line.packs
    }
    return any(item.coming and item.line in open_lines for item in promised_to(bench, need_id))


def keep_within(bench: BenchFile, recorder: Recorder, part_id: int, quantity: int) -> None:
    """When the drawer holds fewer than are promised, the youngest promises are let go and their needs open again."""
    over = reserved(bench).get(part_id, 0) - quantity
    freed = set()
    for item in reversed(store.set_asides(bench.database)):
        if item.part != part_id or over <= 0:
            continue
        over -= item.pieces
        recorder.delete("set_asides", item.id)
        freed.add(item.need)
    settle(bench, recorder, freed)


def let_go(bench: BenchFile, recorder: Recorder, need: Need) -> None:
    """Nothing is promised to the need any more; what lies in the drawer is free again."""
    for item in promised_to(bench, need.id):
        recorder.delete("set_asides", item.id)


def settle(bench: BenchFile, recorder: Recorder, need_ids: Iterable[int], source: str | None = None) -> None:
    """Give the needs the state that follows from what is promised; `source` says where it comes from."""
    wanted = set(need_ids)
    promised = store.set_asides(bench.database)
    for need in store.needs(bench.database):
        if need.id not in wanted:
            continue
        state = need_state(need, promised)
        where = "" if state == "open" else need.source if source is None else source
        if (state, where) != (need.state, need.source):
            recorder.update("needs", need.id, {"state": state, "source": where})
