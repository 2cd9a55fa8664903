"""An order made smaller before it is solved, without moving its optimum: like needs become one, what is apart is split.

Needs are alike where the same offers can meet them at the same extra cost and waiting does not tell them apart: either
they are of one unit, or nobody waits. Parts are apart where no offer, no waiting unit and no supplier with charges or a
smallest order has to do with both.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

import msgspec

from catalog.charges import NO_CHARGES
from catalog.purchase_data import OrderUnit, PurchaseProblem, Served
from catalog.purchase_rows import rework_of_piece, usable

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable

    from catalog.purchase_data import Need, Offer, Supplier


_TWIN = "\0"
"""Ends the name of a unit that stands for another one, or several, without a deadline of its own. No name has it."""


class Merged(msgspec.Struct, frozen=True):
    """A smaller order, and which needs each of its needs stands for."""

    problem: PurchaseProblem
    members: dict[str, tuple[Need, ...]]

    def together(self, served: Iterable[Served]) -> tuple[Served, ...]:
        """Pieces served to needs, as pieces served to the merged ones."""
        stands_for = {each.id: need for need, needs in self.members.items() for each in needs}
        pieces: dict[tuple[str, str], int] = defaultdict(int)
        for entry in served:
            pieces[stands_for.get(entry.need, entry.need), entry.offer] += entry.pieces
        return tuple(Served(need, offer, count) for (need, offer), count in pieces.items())

    def apart(self, served: Iterable[Served]) -> tuple[Served, ...]:
        """Pieces served to the merged needs, shared out among the needs they stand for."""
        found = []
        names = {need: [each.id for each in needs] for need, needs in self.members.items()}
        left = {each.id: each.pieces for needs in self.members.values() for each in needs}
        for entry in served:
            pieces = entry.pieces
            for name in names.get(entry.need, ()):
                given = min(pieces, left[name])
                left[name] -= given
                pieces -= given
                if given:
                    found.append(Served(name, entry.offer, given))
            if pieces:
                found.append(msgspec.structs.replace(entry, pieces=pieces))
        return tuple(found)


def merged(problem: PurchaseProblem) -> Merged:
    """The order with like needs put together; spares stay as they are."""
    units_of = {unit.id: unit for unit in problem.units}
    alike: dict[Hashable, list[Need]] = defaultdict(list)
    for need in problem.needs:
        ways = frozenset(
            (offer.id, rework_of_piece(problem, accept) + accept.penalty) for offer, accept in usable(problem, need)
        )
        unit = need.unit if units_of[need.unit].wait_per_day else None
        alike[need.id if need.spare else (unit, ways)].append(need)
    needs: list[Need] = []
    units: dict[str, OrderUnit] = {}
    members: dict[str, tuple[Need, ...]] = {}
    for group in alike.values():
        first = group[0]
        if len(group) > 1:
            can = {offer.id for offer, _ in usable(problem, first)}
            barred = frozenset(offer.id for offer in problem.offers if offer.id not in can)
            # without a deadline of its own: what is too late for any of them is barred
            unit = first.unit + _TWIN
            units[unit] = msgspec.structs.replace(units_of[first.unit], id=unit, deadline_day=None)
            members[first.id] = tuple(group)
            pieces = sum(each.pieces for each in group)
            first = msgspec.structs.replace(first, unit=unit, pieces=pieces, not_from=barred)
        needs.append(first)
    if not members:
        return Merged(problem, {})
    return Merged(_one_wait(problem, needs, units), members)


def _one_wait(problem: PurchaseProblem, needs: list[Need], units: dict[str, OrderUnit]) -> PurchaseProblem:
    """The problem of these needs; the needs of a unit that waits stay together at one unit, so it waits once."""
    twins = {unit.id: unit.id + _TWIN for unit in problem.units if unit.wait_per_day}
    moved = []
    for need in needs:
        twin = twins.get(need.unit, "")
        if twin in units and not need.spare:
            can = {offer.id for offer, _ in usable(problem, need)}
            barred = frozenset(offer.id for offer in problem.offers if offer.id not in can)
            moved.append(msgspec.structs.replace(need, unit=twin, not_from=barred))
        else:
            moved.append(need)
    return msgspec.structs.replace(problem, needs=tuple(moved), units=(*problem.units, *units.values()))


def parts(problem: PurchaseProblem) -> list[PurchaseProblem]:
    """The order as parts that have nothing to do with each other; itself alone where it does not fall apart."""
    if problem.cash_limit is not None or not problem.needs:
        return [problem]
    joined = _joined(problem)
    needs: dict[Hashable, list[Need]] = defaultdict(list)
    for need in problem.needs:
        needs[joined.of(("need", need.id))].append(need)
    if len(needs) == 1:
        return [problem]
    offers: dict[Hashable, list[Offer]] = defaultdict(list)
    for offer in problem.offers:
        offers[joined.of(("offer", offer.id))].append(offer)
    found = [_part(problem, tuple(group), tuple(offers.pop(name, ()))) for name, group in needs.items()]
    rest = tuple(offer for group in offers.values() for offer in group)
    return [*found, _part(problem, (), rest)] if any(problem.keep.get(offer.id) for offer in rest) else found


class _Joined:
    """Things joined to groups; each group is known by one of its things."""

    def __init__(self) -> None:
        self._above: dict[Hashable, Hashable] = {}

    def of(self, thing: Hashable) -> Hashable:
        """The thing that the group of this one is known by."""
        while (above := self._above.get(thing, thing)) != thing:
            thing = above
        return thing

    def join(self, one: Hashable, other: Hashable) -> None:
        """From now on both are of one group."""
        self._above[self.of(one)] = self.of(other)


def _joined(problem: PurchaseProblem) -> _Joined:
    joined = _Joined()
    waits = {unit.id for unit in problem.units if unit.wait_per_day}
    for need in problem.needs:
        if need.unit in waits and not need.spare:
            joined.join(("need", need.id), ("unit", need.unit))
        for offer, _ in usable(problem, need):
            joined.join(("need", need.id), ("offer", offer.id))
    ties = {supplier.id for supplier in problem.suppliers if _ties(supplier)}
    for offer in problem.offers:
        if offer.supplier in ties:
            joined.join(("offer", offer.id), ("supplier", offer.supplier))
    return joined


def _part(problem: PurchaseProblem, needs: tuple[Need, ...], offers: tuple[Offer, ...]) -> PurchaseProblem:
    names = {offer.id for offer in offers}
    return msgspec.structs.replace(
        problem,
        needs=needs,
        offers=offers,
        units=tuple(unit for unit in problem.units if unit.id in {need.unit for need in needs}),
        suppliers=tuple(s for s in problem.suppliers if s.id in {offer.supplier for offer in offers}),
        keep={offer: packs for offer, packs in problem.keep.items() if offer in names},
    )


def _ties(supplier: Supplier) -> bool:
    """Whether what is bought of it for one need can change what another one costs."""
    return bool(supplier.shipping or supplier.min_order or supplier.charges != NO_CHARGES)
