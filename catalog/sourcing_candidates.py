"""What might meet a want: lines of the drawer, donors, pieces on their way and offers, each as an offer to plan with.

Each is one product. What is the person's own costs nothing; what may not be used keeps the reason.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import msgspec

from catalog.money import code
from catalog.pricing import Discount, PriceStep
from catalog.purchase_data import Offer
from catalog.rules import identity
from catalog.sourcing_data import Source
from catalog.spec import PartSpec
from catalog.unread import Rest, broken, rest_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from fractions import Fraction

    from catalog.sourcing_data import Coming, Donor, HeldPart, Offered, Sender

DRAWER = "the drawer"
"""Supplier id of the person's own stock. Other suppliers go by their name, a donor by the word and its unit."""
_DONOR = "donor "
_COMING = "on its way with order "


class Candidate(msgspec.Struct, frozen=True):
    """One thing that might meet a want. `barred` says why it may not be used whatever its grade."""

    product: str
    source: Source
    spec: PartSpec
    offer: Offer | None
    barred: str = ""
    rest: Rest = Rest()
    """What its text says beyond the spec."""
    good: float = 1.0
    """Chance that it works at all."""


def part_product(part_id: int) -> str:
    """Product and offer id of a part of the drawer."""
    return f"part {part_id}"


def offer_product(offer_id: int) -> str:
    """Product and offer id of an offer."""
    return f"offer {offer_id}"


def donor_product(donor_id: str) -> str:
    """Product and offer id of a donor's part."""
    return f"from {donor_id}"


def coming_product(line_id: int) -> str:
    """Product and offer id of the pieces of an order line that are on their way."""
    return f"coming {line_id}"


def described(spec: PartSpec | None, part_number: str) -> PartSpec | None:
    """The spec with the number it goes by; of a number alone, a part that is matched by it."""
    if spec is None:
        return PartSpec("listed", part_number=part_number) if part_number else None
    return msgspec.structs.replace(spec, part_number=part_number) if part_number and not identity(spec) else spec


def _only_words(one: HeldPart | Offered) -> str:
    """The whole description of what nothing was understood of: a want in the very same words means this."""
    return one.description if one.spec is None else ""


def _as_written(candidate: Candidate, one: HeldPart | Offered | Donor | Coming) -> Candidate:
    """The candidate with what its text says beyond the spec; one that is said to be broken is barred for that."""
    rest = rest_of(one.description, one.left_over, candidate.spec.kind)
    if worn := broken(rest.pieces):
        return msgspec.structs.replace(candidate, offer=None, barred=f"its description says that it is broken: {worn}")
    return msgspec.structs.replace(candidate, rest=rest)


def from_drawer(
    parts: Iterable[HeldPart], reserved: Mapping[int, int], good: Mapping[int, float]
) -> Iterator[Candidate]:
    """The drawer, less what is promised; `good` is {part id: chance that it works} of what may not."""
    for part in parts:
        spec = described(part.spec, part.part_number or _only_words(part))
        if spec is None or not part.quantity:
            continue
        product = part_product(part.id)
        left = part.quantity - reserved.get(part.id, 0)
        origin = Source("part", part.id, DRAWER, "", part.part_number, part.description)
        offer = _own_offer(product, DRAWER, left) if left > 0 else None
        barred = "" if offer else f"all {part.quantity} in the drawer are promised elsewhere"
        yield _as_written(Candidate(product, origin, spec, offer, barred, good=good.get(part.id, 1.0)), part)


def from_donors(donors: Iterable[Donor]) -> Iterator[Candidate]:
    """What units of the lot would give."""
    for donor in donors:
        spec = described(donor.spec, donor.part_number)
        if spec is not None and donor.pieces > 0:
            product = donor_product(donor.id)
            origin = Source("donor", donor.id, donor.unit, "", donor.part_number, donor.description)
            offer = _own_offer(product, _DONOR + donor.unit, donor.pieces)
            yield _as_written(Candidate(product, origin, spec, offer, good=donor.good), donor)


def _own_offer(product: str, supplier: str, pieces: int) -> Offer:
    return Offer(id=product, supplier=supplier, product=product, steps=(PriceStep(1, 0),), stock_packs=pieces)


def from_orders(coming: Iterable[Coming]) -> Iterator[Candidate]:
    """Pieces on their way that are promised to nobody: paid for, and here when their order comes."""
    for one in coming:
        spec = described(one.spec, one.part_number or (one.description if one.spec is None else ""))
        if spec is not None and one.pieces > 0:
            product = coming_product(one.line)
            origin = Source("coming", one.line, one.supplier, one.sku, one.part_number, one.description)
            offer = _own_offer(product, coming_supplier(one), one.pieces)
            yield _as_written(Candidate(product, origin, spec, offer), one)


def coming_supplier(one: Coming) -> str:
    """The supplier's id in the problem of what is on its way: each order arrives on a day of its own."""
    return f"{_COMING}{one.order}"


def from_offers(
    offers: Iterable[Offered], senders: Mapping[int, Sender], rates: Mapping[str, Fraction]
) -> Iterator[Candidate]:
    """What is sold, priced in the currency that `rates` are stated in."""
    for row in offers:
        spec, sender = described(row.spec, row.part_number or _only_words(row)), senders.get(row.supplier)
        if spec is None or sender is None:
            continue
        product, rate = offer_product(row.id), rates.get(code(sender.currency))
        origin = Source("offer", row.id, sender.name, row.sku, row.part_number, row.description)
        if rate is None:
            barred = f"priced in {sender.currency}; state a rate to use it"
            yield _as_written(Candidate(product, origin, spec, None, barred), row)
            continue
        offer = Offer(
            id=product,
            supplier=sender_id(sender),
            product=product,
            steps=tuple(
                PriceStep(step.start, step.amount * rate.numerator, step.per * rate.denominator) for step in row.steps
            ),
            discount=Discount(row.discount),
            pack_size=row.pack,
            min_packs=row.min_packs,
            stock_packs=row.stock_packs,
            weight=row.weight,
        )
        barred = "" if offer.sold else "fewer in stock than must be taken"
        yield _as_written(Candidate(product, origin, spec, offer if offer.sold else None, barred), row)


def sender_id(sender: Sender) -> str:
    """The supplier's id in the problem: its name, unless that is one of ours."""
    ours = sender.name == DRAWER or sender.name.startswith((_DONOR, _COMING))
    return f"{sender.name} ({sender.id})" if ours else sender.name
