"""Everything that can be found, kept in step with the bench file: parts and offers in force, whoever changed them.

The index is made once and shared by all threads of the program; after that only what the journal names since is read
again. While it is being made, plain words still find something.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from threading import Lock
from typing import TYPE_CHECKING, Any

import msgspec

from catalog import find_store, store
from catalog.database import reading
from catalog.search import Entry, Hit, search_form
from catalog.text import clean_line
from triage.actions.judging import judge_by
from triage.actions.own_words import own_words
from triage.actions.pieces import not_good
from triage.bench_file import BenchFile

if TYPE_CHECKING:
    from catalog.finder import Index, Match
    from catalog.rules import Pair

QUERY_LIMIT = 200
_HELD, _LOCK, _MAKING = "findable", "findable lock", "findable making"


class Making(msgspec.Struct, frozen=True):
    """How far the index is that is being made: entries done in both of its passes, and how many that are in all."""

    done: int
    of: int

    @property
    def percent(self) -> int:
        """In whole percent."""
        return 100 * self.done // self.of if self.of else 0


class Findable(msgspec.Struct, frozen=True):
    """The index with what it rests on."""

    moment: find_store.Moment
    index: Index
    judge: Callable[..., Any]
    told_apart: frozenset[str]
    """Part numbers on the person's own list of pairs."""
    pairs: tuple[Pair, ...] = ()
    """That list."""
    rules_stamp: tuple[int, int] | None = None
    """The state of the person's file of rules that the judge knows."""
    mains: float | None = None
    """The person's mains that it knows."""


def findable(bench: BenchFile) -> Findable:
    """The index as the file is now; made where there is none yet, else brought up to the moment."""
    if bench.database.conn.in_transaction:
        return _brought_up(bench, bench.shared.get(_HELD))  # not kept: what is written may still be rolled back
    try:
        with _lock(bench), reading(bench.database):
            held = _brought_up(bench, bench.shared.get(_HELD))
            bench.shared[_HELD] = held
    finally:
        bench.shared.pop(_MAKING, None)
    return held


def will_be_made(bench: BenchFile) -> None:
    """Another thread is about to make the index: nobody else need begin."""
    bench.shared.setdefault(_MAKING, Making(0, 0))


def making(bench: BenchFile) -> Making | None:
    """How far the index is while it is being made, from any thread; None when it is not."""
    found: Making | None = bench.shared.get(_MAKING)
    return found


def is_ready(bench: BenchFile) -> bool:
    """Whether there is an index, so that finding answers at once."""
    return _HELD in bench.shared


def find_parts(
    bench: BenchFile, query: str, limit: int = 50, *, cancelled: Callable[[], bool] = lambda: False
) -> list[Hit]:
    """Parts and offers in force for what was typed, best first; empty when cancelled."""
    from triage.actions.as_written import as_written, query_side  # noqa: PLC0415 - loads the rule tables

    held = findable(bench)
    text = clean_line(query, QUERY_LIMIT)
    seen, side = query_side(text, None, held.pairs)
    matches = held.index.find(
        text,
        limit,
        reader=lambda _: seen,
        judge=held.judge,
        told_apart=held.told_apart,
        written=as_written(bench, side, held.judge),
        cancelled=cancelled,
    )
    return _hits(bench, matches)


def find_alike(bench: BenchFile, query: str, limit: int = 50) -> list[Hit]:
    """Those whose text is most alike what was typed, whatever they are: the text stage of finding alone."""
    return _hits(bench, findable(bench).index.alike(clean_line(query, QUERY_LIMIT), limit))


def by_words(bench: BenchFile, query: str, limit: int) -> list[Hit]:
    """Those whose text holds every word as it is typed, unjudged and in no order: while the index is being made."""
    words = search_form(clean_line(query, QUERY_LIMIT)).split()
    keys = find_store.with_words(bench.database, words, limit) if words else []
    entries = _entries(bench, keys)
    return [Hit(entries[key], None, "by its words", 0.0, same_number=False) for key in keys if key in entries]


