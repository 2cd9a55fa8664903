"""How far a branch may spread, in words: the middle eight times in ten, and what pulls the expected value out of it."""

from __future__ import annotations

import math

from catalog.money import shown
from triage.branches import BranchSum


def reach(item: BranchSum, currency: str, *, short: bool = False) -> str:
    """Nine times in ten at least the one and at most the other figure; beside them what is rarer but moves the mean.

    The expected value always lies between two of the figures that are named.
    """
    if len(item.outcomes) < 2:
        return "no spread"
    if item.high > item.low:
        middle = f"{shown(item.low, currency)}{'–' if short else ' to '}{shown(item.high, currency)}"
        if item.low - 0.5 <= item.value <= item.high + 0.5:
            return middle
    else:
        middle = shown(item.low, currency)
    above = item.value > item.high
    rare = [
        (chance, amount) for chance, amount in item.outcomes if (amount > item.high if above else amount < item.low)
    ]
    if not rare:
        rare = [(chance, amount) for chance, amount in item.outcomes if amount != item.low]
    chance = math.fsum(each for each, _ in rare)
    if chance <= 0.0:
        return middle
    amount = shown(math.fsum(each * sum_ for each, sum_ in rare) / chance, currency)
    if chance <= 0.001:
        return f"{middle}, hardly ever {amount}"
    return f"{middle}, 1{'/' if short else ' in '}{round(1 / chance)}: {amount}"
