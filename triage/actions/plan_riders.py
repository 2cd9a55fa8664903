"""What rides along in the plan's order, in the person's terms: wishes for later and spares, their worth and cost."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from catalog.money import show
from catalog.purchase_data import PurchasePlan
from catalog.riders import Rider
from triage.actions.plan_facts import PlanFacts
from triage.actions.plan_view import Riding


def riding_view(facts: PlanFacts, order: PurchasePlan, found: Sequence[Rider] | None) -> tuple[Riding, ...]:
    """Every wish and all spares that the plan could take; `found` None where their costs were not reckoned.

    Of spares that lie in the drawer or are on their way in full nothing is told.
    """
    bought: dict[str, int] = {}
    for line in order.lines:
        for use in line.uses:
            bought[use.need] = bought.get(use.need, 0) + use.pieces
    costs = {rider.need: rider for rider in found or ()}
    served: dict[str, int] = {}
    for entry in order.served:
        served[entry.need] = served.get(entry.need, 0) + entry.pieces
    listed = []
    for need in facts.problem.order.needs:
        if not need.spare:
            continue
        called, rider, had = facts.called(need.id), costs.get(need.id), served.get(need.id, 0)
        mine = bought.get(need.id, 0)
        if called.rides == "spare" and had == need.pieces and not mine:
            continue
        spare = next((one.id for one in facts.spares if called.need is None and one.text == called.words), 0)
        listed.append(
            Riding(
                rides="wish" if called.rides == "wish" else "spare",
                number=called.need if called.need is not None else spare,
                unit=called.unit,
                part=called.part,
                words=called.words,
                wanted=need.pieces,
                at_hand=had - mine,
                bought=mine,
                worth=rider.worth if rider is not None else sum(need.worths[:had] if had else need.worths),
                costs=rider.costs if rider is not None else None,
                why="" if need.accepts else _nearest(facts, need.id),
            )
        )
    return tuple(listed)


def _nearest(facts: PlanFacts, need: str) -> str:
    """What comes nearest to serving a need that nothing serves, and why it does not."""
    found = [(fit.grade.rank, product) for (name, product), fit in facts.sourcing.fits.items() if name == need]
    if not found:
        return "nothing of its kind lies in the drawer or is on offer"
    product = min(found)[1]
    origin, fit = facts.sourcing.sources[product], facts.sourcing.fits[need, product]
    why = next((reason.why for reason in fit.reasons if reason.result is fit.grade), fit.grade.value)
    return f"nearest is {origin.description or origin.part_number} ({origin.supplier}): {fit.grade}, {why}"


def riding_words(one: Riding, currency: str) -> str:
    """What stands for or against taking it along, in a few words."""
    worth = f"worth {show(one.worth, currency)}"
    if one.costs is None:
        return (
            f"rides along, {worth}"
            if one.taken
            else f"nothing known to fit, {worth}"
            if one.why
            else f"not to be had now, {worth}"
        )
    if one.taken:
        return f"rides along for {show(one.costs, currency)}, {worth}"
    return f"left: {show(one.costs, currency)} more, {worth}"


def riding_lines(along: Sequence[Riding], currency: str) -> Iterator[str]:
    """One line each, for the command line."""
    for one in along:
        who = f"unit {one.unit} {one.part}" if one.rides == "wish" else "spare"
        yield f"{who}, {one.words}: {riding_words(one, currency)}"
