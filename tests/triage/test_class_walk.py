"""Every built-in class, walked fault by fault: what is wrong can be reached, cured, priced, said, and hurts nobody."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import msgspec
import pytest

from catalog.spec import KINDS
from triage.actions import looks, lots, settings, unit_view, units
from triage.actions.unit_view import UnitView
from triage.bench_file import BenchFile
from triage.device_classes.loader import load_classes
from triage.device_classes.schema import Check, DeviceClass, Lock
from triage.diagnosis import Answered
from triage.locks import Means, UnitState, locked_checks, unasked
from triage.matching import match_class, match_symptoms
from triage.person import ALL_TOOLS
from triage.typed_lines import parse_units

CLASSES = load_classes()
TODAY = date(2026, 12, 1)
EVERYTHING = Means(frozenset(ALL_TOOLS), frozenset({"live_mains", "tube"}))
UNTRAINED = Means(frozenset(ALL_TOOLS))
SPEAKS = 0.3
"""A check speaks to a fault that it shows at least this often."""
SHOWN = 0.4
"""A fault can be found when some check shows it this often, gates included."""
LIKELY = 0.5
MOST_STEPS = 60


@pytest.fixture(params=sorted(CLASSES))
def each(request: pytest.FixtureRequest) -> DeviceClass:
    return CLASSES[request.param]


def _good(check: Check, fault: str) -> float:
    return (1 - check.leak) * (1 - check.fails.get(fault, 0.0))


def _reached(each: DeviceClass, check: Check, fault: str) -> float:
    """Chance that every answer that the check waits for is given when this fault alone is there."""
    chance = 1.0
    for gate in check.gate:
        name, _, failed = gate.partition(" ")
        before = each.check(name)
        good = _good(before, fault)
        chance *= (1 - good if failed else good) * _reached(each, before, fault)
    return chance


# ---- faults, checks, parts


def test_there_are_ten_classes() -> None:
    assert sorted(CLASSES) == [
        "cart_console",
        "cassette_player",
        "disc_console",
        "disc_music_player",
        "gamepad",
        "handheld",
        "portable_radio",
        "radio_cassette",
        "small_amp",
        "turntable",
    ]


def test_every_fault_is_shown_by_a_check_that_can_be_reached(each: DeviceClass) -> None:
    for fault in each.faults:
        shown = max(check.fails.get(fault.id, 0.0) * _reached(each, check, fault.id) for check in each.checks)
        assert shown > SHOWN, fault.id


def test_no_gate_hides_the_fault_its_check_is_for(each: DeviceClass) -> None:
    for fault in each.faults:
        speaking = [check for check in each.checks if check.fails.get(fault.id, 0.0) >= SPEAKS]
        assert max(_reached(each, check, fault.id) for check in speaking) > LIKELY, fault.id
        meant = [check for check in speaking if check.fails[fault.id] >= 0.6]
        assert all(_reached(each, check, fault.id) > 0.2 for check in meant), fault.id


def test_every_gate_can_open_on_a_unit_with_some_fault(each: DeviceClass) -> None:
    for check in each.checks:
        assert max(_reached(each, check, fault.id) for fault in each.faults) > LIKELY, check.id


def test_every_need_has_its_part_and_every_part_its_fault(each: DeviceClass) -> None:
    known = {part.id for part in each.parts}
    needed = {need for fault in each.faults for need in fault.needs}
    assert needed == known
    assert all(part.kind in KINDS for part in each.parts)
    assert all(fault.repairable or not fault.needs for fault in each.faults)
    assert all(part.typical_cost > 0 for part in each.parts)
    assert all(part.harvest_minutes > 0 for part in each.parts if part.resale and part.kind not in {"psu", "listed"})


def test_every_number_has_an_origin(each: DeviceClass) -> None:
    counted = 0
    for struct, origin in _tables(each, ""):
        fields = [name for name in struct.__struct_fields__ if _states_number(getattr(struct, name))]
        stated = getattr(struct, "origins", {})
        for name in fields:
            counted += 1
            assert stated.get(name, origin) in {"R", "G", "C", "M"}, (struct, name)
        assert all(other != origin for other in stated.values())
    assert counted > 200


def _tables(struct: msgspec.Struct, above: str) -> Iterator[tuple[msgspec.Struct, str]]:
    """Every table of the class with its default origin, or the one of the table it lies in."""
    origin = getattr(struct, "origin", above)
    yield struct, origin
    for name in struct.__struct_fields__:
        value = getattr(struct, name)
        for inner in value if isinstance(value, tuple) else (value,):
            if isinstance(inner, msgspec.Struct):
                yield from _tables(inner, origin if not isinstance(struct, DeviceClass) else "")


def _states_number(value: object) -> bool:
    if isinstance(value, dict):
        return any(_states_number(inner) for inner in value.values())
    return isinstance(value, int | float) and not isinstance(value, bool)


# ---- what can hurt


def _offered(each: DeviceClass, state: UnitState, means: Means) -> set[str]:
    """Checks that no safety, training or tool holds back; gates and answers are another matter."""
    held = {entry.check for entry in locked_checks(each, state, means) if entry.kind in {"safety", "training", "tool"}}
    return {check.id for check in each.checks} - held


def _all_no(each: DeviceClass) -> frozenset[str]:
    return frozenset(hazard.id for hazard in each.hazards)


def test_a_hazard_answered_yes_holds_back_all_that_it_locks(each: DeviceClass) -> None:
    for hazard in each.hazards:
        state = UnitState(hazards=frozenset({hazard.id}), cleared=_all_no(each) - {hazard.id}, case_open=True)
        offered = _offered(each, state, EVERYTHING)
        locked = {check.id for check in each.checks if check.held_by() & set(hazard.locks)}
        assert not offered & locked, hazard.id
        assert locked or hazard.locks == ("posting",)


def test_nothing_locked_is_looked_at_before_its_hazard_is_asked(each: DeviceClass) -> None:
    for hazard in each.hazards:
        state = UnitState(cleared=_all_no(each) - {hazard.id}, case_open=True)
        for lock in hazard.locks:
            asked = unasked(each, state, frozenset({lock}))
            assert [question.id for question in asked] == [hazard.id]


def test_a_mains_set_stays_shut_until_every_hazard_that_locks_opening_is_answered(each: DeviceClass) -> None:
    opening: Lock = "opened"
    inside = {check.id for check in each.checks if check.state == "opened"}
    keepers = {hazard.id for hazard in each.hazards if opening in hazard.locks}
    if not each.mains:
        assert all(check.permission is None for check in each.checks)
        return
    assert {"mains_inside", "stored_charge"} <= keepers
    for keeper in keepers:
        state = UnitState(cleared=_all_no(each) - {keeper}, case_open=True)
        assert not _offered(each, state, EVERYTHING) & inside
    assert _offered(each, UnitState(cleared=_all_no(each), case_open=True), EVERYTHING) >= inside
    (stored,) = [hazard for hazard in each.hazards if hazard.id == "stored_charge"]
    assert stored.expires == "powered"


def test_live_work_is_never_offered_without_training(each: DeviceClass) -> None:
    live = {check.id for check in each.checks if check.permission}
    opened = UnitState(cleared=_all_no(each), case_open=True)
    assert not _offered(each, opened, UNTRAINED) & live
    assert _offered(each, opened, EVERYTHING) >= live
    for lock in locked_checks(each, opened, UNTRAINED):
        assert lock.kind == "training" if lock.check in live else lock.kind != "training"


def test_a_failed_safety_step_keeps_the_power_off(each: DeviceClass) -> None:
    powered = {check.id for check in each.checks if check.powered}
    for check in each.checks:
        if not check.money:
            failed = UnitState(events=(Answered(check.id, "bad"),), cleared=_all_no(each), case_open=True)
            assert not check.powered
            assert not _offered(each, failed, EVERYTHING) & powered


# ---- what people type


def test_every_name_of_a_class_finds_it_and_no_other(each: DeviceClass) -> None:
    for words in [*each.words, each.name.lower()]:
        for typed in (words, f"{words}s", words.upper(), f"old {words}"):
            found = match_class(typed, CLASSES)
            assert (found.class_id, found.doubt) == (each.id, ()), typed


def test_every_word_for_a_symptom_finds_it(each: DeviceClass) -> None:
    for symptom in each.symptoms:
        assert len(symptom.words) >= 2, symptom.id
        for phrase in symptom.words:
            assert symptom.id in match_symptoms(phrase, each).symptoms, phrase
            (unit,) = parse_units(f"2 {each.words[0]}s, {phrase}", CLASSES)
            assert (unit.count, unit.class_id) == (2, each.id), phrase
            assert symptom.id in unit.symptoms, phrase


# ---- the advice, on a bench file


@pytest.fixture
def bench(each: DeviceClass, tmp_path: Path) -> Iterator[BenchFile]:
    """One unit of the class, just added by its name."""
    with BenchFile(tmp_path / "bench.db", today=TODAY) as opened:
        lots.new_lot(opened, "box")
        units.add_units(opened, each.words[0])
        yield opened


def _next(bench: BenchFile) -> UnitView:
    """The advice once every hazard that it asks about is answered no, or dealt with where powering brought it back."""
    view = unit_view.unit_view(bench, 1)
    while view.ask_first is not None:
        back = view.ask_first.id in view.recharged
        looks.hazard(bench, 1, view.ask_first.id, "yes" if back else "no")
        if back:
            looks.release(bench, 1, view.ask_first.id, view.ask_first.releases[0])
        view = unit_view.unit_view(bench, 1)
    return view


def test_a_fresh_unit_starts_with_a_look_from_outside(each: DeviceClass, bench: BenchFile) -> None:
    settings.change_person(bench, hour_worth=0)  # the evening is the fun of it: then a first look always pays
    view = unit_view.unit_view(bench, 1)
    assert view.unit.device_class == each.id
    assert view.action == "check"
    assert view.look is not None
    assert each.check(view.look.check).state == "closed"


@pytest.mark.parametrize(("place", "hour_worth"), [(0, 1200)], ids=["likeliest"])
def test_following_the_advice_comes_to_an_end(each: DeviceClass, bench: BenchFile, place: int, hour_worth: int) -> None:
    """A unit with one fault alone: each look reads as that fault would mostly make it read."""
    settings.change_person(bench, hour_worth=hour_worth)
    curable = sorted((fault for fault in each.faults if fault.repairable), key=lambda fault: -(fault.share or 0.0))
    wrong: str | None = curable[place].id
    seen: list[Check] = []
    view = _next(bench)
    while view.action == "check" and len(seen) < MOST_STEPS:
        assert view.look is not None
        check = each.check(view.look.check)
        bad = wrong is not None and check.fails.get(wrong, 0.0) >= LIKELY
        looks.answer(bench, 1, check.id, "bad" if bad else "good")
        seen.append(check)
        if wrong in check.cures:
            wrong = None
        view = _next(bench)
    assert view.action in {"repair", "stop"}
    if view.action == "repair":
        shown = {fault for check in seen for fault in check.fails if check.fails.get(wrong or "", 0.0) >= LIKELY}
        assert shown & set(view.repair)
    elif not view.fixed:
        assert view.pile in {"as_is", "part_out"}
