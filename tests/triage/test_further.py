"""Before a unit is given up, looks that all but pay are followed one answer further."""

import msgspec
import pytest

from triage.device_classes.loader import load_classes
from triage.diagnosis import Answered, Repaired, posterior, worlds
from triage.further import ALL_BUT, FOLLOWED, advised
from triage.locks import Means, UnitState, locked_checks
from triage.network import network_of
from triage.outlook import outlook, small_change
from triage.person import ALL_TOOLS
from triage.plans import case_of
from triage.worth import worth_of

CLASSES = load_classes()
MEANS = Means(frozenset(ALL_TOOLS))


def situation(class_id, *events, rate=20.0, **state):
    device_class = CLASSES[class_id]
    state = UnitState(tuple(events), cleared=frozenset(hazard.id for hazard in device_class.hazards), **state)
    case = case_of(device_class, worth_of(device_class), rate=rate, state=state, means=MEANS)
    seen = worlds(network_of(device_class, known_faulty=0.9), events, 1e-6)
    return case, seen, locked_checks(device_class, state, MEANS, case.record)


def best_of(case, seen):
    view = outlook(case, seen, locked_checks(case.device_class, case.state, case.means, case.record))
    return max(view.now, view.now + view.ranking[0].net_gain if view.ranking else view.now)


def followed_by_hand(case, check):
    """The gain of a look from worlds found anew after each answer, its safety steps done before it."""
    device_class, state = case.device_class, case.state
    network = network_of(device_class, known_faulty=0.9)
    steps = case.safety_steps if check.powered and device_class.mains and case.safety_due else ()
    minutes = check.minutes + sum(step.minutes for step in steps)
    minutes += device_class.open_minutes if check.state == "opened" and not state.case_open else 0.0
    minutes += sum(s.minutes for s in device_class.setups if s.id == check.setup and s.id not in state.setups)
    before = worlds(network, state.events, 1e-6)
    bad = float(before.weight @ before.bad_chance(check.id))
    total = 0.0
    for answer, chance in (("good", 1.0 - bad), ("bad", bad)):
        events = (*state.events, Answered(check.id, answer))
        then = msgspec.structs.replace(
            state,
            events=(*state.events, *[Answered(step.id, "good") for step in steps], events[-1]),
            case_open=state.case_open or check.state == "opened",
            setups=state.setups | {check.setup} - {""},
        )
        after = case_of(device_class, case.worth, rate=case.rate, state=then, means=MEANS)
        total += chance * best_of(after, worlds(network, events, 1e-6))
    return total - case.rate * minutes


@pytest.mark.parametrize(
    ("class_id", "events", "check_id"),
    [
        ("handheld", (), "cells_run"),
        ("turntable", (Answered("platter", "bad"),), "platter"),
        ("disc_console", (Answered("power_on", "bad"), Answered("known_lead", "good")), "spindle_turn"),
        ("cassette_player", (Answered("motor_runs", "bad"), Repaired(("belt",))), "motor_runs"),
        ("cassette_player", (Answered("motor_runs", "bad"),), "contacts_look"),
    ],
)
@pytest.mark.parametrize("answer", ["good", "bad"])
def test_worlds_carried_on_by_an_answer_are_those_found_anew(class_id, events, check_id, answer):
    network = network_of(CLASSES[class_id], known_faulty=0.9)
    check = CLASSES[class_id].check(check_id)
    more = (*events, Answered(check.id, answer))
    carried = worlds(network, events, 0.0).answered(more)
    fresh = posterior(network, more)
    chance = dict(zip(carried.faults, carried.weight @ carried.present, strict=True))
    assert carried.weight.sum() == pytest.approx(1.0, abs=1e-12)
    assert chance == pytest.approx(fresh.present, abs=1e-9)
    again = worlds(network, more, 0.0)
    assert carried.weight @ carried.bad_chance(check.id) == pytest.approx(again.weight @ again.bad_chance(check.id))


@pytest.mark.parametrize("event", [Repaired(("belt",)), Answered("wind", "cant_tell")])
def test_only_a_good_or_a_bad_answer_carries_worlds_on(event):
    seen = worlds(network_of(CLASSES["cassette_player"]), (), 1e-3)
    with pytest.raises(TypeError, match="a good or a bad answer"):
        seen.answered((event,))


def test_a_radio_with_tape_is_not_given_up_before_the_first_look():
    """The look-ahead alone would sell it at once, a few cents better than any look; with what comes after it pays."""
    case, seen, locked = situation("radio_cassette")
    plain, found = outlook(case, seen, locked), advised(case, seen, locked)
    assert plain.ranking[0].net_gain < 0.0 < small_change(case) < found.ranking[0].net_gain
    assert found.alone <= 0.0
    assert found.now == plain.now


@pytest.mark.parametrize(
    ("class_id", "events"),
    [
        ("radio_cassette", ()),
        ("cassette_player", (Answered("motor_runs", "good"), Answered("wind", "bad"))),
    ],
)
def test_a_look_gains_what_both_its_answers_bring_when_all_is_worked_out_anew(class_id, events):
    setups = frozenset(CLASSES[class_id].check(event.check).setup for event in events) - {""}
    case, seen, locked = situation(class_id, *events, setups=setups)
    plain, found = outlook(case, seen, locked), advised(case, seen, locked)
    near = [e for e in plain.ranking[:FOLLOWED] if e.net_gain > -ALL_BUT * small_change(case)]
    checks = {entry.check: case.device_class.check(entry.check) for entry in near}
    by_hand = {
        name: max(plain.of(name).net_gain, followed_by_hand(case, check) - plain.now) for name, check in checks.items()
    }
    assert max(by_hand.values()) > small_change(case)
    assert {name: found.of(name).net_gain for name in by_hand} == pytest.approx(by_hand, abs=0.1)


@pytest.mark.parametrize("rate", [0.0, 5.0, 20.0])
@pytest.mark.parametrize("class_id", CLASSES)
def test_thinking_further_never_lowers_a_gain_and_leaves_what_pays_alone(class_id, rate):
    case, seen, locked = situation(class_id, rate=rate)
    plain, found = outlook(case, seen, locked), advised(case, seen, locked)
    assert {e.check for e in found.ranking} == {e.check for e in plain.ranking}
    assert all(found.of(e.check).net_gain >= e.net_gain for e in plain.ranking)
    if plain.ranking and plain.ranking[0].net_gain > small_change(case):
        assert found == plain
    if found != plain:
        assert found.ranking[0].net_gain > small_change(case)
