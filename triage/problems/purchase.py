"""Parts orders stated in JSON: the form of the problem files in; the least total, the front and the reasons out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import msgspec

from catalog import purchase
from catalog.pins import pinned
from catalog.purchase_data import PlanStatus
from catalog.purchase_why import why
from catalog.riders import riders
from triage.problems.form import decoded
from triage.problems.purchase_forms import PurchaseCase, stated, stated_pins

if TYPE_CHECKING:
    from collections.abc import Mapping

    from catalog.purchase_data import Conflict, PurchasePlan, PurchaseProblem


def answer(case: Mapping[str, Any]) -> dict[str, Any]:
    """Plan one case.

    Returns:
        id, status (`optimal` | `infeasible`), total_cents (null if infeasible), packs {offer: n},
        served [{need, offer, pieces}], front [{arrival_day, cost_cents}], conflicts [{reason, needs, detail, dates,
        least, stock, kept, cash}], goods_cents, shipping_cents, charges_cents, rework_cents, penalty_cents,
        waiting_cents, worth_cents (what the spares taken are worth; all null if infeasible),
        suppliers [{supplier, goods_cents, shipping_cents, charges_cents}],
        ready_days {unit: typical day on which its last part is there, what is on its way counted},
        riding [{need, pieces, worth_cents, costs_cents}] for everything with worths,
        pins_cost_cents (against the best plan without the pins; null without pins or without either plan),
        why [{offer, without_cents, closed_cents, best_grade_cents, fewer_packs_line_cents, moves_at_cents,
        postage_cents}] for every line bought, empty unless the case asks for it.

    Raises:
        Refused: the case is malformed or makes no sense; the message begins with the key path.
    """
    form = decoded(case, PurchaseCase)
    free = stated(form)
    pins = stated_pins(form)
    problem = pinned(free, pins)
    plan = purchase.plan(problem)
    proven = plan.status is PlanStatus.OPTIMAL
    points = purchase.front(problem) if proven else ()
    return {
        "id": form.id,
        "status": plan.status.value,
        "total_cents": plan.total if plan.found else None,
        "packs": plan.packs,
        "served": [msgspec.to_builtins(entry) for entry in plan.served],
        "front": [{"arrival_day": point.arrival_day, "cost_cents": point.cost} for point in points],
        "conflicts": [_conflict(each) for each in plan.conflicts],
        **{
            f"{name}_cents": getattr(plan, name) if plan.found else None
            for name in ("goods", "shipping", "charges", "rework", "penalty", "waiting", "worth")
        },
        "suppliers": [
            {
                "supplier": cost.supplier,
                "goods_cents": cost.goods,
                "shipping_cents": cost.shipping,
                "charges_cents": cost.charges,
            }
            for cost in plan.suppliers
        ],
        "ready_days": {unit.id: plan.ready_days.get(unit.id, unit.ready_day) for unit in form.units}
        if plan.found
        else {},
        "riding": [
            {"need": one.need, "pieces": one.pieces, "worth_cents": one.worth, "costs_cents": one.costs}
            for one in (riders(problem, plan) if proven else ())
        ],
        "pins_cost_cents": _pins_cost(free, plan) if pins and proven else None,
        "why": [_why(problem, plan, line.offer) for line in plan.lines] if form.why and proven else [],
    }


def _conflict(each: Conflict) -> dict[str, Any]:
    return {
        "reason": each.reason.value,
        "needs": list(each.needs),
        "detail": each.detail,
        "dates": list(each.dates),
        "least": list(each.least),
        "stock": list(each.stock),
        "kept": list(each.kept),
        "cash": each.cash,
    }


def _pins_cost(free: PurchaseProblem, plan: PurchasePlan) -> int | None:
    without = purchase.plan(free, before=plan)
    return plan.total - without.total if without.status is PlanStatus.OPTIMAL else None


def _why(problem: PurchaseProblem, plan: PurchasePlan, offer: str) -> dict[str, Any]:
    found = why(problem, plan, offer)
    costs = {"without": found.without, "closed": found.closed, "best_grade": found.best_grade}
    return {
        "offer": offer,
        **{f"{name}_cents": None if other is None else other.costs for name, other in costs.items()},
        "fewer_packs_line_cents": found.fewer,
        "moves_at_cents": None if found.moves_at is None else float(found.moves_at),
        "postage_cents": {unit.removeprefix("\0"): amount for unit, amount in found.shares.items()},
    }
