"""Columns and rows of a parts order, tight and exact, to be solved alone or joined with the rows of a whole lot.

Per offer one range of the price list may be chosen (multiple choice, whose bound is that of the lower convex envelope:
Croxton, Gendron & Magnanti, Management Science 49, 2003), each need is linked to that choice piece by piece, and the
waiting of a unit is one chain of yes-or-no columns, so that scarce fast stock goes to the dear unit.

Buying more than anything can use pays only to reach a price step, a smallest order or lower charges. Two exact bounds
follow from an optimal plan with the fewest packs. `_most_surplus`: once the smallest order is reached, surplus worth
more than the most that charges can fall could be left out with a gain. `_pays`: a range that is only reached by
overbuying is left out if a smaller purchase is cheaper by that much and cannot fail the smallest order.
"""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction
from math import ceil, floor, lcm
from typing import TYPE_CHECKING

import msgspec

from catalog.charge_rows import Bought, add_charges
from catalog.charges import last_fall, most_saved
from catalog.model import Terms
from catalog.pricing import Segment, half_up, segments
from catalog.purchase_data import Served

if TYPE_CHECKING:
    from collections.abc import Sequence

    from catalog.model import Model
    from catalog.purchase_data import Accept, Need, Offer, PurchaseProblem, Supplier

MOST_SINGLE = 24
"""Most packs of one price range that get an exact choice each where the line has to be rounded."""


