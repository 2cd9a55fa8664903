"""Substitute now or wait for the better part: for each need with that choice, both ways as two whole orders.

Two whole orders and not two prices, because postage, packs and price steps of everything else move with the choice.
Each plan is a cost line over the day cost of the unit, the price of the part and the days of the wait; where the two
lines cross, the answer flips.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import msgspec

from catalog.purchase import Stopped, plan
from catalog.purchase_data import PlanStatus
from catalog.purchase_rows import rework_of_piece, usable
from catalog.rules import Grade

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from catalog.purchase_data import Accept, Need, Offer, PurchasePlan, PurchaseProblem


class Way(msgspec.Struct, frozen=True, kw_only=True):
    """One of the two ways: the order with the least total in which the need is met so, and what of it is the need's."""

    plan: PurchasePlan
    grade: str
    """The worst grade among the pieces used."""
    day: int
    """Typical day on which the last piece is there."""
    unit_day: int
    """Typical day on which the whole unit can go on."""
    goods: int
    """What its pieces cost, their share of the order lines, rounded half-up."""
    extra: int
    """Extra work, and what the substitute takes off success and sale price."""


class Contest(msgspec.Struct, frozen=True, kw_only=True):
    """A need with a substitute that is here sooner than the best grade. At least one of the two ways exists."""

    need: str
    unit: str
    day_cost: int
    """What a day of waiting costs the unit now."""
    now: Way | None
    """With a substitute that comes before the best grade could; None where no such order can be had."""
    wait: Way | None
    """With the best grade only."""

    @property
    def ahead(self) -> int | None:
        """By how much waiting is better; negative when the substitute is. None where there is no choice."""
        return None if self.now is None or self.wait is None else self.now.plan.total - self.wait.plan.total

    @property
    def flip_day_cost(self) -> Fraction | None:
        """The cost of a day of the unit above which the way that has it ready first wins, and below which the other.

        That is the substitute, unless other parts of its order come later. None where both have the unit ready on the
        same day; at 0 or less the way that is ready first always wins.
        """
        if self.now is None or self.wait is None or self.now.unit_day == self.wait.unit_day:
            return None
        rest = [way.plan.total - self.day_cost * way.unit_day for way in (self.now, self.wait)]
        return Fraction(rest[0] - rest[1], self.wait.unit_day - self.now.unit_day)

    @property
    def flip_days(self) -> Fraction | None:
        """How many days longer than the substitute the wait may take before the substitute wins; None for never.

        Only where waiting is better now.
        """
        if self.now is None or self.wait is None or self.ahead is None or self.ahead <= 0 or not self.day_cost:
            return None
        return self.wait.unit_day - self.now.unit_day + Fraction(self.ahead, self.day_cost)

    @property
    def flip_goods(self) -> int | None:
        """What the pieces of the way that loses would have to cost to win; None where not even a gift would do."""
        ahead = self.ahead
        if self.now is None or self.wait is None or ahead is None:
            return None
        loser = self.now if ahead > 0 else self.wait
        price = loser.goods - abs(ahead)
        return price if price >= 0 else None


def contested(
    problem: PurchaseProblem, best: PurchasePlan, *, cancel: Callable[[], bool] | None = None
) -> tuple[Contest, ...]:
    """Every need of `problem` with the choice, in its order.

    Args:
        problem: the order.
        best: its proven plan; where it goes one of the two ways it stands for that way.
        cancel: polled while solving.

    Raises:
        Stopped: cancelled before both ways of every need were proven.
        Mismatch: a plain count is not the solver's figure.
    """
    found = []
    for need in problem.needs:
        ways = None if need.spare else _two_ways(problem, need)
        if cancel is not None and cancel():
            raise Stopped("stopped before both ways were proven")
        if ways is not None:
            sooner, better = (_way(problem, need, offers, best, cancel) for offers in ways)
            unit = next(unit for unit in problem.units if unit.id == need.unit)
            contest = Contest(need=need.id, unit=unit.id, day_cost=unit.wait_per_day, now=sooner, wait=better)
            if sooner is not None or better is not None:
                found.append(contest)
    return tuple(found)


def _two_ways(problem: PurchaseProblem, need: Need) -> tuple[set[str], set[str]] | None:
    """(offers of a lesser grade that come before the best grade, offers of the best grade); None without the choice."""
    arrival = {supplier.id: supplier.lead_days for supplier in problem.suppliers}
    offered = [(offer, Grade(accept.grade).rank) for offer, accept in usable(problem, need)]
    best = min((rank for _, rank in offered), default=0)
    better = {offer.id: arrival[offer.supplier] for offer, rank in offered if rank == best}
    soonest = min(better.values(), default=0)
    sooner = {offer.id for offer, rank in offered if rank > best and arrival[offer.supplier] < soonest}
    return (sooner, set(better)) if sooner else None


def _way(
    problem: PurchaseProblem, need: Need, offers: set[str], best: PurchasePlan, cancel: Callable[[], bool] | None
) -> Way | None:
    """The best order in which `need` is met from these offers alone."""
    taken = {entry.offer for entry in best.served if entry.need == need.id}
    found = best if taken and taken <= offers else plan(_only(problem, need, offers), before=best, cancel=cancel)
    if found.status is PlanStatus.STOPPED:
        raise Stopped("stopped before both ways were proven")
    if not found.found:
        return None
    by_id = {offer.id: offer for offer in problem.offers}
    accepts = {accept.product: accept for accept in need.accepts}
    used = [(by_id[entry.offer], entry.pieces) for entry in found.served if entry.need == need.id]
    arrival = {supplier.id: supplier.lead_days for supplier in problem.suppliers}
    return Way(
        plan=found,
        grade=max((accepts[offer.product].grade for offer, _ in used), key=lambda grade: Grade(grade).rank),
        day=max(arrival[offer.supplier] for offer, _ in used),
        unit_day=found.ready_days[need.unit],
        goods=_goods(found, need),
        extra=_extra(problem, used, accepts),
    )


def _only(problem: PurchaseProblem, need: Need, offers: set[str]) -> PurchaseProblem:
    """The same order where `need` takes nothing but these offers."""
    others = frozenset(offer.id for offer in problem.offers) - offers
    kept = msgspec.structs.replace(need, not_from=need.not_from | others)
    return msgspec.structs.replace(problem, needs=tuple(kept if each is need else each for each in problem.needs))


def _goods(found: PurchasePlan, need: Need) -> int:
    share = Fraction(0)
    for line in found.lines:
        used = line.pieces - line.spare
        share += sum(
            (Fraction(line.amount * use.pieces, used) for use in line.uses if use.need == need.id), Fraction(0)
        )
    return int(share + Fraction(1, 2))


def _extra(problem: PurchaseProblem, used: Sequence[tuple[Offer, int]], accepts: dict[str, Accept]) -> int:
    return sum(
        pieces * (rework_of_piece(problem, accepts[offer.product]) + accepts[offer.product].penalty)
        for offer, pieces in used
    )
