"""The next action: what is locked and why, the rules of the bench, and the money it brings on simulated units."""

import math
import random
from itertools import combinations, product

import msgspec
import pytest

from triage.branches import DonorPart
from triage.checks import next_action
from triage.device_classes.loader import load_classes
from triage.device_classes.schema import Check, DeviceClass, Fault, Function, Hazard, Part, Setup
from triage.diagnosis import Answered, Reading, Repaired, worlds
from triage.locks import ASSUMED_TOOLS, Means, UnitState, fixed_state, locked_checks, record_of
from triage.network import network_of
from triage.outlook import Ranked, heaviest, in_order, outlook, small_change
from triage.payoffs import Menu, Tries, passes
from triage.plans import Plan, case_of
from triage.repair_orders import plans_for
from triage.stand import best_cure_set, good_chance, stand
from triage.worth import repair_minutes, worth_of


def _fault(name, prior, minutes=10.0, **fields):
    return Fault(
        id=name, what=name, origin="M", minutes=minutes, skill=1, risk="L", prior=prior, **{"success": 0.9, **fields}
    )


def _check(name, fails, minutes=1.0, leak=0.02, state="closed", **fields):
    return Check(
        id=name,
        question="",
        good="yes",
        do="",
        origin="M",
        state=state,
        minutes=minutes,
        leak=leak,
        fails=fails,
        **fields,
    )


@pytest.fixture
def console():
    return DeviceClass(
        id="console",
        name="console",
        origin="M",
        working=80.0,
        as_is_ratio=0.25,
        part_out_ratio=0.3,
        open_minutes=6.0,
        mains=False,
        words=(),
        functions=(Function("power", "power"), Function("picture", "picture")),
        parts=(Part("switch", "switch", "listed", "M", 2.0), Part("socket", "socket", "listed", "M", 3.0)),
        faults=(
            _fault("S", 0.20, needs=("switch",), minutes=16.0, minutes_include_opening=True),
            _fault("R", 0.10, minutes=18.0, minutes_include_opening=True),
            _fault("V", 0.15, needs=("socket",), minutes=20.0, minutes_include_opening=True),
            _fault("C", 0.25, minutes=5.0),
        ),
        checks=(
            _check("led", {"S": 0.90, "R": 0.60}, powered=True, function="power"),
            _check("switch_ohms", {"S": 0.92}, leak=0.03, state="opened", tools=("meter",), minutes=3.0),
            _check("picture", {"V": 0.85}, leak=0.03, powered=True, gate=("led",), function="picture", setup="screen"),
            _check("boot", {"C": 0.80}, leak=0.04, powered=True, gate=("led",), function="picture", setup="screen"),
            _check("scope_look", {"R": 0.9}, state="opened", tools=("scope",)),
            _check("live_volts", {"R": 0.9}, powered=True, permission="live_mains"),
            _check("after_led", {"S": 0.5}, gate=("led failed",)),
        ),
        setups=(Setup("screen", "screen", 2.0, "M"),),
        hazards=(Hazard("bulge", "", "Swollen pack: set it aside.", ("powered", "opened"), ("pack removed",), ""),),
    )


def _next(device_class, *events, rate=20.0, worth=None, means=None, **state):
    state = UnitState(tuple(events), **state)
    seen = worlds(network_of(device_class, known_faulty=0.9), events, 1e-9)
    return next_action(device_class, seen, worth or worth_of(device_class), rate=rate, state=state, means=means)


def _payoffs(case, seen, plan):
    return Menu(case, seen, [plan]).payoffs(case_open=case.state.case_open)


def _whys(action):
    return {entry.check: entry.why for entry in action.locked}


# --- what is locked --------------------------------------------------------------------------------------------------


def test_what_is_not_offered_says_why(console):
    action = _next(console)
    whys = _whys(action)
    assert "scope" in whys["scope_look"]
    assert "live mains" in whys["live_volts"]
    assert whys["picture"] == "says nothing until led is good"
    assert whys["after_led"] == "says nothing until led is bad"
    assert {entry.check for entry in action.ranking} == {"led", "switch_ohms"}


