"""The plan of the lot: every unit's branch and one parts order at once, from what the bench file holds now.

Gathers facts, calls the engines, and says the answer in the bench file's own terms. Nothing is written here but what
one more bench minute was found to be worth.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress

import msgspec

from catalog.contested import Contest, contested
from catalog.purchase import Stopped
from catalog.purchase import front as purchase_front
from catalog.purchase_data import FrontPoint, PurchasePlan
from catalog.riders import Rider, riders
from catalog.sourcing_data import Sourcing
from triage import lotplan, store
from triage.actions.lots import get_lot
from triage.actions.moved import keep_planned
from triage.actions.pins import said_in_words
from triage.actions.plan_conflicts import conflicts_of, turned_down
from triage.actions.plan_contests import contested_view
from triage.actions.plan_facts import PlanFacts, Progress, gather
from triage.actions.plan_lines import ordered, rate_words
from triage.actions.plan_riders import riding_view
from triage.actions.plan_view import DayPoint, PlannedUnit, PlanView
from triage.bench_file import BenchFile
from triage.lot import PILE_WORDS, Unit
from triage.lot_data import LotPlan
from triage.lot_problem import taken
from triage.study import Study
from triage.wants import WantedPart, cures_of

Cancel = Callable[[], bool]


def plan_lot(
    bench: BenchFile,
    lot_id: int | None = None,
    *,
    cancel: Cancel | None = None,
    progress: Progress | None = None,
    better: Callable[[float, float], None] | None = None,
    with_front: bool = True,
) -> PlanView:
    """Plan the lot as it stands: proven best, or with the gap stated.

    Args:
        bench: the bench file.
        lot_id: the lot; None = the newest.
        cancel: polled while solving; true stops with the best plan so far, without its front.
        progress: told how many of the units are studied, before each and after the last; what it raises ends the work.
        better: told what the best plan so far brings, and how much more another could at most, in minor units.
        with_front: whether to reckon the front, the contested needs and what piles by hand cost too.

    Raises:
        Refused: there is no such lot.
    """
    facts = gather(bench, get_lot(bench, lot_id), progress)
    told = None if better is None else lambda seen: better(-seen.objective, seen.gap)
    plan = lotplan.plan(facts.problem, cancel=cancel, on_incumbent=told)
    worths = _keep_worths(bench, facts, plan, cancel)
    points: Sequence[FrontPoint] = ()
    contests: Sequence[Contest] = ()
    if with_front and plan.found and plan.purchase.lines:
        order = taken(facts.problem, plan)
        with suppress(Stopped):
            points = purchase_front(order, cancel=cancel)
            contests = contested(order, plan.purchase, cancel=cancel)
    along: Sequence[Rider] | None = None
    if with_front and plan.found:
        with suppress(Stopped):
            along = riders(taken(facts.problem, plan), plan.purchase, cancel=cancel)
    pins: dict[str, float] = {}
    if with_front and plan.found:
        with suppress(Stopped):
            for unit in facts.problem.pins:
                pins[unit] = lotplan.price_of_pin(facts.problem, plan, unit, cancel=cancel)
    pins_cost: float | None = None
    if with_front and plan.found:
        with suppress(Stopped):
            pins_cost = _pins_cost(facts, plan, cancel)
    view = _view(bench, facts, plan, points, contests, pins=pins, pins_cost=pins_cost)
    if plan.found:
        keep_planned(bench, facts.lot.id, view.units, view.donors)
    return msgspec.structs.replace(
        view, riding=riding_view(facts, plan.purchase, along), minute_worth=worths[0], day_worth=worths[1]
    )


def still_holds(bench: BenchFile, plan: PlanView) -> bool:
    """Whether the bench file still says all that the plan follows from."""
    return gather(bench, get_lot(bench, plan.lot.id), None).basis == plan.basis


def _keep_worths(
    bench: BenchFile, facts: PlanFacts, plan: LotPlan, cancel: Cancel | None
) -> tuple[float | None, float | None]:
    """What one more bench minute and one more day would bring; None where it is not limited, or not proven.

    Both are kept: the advice on a unit reckons with the minute, the Lot shows both.
    """
    if not plan.found:
        return None, None
    limited = facts.problem.bench is not None
    last_day = bool(facts.lot.deadline)
    try:
        minute = round(lotplan.minute_worth(facts.problem, plan, cancel=cancel), 3)
        day = round(lotplan.day_worth(facts.problem, plan, cancel=cancel), 3) if last_day else 0.0
    except Stopped:
        return None, None
    known = store.settings(bench.database)
    lot = facts.lot.id
    unknown = None if limited or last_day else 0.0  # where nothing is limited, nothing need be kept
    if (minute, day) != (store.lot_minutes(known).get(lot, unknown), store.lot_days(known).get(lot, unknown)):
        store.keep_lot_worths(bench.database, lot, minute=minute, day=day)
    return minute if limited else None, day if last_day else None


def _view(
    bench: BenchFile,
    facts: PlanFacts,
    plan: LotPlan,
    points: Sequence[FrontPoint],
    contests: Sequence[Contest],
    *,
    pins: Mapping[str, float],
    pins_cost: float | None,
) -> PlanView:
    names = {str(found.facts.unit.number): found for found in facts.studies}
    fixing = {number for number, branch in plan.decisions.items() if branch == "fix"}
    return PlanView(
        lot=facts.lot,
        status=str(plan.status),
        gap=plan.gap,
        total=plan.total,
        units=tuple(
            _planned_unit(facts, plan, names[number], branch, pins.get(number))
            for number, branch in sorted(plan.decisions.items(), key=lambda entry: int(entry[0]))
        ),
        **msgspec.structs.asdict(ordered(bench, facts, plan.purchase)),
        to_describe=tuple(
            part for part in facts.wanted if not part.described and (str(part.unit) in fixing or _looking(names, part))
        ),
        to_look=tuple(found.facts.unit.number for found in facts.studies if found.pile == "undecided"),
        left_out=_left_out(facts.sourcing),
        conflicts=conflicts_of(facts, plan),
        front=tuple(_point(bench, facts, point.plan, cheapest=point.cheapest) for point in points),
        own=_own_point(bench, facts, plan, points),
        contested=tuple(contested_view(bench, facts, plan, contest) for contest in contests),
        pins=tuple((pin.id, said_in_words(bench, pin)) for pin in facts.pins),
        pins_cost=pins_cost,
        idle=tuple(sorted(facts.idle)),
        late=tuple(sorted(facts.late)),
        today=facts.time.today,
        notes=_notes(bench, facts, plan.purchase),
        basis=facts.basis,
    )


def _pins_cost(facts: PlanFacts, plan: LotPlan, cancel: Cancel | None) -> float | None:
    """What the person's word on the order costs."""
    if not facts.pins:
        return None
    free = lotplan.plan(msgspec.structs.replace(facts.problem, order=facts.unpinned), cancel=cancel, grades=False)
    return max(0.0, free.total - plan.total) if str(free.status) == str(plan.status) == "optimal" else None


