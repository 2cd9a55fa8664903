"""Substitute or wait: two handmade sums, the crossing points, and both ways against a plain search."""

from fractions import Fraction

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.contested import contested
from catalog.pricing import PriceStep
from catalog.purchase import Stopped, plan
from catalog.purchase_data import Accept, Need, Offer, OrderUnit, PurchaseProblem, Supplier


def problem(*, exact, exact_day, soon, soon_day, penalty, minutes=0, day_cost, shipping=0, pieces=1, limit=None):
    """One need, an exact part from one supplier, a substitute from another; amounts in cents."""
    return PurchaseProblem(
        suppliers=(
            Supplier(id="slow", lead_days=exact_day, shipping=shipping),
            Supplier(id="quick", lead_days=soon_day, shipping=shipping),
        ),
        offers=(
            Offer(id="s", supplier="slow", product="exact one", steps=(PriceStep(1, exact),)),
            Offer(id="q", supplier="quick", product="substitute", steps=(PriceStep(1, soon),)),
        ),
        units=(OrderUnit(id="7", wait_per_day=day_cost),),
        needs=(
            Need(
                id="n",
                unit="7",
                pieces=pieces,
                accepts=(
                    Accept(product="exact one"),
                    Accept(product="substitute", grade="rework", rework_minutes=minutes, penalty=penalty),
                ),
            ),
        ),
        labour_per_hour=1200,
        cash_limit=limit,
    )


def only(stated):
    (contest,) = contested(stated, plan(stated))
    return contest


def test_waiting_for_the_exact_relay_pays():
    # exact 0.95 x 84 + 0.05 x 28 = 81.20, substitute 0.85 x 76 + 0.15 x 28 = 68.80: 12.40 less, and 15 minutes
    contest = only(problem(exact=420, exact_day=12, soon=310, soon_day=3, penalty=1240, minutes=15, day_cost=25))
    assert contest.ahead == 1205
    assert contest.flip_day_cost == Fraction(1430, 9)
    assert contest.flip_days == Fraction(1430, 25)
    assert contest.flip_goods is None  # not even as a gift
    assert (contest.now.grade, contest.now.day, contest.now.extra) == ("rework", 3, 1540)
    assert (contest.wait.grade, contest.wait.day, contest.wait.goods) == ("exact", 12, 420)


def test_the_stick_module_at_hand_beats_waiting():
    # exact 17.30, substitute 16.555; 74.5 cents are rounded up
    contest = only(problem(exact=450, exact_day=12, soon=250, soon_day=3, penalty=75, day_cost=10))
    assert contest.ahead == -215
    assert contest.flip_goods == 235
    assert contest.flip_days is None
    assert contest.flip_day_cost == Fraction(250 + 75 - 450, 9)  # below nought: waiting never wins


def test_same_day_ready_has_no_price_of_a_day():
    stated = problem(exact=450, exact_day=12, soon=250, soon_day=3, penalty=0, day_cost=10)
    other = Need(id="late", unit="7", pieces=1, accepts=(Accept(product="exact one"),))
    stated = msgspec.structs.replace(stated, needs=(*stated.needs, other))
    contest = only(stated)
    assert contest.now.unit_day == contest.wait.unit_day == 12
    assert contest.flip_day_cost is None
    assert contest.ahead == -200


def test_no_choice_without_a_sooner_substitute():
    for exact_day in (2, 3):
        stated = problem(exact=1, exact_day=exact_day, soon=1, soon_day=3, penalty=0, day_cost=1)
        assert contested(stated, plan(stated)) == ()


def test_a_way_that_cannot_be_had_is_left_empty():
    contest = only(problem(exact=900, exact_day=9, soon=200, soon_day=3, penalty=0, day_cost=1, limit=500))
    assert contest.wait is None
    assert contest.now.plan.total == 203
    assert (contest.ahead, contest.flip_day_cost, contest.flip_goods) == (None, None, None)


def test_cancelled_says_so():
    stated = problem(exact=450, exact_day=12, soon=250, soon_day=3, penalty=0, day_cost=10)
    best = plan(stated)
    with pytest.raises(Stopped):
        contested(stated, best, cancel=lambda: True)


ORDERS = st.builds(
    problem,
    exact=st.integers(0, 900),
    exact_day=st.integers(1, 14),
    soon=st.integers(0, 900),
    soon_day=st.integers(0, 8),
    penalty=st.integers(0, 300),
    minutes=st.sampled_from([0, 5]),
    day_cost=st.integers(0, 60),
    shipping=st.sampled_from([0, 250]),
    pieces=st.integers(1, 3),
)


def total(stated, offer, day_cost):
    """One way counted by hand: goods, postage, extra work, waiting."""
    need, labour = stated.needs[0], stated.labour_per_hour
    bought = next(each for each in stated.offers if each.id == offer)
    sender = next(each for each in stated.suppliers if each.id == bought.supplier)
    accept = next(each for each in need.accepts if each.product == bought.product)
    piece = bought.steps[0].amount + accept.penalty + (labour * accept.rework_minutes + 30) // 60
    postage = sender.shipping if bought.steps[0].amount else 0
    return need.pieces * piece + postage + day_cost * sender.lead_days


@settings(max_examples=60, deadline=None)
@given(ORDERS)
def test_both_ways_and_their_crossing_against_a_plain_count(stated):
    found = contested(stated, plan(stated))
    slow, quick = (sender.lead_days for sender in stated.suppliers)
    assert len(found) == (quick < slow)
    for contest in found:
        now, wait = (total(stated, offer, stated.units[0].wait_per_day) for offer in ("q", "s"))
        assert (contest.now.plan.total, contest.wait.plan.total) == (now, wait)
        flip = contest.flip_day_cost
        assert total(stated, "q", flip) == total(stated, "s", flip)
        assert total(stated, "q", flip + 1) < total(stated, "s", flip + 1)
