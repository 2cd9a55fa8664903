"""The swap test on the Bench: what is at risk is named before what came of it is asked."""

from triage import store
from triage.actions import looks
from triage.actions.lots import new_lot
from triage.actions.units import add_units
from triage.screens.dialogs import Choose


async def test_the_risk_is_named_then_the_outcome_is_kept_for_both(start, settled, press, seen, bench, clear_hazards):
    new_lot(bench, "shelf")
    for unit in add_units(bench, "2 gamepads").units:
        clear_hazards(unit.number)
        looks.answer(bench, unit.number, "connects", "y")
        looks.answer(bench, unit.number, "centre", "n" if unit.number == 1 else "y")
    app = start("bench")
    app.unit_number = 1
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "a", "1")
        assert isinstance(pilot.app.screen, Choose)
        shown = " ".join(seen(pilot.app).split())
        assert "The good one is at risk: unit 2" in shown
        assert shown.index("at risk") < shown.index("the fault moved with the part")
        assert not [item for item in store.happenings(bench.database, 1) if item.kind == "swap"]
        await press(pilot, "1")
        assert "both are back together" in seen(pilot.app)
        kept = {
            number: [item for item in store.happenings(bench.database, number) if item.kind == "swap"]
            for number in (1, 2)
        }
        assert [len(items) for items in kept.values()] == [2, 1]
        await press(pilot, "u")
        assert not [item for item in store.happenings(bench.database, 2) if item.kind == "swap"]


async def test_without_a_like_unit_that_is_good_it_says_so(start, settled, press, seen, bench, clear_hazards):
    new_lot(bench, "shelf")
    number = add_units(bench, "1 gamepad drift").units[0].number
    clear_hazards(number)
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "a")
        assert "no like unit" in seen(pilot.app)
