"""Orders too large to enumerate, against CP-SAT (the constraint solver of OR-Tools, `pip install -e '.[second]'`).

The second model shares nothing with ours but the problem: an order line is looked up in a table of every number of
packs, postage and charges are spelled out value by value, waiting is the largest of the days used.
"""

from __future__ import annotations

import random
from fractions import Fraction
from math import floor

import pytest

from catalog.charges import Charges, Step
from catalog.pricing import Discount, PriceStep
from catalog.purchase import plan
from catalog.purchase_data import Accept, Need, Offer, OrderUnit, PlanStatus, PurchaseProblem, Supplier

cp_model = pytest.importorskip("ortools.sat.python.cp_model", reason="the second solver is not installed")

MOST = 12
"""Packs of an offer at most, in these problems."""


def _half_up(value):
    return floor(Fraction(value) + Fraction(1, 2))


def _line(offer, pieces):
    if not pieces:
        return 0
    if offer.discount is Discount.ALL_UNITS:
        step = [step for step in offer.steps if step.from_pieces <= pieces][-1]
        return _half_up(Fraction(pieces * step.amount, step.per))
    each = [[step for step in offer.steps if step.from_pieces <= piece][-1] for piece in range(1, pieces + 1)]
    return _half_up(sum((Fraction(step.amount, step.per) for step in each), Fraction(0)))


def _largest(problem, supplier):
    return sum(_line(o, MOST * o.pack_size) for o in problem.offers if o.supplier == supplier.id)


def _reached(model, amount, start):
    """A literal that is true exactly where `amount` >= `start`."""
    literal = model.new_bool_var("")
    model.add(amount >= start).only_enforce_if(literal)
    model.add(amount < start).only_enforce_if(~literal)
    return literal


def _stepped(model, steps, measure, top):
    """What the last step reached asks."""
    amount = model.new_int_var(0, max(step.amount for step in steps), "")
    reached = [_reached(model, measure, step.start) for step in steps]
    for place, step in enumerate(steps):
        later = [reached[place + 1]] if place + 1 < len(steps) else []
        model.add(amount == step.amount).only_enforce_if([reached[place], *(~each for each in later)])
    return amount


def _rate(model, rate, base, top):
    part = model.new_int_var(0, top * 2, "")
    model.add_division_equality(part, 2 * rate * base + 10_000, 20_000)
    return part


def _asked(model, supplier, goods, weight, top):
    """A variable with everything asked on top of the goods; 0 where there are none."""
    more = supplier.charges
    postage = model.new_int_var(0, 10_000, "")
    shipped = model.new_int_var(0, 10_000, "")
    if more.by_value:
        model.add(shipped == _stepped(model, more.by_value, goods, top))
    elif more.by_weight:
        model.add(shipped == _stepped(model, more.by_weight, weight, top))
    else:
        model.add(shipped == supplier.shipping)
    free = _reached(model, goods, supplier.free_from) if supplier.free_from is not None else model.new_constant(0)
    model.add(postage == 0).only_enforce_if(free)
    model.add(postage == shipped).only_enforce_if(~free)
    fee = model.new_int_var(0, more.fee, "")
    enough = _reached(model, goods, more.fee_below)
    model.add(fee == 0).only_enforce_if(enough)
    model.add(fee == more.fee).only_enforce_if(~enough)
    abroad = model.new_int_var(0, 10**6, "")
    above = _reached(model, goods, more.import_above + 1) if more.import_above is not None else model.new_constant(0)
    model.add(abroad == 0).only_enforce_if(~above)
    if more.import_above is not None:
        asked = _rate(model, more.import_rate, goods + postage, top + 10_000)
        model.add(abroad == asked + more.import_fee).only_enforce_if(above)
    used = _reached(model, goods, 1)
    model.add(goods >= supplier.min_order).only_enforce_if(used)
    whole = model.new_int_var(0, 10**7, "")
    tax = _rate(model, more.tax, goods + postage + fee, top + 20_000)
    model.add(whole == postage + fee + tax + abroad).only_enforce_if(used)
    model.add(whole == 0).only_enforce_if(~used)
    return whole


