"""A fault that is on no list, added on the Bench and taken off again."""

import pytest

from triage.actions import looks, units
from triage.actions.lots import new_lot
from triage.actions.studies import study_of
from triage.own_faults import own_faults
from triage.screens.bench_suspect import SuspectForm
from triage.screens.dialogs import Choose

SIZES = [(80, 24), (160, 50)]


@pytest.mark.parametrize("size", SIZES)
async def test_it_is_added_and_taken_off(start, settled, press, seen, bench, clear_hazards, size):
    new_lot(bench, "pads")
    units.add_units(bench, "gamepad drift")
    clear_hazards(1)
    looks.answer(bench, 1, "charge", "bad")
    async with start("bench").run_test(size=size) as pilot:
        await settled(pilot)
        await press(pilot, "z")
        assert isinstance(pilot.app.screen, SuspectForm)
        assert pilot.app.screen.ticked == ("charge",)
        pilot.app.screen.focused.value = "cracked board"
        pilot.app.screen.query_one("#in-chance").value = "often"
        await press(pilot, "enter")
        assert "expected a number above 1" in seen(pilot.app)
        pilot.app.screen.query_one("#in-chance").value = "4"
        pilot.app.screen.query_one("#in-cost").value = "3,50"
        await press(pilot, "enter")
        (fault,) = own_faults(study_of(bench, 1).facts.happenings).values()
        assert (fault.what, fault.shows, fault.chance, fault.cost) == ("cracked board", ("charge",), 0.25, 350)
        assert "cracked board" in seen(pilot.app)
        await press(pilot, "z")
        assert isinstance(pilot.app.screen, Choose)
        await press(pilot, "2")
        assert own_faults(study_of(bench, 1).facts.happenings) == {}
