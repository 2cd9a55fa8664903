"""The person's word on where the lot's order is bought, and which lines of it are kept: said, listed, taken back."""

from __future__ import annotations

from collections.abc import Collection, Iterable

import msgspec

from catalog import store as catalog_store
from catalog.pins import OfferPin, PinKind
from catalog.sourcing_candidates import offer_product, sender_id
from catalog.text import Refused, clean_line
from triage import store
from triage.actions.lots import get_lot
from triage.actions.suppliers import find_supplier
from triage.bench_file import BenchFile, in_one_transaction
from triage.lot import Need, OrderPin
from triage.lot_problem import need_name

MOST_PACKS = 1_000_000

KINDS: dict[str, PinKind] = {"only": "only", "not": "not", "keep": "keep"}


@in_one_transaction
def pin_order(
    bench: BenchFile,
    lot_id: int | None,
    kind: PinKind,
    supplier: str,
    sku: str = "",
    *,
    packs: int = 0,
    need: int | None = None,
) -> OrderPin:
    """Buy only from a supplier, not from it or not this line, or keep a line as it is.

    What is said anew of the same supplier and line, and of the same need, takes the place of what was said before.

    Args:
        bench: the open bench file.
        lot_id: the lot; None = the newest.
        kind: `only`, `not` or `keep`.
        supplier: its name.
        sku: a line of it.
        packs: how many of a line are kept.
        need: the need that it is said of; None for the whole order.

    Raises:
        Refused: no such supplier, line or need, no packs for a line that is kept, `only` for a single line, or `keep`
            for a single need.
    """
    lot = get_lot(bench, lot_id)
    of = None if need is None else _need_of(bench, need)
    held = find_supplier(bench, supplier)
    offer = _offer(bench, held, sku) if sku else None
    where = f"{held.name} {sku}".strip()
    if kind == "keep" and (offer is None or not 1 <= packs <= MOST_PACKS):
        raise Refused("a line that is kept needs its number and its packs", where=where)
    if kind == "only" and offer is not None:
        raise Refused("say of a supplier as a whole that it alone is bought from", where=where)
    if kind == "keep" and of is not None:
        raise Refused("a line is kept for the whole order, not for one need", where=where)
    pin = OrderPin(0, lot.id, kind, held.name, offer.sku if offer else "", packs if kind == "keep" else 0, need)
    with bench.journal.event("order_pin", clean_line(said_of(pin, of), 200), at=bench.now()) as recorder:
        for other in store.order_pins(bench.database, lot.id):
            if (other.supplier, other.sku, other.need) == (pin.supplier, pin.sku, pin.need):
                recorder.delete("order_pins", other.id)
        saved = store.save(recorder, "order_pins", pin)
    return msgspec.structs.replace(pin, id=saved)


@in_one_transaction
def lift_pin(bench: BenchFile, pin_id: int) -> OrderPin:
    """Take such a word back.

    Raises:
        Refused: there is none with this number.
    """
    pin = next((pin for pin in store.order_pins(bench.database) if pin.id == pin_id), None)
    if pin is None:
        raise Refused("there is no such word on the order", where=f"{pin_id}")
    words = clean_line(f"no more: {said_in_words(bench, pin)}", 200)
    with bench.journal.event("order_pin", words, at=bench.now()) as recorder:
        recorder.delete("order_pins", pin.id)
    return pin


def list_pins(bench: BenchFile, lot_id: int | None = None) -> list[OrderPin]:
    """What was said on the order of a lot, oldest first."""
    return store.order_pins(bench.database, get_lot(bench, lot_id).id)


def said_in_words(bench: BenchFile, pin: OrderPin) -> str:
    """The word in words, with the need it is said of."""
    of = next((need for need in store.needs(bench.database) if need.id == pin.need), None)
    return said_of(pin, of)


def said_of(pin: OrderPin, need: Need | None = None) -> str:
    """The word in words; `need` is the one it is said of."""
    line = f"{pin.supplier} {pin.sku}".strip()
    if need is not None:
        only = "only from" if pin.kind == "only" else "not from"
        return f"{need.part} for unit {need.unit} {only} {line}"
    if pin.kind == "keep":
        return f"keep {pin.packs} of {line}"
    if pin.kind == "only":
        return f"buy only from {line}"
    return f"do not buy {line}" if pin.sku else f"buy nothing from {line}"


def offer_pins(bench: BenchFile, lot_id: int) -> tuple[list[OfferPin], list[str]]:
    """The same in the terms of an order problem, and what of it speaks of nothing that is offered any more."""
    suppliers = {each.name: each for each in catalog_store.suppliers(bench.database)}
    offers = {(each.supplier, each.sku): each for each in catalog_store.offers(bench.database)}
    needs = {need.id: need for need in store.needs(bench.database)}
    found, gone = list[OfferPin](), list[str]()
    for pin in store.order_pins(bench.database, lot_id):
        of = needs.get(pin.need or 0)
        if of is not None and of.state != "open":
            continue  # it is met, or not wanted: the word waits until it is wanted again
        held = suppliers.get(pin.supplier)
        offer = offers.get((held.id, pin.sku)) if held is not None and pin.sku else None
        if held is None or (pin.sku and offer is None):
            gone.append(f"{said_of(pin, of)}: it is not offered any more")
            continue
        product = offer_product(offer.id) if offer else ""
        found.append(OfferPin(pin.kind, sender_id(held), product, pin.packs, need_name(of) if of else ""))
    return found, gone


def kept_for_nothing(bench: BenchFile, lot_id: int, pins: Iterable[OfferPin], offered: Collection[str]) -> list[str]:
    """The lines that are to be kept and that nothing wants any more: they are not bought."""
    idle = {pin.offer for pin in pins if pin.kind == "keep" and pin.offer not in offered}
    names = {offer_product(each.id): each.sku for each in catalog_store.offers(bench.database)}
    skus = {names[offer] for offer in idle}
    held = (pin for pin in store.order_pins(bench.database, lot_id) if pin.kind == "keep" and pin.sku in skus)
    return [f"{said_of(pin)}: no unit wants it any more" for pin in held]


def _need_of(bench: BenchFile, need_id: int) -> Need:
    need = next((one for one in store.needs(bench.database) if one.id == need_id and not one.over), None)
    if need is None:
        raise Refused("there is no such need", where=f"need {need_id}")
    return need


def _offer(bench: BenchFile, supplier: catalog_store.Supplier, sku: str) -> catalog_store.Offer:
    for each in catalog_store.offers(bench.database, supplier.id):
        if each.sku.casefold() == sku.casefold():
            return each
    raise Refused(f"{supplier.name} offers nothing with this number", where=sku[:60])