def test_a_tool_a_training_and_an_answer_change_the_list(console):
    means = Means(frozenset(ASSUMED_TOOLS) | {"Scope"}, frozenset({"live_mains"}))
    whys = _whys(_next(console, Answered("led", "good"), means=means))
    assert set(whys) == {"led", "after_led"}
    assert whys["led"] == "answered already: good"


def test_a_hazard_locks_until_it_is_released(console):
    locked = _whys(_next(console, hazards=frozenset({"bulge"})))
    for check in ("led", "switch_ohms", "picture", "boot"):
        assert locked[check] == "Swollen pack: set it aside."
    released = {"bulge": frozenset({"pack removed"})}
    assert "led" not in _whys(_next(console, hazards=frozenset({"bulge"}), confirmed=released))


def test_a_mains_set_stays_shut_until_every_hazard_inside_is_answered(console):
    mains = msgspec.structs.replace(console, mains=True)
    assert "unplugged" in _whys(_next(mains))["switch_ohms"]
    assert "led" not in _whys(_next(mains))
    assert "switch_ohms" not in _whys(_next(mains, cleared=frozenset({"bulge"})))
    shut = _next(mains, Answered("led", "bad"), Answered("after_led", "bad"), rate=5.0)
    assert shut.action == "stop"
    assert shut.branch == "fix"
    assert "unplugged" in shut.reason


def test_an_answer_is_asked_again_only_when_something_changed(console):
    def whys(*events):
        return _whys(_next(console, *events))

    answers = (Answered("led", "good"), Answered("picture", "cant_tell"), Answered("boot", "not_tested"))
    assert whys(*answers)["picture"] == "you could not tell"
    assert whys(*answers)["boot"] == "put off"
    assert "picture" not in whys(*answers, Repaired(("V",)))
    opened = (Answered("led", "good"), Answered("switch_ohms", "good"), Repaired(("C",)))
    assert "switch_ohms" in whys(*opened)  # the repair did not touch what it looks at
    too_early = (Answered("picture", "good"), Answered("led", "good"))
    assert "picture" not in whys(*too_early)  # its gate was closed then


def test_what_does_not_apply_is_neither_asked_nor_needed(console):
    skipped = frozenset({"picture", "boot"})
    assert (
        _whys(_next(console, Answered("led", "good"), does_not_apply=skipped))["boot"] == "does not apply to this unit"
    )
    assert fixed_state(console, (Answered("led", "good"),), skipped).fixed


# --- fixed only when every function is good, after the last work -----------------------------------------------------

GOOD = (Answered("led", "good"), Answered("picture", "good"), Answered("boot", "good"))


def test_a_unit_reads_fixed_only_with_every_function_good_since_the_last_repair(console):
    assert fixed_state(console, GOOD).fixed
    assert fixed_state(console, GOOD[:2]).untested == ("picture",)
    assert fixed_state(console, (*GOOD, Repaired(("C",)))).untested == ("power", "picture")
    assert fixed_state(console, (*GOOD[:2], Answered("boot", "bad"))).failed == ("picture",)
    assert not fixed_state(console, (*GOOD, Answered("boot", "cant_tell"))).fixed
    assert not fixed_state(console, (Answered("picture", "good"), Answered("led", "good"), GOOD[2])).fixed
    assert fixed_state(console, (*GOOD[:2], Reading("boot", (0.1, 1.0), "good"))).fixed
    untestable = msgspec.structs.replace(console, checks=console.checks[1:2])
    assert not fixed_state(untestable, (Answered("switch_ohms", "good"),)).fixed


def test_a_cure_during_a_check_asks_for_the_functions_again(console):
    checks = (*console.checks, _check("wipe", {"C": 0.3}, cures=("C",)))
    cleaned = msgspec.structs.replace(console, checks=checks)
    assert not fixed_state(cleaned, (*GOOD, Answered("wipe", "good"))).fixed
    assert fixed_state(cleaned, (*GOOD, Answered("wipe", "not_tested"))).fixed


# --- the order of the bench ------------------------------------------------------------------------------------------


