"""Why an order cannot be planned: which needs, last days and limits cannot all be kept, and no more than that.

Only called once a plan was proven impossible, so it may solve many small problems.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

import msgspec

from catalog.model import Model
from catalog.pricing import segments
from catalog.purchase_data import Conflict, Reason
from catalog.purchase_rows import PurchaseRows, exactly, usable
from catalog.smallest_conflict import smallest_conflict

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Hashable, Sequence

    from catalog.pricing import Segment
    from catalog.purchase_data import Need, Offer, PurchaseProblem, Supplier

    Cancel = Callable[[], bool] | None


Condition = tuple[Literal["need", "date", "least", "stock", "cash", "kept"], str]
"""What could be given up: a need, a unit's last day, a supplier's smallest order, that an offer has no more in
stock, the cash limit, a line that is kept. With the id of what it speaks of."""


def explain(problem: PurchaseProblem, *, cancel: Cancel = None) -> tuple[Conflict, ...]:
    """The reasons why `problem` has no plan, most definite first; empty only if cancelled or if there is a plan.

    A need that cannot be met even alone is named with its own reason. If each can be met alone, the smallest set of
    needs, last days and limits is named that cannot be kept together. Each names only what it takes: with any one of
    it given up, the rest can be kept.
    """
    found = _not_sold(problem)
    if found is not None:
        return (found,)
    unlimited = msgspec.structs.replace(problem, cash_limit=None, keep={})
    try:
        return _each_alone(unlimited, cancel) or _all_together(problem, cancel)
    except _Cancelled:
        return ()


class _Cancelled(Exception):  # noqa: N818 - the person's wish, not an error
    """Ends the asking."""


def conditions_of(problem: PurchaseProblem) -> list[Condition]:
    """Everything of the problem that could be given up."""
    needs = [need for need in problem.needs if not need.spare]
    units = {need.unit for need in needs}
    wanted = {accept.product for need in needs for accept in need.accepts}
    short = {supplier.id for supplier in problem.suppliers if supplier.min_order}
    found: list[Condition] = [("need", need.id) for need in needs]
    found += [("date", unit.id) for unit in problem.units if unit.id in units and unit.deadline_day is not None]
    found += [("least", supplier.id) for supplier in problem.suppliers if supplier.id in short]
    found += [
        ("stock", offer.id)
        for offer in problem.offers
        if offer.stock_packs is not None
        and (offer.product in wanted or offer.supplier in short or offer.id in problem.keep)
    ]
    found += [("kept", offer.id) for offer in problem.offers if offer.id in problem.keep]
    return [*found, ("cash", "")] if problem.cash_limit is not None else found


def relaxed(problem: PurchaseProblem, kept: Collection[Hashable]) -> PurchaseProblem:
    """The problem where only these conditions are kept; spares are left out, as they ask for nothing."""
    replace = msgspec.structs.replace
    return replace(
        problem,
        needs=tuple(need for need in problem.needs if ("need", need.id) in kept),
        units=tuple(unit if ("date", unit.id) in kept else replace(unit, deadline_day=None) for unit in problem.units),
        suppliers=tuple(one if ("least", one.id) in kept else replace(one, min_order=0) for one in problem.suppliers),
        offers=tuple(one if ("stock", one.id) in kept else replace(one, stock_packs=None) for one in problem.offers),
        keep={offer: packs for offer, packs in problem.keep.items() if ("kept", offer) in kept},
        cash_limit=problem.cash_limit if ("cash", "") in kept else None,
    )


def feasible(problem: PurchaseProblem, cancel: Cancel = None) -> bool:
    """Whether the problem has any plan."""
    from catalog import solver  # noqa: PLC0415 - loads the solver only when something is solved

    if cancel is not None and cancel():
        raise _Cancelled
    if problem.cash_limit is not None:
        return _within_the_cash(problem, problem.cash_limit, cancel)
    model = Model()
    PurchaseRows(model, problem)
    return solver.solve(model, cancel=cancel).status is not solver.Status.INFEASIBLE


def _within_the_cash(problem: PurchaseProblem, limit: int, cancel: Cancel) -> bool:
    """Whether the least cash is within the limit: asked so it is answered much sooner than by a row for the limit."""
    from catalog import solver  # noqa: PLC0415 - as above

    model, known = Model(), list[bool]()
    rows = PurchaseRows(model, msgspec.structs.replace(problem, cash_limit=None))
    rows.minimise(rows.cash)

    def judge(seen: solver.Incumbent) -> None:
        if seen.objective < limit + 0.5:
            known.append(True)
        elif seen.bound > limit + 0.5:
            known.append(False)

    solution = solver.solve(model, cancel=lambda: bool(known) or (cancel is not None and cancel()), on_incumbent=judge)
    if known:
        return known[0]
    if solution.status is solver.Status.STOPPED:
        raise _Cancelled
    return solution.found and solution.objective < limit + 0.5


def _smallest(problem: PurchaseProblem, conditions: Sequence[Condition], cancel: Cancel) -> tuple[Condition, ...]:
    found = smallest_conflict(conditions, lambda kept: feasible(relaxed(problem, set(kept)), cancel))
    return tuple(each for each in conditions if each in found)


def _each_alone(problem: PurchaseProblem, cancel: Cancel) -> tuple[Conflict, ...]:
    """The needs that cannot be met even alone, without cash limit and kept lines."""
    reached = {supplier.id for supplier in problem.suppliers if _most_goods(problem, supplier) >= supplier.min_order}
    found = []
    for need in problem.needs:
        conflict = None if need.spare else _alone(problem, need, reached)
        if conflict is not None:
            alone = msgspec.structs.replace(problem, needs=(need,))
            found.append(_named(conflict, _smallest(alone, conditions_of(alone), cancel)))
    return tuple(found)


def _all_together(problem: PurchaseProblem, cancel: Cancel) -> tuple[Conflict, ...]:
    """The smallest set of needs, days and limits that cannot be kept together."""
    found = _smallest(problem, conditions_of(problem), cancel)
    if not found:
        return ()
    needs = tuple(name for kind, name in found if kind == "need")
    kinds = {kind for kind, _ in found}
    if "cash" in kinds:
        without = [each for each in found if each[0] != "cash"]
        least, limit = _least_cash(relaxed(problem, without), cancel), problem.cash_limit or 0
        if least is None:
            return ()
        detail = f"the order needs at least {least} in goods and charges, the limit is {limit}"
        return (_named(Conflict(Reason.CASH_LIMIT, (), detail, (least, limit)), found),)
    if "kept" in kinds:
        said = ", ".join(name for kind, name in found if kind == "kept")
        detail = f"{said}: what is kept does not reach the smallest order of its supplier"
        return (_named(Conflict(Reason.KEPT, (), detail), found),)
    if len(needs) == 1 and "least" in kinds:
        (need,) = (need for need in problem.needs if need.id in needs)
        return (_named(Conflict(Reason.MINIMUM_ORDER, needs, _smallest_order_detail(problem, need)), found),)
    detail = f"{', '.join(needs)}: each can be met alone, but stock and smallest orders do not allow all of them"
    return (_named(Conflict(Reason.TOGETHER, needs, detail), found),)


def _named(conflict: Conflict, conditions: Sequence[Condition]) -> Conflict:
    """The conflict with what it takes, in the order of the problem."""

    def those(wanted: str) -> tuple[str, ...]:
        return tuple(name for kind, name in conditions if kind == wanted)

    return msgspec.structs.replace(
        conflict,
        needs=those("need") or conflict.needs,
        dates=those("date"),
        least=those("least"),
        stock=those("stock"),
        kept=those("kept"),
        cash=bool(those("cash")),
    )


def _not_sold(problem: PurchaseProblem) -> Conflict | None:
    """A line that is kept and cannot be bought so."""
    for offer in problem.offers:
        packs = problem.keep.get(offer.id, 0)
        if packs and not exactly(offer, packs):
            stock = "" if offer.stock_packs is None else f", {offer.stock_packs} in stock"
            detail = f"{offer.id}: {packs} packs are kept, but at least {offer.min_packs} must be taken{stock}"
            over = offer.stock_packs is not None and offer.min_packs <= packs
            return Conflict(Reason.KEPT, (), detail, kept=(offer.id,), stock=(offer.id,) if over else ())
    return None


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


def _least_cash(problem: PurchaseProblem, cancel: Cancel) -> int | None:
    from catalog import solver  # noqa: PLC0415 - as above

    model = Model()
    rows = PurchaseRows(model, problem)
    rows.minimise(rows.cash)
    solution = solver.solve(model, cancel=cancel)
    if solution.status is solver.Status.STOPPED:
        raise _Cancelled
    return round(solution.objective) if solution.status is solver.Status.OPTIMAL else None
