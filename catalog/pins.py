"""The person's word on where to buy, as part of an order problem: only from, not from, and lines that are kept.

It holds for the whole order, or for one need. Own stock and donors are nobody's shop: no word on suppliers touches
them. Where the two kinds of word meet, both hold: a need takes nothing that is closed to the whole order.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import msgspec

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from catalog.purchase_data import Need, PurchaseProblem

PinKind = Literal["only", "not", "keep"]


class OfferPin(msgspec.Struct, frozen=True):
    """`only` and `not` speak of a supplier, `not` also of one offer of it; `keep` of so many packs of an offer."""

    kind: PinKind
    supplier: str
    """Id of the supplier in the problem."""
    offer: str = ""
    packs: int = 0
    need: str = ""
    """Id of the need it speaks of; empty for the whole order. Nothing is kept for one need alone."""


def pinned(problem: PurchaseProblem, pins: Sequence[OfferPin]) -> PurchaseProblem:
    """The problem with that word kept. Several suppliers that are bought from only may all be bought from."""
    whole = [pin for pin in pins if not pin.need]
    gone = _closed(problem, whole)
    known = {offer.id for offer in problem.offers}
    keep = {pin.offer: pin.packs for pin in whole if pin.kind == "keep" and pin.offer in known - gone}
    return msgspec.structs.replace(
        problem,
        offers=tuple(offer for offer in problem.offers if offer.id not in gone),
        needs=tuple(_for_need(problem, need, [pin for pin in pins if pin.need == need.id]) for need in problem.needs),
        keep={**problem.keep, **keep},
    )


def _for_need(problem: PurchaseProblem, need: Need, pins: Sequence[OfferPin]) -> Need:
    if not pins:
        return need
    return msgspec.structs.replace(need, not_from=need.not_from | _closed(problem, pins))


def _closed(problem: PurchaseProblem, pins: Collection[OfferPin]) -> frozenset[str]:
    """The offers that these words close."""
    own = {supplier.id for supplier in problem.suppliers if supplier.own}
    only = {pin.supplier for pin in pins if pin.kind == "only"}
    closed = {pin.supplier for pin in pins if pin.kind == "not" and not pin.offer}
    left = {pin.offer for pin in pins if pin.kind == "not" and pin.offer}
    return frozenset(
        offer.id
        for offer in problem.offers
        if offer.supplier not in own
        and (offer.id in left or offer.supplier in closed or (only and offer.supplier not in only))
    )
