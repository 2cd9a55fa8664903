"""The parts order: rounding, thresholds, late days, own stock, cash, reasons, and the plain count afterwards."""

from __future__ import annotations

import math

import msgspec
import pytest

from catalog import purchase, solver
from catalog.pricing import Discount, PriceStep
from catalog.purchase import front, plan
from catalog.purchase_data import (
    Accept,
    Need,
    Offer,
    OrderUnit,
    PlanStatus,
    PurchaseProblem,
    Reason,
    Served,
    Supplier,
)
from catalog.reprice import RuleBroken, reprice

PLAIN_UNITS = (OrderUnit(id="u1"),)
WAITING_UNIT = OrderUnit(id="u1", wait_per_day=10)


def _offer(name, supplier, product, *prices, **more):
    steps = tuple(PriceStep(*price) if isinstance(price, tuple) else PriceStep(1, price) for price in prices)
    return Offer(id=name, supplier=supplier, product=product, steps=steps, **more)


def _need(name, pieces, *products, unit="u1"):
    accepts = tuple(Accept(product=p) if isinstance(p, str) else p for p in products)
    return Need(id=name, unit=unit, pieces=pieces, accepts=accepts)


def _problem(suppliers, offers, needs, units=PLAIN_UNITS, **more):
    return PurchaseProblem(
        suppliers=tuple(suppliers), offers=tuple(offers), needs=tuple(needs), units=tuple(units), **more
    )


@pytest.fixture
def bench_order():
    """Acceptance sums done by hand: five kinds of part, three suppliers, packs, steps and postage."""
    suppliers = [
        Supplier(id="X", shipping=395, free_from=2000),
        Supplier(id="Y", shipping=250),
        Supplier(id="Z", shipping=350, min_order=1000),
    ]
    offers = [
        _offer("capacitor", "X", "capacitor", (1, 30), (10, 14)),
        _offer("relay X", "X", "relay", 420),
        _offer("chip", "X", "chip", 500),
        _offer("fuse", "X", "fuse", 95),
        _offer("ten fuses", "X", "fuse", 18, pack_size=10),
        _offer("belt", "Y", "belt", 220),
        _offer("five belts", "Y", "belt", 120, pack_size=5),
        _offer("relay Z", "Z", "relay", 360),
    ]
    needs = [
        _need("c2", 2, "capacitor", unit="2"),
        _need("c3", 1, "capacitor", unit="3"),
        _need("c9", 4, "capacitor", unit="9"),
        _need("b4", 1, "belt", unit="4"),
        _need("b5", 1, "belt", unit="5"),
        _need("r6", 1, "relay", unit="6"),
        _need("k9", 1, "chip", unit="9"),
        _need("f1", 1, "fuse", unit="1"),
        _need("f6", 1, "fuse", unit="6"),
    ]
    return _problem(suppliers, offers, needs, [OrderUnit(id=str(number)) for number in range(1, 10)])


def test_one_order_with_packs_and_postage_and_no_top_up(bench_order):
    found = plan(bench_order)
    assert found.total == 2325
    assert found.packs == {"capacitor": 10, "relay X": 1, "chip": 1, "ten fuses": 1, "belt": 2}
    assert {(cost.supplier, cost.goods, cost.shipping) for cost in found.suppliers} == {
        ("X", 1240, 395),
        ("Y", 440, 250),
    }
    lines = {line.offer: line for line in found.lines}
    assert set(lines["capacitor"].units) == {"2", "3", "9"}
    assert set(lines["belt"].units) == {"4", "5"}
    assert lines["capacitor"].spare == 3
    assert all(line.uses for line in found.lines)


def test_the_same_order_when_one_unit_is_sold_as_it_is(bench_order):
    without_nine = tuple(need for need in bench_order.needs if need.unit != "9")
    found = plan(msgspec.structs.replace(bench_order, needs=without_nine))
    assert found.total == 1775
    assert found.packs == {"capacitor": 3, "relay X": 1, "ten fuses": 1, "belt": 2}
    assert ("X", 690, 395) in {(cost.supplier, cost.goods, cost.shipping) for cost in found.suppliers}


