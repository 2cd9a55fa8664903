import threading
from types import SimpleNamespace

import msgspec
import pytest
from textual import events
from textual.widgets import Input

from triage import store
from triage.actions import looks
from triage.actions.look_view import told_apart
from triage.actions.lots import new_lot
from triage.actions.studies import study_of
from triage.actions.unit_view import Suspect, unit_view
from triage.actions.units import add_units, change_unit, get_unit
from triage.bench_file import BenchFile
from triage.reach import reach
from triage.screens import bench as bench_module
from triage.screens.bench_ask import below_title, prompt_of
from triage.screens.bench_draw import bar, branches, suspects
from triage.screens.bench_forms import RepairForm
from triage.screens.dialogs import Choice, Choose, Form, Page
from triage.screens.parts import PartsScreen

SIZES = [(80, 24), (160, 50)]
HOSTILE = "[b]x[/y] [@click=app.quit]go[/] \x1b]0;owned\x07"


@pytest.fixture
def lot(bench):
    return new_lot(bench, "shelf", paid=2000)


@pytest.fixture
def console(bench, lot):
    return add_units(bench, "1 disc console dead", lot_id=lot.id).units[0].number


@pytest.fixture
def radio(bench, lot):
    number = add_units(bench, "1 radio no sound", lot_id=lot.id).units[0].number
    change_unit(bench, number, working=9000)
    return number


@pytest.fixture
def happenings(bench):
    return lambda number: store.happenings(bench.database, number)


@pytest.fixture
def prompt():
    return lambda pilot: pilot.app.screen._prompt


@pytest.fixture
def take_look(settled, press):
    """Puts a look of that kind in front by the list of looks."""

    async def taken(pilot, wanted):
        await press(pilot, "l")
        place = next(at for at, item in enumerate(pilot.app.screen._choices) if wanted(item.id))
        pilot.app.screen.query_one("OptionList").highlighted = place
        await press(pilot, "enter")

    return taken


@pytest.mark.parametrize("size", SIZES)
async def test_what_was_typed_of_it_stands_below_what_was_done(start, settled, seen, bench, lot, size):
    number = add_units(bench, "1 radio crackles when i turn the volume", lot_id=lot.id).units[0].number
    change_unit(bench, number, note="two screws missing")
    async with start("bench").run_test(size=size) as pilot:
        await settled(pilot)
        assert "came as “1 radio crackles when i turn the volume”; two screws missing" in seen(pilot.app)


@pytest.mark.parametrize("size", SIZES)
async def test_cautions_first_then_one_question_its_keys_and_what_is_known(
    start, settled, seen, bench, console, clear_hazards, size
):
    clear_hazards(console)
    view = unit_view(bench, console)
    async with start("bench").run_test(size=size) as pilot:
        await settled(pilot)
        shown = seen(pilot.app)
        order = [shown.index(text) for text in (view.class_name, view.cautions[0], view.look.question, " y ")]
        assert order == sorted(order)
        assert view.look.do in shown
        assert f"about {view.look.minutes:g} min" in shown
        assert f"{view.suspects[0].chance * 100:.0f} %" in shown
        for word in ("FIX", "AS-IS", "PART-OUT", "ahead of", "not tested yet", "c  can't tell", "s  not now"):
            assert word in shown


async def test_an_answer_is_on_disk_before_the_next_question(
    start, settled, press, seen, prompt, happenings, radio, clear_hazards
):
    clear_hazards(radio)
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for key, said, word in (("n", "no", "bad"), ("c", "can't tell", "cant_tell"), ("s", "not now", "not_tested")):
            before = len(happenings(radio))
            held = prompt(pilot)
            if held.kind != "look":
                break
            shown_with = []

            def watched(view, drawn=pilot.app.screen._worked, shown_with=shown_with):
                shown_with.append(len(happenings(radio)))
                drawn(view)

            pilot.app.screen._worked = watched
            await press(pilot, key)
            assert shown_with
            assert all(count > before for count in shown_with)
            last = happenings(radio)[-1]
            assert last.subject == held.look.check
            assert last.answer == word or key == "n"
            told = {"good": " — as it should be", "bad": " — not as it should be"}.get(last.answer, "")
            assert f"kept: {held.look.question} {said}{told}" in seen(pilot.app)
            assert prompt(pilot).look != held.look


