"""Measured values as evidence: what must hold whatever the numbers are."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from triage.diagnosis import Meter, likelihood_of, limits_of

VOLTS = Meter(0.0, 20.0, 0.01)
OHMS = Meter(0.0, 2_000_000.0, 1.0)


def ratio(*args, **options):
    bad, good = likelihood_of(*args, **options)
    return bad / good


@given(st.floats(0.0, 20.0), st.floats(0.1, 10.0), st.floats(0.0, 5.0))
@settings(max_examples=100, deadline=None)
def test_the_ratio_is_capped_and_the_larger_is_one(value, low, width):
    bad, good = likelihood_of(value, low, low + width, VOLTS)
    assert max(bad, good) == 1.0
    assert 0.001 <= bad / good <= 1000.0


@given(st.floats(0.0, 20.0))
@settings(max_examples=60, deadline=None)
def test_further_out_is_never_a_better_sign(value):
    low, high = limits_of(5.0, 0.05)
    step = 0.5
    if value > high:
        assert ratio(value + step, low, high, VOLTS) >= ratio(value, low, high, VOLTS)
    elif value < low and value >= step:
        assert ratio(value - step, low, high, VOLTS) >= ratio(value, low, high, VOLTS)


def test_inside_the_limits_speaks_for_good_and_far_outside_for_bad():
    assert ratio(5.0, 4.75, 5.25, VOLTS) < 1.0
    assert ratio(0.0, 4.75, 5.25, VOLTS) == pytest.approx(1000.0)


def test_the_densities_by_hand():
    # error at 5.0: 2 % + two counts = 0.12; uniform on 4.75 .. 5.25 blurred by it, against 1/20
    inside = math.erf(0.25 / 0.12 / math.sqrt(2.0)) / 0.5
    assert ratio(5.0, 4.75, 5.25, VOLTS) == pytest.approx((1 / 20) / inside)
    assert ratio(5.0, 4.75, 5.25, VOLTS, fails="dead") == pytest.approx((1 / 40) / inside)


def test_a_single_nominal_value_is_the_limit_of_narrow_limits():
    assert ratio(5.1, 5.0, 5.0, VOLTS) == pytest.approx(ratio(5.1, 5.0 - 1e-6, 5.0 + 1e-6, VOLTS), rel=1e-6)


def test_open_and_dead():
    assert ratio(0.0, 90.0, 110.0, OHMS, scale="log", fails="open", reads="open") == pytest.approx(1000.0)
    assert ratio(0.0, 90.0, 110.0, OHMS, scale="log", reads="open") == pytest.approx(1000.0)
    assert ratio(0.0, 4.75, 5.25, VOLTS, fails="open", reads="dead") == pytest.approx(1000.0)
    # a healthy switch that is off does read open
    assert ratio(0.0, 1e6, 2e6, OHMS, scale="log", reads="open") < 1.0


@given(st.floats(2.0, 1e5), st.floats(1.1, 10.0))
@settings(max_examples=60, deadline=None)
def test_ohms_are_judged_by_ratio(low, factor):
    fine = Meter(0.0, 2e6, 1e-3, counts=0.0)
    one = ratio(low * 1.5, low, low * 2, fine, scale="log")
    other = ratio(low * factor * 1.5, low * factor, low * factor * 2, fine, scale="log")
    assert one == pytest.approx(other, rel=1e-9)


def test_values_off_the_scale_are_refused():
    with pytest.raises(ValueError, match="above 0"):
        likelihood_of(0.0, 90.0, 110.0, OHMS, scale="log")
    with pytest.raises(ValueError, match="low limit"):
        likelihood_of(1.0, 2.0, 1.0, VOLTS)
