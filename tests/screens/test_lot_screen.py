from types import SimpleNamespace

import msgspec
import pytest
from textual.widgets import Input, OptionList

from triage.actions import history
from triage.actions.lot_view import PileSum, lot_view
from triage.actions.lots import get_lot, list_lots, new_lot
from triage.actions.plan_view import PlannedUnit
from triage.actions.units import add_units, change_unit, get_unit, list_units
from triage.lot import PILE_WORDS
from triage.screens.bench import BenchScreen
from triage.screens.dialogs import Choose, Form
from triage.screens.lot_draw import Columns, days, hours, loss, piles, told
from triage.screens.lot_forms import AddUnitsDialog, NewLotDialog
from triage.screens.person_form import PersonForm
from triage.screens.unit_list import UnitList

SIZES = [(80, 24), (160, 50)]
HOSTILE = "[b]pad[/x] [@click=app.quit]go[/] \x1b]0;owned\x07\x9b5m"


def put(app, text):
    """What a paste does."""
    app.screen.query_one("#units").insert(text)


@pytest.mark.parametrize("size", SIZES)
async def test_from_the_first_start_to_the_first_question(start, settled, press, seen, bench, size):
    async with start().run_test(size=size) as pilot:
        await settled(pilot)
        shown = seen(pilot.app)
        assert "What is in the box?" in shown
        assert "Assumed until" in shown
        for word in ("screwdriver", "12.00"):
            assert word in shown
        put(pilot.app, "1 gamepad drift\n1 turntable slow")
        await press(pilot, "end", "enter", "enter")
        units = list_units(bench)
        assert [unit.device_class for unit in units] == ["gamepad", "turntable"]
        best = lot_view(bench).best_look
        assert best is not None
        shown = seen(pilot.app)
        assert f"unit {best}: the look that pays most" in shown
        row = next(line for line in shown.splitlines() if line.startswith("▸") and "F2" not in line)
        assert row.split()[0].lstrip("▸!").strip() in {"", str(best)}
        assert pilot.app.unit_number == best
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, BenchScreen)
        assert seen(pilot.app).count("?") >= 1
        assert " y " in seen(pilot.app)


async def test_what_is_typed_is_read_back_while_one_types(start, settled, press, seen):
    async with start().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        put(pilot.app, "3 gamepads drift\nthingamajig")
        while "will be asked" not in seen(pilot.app):
            await pilot.pause(0.05)
        shown = seen(pilot.app)
        assert "3 Gamepad: drift" in shown
        assert "“thingamajig” will be asked" in shown


async def test_name_and_price_are_kept_and_a_wrong_price_loses_nothing(start, settled, press, seen, bench):
    async with start().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        put(pilot.app, "1 radio crackle")
        pilot.app.screen.query_one("#in-name", Input).value = "attic [b]box"
        pilot.app.screen.query_one("#in-paid", Input).value = "twelve"
        pilot.app.screen.query_one("#in-paid", Input).focus()
        await press(pilot, "enter")
        assert "twelve" in seen(pilot.app)
        assert "no plain figure" in seen(pilot.app)
        assert not list_lots(bench)
        pilot.app.screen.query_one("#in-paid", Input).value = "12,50"
        await press(pilot, "enter")
        lot = list_lots(bench)[0]
        assert (lot.name, lot.paid) == ("attic [b]box", 1250)
        assert len(list_units(bench)) == 1
        assert "attic [b]box" in seen(pilot.app)
        assert "paid 12.50" in seen(pilot.app)


async def test_units_in_doubt_are_asked_once_for_all_alike(start, settled, press, bench):
    async with start().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        put(pilot.app, "2 whatsits")
        await press(pilot, "end", "enter", "enter")
        assert isinstance(pilot.app.screen, Choose)
        await press(pilot, "1")
        classes = {unit.device_class for unit in list_units(bench)}
        assert len(classes) == 1
        assert classes < set(bench.classes)
        assert not isinstance(pilot.app.screen, Choose)


@pytest.fixture
def shelf(bench):
    lot = new_lot(bench, "shelf", paid=2000, bench_minutes=300, deadline="2026-12-20")
    add_units(bench, "1 radio crackle\n2 gamepads drift\n1 disc console dead", lot_id=lot.id)
    return lot