async def test_a_second_press_before_the_next_question_answers_nothing(
    start, settled, prompt, happenings, radio, clear_hazards
):
    clear_hazards(radio)
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        before = len([item for item in happenings(radio) if item.kind == "answer"])
        pilot.app.screen.action_answer("no")
        pilot.app.screen.action_answer("no")
        await settled(pilot)
        assert len([item for item in happenings(radio) if item.kind == "answer"]) == before + 1


async def test_u_takes_the_answer_back_and_the_question_returns(
    start, settled, press, seen, prompt, happenings, radio, clear_hazards
):
    clear_hazards(radio)
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        first, count = prompt(pilot).title, len(happenings(radio))
        await press(pilot, "n")
        assert len(happenings(radio)) > count
        await press(pilot, "u")
        assert len(happenings(radio)) == count
        assert prompt(pilot).title == first
        assert "taken back: unit" in seen(pilot.app)


async def test_a_digit_starts_a_reading_and_a_wrong_one_is_kept_to_mend(
    start, settled, press, seen, prompt, happenings, bench, radio, clear_hazards, take_look
):
    clear_hazards(radio)
    checks = {check.id: check for check in bench.classes["portable_radio"].checks}
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await take_look(pilot, lambda name: checks[name].reading is not None and not checks[name].reading.relative_to)
        look = prompt(pilot).look
        assert look.reading in seen(pilot.app)
        await pilot.press("4")
        field = pilot.app.screen.query_one("#reading-in", Input)
        assert field.has_focus
        assert field.value == "4"
        await pilot.press(*"..9")
        await press(pilot, "enter")
        assert field.value == "4..9"
        assert "is no reading" in seen(pilot.app)
        field.value = "4,9"
        await press(pilot, "enter")
        last = happenings(radio)[-1]
        assert (last.kind, last.subject, last.value) == ("reading", look.check, 4.9)
        assert not field.has_focus


async def test_o_is_a_reading_where_one_is_asked_and_esc_leaves_it(
    start, settled, press, bench, radio, clear_hazards, take_look, happenings
):
    clear_hazards(radio)
    checks = {check.id: check for check in bench.classes["portable_radio"].checks}
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await take_look(pilot, lambda name: checks[name].reading is not None)
        count = len(happenings(radio))
        await press(pilot, "o")
        assert pilot.app.screen.query_one("#reading-in", Input).value == "o"
        await press(pilot, "escape", "escape")
        assert not pilot.app.screen.query_one("#reading").display
        assert pilot.app.screen._chosen is None
        assert len(happenings(radio)) == count


async def test_a_digit_where_no_reading_is_asked_says_so(start, settled, press, seen, happenings, radio):
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "7")
        assert "no reading is asked for here" in seen(pilot.app)
        assert not happenings(radio)


async def test_a_hazard_is_asked_first_and_yes_locks_until_released(
    start, settled, press, seen, prompt, happenings, bench, radio
):
    hazard = unit_view(bench, radio).ask_first
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert prompt(pilot).title == hazard.question
        await press(pilot, "c")
        assert not happenings(radio)
        await press(pilot, "y")
        assert (happenings(radio)[-1].subject, happenings(radio)[-1].answer) == (hazard.id, "yes")
        assert isinstance(pilot.app.screen, Choose)
        assert hazard.releases[0] in seen(pilot.app)
        await press(pilot, "escape")
        assert hazard.caution in seen(pilot.app)
        assert unit_view(bench, radio).hazards_in_force
        await press(pilot, "h")
        assert "IN FORCE" in seen(pilot.app)
        await press(pilot, "1", "1")
        assert happenings(radio)[-1].kind == "release"
        assert not unit_view(bench, radio).hazards_in_force
        assert hazard.caution not in seen(pilot.app).split("? help")[0] or prompt(pilot).kind == "hazard"


async def test_a_repair_is_noted_and_its_retest_comes_next(
    start, settled, press, seen, prompt, happenings, bench, radio, clear_hazards
):
    clear_hazards(radio)
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "n", "r")
        form = pilot.app.screen
        assert isinstance(form, RepairForm)
        await press(pilot, "enter")
        if not form.ticked:
            assert "name what was repaired" in seen(pilot.app)
            ticks = form.query_one("#ticks")
            ticks.focus()
            ticks.highlighted = 0
            await press(pilot, "space")
            form.query_one("#in-minutes", Input).value = "12"
            form.query_one("#in-minutes", Input).focus()
            await press(pilot, "enter")
        done = next(item for item in happenings(radio) if item.kind == "repair")
        assert done.subject
        found = study_of(bench, radio)
        assert "retest" in found.action.reason
        assert prompt(pilot).look.check == found.action.check


