"""The plan of the lot: every unit's branch and one parts order at once, from what the bench file holds now.

Gathers facts, calls the engines, and says the answer in the bench file's own terms. Nothing is written here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from datetime import date, timedelta

import msgspec

from catalog import store as catalog_store
from catalog.describe import read
from catalog.money import digits, rounded, show
from catalog.pricelists import described
from catalog.purchase import Stopped
from catalog.purchase import front as purchase_front
from catalog.purchase_data import FrontPoint, OrderLine, OrderUnit, PurchasePlan, PurchaseProblem
from catalog.sourcing import source
from catalog.sourcing_data import Sourcing, Want
from triage import lotplan, store
from triage.actions.judging import own_pairs
from triage.actions.lots import get_lot
from triage.actions.needs import WantedPart, cures_of, wanted_of
from triage.actions.studies import study_unit
from triage.bench_file import BenchFile
from triage.lot import PILE_WORDS, Lot, Unit, minutes_spent
from triage.lot_data import Bench, LotBranch, LotPlan, LotProblem, LotUnit
from triage.papers import OrderSheet, SheetLine
from triage.study import Study
from triage.worth import parts_cost

Cancel = Callable[[], bool]
Progress = Callable[[int, int], None]
"""Units studied so far, and units in all."""


class PlannedUnit(msgspec.Struct, frozen=True):
    """What the plan does with one unit. `value` is its expected net with its share of the order, minor units."""

    number: int
    class_name: str
    pile: str
    pile_word: str
    by_sums: str
    """The pile by the unit's own sums, before parts were priced together."""
    by_hand: bool
    value: float
    cures: tuple[str, ...]


class PlannedUse(msgspec.Struct, frozen=True):
    """Pieces of a line that go into one unit."""

    unit: int
    part: str
    pieces: int
    grade: str
    do: tuple[str, ...]
    """What to do to make it fit."""
    tell: tuple[str, ...]
    """What to tell a buyer."""


class PlannedLine(msgspec.Struct, frozen=True):
    """One thing the plan takes: from a supplier, or from the drawer (`supplier` empty, `amount` 0)."""

    supplier: str
    sku: str
    part_number: str
    description: str
    packs: int
    pack: int
    pieces: int
    price: str
    amount: int
    uses: tuple[PlannedUse, ...]
    needs: tuple[int, ...]
    part_id: int | None
    """The catalogue part, where it comes from the drawer."""
    place: str

    @property
    def units(self) -> tuple[int, ...]:
        """The units it serves, each once."""
        return tuple(dict.fromkeys(use.unit for use in self.uses))

    @property
    def grade(self) -> str:
        """The worst grade among its uses, as one word."""
        order = ("exact", "drop-in", "rework", "compromise")
        return max((use.grade for use in self.uses), key=order.index, default="")


class DayPoint(msgspec.Struct, frozen=True):
    """One point of the front: everything here by that day costs at least so much."""

    day: int
    date: str
    cost: int
    """Without waiting."""
    total: int
    """With waiting."""
    cheapest: bool


class PlanView(msgspec.Struct, frozen=True):
    """The whole plan."""

    lot: Lot
    status: str
    gap: float
    total: float
    """What the decided units bring after parts, minor units."""
    units: tuple[PlannedUnit, ...]
    order: tuple[PlannedLine, ...]
    drawer: tuple[PlannedLine, ...]
    sheets: tuple[OrderSheet, ...]
    goods: int
    shipping: int
    rework: int
    waiting: int
    arrival: str
    """Typical day the last part is here, ISO; empty without an order."""
    arrival_late: str
    to_describe: tuple[WantedPart, ...]
    """Parts that must be described before they can be ordered."""
    to_look: tuple[int, ...]
    """Units where a look still pays; nothing is ordered for them yet."""
    left_out: tuple[tuple[str, str], ...]
    """(what nearly serves, why it is not used)"""
    conflicts: tuple[str, ...]
    front: tuple[DayPoint, ...]

    @property
    def order_total(self) -> int:
        """Goods and postage."""
        return self.goods + self.shipping


