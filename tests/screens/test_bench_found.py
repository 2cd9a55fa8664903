"""The place Bench: saying what was wrong, and the sheet of a model."""

import pytest
from textual.widgets import Input

from triage import store
from triage.actions import looks, lots, units
from triage.screens.bench_found import FoundForm
from triage.screens.dialogs import Choose, Form, Ticks

SIZES = pytest.mark.parametrize("size", [(80, 24), (160, 50)])


@pytest.fixture
def pad(bench, clear_hazards):
    """A repaired gamepad of which every function was shown to work, and one more of its model."""
    lots.new_lot(bench, "cellar shelf")
    units.add_units(bench, "2 gamepad stick drift")
    for number in (1, 2):
        clear_hazards(number)
        units.change_unit(bench, number, model="GP-7")
    looks.answer(bench, 1, "connects", "y")
    looks.answer(bench, 1, "centre", "-14")
    looks.repair(bench, 1, ("stick_pot",))
    for check in bench.classes["gamepad"].checks:
        if check.function:
            looks.answer(bench, 1, check.id, "good")
    return bench


def found(bench):
    return [item.subject for item in store.happenings(bench.database, 1) if item.kind == "found"]


@SIZES
async def test_when_all_works_one_key_says_what_it_was(pad, start, press, settled, seen, size):
    async with start("bench").run_test(size=size) as pilot:
        await settled(pilot)
        assert "All works. Was it this:" in seen(pilot.app)
        await press(pilot, "y")
        assert found(pad) == ["stick_pot"]
        assert pilot.app.place._prompt.question is None or pilot.app.place._prompt.question.kind != "found"
        await press(pilot, "u")
        assert found(pad) == []


@SIZES
async def test_or_something_else_is_ticked(pad, start, press, settled, seen, size):
    async with start("bench").run_test(size=size) as pilot:
        await settled(pilot)
        await press(pilot, "n")
        form = pilot.app.screen
        assert isinstance(form, FoundForm)
        assert form.ticked == ("stick_pot",)
        form.query_one(Ticks).highlighted = form.query_one(Ticks).option_count - 1
        await press(pilot, "space", "enter")
        assert "either something was wrong with it, or nothing" in seen(pilot.app)
        assert found(pad) == []
        form.query_one(Ticks).highlighted = [thing.id for thing in form.query_one(Ticks)._things].index("stick_pot")
        await press(pilot, "space", "enter")
        assert found(pad) == [""]
        await press(pilot, "g")
        assert pilot.app.screen.ticked == ("nothing",)


@SIZES
async def test_the_sheet_takes_a_line_and_strikes_it(pad, start, press, settled, seen, size):
    async with start("bench").run_test(size=size) as pilot:
        await settled(pilot)
        await press(pilot, "i")
        assert isinstance(pilot.app.screen, Choose)
        assert "GP-7: its sheet" in seen(pilot.app)
        await press(pilot, "1", "1")
        assert isinstance(pilot.app.screen, Form)
        pilot.app.screen.query_one("#in-place", Input).value = "pad by the plug"
        pilot.app.screen.query_one("#in-text", Input).value = "3.3 V"
        await press(pilot, "enter", "i")
        assert "volts to expect: pad by the plug: 3.3 V" in seen(pilot.app)
        await press(pilot, "2", "1")
        assert store.model_lines(pad.database, "gamepad") == []


@SIZES
async def test_what_was_found_stands_beside_the_class_file(pad, start, press, settled, seen, size):
    async with start("bench").run_test(size=size) as pilot:
        await settled(pilot)
        await press(pilot, "y", "i", "2", "1")
        text = seen(pilot.app)
        assert "class file  your bench  this model   used" in text
        assert "1 of 1" in text
        await press(pilot, "escape", "i", "2", "2")
        assert "learned anew from now on" in seen(pilot.app)