def _notes(bench: BenchFile, facts: PlanFacts, order: PurchasePlan) -> tuple[str, ...]:
    used = {facts.sourcing.sources[line.product].supplier for line in order.lines}
    currencies = {each.currency for each in facts.suppliers.values() if each.name in used} - {bench.currency}
    rates = [rate_words(bench, name) for name in sorted(bench.person.rates) if name in currencies]
    weightless = _weightless(facts, order)
    return (*rates, *weightless, *_taking_the_place(facts, order), *facts.unheard)


def _taking_the_place(facts: PlanFacts, order: PurchasePlan) -> list[str]:
    """Parts on their way that may come too late, and are bought or taken anew."""
    served = {called.need: called for called in (facts.called(entry.need) for entry in order.served)}
    return [
        f"{served[need]}: what is on its way may not be here before {facts.on(day)}; another takes its place"
        for need, day in sorted(facts.late_needs.items())
        if need in served
    ]


def _weightless(facts: PlanFacts, order: PurchasePlan) -> list[str]:
    """Suppliers whose postage goes by weight, where the weight of something bought is not stated."""
    by_weight = {each.id for each in facts.problem.order.suppliers if each.charges.by_weight}
    weights = {each.id: each.weight for each in facts.problem.order.offers}
    found = {line.supplier for line in order.lines if line.supplier in by_weight and not weights[line.offer]}
    return [
        f"{name}: postage goes by weight, and some weights are not stated; they count as nothing"
        for name in sorted(found)
    ]


def _point(bench: BenchFile, facts: PlanFacts, order: PurchasePlan, *, cheapest: bool) -> DayPoint:
    return DayPoint(
        day=order.arrival_day,
        date=facts.on(order.arrival_day),
        cost=order.money,
        total=order.total,
        cheapest=cheapest,
        ordered=ordered(bench, facts, order),
    )


def _own_point(bench: BenchFile, facts: PlanFacts, plan: LotPlan, points: Sequence[FrontPoint]) -> DayPoint | None:
    if not points or plan.purchase.total >= min(point.total for point in points):
        return None
    return _point(bench, facts, plan.purchase, cheapest=True)


def _looking(names: dict[str, Study], part: WantedPart) -> bool:
    found = names[str(part.unit)]
    return found.pile == "undecided" and found.action is not None and found.action.branch == "fix"


def _planned_unit(facts: PlanFacts, plan: LotPlan, found: Study, branch: str, pin_costs: float | None) -> PlannedUnit:
    unit: Unit = found.facts.unit
    return PlannedUnit(
        number=unit.number,
        class_name=found.device_class.name,
        pile=branch,
        pile_word=PILE_WORDS[branch],
        by_sums=found.action.branch if found.action else "undecided",
        by_hand=bool(unit.pile),
        value=plan.values.get(str(unit.number), 0.0),
        cures=cures_of(found) if branch == "fix" else (),
        turned_down=turned_down(facts, plan, found) if branch != "fix" else "",
        pin_costs=pin_costs,
        done=facts.on(plan.done[number]) if (number := str(unit.number)) in plan.done else "",
    )


def _left_out(sourcing: Sourcing) -> tuple[tuple[str, str], ...]:
    said = []
    for item in sourcing.left_out:
        origin = sourcing.sources.get(item.product)
        name = origin.description or origin.part_number if origin else item.product
        said.append((f"{origin.supplier}: {name}" if origin else name, item.why))
    return tuple(said)
