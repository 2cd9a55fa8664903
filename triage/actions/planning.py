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
from catalog.purchase_data import FrontPoint
from catalog.sourcing_data import Sourcing
from triage import lotplan, store
from triage.actions.lots import get_lot
from triage.actions.plan_conflicts import conflicts_of, turned_down
from triage.actions.plan_contests import contested_view
from triage.actions.plan_facts import PlanFacts, Progress, gather
from triage.actions.plan_lines import ordered
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
    with_front: bool = True,
) -> PlanView:
    """Plan the lot as it stands: proven best, or with the gap stated.

    Args:
        bench: the bench file.
        lot_id: the lot; None = the newest.
        cancel: polled while solving; true stops with the best plan so far, without its front.
        progress: told how many of the units are studied, before each and after the last; what it raises ends the work.
        with_front: whether to reckon the front, the contested needs and what piles by hand cost too.

    Raises:
        Refused: there is no such lot.
    """
    facts = gather(bench, get_lot(bench, lot_id), progress)
    plan = lotplan.plan(facts.problem, cancel=cancel)
    _keep_minute_worth(bench, facts, plan, cancel)
    points: Sequence[FrontPoint] = ()
    contests: Sequence[Contest] = ()
    if with_front and plan.found and plan.purchase.lines:
        order = taken(facts.problem, plan)
        with suppress(Stopped):
            points = purchase_front(order, cancel=cancel)
            contests = contested(order, plan.purchase, cancel=cancel)
    pins: dict[str, float] = {}
    if with_front and plan.found:
        with suppress(Stopped):
            for unit in facts.problem.pins:
                pins[unit] = lotplan.price_of_pin(facts.problem, plan, unit, cancel=cancel)
    return _view(bench, facts, plan, points, contests, pins=pins)


def still_holds(bench: BenchFile, plan: PlanView) -> bool:
    """Whether the bench file still says all that the plan follows from."""
    return gather(bench, get_lot(bench, plan.lot.id), None).basis == plan.basis


def _keep_minute_worth(bench: BenchFile, facts: PlanFacts, plan: LotPlan, cancel: Cancel | None) -> None:
    """Let the advice know what one more minute of this lot would bring; nothing is kept of a plan that is unproven."""
    if not plan.found:
        return
    with suppress(Stopped):
        worth = round(lotplan.minute_worth(facts.problem, plan, cancel=cancel), 3)
        if worth != store.lot_minutes(store.settings(bench.database)).get(facts.lot.id, 0.0):
            store.keep_lot_minute(bench.database, facts.lot.id, worth)


def _view(
    bench: BenchFile,
    facts: PlanFacts,
    plan: LotPlan,
    points: Sequence[FrontPoint],
    contests: Sequence[Contest],
    *,
    pins: Mapping[str, float],
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
        front=tuple(
            DayPoint(
                day=point.arrival_day,
                date=facts.on(point.arrival_day),
                cost=point.cost,
                total=point.total,
                cheapest=point.cheapest,
                ordered=ordered(bench, facts, point.plan),
            )
            for point in points
        ),
        contested=tuple(contested_view(bench, facts, plan, contest) for contest in contests),
        basis=facts.basis,
    )


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
    )


def _left_out(sourcing: Sourcing) -> tuple[tuple[str, str], ...]:
    said = []
    for item in sourcing.left_out:
        origin = sourcing.sources.get(item.product)
        name = origin.description or origin.part_number if origin else item.product
        said.append((f"{origin.supplier}: {name}" if origin else name, item.why))
    return tuple(said)
