"""What is seen and done on a unit, through the actions on a real bench file."""

from datetime import date

import pytest

from catalog.text import Refused
from triage import store
from triage.actions import history, looks, lot_view, lots, parts, planning, settings, unit_view, units
from triage.actions.studies import study_of
from triage.bench_file import BenchFile

TODAY = date(2026, 12, 1)
SWOLLEN = "swollen_pack"


@pytest.fixture
def unasked(tmp_path):
    """Three units that nobody has looked at: no hazard question is answered."""
    with BenchFile(tmp_path / "bench.db", today=TODAY) as opened:
        lots.new_lot(opened, "box")
        units.add_units(opened, "gamepad drift\ndisc console dead\nradio crackles")
        yield opened


@pytest.fixture
def bench(unasked, nothing_hazardous):
    """The same with every hazard question answered no."""
    nothing_hazardous(unasked)
    return unasked


def told(bench, number=1):
    """What happened besides the hazard questions."""
    seen = store.happenings(bench.database, number)
    return [(item.kind, item.subject, item.answer) for item in seen if item.kind not in {"hazard", "release"}]


def test_a_hazard_question_comes_before_what_it_may_hold_back(unasked):
    for call in (
        lambda: looks.answer(unasked, 1, "connects", "y"),
        lambda: looks.answer(unasked, 1, "charge", "y"),
        lambda: looks.answer(unasked, 1, "pot_ohms", "10k"),
        lambda: looks.case(unasked, 1, "opened"),
        lambda: looks.repair(unasked, 1, ("stick_pot",)),
    ):
        with pytest.raises(Refused, match=r"say first: .*swollen"):
            call()
    assert told(unasked) == []
    looks.answer(unasked, 1, "port_look", "y")  # a look from outside, without power, is free
    assert told(unasked) == [("answer", "port_look", "good")]


def test_before_it_is_sold_the_pack_is_asked_about_and_a_swollen_one_is_not_for_sale(unasked):
    view = unit_view.unit_view(unasked, 1)
    assert view.where_was_i == "Not looked at yet."
    assert view.action == "stop"
    assert view.ask_first.id == SWOLLEN
    looks.hazard(unasked, 1, SWOLLEN, "yes")
    for pile in (unit_view.unit_view(unasked, 1).pile, lot_view.lot_view(unasked).rows[0].pile):
        assert pile == "hand_over"
    assert planning.plan_lot(unasked).units[0].pile == "hand_over"
    looks.release(unasked, 1, SWOLLEN, "handed over")
    assert unit_view.unit_view(unasked, 1).pile == "hand_over"
    looks.release(unasked, 1, SWOLLEN, "pack removed by a competent person")
    assert unit_view.unit_view(unasked, 1).pile == "as_is"


def test_no_repair_goes_round_a_lock(bench):
    looks.case(bench, 1, "opened")
    looks.hazard(bench, 1, SWOLLEN, "yes")
    for fault in ("stick_pot", "stick_dirty"):  # with the case open already, and without opening
        with pytest.raises(Refused, match="locked"):
            looks.repair(bench, 1, (fault,))


def test_a_correction_goes_round_no_lock(bench):
    put_off = looks.answer(bench, 1, "connects", "s")
    looks.hazard(bench, 1, SWOLLEN, "yes")
    with pytest.raises(Refused, match="locked"):
        looks.correct(bench, 1, put_off.id, "y")
    assert told(bench) == [("answer", "connects", "not_tested")]


def test_what_was_proven_dead_is_not_after_it_was_powered(bench):
    looks.hazard(bench, 2, "mains_inside", "yes")
    looks.release(bench, 2, "mains_inside", "plug out of the wall and the supply proven below 10 V")
    looks.answer(bench, 2, "fuse_cont", "0.3")
    looks.answer(bench, 2, "power_on", "n")
    looks.case(bench, 2, "closed")
    with pytest.raises(Refused, match="mains inside"):
        looks.case(bench, 2, "opened")
    with pytest.raises(Refused, match="it was powered since"):
        looks.hazard(bench, 2, "stored_charge", "no")
    looks.hazard(bench, 2, "stored_charge", "yes")
    with pytest.raises(Refused, match="locked"):
        looks.case(bench, 2, "opened")
    looks.release(bench, 2, "stored_charge", "bled, below 10 V, and still below a minute later")
    looks.case(bench, 2, "opened")
    assert told(bench, 2)[-1] == ("case", "", "opened")


