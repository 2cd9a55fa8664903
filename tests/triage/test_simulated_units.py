"""The advice followed to its end on simulated units of every class, and the books of the simulator itself."""

import math

import msgspec
import numpy as np
import pytest
from habits import HABITS
from simulated import Clairvoyant, Unit, followed

from triage.checks import next_action
from triage.device_classes.loader import load_classes
from triage.diagnosis import worlds
from triage.locks import ASSUMED_TOOLS, Means, gate_is_open, record_of
from triage.network import SOLD_AS_FAULTY, network_of
from triage.outlook import outlook
from triage.person import ALL_TOOLS
from triage.plans import MOST_REPAIRS
from triage.worth import parts_cost, worth_of

CLASSES = sorted(load_classes())


def _advisor(device_class, rate, tools, judge=outlook):
    """Advice as `solve next` gives it, and everything it said, in order, with the state it was said in."""
    network, said = network_of(device_class, known_faulty=SOLD_AS_FAULTY), []

    def advice(state):
        seen = worlds(network, state.events, 1e-2)
        means = Means(frozenset(tools))
        action = next_action(
            device_class, seen, worth_of(device_class), rate=rate, state=state, means=means, judge=judge
        )
        said.append((action, state))
        return action

    return advice, said


def _sound(device_class, action, state, tools):
    """Whether a check may be offered: its tools are there, no training is needed, its gate is open, no lock holds."""
    check, record = device_class.check(action.check), record_of(device_class, state.events)
    holding = {entry.kind for entry in action.locked if entry.check == action.check}
    return (
        set(check.tools) <= set(tools)
        and check.permission is None
        and gate_is_open(check, record.latest)
        and holding <= {"answered"}  # a function that reads bad is looked at once more
    )


@pytest.mark.parametrize("class_id", CLASSES)
def test_the_advice_ends_without_a_repair_loop_and_its_minutes_are_those_that_were_worked(class_id):
    device_class = load_classes()[class_id]
    worth, ahead = worth_of(device_class), []
    for number, (rate, mode, tools) in enumerate(
        [(20.0, "stated", ALL_TOOLS), (5.0, "sticky", ASSUMED_TOOLS), (10.0, "wrong", ALL_TOOLS)]
    ):
        unit = Unit(device_class, f"test {class_id} {number}", mode)
        advice, said = _advisor(device_class, rate, tools)
        run = followed(device_class, unit, worth, rate, advice)  # raises where it does not end
        assert run.most_repairs <= MOST_REPAIRS
        assert all(_sound(device_class, action, state, tools) for action, state in said if action.action == "check")
        # the program's minutes and the simulator's are counted apart
        assert run.minutes == pytest.approx(sum(action.minutes for action, _ in said))
        parts = sum(parts_cost(device_class, worth, action.faults) for action, _ in said)
        assert run.money == pytest.approx(run.steps[-1].earned - parts - rate * run.minutes)
        assert run.steps[-1].earned <= worth.working
        ahead.append(Clairvoyant(unit.truth, worth, rate).money(unit) - run.money)
    assert np.mean(ahead) >= -1.96 * np.std(ahead) / math.sqrt(len(ahead))


def test_every_way_of_choosing_meets_the_same_unit():
    gamepad = load_classes()["gamepad"]
    for judge in HABITS.values():
        unit = Unit(gamepad, "same", "stated")
        assert unit.faults == Unit(gamepad, "same", "stated").faults
        run = followed(gamepad, unit, worth_of(gamepad), 5.0, _advisor(gamepad, 5.0, ALL_TOOLS, judge)[0])
        again = followed(gamepad, unit, worth_of(gamepad), 5.0, _advisor(gamepad, 5.0, ALL_TOOLS, judge)[0])
        assert run == again
        assert run.most_repairs <= MOST_REPAIRS


def test_the_clairvoyant_against_the_sum_of_its_tries():
    gamepad = load_classes()["gamepad"]
    worth = worth_of(gamepad)
    units = [unit for unit in (Unit(gamepad, f"one {n}", "stated") for n in range(400)) if unit.faults == {"trigger"}]
    trigger = gamepad.fault("trigger")
    inside = trigger.minutes - gamepad.open_minutes
    first = parts_cost(gamepad, worth, ["trigger"]) + 5.0 * trigger.minutes
    again = parts_cost(gamepad, worth, ["trigger"]) + 5.0 * inside
    tries = [next(n for n in range(9) if unit.cures("trigger", n)) for unit in units]
    assert len(units) > 5
    assert [Clairvoyant(gamepad, worth, 5.0).money(unit) for unit in units] == [
        pytest.approx(worth.working - first - again * failed) for failed in tries
    ]


def test_units_are_drawn_as_the_class_file_says():
    console = msgspec.structs.replace(load_classes()["cart_console"], conditions=())
    units = [Unit(console, f"drawn {n}", "stated").faults for n in range(2000)]
    assert sum(not faults for faults in units) / 2000 == pytest.approx(1 - SOLD_AS_FAULTY, abs=0.03)
    assert max(map(len, units)) == 3
    priors = {fault.id: fault.prior for fault in network_of(console).faults}
    likely = max(priors, key=priors.get)
    some = 1.0 - math.prod(1.0 - prior for prior in priors.values())
    expected = SOLD_AS_FAULTY * priors[likely] / some
    assert sum(likely in faults for faults in units) / 2000 == pytest.approx(
        expected, abs=0.04
    )  # few have four or more


def test_following_the_advice_earns_more_than_selling_untouched():
    gamepad = load_classes()["gamepad"]
    worth, advice = worth_of(gamepad), _advisor(gamepad, 5.0, ALL_TOOLS)[0]
    units = [Unit(gamepad, f"earns {number}", "stated") for number in range(24)]
    assert np.mean([followed(gamepad, unit, worth, 5.0, advice).money for unit in units]) > worth.as_is
