"""What is promised to which need, and parts leaving the drawer: a need's state stays true to what is set aside."""

from __future__ import annotations

from collections.abc import Iterable

from catalog import store as catalog_store
from catalog.journal import Recorder
from catalog.text import Refused
from triage import store
from triage.bench_file import BenchFile
from triage.lot import Need, SetAside, need_state, pieces_missing


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


def set_right(bench: BenchFile, recorder: Recorder) -> None:
    """Make promises true that came back with an undo: goods may have come or been used, orders been taken back.

    What was still to come then and is here now is promised from the drawer; what is neither there nor to come is
    promised no more, and its need is open again.
    """
    lines = {line.id: line for line in store.order_lines(bench.database)}
    dead = {order.id for order in store.orders(bench.database) if order.cancelled}
    stock = catalog_store.parts(bench.database)
    changed = set()
    for item in store.set_asides(bench.database):
        line = lines.get(item.line) if item.line is not None and item.coming else None
        if line is None or (line.order_id not in dead and line.received < line.packs):
            continue
        part = next((part for part in stock if same_part(part, line)), None)
        left = 0 if part is None else part.quantity - reserved(bench).get(part.id, 0)
        if part is not None and left > 0 and line.order_id not in dead:
            recorder.update("set_asides", item.id, {"part": part.id, "pieces": min(left, item.pieces)})
        else:
            recorder.delete("set_asides", item.id)
        changed.add(item.need)
    settle(bench, recorder, changed)
    held = {part.id: part.quantity for part in stock}
    for part_id, pieces in reserved(bench).items():
        if pieces > held.get(part_id, 0):
            keep_within(bench, recorder, part_id, held.get(part_id, 0))


def same_part(part: catalog_store.Part, line: store.OrderLine) -> bool:
    """Whether a part of the drawer is what an order line brings."""
    if line.part_number:
        return part.part_number.casefold() == line.part_number.casefold()
    return not part.part_number and part.description == line.description


def fit_parts(bench: BenchFile, recorder: Recorder, number: int, parts: tuple[str, ...], named: set[int]) -> None:
    """Mark the unit's needs for these parts as fitted; what was set aside for them has left the drawer.

    What was described in the very words of a part in the drawer is taken from there. What the person named is taken
    out apart from this. What is still coming is free for another unit when it is here.
    """
    stock = {part.id: part for part in catalog_store.parts(bench.database)}
    held = {part_id: part.quantity for part_id, part in stock.items()}
    for need in store.needs(bench.database, number=number):
        if need.over or need.part not in parts:
            continue
        for item in promised_to(bench, need.id):
            if item.part is not None and item.part not in named:
                held[item.part] = max(0, held[item.part] - item.pieces)  # it was there, whatever was counted
                recorder.update("parts", item.part, {"quantity": held[item.part]})
        missing = pieces_missing(need, promised_to(bench, need.id))
        let_go(bench, recorder, need)
        aside = reserved(bench)
        for part in stock.values():
            free = held[part.id] - aside.get(part.id, 0)
            if not named and 0 < missing <= free and need.text in {part.part_number, part.description}:
                held[part.id] -= missing
                recorder.update("parts", part.id, {"quantity": held[part.id]})
                break
        recorder.update("needs", need.id, {"state": "fitted"})


def take_out(bench: BenchFile, recorder: Recorder, part_id: int, pieces: int) -> None:
    """Pieces of a part leave the drawer; Refused when it does not hold so many that nobody else is promised."""
    row = bench.database.conn.execute("SELECT quantity FROM parts WHERE id = ?", (part_id,)).fetchone()
    if row is None or int(row[0]) < pieces:
        raise Refused(f"the drawer holds {row[0] if row else 'none'} of them", where=f"part {part_id}")
    aside = reserved(bench).get(part_id, 0)
    if int(row[0]) - aside < pieces:
        raise Refused(
            f"{aside} of {row[0]} are set aside for other units; drop one of those needs", where=f"part {part_id}"
        )
    recorder.update("parts", part_id, {"quantity": int(row[0]) - pieces})
