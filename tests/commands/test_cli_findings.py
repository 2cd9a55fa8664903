"""`found`, `learned` and `sheet` on the command line."""

import pytest


@pytest.fixture
def box(run):
    run("lot", "new", "box")
    run("lot", "add", "2 gamepads drift")
    run("unit", "1", "model=GP-7")
    run("unit", "2", "model=GP-7")


def test_a_finding_moves_the_next_unit(run, box):
    before = {one["fault"]: one["now"] for one in run("odds", "2", "--json").form["suspects"]}
    assert run("found", "1", "stick_pot", "--json").form["found"] == ["stick_pot"]
    after = {one["fault"]: one["now"] for one in run("odds", "2", "--json").form["suspects"]}
    assert after["stick_pot"] > before["stick_pot"]
    view = run("learned", "gamepad", "--model", "gp-7", "--json").form
    tally = next(one for one in view["learned"]["tallies"] if one["fault"] == "stick_pot")
    assert (tally["found"], tally["of"], tally["model_found"], tally["model_of"]) == (1, 1, 1, 1)
    told = run("learned", "gamepad")
    assert "your bench" in told.out
    assert "1 of 1" in told.out
    assert run("learned", "gamepad", "--reset", "--json").form["learned"]["closed"] == 0


def test_nothing_wrong_is_a_finding_too(run, box):
    assert run("found", "1", "--nothing", "--json").form["found"] == []
    assert run("found", "1").code == 2
    assert run("found", "1", "stick_pot", "--nothing").code == 2
    refused = run("found", "1", "gremlins")
    assert refused.code == 3
    assert "unit 1.gremlins: no fault of that name" in refused.complaint


def test_a_sheet_is_written_shown_and_struck(run, box):
    line = run("sheet", "1", "volts", "3.3 V", "--place", "pad by the plug", "--json").form["lines"]
    assert line == [{"id": 1, "topic": "volts to expect", "text": "pad by the plug: 3.3 V"}]
    assert "pad by the plug" in run("sheet", "2").out
    assert run("sheet", "1", "--strike", "1", "--json").form["lines"] == []
    refused = run("sheet", "1", "fault", "--fault", "cable", "--seen", "9 of 3")
    assert refused.code == 3
    assert "model GP-7: expected in how many of how many" in refused.complaint


def test_how_it_sat_is_kept_with_the_lift(run, box):
    for hazard in run("hazard", "1", "--json").form["hazards"]:
        run("hazard", "1", hazard["hazard"], "no")
    run("lift", "1", "stick_module", "--sat", "long pin left")
    assert run("sheet", "2", "--json").form["lines"][-1]["text"] == "stick module: long pin left"
    assert run("lift", "1", "stick_module", "--back", "--sat", "x").code == 2