async def test_a_unit_in_doubt_is_settled_by_a_digit(start, settled, press, seen, prompt, bench, lot):
    number = add_units(bench, "1 whatsit", lot_id=lot.id).units[0].number
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "What is it?" in seen(pilot.app)
        first = prompt(pilot).keys[0][1]
        await press(pilot, "1")
        assert bench.classes[get_unit(bench, number).device_class].name == first


async def test_answers_that_cannot_all_be_right_are_shown_and_mended(
    start, settled, press, seen, prompt, bench_path, certain_lamp
):
    folder = bench_path.parent / "classes"
    folder.mkdir()
    (folder / "lamp.toml").write_text(certain_lamp, encoding="utf-8")
    with BenchFile(bench_path) as bench:
        assert bench.class_problems == ()
        number = add_units(bench, "1 lamp", lot_id=new_lot(bench, "shelf").id).units[0].number
        looks.answer(bench, number, "glow", "bad")
        looks.case(bench, number, "opened")
        looks.answer(bench, number, "rock", "good")
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert prompt(pilot).kind == "conflict"
        assert "These answers cannot all be right" in seen(pilot.app)
        assert "none on the list" not in seen(pilot.app)
        assert "hardly go together" not in seen(pilot.app)
        await press(pilot, "w")
        assert "move nothing: mend one first" in seen(pilot.app)
        await press(pilot, "escape", "l")
        assert "no look can help before one of these answers is mended" in seen(pilot.app)
        await press(pilot, "2")
        assert isinstance(pilot.app.screen, Choose | Form)


async def test_notes_why_sums_and_pile(start, settled, press, seen, bench, happenings, radio, clear_hazards):
    clear_hazards(radio)
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "n", "t")
        pilot.app.screen.query_one("#in-note", Input).value = HOSTILE
        await press(pilot, "enter")
        assert happenings(radio)[-1].raw == "[b]x[/y] [@click=app.quit]go[/]"
        await press(pilot, "w")
        assert isinstance(pilot.app.screen, Page)
        await press(pilot, "escape", "v")
        assert seen(pilot.app).splitlines()[-2].strip("│ ") == "Esc closes this page"
        for word in ("works, sold", "sold as it stands", "parts together", "The answer turns to"):
            assert any(word in line.plain for line in [pilot.app.screen._text])
        await press(pilot, "escape", "p", "3")
        assert isinstance(pilot.app.screen, Form)
        await press(pilot, *"gift", "enter")
        assert get_unit(bench, radio).pile == "as_is"


async def test_hostile_names_are_shown_literally_on_the_bench(start, settled, press, seen, bench):
    lot = new_lot(bench, "[b]lot[/x]")
    number = add_units(bench, "1 radio no sound", lot_id=lot.id).units[0].number
    change_unit(bench, number, model="[u]M[/z]")
    looks.note(bench, number, HOSTILE)
    async with start("bench").run_test(size=(160, 50)) as pilot:
        await settled(pilot)
        shown = seen(pilot.app)
        for text in ("[b]lot[/x]", "[u]M[/z]", "[b]x[/y] [@click=app.quit]go[/]"):
            assert text in shown
        assert not {"\x1b", "\x07"} & set(shown)


async def test_coming_back_tells_where_one_was(start, settled, press, seen, radio, clear_hazards):
    clear_hazards(radio)
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "Where was I:" in seen(pilot.app)
        await press(pilot, "n")
        assert "Where was I:" not in seen(pilot.app)


async def test_units_before_and_after_and_the_next_that_pays(start, settled, press, prompt, bench, lot):
    add_units(bench, "1 radio no sound\n1 gamepad drift\n1 disc console dead", lot_id=lot.id)
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert pilot.app.unit_number == 1
        await press(pilot, "right")
        assert pilot.app.unit_number == 2
        await press(pilot, "left_square_bracket", "left")
        assert pilot.app.unit_number == 3
        pilot.app.unit_number = 2
        await press(pilot, "b")
        assert unit_view(bench, pilot.app.unit_number).pile == "undecided"
        assert pilot.app.unit_number != 2


