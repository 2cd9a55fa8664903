"""Why an order cannot be planned: which need, or which needs together, and at which limit.

Only called once a plan was proven impossible, so it may solve many small problems.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import msgspec

from catalog.model import Model
from catalog.pricing import segments
from catalog.purchase_data import Conflict, Reason
from catalog.purchase_rows import PurchaseRows, exactly, usable

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from catalog.pricing import Segment
    from catalog.purchase_data import Need, Offer, PurchaseProblem, Supplier

    Cancel = Callable[[], bool] | None


def explain(problem: PurchaseProblem, *, cancel: Cancel = None) -> tuple[Conflict, ...]:
    """The reasons why `problem` has no plan, most definite first; empty only if cancelled or if there is a plan.

    A need that cannot be met even alone is named with its own reason. If each can be met alone, a set of needs is named
    that cannot be met together while any smaller part of it can; if all can be met, it is the cash limit.
    """
    unlimited = msgspec.structs.replace(problem, cash_limit=None)
    if problem.keep and (conflict := _kept(unlimited, cancel)) is not None:
        return (conflict,)
    return _each_alone(unlimited) or _all_together(problem, unlimited, cancel)


def _each_alone(problem: PurchaseProblem) -> tuple[Conflict, ...]:
    """The needs that cannot be met even alone."""
    reached = {supplier.id for supplier in problem.suppliers if _most_goods(problem, supplier) >= supplier.min_order}
    found = (_alone(problem, need, reached) for need in problem.needs if not need.spare)
    return tuple(conflict for conflict in found if conflict is not None)


def _all_together(problem: PurchaseProblem, unlimited: PurchaseProblem, cancel: Cancel) -> tuple[Conflict, ...]:
    """The cash limit, or a smallest set of needs that cannot be met together."""
    least = _least_cash(unlimited, cancel)
    if least is not None:
        if problem.cash_limit is None or least <= problem.cash_limit:
            return ()
        detail = f"the order needs at least {least} in goods and charges, the limit is {problem.cash_limit}"
        return (Conflict(Reason.CASH_LIMIT, (), detail, (least, problem.cash_limit)),)
    together = _smallest_conflict(unlimited, cancel)
    if not together:
        return ()
    if len(together) == 1:
        (need,) = (need for need in problem.needs if need.id in together)
        return (Conflict(Reason.MINIMUM_ORDER, together, _smallest_order_detail(problem, need)),)
    detail = f"{', '.join(together)}: each can be met alone, but stock and smallest orders do not allow all of them"
    return (Conflict(Reason.TOGETHER, together, detail),)


def _kept(problem: PurchaseProblem, cancel: Cancel) -> Conflict | None:
    """A line that is kept and cannot be bought so; else all kept lines, where they cannot be had together."""
    for offer in problem.offers:
        packs = problem.keep.get(offer.id, 0)
        if packs and not exactly(offer, packs):
            stock = "" if offer.stock_packs is None else f", {offer.stock_packs} in stock"
            detail = f"{offer.id}: {packs} packs are kept, but at least {offer.min_packs} must be taken{stock}"
            return Conflict(Reason.KEPT, (), detail)
    if _feasible(problem, (), cancel):
        return None
    said = ", ".join(offer for offer, packs in problem.keep.items() if packs)
    return Conflict(Reason.KEPT, (), f"{said}: what is kept does not reach the smallest order of its supplier")


def _alone(problem: PurchaseProblem, need: Need, reached: set[str]) -> Conflict | None:
    """The reason why `need` cannot be met even alone; `reached` = suppliers whose smallest order can be reached."""
    products = {accept.product for accept in need.accepts}
    offered = [offer for offer in problem.offers if offer.product in products and offer.id not in need.not_from]
    wanted = " or ".join(sorted(products)) or "nothing"
    if not offered:
        return Conflict(Reason.NO_OFFER, (need.id,), f"{need.id}: nobody offers {wanted}")
    sold = [offer for offer in offered if offer.sold]
    if not sold:
        detail = f"{need.id}: every offer of {wanted} has fewer packs in stock than must be taken"
        return Conflict(Reason.NOT_ENOUGH_STOCK, (need.id,), detail)
    in_time = [offer for offer, _ in usable(problem, need)]
    if not in_time:
        deadline = next(unit.deadline_day for unit in problem.units if unit.id == need.unit)
        late = {supplier.id: supplier.late for supplier in problem.suppliers}
        soonest = min(late[offer.supplier] for offer in sold)
        detail = f"{need.id}: {need.unit} must have it by day {deadline}, it may not be here before day {soonest}"
        return Conflict(Reason.NONE_IN_TIME, (need.id,), detail, (deadline or 0, soonest))
    pieces = sum(_most_pieces(offer, paid=True) for offer in in_time)
    if pieces < need.pieces:
        detail = f"{need.id}: {need.pieces} pieces wanted, {pieces:.0f} in stock in time"
        return Conflict(Reason.NOT_ENOUGH_STOCK, (need.id,), detail, (need.pieces, round(pieces)))
    if sum(_most_pieces(offer, paid=offer.supplier in reached) for offer in in_time) < need.pieces:
        return Conflict(Reason.MINIMUM_ORDER, (need.id,), _smallest_order_detail(problem, need))
    return None


def _smallest_order_detail(problem: PurchaseProblem, need: Need) -> str:
    senders = ", ".join(sorted({offer.supplier for offer, _ in usable(problem, need)}))
    return f"{need.id}: the smallest order of {senders} cannot be reached"


def _ranges(offer: Offer) -> list[Segment]:
    return segments(offer.steps, offer.discount, offer.pack_size, offer.min_packs, offer.stock_packs)


def _most_pieces(offer: Offer, *, paid: bool) -> float:
    """The most that can be had, or the most for nothing, which needs no smallest order."""
    tops = [math.inf if each.high is None else each.high for each in _ranges(offer) if paid or each.free]
    return max(tops, default=0) * offer.pack_size


def _most_goods(problem: PurchaseProblem, supplier: Supplier) -> float:
    """The largest goods subtotal that can be bought of one supplier."""
    total = 0.0
    for offer in problem.offers:
        if offer.supplier == supplier.id:
            amounts = [
                (math.inf if each.per_pack else each.amount(each.low)) if each.high is None else each.amount(each.high)
                for each in _ranges(offer)
            ]
            total += max(amounts, default=0)
    return total


def _feasible(problem: PurchaseProblem, needs: Iterable[Need], cancel: Cancel) -> bool:
    from catalog import solver  # noqa: PLC0415 - loads the solver only when something is solved

    model = Model()
    PurchaseRows(model, msgspec.structs.replace(problem, needs=tuple(needs)))
    return solver.solve(model, cancel=cancel).status is not solver.Status.INFEASIBLE


def _least_cash(problem: PurchaseProblem, cancel: Cancel) -> int | None:
    from catalog import solver  # noqa: PLC0415 - as above

    model = Model()
    rows = PurchaseRows(model, problem)
    rows.minimise(rows.cash)
    solution = solver.solve(model, cancel=cancel)
    return round(solution.objective) if solution.status is solver.Status.OPTIMAL else None


def _smallest_conflict(problem: PurchaseProblem, cancel: Cancel) -> tuple[str, ...]:
    """Leave out one need after another; what cannot be left out stays. Each of the rest is part of the conflict."""
    kept = list(problem.needs)
    for need in problem.needs:
        rest = [other for other in kept if other is not need]
        if cancel is not None and cancel():
            return ()
        if not _feasible(problem, rest, cancel):
            kept = rest
    return tuple(need.id for need in kept)
