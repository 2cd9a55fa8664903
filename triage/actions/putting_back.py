"""Parts that were lifted out of a unit and are in it again: just as many pieces leave the drawer as go in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import msgspec

from catalog import store as catalog_store
from catalog.journal import Recorder
from catalog.text import Refused, clean_line
from triage import store
from triage.actions.holding import may_repair
from triage.actions.lifting import part_of
from triage.actions.promises import Leaving, is_called, keep_within, let_go, promised_to, reserved, settle
from triage.actions.studies import case_of_unit
from triage.bench_file import BenchFile, in_one_transaction
from triage.lot import Happening, Need


@in_one_transaction
def put_back(
    bench: BenchFile,
    number: int,
    part_id: str,
    pieces: int | None = None,
    *,
    parts: tuple[tuple[int, int], ...] = (),
    minutes: float | None = None,
) -> Happening:
    """Note that a part that was lifted out is in the unit again, its own or another one; its functions are tested anew.

    Without `parts` that is what `going_back` says; `parts` names what went in instead, as (part id, pieces). `pieces`
    None puts back all that were lifted. Once the unit lacks none of them, a need that another piece met is over.

    Raises:
        Refused: as `lift`, or so many were not lifted out, or the drawer does not hold just so many for it.
    """
    found = case_of_unit(bench, number)
    where = f"unit {number}.{part_id}"
    part = part_of(found, part_id, where)
    may_repair(found, where, opening=True)
    out = found.state.missing.get(part_id, 0)
    count = out if pieces is None else pieces
    if not 1 <= count <= out:
        raise Refused(f"{out or 'none'} of them were lifted out; say how many are back", where=where)
    goes = _named(bench, number, part_id, parts, count) if parts else going_back(bench, number, part_id, count)
    if sum(item.pieces for item in goes) < count:
        raise Refused("the drawer holds none for it; say which part of the drawer went in", where=where)
    spent = part.harvest_minutes if minutes is None else minutes
    summary = clean_line(f"unit {number}: put back: {count} × {part.name}", 200)
    with bench.journal.event("put_back", summary, at=bench.now(), unit=number) as recorder:
        if not found.state.case_open:
            store.save(recorder, "happenings", Happening(0, number, bench.now(), "case", "", "opened"))
        own = _own_lines(bench, number, part_id)
        for item in goes:
            _goes_in(bench, recorder, number, part_id, item)
        if count == out and any(item.part not in own for item in goes):
            for need in _needs(bench, number, part_id):
                let_go(bench, recorder, need)
                recorder.update("needs", need.id, {"state": "fitted"})
        seen = Happening(0, number, bench.now(), "lift", part.id, "back", float(count), "", spent)
        return msgspec.structs.replace(seen, id=store.save(recorder, "happenings", seen))


def going_back(bench: BenchFile, number: int, part_id: str, count: int) -> tuple[Leaving, ...]:
    """What leaves the drawer when so many are put back, at most `count` pieces; nothing is changed.

    First what came out of the unit, then what is set aside for it, then a free part in the words of its description.
    """
    stock = {part.id: part for part in catalog_store.parts(bench.database)}
    aside, own = reserved(bench), _own_lines(bench, number, part_id)
    found: list[Leaving] = []
    for part, pieces, need in (
        *((line, stock[line].quantity, 0) for line in own),
        *_set_aside(bench, number, part_id, own),
        *_alike(bench, number, part_id, own, aside),
    ):
        taken = min(pieces, count - sum(item.pieces for item in found))
        if taken > 0:
            found.append(Leaving(need, part, stock[part].name, stock[part].place, taken, promised=need != 0))
    return tuple(found)


def _own_lines(bench: BenchFile, number: int, part_id: str) -> tuple[int, ...]:
    origins = store.lifted_parts(bench.database).values()
    return tuple(one.part for one in origins if (one.unit, one.unit_part) == (number, part_id))


def _needs(bench: BenchFile, number: int, part_id: str) -> list[Need]:
    return [
        need
        for need in store.needs(bench.database, number=number)
        if need.part == part_id and not need.over and not need.wish
    ]


def _set_aside(bench: BenchFile, number: int, part_id: str, own: Sequence[int]) -> Iterator[tuple[int, int, int]]:
    for need in _needs(bench, number, part_id):
        for item in promised_to(bench, need.id):
            if item.part is not None and item.part not in own:
                yield item.part, item.pieces, need.id


def _alike(
    bench: BenchFile, number: int, part_id: str, own: Sequence[int], aside: dict[int, int]
) -> Iterator[tuple[int, int, int]]:
    words = [need.text for need in _needs(bench, number, part_id)]
    for part in catalog_store.parts(bench.database):
        if part.id not in own and any(is_called(part, text) for text in words):
            yield part.id, part.quantity - aside.get(part.id, 0), 0


def _named(
    bench: BenchFile, number: int, part_id: str, parts: Sequence[tuple[int, int]], count: int
) -> tuple[Leaving, ...]:
    """What the person named, if it is there, nobody else's, and just so many."""
    if sum(pieces for _, pieces in parts) != count or any(pieces < 1 for _, pieces in parts):
        raise Refused(f"name just {count}, as many as went in", where=f"unit {number}.{part_id}")
    aside = reserved(bench)
    for part, pieces, _ in _set_aside(bench, number, part_id, ()):
        aside[part] -= pieces
    found = []
    for part, pieces in parts:
        held = catalog_store.part(bench.database, part)
        free = held.quantity - aside.get(part, 0) if held is not None else 0
        if held is None or free < pieces:
            raise Refused(f"the drawer holds {max(0, free)} of them that are free", where=f"part {part}")
        found.append(Leaving(0, part, held.name, held.place, pieces, promised=False))
    return tuple(found)


def _goes_in(bench: BenchFile, recorder: Recorder, number: int, part_id: str, item: Leaving) -> None:
    """Pieces leave the drawer; promises to the unit itself are used up first, others are let go where too few stay."""
    left, touched = item.pieces, set()
    for need in _needs(bench, number, part_id):
        for promise in promised_to(bench, need.id):
            if promise.part != item.part or not left:
                continue
            used = min(left, promise.pieces)
            left -= used
            touched.add(need.id)
            if used == promise.pieces:
                recorder.delete("set_asides", promise.id)
            else:
                recorder.update("set_asides", promise.id, {"pieces": promise.pieces - used})
    held = catalog_store.part(bench.database, item.part)
    quantity = (held.quantity if held is not None else 0) - item.pieces
    recorder.update("parts", item.part, {"quantity": quantity})
    settle(bench, recorder, touched)
    keep_within(bench, recorder, item.part, quantity)
