"""Lots, units and the person's settings, through the actions on a real bench file."""

from datetime import date

import pytest

from catalog.text import Refused
from triage.actions import history, looks, lot_view, lots, questions, settings, units
from triage.asking import Question
from triage.bench_file import BenchFile

TODAY = date(2026, 12, 1)


@pytest.fixture
def bench(tmp_path):
    with BenchFile(tmp_path / "bench.db", today=TODAY) as opened:
        yield opened


def test_units_are_typed_many_a_line_and_nothing_is_dropped(bench):
    lots.new_lot(bench, "box", paid=8400)
    added = units.add_units(bench, "3 gamepads drift, 2 disc console dead\nradio crackles\nsome weird thing")
    assert [unit.device_class for unit in added.units] == [
        *["gamepad"] * 3, *["disc_console"] * 2, "portable_radio", ""
    ]  # fmt: skip
    assert added.units[0].symptoms == ("drift",)
    assert [unit.typed for unit in added.doubtful] == ["some weird thing"]
    units.change_unit(bench, added.doubtful[0].number, device_class="gamepad")
    assert units.get_unit(bench, 7).device_class == "gamepad"


def test_a_bad_count_refuses_the_whole_text(bench):
    lots.new_lot(bench, "box")
    with pytest.raises(Refused, match="typed list:2:count"):
        units.add_units(bench, "gamepad\n0 radios")
    assert units.list_units(bench) == []


def test_units_come_from_csv_with_the_place_of_every_slip(bench, tmp_path):
    lots.new_lot(bench, "box")
    good = tmp_path / "units.csv"
    good.write_text("count,class,symptom,model,note\n2,gamepad,drift,black,no box\n,radio,dead,,\n", encoding="utf-8")
    added = units.add_units_csv(bench, good)
    assert [(unit.device_class, unit.model) for unit in added.units] == [
        ("gamepad", "black"),
        ("gamepad", "black"),
        ("portable_radio", ""),
    ]
    bad = tmp_path / "bad.csv"
    bad.write_text("count,class\n1,gamepad\n-4,radio\n", encoding="utf-8")
    with pytest.raises(Refused, match=r"bad\.csv:3:count"):
        units.add_units_csv(bench, bad)
    assert len(units.list_units(bench)) == 3


def test_a_list_says_how_units_look_what_is_missing_and_what_was_opened(bench, tmp_path):
    lots.new_lot(bench, "box")
    path = tmp_path / "units.csv"
    head = "class,grade,complete,opened_before\n"
    path.write_text(head + "gamepad,c,battery lid,Yes\nradio,,,\n", encoding="utf-8")
    pad, radio = units.add_units_csv(bench, path).units
    assert (pad.grade, pad.missing, pad.opened_before) == ("C", "battery lid", "yes")
    assert (radio.grade, radio.complete, radio.opened_before) == ("", "", "")
    for row, column in (("gamepad,D,,", "grade"), ("gamepad,,no,", "complete"), ("gamepad,,,maybe", "opened_before")):
        path.write_text(head + row + "\n", encoding="utf-8")
        with pytest.raises(Refused, match=rf"units\.csv:2:{column}"):
            units.add_units_csv(bench, path)
    assert len(units.list_units(bench)) == 2


def test_what_is_asked_of_a_unit_is_kept_and_can_be_unsaid(bench):
    lots.new_lot(bench, "box")
    units.add_units(bench, "gamepad")
    changed = units.change_unit(bench, 1, grade="A", complete="lid", opened_before="yes")
    assert (changed.grade, changed.missing, changed.opened_before) == ("A", "lid", "yes")
    assert units.change_unit(bench, 1, complete="yes").missing == ""
    unsaid = units.change_unit(bench, 1, grade="", complete="", opened_before="")
    assert (unsaid.grade, unsaid.complete, unsaid.opened_before) == ("", "", "")
    for changes, told in (
        ({"opened_before": "maybe"}, "yes, no"),
        ({"keep": "yes"}, "what it is worth"),
        ({"complete": "no"}, "what is missing"),
    ):
        with pytest.raises(Refused, match=told):
            units.change_unit(bench, 1, **changes)
    assert units.get_unit(bench, 1) == unsaid


def test_a_worth_on_the_own_shelf_and_being_meant_for_it_go_together(bench):
    lots.new_lot(bench, "box")
    units.add_units(bench, "gamepad")
    assert units.change_unit(bench, 1, own_worth=2000).keep == "yes"
    assert units.change_unit(bench, 1, own_worth=None).keep == ""
    assert units.change_unit(bench, 1, keep="yes", own_worth=900).own_worth == 900
    sold = units.change_unit(bench, 1, keep="no")
    assert (sold.keep, sold.own_worth) == ("no", None)


