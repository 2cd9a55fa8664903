"""In which order to try repairs, at the least expected cost: chance (or odds) per cost, opening the case once.

The unit is tried after every action at no further cost, and each action concerns a fault of its own. Then exchanging
two neighbours shows which ratio the best order falls in, and a group that must be opened first is taken as a block:

* exactly one fault: chance over cost (Kadane & Simon 1977; Heckerman, Breese & Rommelse 1995);
* several independent faults: odds over cost, p / ((1 - p) C) (polynomial by Srinivas 1995);
* a group: the first actions whose block, opening included, has the best ratio (Ottosen & Jensen 2010).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

import msgspec

_NO_OPENING: Final[Mapping[str, float]] = {}


class Try(msgspec.Struct, frozen=True):
    """One repair: the chance that its fault is there and cured by it, what it costs, and the group it lies in."""

    chance: float
    cost: float
    group: str = ""
    """What is opened before it, paid once for all of that name; empty for none."""


class Order(msgspec.Struct, frozen=True):
    """The places of the repairs to try one after another, and the expected cost until the matter ends."""

    order: tuple[int, ...]
    cost: float
    gives_up: bool = False
    """Whether the matter is ended otherwise after the last of `order`."""


class _Block(msgspec.Struct, frozen=True):
    """Repairs taken one after another, as one: what they cost when it fails at their start, and what they settle."""

    places: tuple[int, ...]
    cost: float
    settles: float
    """One fault: the chance in them. Several: the product of 1 / (1 - p)."""


def best_order(
    tries: Sequence[Try], opening: Mapping[str, float] = _NO_OPENING, *, giving_up: float | None = None
) -> Order:
    """The cheapest order when exactly one fault is there; chances sum to 1 at most.

    `giving_up` is the cost of ending the matter otherwise at any time (what is lost against a working unit); then the
    best plan is a beginning of the same order. Without it every repair is tried until it works.
    """
    places = _in_order(tries, opening, several=False)
    if giving_up is None:
        return Order(places, order_cost(tries, places, opening))
    costs = [order_cost(tries, places[:size], opening, giving_up=giving_up) for size in range(len(places) + 1)]
    size = costs.index(min(costs))
    return Order(places[:size], costs[size], gives_up=size < len(places))


def best_order_of_several(tries: Sequence[Try], opening: Mapping[str, float] = _NO_OPENING) -> Order:
    """The cheapest order when each fault is there by itself with its chance, and one at least is there."""
    places = _in_order(tries, opening, several=True)
    return Order(places, order_cost_of_several(tries, places, opening))


def order_cost(
    tries: Sequence[Try],
    order: Sequence[int],
    opening: Mapping[str, float] = _NO_OPENING,
    *,
    giving_up: float | None = None,
) -> float:
    """Expected cost of an order, one fault; with `giving_up` what is left after it ends at that cost."""
    left, total = 1.0, 0.0
    for place, cost in _paid(tries, order, opening):
        total += left * cost
        left = max(0.0, left - tries[place].chance)
    return total + left * (giving_up or 0.0)


def order_cost_of_several(
    tries: Sequence[Try], order: Sequence[int], opening: Mapping[str, float] = _NO_OPENING
) -> float:
    """Expected cost of an order of all repairs, independent faults of which one at least is there."""
    some = _one_of(tries, order)
    return math.fsum(
        cost * _one_of(tries, order[step:]) / some for step, (_, cost) in enumerate(_paid(tries, order, opening))
    )


def odds_per_cost(chance: float, cost: float) -> float:
    """What independent repairs are sorted by, largest first; infinite for what is sure or free."""
    return _ratio(_settles(chance, several=True) - 1.0, cost)


def _paid(tries: Sequence[Try], order: Sequence[int], opening: Mapping[str, float]) -> Iterable[tuple[int, float]]:
    """(place, cost), the first of a group with its opening."""
    opened: set[str] = set()
    for place in order:
        group = tries[place].group
        first = bool(group) and group not in opened
        opened.add(group)
        yield place, tries[place].cost + (opening.get(group, 0.0) if first else 0.0)


def _one_of(tries: Sequence[Try], places: Sequence[int]) -> float:
    """Chance that one at least of these faults is there; accurate where all chances are small."""
    if any(tries[place].chance >= 1.0 for place in places):
        return 1.0
    return -math.expm1(math.fsum(math.log1p(-tries[place].chance) for place in places))


def _in_order(tries: Sequence[Try], opening: Mapping[str, float], *, several: bool) -> tuple[int, ...]:
    # what is surely there must be cured whatever comes of the rest, so it comes first and opens its group
    sure = [place for place, entry in enumerate(tries) if several and entry.chance >= 1.0]
    opened = {tries[place].group for place in sure} | {""}
    groups: dict[str, list[_Block]] = {}
    for place, entry in enumerate(tries):
        if place not in sure:
            single = _Block((place,), entry.cost, _settles(entry.chance, several=several))
            groups.setdefault("" if entry.group in opened else entry.group, []).append(single)
    blocks: list[_Block] = []
    for group, members in groups.items():
        members.sort(key=lambda block: -_worth_of(block, several=several))
        blocks += members if not group else _opened_once(members, opening.get(group, 0.0), several=several)
    blocks.sort(key=lambda block: -_worth_of(block, several=several))
    return (*sure, *(place for block in blocks for place in block.places))


def _opened_once(members: Sequence[_Block], opening: float, *, several: bool) -> list[_Block]:
    """The first of a sorted group as one block with the opening: as many as give the best ratio; then the rest."""
    grown = [_Block((), opening, 1.0 if several else 0.0)]
    for block in members:
        before = grown[-1]
        if several:
            together = _Block(
                (*before.places, *block.places),
                before.cost + before.settles * block.cost,
                before.settles * block.settles,
            )
        else:
            together = _Block((*before.places, *block.places), before.cost + block.cost, before.settles + block.settles)
        grown.append(together)
    best = max(grown[1:], key=lambda block: _worth_of(block, several=several))
    return [best, *members[len(best.places) :]]


def _settles(chance: float, *, several: bool) -> float:
    if not several:
        return chance
    return math.inf if chance >= 1.0 else 1.0 / (1.0 - chance)


def _worth_of(block: _Block, *, several: bool) -> float:
    return _ratio(block.settles - (1.0 if several else 0.0), block.cost)


def _ratio(settled: float, cost: float) -> float:
    return settled / cost if cost > 0.0 else math.inf
