"""How good the forecasts were that were made before the findings: scored, and not praised for a handful of units.

Pure. A forecast is the chance of each fault of a unit as it was believed just before the first repair, or before the
finding where nothing was repaired. Its score is the mean squared error (Brier, Monthly Weather Review 78, 1950),
compared with a forecast of the chances before any look. Each bin of the reliability table has a Wilson interval
(Journal of the American Statistical Association 22, 1927).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from statistics import NormalDist
from typing import Final

import msgspec

ENOUGH: Final = 50
"""Units below which nothing is concluded (from memory)."""
BINS: Final = (0.0, 0.05, 0.2, 0.5, 0.8, 1.0)
"""Edges of the reliability table; finer where most chances lie (our choice)."""
_CLIP = 1e-6


class Forecast(msgspec.Struct, frozen=True):
    """What was believed of one unit, {fault: chance}, what was believed before any look, and what was found."""

    unit: int
    chances: Mapping[str, float]
    base: Mapping[str, float]
    found: frozenset[str]


class Bin(msgspec.Struct, frozen=True):
    """Faults that were given a chance from `low` to `high`: how many, the mean chance, and how many were there."""

    low: float
    high: float
    count: int
    mean: float
    hits: int
    low80: float
    high80: float
    """80 % Wilson interval of the share that was there."""


class Score(msgspec.Struct, frozen=True):
    """The forecasts of all closed units together. Lower is better for `brier`, `base` and `log`."""

    units: int
    chances: int
    """How many chances were scored: units times their faults."""
    brier: float
    base: float
    """Mean squared error of the chances before any look."""
    skill: float | None
    """1 - brier / base: 1 is perfect, 0 no better than before any look; None where base is 0."""
    log: float
    """Mean of -ln(chance given to what was so)."""
    clipped: int
    """Chances so near to 0 or 1 that they were held at one in a million for `log`."""
    bins: tuple[Bin, ...]

    @property
    def enough(self) -> bool:
        """Whether there are units enough to conclude anything."""
        return self.units >= ENOUGH


def score(forecasts: Sequence[Forecast]) -> Score | None:
    """Score forecasts against what was found; None without any."""
    points = [
        (chance, one.base.get(fault, 0.0), fault in one.found)
        for one in forecasts
        for fault, chance in one.chances.items()
    ]
    if not points:
        return None
    brier = sum((chance - there) ** 2 for chance, _, there in points) / len(points)
    base = sum((before - there) ** 2 for _, before, there in points) / len(points)
    given = [chance if there else 1.0 - chance for chance, _, there in points]
    return Score(
        units=len(forecasts),
        chances=len(points),
        brier=brier,
        base=base,
        skill=1.0 - brier / base if base > 0 else None,
        log=-sum(math.log(min(1.0, max(_CLIP, chance))) for chance in given) / len(points),
        clipped=sum(chance < _CLIP for chance in given),
        bins=tuple(_bins([(chance, there) for chance, _, there in points])),
    )


def wilson(hits: int, count: int, level: float = 0.8) -> tuple[float, float]:
    """Wilson's score interval of a share, from `hits` in `count` tries; (0, 1) without any."""
    if not count:
        return 0.0, 1.0
    z = NormalDist().inv_cdf(0.5 + level / 2)
    share, square = hits / count, z * z / count
    middle = share + square / 2
    spread = z * math.sqrt(share * (1.0 - share) / count + square / (4 * count))
    low = (middle - spread) / (1.0 + square) if hits else 0.0  # exactly so, whatever the rounding
    high = (middle + spread) / (1.0 + square) if hits < count else 1.0
    return max(0.0, low), min(1.0, high)


def _bins(points: Sequence[tuple[float, bool]]) -> list[Bin]:
    made = []
    for low, high in pairwise(BINS):
        held = [(chance, there) for chance, there in points if low <= chance < high or chance == high == 1.0]
        hits = sum(there for _, there in held)
        mean = sum(chance for chance, _ in held) / len(held) if held else 0.0
        made.append(Bin(low, high, len(held), mean, hits, *wilson(hits, len(held))))
    return made
