"""The plan of the lot: every unit's branch and one parts order at once, from what the bench file holds now.

Gathers facts, calls the engines, and says the answer in the bench file's own terms. Nothing is written here but what
one more bench minute was found to be worth.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from datetime import date, timedelta
from decimal import Decimal
from hashlib import sha256

import msgspec

from catalog import store as catalog_store
from catalog.database import reading
from catalog.money import digits, show
from catalog.purchase import Stopped
from catalog.purchase import front as purchase_front
from catalog.purchase_data import Conflict, FrontPoint, OrderLine, PurchasePlan, Reason
from catalog.sourcing import source
from catalog.sourcing_data import Sourcing
from triage import lotplan, store
from triage.actions.judging import own_pairs
from triage.actions.lots import get_lot
from triage.actions.plan_view import DayPoint, Ordered, PlannedLine, PlannedUnit, PlannedUse, PlanView
from triage.actions.promises import reserved
from triage.actions.studies import plain_study
from triage.bench_file import BenchFile
from triage.donors import DonorPart, donor_parts
from triage.lot import PILE_WORDS, Lot, Need, Unit, minutes_spent, pieces_missing
from triage.lot_data import LotConflict, LotPlan, LotProblem
from triage.lot_problem import deciding, lot_problem, need_name, order_unit, taken, to_source, wants_of
from triage.papers import OrderSheet, SheetLine
from triage.study import Study
from triage.wants import WantedPart, cures_of, wanted_of

Cancel = Callable[[], bool]
Progress = Callable[[int, int], None]
"""Units studied so far, and units in all."""


class _Gathered(msgspec.Struct, frozen=True):
    """The facts of one plan."""

    lot: Lot
    studies: tuple[Study, ...]
    wanted: tuple[WantedPart, ...]
    sourcing: Sourcing
    problem: LotProblem
    donors: dict[str, DonorPart]
    """What the units would give, by the donor's id in the sourcing."""
    offers: dict[int, catalog_store.Offer]
    """The offers in force by their number."""

    @property
    def basis(self) -> str:
        """A fingerprint of all that the plan follows from."""
        said = repr((self.problem, sorted(self.sourcing.sources.items()), self.wanted))
        return sha256(said.encode()).hexdigest()


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
        progress: told how many of the units are studied, before each; what it raises ends the work.
        with_front: whether to reckon the front too.

    Raises:
        Refused: there is no such lot.
    """
    facts = _gather(bench, get_lot(bench, lot_id), progress)
    plan = lotplan.plan(facts.problem, cancel=cancel)
    _keep_minute_worth(bench, facts, plan, cancel)
    points: Sequence[FrontPoint] = ()
    if with_front and plan.found and plan.purchase.lines:
        with suppress(Stopped):
            points = purchase_front(taken(facts.problem, plan), cancel=cancel)
    return _view(bench, facts, plan, points)


def still_holds(bench: BenchFile, plan: PlanView) -> bool:
    """Whether the bench file still says all that the plan follows from."""
    return _gather(bench, get_lot(bench, plan.lot.id), None).basis == plan.basis


def _keep_minute_worth(bench: BenchFile, facts: _Gathered, plan: LotPlan, cancel: Cancel | None) -> None:
    """Let the advice know what one more minute of this lot would bring; nothing is kept of a plan that is unproven."""
    if not plan.found:
        return
    with suppress(Stopped):
        worth = round(lotplan.minute_worth(facts.problem, plan, cancel=cancel), 3)
        if worth != store.lot_minutes(store.settings(bench.database)).get(facts.lot.id, 0.0):
            store.keep_lot_minute(bench.database, facts.lot.id, worth)


def _gather(bench: BenchFile, lot: Lot, progress: Progress | None) -> _Gathered:
    with reading(bench.database):
        units = [unit for unit in store.units(bench.database, lot.id) if unit.device_class in bench.classes]
        studies = tuple(_studies(bench, units, progress))
        needs = store.needs(bench.database, lot=lot.id)
        wanted = tuple(
            part
            for found in studies
            for part in wanted_of(found, [need for need in needs if need.unit == found.facts.unit.number])
        )
        promised = store.set_asides(bench.database)
        missing = {need.id: pieces_missing(need, promised) for need in needs}
        units_deciding = deciding(studies)
        donors = donor_parts(units_deciding, [part for part in wanted if to_source(part)], _by_unit(needs))
        offers = catalog_store.offers(bench.database)
        sourcing = source(
            [want for found in units_deciding for want in wants_of(found, wanted, missing)],
            currency=bench.currency,
            day=bench.today,
            parts=catalog_store.parts(bench.database),
            donors=[each.donor for each in donors],
            suppliers=catalog_store.suppliers(bench.database),
            offers=offers,
            units=[order_unit(found, wanted, lot, bench.today) for found in units_deciding],
            reserved=reserved(bench),
            pairs=own_pairs(catalog_store.pairs(bench.database)),
            labour_per_hour=bench.person.hour_worth,
            cash_limit=_cash_left(bench, lot),
        )
        spent = sum(minutes_spent(found.facts.happenings) for found in studies)
    problem = lot_problem(
        studies, wanted, sourcing.problem, donors=donors, lot=lot, minutes_spent=spent, today=bench.today
    )
    return _Gathered(
        lot=lot,
        studies=studies,
        wanted=wanted,
        sourcing=sourcing,
        problem=problem,
        donors={each.donor.id: each for each in donors},
        offers={offer.id: offer for offer in offers},
    )


def _by_unit(needs: Sequence[Need]) -> dict[int, list[Need]]:
    """The needs by the unit they are of."""
    found: dict[int, list[Need]] = {}
    for need in needs:
        found.setdefault(need.unit, []).append(need)
    return found


def _studies(bench: BenchFile, units: Sequence[Unit], progress: Progress | None) -> Iterator[Study]:
    for done, unit in enumerate(units):
        if progress is not None:
            progress(done, len(units))
        # the limit of hours is in the plan itself: what the last plan made of it must not move this one
        yield plain_study(bench, unit)


def _cash_left(bench: BenchFile, lot: Lot) -> int | None:
    """What the lot's ceiling leaves after the orders already placed for it."""
    if lot.cash_limit is None:
        return None
    placed = [order for order in store.orders(bench.database, lot.id) if not order.cancelled]
    return max(0, lot.cash_limit - sum(order.goods + order.shipping for order in placed))