@pytest.mark.parametrize(
    ("said", "answer"),
    [("y", "good"), ("no", "bad"), ("c", "cant_tell"), ("can't tell", "cant_tell"), ("s", "not_tested")],
)
def test_an_answer_is_kept_as_good_or_bad(bench, said, answer):
    looks.answer(bench, 1, "connects", said)
    assert told(bench) == [("answer", "connects", answer)]


def test_no_change_is_the_good_answer_where_the_class_says_so(bench):
    check = next(check for check in bench.classes["portable_radio"].checks if check.good == "no" and not check.gate)
    looks.answer(bench, 3, check.id, "n")
    assert told(bench, 3)[-1] == ("answer", check.id, "good")


@pytest.mark.parametrize(
    ("typed", "value", "answer"),
    [("3", 3.0, "good"), ("-14", -14.0, "bad"), ("4,9", 4.9, "good"), ("+2.5", 2.5, "good"), (".5", 0.5, "good")],
)
def test_readings_are_judged_by_the_limits_of_the_class(bench, typed, value, answer):
    looks.answer(bench, 1, "connects", "y")
    seen = looks.answer(bench, 1, "centre", typed)
    assert (seen.kind, seen.value, seen.answer) == ("reading", value, answer)


def test_a_bad_reading_moves_the_suspect_and_a_good_one_clears_it(bench):
    looks.answer(bench, 1, "connects", "y")
    before = chance(bench, "stick_pot")
    looks.answer(bench, 1, "centre", "-20")
    assert chance(bench, "stick_pot") > before
    history.take_back(bench)
    looks.answer(bench, 1, "centre", "0.5")
    assert chance(bench, "stick_pot") < before


def chance(bench, fault, number=1):
    return next(item.chance for item in unit_view.unit_view(bench, number).suspects if item.fault == fault)


def test_a_relative_reading_is_divided_by_its_label(bench):
    seen = looks.answer(bench, 3, "adaptor_load", "10.9/12")
    assert seen.value == pytest.approx(10.9 / 12)
    assert seen.answer == "good"
    with pytest.raises(Refused, match="label value too"):
        looks.answer(bench, 3, "adaptor_load", "10.9")


@pytest.mark.parametrize("typed", ["banana", "1,500", "4k7k", "--3", "1e400", "", "9/0"])
def test_what_is_no_reading_is_refused_and_changes_nothing(bench, typed):
    looks.answer(bench, 1, "connects", "y")
    before = told(bench)
    with pytest.raises(Refused):
        looks.answer(bench, 1, "centre", typed)
    assert told(bench) == before


def test_open_is_a_reading(bench):
    seen = looks.answer(bench, 1, "pot_ohms", "o")
    assert (seen.kind, seen.value, seen.raw, seen.answer) == ("reading", None, "open", "bad")


def test_a_swollen_pack_locks_power_opening_and_charging_until_it_is_out(bench):
    looks.hazard(bench, 1, SWOLLEN, "yes")
    view = unit_view.unit_view(bench, 1)
    assert view.cautions[0].startswith("Swollen pack")
    assert view.look is None or not (view.look.powered or view.look.opened)
    for check in ("connects", "charge", "pack_volts"):
        with pytest.raises(Refused, match="locked"):
            looks.answer(bench, 1, check, "y")
    with pytest.raises(Refused, match="locked"):
        looks.case(bench, 1, "opened")
    with pytest.raises(Refused, match="locked"):
        looks.repair(bench, 1, ("stick_pot",))
    looks.release(bench, 1, SWOLLEN, "isolated outside")  # set aside: nothing is lifted
    with pytest.raises(Refused, match="locked"):
        looks.answer(bench, 1, "connects", "y")
    looks.release(bench, 1, SWOLLEN, "pack removed by a competent person")
    looks.answer(bench, 1, "connects", "y")
    assert told(bench)[-1] == ("answer", "connects", "good")


