"""Counting the plan of a whole lot again from its decisions alone, and refusing it if a rule is broken.

Separate from the rows on purpose, as with the order: a wrong row shows up as a different total or a broken rule.
"""

from __future__ import annotations

import math
from collections import defaultdict
from types import MappingProxyType
from typing import TYPE_CHECKING

import msgspec

from catalog.reprice import RuleBroken, reprice
from triage.lot_data import Harvest, LotPlan

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from catalog.purchase_data import Accept, PlanStatus, PurchasePlan, PurchaseProblem, Served
    from triage.lot_data import LotBranch, LotProblem, Yield

Key = tuple[str, str, int]
"""Unit, branch, place among its yields."""


def count(
    problem: LotProblem,
    decisions: Mapping[str, str],
    packs: Mapping[str, int],
    served: Iterable[Served],
    sold: Mapping[Key, int],
    *,
    status: PlanStatus,
    done: Mapping[str, int] = MappingProxyType({}),
) -> LotPlan:
    """The whole plan behind `decisions` {unit: branch}, an order, and the pieces `sold` of the donors' yields.

    `done` is {unit: day by whose end its work is done}, of those that lose by the day.

    Raises:
        RuleBroken: a unit without a branch, a pin not kept, more taken out than there is, too few bench minutes, or a
            rule of the order.
    """
    branches = {}
    for unit in problem.units:
        branch = next((each for each in unit.branches if each.id == decisions.get(unit.id)), None)
        if branch is None or problem.pins.get(unit.id, branch.id) != branch.id:
            raise RuleBroken(f"{unit.id} takes {decisions.get(unit.id)}")
        branches[unit.id] = branch
    wanted = {need for branch in branches.values() for need in branch.needs}
    order = msgspec.structs.replace(
        problem.order, needs=tuple(need for need in problem.order.needs if need.spare or need.id in wanted)
    )
    purchase = reprice(order, packs, served, status=status)
    ready, work = _ready(branches, purchase), _work(branches, order, purchase)
    done = _done(problem, ready, done)
    taken = {
        (unit, branch.id, place): each for unit, branch in branches.items() for place, each in enumerate(branch.yields)
    }
    harvested = _harvested(problem, order, purchase, taken, sold)
    minutes = _minutes(problem, work, ready) + math.fsum(
        entry.pieces * (taken[key].minutes + (taken[key].sale_minutes if entry.to is None else 0.0))
        for key, entry in harvested
    )
    if problem.bench is not None and minutes > problem.bench.left(0) + 1e-6:
        raise RuleBroken(f"{minutes:g} bench minutes, there are {problem.bench.left(0):g}")
    brought = {unit: [branch.value] for unit, branch in branches.items()}
    for key, entry in harvested:
        brought[entry.unit].append(entry.pieces * (taken[key].value if entry.to is None else -taken[key].used_cost))
    for name, loss in _lost(problem, branches, work, ready, done).items():
        brought[name].append(-loss)
    sums = {unit: math.fsum(amounts) for unit, amounts in brought.items()}
    shares = _shares(order, purchase)
    return LotPlan(
        status=status,
        found=True,
        total=math.fsum(sums.values()) - purchase.total,
        decisions={unit: branch.id for unit, branch in branches.items()},
        values={unit: amount - shares.get(unit, 0.0) for unit, amount in sums.items()},
        riding=purchase.worth - math.fsum(share for unit, share in shares.items() if unit not in sums),
        purchase=purchase,
        harvested=tuple(entry for _, entry in harvested),
        minutes=minutes,
        done=dict(done),
    )


def _ready(branches: Mapping[str, LotBranch], purchase: PurchasePlan) -> dict[str, int]:
    """{unit: day on which its work can begin}: with all that it waits for, on its way before or ordered now."""
    return {
        unit: max(branch.ready, purchase.ready_days.get(unit, 0) if branch.needs else 0)
        for unit, branch in branches.items()
    }


def _done(problem: LotProblem, ready: Mapping[str, int], done: Mapping[str, int]) -> dict[str, int]:
    """The days; what waits for parts when the bench has no day left is done as they come, if it takes no minutes."""
    last = max(problem.bench.stages, default=0) if problem.bench is not None else 0
    return {unit: max(day, ready.get(unit, 0)) if day == last else day for unit, day in done.items()}


