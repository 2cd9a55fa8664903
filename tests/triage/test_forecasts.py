"""Scoring forecasts: by hand, and that a handful of units is never praised."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.forecasts import BINS, ENOUGH, Forecast, score, wilson


def forecast(found, **chances):
    return Forecast(1, chances, dict.fromkeys(chances, 0.25), frozenset(found))


def test_nothing_to_score():
    assert score([]) is None


def test_two_units_by_hand():
    found = score([forecast({"a"}, a=0.8, b=0.1), forecast(set(), a=0.4, b=0.0)])
    assert found.units == 2
    assert found.chances == 4
    assert found.brier == pytest.approx((0.04 + 0.01 + 0.16 + 0.0) / 4)
    assert found.base == pytest.approx((0.75**2 + 3 * 0.25**2) / 4)
    assert found.skill == pytest.approx(1 - found.brier / found.base)
    assert found.log == pytest.approx(-(math.log(0.8) + math.log(0.9) + math.log(0.6)) / 4)
    assert [(one.count, one.hits) for one in found.bins] == [(1, 0), (1, 0), (1, 0), (0, 0), (1, 1)]
    assert not found.enough


def test_what_was_held_impossible_and_was_there_is_counted_not_infinite():
    found = score([forecast({"a"}, a=0.0)])
    assert found.clipped == 1
    assert found.log == pytest.approx(-math.log(1e-6))


def test_it_needs_fifty_units():
    assert not score([forecast({"a"}, a=0.9)] * (ENOUGH - 1)).enough
    assert score([forecast({"a"}, a=0.9)] * ENOUGH).enough


@given(
    st.lists(
        st.tuples(st.floats(0, 1), st.booleans()).map(lambda one: forecast({"a"} if one[1] else set(), a=one[0])),
        min_size=1,
        max_size=30,
    )
)
def test_every_chance_is_in_one_bin(units):
    found = score(units)
    assert sum(one.count for one in found.bins) == len(units)
    assert (found.bins[0].low, found.bins[-1].high) == (BINS[0], BINS[-1])
    assert all(one.low80 <= one.hits / one.count <= one.high80 for one in found.bins if one.count)
    assert 0 <= found.brier <= 1


@given(st.integers(0, 40), st.integers(0, 40))
def test_the_interval_is_where_the_score_test_does_not_refuse(hits, misses):
    """Its ends solve |share - p| = z · sqrt(p (1 - p) / n); checked by putting them in."""
    count = hits + misses
    low, high = wilson(hits, count)
    if not count:
        assert (low, high) == (0.0, 1.0)
        return
    z = 1.2815515655446004
    for end in (low, high):
        if 1e-9 < end < 1 - 1e-9:
            assert abs(hits / count - end) == pytest.approx(z * math.sqrt(end * (1 - end) / count), rel=1e-6)
