"""Following a signal along a chain: where to probe next, so that the stage where it vanishes is found at least cost.

Stage `i` lies between point `i` and point `i + 1`; a probe behind stage `k` tells on which side the first bad one is.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import accumulate
from typing import TypeAlias

import msgspec


class Probe(msgspec.Struct, frozen=True):
    """Probe behind stage `behind_stage`: gone there means `gone` is followed, still there means `there`."""

    behind_stage: int
    gone: ProbeTree
    there: ProbeTree


ProbeTree: TypeAlias = "Probe | int"
"""A probe with what follows it, or the stage that is found."""

Cut: TypeAlias = Callable[[int, int], int]
"""Of the stages `first` to `last`, the one to probe behind."""


class Probing(msgspec.Struct, frozen=True):
    """A probing tree and its expected cost until one stage remains."""

    tree: ProbeTree
    cost: float


def best_probing(weights: Sequence[float], costs: Sequence[float]) -> Probing:
    """The cheapest tree when exactly one stage is bad, with a chance in proportion to its weight, and no probe errs.

    Every interval of stages is split at its best probe, shortest intervals first: with unequal costs no rule of thumb
    is exact, and halving costs a good deal more (interval programme, O(n^3)). `costs[k]` is that of a probe
    behind stage k; there is one fewer than there are stages.
    """
    count = len(weights)
    reached = [0.0, *accumulate(weights)]
    cost = [[0.0] * count for _ in range(count)]
    cuts = [[0] * count for _ in range(count)]
    for size in range(2, count + 1):
        for first in range(count - size + 1):
            last = first + size - 1
            weight = reached[last + 1] - reached[first]
            found, cut = min((costs[k] * weight + cost[first][k] + cost[k + 1][last], k) for k in range(first, last))
            cost[first][last], cuts[first][last] = found, cut
    whole = math.fsum(weights)
    expected = cost[0][-1] / whole if whole > 0.0 else 0.0
    return Probing(_tree(0, count - 1, lambda first, last: cuts[first][last]), expected)


def probing_by(weights: Sequence[float], costs: Sequence[float], cut: Cut) -> Probing:
    """The tree of a rule of thumb with its expected cost, to compare with the best."""
    tree = _tree(0, len(weights) - 1, cut)
    whole = math.fsum(weights)
    return Probing(tree, probing_cost(tree, weights, costs) / whole if whole > 0.0 else 0.0)


def halving(weights: Sequence[float]) -> Cut:
    """As nearly half of the chance on each side as the points allow, whatever the probes cost."""
    reached = [0.0, *accumulate(weights)]

    def cut(first: int, last: int) -> int:
        return min(range(first, last), key=lambda k: abs(2 * reached[k + 1] - reached[first] - reached[last + 1]))

    return cut


def front_to_back(first: int, _: int) -> int:
    """One stage after another from the source on."""
    return first


def probing_cost(tree: ProbeTree, weights: Sequence[float], costs: Sequence[float]) -> float:
    """Cost of a tree summed over the stages, each with its weight."""
    if isinstance(tree, int):
        return 0.0
    under = math.fsum(weights[stage] for stage in stages_of(tree))
    below = probing_cost(tree.gone, weights, costs) + probing_cost(tree.there, weights, costs)
    return costs[tree.behind_stage] * under + below


def stages_of(tree: ProbeTree) -> list[int]:
    """The stages that a tree tells apart, from the source on."""
    return [tree] if isinstance(tree, int) else [*stages_of(tree.gone), *stages_of(tree.there)]


def _tree(first: int, last: int, cut: Cut) -> ProbeTree:
    if first == last:
        return first
    k = cut(first, last)
    return Probe(k, _tree(first, k, cut), _tree(k + 1, last, cut))
