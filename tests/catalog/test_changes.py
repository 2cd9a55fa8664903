"""What a list would change, told before it is taken in."""

from dataclasses import dataclass, replace
from typing import NamedTuple

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.changes import CHANGED, CHEAPER, DEARER, GONE, NEW, Change, offer_changes, row_changes

SHOPS = {"North": "EUR", "Far": "JPY"}


class Step(NamedTuple):
    start: int
    amount: int
    per: int = 1


@dataclass(frozen=True)
class Offer:
    sku: str
    steps: tuple
    part_number: str = ""
    description: str = "fuse"
    pack: int = 1
    min_packs: int = 1
    stock_packs: int | None = None
    discount: str = "all_units"


OLD = Offer("F1", (Step(1, 30), Step(10, 25)))


def between(old, new, who="North"):
    return offer_changes([(who, old)] if old else [], [(who, new)] if new else [], SHOPS)


@pytest.mark.parametrize(
    ("new", "what", "note"),
    [
        (replace(OLD, steps=(Step(1, 36), Step(10, 25))), DEARER, "0.30 EUR → 0.36 EUR (+20 %)"),
        (replace(OLD, steps=(Step(1, 30), Step(10, 20))), CHEAPER, "from 10 pieces 0.25 EUR → 0.20 EUR (-20 %)"),
        (replace(OLD, steps=(Step(1, 30),)), DEARER, "from 10 pieces 0.25 EUR → 0.30 EUR (+20 %)"),
        (replace(OLD, steps=(Step(1, 30), Step(5, 25))), CHEAPER, "from 5 pieces 0.30 EUR → 0.25 EUR (-17 %)"),
        (
            replace(OLD, steps=(Step(1, 36), Step(10, 20))),
            CHANGED,
            "0.30 EUR → 0.36 EUR (+20 %), the other way at other quantities",
        ),
        (replace(OLD, stock_packs=0), CHANGED, "in stock plenty → 0"),
        (replace(OLD, part_number="P", description="belt"), CHANGED, "number nothing → P, described as fuse → belt"),
        (replace(OLD, discount="incremental"), CHANGED, "discount on all_units → incremental"),
        (
            replace(OLD, pack=10, steps=(Step(1, 400, 10),)),
            DEARER,
            "0.25 EUR → 4.00 EUR per 10 (+60 %), pack of 1 → 10",
        ),
    ],
)
def test_one_offer_before_and_after(new, what, note):
    found = between(OLD, new)
    assert found.changes == (Change(what, "North F1", new.description, note),)
    assert found.count(what) == 1
    assert found.unchanged == 0


def test_what_is_the_same_is_only_counted():
    same = replace(OLD, sku="f1", steps=(Step(1, 300, 10), Step(10, 25)))
    assert (between(OLD, same).changes, between(OLD, same).unchanged) == ((), 1)


def test_new_and_gone_and_the_order_of_telling():
    before = [("North", OLD), ("North", replace(OLD, sku="F2"))]
    after = [("Far", OLD), ("North", replace(OLD, steps=(Step(1, 25),)))]
    found = offer_changes(before, after, SHOPS)
    assert [(one.what, one.name, one.note) for one in found.changes[:1]] == [(NEW, "Far F1", "30 JPY")]
    assert [one.what for one in found.changes] == [NEW, CHEAPER, GONE]
    assert found.changes[-1] == Change(GONE, "North F2", "fuse")


@given(
    st.lists(st.tuples(st.integers(2, 60), st.integers(1, 50)), max_size=4, unique_by=lambda one: one[0]),
    st.lists(st.tuples(st.integers(2, 60), st.integers(1, 50)), max_size=4, unique_by=lambda one: one[0]),
    st.integers(1, 50),
    st.integers(1, 50),
)
def test_the_word_agrees_with_the_price_of_every_quantity(old, new, first_old, first_new):
    """Against the obvious way: look at each quantity by itself."""

    def offer(first, rest):
        return Offer("S", (Step(1, first), *(Step(*one) for one in sorted(rest))))

    def each(one, pieces):
        return [step.amount for step in one.steps if step.start <= pieces][-1]

    before, after = offer(first_old, old), offer(first_new, new)
    up = any(each(after, pieces) > each(before, pieces) for pieces in range(1, 80))
    down = any(each(after, pieces) < each(before, pieces) for pieces in range(1, 80))
    expected = [] if not up and not down else [CHANGED if up and down else DEARER if up else CHEAPER]
    assert [one.what for one in between(before, after).changes] == expected


def test_rows_are_told_field_by_field():
    rows = [
        ("a", "", None, {"days": "3"}),
        ("b", "", {"days": "3", "free from": ""}, {"days": "4", "free from": "9"}),
        ("c", "", {"days": "3"}, {"days": "3"}),
    ]
    found = row_changes(rows)
    assert found.changes == (Change(NEW, "a", ""), Change(CHANGED, "b", "", "days 3 → 4, free from nothing → 9"))
    assert found.unchanged == 1
