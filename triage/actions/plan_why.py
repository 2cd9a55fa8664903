"""Why one line of the plan's order is as it is, in plain sentences: what every other way would cost the whole order."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

import msgspec

from catalog.money import digits, show
from catalog.purchase import Stopped
from catalog.purchase_data import PlanStatus, PurchasePlan
from catalog.purchase_why import Instead, Why, why
from catalog.text import Refused
from triage import lotplan
from triage.actions.lots import get_lot
from triage.actions.plan_facts import PlanFacts, Progress, gather
from triage.actions.plan_view import PlanView
from triage.actions.planning import Cancel
from triage.bench_file import BenchFile
from triage.lot_problem import later_name, taken, unit_number

_MOVES_TOLD = 3


class LineWhy(msgspec.Struct, frozen=True):
    """The reasons for one line; amounts are minor units of the lot's currency, None where there is no such order."""

    supplier: str
    sku: str
    words: str
    """What the line is."""
    sentences: tuple[str, ...]
    without: int | None
    """How much dearer the whole order is without the line, waiting included."""
    closed: int | None
    """The same with nothing at all from its supplier."""
    best_grade: int | None
    """The same with the best grade instead of this substitute."""
    fewer: int | None
    """What the line comes to with only the packs that are used, where it has more."""
    moves_at: float | None
    """Price of a piece above which another order is better."""
    postage: dict[str, int]
    """{unit, or what rides along: its share of the supplier's postage and charges}"""


def why_line(
    bench: BenchFile,
    lot_id: int | None,
    supplier: str | None,
    sku: str,
    *,
    shown: PlanView | None = None,
    cancel: Cancel | None = None,
    progress: Progress | None = None,
) -> LineWhy | None:
    """The reasons for a line of the best order, every unit's pile staying as it is; None if it was stopped.

    Args:
        bench: the bench file.
        lot_id: the lot; None = the newest.
        supplier: whose line it is; None where only one has this number.
        sku: which one.
        shown: the plan the line was seen in: it must still follow from what the bench file holds.
        cancel: polled while solving.
        progress: as for `plan_lot`.

    Raises:
        Refused: there is no such line in the best order, or things have changed since it was shown.
    """
    facts = gather(bench, get_lot(bench, lot_id), progress)
    if shown is not None and facts.basis != shown.basis:
        raise Refused("things have changed since this plan; g plans again", where=f"{supplier or ''} {sku}".strip())
    plan = lotplan.plan(facts.problem, cancel=cancel)
    if plan.status is PlanStatus.STOPPED:
        return None
    offer = _offer(facts, plan.purchase, supplier, sku)
    try:
        found = why(taken(facts.problem, plan), plan.purchase, offer, cancel=cancel)
    except Stopped:
        return None
    origin = facts.sourcing.sources[found.line.product]
    return LineWhy(
        supplier=origin.supplier,
        sku=origin.sku,
        words=origin.description or origin.part_number,
        sentences=tuple(_sentences(facts, found)),
        without=_costs(found.without),
        closed=_costs(found.closed),
        best_grade=_costs(found.best_grade),
        fewer=found.fewer,
        moves_at=None if found.moves_at is None else float(found.moves_at),
        postage=dict(found.shares),
    )


def _offer(facts: PlanFacts, order: PurchasePlan, supplier: str | None, sku: str) -> str:
    """The offer of a line of the order."""
    where = f"{supplier or ''} {sku}".strip()
    found = []
    for line in order.lines:
        origin = facts.sourcing.sources[line.product]
        mine = supplier is None or origin.supplier.casefold() == supplier.casefold()
        if mine and origin.sku.casefold() == sku.casefold():
            found.append((line.offer, origin.supplier))
    if not found:
        raise Refused("the best order has no such line; only those are explained", where=where)
    if len(found) > 1:
        raise Refused(f"{' and '.join(name for _, name in found)} have it; say which", where=where)
    return found[0][0]


def _sentences(facts: PlanFacts, found: Why) -> Iterator[str]:
    origin = facts.sourcing.sources[found.line.product]
    currency = facts.currency
    if found.without is None:
        yield "No order is possible without this line: nothing else serves in time and within the limits."
    else:
        costs = _more(found.without, currency)
        yield f"Without this line the whole order costs {costs}: {_moved(facts, found.without)}."
    if found.fewer is not None:
        used = found.line.pieces - found.line.spare
        yield (
            f"{found.line.pieces} pieces come to {show(found.line.amount, currency)}; packs for the {used} used"
            f" would come to {show(found.fewer, currency)}{_why_surplus(found)}."
        )
    if found.best_grade is not None:
        yield (
            f"With the best grade instead of this substitute: {_more(found.best_grade, currency)},"
            f" {_moved(facts, found.best_grade)}."
        )
    if found.closed is None:
        yield f"With nothing at all from {origin.supplier} there is no order."
    else:
        yield f"With nothing at all from {origin.supplier}: {_more(found.closed, currency)}{_by(facts, found.closed)}."
    if found.moves_at is not None:
        to = found.moves_to
        same = found.without is not None and to is not None and to.plan.packs == found.without.plan.packs
        another = f"another order ({_moved(facts, to)})" if to is not None else "another order"
        there = "the order without this line" if same else another
        yield f"Above {_fine(found.moves_at, currency)} a piece {there} is better."
    elif found.without is None:
        yield "No price moves it."
    if any(found.shares.values()):
        shares = ", ".join(f"{_whose(unit)} {show(amount, currency)}" for unit, amount in found.shares.items())
        yield f"Postage and charges of {origin.supplier} by the goods: {shares}."


def _whose(unit: str) -> str:
    number = unit_number(unit)
    if number is None:
        return "spares"
    return f"unit {number}" + (", later" if unit == later_name(number) else "")


def _costs(other: Instead | None) -> int | None:
    return None if other is None else other.costs


def _more(other: Instead, currency: str) -> str:
    return f"{show(other.costs, currency)} more" if other.costs else "just as much"


def _why_surplus(found: Why) -> str:
    return (
        ", but the rest carries the order over a threshold"
        if found.fewer is not None and found.fewer < found.line.amount
        else ""
    )


def _by(facts: PlanFacts, other: Instead) -> str:
    return f", here {facts.on(other.plan.arrival_day)}" if other.plan.lines else ""


def _moved(facts: PlanFacts, other: Instead) -> str:
    """What serves otherwise then, the first few."""
    products = {offer.id: offer.product for offer in facts.sourcing.problem.offers}
    told = []
    for entry in other.moved[:_MOVES_TOLD]:
        origin = facts.sourcing.sources[products[entry.offer]]
        place = f"{origin.supplier} {origin.sku}".strip()
        told.append(f"{facts.called(entry.need)} from {place}")
    more = len(other.moved) - _MOVES_TOLD
    return ("; ".join(told) + (f" and {more} more" if more > 0 else "")) or "the same pieces, bought otherwise"


def _fine(price: Fraction, currency: str) -> str:
    """A price of one piece, to a hundredth of a minor unit where it is no whole one."""
    if price.denominator == 1:
        return show(price.numerator, currency)
    places = digits(currency)
    exact = Decimal(price.numerator) / Decimal(price.denominator)
    return f"{exact.scaleb(-places).quantize(Decimal(1).scaleb(-places - 2)):f}"
