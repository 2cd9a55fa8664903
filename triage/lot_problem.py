"""From the studies of a lot's units to the one problem that is solved for all of them: branches, wants, hours, days.

Pure. A unit's own sum holds guesses for parts and waiting; what the order prices itself is taken out of it here, so
that nothing is counted twice.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from types import MappingProxyType
from typing import Any

import msgspec

from catalog.describe import read
from catalog.money import rounded
from catalog.pricelists import described
from catalog.purchase_data import OrderUnit, PurchaseProblem
from catalog.sourcing_candidates import donor_product
from catalog.sourcing_data import Want
from triage.bench_week import minutes_by_day, week_of
from triage.branches import BranchKind
from triage.donors import DonorOffer
from triage.lot import Lot, Need, Spare
from triage.lot_data import Bench, LotBranch, LotPlan, LotProblem, LotUnit, Yield
from triage.lot_rows import order_of
from triage.study import Study
from triage.wants import WantedPart, cures_of
from triage.worth import needed_parts, parts_cost

HELD = -1.0
"""Minor units a unit brings that is left lying: nothing, and a little less than any other way that costs nothing."""


SPARES = "spares"
"""Id of what stands in the order problem for the unit of spares."""
_LATER = "later "


def deciding(studies: Sequence[Study]) -> list[Study]:
    """The units that a plan decides: those where no look pays any more, and those put on a pile by hand."""
    return [found for found in studies if found.pile != "undecided" and found.decision is not None]


def need_name(need: Need) -> str:
    """A need's id in the order problem."""
    return f"need {need.id}"


def spare_name(spare: Spare) -> str:
    """The id of spares in the order problem."""
    return f"spare {spare.id}"


def later_name(unit: int) -> str:
    """The id of what stands in the order problem for a unit's wishes: they never hold the unit up."""
    return f"{_LATER}{unit}"


def unit_number(name: str) -> int | None:
    """The unit that an id of the order problem speaks of; None for spares."""
    return None if name == SPARES else int(name.removeprefix(_LATER))


def riding(wishes: Iterable[tuple[Need, int, int]], spares: Iterable[Spare]) -> list[Want]:
    """What may ride along: wishes with (pieces nothing is promised for, worth), and spares."""
    wants = [
        Want(
            id=need_name(need),
            unit=later_name(need.unit),
            pieces=missing,
            worth=worth,
            role=need.role or None,
            **_what(need.text, need.kind),
        )
        for need, missing, worth in wishes
        if need.text and need.state == "open" and missing > 0
    ]
    wants += [
        Want(
            id=spare_name(spare),
            unit=SPARES,
            pieces=spare.pieces,
            use_chance=spare.chance,
            price=spare.price,
            **_what(spare.text, spare.kind),
        )
        for spare in spares
    ]
    return wants


def _what(text: str, kind: str) -> dict[str, Any]:
    """A described part as a want states it."""
    seen = described(text, "", kind, read)
    number = text if seen.spec is None else ""
    return {"spec": seen.spec, "part_number": number, "description": text, "left_over": seen.left_over}


def to_source(part: WantedPart) -> bool:
    """Whether pieces for it are still to be found."""
    return part.need is not None and part.described and part.need.state == "open"


def wants_of(found: Study, wanted: Sequence[WantedPart], missing: Mapping[int, int]) -> list[Want]:
    """What the unit wants to be sourced. `missing` is {need id: pieces nothing is promised for}."""
    worth = found.case.worth
    success = found.decision.sum_of("fix").success if found.decision else 1.0
    wants = []
    for part in _of(found, wanted):
        need = part.need
        if need is None or not to_source(part):
            continue
        wants.append(
            Want(
                id=need_name(need),
                unit=str(part.unit),
                pieces=missing[need.id],
                **_what(need.text, need.kind),
                role=need.role or None,
                compromise_ok=need.compromise_ok,
                value=rounded(worth.working),
                failed=rounded(worth.as_is_after),
                chance=success,
            )
        )
    return wants


def _ready_day(found: Study, wanted: Sequence[WantedPart], coming: Mapping[int, int]) -> int:
    """Typical day on which everything is here that is on its way for the unit's repair; 0 where nothing is."""
    days = (coming.get(part.need.id, 0) for part in _of(found, wanted) if part.need is not None)
    return max(days, default=0)


def order_unit(
    found: Study,
    wanted: Sequence[WantedPart],
    lot: Lot,
    today: date,
    coming: Mapping[int, int] = MappingProxyType({}),
) -> OrderUnit:
    """When the unit must have its parts, and what a day of waiting costs it.

    What is on its way for it anyhow (`coming`: {need: typical day}) it waits for whatever is ordered now; what comes
    too late for its last day is none of that.
    A unit with parts still to be described waits for those by the class file's guess, whatever the order does.
    """
    deadline = max(0, (date.fromisoformat(lot.deadline) - today).days) if lot.deadline else None
    ready = _ready_day(found, wanted, coming)
    if deadline is not None and found.facts.unit.pile:
        ready = min(ready, max(0, deadline - 1))  # what the person put on the pile is worked on by the last day
    return OrderUnit(
        id=str(found.facts.unit.number),
        wait_per_day=rounded(found.case.worth.delay_per_day) if _all_described(found, wanted) else 0,
        deadline_day=deadline,
        ready_day=ready,
    )


