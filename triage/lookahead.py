"""Looking several answers ahead, exactly: what it is worth to go on, whichever look comes first.

Each of m looks is unanswered, good or bad, so there are 3^m states of knowledge. In each the best plan is one column
of a matrix product over the worlds; the value of going on follows backwards. A look one step ahead is blind, since
two looks that decide nothing alone may decide together (value of information is not additive: Howard 1966).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeAlias

import msgspec
import numpy as np
from numpy.typing import NDArray

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


class Ahead(msgspec.Struct, frozen=True):
    """Expected money of stopping now (and the plan to stop with), and of going on with each look first."""

    now: float
    plan: int
    first: tuple[float, ...]
    """Value of going on with each look, its cost taken off; -inf where its gate is closed."""


def look_ahead(
    weight: Floats,
    values: Callable[[frozenset[int]], Floats],
    looks: Sequence[Look],
    dues: dict[str, float],
    refundable: NDArray[np.bool_],
) -> Ahead:
    """Exact value of going on with up to `len(looks)` answers, stopping whenever that is better.

    `weight` is float64[w] summing to 1; `values(taken)` is float64[w, plans] once the looks that change them,
    at those places, have been taken. Work grows as 3^m.
    """
    count = len(looks)
    mass, stop, plan = _stops(weight, values, looks, refundable)
    spend = [_spend(place, looks, dues, mass) for place in range(count)]
    value = stop.copy()
    for _ in range(count):
        wider = value.copy()
        for place in range(count):
            untaken = np.moveaxis(wider, place, 0)  # a view, so that it writes through
            untaken[0] = np.maximum(untaken[0], _going_on(value, place, spend[place]))
        value = wider
    start = (0,) * count
    first = tuple(float(_going_on(value, place, spend[place])[(0,) * (count - 1)]) for place in range(count))
    return Ahead(float(stop[start]), int(plan), first)


def _going_on(value: Floats, place: int, spend: Floats) -> Floats:
    result: Floats = value.take(1, axis=place) + value.take(2, axis=place) - spend
    return result


def _stops(
    weight: Floats, values: Callable[[frozenset[int]], Floats], looks: Sequence[Look], refundable: NDArray[np.bool_]
) -> tuple[Floats, Floats, int]:
    """Chance of each state of knowledge, the best value of stopping there times that chance, and the best plan now."""
    count = len(looks)
    states = _states(weight, looks)
    refunds = np.zeros(1)
    for look in looks:
        refunds = (refunds[:, None] + np.array([0.0, look.refund, 0.0])).reshape(-1)
    mass = states.sum(axis=1)
    best = np.zeros(len(states))
    changing = [place for place, look in enumerate(looks) if look.changes]
    digits = np.indices((3,) * count).reshape(count, -1) if count else np.zeros((0, 1), dtype=np.int64)
    reached = _reached(looks, digits)
    key = np.zeros(len(states), dtype=np.int64)
    for bit, place in enumerate(changing):
        key += (digits[place] > 0).astype(np.int64) << bit
    plan = 0
    for entry in range(2 ** len(changing)):
        rows = np.flatnonzero((key == entry) & reached)
        if not len(rows):
            continue
        taken = frozenset(place for bit, place in enumerate(changing) if entry >> bit & 1)
        money = (states if len(rows) == len(states) else states[rows]) @ values(taken)
        money[:, refundable] += (mass[rows] * refunds[rows])[:, None]
        best[rows] = money.max(axis=1)
        if entry == 0:
            plan = int(money[0].argmax())
    shape = (3,) * count
    return mass.reshape(shape), best.reshape(shape), plan


def _states(weight: Floats, looks: Sequence[Look]) -> Floats:
    """float64[3^m, w]; chance of each world together with each state of knowledge, the last look counting fastest."""
    states = np.empty((3 ** len(looks), len(weight)))
    states[0], size = weight, 1
    for look in reversed(looks):
        np.multiply(states[:size], 1.0 - look.bad, out=states[size : 2 * size])
        np.multiply(states[:size], look.bad, out=states[2 * size : 3 * size])
        size *= 3
    return states


def _reached(looks: Sequence[Look], digits: NDArray[np.int64]) -> NDArray[np.bool_]:
    """bool[3^m]; False where a look was taken though its gate is closed: nothing leads there."""
    reached = np.ones(digits.shape[1], dtype=np.bool_)
    for place, look in enumerate(looks):
        for other, must_be_bad in look.gate:
            reached &= (digits[place] == 0) | (digits[other] == (2 if must_be_bad else 1))
    return reached


def _spend(place: int, looks: Sequence[Look], dues: dict[str, float], mass: Floats) -> Floats:
    """Cost of one look where it is untaken, times the chance of that state; inf where its gate is closed."""
    look = looks[place]
    digits = np.take(np.indices((3,) * len(looks)), [0], axis=place + 1).squeeze(axis=place + 1)
    cost = np.full(digits.shape[1:], look.cost)
    for due in sorted(look.dues):
        paid = np.zeros(digits.shape[1:], dtype=np.bool_)
        for other, entry in enumerate(looks):
            if other != place and due in entry.dues:
                paid |= digits[other] > 0
        cost = cost + np.where(paid, 0.0, dues.get(due, 0.0))
    spend: Floats = mass.take(0, axis=place) * cost
    for other, must_be_bad in look.gate:
        spend = np.where(digits[other] == (2 if must_be_bad else 1), spend, np.inf)
    return spend
