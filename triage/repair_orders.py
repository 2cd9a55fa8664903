"""Which repair plans are worth comparing: single repairs, sets in one go, and orders of tries.

Every order of every set would be exact and far too many; the best order of independent repairs is known, and the rest
of the list keeps single faults, pairs, triples and the likeliest fault sets beside it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations, permutations
from typing import Final

import numpy as np

from triage.branches import BranchKind
from triage.plans import Case, CureSet, Plan, SeenWorlds
from triage.sequence import Try, best_order_of_several
from triage.worth import bill_of

CASE: Final = "case"


def plans_for(case: Case, worlds: SeenWorlds, *, seen_out: bool = False) -> tuple[Plan, ...]:
    """The plans to compare: the branches without a repair, then every list of tries, each once.

    `seen_out`: all that can be tested reads good, so whether it still fails would not be seen, and no second try is
    reckoned with. Otherwise a cheap repair of what is hardly there would pass for a test of the rest.
    """
    others: list[BranchKind] = ["as_is", "part_out", *(fix.kind for fix in case.worth.others)]
    likely = by_chance(case, worlds)
    chance = dict(zip(worlds.faults, (float(value) for value in worlds.weight @ worlds.present), strict=True))
    by_odds = _in_best_order(case, likely[:6], chance)
    sure = tuple(fault for fault in likely if chance[fault] >= 0.5)
    tries = dict.fromkeys(
        (
            (),
            *_together(likely),
            *_in_turn(likely),
            *_chain(by_odds),
            *_chain(likely[:6]),
            *([(sure,), *((sure, (fault,)) for fault in likely[len(sure) : 6])] if len(sure) > 1 else ()),
            *_whole_sets(case, worlds),
        )
    )
    listed = [entry for entry in tries if len(entry) <= 1] if seen_out else tries
    return (*(Plan(branch) for branch in others), *(Plan("fix", entry) for entry in listed))


def by_chance(case: Case, worlds: SeenWorlds) -> tuple[str, ...]:
    """Curable faults that may be there, likeliest first."""
    chances = worlds.weight @ worlds.present
    curable = set(case.curable())
    order: Iterable[int] = np.argsort(-chances, kind="stable")
    return tuple(worlds.faults[place] for place in order if chances[place] > 0.0 and worlds.faults[place] in curable)


def _together(likely: Sequence[str]) -> Iterator[tuple[CureSet, ...]]:
    for fault in likely:
        yield ((fault,),)
    for size in (2, 3):
        for several in combinations(likely[: 9 - size], size):
            yield (several,)


def _in_turn(likely: Sequence[str]) -> Iterator[tuple[CureSet, ...]]:
    for order in permutations(likely[:5], 2):
        yield tuple((fault,) for fault in order)
    for fault in likely[:5]:
        rest = tuple(other for other in likely[:6] if other != fault)
        if rest:
            yield ((fault,), rest)


def _chain(order: Sequence[str]) -> Iterator[tuple[CureSet, ...]]:
    """The first one to three faults of an order alone, one after another, then the others in one go."""
    for size in range(2, len(order) + 1):
        for alone in range(1, min(size, 4)):
            yield (*((fault,) for fault in order[:alone]), tuple(order[alone:size]))


def _whole_sets(case: Case, worlds: SeenWorlds) -> Iterator[tuple[CureSet, ...]]:
    """The likeliest fault sets, each cured as a whole."""
    curable = set(case.curable())
    for row in worlds.present[np.argsort(-worlds.weight, kind="stable")[:12]]:
        there = tuple(fault for fault, present in zip(worlds.faults, row, strict=True) if present)
        if len(there) > 1 and curable.issuperset(there):
            yield (there,)


def _in_best_order(case: Case, faults: Sequence[str], chance: Mapping[str, float]) -> tuple[str, ...]:
    """The order of repairs that costs least as if the faults were independent; the case is opened once."""
    bills = [bill_of(case.device_class, case.worth, (fault,)) for fault in faults]
    tries = [
        Try(min(1.0, chance[fault]), bill.parts + case.rate * bill.minutes, CASE if bill.opens else "")
        for fault, bill in zip(faults, bills, strict=True)
    ]
    opening = 0.0 if case.state.case_open else case.rate * case.device_class.open_minutes
    return tuple(faults[place] for place in best_order_of_several(tries, {CASE: opening}).order)
