"""How much the texts and numbers of a segment are like what was typed, compared in slices that can be stopped."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from operator import itemgetter

import numpy as np
from numpy.typing import NDArray
from rapidfuzz import fuzz, process

from catalog.candidates import is_number
from catalog.search import number_form
from catalog.segments import Bools, Positions, Segment

SLICE = 500
"""Texts compared between two questions whether to stop."""
SLIP = 70.0
"""Likeness from which a part number counts as the one that is typed, with a slip (our choice: one in three letters)."""


def compared(
    held: Segment, places: Positions, form: str, scorer: Callable[..., float], cancelled: Callable[[], bool]
) -> NDArray[np.float32] | None:
    """Likeness of the query to each text, or None when cancelled; in slices, as the scorer lets no other thread run."""
    scores = np.zeros(len(places), np.float32)
    texts = chosen(held.texts, places)
    for start in range(0, len(texts), SLICE):
        if cancelled():
            return None
        part = texts[start : start + SLICE]
        scores[start : start + len(part)] = process.cdist([form], part, scorer=scorer)[0]
    return scores


def chosen(texts: Sequence[str], places: Positions) -> list[str]:
    """The texts at these places."""
    if len(places) < 2:
        return [texts[place] for place in places.tolist()]
    return list(itemgetter(*places.tolist())(texts))


def slipped(held: Segment, places: Positions, number: str, scores: NDArray[np.float32]) -> Bools:
    """Which of the entries has the part number that was typed but for a slip; their scores are raised to say so."""
    slips = np.zeros(len(places), bool)
    if not is_number(number):
        return slips
    numbers = list(map(number_form, chosen(held.numbers, places)))
    alike = process.cdist([number], numbers, scorer=fuzz.ratio)[0]
    slips = np.asarray(alike >= SLIP, bool)
    np.maximum(scores, alike, out=scores, where=slips)
    return slips
