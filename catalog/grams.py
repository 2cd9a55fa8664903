"""Which texts share most with a query: every text's groups of three letters, and for each group the texts that hold it.

For part numbers there are pairs of letters instead, also with one letter between: two slips in eight signs leave few
groups of three whole, but most pairs.

A group seldom met says more than a common one (its weight is the logarithm of how rare it is), so a few letters right
are enough to bring a text among the first some thousand of a million; what they are really worth is reckoned exactly
by whoever asks. Groups stay within a word and know where a word begins and ends: the order of words does not count.
Needs numpy, so it is imported when something is searched, not at start-up.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import islice
from typing import Any

import numpy as np
from numpy.typing import NDArray

BLOCK = 8_192
"""Texts taken apart at once: the steps that keep other threads waiting stay below some milliseconds."""
MOST_TEXTS = 1 << 24
_BITS = 7
_SAMPLE = 4_096
_ANYTHING = np.float32(1e-6)
_LINE, _SPACE = 0, 1
_PLAIN = "\n abcdefghijklmnopqrstuvwxyz0123456789.+%"


def _letters() -> NDArray[np.int64]:
    """{code point: number of its letter}; letters beyond the plain ones share the numbers left.

    That costs nothing but a few candidates too many.
    """
    rest = 2**_BITS - len(_PLAIN)
    table: NDArray[np.int64] = len(_PLAIN) + np.arange(0x10000, dtype=np.int64) % rest
    for number, letter in enumerate(_PLAIN):
        table[ord(letter)] = number
    return table


_LETTERS = _letters()


Groups = tuple[NDArray[np.int64], NDArray[np.int64]]
"""Groups, and the number of the text each is of; a group may be there several times."""
Apart = Callable[[Sequence[str]], Groups]


class Grams:
    """Groups of letters of fixed texts. Read-only after it is made, so threads may share it."""

    def __init__(
        self,
        texts: Iterable[str],
        count: int,
        apart: Apart,
        progress: Callable[[int], object] = lambda _: None,
    ) -> None:
        """Index `count` texts, at most 16 million.

        Args:
            texts: in their `search_form` or `number_form`.
            count: how many.
            apart: `threes` or `pairs`.
            progress: told how many are done.
        """
        self._count, self._apart = count, apart
        keys = np.concatenate([np.empty(0, np.int64), *_keys(texts, apart, progress)])
        keys.sort()
        keys = keys[np.diff(keys, prepend=-1) > 0]
        groups = (keys >> 24).astype(np.int32)
        self._texts = (keys & (MOST_TEXTS - 1)).astype(np.int32)
        del keys
        begins = np.flatnonzero(np.diff(groups, prepend=-1))
        self._groups = groups[begins]
        self._bounds = np.append(begins, len(groups))

    def __len__(self) -> int:
        return self._count

    @property
    def size(self) -> int:
        """Bytes held."""
        return int(self._texts.nbytes + self._groups.nbytes + self._bounds.nbytes)

    def overlap(self, query: str) -> NDArray[np.float32]:
        """For each text the weight of what it shares with the query; shape (texts,), 0 where nothing is shared."""
        total = np.zeros(self._count, np.float32)
        for group in np.unique(self._apart([query])[0]).tolist():
            place = int(np.searchsorted(self._groups, group))
            if place < len(self._groups) and self._groups[place] == group:
                found = self._texts[self._bounds[place] : self._bounds[place + 1]]
                total[found] += np.float32(np.log(1 + self._count / len(found)))
        return total


def pool(weights: NDArray[np.floating[Any]], most: int) -> NDArray[np.intp]:
    """Positions of about the `most` largest weights above zero, in their order: cut off where a sample says."""
    sample = weights[:: max(1, len(weights) // _SAMPLE)]
    place = len(sample) - 1 - len(sample) * most // max(1, len(weights))
    least = np.partition(sample, place)[place] if place > 0 else 0
    return np.flatnonzero(weights >= max(least, _ANYTHING))


def best(weights: NDArray[np.floating[Any]], most: int) -> NDArray[np.intp]:
    """Positions of the `most` largest weights above zero, in no order."""
    if len(weights) > most:
        found = np.argpartition(weights, len(weights) - most)[len(weights) - most :]
        return found[weights[found] > 0]
    return np.flatnonzero(weights)


def _keys(texts: Iterable[str], apart: Apart, progress: Callable[[int], object]) -> Iterator[NDArray[np.int64]]:
    """For each block of texts its (group, text) pairs as `group << 24 | text`."""
    rest, start = iter(texts), 0
    while block := list(islice(rest, BLOCK)):
        groups, lines = apart(block)
        yield groups << 24 | (lines + start)
        start += len(block)
        progress(start)


def threes(texts: Sequence[str]) -> Groups:
    """Three letters of one word, where blanks before and after count as letters."""
    letters, lines = _numbered([f" {text} " for text in texts])
    first, middle, last = letters[:-2], letters[1:-1], letters[2:]
    within = (first != _LINE) & (middle > _SPACE) & (last != _LINE)
    return (first << 2 * _BITS | middle << _BITS | last)[within], lines[:-2][within]


def pairs(texts: Sequence[str]) -> Groups:
    """Two letters side by side, and two with one between."""
    letters, lines = _numbered([*texts, ""])
    first, middle, last = letters[:-2], letters[1:-1], letters[2:]
    beside = (first != _LINE) & (middle != _LINE)
    apart = beside & (last != _LINE)
    groups = np.concatenate([(first << _BITS | middle)[beside], (first << _BITS | last)[apart]])
    return groups, np.concatenate([lines[:-2][beside], lines[:-2][apart]])


def _numbered(texts: Sequence[str]) -> Groups:
    """The letters of all texts with a line end between, and the number of the text each is of."""
    joined = "\n".join(texts)
    points = np.frombuffer(joined.encode("utf-32-le"), dtype=np.uint32)
    letters = _LETTERS[np.minimum(points, 0xFFFF)]
    return letters, np.cumsum(letters == _LINE)
