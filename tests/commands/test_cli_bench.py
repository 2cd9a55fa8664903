"""A lot without the screens: lots, units, looks, advice, piles, settings, history."""

import pytest


def test_a_lot_is_started_listed_and_changed(run):
    form = run(
        "lot", "new", "box from the cellar", "--paid", "85,50", "--hours", "6.5", "--place", "fair", "--json"
    ).form
    assert (form["lot"], form["paid_cents"], form["bench_minutes"], form["bought_on"]) == (1, 8550, 390, "2026-01-08")
    assert run("lot", "set", "postage=4", "deadline=2026-02-01", "hours=", "--json").form["postage_cents"] == 400
    (held,) = run("lot", "list", "--json").form["lots"]
    assert (held["deadline"], held["bench_minutes"], held["place"]) == ("2026-02-01", None, "fair")
    assert "box from the cellar" in run("lot", "list").out
    for change in ("paid=-1", "paid=1.234", "colour=red", "deadline=soon", "paid", "hours=x"):
        ran = run("lot", "set", change)
        assert ran.code == 3, change
        assert "lot" in ran.complaint
    assert run("lot", "list", "--json").form["lots"] == [held]


def test_units_are_typed_pasted_or_listed(run, write):
    run("lot", "new", "cellar")
    assert [unit["number"] for unit in run("lot", "add", "3", "gamepads", "drift", "--json").form["units"]] == [1, 2, 3]
    added = run("lot", "add", "-", "--json", "--untested", given="2 radios hum\n\n1 gamepad\n").form["units"]
    assert [(unit["class"], unit["sold_as"]) for unit in added] == [
        ("portable_radio", "untested"),
        ("portable_radio", "untested"),
        ("gamepad", "untested"),
    ]
    path = write("count,class,symptom,model,note\n2,disc console,dead,,dusty\n", "units.csv")
    assert len(run("lot", "add", "--file", path, "--json").form["units"]) == 2
    assert "Gamepad" in run("lot", "add", "gamepad").out
    assert run("lot", "add").code == 2
    bad = write("count,class\nmany,gamepad\n", "bad.csv")
    assert run("lot", "add", "--file", bad).complaint.startswith(f"{bad}:2:count: ")
    assert len(run("lot", "show", "--json").form["units"]) == 9


def test_a_unit_in_doubt_is_settled_by_saying_what_it_is(run):
    run("lot", "new", "cellar")
    ran = run("lot", "add", "1 thing dead")
    assert "class=" in ran.err
    assert run("next", 1).code == 3
    assert run("unit", 1, "class=radio", "--json").form["class"] == "portable_radio"
    assert run("next", 1).code == 0


def test_lot_show_prints_every_documented_field(lot):
    form = lot("lot", "show", "--json").form
    fields = {"number", "class", "seen", "pile", "value_cents", "low_cents", "high_cents", "loss_chance", "waits_for"}
    assert {*fields, "fixed", "untested"} <= set(form["units"][0])
    assert [unit["number"] for unit in form["units"]] == [1, 2, 3]
    assert form["lot"]["name"] == "cellar"
    plain = lot("lot", "show").out
    assert "Gamepad" in plain
    assert lot("lot", "show", 1).out == plain
    assert lot("lot", "show", 9).code == 3


def test_odds_print_every_documented_field_and_move_with_an_answer(lot):
    before = lot("odds", 1, "--json").form
    assert {"unit", "suspects", "nothing_listed", "answers"} <= set(before)
    assert {"fault", "p", "now"} <= set(before["suspects"][0])
    assert before["answers"] == []
    lot("hazard", 1, "swollen_pack", "no")
    lot("check", 1, "connects", "y")
    lot("check", 1, "centre", "n")
    after = lot("odds", 1, "--json").form
    chance = {one["fault"]: one["now"] for one in after["suspects"]}
    assert chance["stick_pot"] > {one["fault"]: one["now"] for one in before["suspects"]}["stick_pot"]
    assert [(one["check"], one["answer"]) for one in after["answers"]] == [("connects", "good"), ("centre", "bad")]
    assert list(chance.values()) == sorted(chance.values(), reverse=True)
    assert "stick_pot" in lot("odds", 1).out
    moved = lot("why", 1, "--json").form["moved"]
    assert {"text", "what", "points"} == set(moved[0])
    assert "stick" in lot("why", 1).out


def test_next_is_in_the_form_of_solve_next_with_the_question(lot):
    lot("unit", 1, "working=60")
    form = lot("next", 1, "--json").form
    fields = {"action", "check", "faults", "branch", "net_gain_cents", "minutes", "reason", "locked"}
    assert fields <= set(form)
    assert form["action"] == "check"
    assert form["look"]["question"].endswith("?")
    said = lot("next", 1).out
    assert form["look"]["question"] in said
    assert f"lotwright check 1 {form['check']}" in said


