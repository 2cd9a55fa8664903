"""The swap test: evidence on both units against enumeration, one event over both, and what holds it back."""

import itertools
import math
from datetime import date

import pytest

from catalog.text import Refused
from triage import bench_check, store
from triage.actions import history, looks, lots, swapping, unit_view, units
from triage.actions.studies import study_of
from triage.bench_file import BenchFile
from triage.device_classes.loader import load_classes
from triage.swaps import OUTCOME_WORDS, faults_of, swap_checks, swap_event, swap_happenings, swappable


@pytest.fixture
def bench(tmp_path):
    """Two gamepads: the stick of the first drifts, that of the second does not."""
    with BenchFile(tmp_path / "bench.db", today=date(2026, 12, 1)) as opened:
        lots.new_lot(opened, "box")
        units.add_units(opened, "3 gamepads\n1 radio")
        for unit in units.list_units(opened):
            for hazard in opened.classes[unit.device_class].hazards:
                looks.hazard(opened, unit.number, hazard.id, "no")
        for number in (1, 2, 3):
            looks.answer(opened, number, "connects", "y")
        looks.answer(opened, 1, "centre", "n")
        looks.answer(opened, 2, "centre", "y")
        yield opened


def chance(bench, number, fault):
    return study_of(bench, number).belief.present[fault]


def test_the_exchange_that_would_tell_something_is_offered_with_its_risk(bench):
    [offer] = [one for one in swapping.swap_offers(bench, 1) if one.part == "stick_module"]
    assert (offer.other, offer.check) == (2, "centre")
    assert offer.chance > 0.5
    assert "unit 2, which is opened for it, could be harmed" in offer.risk
    pad = bench.classes["gamepad"]
    assert offer.minutes >= 4 * pad.part("stick_module").harvest_minutes + 2 * pad.open_minutes
    assert swapping.swap_offers(bench, 2) == ()  # nothing is bad there
    units.change_unit(bench, 1, model="P 1")
    assert swapping.swap_offers(bench, 1) == ()  # another model is no like unit
    assert "The model of neither was said" in offer.risk
    units.change_unit(bench, 2, model="p-1")
    [offer] = [one for one in swapping.swap_offers(bench, 1) if one.part == "stick_module"]
    assert "model" not in offer.risk


@pytest.mark.parametrize("outcome", OUTCOME_WORDS)
def test_what_it_says_of_the_faulty_unit_is_what_enumeration_says(outcome):
    pad = load_classes()["gamepad"]
    check, part = pad.check("centre"), "stick_module"
    inside = faults_of(pad, part)
    rows = [item for item in swap_happenings((1, 2), check.id, part, outcome, at="") if item.unit == 1]
    network = {each.id: each for each in swap_checks(pad, rows)}
    faults = sorted(check.fails)
    for present in itertools.product((False, True), repeat=len(faults)):
        there = set(itertools.compress(faults, present))

        kept = dict.fromkeys((True, False), 1 - check.leak)
        for fault in there:
            kept[fault in inside] *= 1 - check.fails[fault]
        seen = {"moves": (0, 1), "stays": (1, 0), "neither": (1, 1), "both": (0, 0)}[outcome]
        wanted = math.prod(
            kept[lent] if good else 1 - kept[lent] for lent, good in zip((True, False), seen, strict=True)
        )
        got = 1.0
        for row in rows:
            event = swap_event(pad, row)
            each = network[event.check]
            good = (1 - each.leak) * math.prod(1 - each.links.get(fault, 0.0) for fault in there)
            got *= good if event.answer == "good" else 1 - good
        assert got == pytest.approx(wanted)


def test_moving_blames_the_part_and_clears_the_good_one(bench):
    before = chance(bench, 1, "stick_pot"), chance(bench, 2, "stick_pot")
    swapping.swap(bench, 1, "stick_module", 2, "moves")
    assert chance(bench, 1, "stick_pot") > before[0]
    assert chance(bench, 2, "stick_pot") < before[1]
    assert [line.text[:9] for line in unit_view.unit_view(bench, 1).done[-2:]] == ["swap test"] * 2
    assert bench_check.check(bench.database).ok


def test_staying_clears_the_part_and_says_nothing_bad_of_the_good_unit(bench):
    held, before = study_of(bench, 2).belief.present, study_of(bench, 1).belief
    swapping.swap(bench, 1, "stick_module", 2, "stays")
    after = study_of(bench, 1).belief
    assert after.present["stick_pot"] < 0.7 * before.present["stick_pot"]
    assert after.p_no_fault > before.p_no_fault
    assert study_of(bench, 2).belief.present == held


def test_it_is_one_event_over_both_units_and_the_good_one_is_tested_anew(bench):
    newest = history.newest(bench)
    swapping.swap(bench, 1, "stick_module", 2, "moves")
    assert [event.action for event in bench.journal.history(None, 9) if event.id > newest] == ["swap"]
    spent = [sum(item.minutes for item in store.happenings(bench.database, number)) for number in (1, 2)]
    assert min(spent) > 0
    assert all(study_of(bench, number).state.case_open for number in (1, 2))
    assert (
        "stick_module" in "".join(function for function in study_of(bench, 2).fixed.untested)
        or study_of(bench, 2).fixed.untested
    )
    history.take_back(bench)
    assert not [item for n in (1, 2) for item in store.happenings(bench.database, n) if item.kind in {"swap", "case"}]


@pytest.mark.parametrize(
    ("call", "says"),
    [
        ((1, "stick_module", 1), "not of the same class"),
        ((1, "stick_module", 4), "not of the same class"),
        ((1, "stick_module", 3), "bad on the one and good on the other: none"),
        ((1, "main_ic", 2), "tells nothing"),
        ((2, "stick_module", 1), "bad on the one"),
    ],
)
def test_what_tells_nothing_or_could_harm_is_refused(bench, call, says):
    before = history.newest(bench)
    number, part, other = call
    with pytest.raises(Refused, match=says):
        swapping.swap(bench, number, part, other, "moves")
    assert history.newest(bench) == before


def test_a_lock_on_either_unit_holds_it_back(bench):
    looks.hazard(bench, 2, "swollen_pack", "yes")
    assert "locked now" in swapping.swap_offers(bench, 1)[0].risk
    with pytest.raises(Refused, match=r"unit 2.*locked: Swollen pack"):
        swapping.swap(bench, 1, "stick_module", 2, "moves")
    assert not [item for item in store.happenings(bench.database, 1) if item.kind == "swap"]


def test_no_part_with_a_fault_of_high_risk_ever_changes_places():
    for device_class in load_classes().values():
        risky = {fault.id for fault in device_class.faults if fault.risk == "H"}
        for check in device_class.checks:
            for part in swappable(device_class, check):
                assert not part.consumable
                assert not faults_of(device_class, part.id) & risky
