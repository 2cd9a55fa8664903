"""The whole lot at once: which branch each unit takes, which donor gives what, and the one order that covers it.

One model, so that a part that only pays together with another repair, or a donor worth more broken, is seen. What the
solver says is counted again from the decisions alone; a difference is a fault of the program and raises `Mismatch`.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import msgspec

from catalog.model import Model
from catalog.purchase import Mismatch, Stopped
from catalog.purchase_conflicts import explain
from catalog.purchase_data import PlanStatus
from catalog.purchase_ties import better_fits
from triage.lot_count import count
from triage.lot_data import LotConflict, LotPlan, LotProblem
from triage.lot_rows import LotRows, allowed, order_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from catalog.purchase_data import Served
    from catalog.solver import Incumbent, Solution

    Cancel = Callable[[], bool] | None

CLOSE = 0.01
"""Minor units: proof is complete when no plan can be better by more than this."""


def plan(
    problem: LotProblem,
    *,
    cancel: Cancel = None,
    time_limit: float | None = None,
    on_incumbent: Callable[[Incumbent], None] | None = None,
    grades: bool = True,
) -> LotPlan:
    """The decisions with the largest sum of branch values and pieces sold, less the order and the waiting for it.

    Args:
        problem: the lot.
        cancel: polled while solving; true stops with the best plan so far (status `stopped`).
        time_limit: seconds for the search, or None.
        on_incumbent: told each better plan and bound, as costs: what the lot brings is minus the objective.
        grades: whether of equally good proven plans the one whose pieces fit better is looked for.

    Raises:
        ValueError: a pin, a need or an id names nothing, or something twice.
        Mismatch: the plan's plain count is not the solver's figure.
        RuleBroken: the plan breaks a rule of the problem.
    """
    from catalog import solver  # noqa: PLC0415 - loads the solver only when something is solved

    _check(problem)
    rows = LotRows(Model(), problem)
    rows.minimise()
    gap = solver.WHOLE_GAP if _whole(problem) else CLOSE
    solution = solver.solve(
        rows.model, absolute_gap=gap, cancel=cancel, time_limit=time_limit, on_incumbent=on_incumbent
    )
    if solution.status is solver.Status.INFEASIBLE:
        return LotPlan(status=PlanStatus.INFEASIBLE, conflicts=_conflicts(problem, cancel))
    if not solution.found:
        return LotPlan(status=PlanStatus.STOPPED, gap=math.inf)
    packs, served = rows.order.read(solution.values)
    if grades and solution.status is solver.Status.OPTIMAL:
        packs, served = better_fits(
            rows.order.problem, packs, served, fixed=_givers(problem), same_days=True, cancel=cancel
        )
    found = _counted(rows, solution, packs, served)
    _agree(solution, found.total, gap)
    return found


def minute_worth(problem: LotProblem, found: LotPlan, *, minutes: float = 60.0, cancel: Cancel = None) -> float:
    """What one more bench minute is worth, in minor units: the gain from `minutes` more, spread over the same days.

    Raises:
        Stopped: cancelled, or `found` is no proven plan.
    """
    if problem.bench is None:
        return 0.0
    more = problem.bench.more(minutes)
    return _gain(msgspec.structs.replace(problem, bench=more), found, cancel) / minutes


def day_worth(problem: LotProblem, found: LotPlan, *, cancel: Cancel = None) -> float:
    """What one more day is worth, in minor units: the gain when the last day of all comes one day later.

    0 where nothing has a last day.

    Raises:
        Stopped: cancelled, or `found` is no proven plan.
    """
    units = tuple(
        unit if unit.deadline_day is None else msgspec.structs.replace(unit, deadline_day=unit.deadline_day + 1)
        for unit in problem.order.units
    )
    later = msgspec.structs.replace(
        problem,
        order=msgspec.structs.replace(problem.order, units=units),
        bench=None if problem.bench is None else problem.bench.longer(),
    )
    return 0.0 if later == problem else _gain(later, found, cancel)


def price_of_pin(problem: LotProblem, found: LotPlan, unit: str, *, cancel: Cancel = None) -> float:
    """What the person's decision on `unit` costs against the best plan without it, all other pins kept.

    0 where the unit is not pinned, infinite where the pins allow no plan.

    Raises:
        Stopped: cancelled, or `found` is neither a proven plan nor infeasible.
    """
    if unit not in problem.pins:
        return 0.0
    rest = {name: branch for name, branch in problem.pins.items() if name != unit}
    return _gain(msgspec.structs.replace(problem, pins=rest), found, cancel)


def _gain(freer: LotProblem, found: LotPlan, cancel: Cancel) -> float:
    """How much better the best plan of a problem with fewer limits is."""
    better = plan(freer, cancel=cancel, grades=False)
    if PlanStatus.STOPPED in {better.status, found.status}:
        raise Stopped("stopped before the difference was proven")
    if not better.found:
        return 0.0
    return max(0.0, better.total - found.total) if found.found else math.inf


def _check(problem: LotProblem) -> None:
    units = {unit.id: unit for unit in problem.units}
    if len(units) < len(problem.units):
        raise ValueError("two units have the same id")
    needs = {need.id: need.unit for need in problem.order.needs}
    waits = {unit.id: unit.wait_per_day for unit in problem.order.units}
    given: set[str] = set()
    for unit in problem.units:
        losses = {branch.day_loss for branch in unit.branches if branch.needs}
        if len(losses) > 1 or max(losses, default=0.0) > waits.get(unit.id, 0):
            raise ValueError(
                f"{unit.id}: a day on the bench costs one sum, and no more than a day of waiting for parts"
            )
        if len({branch.id for branch in unit.branches}) < len(unit.branches):
            raise ValueError(f"{unit.id}: two branches have the same id")
        for branch in unit.branches:
            foreign = [need for need in branch.needs if needs.get(need) != unit.id]
            if foreign or len(set(branch.needs)) < len(branch.needs):
                raise ValueError(f"{unit.id}, {branch.id}: {foreign or 'a need named twice'} is no need of this unit")
            for each in branch.yields:
                if each.offer is not None and each.offer in given:
                    raise ValueError(f"{unit.id}, {branch.id}: {each.offer} is given twice")
                given |= {each.offer} if each.offer is not None else set()
    for name, pin in problem.pins.items():
        if name not in units or all(branch.id != pin for branch in units[name].branches):
            raise ValueError(f"{name} has no branch {pin}")


def _whole(problem: LotProblem) -> bool:
    """Whether every attainable total is a whole number."""
    branches = [branch for unit in problem.units for branch in unit.branches]
    amounts = [amount for branch in branches for amount in (branch.value, branch.day_loss)]
    for unit in problem.units:
        amounts += [
            money for branch in unit.branches for each in branch.yields for money in (each.value, each.used_cost)
        ]
    return all(float(amount).is_integer() for amount in amounts)


def _givers(problem: LotProblem) -> set[str]:
    """The offers that are pieces of donors."""
    branches = (branch for unit in problem.units for branch in unit.branches)
    return {each.offer for branch in branches for each in branch.yields if each.offer}


def _counted(rows: LotRows, solution: Solution, packs: dict[str, int], served: tuple[Served, ...]) -> LotPlan:
    """The plan behind the solver's values, worked out again from its decisions."""
    values = solution.values
    taken = {unit: branch for (unit, branch), column in rows.taken.items() if values[column] > 0.5}
    found = count(
        rows.problem,
        taken,
        packs,
        served,
        {key: round(values[column]) for key, column in rows.sold.items()},
        status=PlanStatus(solution.status.value),
        done={} if rows.finish is None else rows.finish.days(values, taken),
    )
    if found.status is PlanStatus.STOPPED:
        found = msgspec.structs.replace(found, gap=max(0.0, -solution.bound - found.total))
    return found


