"""Why one line of a proven order is as it is: each answer is another whole order, proven too, and what it costs more.

Without the line, without its supplier, with the best grade only, with as few packs as are used: the difference to the
best order is the reason. The price at which the line would move is where its cost line crosses that of the next plan.
"""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction
from typing import TYPE_CHECKING

import msgspec

from catalog.pricing import PriceStep, line_amount
from catalog.purchase import Stopped, plan
from catalog.purchase_data import PlanStatus
from catalog.purchase_rows import usable
from catalog.reprice import RuleBroken, reprice
from catalog.rules import Grade

if TYPE_CHECKING:
    from collections.abc import Callable, Collection

    from catalog.purchase_data import OrderLine, PurchasePlan, PurchaseProblem, Served

    Cancel = Callable[[], bool] | None

MOST_CROSSINGS = 12
"""Plans looked at on the way to the price; each is cheaper than the one before, so few are met."""


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
    """Price of one piece, at its present step, above which another order is better; None where no price moves it."""
    moves_to: Instead | None
    """That other order."""
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
    """The price of a piece at which the best order changes, going up from the present one.

    Every order is a line over the price: its cost at the present price, rising with the pieces it buys. From the order
    without the line the crossing is found; if an order is cheaper there than both, the crossing with that one lies
    lower, and so on. The rounding of order lines moves a crossing by less than a minor unit of the order.
    """
    offer = next(each for each in ask.problem.offers if each.id == line.offer)
    if without is None or line.supplier not in {cost.supplier for cost in ask.best.suppliers} or not line.amount:
        return None, None
    reached = [step for step in offer.steps if step.from_pieces <= line.pieces][-1]
    best, other = ask.best, without.plan
    rise = Fraction(other.total - best.total, line.pieces)
    for _ in range(MOST_CROSSINGS):
        dearer = _at(ask.problem, line.offer, rise)
        there = ask.plan(dearer)
        try:
            stays = reprice(dearer, best.packs, best.served).total
        except RuleBroken:  # over the cash limit
            stays = None
        if there is None or (stays is not None and there.total >= stays - 1):
            break
        pieces = there.packs.get(line.offer, 0) * offer.pack_size
        now = _counted_now(ask.problem, there)
        if pieces >= line.pieces or now is None:
            break
        crossing = Fraction(now.total - best.total, line.pieces - pieces)
        if crossing >= rise:
            break
        rise, other = crossing, now
    return reached.each + rise, ask.instead(other)


def _counted_now(problem: PurchaseProblem, found: PurchasePlan) -> PurchasePlan | None:
    """A plan found at another price, at the present one."""
    try:
        return reprice(problem, found.packs, found.served)
    except RuleBroken:
        return None


def _at(problem: PurchaseProblem, offer: str, rise: Fraction) -> PurchaseProblem:
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
