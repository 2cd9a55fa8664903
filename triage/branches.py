"""The sums of one unit: what each branch brings, term by term, which is best, and at which figure that changes.

Amounts are minor units (floats, because they are expectations), times are minutes and days. Nothing here knows faults:
chances come in as numbers. What was paid for the lot is in no sum, because no choice can change it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final, Literal, TypeAlias

import msgspec

BranchKind: TypeAlias = Literal["fix", "part_out", "as_is", "hold", "hand_over", "dispose"]
Outcome: TypeAlias = tuple[float, float]
"""(chance, amount) of one way a branch can end."""

BRANCH_WORDS: Final[dict[BranchKind, str]] = {
    "fix": "fix",
    "part_out": "part out",
    "as_is": "sell as it is",
    "hold": "hold",
    "hand_over": "hand over",
    "dispose": "dispose",
}
"""How a branch is named in a sentence."""

RATE = "minute_cost"
DAY_COST = "delay_per_day"
MOST_OUTCOMES = 4096
"""Above this many different amounts, outcomes are kept to the whole minor unit."""


class Term(msgspec.Struct, frozen=True):
    """One named amount of a sum; costs are negative, so a value is the plain sum of its terms."""

    name: str
    amount: float


class Fix(msgspec.Struct, frozen=True):
    """A repair, or any other branch that ends one of two ways: hold, hand over, dispose."""

    id: str
    kind: BranchKind = "fix"
    success: float = 1.0
    net_working: float = 0.0
    net_failed: float = 0.0
    parts: float = 0.0
    minutes: float = 0.0
    delay_days: float = 0.0
    delay_per_day: float = 0.0
    returns: float = 0.0
    cures: tuple[str, ...] = ()
    """The faults it repairs, for showing."""


class AsIs(msgspec.Struct, frozen=True):
    """Sold as it stands, after the minutes that listing it takes."""

    net: float
    minutes: float = 0.0
    id: str = "as_is"


class DonorPart(msgspec.Struct, frozen=True):
    """One part of a unit taken apart: sold with some chance, or kept where another unit of the person needs it."""

    id: str
    net: float = 0.0
    sell_chance: float = 1.0
    list_minutes: float = 0.0
    own_use: float | None = None
    """What buying it for the other unit would cost, postage included; then it is neither listed nor sold."""


class PartOut(msgspec.Struct, frozen=True):
    """Taken apart. `lump` stands for all parts together where no single ones are listed."""

    strip_minutes: float = 0.0
    parts: tuple[DonorPart, ...] = ()
    lump: float = 0.0
    id: str = "part_out"


Branch: TypeAlias = Fix | AsIs | PartOut


class BranchSum(msgspec.Struct, frozen=True):
    """A branch worked out: the terms, their sum, and how far it may spread."""

    id: str
    kind: BranchKind
    value: float
    terms: tuple[Term, ...]
    outcomes: tuple[Outcome, ...]
    """Rising amounts with their chances."""
    low: float
    """The amount that is not reached one time in ten."""
    high: float
    """The amount that is passed one time in ten."""
    loss_chance: float
    """Chance of ending below nothing."""
    minutes: float
    cures: tuple[str, ...] = ()
    success: float = 1.0
    """Chance that it ends the good way."""


class Flip(msgspec.Struct, frozen=True):
    """The figure of one term at which another branch becomes the best; `to` is that branch."""

    branch: str
    term: str
    value: float
    to: str


class Decision(msgspec.Struct, frozen=True):
    """All branches of a unit, best first; `gap` is what the best is ahead of the runner-up."""

    sums: tuple[BranchSum, ...]
    best: str
    runner_up: str | None
    gap: float | None
    flips: tuple[Flip, ...]

    def sum_of(self, branch_id: str) -> BranchSum:
        """The sum of one branch; KeyError when there is none of that id."""
        for item in self.sums:
            if item.id == branch_id:
                return item
        raise KeyError(branch_id)


def sum_of(branch: Branch, rate: float) -> BranchSum:
    """Work one branch out; `rate` is the worth of a minute in minor units."""
    terms, outcomes, minutes = _worked_out(branch, rate)
    return BranchSum(
        id=branch.id,
        kind=_kind(branch),
        value=_tidy(math.fsum(term.amount for term in terms)),
        terms=tuple(term for term in terms if term.amount),
        outcomes=outcomes,
        low=_quantile(outcomes, 0.1),
        high=_quantile(outcomes, 0.9),
        loss_chance=min(1.0, math.fsum(chance for chance, amount in outcomes if amount < -1e-9)),
        minutes=minutes,
        cures=branch.cures if isinstance(branch, Fix) else (),
        success=branch.success if isinstance(branch, Fix) else 1.0,
    )


def decide(branches: Sequence[Branch], rate: float) -> Decision:
    """Choose among branches (at least one; ids differ); of equals the one stated first. Raises ValueError for none."""
    if not branches:
        raise ValueError("at least one branch is needed to choose from")
    sums = [sum_of(branch, rate) for branch in branches]
    ranked = sorted(sums, key=lambda item: -item.value)
    runner_up = ranked[1] if len(ranked) > 1 else None
    return Decision(
        sums=tuple(ranked),
        best=ranked[0].id,
        runner_up=runner_up.id if runner_up else None,
        gap=_tidy(ranked[0].value - runner_up.value) if runner_up else None,
        flips=tuple(_flips(branches, {item.id: item.value for item in sums}, ranked[0].id, rate)),
    )


# --- the terms -------------------------------------------------------------------------------------------------------


def _worked_out(branch: Branch, rate: float) -> tuple[list[Term], tuple[Outcome, ...], float]:
    if isinstance(branch, Fix):
        costs = [
            Term("parts", -branch.parts),
            Term("minutes", -rate * branch.minutes),
            Term("returns", -branch.returns),
            Term("delay", -branch.delay_days * branch.delay_per_day),
        ]
        spent = math.fsum(term.amount for term in costs)
        ends = ((branch.success, branch.net_working), (1.0 - branch.success, branch.net_failed))
        gains = [Term(name, chance * net) for name, (chance, net) in zip(("working", "not cured"), ends, strict=True)]
        return gains + costs, _merge((chance, net + spent) for chance, net in ends), branch.minutes
    if isinstance(branch, AsIs):
        terms = [Term("sale", branch.net), Term("minutes", -rate * branch.minutes)]
        return terms, ((1.0, math.fsum(term.amount for term in terms)),), branch.minutes
    sold = [part for part in branch.parts if part.own_use is None]
    minutes = branch.strip_minutes + math.fsum(part.list_minutes for part in sold)
    terms = [Term(f"{part.id} sold", part.sell_chance * part.net) for part in sold]
    terms += [Term(f"{part.id} for own use", part.own_use) for part in branch.parts if part.own_use]
    terms += [
        Term("parts together", branch.lump),
        Term("stripping", -rate * branch.strip_minutes),
        Term("listing", -rate * (minutes - branch.strip_minutes)),
    ]
    sure = math.fsum(term.amount for term in terms) - math.fsum(part.sell_chance * part.net for part in sold)
    outcomes: tuple[Outcome, ...] = ((1.0, sure),)
    for part in sold:
        sells = ((part.sell_chance, part.net), (1.0 - part.sell_chance, 0.0))
        outcomes = _merge((a * b, x + y) for a, x in outcomes for b, y in sells)
    return terms, outcomes, minutes


def _kind(branch: Branch) -> BranchKind:
    if isinstance(branch, Fix):
        return branch.kind
    return "as_is" if isinstance(branch, AsIs) else "part_out"


def _merge(outcomes: Iterable[Outcome]) -> tuple[Outcome, ...]:
    together: dict[float, float] = {}
    for chance, amount in outcomes:
        if chance > 0.0:
            key = round(amount, 6)
            together[key] = together.get(key, 0.0) + chance
    if len(together) > MOST_OUTCOMES:
        coarse: dict[float, float] = {}
        for amount, chance in together.items():
            coarse[float(round(amount))] = coarse.get(float(round(amount)), 0.0) + chance
        together = coarse
    return tuple((chance, amount) for amount, chance in sorted(together.items()))


def _quantile(outcomes: Sequence[Outcome], share: float) -> float:
    seen = 0.0
    for chance, amount in outcomes:
        seen += chance
        if seen >= share - 1e-12:
            return amount
    return outcomes[-1][1]


def _tidy(value: float) -> float:
    return round(value, 9) + 0.0  # a sum of cents carries dust of 1e-12; adding zero turns -0.0 into 0.0


# --- where the answer changes ----------------------------------------------------------------------------------------


class _Knob(msgspec.Struct, frozen=True):
    """A figure that a value is linear in: the value moves by `slope` for each unit of it."""

    term: str
    now: float
    slope: float
    highest: float = math.inf


def _knobs(branch: Branch, rate: float) -> list[_Knob]:
    if isinstance(branch, Fix):
        return [
            _Knob("success", branch.success, branch.net_working - branch.net_failed, 1.0),
            _Knob("net_working", branch.net_working, branch.success),
            _Knob("net_failed", branch.net_failed, 1.0 - branch.success),
            _Knob("parts", branch.parts, -1.0),
            _Knob("minutes", branch.minutes, -rate),
            _Knob("delay_days", branch.delay_days, -branch.delay_per_day),
            _Knob("returns", branch.returns, -1.0),
        ]
    if isinstance(branch, AsIs):
        return [_Knob("net", branch.net, 1.0), _Knob("minutes", branch.minutes, -rate)]
    knobs = [_Knob("strip_minutes", branch.strip_minutes, -rate)]
    if branch.lump:
        knobs.append(_Knob("lump", branch.lump, 1.0))
    for part in branch.parts:
        where = f"parts[{part.id}]."
        if part.own_use is not None:
            knobs.append(_Knob(f"{where}own_use", part.own_use, 1.0))
            continue
        knobs += [
            _Knob(f"{where}net", part.net, part.sell_chance),
            _Knob(f"{where}sell_chance", part.sell_chance, part.net, 1.0),
            _Knob(f"{where}list_minutes", part.list_minutes, -rate),
        ]
    return knobs


def _flips(branches: Sequence[Branch], values: dict[str, float], best: str, rate: float) -> Iterable[Flip]:
    """Closed form, as every value is linear in each single figure; figures out of their range are left out."""
    if len(branches) < 2:
        return
    second = max((branch.id for branch in branches if branch.id != best), key=lambda name: values[name])
    for branch in branches:
        target, to = (values[second], second) if branch.id == best else (values[best], branch.id)
        for knob in _knobs(branch, rate):
            if knob.slope:
                value = knob.now + (target - values[branch.id]) / knob.slope
                if -1e-9 <= value <= knob.highest + 1e-9:
                    yield Flip(branch.id, knob.term, _tidy(value), to)
    yield from _shared(values, best, RATE, rate, {branch.id: _minutes(branch) for branch in branches})
    waiting = [branch for branch in branches if isinstance(branch, Fix) and branch.delay_days]
    for day_cost in sorted({branch.delay_per_day for branch in waiting}):
        # a day costs the same whichever branch waits, so equal figures move together
        days = {branch.id: branch.delay_days for branch in waiting if branch.delay_per_day == day_cost}
        yield from _shared(values, best, DAY_COST, day_cost, days)


def _shared(values: dict[str, float], best: str, term: str, now: float, amounts: dict[str, float]) -> Iterable[Flip]:
    """The nearest figures above and below `now` at which another branch takes over, for a cost that branches share.

    `amounts` says how much of it each branch has; a branch that is not named has none.
    """
    up: tuple[float, str] | None = None
    down: tuple[float, str] | None = None
    mine = amounts.get(best, 0.0)
    for other, value in values.items():
        slower = mine - amounts.get(other, 0.0)
        if other == best or not slower:
            continue
        step = (values[best] - value) / slower
        if slower > 0 and (up is None or step < up[0]):
            up = (step, other)
        if slower < 0 and (down is None or step > down[0]):
            down = (step, other)
    for crossing in (down, up):
        if crossing is not None and now + crossing[0] >= -1e-9:
            yield Flip(best if mine else crossing[1], term, _tidy(now + crossing[0]), crossing[1])


def _minutes(branch: Branch) -> float:
    if isinstance(branch, PartOut):
        return branch.strip_minutes + sum(part.list_minutes for part in branch.parts if part.own_use is None)
    return branch.minutes
