"""Of parts at hand at the same cost the better fitting one is taken, and no total moves."""

import pytest

from catalog.pricing import PriceStep
from catalog.purchase import plan
from catalog.purchase_data import Accept, Need, Offer, OrderUnit, PurchaseProblem, Served, Supplier
from catalog.purchase_ties import better_fits


def own(name, pieces=1, supplier="the drawer", price=0):
    return Offer(id=name, supplier=supplier, product=name, steps=(PriceStep(1, price),), stock_packs=pieces)


def problem(offers, *needs, suppliers=("the drawer",), keep=None):
    return PurchaseProblem(
        suppliers=tuple(Supplier(id=name, own=True) for name in suppliers),
        offers=tuple(offers),
        units=(OrderUnit(id="1"),),
        needs=tuple(Need(id=name, unit="1", pieces=pieces, accepts=tuple(accepts)) for name, pieces, accepts in needs),
        keep=keep or {},
    )


def way(product, grade, penalty=0, minutes=0):
    return Accept(product=product, grade=grade, penalty=penalty, rework_minutes=minutes)


@pytest.mark.parametrize("order", [("132", "135"), ("135", "132")])
def test_the_better_grade_wins_at_the_same_cost_whatever_was_entered_first(order):
    ways = [way("132", "drop-in"), way("135", "exact")]
    found = plan(problem([own(name) for name in order], ("belt", 1, ways)))
    assert found.served == (Served("belt", "135", 1),)
    assert found.packs == {"135": 1}
    assert found.total == 0


TWO = [("a", 2, [way("x", "drop-in"), way("y", "exact")])]
CASES = [
    # offers, needs, plan, plan after it
    ([own("x", 2), own("y", 1)], TWO, {"x": 2}, {"x": 1, "y": 1}),
    ([own("x", 2), own("y", 2)], TWO, {"x": 2}, {"y": 2}),
    ([own("x", 2), own("y", 2, price=1)], TWO, {"x": 2}, {"x": 2}),
    ([own("x", 2), own("y", 2, supplier="donor 3")], TWO, {"x": 2}, {"x": 2}),
    ([own("x", 2), own("y", 2)], [("a", 2, [way("x", "drop-in"), way("y", "exact", 1)])], {"x": 2}, {"x": 2}),
    ([own("x", 2), own("y", 2)], [("a", 2, [way("x", "drop-in"), way("y", "exact", 0, 1)])], {"x": 2}, {"x": 2}),
    ([own("x", 2), own("y", 2)], [("a", 2, [way("x", "exact"), way("y", "drop-in")])], {"x": 2}, {"x": 2}),
]


@pytest.mark.parametrize(("offers", "needs", "packs", "after"), CASES)
def test_only_free_pieces_of_one_supplier_at_the_same_cost_change_places(offers, needs, packs, after):
    case = problem(offers, *needs, suppliers=("the drawer", "donor 3"))
    served = tuple(Served("a", offer, count) for offer, count in packs.items())
    found, pieces = better_fits(case, packs, served)
    assert found == after
    assert {entry.offer: entry.pieces for entry in pieces} == after


def test_a_kept_line_stays():
    case = problem([own("x", 2), own("y", 2)], *TWO, keep={"x": 2})
    assert better_fits(case, {"x": 2}, (Served("a", "x", 2),)) == ({"x": 2}, (Served("a", "x", 2),))


def test_what_is_held_fast_stays():
    case = problem([own("x", 2), own("y", 2)], *TWO)
    assert better_fits(case, {"x": 2}, (Served("a", "x", 2),), fixed={"y"})[0] == {"x": 2}


def test_what_one_need_gives_back_may_be_better_for_another():
    needs = [
        ("a", 1, [way("x", "rework"), way("y", "exact")]),
        ("b", 1, [way("y", "drop-in"), way("z", "exact")]),
    ]
    case = problem([own("x"), own("y"), own("z")], *needs)
    found, _ = better_fits(case, {"x": 1, "y": 1}, (Served("a", "x", 1), Served("b", "y", 1)))
    assert found == {"y": 1, "z": 1}
