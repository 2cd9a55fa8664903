"""What becomes of a lot once today's order is sent and it is known how every unit turned out: the second stage.

Pure. Each case is the plan of a whole lot on the day the diagnosis is done: what was ordered today lies in the drawer
or is on its way, everything else is ordered then, with packs, price steps, postage and charges as ever. Days count from
that day; what comes sooner counts as there on it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping

import msgspec

from catalog.pricing import PriceStep
from catalog.purchase import Stopped
from catalog.purchase_data import Accept, Need, Offer, PlanStatus, PurchasePlan, PurchaseProblem, Supplier
from triage.lot_data import LotPlan, LotProblem, LotUnit
from triage.lotplan import plan
from triage.scenarios import Turnout
from triage.two_stage_data import TwoStageProblem

Cancel = Callable[[], bool] | None

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


class Recourse:
    """The second stage of one problem, every case solved once."""

    def __init__(self, problem: TwoStageProblem, cancel: Cancel = None) -> None:
        """Nothing is solved yet."""
        self._problem = problem
        self._cancel = cancel
        self._known: dict[tuple[frozenset[tuple[str, int]], Turnout], Ending] = {}
        self._foreseen: dict[Turnout, float] = {}

    def ending(self, first: PurchasePlan, turnout: Turnout) -> Ending:
        """How the case ends after today's order `first`.

        Raises:
            Stopped: cancelled.
        """
        key = frozenset((line.offer, line.packs) for line in first.lines), turnout
        if key not in self._known:
            self._known[key] = self._solved(first, turnout)
        return self._known[key]

    def foreseen(self, turnout: Turnout) -> float:
        """What the case would bring if it were known today: one order, sent today.

        Raises:
            Stopped: cancelled.
        """
        if turnout not in self._foreseen:
            order = on_the_day(self._problem.order, self._problem.look_days, sent=True)
            found = self._plan(order, turnout)
            left = leftover_of(found.purchase, self._problem.leftover)
            self._foreseen[turnout] = found.total + left if found.found else -math.inf
        return self._foreseen[turnout]

    def _solved(self, first: PurchasePlan, turnout: Turnout) -> Ending:
        problem = self._problem
        found = self._plan(with_bought(problem.order, first, problem.look_days, problem.leftover), turnout)
        if not found.found:
            return Ending(-math.inf, frozenset(), frozenset())
        value = found.total + leftover_of(found.purchase, problem.leftover)
        value += sum(_each(line.amount, line.pieces, problem.leftover) * line.pieces for line in first.lines)
        own = {line.offer for line in found.purchase.own} - {_SENT + line.offer for line in first.lines}
        served = found.purchase.served
        return Ending(
            value=value - paid_for(first),
            served=frozenset(entry.need for entry in served),
            bought=frozenset(entry.need for entry in served if entry.offer not in own),
        )

    def _plan(self, order: PurchaseProblem, turnout: Turnout) -> LotPlan:
        units = tuple(
            LotUnit(id=unit.id, branches=unit.findings[place].branches)
            for unit, place in zip(self._problem.units, turnout, strict=True)
        )
        if self._cancel is not None and self._cancel():  # a small case is solved before the solver asks once
            raise Stopped("stopped before every case was reckoned")
        found = plan(LotProblem(units=units, order=order), cancel=self._cancel)
        if found.status is PlanStatus.STOPPED:
            raise Stopped("stopped before every case was reckoned")
        return found


def paid_for(first: PurchasePlan) -> int:
    """What an order costs: goods, postage and charges."""
    return first.goods + first.shipping + first.charges


def leftover_of(order: PurchasePlan, share: float) -> int:
    """What the pieces of an order that nobody uses are worth."""
    return sum(_each(line.amount, line.pieces, share) * line.spare for line in order.lines)


def _each(amount: int, pieces: int, share: float) -> int:
    """What one piece of a line is worth left over, in whole minor units, rounded down."""
    return math.floor(share * amount / pieces + 1e-9)


def on_the_day(order: PurchaseProblem, look_days: int, *, sent: bool) -> PurchaseProblem:
    """The order seen from the day the diagnosis is done; `sent`: everything was ordered today, else only then.

    What lies here already is there; deadlines come nearer.
    """
    suppliers = tuple(
        _nearer(supplier, look_days) if sent or supplier.own else supplier for supplier in order.suppliers
    )
    units = tuple(
        msgspec.structs.replace(
            unit,
            deadline_day=None if unit.deadline_day is None else max(0, unit.deadline_day - look_days),
            ready_day=max(0, unit.ready_day - look_days),
        )
        for unit in order.units
    )
    return msgspec.structs.replace(order, suppliers=suppliers, units=units)


def _nearer(supplier: Supplier, look_days: int) -> Supplier:
    return msgspec.structs.replace(
        supplier,
        lead_days=max(0, supplier.lead_days - look_days),
        lead_days_late=max(0, supplier.late - look_days),
    )


def with_bought(order: PurchaseProblem, first: PurchasePlan, look_days: int, leftover: float) -> PurchaseProblem:
    """The second order: what was ordered today is one's own, and using a piece forgoes what it is worth left over."""
    days = {supplier.id: supplier for supplier in order.suppliers}
    later = on_the_day(order, look_days, sent=False)
    senders = [
        msgspec.structs.replace(_nearer(days[name], look_days), id=_SENT + name, own=True)
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
