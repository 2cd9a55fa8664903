"""Learning from findings: what moves, by how much, and that it is sound in the long run."""

import itertools
import math
import random

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.device_classes.loader import load_classes
from triage.findings import Closed
from triage.learning import PSEUDO_UNITS, learn, with_learned
from triage.model_sheets import Stated
from triage.network import SOLD_AS_FAULTY, prior_of

GAMEPAD = load_classes()["gamepad"]
FAULTS = [fault.id for fault in GAMEPAD.faults]


def closed(*faults, number=1, model="", faulty=False, answers=()):
    return Closed(number, model, faulty, frozenset(faults), tuple(answers))


def used(learned):
    return {tally.fault: tally.used for tally in learned.tallies}


def test_without_a_finding_the_file_holds():
    learned = learn(GAMEPAD, [])
    assert with_learned(GAMEPAD, learned) is GAMEPAD
    assert used(learned) == {fault.id: prior_of(fault) for fault in GAMEPAD.faults}


def test_untested_units_count_one_for_one():
    """Beta with mean p and weight 8: after k of n it is (8 p + k) / (8 + n)."""
    units = [closed(FAULTS[0]), closed(FAULTS[0], FAULTS[1]), closed()]
    learned = learn(GAMEPAD, units)
    for place, hits in ((0, 2), (1, 1), (2, 0)):
        start = prior_of(GAMEPAD.faults[place])
        assert used(learned)[FAULTS[place]] == pytest.approx((PSEUDO_UNITS * start + hits) / (PSEUDO_UNITS + 3))
    assert [(tally.found, tally.of) for tally in learned.tallies[:3]] == [(2, 3), (1, 3), (0, 3)]


def test_a_model_starts_from_its_class():
    units = [closed(FAULTS[1]), closed(FAULTS[0], model="gp-7"), closed(FAULTS[0], model="gp-7")]
    whole, mine, other = (used(learn(GAMEPAD, units, model=model)) for model in ("", "gp-7", "gp-8"))
    start = whole[FAULTS[0]]
    assert mine[FAULTS[0]] == pytest.approx((PSEUDO_UNITS * start + 2) / (PSEUDO_UNITS + 2))
    assert other == whole
    assert mine[FAULTS[0]] > whole[FAULTS[0]] > prior_of(GAMEPAD.faults[0])


def test_a_stated_common_fault_moves_that_model_only():
    stated = [Stated(FAULTS[2], 3, 4)]
    moved = learn(GAMEPAD, [], model="gp-7", stated=stated)
    before = {fault.id: prior_of(fault) for fault in GAMEPAD.faults}
    assert used(moved)[FAULTS[2]] > before[FAULTS[2]]
    assert {name: used(moved)[name] for name in FAULTS if name != FAULTS[2]} == {
        name: before[name] for name in FAULTS if name != FAULTS[2]
    }
    assert [(one.model_found, one.model_of) for one in moved.tallies if one.fault == FAULTS[2]] == [(3, 4)]


def drawn(chances, luck, *, faulty):
    """A unit's faults by chance; sold as faulty there is something in nine of ten."""
    if not faulty:
        return frozenset(name for name, chance in chances.items() if luck.random() < chance)
    if luck.random() >= SOLD_AS_FAULTY:
        return frozenset()
    while True:
        there = drawn(chances, luck, faulty=False)
        if there:
            return there


@pytest.mark.parametrize("faulty", [False, True])
def test_in_the_long_run_the_true_chances_are_found_however_the_units_were_sold(faulty):
    luck = random.Random(7)
    chances = {name: luck.uniform(0.02, 0.3) for name in FAULTS}
    units = [closed(*drawn(chances, luck, faulty=faulty), faulty=faulty) for _ in range(6000)]
    found = used(learn(GAMEPAD, units))
    for name, chance in chances.items():
        assert found[name] == pytest.approx(chance, abs=5 * math.sqrt(chance / 6000) + 0.01)