def _agree(solution: Solution, total: float, gap: float) -> None:
    """The plain count may be better only by what the proof leaves open, or where the search was stopped early."""
    better = total + solution.objective
    stopped = solution.status.value == PlanStatus.STOPPED.value
    if better < -CLOSE or (better > gap + CLOSE and not stopped):
        raise Mismatch(f"the solver says {-solution.objective}, counted {total}")


def _conflicts(problem: LotProblem, cancel: Cancel) -> tuple[LotConflict, ...]:
    """A smallest set of units that cannot all be dealt with, and why; empty if cancelled."""
    kept = [
        unit.id for unit in problem.units if all(branch.needs or branch.minutes for branch in allowed(problem, unit))
    ]
    for name in tuple(kept):
        rest = [other for other in kept if other != name]
        if cancel is not None and cancel():
            return ()
        if not _feasible(problem, rest, cancel):
            kept = rest
    units = [unit for unit in problem.units if unit.id in kept]
    said = ", ".join(f"{unit.id} {problem.pins[unit.id]}" if unit.id in problem.pins else unit.id for unit in units)
    if problem.bench is not None and _feasible(msgspec.structs.replace(problem, bench=None), kept, cancel):
        detail = f"{said}: {problem.bench.left(0):g} bench minutes do not allow all of it"
        return (LotConflict(tuple(kept), detail),)
    sure = {need for unit in units if len(ways := allowed(problem, unit)) == 1 for need in ways[0].needs}
    order = order_of(problem)
    donors = _givers(problem)
    reasons = explain(
        msgspec.structs.replace(
            order,
            needs=tuple(need for need in order.needs if need.id in sure),
            offers=tuple(offer for offer in order.offers if offer.id not in donors),
        ),
        cancel=cancel,
    )
    detail = "; ".join(reason.detail for reason in reasons) or "the parts cannot be had for all of it"
    return (LotConflict(tuple(kept), f"{said}: {detail}", reasons),)


def _feasible(problem: LotProblem, required: Iterable[str], cancel: Cancel) -> bool:
    from catalog import solver  # noqa: PLC0415 - as above

    rows = LotRows(Model(), problem, required=frozenset(required))
    return solver.solve(rows.model, cancel=cancel).status is not solver.Status.INFEASIBLE