def lot_problem(
    studies: Sequence[Study],
    wanted: Sequence[WantedPart],
    order: PurchaseProblem,
    *,
    donors: Sequence[DonorOffer] = (),
    lot: Lot,
    minutes_spent: float,
    spent_today: float = 0.0,
    today: date,
) -> LotProblem:
    """The whole lot: each deciding unit's branches, the order and donors they share, the bench time left."""
    units = deciding(studies)
    bench = _bench(lot, minutes_spent, spent_today, today)
    fall = lot.price_fall / 7 if bench is not None and bench.days is not None else 0.0
    waiting = {unit.id: unit for unit in order.units}
    return LotProblem(
        units=tuple(_lot_unit(found, wanted, donors, fall, waiting) for found in units),
        order=order,
        bench=bench,
        pins={str(found.facts.unit.number): found.pile for found in units if found.facts.unit.pile},
    )


def taken(problem: LotProblem, plan: LotPlan) -> PurchaseProblem:
    """The order problem of the needs that the plan really serves, with the donors' parts that it lifts.

    What a donor loses by another part is not in the order, so no other part may be taken there.
    """
    order = order_of(msgspec.structs.replace(problem, pins=plan.decisions))
    served = {entry.need for entry in plan.purchase.served}
    donors = {each.offer for unit in problem.units for branch in unit.branches for each in branch.yields}
    left_alone = donors - {entry.offer for entry in plan.purchase.served}
    return msgspec.structs.replace(
        order,
        needs=tuple(need for need in order.needs if need.spare or need.id in served),
        offers=tuple(offer for offer in order.offers if offer.id not in left_alone),
    )


def _of(found: Study, wanted: Sequence[WantedPart]) -> list[WantedPart]:
    return [part for part in wanted if part.unit == found.facts.unit.number]


def _all_described(found: Study, wanted: Sequence[WantedPart]) -> bool:
    return all(part.described for part in _of(found, wanted))


def _lot_unit(
    found: Study,
    wanted: Sequence[WantedPart],
    donors: Sequence[DonorOffer],
    fall: float,
    waiting: Mapping[str, OrderUnit],
) -> LotUnit:
    assert found.decision is not None  # noqa: S101 - units without a decision are not planned
    mine = _of(found, wanted)
    branches: list[LotBranch] = []
    number = str(found.facts.unit.number)
    ordered = waiting.get(number, OrderUnit(id=number))
    for item in found.decision.sums:
        value, needs, day = item.value, tuple[str, ...](), 0
        if item.kind == "fix":
            day = ordered.ready_day
            value = _fix_value(found) + _already_counted(found, mine) - ordered.wait_per_day * day
            needs = tuple(need_name(part.need) for part in mine if part.need is not None and to_source(part))
        branches.append(
            LotBranch(
                id=item.id,
                kind=item.kind,
                value=value,
                minutes=item.minutes,
                needs=needs,
                ready=day,
                day_loss=min(_price(found, item.kind) * fall, ordered.wait_per_day if needs or day else math.inf),
                yields=_yields(found, donors) if item.kind == "part_out" else (),
            )
        )
    pile = found.pile if found.facts.unit.pile else "hold"
    if pile not in {branch.id for branch in branches}:
        branches.append(LotBranch(id=pile, kind=pile, value=HELD if pile == "hold" else 0.0))  # type: ignore[arg-type]
    return LotUnit(id=number, branches=tuple(branches))


def _price(found: Study, kind: BranchKind) -> float:
    """What the branch sells: the working unit, its parts, or the unit as it stands; nothing where nothing is sold."""
    worth = found.case.worth
    sold = 0.0 if found.facts.unit.own_worth is not None else worth.working
    prices: dict[BranchKind, float] = {"fix": sold, "part_out": worth.part_out, "as_is": worth.as_is}
    return max(0.0, prices.get(kind, 0.0))


def _yields(found: Study, donors: Sequence[DonorOffer]) -> tuple[Yield, ...]:
    """What others may take of it; what it brings in parts counts all of them as sold, its minutes are those of all."""
    return tuple(
        Yield(part=each.part, pieces=each.donor.pieces, used_cost=each.loss, offer=donor_product(each.donor.id))
        for each in donors
        if each.unit == found.facts.unit.number
    )


def _fix_value(found: Study) -> float:
    """With the second try that the advice reckons with, where a repair is the advice."""
    if found.action is not None and found.action.action == "repair":
        return found.action.value
    return found.decision.sum_of("fix").value if found.decision else 0.0


def _already_counted(found: Study, mine: Sequence[WantedPart]) -> float:
    """What the unit's own sum holds for parts that the order prices, and for the waiting that the order charges."""
    worth, curing = found.case.worth, needed_parts(found.device_class, cures_of(found))
    settled = [part for part in mine if part.described and part.part in {*curing, *worth.missing}]
    costs = sum(worth.part_costs.get(part.part, 0.0) * (part.part in curing) for part in settled)
    costs += sum(worth.missing.get(part.part, 0.0) for part in settled)
    waits = bool(settled) and _all_described(found, mine) and parts_cost(found.device_class, worth, cures_of(found)) > 0
    return costs + (worth.delay_days * worth.delay_per_day if waits else 0.0)


def _bench(lot: Lot, minutes_spent: float, spent_today: float, today: date) -> Bench | None:
    """The hours said for the lot as a whole, those of its weekdays up to the last day, or the fewer of both.

    What was spent before is taken off the whole, what was spent today off today's hours.
    """
    days = max(1, (date.fromisoformat(lot.deadline) - today).days) if lot.deadline else None
    whole = None if lot.bench_minutes is None else max(0.0, lot.bench_minutes - minutes_spent)
    week = week_of(lot.week)
    if not week or days is None:
        return None if whole is None else Bench(minutes=whole, days=days)
    *by_day, next_day = minutes_by_day(week, today, days + 1, spent_today)
    stated = sum(by_day)
    return Bench(
        minutes=stated if whole is None else min(whole, stated), days=days, by_day=tuple(by_day), next_day=next_day
    )
