"""What the Bench asks of the person and the unit: once, when it matters, by key or click, and never in the way."""

import pytest
from textual.widgets import Input

from triage.actions import findings, looks, settings, units
from triage.actions.lots import new_lot
from triage.actions.unit_view import unit_view
from triage.asking import Question
from triage.person import ALL_TOOLS
from triage.screens.bench_questions import reply
from triage.screens.dialogs import Choose, Form, Ticks
from triage.screens.person_form import PersonForm
from triage.screens.reading_line import ReadingLine

SIZES = [(80, 24), (160, 50)]


@pytest.fixture
def pads(bench, clear_hazards):
    """Two gamepads that are not worth a look at the assumed hour, and a console that is."""
    lot = new_lot(bench, "pads")
    units.add_units(bench, "2 gamepads drift\ndisc console", lot_id=lot.id)
    for number in (1, 2, 3):
        clear_hazards(number)
    return lot


async def on_unit(pilot, settled, number):
    pilot.app.unit_number = number
    pilot.app.refresh_places()
    await settled(pilot)


async def click_words(pilot, settled, seen, words):
    """Click on the first place where the screen shows these words."""
    for row, line in enumerate(seen(pilot.app).splitlines()):
        if words in line:
            await pilot.click(offset=(line.index(words), row))
            await settled(pilot)
            return
    pytest.fail(f"{words} is not on the screen")


@pytest.mark.parametrize("size", SIZES)
async def test_the_hour_then_three_facts_then_nothing(start, settled, press, seen, bench, pads, size):
    async with start("bench").run_test(size=size) as pilot:
        await on_unit(pilot, settled, 1)
        assert "What is an hour of your evening worth?" in seen(pilot.app)
        assert "meanwhile: STOP: AS-IS" in seen(pilot.app)
        await press(pilot, "enter")
        assert "hour_worth" in bench.said.names
        assert bench.person.hour_worth == 1200
        assert "How does it look?" in seen(pilot.app)
        await press(pilot, "3")
        assert units.get_unit(bench, 1).grade == "C"
        assert "Is it complete?" in seen(pilot.app)
        await press(pilot, "n")
        assert isinstance(pilot.app.screen, Form)
        pilot.app.screen.focused.value = "battery lid"
        await press(pilot, "enter")
        assert units.get_unit(bench, 1).complete == "battery lid"
        await press(pilot, "y")
        unit = units.get_unit(bench, 1)
        assert (unit.grade, unit.complete, unit.opened_before) == ("C", "battery lid", "yes")
        shown = seen(pilot.app)
        assert "STOP: AS-IS" in shown
        assert "Whoever gets it must be told: missing: battery lid" in shown
        assert "Whoever gets it must be told: it was opened before it came here" in shown
        before = bench.journal.history(limit=4)
        assert [event.action for event in before] == ["unit_change", "unit_change", "unit_change", "settings"]
        await press(pilot, "u")
        assert units.get_unit(bench, 1).opened_before == ""
        assert "Had somebody opened it" in seen(pilot.app)


async def test_a_question_put_off_stays_away_and_blocks_no_key(start, settled, press, seen, bench, pads):
    async with start("bench").run_test(size=(160, 50)) as pilot:
        await on_unit(pilot, settled, 1)
        await press(pilot, "s")
        assert "How does it look?" in seen(pilot.app)  # the hour is put off, not the unit
        await press(pilot, "v")
        assert "assumed until you say otherwise" in " ".join(seen(pilot.app).split())
        await press(pilot, "escape", "s")
        assert "STOP: AS-IS" in seen(pilot.app)
        await press(pilot, "right")
        assert "How does it look?" in seen(pilot.app)  # another unit is asked on its own
        await press(pilot, "l", "escape", "s", "left")
        assert "STOP: AS-IS" in seen(pilot.app)
        assert bench.said.names == {"currency"}
        unit = units.get_unit(bench, 1)
        assert (unit.grade, unit.complete, unit.opened_before, unit.keep) == ("", "", "", "")
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await on_unit(pilot, settled, 1)
        assert "What is an hour" in seen(pilot.app)  # the next evening it is asked again


async def test_an_hour_is_typed_and_a_look_comes_into_front(start, settled, press, seen, bench, pads):
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await on_unit(pilot, settled, 1)
        await press(pilot, "0")
        assert pilot.app.screen.query_one(ReadingLine).open
        await press(pilot, "enter")
        assert bench.person.hour_worth == 0
        assert pilot.app.place._view.action == "check"  # with a free hour a look pays
        assert pilot.app.place._prompt.kind == "look"


async def test_no_question_stands_before_a_look(start, settled, press, bench, pads):
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await on_unit(pilot, settled, 3)
        assert pilot.app.place._prompt.kind == "look"
        await press(pilot, "y")
        assert len(pilot.app.place._view.done) == len(bench.classes["disc_console"].hazards) + 1