def test_a_release_that_the_class_does_not_know_is_refused(bench):
    looks.hazard(bench, 1, SWOLLEN, "y")
    with pytest.raises(Refused, match="expected one of"):
        looks.release(bench, 1, SWOLLEN, "poked it, seems fine")


def test_a_mains_set_stays_shut_until_it_is_proven_dead(unasked):
    bench = unasked
    with pytest.raises(Refused, match="mains inside"):
        looks.answer(bench, 2, "fuse_cont", "0.3")
    looks.hazard(bench, 2, "mains_inside", "yes")
    looks.hazard(bench, 2, "stored_charge", "no")
    with pytest.raises(Refused, match="locked"):
        looks.answer(bench, 2, "fuse_cont", "0.3")
    looks.release(bench, 2, "mains_inside", "plug out of the wall and the supply proven below 10 V")
    looks.answer(bench, 2, "fuse_cont", "0.3")
    assert ("case", "", "opened") in told(bench, 2)


def test_live_mains_checks_want_the_training_said(bench):
    live = next(check for check in bench.classes["disc_console"].checks if check.permission == "live_mains")
    for hazard in bench.classes["disc_console"].hazards:
        looks.hazard(bench, 2, hazard.id, "no")
    with pytest.raises(Refused, match="training"):
        looks.answer(bench, 2, live.id, "y")
    settings.change_person(bench, live_mains=True)
    looks.answer(bench, 2, live.id, "y")
    assert told(bench, 2)[-1][1] == live.id


def test_after_a_repair_the_retest_comes_first_and_fixed_waits_for_every_function(bench):
    for check in ("connects", "cable_flex", "face", "shoulder", "triggers", "shake", "charge", "range"):
        looks.answer(bench, 1, check, good(bench, check))
    looks.answer(bench, 1, "centre", "-20")
    looks.answer(bench, 1, "circle", "70")
    looks.hazard(bench, 1, SWOLLEN, "no")
    looks.hazard(bench, 1, "leaked_cells", "no")
    looks.repair(bench, 1, ("stick_pot",), note="new module")
    view = unit_view.unit_view(bench, 1)
    assert view.action == "check"
    assert view.look.check in {"centre", "circle"}
    assert "retest" in view.reason
    assert not view.fixed
    for _ in range(20):
        view = unit_view.unit_view(bench, 1)
        if view.fixed:
            break
        looks.answer(bench, 1, view.look.check, good(bench, view.look.check))
    assert view.fixed
    assert view.untested == ()
    assert view.pile == "fix"


def good(bench, check_id):
    check = bench.classes["gamepad"].check(check_id)
    return "n" if check.good == "no" else "y"


def test_a_repair_uses_up_parts_of_the_drawer_in_the_same_event(bench):
    held = parts.add_part(bench, "stick module SM-1", part_number="SM-1", quantity=2)
    looks.repair(bench, 1, ("stick_pot",), parts=((held.id, 1),))
    assert parts.get_part(bench, held.id).quantity == 1
    with pytest.raises(Refused, match="holds 1"):
        looks.repair(bench, 1, ("stick_pot",), parts=((held.id, 5),))
    assert parts.get_part(bench, held.id).quantity == 1
    history.take_back(bench)
    assert parts.get_part(bench, held.id).quantity == 2
    assert told(bench) == []


def test_a_corrected_answer_replays_the_unit(bench):
    looks.answer(bench, 1, "connects", "y")
    wrong = looks.answer(bench, 1, "face", "n")
    suspicion = chance(bench, "btn_rubber")
    looks.correct(bench, 1, wrong.id, "y")
    assert chance(bench, "btn_rubber") < suspicion
    assert told(bench)[-1] == ("answer", "face", "good")
    history.take_back(bench)
    assert told(bench)[-1] == ("answer", "face", "bad")


def test_an_answer_behind_a_closed_gate_is_kept_but_is_no_evidence(bench):
    looks.answer(bench, 1, "connects", "n")
    before = chance(bench, "btn_rubber")
    looks.answer(bench, 1, "face", "n")
    assert chance(bench, "btn_rubber") == pytest.approx(before)
    assert unit_view.unit_view(bench, 1).done[-1].ignored


