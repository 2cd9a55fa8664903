"""What a missing tool, a signal followed and a second look are worth, against slow sums over the worlds."""

from itertools import pairwise

import msgspec
import numpy as np
import pytest

from triage.device_classes.loader import load_classes
from triage.diagnosis import Answered, Situation, replay, worlds_in
from triage.locks import Locked, Means, UnitState, locked_checks, may_look_again, record_of
from triage.network import network_of
from triage.other_ways import Stretch, Ways
from triage.outlook import heaviest, outlook
from triage.path_evidence import shows_between
from triage.payoffs import Menu
from triage.plans import case_of
from triage.repair_orders import plans_for
from triage.worth import worth_of

CLASSES = load_classes()


def laid_out(name, *events, rate=5.0, tools=("screwdriver", "iron", "meter")):
    device_class = CLASSES[name]
    cleared = frozenset(hazard.id for hazard in device_class.hazards)
    state = UnitState(events=events, cleared=cleared)
    case = case_of(device_class, worth_of(device_class), rate=rate, state=state, means=Means(frozenset(tools)))
    network = network_of(device_class, known_faulty=0.9)
    seen = worlds_in(Situation(network, replay(network, list(events))), 1e-3, at_most=2000)
    return case, seen, locked_checks(device_class, state, case.means, case.record)


def money_by_world(case, seen):
    """float64[plans, worlds], each world by itself."""
    plans = plans_for(case, seen)
    payoffs = Menu(case, seen, plans).payoffs(case_open=case.state.case_open)
    return payoffs.expected(np.eye(len(seen.weight))).T


@pytest.mark.parametrize("name", ["turntable", "cassette_player"])
def test_a_signal_that_never_errs_is_worth_the_best_branch_in_each_stretch(name):
    case, seen, locked = laid_out(name)
    path = case.device_class.paths[0]
    stretches = [Stretch(dict.fromkeys(faults, 1.0), 0.0) for faults in path.between]
    view = heaviest(seen)
    money = money_by_world(case, view)
    by_stretch = {}
    for world, present in enumerate(view.present):
        there = {fault for fault, here in zip(view.faults, present, strict=True) if here}
        first = next((place for place, faults in enumerate(path.between) if there & set(faults)), None)
        by_stretch.setdefault(first, np.zeros(len(money)))
        by_stretch[first] += view.weight[world] * money[:, world]
    best = sum(values.max() for values in by_stretch.values())
    now = (money @ view.weight).max()
    assert len(by_stretch) > 2
    assert Ways(case, seen, locked).gain_of_following(stretches, 7.0) == pytest.approx(
        best - now - 7.0 * case.rate, abs=1e-6
    )


def test_a_signal_that_errs_is_worth_less_and_one_that_tells_nothing_costs_its_minutes():
    case, seen, locked = laid_out("turntable", rate=0.0)
    path = case.device_class.paths[0]
    sure = [Stretch(dict.fromkeys(faults, 1.0), 0.0) for faults in path.between]
    real = [
        Stretch(*shows_between(case.device_class, path, first, last))
        for first, last in pairwise(range(-1, len(path.points)))
    ]
    ways = Ways(case, seen, locked)
    assert 0.0 < ways.gain_of_following(real[1:], 0.0) < ways.gain_of_following(sure, 0.0)
    dear = Ways(msgspec.structs.replace(case, rate=3.0), seen, locked)
    assert dear.gain_of_following([Stretch({}, 0.0)], 4.0) == pytest.approx(-12.0)


@pytest.mark.parametrize("name", sorted(CLASSES))
def test_the_tool_is_the_one_whose_look_would_gain_most_alone(name):
    case, seen, locked = laid_out(name, rate=1.0)
    found = Ways(case, seen, locked).best_tool()
    waiting = {entry.check for entry in locked if entry.kind == "tool"}
    if found is None:
        assert not any(not case.device_class.check(check).gate for check in waiting)
        return
    functions = {check.id for check in case.functions}  # their minutes come back when a test need not be done again
    alone = {}
    for check in waiting - functions:
        tools = case.means.tools | set(case.device_class.check(check).tools)
        owner = msgspec.structs.replace(case, means=Means(frozenset(tools)))
        owned = locked_checks(owner.device_class, owner.state, owner.means, owner.record)
        ranked = outlook(owner, seen, owned, depth=0).of(check)
        if ranked is not None:
            alone[check] = ranked.net_gain
    assert found.check in waiting
    assert not set(found.tools) <= case.means.tools
    assert found.gain >= max(alone.values()) - 1e-6
    if found.check not in functions:
        assert found.gain == pytest.approx(max(alone.values()), abs=1e-6)


def test_a_function_read_bad_by_mistake_is_told_when_that_is_likelier_than_any_fault():
    bad = Answered("plays_outside", "bad")
    case, seen, locked = laid_out("portable_radio", Answered("pop", "good"), bad)
    assert [check.id for check in may_look_again(case.device_class, case.record)] == ["plays_outside"]
    assert Ways(case, seen, locked).false_alarm() is None  # its faults are likelier
    cleared = [Answered(name, "good") for name in ("pop", "vol_sweep", "band_work", "aerial_look")]
    more = [Answered(name, "good") for name in ("adaptor_load", "power_work")]
    case, seen, locked = laid_out("portable_radio", *cleared[:2], bad, *cleared[2:], *more)
    doubt = Ways(case, seen, locked).false_alarm()
    assert doubt is not None
    assert doubt.check == "plays_outside"
    linked = [fault in case.device_class.check("plays_outside").fails for fault in seen.faults]
    slow = sum(weight for weight, here in zip(seen.weight, seen.present[:, linked], strict=True) if not here.any())
    assert doubt.chance == pytest.approx(slow, abs=5e-3)
    assert doubt.chance > (seen.weight @ seen.present).max()


def test_a_function_is_looked_at_again_once_and_not_after_a_good_answer():
    radio = CLASSES["portable_radio"]
    name = "plays_outside"

    def again(*words):
        events = [Answered("pop", "good"), *(Answered(name, word) for word in words)]
        return [check.id for check in may_look_again(radio, record_of(radio, events))]

    assert again() == []
    assert again("good") == []
    assert again("bad") == [name]
    assert again("bad", "bad") == []
    assert again("bad", "good") == []


def test_where_no_function_can_be_tested_the_plans_are_those_of_the_advice():
    """A second try waits for a test that shows that the first one failed; here nothing would show it."""
    case, seen, _ = laid_out("turntable", rate=0.0)
    locked = [Locked(check.id, "no tool for it", "tool") for check in case.functions]
    paths = case.device_class.paths
    ends = pairwise(range(-1, len(paths[0].points)))
    stretches = [Stretch(*shows_between(case.device_class, paths[0], first, last)) for first, last in ends][:-1]
    ways = Ways(case, seen, locked)
    now = outlook(case, seen, locked, depth=0).now
    assert ways.now == pytest.approx(now)
    assert Ways(case, seen, ()).now > now + 1.0
    assert ways.gain_of_following(stretches, 0.0) > 0.0
    tool = ways.best_tool()
    assert tool is not None
    assert tool.gain > 0.0