def second(problem):
    """The least total, or None where there is no plan."""
    model = cp_model.CpModel()
    suppliers = {supplier.id: supplier for supplier in problem.suppliers}
    lines, packs, served = {}, {}, {}
    for offer in problem.offers:
        most = MOST if offer.stock_packs is None else min(MOST, offer.stock_packs)
        sold = [0, *range(max(1, offer.min_packs), most + 1)]
        packs[offer.id] = model.new_int_var_from_domain(cp_model.Domain.from_values(sold), offer.id)
        table = [_line(offer, count * offer.pack_size) for count in range(most + 1)]
        lines[offer.id] = model.new_int_var(0, max(table), "")
        model.add_element(packs[offer.id], table, lines[offer.id])
    spent = []
    for supplier in problem.suppliers:
        mine = [offer for offer in problem.offers if offer.supplier == supplier.id]
        top = max(1, _largest(problem, supplier))
        goods = model.new_int_var(0, top, "")
        model.add(goods == sum(lines[offer.id] for offer in mine))
        weight = sum(offer.weight * offer.pack_size * packs[offer.id] for offer in mine)
        spent += [goods, _asked(model, supplier, goods, weight, top)]
    cash = model.new_int_var(0, problem.cash_limit if problem.cash_limit is not None else 10**8, "")
    model.add(cash == sum(spent))
    extra = []
    ready = {unit.id: model.new_int_var(0, 60, "") for unit in problem.units}
    deadlines = {unit.id: unit.deadline_day for unit in problem.units}
    for need in problem.needs:
        accepts = {accept.product: accept for accept in need.accepts}
        for offer in problem.offers:
            sender, limit = suppliers[offer.supplier], deadlines[need.unit]
            if offer.product not in accepts or (limit is not None and sender.late > limit):
                continue
            piece = served[need.id, offer.id] = model.new_int_var(0, need.pieces, "")
            accept = accepts[offer.product]
            cost = _half_up(Fraction(problem.labour_per_hour * accept.rework_minutes, 60)) + accept.penalty
            extra.append(cost * piece)
            if not need.spare:
                model.add(ready[need.unit] >= sender.lead_days).only_enforce_if(_reached(model, piece, 1))
        had = sum(piece for (name, _), piece in served.items() if name == need.id)
        if need.spare:
            taken = [model.new_bool_var("") for _ in need.worths]
            model.add(had == sum(taken))
            extra += [-worth * each for worth, each in zip(need.worths, taken, strict=True)]
        else:
            model.add(had == need.pieces)
    for offer in problem.offers:
        used = sum(piece for (_, name), piece in served.items() if name == offer.id)
        model.add(used <= offer.pack_size * packs[offer.id])
    waiting = [unit.wait_per_day * ready[unit.id] for unit in problem.units]
    model.minimize(sum(spent) + sum(extra) + sum(waiting))
    engine = cp_model.CpSolver()
    engine.parameters.num_workers = 1
    status = engine.solve(model)
    assert status in {cp_model.OPTIMAL, cp_model.INFEASIBLE}
    return round(engine.objective_value) if status == cp_model.OPTIMAL else None


def _steps(draw, starts, low, high, *, rising):
    amounts = [draw.randint(low, high) for _ in range(len(starts) + 1)]
    amounts = sorted(amounts) if rising else amounts
    return tuple(Step(*each) for each in zip((0, *sorted(starts)), amounts, strict=True))


def generated(seed):
    """Seven needs, four suppliers with terms of every sort, about ten offers."""
    draw = random.Random(seed)
    suppliers = []
    for index in range(4):
        sort = draw.choice(["flat", "value", "weight"])
        lead = draw.randint(0, 12)
        suppliers.append(
            Supplier(
                id=f"S{index}",
                lead_days=lead,
                lead_days_late=lead + draw.choice([0, 2]),
                shipping=draw.choice([0, 250, 490]),
                free_from=draw.choice([None, None, 1500]),
                min_order=draw.choice([0, 0, 600]),
                charges=Charges(
                    by_value=_steps(draw, {800, 2000}, 0, 600, rising=draw.random() < 0.3) if sort == "value" else (),
                    by_weight=_steps(draw, {9000, 30000}, 100, 900, rising=True) if sort == "weight" else (),
                    fee=draw.choice([0, 0, 150]),
                    fee_below=900,
                    tax=draw.choice([0, 0, 1900]),
                    import_above=draw.choice([None, None, 1800]),
                    import_rate=470,
                    import_fee=300,
                ),
            )
        )
    offers = []
    for product in "abcde":
        base = draw.choice([7, 30, 120, 480])
        for supplier in draw.sample(suppliers, draw.choice([1, 2, 3])):
            price = max(1, round(base * draw.uniform(0.7, 1.4)))
            steps = [PriceStep(1, price), PriceStep(draw.choice([3, 5, 10]), max(1, round(price * 0.8)))]
            offers.append(
                Offer(
                    id=f"o{len(offers)}",
                    supplier=supplier.id,
                    product=product,
                    steps=tuple(steps[: draw.choice([1, 2])]),
                    discount=draw.choice(list(Discount)),
                    pack_size=draw.choice([1, 1, 5]),
                    min_packs=draw.choice([1, 1, 2]),
                    stock_packs=draw.choice([3, 6, MOST]),
                    weight=draw.choice([200, 1500, 4000]),
                )
            )
    units = tuple(
        OrderUnit(id=f"u{n}", wait_per_day=draw.choice([0, 7, 20]), deadline_day=draw.choice([None, None, 10]))
        for n in range(3)
    )
    needs = []
    for index in range(7):
        products = draw.sample("abcde", draw.choice([1, 1, 2]))
        pieces = draw.choice([1, 1, 2, 3])
        spare = index == 6
        needs.append(
            Need(
                id=f"n{index}",
                unit=draw.choice(units).id,
                pieces=pieces,
                accepts=tuple(
                    Accept(product=name, rework_minutes=5 * place, penalty=3 * place)
                    for place, name in enumerate(products)
                ),
                worths=tuple(sorted((draw.randint(0, 200) for _ in range(pieces)), reverse=True)) if spare else (),
            )
        )
    return PurchaseProblem(
        suppliers=tuple(suppliers),
        offers=tuple(offers),
        units=units,
        needs=tuple(needs),
        labour_per_hour=1200,
        cash_limit=draw.choice([None, None, 6000]),
    )


@pytest.mark.parametrize("seed", range(24))
def test_both_solvers_find_the_same_least_total(seed):
    problem = generated(seed)
    found, other = plan(problem), second(problem)
    if other is None:
        assert found.status is PlanStatus.INFEASIBLE
    else:
        assert (found.status, found.total) == (PlanStatus.OPTIMAL, other)
