"""The parts order: `PurchaseProblem` in, `PurchasePlan` out, proven cheapest in whole minor units and counted again.

The rows are built in `purchase_rows`, solved in `solver`, and the chosen packs are priced once more by `reprice`, which
shares no code with the rows. A difference is a fault of the program and raises `Mismatch`; it is never shown as a plan.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import msgspec

from catalog.model import Model, Terms
from catalog.purchase_conflicts import explain
from catalog.purchase_data import FrontPoint, PlanStatus, PurchasePlan
from catalog.purchase_parts import merged, parts
from catalog.purchase_rows import PurchaseRows, usable
from catalog.purchase_ties import better_fits
from catalog.reprice import reprice

if TYPE_CHECKING:
    from collections.abc import Callable

    from catalog.purchase_data import PurchaseProblem, Served
    from catalog.solver import Incumbent, Solution


class Mismatch(RuntimeError):  # noqa: N818 - what it is, not how bad it is
    """The solver's figure and the plain count of the same order differ."""


class Stopped(Exception):  # noqa: N818 - an answer to a cancel key, not a malfunction
    """Cancelled or out of time before everything was proven."""


def plan(
    problem: PurchaseProblem,
    *,
    before: PurchasePlan | None = None,
    cancel: Callable[[], bool] | None = None,
    time_limit: float | None = None,
    on_incumbent: Callable[[Incumbent], None] | None = None,
) -> PurchasePlan:
    """The order with the least goods + charges + rework + penalty + waiting, less what the spares are worth.

    Args:
        problem: what is needed and who offers what.
        before: the plan of much the same problem, to begin from.
        cancel: polled while solving; true stops with the best plan so far (status `stopped`).
        time_limit: seconds for the proof, or None; a first plan comes on top.
        on_incumbent: told each better plan and bound (minor units).

    Raises:
        Mismatch: the plan's plain count is not the solver's figure.
    """
    found = _plan(problem, before, cancel, time_limit, on_incumbent)
    if found.status is PlanStatus.INFEASIBLE:
        return msgspec.structs.replace(found, conflicts=explain(problem, cancel=cancel))
    return _better_fitting(problem, found, cancel) if found.status is PlanStatus.OPTIMAL else found


def _plan(
    problem: PurchaseProblem,
    before: PurchasePlan | None,
    cancel: Callable[[], bool] | None,
    time_limit: float | None,
    on_incumbent: Callable[[Incumbent], None] | None = None,
    *,
    at_least: float = -math.inf,
) -> PurchasePlan:
    """The same without reasons; `at_least` is what is known that no plan costs less than."""
    from catalog import solver  # noqa: PLC0415 - loads the solver only when something is solved
    from catalog.purchase_solve import search  # noqa: PLC0415 - as above

    smaller = merged(problem)
    served_before = smaller.together(before.served) if before is not None else ()
    pieces = sorted(parts(smaller.problem), key=lambda part: len(part.needs))  # so that the whole is told of early
    told = _Together(len(pieces), on_incumbent)
    found = []
    bound = 0.0
    for place, part in enumerate(pieces):
        rows = PurchaseRows(Model(), part)
        rows.minimise(rows.spent, rows.rework, rows.spares, rows.waiting)
        searched = search(
            rows,
            before=served_before,
            cancel=cancel,
            time_limit=time_limit,
            on_incumbent=told.part(place),
            at_least=at_least if len(pieces) == 1 else -math.inf,
        )
        solution = searched.solution
        if solution.status is solver.Status.INFEASIBLE:
            return PurchasePlan(status=PlanStatus.INFEASIBLE)
        if solution.found:
            found.append(_counted(rows, solution))
            _agree(solution, found[-1].total)
        elif searched.first is not None:
            found.append(searched.first)
        else:
            return PurchasePlan(status=PlanStatus.STOPPED, gap=math.inf)
        bound += found[-1].total if found[-1].status is PlanStatus.OPTIMAL else solution.bound
    packs = {offer: count for each in found for offer, count in each.packs.items()}
    served = smaller.apart(entry for each in found for entry in each.served)
    total = sum(each.total for each in found)
    if all(each.status is PlanStatus.OPTIMAL for each in found):
        return reprice(problem, packs, served)
    return reprice(problem, packs, served, status=PlanStatus.STOPPED, gap=max(0.0, total - bound))


def _better_fitting(
    problem: PurchaseProblem, found: PurchasePlan, cancel: Callable[[], bool] | None, *, same_days: bool = False
) -> PurchasePlan:
    """A proven plan that costs the same where pieces fit better; what was stopped has had its time."""
    packs, served = better_fits(problem, found.packs, found.served, same_days=same_days, cancel=cancel)
    better = reprice(problem, packs, served, status=found.status, gap=found.gap)
    if better.total > found.total:
        raise Mismatch(f"better grades were to cost nothing, but {found.total} became {better.total}")
    return better


class _Together:
    """The plans and bounds of the parts, told as those of the whole once every part has a plan."""

    def __init__(self, count: int, on_incumbent: Callable[[Incumbent], None] | None) -> None:
        self._tell = on_incumbent
        self._seen: list[Incumbent | None] = [None] * count

    def part(self, place: int) -> Callable[[Incumbent], None] | None:
        """What to tell of one part."""
        return None if self._tell is None else lambda seen: self._part(place, seen)

    def _part(self, place: int, seen: Incumbent) -> None:
        self._seen[place] = seen
        known = [each for each in self._seen if each is not None]
        if self._tell is not None and len(known) == len(self._seen):
            whole = (sum(each.objective for each in known), sum(each.bound for each in known))
            self._tell(type(seen)(*whole))


