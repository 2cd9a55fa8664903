"""Of parts at hand that cost the plan the same, the better fitting one: grades settle what cents leave open.

Only pieces of one own supplier change places, free, piece by piece and equal in extra work and penalty: no total moves.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from catalog.purchase_data import Served
from catalog.purchase_rows import usable
from catalog.rules import Grade

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping

    from catalog.purchase_data import Accept, Offer, PurchaseProblem


def better_fits(
    problem: PurchaseProblem, packs: Mapping[str, int], served: Iterable[Served], *, fixed: Collection[str] = ()
) -> tuple[dict[str, int], tuple[Served, ...]]:
    """The same plan with better grades where what lies unused at hand fits better at the same cost.

    Args:
        problem: the order.
        packs: {offer: packs} of the plan.
        served: its pieces by need and offer.
        fixed: offers that stay as they are, such as a donor's, whose pieces are counted elsewhere too.
    """
    packs, pieces = dict(packs), _counted(served)
    free = {name: offer for name, offer in _free(problem).items() if name not in fixed}
    ways = {
        need.id: {offer.id: accept for offer, accept in usable(problem, need) if offer.id in free}
        for need in problem.needs
        if any(name == need.id and offer in free for name, offer in pieces)
    }
    moved = True
    while moved:  # what one need gives back may be the better one for another
        moved = False
        for need, offer in list(pieces):
            own = ways.get(need, {})
            if offer not in own:
                continue
            for other in _better(free[offer], own, free):
                room = (free[other].stock_packs or 0) - packs.get(other, 0)
                count = min(room, pieces[need, offer])
                if count > 0:
                    for place, change in ((offer, -count), (other, count)):
                        pieces[need, place] += change
                        packs[place] = packs.get(place, 0) + change
                    moved = True
    found = tuple(Served(need, offer, count) for (need, offer), count in pieces.items() if count)
    return {offer: count for offer, count in packs.items() if count}, found


def _counted(served: Iterable[Served]) -> defaultdict[tuple[str, str], int]:
    pieces: defaultdict[tuple[str, str], int] = defaultdict(int)
    for entry in served:
        pieces[entry.need, entry.offer] += entry.pieces
    return pieces


def _free(problem: PurchaseProblem) -> dict[str, Offer]:
    """Offers of the person's own stock, single pieces that cost nothing and that nothing else holds fast."""
    own = {supplier.id for supplier in problem.suppliers if supplier.own}
    return {
        offer.id: offer
        for offer in problem.offers
        if offer.supplier in own
        and offer.id not in problem.keep
        and offer.pack_size == 1
        and offer.min_packs <= 1
        and offer.stock_packs is not None
        and all(step.amount == 0 for step in offer.steps)
    }


def _better(offer: Offer, ways: Mapping[str, Accept], free: Mapping[str, Offer]) -> list[str]:
    """Offers of the same supplier that fit better at the same extra work and penalty, best first."""
    mine = ways[offer.id]
    found = [
        (Grade(accept.grade).rank, name)
        for name, accept in ways.items()
        if Grade(accept.grade).rank < Grade(mine.grade).rank
        and (accept.rework_minutes, accept.penalty) == (mine.rework_minutes, mine.penalty)
        and free[name].supplier == offer.supplier
    ]
    return [name for _, name in sorted(found)]
