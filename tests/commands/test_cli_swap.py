"""The swap test from the command line."""

import pytest


@pytest.fixture
def pads(run):
    run("lot", "new", "cellar")
    run("lot", "add", "2 gamepads")
    for number in (1, 2):
        for hazard in run("hazard", number, "--json").form["hazards"]:
            run("hazard", number, hazard["hazard"], "no")
        run("check", number, "connects", "y")
    run("check", 1, "centre", "n")
    run("check", 2, "centre", "y")
    return run


def test_a_swap_is_listed_with_its_risk_kept_and_taken_back(pads):
    swaps = pads("swap", 1, "--json").form["swaps"]
    assert {"part", "other", "check", "chance", "minutes", "risk"} <= set(swaps[0])
    assert "CAUTION The good one is at risk" in pads("swap", 1).out
    before = pads("odds", 1, "--json").form
    assert pads("swap", 1, "stick_module", 2, "moves", "--json").form["action"]
    assert pads("odds", 1, "--json").form != before
    assert pads("undo").code == 0
    assert pads("odds", 1, "--json").form == before
    assert pads("swap", 1, "stick_module").code == 2
    assert pads("swap", 1, "stick_module", 2, "perhaps").code == 2
    assert pads("swap", 2, "stick_module", 1, "moves").code == 3