@pytest.mark.parametrize("size", SIZES)
async def test_head_piles_and_one_row_a_unit(start, settled, seen, bench, shelf, size):
    async with start().run_test(size=size) as pilot:
        await settled(pilot)
        view = lot_view(bench)
        lines = seen(pilot.app).splitlines()
        assert len(lines) == size[1]
        assert "shelf" in lines[1]
        assert "paid 20.00 EUR" in lines[1]
        assert "4 units" in lines[1]
        assert "5 h left" in lines[1]
        assert "until Sun 20 Dec, 19 days" in lines[1]
        for pile in view.piles:
            assert f"{pile.word} {pile.units}" in lines[2]
        for row in view.rows:
            line = next(line for line in lines if f"{row.number}  {row.class_name[:8]}" in line)
            assert f"{row.suspect_chance * 100:.0f} %" in line
            assert row.pile_word in line
        assert ("Not looked at yet." in seen(pilot.app)) == (size[0] >= 140)


async def test_the_cursor_moves_by_letters_and_is_marked_with_more_than_tint(start, settled, press, seen, shelf):
    async with start().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        pilot.app.screen.query_one(UnitList).highlighted = 0
        await press(pilot, "j")
        marked = [line for line in seen(pilot.app).splitlines()[1:] if line.startswith("▸")]
        assert len(marked) == 1
        assert marked[0].split()[1] == "2"
        assert pilot.app.unit_number == 2
        await press(pilot, "k")
        assert pilot.app.unit_number == 1


async def test_more_units_a_refused_count_keeps_what_was_typed(start, settled, press, seen, bench, shelf):
    async with start().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "a")
        put(pilot.app, "0 radios")
        await press(pilot, "end", "enter", "enter")
        assert isinstance(pilot.app.screen, AddUnitsDialog)
        assert pilot.app.screen.query_one("#units").text.strip() == "0 radios"
        pilot.app.screen.query_one("#units").load_text("1 radio hum")
        await press(pilot, "ctrl+s")
        assert [unit.typed for unit in list_units(bench)][-1] == "1 radio hum"


async def test_a_pile_by_hand_wants_a_reason_and_is_marked(start, settled, press, seen, bench, shelf):
    async with start().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        pilot.app.screen.query_one(UnitList).highlighted = 1
        await press(pilot, "x", "2", "enter")
        assert isinstance(pilot.app.screen, Form)
        assert "say why" in seen(pilot.app)
        await press(pilot, *"spares", "enter")
        unit = get_unit(bench, 2)
        assert (unit.pile, unit.pile_reason) == ("part_out", "spares")
        assert "PART-OUT*" in seen(pilot.app)


async def test_what_is_known_of_a_unit_is_edited_in_one_form(start, settled, press, seen, bench, shelf):
    async with start().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        pilot.app.screen.query_one(UnitList).highlighted = 0
        await press(pilot, "e")
        for name, text in (("model", HOSTILE), ("working", "31.50"), ("grade", "z")):
            pilot.app.screen.query_one(f"#in-{name}", Input).value = text
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, Form)
        assert get_unit(bench, 1).working is None
        pilot.app.screen.query_one("#in-grade", Input).value = "a"
        await press(pilot, "enter")
        unit = get_unit(bench, 1)
        assert (unit.working, unit.grade) == (3150, "A")


async def test_hostile_text_is_shown_literally_in_the_list_and_runs_nothing(start, settled, press, seen, bench):
    lot = new_lot(bench, HOSTILE)
    add_units(bench, f"1 radio {HOSTILE}", lot_id=lot.id)
    async with start().run_test(size=(160, 50)) as pilot:
        await settled(pilot)
        shown = seen(pilot.app)
        assert "[b]pad[/x]" in shown
        assert not {"\x1b", "\x07", "\x9b"} & set(shown)
        await pilot.click(offset=(10, 1))
        await press(pilot, "L")
        assert "[b]pad[/x]" in seen(pilot.app)
        assert pilot.app.is_running


async def test_settings_tick_tools_with_a_mark_and_change_the_hour(start, settled, press, seen, bench, shelf):
    async with start().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "f9")
        assert isinstance(pilot.app.screen, PersonForm)
        assert "[x] screwdriver" in seen(pilot.app)
        assert "[ ] bench supply" in seen(pilot.app)
        ticks = pilot.app.screen.query_one("#ticks", OptionList)
        ticks.focus()
        ticks.highlighted = 3
        await press(pilot, "space")
        assert "[x] bench supply" in seen(pilot.app)
        hour = pilot.app.screen.query_one("#in-hour_worth", Input)
        hour.value = "0"
        pilot.app.screen.query_one("#in-mains", Input).value = "230 V"
        hour.focus()
        await press(pilot, "enter")
        person = bench.person
        assert person.mains == 230
        assert person.hour_worth == 0
        assert "bench_supply" in person.tools
        assert "screwdriver" in person.tools