def test_a_switch_hides_the_socket_behind_it_and_each_repair_is_followed_by_its_retest(console):
    led_bad = (Answered("led", "bad"),)
    outside = _next(console, *led_bad, rate=1.0)  # brings as much as the ohms of the switch, with the case shut
    assert (outside.action, outside.check) == ("check", "after_led")
    seen = _next(console, *led_bad, Answered("after_led", "cant_tell"), rate=1.0)
    assert (seen.action, seen.check) == ("check", "led")  # a minute against a false alarm
    seen = _next(console, *led_bad, Answered("after_led", "cant_tell"), Answered("led", "bad"), rate=1.0)
    assert (seen.action, seen.check) == ("check", "switch_ohms")
    repair = (*led_bad, Answered("switch_ohms", "bad"))
    first = _next(console, *repair, rate=5.0, case_open=True)
    assert (first.action, first.faults, first.branch) == ("repair", ("S",), "fix")
    after = (*repair, Repaired(("S",)))
    assert _next(console, *after, rate=5.0, case_open=True).check == "led"
    lit = (*after, Answered("led", "good"))
    assert not fixed_state(console, lit).fixed
    assert _next(console, *lit, rate=20.0, case_open=True).check in {"picture", "boot"}
    dark = (*lit, Answered("boot", "good"), Answered("picture", "bad"))
    twice = _next(console, *dark, rate=5.0, case_open=True)
    assert (twice.action, twice.check) == ("check", "picture")
    assert twice.reason.startswith("once more, as one bad answer may be a false alarm: ")
    dark = (*dark, Answered("picture", "bad"))
    again = _next(console, *dark, rate=5.0, case_open=True)
    assert (again.action, again.faults) == ("repair", ("V",))
    assert _next(console, *dark, Repaired(("V",)), rate=5.0, case_open=True).check == "picture"
    done = _next(console, *dark, Repaired(("V",)), *GOOD, rate=5.0, case_open=True)
    assert (done.action, done.branch) == ("stop", "fix")
    hidden = 1.0 - (done.value - 2000) / (8000 - 2000)  # what still hides in it comes back and sells as faulty
    assert 0.0 < hidden < 0.05


def test_a_repair_that_did_not_help_twice_is_not_proposed_again(console):
    events = [Answered("led", "bad"), Answered("switch_ohms", "bad")]
    for _ in range(2):
        assert _next(console, *events, rate=1.0, case_open=True).faults == ("S",)
        events += [Repaired(("S",)), Answered("led", "bad"), Answered("switch_ohms", "bad")]
    assert "S" not in _next(console, *events, rate=1.0, case_open=True).faults
    assert record_of(console, events).attempts("S") == 2


def test_the_whole_function_test_comes_before_the_case_is_opened(console):
    # nothing points at picture or boot, but the switch is as good as found
    events = (Answered("led", "good"), Answered("switch_ohms", "bad"))
    action = _next(console, *events, rate=0.0, case_open=False)
    assert action.action == "check"
    assert action.check in {"picture", "boot"}


def test_stop_is_said_before_the_first_look_when_nothing_pays(console):
    action = _next(console, rate=2_000.0)
    assert action.action == "stop"
    assert action.branch == "as_is"
    assert action.value == pytest.approx(2000)
    assert action.reason == "no further check pays; best branch now is sell as it is, 20.00"
    assert all(entry.net_gain <= 0 for entry in action.ranking)


def test_free_time_looks_before_it_leaps(console):
    action = _next(console, rate=0.0)
    assert action.action == "check"
    assert action.net_gain > 0


def test_a_look_outside_goes_first_when_one_inside_earns_the_same(console):
    # the same look twice, once inside; time is free, so that both gain the same
    twin = _check("led_inside", {"S": 0.90, "R": 0.60}, state="opened")
    both = msgspec.structs.replace(console, checks=(twin, console.checks[0]), open_minutes=0.0)
    assert [entry.check for entry in _next(both, rate=0.0).ranking][:2] == ["led", "led_inside"]