def test_where_was_i_tells_the_last_thing_and_the_next(bench):
    looks.answer(bench, 1, "connects", "y")
    looks.note(bench, 1, "screws in bag 14")
    sentence = unit_view.unit_view(bench, 1).where_was_i
    assert "screws in bag 14" in sentence
    assert "today" in sentence


def test_undo_and_redo_go_through_the_whole_evening(bench):
    for check, said in (("connects", "y"), ("face", "n"), ("shoulder", "c")):
        looks.answer(bench, 1, check, said)
    evening = told(bench)
    for _ in evening:
        history.take_back(bench)
    assert told(bench) == []
    for _ in evening:
        history.do_again(bench)
    assert told(bench) == evening


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda bench: looks.answer(bench, 99, "connects", "y"), "no unit 99"),
        (lambda bench: looks.answer(bench, 1, "nonsense", "y"), "no check of that name"),
        (lambda bench: looks.repair(bench, 1, ("nonsense",)), "no fault of that name"),
        (lambda bench: looks.repair(bench, 1, ("main_ic",)), "no economic cure"),
        (lambda bench: looks.repair(bench, 1, ()), "name what was repaired"),
        (lambda bench: looks.hazard(bench, 1, SWOLLEN, "perhaps"), "yes or no"),
        (lambda bench: looks.condition(bench, 1, "rust", "yes"), "known conditions"),
        (lambda bench: looks.note(bench, 1, "  "), "type the note"),
        (lambda bench: looks.correct(bench, 1, 77, "y"), "no answer of that number"),
    ],
)
def test_what_makes_no_sense_is_refused_in_one_line(bench, call, words):
    with pytest.raises(Refused, match=words) as refusal:
        call(bench)
    assert "\n" not in str(refusal.value)
    assert told(bench) == []


def test_what_must_not_be_sent_is_put_on_no_selling_pile(bench):
    looks.hazard(bench, 1, SWOLLEN, "y")
    for pile in ("as_is", "fix", "part_out"):
        with pytest.raises(Refused, match="locked"):
            units.overrule(bench, 1, pile, "because")
    assert units.overrule(bench, 1, "dispose", "taken to the collection point").pile == "dispose"


def test_a_hazard_found_later_moves_a_unit_off_the_selling_pile(bench):
    units.overrule(bench, 1, "as_is", "sold to a friend")
    looks.hazard(bench, 1, SWOLLEN, "y")
    assert study_of(bench, 1).pile == "hand_over"


def test_another_class_asks_its_hazards_anew(bench):
    units.change_unit(bench, 2, device_class="portable_radio")
    found = study_of(bench, 2)
    assert not found.state.cleared
    with pytest.raises(Refused, match="say first"):
        looks.case(bench, 2, "opened")


def test_a_look_that_does_not_apply_keeps_nothing_waiting(tmp_path, nothing_hazardous):
    with BenchFile(tmp_path / "amps.db", today=TODAY) as bench:
        lots.new_lot(bench, "box")
        units.add_units(bench, "amp")
        nothing_hazardous(bench)
        looks.answer(bench, 1, "relay_click", "x")  # it has no relay
        looks.answer(bench, 1, "sound", "n")
        dark = study_of(bench, 1)
        assert len(dark.belief.ignored) == 1  # it still waits for what the relay waited for
        looks.answer(bench, 1, "light", "y")
        looks.answer(bench, 1, "sound", "n")
        heard = study_of(bench, 1)
        assert heard.belief.ignored == dark.belief.ignored  # what was said in the light counts
        assert heard.belief.present["volume"] > 1.2 * dark.belief.present["volume"]
        looks.answer(bench, 1, "relay_click", "4")  # it has one after all, and that clicks
        waiting = {entry.check for entry in study_of(bench, 1).action.locked if entry.by_gate}
        assert "vol_sweep" not in waiting


def test_a_look_of_the_name_of_a_function_is_not_the_function(tmp_path, nothing_hazardous):
    with BenchFile(tmp_path / "players.db", today=TODAY) as bench:
        lots.new_lot(bench, "box")
        units.add_units(bench, "cassette player")
        nothing_hazardous(bench)
        looks.answer(bench, 1, "speed", "x")  # no tone tape; the ear still judges
        assert "speed" in study_of(bench, 1).fixed.untested
