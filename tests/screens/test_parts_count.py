"""The place Parts: counting a place of the drawer, moving its lines, and to whom they are promised."""

import pytest

from triage import store
from triage.actions import lots, needs, parts, units
from triage.lot import SetAside
from triage.screens.dialogs import Choose, Ticks
from triage.screens.parts_count import CountPlace

SIZES = pytest.mark.parametrize("size", [(80, 24), (160, 50)])


@pytest.fixture
def drawer(bench):
    """Three lines in box A, the first promised to unit 1, and one line that lies nowhere in particular."""
    lots.new_lot(bench, "cellar shelf")
    units.add_units(bench, "gamepad stick drift")
    module = parts.add_part(bench, "stick module SM-4K", quantity=2, place="box A")
    for text, quantity, place in (
        ("fuse T1.6A 250V 5x20", 8, "box A"),
        ("belt 135 mm circumference square 1.2", 1, "box A"),
        ("resistor 10k 0.25W 1%", 40, ""),
    ):
        parts.add_part(bench, text, quantity=quantity, place=place)
    need = needs.describe_need(bench, 1, "stick_module", "stick module SM-4K", kind="listed")
    with bench.journal.event("set_aside", "for the test", at=bench.now()) as recorder:
        store.save(recorder, "set_asides", SetAside(0, need.id, 1, part=module.id))
        recorder.update("needs", need.id, {"state": "reserved"})
    return bench


def held(bench):
    return [part.quantity for part in parts.list_parts(bench)]


@SIZES
async def test_a_place_is_walked_through_and_kept_as_one_step(drawer, start, press, settled, seen, size):
    async with start("parts").run_test(size=size) as pilot:
        await settled(pilot)
        assert "1 for 1" in seen(pilot.app)
        await press(pilot, "down", "p")
        assert isinstance(pilot.app.screen, Choose)
        assert "no place stated" in seen(pilot.app)
        await press(pilot, "1")
        assert isinstance(pilot.app.screen, CountPlace)
        assert "1 for unit 1" in seen(pilot.app)
        await press(pilot, "0", "enter", "enter", "1", "2", "backspace", "backspace", "4", "enter")
        text = seen(pilot.app)
        assert "stick module SM-4K: 2 → 0" in text
        assert "! unit 1 waits again for its stick module" in text
        assert "fuse T1.6A 250V 5x20: " not in text
        assert held(drawer) == [2, 8, 1, 40]
        await press(pilot, "enter")
        assert held(drawer) == [0, 8, 4, 40]
        assert "u takes it back" in seen(pilot.app)
        await press(pilot, "u")
        assert held(drawer) == [2, 8, 1, 40]


async def test_escape_leaves_the_drawer_as_it_was_noted(drawer, start, press, settled):
    async with start("parts").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        before = len(drawer.journal.history())
        await press(pilot, "down", "p", "1", "5", "w", "escape")
        assert pilot.app.screen.PLACE == "parts"
        assert held(drawer) == [2, 8, 1, 40]
        assert len(drawer.journal.history()) == before


async def test_one_goes_back_to_a_line_before_it_is_kept(drawer, start, press, settled, seen):
    async with start("parts").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "down", "p", "1", "down", "9", "w")
        assert "8 → 9" in seen(pilot.app)
        assert "2 not counted; they stay as noted" in seen(pilot.app)
        await press(pilot, "up", "3", "w", "enter")
        assert held(drawer) == [3, 9, 1, 40]


@SIZES
async def test_lines_of_a_place_move_together(drawer, start, press, settled, seen, size):
    async with start("parts").run_test(size=size) as pilot:
        await settled(pilot)
        await press(pilot, "down", "m")
        assert pilot.app.screen.ticked == (1,)
        pilot.app.screen.query_one(Ticks).focus()
        await press(pilot, "down", "down", "space", "tab", *"box B", "enter")
        assert [part.place for part in parts.list_parts(drawer)] == ["box B", "box A", "box B", ""]
        assert "2 moved to box B; u takes it back" in seen(pilot.app)
