"""Price steps, packs, and the one rounding of an order line."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.pricing import Discount, PriceStep, half_up, line_amount, segments

STEPS = (PriceStep(1, 30), PriceStep(10, 14), PriceStep(25, 12))
ALL, INC = Discount.ALL_UNITS, Discount.INCREMENTAL


@pytest.mark.parametrize(
    ("value", "whole"),
    [(Fraction(1, 2), 1), (Fraction(3, 2), 2), (Fraction(49, 100), 0), (Fraction(5, 2), 3), (Fraction(7), 7)],
)
def test_halves_go_up(value, whole):
    assert half_up(value) == whole


@pytest.mark.parametrize(
    ("discount", "pieces", "amount"),
    [(ALL, 9, 270), (ALL, 10, 140), (ALL, 25, 300), (INC, 9, 270), (INC, 10, 284), (INC, 24, 480), (INC, 26, 504)],
)
def test_a_step_holds_for_every_piece_or_from_there_on(discount, pieces, amount):
    assert line_amount(STEPS, discount, pieces) == amount


@pytest.mark.parametrize(("pieces", "amount"), [(1, 1), (2, 3), (3, 4), (69, 100), (70, 102), (100, 145), (200, 290)])
def test_a_price_per_hundred_is_rounded_once_on_the_line(pieces, amount):
    # 1.45 each: 1.45, 2.90, 4.35, 100.05, 101.5 (half up), 145, 290
    assert line_amount((PriceStep(1, 145, 100),), ALL, pieces) == amount


def test_incremental_steps_are_rounded_once_for_the_whole_line():
    steps = (PriceStep(1, 5, 2), PriceStep(2, 1, 2))  # 2.5 + 0.5 = 3.0, not 3 + 1
    assert line_amount(steps, INC, 2) == 3


def test_a_step_is_reached_by_whole_packs_and_one_that_none_reaches_vanishes():
    steps = (PriceStep(1, 9), PriceStep(7, 8), PriceStep(8, 7), PriceStep(20, 6))
    ranges = segments(steps, ALL, 3, 1, 9)
    assert [(each.low, each.high, each.per_pack) for each in ranges] == [(1, 2, 27), (3, 6, 21), (7, 9, 18)]


def test_least_packs_and_stock_cut_the_ranges():
    assert [(each.low, each.high) for each in segments(STEPS, ALL, 1, 4, 12)] == [(4, 9), (10, 12)]
    assert segments(STEPS, ALL, 1, 4, 3) == []
    assert segments(STEPS, ALL, 1, 1, None)[-1].high is None


def test_lines_that_round_to_nothing_are_a_range_of_their_own():
    ranges = segments((PriceStep(1, 1, 5),), ALL, 1, 1, 9)
    assert [(each.low, each.high, each.free) for each in ranges] == [(1, 2, True), (3, 9, False)]


@st.composite
def price_lists(draw):
    starts = [1, *sorted(draw(st.sets(st.integers(2, 30), max_size=3)))]
    return tuple(PriceStep(at, draw(st.integers(0, 50)), draw(st.integers(1, 12))) for at in starts)


@given(price_lists(), st.sampled_from(list(Discount)), st.integers(1, 4), st.integers(0, 3), st.integers(0, 20))
def test_ranges_cover_each_number_of_packs_once_with_its_own_amount(steps, discount, size, least, stock):
    ranges = segments(steps, discount, size, least, stock)
    covered = [packs for each in ranges for packs in range(each.low, each.high + 1)]
    assert covered == list(range(max(1, least), stock + 1))
    for each in ranges:
        for packs in range(each.low, each.high + 1):
            assert each.amount(packs) == line_amount(steps, discount, packs * size)
            assert (each.amount(packs) == 0) == each.free
