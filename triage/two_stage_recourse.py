"""What becomes of a lot once today's order is sent and it is known how every unit turned out: the second stage.

Pure. Each case is the plan of a whole lot on the day the diagnosis is done: what was ordered today lies in the drawer
or is on its way, everything else is ordered then, with packs, price steps, postage and charges as ever. Days count from
today; a unit that is not decided cannot go on before that day (its `ready_day`).
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence

import msgspec

from catalog.pricing import PriceStep
from catalog.purchase import Stopped
from catalog.purchase_data import Accept, Need, Offer, PlanStatus, PurchasePlan, PurchaseProblem
from triage.lot_data import LotBranch, LotPlan, LotProblem, LotUnit
from triage.lotplan import plan
from triage.scenarios import Turnout
from triage.two_stage_data import Finding, TwoStageProblem

Cancel = Callable[[], bool] | None
_Lines = frozenset[tuple[str, int]]
"""Offers and packs of today's order."""
_Shape = tuple[LotBranch, ...]

_SENT = "ordered today  "
"""Two spaces: no id of a problem begins so."""


class Ending(msgspec.Struct, frozen=True):
    """How one case ends."""

    value: float
    """What the units bring less both orders, with what is left over; minus infinite where there is no plan."""
    served: frozenset[str]
    """The needs that were met."""
    bought: frozenset[str]
    """Those of them for which something was bought, today or later."""


class _Solved(msgspec.Struct, frozen=True):
    """A case that was solved, for others that differ from it in values only."""

    values: tuple[tuple[float, ...], ...]
    """What each branch of each unit brings."""
    taken: tuple[int, ...]
    """The place of each unit's branch."""
    plan: LotPlan


class Recourse:
    """The second stage of one problem, every case solved once.

    Cases in which the units may do the same with the same parts differ only in what that brings. Where, from a case
    that was solved to another, no branch of a unit gained more than the one that was taken, the same plan is best
    again: it gained as much as any plan can have.
    """

    def __init__(self, problem: TwoStageProblem, cancel: Cancel = None) -> None:
        """Nothing is solved yet."""
        self._problem = problem
        self._cancel = cancel
        self._known: dict[tuple[_Lines, Turnout], Ending] = {}
        self._foreseen: dict[Turnout, float] = {}
        self._solved: dict[tuple[_Lines | None, tuple[_Shape, ...]], list[_Solved]] = defaultdict(list)
        self._shapes: list[list[_Shape]] = [[_shape(finding) for finding in unit.findings] for unit in problem.units]

    def endings(self, first: PurchasePlan, turnouts: Sequence[Turnout]) -> list[Ending]:
        """How the cases end after today's order `first`.

        Raises:
            Stopped: cancelled.
        """
        lines = frozenset((line.offer, line.packs) for line in first.lines)
        for turnout in sorted(set(turnouts), key=self._gain_of_parts):
            if (lines, turnout) not in self._known:
                self._known[lines, turnout] = self._ended(first, lines, turnout)
        return [self._known[lines, turnout] for turnout in turnouts]

    def foreseen(self, turnouts: Sequence[Turnout]) -> list[float]:
        """What the cases would bring if they were known today: one order, sent today.

        Raises:
            Stopped: cancelled.
        """
        for turnout in sorted(set(turnouts), key=self._gain_of_parts):
            self._foresee(turnout)
        return [self._foreseen[turnout] for turnout in turnouts]

    def _gain_of_parts(self, turnout: Turnout) -> float:
        """What parts bring in a case. Where a repair pays that brings little, it pays where it brings more."""
        findings = (unit.findings[place] for unit, place in zip(self._problem.units, turnout, strict=True))
        best = [
            [max((b.value for b in f.branches if bool(b.needs) is n), default=0.0) for n in (0, 1)] for f in findings
        ]
        return math.fsum(repaired - plain for plain, repaired in best)

    def _foresee(self, turnout: Turnout) -> None:
        if turnout not in self._foreseen:
            problem = self._problem
            found, more = self._best(None, turnout, lambda: problem.order)
            left = leftover_of(found.purchase, problem.leftover)
            self._foreseen[turnout] = found.total + more + left if found.found else -math.inf

    def _ended(self, first: PurchasePlan, lines: _Lines, turnout: Turnout) -> Ending:
        problem = self._problem
        found, more = self._best(
            lines, turnout, lambda: with_bought(problem.order, first, problem.look_days, problem.leftover)
        )
        if not found.found:
            return Ending(-math.inf, frozenset(), frozenset())
        value = found.total + more + leftover_of(found.purchase, problem.leftover)
        value += sum(_each(line.amount, line.pieces, problem.leftover) * line.pieces for line in first.lines)
        own = {line.offer for line in found.purchase.own} - {_SENT + line.offer for line in first.lines}
        served = found.purchase.served
        return Ending(
            value=value - paid_for(first),
            served=frozenset(entry.need for entry in served),
            bought=frozenset(entry.need for entry in served if entry.offer not in own),
        )

    def _best(
        self, lines: _Lines | None, turnout: Turnout, order: Callable[[], PurchaseProblem]
    ) -> tuple[LotPlan, float]:
        """The best plan of a case, and what it brings beyond its own total, which may be that of another case."""
        findings = [unit.findings[place] for unit, place in zip(self._problem.units, turnout, strict=True)]
        values = tuple(tuple(branch.value for branch in _sorted(finding)) for finding in findings)
        alike = self._solved[lines, tuple(shapes[at] for shapes, at in zip(self._shapes, turnout, strict=True))]
        for known in alike:
            more = _gained(known, values)
            if more is not None:
                return known.plan, more
        units = tuple(
            LotUnit(id=unit.id, branches=tuple(_sorted(finding)))
            for unit, finding in zip(self._problem.units, findings, strict=True)
        )
        found = self._planned(LotProblem(units=units, order=order()))
        taken = tuple(
            [branch.id for branch in unit.branches].index(found.decisions[unit.id]) if found.found else 0
            for unit in units
        )
        alike.append(_Solved(values, taken, found))
        return found, 0.0

    def _planned(self, case: LotProblem) -> LotPlan:
        if self._cancel is not None and self._cancel():  # a small case is solved before the solver asks once
            raise Stopped("stopped before every case was reckoned")
        found = plan(case, cancel=self._cancel, grades=False)
        if found.status is PlanStatus.STOPPED:
            raise Stopped("stopped before every case was reckoned")
        return found


