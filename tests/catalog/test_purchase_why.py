"""The reasons for one line: each other order, its price, where the line moves, and who bears the postage."""

from __future__ import annotations

from fractions import Fraction

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.charges import Charges, Step
from catalog.pricing import PriceStep
from catalog.purchase import Stopped, plan
from catalog.purchase_data import Accept, Need, Offer, OrderUnit, PurchaseProblem, Supplier
from catalog.purchase_why import why
from catalog.reprice import reprice


def _offer(name, supplier, product, *prices, **more):
    return Offer(
        id=name, supplier=supplier, product=product, steps=tuple(PriceStep(*price) for price in prices), **more
    )


@pytest.fixture
def order():
    """Ten pieces are cheaper than eight; unit 2 takes a substitute; A has 3.00 postage, B none."""
    return PurchaseProblem(
        suppliers=(Supplier(id="A", shipping=300), Supplier(id="B", lead_days=4)),
        offers=(
            _offer("caps", "A", "cap", (1, 30), (10, 14)),
            _offer("caps B", "B", "cap", (1, 40)),
            _offer("other", "A", "sub", (1, 200)),
            _offer("exact", "B", "part", (1, 600)),
        ),
        units=(OrderUnit(id="1"), OrderUnit(id="2", wait_per_day=10)),
        needs=(
            Need(id="c", unit="1", pieces=8, accepts=(Accept(product="cap"),)),
            Need(
                id="p",
                unit="2",
                pieces=1,
                accepts=(Accept(product="part"), Accept(product="sub", grade="rework", penalty=50)),
            ),
        ),
    )


def test_each_reason_is_an_order_and_what_it_costs_more(order):
    best = plan(order)
    assert (best.total, best.packs) == (140 + 200 + 50 + 300, {"caps": 10, "other": 1})
    found = why(order, best, "caps")
    assert found.without.costs == 320 + 200 + 50 + 300 - best.total
    assert [(entry.need, entry.offer, entry.pieces) for entry in found.without.moved] == [("c", "caps B", 8)]
    assert found.closed.costs == 320 + 600 + 40 - best.total
    assert found.fewer == 8 * 30
    assert found.best_grade is None
    sub = why(order, best, "other")
    assert sub.best_grade.costs == 320 + 600 + 40 - best.total  # then nothing is left for A to send
    assert sub.best_grade.plan.packs == {"caps B": 8, "exact": 1}
    assert found.shares == {"1": 124, "2": 176}  # 300 x 140/340 and 300 x 200/340
    assert sum(found.shares.values()) == 300


def test_the_price_at_which_the_line_moves(order):
    best = plan(order)
    found = why(order, best, "caps")
    # ten for the price of ten against eight from B at 320: 18.0 more for ten pieces
    assert found.moves_at == 14 + Fraction(180, 10)
    assert found.moves_to.plan.packs == {"caps B": 8, "other": 1}


def test_an_order_with_fewer_of_it_may_take_over_first():
    # Five at 10; two of them can be had elsewhere at 12, the rest only at 50.
    problem = PurchaseProblem(
        suppliers=(Supplier(id="A"), Supplier(id="B")),
        offers=(
            _offer("a", "A", "p", (1, 10)),
            _offer("few", "B", "p", (1, 12), stock_packs=2),
            _offer("dear", "B", "p", (1, 50)),
        ),
        units=(OrderUnit(id="1"),),
        needs=(Need(id="n", unit="1", pieces=5, accepts=(Accept(product="p"),)),),
    )
    found = why(problem, plan(problem), "a")
    assert found.moves_at == 12
    assert found.moves_to.plan.packs == {"a": 3, "few": 2}
    assert found.without.costs == 2 * 12 + 3 * 50 - 50


def test_a_line_without_another_way_never_moves():
    problem = PurchaseProblem(
        suppliers=(Supplier(id="A"),),
        offers=(_offer("a", "A", "p", (1, 10)),),
        units=(OrderUnit(id="1"),),
        needs=(Need(id="n", unit="1", pieces=1, accepts=(Accept(product="p"),)),),
    )
    found = why(problem, plan(problem), "a")
    assert (found.without, found.closed, found.moves_at, found.fewer) == (None, None, None, None)


def test_only_lines_of_a_proven_plan_are_explained(order):
    with pytest.raises(ValueError, match="no line"):
        why(order, plan(order), "exact")