def test_the_optimum_is_that_of_the_rounded_lines():
    # Two pieces at 1.40 come to 2.80, rounded 3. One from each place comes to 2.85, but to 1 + 1 on two lines.
    suppliers = [Supplier(id="A"), Supplier(id="B")]
    offers = [_offer("a", "A", "p", (1, 140, 100)), _offer("b", "B", "p", (1, 145, 100))]
    found = plan(_problem(suppliers, offers, [_need("n", 2, "p")]))
    assert (found.total, found.packs) == (2, {"a": 1, "b": 1})


@pytest.mark.parametrize(("pieces", "amount"), [(1, 1), (70, 102), (100, 145), (150, 218), (1234, 1789)])
def test_prices_per_hundred_agree_with_the_plain_count(pieces, amount):
    found = plan(_problem([Supplier(id="A")], [_offer("o", "A", "p", (1, 145, 100))], [_need("n", pieces, "p")]))
    assert (found.total, found.lines[0].amount, found.packs) == (amount, amount, {"o": pieces})


def test_a_filler_nobody_needs_may_be_right_in_large_numbers():
    # Goods 1, smallest order 1000, postage 1000 free from 1900: 1899 fillers at 1 beat 999 fillers and the postage.
    supplier = Supplier(id="A", shipping=1000, free_from=1900, min_order=1000)
    offers = [_offer("part", "A", "p", 1, stock_packs=1), _offer("filler", "A", "q", 1, stock_packs=5000)]
    found = plan(_problem([supplier], offers, [_need("n", 1, "p")]))
    assert found.total == 1900
    assert found.packs == {"part": 1, "filler": 1899}
    assert {line.offer: line.uses for line in found.lines}["filler"] == ()


def test_a_discount_can_push_the_subtotal_below_free_postage():
    supplier = Supplier(id="A", shipping=300, free_from=900)
    offers = [_offer("o", "A", "p", (1, 100), (9, 95))]
    found = plan(_problem([supplier], offers, [_need("n", 9, "p")]))
    assert (found.total, found.packs) == (950, {"o": 10})


def test_nine_at_the_higher_price_cannot_be_had():
    supplier = Supplier(id="A", shipping=300, free_from=900)
    offers = [_offer("o", "A", "p", (1, 100), (9, 95), stock_packs=9)]
    assert plan(_problem([supplier], offers, [_need("n", 9, "p")])).total == 855 + 300


def test_deadlines_use_the_late_day_and_waiting_the_typical_day():
    suppliers = [Supplier(id="slow", lead_days=3, lead_days_late=9), Supplier(id="sure", lead_days=5)]
    offers = [_offer("a", "slow", "p", 100), _offer("b", "sure", "p", 130)]
    needs = [_need("n", 1, "p")]
    free = plan(_problem(suppliers, offers, needs, [WAITING_UNIT]))
    assert (free.packs, free.waiting, free.total, free.late_day) == ({"a": 1}, 30, 130, 9)
    bound = plan(_problem(suppliers, offers, needs, [OrderUnit(id="u1", wait_per_day=10, deadline_day=8)]))
    assert (bound.packs, bound.waiting, bound.ready_days) == ({"b": 1}, 50, {"u1": 5})


def test_own_stock_is_used_first_is_no_order_line_and_no_cash():
    suppliers = [Supplier(id="drawer", own=True), Supplier(id="A", lead_days=4, shipping=300)]
    offers = [_offer("mine", "drawer", "p", 0, stock_packs=2), _offer("o", "A", "p", 50)]
    found = plan(_problem(suppliers, offers, [_need("n", 3, "p")], cash_limit=350))
    assert found.packs == {"mine": 2, "o": 1}
    assert [line.offer for line in found.lines] == ["o"]
    assert [(line.offer, line.pieces, line.amount) for line in found.own] == [("mine", 2, 0)]
    only_mine = plan(_problem(suppliers, offers, [_need("n", 1, "p")]))
    assert (only_mine.packs, only_mine.total, only_mine.lines) == ({"mine": 1}, 0, ())


