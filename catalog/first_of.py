"""The first of many in an order of which one key may still grow: it is looked up only as far as that can matter.

Pure; needs numpy.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

Places = NDArray[np.intp]

MOST = 10_000
"""Places whose key is looked up for one answer: some 0.7 s where each is an entry with strange words, which can be
called off between two pieces (our choice)."""


def first_of(keys: Sequence[NDArray[Any]], growing: int, limit: int, grown: Callable[[Places], NDArray[Any]]) -> Places:
    """The first places, at most `limit`, in the order that the keys give, the last one first (as `np.lexsort`).

    Args:
        keys: what to sort by, with one place for each in every array.
        growing: which of them is only the least that it can be.
        limit: most places returned.
        grown: that key as it is, of the places asked for; never less than what stands there. Whatever is returned was
            asked for, so beyond `MOST` a place that could be among the first may be missing.
    """
    order: Places = np.lexsort(keys)
    best, least = order[:0], keys[growing].copy()
    for known in range(0, min(len(order), MOST), max(1, limit)):
        some = order[known : known + max(1, limit)]
        least[some] = grown(some)
        seen = order[: known + len(some) + 1]  # with the first that is not known: none behind it can come before it
        held = seen[np.lexsort([(least if place == growing else key)[seen] for place, key in enumerate(keys)])]
        unknown = order[known + len(some) :][:1]
        best = held[~np.isin(held, unknown)]  # what was not looked up is no answer
        if not np.isin(held[:limit], unknown).any():
            break
    return best[:limit]
