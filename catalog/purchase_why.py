"""Why one line of a proven order is as it is: each answer is another whole order, proven too, and what it costs more.

Without the line, without its supplier, with the best grade only, with as few packs as are used: the difference to the
best order is the reason. The price at which the line would move is where its cost line crosses that of the next plan.
"""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction
from typing import TYPE_CHECKING

import msgspec

from catalog.charges import NO_CHARGES, goods_ranges
from catalog.pricing import PriceStep, line_amount
from catalog.purchase import Stopped, plan
from catalog.purchase_data import PlanStatus
from catalog.purchase_rows import usable
from catalog.reprice import RuleBroken, reprice
from catalog.rules import Grade

if TYPE_CHECKING:
    from collections.abc import Callable, Collection

    from catalog.purchase_data import OrderLine, PurchasePlan, PurchaseProblem, Served, Supplier

    Cancel = Callable[[], bool] | None

MOST_CROSSINGS = 12
"""Plans looked at on the way to the price; each is cheaper than the one before, so few are met."""


MOST_BELOW = 8
"""Lower prices at which it is looked again where charges follow what the goods come to."""


class Instead(msgspec.Struct, frozen=True):
    """The best order under a further condition."""

    plan: PurchasePlan
    costs: int
    """How much more than the best order, waiting included; 0 for one that is just as good."""
    moved: tuple[Served, ...]
    """What serves the needs that are served otherwise."""


class Why(msgspec.Struct, frozen=True, kw_only=True):
    """The reasons for one line. An order that does not exist is None."""

    line: OrderLine
    without: Instead | None
    """The second-best way: without this line."""
    closed: Instead | None
    """Nothing at all from its supplier."""
    best_grade: Instead | None
    """Its needs met with the best grade only; None also where they are."""
    fewer: int | None
    """What the line would come to with as few packs as are used; None where it has no more."""
    moves_at: Fraction | None
    """Price of one piece, at its present step, above which another order is better; None where no price moves it.

    To the minor unit where charges follow what the goods come to."""
    moves_to: Instead | None
    """That other order; None also where it is no order at the present price."""
    shares: dict[str, int]
    """{unit: its share of the supplier's postage and charges, by the goods it uses}; they add up."""


def why(problem: PurchaseProblem, best: PurchasePlan, offer: str, *, cancel: Cancel = None) -> Why:
    """The reasons for the line of `offer` in `best`, the proven plan of `problem`.

    Raises:
        ValueError: the plan has no such line, or is not proven.
        Stopped: cancelled.
    """
    line = next((line for line in (*best.lines, *best.own) if line.offer == offer), None)
    if line is None or best.status is not PlanStatus.OPTIMAL:
        raise ValueError(f"{offer}: no line of a proven plan")
    ask = _Asking(problem, best, cancel)
    senders = {each.id for each in problem.offers if each.supplier == line.supplier}
    without = ask.without({offer})
    moves_at, moves_to = _moves(ask, line, without)
    return Why(
        line=line,
        without=without,
        closed=ask.without(senders),
        best_grade=_best_grade(ask, line),
        fewer=_fewer(problem, line),
        moves_at=moves_at,
        moves_to=moves_to,
        shares=_shares(best, line.supplier),
    )


class _Asking:
    """Orders under further conditions, each begun from the best one."""

    def __init__(self, problem: PurchaseProblem, best: PurchasePlan, cancel: Cancel) -> None:
        self.problem = problem
        self.best = best
        self.cancel = cancel

    def plan(self, problem: PurchaseProblem) -> PurchasePlan | None:
        """The proven plan, or None where there is none."""
        found = plan(problem, before=self.best, cancel=self.cancel)
        if found.status is PlanStatus.STOPPED:
            raise Stopped("stopped before it was proven")
        return found if found.found else None

    def without(self, offers: Collection[str]) -> Instead | None:
        """The best order without these offers."""
        rest = tuple(each for each in self.problem.offers if each.id not in offers)
        keep = {name: packs for name, packs in self.problem.keep.items() if name not in offers}
        return self.instead(self.plan(msgspec.structs.replace(self.problem, offers=rest, keep=keep)))

    def instead(self, found: PurchasePlan | None) -> Instead | None:
        """The same as a difference to the best order."""
        if found is None:
            return None
        before = _by_need(self.best)
        moved = {need for need, served in _by_need(found).items() if served != before.get(need)}
        return Instead(found, found.total - self.best.total, tuple(each for each in found.served if each.need in moved))


