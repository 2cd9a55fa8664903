"""A first good order at once, without a solver: needs are moved between offers while that saves anything.

Each need goes to one offer (one that no offer can meet alone goes piece by piece). A step moves a need, or puts all
needs of one product anew, or closes or opens a supplier, and is kept only if the whole order, counted with every charge
and all waiting, gets cheaper. The result is an order by all rules or none; how far it is from the best is for the
solver to say.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from functools import partial
from math import inf, prod
from typing import TYPE_CHECKING

import msgspec

from catalog.pricing import segments
from catalog.purchase_data import PlanStatus, PurchasePlan, Served
from catalog.purchase_rows import rework_of_piece, usable
from catalog.reprice import RuleBroken, charged, reprice

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence

    from catalog.purchase_data import Offer, PurchaseProblem

MOST_WAYS = 64
"""Most ways to put the needs of one product that are all tried."""
SHORT = 10
"""How dear it is, in the search, to lack one minor unit to a smallest order: it has to be filled up with surplus."""


def first_plan(
    problem: PurchaseProblem, leaning: Mapping[tuple[str, str], float], *, cancel: Callable[[], bool] | None = None
) -> PurchasePlan | None:
    """A good order, or None where this simple way finds none.

    Args:
        problem: the order.
        leaning: {(need, offer): pieces}, whole or not, that the search begins from.
        cancel: polled; true ends the search with what there is.
    """
    search = _Search(problem)
    if not search.begin(leaning):
        return None
    search.improve(cancel or (lambda: False))
    packs, served = search.order()
    try:
        return reprice(problem, packs, served, status=PlanStatus.STOPPED, gap=inf)
    except RuleBroken:
        return None


class _Line:
    """What an offer costs by the pieces that are wanted of it: the cheapest number of packs that covers them."""

    def __init__(self, offer: Offer, demand: int, kept: int | None) -> None:
        self.size = offer.pack_size
        self.weight = offer.weight * offer.pack_size
        self.costs: list[tuple[float, int]] = [(0, 0)] * (demand + 1)
        ranges = segments(offer.steps, offer.discount, offer.pack_size, offer.min_packs, offer.stock_packs)
        for wanted in range(demand + 1):
            least = -(-wanted // offer.pack_size)
            ways: list[tuple[float, int]] = [(0, 0)] if wanted == 0 and kept is None else []
            for each in ranges:
                packs = max(least, each.low) if kept is None else kept
                if packs >= max(least, each.low) and (each.high is None or packs <= each.high) and wanted:
                    ways.append((each.amount(packs), packs))
                elif kept and each.low <= kept and (each.high is None or kept <= each.high) and not wanted:
                    ways.append((each.amount(kept), kept))
            if kept == 0 and not wanted:
                ways.append((0, 0))
            self.costs[wanted] = min(ways, default=(inf, 0))


class _Item(msgspec.Struct, kw_only=True):
    """A need, or one piece of it, that goes to one offer. Units and offers are meant by their place."""

    need: str
    unit: int
    pieces: int
    ways: list[int]
    """Offers it may go to."""
    extra: dict[int, int]
    """{offer: what a piece costs beyond its price}"""
    product: str


class _Search:
    def __init__(self, problem: PurchaseProblem) -> None:
        self.problem = problem
        self.offers = problem.offers
        place = self.place_of = {offer.id: at for at, offer in enumerate(problem.offers)}
        senders = {supplier.id: at for at, supplier in enumerate(problem.suppliers)}
        self.sender = [senders[offer.supplier] for offer in problem.offers]
        self.lead = [problem.suppliers[at].lead_days for at in self.sender]
        units = {unit.id: at for at, unit in enumerate(problem.units)}
        self.wait = [unit.wait_per_day for unit in problem.units]
        demand: dict[int, int] = defaultdict(int)
        self.items: list[_Item] = []
        ways_of = {need.id: usable(problem, need) for need in problem.needs if not need.spare}
        for need in problem.needs:
            for offer, _ in ways_of.get(need.id, ()):
                demand[place[offer.id]] += need.pieces
        self.lines = [
            _Line(offer, demand[at], problem.keep.get(offer.id)) if at in demand or offer.id in problem.keep else None
            for at, offer in enumerate(problem.offers)
        ]
        for need in problem.needs:
            if need.spare:
                continue
            extra = {
                place[offer.id]: rework_of_piece(problem, accept) + accept.penalty for offer, accept in ways_of[need.id]
            }
            whole = [at for at in extra if self._line(at).costs[need.pieces][0] < inf]
            product = need.accepts[0].product if need.accepts else ""
            scarce = any(self._line(at).costs[demand[at]][0] == inf for at in extra)
            sizes = [(need.pieces, whole)] if whole and not scarce else [(1, list(extra))] * need.pieces
            self.items += [
                _Item(need=need.id, unit=units[need.unit], pieces=size, ways=ways, extra=extra, product=product)
                for size, ways in sizes
            ]
        self.at: list[int] = [-1] * len(self.items)
        self.wanted = [0] * len(self.offers)
        self.goods: list[float] = [0] * len(problem.suppliers)
        self.weights = [0] * len(problem.suppliers)
        self.on_unit: list[dict[int, int]] = [defaultdict(int) for _ in problem.units]
        """{lead days: items}"""
        self.ready = [unit.ready_day for unit in problem.units]
        self.closed: set[int] = set()
        self._charges: dict[tuple[int, float, int], float] = {}
        for at, line in enumerate(self.lines):
            if line is not None and line.costs[0][1]:
                self.goods[self.sender[at]] += line.costs[0][0]
                self.weights[self.sender[at]] += line.weight * line.costs[0][1]

    def _line(self, at: int) -> _Line:
        line = self.lines[at]
        assert line is not None  # noqa: S101 - asked only for what has takers
        return line

    # --- counting ------------------------------------------------------------------------------------------------

    def asked(self, sender: int, goods: float, weight: int) -> float:
        """What a supplier asks on top of the goods; what lacks to its smallest order is dear."""
        key = (sender, goods, weight)
        known = self._charges.get(key)
        if known is None:
            supplier = self.problem.suppliers[sender]
            if goods <= 0 or goods == inf:
                known = 0.0
            else:
                known = float(sum(charged(supplier, int(goods), weight)))
                known += SHORT * max(0, supplier.min_order - int(goods))
            self._charges[key] = known
        return known

    def change_one(self, item: _Item, at: int) -> float:
        """As `change` for one item; most questions are of this kind, so it makes no tables."""
        line = self._line(at)
        now, then = line.costs[self.wanted[at]], line.costs[self.wanted[at] + item.pieces]
        if then[0] == inf:
            return inf
        total = float(item.extra[at] * item.pieces)
        wait = self.wait[item.unit]
        if wait:
            total += wait * max(0, self.lead[at] - self.ready[item.unit])
        more = then[0] - now[0]
        heavier = line.weight * (then[1] - now[1])
        if more or heavier:
            sender = self.sender[at]
            before, heavy = self.goods[sender], self.weights[sender]
            total += more + self.asked(sender, before + more, heavy + heavier) - self.asked(sender, before, heavy)
        return total

    def change(self, moves: Sequence[tuple[_Item, int]]) -> float:
        """By how much the order gets dearer if these items, not placed now, go to these offers."""
        more: dict[int, int] = {}
        total = 0.0
        latest: dict[int, int] = {}
        for item, at in moves:
            more[at] = more.get(at, 0) + item.pieces
            total += item.extra[at] * item.pieces
            if self.wait[item.unit]:
                latest[item.unit] = max(latest.get(item.unit, self.ready[item.unit]), self.lead[at])
        for unit, day in latest.items():
            total += self.wait[unit] * (day - self.ready[unit])
        goods: dict[int, float] = {}
        weights: dict[int, int] = {}
        for at, pieces in more.items():
            line = self._line(at)
            now, then = line.costs[self.wanted[at]], line.costs[self.wanted[at] + pieces]
            if then[0] == inf:
                return inf
            sender = self.sender[at]
            goods[sender] = goods.get(sender, 0) + then[0] - now[0]
            weights[sender] = weights.get(sender, 0) + line.weight * (then[1] - now[1])
        for sender, amount in goods.items():
            before, heavy = self.goods[sender], self.weights[sender]
            total += amount + self.asked(sender, before + amount, heavy + weights[sender])
            total -= self.asked(sender, before, heavy)
        return total

    def place(self, item: int, at: int, sign: int = 1) -> None:
        """Put an item to an offer, or take it away (`sign` -1)."""
        each, line, sender = self.items[item], self._line(at), self.sender[at]
        now = line.costs[self.wanted[at]]
        self.wanted[at] += sign * each.pieces
        then = line.costs[self.wanted[at]]
        self.goods[sender] += then[0] - now[0]
        self.weights[sender] += line.weight * (then[1] - now[1])
        days = self.on_unit[each.unit]
        days[self.lead[at]] += sign
        if not days[self.lead[at]]:
            del days[self.lead[at]]
        self.ready[each.unit] = max(self.problem.units[each.unit].ready_day, max(days, default=0))
        self.at[item] = at if sign > 0 else -1

    def whole(self) -> float:
        """The order as it stands."""
        extra = sum(each.extra[at] * each.pieces for each, at in zip(self.items, self.at, strict=True))
        waiting = sum(w * (r - u.ready_day) for w, r, u in zip(self.wait, self.ready, self.problem.units, strict=True))
        asked = sum(self.asked(at, goods, self.weights[at]) for at, goods in enumerate(self.goods))
        return extra + waiting + asked + sum(self.goods)

    # --- searching -----------------------------------------------------------------------------------------------

    def begin(self, leaning: Mapping[tuple[str, str], float]) -> bool:
        """Every item where it leans to, or where it alone is cheapest; false where one finds no place."""
        left = {(need, self.place_of[offer]): x for (need, offer), x in leaning.items() if offer in self.place_of}
        for index in sorted(range(len(self.items)), key=lambda at: len(self.items[at].ways)):
            item = self.items[index]
            most, first = max(((left.get((item.need, at), 0.0), at) for at in item.ways), default=(0.0, -1))
            if most > 0.0 and self.change([(item, first)]) < inf:
                left[item.need, first] = most - item.pieces
                self.place(index, first)
            elif not self._put(index):
                return False
        return True

    def _open(self, item: _Item) -> list[int]:
        return [at for at in item.ways if self.sender[at] not in self.closed]

    def _put(self, index: int) -> bool:
        """Put an item where that costs least now."""
        item = self.items[index]
        cost, at = min(((self.change_one(item, at), at) for at in self._open(item)), default=(inf, -1))
        if cost == inf:
            return False
        self.place(index, at)
        return True

    def improve(self, cancel: Callable[[], bool]) -> None:
        """Every step once; a second round was seen to gain a tenth of the first at the same price."""
        for step in self._steps():
            if cancel():
                return
            step()

    def _steps(self) -> Iterator[Callable[[], None]]:
        by_product: dict[str, list[int]] = defaultdict(list)
        by_unit: dict[int, list[int]] = defaultdict(list)
        for index, item in enumerate(self.items):
            by_product[item.product].append(index)
            by_unit[item.unit].append(index)
        for group in by_product.values():
            if any(len(self.items[index].ways) > 1 for index in group):
                yield partial(self._anew, group)
        for unit, group in by_unit.items():
            if self.wait[unit]:
                yield partial(self._by_day, group)
        for sender in range(len(self.problem.suppliers)):
            yield partial(self._without, sender)
        for sender in range(len(self.problem.suppliers)):
            yield partial(self._with, sender)
        yield from (partial(self._best_of, [at]) for at, item in enumerate(self.items) if len(item.ways) > 1)

    def _anew(self, group: Sequence[int]) -> None:
        """The needs of one product put anew: every way if there are few, else over one or two offers."""
        if prod(len(self.items[index].ways) for index in group) <= MOST_WAYS:
            self._best_of(group)
            return
        offers = sorted({at for index in group for at in self._open(self.items[index])})
        self._best_among(group, [set(few) for size in (1, 2) for few in itertools.combinations(offers, size)])

    def _best_among(self, group: Sequence[int], choices: Sequence[Collection[int]]) -> None:
        """Put a group anew within one of some sets of offers, one item after the other."""
        before = [self.at[index] for index in group]
        items = [self.items[index] for index in group]
        for index, at in zip(group, before, strict=True):
            self.place(index, at, -1)
        best, chosen = self.change(list(zip(items, before, strict=True))), before
        for allowed in choices:
            way: list[int] = []
            cost = 0.0
            for index, item in zip(group, items, strict=True):
                one, at = min(
                    ((self.change_one(item, at), at) for at in self._open(item) if at in allowed), default=(inf, -1)
                )
                cost += one
                if cost == inf:
                    break
                self.place(index, at)
                way.append(at)
            for index, at in zip(group, way, strict=False):
                self.place(index, at, -1)
            if cost < best and len(way) == len(group):
                best, chosen = cost, way
        for index, at in zip(group, chosen, strict=True):
            self.place(index, at)

    def _best_of(self, group: Sequence[int]) -> None:
        before = [self.at[index] for index in group]
        for index, at in zip(group, before, strict=True):
            self.place(index, at, -1)
        items = [self.items[index] for index in group]
        best, chosen = self.change(list(zip(items, before, strict=True))), before
        for way in itertools.product(*(self._open(item) for item in items)):
            cost = self.change(list(zip(items, way, strict=True)))
            if cost < best:
                best, chosen = cost, list(way)
        for index, at in zip(group, chosen, strict=True):
            self.place(index, at)

    def _by_day(self, group: Sequence[int]) -> None:
        """All needs of a unit put anew so that they are here by one day: for each day that is possible."""
        offers = {at for index in group for at in self._open(self.items[index])}
        days = sorted({self.lead[at] for at in offers})
        self._best_among(group, [{at for at in offers if self.lead[at] <= day} for day in days])

    def _without(self, sender: int) -> None:
        """Buy nothing of a supplier, if that is cheaper."""
        moved = [index for index, at in enumerate(self.at) if self.sender[at] == sender]
        if moved:
            self.closed.add(sender)
            self._try(moved, lambda: all(self._put(index) for index in moved))
            self.closed.discard(sender)

    def _with(self, sender: int) -> None:
        """Buy of a supplier everything that is cheaper there by its price alone, if that pays in all."""
        moves = []
        for index, item in enumerate(self.items):
            there = [at for at in item.ways if self.sender[at] == sender]
            now = self.at[index]
            if there and self.sender[now] != sender:
                to = min(there, key=lambda at: self._alone(item, at))
                if self._alone(item, to) < self._alone(item, now):
                    moves.append((index, to))
        if moves:

            def put() -> bool:
                for index, to in moves:
                    if self.change([(self.items[index], to)]) < inf:
                        self.place(index, to)
                    elif not self._put(index):
                        return False
                return True

            self._try([index for index, _ in moves], put)

    def _alone(self, item: _Item, at: int) -> float:
        return (
            self._line(at).costs[item.pieces][0] + item.extra[at] * item.pieces + self.wait[item.unit] * self.lead[at]
        )

    def _try(self, moved: Iterable[int], put: Callable[[], bool]) -> None:
        """Take items away, put them anew, and go back where that is no gain."""
        before, held = self.whole(), list(self.at)
        for index in moved:
            self.place(index, self.at[index], -1)
        if not put() or self.whole() >= before:
            changed = [index for index, (at, old) in enumerate(zip(self.at, held, strict=True)) if at != old]
            for index in changed:
                if self.at[index] >= 0:
                    self.place(index, self.at[index], -1)
            for index in changed:
                self.place(index, held[index])

    # --- what came out -------------------------------------------------------------------------------------------

    def order(self) -> tuple[dict[str, int], tuple[Served, ...]]:
        """Packs and pieces served."""
        packs = {
            offer.id: line.costs[self.wanted[at]][1]
            for at, (offer, line) in enumerate(zip(self.offers, self.lines, strict=True))
            if line is not None and line.costs[self.wanted[at]][1]
        }
        return packs, tuple(self._served())

    def _served(self) -> Iterator[Served]:
        pieces: dict[tuple[str, str], int] = defaultdict(int)
        for item, at in zip(self.items, self.at, strict=True):
            pieces[item.need, self.offers[at].id] += item.pieces
        for (need, offer), count in pieces.items():
            yield Served(need, offer, count)
