"""Which parts of the drawer a repair uses: what leaves by itself, and what else may have been used, best first."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

import msgspec

from catalog import store as catalog_store
from catalog.pricelists import described
from catalog.rules import Grade
from triage import store
from triage.actions.findable import entry_of, find_parts
from triage.actions.judging import judge_written, read_description
from triage.actions.lifting import part_of
from triage.actions.makeshift import makeshifts
from triage.actions.pieces import not_good
from triage.actions.plan_view import PlannedLine
from triage.actions.promises import Leaving, leaving, reserved
from triage.actions.putting_back import going_back
from triage.actions.studies import case_of_unit
from triage.bench_file import BenchFile
from triage.worth import needed_parts

_MOST = 12
_NOT_FIT = {Grade.REFUSE: "it does not fit", Grade.UNKNOWN: "not known whether it fits"}
_ORDER = {grade: place for place, grade in enumerate(Grade)}


class Usable(msgspec.Struct, frozen=True):
    """A drawer part that may have been used: how many are free, and how it fits what is wanted (empty: not judged)."""

    part: int
    name: str
    place: str
    free: int
    grade: str = ""


class Chosen(msgspec.Struct, frozen=True):
    """Pieces of a drawer part that a plan takes for what is repaired, while they are promised to nobody yet."""

    usable: Usable
    pieces: int


class Using(msgspec.Struct, frozen=True):
    """What a repair takes out of the drawer by itself, and what else may be named."""

    leaving: tuple[Leaving, ...]
    others: tuple[Usable, ...]
    chosen: tuple[Chosen, ...] = ()
    """What a plan takes out of the drawer for it."""
    makeshift: tuple[str, ...] = ()
    """What of it does only for now, in words: its proper part goes on the later list."""


def used_for(
    bench: BenchFile,
    number: int,
    faults: Sequence[str],
    query: str = "",
    *,
    planned: Sequence[PlannedLine] = (),
    named: Sequence[tuple[int, int]] = (),
) -> Using:
    """What a repair of these faults takes out of the drawer, and other parts in it that may have been used.

    Without a query those are parts of the kinds that the faults need, fitting ones first and refused ones left out;
    with one, what is found for it. Only what is free is told.

    Args:
        bench: the open bench file.
        number: the unit.
        faults: what is repaired.
        query: what is searched for in the drawer.
        planned: what a plan takes out of the drawer.
        named: (part id, pieces) that go in as the person says, to tell which of them are makeshift.

    Raises:
        Refused: there is no such unit, or its class is still in doubt.
    """
    needed = needed_parts(case_of_unit(bench, number).device_class, faults)
    gone = leaving(bench, number, needed)
    only_for_now = tuple(
        f"makeshift, {_NOT_FIT.get(one.grade, one.grade)}: the proper one goes on the later list"
        for one in makeshifts(bench, number, needed, gone, named)
    )
    found = _using(bench, number, needed, query, gone)
    chosen = tuple(_chosen(bench, number, needed, planned, {item.need for item in gone}))
    return msgspec.structs.replace(found, makeshift=only_for_now, chosen=chosen)


def used_to_put_back(bench: BenchFile, number: int, part_id: str, query: str = "") -> Using:
    """The same for putting a part back that was lifted out.

    Raises:
        Refused: as `used_for`, or its class has no such part that is ever lifted.
    """
    part_of(case_of_unit(bench, number), part_id, f"unit {number}.{part_id}")
    lacking = case_of_unit(bench, number).state.missing.get(part_id, 0)
    return _using(bench, number, (part_id,), query, going_back(bench, number, part_id, lacking))


def _using(bench: BenchFile, number: int, needed: Sequence[str], query: str, gone: tuple[Leaving, ...]) -> Using:
    aside = reserved(bench)
    taken = {item.part for item in gone}
    stock = {part.id: part for part in catalog_store.parts(bench.database) if part.id not in taken}
    free = {part_id: part.quantity - aside.get(part_id, 0) for part_id, part in stock.items()}
    graded = _found(bench, query) if query.strip() else _fitting(bench, number, needed, list(stock.values()))
    others = [
        Usable(part_id, stock[part_id].name, stock[part_id].place, pieces, grade)
        for part_id, grade in graded
        if (pieces := free.get(part_id, 0)) > 0
    ]
    return Using(gone, tuple(others[:_MOST]))


def _chosen(
    bench: BenchFile, number: int, needed: Collection[str], planned: Sequence[PlannedLine], served: Collection[int]
) -> Iterator[Chosen]:
    """What the plan takes for needs that nothing leaves for by itself, as far as it is still free and wanted so."""
    wanted = {
        need.id: need
        for need in store.needs(bench.database, number=number)
        if need.part in needed and not need.over and not need.wish and need.id not in served
    }
    stock = {part.id: part for part in catalog_store.parts(bench.database)}
    aside = reserved(bench)
    for line in planned:
        uses = [use for use in line.uses if use.need in wanted and use.holds_for(wanted[use.need])]
        part = stock.get(line.part_id or 0)
        free = part.quantity - aside.get(part.id, 0) if part is not None else 0
        if part is not None and uses and free > 0:
            usable = Usable(part.id, part.name, part.place, free, uses[0].grade)
            yield Chosen(usable, min(free, sum(use.pieces for use in uses)))


def _found(bench: BenchFile, query: str) -> list[tuple[int, str]]:
    hits = find_parts(bench, query, 200)
    return [(hit.entry.id, str(hit.grade or "")) for hit in hits if hit.entry.source == "part"]


def _fitting(
    bench: BenchFile, number: int, needed: Sequence[str], stock: Sequence[catalog_store.Part]
) -> list[tuple[int, str]]:
    """{part: grade} of the parts that are of a wanted kind, the best grade first, unjudged ones behind."""
    device_class = case_of_unit(bench, number).device_class
    bad = not_good(bench, [entry_of(part) for part in stock])
    stock = [part for part in stock if ("part", part.id) not in bad]
    words = {need.part: need for need in store.needs(bench.database, number=number) if need.text}
    best: dict[int, Grade | None] = {}
    for part_id in needed:
        need, wanted = words.get(part_id), device_class.part(part_id)
        kind = need.kind if need and need.kind else wanted.kind
        by_number = need.text if need and kind == "listed" else ""
        seen = described(need.text, by_number, kind, read_description) if need else None
        judge = judge_written(bench, need.role or None if need else None)
        for part in stock:
            if part.kind != kind:
                continue
            verdict = judge(need.text, seen, part) if need and seen else None
            grade = verdict.grade if verdict else None
            held = best.get(part.id, Grade.REFUSE)
            better = held is Grade.REFUSE or (grade is not None and (held is None or _ORDER[grade] < _ORDER[held]))
            best[part.id] = grade if better else held
    ranked = [(part_id, grade) for part_id, grade in best.items() if grade is not Grade.REFUSE]
    ranked.sort(key=lambda entry: len(_ORDER) if entry[1] is None else _ORDER[entry[1]])
    return [(part_id, str(grade or "")) for part_id, grade in ranked]