def test_a_tool_said_to_be_there_or_not_is_remembered(bench):
    settings.say_tools(bench, {"scope": False})
    settings.say_tools(bench, {"bench_supply": True})
    assert bench.person.tools == ("screwdriver", "iron", "meter", "bench_supply")
    assert bench.said.lacks == {"scope"}
    settings.say_tools(bench, {"scope": True})
    assert bench.said.lacks == frozenset()
    history.take_back(bench)
    assert bench.said.lacks == {"scope"}
    with pytest.raises(Refused, match="wand"):
        settings.say_tools(bench, {"wand": True})
    settings.change_person(bench, tools=("meter",))
    assert "iron" in bench.said.lacks  # a list as a whole says of the others that they are not there


def test_answers_to_questions_are_ordinary_changes(bench):
    lots.new_lot(bench, "box")
    units.add_units(bench, "gamepad")
    ask = lambda kind, said, about="", worth="", **of: questions.answer_question(  # noqa: E731
        bench, Question(kind, "?", (), about, **of), said, worth=worth
    )
    ask("hour", "")
    assert "hour_worth" in bench.said.names
    ask("hour", "0")
    ask("tool", "yes", "scope")
    ask("training", "no", "tube")
    ask("grade", "C", unit=1)
    ask("complete", "lid", unit=1)
    ask("keep", "yes", worth="12.50", unit=1)
    ask("cash_limit", "", lot=1)
    assert (bench.person.hour_worth, "scope" in bench.person.tools, bench.person.tube) == (0, True, False)
    assert "tube" in bench.said.names
    unit = units.get_unit(bench, 1)
    assert (unit.grade, unit.complete, unit.keep, unit.own_worth) == ("C", "lid", "yes", 1250)
    assert lots.get_lot(bench).no_cash_limit
    ask("cash_limit", "40", lot=1)
    assert (lots.get_lot(bench).cash_limit, lots.get_lot(bench).no_cash_limit) == (4000, False)
    events = len(history.history(bench))
    for kind, said in (("tool", "perhaps"), ("complete", ""), ("keep", "yes"), ("cash_limit", "much")):
        with pytest.raises(Refused):
            ask(kind, said, "scope", unit=1, lot=1)
    assert len(history.history(bench)) == events


def test_numbers_run_through_the_file_and_are_not_used_again(bench):
    first = lots.new_lot(bench, "one")
    units.add_units(bench, "gamepad\ngamepad", lot_id=first.id)
    units.remove_unit(bench, 2)
    second = lots.new_lot(bench, "two")
    added = units.add_units(bench, "gamepad", lot_id=second.id)
    assert added.units[0].number == 3
    with pytest.raises(Refused, match="no unit 2"):
        units.get_unit(bench, 2)
    history.take_back(bench)
    history.take_back(bench)
    history.take_back(bench)
    assert [unit.number for unit in units.list_units(bench)] == [1, 2]


def test_a_unit_with_a_story_is_not_removed(bench):
    lots.new_lot(bench, "box")
    units.add_units(bench, "gamepad")
    looks.answer(bench, 1, "port_look", "y")
    with pytest.raises(Refused, match="take them back first"):
        units.remove_unit(bench, 1)


def test_a_pile_by_hand_wants_a_reason_and_keeps_both(bench):
    lots.new_lot(bench, "box")
    units.add_units(bench, "gamepad drift")
    with pytest.raises(Refused, match="say why"):
        units.overrule(bench, 1, "fix", " ")
    with pytest.raises(Refused, match="expected one of"):
        units.overrule(bench, 1, "undecided", "because")
    units.overrule(bench, 1, "hold", "a friend may want it")
    row = lot_view.lot_view(bench).rows[0]
    assert (row.pile, row.by_hand) == ("hold", True)
    units.overrule(bench, 1, "", "")
    row = lot_view.lot_view(bench).rows[0]
    assert (row.pile, row.by_hand) == ("as_is", False)


def test_own_figures_and_looks_move_the_sums(bench):
    lots.new_lot(bench, "box")
    units.add_units(bench, "disc console dead")
    as_is = lot_view.lot_view(bench).untouched
    units.change_unit(bench, 1, as_is=5000)
    assert lot_view.lot_view(bench).untouched > as_is
    units.change_unit(bench, 1, as_is=None, grade="C")
    assert lot_view.lot_view(bench).untouched < as_is
    for changes in ({"as_is": -1}, {"grade": "Z"}, {"device_class": "toaster"}, {"symptoms": ("hunger",)}):
        with pytest.raises(Refused):
            units.change_unit(bench, 1, **changes)