def test_a_substitute_costs_its_rework_and_keeps_its_grade():
    suppliers = [Supplier(id="A")]
    offers = [_offer("exact", "A", "p", 300), _offer("other", "A", "q", 100)]
    accepts = [Accept(product="p"), Accept(product="q", rework_minutes=5, grade="rework")]
    dear = plan(_problem(suppliers, offers, [_need("n", 1, *accepts)], labour_per_hour=2500))
    assert (dear.packs, dear.total) == ({"exact": 1}, 300)
    cheap = plan(_problem(suppliers, offers, [_need("n", 1, *accepts)], labour_per_hour=1000))
    assert (cheap.packs, cheap.goods, cheap.rework) == ({"other": 1}, 100, 83)  # 83.33 a piece
    assert cheap.lines[0].uses[0].grade == "rework"


def test_scarce_fast_stock_goes_to_the_dear_unit():
    suppliers = [Supplier(id="fast", lead_days=1), Supplier(id="slow", lead_days=11)]
    offers = [_offer("f", "fast", "p", 100, stock_packs=1), _offer("s", "slow", "p", 100)]
    units = [OrderUnit(id="u1", wait_per_day=1), OrderUnit(id="u2", wait_per_day=9)]
    found = plan(_problem(suppliers, offers, [_need("a", 1, "p"), _need("b", 1, "p", unit="u2")], units))
    assert set(found.served) == {Served("b", "f", 1), Served("a", "s", 1)}
    assert found.ready_days == {"u1": 11, "u2": 1}
    assert found.waiting == 11 + 9


def test_every_point_of_the_front_carries_its_plan_and_its_total_with_waiting():
    suppliers = [Supplier(id="fast", lead_days=2, shipping=500), Supplier(id="slow", lead_days=9)]
    offers = [_offer("f", "fast", "p", 100), _offer("s", "slow", "p", 100)]
    points = front(_problem(suppliers, offers, [_need("n", 1, "p")], [OrderUnit(id="u1", wait_per_day=80)]))
    assert [(point.arrival_day, point.cost, point.total) for point in points] == [(2, 600, 760), (9, 100, 820)]
    assert [point.cheapest for point in points] == [True, False]
    assert [point.plan.packs for point in points] == [{"f": 1}, {"s": 1}]


def test_an_order_for_nothing_costs_nothing_and_is_there_today():
    problem = _problem([Supplier(id="A", min_order=500)], [_offer("o", "A", "p", 5)], [])
    assert (plan(problem).status, plan(problem).total, plan(problem).packs) == (PlanStatus.OPTIMAL, 0, {})
    assert [(point.arrival_day, point.cost) for point in front(problem)] == [(0, 0)]


@pytest.mark.parametrize(
    ("supplier", "offer", "reason"),
    [
        (Supplier(id="A"), _offer("o", "A", "other", 5), Reason.NO_OFFER),
        (Supplier(id="A", lead_days=2, lead_days_late=6), _offer("o", "A", "p", 5), Reason.NONE_IN_TIME),
        (Supplier(id="A"), _offer("o", "A", "p", 5, stock_packs=2), Reason.NOT_ENOUGH_STOCK),
        (Supplier(id="A"), _offer("o", "A", "p", 5, min_packs=4, stock_packs=3), Reason.NOT_ENOUGH_STOCK),
        (Supplier(id="A", min_order=500), _offer("o", "A", "p", 5, stock_packs=9), Reason.MINIMUM_ORDER),
    ],
)
def test_a_need_that_cannot_be_met_is_named_with_its_reason(supplier, offer, reason):
    units = [OrderUnit(id="u1", deadline_day=5)]
    needs = [_need("n", 3, "p"), _need("m", 1, "q")]
    suppliers = [supplier, Supplier(id="B")]
    found = plan(_problem(suppliers, [offer, _offer("fine", "B", "q", 9)], needs, units))
    assert found.status is PlanStatus.INFEASIBLE
    assert [(conflict.reason, conflict.needs) for conflict in found.conflicts] == [(reason, ("n",))]
    assert found.conflicts[0].detail.startswith("n: ")
    assert not found.found


