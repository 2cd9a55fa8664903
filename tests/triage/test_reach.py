"""How far a branch may spread, in words: the expected value always lies between figures that are named."""

import re

import hypothesis.strategies as st
import pytest
from hypothesis import given

from triage.branches import AsIs, Fix, sum_of
from triage.reach import reach


def worked_out(outcomes):
    """A branch with these (chance, amount): the quantiles and the mean as the engine takes them."""
    item = sum_of(AsIs(net=0.0), 0.0)
    rising = sorted(outcomes, key=lambda each: each[1])

    def at(share):
        below = 0.0
        for chance, amount in rising:
            below += chance
            if below >= share - 1e-12:
                return amount
        return rising[-1][1]

    return type(item)(
        id="fix",
        kind="fix",
        value=sum(chance * amount for chance, amount in rising),
        terms=(),
        outcomes=tuple(rising),
        low=at(0.1),
        high=at(0.9),
        loss_chance=0.0,
        minutes=0.0,
    )


@pytest.mark.parametrize(
    ("outcomes", "words"),
    [
        ([(1.0, 1702)], "no spread"),
        ([(0.08, 3277), (0.92, 1702)], "17.02, 1 in 12: 32.77"),
        ([(0.5, 1000), (0.5, 2000)], "10.00 to 20.00"),
        ([(0.05, -10000), (0.45, 1000), (0.5, 1200)], "10.00 to 12.00, 1 in 20: -100.00"),
        ([(0.04, -500), (0.92, 1000), (0.04, 9000)], "10.00, 1 in 25: 90.00"),
        ([(0.0005, -500), (0.9995, 1000)], "10.00, hardly ever -5.00"),
    ],
)
def test_what_is_named_holds_the_expected_value(outcomes, words):
    assert reach(worked_out(outcomes), "EUR") == words


@given(st.lists(st.tuples(st.floats(0.001, 1.0), st.integers(-20000, 20000)), min_size=2, max_size=6))
def test_the_expected_value_lies_between_figures_that_are_named(drawn):
    whole = sum(chance for chance, _ in drawn)
    item = worked_out([(chance / whole, amount) for chance, amount in drawn])
    named = [float(figure) * 100 for figure in re.findall(r"-?\d+\.\d\d", reach(item, "EUR"))]
    assert min(named) - 1 <= item.value <= max(named) + 1


def test_a_repair_that_may_fail_is_told_as_it_is():
    found = sum_of(Fix(id="fix", success=0.95, net_working=2000.0, net_failed=100.0), 0.0)
    assert reach(found, "EUR") == "20.00, 1 in 20: 1.00"
