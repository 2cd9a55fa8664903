"""Life of wet aluminium capacitors: it doubles for every ten degrees below the rated temperature.

Source: lifetime equation in the technical notes of capacitor and supply makers. It tracks measurements from about 70
to 90 °C and drifts outside, so results are comparisons, not promises; makers' own calculators stop at 15 years.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

DEGREES_PER_DOUBLING = 10.0


def life_hours(rated_hours: float, rated_degrees: float, degrees: float) -> float:
    """Hours of life at a steady can temperature: L = L0 · 2^((T0 − T)/10); temperatures in °C."""
    return float(rated_hours * 2 ** ((rated_degrees - degrees) / DEGREES_PER_DOUBLING))


def mixed_life_hours(rated_hours: float, rated_degrees: float, spells: Iterable[tuple[float, float]]) -> float:
    """Hours of life over a repeating round of spells (hours, °C): each spell uses its share of the life.

    ValueError when the spells have no length.
    """
    listed = list(spells)
    used = sum(hours / life_hours(rated_hours, rated_degrees, degrees) for hours, degrees in listed)
    if used <= 0:
        raise ValueError("the spells must last some time")
    return sum(hours for hours, _ in listed) / used


def steady_degrees(rated_hours: float, rated_degrees: float, hours: float) -> float:
    """The steady temperature in °C at which a part of this rating lives that many hours."""
    return rated_degrees - DEGREES_PER_DOUBLING * math.log2(hours / rated_hours)