def test_opening_is_paid_once(console):
    shut = {entry.check: entry for entry in _next(console).ranking}["switch_ohms"]
    open_case = {entry.check: entry for entry in _next(console, case_open=True).ranking}["switch_ohms"]
    assert (shut.minutes, open_case.minutes) == (9.0, 3.0)
    assert open_case.net_gain > shut.net_gain
    assert repair_minutes(console, ("S", "R"), case_open=False) == 6 + 10 + 12
    assert repair_minutes(console, ("S", "R", "C"), case_open=True) == 10 + 12 + 5


def test_a_failed_safety_step_keeps_it_unpowered(console):
    step = _check("insulation", {"R": 0.1}, money=False)
    tested = msgspec.structs.replace(console, checks=(*console.checks, step))
    assert "insulation" not in {entry.check for entry in _next(tested).ranking}
    assert _whys(_next(tested, Answered("insulation", "bad")))["led"] == "“insulation” read bad: do not power it"
    assert _next(tested, *GOOD).check == "insulation"  # before it is sold


# --- the sums of a unit ----------------------------------------------------------------------------------------------


def test_the_fix_sum_is_the_sum_over_fault_sets(console):
    events = (Answered("led", "bad"),)
    seen = worlds(network_of(console, known_faulty=0.9), events, 0.0)
    case = case_of(console, worth_of(console), rate=20.0, state=UnitState(events))
    chance, passes = 0.0, math.prod(1 - stays_bad(console.check(name)) for name in ("picture", "boot"))
    for weight, row in zip(seen.weight, seen.present, strict=True):
        there = {fault for fault, present in zip(seen.faults, row, strict=True) if present}
        if there <= {"S", "C"}:
            behind = there & {"S", "R"}  # where neither is there, only one look is left
            led = stays_bad(console.check("led"), behind, 2 if behind else 1, said_bad=True)
            chance += weight * 0.9 ** len(there) * (1 - led) * passes
    assert chance_after(case, seen, ("S", "C")) == pytest.approx(chance)
    fix = case.fix_of(("S", "C"), chance)
    assert fix.parts == 200
    # repairs, opening once, then light and start; where they are good the picture and setting up its screen
    assert fix.minutes == pytest.approx(16 + 5 + (1 + 1) + chance * (1 + 2))


def test_the_best_cure_set_against_every_set(console):
    for rate in (0.0, 5.0, 20.0, 60.0):
        events = (Answered("led", "bad"), Answered("switch_ohms", "bad"))
        seen = worlds(network_of(console, known_faulty=0.9), events, 0.0)
        case = case_of(console, worth_of(console), rate=rate, state=UnitState(events, case_open=True))
        sets = [pick for size in range(5) for pick in combinations(("S", "R", "V", "C"), size)]
        sums = {pick: stand_value(case, seen, pick) for pick in sets}
        cures, chance = best_cure_set(case, seen)
        assert sums[cures] == pytest.approx(max(sums.values()))
        assert chance == pytest.approx(chance_after(case, seen, cures) if cures else chance)
        assert stand(case, seen).sum_of("fix").value == pytest.approx(max(sums.values()))


def stays_bad(check, there=(), times=2, *, said_bad=False):
    """Chance of so many bad answers in a row once the faults that are there are cured, by going through what is hidden.

    What makes it bad lasts (a leak, or a fault that shows, each answer turned over with chance `flip`) or is drawn anew
    for each answer. With `said_bad` it was answered bad once while they were there.
    """
    shows = 1.0 - math.prod(1.0 - check.fails.get(fault, 0.0) for fault in there)
    lasts = {True: 0.0, False: 0.0}
    for leak, shown in product((True, False), repeat=2):
        chance = (check.leak if leak else 1.0 - check.leak) * (shows if shown else 1.0 - shows)
        if said_bad:
            chance *= 1.0 - check.flip if leak or shown else check.flip
        lasts[leak] += chance
    before = 1.0 - (1.0 - check.leak) * (1.0 - shows) if said_bad else 1.0
    bad = lasts[True] * (1.0 - check.flip) ** times + lasts[False] * check.flip**times
    anew = before * check.leak**times
    said = check.persistence * sum(lasts.values()) + (1.0 - check.persistence) * before
    return (check.persistence * bad + (1.0 - check.persistence) * anew) / said


