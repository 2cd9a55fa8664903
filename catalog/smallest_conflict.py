"""The smallest set of conditions that cannot all be kept: found by hitting all the sets that would have to be given up.

Generic: conditions are names, and a caller says whether a set of them can be kept. What can be kept stays so when a
condition is given up. A set from which nothing can be left out is found by halving (Junker, QuickXplain, AAAI 2004);
the smallest of all by minimum hitting sets (Ignatiev, Previti, Liffiton & Marques-Silva, Smallest MUS Extraction with
Minimal Hitting Set Dualization, CP 2015): a set that meets every way to get free is a lower bound, and where it cannot
be kept itself it is the answer.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalog.model import Model

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Sequence

    Can = Callable[[Sequence[Hashable]], bool]

MOST_CONDITIONS = 60
"""Up to so many the smallest set is found; of more, one from which nothing can be left out."""
MOST_QUESTIONS = 150
"""Sets asked about on the way from such a set to the smallest: with a limit on cash, one of dozens of needs may have
very many ways out (20 needs: not done after 500 questions and 22 s), and the first set says as much."""


def smallest_conflict(conditions: Sequence[Hashable], can: Can) -> tuple[Hashable, ...]:
    """The fewest of `conditions`, in their order, that cannot be kept together; empty where all of them can.

    Args:
        conditions: hashable and different.
        can: whether a set of them, in any order, can be kept.
    """
    if can(conditions):
        return ()
    least = _irreducible([], list(conditions), can, grown=False)
    if len(conditions) > MOST_CONDITIONS or len(least) <= 1:
        return _ordered(conditions, least)
    asked = 0

    def asking(kept: Sequence[Hashable]) -> bool:
        nonlocal asked
        asked += 1
        return can(kept)

    ways_out: list[set[Hashable]] = []
    while True:
        met = _least_hitting(conditions, ways_out)
        if len(met) >= len(least) or asked > MOST_QUESTIONS:
            return _ordered(conditions, least)
        if not asking(met):
            return _ordered(conditions, met)
        kept = _grown(met, [each for each in conditions if each not in met], asking)
        ways_out.append({each for each in conditions if each not in kept})


def _ordered(conditions: Sequence[Hashable], found: Sequence[Hashable]) -> tuple[Hashable, ...]:
    return tuple(each for each in conditions if each in found)


def _irreducible(base: list[Hashable], rest: list[Hashable], can: Can, *, grown: bool) -> list[Hashable]:
    """A part of `rest` from which nothing can be left out, such that with `base` it cannot be kept."""
    if grown and not can(base):
        return []
    if len(rest) == 1:
        return rest
    half = len(rest) // 2
    first, second = rest[:half], rest[half:]
    of_second = _irreducible(base + first, second, can, grown=True)
    of_first = _irreducible(base + of_second, first, can, grown=bool(of_second))
    return of_first + of_second


def _grown(kept: list[Hashable], rest: list[Hashable], can: Can) -> set[Hashable]:
    """`kept` with as much of `rest` as can be added, so that nothing more can."""
    if not rest:
        return set(kept)
    if can(kept + rest):
        return {*kept, *rest}
    if len(rest) == 1:
        return set(kept)
    half = len(rest) // 2
    first = _grown(kept, rest[:half], can)
    return _grown([*kept, *(each for each in first if each not in kept)], rest[half:], can)


def _least_hitting(conditions: Sequence[Hashable], ways_out: Sequence[set[Hashable]]) -> list[Hashable]:
    """The fewest conditions of which every way out gives up at least one; earlier ones first where that is open."""
    from catalog import solver  # noqa: PLC0415 - loads the solver only when something is solved

    if not ways_out:
        return []
    model = Model()
    most = len(conditions) + 1
    columns = {each: model.choice(cost=most * most + place) for place, each in enumerate(conditions)}
    for way in ways_out:
        model.row([(columns[each], 1) for each in way], low=1)
    values = solver.solve(model).values
    return [each for each, column in columns.items() if values[column] > 0.5]
