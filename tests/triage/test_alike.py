"""Replace alike neighbours: the sums by hand, and when the rule does not hold."""

from datetime import date

import msgspec
import pytest

from triage.actions import looks, lots, unit_view, units
from triage.actions.studies import study_of
from triage.alike import neighbours
from triage.bench_file import BenchFile
from triage.device_classes.loader import load_classes
from triage.locks import UnitState
from triage.plans import case_of
from triage.worth import worth_of

PAD = load_classes()["gamepad"]
RADIO = load_classes()["portable_radio"]


def case(device_class, *, working=10_000.0, rate=20.0, case_open=False):
    worth = worth_of(device_class, working=round(working))
    return case_of(device_class, worth, rate=rate, state=UnitState(case_open=case_open))


def test_the_other_stick_now_or_later_by_hand():
    [found] = neighbours(case(PAD), ("stick_pot",))
    assert (found.part, found.others, found.origin) == ("stick_module", 1, "from memory")
    work = 25 - 5  # minutes of the class file less opening
    tests = sum(check.minutes for check in PAD.checks if check.function and "stick_pot" in check.fails)
    assert found.now == pytest.approx(250 + 20 * work)
    assert found.later == pytest.approx(250 + 20 * (5 + work + tests))
    assert found.pays_from == pytest.approx(found.now / found.later)
    assert 0 < found.pays_from < 1


def test_the_rest_of_a_set_shares_its_price_and_its_minutes():
    [found] = neighbours(case(RADIO), ("elec_caps",))
    kit = RADIO.part("cap_kit")
    assert found.others == kit.pieces - 1
    each, minutes = 100 * kit.typical_cost / kit.pieces, (60 - RADIO.open_minutes) / kit.pieces
    assert found.now == pytest.approx(found.others * (each + 20 * minutes))


@pytest.mark.parametrize(
    ("given", "cures"),
    [
        ({"working": 2_000.0}, ("stick_pot",)),  # over a tenth of its price
        ({}, ("cable",)),  # the class says nothing of neighbours
        ({}, ()),
    ],
)
def test_where_the_rule_does_not_hold_nothing_is_said(given, cures):
    assert neighbours(case(PAD, **given), cures) == ()


def test_without_opening_the_set_nothing_is_said_unless_it_stands_open():
    pads = msgspec.structs.replace(PAD.part("cell_contacts"), alike_more=1)
    parts = tuple(pads if part.id == pads.id else part for part in PAD.parts)
    device_class = msgspec.structs.replace(PAD, parts=parts)
    assert neighbours(case(device_class), ("batt_contacts",)) == ()
    assert [one.part for one in neighbours(case(device_class, case_open=True), ("batt_contacts",))] == ["cell_contacts"]


def test_a_free_hour_leaves_the_price_of_the_parts():
    [found] = neighbours(case(PAD, rate=0.0), ("stick_pot",))
    assert (found.now, found.later, found.pays_from) == (250.0, 250.0, 1.0)


def test_it_stands_with_the_repair_on_the_bench(tmp_path):
    with BenchFile(tmp_path / "bench.db", today=date(2026, 12, 1)) as bench:
        lots.new_lot(bench, "box")
        units.add_units(bench, "gamepad drift")
        for hazard in bench.classes["gamepad"].hazards:
            looks.hazard(bench, 1, hazard.id, "no")
        units.change_unit(bench, 1, working=15000)
        for _ in range(30):
            view = unit_view.unit_view(bench, 1)
            if view.action != "check":
                break
            bad = {"centre", "blow_retest", "pot_ohms", "circle"}
            looks.answer(bench, 1, view.look.check, "bad" if view.look.check in bad else "good")
        assert view.action == "repair"
        assert view.repair[0] == "stick_pot"
        assert view.alike[0].startswith("stick module: Both sticks have had the same hours")
        assert "One more now" in view.alike[0]
        assert view.alike[-1].endswith("(common practice); class file: from memory")
        assert study_of(bench, 1).action.faults == view.repair