def _lock(bench: BenchFile) -> Lock:
    held: Lock = bench.shared.setdefault(_LOCK, Lock())
    return held


def _brought_up(bench: BenchFile, held: Findable | None) -> Findable:
    moment = find_store.now(bench.database)
    if held is None or not find_store.holds(bench.database, held.moment):
        return _made(bench, moment)
    same_rules = (held.rules_stamp, held.mains) == (bench.rules_stamp, bench.person.mains)
    if held.moment == moment and same_rules:
        return held
    changed = find_store.changed(bench.database, held.moment)
    index = held.index
    if changed.keys:
        index = index.changed(changed.keys, find_store.rows_of(bench.database, changed.keys))
    if not changed.own_words and same_rules:
        return msgspec.structs.replace(held, moment=moment, index=index)
    return _with_own_words(bench, moment, index)


def _made(bench: BenchFile, moment: find_store.Moment) -> Findable:
    from catalog.finder import Index  # noqa: PLC0415 - brings numpy, which start-up does without

    count = find_store.count(bench.database)
    indexing = False

    def progress(done: int) -> None:
        nonlocal indexing
        before = bench.shared[_MAKING].done
        indexing = indexing or done < before
        bench.shared[_MAKING] = Making(done + count if indexing else done, 2 * count)

    bench.shared[_MAKING] = Making(0, 2 * count)
    return _with_own_words(bench, moment, Index.of(find_store.rows(bench.database), progress))


def _with_own_words(bench: BenchFile, moment: find_store.Moment, index: Index) -> Findable:
    seen = bench.rules_stamp  # before the file is read: one that changes meanwhile is read again
    pairs = own_words(bench).pairs
    numbers = frozenset(number for pair in pairs for number in (pair.wanted, pair.candidate))
    return Findable(moment, index, judge_by(bench), numbers, pairs, seen, bench.person.mains)


def _hits(bench: BenchFile, matches: Sequence[Match]) -> list[Hit]:
    """The matches with what they are; one that went meanwhile is left out."""
    entries = _entries(bench, (match.key for match in matches))
    bad = not_good(bench, list(entries.values()))

    def hit(match: Match) -> Hit:
        entry = entries[match.key]
        said = bad.get((entry.source, entry.id), "")
        return Hit(entry, match.grade, match.why, match.score, match.same_number, said)

    return [hit(match) for match in matches if match.key in entries]


def _entries(bench: BenchFile, keys: Iterable[int]) -> dict[int, Entry]:
    sorts: dict[str, list[int]] = {"part": [], "offer": []}
    for key in keys:
        source, number = find_store.of_key(key)
        sorts[source].append(number)
    found = {
        find_store.key_of("part", part.id): entry_of(part)
        for part in store.parts_of(bench.database, sorts["part"]).values()
    }
    if sorts["offer"]:
        names = {supplier.id: supplier.name for supplier in store.suppliers(bench.database)}
        for offer in store.offers_of(bench.database, sorts["offer"]).values():
            if offer.supplier in names:
                found[find_store.key_of("offer", offer.id)] = _offered(offer, names[offer.supplier])
    return found


def entry_of(part: store.Part) -> Entry:
    """A part of the drawer as an entry."""
    return Entry(
        source="part",
        id=part.id,
        part_number=part.part_number,
        description=part.description,
        kind=part.kind,
        left_over=part.left_over,
        spec=part.spec,
        quantity=part.quantity,
        place=part.place,
        supplier="",
        search=part.search,
    )


def _offered(offer: store.Offer, supplier: str) -> Entry:
    return Entry(
        source="offer",
        id=offer.id,
        part_number=offer.part_number,
        description=offer.description,
        kind=offer.kind,
        left_over=offer.left_over,
        spec=offer.spec,
        quantity=None if offer.stock_packs is None else offer.stock_packs * offer.pack,
        place="",
        supplier=supplier,
        search=offer.search,
    )
