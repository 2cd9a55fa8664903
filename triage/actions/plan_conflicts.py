"""What stands against a plan of the lot, in words: which needs, which dates and which limits."""

from __future__ import annotations

import re
from collections.abc import Sequence

from catalog.money import show, shown
from catalog.purchase_data import Conflict, Reason
from triage.actions.plan_facts import PlanFacts
from triage.lot import PILE_WORDS
from triage.lot_data import LotConflict, LotPlan
from triage.lot_problem import need_name
from triage.not_fixed import NotFixed, why_not_fixed
from triage.study import Study


def conflicts_of(facts: PlanFacts, plan: LotPlan) -> tuple[str, ...]:
    """What stands against the whole plan, or against parts that nothing meets; each as a line."""
    return tuple(_in_words(facts, conflict) for conflict in plan.conflicts) + _unserved(facts, plan)


def turned_down(facts: PlanFacts, plan: LotPlan, found: Study) -> str:
    """Why the plan does not fix a unit that its own sums would fix, in words; empty otherwise."""
    number = str(found.facts.unit.number)
    wishes = found.action is not None and found.action.branch == "fix" and not found.facts.unit.pile
    why = why_not_fixed(facts.problem, plan, number) if wishes else None
    if why is None:
        return ""
    mine = {part.need.id for part in facts.wanted if part.need is not None and part.unit == found.facts.unit.number}
    late = max((day for need, day in facts.late_needs.items() if need in mine), default=0)
    before = f"its parts on their way may not be here before {facts.on(late)}; " if late else ""
    return before + _turned_down(facts, why)


def _turned_down(facts: PlanFacts, why: NotFixed) -> str:
    if why.conflicts:
        return "; ".join(_reason(facts, reason, _names(facts)) for reason in why.conflicts)
    if why.serves:
        return f"its parts serve unit {', '.join(why.serves)}"
    if why.short < 0:
        return "fixing would bring more, but the bench hours or the cash go further elsewhere"
    return f"with its parts and their postage, fixing brings {shown(why.short, facts.currency)} less"


def _names(facts: PlanFacts) -> dict[str, str]:
    return {need_name(part.need): f"{part.part_name} for unit {part.unit}" for part in facts.wanted if part.need}


def _in_words(facts: PlanFacts, conflict: LotConflict) -> str:
    """The conflict with units, piles and parts called as the person knows them."""
    who, _, why = conflict.detail.partition(": ")
    for pile, word in PILE_WORDS.items():
        who = re.sub(rf"\b{pile}\b", word, who)
    if conflict.order:
        why = "; ".join(_reason(facts, reason, _names(facts)) for reason in conflict.order)
    return f"unit {who}: {why}"


def _reason(facts: PlanFacts, conflict: Conflict, names: dict[str, str]) -> str:
    parts = ", ".join(names.get(need, need) for need in conflict.needs)
    if conflict.reason is Reason.CASH_LIMIT:
        least, limit = (show(amount, facts.currency) for amount in conflict.figures)
        what = f"{parts}: " if parts else ""
        return f"{what}at least {least} in goods and postage, the limit is {limit}{_besides(facts, conflict)}"
    if conflict.reason is Reason.NONE_IN_TIME:
        last, soonest = (facts.on(day) for day in conflict.figures)
        return f"{parts}: wanted by {last}, it may not be here before {soonest}"
    if conflict.reason is Reason.NOT_ENOUGH_STOCK and conflict.figures:
        in_time = " in time" if conflict.dates else ""
        return f"{parts}: {conflict.figures[0]} pieces wanted, {conflict.figures[1]} in stock{in_time}"
    said = {
        Reason.NO_OFFER: "nothing on offer fits",
        Reason.NOT_ENOUGH_STOCK: "fewer in stock than must be taken",
        Reason.MINIMUM_ORDER: "the smallest order cannot be reached",
        Reason.TOGETHER: "each can be had alone, not all of them",
        Reason.KEPT: "not all that is kept can be had",
    }
    if conflict.reason is Reason.NO_OFFER and _closed(facts, conflict):
        return f"{parts}: your word on where to buy leaves nothing that fits"
    if conflict.reason in {Reason.TOGETHER, Reason.KEPT}:
        return f"{parts or 'the order'}: {said[conflict.reason]}{_besides(facts, conflict)}"
    return f"{parts}: {said[conflict.reason]}"


def _besides(facts: PlanFacts, conflict: Conflict) -> str:
    """What else is part of it: with any one of these given up, or of the parts, there is a plan."""
    days = {unit.id: unit.deadline_day for unit in facts.problem.order.units}
    by_day: dict[int, list[str]] = {}
    for unit in conflict.dates:
        by_day.setdefault(days.get(unit) or 0, []).append(unit)
    said = [f"the last day of unit {_listed(units)}, {facts.on(day)}," for day, units in sorted(by_day.items())]
    said += [f"how many there are of {_offered(facts, offer)}" for offer in conflict.stock]
    said += [f"the smallest order of {supplier}" for supplier in conflict.least]
    said += [f"that {_offered(facts, offer)} is kept" for offer in conflict.kept]
    if not said:
        return ""
    return f"; {_listed(said)} stand{'s' if len(said) == 1 else ''} against it"


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _closed(facts: PlanFacts, conflict: Conflict) -> bool:
    """Whether something would serve without the person's word."""
    sold = {offer.product for offer in facts.unpinned.offers}
    free = (need for need in facts.unpinned.needs if need.id in conflict.needs)
    return bool(facts.pins) and any(accept.product in sold for need in free for accept in need.accepts)


def _offered(facts: PlanFacts, offer: str) -> str:
    """An offer as the person knows it."""
    origin = facts.sourcing.sources.get(offer)
    return f"{origin.supplier} {origin.sku or origin.description}".strip() if origin else offer


def _unserved(facts: PlanFacts, plan: LotPlan) -> tuple[str, ...]:
    """Described needs that nothing meets, in words."""
    missing = {need.id for need in facts.sourcing.problem.needs if not need.accepts}
    return tuple(
        f"unit {part.unit}: nothing at hand or on offer fits {part.part_name} ({part.need.text})"
        for part in facts.wanted
        if part.need is not None and f"need {part.need.id}" in missing and plan.found
    )
