"""Parts orders as problem files state them: the forms, and the engine's problem behind them.

Amounts are whole cents, weights whole milligrams, rates percentages with at most two digits after the point.
"""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Annotated, Any

import msgspec

from catalog.charges import Charges, Step
from catalog.pins import OfferPin, PinKind
from catalog.pricing import Discount, PriceStep
from catalog.purchase_data import Accept, Need, Offer, OrderUnit, PurchaseProblem, Supplier
from catalog.spares import spare_worths
from catalog.text import Refused
from triage.problems.form import Count, Money, Name, Whole, unique_names

if TYPE_CHECKING:
    from collections.abc import Sequence

Percent = Annotated[float, msgspec.Meta(ge=0, le=1000)]
Chance = Annotated[float, msgspec.Meta(gt=0, le=1)]
Spares = Annotated[int, msgspec.Meta(ge=1, le=99)]

_SPARES = "\0spares"
"""The unit of spares; no name has it."""


class _Form(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    pass


class ValueStepForm(_Form, frozen=True, kw_only=True):
    """Postage from a goods subtotal on."""

    from_cents: Money
    shipping_cents: Money


class WeightStepForm(_Form, frozen=True, kw_only=True):
    """Postage from a weight on."""

    from_milligrams: Money
    shipping_cents: Money


class SupplierForm(_Form, frozen=True, kw_only=True):
    """A supplier as a problem file writes it."""

    id: Name
    lead_days: Count
    lead_days_late: Count | None = None
    shipping_cents: Money = 0
    free_shipping_from_cents: Money | None = None
    min_order_cents: Money = 0
    own: bool = False
    shipping_by_value: tuple[ValueStepForm, ...] = ()
    shipping_by_weight: tuple[WeightStepForm, ...] = ()
    small_order_fee_cents: Money = 0
    fee_below_cents: Money = 0
    tax_percent: Percent = 0
    import_above_cents: Money | None = None
    import_percent: Percent = 0
    import_fee_cents: Money = 0


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
    weight_milligrams: Money = 0


class UnitForm(_Form, frozen=True, kw_only=True):
    """A unit as a problem file writes it."""

    id: Name
    wait_cents_per_day: Money = 0
    deadline_day: Count | None = None
    ready_day: Count = 0
    """Day before which it cannot go on whatever is ordered, as parts on their way come then."""


class AcceptForm(_Form, frozen=True, kw_only=True):
    """A product that meets a need."""

    product: Name
    rework_minutes: Count = 0
    grade: Name = "exact"
    penalty_cents: Money = 0


class NeedForm(_Form, frozen=True, kw_only=True):
    """A need as a problem file writes it."""

    id: Name
    unit: Name
    pieces: Whole
    accepts: tuple[AcceptForm, ...]
    not_from: tuple[Name, ...] = ()
    worths_cents: tuple[Money, ...] = ()
    all_or_none: bool = False


class SpareForm(_Form, frozen=True, kw_only=True):
    """Spares: each piece is worth its chance to be used times the price; they are of no unit and hold nobody up."""

    id: Name
    pieces: Spares
    use_chance: Chance
    price_cents: Money
    accepts: tuple[AcceptForm, ...]


class PinForm(_Form, frozen=True, kw_only=True):
    """Where to buy and what to keep: `only` and `not` a supplier, `not` an offer of it, `keep` packs of an offer."""

    kind: PinKind
    supplier: Name
    offer: Name | None = None
    packs: Count | None = None
    need: Name | None = None


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
    spares: tuple[SpareForm, ...] = ()
    pins: tuple[PinForm, ...] = ()
    why: bool = False


def stated(case: PurchaseCase) -> PurchaseProblem:
    """The engine's problem for a decoded case; refuses what makes no sense."""
    unique_names([unit.id for unit in case.units], "units")
    unique_names([need.id for need in case.needs], "needs")
    unique_names([spare.id for spare in case.spares], "spares")
    offers = {offer.id for offer in case.offers}
    units = {unit.id for unit in case.units}
    for index, need in enumerate(case.needs):
        if need.unit not in units:
            raise Refused(f"no unit {need.unit!r}; expected an id of units", where=f"needs[{index}].unit")
        _once(need.accepts, f"needs[{index}]")
        for place, name in enumerate(need.not_from):
            if name not in offers:
                raise Refused(f"no offer {name!r}; expected an id of offers", where=f"needs[{index}].not_from[{place}]")
        worths = need.worths_cents
        if worths and (len(worths) != need.pieces or list(worths) != sorted(worths, reverse=True)):
            problem = f"expected {need.pieces} amounts that never rise, one a piece"
            raise Refused(problem, where=f"needs[{index}].worths_cents")
        if need.all_or_none and not worths:
            raise Refused("only what has worths may be left out", where=f"needs[{index}].all_or_none")
    taken = {need.id for need in case.needs}
    for index, spare in enumerate(case.spares):
        if spare.id in taken:
            raise Refused(f"{spare.id!r} is used twice; give each its own id", where=f"spares[{index}].id")
        _once(spare.accepts, f"spares[{index}]")
    _check_pins(case)
    return PurchaseProblem(
        suppliers=stated_suppliers(case.suppliers),
        offers=stated_offers(case.offers, {supplier.id for supplier in case.suppliers}),
        units=tuple(
            OrderUnit(
                id=unit.id,
                wait_per_day=unit.wait_cents_per_day,
                deadline_day=unit.deadline_day,
                ready_day=unit.ready_day,
            )
            for unit in case.units
        )
        + ((OrderUnit(id=_SPARES),) if case.spares else ()),
        needs=tuple(
            Need(
                id=need.id,
                unit=need.unit,
                pieces=need.pieces,
                accepts=_accepts(need.accepts),
                not_from=frozenset(need.not_from),
                worths=need.worths_cents,
                whole=need.all_or_none,
            )
            for need in case.needs
        )
        + tuple(
            Need(
                id=spare.id,
                unit=_SPARES,
                pieces=spare.pieces,
                accepts=_accepts(spare.accepts),
                worths=spare_worths(float(spare.use_chance), spare.pieces, spare.price_cents),
            )
            for spare in case.spares
        ),
        labour_per_hour=60 * case.labour_cents_per_minute,
        cash_limit=case.cash_limit_cents,
    )


def stated_pins(case: PurchaseCase) -> tuple[OfferPin, ...]:
    """The person's word on where to buy."""
    return tuple(OfferPin(pin.kind, pin.supplier, pin.offer or "", pin.packs or 0, pin.need or "") for pin in case.pins)


def _once(accepts: Sequence[AcceptForm], where: str) -> None:
    products = [accept.product for accept in accepts]
    for place, product in enumerate(products):
        if product in products[:place]:
            raise Refused(f"{product!r} is accepted twice", where=f"{where}.accepts[{place}].product")


def _accepts(forms: Sequence[AcceptForm]) -> tuple[Accept, ...]:
    return tuple(
        Accept(product=form.product, rework_minutes=form.rework_minutes, grade=form.grade, penalty=form.penalty_cents)
        for form in forms
    )


def _check_pins(case: PurchaseCase) -> None:
    """Refuse a word that speaks of nothing, or says too little or too much."""
    senders, sellers = {supplier.id for supplier in case.suppliers}, {offer.id: offer.supplier for offer in case.offers}
    needs = {*(need.id for need in case.needs), *(spare.id for spare in case.spares)}
    for index, pin in enumerate(case.pins):
        where = f"pins[{index}]"
        if pin.supplier not in senders:
            raise Refused(f"no supplier {pin.supplier!r}; expected an id of suppliers", where=f"{where}.supplier")
        if pin.offer is not None and sellers.get(pin.offer) != pin.supplier:
            raise Refused(f"{pin.supplier!r} has no offer {pin.offer!r}", where=f"{where}.offer")
        if pin.need is not None and pin.need not in needs:
            raise Refused(f"no need {pin.need!r}; expected an id of needs or spares", where=f"{where}.need")
        if pin.kind == "keep" and (pin.offer is None or pin.packs is None or pin.need is not None):
            raise Refused("what is kept takes an offer and its packs, and no need", where=where)
        if pin.kind != "keep" and (pin.packs is not None or (pin.kind == "only" and pin.offer is not None)):
            raise Refused("packs are only kept, and `only` speaks of a supplier as a whole", where=where)


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
            own=form.own,
            charges=_charges(form, f"suppliers[{index}]"),
        )
        for index, form in enumerate(forms)
    )


def _charges(form: SupplierForm, where: str) -> Charges:
    tax = _hundredths(form.tax_percent, f"{where}.tax_percent")
    import_rate = _hundredths(form.import_percent, f"{where}.import_percent")
    try:
        return Charges(
            by_value=tuple(Step(step.from_cents, step.shipping_cents) for step in form.shipping_by_value),
            by_weight=tuple(Step(step.from_milligrams, step.shipping_cents) for step in form.shipping_by_weight),
            fee=form.small_order_fee_cents,
            fee_below=form.fee_below_cents,
            tax=tax,
            import_above=form.import_above_cents,
            import_rate=import_rate,
            import_fee=form.import_fee_cents,
        )
    except ValueError as error:
        field, _, problem = str(error).partition(": ")
        raise Refused(problem or field, where=f"{where}.shipping_{field}" if problem else where) from None


def _hundredths(percent: float, where: str) -> int:
    """A percentage as hundredths of a percent; refuses finer ones."""
    found = Decimal(str(percent)) * 100
    if found != int(found):
        raise Refused("expected at most 2 digits after the point", where=where)
    return int(found)


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
            weight=form.weight_milligrams,
        )
        for form in forms
    )