def test_credit_for_a_bad_answer_is_shared_as_counting_all_ways_says():
    """The oracle counts every way in which the present faults and the leak may have set the check off."""
    check = next(check for check in GAMEPAD.checks if len(check.fails) >= 2 and 0 < check.leak < 1)
    present = [fault for fault, value in check.fails.items() if 0 < value < 1][:2]
    assert len(present) == 2
    causes = {**{fault: check.fails[fault] for fault in present}, "": check.leak}
    weight, fired = 0.0, dict.fromkeys(causes, 0.0)
    for ways in itertools.product((False, True), repeat=len(causes)):
        chance = math.prod(value if on else 1 - value for on, value in zip(ways, causes.values(), strict=True))
        if any(ways):
            weight += chance
            for name, on in zip(causes, ways, strict=True):
                fired[name] += chance * on
    learned = learn(GAMEPAD, [closed(*present, answers=[(check.id, True)])])
    for fault in present:
        expected = (PSEUDO_UNITS * check.fails[fault] + fired[fault] / weight) / (PSEUDO_UNITS + 1)
        assert learned.fails[check.id][fault] == pytest.approx(expected)
    expected = (PSEUDO_UNITS * check.leak + fired[""] / weight) / (PSEUDO_UNITS + 1)
    assert learned.leaks[check.id] == pytest.approx(expected)


def test_a_good_answer_counts_against_every_present_cause():
    check = next(check for check in GAMEPAD.checks if any(0 < value < 1 for value in check.fails.values()))
    fault = next(name for name, value in check.fails.items() if 0 < value < 1)
    learned = learn(GAMEPAD, [closed(fault, answers=[(check.id, False)])])
    assert learned.fails[check.id][fault] == pytest.approx(PSEUDO_UNITS * check.fails[fault] / (PSEUDO_UNITS + 1))
    assert set(learned.fails[check.id]) == {fault}


def test_what_the_file_holds_for_sure_stays():
    first = next(check for check in GAMEPAD.checks if check.fails)
    fault = next(iter(first.fails))
    sure = msgspec.structs.replace(first, fails={**first.fails, fault: 1.0}, leak=0.0)
    device_class = msgspec.structs.replace(
        GAMEPAD, checks=tuple(sure if check.id == first.id else check for check in GAMEPAD.checks)
    )
    learned = learn(device_class, [closed(fault, answers=[(first.id, False)]), closed(answers=[(first.id, True)])])
    assert fault not in learned.fails.get(first.id, {})
    assert first.id not in learned.leaks


units_of_any_kind = st.lists(
    st.builds(
        Closed,
        unit=st.integers(1, 99),
        model=st.sampled_from(["", "a", "b"]),
        sold_as_faulty=st.booleans(),
        faults=st.frozensets(st.sampled_from(FAULTS), max_size=3),
        answers=st.lists(
            st.tuples(st.sampled_from([check.id for check in GAMEPAD.checks]), st.booleans()), max_size=4
        ).map(tuple),
    ),
    max_size=12,
)


@given(units=units_of_any_kind, model=st.sampled_from(["", "a", "b"]))
def test_whatever_was_found_the_class_stays_a_class(units, model):
    learned = learn(GAMEPAD, units, model=model)
    moved = with_learned(GAMEPAD, learned)
    assert all(0 < prior_of(fault) < 1 for fault in moved.faults)
    assert all(0 <= value <= 1 for check in moved.checks for value in (*check.fails.values(), check.leak))
    assert [fault.id for fault in moved.faults] == FAULTS
    assert {check.id: set(check.fails) for check in moved.checks} == {
        check.id: set(check.fails) for check in GAMEPAD.checks
    }


@given(units=units_of_any_kind, fault=st.sampled_from(FAULTS))
def test_one_more_unit_with_a_fault_never_makes_it_less_likely(units, fault):
    before = used(learn(GAMEPAD, units))[fault]
    after = used(learn(GAMEPAD, [*units, closed(fault)]))[fault]
    assert after >= before - 1e-9