async def test_a_locked_look_is_refused_in_one_line_and_can_still_be_left(
    start, settled, press, seen, prompt, bench, radio, clear_hazards
):
    clear_hazards(radio)
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for hazard in bench.classes["portable_radio"].hazards:
            looks.hazard(bench, radio, hazard.id, "yes")
        await press(pilot, "n")
        if prompt(pilot).look is not None and prompt(pilot).look.powered:
            assert "locked" in seen(pilot.app)
        await press(pilot, "right")
        assert not pilot.app.screen._busy


async def test_large_letters_and_back(start, settled, press, seen, prompt, radio, clear_hazards):
    clear_hazards(radio)
    async with start("bench").run_test(size=(160, 50)) as pilot:
        await settled(pilot)
        title = prompt(pilot).title
        await press(pilot, "B")
        assert title not in seen(pilot.app)
        assert "█" in seen(pilot.app)
        assert " y " in seen(pilot.app)
        await press(pilot, "B")
        assert title in seen(pilot.app)


async def test_d_goes_to_describe_the_part(start, settled, press, radio):
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "d")
        assert any(isinstance(screen, PartsScreen) for screen in pilot.app.screen_stack)


def test_bars_tell_their_chance_and_stay_in_their_width(bench, radio):
    assert [len(bar(chance, 10)) for chance in (0.0, 0.013, 0.5, 1.0, 1.2)] == [10] * 5
    assert bar(0.5, 10).count("█") == 5
    for width in (30, 39, 80):
        lines = suspects(unit_view(bench, radio), width, 4).plain.splitlines()
        assert all(len(line) <= width for line in lines)
    assert "none on the list" in lines[-1]


def test_a_wide_screen_names_every_suspect_in_full(bench):
    longest = max((fault.what for one in bench.classes.values() for fault in one.faults), key=len)
    view = SimpleNamespace(
        suspects=[Suspect("x", longest, 0.5, 0.5, True)], far_fetched=False, left_out=0.0, conflict=()
    )
    view.nothing_listed = 0.1
    assert longest in suspects(view, 87, 12).plain


def test_a_prompt_says_its_keys(bench, radio, clear_hazards):
    view = unit_view(bench, radio)
    assert prompt_of(view, None, (), ()).kind == "hazard"
    assert view.ask_first.caution in below_title(prompt_of(view, None, (), ())).plain
    clear_hazards(radio)
    text = below_title(prompt_of(unit_view(bench, radio), None, (), ())).plain
    for key in (" y ", " n ", " c ", " s "):
        assert key in text


async def test_a_chosen_look_asks_its_hazards_first(start, settled, press, prompt, bench, lot, take_look, happenings):
    number = add_units(bench, "1 gamepad", lot_id=lot.id).units[0].number
    checks = {check.id: check for check in bench.classes["gamepad"].checks}
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await take_look(pilot, lambda name: checks[name].powered)
        chosen = pilot.app.screen._chosen
        asked = [hazard.id for hazard in chosen.ask_first]
        assert asked
        for hazard_id in asked:
            assert prompt(pilot).hazard.id == hazard_id
            await press(pilot, "n")
            assert happenings(number)[-1].subject == hazard_id
        assert prompt(pilot).look.check == chosen.check
        await press(pilot, "y")
        assert happenings(number)[-1].subject == chosen.check


async def test_a_reading_that_comes_in_one_burst_is_kept_whole(
    start, settled, press, bench, radio, clear_hazards, take_look, happenings
):
    clear_hazards(radio)
    checks = {check.id: check for check in bench.classes["portable_radio"].checks}
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await take_look(pilot, lambda name: checks[name].reading is not None and not checks[name].reading.relative_to)
        for typed in "4k7":
            pilot.app.post_message(events.Key(typed, typed))
        await settled(pilot)
        assert pilot.app.screen.query_one("#reading-in", Input).value == "4k7"
        assert not any(item.kind == "case" for item in happenings(radio))


async def test_a_stray_enter_releases_no_hazard(start, settled, press, seen, bench, lot, happenings):
    number = add_units(bench, "1 gamepad", lot_id=lot.id).units[0].number
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "y")
        assert isinstance(pilot.app.screen, Choose)
        await press(pilot, "enter", "enter")
        assert [item.kind for item in happenings(number)] == ["hazard"]
        await press(pilot, "escape")
        assert happenings(number)[-1].answer == "yes"