def _sorted(finding: Finding) -> list[LotBranch]:
    """The branches in an order that what they bring does not move."""
    return sorted(finding.branches, key=lambda branch: branch.id)


def _shape(finding: Finding) -> _Shape:
    """What the unit may do, without what it brings."""
    return tuple(msgspec.structs.replace(branch, value=0.0) for branch in _sorted(finding))


def _gained(known: _Solved, values: Sequence[Sequence[float]]) -> float | None:
    """What the plan of a solved case brings more with these values, if it is best with them too; else None."""
    if not known.plan.found:
        return 0.0  # what branches bring does not make a plan possible
    total = 0.0
    for before, now, taken in zip(known.values, values, known.taken, strict=True):
        gains = [after - then for after, then in zip(now, before, strict=True)]
        if gains[taken] < max(gains):
            return None
        total += gains[taken]
    return total


def paid_for(first: PurchasePlan) -> int:
    """What an order costs: goods, postage and charges."""
    return first.goods + first.shipping + first.charges


def leftover_of(order: PurchasePlan, share: float) -> int:
    """What the pieces of an order that nobody uses are worth."""
    return sum(_each(line.amount, line.pieces, share) * line.spare for line in order.lines)


def _each(amount: int, pieces: int, share: float) -> int:
    """What one piece of a line is worth left over, in whole minor units, rounded down."""
    return math.floor(share * amount / pieces + 1e-9)


def ordered_later(order: PurchaseProblem, look_days: int) -> PurchaseProblem:
    """The order that goes out only once the looks are done; what is one's own is there or comes as it would anyhow."""
    suppliers = tuple(
        supplier
        if supplier.own
        else msgspec.structs.replace(
            supplier, lead_days=supplier.lead_days + look_days, lead_days_late=supplier.late + look_days
        )
        for supplier in order.suppliers
    )
    return msgspec.structs.replace(order, suppliers=suppliers)


def with_bought(order: PurchaseProblem, first: PurchasePlan, look_days: int, leftover: float) -> PurchaseProblem:
    """The second order: what was ordered today is one's own, and using a piece forgoes what it is worth left over."""
    days = {supplier.id: supplier for supplier in order.suppliers}
    later = ordered_later(order, look_days)
    senders = [
        msgspec.structs.replace(days[name], id=_SENT + name, own=True)
        for name in dict.fromkeys(line.supplier for line in first.lines)
    ]
    bought = [
        Offer(
            id=_SENT + line.offer,
            supplier=_SENT + line.supplier,
            product=_SENT + line.offer,
            steps=(PriceStep(1, 0),),
            stock_packs=line.pieces,
        )
        for line in first.lines
    ]
    packs = {line.offer: line.packs for line in first.lines}
    worth = {line.offer: _each(line.amount, line.pieces, leftover) for line in first.lines}
    made = _by_product(order.offers, packs)
    limit = order.cash_limit
    return msgspec.structs.replace(
        later,
        suppliers=(*later.suppliers, *senders),
        offers=(*_still_sold(later.offers, packs), *bought),
        needs=tuple(_taking(need, made, worth) for need in later.needs),
        cash_limit=None if limit is None else max(0, limit - paid_for(first)),
        keep={},
    )


def _by_product(offers: Iterable[Offer], packs: Mapping[str, int]) -> dict[str, list[str]]:
    """{product: the offers of it that were bought}."""
    made: dict[str, list[str]] = {}
    for offer in offers:
        if offer.id in packs:
            made.setdefault(offer.product, []).append(offer.id)
    return made


def _still_sold(offers: Iterable[Offer], packs: Mapping[str, int]) -> list[Offer]:
    """The offers with what is left of a known stock."""
    return [
        offer
        if offer.stock_packs is None or offer.id not in packs
        else msgspec.structs.replace(offer, stock_packs=offer.stock_packs - packs[offer.id])
        for offer in offers
    ]


def _taking(need: Need, made: Mapping[str, list[str]], worth: Mapping[str, int]) -> Need:
    """The need, which also takes what was bought today of every product it accepts."""
    more = [
        Accept(
            product=_SENT + offer,
            rework_minutes=accept.rework_minutes,
            grade=accept.grade,
            penalty=accept.penalty + worth[offer],
        )
        for accept in need.accepts
        for offer in made.get(accept.product, ())
        if offer not in need.not_from
    ]
    return msgspec.structs.replace(need, accepts=(*need.accepts, *more))
