"""Parts orders stated in JSON: the form of the problem files in, the least total and the front out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import msgspec

from catalog import purchase
from catalog.pricing import Discount, PriceStep
from catalog.purchase_data import Accept, Need, Offer, OrderUnit, PlanStatus, PurchaseProblem, Supplier
from catalog.text import Refused
from triage.problems.form import Count, Money, Name, Whole, decoded, unique_names

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence


class _Form(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    pass


class SupplierForm(_Form, frozen=True, kw_only=True):
    """A supplier as a problem file writes it."""

    id: Name
    lead_days: Count
    lead_days_late: Count | None = None
    shipping_cents: Money = 0
    free_shipping_from_cents: Money | None = None
    min_order_cents: Money = 0


class BreakForm(_Form, frozen=True, kw_only=True):
    """A price step: `price_per` pieces cost `unit_price_cents` from so many pieces on."""

    from_pieces: Whole
    unit_price_cents: Money
    price_per: Whole = 1


class OfferForm(_Form, frozen=True, kw_only=True):
    """An offer as a problem file writes it; no `stock_packs` = no limit."""

    id: Name
    supplier: Name
    product: Name
    pack_size: Whole = 1
    stock_packs: Count | None = None
    min_packs: Count = 1
    discount: Discount = Discount.ALL_UNITS
    breaks: tuple[BreakForm, ...]


class UnitForm(_Form, frozen=True, kw_only=True):
    """A unit as a problem file writes it."""

    id: Name
    wait_cents_per_day: Money = 0
    deadline_day: Count | None = None


class AcceptForm(_Form, frozen=True, kw_only=True):
    """A product that meets a need."""

    product: Name
    rework_minutes: Count = 0
    grade: Name = "exact"


class NeedForm(_Form, frozen=True, kw_only=True):
    """A need as a problem file writes it."""

    id: Name
    unit: Name
    pieces: Whole
    accepts: tuple[AcceptForm, ...]


class PurchaseCase(_Form, frozen=True, kw_only=True):
    """One case; `group`, `note` and `expected` are for people and are not read."""

    id: str = ""
    group: Any = None
    note: Any = None
    expected: Any = None
    labour_cents_per_minute: Money = 0
    cash_limit_cents: Money | None = None
    suppliers: tuple[SupplierForm, ...]
    offers: tuple[OfferForm, ...]
    units: tuple[UnitForm, ...]
    needs: tuple[NeedForm, ...]


def answer(case: Mapping[str, Any]) -> dict[str, Any]:
    """Plan one case.

    Returns:
        id, status (`optimal` | `infeasible`), total_cents (null if infeasible), packs {offer: n},
        served [{need, offer, pieces}], front [{arrival_day, cost_cents}], conflicts [{reason, needs, detail}].

    Raises:
        Refused: the case is malformed or makes no sense; the message begins with the key path.
    """
    form = decoded(case, PurchaseCase)
    problem = stated(form)
    plan = purchase.plan(problem)
    points = purchase.front(problem) if plan.status is PlanStatus.OPTIMAL else ()
    return {
        "id": form.id,
        "status": plan.status.value,
        "total_cents": plan.total if plan.found else None,
        "packs": plan.packs,
        "served": [msgspec.to_builtins(entry) for entry in plan.served],
        "front": [{"arrival_day": point.arrival_day, "cost_cents": point.cost} for point in points],
        "conflicts": [
            {"reason": each.reason.value, "needs": list(each.needs), "detail": each.detail} for each in plan.conflicts
        ],
    }


def stated(case: PurchaseCase) -> PurchaseProblem:
    """The engine's problem for a decoded case; refuses what makes no sense."""
    unique_names([unit.id for unit in case.units], "units")
    unique_names([need.id for need in case.needs], "needs")
    units = {unit.id for unit in case.units}
    for index, need in enumerate(case.needs):
        if need.unit not in units:
            raise Refused(f"no unit {need.unit!r}; expected an id of units", where=f"needs[{index}].unit")
        products = [accept.product for accept in need.accepts]
        for place, product in enumerate(products):
            if product in products[:place]:
                raise Refused(f"{product!r} is accepted twice", where=f"needs[{index}].accepts[{place}].product")
    return PurchaseProblem(
        suppliers=stated_suppliers(case.suppliers),
        offers=stated_offers(case.offers, {supplier.id for supplier in case.suppliers}),
        units=tuple(
            OrderUnit(id=unit.id, wait_per_day=unit.wait_cents_per_day, deadline_day=unit.deadline_day)
            for unit in case.units
        ),
        needs=tuple(
            Need(
                id=need.id,
                unit=need.unit,
                pieces=need.pieces,
                accepts=tuple(
                    Accept(product=accept.product, rework_minutes=accept.rework_minutes, grade=accept.grade)
                    for accept in need.accepts
                ),
            )
            for need in case.needs
        ),
        labour_per_hour=60 * case.labour_cents_per_minute,
        cash_limit=case.cash_limit_cents,
    )


def stated_suppliers(forms: Sequence[SupplierForm]) -> tuple[Supplier, ...]:
    """The engine's suppliers; refuses ids used twice and a late day before the typical one."""
    unique_names([form.id for form in forms], "suppliers")
    for index, form in enumerate(forms):
        if form.lead_days_late is not None and form.lead_days_late < form.lead_days:
            problem = f"expected at least lead_days ({form.lead_days}), got {form.lead_days_late}"
            raise Refused(problem, where=f"suppliers[{index}].lead_days_late")
    return tuple(
        Supplier(
            id=form.id,
            lead_days=form.lead_days,
            lead_days_late=form.lead_days_late,
            shipping=form.shipping_cents,
            free_from=form.free_shipping_from_cents,
            min_order=form.min_order_cents,
        )
        for form in forms
    )


def stated_offers(forms: Sequence[OfferForm], suppliers: set[str]) -> tuple[Offer, ...]:
    """The engine's offers; refuses unknown suppliers, ids used twice, and price steps out of order."""
    unique_names([form.id for form in forms], "offers")
    for index, form in enumerate(forms):
        where = f"offers[{index}]"
        if form.supplier not in suppliers:
            raise Refused(f"no supplier {form.supplier!r}; expected an id of suppliers", where=f"{where}.supplier")
        if not form.breaks:
            raise Refused("expected at least one price step", where=f"{where}.breaks")
        lowest = 1
        for place, step in enumerate(form.breaks):
            if step.from_pieces < lowest or (place == 0 and step.from_pieces != 1):
                wanted = "1 for the first step" if place == 0 else f"more than {lowest - 1}"
                raise Refused(
                    f"expected {wanted}, got {step.from_pieces}; sort the steps by pieces",
                    where=f"{where}.breaks[{place}].from_pieces",
                )
            lowest = step.from_pieces + 1
    return tuple(
        Offer(
            id=form.id,
            supplier=form.supplier,
            product=form.product,
            steps=tuple(PriceStep(step.from_pieces, step.unit_price_cents, step.price_per) for step in form.breaks),
            discount=form.discount,
            pack_size=form.pack_size,
            min_packs=form.min_packs,
            stock_packs=form.stock_packs,
        )
        for form in forms
    )