def chance_after(case, seen, cures):
    tries = Tries(case, seen.faults, [(cures,)])
    return float(seen.weight @ tries.of(tries.cured(seen, passes(case, seen)))[:, 0])


def stand_value(case, seen, cures):
    fix = case.fix_of(cures, chance_after(case, seen, cures))
    return fix.success * fix.net_working + (1 - fix.success) * fix.net_failed - fix.parts - case.rate * fix.minutes


def test_a_fault_without_a_cure_is_in_no_cure_set(console):
    dead = tuple(msgspec.structs.replace(f, repairable=f.id != "S", success=f.success) for f in console.faults)
    hopeless = msgspec.structs.replace(console, faults=dead)
    events = (Answered("led", "bad"), Answered("switch_ohms", "bad"))
    seen = worlds(network_of(hopeless, known_faulty=0.9), events, 0.0)
    case = case_of(hopeless, worth_of(hopeless), rate=20.0, state=UnitState(events))
    assert "S" not in best_cure_set(case, seen)[0]
    assert all("S" not in cures for plan in plans_for(case, seen) for cures in plan.tries)
    assert stand(case, seen).best == "as_is"


def test_a_donor_part_is_good_unless_a_fault_that_needs_it_is_there(console):
    seen = worlds(network_of(console), (Answered("led", "bad"),), 0.0)
    gone = float(seen.weight @ seen.present[:, 0])
    assert good_chance(console, seen, "switch") == pytest.approx(1 - gone)
    worth = msgspec.structs.replace(worth_of(console), parts=(DonorPart("switch", 500.0, 0.5, 4.0),))
    case = case_of(console, worth, rate=10.0)
    assert stand(case, seen).sum_of("part_out").value == pytest.approx(500 * 0.5 * (1 - gone) - 40)
    ahead = _payoffs(case, seen, Plan("part_out"))
    assert float(ahead.expected(seen.weight)[0]) == pytest.approx(500 * 0.5 * (1 - gone) - 40)


def test_a_second_try_is_paid_only_when_the_first_did_not_help(console):
    seen = worlds(network_of(console, known_faulty=0.9), (), 0.0)
    case = case_of(console, worth_of(console), rate=20.0)
    plan = Plan("fix", (("S",), ("C",)))
    value = float(_payoffs(case, seen, plan).expected(seen.weight)[0])
    rows = {
        "".join(f for f, p in zip(seen.faults, row, strict=True) if p): w
        for w, row in zip(seen.weight, seen.present, strict=True)
    }
    first = rows.get("", 0) + 0.9 * rows["S"]
    second = rows.get("", 0) + 0.9 * rows["S"] + 0.9 * rows["C"] + 0.81 * rows["SC"]
    passes = math.prod(1 - stays_bad(console.check(name)) for name in ("led", "picture", "boot"))
    first, second = first * passes, second * passes
    # a minute shows whether the light is on (or the game starts); the four others of the test only where that is good
    costs = 200 + 20 * (16 + 1 + 4 * first) + 20 * ((1 - first) * (5 + 1) + (second - first) * 4)
    assert value == pytest.approx(second * 8000 + (1 - second) * 2000 - costs)


def test_the_heaviest_worlds_stand_for_all(console):
    seen = worlds(network_of(console, known_faulty=0.9), (Answered("led", "bad"),), 0.0)
    view = heaviest(seen, 5)
    assert view.weight.sum() == pytest.approx(1.0)
    assert view.weight.min() * sum(sorted(seen.weight)[-5:]) >= max(sorted(seen.weight)[:-5]) - 1e-12
    assert view.bad_chance("boot").shape == (5,)


def test_deeper_looking_never_expects_less(console):
    seen = worlds(network_of(console, known_faulty=0.9), (), 1e-9)
    case = case_of(console, worth_of(console), rate=5.0)
    locked = locked_checks(console, case.state, case.means)
    best = [max(entry.net_gain for entry in outlook(case, seen, locked, depth).ranking) for depth in (1, 2, 4)]
    assert best == sorted(best)


