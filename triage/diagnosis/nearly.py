"""Chances where exact sums are out of reach: over the worlds that weigh most, with a bound on what all others weigh."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec
import numpy as np

from catalog.text import Refused
from triage.diagnosis.likelihood import Floats, links_of
from triage.diagnosis.marginals import alone_of
from triage.diagnosis.network import Check
from triage.diagnosis.search import Found, Search
from triage.diagnosis.situation import Situation

GOOD_ENOUGH = 1e-6
MOST_ROWS = 2**16
"""Worlds that are gone through; a fraction of a second."""
WORST = 0.02
"""With a larger share left out nothing is said."""


class Nearly(msgspec.Struct, frozen=True):
    """Chances that are right to within `left_out`, given the evidence; float64[faults] and float64[checks]."""

    log_evidence: float
    left_out: float
    present: Floats
    at_start: Floats
    none_now: float
    none_at_start: float
    skies: Floats
    """float64[combinations]"""
    quiet: Floats
    """For each check that was asked for, the chance that no fault makes it bad now."""


def nearly(situation: Situation, unseen: Sequence[Check] = ()) -> Nearly | None:
    """Chances over the heaviest worlds; None where too much would be left out."""
    guess = math.fsum(log for log in alone_of(situation).values() if log > -math.inf)
    search = Search(situation, guess, MOST_ROWS)
    found, threshold = None, 1e-2
    while threshold > 1e-60:
        try:
            wider = search.run(threshold)
        except Refused:
            break
        found = wider
        if _left_out(found) <= GOOD_ENOUGH:
            break
        threshold /= 10.0
    if found is None or _left_out(found) > WORST:
        return None
    return _summed(situation, search, found, unseen, guess)


def _left_out(found: Found) -> float:
    total = float(found.weight.sum())
    return found.lost / (total + found.lost) if total > 0.0 else 1.0


def _summed(situation: Situation, search: Search, found: Found, unseen: Sequence[Check], guess: float) -> Nearly:
    total = float(found.weight.sum())
    share = found.weight / total
    cured_at = search.cured_at(found.taken)
    now, ever = cured_at == np.inf, cured_at >= 0.0
    places = {fault.id: place for place, fault in enumerate(situation.network.faults)}
    quiet = []
    for check in unseen:
        left = np.ones(len(share))
        for place, log_kept in links_of(check, places):
            left = left * np.where(now[:, place], math.exp(log_kept), 1.0)
        quiet.append(float(share @ left))
    return Nearly(
        log_evidence=math.log(total) + guess,
        left_out=_left_out(found),
        present=share @ now,
        at_start=share @ ever,
        none_now=float(share @ ~now.any(axis=1)),
        none_at_start=float(share @ ~ever.any(axis=1)),
        skies=found.by_sky / found.by_sky.sum(),
        quiet=np.array(quiet),
    )
