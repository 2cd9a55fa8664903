"""Sheets of models: kept by model, offered for the next unit, and moving its odds."""

from datetime import date

import pytest

from catalog.text import Refused
from triage import store
from triage.actions import lifting, looks, lots, model_sheets, needs, unit_view, units
from triage.actions.history import take_back
from triage.actions.studies import study_of
from triage.bench_file import BenchFile
from triage.lot import model_form
from triage.model_sheets import ModelLine, sheet_of, stated_faults

TODAY = date(2026, 12, 1)


@pytest.fixture
def bench(tmp_path):
    """Two gamepads of one model that lean to fix, one of another, one without."""
    with BenchFile(tmp_path / "bench.db", today=TODAY) as opened:
        lots.new_lot(opened, "box")
        units.add_units(opened, "4 gamepads drift")
        for number, model in ((1, "GP-7"), (2, " gp-7 "), (3, "GP-8")):
            units.change_unit(opened, number, model=model, working=9000)
            units.overrule(opened, number, "fix", "sells well")
        for number in (1, 2, 3, 4):
            for hazard in opened.classes["gamepad"].hazards:
                looks.hazard(opened, number, hazard.id, "no")
        yield opened


def texts(bench, number):
    return [(line.topic, line.text) for line in model_sheets.sheet_view(bench, number).lines]


def test_a_line_is_there_for_the_next_unit_of_the_model_and_not_for_another(bench):
    model_sheets.add_to_sheet(bench, 1, "volts", "3.3 V", place="pad by the plug")
    assert texts(bench, 2) == [("volts to expect", "pad by the plug: 3.3 V")]
    assert texts(bench, 3) == texts(bench, 4) == []
    take_back(bench)
    assert texts(bench, 2) == []


def test_a_line_is_struck_and_that_is_taken_back(bench):
    line = model_sheets.add_to_sheet(bench, 1, "screws", "4 long at the back")
    model_sheets.drop_from_sheet(bench, 2, line.id)
    assert texts(bench, 1) == []
    take_back(bench)
    assert texts(bench, 1) == [("screw map", "4 long at the back")]
    with pytest.raises(Refused, match="no line"):
        model_sheets.drop_from_sheet(bench, 3, line.id)


def test_what_a_part_is_is_learned_from_describing_it_and_offered_for_the_next(bench):
    needs.describe_need(bench, 1, "stick_module", "SM-4K", kind="listed")
    assert ("what a part is", "stick module: SM-4K") in texts(bench, 2)
    wanted = {part.unit: part for part in needs.wanted_parts(bench) if part.part == "stick_module"}
    assert (wanted[2].on_sheet, wanted[2].described, wanted[3].on_sheet) == ("SM-4K", False, "")
    kept = needs.describe_from_sheets(bench)
    assert [(need.unit, need.part, need.text) for need in kept] == [(2, "stick_module", "SM-4K")]
    assert len(texts(bench, 1)) == 1
    take_back(bench)
    assert store.needs(bench.database, number=2) == []
    needs.describe_from_sheets(bench)
    with pytest.raises(Refused, match="no sheet"):
        needs.describe_from_sheets(bench)


def test_a_common_fault_moves_the_odds_of_the_model(bench):
    def odds(number):
        return study_of(bench, number).belief.present["cable"]

    before = odds(2), odds(3)
    model_sheets.add_to_sheet(bench, 1, "fault", fault="cable", counted="3 of 4")
    assert odds(2) > before[0]
    assert odds(3) == before[1]


def test_how_a_part_sat_is_kept_before_it_moves(bench):
    lifting.lift(bench, 1, "stick_module", way_round="long pin to the left")
    assert ("which way round", "stick module: long pin to the left") in texts(bench, 2)
    offered = next(one for one in lifting.liftable(bench, 2) if one.part == "stick_module")
    assert offered.sat == "long pin to the left"
    lifting.lift(bench, 4, "stick_module", way_round="short pin up")
    noted = [item.raw for item in store.happenings(bench.database, 4) if item.kind == "note"]
    assert noted == ["stick module: short pin up"]
    take_back(bench)
    assert [item.kind for item in store.happenings(bench.database, 4) if item.kind == "note"] == []


