"""Which answers cannot all be right, when the evidence is impossible."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import combinations

from triage.diagnosis.history import History

_MOST_TRIALS = 20_000


def smallest_conflict(history: History, impossible: Callable[[History], bool]) -> tuple[int, ...]:
    """Event indexes of a smallest piece of the evidence that is impossible by itself.

    `impossible` judges a history. No member can be left out of the result; it is also smallest in number unless that
    would take more than 20 000 trials at some size.
    """
    indexes = sorted(entry.index for entry in (*history.seen, *history.reports) if 0.0 in entry.likelihood)
    indexes = (
        indexes
        if impossible(history.keeping(indexes))
        else sorted(entry.index for entry in (*history.seen, *history.reports))
    )
    kept = list(indexes)
    for index in reversed(indexes):
        fewer = [other for other in kept if other != index]
        if impossible(history.keeping(fewer)):
            kept = fewer
    for size in range(1, len(kept)):
        if math.comb(len(indexes), size) > _MOST_TRIALS:
            break
        for some in combinations(indexes, size):
            if impossible(history.keeping(some)):
                return some
    return tuple(kept)
