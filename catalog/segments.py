"""A part of the catalogue made findable: texts, part numbers and makes of its entries, in arrays.

Never changed after it is made, so threads may share it; a change of the catalogue makes a small segment beside the
large one and marks what it replaces there, and small ones are joined before they grow many.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

import msgspec
import numpy as np
from numpy.typing import NDArray

from catalog.grams import Grams, pairs, threes
from catalog.makes import Makes
from catalog.search import number_form

SCAN = 2_000
"""Up to so many entries every text is compared: exact, and quicker than an index is made."""
NO_MAKE = -1
_TURN = 1_000

Bools = NDArray[np.bool_]
Positions = NDArray[np.intp]


class Row(msgspec.Struct, frozen=True, gc=False):
    """What an entry is found by. `key` is its own and orders equals; `spec` is in its stored form (JSON)."""

    key: int
    number: str
    spec: str | None
    at_hand: bool
    """It lies in the drawer, at least one piece, and is not said to be broken."""
    search: str
    """Its `search_form`."""


class Segment(msgspec.Struct, frozen=True):
    """Entries in the order of their keys; all arrays and lists have one place for each."""

    keys: NDArray[np.int64]
    texts: tuple[str, ...]
    """Tuples, because collections of garbage do not walk through a tuple of texts again and again."""
    numbers: tuple[str, ...]
    """Part numbers as written."""
    own: dict[int, str]
    """{position: part number that the spec states, where it is another}"""
    makes: NDArray[np.int32]
    at_hand: Bools
    forms: NDArray[np.int64]
    """Sorted hashes of the `number_form` of `numbers` and `own`, …"""
    form_of: NDArray[np.int32]
    """… and the position each is of."""
    lengths: NDArray[np.int32]
    """Of `texts`, in letters."""
    words: Grams | None
    """What the texts share with a query; None for a segment that is compared as a whole."""
    pairs: Grams | None
    """What the part numbers share with one; None likewise."""

    def __len__(self) -> int:
        return len(self.texts)

    def numbered(self, form: str) -> list[int]:
        """Positions whose part number, or that of their spec, has this `number_form`."""
        if not form:
            return []
        first, last = np.searchsorted(self.forms, hash(form)), np.searchsorted(self.forms, hash(form), "right")
        found: list[int] = sorted(set(self.form_of[first:last].tolist()))
        return [place for place in found if form in {number_form(self.numbers[place]), number_form(self.stated(place))}]

    def stated(self, position: int) -> str:
        """The part number the spec of an entry states."""
        return self.own.get(position, self.numbers[position])

    def places(self, keys: NDArray[np.int64]) -> Positions:
        """The positions of those keys that are here."""
        return np.flatnonzero(np.isin(self.keys, keys))


def segment(rows: Iterable[Row], makes: Makes, progress: Callable[[int], object] = lambda _: None) -> Segment:
    """A segment of these rows, in the order of their keys, each once.

    `progress` is told how many were taken, then again from the start how many were indexed.
    """
    keys, texts, numbers, own, made, at_hand = [], [], [], dict[int, str](), [], []
    for position, row in enumerate(rows):
        make, stated = makes.add(row.spec) if row.spec else (NO_MAKE, row.number)
        if stated != row.number:
            own[position] = stated
        keys.append(row.key)
        texts.append(row.search)
        numbers.append(row.number)
        made.append(make)
        at_hand.append(row.at_hand)
        if position % _TURN == 0:
            progress(position)
    return _segment(
        np.array(keys, np.int64),
        texts,
        numbers,
        own,
        makes=np.array(made, np.int32),
        at_hand=np.array(at_hand, bool),
        progress=progress,
    )


def joined(parts: Sequence[tuple[Segment, Bools]]) -> Segment:
    """One segment of what is alive in several."""
    keys = np.concatenate([one.keys[alive] for one, alive in parts])
    order = np.argsort(keys)
    texts = [text for one, alive in parts for text in _of(one.texts, alive)]
    numbers = [text for one, alive in parts for text in _of(one.numbers, alive)]
    stated = [one.own.get(int(place)) for one, alive in parts for place in np.flatnonzero(alive)]
    return _segment(
        keys[order],
        [texts[place] for place in order],
        [numbers[place] for place in order],
        {place: text for place, old in enumerate(order) if (text := stated[old]) is not None},
        makes=np.concatenate([one.makes[alive] for one, alive in parts])[order],
        at_hand=np.concatenate([one.at_hand[alive] for one, alive in parts])[order],
    )


def _of(texts: Sequence[str], alive: Bools) -> list[str]:
    return [text for text, held in zip(texts, alive.tolist(), strict=True) if held]


def _segment(
    keys: NDArray[np.int64],
    texts: list[str],
    numbers: list[str],
    own: dict[int, str],
    *,
    makes: NDArray[np.int32],
    at_hand: Bools,
    progress: Callable[[int], object] = lambda _: None,
) -> Segment:
    plain = [number_form(number) for number in numbers]
    forms = [(hash(form), place) for place, form in enumerate(plain) if form]
    forms += [(hash(form), place) for place, number in own.items() if (form := number_form(number))]
    hashes = np.array([form for form, _ in forms], np.int64)
    order = np.argsort(hashes, kind="stable")
    count, large = len(texts), len(texts) > SCAN
    return Segment(
        keys,
        tuple(texts),
        tuple(numbers),
        own,
        makes,
        at_hand,
        hashes[order],
        np.array([place for _, place in forms], np.int32)[order],
        np.fromiter(map(len, texts), np.int32, count),
        Grams(map(_told, texts, plain), count, threes, progress) if large else None,
        Grams(plain, count, pairs) if large else None,
    )


def _told(text: str, form: str) -> str:
    """The text, with its part number in one piece where it is written in several."""
    return text if form in text else f"{text} {form}"
