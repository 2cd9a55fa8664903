"""The sums of one unit: terms, spread, loss, and the figures at which the answer changes."""

import math
from itertools import product

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.money import rounded
from triage.branches import AsIs, DonorPart, Fix, PartOut, decide, sum_of

MONEY = st.integers(-2_000, 20_000).map(float)
COST = st.integers(0, 5_000).map(float)
MINUTES = st.integers(0, 120).map(float)
CHANCE = st.integers(0, 20).map(lambda n: n / 20)
FIXES = st.builds(
    Fix,
    id=st.just("fix"),
    success=CHANCE,
    net_working=MONEY,
    net_failed=MONEY,
    parts=COST,
    minutes=MINUTES,
    delay_days=st.integers(0, 30).map(float),
    delay_per_day=st.integers(0, 60).map(float),
    returns=COST,
)
DONOR = st.builds(
    DonorPart,
    id=st.sampled_from(["door", "motor", "case"]),
    net=MONEY,
    sell_chance=CHANCE,
    list_minutes=MINUTES,
    own_use=st.none() | COST,
)
BRANCHES = st.tuples(
    FIXES,
    st.builds(PartOut, strip_minutes=MINUTES, parts=st.lists(DONOR, max_size=3, unique_by=lambda p: p.id).map(tuple)),
    st.builds(AsIs, net=MONEY, minutes=MINUTES),
).map(list)
RATE = st.integers(0, 60).map(float)


@given(BRANCHES, RATE)
def test_value_is_the_sum_of_its_terms_and_the_mean_of_its_outcomes(branches, rate):
    for branch in branches:
        item = sum_of(branch, rate)
        assert item.value == pytest.approx(sum(term.amount for term in item.terms), abs=1e-6)
        assert item.value == pytest.approx(sum(chance * amount for chance, amount in item.outcomes), abs=1e-6)
        assert math.fsum(chance for chance, _ in item.outcomes) == pytest.approx(1.0)
        assert item.low <= item.high


def test_spread_and_loss_of_parts_sold_one_by_one_against_every_combination():
    parts = tuple(DonorPart(f"p{i}", 300.0 + 170 * i, 0.3 + 0.1 * i, 4.0) for i in range(5))
    item = sum_of(PartOut(strip_minutes=40.0, parts=parts), 20.0)
    every = []
    for sold in product([True, False], repeat=5):
        chance = math.prod(p.sell_chance if s else 1 - p.sell_chance for p, s in zip(parts, sold, strict=True))
        every.append((sum(p.net for p, s in zip(parts, sold, strict=True) if s) - 20.0 * 60.0, chance))
    every.sort()
    below = [sum(chance for amount, chance in every if amount <= at) for at, _ in every]
    assert item.loss_chance == pytest.approx(sum(chance for amount, chance in every if amount < 0))
    assert item.low == pytest.approx(next(a for (a, _), c in zip(every, below, strict=True) if c >= 0.1))
    assert item.high == pytest.approx(next(a for (a, _), c in zip(every, below, strict=True) if c >= 0.9))


def test_many_parts_keep_their_mean():
    parts = tuple(DonorPart(f"p{i}", 100.0 * 1.37**i, 0.5) for i in range(20))
    item = sum_of(PartOut(parts=parts), 0.0)
    mean = sum(chance * amount for chance, amount in item.outcomes)
    assert mean == pytest.approx(item.value, abs=len(parts) / 2)


def _set(branches, flip, value, rate):
    if flip.term == "minute_cost":
        return branches, value
    if flip.term == "delay_per_day":
        now = next(b.delay_per_day for b in branches if isinstance(b, Fix))
        changed = [
            msgspec.structs.replace(b, delay_per_day=value) if isinstance(b, Fix) and b.delay_per_day == now else b
            for b in branches
        ]
        return changed, rate
    changed = []
    for branch in branches:
        moved = branch
        if branch.id == flip.branch and flip.term.startswith("parts["):
            name, field = flip.term.removeprefix("parts[").split("].")
            parts = tuple(msgspec.structs.replace(p, **{field: value}) if p.id == name else p for p in branch.parts)
            moved = msgspec.structs.replace(branch, parts=parts)
        elif branch.id == flip.branch:
            moved = msgspec.structs.replace(branch, **{flip.term: value})
        changed.append(moved)
    return changed, rate


@given(BRANCHES, RATE)
def test_at_a_flip_another_branch_draws_level_with_the_best(branches, rate):
    before = decide(branches, rate)
    for flip in before.flips:
        after = decide(*_set(branches, flip, flip.value, rate))
        assert after.sums[0].value == pytest.approx(after.sums[1].value, abs=1e-4)
        assert {flip.to, before.best} == {after.sums[0].id, after.sums[1].id} or after.sums[0].value == pytest.approx(
            after.sum_of(flip.to).value, abs=1e-4
        )


@given(BRANCHES, RATE, st.integers(2, 50))
def test_the_choice_does_not_depend_on_the_money_unit(branches, rate, factor):
    def scaled(branch):
        if isinstance(branch, AsIs):
            return msgspec.structs.replace(branch, net=branch.net * factor)
        if isinstance(branch, PartOut):
            parts = tuple(
                msgspec.structs.replace(
                    p, net=p.net * factor, own_use=None if p.own_use is None else p.own_use * factor
                )
                for p in branch.parts
            )
            return msgspec.structs.replace(branch, parts=parts)
        names = ("net_working", "net_failed", "parts", "returns", "delay_per_day")
        return msgspec.structs.replace(branch, **{name: getattr(branch, name) * factor for name in names})

    small, large = decide(branches, rate), decide([scaled(branch) for branch in branches], rate * factor)
    assert large.gap == pytest.approx(small.gap * factor, abs=1e-4)
    if small.gap > 1e-6:
        assert large.best == small.best


def test_a_day_costs_the_same_whichever_branch_waits():
    late = Fix("late", success=1.0, net_working=1000.0, delay_days=12.0, delay_per_day=25.0)
    soon = Fix("soon", success=1.0, net_working=800.0, delay_days=3.0, delay_per_day=25.0)
    flips = [flip for flip in decide([late, soon], 0.0).flips if flip.term == "delay_per_day"]
    assert [(flip.branch, flip.to, flip.value) for flip in flips] == [("soon", "late", pytest.approx(200 / 9))]


@pytest.mark.parametrize(
    ("amount", "whole"), [(905.5, 906), (905.4999999999999, 906), (905.49, 905), (-2.5, -3), (0.0, 0), (234.5, 235)]
)
def test_amounts_are_shown_half_up_without_float_dust(amount, whole):
    assert rounded(amount) == whole


def test_of_equal_branches_the_first_stated_is_best_and_none_is_refused():
    assert decide([AsIs(100.0), Fix("hold", kind="hold", net_working=100.0)], 5.0).best == "as_is"
    with pytest.raises(ValueError, match="at least one branch"):
        decide([], 5.0)
