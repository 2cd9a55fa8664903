"""The odds of single needs before the diagnosis: how likely each is wanted, and from which chance ordering it pays.

Pure. These only choose which orders are worth comparing and are shown beside the answer; what an order is worth is
reckoned with all needs together.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import msgspec

from catalog.pricing import line_amount
from catalog.purchase_rows import usable
from triage.newsvendor import critical_ratio

if TYPE_CHECKING:
    from catalog.purchase_data import Need
    from triage.two_stage_data import Finding, TwoStageProblem


class NeedOdds(msgspec.Struct, frozen=True):
    """One need by itself."""

    chance: float
    """That the unit turns out to want it, at the price of a single purchase."""
    pays_from: float
    """Chance from which ordering today pays where today's parcel comes anyway, and a later one for this alone."""


def odds_of(problem: TwoStageProblem) -> dict[str, NeedOdds]:
    """{need: its odds}, of every need that some finding names."""
    costs = {need.id: _cheapest(problem, need) for need in problem.order.needs}
    chances: dict[str, float] = {}
    for unit in problem.units:
        for finding in unit.findings:
            for branch in finding.branches:
                for need in branch.needs:
                    chances.setdefault(need, 0.0)
            for need in _wanted(finding, costs):
                chances[need] += finding.chance
    by_id = {need.id: need for need in problem.order.needs}
    return {name: NeedOdds(chance, _pays_from(problem, by_id[name])) for name, chance in chances.items()}


def alike(needs: Sequence[Need], chances: Mapping[str, float]) -> list[list[Need]]:
    """The needs by kind: those that take the same products in the same number; the likeliest first in each."""
    kinds: dict[object, list[Need]] = {}
    for need in needs:
        products = frozenset(accept.product for accept in need.accepts)
        kinds.setdefault((products, need.not_from, need.pieces), []).append(need)
    return [sorted(kind, key=lambda need: (-chances[need.id], need.id)) for kind in kinds.values()]


def _wanted(finding: Finding, costs: Mapping[str, float]) -> tuple[str, ...]:
    """The needs of the branch that is best if each part is bought by itself."""
    best = max(finding.branches, key=lambda branch: branch.value - sum(costs[need] for need in branch.needs))
    return best.needs


def _cheapest(problem: TwoStageProblem, need: Need) -> float:
    """What its pieces cost where they are cheapest, postage left out; infinite where nobody has them."""
    amounts = [
        line_amount(offer.steps, offer.discount, need.pieces) + accept.penalty * need.pieces
        for offer, accept in usable(problem.order, need)
    ]
    return float(min(amounts, default=float("inf")))


def _pays_from(problem: TwoStageProblem, need: Need) -> float:
    suppliers = {supplier.id: supplier for supplier in problem.order.suppliers}
    bought = [
        (line_amount(offer.steps, offer.discount, need.pieces), suppliers[offer.supplier])
        for offer, _ in usable(problem.order, need)
        if not suppliers[offer.supplier].own
    ]
    if not bought:
        return 1.0
    price, supplier = min(bought, key=lambda way: way[0] + way[1].shipping)
    unit = next(unit for unit in problem.order.units if unit.id == need.unit)
    soonest, lead = unit.ready_day, supplier.lead_days
    days = max(soonest, lead + problem.look_days) - max(soonest, lead)
    return 1.0 - critical_ratio(supplier.shipping + unit.wait_per_day * days, price * (1.0 - problem.leftover))
