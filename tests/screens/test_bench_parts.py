"""The place Bench: which parts a repair used, parts that are taken out, and parts that go back in."""

import pytest
from textual.widgets import Input

from triage import store
from triage.actions import lifting, looks, lots, needs, parts, unit_view, units
from triage.screens.bench_forms import RepairForm
from triage.screens.bench_used import UsedList
from triage.screens.dialogs import Choose, Ticks

SIZES = pytest.mark.parametrize("size", [(80, 24), (160, 50)])


@pytest.fixture
def pads(bench, clear_hazards):
    """Two gamepads; the first is to have its stick module changed, which lies in the drawer, with things beside it."""
    lots.new_lot(bench, "cellar shelf", paid=1000)
    units.add_units(bench, "2 gamepad stick drift")
    for number in (1, 2):
        clear_hazards(number)
        units.change_unit(bench, number, working=9000, model="GP-7")
        units.overrule(bench, number, "fix", "sells well")
    for check, said in (("connects", "y"), ("centre", "-14"), ("blow_retest", "n"), ("circle", "84")):
        looks.answer(bench, 1, check, said)
    parts.add_part(bench, "stick module", part_number="SM-4K", kind="listed", quantity=2, place="box A")
    parts.add_part(bench, "screw set M2", quantity=20, place="tin")
    parts.add_part(bench, "stick module", part_number="SM-9", kind="listed", quantity=1, place="box B")
    needs.describe_need(bench, 1, "stick_module", "SM-4K", kind="listed")
    return bench


def held(bench):
    return [part.quantity for part in parts.list_parts(bench)]


@pytest.fixture
def repair_form(settled, press):
    """Opens the form of a repair with the likeliest fault ticked, the cursor in its first line."""

    async def opened(pilot):
        await settled(pilot)
        await press(pilot, "r")
        pilot.app.screen.query_one("#ticks", Ticks).focus()
        await press(pilot, "home", *([] if pilot.app.screen.ticked else ["space"]), "tab")
        assert pilot.app.screen.ticked == ("stick_pot",)

    return opened


@SIZES
async def test_enter_takes_what_the_repair_tells_from_the_drawer(pads, start, press, repair_form, settled, seen, size):
    async with start("bench").run_test(size=size) as pilot:
        await repair_form(pilot)
        assert isinstance(pilot.app.screen, RepairForm)
        assert "from the drawer: 1 × SM-4K stick module, box A" in seen(pilot.app)
        await press(pilot, "enter")
        assert held(pads) == [1, 20, 1]
        assert unit_view.unit_view(pads, 1).done[-1].text.endswith("(used: 1 × SM-4K stick module, box A)")
        await press(pilot, "u")
        assert held(pads) == [2, 20, 1]


@SIZES
async def test_other_parts_are_searched_and_ticked_with_their_pieces(
    pads, start, press, repair_form, settled, seen, size
):
    async with start("bench").run_test(size=size) as pilot:
        await repair_form(pilot)
        line = pilot.app.screen.query_one("#in-used", Input)
        line.focus()
        await press(pilot, *"screw", "down")
        assert pilot.app.screen.query_one(UsedList).has_focus
        await press(pilot, "home", "3")
        assert "[3] " in seen(pilot.app)
        line.value = ""
        await settled(pilot)
        assert pilot.app.screen.named == ((2, 3), (1, 1))
        await press(pilot, "enter")
        assert held(pads) == [1, 17, 1]
        assert "3 × screw set M2, tin; 1 × SM-4K stick module, box A" in unit_view.unit_view(pads, 1).done[-1].text


async def test_what_the_plan_takes_from_the_drawer_is_ticked_before_the_order_is_sent(
    bench, clear_hazards, start, press, settled, seen
):
    lots.new_lot(bench, "cellar shelf", no_cash_limit=True)
    units.add_units(bench, "gamepad stick drift")
    clear_hazards(1)
    units.change_unit(bench, 1, working=9000)
    units.overrule(bench, 1, "fix", "sells well")
    parts.add_part(bench, "resistor 10k 0.5W 1%", quantity=5, place="tin")
    parts.add_part(bench, "resistor 10k 0.25W 5%", quantity=5, place="box 2")
    device_class = bench.classes["gamepad"]
    fault = next(fault for fault in device_class.faults if "stick_module" in fault.needs)
    needs.describe_need(bench, 1, "stick_module", "resistor 10k 0.25W 1%", kind="resistor", compromise_ok=True)
    async with start("order").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        (line,) = pilot.app.planned[1].drawer
        await press(pilot, "f3", "r")
        faults = pilot.app.screen.query_one("#ticks", Ticks)
        faults.focus()
        await press(pilot, "home", *([] if fault.id in pilot.app.screen.ticked else ["space"]))
        assert fault.id in pilot.app.screen.ticked
        assert pilot.app.screen.named == ((line.part_id, 1),)
        assert "[1] " in seen(pilot.app)
        assert "as planned" in seen(pilot.app)
        await press(pilot, "space")  # another fault wants another part
        assert pilot.app.screen.named == ()
        await press(pilot, "space")
        used = pilot.app.screen.query_one(UsedList)
        used.focus()
        await press(pilot, "home", "0")
        assert pilot.app.screen.named == ()
        faults.focus()
        await press(pilot, "home", "space", "space")  # what was said by hand stands
        assert pilot.app.screen.named == ()
        used.focus()
        await press(pilot, "home", "space", "enter")
    assert [part.quantity for part in parts.list_parts(bench) if part.id == line.part_id] == [4]


async def test_what_leaves_follows_the_faults_that_are_ticked(pads, start, press, repair_form, seen):
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await repair_form(pilot)
        assert "from the drawer" in seen(pilot.app)
        pilot.app.screen.query_one("#ticks", Ticks).focus()
        await press(pilot, "home", "space")
        assert pilot.app.screen.ticked == ()
        assert "from the drawer" not in seen(pilot.app)


@SIZES
async def test_a_part_comes_out_for_a_unit_that_waits_and_goes_back(pads, start, press, settled, seen, size):
    with pads.journal.event("count", "for the test", at=pads.now()) as recorder:
        recorder.update("parts", 1, {"quantity": 0})
    async with start("bench").run_test(size=size) as pilot:
        await settled(pilot)
        pilot.app.unit_number = 2
        pilot.app.place.refresh_place()
        await settled(pilot)
        await press(pilot, "j")
        assert isinstance(pilot.app.screen, Choose)
        await press(pilot, "1")
        assert "unit 1 waits for it: stick module" in seen(pilot.app)
        await press(pilot, "1")
        assert pilot.app.screen.typed == {"way_round": "", "pieces": "1", "words": "SM-4K", "place": ""}
        await press(pilot, "enter")
        assert "not whole, taken out: 1 × stick module" in seen(pilot.app)
        assert "promised to unit 1" in seen(pilot.app)
        assert held(pads)[-1] == 1
        assert store.needs(pads.database, number=1)[0].state == "reserved"
        await press(pilot, "j", "1")
        assert pilot.app.screen.typed["pieces"] == "1"
        await press(pilot, "enter")
        assert unit_view.unit_view(pads, 2).lifted == ()
        assert lifting.liftable(pads, 2)[0].inside == 1
        assert held(pads)[-1] == 0
        assert store.needs(pads.database, number=1)[0].state == "open"
