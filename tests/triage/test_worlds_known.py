"""What was worked out of the worlds of a unit and is kept for after the next answer is what it would be anew."""

import sys

import msgspec
import numpy as np
import pytest

from triage.device_classes.loader import load_classes
from triage.diagnosis import Answered, BeyondExact, Repaired, worlds
from triage.network import network_of


@pytest.mark.parametrize("class_id", sorted(load_classes()))
def test_what_is_kept_after_an_answer_is_what_it_would_be_anew(class_id):
    device_class = load_classes()[class_id]
    network = network_of(device_class, known_faulty=0.9)
    first, second, third = [check for check in device_class.checks if not check.gate][:3]
    events = (
        Answered(first.id, "bad"),
        Repaired((next(iter(first.fails)),)),
        Answered(first.id, "bad"),
        Answered(second.id, "good"),
    )
    before = worlds(network, events, 1e-3)
    for check in device_class.checks:
        before.bad_chance(check.id)
        before.fails_test(check.id, 2)
    for check in (first, third, *(each for each in device_class.checks if each.cures)):
        after = before.answered((*events, Answered(check.id, "good")))
        anew = msgspec.structs.replace(after)
        assert not anew.known_bad
        for each in device_class.checks:
            assert np.array_equal(after.bad_chance(each.id), anew.bad_chance(each.id)), each.id
            assert np.allclose(after.fails_test(each.id, 2), anew.fails_test(each.id, 2), rtol=1e-12), each.id


def test_where_exact_sums_are_out_of_reach_the_worlds_come_from_the_heaviest(monkeypatch):
    device_class = load_classes()["gamepad"]
    network = network_of(device_class, known_faulty=0.9)
    events = tuple(Answered(check.id, "bad") for check in device_class.checks if not check.gate)
    exact = worlds(network, events, 1e-3)

    def out_of_reach(_):
        raise BeyondExact("too many")

    monkeypatch.setattr(sys.modules["triage.diagnosis.worlds"], "log_evidence_in", out_of_reach)
    with pytest.raises(BeyondExact):
        worlds(network, events, 1e-3)
    found = worlds(network, events, 1e-3, at_most=4_000)
    assert found.weight @ found.present == pytest.approx(exact.weight @ exact.present, abs=1e-2)
