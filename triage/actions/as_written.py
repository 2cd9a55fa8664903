"""How what is found fits by all that is written of it: what its spec does not hold, and every way to read it."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from msgspec.structs import replace

from catalog import find_store
from catalog.fit_texts import Numbered, Side, by_number, fit_sides, side_of
from catalog.makes import Said, said
from catalog.rules import Grade
from catalog.unread import Unread, rest_of, unread
from triage.actions.judging import read_description
from triage.actions.pieces import not_good
from triage.bench_file import BenchFile

if TYPE_CHECKING:
    from catalog.fit import Fit
    from catalog.reading import Reading
    from catalog.rules import Pair
    from catalog.search import Entry, Words
    from catalog.spec import PartSpec

_READ = 2_000
"""Texts of several readings whose ways are remembered."""


def query_side(text: str, kind: str | None, pairs: Iterable[Pair]) -> tuple[Reading | Numbered, Side]:
    """What is read of a query, cleaned, and the side of a fit that it is; `kind` if the wanted kind is known."""
    seen = by_number(read_description(text, kind), text, pairs)
    return seen, side_of(text, seen)


def entry_side(entry: Entry) -> Side:
    """The side of a fit that an entry is."""
    rest = rest_of(entry.description, entry.left_over, entry.kind)
    return _several(entry) if rest.several else Side(rest, (entry.spec,) if entry.spec else ())


def as_written(
    bench: BenchFile, wanted: Side, judge: Callable[[PartSpec, PartSpec], Fit]
) -> Callable[[Sequence[tuple[int, Said]]], list[tuple[Said, bool]]]:
    """What the texts of entries make of their grades for this query, for `catalog.finder.Index.find`."""
    told: dict[tuple[str, bool], Unread | None] = {}
    figures = any(re.search(r"\d", piece) for piece in wanted.rest.pieces)

    def lowered(words: Words, before: Said) -> Said:
        rest = rest_of(words.description, words.left_over, words.kind)
        if rest.several:
            now = said(fit_sides(wanted, _several(words), judge), sure=True)
            return now if now[0] != before[0] else before
        key = rest.pieces[0] if rest.pieces else "", rest.numbered
        if key not in told or (figures and re.search(r"\d", key[0])):  # it may be a part number of its text, or not
            told[key] = _worst(unread(wanted.rest, rest, wanted.kind))
        left = told[key]
        return (
            before
            if left is None or left.grade.rank <= Grade(before[0]).rank
            else (left.grade.value, f"text: {left.why}")
        )

    def written(entries: Sequence[tuple[int, Said]]) -> list[tuple[Said, bool]]:
        words = find_store.texts_of(bench.database, [key for key, _ in entries])
        bad = not_good(bench, list(words.values()))
        return [
            (lowered(words[key], before), find_store.of_key(key) not in bad) if key in words else (before, True)
            for key, before in entries
        ]

    return written


def _worst(left: Sequence[Unread]) -> Unread | None:
    return max(left, key=lambda one: one.grade.rank, default=None)


def _several(entry: Words) -> Side:
    """The ways to read an entry whose text has more than one; kept is only what they share."""
    side = _read_again(entry.description, entry.kind)
    if not entry.part_number:
        return side
    ways = tuple(replace(one, part_number=entry.part_number) for one in side.ways)
    return replace(side, ways=ways)


@lru_cache(maxsize=_READ)
def _read_again(description: str, kind: str) -> Side:
    side = side_of(description, read_description(description))
    of_its_kind = kind in {one.kind for one in side.ways}
    return side if of_its_kind else side_of(description, read_description(description, kind or None))
