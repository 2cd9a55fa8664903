"""The lines of an order as the person knows them: what is bought, lifted or taken from where, for which units."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

import msgspec

from catalog import store as catalog_store
from catalog.money import digits, show
from catalog.pricing import Discount, PriceStep, half_up, line_amount
from catalog.purchase_data import OrderLine, PurchasePlan
from catalog.sourcing_candidates import sender_id
from triage.actions.plan_facts import PlanFacts
from triage.actions.plan_view import Ordered, PlannedLine, PlannedUse
from triage.bench_file import BenchFile
from triage.papers import OrderSheet, SheetLine


def ordered(bench: BenchFile, facts: PlanFacts, purchase: PurchasePlan) -> Ordered:
    """What a plan of the order comes to."""
    order = tuple(_line(bench, facts, line) for line in purchase.lines)
    own = [_taken_from_own(_line(bench, facts, line)) for line in purchase.own]
    own = [line for line in own if line.uses]
    waits = order or any(line.coming is not None for line in own)
    return Ordered(
        order=order,
        drawer=tuple(line for line in own if line.part_id is not None),
        coming=tuple(line for line in own if line.coming is not None),
        donors=tuple(line for line in own if line.donor is not None),
        sheets=_sheets(bench, facts, purchase, order),
        goods=purchase.goods,
        shipping=purchase.shipping,
        charges=purchase.charges,
        rework=purchase.rework,
        waiting=purchase.waiting,
        worth=purchase.worth,
        arrival=facts.on(purchase.arrival_day) if waits else "",
        arrival_late=facts.on(purchase.late_day) if waits else "",
    )


def _line(bench: BenchFile, facts: PlanFacts, line: OrderLine) -> PlannedLine:
    origin = facts.sourcing.sources[line.product]
    uses = []
    for use in line.uses:
        fit, called = facts.sourcing.fits[use.need, line.product], facts.called(use.need)
        uses.append(
            PlannedUse(
                need=called.need,
                unit=called.unit,
                part=called.part,
                pieces=use.pieces,
                grade=use.grade,
                do=tuple(fit.do),
                tell=tuple(fit.tell),
                words=called.words,
                rides=called.rides,
            )
        )
    held = catalog_store.part(bench.database, int(origin.id)) if origin.source == "part" else None
    offer = next((item for item in facts.sourcing.problem.offers if item.id == line.offer), None)
    sold = facts.offers[int(origin.id)] if origin.source == "offer" else None
    sender = next((one for one in facts.sourcing.problem.suppliers if one.id == line.supplier), None)
    on_its_way = origin.source == "coming"
    giver = facts.donors[str(origin.id)] if origin.source == "donor" else None
    return PlannedLine(
        supplier=origin.supplier if origin.source in {"offer", "coming"} else "",
        sku=origin.sku,
        part_number=origin.part_number,
        description=origin.description,
        packs=line.packs,
        pack=offer.pack_size if offer else 1,
        pieces=line.pieces,
        price=_price(sold, line, bench.currency, facts.suppliers[sold.supplier].currency) if sold else "",
        amount=line.amount,
        their_amount=_their_amount(sold, line.pieces)
        if sold and facts.suppliers[sold.supplier].currency != bench.currency
        else None,
        kind=sold.kind if sold else "",
        uses=tuple(uses),
        part_id=held.id if held else None,
        place=held.place if held else f"unit {giver.unit}" if giver else "",
        donor=giver.unit if giver else None,
        donor_part=giver.part if giver else "",
        donor_words=giver.words if giver else "",
        coming=int(origin.id) if on_its_way else None,
        due=facts.on(sender.lead_days) if on_its_way and sender is not None else "",
    )


def _taken_from_own(line: PlannedLine) -> PlannedLine:
    """What is taken of the person's own: spares that lie there stay where they are."""
    uses = tuple(use for use in line.uses if use.rides != "spare")
    pieces = line.pieces - sum(use.pieces for use in line.uses) + sum(use.pieces for use in uses)
    return msgspec.structs.replace(line, uses=uses, pieces=pieces)


def rate_words(bench: BenchFile, theirs: str) -> str:
    """The stated rate of another currency and its day; empty where there is none."""
    rate = bench.person.rates.get(theirs)
    return f"1 {theirs} is {rate.worth} {bench.currency}, as of {rate.on.isoformat()}" if rate else ""


def _their_amount(offer: catalog_store.Offer, pieces: int) -> int:
    """The line as the supplier reckons it, in minor units of its currency."""
    steps = tuple(PriceStep(step.start, step.amount, step.per) for step in offer.steps)
    return line_amount(steps, Discount(offer.discount), pieces)


def _price(offer: catalog_store.Offer, line: OrderLine, currency: str, theirs: str) -> str:
    """The unit price that was reached, as the supplier states it; the mean where several steps have their own price."""
    places = digits(theirs)
    code = f" {theirs}" if theirs != currency else ""
    if offer.discount == "incremental" and sum(item.start <= line.pieces for item in offer.steps) > 1:
        mean = Decimal(_their_amount(offer, line.pieces)).scaleb(-places) / line.pieces
        return f"{mean.quantize(Decimal(1).scaleb(-places - 2)).normalize():f}{code}"
    step = max((item for item in offer.steps if item.start <= line.pieces), key=lambda item: item.start)
    if step.per == 1:
        return show(step.amount, theirs) + code
    return f"{Decimal(step.amount).scaleb(-places).normalize():f} per {step.per}{code}"


def _sheets(
    bench: BenchFile, facts: PlanFacts, plan: PurchasePlan, lines: Sequence[PlannedLine]
) -> tuple[OrderSheet, ...]:
    sheets = []
    senders = {supplier.id: supplier for supplier in facts.sourcing.problem.suppliers}
    known = {sender_id(each): each for each in catalog_store.suppliers(bench.database)}
    for cost in plan.suppliers:
        named = known.get(cost.supplier)  # one called “the drawer” goes by another id in the problem
        name = named.name if named else None
        mine = [line for line in lines if line.supplier and line.supplier == name]
        if named is None or name is None or not mine:
            continue
        abroad = named.currency if named.currency != bench.currency else ""
        sender = senders[cost.supplier]
        sheets.append(
            OrderSheet(
                supplier=name,
                currency=bench.currency,
                lines=tuple(_sheet_line(line) for line in mine),
                goods=cost.goods,
                shipping=cost.shipping,
                charges=cost.charges,
                due=facts.on(sender.lead_days),
                due_late=facts.on(sender.late),
                to_free=max(0, sender.free_from - cost.goods) if sender.free_from and cost.shipping else None,
                theirs=abroad,
                their_total=_in_theirs(bench, abroad, mine, cost.shipping) if abroad else 0,
                rate=rate_words(bench, abroad),
            )
        )
    return tuple(sheets)


def _in_theirs(bench: BenchFile, theirs: str, lines: Sequence[PlannedLine], shipping: int) -> int:
    """Goods and postage in the supplier's currency."""
    one = Fraction(bench.person.rates[theirs].worth) * Fraction(10) ** (digits(bench.currency) - digits(theirs))
    return sum(line.their_amount or 0 for line in lines) + half_up(shipping / one)


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
        whom=line.whom,
        their_total=line.their_amount,
    )