def test_looks_that_make_room_for_others_never_lower_what_is_expected(monkeypatch):
    best = []
    for often in (1, 2, 3):
        monkeypatch.setattr("triage.outlook.PASSES", often)
        gains = []
        for device_class in (load_classes()[name] for name in ("cassette_player", "radio_cassette", "small_amp")):
            seen = worlds(network_of(device_class, known_faulty=0.9), (), 1e-3)
            state = UnitState(cleared=frozenset(hazard.id for hazard in device_class.hazards))
            case = case_of(device_class, worth_of(device_class), rate=20.0, state=state)
            gains.append(outlook(case, seen, locked_checks(device_class, state, case.means)).ranking[0].net_gain)
        best.append(gains)
    assert all(more >= fewer for fewer, more in zip(best[0] + best[1], best[1] + best[2], strict=True))
    assert sum(best[-1]) > sum(best[0])


def test_what_reads_fixed_is_looked_at_further_while_that_pays_and_is_not_repaired_by_hunch(console):
    checks = (*console.checks, _check("cart_look", {"C": 0.95}))
    hidden = msgspec.structs.replace(console, checks=checks)

    def to_the_end(*events):
        while (action := _next(hidden, *events, rate=1.0)).action == "check":
            events = (*events, Answered(action.check, "good"))
        return action

    seen = _next(hidden, *GOOD, rate=1.0)
    assert (seen.action, seen.check) == ("check", "cart_look")
    assert fixed_state(hidden, GOOD).fixed
    clean, found = to_the_end(*GOOD), to_the_end(*GOOD, Answered("cart_look", "bad"))
    assert (clean.action, clean.branch) == ("stop", "fix")
    assert (found.action, found.faults) == ("repair", ("C",))
    assert found.value < clean.value < 8000


def test_a_safety_step_that_is_due_is_counted_with_the_first_look_under_power(console):
    step = _check("insulation", {"R": 0.1}, minutes=3.0, money=False)
    mains = msgspec.structs.replace(console, mains=True, checks=(*console.checks, step))
    cleared = frozenset({"bulge"})

    def gain(*events):
        ranking = {entry.check: entry.net_gain for entry in _next(mains, *events, cleared=cleared).ranking}
        return ranking["led"]

    plain = msgspec.structs.replace(mains, checks=(*console.checks, msgspec.structs.replace(step, tools=("tester",))))
    without = {entry.check: entry.net_gain for entry in _next(plain, cleared=cleared).ranking}["led"]
    assert gain() < without
    assert gain(Answered("insulation", "good")) > gain()


def test_the_money_unit_does_not_matter(console):
    events = (Answered("led", "bad"),)
    seen = worlds(network_of(console, known_faulty=0.9), events, 1e-9)
    state = UnitState(events)
    cents = next_action(console, seen, worth_of(console), rate=5.0, state=state)
    whole = next_action(console, seen, worth_of(console, minor=1), rate=0.05, state=state)
    assert (cents.action, cents.check, cents.faults) == (whole.action, whole.check, whole.faults)
    assert cents.net_gain == pytest.approx(100 * whole.net_gain)


# --- after a repair --------------------------------------------------------------------------------------------------


def _is_retest(action):
    return action.action == "check" and action.reason.startswith("retest after the repair")


