"""`solve lot`: a whole lot stated as a problem, and the best decisions in plain data.

A part has one price, stock and arrival day of its own, or comes from suppliers and offers in the form of a parts order.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Annotated, Any

import msgspec

from catalog.pricing import PriceStep
from catalog.purchase_data import Accept, Need, Offer, OrderUnit, PurchaseProblem, Supplier
from catalog.text import Refused
from triage.lot_data import Bench, LotBranch, LotPlan, LotProblem, LotUnit, Yield
from triage.lotplan import plan
from triage.problems.form import Count, Money, Name, Whole, decoded, unique_names
from triage.problems.purchase_forms import OfferForm, SupplierForm, stated_offers, stated_suppliers

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

Income = Annotated[int, msgspec.Meta(ge=-(10**9), le=10**9)]
Percent = Annotated[int, msgspec.Meta(ge=0, le=100)]

_SHOP = "shop of  "
_DONOR = "donor  "
"""Two spaces: no name that is stated has them."""


class _Form(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    pass


class PartForm(_Form, frozen=True, kw_only=True):
    """A kind of part and, unless there are offers, how it is bought; no `stock` = no limit."""

    id: Name
    buy_cents: Money | None = None
    stock: Count | None = None
    lead_days: Count = 0


class _EntryForm(_Form, frozen=True, kw_only=True):
    part: Name


class PiecesForm(_EntryForm, frozen=True, kw_only=True):
    """Pieces of a part that a repair needs."""

    pieces: Whole


class YieldForm(_EntryForm, frozen=True, kw_only=True):
    """Pieces of a part that a unit gives."""

    pieces: Count
    minutes_each: Count = 0
    resale_cents: Money = 0


class UnitForm(_Form, frozen=True, kw_only=True):
    """A unit: what each way to deal with it brings and takes."""

    id: Name
    as_is_cents: Income
    fixed_cents: Income
    success_percent: Percent = 100
    failed_cents: Income = 0
    fix_minutes: Count = 0
    needs: tuple[PiecesForm, ...] = ()
    carcass_cents: Income = 0
    teardown_minutes: Count = 0
    yields: tuple[YieldForm, ...] = ()
    day_loss_cents: Money = 0
    """What it brings less for every day until it is fixed, waiting for parts and for the bench alike."""
    ready_day: Count = 0
    """Day before which its repair cannot begin, as parts that are on their way come then; after the last day it is not
    fixed."""


class LotCase(_Form, frozen=True, kw_only=True):
    """One case; `group`, `note` and `expected` are for people and are not read.

    Without minutes or days the bench has no limit; `minutes_by_day` states both, day by day from today on. With
    suppliers or offers, parts have no price of their own and need not be listed.
    """

    id: str = ""
    group: Any = None
    note: Any = None
    expected: Any = None
    minutes_per_day: Count | None = None
    minutes_by_day: tuple[Count, ...] | None = None
    deadline_days: Count | None = None
    minute_cost_cents: Money = 0
    cash_limit_cents: Money | None = None
    parts: tuple[PartForm, ...] = ()
    suppliers: tuple[SupplierForm, ...] | None = None
    offers: tuple[OfferForm, ...] | None = None
    units: tuple[UnitForm, ...]

    @property
    def by_offers(self) -> bool:
        """Whether parts are bought at stated suppliers."""
        return self.suppliers is not None or self.offers is not None


def answer(case: Mapping[str, Any]) -> dict[str, Any]:
    """Decide one lot.

    Returns:
        id, status (always `optimal`: selling is always possible), total_cents (whole where it is),
        decision {unit: fix | part_out | sell}, bought {part: pieces}, packs {offer: n} (empty without offers),
        harvested [{from, part, to}], one entry a piece, `to` null when sold; where a unit loses by the day, done
        {unit: day by whose end it is fixed}, today being day 0.

    Raises:
        Refused: the case is malformed or makes no sense; the message begins with the key path.
    """
    form = decoded(case, LotCase)
    problem = stated(form)
    found = plan(problem)
    bought: dict[str, int] = {}
    for line in found.purchase.lines:
        bought[line.product] = bought.get(line.product, 0) + line.pieces
    return {
        "id": form.id,
        "status": found.status.value,
        "total_cents": _total(problem, found),
        "decision": found.decisions,
        "bought": bought,
        "packs": {line.offer: line.packs for line in found.purchase.lines} if form.by_offers else {},
        "harvested": [
            {"from": entry.unit, "part": entry.part, "to": entry.to}
            for entry in found.harvested
            for _ in range(entry.pieces)
        ],
        **({"done": found.done} if any(unit.day_loss_cents for unit in form.units) else {}),
    }


def _total(problem: LotProblem, found: LotPlan) -> float | int:
    total = round(found.total, 6)
    return int(total) if total.is_integer() else total


def stated(case: LotCase) -> LotProblem:
    """The engine's problem for a decoded case; refuses what makes no sense."""
    unique_names([part.id for part in case.parts], "parts")
    unique_names([unit.id for unit in case.units], "units")
    _check_parts(case)
    rate = case.minute_cost_cents
    donors = [(unit, place, each) for unit in case.units for place, each in enumerate(unit.yields) if each.pieces]
    donor_offers = tuple(
        Offer(
            id=_donor_offer(unit.id, place),
            supplier=_DONOR + unit.id,
            product=each.part,
            steps=(PriceStep(1, 0),),
            stock_packs=each.pieces,
        )
        for unit, place, each in donors
    )
    own = tuple(Supplier(id=name, own=True) for name in dict.fromkeys(offer.supplier for offer in donor_offers))
    suppliers, offers = _bought_at(case)
    last_day = case.deadline_days if case.minutes_by_day is None else len(case.minutes_by_day)
    order = PurchaseProblem(
        suppliers=(*own, *suppliers),
        offers=(*donor_offers, *offers),
        units=tuple(
            OrderUnit(id=unit.id, deadline_day=last_day, wait_per_day=unit.day_loss_cents, ready_day=unit.ready_day)
            for unit in case.units
        ),
        needs=tuple(
            Need(
                id=_need(unit.id, place),
                unit=unit.id,
                pieces=each.pieces,
                accepts=(Accept(product=each.part),),
            )
            for unit in case.units
            for place, each in enumerate(unit.needs)
        ),
        cash_limit=case.cash_limit_cents,
    )
    return LotProblem(units=tuple(_unit(unit, rate, last_day) for unit in case.units), order=order, bench=_bench(case))