class PurchaseRows:
    """The part of a model that describes one order. All costs are 0 until `minimise` sets them.

    To make a need depend on a decision, add a term to its row: `model.add_term(rows.need_rows[id], column, -pieces)`
    after building with `conditional` naming it; the row then says pieces served = pieces x decision.
    """

    def __init__(self, model: Model, problem: PurchaseProblem, *, conditional: frozenset[str] = frozenset()) -> None:
        self.model = model
        self.problem = problem
        self.need_rows: dict[str, int] = {}
        self.served: dict[tuple[str, str], int] = {}
        """{(need, offer): column of pieces}"""
        self.packs: dict[str, list[int]] = defaultdict(list)
        """{offer: columns of packs, one a price range}"""
        self.spent: Terms = []
        """Goods and all charges."""
        self.cash: Terms = []
        """Goods and charges that have to be paid now (not the person's own stock)."""
        self.rework: Terms = []
        """Extra work and penalty of the pieces used."""
        self.waiting: Terms = []
        self.ready: dict[str, Terms] = {}
        """{unit: how much later than its `ready_day` it is ready, as a sum}, of units whose waiting costs something"""
        self.spares: Terms = []
        """What the spares taken are worth, as costs below 0."""
        self._suppliers = {supplier.id: supplier for supplier in problem.suppliers}
        self._usable = {need.id: usable(problem, need) for need in problem.needs}
        self._add_needs(conditional)
        self._add_suppliers()
        self._add_waiting()
        if problem.cash_limit is not None:
            model.row(self.cash, high=problem.cash_limit, name="cash limit")

    def minimise(self, *parts: Terms) -> None:
        """Set the objective to the sum of `parts`, such as `rows.spent, rows.rework, rows.spares, rows.waiting`."""
        costs: dict[int, float] = defaultdict(float)
        for column, cost in (term for part in parts for term in part):
            costs[column] += cost
        for column in range(len(self.model.columns)):
            self.model.set_cost(column, costs.get(column, 0.0))

    def read(self, values: Sequence[float]) -> tuple[dict[str, int], tuple[Served, ...]]:
        """Packs per offer and pieces served, from the solver's values.

        Packs of an offer that costs nothing are cut to what is used: the solver does not care, the person does.
        """
        served = tuple(Served(need, offer, round(values[x])) for (need, offer), x in self.served.items())
        used: dict[str, int] = defaultdict(int)
        for entry in served:
            used[entry.offer] += entry.pieces
        packs = {offer: sum(round(values[column]) for column in columns) for offer, columns in self.packs.items()}
        for offer in self.problem.offers:
            if offer.id in packs and offer.id not in self.problem.keep and not any(s.amount for s in offer.steps):
                pieces = used[offer.id]
                packs[offer.id] = max(-(-pieces // offer.pack_size), offer.min_packs) if pieces else 0
        return {offer: n for offer, n in packs.items() if n}, tuple(entry for entry in served if entry.pieces)

    def _add_needs(self, conditional: frozenset[str]) -> None:
        for need in self.problem.needs:
            terms: Terms = []
            for offer, accept in self._usable[need.id]:
                x = self.model.column(high=need.pieces, name=f"{need.id} from {offer.id}")
                self.served[need.id, offer.id] = x
                terms.append((x, 1))
                self.rework.append((x, rework_of_piece(self.problem, accept) + accept.penalty))
            taken: Terms = []
            if need.whole:
                column = self.model.choice(name=f"{need.id}: wished for")
                taken.append((column, -float(need.pieces)))
                self.spares.append((column, -float(sum(need.worths))))
            for worth in () if need.whole else need.worths:
                column = self.model.column(high=1.0, name=f"{need.id}: a spare")
                taken.append((column, -1.0))
                self.spares.append((column, -float(worth)))
            pieces = 0 if need.id in conditional or need.spare else need.pieces
            self.need_rows[need.id] = self.model.row([*terms, *taken], pieces, pieces, name=f"need {need.id}")

    def _add_suppliers(self) -> None:
        takers: dict[str, list[tuple[Need, int]]] = defaultdict(list)
        for need in self.problem.needs:
            for offer, _ in self._usable[need.id]:
                takers[offer.id].append((need, self.served[need.id, offer.id]))
        offers: dict[str, list[Offer]] = defaultdict(list)
        for offer in self.problem.offers:
            offers[offer.supplier].append(offer)
        for supplier in self.problem.suppliers:
            bought = Bought(goods=[], choices=[], weight=[], top_goods=0, top_weight=0, gifts=False)
            for offer in offers[supplier.id]:
                self._add_offer(supplier, offer, takers[offer.id], bought)
            charges = add_charges(self.model, supplier, bought)
            self.spent += bought.goods + charges
            if not supplier.own:
                self.cash += bought.goods + charges

    def _add_offer(self, supplier: Supplier, offer: Offer, takers: list[tuple[Need, int]], bought: Bought) -> None:
        """Add one offer, and to `bought` what it brings."""
        model, name = self.model, offer.id
        demand = sum(need.pieces for need, _ in takers)
        kept = self.problem.keep.get(offer.id)
        ranges = reachable(supplier, offer, demand) if kept is None else exactly(offer, kept)
        if kept and not ranges:
            model.row([], low=1, name=f"{name}: kept")
        chosen: Terms = []
        paid: list[int] = []
        pieces: Terms = []
        for segment in ranges:
            top = segment.high if segment.high is not None else segment.low
            z = model.choice(name=f"{name}: {segment.low}-{top} packs")
            y = model.column(high=top, whole=True, name=f"{name}: packs of {segment.low}-{top}")
            model.row([(y, 1), (z, -segment.low)], low=0)
            model.row([(y, 1), (z, -top)], high=0)
            bought.goods += self._line_terms(segment, y, z, name)
            chosen.append((z, 1))
            # what is beyond the demand serves nobody: without this a little of a dear range is mixed with much of a
            # cheap one, and the bound is that of a price that cannot be had
            beyond = segment.low * offer.pack_size > demand
            pieces.append((z, demand) if beyond else (y, offer.pack_size))
            self.packs[offer.id].append(y)
            if offer.weight:
                bought.weight.append((y, offer.weight * offer.pack_size))
            if segment.free:
                bought.gifts = True
            else:
                paid.append(z)
        if kept is not None and chosen:
            model.row(chosen, 1, 1, name=f"{name}: kept")
        elif len(chosen) > 1:
            model.row(chosen, high=1, name=f"{name}: one price range")
        if paid:
            bought.choices.append(paid)
            tops = [(each, each.low if each.high is None else each.high) for each in ranges]
            bought.top_goods += max(each.amount(top) for each, top in tops)
            bought.top_weight += offer.weight * offer.pack_size * max(top for _, top in tops)
        elif chosen:
            bought.top_weight += offer.weight * offer.pack_size * max(each.high or each.low for each in ranges)
        for need, x in takers:
            model.row([(x, 1), *((z, -need.pieces) for z, _ in chosen)], high=0)
        if takers:
            model.row(
                [*((x, 1) for _, x in takers), *((y, -size) for y, size in pieces)], high=0, name=f"{name}: bought"
            )

    def _line_terms(self, segment: Segment, y: int, z: int, name: str) -> Terms:
        """The rounded line; where it is no whole amount by itself, a whole column held within the half-up interval."""
        if segment.free:
            return []
        if segment.whole:
            return [(y, float(segment.per_pack)), (z, float(segment.fixed))]
        top = segment.high if segment.high is not None else segment.low
        line = self.model.column(high=segment.amount(top), whole=True, name=f"{name}: line")
        parts = lcm(segment.fixed.denominator, segment.per_pack.denominator)
        # -1/2 < line - exact <= 1/2, both sides times 2 x parts so that every coefficient is a whole number. The
        # difference is then an even whole number: more than -parts is the same as at least 1 - parts.
        scale = 2 * parts
        terms = [(line, scale), (y, -float(segment.per_pack * scale)), (z, -float(segment.fixed * scale))]
        self.model.row([*terms, (z, -parts)], high=0, name=f"{name}: line rounded, above")
        self.model.row([*terms, (z, parts - 1)], low=0, name=f"{name}: line rounded, below")
        return [(line, 1.0)]

    def _add_waiting(self) -> None:
        needs: dict[str, list[Need]] = defaultdict(list)
        for need in self.problem.needs:
            if not need.spare:
                needs[need.unit].append(need)
        for unit in self.problem.units:
            if not unit.wait_per_day:
                continue
            leads = {self._day(offer) for need in needs[unit.id] for offer, _ in self._usable[need.id]}
            days = sorted(day for day in leads if day > unit.ready_day)
            before, last = unit.ready_day, -1
            self.ready[unit.id] = []
            for day in days:
                late = self.model.choice(name=f"{unit.id}: not before day {day}")
                self.waiting.append((late, float(unit.wait_per_day * (day - before))))
                self.ready[unit.id].append((late, float(day - before)))
                if last >= 0:
                    self.model.row([(last, 1), (late, -1)], low=0)
                for need in needs[unit.id]:
                    slow = [o for o, _ in self._usable[need.id] if self._day(o) >= day]
                    if slow:
                        terms: Terms = [(self.served[need.id, offer.id], 1) for offer in slow]
                        self.model.row([*terms, (late, -need.pieces)], high=0)
                before, last = day, late

    def _day(self, offer: Offer) -> int:
        return self._suppliers[offer.supplier].lead_days


def rework_of_piece(problem: PurchaseProblem, accept: Accept) -> int:
    """What the extra work on one piece costs, rounded half-up once."""
    return half_up(Fraction(problem.labour_per_hour * accept.rework_minutes, 60))


def usable(problem: PurchaseProblem, need: Need) -> list[tuple[Offer, Accept]]:
    """The offers that can serve `need`: accepted, not ruled out, sold at all, and in time even when late."""
    suppliers = {supplier.id: supplier for supplier in problem.suppliers}
    deadline = next(unit.deadline_day for unit in problem.units if unit.id == need.unit)
    accepts = {accept.product: accept for accept in need.accepts}
    return [
        (offer, accepts[offer.product])
        for offer in problem.offers
        if offer.product in accepts
        and offer.id not in need.not_from
        and offer.sold
        and (deadline is None or suppliers[offer.supplier].late <= deadline)
    ]


def reachable(supplier: Supplier, offer: Offer, demand: int) -> list[Segment]:
    """The price ranges of `offer` that an optimal plan may use when its needs take at most `demand` pieces."""
    ranges = segments(offer.steps, offer.discount, offer.pack_size, offer.min_packs, offer.stock_packs)
    useful = -(-demand // offer.pack_size)
    kept = []
    for index, segment in enumerate(ranges):
        if not _pays(supplier, segment, ranges[:index], useful):
            continue
        top = max(useful, segment.low) + _most_surplus(supplier, segment)
        if segment.high is not None:
            top = min(segment.high, top)
        full = demand // offer.pack_size
        for part in _split_after(msgspec.structs.replace(segment, high=top), full):
            kept += _single_amounts(part, min(useful, top))
    return kept


def _split_after(segment: Segment, last: int) -> list[Segment]:
    """The range up to `last` packs, all of whose pieces can serve, and the rest apart."""
    if segment.high is None or not segment.low <= last < segment.high:
        return [segment]
    replace = msgspec.structs.replace
    return [replace(segment, high=last), replace(segment, low=last + 1)]


def _single_amounts(segment: Segment, last: int) -> list[Segment]:
    """Take a range apart where lines are rounded: one exact range per number of packs up to `last`, if they are few.

    Half a cent of slack on each of a hundred lines is what keeps a solver from its proof.
    """
    if segment.whole or segment.free or not 0 <= last - segment.low < MOST_SINGLE:
        return [segment]
    singles = [Segment(n, n, Fraction(segment.amount(n)), Fraction(0)) for n in range(segment.low, last + 1)]
    return singles if last == segment.high else [*singles, msgspec.structs.replace(segment, low=last + 1)]


def exactly(offer: Offer, packs: int) -> list[Segment]:
    """The one amount a kept line stands for; empty where it cannot be bought so."""
    ranges = segments(offer.steps, offer.discount, offer.pack_size, offer.min_packs, offer.stock_packs)
    amounts = [each.amount(packs) for each in ranges if each.low <= packs and (each.high is None or packs <= each.high)]
    return [Segment(packs, packs, Fraction(amount), Fraction(0)) for amount in amounts[:1]]


def _most_surplus(supplier: Supplier, segment: Segment) -> int:
    """Packs beyond the useful ones that can pay inside one price range."""
    if segment.per_pack == 0:
        return 0
    dust = 0 if segment.whole else 1  # two rounded lines may differ by one cent less than the exact ones
    to_smallest = ceil((supplier.min_order + dust) / segment.per_pack) if supplier.min_order else 0
    saved = most_saved(supplier)
    if not saved:
        return to_smallest
    to_last = ceil((max(last_fall(supplier), supplier.min_order) + dust) / segment.per_pack)
    return min(to_smallest + floor((saved + dust) / segment.per_pack), to_last)


def _pays(supplier: Supplier, segment: Segment, cheaper: list[Segment], useful: int) -> bool:
    """Whether a range reached only by overbuying (`segment.low` > `useful`) can be part of an optimal plan."""
    if segment.low <= useful:
        return True
    amount = segment.amount(segment.low)
    others = [0] if useful == 0 else []
    for other in cheaper:
        packs = max(useful, other.low)
        if other.high is None or packs <= other.high:
            others.append(other.amount(packs))
    return not any(
        amount - other >= most_saved(supplier) and (supplier.min_order == 0 or other >= supplier.min_order)
        for other in others
    )
