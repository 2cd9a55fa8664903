"""The smallest conflict against trying every set by size; and of an order with dates, stock, smallest orders, cash."""

import itertools

import msgspec
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.pricing import PriceStep
from catalog.purchase import plan
from catalog.purchase_conflicts import conditions_of, feasible, relaxed
from catalog.purchase_data import Accept, Need, Offer, OrderUnit, PlanStatus, PurchaseProblem, Reason, Supplier
from catalog.smallest_conflict import MOST_CONDITIONS, smallest_conflict


def by_size(conditions, can):
    """The size of the smallest set that cannot be kept, by trying all."""
    for size in range(len(conditions) + 1):
        if any(not can(chosen) for chosen in itertools.combinations(conditions, size)):
            return size
    return None


@st.composite
def clashes(draw):
    """Up to eight conditions and some sets of them that cannot be kept together."""
    conditions = list(range(draw(st.integers(1, 8))))
    sets = draw(st.lists(st.sets(st.sampled_from(conditions), min_size=1, max_size=5), max_size=5))
    return conditions, sets


@settings(max_examples=120, deadline=None)
@given(clashes())
def test_it_is_as_small_as_trying_all_finds(clash):
    conditions, sets = clash

    def can(kept):
        return not any(each <= set(kept) for each in sets)

    found = smallest_conflict(conditions, can)
    size = by_size(conditions, can)
    if size is None:
        assert found == ()
    else:
        assert len(found) == size
        assert not can(found)
        assert list(found) == sorted(found)


def test_of_very_many_nothing_can_be_left_out():
    conditions = list(range(MOST_CONDITIONS + 20))
    asked = []

    def can(kept):
        asked.append(len(kept))
        return not {3, 40, 77} <= set(kept)

    assert smallest_conflict(conditions, can) == (3, 40, 77)
    assert len(asked) < 60


def _need(name, unit, product, pieces=1):
    return Need(id=name, unit=unit, pieces=pieces, accepts=(Accept(product=product),))


@st.composite
def orders(draw):
    """Small orders that may be impossible for many reasons at once."""
    number = st.integers
    suppliers = tuple(
        Supplier(
            id=f"S{place}",
            lead_days=draw(number(0, 5)),
            shipping=draw(number(0, 3)),
            min_order=draw(st.sampled_from([0, 0, 8, 20])),
        )
        for place in range(2)
    )
    offers = tuple(
        Offer(
            id=f"o{place}",
            supplier=draw(st.sampled_from(suppliers)).id,
            product=draw(st.sampled_from(["a", "b"])),
            steps=(PriceStep(1, draw(number(1, 9))),),
            stock_packs=draw(st.sampled_from([None, 1, 2])),
        )
        for place in range(3)
    )
    units = tuple(OrderUnit(id=f"u{place}", deadline_day=draw(st.none() | number(0, 5))) for place in range(2))
    needs = tuple(
        _need(f"n{place}", draw(st.sampled_from(units)).id, draw(st.sampled_from(["a", "b"])), draw(number(1, 2)))
        for place in range(draw(number(1, 3)))
    )
    return PurchaseProblem(
        suppliers=suppliers,
        offers=offers,
        units=units,
        needs=needs,
        cash_limit=draw(st.none() | number(0, 20)),
        keep={"o0": draw(number(0, 3))} if draw(st.booleans()) else {},
    )


@settings(max_examples=60, deadline=None)
@given(orders())
def test_what_is_named_of_an_order_is_as_small_as_trying_all_finds(problem):
    found = plan(problem)
    if found.status is not PlanStatus.INFEASIBLE:
        return

    def can(kept):
        return feasible(relaxed(problem, set(kept)))

    for conflict in found.conflicts:
        assert not can(conflict.conditions)
        alone = len(conflict.needs) == 1 and not conflict.cash and not conflict.kept
        rest = msgspec.structs.replace(problem, cash_limit=None, keep={}) if alone else problem
        named = alone or not conflict.needs  # a kept line that is not sold so is named before all needs
        mine = tuple(need for need in rest.needs if need.id in conflict.needs) if named else rest.needs
        assert len(conflict.conditions) == by_size(conditions_of(msgspec.structs.replace(rest, needs=mine)), can)


def test_a_date_is_named_where_it_is_part_of_it():
    quick = Supplier(id="Quick", lead_days=1)
    slow = Supplier(id="Slow", lead_days=9)
    offers = tuple(
        Offer(id=f"{sender}{product}", supplier=sender, product=product, steps=(PriceStep(1, price),))
        for sender, price in (("Quick", 90), ("Slow", 10))
        for product in "ab"
    )
    problem = PurchaseProblem(
        suppliers=(quick, slow),
        offers=offers,
        units=(OrderUnit(id="4", deadline_day=3), OrderUnit(id="7")),
        needs=(_need("belt", "4", "a"), _need("motor", "7", "b")),
        cash_limit=95,
    )
    (conflict,) = plan(problem).conflicts
    assert conflict.reason is Reason.CASH_LIMIT
    assert (conflict.needs, conflict.dates, conflict.figures) == (("belt", "motor"), ("4",), (100, 95))
    (alone,) = plan(msgspec.structs.replace(problem, cash_limit=80)).conflicts
    assert (alone.needs, alone.dates, alone.figures) == (("belt",), ("4",), (90, 80))
