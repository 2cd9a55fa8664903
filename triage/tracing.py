"""Following a signal along a chain: where to probe next, so that the stage where it vanishes is found at least cost.

Stage `i` lies between point `i` and point `i + 1`; a probe behind stage `k` tells on which side the first bad one is.
`best_probing` is the exact programme for probes that do not err and one bad stage. `next_point` applies it to the
chances as they stand after what was seen, wrong probes and several faults included, and is asked again after each one:
what errs has no fixed tree.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from itertools import accumulate, pairwise
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


def best_probing(
    weights: Sequence[float],
    costs: Sequence[float],
    *,
    inside: Collection[int] = (),
    opening: float = 0.0,
) -> Probing:
    """The cheapest tree when exactly one stage is bad, with a chance in proportion to its weight, and no probe errs.

    Every interval of stages is split at its best probe, shortest intervals first: with unequal costs no rule of thumb
    is exact, and halving costs a good deal more (interval programme, O(n^3)). `costs[k]` is that of a probe behind
    stage k; there is one fewer than there are stages. The first of the probes `inside` also pays `opening`.
    """
    whole = math.fsum(weights)
    opened = _table(weights, costs)
    table = opened
    if inside and opening > 0.0:
        first = [cost + (opening if k in inside else 0.0) for k, cost in enumerate(costs)]
        table = _table(weights, first, dict.fromkeys(inside, opened))

    def tree(at: _Table, first: int, last: int) -> ProbeTree:
        if first == last:
            return first
        k = at.cuts[first][last]
        then = opened if k in inside else at
        return Probe(k, tree(then, first, k), tree(then, k + 1, last))

    expected = table.cost[0][-1] / whole if whole > 0.0 else 0.0
    return Probing(tree(table, 0, len(weights) - 1), expected)


class _Table(msgspec.Struct, frozen=True):
    """Least cost of every interval of stages, weighed, and where it is cut first."""

    cost: list[list[float]]
    cuts: list[list[int]]


def _table(weights: Sequence[float], costs: Sequence[float], after: Mapping[int, _Table] | None = None) -> _Table:
    """All intervals; what follows a probe k in `after` is looked up there."""
    count = len(weights)
    reached = [0.0, *accumulate(weights)]
    here = _Table([[0.0] * count for _ in range(count)], [[0] * count for _ in range(count)])
    then = [(after or {}).get(k, here).cost for k in range(count - 1)]
    for size in range(2, count + 1):
        for first in range(count - size + 1):
            last = first + size - 1
            weight = reached[last + 1] - reached[first]
            here.cost[first][last], here.cuts[first][last] = min(
                (costs[k] * weight + then[k][first][k] + then[k][k + 1][last], k) for k in range(first, last)
            )
    return here


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


class Gap(msgspec.Struct, frozen=True):
    """Two points of a chain between which the signal gets worse; the ends of the chain stand for what lies beyond."""

    start: int
    """Last point where it is better, -1 for the source itself."""
    end: int
    """First point where it is worse; the number of points where none is."""

    @property
    def found(self) -> bool:
        """Whether only one stage lies between."""
        return self.end == self.start + 1


class NextPoint(msgspec.Struct, frozen=True):
    """The point to probe next, and what finding the stage is expected to cost from there on."""

    point: int
    cost: float


def gaps(levels: Sequence[tuple[int, int]], points: int) -> tuple[Gap, ...]:
    """Where the signal gets worse along (place, level) of the probed points, levels not rising, source first.

    The signal is taken to be whole (2) at the source; behind a point where it is gone (0) nothing can be said. Where it
    gets worse nowhere, the one gap is from the last probed point to the end.
    """
    found = []
    place, level = -1, 2
    for next_place, next_level in levels:
        if next_level < level:
            found.append(Gap(place, next_place))
        place, level = next_place, next_level
    return tuple(found) or (Gap(place, points),)


def next_point(
    gap: Gap,
    weights: Sequence[float],
    costs: Mapping[int, float],
    *,
    inside: Collection[int] = (),
    opening: float = 0.0,
) -> NextPoint | None:
    """The point of a gap to probe first; None where none that may be probed is left.

    Args:
        gap: where the signal gets worse.
        weights: chance of each place to be the first bad one: before the first point, the stages, then nowhere on the
            chain; two more than there are stages.
        costs: point -> cost, only of points that may be probed.
        inside: points for which the case is opened.
        opening: what opening costs, 0 where it stands open.
    """
    cuts = [point for point in range(gap.start + 1, gap.end) if point in costs]
    if not cuts:
        return None
    # stages that no probe can tell apart count as one; stage s lies before point s + 1, so weight s + 1 does
    edges = [gap.start, *cuts, gap.end]
    merged = [math.fsum(weights[first + 1 : last + 1]) for first, last in pairwise(edges)]
    shut = {place for place, point in enumerate(cuts) if point in inside}
    found = best_probing(merged, [costs[point] for point in cuts], inside=shut, opening=opening)
    assert isinstance(found.tree, Probe)  # noqa: S101 - there are two merged stages at least
    return NextPoint(cuts[found.tree.behind_stage], found.cost)


def first_bad(chances: Sequence[float]) -> tuple[float, ...]:
    """Chance of each stage to be the first bad one, and last that of none, from independent chances to be bad."""
    left, found = 1.0, []
    for chance in chances:
        found.append(left * chance)
        left *= 1.0 - chance
    return (*found, left)