async def test_space_ticks_and_enter_keeps_what_is_ticked(start, settled, press, bench, lot, happenings, clear_hazards):
    number = add_units(bench, "1 gamepad", lot_id=lot.id).units[0].number
    clear_hazards(number)
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "r")
        form = pilot.app.screen
        assert isinstance(form, RepairForm)
        await press(pilot, "space")  # nothing is proposed: the faults have the keys
        ticked = form.ticked
        assert ticked
        await press(pilot, "enter")
        assert happenings(number)[-1].subject.split() == list(ticked)


async def test_a_message_is_over_once_another_key_does_something(start, settled, press, seen, radio):
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "m")
        assert "there is no answer to mend yet" in seen(pilot.app)
        await press(pilot, "B")
        assert "there is no answer to mend yet" not in seen(pilot.app)


async def test_a_refusal_names_the_unit_and_no_name_out_of_the_files(start, settled, press, seen, radio, clear_hazards):
    clear_hazards(radio)
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "r", "enter")
        assert f"! unit {radio}: name what was repaired" in seen(pilot.app)


async def test_tools_are_named_in_words(start, settled, seen, bench, lot):
    number = add_units(bench, "1 amp dead", lot_id=lot.id).units[0].number
    async with start("bench").run_test(size=(160, 50)) as pilot:
        pilot.app.unit_number = number
        await settled(pilot)
        assert "needs a tool you do not have: insulation tester" in seen(pilot.app)
        assert "insulation_tester" not in seen(pilot.app)


def test_looks_that_ask_the_same_say_what_is_done(bench, radio):
    checks = study_of(bench, radio).device_class.checks
    told = told_apart(checks)
    assert len(set(told.values())) == len(checks)
    alike = [check for check in checks if check.question == "Did anything change?"]
    assert len(alike) > 1
    assert all(told[check.id] == f"{check.do} {check.question}" for check in alike)


def test_a_sum_without_spread_names_no_range(bench, radio):
    view = unit_view(bench, radio)
    as_is = next(item for item in view.branches if item.kind == "as_is")
    assert as_is.low == as_is.high
    assert reach(as_is, "EUR") == "no spread"


def test_a_sure_loss_says_so_alone_where_no_room_is_for_both(bench, radio):
    view = unit_view(bench, radio)
    lost = msgspec.structs.replace(next(item for item in view.branches if item.low == item.high), loss_chance=1.0)
    view = msgspec.structs.replace(view, branches=(lost,))
    narrow, wide = (branches(view, "EUR", width).plain for width in (38, 60))
    assert narrow.endswith(" loss 100 %")
    assert "no spread" not in narrow
    assert max(map(len, narrow.splitlines())) <= 38
    assert wide.endswith(" no spread, loss 100 %")


@pytest.mark.parametrize("keys", ["11", "1\r", "12345"])
async def test_keys_that_follow_a_choice_too_fast_do_nothing_more(start, settled, press, keys):
    async with start("lot").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        chosen = []
        pilot.app.push_screen(Choose("Which?", [Choice(name, name) for name in "abcdef"]), chosen.append)
        await settled(pilot)
        for typed in keys:
            pilot.app.post_message(events.Key("enter" if typed == "\r" else typed, typed))
        await settled(pilot)
        assert chosen == ["a"]


async def test_while_a_unit_is_worked_out_keys_answer_nothing_and_another_unit_may_be_chosen(
    start, settled, press, seen, prompt, until, happenings, radio, console, clear_hazards, monkeypatch
):
    """A unit whose answers tie many faults takes seconds: nothing is lost, nothing is answered by mistake."""
    clear_hazards(radio)
    began, go_on, real = threading.Event(), threading.Event(), bench_module.unit_view

    def slow(opened, number):
        if number != radio:
            began.set()
            go_on.wait(60)
        return real(opened, number)

    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert pilot.app.unit_number == radio
        asked, before = prompt(pilot).title, len(happenings(radio))
        monkeypatch.setattr(bench_module, "unit_view", slow)
        try:
            await pilot.press("right")
            await until(pilot, began)
            assert asked not in seen(pilot.app)
            assert "working it out" in seen(pilot.app)
            assert pilot.app.unit_number == console
            await pilot.press("n")
            await pilot.pause()
            assert "that key was not taken" in seen(pilot.app)
            await pilot.press("left")
        finally:
            go_on.set()
        await settled(pilot)
        assert pilot.app.unit_number == radio
        assert prompt(pilot).title == asked
        assert len(happenings(radio)) == before
        assert happenings(console) == []
        await press(pilot, "n")
        assert len(happenings(radio)) > before