@pytest.mark.parametrize("class_id", sorted(load_classes()))
def test_after_a_repair_the_retest_comes_first_whatever_was_seen_before(class_id):
    device_class = load_classes()[class_id]
    worth = worth_of(device_class, working=30000.0, as_is=2000.0, part_out=500.0)
    cleared = frozenset(hazard.id for hazard in device_class.hazards)
    bad = [Answered(check.id, "bad") for check in device_class.checks if check.function and not check.gate]
    faults = [fault.id for fault in device_class.faults if fault.repairable]
    for fault in faults[:: max(1, len(faults) // 2)]:
        for events in ((), tuple(bad[:1])):
            state = UnitState((*events, Repaired((fault,))), cleared=cleared)
            seen = worlds(network_of(device_class, known_faulty=0.9), state.events, 1e-3, at_most=500)
            action = next_action(device_class, seen, worth, rate=20.0, state=state)
            assert _is_retest(action), (fault, events, action.reason)


def test_a_gate_that_an_old_answer_keeps_shut_is_looked_at_again_first(console):
    seen = (Answered("led", "bad"), Answered("switch_ohms", "good"), Repaired(("V",)))
    action = _next(console, *seen)
    assert _is_retest(action)
    assert action.check == "led"
    assert _next(console, *seen, Answered("led", "good")).check == "picture"
    again = _next(console, *seen, Answered("led", "bad"))
    assert not _is_retest(again)


def test_repairs_without_a_look_between_are_tested_together(console):
    seen = (Answered("led", "good"), Answered("picture", "bad"), Answered("boot", "bad"))
    action = _next(console, *seen, Repaired(("V",)), Repaired(("C",)), Answered("boot", "good"))
    assert _is_retest(action)
    assert action.check == "picture"


def test_a_retest_that_a_hazard_holds_back_says_what_lifts_it(console):
    action = _next(console, Answered("led", "bad"), Repaired(("S",)), hazards=frozenset({"bulge"}), case_open=True)
    assert action.action == "stop"
    assert action.reason == "retest after the repair, before anything else, but first: pack removed"


def test_a_repair_that_opens_nothing_is_held_by_what_locks_the_inside_too(console):
    seen = (Answered("led", "good"), Answered("boot", "bad"), Answered("picture", "good"))
    assert _next(console, *seen).faults == ("C",)
    held = _next(console, *seen, hazards=frozenset({"bulge"}))
    assert held.action == "stop"
    assert held.reason.endswith("but first: pack removed")


def test_a_function_that_reads_bad_is_not_tested_until_it_happens_to_read_good():
    """A disc player that is worth little: once its sound reads bad twice in a row, it does not work as it is."""
    device_class = load_classes()["disc_music_player"]
    worth = worth_of(device_class, working=2400.0, as_is=1200.0, part_out=900.0)
    worth = msgspec.structs.replace(worth, list_minutes=10.0, returns=50.0, strip_minutes=20.0)
    good = ("alive", "display_look", "buttons", "tray", "contents", "inner_outer", "knock")
    seen = (*(Answered(name, "good") for name in good), *[Answered("sound", "bad")] * 2)
    action = _next(device_class, *seen, worth=worth, cleared=frozenset(h.id for h in device_class.hazards))
    assert action.check != "sound"
    case = case_of(device_class, worth, rate=20.0, state=UnitState(seen))
    view = heaviest(worlds(network_of(device_class, known_faulty=0.9), seen, 1e-3))
    tries = Tries(case, view.faults, [(), ((),), (("out_mute",),)])
    cured = tries.of(tries.cured(view, passes(case, view)))
    assert cured.max(axis=0)[:2].tolist() == [0.0, 0.0]
    assert (view.weight @ cured)[2] > 0.3


# --- looks that are worth the same -----------------------------------------------------------------------------------


def test_looks_of_equal_gain_come_cheap_and_harmless_first_whatever_the_dust(console):
    case = case_of(console, worth_of(console), rate=20.0)
    names = ("picture", "led", "switch_ohms", "after_led", "boot")
    minutes = {"picture": 3.0, "led": 1.0, "switch_ohms": 9.0, "after_led": 1.0, "boot": 1.0}
    half = 0.5 * small_change(case)  # the edge of a rounding
    for seed in range(20):
        noise = random.Random(seed)
        ranked = [
            Ranked(name, half + noise.uniform(-1e-9, 1e-9), minutes[name], half / minutes[name]) for name in names
        ]
        noise.shuffle(ranked)
        got = [entry.check for entry in in_order(case, [*ranked, Ranked("live_volts", 80.0, 9.0, 8.9)])]
        assert got == ["live_volts", "after_led", "led", "boot", "picture", "switch_ohms"]


def test_two_looks_alike_come_in_the_order_of_the_class(console):
    (led,) = (check for check in console.checks if check.id == "led")
    for names in (("a", "b", "c"), ("c", "b", "a")):
        twins = tuple(msgspec.structs.replace(led, id=name, function="") for name in names)
        held = msgspec.structs.replace(console, checks=(led, *twins))
        assert [entry.check for entry in _next(held).ranking if entry.check != "led"] == list(names)