def _lost(
    problem: LotProblem,
    branches: Mapping[str, LotBranch],
    work: Mapping[str, float],
    ready: Mapping[str, int],
    done: Mapping[str, int],
) -> dict[str, float]:
    """What the units lose by the days from when their parts are there; refuses days that cannot be kept."""
    bench = problem.bench
    losing = {unit: branch for unit, branch in branches.items() if branch.day_loss > 0.0}
    if bench is None or bench.days is None or not losing:
        return {}
    for unit in losing:
        if unit not in done or done[unit] not in {*bench.stages, ready.get(unit, 0)} or done[unit] < ready.get(unit, 0):
            raise RuleBroken(f"{unit} is done on day {done.get(unit)}, its parts come on day {ready.get(unit, 0)}")
    for first in {0, *(ready.get(unit, 0) for unit in losing)}:
        for last in set(done.values()):
            within = math.fsum(work[unit] for unit in losing if ready.get(unit, 0) >= first and done[unit] <= last)
            if first <= last and within > bench.between(first, last) + 1e-6:
                raise RuleBroken(f"{within:g} bench minutes from day {first} to day {last}")
    return {unit: branch.day_loss * (done[unit] - ready.get(unit, 0)) for unit, branch in losing.items()}


def _harvested(
    problem: LotProblem,
    order: PurchaseProblem,
    purchase: PurchasePlan,
    taken: Mapping[Key, Yield],
    sold: Mapping[Key, int],
) -> list[tuple[Key, Harvest]]:
    units = {need.id: need.unit for need in order.needs}
    donors = {each.offer for unit in problem.units for branch in unit.branches for each in branch.yields}
    used: dict[str, list[Served]] = defaultdict(list)
    for entry in purchase.served:
        if entry.offer in donors:
            used[entry.offer].append(entry)
    found = []
    for key, each in taken.items():
        pieces: list[tuple[int, str | None, str | None]] = [
            (entry.pieces, entry.need, units[entry.need]) for entry in used.pop(each.offer or "", ())
        ]
        pieces += [(sold[key], None, None)] if sold.get(key) else []
        found += [(key, Harvest(key[0], each.part, *entry)) for entry in pieces]
        if sum(entry[0] for entry in pieces) > each.pieces:
            raise RuleBroken(f"{key[0]}: more than {each.pieces} {each.part} taken out")
    left = [*used, *(key[0] for key, pieces in sold.items() if pieces and key not in taken)]
    if left:
        raise RuleBroken(f"parts are used of what is not taken apart: {left}")
    return found


def _minutes(problem: LotProblem, work: Mapping[str, float], ready: Mapping[str, int]) -> float:
    """Bench minutes of all units; refuses what waits too long for its parts."""
    if problem.bench is not None:
        for day in sorted(set(ready.values()) - {0}):
            waiting = math.fsum(minutes for unit, minutes in work.items() if ready.get(unit, 0) >= day)
            if waiting > problem.bench.left(day) + 1e-6:
                raise RuleBroken(f"{waiting:g} bench minutes from day {day}, {problem.bench.left(day):g} are left")
    return math.fsum(work.values())


def _work(branches: Mapping[str, LotBranch], order: PurchaseProblem, purchase: PurchasePlan) -> dict[str, float]:
    """Bench minutes by unit, with the extra work on substitutes."""
    accepts = _accepts(order)
    products = {offer.id: offer.product for offer in order.offers}
    work = {unit: branch.minutes for unit, branch in branches.items()}
    for entry in purchase.served:
        unit, accept = accepts[entry.need, products[entry.offer]]
        if unit in work:  # spares are of no unit that is planned
            work[unit] += accept.rework_minutes * entry.pieces
    return work


def _accepts(order: PurchaseProblem) -> dict[tuple[str, str], tuple[str, Accept]]:
    """The unit and the terms by need and product."""
    return {(need.id, accept.product): (need.unit, accept) for need in order.needs for accept in need.accepts}


def _shares(order: PurchaseProblem, purchase: PurchasePlan) -> dict[str, float]:
    """What each unit bears of the order: its pieces with their spares, extra work, waiting, and postage by goods."""
    shares: dict[str, float] = defaultdict(float)
    goods: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    rest: dict[str, float] = {cost.supplier: cost.shipping + cost.charges for cost in purchase.suppliers}
    for line in (*purchase.lines, *purchase.own):
        pieces = line.pieces - line.spare
        for use in line.uses:
            goods[line.supplier][use.unit] += line.amount * use.pieces / pieces
        if not pieces:
            rest[line.supplier] += line.amount
    for supplier, by_unit in goods.items():
        whole = math.fsum(by_unit.values())
        for unit, amount in by_unit.items():
            shares[unit] += amount + rest[supplier] * (amount / whole if whole else 1 / len(by_unit))
    accepts = _accepts(order)
    products = {offer.id: offer.product for offer in order.offers}
    for entry in purchase.served:
        unit, accept = accepts[entry.need, products[entry.offer]]
        extra = (2 * order.labour_per_hour * accept.rework_minutes + 60) // 120 + accept.penalty
        shares[unit] += extra * entry.pieces
    for each in order.units:
        shares[each.id] += each.wait_per_day * (purchase.ready_days.get(each.id, 0) - each.ready_day)
    return shares
