"""Why an order cannot be planned: which need, or which needs together, and at which limit.

Only called once a plan was proven impossible, so it may solve many small problems.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import msgspec

from catalog.model import Model
from catalog.purchase_data import Conflict, Reason
from catalog.purchase_rows import PurchaseRows, usable

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from catalog.purchase_data import Need, PurchaseProblem

    Cancel = Callable[[], bool] | None


def explain(problem: PurchaseProblem, *, cancel: Cancel = None) -> tuple[Conflict, ...]:
    """The reasons why `problem` has no plan, most definite first; empty only if cancelled or if there is a plan.

    A need that cannot be met even alone is named with its own reason. If each can be met alone, a set of needs is named
    that cannot be met together while any smaller part of it can; if all can be met, it is the cash limit.
    """
    unlimited = msgspec.structs.replace(problem, cash_limit=None)
    alone = [conflict for need in problem.needs if (conflict := _alone(unlimited, need, cancel)) is not None]
    if alone:
        return tuple(alone)
    least = _least_cash(unlimited, cancel)
    if least is not None:
        if problem.cash_limit is None or least <= problem.cash_limit:
            return ()
        detail = f"the order needs at least {least} in goods and postage, the limit is {problem.cash_limit}"
        return (Conflict(Reason.CASH_LIMIT, (), detail),)
    together = _smallest_conflict(unlimited, cancel)
    if not together:
        return ()
    detail = f"{', '.join(together)}: each can be met alone, but stock and smallest orders do not allow all of them"
    return (Conflict(Reason.TOGETHER, together, detail),)


def _alone(problem: PurchaseProblem, need: Need, cancel: Cancel) -> Conflict | None:
    products = {accept.product for accept in need.accepts}
    offered = [offer for offer in problem.offers if offer.product in products]
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
        return Conflict(Reason.NONE_IN_TIME, (need.id,), detail)
    stocks = [None if o.stock_packs is None else o.stock_packs * o.pack_size for o in in_time]
    pieces = None if None in stocks else sum(stock for stock in stocks if stock is not None)
    if pieces is not None and pieces < need.pieces:
        detail = f"{need.id}: {need.pieces} pieces wanted, {pieces} in stock in time"
        return Conflict(Reason.NOT_ENOUGH_STOCK, (need.id,), detail)
    if not _feasible(problem, [need], cancel):
        senders = ", ".join(sorted({offer.supplier for offer in in_time}))
        detail = f"{need.id}: the smallest order of {senders} cannot be reached"
        return Conflict(Reason.MINIMUM_ORDER, (need.id,), detail)
    return None


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
