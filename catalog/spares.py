"""What spare pieces are worth: the chance that each is used within a year, times what a piece costs.

The chance that a person states is that of at least one use. Uses are taken to come at one steady rate (a Poisson
process, common practice for slow-moving spares: Sherbrooke, Optimal Inventory Modeling of Systems, 2nd ed. 2004,
ch. 2), so the second, third, … piece follows from it.
"""

from __future__ import annotations

import math
from fractions import Fraction

from catalog.pricing import half_up


def use_chances(chance: float, pieces: int) -> tuple[float, ...]:
    """Chance that at least one, two, … of `pieces` are used within a year, never rising.

    Raises:
        ValueError: the chance is not above 0 and at most 1.
    """
    if not 0.0 < chance <= 1.0:
        raise ValueError(f"expected a chance above 0 and at most 1, got {chance}")
    if chance == 1.0:
        return (1.0,) * pieces
    rate = -math.log1p(-chance)
    left, term, found = 1.0, math.exp(-rate), list[float]()
    for used in range(1, pieces + 1):
        left -= term
        term *= rate / used
        found.append(max(0.0, left))
    return tuple(found)


def spare_worths(chance: float, pieces: int, price: Fraction | int) -> tuple[int, ...]:
    """What the first, second, … spare piece is worth, each rounded half-up once.

    Args:
        chance: that at least one is used within a year.
        pieces: how many are wanted at most.
        price: what a piece costs, minor units.
    """
    return tuple(half_up(Fraction(each) * Fraction(price)) for each in use_chances(chance, pieces))