class _Gathered(msgspec.Struct, frozen=True):
    """The facts of one plan."""

    lot: Lot
    studies: tuple[Study, ...]
    wanted: tuple[WantedPart, ...]
    sourcing: Sourcing
    problem: LotProblem


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
    points: Sequence[FrontPoint] = ()
    if with_front and plan.found and plan.purchase.lines:
        with suppress(Stopped):
            points = purchase_front(_taken(facts.sourcing.problem, plan), cancel=cancel)
    return _view(bench, facts, plan, points)


def _gather(bench: BenchFile, lot: Lot, progress: Progress | None) -> _Gathered:
    units = [unit for unit in store.units(bench.database, lot.id) if unit.device_class in bench.classes]
    studies = tuple(_studies(bench, units, progress))
    wanted = tuple(part for found in studies for part in wanted_of(bench, found))
    deciding = [found for found in studies if found.pile != "undecided" and found.decision is not None]
    numbers = {found.facts.unit.number for found in deciding}
    sourcing = source(
        [_want(found, part) for found in deciding for part in wanted if _to_source(found, part)],
        currency=lot.currency,
        day=bench.today,
        parts=catalog_store.parts(bench.database),
        suppliers=catalog_store.suppliers(bench.database),
        offers=catalog_store.offers(bench.database),
        units=[_order_unit(found, lot, bench.today) for found in deciding],
        pairs=own_pairs(catalog_store.pairs(bench.database)),
        labour_per_hour=bench.person.hour_worth,
        cash_limit=lot.cash_limit,
    )
    problem = LotProblem(
        units=tuple(_lot_unit(found, wanted) for found in deciding),
        order=sourcing.problem,
        bench=_bench(bench, lot),
        pins={
            str(found.facts.unit.number): found.facts.unit.pile
            for found in deciding
            if found.facts.unit.pile and found.facts.unit.number in numbers
        },
    )
    return _Gathered(lot, studies, wanted, sourcing, problem)


def _studies(bench: BenchFile, units: Sequence[Unit], progress: Progress | None) -> Iterator[Study]:
    for done, unit in enumerate(units):
        if progress is not None:
            progress(done, len(units))
        yield study_unit(bench, unit)


def _to_source(found: Study, part: WantedPart) -> bool:
    mine = part.unit == found.facts.unit.number
    return mine and part.need is not None and part.described and part.need.state in {"open", "reserved"}


def _want(found: Study, part: WantedPart) -> Want:
    need = part.need
    assert need is not None  # noqa: S101 - `_to_source` let only described ones through
    spec = described(need.text, "", need.kind, read).spec
    worth = found.case.worth
    return Want(
        id=f"need {need.id}",
        unit=str(part.unit),
        pieces=need.pieces,
        spec=spec,
        part_number=need.text if spec is None else "",
        role=need.role or None,
        compromise_ok=need.compromise_ok,
        value=rounded(worth.working),
        failed=rounded(worth.as_is_after),
    )


def _order_unit(found: Study, lot: Lot, today: date) -> OrderUnit:
    deadline = (date.fromisoformat(lot.deadline) - today).days if lot.deadline else None
    return OrderUnit(
        id=str(found.facts.unit.number),
        wait_per_day=rounded(found.case.worth.delay_per_day),
        deadline_day=None if deadline is None else max(0, deadline),
    )


def _lot_unit(found: Study, wanted: Sequence[WantedPart]) -> LotUnit:
    """A unit's branches; what its described parts cost is left to the order."""
    assert found.decision is not None  # noqa: S101 - units without a decision are not planned
    mine = [part for part in wanted if part.unit == found.facts.unit.number]
    branches: list[LotBranch] = []
    for item in found.decision.sums:
        value, needs = item.value, tuple[str, ...]()
        if item.kind == "fix":
            settled = [part for part in mine if part.described]
            value = _fix_value(found) + _already_counted(found, settled)
            needs = tuple(f"need {part.need.id}" for part in mine if _to_source(found, part) and part.need)
        branches.append(LotBranch(id=item.id, kind=item.kind, value=value, minutes=item.minutes, needs=needs))
    pile = found.facts.unit.pile
    if pile and pile not in {branch.id for branch in branches}:
        branches.append(LotBranch(id=pile, kind=pile, value=0.0))  # type: ignore[arg-type]
    return LotUnit(id=str(found.facts.unit.number), branches=tuple(branches))


