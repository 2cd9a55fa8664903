"""The same check on many units from the command line."""

import pytest


@pytest.fixture
def box(run):
    run("lot", "new", "cellar")
    run("lot", "add", "3 gamepads drift", "1 radio hum")
    for number in (1, 2, 3):
        for hazard in run("hazard", number, "--json").form["hazards"]:
            run("hazard", number, hazard["hazard"], "no")
        run("unit", number, "working=90")
    return run


def test_a_check_is_answered_down_the_list_each_as_its_own_step(box):
    checks = box("batch", "--json").form["checks"]
    one = next(form for form in checks if form["class"] == "gamepad" and len(form["units"]) == 3)
    assert [unit["unit"] for unit in one["units"]] == [1, 2, 3]
    assert box("batch", "gamepad", one["check"], "--json").form == one
    assert one["question"] in box("batch", "gamepad", one["check"]).out
    assert one["check"] in box("batch").out
    done = box("batch", "gamepad", one["check"], "1=y", "2=n", "3=c", "--json").form
    assert [kept["unit"] for kept in done["kept"]] == [1, 2, 3]
    assert {kept["answer"] for kept in done["kept"]} == {"good", "bad", "cant_tell"}
    box("undo")
    left = box("batch", "--json").form["checks"]
    assert 3 in [unit["unit"] for form in left if form["check"] == one["check"] for unit in form["units"]]
    assert 1 not in [unit["unit"] for form in left if form["check"] == one["check"] for unit in form["units"]]


def test_one_that_is_refused_stops_none_of_the_others(box):
    ran = box("batch", "gamepad", "connects", "1=y", "2=maybe", "3=n")
    assert ran.code == 3
    assert "2 of 3 kept" in ran.err
    assert "unit 2.connects" in ran.err
    kept = box("history", "--json").out
    for words in (("4=y",), ("x=y",), ("1",), ("99=y",)):
        assert box("batch", "gamepad", "connects", *words).code == 3
    assert box("batch", "gamepad").code == 2
    assert box("batch", "gamepad", "moon").code == 3
    assert box("history", "--json").out == kept