@pytest.mark.parametrize(
    ("number", "topic", "text", "more", "said"),
    [
        (4, "note", "x", {}, "say its model first"),
        (1, "weather", "x", {}, "no topic"),
        (1, "note", "  ", {}, "say what there is to know"),
        (1, "part", "SM-4K", {"part": "door"}, "say which part"),
        (1, "fault", "", {"fault": "gremlins", "counted": "1 of 2"}, "say which fault"),
        (1, "fault", "", {"fault": "cable", "counted": "5 of 2"}, "such as 3 of 4"),
        (1, "fault", "", {"fault": "cable", "counted": "many"}, "such as 3 of 4"),
        (1, "fault", "", {"fault": "cable", "counted": "0 of 0"}, "such as 3 of 4"),
    ],
)
def test_what_is_refused_changes_nothing(bench, number, topic, text, more, said):
    with pytest.raises(Refused, match=said):
        model_sheets.add_to_sheet(bench, number, topic, text, **more)
    assert list(bench.database["model_lines"].rows) == []


def test_sheets_are_by_class_and_model_and_counts_of_one_fault_add_up():
    lines = [
        ModelLine(1, "gamepad", "GP-7", "fault", fault="cable", seen=1, among=2),
        ModelLine(2, "gamepad", "gp-7", "fault", fault="cable", seen=2, among=3),
        ModelLine(3, "gamepad", "GP-7", "volts", text="5 V"),
        ModelLine(4, "turntable", "GP-7", "volts", text="12 V"),
    ]
    sheet = sheet_of(lines, "gamepad", "GP-7 ")
    assert [line.id for line in sheet] == [3, 1, 2]
    assert [(one.fault, one.seen, one.among) for one in stated_faults(sheet)] == [("cable", 3, 5)]
    assert sheet_of(lines, "gamepad", "") == ()


def to_the_repair(bench, number):
    """Answers as a gamepad with a worn stick would, and gives what is known before each step on the way."""
    told = []
    for _ in range(30):
        view = unit_view.unit_view(bench, number)
        told.append((view.action, view.look.check if view.look else "", view.on_sheet))
        if view.action == "repair":
            return told
        worn = bench.classes["gamepad"].check(view.look.check).fails.get("stick_pot", 0.0) >= 0.5
        looks.answer(bench, number, view.look.check, "bad" if worn else "good")
    return pytest.fail("no repair was proposed")


def test_how_a_part_sits_is_asked_for_before_it_comes_out_and_told_of_the_next_one(bench):
    assert to_the_repair(bench, 1)[-1][2] == (model_sheets.HOW_IT_SITS,)
    model_sheets.add_to_sheet(bench, 1, "way_round", "tab to the grip", place="stick module")
    model_sheets.add_to_sheet(bench, 1, "plug", "five pins")
    told = ("which way round: stick module: tab to the grip",)
    assert unit_view.unit_view(bench, 1).on_sheet == told
    second = to_the_repair(bench, 2)
    assert second[-1][2] == told
    powered = {check.id for check in bench.classes["gamepad"].checks if check.powered and check.state == "closed"}
    for action, check, lines in second:
        if action == "check" and check in powered:
            assert lines == ("plug and polarity: five pins",)
    assert to_the_repair(bench, 3)[-1][2] == (model_sheets.HOW_IT_SITS,)
    looks.note(bench, 3, "ribbon blue side up")
    assert unit_view.unit_view(bench, 3).on_sheet == ()


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("DC-2", "dc 2", True),
        ("DC 2", "dc2", True),
        ("Mk\u2013II", "mk ii", True),
        ("110-2", "1102", False),
        ("110-2", "110 2", True),
        ("GP-7", "GP-8", False),
    ],
)
def test_a_model_is_the_same_however_its_gaps_are_typed(one, other, same):
    assert (model_form(one) == model_form(other)) is same
