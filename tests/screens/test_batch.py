"""The same look down a list of units: one key an answer, each kept at once, and taken back alone."""

import pytest

from triage import store
from triage.actions import batch, looks
from triage.actions.lots import new_lot
from triage.actions.units import add_units, change_unit
from triage.screens.batch import BatchPage
from triage.screens.dialogs import Choose

SIZES = [(80, 24), (160, 50)]


@pytest.fixture
def pads(bench, clear_hazards):
    new_lot(bench, "shelf", paid=2000)
    numbers = [unit.number for unit in add_units(bench, "4 gamepads drift").units]
    for number in numbers:
        change_unit(bench, number, working=9000)
        clear_hazards(number)
    return numbers


@pytest.fixture
def answers(bench):
    return lambda: [
        (item.unit, item.subject, item.answer)
        for unit in store.units(bench.database)
        for item in store.happenings(bench.database, unit.number)
        if item.kind in {"answer", "reading"}
    ]


async def down_the_list(pilot, settled, press, check):
    await settled(pilot)
    await press(pilot, "d")
    assert isinstance(pilot.app.screen, Choose), pilot.app.screen.query_one("#said").content
    place = next(at for at, item in enumerate(pilot.app.screen._choices) if check(item))
    pilot.app.screen.query_one("OptionList").highlighted = place
    await press(pilot, "enter")


@pytest.mark.parametrize("size", SIZES)
async def test_one_key_a_unit_and_each_is_kept(start, settled, press, seen, bench, pads, answers, size):
    first = batch.batches(bench)[0]
    assert [row.unit for row in first.units] == pads
    async with start().run_test(size=size) as pilot:
        await down_the_list(pilot, settled, press, lambda item: item.id == "0")
        assert isinstance(pilot.app.screen, BatchPage)
        shown = seen(pilot.app)
        for text in (first.look.question, first.look.do[:50], "y  yes", "s  not now"):
            assert text in shown
        await press(pilot, "y")
        assert len(answers()) == 1  # on disk before the next
        await press(pilot, "n", "c", "s")
        assert [(unit, check) for unit, check, _ in answers()] == [(number, first.look.check) for number in pads]
        assert "every unit of the list is answered" in seen(pilot.app)
        await press(pilot, "u", "u")
        assert [unit for unit, _, _ in answers()] == pads[:2]
        await press(pilot, "c")
        assert answers()[-1] == (pads[2], first.look.check, "cant_tell")
        await press(pilot, "escape")
        assert not isinstance(pilot.app.screen, BatchPage)


async def test_a_hazard_comes_first_for_each_unit(start, settled, press, seen, bench, answers):
    new_lot(bench, "shelf")
    numbers = [unit.number for unit in add_units(bench, "2 gamepads drift").units]
    for number in numbers:
        change_unit(bench, number, working=9000)
    async with start().run_test(size=(80, 24)) as pilot:
        powered = next(one for one in batch.batches(bench) if one.look.powered)
        await down_the_list(pilot, settled, press, lambda item: item.text == powered.look.question)
        assert f"unit {numbers[0]}: " in seen(pilot.app)
        hazards = len(powered.units[0].ask_first)
        await press(pilot, *["n"] * hazards, "y")
        assert [unit for unit, _, _ in answers()] == [numbers[0]]
        await press(pilot, "y")
        assert "locked" in seen(pilot.app)
        assert [unit for unit, _, _ in answers()] == [numbers[0]]


async def test_a_reading_is_typed_where_one_is_asked_for(start, settled, press, seen, bench, clear_hazards, answers):
    new_lot(bench, "shelf")
    numbers = [unit.number for unit in add_units(bench, "3 turntables wrong speed").units]
    for number in numbers:
        change_unit(bench, number, working=20000)
        clear_hazards(number)
        looks.answer(bench, number, "platter", "y")
    readable = next(one for one in batch.batches(bench) if one.look.reading and not one.look.relative_to)
    before = answers()
    async with start().run_test(size=(80, 24)) as pilot:
        await down_the_list(pilot, settled, press, lambda item: item.text == readable.look.question)
        await press(pilot, "3", "n", "backspace", "escape")
        assert answers() == before
        await press(pilot, "1", "enter")
        [(number, check, _)] = set(answers()) - set(before)
        assert (number, check) == (readable.units[0].unit, readable.look.check)
        assert f"kept: unit {number}: 1: " in seen(pilot.app)
