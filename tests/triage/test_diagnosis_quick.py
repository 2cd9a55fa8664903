"""Where the handful of small arrays is used, where it is not, and that both say the same of whole classes."""

import random

import pytest

from triage.device_classes.loader import load_classes
from triage.diagnosis import Answered, Check, Fault, Network, Reading, Repaired, Reported, believe, quick, replay
from triage.network import network_of

CLASSES = load_classes()


def told(network, *events):
    return quick.told_of(network, replay(network, events))


def some_answers(network, count, seed):
    chance = random.Random(seed)
    checks = [check for check in network.checks if not check.cures]
    return [Answered(check.id, chance.choice(["good", "good", "bad"])) for check in chance.sample(checks, count)]


@pytest.mark.parametrize("name", sorted(CLASSES))
@pytest.mark.parametrize("known_faulty", [None, 0.9])
def test_the_classes_have_the_same_chances_state_by_state(name, known_faulty):
    network = network_of(CLASSES[name], known_faulty=known_faulty)
    for count in (0, 1, 4, 8):
        events = [Reported(network.checks[0].id), *some_answers(network, count, f"{name} {count}")]
        history = replay(network, events)
        found = quick.chances_of(network.layout, quick.told_of(network, history))
        assert found is not None
        slow = believe(network, history, method="enumeration", details=False)
        quickly = believe(network, history, details=False)
        assert quickly.present == dict(zip(network.layout.faults, found.present, strict=True))
        for mine, other in (
            (quickly.present, slow.present),
            (quickly.absent, slow.absent),
            (quickly.at_start, slow.at_start),
            (quickly.conditions, slow.conditions),
        ):
            assert mine == pytest.approx(other, abs=1e-10)
        assert quickly.log_evidence == pytest.approx(slow.log_evidence, abs=1e-9)
        assert quickly.p_no_fault == pytest.approx(slow.p_no_fault, abs=1e-10)
        assert quickly.conflict_strength == pytest.approx(slow.conflict_strength, abs=1e-9)


def network_with(*checks, prior=0.2, **more):
    return Network((Fault("a", prior, 0.9), Fault("b", 0.3, 0.9)), checks, **more)


TIED = Check("tied", 0.05, {"a": 0.8, "b": 0.6}, persistence=0.8, flip=0.02)
LONE = Check("lone", 0.05, {"a": 0.9}, cures=("a",))


def test_it_is_for_units_that_nothing_was_tried_on_and_looks_that_were_not_repeated():
    network = network_with(TIED, LONE)
    assert told(network) == []
    assert [one.check for one in told(network, Answered("tied", "bad"))] == [0]
    assert told(network, Answered("tied", "bad"), Answered("tied", "good")) is None
    assert told(network, Answered("tied", "bad"), Repaired(("b",))) is None
    assert told(network, Answered("lone", "bad")) is None  # the look itself may have cured it
    assert len(told(network, Answered("lone", "not_tested"), Answered("tied", "cant_tell"))) == 0


def test_an_answer_may_be_misread_and_a_reading_and_a_report_say_what_they_say():
    network = network_with(TIED)
    (bad,), (good,) = told(network, Answered("tied", "bad")), told(network, Answered("tied", "good"))
    assert (bad.steady, bad.steady + bad.share) == pytest.approx((0.984, 0.016))
    assert (good.steady, good.steady + good.share) == pytest.approx((0.016, 0.984))
    (reading,), (report,) = told(network, Reading("tied", (0.3, 0.7))), told(network, Reported("tied"))
    assert (reading.steady, reading.share) == pytest.approx((0.3, 0.4))
    assert (report.steady, report.share) == pytest.approx((0.8, -0.6))


def test_a_fault_that_is_sure_or_an_impossible_answer_is_left_to_the_other_sums():
    sure = network_with(TIED, prior=1.0)
    assert quick.chances_of(sure.layout, told(sure, Answered("tied", "bad"))) is None
    assert believe(sure, replay(sure, [Answered("tied", "bad")]), details=False).present["a"] == 1.0
    never = network_with(Check("never", 0.0, {}))
    assert quick.chances_of(never.layout, told(never, Answered("never", "bad"))) is None
    assert believe(never, replay(never, [Answered("never", "bad")]), details=False).impossible


def test_more_terms_than_are_quick_are_left_to_the_other_sums(monkeypatch):
    network = network_with(TIED)
    heard = told(network, Answered("tied", "bad"))
    monkeypatch.setattr(quick, "MOST_CELLS", 4)
    assert quick.chances_of(network.layout, heard) is not None
    monkeypatch.setattr(quick, "MOST_CELLS", 3)
    assert quick.chances_of(network.layout, heard) is None


def test_sums_that_lose_their_digits_are_not_used():
    """Ten bad answers that only one rare fault explains: the terms cancel to far less than a millionth."""
    faults = tuple(Fault(f"f{i}", 1e-9) for i in range(3))
    checks = tuple(Check(f"c{j}", 1e-3, {"f0": 0.5, "f1": 0.5}) for j in range(10))
    network = Network(faults, checks)
    events = [Answered(check.id, "bad") for check in checks]
    assert quick.chances_of(network.layout, told(network, *events)) is None
    slow = believe(network, replay(network, events), method="enumeration", details=False)
    assert believe(network, replay(network, events), details=False).present == pytest.approx(slow.present, abs=1e-9)


def test_a_nearly_sure_fault_keeps_the_digits_of_the_chance_that_it_is_not_there():
    checks = tuple(Check(f"c{j}", 1e-4, {"a": 0.9999}) for j in range(2))
    network = network_with(*checks, Check("both", 0.01, {"a": 0.5, "b": 0.5}))
    events = [Answered(name, "bad") for name in ("c0", "c1", "both")]
    slow = believe(network, replay(network, events), method="enumeration", details=False)
    mine = believe(network, replay(network, events), details=False)
    assert mine.absent["a"] < 1e-6
    assert mine.absent["a"] == pytest.approx(slow.absent["a"], rel=1e-6)