def front(
    problem: PurchaseProblem,
    *,
    cancel: Callable[[], bool] | None = None,
    time_limit: float | None = None,
) -> tuple[FrontPoint, ...]:
    """Least money against typical arrival day: for each day that changes the cost, the cheapest plan, earliest first.

    Deadlines stay in force and waiting costs no money here, but among the plans of least money for a day the one with
    the least waiting is given. Empty if there is no plan at all.

    Raises:
        Stopped: cancelled, or one solve took longer than `time_limit` seconds.
        Mismatch: a plain count is not the solver's figure.
    """
    suppliers = {supplier.id: supplier for supplier in problem.suppliers}
    serving = {
        suppliers[offer.supplier].lead_days
        for need in problem.needs
        if not need.spare
        for offer, _ in usable(problem, need)
    }
    found: list[PurchasePlan] = []
    for day in sorted(serving | {0}, reverse=True):
        if found and day >= found[-1].arrival_day:
            continue  # the last plan is here by then: nothing cheaper exists without slower suppliers
        # what a slower day costs, no quicker one can go below; its plan is where the search begins
        cheapest = _least_money(_by(problem, day), found[-1] if found else None, cancel, time_limit)
        if cheapest is None:
            break
        if found and found[-1].money == cheapest.money:
            found.pop()
        found.append(cheapest)
    least = min((each.total for each in found), default=0)
    return tuple(FrontPoint(each.arrival_day, each.money, each.total == least, each) for each in reversed(found))


def _by(problem: PurchaseProblem, day: int) -> PurchaseProblem:
    """The problem where no need, spares apart, is met by what typically comes after `day`."""
    slow = {supplier.id for supplier in problem.suppliers if supplier.lead_days > day}
    late = frozenset(offer.id for offer in problem.offers if offer.supplier in slow)
    needs = tuple(
        need if need.spare else msgspec.structs.replace(need, not_from=need.not_from | late) for need in problem.needs
    )
    for_spares = {accept.product for need in needs if need.spare for accept in need.accepts}
    kept = {offer.supplier for offer in problem.offers if offer.id in problem.keep or offer.product in for_spares}
    gone = slow - kept
    return msgspec.structs.replace(
        problem,
        suppliers=tuple(supplier for supplier in problem.suppliers if supplier.id not in gone),
        offers=tuple(offer for offer in problem.offers if offer.supplier not in gone),
        needs=needs,
    )


def _least_money(
    problem: PurchaseProblem,
    slower: PurchasePlan | None,
    cancel: Callable[[], bool] | None,
    time_limit: float | None,
) -> PurchasePlan | None:
    """The plan of least money, and among those of least waiting; `slower` is that of a problem with more suppliers."""
    from catalog import solver  # noqa: PLC0415 - as above

    nobody_waits = tuple(msgspec.structs.replace(unit, wait_per_day=0) for unit in problem.units)
    free = msgspec.structs.replace(problem, units=nobody_waits)
    at_least = slower.money if slower is not None else -math.inf
    cheapest = _plan(free, slower, cancel, time_limit, at_least=at_least)
    if cheapest.status is PlanStatus.INFEASIBLE:
        return None
    if cheapest.status is not PlanStatus.OPTIMAL:
        raise Stopped("stopped before the front was complete")
    found = reprice(problem, cheapest.packs, cheapest.served)
    if not found.waiting:
        return _better_fitting(problem, found, cancel, same_days=True)
    model = Model()
    rows = PurchaseRows(model, problem)
    money: Terms = rows.spent + rows.rework + rows.spares
    model.row(money, high=found.money, name="least money")
    rows.minimise(rows.waiting)
    solution = solver.solve(model, cancel=cancel, time_limit=time_limit)
    if solution.status is not solver.Status.OPTIMAL:
        raise Stopped("stopped before the front was complete")
    found = _counted(rows, solution)
    _agree(solution, found.waiting)
    return _better_fitting(problem, found, cancel, same_days=True)


def _counted(rows: PurchaseRows, solution: Solution) -> PurchasePlan:
    packs, served = rows.read(solution.values)
    if any(abs(solution.values[x] - round(solution.values[x])) > 1e-6 for x in rows.served.values()):
        packs, served = _whole_pieces(rows, solution)
    status = PlanStatus(solution.status.value)
    return reprice(rows.problem, packs, served, status=status, gap=solution.gap)


def _whole_pieces(rows: PurchaseRows, solution: Solution) -> tuple[dict[str, int], tuple[Served, ...]]:
    """Share out the same packs once more in whole pieces: a solver may stop between two equally good ways."""
    from catalog import solver  # noqa: PLC0415 - as above

    model, pieces = Model(), set(rows.served.values())
    model.rows = rows.model.rows
    model.columns = [
        msgspec.structs.replace(column, whole=True)
        if index in pieces
        else msgspec.structs.replace(column, low=value, high=value)
        for index, (column, value) in enumerate(zip(rows.model.columns, solution.values, strict=True))
    ]
    return rows.read(solver.solve(model).values)


def _agree(solution: Solution, counted: int) -> None:
    """A proven plan must count to the solver's figure; one stopped early may still carry avoidable cost."""
    difference = solution.objective - counted
    if abs(difference) > 0.5 and not (solution.status.value == PlanStatus.STOPPED.value and difference > 0):
        raise Mismatch(f"the solver says {solution.objective}, counted {counted}")