def _by_need(found: PurchasePlan) -> dict[str, dict[str, int]]:
    served: dict[str, dict[str, int]] = defaultdict(dict)
    for entry in found.served:
        served[entry.need][entry.offer] = entry.pieces
    return served


def _best_grade(ask: _Asking, line: OrderLine) -> Instead | None:
    """The order in which the needs of a substitute take the best grade that is offered at all."""
    problem = ask.problem
    changed = []
    for need in problem.needs:
        ways = [(offer.id, Grade(accept.grade).rank) for offer, accept in usable(problem, need)]
        top = min((rank for _, rank in ways), default=0)
        best = {offer for offer, rank in ways if rank == top}
        if any(use.need == need.id for use in line.uses) and line.offer not in best:
            others = frozenset(offer.id for offer in problem.offers) - best
            changed.append(msgspec.structs.replace(need, not_from=need.not_from | others))
        else:
            changed.append(need)
    if tuple(changed) == problem.needs:
        return None
    return ask.instead(ask.plan(msgspec.structs.replace(problem, needs=tuple(changed))))


def _fewer(problem: PurchaseProblem, line: OrderLine) -> int | None:
    offer = next(each for each in problem.offers if each.id == line.offer)
    packs = max(-(-(line.pieces - line.spare) // offer.pack_size), offer.min_packs, 1)
    if packs >= line.packs:
        return None
    return line_amount(offer.steps, offer.discount, packs * offer.pack_size)


def _moves(ask: _Asking, line: OrderLine, without: Instead | None) -> tuple[Fraction | None, Instead | None]:
    """The price of a piece at which the best order changes, going up from the present one."""
    offer = next(each for each in ask.problem.offers if each.id == line.offer)
    if line.supplier not in {cost.supplier for cost in ask.best.suppliers} or not line.amount:
        return None, None
    supplier = next(each for each in ask.problem.suppliers if each.id == line.supplier)
    reached = [step for step in offer.steps if step.from_pieces <= line.pieces][-1]
    straight = supplier.free_from is None and not supplier.min_order and supplier.charges == NO_CHARGES
    found = _crossing(ask, line, without) if straight else _last_whole(ask, line, supplier)
    return (None, None) if found is None else (reached.each + found[0], ask.instead(found[1]))


def _out_of_reach(ask: _Asking) -> int:
    """A rise of a piece that no order bears if it can help it."""
    return 1000 + 20 * abs(ask.best.total)


def _crossing(ask: _Asking, line: OrderLine, without: Instead | None) -> tuple[Fraction, PurchasePlan | None] | None:
    """The rise at which the best order changes where the supplier asks the same whatever the goods come to.

    Every order is a line over the price: its cost at the present price, rising with the pieces it buys. From the order
    without the line the crossing is found; if an order is cheaper there than both, the crossing with that one lies
    lower, and so on. The rounding of order lines moves a crossing by less than a minor unit of the order.
    """
    best = ask.best
    size = next(each.pack_size for each in ask.problem.offers if each.id == line.offer)
    other = without.plan if without is not None else ask.plan(_at(ask.problem, line.offer, _out_of_reach(ask)))
    found: tuple[Fraction, PurchasePlan] | None = None
    for _ in range(MOST_CROSSINGS):
        now = None if other is None else _counted(ask.problem, other)
        pieces = 0 if other is None else other.packs.get(line.offer, 0) * size
        if now is None or pieces >= line.pieces:
            break
        rise = Fraction(now.total - best.total, line.pieces - pieces)
        if found is not None and rise >= found[0]:
            break
        found = rise, now
        dearer = _at(ask.problem, line.offer, rise)
        other, stays = ask.plan(dearer), _counted(dearer, best)
        if other is None or (stays is not None and other.total >= stays.total - 1):
            break
    return found


def _last_whole(ask: _Asking, line: OrderLine, supplier: Supplier) -> tuple[Fraction, PurchasePlan | None] | None:
    """The last whole rise with which the best order stays best, where charges follow what the goods come to.

    An order's cost is no line then: a rate makes it steeper, and a dearer piece may carry the goods over a limit. So
    the rise is looked for below each limit in turn. Of another order that such a limit makes dearer again the few
    prices at which it is better may be missed where they lie between those that are looked at.
    """
    goods = next(cost.goods for cost in ask.best.suppliers if cost.supplier == line.supplier)
    limits = [-(-(each.low - goods) // line.pieces) - 1 for each in goods_ranges(supplier)]
    low = 0
    for top in (*(each for each in limits if each > 0), _out_of_reach(ask)):
        other, high = _better_at(ask, line, top), top
        if other is None:
            low = top
            continue
        for _ in range(MOST_CROSSINGS):
            high = _first_beaten(ask, line, other, low, high)
            tried = ((rise, _better_at(ask, line, rise)) for rise in _below(low, high))
            high_and_other = next(((rise, there) for rise, there in tried if there is not None), None)
            if high_and_other is None:
                break
            high, other = high_and_other
        return Fraction(high - 1), _counted(ask.problem, other)
    return None


def _below(low: int, high: int) -> list[int]:
    """Rises between the two to look at, the highest first: all of them, or some evenly apart."""
    step = -(-(high - low - 1) // MOST_BELOW) or 1
    return list(range(high - 1, low, -step))


def _better_at(ask: _Asking, line: OrderLine, rise: int) -> PurchasePlan | None:
    """An order cheaper than the best one of now, once a piece is dearer by so much."""
    dearer = _at(ask.problem, line.offer, rise)
    there, stays = ask.plan(dearer), _counted(dearer, ask.best)
    return there if there is not None and (stays is None or there.total < stays.total) else None


def _first_beaten(ask: _Asking, line: OrderLine, other: PurchasePlan, low: int, high: int) -> int:
    """A rise above `low`, `high` at most, at which `other` beats the best order and one less at which it does not."""
    while high - low > 1:
        middle = (low + high) // 2
        dearer = _at(ask.problem, line.offer, middle)
        stays, there = _counted(dearer, ask.best), _counted(dearer, other)
        if there is not None and (stays is None or there.total < stays.total):
            high = middle
        else:
            low = middle
    return high


def _counted(problem: PurchaseProblem, found: PurchasePlan) -> PurchasePlan | None:
    """A plan found at other prices, at those of `problem`; None where it breaks a rule there."""
    try:
        return reprice(problem, found.packs, found.served)
    except RuleBroken:
        return None


def _at(problem: PurchaseProblem, offer: str, rise: Fraction | int) -> PurchaseProblem:
    """The problem with every step of an offer dearer by so much a piece."""

    def step(each: PriceStep) -> PriceStep:
        price = each.each + rise
        return PriceStep(each.from_pieces, price.numerator, price.denominator)

    return msgspec.structs.replace(
        problem,
        offers=tuple(
            msgspec.structs.replace(each, steps=tuple(step(one) for one in each.steps)) if each.id == offer else each
            for each in problem.offers
        ),
    )


def _shares(best: PurchasePlan, supplier: str) -> dict[str, int]:
    """Postage and charges of a supplier shared out by goods, in whole minor units that add up."""
    rest = next((cost.shipping + cost.charges for cost in best.suppliers if cost.supplier == supplier), 0)
    goods: dict[str, Fraction] = defaultdict(Fraction)
    for line in best.lines:
        if line.supplier == supplier and line.uses:
            for use in line.uses:
                goods[use.unit] += Fraction(line.amount * use.pieces, line.pieces - line.spare)
    whole = sum(goods.values(), Fraction(0))
    exact = {
        unit: rest * (amount / whole if whole else Fraction(1, len(goods))) for unit, amount in sorted(goods.items())
    }
    shares = {unit: int(amount) for unit, amount in exact.items()}
    short = rest - sum(shares.values()) if shares else 0
    for unit in sorted(exact, key=lambda name: exact[name] - shares[name], reverse=True)[:short]:
        shares[unit] += 1
    return shares