def test_needs_that_cannot_be_met_together_are_named_and_no_others():
    offers = [_offer("o", "A", "p", 5, stock_packs=3), _offer("r", "A", "q", 5)]
    needs = [_need("a", 2, "p"), _need("b", 2, "p"), _need("c", 1, "q")]
    (conflict,) = plan(_problem([Supplier(id="A")], offers, needs)).conflicts
    assert (conflict.reason, conflict.needs) == (Reason.TOGETHER, ("a", "b"))


def test_the_cash_limit_is_named_with_what_it_would_take():
    problem = _problem([Supplier(id="A", shipping=300)], [_offer("o", "A", "p", 500)], [_need("n", 1, "p")])
    assert plan(msgspec.structs.replace(problem, cash_limit=800)).total == 800
    (conflict,) = plan(msgspec.structs.replace(problem, cash_limit=799)).conflicts
    assert conflict.reason is Reason.CASH_LIMIT
    assert "800" in conflict.detail
    assert "799" in conflict.detail


def test_a_cancelled_search_says_so(bench_order):
    found = plan(bench_order, cancel=lambda: True)
    assert found.status in {PlanStatus.STOPPED, PlanStatus.OPTIMAL}  # presolve alone may settle a small order
    assert found.found or found.gap > 0


def test_a_front_that_was_cancelled_is_not_taken_for_a_whole_one(bench_order, monkeypatch):
    stopped = solver.Solution(solver.Status.STOPPED, math.inf, 0.0, ())
    monkeypatch.setattr(solver, "solve", lambda *_args, **_more: stopped)
    with pytest.raises(purchase.Stopped):
        front(bench_order)


def test_a_plan_that_counts_to_another_figure_is_never_shown(bench_order, monkeypatch):
    monkeypatch.setattr(
        purchase, "reprice", lambda *args, **more: msgspec.structs.replace(reprice(*args, **more), rework=1)
    )
    with pytest.raises(purchase.Mismatch, match="the solver says"):
        plan(bench_order)


@pytest.mark.parametrize(
    ("packs", "served", "message"),
    [
        ({"o": 1}, [], "not met"),
        ({"o": 1}, [Served("n", "o", 2)], "more pieces used than bought"),
        ({"q": 2}, [Served("n", "q", 2)], "does not accept"),
        ({"o": 9}, [Served("n", "o", 2)], "cannot be bought"),
        ({"late": 2}, [Served("n", "late", 2)], "must be done by"),
        ({"o": 2}, [Served("n", "o", 2)], "smallest order"),
        ({"o": 8}, [Served("n", "o", 2)], "cash limit"),
    ],
)
def test_the_plain_count_refuses_a_broken_rule(packs, served, message):
    suppliers = [Supplier(id="A", min_order=30), Supplier(id="L", lead_days=9)]
    offers = [
        _offer("o", "A", "p", 10, stock_packs=8),
        _offer("q", "A", "q", 10),
        _offer("late", "L", "p", 1),
    ]
    units = [OrderUnit(id="u1", deadline_day=5)]
    problem = _problem(suppliers, offers, [_need("n", 2, "p")], units, cash_limit=70)
    with pytest.raises(RuleBroken, match=message):
        reprice(problem, packs, served)


def test_incremental_steps_in_a_plan():
    offers = [_offer("o", "A", "p", (1, 10), (5, 1), discount=Discount.INCREMENTAL)]
    found = plan(_problem([Supplier(id="A")], offers, [_need("n", 7, "p")]))
    assert (found.total, found.packs) == (43, {"o": 7})
