"""What is promised to which need, and parts leaving the drawer: a need's state stays true to what is set aside."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from collections.abc import Set as AbstractSet

import msgspec

from catalog import store as catalog_store
from catalog.journal import Recorder
from catalog.rules import same_word
from catalog.text import Refused
from triage import store
from triage.actions.studies import class_of_unit
from triage.bench_file import BenchFile
from triage.lot import Need, SetAside, need_state, pieces_missing


class Promise(msgspec.Struct, frozen=True):
    """Pieces of one drawer part that are promised to one need."""

    need: int
    unit: int
    part_name: str
    """What the unit wants it for, in the words of its class."""
    pieces: int

    def __str__(self) -> str:
        return f"{self.pieces} for unit {self.unit} ({self.part_name})"


def promises(bench: BenchFile) -> dict[int, tuple[Promise, ...]]:
    """{part id: what of it is promised, oldest first}; parts of which nothing is promised are left out."""
    aside = [item for item in store.set_asides(bench.database) if item.part is not None]
    if not aside:
        return {}
    held: dict[int, list[Promise]] = {}
    needs = {need.id: need for need in store.needs(bench.database)}
    names = _names_in(bench)
    for item in aside:
        if item.part is not None:
            need = needs[item.need]
            held.setdefault(item.part, []).append(Promise(need.id, need.unit, names(need), item.pieces))
    return {part: tuple(items) for part, items in held.items()}


def freed_by(bench: BenchFile, part_id: int, quantity: int) -> tuple[SetAside, ...]:
    """The promises that are let go when the drawer holds only `quantity` of a part, the youngest first."""
    over = reserved(bench).get(part_id, 0) - quantity
    freed = []
    for item in reversed(store.set_asides(bench.database)):
        if item.part == part_id and over > 0:
            over -= item.pieces
            freed.append(item)
    return tuple(freed)


def waiting_again(bench: BenchFile, freed: Iterable[SetAside]) -> tuple[str, ...]:
    """In words, for promises let go: which unit waits again for what, each once."""
    freed = tuple(freed)
    if not freed:
        return ()
    needs = {need.id: need for need in store.needs(bench.database)}
    names = _names_in(bench)
    lost = (needs[item.need] for item in freed)
    return tuple(dict.fromkeys(f"unit {need.unit} waits again for its {names(need)}" for need in lost))


def promised_to(bench: BenchFile, need_id: int) -> list[SetAside]:
    """What is promised to one need, oldest first."""
    return [item for item in store.set_asides(bench.database) if item.need == need_id]


def reserved(bench: BenchFile, idle: AbstractSet[int] = frozenset()) -> dict[int, int]:
    """{part id: pieces of the drawer that are promised to some need}, what is promised to `idle` needs left out."""
    held: dict[int, int] = {}
    for item in store.set_asides(bench.database):
        if item.part is not None and item.need not in idle:
            held[item.part] = held.get(item.part, 0) + item.pieces
    return held


def coming(bench: BenchFile, need_id: int) -> bool:
    """Whether pieces for the need are still to come on an order line in force."""
    standing = {order.id for order in store.orders(bench.database) if not order.cancelled}
    open_lines = {
        line.id for line in store.order_lines(bench.database) if line.order_id in standing and line.open_packs
    }
    return any(item.coming and item.line in open_lines for item in promised_to(bench, need_id))


def keep_within(bench: BenchFile, recorder: Recorder, part_id: int, quantity: int) -> None:
    """When the drawer holds fewer than are promised, the youngest promises are let go and their needs open again."""
    freed = freed_by(bench, part_id, quantity)
    for item in freed:
        recorder.delete("set_asides", item.id)
    settle(bench, recorder, {item.need for item in freed})


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
        if line is None or (line.order_id not in dead and line.open_packs):
            continue
        part = next((part for part in stock if same_part(part, line)), None)
        left = 0 if part is None else part.quantity - reserved(bench).get(part.id, 0)
        if part is not None and left > 0 and line.order_id not in dead:
            recorder.update("set_asides", item.id, {"part": part.id, "pieces": min(left, item.pieces)})
        else:
            recorder.delete("set_asides", item.id)
        changed.add(item.need)
    changed |= _no_more_than_wanted(bench, recorder)
    settle(bench, recorder, changed)
    held = {part.id: part.quantity for part in stock}
    for part_id, pieces in reserved(bench).items():
        if pieces > held.get(part_id, 0):
            keep_within(bench, recorder, part_id, held.get(part_id, 0))


def _no_more_than_wanted(bench: BenchFile, recorder: Recorder) -> set[int]:
    """Let go what is promised to needs that are over, and the youngest beyond what a need wants; gives those needs."""
    changed = set()
    for need in store.needs(bench.database):
        room = 0 if need.over else need.pieces
        for item in promised_to(bench, need.id):
            kept = min(room, item.pieces)
            room -= kept
            if kept == item.pieces:
                continue
            changed.add(need.id)
            if kept:
                recorder.update("set_asides", item.id, {"pieces": kept})
            else:
                recorder.delete("set_asides", item.id)
    return changed


def same_part(part: catalog_store.Part, line: store.OrderLine) -> bool:
    """Whether a part of the drawer is what an order line brings."""
    if line.part_number:
        return part.part_number.casefold() == line.part_number.casefold()
    return not part.part_number and part.description == line.description


def is_called(part: catalog_store.Part, words: str) -> bool:
    """Whether a part of the drawer goes by these very words, as its number or its description."""
    return same_word(words, part.part_number) or same_word(words, part.description)


class Leaving(msgspec.Struct, frozen=True):
    """Pieces of a drawer part that leave the drawer for a need when it is fitted."""

    need: int
    part: int
    name: str
    place: str
    pieces: int
    promised: bool
    """False for what is taken because the need was described in its very words."""

    def __str__(self) -> str:
        return f"{self.pieces} × {self.name}" + (f", {self.place}" if self.place else "")


def leaving(
    bench: BenchFile, number: int, parts: Sequence[str], named: AbstractSet[int] = frozenset()
) -> tuple[Leaving, ...]:
    """What leaves the drawer when these class parts are fitted in a unit; nothing is changed.

    What is set aside for the unit's needs leaves; what was described in the very words of a free part in the drawer is
    taken from there, unless the person names what was used. What is named is taken out apart from this. What was lifted
    out of this very unit is no spare for it.
    """
    own = {part for part, origin in store.lifted_parts(bench.database).items() if origin.unit == number}
    stock = {part.id: part for part in catalog_store.parts(bench.database)}
    held = {part_id: part.quantity for part_id, part in stock.items()}
    aside = reserved(bench)
    found: list[Leaving] = []

    def take(need: Need, part_id: int, pieces: int, *, promised: bool) -> None:
        held[part_id] = max(0, held[part_id] - pieces)  # it was there, whatever was counted
        part = stock[part_id]
        found.append(Leaving(need.id, part_id, part.name, part.place, pieces, promised))

    for need in store.needs(bench.database, number=number):
        if need.over or need.part not in parts:
            continue
        mine = promised_to(bench, need.id)
        for item in mine:
            if item.part is not None:
                aside[item.part] -= item.pieces
                if item.part not in named:
                    take(need, item.part, item.pieces, promised=True)
        missing = pieces_missing(need, mine)
        alike = (part.id for part in stock.values() if part.id not in own and is_called(part, need.text))
        free = next((one for one in alike if 0 < missing <= held[one] - aside.get(one, 0)), None)
        if free is not None and not named and not need.wish:
            take(need, free, missing, promised=False)
    return tuple(found)


def fit_parts(
    bench: BenchFile, recorder: Recorder, number: int, parts: Sequence[str], named: AbstractSet[int]
) -> tuple[Leaving, ...]:
    """Mark the unit's needs for these parts as fitted; gives back what has left the drawer for them.

    What is still coming is free for another unit when it is here.
    """
    gone = leaving(bench, number, parts, named)
    for item in gone:
        row = bench.database.conn.execute("SELECT quantity FROM parts WHERE id = ?", (item.part,)).fetchone()
        recorder.update("parts", item.part, {"quantity": max(0, int(row[0]) - item.pieces)})
    for need in store.needs(bench.database, number=number):
        came = any(item.need == need.id for item in gone)
        if not need.over and need.part in parts and (came or not need.wish):
            let_go(bench, recorder, need)
            recorder.update("needs", need.id, {"state": "fitted"})
    return gone


def take_out(bench: BenchFile, recorder: Recorder, part_id: int, pieces: int) -> str:
    """Pieces of a part leave the drawer; gives back what they are in words.

    Raises:
        Refused: it does not hold so many that nobody else is promised.
    """
    part = catalog_store.part(bench.database, part_id)
    if part is None or part.quantity < pieces:
        raise Refused(f"the drawer holds {part.quantity if part else 'none'} of them", where=f"part {part_id}")
    aside = reserved(bench).get(part_id, 0)
    if part.quantity - aside < pieces:
        raise Refused(
            f"{aside} of {part.quantity} are set aside for other units; drop one of those needs",
            where=f"part {part_id}",
        )
    recorder.update("parts", part_id, {"quantity": part.quantity - pieces})
    return f"{pieces} × {part.name}" + (f", {part.place}" if part.place else "")


def _names_in(bench: BenchFile) -> Callable[[Need], str]:
    """What names a need's part in the words of its unit's class, or by its id where the class does not know it."""
    units = {unit.number: unit for unit in store.units(bench.database)}

    def name(need: Need) -> str:
        device_class = class_of_unit(bench, units[need.unit])
        known = {part.id: part.name for part in device_class.parts} if device_class else {}
        return known.get(need.part, need.part)

    return name
