"""Which texts of a segment are worth comparing exactly with a query: those that share most letters with it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from catalog.grams import best, pool
from catalog.search import number_form
from catalog.segments import Bools, Positions, Segment

NEAR, LONG, NUMBERED = 2_500, 1_000, 800
"""Texts of a segment that are compared exactly: of about the query's length, longer ones, and by their part number.

`WRatio` marks a text up to 1.5 times as long as the query by all its letters, and a longer one by its best piece; so
both sorts are chosen apart. `tests/bench/search.py` measures what is missed.
"""
POOL = 32_000
"""Texts of a segment that are looked at more closely: those that share most with the query."""
_LONGER = 1.5
_SHORTEST_NUMBER, _LONGEST_NUMBER = 4, 14

_ALIKE = ("0o", "1il", "5s", "8b", "2z")
"""Signs that are taken for each other on labels and screens (common practice)."""
_MOST_ALIKE = 512
"""Ways to mistake a number that are looked up; a number with more is looked up as it is typed."""

Weights = NDArray[np.float32]


def alike(held: Segment, alive: Bools, form: str) -> Positions:
    """Positions whose texts share most with the query."""
    if held.words is None:
        return np.flatnonzero(alive)
    number = number_form(form)
    weights = weights_of(held, alive, form, number)
    return np.unique(np.concatenate(list(most_alike(held, alive, form, number, weights))))


def weights_of(held: Segment, alive: Bools, form: str, number: str) -> Weights:
    """What each text shares with the query, which counts in one piece too."""
    assert held.words is not None  # noqa: S101 - asked of large segments only
    return _standing(held.words.overlap(form if number in form else f"{form} {number}"), alive)


def _standing(weights: Weights, alive: Bools) -> Weights:
    if not alive.all():
        weights[~alive] = 0
    return weights


def most_alike(held: Segment, alive: Bools, form: str, number: str, weights: Weights) -> Iterator[Positions]:
    """Positions whose texts or numbers share most with the query."""
    chosen = pool(weights, POOL)
    shared, lengths = weights[chosen], held.lengths[chosen].astype(np.float32)
    longer = lengths >= _LONGER * len(form)
    near, long = chosen[~longer], chosen[longer]
    yield near[best((shared / np.sqrt(lengths))[~longer], NEAR)]
    yield long[best(shared[longer], LONG)]
    if held.pairs is not None and is_number(number):
        numbers = _standing(held.pairs.overlap(number), alive)
        chosen = pool(numbers, POOL)
        yield chosen[best(numbers[chosen], NUMBERED)]


def is_number(number: str) -> bool:
    """Whether a query (its `number_form`) may be a part number: short, with letters or not, and some digits."""
    return _SHORTEST_NUMBER <= len(number) <= _LONGEST_NUMBER and sum(map(str.isdigit, number)) > 1


def lookalikes(number: str) -> Iterator[str]:
    """The other numbers that a query (its `number_form`) may be, signs that look alike taken for each other."""
    if not is_number(number):
        return
    signs = [next((same for same in _ALIKE if sign in same), sign) for sign in number]
    if math.prod(map(len, signs)) <= _MOST_ALIKE:
        yield from (form for form in map("".join, itertools.product(*signs)) if form != number)