async def test_what_a_question_does_not_take_changes_nothing(start, settled, press, seen, bench, pads):
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await on_unit(pilot, settled, 1)
        await press(pilot, "y")
        assert "does not take that" in seen(pilot.app)
        await press(pilot, "minus", "1", "enter")
        assert "hour_worth" not in bench.said.names
        await press(pilot, "escape", "enter", "y", "1", "n")
        assert isinstance(pilot.app.screen, Form)
        await press(pilot, "enter")  # nothing typed: it stays open
        assert isinstance(pilot.app.screen, Form)
        await press(pilot, "escape")
        assert units.get_unit(bench, 1).complete == ""


async def test_the_drawn_keys_can_be_clicked(start, settled, seen, bench, pads):
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await on_unit(pilot, settled, 1)
        await click_words(pilot, settled, seen, "keep what is assumed")
        assert "hour_worth" in bench.said.names
        await click_words(pilot, settled, seen, "1  A fine")
        assert units.get_unit(bench, 1).grade == "A"
        await click_words(pilot, settled, seen, "not now")
        assert "STOP: AS-IS" in seen(pilot.app)
        await on_unit(pilot, settled, 3)
        check = pilot.app.place._view.look.check
        await click_words(pilot, settled, seen, "can't tell")
        question = bench.classes["disc_console"].check(check).question
        assert f"{question} can't tell" in unit_view(bench, 3).done[-1].text


async def test_the_own_shelf_wants_its_worth(start, settled, press, seen, bench, pads):
    settings.change_person(bench, hour_worth=1200)
    gamepad = bench.classes["gamepad"]
    units.change_unit(bench, 1, grade="B", complete="yes")
    for check in gamepad.checks:
        if check.function:
            looks.answer(bench, 1, check.id, "n" if check.good == "no" else "y")
    findings.found(bench, 1, ())
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await on_unit(pilot, settled, 1)
        assert "Is it meant for your own shelf?" in seen(pilot.app)
        await press(pilot, "y")
        await press(pilot, "2", "5", "enter")
        unit = units.get_unit(bench, 1)
        assert (unit.keep, unit.own_worth) == ("yes", 2500)


@pytest.mark.parametrize("place", ["lot", "bench", "parts", "order"])
async def test_one_form_holds_the_person_from_every_place(start, settled, press, seen, bench, pads, place):
    async with start(place).run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "f9")
        assert isinstance(pilot.app.screen, PersonForm)
        assert "Still assumed" in seen(pilot.app)
        hour = pilot.app.screen.query_one("#in-hour_worth", Input)
        hour.value = "7"
        await press(pilot, "enter")
        assert bench.person.hour_worth == 700
        assert {"hour_worth", "tools", "live_mains", "tube", "list_minutes"} <= bench.said.names
        assert "scope" in bench.said.lacks
        events = len(bench.journal.history())
        await press(pilot, "f9")
        assert "Still assumed" not in seen(pilot.app)
        await press(pilot, "enter")  # nothing changed: nothing is written
        assert len(bench.journal.history()) == events


async def test_one_click_stands_on_a_unit_and_a_second_goes_to_the_bench(start, settled, bench, pads):
    async with start().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        listed = pilot.app.place.query_one("#units-list")
        here = listed.highlighted
        other = 0 if here else 1
        await pilot.click("#units-list", offset=(8, other))
        await settled(pilot)
        assert pilot.app.place.PLACE == "lot"
        assert pilot.app.unit_number == other + 1
        await pilot.click("#units-list", offset=(8, other))
        await settled(pilot)
        assert pilot.app.place.PLACE == "bench"
        assert pilot.app.place._view.unit.number == other + 1


async def test_a_training_is_kept_only_when_it_is_confirmed(start, settled, press, seen, bench, pads):
    async with start("lot").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "f9")
        ticks = pilot.app.screen.query_one(Ticks)
        ticks.focus()
        ticks.highlighted = len(ALL_TOOLS)
        await press(pilot, "space", "ctrl+s")
        assert "This unlocks steps that can kill" in seen(pilot.app)
        await press(pilot, "1")
        assert not bench.person.live_mains
        await press(pilot, "ctrl+s", "2")
        assert bench.person.live_mains


async def test_one_slip_of_a_key_gives_no_training(start, settled, press, pads):
    """The question comes where live metal is near; a second y out of haste opens nothing."""
    asked = Question("training", "Are you trained for live mains?", (), "live_mains")
    sent = []
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await on_unit(pilot, settled, 3)
        place = pilot.app.screen
        reply(place, asked, "yes", lambda work, words: sent.append(words))
        await settled(pilot)
        assert isinstance(pilot.app.screen, Choose)
        await press(pilot, "y", "enter", "escape")
        assert sent == []
        reply(place, asked, "yes", lambda work, words: sent.append(words))
        await settled(pilot)
        await press(pilot, "2")
        assert sent == ["yes"]
        reply(place, asked, "no", lambda work, words: sent.append(words))
        assert sent == ["yes", "no"]