def _view(bench: BenchFile, facts: _Gathered, plan: LotPlan, points: Sequence[FrontPoint]) -> PlanView:
    names = {str(found.facts.unit.number): found for found in facts.studies}
    fixing = {number for number, branch in plan.decisions.items() if branch == "fix"}
    return PlanView(
        lot=facts.lot,
        status=str(plan.status),
        gap=plan.gap,
        total=plan.total,
        units=tuple(
            _planned_unit(names[number], branch, plan.values.get(number, 0.0))
            for number, branch in sorted(plan.decisions.items(), key=lambda entry: int(entry[0]))
        ),
        **msgspec.structs.asdict(_ordered(bench, facts, plan.purchase)),
        to_describe=tuple(
            part for part in facts.wanted if not part.described and (str(part.unit) in fixing or _looking(names, part))
        ),
        to_look=tuple(found.facts.unit.number for found in facts.studies if found.pile == "undecided"),
        left_out=_left_out(facts.sourcing),
        conflicts=tuple(_in_words(facts, conflict, bench.today, bench.currency) for conflict in plan.conflicts)
        + _unserved(facts, plan),
        front=tuple(
            DayPoint(
                day=point.arrival_day,
                date=_on(bench.today, point.arrival_day),
                cost=point.cost,
                total=point.total,
                cheapest=point.cheapest,
                ordered=_ordered(bench, facts, point.plan),
            )
            for point in points
        ),
        basis=facts.basis,
    )


def _ordered(bench: BenchFile, facts: _Gathered, purchase: PurchasePlan) -> Ordered:
    order = tuple(_line(bench, facts, line) for line in purchase.lines)
    own = tuple(_line(bench, facts, line) for line in purchase.own)
    return Ordered(
        order=order,
        drawer=tuple(line for line in own if line.donor is None),
        donors=tuple(line for line in own if line.donor is not None),
        sheets=_sheets(bench, facts, purchase, order),
        goods=purchase.goods,
        shipping=purchase.shipping,
        rework=purchase.rework,
        waiting=purchase.waiting,
        arrival=_on(bench.today, purchase.arrival_day) if order else "",
        arrival_late=_on(bench.today, purchase.late_day) if order else "",
    )


def _looking(names: dict[str, Study], part: WantedPart) -> bool:
    found = names[str(part.unit)]
    return found.pile == "undecided" and found.action is not None and found.action.branch == "fix"


def _planned_unit(found: Study, branch: str, value: float) -> PlannedUnit:
    unit: Unit = found.facts.unit
    return PlannedUnit(
        number=unit.number,
        class_name=found.device_class.name,
        pile=branch,
        pile_word=PILE_WORDS[branch],
        by_sums=found.action.branch if found.action else "undecided",
        by_hand=bool(unit.pile),
        value=value,
        cures=cures_of(found) if branch == "fix" else (),
    )