def _fix_value(found: Study) -> float:
    if found.action is not None and found.action.action == "repair":
        return found.action.value
    return found.decision.sum_of("fix").value if found.decision else 0.0


def _already_counted(found: Study, settled: Sequence[WantedPart]) -> float:
    """What the unit's own sum holds for parts that the order prices itself, and for waiting when all are described."""
    worth, cures = found.case.worth, cures_of(found)
    costs = sum(worth.part_costs.get(part.part, 0.0) for part in settled)
    whole = parts_cost(found.device_class, worth, cures)
    waits = worth.delay_days * worth.delay_per_day if settled and costs >= whole - 1e-9 else 0.0
    return costs + waits


def _bench(bench: BenchFile, lot: Lot) -> Bench | None:
    if lot.bench_minutes is None:
        return None
    spent = sum(
        minutes_spent(store.happenings(bench.database, unit.number)) for unit in store.units(bench.database, lot.id)
    )
    days = (date.fromisoformat(lot.deadline) - bench.today).days if lot.deadline else None
    return Bench(minutes=max(0.0, lot.bench_minutes - spent), days=None if days is None else max(1, days))


def _taken(problem: PurchaseProblem, plan: LotPlan) -> PurchaseProblem:
    """The order for the needs that the plan really serves."""
    served = {entry.need for entry in plan.purchase.served}
    return msgspec.structs.replace(problem, needs=tuple(need for need in problem.needs if need.id in served))


def _view(bench: BenchFile, facts: _Gathered, plan: LotPlan, points: Sequence[FrontPoint]) -> PlanView:
    order = tuple(_line(bench, facts, line) for line in plan.purchase.lines)
    drawer = tuple(_line(bench, facts, line) for line in plan.purchase.own)
    sheets = _sheets(bench, facts, plan.purchase, order)
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
        order=order,
        drawer=drawer,
        sheets=sheets,
        goods=plan.purchase.goods,
        shipping=plan.purchase.shipping,
        rework=plan.purchase.rework,
        waiting=plan.purchase.waiting,
        arrival=_on(bench.today, plan.purchase.arrival_day) if order else "",
        arrival_late=_on(bench.today, plan.purchase.late_day) if order else "",
        to_describe=tuple(
            part for part in facts.wanted if not part.described and (str(part.unit) in fixing or _looking(names, part))
        ),
        to_look=tuple(found.facts.unit.number for found in facts.studies if found.pile == "undecided"),
        left_out=_left_out(facts.sourcing),
        conflicts=tuple(conflict.detail for conflict in plan.conflicts) + _unserved(facts, plan),
        front=tuple(
            DayPoint(point.arrival_day, _on(bench.today, point.arrival_day), point.cost, point.total, point.cheapest)
            for point in points
        ),
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
    return PlannedLine(
        supplier=origin.supplier if origin.source == "offer" else "",
        sku=origin.sku,
        part_number=origin.part_number,
        description=origin.description,
        packs=line.packs,
        pack=offer.pack_size if offer else 1,
        pieces=line.pieces,
        price=_price(bench, line, facts.lot.currency) if origin.source == "offer" else "",
        amount=line.amount,
        uses=tuple(uses),
        needs=tuple(int(use.need.removeprefix("need ")) for use in line.uses),
        part_id=held.id if held else None,
        place=held.place if held else "",
    )


def _price(bench: BenchFile, line: OrderLine, currency: str) -> str:
    """The unit price that was reached, as the supplier states it."""
    offer_id = int(line.offer.removeprefix("offer "))
    offer = next(item for item in catalog_store.offers(bench.database) if item.id == offer_id)
    step = max((item for item in offer.steps if item.start <= line.pieces), key=lambda item: item.start)
    exact = step.amount / 10 ** digits(currency)
    figure = show(step.amount, currency) if step.per == 1 else f"{exact:g}"
    return figure if step.per == 1 else f"{figure} per {step.per}"


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
                currency=facts.lot.currency,
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
