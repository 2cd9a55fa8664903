"""Inclusion and exclusion over the answers of one large part (Heckerman's Quickscore, UAI 1989), with a guard.

What a check said is a sum of a few terms, each a product over its faults: bad x (1 - G) + good x G is one constant and
one multiple of G. So a part with few answers is a sum of few products, whatever the number of its faults. Terms have
both signs; where they cancel to less than a millionth, nothing is returned and the slow exact sums take over.
"""

from __future__ import annotations

import math
from itertools import product

import numpy as np
from numpy.typing import NDArray

from triage.diagnosis.likelihood import Factor, Floats
from triage.diagnosis.situation import PartSums, Situation
from triage.diagnosis.states import Part

MOST_TERMS = 2**13
_LOST = 1e-6
"""Sums that come out smaller than this share of their terms are not trusted."""


def few(part: Part, cells: int) -> bool:
    """Whether a part has fewer terms than joint states, and few enough."""
    count: int = math.prod(_count(factor) for factor in part.factors)
    return count <= min(MOST_TERMS, cells)


def _count(factor: Factor) -> int:
    if len(factor.answers) > 1:
        return int(2 ** len(factor.slots)) + len(factor.answers)
    ((_, (bad, good)),) = factor.answers
    return int(bad != 0.0) + int(bad != good)


def expand(factor: Factor) -> tuple[Floats, list[tuple[int, ...]]]:
    """A factor as coefficients and, for each, how often G of every slot is a factor of its term."""
    terms: dict[tuple[int, ...], float] = {}

    def add(powers: tuple[int, ...], value: float) -> None:
        terms[powers] = terms.get(powers, 0.0) + value

    nothing = (0,) * len(factor.slots)
    if factor.persistence < 1.0:
        for chosen in product((False, True), repeat=len(factor.answers)):
            powers, value = list(nothing), 1.0 - factor.persistence
            for takes, (slot, (bad, good)) in zip(chosen, factor.answers, strict=True):
                powers[slot] += takes
                value *= good - bad if takes else bad
            add(tuple(powers), value)
    if factor.persistence > 0.0:
        runs = factor.runs()
        add(nothing, factor.persistence * runs[-1])
        for (slot, _), before, after in zip(factor.answers, runs, runs[1:], strict=False):
            powers = list(nothing)
            powers[slot] = 1
            add(tuple(powers), factor.persistence * (before - after))
    kept = {powers: value for powers, value in terms.items() if value != 0.0}
    return np.array(list(kept.values())), list(kept)


def sums(situation: Situation, part: Part, weight: Floats, asked: Floats) -> PartSums | None:
    """The sums of one part, or None where digits would be lost.

    `weight` is float64[combinations, faults, states], `asked` float64[questions, faults, states], of all faults.
    """
    places = list(part.faults)
    coefficient, kept = _terms(situation, part)
    rest = sum(situation.at_rest[situation.factors.index(factor)] for factor in part.factors)
    weights, now = weight[:, places], situation.now[places]
    none = weights[:, :, 0].prod(axis=1)[:, None] * asked[:, places, 0].prod(axis=1) * math.exp(rest)
    columns: list[list[Floats]] = []
    for question in asked[:, places]:
        found = _one(weights * question, now, coefficient, kept, none[:, len(columns)])
        if found is None:
            return None
        columns.append(found)
    some, clear, present, absent, at_start = (np.stack(lines, axis=1) for lines in zip(*columns, strict=True))
    return PartSums(0.0, some[:, :, None], none[:, :, None], clear[:, :, None], present, absent, at_start)


def _one(
    weights: Floats, now: NDArray[np.bool_], coefficient: Floats, kept: Floats, none: Floats
) -> list[Floats] | None:
    """One question's sums; `weights` is float64[combinations, faults of the part, states]."""
    each = weights.transpose(1, 0, 2)
    line = each @ kept  # float64[faults, combinations, terms]
    if not line.all():
        return None
    signed = coefficient * line.prod(axis=0)
    here, gone = (each * now[:, None]) @ kept, (each * ~now[:, None]) @ kept
    cured = bool((~now[:, 1:] & weights[:, :, 1:].any(axis=0)).any())
    results = []
    for terms, less in (
        (signed, none),
        (coefficient * gone.prod(axis=0) if cured else none[:, None], none),
        (signed * (here / line), 0.0),
        (signed * (gone / line), none),
        (signed * ((each[:, :, 1:] @ kept[:, 1:]) / line), 0.0),
    ):
        total = terms.sum(axis=-1) - less
        if terms.shape[-1] > 1 and (total < _LOST * (np.abs(terms).sum(axis=-1) + less)).any():
            return None
        results.append(total.T if total.ndim > 1 else total)
    return results


def _terms(situation: Situation, part: Part) -> tuple[Floats, Floats]:
    """float64[terms] and float64[faults, states, terms]: what each state of each fault leaves of each term."""
    states = situation.prior.shape[2]
    coefficient, kept = np.ones(1), np.ones((len(part.faults), states, 1))
    for factor in part.factors:
        values, counts = expand(factor)
        powers = np.array(counts)
        values = values * np.exp(factor.log_quiet * powers.sum(axis=1))
        mine = np.ones((len(part.faults), states, len(values)))
        for (place, _), fires in zip(factor.links, situation.fires[situation.factors.index(factor)], strict=True):
            # float64[states, terms]
            mine[part.faults.index(place), : fires.shape[1]] = ((1.0 - fires).T[:, :, None] ** powers.T[None]).prod(
                axis=1
            )
        coefficient = (coefficient[:, None] * values).reshape(-1)
        kept = (kept[..., None] * mine[:, :, None]).reshape(len(part.faults), states, -1)
    return coefficient, kept
