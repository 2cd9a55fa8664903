"""How the units of a lot may turn out together: every case with its chance, or a sample drawn from a seed.

Pure. Units are independent of each other; what belongs together within a unit is in its findings. The same seed gives
the same cases, so that different orders can be compared over the same luck (common random numbers).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import msgspec
import numpy as np

if TYPE_CHECKING:
    from triage.two_stage_data import DoubtfulUnit

Turnout = tuple[int, ...]
"""The place of each unit's finding, unit by unit."""


class Cases(msgspec.Struct, frozen=True):
    """Some turnouts and how much each counts; the weights sum to 1."""

    turnouts: tuple[Turnout, ...]
    weights: tuple[float, ...]
    exact: bool
    """Whether these are all there are."""


def how_many(units: Sequence[DoubtfulUnit]) -> int:
    """Turnouts there are in all."""
    return math.prod(len(unit.findings) for unit in units)


def all_cases(units: Sequence[DoubtfulUnit]) -> Cases:
    """Every turnout with its chance."""
    turnouts = tuple(itertools.product(*(range(len(unit.findings)) for unit in units)))
    weights = tuple(
        math.prod(unit.findings[place].chance for unit, place in zip(units, turnout, strict=True))
        for turnout in turnouts
    )
    return Cases(turnouts, weights, exact=True)


def drawn_cases(units: Sequence[DoubtfulUnit], count: int, seed: int, stream: int) -> Cases:
    """`count` turnouts drawn independently; another `stream` of the same seed is a fresh sample."""
    drawn = []
    for place, unit in enumerate(units):
        luck = np.random.default_rng((seed, stream, place)).random(count)
        reached = np.cumsum([finding.chance for finding in unit.findings])
        drawn.append(np.minimum(np.searchsorted(reached / reached[-1], luck, side="right"), len(reached) - 1))
    turnouts = tuple(tuple(int(places[case]) for places in drawn) for case in range(count))
    return Cases(turnouts, (1.0 / count,) * count, exact=False)


def mean_and_error(values: Sequence[float], cases: Cases) -> tuple[float, float]:
    """The mean over the cases and half its 95 % interval; no error where the cases are all there are."""
    mean = math.fsum(weight * value for weight, value in zip(cases.weights, values, strict=True))
    if cases.exact or len(values) < 2 or math.isinf(mean):
        return mean, 0.0
    spread = math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1)
    return mean, 1.96 * math.sqrt(spread / len(values))