def _line(bench: BenchFile, facts: _Gathered, line: OrderLine) -> PlannedLine:
    origin = facts.sourcing.sources[line.product]
    wanted = {f"need {part.need.id}": part for part in facts.wanted if part.need}
    uses = []
    for use in line.uses:
        fit = facts.sourcing.fits[use.need, line.product]
        uses.append(
            PlannedUse(
                need=int(use.need.removeprefix("need ")),
                unit=int(use.unit),
                part=wanted[use.need].part_name,
                pieces=use.pieces,
                grade=use.grade,
                do=tuple(fit.do),
                tell=tuple(fit.tell),
            )
        )
    held = catalog_store.part(bench.database, int(origin.id)) if origin.source == "part" else None
    offer = next((item for item in facts.sourcing.problem.offers if item.id == line.offer), None)
    sold = facts.offers[int(origin.id)] if origin.source == "offer" else None
    giver = facts.donors[str(origin.id)] if origin.source == "donor" else None
    return PlannedLine(
        supplier=origin.supplier if origin.source == "offer" else "",
        sku=origin.sku,
        part_number=origin.part_number,
        description=origin.description,
        packs=line.packs,
        pack=offer.pack_size if offer else 1,
        pieces=line.pieces,
        price=_price(sold, line, bench.currency) if sold else "",
        amount=line.amount,
        kind=sold.kind if sold else "",
        uses=tuple(uses),
        part_id=held.id if held else None,
        place=held.place if held else f"unit {giver.unit}" if giver else "",
        donor=giver.unit if giver else None,
        donor_part=giver.part if giver else "",
    )


def _price(offer: catalog_store.Offer, line: OrderLine, currency: str) -> str:
    """The unit price that was reached, as the supplier states it; the mean where each step has its own price."""
    places = digits(currency)
    if offer.discount == "incremental" and len(offer.steps) > 1:
        mean = Decimal(line.amount).scaleb(-places) / line.pieces
        return f"{mean.quantize(Decimal(1).scaleb(-places - 2)).normalize():f}"
    step = max((item for item in offer.steps if item.start <= line.pieces), key=lambda item: item.start)
    if step.per == 1:
        return show(step.amount, currency)
    return f"{Decimal(step.amount).scaleb(-places).normalize():f} per {step.per}"


def _sheets(
    bench: BenchFile, facts: _Gathered, plan: PurchasePlan, lines: Sequence[PlannedLine]
) -> tuple[OrderSheet, ...]:
    sheets = []
    senders = {supplier.id: supplier for supplier in facts.sourcing.problem.suppliers}
    for cost in plan.suppliers:
        mine = [line for line in lines if line.supplier and line.supplier == cost.supplier]
        if not mine:
            continue
        sender = senders[cost.supplier]
        sheets.append(
            OrderSheet(
                supplier=cost.supplier,
                currency=bench.currency,
                lines=tuple(_sheet_line(line) for line in mine),
                goods=cost.goods,
                shipping=cost.shipping,
                due=_on(bench.today, sender.lead_days),
                due_late=_on(bench.today, sender.late),
                to_free=max(0, sender.free_from - cost.goods) if sender.free_from and cost.shipping else None,
            )
        )
    return tuple(sheets)


def _sheet_line(line: PlannedLine) -> SheetLine:
    return SheetLine(
        sku=line.sku,
        part_number=line.part_number,
        description=line.description,
        packs=line.packs,
        pack=line.pack,
        price=line.price,
        line_total=line.amount,
        units=line.units,
        grade=line.grade,
        spare=line.pieces - sum(use.pieces for use in line.uses),
    )


def _left_out(sourcing: Sourcing) -> tuple[tuple[str, str], ...]:
    said = []
    for item in sourcing.left_out:
        origin = sourcing.sources.get(item.product)
        name = origin.description or origin.part_number if origin else item.product
        said.append((f"{origin.supplier}: {name}" if origin else name, item.why))
    return tuple(said)


def _in_words(facts: _Gathered, conflict: LotConflict, today: date, currency: str) -> str:
    """The conflict with units, piles and parts called as the person knows them."""
    names = {need_name(part.need): f"{part.part_name} for unit {part.unit}" for part in facts.wanted if part.need}
    who, _, why = conflict.detail.partition(": ")
    for pile, word in PILE_WORDS.items():
        who = re.sub(rf"\b{pile}\b", word, who)
    if conflict.order:
        why = "; ".join(_reason(reason, names, today, currency) for reason in conflict.order)
    return f"unit {who}: {why}"


def _reason(conflict: Conflict, names: dict[str, str], today: date, currency: str) -> str:
    parts = ", ".join(names.get(need, need) for need in conflict.needs)
    if conflict.reason is Reason.CASH_LIMIT:
        least, limit = (show(amount, currency) for amount in conflict.figures)
        return f"at least {least} in goods and postage, the limit is {limit}"
    if conflict.reason is Reason.NONE_IN_TIME:
        last, soonest = (_on(today, day) for day in conflict.figures)
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


def _unserved(facts: _Gathered, plan: LotPlan) -> tuple[str, ...]:
    """Described needs that nothing meets, in words."""
    missing = {need.id for need in facts.sourcing.problem.needs if not need.accepts}
    return tuple(
        f"unit {part.unit}: nothing at hand or on offer fits {part.part_name} ({part.need.text})"
        for part in facts.wanted
        if part.need is not None and f"need {part.need.id}" in missing and plan.found
    )


def _on(today: date, day: int) -> str:
    return (today + timedelta(days=day)).isoformat()
