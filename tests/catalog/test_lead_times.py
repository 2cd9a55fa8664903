"""Waits as they turned out."""

from hypothesis import given
from hypothesis import strategies as st

from catalog.lead_times import STATED_ORDERS, learned_waits

days = st.integers(0, 60)


def test_without_orders_the_stated_waits_hold():
    assert learned_waits(3, 5, []) == (3, 5)


def test_one_slow_parcel_moves_the_late_day_only():
    assert learned_waits(3, 5, [30]) == (3, 30)
    assert learned_waits(3, 5, [3, 3, 3, 3, 3, 3, 3, 30]) == (3, 5)


def test_the_late_case_stays_until_enough_orders_came_in_time():
    assert learned_waits(2, 5, [2]) == learned_waits(2, 5, [2] * 5) == (2, 5)
    assert learned_waits(2, 5, [2] * 6) == (2, 2)


def test_what_really_happens_wins_in_the_end():
    assert learned_waits(3, 5, [7] * 12) == (7, 7)
    assert learned_waits(9, 12, [2] * 20) == (2, 9)


@given(days, days, st.lists(days, max_size=12))
def test_as_sorting_ten_copies_of_everything_says(typical, more, seen):
    """The oracle writes the weights out as copies: of each order ten, of those stated a quarter late."""
    late = typical + more
    stated = [typical] * int(7.5 * STATED_ORDERS) + [late] * int(2.5 * STATED_ORDERS)
    copies = sorted(stated + [day for day in seen for _ in range(10)])
    half, most = copies[(len(copies) + 1) // 2 - 1], copies[-(-9 * len(copies) // 10) - 1]
    assert learned_waits(typical, late, seen) == ((half, max(half, most)) if seen else (typical, late))


@given(days, days, st.lists(days, max_size=12), days)
def test_a_slower_parcel_never_makes_a_supplier_quicker(typical, more, seen, slow):
    late = typical + more
    before = learned_waits(typical, late, [*seen, slow])
    after = learned_waits(typical, late, [*seen, slow + 5])
    assert after[0] >= before[0]
    assert after[1] >= before[1]
