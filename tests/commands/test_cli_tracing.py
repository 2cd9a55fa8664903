"""Following a signal without the screens, and paths of one's own."""

import pytest

CHAIN = "tuner out > C12 coupling > top of volume > volume > wiper"


@pytest.fixture
def unit(run):
    """A handheld and a radio whose hazards are answered no."""
    run("lot", "new", "cellar")
    run("lot", "add", "handheld dead", "portable radio dead")
    for number in (1, 2):
        for hazard in run("hazard", number, "--json").form["hazards"]:
            run("hazard", number, hazard["hazard"], "no")
    return run


def test_a_signal_is_followed_to_the_part_where_it_is_gone(unit):
    form = unit("trace", 1, "supply", "--json").form
    assert [path for path, _ in form["paths"]] == ["supply", "sound"]
    seen = {"cells": "y", "bay": "y", "jack": "y", "behind_fuse": "y", "behind_switch": "n", "rail": "n"}
    asked = []
    while form["next"] is not None:
        asked.append(form["next"])
        form = unit("trace", 1, "supply", form["next"], seen[form["next"]], "--json").form
    assert len(asked) < len(seen)
    assert form["found"] == [[3, 4]]
    assert form["stretches"][3]["faults"] == ["power_switch"]
    assert form["told"].endswith("power switch dirty or worn")
    odds = unit("odds", 1, "--json").form["suspects"]
    assert odds[0]["fault"] == "power_switch"
    plain = unit("trace", 1, "supply").out
    assert "HERE" in plain
    assert "board side of the switch" in plain
    unit("undo")
    assert unit("trace", 1, "supply", "--json").form["found"] != [[3, 4]]


def test_a_slip_is_refused_and_nothing_is_kept(unit):
    kept = unit("history", "--json").out
    for words, says in (
        (("trace", 1, "nothing"), "known are supply, sound"),
        (("trace", 1, "supply", "moon", "y"), "known are cells"),
        (("trace", 1, "supply", "bay", "perhaps"), "expected y"),
        (("trace", 9), "9"),
        (("path", "drop", 7), "no own path"),
        (("path", "add", 2, "in > out"), "point > part > point"),
    ):
        ran = unit(*words)
        assert ran.code == 3
        assert says in ran.complaint
    assert unit("trace", 1, "supply", "bay").code == 2
    assert unit("history", "--json").out == kept


def test_a_path_of_ones_own_is_listed_followed_and_let_go(unit):
    kept = unit("path", "add", 2, CHAIN, "--name", "audio", "--tool", "Signal Source", "--json").form
    assert (kept["path"], kept["class"], kept["tools"]) == ("own_1", "portable_radio", ["signal_source"])
    assert unit("path", "--json").form == {"paths": [kept]}
    assert "audio" in unit("path", "list").out
    point = unit("trace", 2, "own_1", "--json").form["points"][0]
    assert point["locked"] == "needs a tool you do not have: signal source"
    assert unit("trace", 2, "own_1", "p0", "y").code == 0  # whoever did it all the same may say so
    assert unit("trace", 2, "own_1", "p1", "w").code == 0
    assert unit("odds", 2, "--json").form["suspects"][0]["what"] == "C12 coupling"
    assert unit("path", "drop", 1, "--json").form == kept
    assert unit("path", "list", "--json").form == {"paths": []}
    assert unit("verify").code == 0