def test_an_hour_worth_nothing_makes_more_worth_looking_at(bench):
    lots.new_lot(bench, "box")
    units.add_units(bench, "gamepad drift")
    assert lot_view.lot_view(bench).rows[0].pile == "as_is"
    settings.change_person(bench, hour_worth=0)
    row = lot_view.lot_view(bench).rows[0]
    assert row.pile != "as_is"
    assert lot_view.lot_view(bench).best_look == (1 if row.pile == "undecided" else None)


@pytest.mark.parametrize(
    "changes",
    [
        {"hour_worth": -1},
        {"tools": ("magic wand",)},
        {"currency": "euros"},
        {"nonsense": 1},
        {"list_minutes": -5},
        {"live_mains": "perhaps"},
    ],
)
def test_settings_that_make_no_sense_are_refused(bench, changes):
    before = bench.person
    with pytest.raises(Refused):
        settings.change_person(bench, **changes)
    assert bench.person == before


@pytest.mark.parametrize(
    ("details", "where"),
    [
        ({"paid": -1}, "lot.paid"),
        ({"deadline": "soon"}, "lot.deadline"),
        ({"bench_minutes": -60}, "lot.bench_minutes"),
    ],
)
def test_lots_that_make_no_sense_are_refused(bench, details, where):
    with pytest.raises(Refused, match=where):
        lots.new_lot(bench, "box", **details)
    assert lots.list_lots(bench) == []


def test_the_lot_adds_up(bench):
    lots.new_lot(bench, "box", bench_minutes=120, deadline="2026-12-20")
    units.add_units(bench, "2 gamepads drift\nradio crackles")
    view = lot_view.lot_view(bench)
    assert sum(pile.units for pile in view.piles) == 3
    assert sum(pile.value for pile in view.piles) == pytest.approx(sum(row.value for row in view.rows))
    assert view.days_left == 19
    looks.answer(bench, 3, "contacts_look", "y")
    assert lot_view.lot_view(bench).minutes_left == pytest.approx(120 - lot_view.lot_view(bench).minutes_spent)


def test_a_class_may_be_changed_after_symptoms_and_answers(bench):
    lots.new_lot(bench, "box")
    units.add_units(bench, "gamepad drift")
    looks.answer(bench, 1, "port_look", "n")
    units.change_unit(bench, 1, device_class="portable_radio")
    (row,) = lot_view.lot_view(bench).rows
    assert row.class_name == "Portable radio"
    assert units.get_unit(bench, 1).symptoms == ()


def test_a_bench_file_has_one_currency(bench):
    settings.change_person(bench, currency="SEK")
    assert lots.new_lot(bench, "box").currency == "SEK"
    with pytest.raises(Refused, match="in SEK"):
        settings.change_person(bench, currency="EUR")
    with pytest.raises(Refused, match="one currency"):
        lots.new_lot(bench, "other", currency="EUR")
    with pytest.raises(Refused, match="no currency"):
        lots.change_lot(bench, 1, currency="XYZ")


def test_several_tools_are_said_in_one_step(bench):
    settings.say_tools(bench, {"scope": True, "load": False})
    assert "scope" in bench.person.tools
    assert "load" in bench.said.lacks
    assert history.history(bench, limit=1)[0].summary == "settings: you have scope; without load"
    history.take_back(bench)
    assert "scope" not in bench.person.tools
    assert "load" not in bench.said.lacks


def test_a_list_of_units_is_taken_as_its_columns_say(bench, tmp_path):
    """The five columns of the contract, cell by cell, with the further ones that README names, in any order."""
    lots.new_lot(bench, "box")
    path = tmp_path / "units.csv"
    path.write_text(
        "note,model,symptom,class,count,grade,complete,opened_before\n"
        '"from the attic, ""as is""",RX-2,crackles,portable radio,2,A,yes,no\n'
        "no lid;=2+2,,drift; paint worn,gamepad,1,,,\n"
        ",,,gamepad,,,,\n",
        encoding="utf-8",
    )
    added = units.add_units_csv(bench, path).units
    assert [
        (unit.device_class, unit.symptoms, unit.model, unit.note, unit.grade, unit.complete, unit.opened_before)
        for unit in added
    ] == [
        *[("portable_radio", ("crackles",), "RX-2", 'from the attic, "as is"', "A", "yes", "no")] * 2,
        ("gamepad", ("drift",), "", "paint worn; no lid;=2+2", "", "", ""),
        ("gamepad", (), "", "", "", "", ""),
    ]
