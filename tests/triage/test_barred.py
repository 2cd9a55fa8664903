"""What a hazard locks and this person cannot lift is in no sum, and the advice says what it would take."""

from __future__ import annotations

from datetime import date

import msgspec
import pytest

from catalog.text import Refused
from triage.actions import looks, lot_view, lots, needs, planning, settings, unit_view, units
from triage.actions.plan_facts import gather
from triage.actions.studies import study_of
from triage.bench_file import BenchFile
from triage.device_classes.loader import load_classes
from triage.device_classes.validation import slips

TRAINED = "worked on by somebody trained, behind an isolating transformer"
LIVE = ("small_amp", "turntable", "portable_radio")


@pytest.fixture
def bench(tmp_path):
    with BenchFile(tmp_path / "bench.db", today=date(2026, 12, 1)) as opened:
        lots.new_lot(opened, "box")
        yield opened


def unit_of(bench, class_id, words="no sound"):
    """One that is dear enough to be fixed, all its hazards answered no."""
    (unit,) = units.add_units(bench, f"{bench.classes[class_id].words[0]} {words}").units
    units.change_unit(bench, unit.number, working=30000, as_is=2000, part_out=1000)
    for hazard in bench.classes[class_id].hazards:
        if hazard.when == "always":
            looks.hazard(bench, unit.number, hazard.id, "no")
    return unit.number


def _is_donor(bench, part_id):
    return not bench.classes["small_amp"].part(part_id).consumable


def _offers(bench):
    return gather(bench, lots.get_lot(bench, None), None).donors.values()


@pytest.mark.parametrize("class_id", LIVE)
def test_a_live_chassis_is_not_fixed_by_somebody_untrained(bench, class_id):
    number = unit_of(bench, class_id)
    assert study_of(bench, number).decision.best == "fix"
    looks.hazard(bench, number, "live_chassis", "yes")
    found = study_of(bench, number)
    assert found.pile == "as_is"
    assert found.decision.sum_of("fix").cures == ()
    assert found.decision.sum_of("fix").success == 0.0
    assert found.decision.sum_of("part_out").value < 0.0
    assert f"to fix it: {TRAINED}" in found.action.reason
    assert lot_view.lot_view(bench).rows[0].pile == "as_is"
    plan = planning.plan_lot(bench)
    assert [unit.pile for unit in plan.units] == ["as_is"]
    assert plan.to_describe == ()
    with pytest.raises(Refused, match="locked"):
        looks.repair(bench, number, (found.device_class.faults[0].id,))


@pytest.mark.parametrize("class_id", LIVE)
def test_whoever_is_trained_or_had_it_done_may_fix_it(bench, class_id):
    number = unit_of(bench, class_id)
    looks.hazard(bench, number, "live_chassis", "yes")
    settings.change_person(bench, live_mains=True)
    assert study_of(bench, number).decision.best == "fix"
    settings.change_person(bench, live_mains=False)
    looks.release(bench, number, "live_chassis", "handed over")
    assert study_of(bench, number).decision.best == "as_is"
    looks.release(bench, number, "live_chassis", TRAINED)
    assert study_of(bench, number).decision.best == "fix"


def test_nothing_is_lifted_out_of_what_may_not_be_opened(bench):
    giver = unit_of(bench, "small_amp")
    taker = unit_of(bench, "small_amp")
    for number in (giver, taker):
        units.change_unit(bench, number, model="M1", working=30000 if number == taker else 0)
    for number, pile in ((giver, "part_out"), (taker, "fix")):
        units.overrule(bench, number, pile, "so said")
    looks.answer(bench, taker, "light", "y")
    looks.answer(bench, taker, "sound", "n")
    part = next(part for part in needs.wanted_parts(bench) if part.unit == taker and _is_donor(bench, part.part))
    needs.describe_need(bench, taker, part.part, "relay 24 V 2 changeover")
    assert giver in {offer.unit for offer in _offers(bench)}
    looks.hazard(bench, giver, "live_chassis", "yes")
    assert giver not in {offer.unit for offer in _offers(bench)}


def test_what_the_person_can_lift_stays_in_the_sums_and_is_named(bench):
    number = unit_of(bench, "gamepad", "drift")
    looks.hazard(bench, number, "leaked_cells", "yes")
    view = unit_view.unit_view(bench, number)
    assert view.pile == "hand_over"
    assert view.reason.endswith("to sell it, first: cells out, crust dabbed off with weak vinegar, dry")


def test_a_training_of_no_release_is_a_slip():
    held = load_classes()["small_amp"]
    assert not list(slips(held))
    first = msgspec.structs.replace(held.hazards[0], trained={"prayed over": "live_mains"})
    wrong = msgspec.structs.replace(held, hazards=(first, *held.hazards[1:]))
    assert list(slips(wrong)) == [("hazards[mains_inside].trained.prayed over", "is none of the releases")]
