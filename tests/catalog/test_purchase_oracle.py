"""The plan and the front against a slow, obvious enumeration of everything that can be bought and shared out."""

from __future__ import annotations

import itertools
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.pricing import Discount, PriceStep
from catalog.purchase import front, plan
from catalog.purchase_data import Accept, Need, Offer, OrderUnit, PlanStatus, PurchaseProblem, Supplier


def _line(offer, pieces):
    steps = [*offer.steps, None]
    exact = Fraction(0)
    if offer.discount is Discount.ALL_UNITS:
        reached = [step for step in offer.steps if step.from_pieces <= pieces][-1]
        exact = Fraction(pieces * reached.amount, reached.per)
    else:
        for step, following in itertools.pairwise(steps):
            last = pieces if following is None else min(pieces, following.from_pieces - 1)
            exact += Fraction(max(0, last - step.from_pieces + 1) * step.amount, step.per)
    return int(exact + Fraction(1, 2))


def _spent(problem, packs):
    """Goods and postage, and the part that is cash; None if a smallest order is not reached."""
    total = cash = 0
    for supplier in problem.suppliers:
        goods = sum(
            _line(offer, count * offer.pack_size)
            for offer, count in zip(problem.offers, packs, strict=True)
            if count and offer.supplier == supplier.id
        )
        if not goods:
            continue
        if goods < supplier.min_order:
            return None
        free = supplier.free_from is not None and goods >= supplier.free_from
        total += goods + (0 if free else supplier.shipping)
        cash += 0 if supplier.own else goods + (0 if free else supplier.shipping)
    return total, cash


def _shares(pieces, places):
    if places == 1:
        yield (pieces,)
        return
    for first in range(pieces + 1):
        for rest in _shares(pieces - first, places - 1):
            yield (first, *rest)


def _ways(problem, need):
    """Each way to share a need over the offers: pieces per offer, rework, last day."""
    suppliers = {supplier.id: supplier for supplier in problem.suppliers}
    deadline = next(unit.deadline_day for unit in problem.units if unit.id == need.unit)
    accepts = {accept.product: accept for accept in need.accepts}
    for share in _shares(need.pieces, len(problem.offers)):
        rework = day = 0
        for offer, pieces in zip(problem.offers, share, strict=True):
            if not pieces:
                continue
            sender = suppliers[offer.supplier]
            if offer.product not in accepts or (deadline is not None and sender.late > deadline):
                break
            minutes = Fraction(problem.labour_per_hour * accepts[offer.product].rework_minutes, 60)
            rework += int(minutes + Fraction(1, 2)) * pieces
            day = max(day, sender.lead_days)
        else:
            yield share, rework, day


def _everything(problem):
    """(total, money, arrival day) of every plan there is."""
    counts = [[0, *range(max(1, offer.min_packs), offer.stock_packs + 1)] for offer in problem.offers]
    ways = [list(_ways(problem, need)) for need in problem.needs]
    taken = []
    for combination in itertools.product(*ways):
        use = [sum(way[0][place] for way in combination) for place in range(len(problem.offers))]
        ready = {}
        for need, way in zip(problem.needs, combination, strict=True):
            ready[need.unit] = max(ready.get(need.unit, 0), way[2])
        waiting = sum(unit.wait_per_day * ready.get(unit.id, 0) for unit in problem.units)
        taken.append((use, sum(way[1] for way in combination), waiting, max(ready.values(), default=0)))
    for packs in itertools.product(*counts):
        spent = _spent(problem, packs)
        if spent is None or (problem.cash_limit is not None and spent[1] > problem.cash_limit):
            continue
        for use, rework, waiting, day in taken:
            if all(u <= n * offer.pack_size for u, n, offer in zip(use, packs, problem.offers, strict=True)):
                yield spent[0] + rework + waiting, spent[0] + rework, day


@st.composite
def problems(draw):
    number = st.integers
    suppliers = tuple(
        Supplier(
            id=f"S{index}",
            lead_days=lead,
            lead_days_late=lead + draw(number(0, 2)),
            shipping=draw(number(0, 9)),
            free_from=draw(st.none() | number(0, 20)),
            min_order=draw(number(0, 12) | st.just(0)),
            own=draw(st.booleans()),
        )
        for index, lead in enumerate(draw(st.lists(number(0, 6), min_size=1, max_size=2)))
    )
    offers = []
    for index in range(draw(number(1, 3))):
        starts = sorted(draw(st.sets(number(2, 6), max_size=2)))
        steps = tuple(
            PriceStep(at, draw(number(0, 12)), draw(st.sampled_from([1, 1, 2, 3, 10]))) for at in [1, *starts]
        )
        offers.append(
            Offer(
                id=f"o{index}",
                supplier=draw(st.sampled_from(suppliers)).id,
                product=draw(st.sampled_from(["a", "b", "c"])),
                steps=steps,
                discount=draw(st.sampled_from(list(Discount))),
                pack_size=draw(number(1, 3)),
                min_packs=draw(number(0, 2)),
                stock_packs=draw(number(0, 6)),
            )
        )
    units = tuple(
        OrderUnit(id=f"u{index}", wait_per_day=draw(number(0, 3)), deadline_day=draw(st.none() | number(1, 8)))
        for index in range(2)
    )
    needs = tuple(
        Need(
            id=f"n{index}",
            unit=draw(st.sampled_from(units)).id,
            pieces=draw(number(1, 3)),
            accepts=tuple(
                Accept(product=product, rework_minutes=draw(number(0, 3)))
                for product in sorted(draw(st.sets(st.sampled_from(["a", "b"]), min_size=1)))
            ),
        )
        for index in range(draw(number(0, 2)))
    )
    return PurchaseProblem(
        suppliers=suppliers,
        offers=tuple(offers),
        units=units,
        needs=needs,
        labour_per_hour=draw(st.sampled_from([0, 50, 60])),
        cash_limit=draw(st.none() | number(0, 40)),
    )


@settings(max_examples=60, deadline=None)
@given(problems())
def test_plan_and_front_are_those_of_the_enumeration(problem):
    everything = list(_everything(problem))
    found, points = plan(problem), front(problem)
    if not everything:
        assert found.status is PlanStatus.INFEASIBLE
        assert found.conflicts
        assert points == ()
        return
    assert found.status is PlanStatus.OPTIMAL
    assert found.total == min(total for total, _, _ in everything)
    wanted, least = [], None
    for day in sorted({day for _, _, day in everything}):
        cost = min(money for _, money, reached in everything if reached <= day)
        if least is None or cost < least:
            total = min(total for total, money, reached in everything if reached <= day and money == cost)
            wanted.append((day, cost, total))
            least = cost
    assert [(point.arrival_day, point.cost) for point in points] == [(day, cost) for day, cost, _ in wanted]
    assert [point.cheapest for point in points] == [
        point.total == min(each.total for each in points) for point in points
    ]
    assert [point.total for point in points] == [
        min(total for total, money, reached in everything if reached <= day_by and money == cost)
        for (_, cost, _), day_by in zip(wanted, _last_days(problem, wanted), strict=True)
    ]


def _last_days(problem, wanted):
    """For each point the day before the next point's, since nothing cheaper can be had until then."""
    return [*(day - 1 for day, _, _ in wanted[1:]), max(supplier.lead_days for supplier in problem.suppliers)]