async def test_a_second_lot_and_back(start, settled, press, seen, bench, shelf):
    async with start().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "n")
        assert isinstance(pilot.app.screen, NewLotDialog)
        pilot.app.screen.query_one("#in-name", Input).value = "second box"
        put(pilot.app, "1 radio hum")
        await press(pilot, "ctrl+s")
        assert "second box" in seen(pilot.app).splitlines()[1]
        await press(pilot, "L", "2")
        assert "shelf" in seen(pilot.app).splitlines()[1]
        assert pilot.app.lot_id == shelf.id


async def test_lists_are_taken_in_by_their_header(start, settled, press, seen, bench, shelf, tmp_path):
    units = tmp_path / "more.csv"
    units.write_text("count,class,symptom,model,note\n2,radio,hum,,\n", encoding="utf-8")
    bad = tmp_path / "bad.csv"
    bad.write_text("count,class,symptom,model,note\nmany,radio,hum,,\n", encoding="utf-8")
    async with start().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "i")
        field = pilot.app.screen.query_one("#in-path", Input)
        field.value = str(bad)
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, Form)
        assert len(list_units(bench)) == 4
        field.value = str(units)
        await press(pilot, "enter")
        assert len(list_units(bench)) == 6


async def test_a_unit_that_was_looked_at_is_not_removed(start, settled, press, seen, bench, shelf):
    change_unit(bench, list_units(bench)[0].number, working=9000)
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "y" if pilot.app.screen._prompt.kind == "look" else "n", "f2", "delete")
        assert "take them back first" in seen(pilot.app)
        assert len(list_units(bench)) == 4


@pytest.mark.parametrize("width", [40, 79, 80, 100, 139, 160, 240])
def test_the_columns_fit_their_width(width):
    assert Columns(width - 2).titles().cell_length <= max(60, width - 2)


def test_a_next_step_of_a_few_letters_takes_no_room_from_unit_and_suspect():
    beside_the_card, wide = Columns(102), Columns(158)
    assert (beside_the_card.next, wide.next) == (0, 60)
    assert (beside_the_card.unit, beside_the_card.seen, beside_the_card.suspect) == (19, 24, 29)


def test_words_of_hours_days_and_loss():
    assert (hours(20), hours(390)) == ("20 min", "6.5 h")
    assert (days(0), days(1), days(-2)) == ("today", "1 day", "2 days ago")
    assert (loss(0.0), loss(1 / 12), loss(0.6)) == ("no loss", "loss 1 in 12", "loss 60 %")


@pytest.mark.parametrize("size", SIZES)
async def test_where_the_plan_differs_is_said_on_the_lot(start, settled, press, seen, bench, size):
    lot = new_lot(bench, "box")
    first, second, third = add_units(bench, "3 gamepads drift", lot_id=lot.id).units
    own = {row.number: row.pile for row in lot_view(bench).rows}
    other = {number: "part_out" if pile != "part_out" else "fix" for number, pile in own.items()}
    planned = [
        PlannedUnit(unit.number, "", pile, PILE_WORDS[pile], by_sums, by_hand=False, value=0.0, cures=())
        for unit, pile, by_sums in (
            (first, other[first.number], own[first.number]),
            (second, own[second.number], own[second.number]),
            (third, other[third.number], "hold"),  # what it leaned to when it was planned is over
        )
    ]
    said = f"{PILE_WORDS[own[first.number]]}→{PILE_WORDS[other[first.number]]}"
    async with start().run_test(size=size) as pilot:
        await settled(pilot)
        assert "→" not in seen(pilot.app)
        pilot.app.planned[lot.id] = SimpleNamespace(units=planned)
        pilot.app.unit_number = first.number
        pilot.app.refresh_places()
        await settled(pilot)
        assert seen(pilot.app).count("→") == 1
        assert said in seen(pilot.app)
        if size[0] < 140:  # else the unit's own sums stand at the side
            assert f"the plan (F5): {PILE_WORDS[other[first.number]]}" in seen(pilot.app)