def test_it_can_be_stopped(order):
    best = plan(order)
    with pytest.raises(Stopped):
        why(order, best, "caps", cancel=lambda: True)


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_below_the_price_the_line_stays_and_above_it_does_not(data):
    number = st.integers
    offers = []
    for index in range(4):
        price = data.draw(number(5, 60))
        steps = ((1, price), (4, max(1, price - data.draw(number(0, 15)))))
        offers.append(
            _offer(f"o{index}", f"S{index % 2}", data.draw(st.sampled_from("ab")), *steps[: data.draw(number(1, 2))])
        )
    problem = PurchaseProblem(
        suppliers=(Supplier(id="S0", shipping=data.draw(number(0, 40))), Supplier(id="S1", lead_days=3)),
        offers=tuple(offers),
        units=(OrderUnit(id="1", wait_per_day=data.draw(number(0, 9))),),
        needs=tuple(
            Need(id=name, unit="1", pieces=data.draw(number(1, 5)), accepts=(Accept(product=name),))
            for name in sorted({offer.product for offer in offers})
        ),
    )
    best = plan(problem)
    offer = data.draw(st.sampled_from(sorted(best.packs)))
    found = why(problem, best, offer)
    if found.moves_at is None:
        assert found.without is None
        return
    line = found.line
    reached = [step for o in offers if o.id == offer for step in o.steps if step.from_pieces <= line.pieces][-1]

    def at(price):
        rise = price - reached.each
        changed = tuple(
            msgspec.structs.replace(
                each,
                steps=tuple(
                    PriceStep(s.from_pieces, (s.each + rise).numerator, (s.each + rise).denominator) for s in each.steps
                ),
            )
            if each.id == offer
            else each
            for each in problem.offers
        )
        return plan(msgspec.structs.replace(problem, offers=changed))

    rise = found.moves_at - reached.each
    assert rise >= 0
    if rise * line.pieces >= 2:
        # below: nothing is better than what is bought now, but for the rounding of lines
        below = at(reached.each + rise / 2)
        assert best.total + rise / 2 * line.pieces - below.total <= 1
    above = at(found.moves_at + Fraction(2, line.pieces) + 1)
    assert above.packs.get(offer, 0) < line.packs


CHARGED = {
    "tax": {"charges": Charges(tax=1900)},
    "import charge": {"charges": Charges(import_above=60, import_rate=2000, import_fee=7)},
    "fee below": {"charges": Charges(fee=25, fee_below=70)},
    "free from": {"shipping": 40, "free_from": 75},
    "by value": {"charges": Charges(by_value=(Step(0, 5), Step(70, 30), Step(90, 0)))},
    "smallest order": {"min_order": 40},
    "several": {
        "shipping": 20,
        "free_from": 110,
        "min_order": 30,
        "charges": Charges(tax=700, import_above=80, import_fee=9),
    },
}


def _dearer(problem, offer, rise):
    return msgspec.structs.replace(
        problem,
        offers=tuple(
            msgspec.structs.replace(each, steps=tuple(PriceStep(s.from_pieces, s.amount + rise) for s in each.steps))
            if each.id == offer
            else each
            for each in problem.offers
        ),
    )


def _last_that_stays(problem, best, offer, price, most=160):
    """The last price of all, one minor unit after the other, up to which nothing beats what is bought now."""
    for rise in range(1, most):
        dearer = _dearer(problem, offer, rise)
        if plan(dearer).total < reprice(dearer, best.packs, best.served).total:
            return price + rise - 1
    return None


@pytest.mark.parametrize("name", CHARGED)
@pytest.mark.parametrize("elsewhere", [26, 34, 61])
def test_where_charges_follow_the_goods_the_price_is_the_last_one_that_stays(name, elsewhere):
    problem = PurchaseProblem(
        suppliers=(Supplier(id="A", **CHARGED[name]), Supplier(id="B", shipping=15)),
        offers=(_offer("a", "A", "p", (1, 16)), _offer("b", "B", "p", (1, elsewhere)), _offer("q", "A", "q", (1, 3))),
        units=(OrderUnit(id="1"),),
        needs=(
            Need(id="n", unit="1", pieces=4, accepts=(Accept(product="p"),)),
            Need(id="m", unit="1", pieces=1, accepts=(Accept(product="q"),)),
        ),
    )
    best = plan(problem)
    assert best.packs.get("a")
    assert why(problem, best, "a").moves_at == _last_that_stays(problem, best, "a", 16)


def test_a_line_that_cannot_be_left_moves_where_less_of_it_is_enough():
    # two of five can be had elsewhere at 12, the rest nowhere
    problem = PurchaseProblem(
        suppliers=(Supplier(id="A"), Supplier(id="B")),
        offers=(_offer("a", "A", "p", (1, 10)), _offer("few", "B", "p", (1, 12), stock_packs=2)),
        units=(OrderUnit(id="1"),),
        needs=(Need(id="n", unit="1", pieces=5, accepts=(Accept(product="p"),)),),
    )
    found = why(problem, plan(problem), "a")
    assert (found.without, found.moves_at) == (None, 12)
    assert found.moves_to.plan.packs == {"a": 3, "few": 2}
