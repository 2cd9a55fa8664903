"""Why a plan of the lot does not fix a unit that its own sums would: no parts in time, dear parts, or short hours.

Pure; asks the order for the unit's parts alone, so it is only called for the few units it is asked about.
"""

from __future__ import annotations

import msgspec

from catalog.purchase import plan as order_plan
from catalog.purchase_data import Conflict
from triage.lot_data import LotPlan, LotProblem
from triage.lot_rows import order_of


class NotFixed(msgspec.Struct, frozen=True):
    """The reason: what stands against the parts, or by how much fixing falls short of what the plan does instead.

    `short` is in minor units; below nought, fixing would bring more alone, but the unit serves others, or the bench
    minutes or the limit on cash go to them.
    """

    unit: str
    conflicts: tuple[Conflict, ...] = ()
    short: float = 0.0
    serves: tuple[str, ...] = ()
    """Units that its parts go to instead."""


def why_not_fixed(problem: LotProblem, plan: LotPlan, unit: str) -> NotFixed | None:
    """Why `unit` is not fixed in `plan`; None where it is, or could not be."""
    stated = next(each for each in problem.units if each.id == unit)
    fix = next((branch for branch in stated.branches if branch.kind == "fix"), None)
    if fix is None or plan.decisions.get(unit) in {None, fix.id}:
        return None
    alone = order_of(msgspec.structs.replace(problem, units=(stated,), pins={unit: fix.id}))
    order = order_plan(alone)
    if not order.found:
        return NotFixed(unit, order.conflicts)
    serves = dict.fromkeys(each.to for each in plan.harvested if each.unit == unit and each.to is not None)
    return NotFixed(unit, short=plan.values[unit] - (fix.value - order.total), serves=tuple(serves))
