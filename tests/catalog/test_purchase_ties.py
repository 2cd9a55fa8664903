"""Of plans of the same cost the one that fits better is taken, and no total moves."""

import itertools
from unittest import mock

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog import purchase_ties
from catalog.pricing import PriceStep
from catalog.purchase import plan
from catalog.purchase_data import Accept, Need, Offer, OrderUnit, PlanStatus, PurchaseProblem, Served, Supplier
from catalog.purchase_ties import better_fits
from catalog.reprice import reprice


def own(name, pieces=1, supplier="the drawer", price=0):
    return Offer(id=name, supplier=supplier, product=name, steps=(PriceStep(1, price),), stock_packs=pieces)


def problem(offers, *needs, suppliers=("the drawer",), keep=None, **more):
    return PurchaseProblem(
        suppliers=tuple(Supplier(id=name, own=True) for name in suppliers),
        offers=tuple(offers),
        units=(OrderUnit(id="1"),),
        needs=tuple(Need(id=name, unit="1", pieces=pieces, accepts=tuple(accepts)) for name, pieces, accepts in needs),
        keep=keep or {},
        **more,
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
    ([own("x", 2), own("y", 2, supplier="donor 3")], TWO, {"x": 2}, {"y": 2}),
    ([own("x", 2), own("y", 2)], [("a", 2, [way("x", "drop-in"), way("y", "exact", 1)])], {"x": 2}, {"x": 2}),
    ([own("x", 2), own("y", 2)], [("a", 2, [way("x", "drop-in"), way("y", "exact", 0, 1)])], {"x": 2}, {"x": 2}),
    ([own("x", 2), own("y", 2)], [("a", 2, [way("x", "exact"), way("y", "drop-in")])], {"x": 2}, {"x": 2}),
]


@pytest.mark.parametrize(("offers", "needs", "packs", "after"), CASES)
def test_only_pieces_at_the_same_cost_change_places(offers, needs, packs, after):
    case = problem(offers, *needs, suppliers=("the drawer", "donor 3"), labour_per_hour=60)
    served = tuple(Served("a", offer, count) for offer, count in packs.items())
    found, pieces = better_fits(case, packs, served)
    assert found == after
    assert {entry.offer: entry.pieces for entry in pieces} == after


def test_a_kept_line_stays_as_it_is_whatever_it_is_for():
    case = problem([own("x", 2), own("y", 2)], *TWO, keep={"x": 2})
    assert better_fits(case, {"x": 2}, (Served("a", "x", 2),)) == ({"x": 2, "y": 2}, (Served("a", "y", 2),))


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


SHOP = Supplier(id="shop", lead_days=3, shipping=200)
TEN = [way("new", "exact"), way("old", "drop-in")]


def bought(*steps, pack=1, name="new", supplier="shop"):
    return Offer(id=name, supplier=supplier, product=name, steps=tuple(steps), pack_size=pack)