@pytest.mark.parametrize(
    ("said", "kept"),
    [("y", "good"), ("no", "bad"), ("c", "cant_tell"), ("can't tell", "cant_tell"), ("s", "not_tested")],
)
def test_answers_are_keys_or_words(lot, said, kept):
    assert lot("check", 1, "connects", said, "--json").code == 0
    assert lot("odds", 1, "--json").form["answers"][0]["answer"] == kept


def test_readings_are_typed_as_at_the_meter(lot):
    ran = lot("check", 1, "connects", "4k7")
    assert ran.code == 3
    assert "connects" in ran.complaint
    loaded = lot("classes", "--json").form["classes"]
    pad = next(one for one in loaded if one["class"] == "gamepad")
    reading = next(check["check"] for check in pad["checks"] if check["good"] == "reading")
    ran = lot("check", 1, reading, "-0.3")
    assert ran.code in {0, 3}
    assert "such option" not in ran.err


def test_an_answer_that_is_no_evidence_is_said_to_be_none(lot):
    ran = lot("check", 1, "centre", "n")
    assert "no evidence" in ran.complaint


def test_what_is_not_known_is_refused_with_what_is(lot):
    for words, known in (
        (("check", 1, "centr", "y"), "centre"),
        (("repair", 1, "stick"), "stick_pot"),
        (("hazard", 1, "swollen", "yes"), "swollen_pack"),
        (("hazard", 1, "swollen_pack", "perhaps"), "yes or no"),
        (("release", 1, "swollen_pack", "poked it"), "isolated outside"),
        (("condition", 1, "damp!", "yes"), "known conditions"),
        (("unit", 1, "class=toaster oven"), "gamepad"),
        (("unit", 1, "colour=red"), "symptoms"),
        (("unit", 99), "lot show"),
        (("pile", 1, "bin", "--why", "x"), "dispose"),
        (("pile", 1, "fix"), "why"),
        (("correct", 1, 77, "y"), "no answer"),
    ):
        ran = lot(*words)
        assert ran.code == 3, words
        assert known in ran.complaint, words


def test_a_hazard_locks_until_it_is_released(lot):
    lot("hazard", 1, "swollen_pack", "yes")
    assert "CAUTION" in lot("next", 1).out
    ran = lot("check", 1, "connects", "y")
    assert ran.code == 3
    assert "locked" in ran.complaint
    assert lot("release", 1, "swollen_pack", "pack removed by a competent person").code == 0
    assert lot("check", 1, "connects", "y").code == 0


def test_a_repair_is_followed_by_the_retest(described):
    form = described("repair", 1, "stick_pot", "--note", "new module", "--json").form
    assert (form["action"], form["check"]) == ("check", "centre")
    assert "retest" in form["reason"]
    assert described("repair", 1, "stick_pot", "--part", "x").code == 3
    assert described("repair", 1, "stick_pot", "--part", "99:2").code == 3


def test_pile_unit_and_their_way_back(lot):
    assert lot("pile", 1, "part-out", "--why", "for the others", "--json").form["pile"] == "part_out"
    form = lot("unit", 1, "grade=a", "working=45", "note=scuffed", "symptoms=", "--json").form
    assert (form["grade"], form["working_cents"], form["note"], form["symptoms"]) == ("A", 4500, "scuffed", [])
    assert (form["pile"], form["pile_by_hand"], form["pile_reason"]) == ("part_out", "part_out", "for the others")
    assert {"id", "value_cents", "low_cents", "high_cents", "loss_chance", "terms"} <= set(form["branches"][0])
    assert lot("unit", 1, "working=").code == 0
    assert "by hand (for the others)" in lot("unit", 1).out
    assert lot("pile", 1, "auto", "--json").form["pile"] is None


def test_notes_the_case_and_corrections(lot):
    assert lot("note", 1, "two", "long", "screws", "--json").form["note"] == "two long screws"
    lot("hazard", 1, "swollen_pack", "no")
    lot("hazard", 1, "leaked_cells", "no")
    assert lot("case", 1, "opened").code == 0
    lot("check", 1, "connects", "n")
    (seen,) = lot("odds", 1, "--json").form["answers"]
    assert lot("correct", 1, seen["id"], "y").code == 0
    assert lot("odds", 1, "--json").form["answers"][0]["answer"] == "good"
    assert "two long screws" in lot("unit", 1).out


