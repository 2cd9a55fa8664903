"""The person's word on where to buy, as part of an order problem: only from, not from, and lines that are kept.

Own stock and donors are nobody's shop: no word on suppliers touches them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import msgspec

if TYPE_CHECKING:
    from collections.abc import Sequence

    from catalog.purchase_data import PurchaseProblem

PinKind = Literal["only", "not", "keep"]


class OfferPin(msgspec.Struct, frozen=True):
    """`only` and `not` speak of a supplier, `not` also of one offer of it; `keep` of so many packs of an offer."""

    kind: PinKind
    supplier: str
    """Id of the supplier in the problem."""
    offer: str = ""
    packs: int = 0


def pinned(problem: PurchaseProblem, pins: Sequence[OfferPin]) -> PurchaseProblem:
    """The problem with that word kept. Several suppliers that are bought from only may all be bought from."""
    own = {supplier.id for supplier in problem.suppliers if supplier.own}
    only = {pin.supplier for pin in pins if pin.kind == "only"}
    closed = {pin.supplier for pin in pins if pin.kind == "not" and not pin.offer}
    left = {pin.offer for pin in pins if pin.kind == "not" and pin.offer}
    gone = frozenset(
        offer.id
        for offer in problem.offers
        if offer.supplier not in own
        and (offer.id in left or offer.supplier in closed or (only and offer.supplier not in only))
    )
    known = {offer.id for offer in problem.offers}
    keep = {pin.offer: pin.packs for pin in pins if pin.kind == "keep" and pin.offer in known - gone}
    return msgspec.structs.replace(
        problem,
        offers=tuple(offer for offer in problem.offers if offer.id not in gone),
        keep={**problem.keep, **keep},
    )
