"""Counting a finished order again in plain whole numbers, and refusing it if a rule is broken.

Separate from the rows on purpose: it shares no price code with them, so a wrong row shows up as a different total
instead of as a cheap-looking order.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from catalog.pricing import Discount
from catalog.purchase_data import LineUse, OrderLine, PlanStatus, PurchasePlan, Served, SupplierCost

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from catalog.purchase_data import Need, Offer, PurchaseProblem, Supplier


class RuleBroken(RuntimeError):  # noqa: N818 - the rule is what the message is about
    """A plan breaks a rule of its own problem: a fault of the program, never of the input."""


def reprice(
    problem: PurchaseProblem,
    packs: Mapping[str, int],
    served: Iterable[Served],
    *,
    status: PlanStatus = PlanStatus.OPTIMAL,
    gap: float = 0.0,
) -> PurchasePlan:
    """Price `packs` {offer: packs} and `served` by the rules and return the whole plan.

    Raises:
        RuleBroken: a need is not met in full, more is served than bought, too late, not accepted, outside pack limits,
            under a smallest order, a kept line not kept, or over the cash limit.
    """
    packs = {offer: count for offer, count in packs.items() if count}
    served = tuple(entry for entry in served if entry.pieces)
    uses, rework, penalty = _uses(problem, served)
    lines = _lines(problem, packs, uses)
    costs = _supplier_costs(problem, lines)
    own = {supplier.id for supplier in problem.suppliers if supplier.own}
    cash = sum(cost.total for cost in costs if cost.supplier not in own)
    if problem.cash_limit is not None and cash > problem.cash_limit:
        raise RuleBroken(f"the order needs {cash}, the cash limit is {problem.cash_limit}")
    ready, waiting, arrival, late = _days(problem, served)
    return PurchasePlan(
        status=status,
        found=True,
        packs=dict(packs),
        served=served,
        suppliers=costs,
        lines=tuple(line for line in lines if line.supplier not in own),
        own=tuple(line for line in lines if line.supplier in own),
        goods=sum(cost.goods for cost in costs),
        shipping=sum(cost.shipping for cost in costs),
        charges=sum(cost.charges for cost in costs),
        worth=_worth(problem, served),
        rework=rework,
        penalty=penalty,
        waiting=waiting,
        ready_days=ready,
        arrival_day=arrival,
        late_day=late,
        gap=gap,
    )


def _uses(problem: PurchaseProblem, served: tuple[Served, ...]) -> tuple[dict[str, list[LineUse]], int, int]:
    """What each offer's pieces are for, the rework they take and their penalty."""
    needs = {need.id: need for need in problem.needs}
    offers = {offer.id: offer for offer in problem.offers}
    open_pieces = {need.id: need.pieces for need in problem.needs}
    uses: dict[str, list[LineUse]] = defaultdict(list)
    rework = penalty = 0
    for entry in served:
        need, product = needs[entry.need], offers[entry.offer].product
        accept = next((accept for accept in need.accepts if accept.product == product), None)
        if accept is None:
            raise RuleBroken(f"{need.id} does not accept {product}")
        if entry.offer in need.not_from:
            raise RuleBroken(f"{need.id} may not be met from {entry.offer}")
        open_pieces[need.id] -= entry.pieces
        # Sixtieths of the hour's price, halves upwards: (2ab + 60) // 120.
        rework += (2 * problem.labour_per_hour * accept.rework_minutes + 60) // 120 * entry.pieces
        penalty += accept.penalty * entry.pieces
        uses[entry.offer].append(LineUse(need.unit, need.id, entry.pieces, accept.grade))
    short = {need: pieces for need, pieces in open_pieces.items() if pieces and not _may_lack(needs[need], pieces)}
    if short:
        raise RuleBroken(f"not met exactly: {short}")
    return uses, rework, penalty


def _may_lack(need: Need, pieces: int) -> bool:
    """Whether so many pieces may be left."""
    return need.spare and pieces > 0 and not (need.whole and pieces < need.pieces)


def _lines(problem: PurchaseProblem, packs: Mapping[str, int], uses: Mapping[str, list[LineUse]]) -> list[OrderLine]:
    lines = []
    for offer in problem.offers:
        count, used = packs.get(offer.id, 0), uses.get(offer.id, [])
        if problem.keep.get(offer.id, count) != count:
            raise RuleBroken(f"{offer.id}: {count} packs instead of the {problem.keep[offer.id]} that are kept")
        if sum(use.pieces for use in used) > count * offer.pack_size:
            raise RuleBroken(f"{offer.id}: more pieces used than bought")
        if count == 0:
            continue
        if count < offer.min_packs or (offer.stock_packs is not None and count > offer.stock_packs):
            raise RuleBroken(f"{offer.id}: {count} packs cannot be bought")
        pieces = count * offer.pack_size
        lines.append(
            OrderLine(offer.supplier, offer.id, offer.product, count, pieces, _amount(offer, pieces), tuple(used))
        )
    return lines