def test_settings_are_shown_and_changed(run):
    assert run("settings", "--json").form["hour_worth_cents"] == 1200
    form = run("settings", "hour_worth=0", "tools=iron,meter,scope", "tube=yes", "currency=jpy", "--json").form
    assert (form["hour_worth_cents"], form["tools"], form["tube"], form["currency"]) == (
        0,
        ["iron", "meter", "scope"],
        True,
        "JPY",
    )
    assert "scope" in run("settings").out
    form = run("settings", "cut_off=15", "holidays=2026-12-25, 2026-12-26", "--json").form
    assert (form["cut_off"], form["holidays"]) == (15, ["2026-12-25", "2026-12-26"])
    assert "15 o'clock" in run("settings").out
    assert run("settings", "mains=none", "--json").form["mains"] is None
    form = run("settings", "mains=230 V", "--json").form
    assert form["mains"] == 230
    assert "230 V" in run("settings").out
    for change in (
        "hour_worth=1.5",
        "tools=hammer",
        "tube=maybe",
        "pets=1",
        "currency=XXY",
        "list_minutes=-1",
        "mains=5",
        "mains=x",
    ):
        ran = run("settings", change)
        assert ran.code == 3, change
        assert ran.complaint.startswith("settings."), change
    assert run("settings", "--json").form == form


def test_what_was_said_is_told_from_what_is_assumed(run):
    assert "assumed" in run("settings").out
    form = run("settings", "scope=no", "bench_supply=yes", "--json").form
    assert form["said"] == ["tools"]
    assert "bench_supply" in form["tools"]
    assert form["tools_lacked"] == ["scope"]
    assert run("settings", "scope=maybe").complaint.startswith("settings.scope")


def test_next_says_what_is_to_be_said_and_how(lot):
    for hazard in ("swollen_pack", "leaked_cells"):
        lot("hazard", 1, hazard, "no")
    lot("pile", 1, "auto")
    form = lot("next", 1, "--json").form
    assert form["question"]["kind"] == "hour"
    assert "lotwright settings hour_worth=AMOUNT" in lot("next", 1).out
    lot("settings", "hour_worth=12.00")
    form = lot("next", 1, "--json").form
    assert (form["action"], form["question"]["kind"]) == ("stop", "grade")
    assert "lotwright unit 1 grade=A|B|C" in lot("next", 1).out
    form = lot("unit", 1, "grade=b", "complete=battery lid", "opened_before=yes", "--json").form
    assert (form["grade"], form["complete"], form["opened_before"], form["keep"]) == ("B", "battery lid", "yes", None)
    assert form["tell"] == ["missing: battery lid", "it was opened before it came here"]
    assert "must be told: missing: battery lid" in lot("unit", 1).out
    assert lot("next", 1, "--json").form["question"] is None
    assert lot("lot", "set", "cash_limit=no", "--json").form["no_cash_limit"]
    assert not lot("lot", "set", "cash_limit=30", "--json").form["no_cash_limit"]


def test_undo_redo_and_history_say_what_they_did(lot):
    lot("check", 1, "connects", "n")
    undone = lot("undo", "--json").form["undone"]
    assert (undone["action"], undone["unit"]) == ("answer", 1)
    assert lot("odds", 1, "--json").form["answers"] == []
    assert lot("redo", "--json").form["redone"]["id"] == undone["id"]
    assert lot("redo", "--json").form["redone"] is None
    events = lot("history", "--json").form["events"]
    assert [event["action"] for event in events[:3]] == ["redo", "undo", "answer"]
    assert {"id", "at", "action", "summary", "unit"} == set(events[0])
    assert len(lot("history", "--limit", 2, "--json").form["events"]) == 2
    assert {event["unit"] for event in lot("history", 1, "--json").form["events"]} == {1}
    assert "undo: " in lot("history").out
    assert lot("history", 44).code == 3


def test_commands_that_only_look_make_no_file(run, bench_path):
    for words in (("lot", "show"), ("lot", "list"), ("odds", 1), ("plan",), ("undo",), ("verify",), ("find", "10k")):
        ran = run(*words)
        assert ran.code == 3
        assert "no bench file" in ran.complaint
        assert not bench_path.exists()


@pytest.mark.parametrize("junk", [b"\x89PNG\r\n\x1a\n\x00\x00", b"2 radios\n1 gamepad\xff\xfe\n", b"1 radio\n\x00\n"])
def test_piped_junk_is_no_list_of_units(process, run, junk):
    run("lot", "new", "box")
    ran = process("lot", "add", "-", given=junk)
    assert ran.code == 3
    assert ran.err.startswith("standard input:")
    assert run("lot", "show", "--json").form["units"] == []