@pytest.mark.parametrize(
    "offer",
    [
        bought(PriceStep(1, 100), PriceStep(10, 90)),  # ten cost what nine do
        bought(PriceStep(1, 100), pack=10),  # nine of a pack, and one that lies there anyway
    ],
)
@pytest.mark.parametrize("first", ["new", "old"])
def test_ten_exact_pieces_win_against_nine_and_a_drop_in_from_the_drawer(offer, first):
    """Both ways come to the same money; the surplus of the line, or the next price step, is used."""
    case = problem([], ("a", 10, TEN))
    offers = [offer, own("old")] if first == "new" else [own("old"), offer]
    case = msgspec.structs.replace(case, suppliers=(*case.suppliers, SHOP), offers=tuple(offers))
    found = plan(case)
    assert found.served == (Served("a", "new", 10),)
    nine = (Served("a", "new", 9), Served("a", "old", 1))
    assert better_fits(case, {"new": 9 // offer.pack_size or 1, "old": 1}, nine)[1] == found.served


def test_a_unit_does_not_wait_longer_for_a_better_grade_where_days_are_to_stay():
    case = problem([own("x"), bought(PriceStep(1, 0), name="y")], ("a", 1, TWO[0][2]))
    case = msgspec.structs.replace(case, suppliers=(*case.suppliers, SHOP))
    plan_before = ({"x": 1}, (Served("a", "x", 1),))
    assert better_fits(case, *plan_before, same_days=True) == plan_before
    assert better_fits(case, *plan_before) == ({"y": 1}, (Served("a", "y", 1),))


def test_a_unit_takes_no_more_extra_work_for_a_better_grade_where_its_minutes_are_to_stay():
    ways = [way("x", "compromise"), way("y", "rework", minutes=10)]
    case = problem([own("x", 2), own("y", 2)], ("a", 2, ways), labour_per_hour=0)
    mixed = ({"x": 1, "y": 1}, (Served("a", "x", 1), Served("a", "y", 1)))
    assert better_fits(case, *mixed, same_days=True) == mixed
    assert better_fits(case, *mixed)[1] == (Served("a", "y", 2),)
    two = (Served("a", "x", 2),)
    assert better_fits(case, {"x": 2}, two, same_days=True)[1] == two


@pytest.mark.parametrize("status", [PlanStatus.STOPPED, PlanStatus.OPTIMAL])
def test_a_plan_that_was_stopped_is_not_searched_once_more(status):
    case = problem([own("x", 2), own("y", 2)], *TWO)
    first = reprice(case, {"x": 2}, (Served("a", "x", 2),), status=status)
    with mock.patch("catalog.purchase._plan", return_value=first):
        found = plan(case)
    assert (found.status, set(found.packs)) == (status, {"x"} if status is PlanStatus.STOPPED else {"y"})


def test_a_need_takes_no_more_extra_work_in_all_for_a_better_grade_where_days_are_to_stay():
    ways = [way("bent", "compromise"), way("filed", "rework", minutes=10), way("apt", "drop-in", minutes=8)]
    both = {"bent": 1, "filed": 1}, (Served("a", "bent", 1), Served("a", "filed", 1))
    case = problem([own("bent"), own("filed", 2), own("apt", 1)], ("a", 2, ways))
    assert better_fits(case, *both, same_days=True)[0] == {"bent": 1, "apt": 1}
    assert better_fits(case, *both)[0] == {"filed": 1, "apt": 1}


# --- against every plan there is ---------------------------------------------------------------------------------

GRADES = ("exact", "drop-in", "rework", "compromise")


def _line(offer, pieces):
    return [step.amount * pieces for step in offer.steps if step.from_pieces <= pieces][-1] if pieces else 0


def _everything(case):
    """(cost, grades the pieces fall short of the best together) of every plan, spare packs included."""
    lead = {supplier.id: supplier.lead_days for supplier in case.suppliers}
    wait = {unit.id: unit.wait_per_day for unit in case.units}
    counts = [range((offer.stock_packs or 0) + 1) for offer in case.offers]
    for packs in itertools.product(*counts):
        money = 0
        for supplier in case.suppliers:
            mine = [(o, n * o.pack_size) for o, n in zip(case.offers, packs, strict=True) if o.supplier == supplier.id]
            goods = sum(_line(offer, pieces) for offer, pieces in mine)
            free = supplier.free_from is not None and goods >= supplier.free_from
            money += goods + (supplier.shipping if goods and not free else 0)
        places = [[(need, accept) for accept in need.accepts] for need in case.needs for _ in range(need.pieces)]
        ways = [
            [(n, a, o) for n, a in place for o in range(len(case.offers)) if case.offers[o].product == a.product]
            for place in places
        ]
        for taken in itertools.product(*ways):
            used = [sum(way[2] == place for way in taken) for place in range(len(packs))]
            if any(u > n * o.pack_size for u, n, o in zip(used, packs, case.offers, strict=True)):
                continue
            ready = {}
            for need, _, place in taken:
                ready[need.unit] = max(ready.get(need.unit, 0), lead[case.offers[place].supplier])
            cost = money + sum(a.penalty for _, a, _ in taken) + sum(wait[u] * day for u, day in ready.items())
            yield cost, sum(GRADES.index(accept.grade) for _, accept, _ in taken)


@st.composite
def small_orders(draw):
    """Few prices, so that ties are many."""
    number = st.integers
    suppliers = [
        Supplier(id="drawer", own=True),
        *(
            Supplier(
                id=f"s{at}",
                lead_days=draw(number(0, 2)),
                shipping=draw(number(0, 2)),
                free_from=draw(st.none() | number(1, 6)),
            )
            for at in range(draw(number(1, 2)))
        ),
    ]
    offers = []
    for at in range(draw(number(2, 4))):
        sender = draw(st.sampled_from(suppliers))
        first = 0 if sender.own else draw(number(0, 3))
        steps = [PriceStep(1, first)]
        if first and draw(st.booleans()):
            steps.append(PriceStep(draw(number(2, 3)), draw(number(1, first))))
        offers.append(
            Offer(
                id=f"o{at}",
                supplier=sender.id,
                product=draw(st.sampled_from("abc")),
                steps=tuple(steps),
                pack_size=draw(number(1, 2)),
                stock_packs=draw(number(1, 2)),
            )
        )
    needs = [
        Need(
            id=f"n{at}",
            unit=f"u{at}",
            pieces=draw(number(1, 2)),
            accepts=tuple(
                Accept(product=product, grade=draw(st.sampled_from(GRADES)), penalty=draw(number(0, 1)))
                for product in sorted(draw(st.sets(st.sampled_from("abc"), min_size=1)))
            ),
        )
        for at in range(draw(number(1, 2)))
    ]
    units = tuple(OrderUnit(id=f"u{at}", wait_per_day=draw(number(0, 1))) for at in range(2))
    return PurchaseProblem(suppliers=tuple(suppliers), offers=tuple(offers), units=units, needs=tuple(needs))


@settings(max_examples=150, deadline=None)
@given(small_orders())
def test_no_plan_of_the_least_cost_fits_better(case):
    every = list(_everything(case))
    found = plan(case)
    if not every:
        assert found.status is PlanStatus.INFEASIBLE
        return
    assert (found.total, _shortfall(case, found)) == min(every)


@settings(max_examples=40, deadline=None)
@given(small_orders())
def test_a_large_order_is_settled_at_no_higher_cost(case):
    """Where only some columns are open the grades may stay worse than the best, but nothing gets dearer."""
    whole = plan(case)
    with mock.patch.object(purchase_ties, "ALL_OPEN", 0):
        found = plan(case)
    assert (found.status, found.total) == (whole.status, whole.total)
    assert _shortfall(case, found) >= _shortfall(case, whole)


def _shortfall(case, found):
    grades = {(need.id, a.product): GRADES.index(a.grade) for need in case.needs for a in need.accepts}
    product = {offer.id: offer.product for offer in case.offers}
    return sum(grades[entry.need, product[entry.offer]] * entry.pieces for entry in found.served)
