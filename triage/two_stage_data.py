"""What ordering now or after the diagnosis is asked and what it answers: plain frozen records, no arithmetic.

Amounts are minor units, times whole days from today.
"""

from __future__ import annotations

from typing import Literal

import msgspec

from catalog.purchase_data import PurchasePlan, PurchaseProblem
from triage.lot_data import LotBranch

Rule = Literal["wait", "decided", "expected", "likely"]
"""A simple way to order today: nothing, only for what is decided, what is expected to be needed, all that is likely."""
RULES: tuple[Rule, ...] = ("wait", "decided", "expected", "likely")


class Finding(msgspec.Struct, frozen=True, kw_only=True):
    """One way a unit may turn out, and what can be done with it then."""

    chance: float
    branches: tuple[LotBranch, ...]
    """As in the plan of a lot; the best for the whole is taken once it is known that the unit turned out so."""


class DoubtfulUnit(msgspec.Struct, frozen=True, kw_only=True):
    """A unit with every way it may turn out; the chances sum to 1. A single way = nothing is left to find out."""

    id: str
    findings: tuple[Finding, ...]


class TwoStageProblem(msgspec.Struct, frozen=True, kw_only=True):
    """What may be ordered today, before the diagnosis, and again after it."""

    units: tuple[DoubtfulUnit, ...]
    order: PurchaseProblem
    """Every need that some finding names, and who sells what; lines that are kept are kept in today's order. A unit
    that is not decided has a `ready_day` no sooner than the diagnosis."""
    look_days: int
    """Days until the diagnosis is done and the second order goes out."""
    leftover: float
    """What a piece that was bought and not used is worth, as a share of what was paid for it (0 to 1)."""


class Comparison(msgspec.Struct, frozen=True, kw_only=True):
    """A simple rule beside the chosen order, over the same draws."""

    rule: Rule
    money: int
    """What today's order by that rule costs."""
    needs: frozenset[str]
    ahead: float
    """By how much the chosen order is better on average; negative where it is worse, infinite where the rule fails."""
    error: float
    """Half the 95 % interval of `ahead`; 0 where every case was reckoned."""

    @property
    def same(self) -> bool:
        """Whether the difference cannot be told from chance."""
        return abs(self.ahead) <= max(self.error, 0.5)


class NeedTiming(msgspec.Struct, frozen=True, kw_only=True):
    """One need: how likely it is wanted, and from which chance on ordering it today would pay by itself."""

    need: str
    chance: float
    """Share of the cases in which it is served in the end."""
    bought: float
    """Share of the cases in which something is bought for it, today or later."""
    pays_from: float
    """Chance from which ordering today pays if this part stood alone."""
    now: bool
    """Whether today's order is for it."""


class TwoStagePlan(msgspec.Struct, frozen=True, kw_only=True):
    """Today's order, and what it is worth against the simple rules."""

    first: PurchasePlan
    """Today's order; without lines where waiting with everything is best."""
    needs: tuple[NeedTiming, ...]
    value: float
    """What the units bring on average, after both orders."""
    comparisons: tuple[Comparison, ...]
    """The simple rules, in the order of `RULES`; one whose order is impossible is left out."""
    foresight: float
    """What knowing today how every unit turns out would be worth on top: no order of today can do better than that."""
    foresight_error: float
    exact: bool
    """Whether every case was reckoned instead of a sample."""
    searched: int
    """Cases over which the orders were compared."""
    judged: int
    """Fresh cases on which the chosen one and the rules were judged."""
    tried: int
    """Different orders that were compared."""
