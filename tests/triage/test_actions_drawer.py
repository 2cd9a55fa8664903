"""The drawer as places: counting one by hand, and moving lines to another."""

from datetime import date

import pytest

from catalog.text import Refused
from triage import store
from triage.actions import drawer, lots, needs, parts, units
from triage.actions.looks import hazard
from triage.bench_file import BenchFile
from triage.lot import SetAside

TODAY = date(2026, 12, 1)
BOX = "drawer 1, box A"


@pytest.fixture
def bench(tmp_path):
    """Two gamepads that wait for a stick module each; three modules in box A, promised one each; fuses beside them."""
    with BenchFile(tmp_path / "bench.db", today=TODAY) as opened:
        lots.new_lot(opened, "box")
        units.add_units(opened, "2 gamepads drift")
        modules = parts.add_part(opened, "stick module SM-4K", quantity=3, place=BOX)
        parts.add_part(opened, "fuse T1.6A 250V 5x20", quantity=8, place="Drawer 1, box a")
        parts.add_part(opened, "belt 135 mm circumference square 1.2", quantity=1)
        for number in (1, 2):
            for one in opened.classes["gamepad"].hazards:
                hazard(opened, number, one.id, "no")
            need = needs.describe_need(opened, number, "stick_module", "stick module SM-4K", kind="listed")
            with opened.journal.event("set_aside", "for the test", at=opened.now()) as recorder:
                store.save(recorder, "set_asides", SetAside(0, need.id, 1, part=modules.id))
                recorder.update("needs", need.id, {"state": "reserved", "source": BOX})
        yield opened


def rows(bench):
    return {name: list(bench.database[name].rows) for name in ("parts", "needs", "set_asides")}


def states(bench):
    return [need.state for need in store.needs(bench.database)]


def test_places_are_told_with_their_lines_pieces_and_promises(bench):
    found = [(one.place, one.lines, one.pieces, one.promised) for one in drawer.places(bench)]
    assert found == [(BOX, 2, 11, 2), ("", 1, 1, 0)]
    first, second = drawer.lines_of(bench, BOX.upper())
    assert (first.held, first.free, second.free) == (3, 1, 8)
    assert [(item.unit, item.pieces) for item in first.promised] == [(1, 1), (2, 1)]
    assert str(first.promised[0]) == "1 for unit 1 (stick module)"


def test_a_counted_place_is_one_event_and_is_taken_back_as_one(bench):
    before = rows(bench)
    done = drawer.count_place(bench, BOX, {1: 1, 2: 9})
    assert [(one.before, one.now) for one in done.changed] == [(3, 1), (8, 9)]
    assert done.waiting == ("unit 2 waits again for its stick module",)
    assert done.told == (
        "stick module SM-4K: 3 → 1; fuse T1.6A 250V 5x20: 8 → 9; unit 2 waits again for its stick module"
    )
    assert states(bench) == ["reserved", "open"]
    assert [part.quantity for part in parts.list_parts(bench)] == [1, 9, 1]
    assert bench.journal.undo(at=bench.now()).summary == f"counted “{BOX}”: {done.told}"
    assert rows(bench) == before


def test_what_was_counted_as_noted_writes_nothing(bench):
    before = len(bench.journal.history())
    done = drawer.count_place(bench, BOX, {1: 3, 2: 8})
    assert done.told == "everything as it was noted"
    assert drawer.count_place(bench, "", {}).changed == ()
    assert len(bench.journal.history()) == before


def test_consequences_are_told_before_anything_is_written(bench):
    before = rows(bench)
    told = drawer.consequences(bench, {1: 0})
    assert told.waiting == ("unit 2 waits again for its stick module", "unit 1 waits again for its stick module")
    assert rows(bench) == before


@pytest.mark.parametrize(
    ("place", "counted", "why"),
    [
        ("box Z", {1: 1}, "nothing lies in a place of that name"),
        (BOX, {1: 1, 3: 1}, "part 3: it does not lie there but in: no place stated"),
        (BOX, {99: 1}, "there is no part 99"),
        (BOX, {1: -1}, "expected no or more pieces"),
    ],
)
def test_a_count_that_cannot_be_is_refused_whole(bench, place, counted, why):
    before = rows(bench)
    with pytest.raises(Refused, match=why):
        drawer.count_place(bench, place, counted)
    assert rows(bench) == before


def test_one_piece_less_is_told_and_stops_at_none(bench):
    assert drawer.count_more(bench, 3, -1).told == "belt 135 mm circumference square 1.2: 1 → 0"
    assert drawer.count_more(bench, 3, -1).told == "everything as it was noted"
    assert bench.journal.undo(at=bench.now()).action == "drawer_count"
    assert parts.get_part(bench, 3).quantity == 1


def test_lines_move_together_and_come_back_together(bench):
    before = rows(bench)
    moved = drawer.move_lines(bench, (1, 2), "  box  B ")
    assert [(part.id, part.place) for part in moved] == [(1, "box B"), (2, "box B")]
    assert [one.place for one in drawer.places(bench)] == ["box B", ""]
    assert drawer.move_lines(bench, (1,), "box B") == ()
    assert bench.journal.undo(at=bench.now()).summary == "2 lines moved to “box B”"
    assert rows(bench) == before


def test_a_line_is_not_moved_onto_its_like(bench):
    parts.add_part(bench, "fuse T1.6A 250V 5x20", quantity=2, place="box C")
    parts.add_part(bench, "fuse T1.6A 250V 5x20", quantity=2, place="box D")
    for part_ids, why in (((2,), "it is there already as part 4"), ((4, 5, 2), "it is there already|two of them")):
        with pytest.raises(Refused, match=why):
            drawer.move_lines(bench, part_ids, "box C")
    with pytest.raises(Refused, match="two of them would be the same line"):
        drawer.move_lines(bench, (4, 5), "box E")
    assert parts.get_part(bench, 2).place == "Drawer 1, box a"
