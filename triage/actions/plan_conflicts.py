"""What stands against a plan of the lot, in words: which needs, which dates and which limits."""

from __future__ import annotations

import re

from catalog.money import show
from catalog.purchase_data import Conflict, Reason
from triage.actions.plan_facts import PlanFacts
from triage.lot import PILE_WORDS
from triage.lot_data import LotConflict, LotPlan
from triage.lot_problem import need_name


def conflicts_of(facts: PlanFacts, plan: LotPlan) -> tuple[str, ...]:
    """Every conflict as a line."""
    return tuple(_in_words(facts, conflict) for conflict in plan.conflicts) + _unserved(facts, plan)


def _in_words(facts: PlanFacts, conflict: LotConflict) -> str:
    """The conflict with units, piles and parts called as the person knows them."""
    names = {need_name(part.need): f"{part.part_name} for unit {part.unit}" for part in facts.wanted if part.need}
    who, _, why = conflict.detail.partition(": ")
    for pile, word in PILE_WORDS.items():
        who = re.sub(rf"\b{pile}\b", word, who)
    if conflict.order:
        why = "; ".join(_reason(facts, reason, names) for reason in conflict.order)
    return f"unit {who}: {why}"


def _reason(facts: PlanFacts, conflict: Conflict, names: dict[str, str]) -> str:
    parts = ", ".join(names.get(need, need) for need in conflict.needs)
    if conflict.reason is Reason.CASH_LIMIT:
        least, limit = (show(amount, facts.currency) for amount in conflict.figures)
        return f"at least {least} in goods and postage, the limit is {limit}"
    if conflict.reason is Reason.NONE_IN_TIME:
        last, soonest = (facts.on(day) for day in conflict.figures)
        return f"{parts}: wanted by {last}, it may not be here before {soonest}"
    if conflict.reason is Reason.NOT_ENOUGH_STOCK and conflict.figures:
        return f"{parts}: {conflict.figures[0]} pieces wanted, {conflict.figures[1]} in stock in time"
    said = {
        Reason.NO_OFFER: "nothing on offer fits",
        Reason.NOT_ENOUGH_STOCK: "fewer in stock than must be taken",
        Reason.MINIMUM_ORDER: "the smallest order cannot be reached",
        Reason.TOGETHER: "each can be had alone, not all of them",
    }
    return f"{parts}: {said[conflict.reason]}"


def _unserved(facts: PlanFacts, plan: LotPlan) -> tuple[str, ...]:
    """Described needs that nothing meets, in words."""
    missing = {need.id for need in facts.sourcing.problem.needs if not need.accepts}
    return tuple(
        f"unit {part.unit}: nothing at hand or on offer fits {part.part_name} ({part.need.text})"
        for part in facts.wanted
        if part.need is not None and f"need {part.need.id}" in missing and plan.found
    )