def _amount(offer: Offer, pieces: int) -> int:
    """The line in minor units, rounded half-up once over a common divisor."""
    counted: list[tuple[int, int, int]] = []
    left = pieces
    for step in reversed(offer.steps):
        if left < step.from_pieces:
            continue
        part = left if offer.discount is Discount.ALL_UNITS else left - step.from_pieces + 1
        counted.append((part, step.amount, step.per))
        left -= part
        if not left:
            break
    divisor = 1
    for _, _, per in counted:
        divisor *= per
    numerator = sum(part * amount * (divisor // per) for part, amount, per in counted)
    whole, rest = divmod(numerator, divisor)
    return whole + (1 if 2 * rest >= divisor else 0)


def _worth(problem: PurchaseProblem, served: tuple[Served, ...]) -> int:
    """What the spares taken are worth."""
    total = 0
    for need in problem.needs:
        total += sum(need.worths[: sum(entry.pieces for entry in served if entry.need == need.id)])
    return total


def _supplier_costs(problem: PurchaseProblem, lines: list[OrderLine]) -> tuple[SupplierCost, ...]:
    weights = {offer.id: offer.weight for offer in problem.offers}
    costs = []
    for supplier in problem.suppliers:
        mine = [line for line in lines if line.supplier == supplier.id]
        if mine:
            weight = sum(weights[line.offer] * line.pieces for line in mine)
            costs.append(_cost(supplier, sum(line.amount for line in mine), weight))
    return tuple(costs)


def _cost(supplier: Supplier, goods: int, milligrams: int) -> SupplierCost:
    if 0 < goods < supplier.min_order:
        raise RuleBroken(f"{supplier.id}: {goods} is under the smallest order of {supplier.min_order}")
    return SupplierCost(supplier.id, goods, *charged(supplier, goods, milligrams))


def charged(supplier: Supplier, goods: int, milligrams: int) -> tuple[int, int]:
    """Postage, and everything else that is asked on top of the goods; nothing where the goods cost nothing."""
    more = supplier.charges
    if goods == 0:
        return 0, 0
    postage = supplier.shipping
    for steps, measure in ((more.by_value, goods), (more.by_weight, milligrams)):
        for step in steps:
            if measure >= step.start:
                postage = step.amount
    if supplier.free_from is not None and goods >= supplier.free_from:
        postage = 0
    charges = more.fee if goods < more.fee_below else 0
    charges += _hundredths(more.tax, goods + postage + charges)
    if more.import_above is not None and goods > more.import_above:
        charges += more.import_fee + _hundredths(more.import_rate, goods + postage)
    return postage, charges


def _hundredths(rate: int, amount: int) -> int:
    """Hundredths of a percent of an amount, halves upwards."""
    return (2 * rate * amount + 10_000) // 20_000


def _days(problem: PurchaseProblem, served: tuple[Served, ...]) -> tuple[dict[str, int], int, int, int]:
    """Ready day of each unit, what the waiting costs, and the last typical and late arrival day."""
    suppliers = {supplier.id: supplier for supplier in problem.suppliers}
    sender = {offer.id: suppliers[offer.supplier] for offer in problem.offers}
    units = {unit.id: unit for unit in problem.units}
    unit_of = {need.id: units[need.unit] for need in problem.needs}
    spares = {need.id for need in problem.needs if need.spare}
    ready = {unit.id: unit.ready_day for unit in problem.units}
    arrival = late = 0
    for entry in served:
        unit, supplier = unit_of[entry.need], sender[entry.offer]
        if unit.deadline_day is not None and supplier.late > unit.deadline_day:
            raise RuleBroken(
                f"{entry.offer} may arrive on day {supplier.late}, {unit.id} must be done by {unit.deadline_day}"
            )
        if entry.need in spares:
            continue
        ready[unit.id] = max(ready[unit.id], supplier.lead_days)
        arrival, late = max(arrival, supplier.lead_days), max(late, supplier.late)
    waiting = sum(units[unit].wait_per_day * (day - units[unit].ready_day) for unit, day in ready.items())
    return ready, waiting, arrival, late
