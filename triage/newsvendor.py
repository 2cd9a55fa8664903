"""Order one part now or later: the newsvendor ratio, and how many pieces it asks for where several units may want it.

Pure. The ratio is that of a single period (Arrow, Harris & Marschak, Econometrica 19, 1951): what being one short
costs over what being one short and one over cost together.
"""

from __future__ import annotations

from collections.abc import Iterable


def critical_ratio(short: float, over: float) -> float:
    """Chance of no further want up to which a piece more is not yet worth ordering: short / (short + over).

    Args:
        short: what one piece too few costs: dearer later, postage again, the days until it comes. Not negative.
        over: what one piece too many costs: its price less what it is worth left over. Not negative.

    Returns:
        0 to 1; 1 where a piece too many costs nothing, 0 where only a piece too few costs nothing.
    """
    if over <= 0.0:
        return 1.0
    return max(0.0, short) / (max(0.0, short) + over)


def wanted_distribution(chances: Iterable[float]) -> list[float]:
    """Chance that exactly 0, 1, 2, … of several independent units want a piece (Poisson-binomial)."""
    found = [1.0]
    for chance in chances:
        with_it = [0.0, *(each * chance for each in found)]
        found = [a + b for a, b in zip(with_it, [*(each * (1.0 - chance) for each in found), 0.0], strict=True)]
    return found


def best_quantity(distribution: Iterable[float], ratio: float) -> int:
    """Pieces to order now: the smallest number that is enough with at least a chance of `ratio`.

    `distribution` is the chance of each number wanted, from 0 on, summing to 1.
    """
    enough, last = 0.0, 0
    for pieces, chance in enumerate(distribution):
        enough, last = enough + chance, pieces
        if enough >= ratio - 1e-12:
            return pieces
    return last
