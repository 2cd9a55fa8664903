"""Before the form for a repair or a part that comes out, what would refuse it is asked or said."""

import pytest

from triage import store
from triage.actions import looks
from triage.actions.lots import new_lot
from triage.actions.units import add_units
from triage.screens.bench_forms import RepairForm
from triage.screens.dialogs import Choose, Form

HAZARDS = ("mains_inside", "stored_charge")


@pytest.fixture
def console(bench):
    lot = new_lot(bench, "shelf", paid=2000)
    return add_units(bench, "1 disc console dead", lot_id=lot.id).units[0].number


@pytest.fixture
def said(bench):
    return lambda number: [
        (item.subject, item.answer) for item in store.happenings(bench.database, number) if item.kind == "hazard"
    ]


def title(pilot):
    return pilot.app.screen._title


async def to_the_form(pilot, press, key, answer="2"):
    """Press the key and answer the hazard questions that come; gives back the titles of the questions."""
    asked = []
    await press(pilot, key)
    while isinstance(pilot.app.screen, Choose) and title(pilot).endswith("?") and "comes out" not in title(pilot):
        asked.append(title(pilot))
        await press(pilot, answer)
    return asked


async def test_a_repair_asks_before_its_form_opens(bench, console, start, press, said, seen):
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await press(pilot, "f3")
        asked = await to_the_form(pilot, press, "r")
        questions = {hazard.id: hazard.question for hazard in bench.classes["disc_console"].hazards}
        assert asked == [questions[name] for name in HAZARDS]
        assert said(console) == [(name, "no") for name in HAZARDS]
        assert isinstance(pilot.app.screen, RepairForm)
        await press(pilot, "space", "enter")
        assert not isinstance(pilot.app.screen, Form), seen(pilot.app)
    assert [item.kind for item in store.happenings(bench.database, console)][-1] == "repair"


async def test_a_part_that_comes_out_asks_before_the_list(console, start, press, said):
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await press(pilot, "f3")
        assert len(await to_the_form(pilot, press, "j")) == len(HAZARDS)
        assert "which part comes out" in title(pilot)
        assert said(console) == [(name, "no") for name in HAZARDS]


async def test_yes_goes_on_once_it_is_released_and_a_lock_is_said_at_once(bench, console, start, press, seen):
    async with start("bench").run_test(size=(160, 50)) as pilot:
        await press(pilot, "f3")
        await press(pilot, "r", "1")  # yes
        assert title(pilot) == "Done already?"
        await press(pilot, "escape")
        await press(pilot, "r")
        assert not isinstance(pilot.app.screen, Form | Choose)
        assert "locked: Mains inside" in seen(pilot.app)
        looks.release(bench, console, "mains_inside", bench.classes["disc_console"].hazards[0].releases[0])
        await press(pilot, "r")
        assert title(pilot) == bench.classes["disc_console"].hazards[1].question
        await press(pilot, "1")
        assert title(pilot) == "Done already?"
        await press(pilot, "1")
        assert isinstance(pilot.app.screen, RepairForm)
