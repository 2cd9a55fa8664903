"""Exact values of ways of choosing, against the simulation of the same small class and against worlds found anew."""

import math

import following
import numpy as np
import pytest
from policy_values import Bench, Forest
from quality import POLICIES
from simulated import Unit, at_first, followed

from triage.checks import next_action
from triage.device_classes.loader import load_classes
from triage.device_classes.schema import Check, DeviceClass, Fault, Function
from triage.diagnosis import Answered, Repaired, worlds
from triage.locks import Means
from triage.network import SOLD_AS_FAULTY, network_of
from triage.worth import worth_of

RATE = 20.0


def _check(name, fails, minutes, **fields):
    return Check(
        id=name,
        question="",
        good="yes",
        do="",
        origin="M",
        state="closed",
        minutes=minutes,
        leak=0.05,
        fails=fails,
        **fields,
    )


LAMP = DeviceClass(
    id="lamp",
    name="lamp",
    origin="M",
    working=30.0,
    as_is_ratio=0.3,
    part_out_ratio=0.2,
    open_minutes=4.0,
    mains=False,
    words=(),
    functions=(Function("light", "light"),),
    parts=(),
    faults=(
        Fault(id="A", what="A", origin="M", minutes=10.0, skill=1, risk="L", prior=0.3, success=0.8),
        Fault(id="B", what="B", origin="M", minutes=30.0, skill=1, risk="L", prior=0.2, success=0.9),
    ),
    checks=(
        _check("lit", {"A": 0.9, "B": 0.7}, 1.0, function="light"),
        _check("ohms", {"A": 0.8}, 3.0),
    ),
    setups=(),
    hazards=(),
)


@pytest.mark.parametrize("policy", ["lotwright", "plain one-step money"])
def test_a_value_is_what_the_simulation_comes_to(policy):
    worth, network = worth_of(LAMP), network_of(LAMP, known_faulty=SOLD_AS_FAULTY)
    forest = Forest(Bench(LAMP, worth, RATE, Means()), 0.0)
    node = forest.walked(at_first(LAMP), following.at_the_start(network), 1.0, (policy,))[policy]
    assert node.left == 0.0
    said = {}

    def advice(state):
        if state.events not in said:
            seen = worlds(network, state.events, 0.0)
            judge = POLICIES[policy]
            said[state.events] = next_action(LAMP, seen, worth, rate=RATE, state=state, means=Means(), judge=judge)
        return said[state.events]

    runs = [followed(LAMP, Unit(LAMP, f"lamp {number}", "stated"), worth, RATE, advice) for number in range(3000)]
    for value, got in (
        (node.value, [run.money for run in runs]),
        (node.minutes, [run.minutes for run in runs]),
        (node.right, [run.made_right for run in runs]),
    ):
        assert abs(np.mean(got) - value) <= 3.0 * np.std(got) / math.sqrt(len(got))
    assert node.value > max(worth.as_is, worth.part_out)


def test_partings_add_up_to_the_whole_difference():
    policies = ("lotwright", "plain one-step money", "entropy per minute")
    forest = Forest(Bench(LAMP, worth_of(LAMP), RATE, Means()), 0.0)
    seen = following.at_the_start(network_of(LAMP, known_faulty=SOLD_AS_FAULTY))
    nodes = forest.walked(at_first(LAMP), seen, 1.0, policies)
    one, *others = policies
    for other in others:
        apart = [
            entry.chance * (entry.nodes[one].value - entry.nodes[other].value)
            for entry in forest.partings
            if {one, other} <= entry.nodes.keys() and entry.nodes[one].doing != entry.nodes[other].doing
        ]
        assert sum(apart) == pytest.approx(nodes[one].value - nodes[other].value)


def test_worlds_carried_on_are_those_found_anew():
    gamepad = load_classes()["gamepad"]
    network = network_of(gamepad, known_faulty=SOLD_AS_FAULTY)
    functions = [check.id for check in gamepad.checks if check.function and not check.gate]
    fault = next(iter(gamepad.check(functions[0]).fails))
    events = (
        Answered(functions[0], "bad"),
        Answered(functions[0], "bad"),
        Repaired((fault,)),
        Answered(functions[0], "bad"),
        Answered(functions[1], "good"),
        Repaired((fault,)),
        Answered(functions[0], "good"),
    )
    seen = following.at_the_start(network)
    for count in range(1, len(events) + 1):
        if isinstance(events[count - 1], Answered):
            chance = following.bad_chance(seen, events[count - 1].check)
            fresh = worlds(network, events[: count - 1], 1e-6)
            assert chance == pytest.approx(float(fresh.weight @ fresh.bad_chance(events[count - 1].check)), abs=0.01)
        seen = following.carried_on(seen, events[:count])
    anew = worlds(network, events, 1e-6)
    assert seen.weight @ seen.present == pytest.approx(anew.weight @ anew.present, abs=0.01)