def _bench(case: LotCase) -> Bench | None:
    if case.minutes_by_day is not None:
        days = len(case.minutes_by_day)
        if case.minutes_per_day is not None or case.deadline_days not in {None, days}:
            raise Refused(
                "expected the minutes of each day up to the deadline, and no minutes_per_day beside",
                where="minutes_by_day",
            )
        by_day = tuple(float(minutes) for minutes in case.minutes_by_day)
        return Bench(minutes=sum(by_day), days=days, by_day=by_day)
    if case.minutes_per_day is None or case.deadline_days is None:
        return None
    return Bench(minutes=case.minutes_per_day * case.deadline_days, days=case.deadline_days)


def _unit(unit: UnitForm, rate: int, last_day: int | None) -> LotUnit:
    in_time = last_day is None or unit.ready_day <= last_day
    fixed = Fraction(unit.success_percent * unit.fixed_cents + (100 - unit.success_percent) * unit.failed_cents, 100)
    return LotUnit(
        id=unit.id,
        branches=tuple(branch for branch in _branches(unit, fixed, rate) if in_time or branch.id != "fix"),
    )


def _branches(unit: UnitForm, fixed: Fraction, rate: int) -> tuple[LotBranch, ...]:
    return (
        LotBranch(
            id="fix",
            kind="fix",
            value=float(fixed - rate * unit.fix_minutes - unit.day_loss_cents * unit.ready_day),
            minutes=unit.fix_minutes,
            day_loss=float(unit.day_loss_cents),
            ready=unit.ready_day,
            needs=tuple(_need(unit.id, place) for place in range(len(unit.needs))),
        ),
        LotBranch(
            id="part_out",
            kind="part_out",
            value=unit.carcass_cents - rate * unit.teardown_minutes,
            minutes=unit.teardown_minutes,
            yields=tuple(
                Yield(
                    part=each.part,
                    pieces=each.pieces,
                    value=each.resale_cents - rate * each.minutes_each,
                    used_cost=rate * each.minutes_each,
                    minutes=each.minutes_each,
                    offer=_donor_offer(unit.id, place),
                )
                for place, each in enumerate(unit.yields)
            ),
        ),
        LotBranch(id="sell", kind="as_is", value=unit.as_is_cents),
    )


def _need(unit: str, place: int) -> str:
    return f"{unit} needs[{place}]"


def _donor_offer(unit: str, place: int) -> str:
    return f"{_DONOR}{unit} yields[{place}]"


def _check_parts(case: LotCase) -> None:
    for index, part in enumerate(case.parts):
        if (part.buy_cents is None) is not case.by_offers:
            problem = "expected no price beside suppliers and offers" if case.by_offers else "expected a price"
            raise Refused(problem, where=f"parts[{index}].buy_cents")
    known = {part.id for part in case.parts}
    for index, unit in enumerate(case.units):
        lists: tuple[tuple[str, tuple[_EntryForm, ...]], ...] = (("needs", unit.needs), ("yields", unit.yields))
        for key, entries in lists:
            for place, entry in enumerate(entries):
                if entry.part not in known and not case.by_offers:
                    where = f"units[{index}].{key}[{place}].part"
                    raise Refused(f"no part {entry.part!r}; expected an id of parts", where=where)


def _bought_at(case: LotCase) -> tuple[Iterable[Supplier], Iterable[Offer]]:
    """Suppliers and offers as stated; else one seller without postage for each part, with its arrival day."""
    if case.by_offers:
        suppliers = stated_suppliers(case.suppliers or ())
        return suppliers, stated_offers(case.offers or (), {supplier.id for supplier in suppliers})
    return (
        [Supplier(id=_SHOP + part.id, lead_days=part.lead_days) for part in case.parts],
        [
            Offer(
                id=_SHOP + part.id,
                supplier=_SHOP + part.id,
                product=part.id,
                steps=(PriceStep(1, part.buy_cents or 0),),
                stock_packs=part.stock,
            )
            for part in case.parts
        ],
    )
