"""The drawer on the command line: places, counting, moving, and parts lifted out of a unit."""

BOX = "box 1"


def test_a_place_is_listed_counted_and_taken_back(described):
    run = described
    found = run("parts", "places", "--json").form["places"]
    assert [(one["place"], one["lines"], one["pieces"]) for one in found] == [("box 1", 1, 12), ("box 3", 1, 8)]
    line = run("parts", "places", BOX, "--json").form["lines"][0]
    assert (line["part"], line["held"], line["free"], line["promised"]) == (1, 12, 12, [])
    assert run("parts", "count", BOX, "1=9", "--json").form == {
        "changed": [{"part": 1, "name": "electrolytic 4.7uF 25V radial", "before": 12, "now": 9}],
        "waiting": [],
    }
    assert "12 → 9" in run("undo").err
    assert run("parts", "count", BOX, "1=12").complaint == "everything as it was noted"


def test_a_count_that_is_none_is_refused_with_its_place(described):
    for words, why in (
        (("box 9", "1=2"), "“box 9”: nothing lies in a place of that name; `lotwright parts places` lists them"),
        ((BOX, "2=3"), "part 2: it does not lie there but in: box 3"),
        ((BOX, "1=many"), "part 1: “many” is no whole number from 0 to 1000000000"),
        ((BOX, "one=2"), "PART: “one” is no whole number from 1 to 1000000000"),
        ((BOX, "12"), "COUNTED: “12” is no NAME=VALUE"),
    ):
        done = described("parts", "count", *words)
        assert done.code == 3
        assert done.complaint.endswith(why)


def test_lines_are_moved(described):
    moved = described("parts", "move", "drawer 2", 1, 2, "--json").form["parts"]
    assert [part["place"] for part in moved] == ["drawer 2", "drawer 2"]
    assert [one["place"] for one in described("parts", "places", "--json").form["places"]] == ["drawer 2"]


def test_a_part_is_lifted_for_a_unit_that_waits_and_put_back(described):
    run = described
    listed = {one["part"]: one for one in run("lift", 2, "--json").form["parts"]}
    assert (listed["stick_module"]["inside"], listed["stick_module"]["lifted"]) == (1, 0)
    done = run("lift", 2, "stick_module", "--words", "STK-10", "--for", 1, "--json").form
    assert (done["drawer_part"], done["place"], done["promised"], done["for_unit"]) == (3, "from unit 2", 1, 1)
    unit = run("unit", 2, "--json").form
    assert unit["lifted"] == ["1 × stick module"]
    assert not unit["fixed"]
    promised = run("parts", "places", "from unit 2", "--json").form["lines"][0]["promised"]
    assert [(one["unit"], one["pieces"]) for one in promised] == [(1, 1)]
    assert run("lift", 2, "stick_module", "--for", 1).code == 3
    assert run("lift", 2, "stick_module", "--back", "--json").form == {"unit": 2, "part": "stick_module", "back": 1.0}
    assert run("unit", 2, "--json").form["lifted"] == []
    assert run("lift", 2, "stick_module", "--back", "--for", 1).code == 2


def test_no_lift_goes_round_a_lock(described):
    assert described("hazard", 2, "swollen_pack", "yes").code == 0
    done = described("lift", 2, "stick_module")
    assert done.code == 3
    assert "locked" in done.complaint


def test_what_an_export_holds_comes_back(described, tmp_path):
    assert described("lift", 2, "stick_module", "--words", "STK-10", "--for", 1).code == 0
    assert described("export", tmp_path / "out").code == 0
    copy = tmp_path / "copy.db"
    assert described("import", tmp_path / "out", "--bench", copy).code == 0
    digests = {described("verify", "--digest", *more).out for more in ((), ("--bench", copy))}
    assert len(digests) == 1
