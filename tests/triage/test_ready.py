"""Which unit to finish first, against trying every order."""

from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.ready import Ready, finish_order

units = st.lists(
    st.builds(
        Ready,
        unit=st.integers(1, 99),
        minutes=st.integers(1, 120).map(float),
        day_cost=st.integers(0, 50).map(float),
        gain=st.integers(0, 9000).map(float),
    ),
    max_size=5,
    unique_by=lambda one: one.unit,
)


def waiting(order):
    """What waiting costs until each is finished, one after the other, a day counted as minutes."""
    clock = total = 0.0
    for one in order:
        clock += one.minutes
        total += one.day_cost * clock
    return total


@given(units)
def test_no_other_order_costs_less_waiting(ready):
    best = min((waiting(order) for order in permutations(ready)), default=0.0)
    assert waiting(finish_order(ready)) == pytest.approx(best)


def test_where_a_day_costs_nothing_the_better_earner_goes_first():
    slow, quick = Ready(1, 60, 0, 5000), Ready(2, 30, 0, 4000)
    assert [one.unit for one in finish_order([slow, quick])] == [2, 1]
