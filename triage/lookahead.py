"""Looking several answers ahead, exactly: what it is worth to go on, whichever look comes first.

Each of m looks is unanswered, good or bad, so there are 3^m states of knowledge. In each the best plan is one column
of a matrix product over the worlds; the value of going on follows backwards. A look one step ahead is blind, since
two looks that decide nothing alone may decide together (value of information is not additive: Howard 1966).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache
from itertools import combinations, product
from typing import TypeAlias

import msgspec
import numpy as np
from numpy.typing import NDArray

from triage.payoffs import Payoffs

Floats: TypeAlias = NDArray[np.float64]


class Look(msgspec.Struct, frozen=True):
    """One look that may be taken; each at most once.

    `bad` is float64[w], the chance of a bad answer in each world; answers of different looks are independent in a
    world. `cost` is paid whenever it is taken, `dues` (keys into the shared costs) only by the first that needs them.
    """

    bad: Floats
    cost: float
    dues: frozenset[str] = frozenset()
    gate: tuple[tuple[int, bool], ...] = ()
    """(place of another look, whether it must have been bad); until then this one says nothing."""
    refund: float = 0.0
    """What a good answer saves the plans that `refundable` marks: a test that need not be done again."""
    changes: bool = False
    """Whether taking it changes what plans are worth: it cures something, or it opens the case."""
    passing: Floats | None = None
    """float64[w]; what a bad answer leaves of the chance that the whole-function test is passed in each world."""

    @property
    def bad_and_passing(self) -> Floats:
        """float64[w]; chance of a bad answer, counted as far as the test is still passed after it."""
        return self.bad if self.passing is None else self.bad * self.passing


class Ahead(msgspec.Struct, frozen=True):
    """Expected money of stopping now, and of going on with each look first."""

    now: float
    first: tuple[float, ...]
    """Value of going on with each look, its cost taken off; -inf where its gate is closed."""
    used: frozenset[int] = frozenset()
    """Looks that the best course may come to."""


def look_ahead(
    weight: Floats,
    values: Callable[[frozenset[int]], Payoffs],
    looks: Sequence[Look],
    dues: Mapping[str, float],
    refundable: NDArray[np.bool_],
) -> Ahead:
    """Exact value of going on with up to `len(looks)` answers, stopping whenever that is better.

    `weight` is float64[w] summing to 1; `values(taken)` is the money of the plans once the looks that change them, at
    those places, have been taken: the same object where the money is the same. Work grows as 3^m.
    """
    count = len(looks)
    states = _Stops(weight, values, looks, refundable)
    spend = np.full((count, *states.best.shape), np.inf)
    for place in range(count):
        untaken = np.moveaxis(spend[place], place, 0)  # a view, so that it writes through
        untaken[0] = _spend(place, looks, dues, states.mass)
    stop, spent = states.best.ravel(), spend.reshape(count, 3**count)
    value = stop.copy()
    first: Floats = np.empty(0)
    for level in _levels(count):
        going = value[level.good] + value[level.bad] - spent[level.place, level.states[:, None]]
        value[level.states] = np.maximum(stop[level.states], going.max(axis=1))
        first = going[0]  # the last level is the start, with every look untaken
    return Ahead(float(stop[0]), tuple(first.tolist()), _used(value.reshape(spend.shape[1:]), states.best, spend))


class _Level(msgspec.Struct, frozen=True):
    """The states of knowledge with as many untaken looks, by their place in the flat array of all."""

    states: NDArray[np.intp]
    place: NDArray[np.intp]
    """intp[states, untaken]; the look."""
    good: NDArray[np.intp]
    """intp[states, untaken]; the state after its good answer."""
    bad: NDArray[np.intp]


@cache
def _levels(count: int) -> tuple[_Level, ...]:
    """The states of so many looks, those with one untaken first; each level rests on the one before it."""
    said = np.array(list(product(range(3), repeat=count)), dtype=np.intp).reshape(3**count, count)
    step = 3 ** np.arange(count - 1, -1, -1)
    levels = []
    for untaken in range(1, count + 1):
        states = np.flatnonzero((said == 0).sum(axis=1) == untaken)
        place = np.nonzero(said[states] == 0)[1].reshape(len(states), untaken)
        levels.append(_Level(states, place, states[:, None] + step[place], states[:, None] + 2 * step[place]))
    return tuple(levels)


def each_alone(
    weight: Floats,
    values: Callable[[int], Payoffs],
    looks: Sequence[Look],
    dues: Mapping[str, float],
    refundable: NDArray[np.bool_],
) -> list[float]:
    """What `look_ahead` says of each look as if there were no other, gates left out; `values(place)` after that one."""
    bad = weight * np.array([look.bad for look in looks]).reshape(len(looks), len(weight))
    passing = weight * np.array([look.bad_and_passing for look in looks]).reshape(len(looks), len(weight))
    money_after = [values(place) for place in range(len(looks))]
    result = np.empty(len(looks))
    for money in {id(entry): entry for entry in money_after}.values():
        rows = [place for place, entry in enumerate(money_after) if entry is money]
        if_bad = money.expected(bad[rows], passing[rows])
        if_good = money.expected(weight) - if_bad
        refunds = np.array([looks[place].refund for place in rows]) * (1.0 - bad[rows].sum(axis=1))
        if_good[:, refundable] += refunds[:, None]
        result[rows] = if_bad.max(axis=1) + if_good.max(axis=1)
    whole = float(weight.sum())
    return [
        float(result[place]) - whole * (look.cost + sum(dues.get(due, 0.0) for due in sorted(look.dues)))
        for place, look in enumerate(looks)
    ]


def _used(value: Floats, stop: Floats, spend: Floats) -> frozenset[int]:
    """The looks that are taken in some state of knowledge that the best course reaches."""
    count, used = value.ndim, set[int]()
    left = [(0,) * count]
    while left:
        state = left.pop()
        if value[state] <= stop[state]:
            continue
        untaken = [place for place in range(count) if state[place] == 0]
        after = {place: [(*state[:place], said, *state[place + 1 :]) for said in (1, 2)] for place in untaken}
        worth = {place: value[after[place][0]] + value[after[place][1]] - spend[(place, *state)] for place in untaken}
        best = max(untaken, key=worth.__getitem__)
        used.add(best)
        left += after[best]
    return frozenset(used)


class _Stops:
    """Every state of knowledge: `mass`, its chance, and `best`, the best value of stopping there times that chance.

    Both are float64[3, 3, ...], one dimension a look: not taken, good, bad. What holds of a state in which a look was
    not taken is the sum of the two in which it was, so only those with every answer need a product over the worlds.
    """

    def __init__(
        self,
        weight: Floats,
        values: Callable[[frozenset[int]], Payoffs],
        looks: Sequence[Look],
        refundable: NDArray[np.bool_],
    ) -> None:
        self._looks = looks
        self._refundable = refundable
        self._changing = frozenset(place for place, look in enumerate(looks) if look.changes)
        self._refunds = np.zeros((1,) * len(looks))
        for place, look in enumerate(looks):
            self._refunds = self._refunds + _along(np.array([0.0, look.refund, 0.0]), place, len(looks))
        self._weight = weight
        self._answered = _masses(weight, [look.bad for look in looks])
        self.mass = _with_untaken(self._answered, range(len(looks)))
        self.best = np.zeros(self.mass.shape)
        for money, sets in _by_money(values, sorted(self._changing)):
            self._fill(money, sets)

    def _fill(self, money: Payoffs, sets: set[frozenset[int]]) -> None:
        """Fill in the states in which exactly one of these sets of the looks that change money has been taken."""
        always, ever = frozenset.intersection(*sets), frozenset.union(*sets)
        never, varying = self._changing - ever, sorted(ever - always)
        count, near = len(self._looks), self._weight[money.near]
        leaves = [_leaves(near, [look.bad_and_passing[money.near] for look in self._looks])]
        if money.untested:
            leaves.append(_leaves(near, [look.bad[money.near] for look in self._looks]))
        passing, *others = (entry.sum(axis=tuple(never), keepdims=True) for entry in leaves)
        whole = self._answered.sum(axis=tuple(never), keepdims=True)
        found = money.summed(whole, passing, others[0] if others else passing)
        worthwhile = _worthwhile(found, self._refundable)
        found = _with_untaken(found[..., worthwhile], [place for place in range(count) if place not in never | always])
        where = tuple(
            slice(0, 1) if place in never else slice(1, 3) if place in always else slice(0, 3) for place in range(count)
        )
        found[..., self._refundable[worthwhile]] += (self.mass * self._refunds)[where][..., None]
        best = found.max(axis=-1)
        if varying:
            mine = np.zeros((3,) * len(varying), dtype=np.bool_)
            for some in sets:
                mine[tuple(slice(1, 3) if place in some else 0 for place in varying)] = True
            best = np.where(
                mine.reshape([3 if place in varying else 1 for place in range(count)]), best, self.best[where]
            )
        self.best[where] = best


def _worthwhile(found: Floats, refundable: NDArray[np.bool_]) -> NDArray[np.intp]:
    """The plans that may be the best in some state, from float64[..., plans], the money with every answer.

    A plan that brings no more than some other with any answers brings no more in any state, which sums such. A refund
    counts only for the plans it is paid to, so none of those is left out.
    """
    flat = found.reshape(-1, found.shape[-1])
    best = np.unique(flat.argmax(axis=1))
    beaten = np.zeros(flat.shape[1], dtype=np.bool_)
    for place in best:
        beaten |= (flat <= flat[:, [place]]).all(axis=0)
    beaten[best] = False
    rows: NDArray[np.intp] = np.flatnonzero(~beaten | refundable)
    return rows


def _leaves(weight: Floats, chances: Sequence[Floats]) -> Floats:
    """float64[2, 2, ..., w]; chance of each world together with an answer of every look, good before bad."""
    states = weight[None]
    for bad in reversed(chances):
        states = np.concatenate([states * (1.0 - bad), states * bad])
    return states.reshape((2,) * len(chances) + (len(weight),))


def _masses(weight: Floats, chances: Sequence[Floats]) -> Floats:
    """float64[2, 2, ...]; chance of every answer of every look, like the sum of `_leaves` over the worlds.

    The answers of the first half and of the second are multiplied out apart and meet in one matrix product.
    """
    half = len(chances) // 2
    first = _leaves(weight, chances[:half]).reshape(2**half, -1)
    second = _leaves(np.ones(len(weight)), chances[half:]).reshape(2 ** (len(chances) - half), -1)
    masses: Floats = (first @ second.T).reshape((2,) * len(chances))
    return masses


def _with_untaken(answered: Floats, places: Iterable[int]) -> Floats:
    """Sums over both answers put before them, in these dimensions."""
    for place in places:
        either = answered.take([0], axis=place) + answered.take([1], axis=place)  # quicker than a sum along two
        answered = np.concatenate([either, answered], axis=place)
    return answered


def _by_money(
    values: Callable[[frozenset[int]], Payoffs], changing: Sequence[int]
) -> list[tuple[Payoffs, set[frozenset[int]]]]:
    """The sets of looks that may have been taken, by the money that they lead to."""
    found: dict[int, tuple[Payoffs, set[frozenset[int]]]] = {}
    for size in range(len(changing) + 1):
        for some in combinations(changing, size):
            money = values(frozenset(some))
            found.setdefault(id(money), (money, set()))[1].add(frozenset(some))
    return list(found.values())


def _along(line: Floats, place: int, count: int) -> Floats:
    return line.reshape([len(line) if other == place else 1 for other in range(count)])


def _spend(place: int, looks: Sequence[Look], dues: Mapping[str, float], mass: Floats) -> Floats:
    """Cost of one look where it is untaken, times the chance of that state; inf where its gate is closed."""
    look, count = looks[place], len(looks)
    cost = np.full((1,) * count, look.cost)
    for due in sorted(look.dues):
        unpaid = np.full((1,) * count, dues.get(due, 0.0))
        for other, entry in enumerate(looks):
            if other != place and due in entry.dues:
                unpaid = unpaid * _along(np.array([1.0, 0.0, 0.0]), other, count)
        cost = cost + unpaid
    spend: Floats = mass.take([0], axis=place) * cost
    for other, must_be_bad in look.gate:
        shut = np.array([np.inf, np.inf, 0.0] if must_be_bad else [np.inf, 0.0, np.inf])
        spend = spend + _along(shut, other, count)
    return spend.squeeze(axis=place)