@pytest.mark.parametrize("size", [(80, 24), (160, 50)])
async def test_what_moved_is_marked_and_told_until_it_was_read(start, settled, press, seen, bench, shelf, size):
    async with start().run_test(size=size) as pilot:
        await settled(pilot)
        assert "moved since you looked" not in seen(pilot.app)
        await press(pilot, "w")
        assert "no decision moved" in seen(pilot.app)
        was = {row.number: row.pile for row in pilot.app.place._view.rows}
        change_unit(bench, 1, as_is=90000)
        await press(pilot, "f3", "f2")
        now = {row.number: row.pile for row in pilot.app.place._view.rows}
        moved = [number for number in was if was[number] != now[number]]
        assert moved == [1]
        assert "moved since you looked: 1" in seen(pilot.app)
        assert "1~" in seen(pilot.app)
        await press(pilot, "w")
        text = " ".join(seen(pilot.app).split())
        assert f"{PILE_WORDS[was[1]]} → {PILE_WORDS[now[1]]}" in text
        assert history.history(bench)[0].summary[:30] in text
        await press(pilot, "escape")
        assert "moved since you looked" not in seen(pilot.app)
        assert "1~" not in seen(pilot.app)
    async with start().run_test(size=size) as pilot:
        await settled(pilot)
        assert "moved since you looked" not in seen(pilot.app)


async def test_hours_by_day_and_what_more_time_would_bring(start, settled, press, seen, bench, shelf):
    async with start().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "m")
        for name, text in (("week", "sat 3, mon-fri 0.5"), ("deadline", "2026-12-20"), ("price_fall", "2 %")):
            pilot.app.screen.query_one(f"#in-{name}", Input).value = text
        await press(pilot, "enter")
        lot = get_lot(bench)
        assert (lot.week, lot.deadline, lot.price_fall) == ("Mon-Fri 0.5; Sat 3", "2026-12-20", 0.02)
        await press(pilot, "f5", "f2")
        assert "more hours or days would bring nothing" in seen(pilot.app)
        today = str(lot_view(bench).today)
        assert today.startswith("at the bench today: ")
        assert today in seen(pilot.app)
        await press(pilot, "m")
        assert f"{today}; the plan goes by that" in " ".join(seen(pilot.app).replace("│", " ").split())
        await press(pilot, "escape")
        view = msgspec.structs.replace(lot_view(bench), hour_worth=120.0, day_worth=0.0)
        assert "an hour more brings 1.20, a day 0.00" in told(view, "EUR", 78).plain
        await press(pilot, "m")
        pilot.app.screen.query_one("#in-week", Input).value = "often"
        await press(pilot, "enter")
        assert "is no day with its hours" in seen(pilot.app)
        assert get_lot(bench) == lot


@pytest.mark.parametrize("width", [40, 80, 100, 160, 400])
def test_no_pile_is_torn_between_two_lines(width):
    sums = [PileSum(pile, word, 12, 123450.0, 750.0) for pile, word in PILE_WORDS.items()]
    lines = piles(sums, "EUR", width).plain.split("\n")
    assert all(len(line) <= width for line in lines)
    each = [part.strip() for line in lines for part in line.split("┆")]
    assert each == [f"{word} 12  1234.50  12.5 h" for word in PILE_WORDS.values()]
    # no line ends before the next pile would have had room
    starts = [line.split("┆")[0].strip() for line in lines[1:]]
    assert all(len(line) + len(f"  ┆  {next_}") > width for line, next_ in zip(lines, starts, strict=False))


@pytest.mark.parametrize("size", [(80, 24), (100, 30), (160, 50)])
async def test_every_pile_stands_whole_on_the_lot(start, settled, seen, bench, size):
    new_lot(bench, "box")
    for unit, pile in zip(add_units(bench, "7 gamepads drift").units, PILE_WORDS, strict=True):
        change_unit(bench, unit.number, pile="" if pile == "undecided" else pile)
    async with start().run_test(size=size) as pilot:
        await settled(pilot)
        lines = [part.strip() for line in seen(pilot.app).split("\n") for part in line.split("┆")]
        for item in pilot.app.place._view.piles:
            assert sum(line.startswith(f"{item.word} {item.units}  ") and line.endswith(("min", "h")) for line in lines)
        assert len(pilot.app.place._view.piles) >= 6
