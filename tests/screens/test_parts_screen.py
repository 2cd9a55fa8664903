"""The place Parts: searching while typing, why a part fits, describing what a unit needs, the drawer."""

import threading

import pytest
from textual import events
from textual.widgets import Input

from triage.actions import looks, lots, needs, parts, prices, spares, units
from triage.actions.findable import find_parts
from triage.screens import parts as parts_module
from triage.screens import parts_describe
from triage.screens.dialogs import Page
from triage.screens.help import HelpPage
from triage.screens.parts_describe import Describe
from triage.screens.rows import RowList

SIZES = pytest.mark.parametrize("size", [(80, 24), (160, 50)])
HOSTILE = "odd relay [/x] [@click=app.quit]boom[/] \x1b]0;title\x07 [bold"


@pytest.fixture
def shelf(bench, tmp_path, clear_hazards):
    """Two gamepads and a disc console put on the fix pile, a small drawer, and two suppliers."""
    lots.new_lot(bench, "cellar shelf", paid=1000)
    units.add_units(bench, "1 gamepad stick drift\n1 disc console tray stuck")
    clear_hazards(1)
    for check, said in (("connects", "y"), ("centre", "-14"), ("blow_retest", "n"), ("circle", "84")):
        looks.answer(bench, 1, check, said)
    clear_hazards(2)
    for check, said in (("power_on", "y"), ("tray", "12"), ("picture", "y"), ("disc_read", "15")):
        looks.answer(bench, 2, check, said)
    for number in (1, 2):
        units.change_unit(bench, number, working=9000)
        units.overrule(bench, number, "fix", "sells well")
    for text, number, quantity, place in (
        ("electrolytic capacitor 100 uF 25 V radial 105 °C", "", 7, "drawer 1"),
        ("electrolytic capacitor 100 uF 6.3 V radial 105 °C", "", 2, "drawer 2"),
        ("ceramic capacitor 100 nF 50 V X7R", "", 30, "drawer 3"),
        (HOSTILE, "", 4, "[red]box[/]"),
    ):
        parts.add_part(bench, text, part_number=number, quantity=quantity, place=place)
    files = {
        "suppliers.csv": "supplier,currency,lead_days,lead_days_late,min_order,shipping,free_from\n"
        "Quick Corner,EUR,2,3,,4.00,40.00\n",
        "offers.csv": "supplier,sku,part_number,description,pack,min_packs,stock,from,price,price_per,discount,"
        "currency\n"
        "Quick Corner,Q1,SM-4K,stick module SM-4K,1,,,1,3.10,1,,\n"
        'Quick Corner,Q2,,"square belt, inside circumference 118 mm, 1.2 mm",1,,,1,2.40,1,,\n'
        "Quick Corner,Q3,,electrolytic capacitor 100 uF 35 V radial 105 °C,10,,,1,1.80,10,,\n",
    }
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
        prices.import_any(bench, tmp_path / name)
    return bench


@pytest.fixture
def types(settled):
    """Types a text in one go and waits once."""

    async def typed(pilot, text):
        await pilot.press(*text)
        await settled(pilot)

    return typed


@pytest.fixture
def at_once(settled):
    """Sends keys without a pause between them, as a quick typist does while the program is busy."""

    async def sent(pilot, *keys):
        for key in keys:
            pilot.app.post_message(events.Key(key, key if len(key) == 1 else None))
        await settled(pilot)
        await settled(pilot)

    return sent


def rows_of(app, name):
    return app.screen.query_one(name, RowList)


@SIZES
async def test_typing_finds_and_ranks_at_every_keystroke(shelf, start, press, types, settled, seen, size):
    async with start("parts").run_test(size=size) as pilot:
        await settled(pilot)
        assert "your drawer, 4 entries" in seen(pilot.app)
        await types(pilot, "elko 100uF 25V")
        found = pilot.app.screen._found
        expected = find_parts(shelf, "elko 100uF 25V", 200)
        assert [one.hit.entry.description for one in found.found] == [hit.entry.description for hit in expected]
        assert found.found[0].hit.entry.place == "drawer 1"
        text = seen(pilot.app)
        first, refused = text.index("100 uF 25 V"), text.index("100 uF 6.3 V")
        assert first < refused
        assert "electrolytic" in text
        assert "capacitance 100 µF" in text
        assert "7× drawer 1" in text
        assert "plenty Quick Corner" in text


@SIZES
async def test_a_piece_marked_bad_says_so_before_its_grade(shelf, start, press, types, settled, seen, size):
    parts.add_part(shelf, "electrolytic capacitor 100 uF 25 V blown", quantity=1, place="tin")
    async with start("parts").run_test(size=size) as pilot:
        await settled(pilot)
        assert "bad electrolytic capacitor 100 uF 25 V blown" in " ".join(seen(pilot.app).split())
        await types(pilot, "elko 100uF 25V")
        lines = [line for line in seen(pilot.app).splitlines() if "tin" in line and "bad" in line]
        assert lines, seen(pilot.app)
        assert lines[0].strip().startswith("bad, refuse")
        found = pilot.app.screen._found
        place = next(row for row, one in enumerate(found.found) if one.bad)
        await pilot.press("escape", *["down"] * place)
        await settled(pilot)
        assert "bad: blown" in seen(pilot.app)


async def test_what_is_not_understood_is_shown(shelf, start, press, types, settled, seen):
    async with start("parts").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await types(pilot, "100uF 25V electrolytic zzfrob")
        assert "not understood: zzfrob" in seen(pilot.app)


async def test_a_text_with_several_readings_shows_them(shelf, start, press, settled, seen):
    async with start("parts").run_test(size=(160, 50)) as pilot:
        await settled(pilot)
        await press(pilot, *"104")
        text = seen(pilot.app)
        assert "ways to read it" in text
        assert "100 nF" in text


async def test_a_stale_result_is_dropped(shelf, start, press, settled, monkeypatch, until):
    """The search for the first letters ends after the one for all of them was asked for."""
    go, began = threading.Event(), threading.Event()
    real = parts_describe.search

    def slow(bench, text, **options):
        if text == "b":
            began.set()
            go.wait(10)
        return real(bench, text, **options)

    shown = []
    kept = parts_module.PartsScreen._show_found
    monkeypatch.setattr(parts_describe, "search", slow)
    monkeypatch.setattr(
        parts_module.PartsScreen, "_show_found", lambda self, found: (shown.append(found.query), kept(self, found))
    )
    async with start("parts").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("b")
        await until(pilot, began)
        await pilot.press(*"elt")
        assert pilot.app.screen.query_one("#parts-query", Input).value == "belt"
        go.set()
        await settled(pilot)
        assert "b" not in shown
        assert shown[-1] == "belt"
        assert pilot.app.screen._found.query == "belt"


@SIZES
async def test_why_it_fits_stands_under_the_cursor(shelf, start, press, types, settled, seen, size):
    async with start("parts").run_test(size=size) as pilot:
        await settled(pilot)
        await types(pilot, "electrolytic 100uF 25V radial 105C")
        await press(pilot, "escape")
        listed = rows_of(pilot.app, "#parts-hits")
        row = next(row for row, one in enumerate(pilot.app.screen._found.found) if "6.3 V" in one.hit.entry.description)
        await press(pilot, *["down"] * (row - listed.cursor))
        found, verdict = pilot.app.screen._verdict
        assert "6.3 V" in found.hit.entry.description
        assert verdict.grade == "refuse"
        assert verdict.locked
        text = seen(pilot.app)
        assert "refuse does not fit, and nothing can overrule it" in text
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, Page)
        assert "25 V → 6.3 V: refuse, locked" in seen(pilot.app)


@SIZES
async def test_hostile_text_is_shown_as_it_is(shelf, start, press, types, settled, seen, size):
    async with start("parts").run_test(size=size) as pilot:
        await settled(pilot)
        await types(pilot, "odd relay")
        await press(pilot, "escape", "enter")
        text = seen(pilot.app)
        assert "[/x]" in text
        assert "[@click=app.quit]boom[/]" in text
        assert "\x1b" not in text
        await press(pilot, "escape")
        assert "[red]box[/]" in seen(pilot.app)


@SIZES
async def test_from_wanted_to_described(shelf, start, press, types, settled, seen, size):
    async with start("parts").run_test(size=size) as pilot:
        await settled(pilot)
        open_ones = sum(not item.described for item in needs.wanted_parts(shelf))
        assert f"{open_ones} still to describe" in seen(pilot.app)
        await press(pilot, "tab")
        assert rows_of(pilot.app, "#parts-wanted").has_focus
        assert "the sums guess 2.50 EUR" in seen(pilot.app)
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, Describe)
        await types(pilot, "SM-4K")
        text = seen(pilot.app)
        assert "stick module SM-4K" in text
        assert "3.10" in text
        await press(pilot, "enter")
        assert not isinstance(pilot.app.screen, Describe)
        need = next(item.need for item in needs.wanted_parts(shelf) if item.unit == 1)
        assert (need.text, need.state) == ("SM-4K", "open")
        assert f"{open_ones - 1} still to describe" in seen(pilot.app)
        await press(pilot, "k")
        assert next(item.need for item in needs.wanted_parts(shelf) if item.unit == 1).compromise_ok
        assert "compromise allowed" in seen(pilot.app)
        await press(pilot, "x")
        assert not any((item.unit, item.part) == (1, "stick_module") for item in needs.wanted_parts(shelf))
        last = needs.wanted_parts(shelf, aside=True)[-1]
        assert (last.unit, last.part, last.aside) == (1, "stick_module", "dropped")
        assert "not wanted" in seen(pilot.app)
        await press(pilot, "end", "x")
        assert any((item.unit, item.part) == (1, "stick_module") for item in needs.wanted_parts(shelf))


async def test_ambiguous_words_list_their_readings_to_choose_from(shelf, start, press, settled, seen):
    async with start("parts").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        places = [(item.unit, item.part) for item in needs.wanted_parts(shelf)]
        await press(pilot, "tab", *["down"] * places.index((2, "belt")), "enter", *"belt 118 mm sq 1.2")
        text = seen(pilot.app)
        assert "more than one way to read it" in text
        assert "118 mm as the inside circumference" in text
        assert "118 mm as the inside diameter" in text
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, Describe)
        assert not any(item.described for item in needs.wanted_parts(shelf))
        await press(pilot, "enter")
        line = pilot.app.screen.query_one("#describe-text", Input)
        assert line.has_focus
        assert "circumference" in line.value
        await press(pilot, "enter")
        need = next(item.need for item in needs.wanted_parts(shelf) if item.part == "belt")
        assert need.text == line.value


async def test_a_part_that_only_stands_in_does_not_become_what_is_wished_for(shelf, start, press, settled, seen):
    parts.add_part(shelf, "belt square inside circumference 132 mm 1.2 mm", quantity=1, place="tin")
    async with start("parts").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        places = [(item.unit, item.part) for item in needs.wanted_parts(shelf)]
        words = "belt 135 mm inside circumference square 1.2"
        await press(pilot, "tab", *["down"] * places.index((2, "belt")), "enter", *words)
        assert pilot.app.screen._found[0].hit.grade == "drop-in"
        await press(pilot, "down", "enter")
        assert "that only stands in for it" in seen(pilot.app)
        assert pilot.app.screen.query_one("#describe-text", Input).value == words


async def test_escape_leaves_the_dialog_with_nothing_kept(shelf, start, press, types, settled):
    async with start("parts").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "tab", "enter")
        await types(pilot, "SM-4K")
        await press(pilot, "escape")
        assert not isinstance(pilot.app.screen, Describe)
        assert not any(item.described for item in needs.wanted_parts(shelf))


async def test_the_bench_leads_to_the_first_part_not_described(shelf, start, settled):
    async with start("order").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        pilot.app.action_describe_need(2)
        await settled(pilot)
        assert isinstance(pilot.app.screen, Describe)
        assert pilot.app.screen._item.unit == 2


async def test_counting_adding_and_taking_back(shelf, start, press, types, settled, seen):
    def held(place):
        return next(part.quantity for part in parts.list_parts(shelf) if part.place == place)

    async with start("parts").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "escape", "plus", "plus", "minus")
        assert held("drawer 1") == 8
        await press(pilot, "u")
        assert held("drawer 1") == 9
        await press(pilot, "equals_sign", "backspace", *"12", "enter")
        assert held("drawer 1") == 12
        await press(pilot, "a")
        await types(pilot, "fuse T1.6A 250V 5x20")
        await press(pilot, "enter")
        assert parts.list_parts(shelf)[-1].description == "fuse T1.6A 250V 5x20"
        assert "your drawer, 5 entries" in seen(pilot.app)


async def test_a_bad_list_is_refused_with_its_place(shelf, start, press, settled, seen, tmp_path):
    bad = tmp_path / "p.csv"
    bad.write_text(
        "part_number,description,kind,quantity,place,unit_cost,currency\n,cap 1 uF,,many,,,\n", encoding="utf-8"
    )
    async with start("parts").run_test(size=(160, 50)) as pilot:
        await settled(pilot)
        await press(pilot, "escape", "i")
        line = pilot.app.screen.query_one(Input)
        line.value = str(bad)
        await press(pilot, "enter")
        text = seen(pilot.app)
        assert "p.csv:2:quantity" in text.replace("\n", "")
        await press(pilot, "enter", "escape")
        assert len(parts.list_parts(shelf)) == 4
        good = tmp_path / "g.csv"
        good.write_text("part_number,description,quantity\n,cap 1 uF 50 V film,3\n", encoding="utf-8")
        line.value = str(good)
        await press(pilot, "enter")
        assert "1 added" in seen(pilot.app)
        assert len(parts.list_parts(shelf)) == 4
        await press(pilot, "enter")
        assert "1 added" in seen(pilot.app)
        assert len(parts.list_parts(shelf)) == 5


async def test_rows_can_be_clicked(shelf, start, press, settled):
    async with start("parts").run_test(size=(160, 50)) as pilot:
        await settled(pilot)
        await pilot.click("#parts-hits", offset=(4, 2))
        await settled(pilot)
        assert rows_of(pilot.app, "#parts-hits").cursor == 2
        await pilot.click("#parts-wanted", offset=(4, 1))
        await pilot.click("#parts-wanted", offset=(4, 1))
        await settled(pilot)
        assert isinstance(pilot.app.screen, Describe)


async def test_letters_in_the_search_line_are_only_letters(shelf, start, press, types, settled):
    async with start("parts").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await types(pilot, "qaiwkxu")
        assert pilot.app.screen.query_one("#parts-query", Input).value == "qaiwkxu"
        await press(pilot, "f5")
        assert pilot.app.place.PLACE == "order"


async def test_one_piece_less_is_said_with_the_way_back(shelf, start, press, settled, seen):
    async with start("parts").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "down", "minus")
        assert "7 → 6; u takes it back" in seen(pilot.app)


@SIZES
async def test_an_empty_search_line_lets_the_question_mark_through(shelf, start, press, settled, seen, size):
    async with start("parts").run_test(size=size) as pilot:
        await settled(pilot)
        assert "Esc or ↓ leaves this line" in seen(pilot.app)
        await press(pilot, "question_mark")
        assert isinstance(pilot.app.screen, HelpPage)
        await press(pilot, "escape", "4", "question_mark")
        assert pilot.app.screen.query_one("#parts-query", Input).value == "4?"


@pytest.mark.parametrize(
    ("leave", "then", "name", "row"),
    [("tab", "down", "#parts-wanted", 1), ("escape", "end", "#parts-hits", -1), ("down", "end", "#parts-hits", -1)],
)
async def test_a_key_right_behind_the_one_that_leaves_the_line_does_not_undo_it(
    shelf, start, at_once, settled, leave, then, name, row
):
    async with start("parts").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await at_once(pilot, *"elko", leave, then)
        assert pilot.app.screen.query_one("#parts-query", Input).value == "elko"
        listed = rows_of(pilot.app, name)
        assert pilot.app.screen.focused is listed
        if name == "#parts-wanted":
            assert listed.cursor == row


async def test_letters_and_keys_of_a_list_typed_in_one_go_each_go_where_they_belong(shelf, start, at_once, settled):
    async with start("parts").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await at_once(pilot, *"elko", "tab", "enter")
        assert isinstance(pilot.app.screen, Describe)
        assert pilot.app.place.query_one("#parts-query", Input).value == "elko"


async def test_a_row_of_the_dialog_is_taken_however_quickly_the_keys_follow(shelf, start, press, settled, at_once):
    async with start("parts").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        places = [(item.unit, item.part) for item in needs.wanted_parts(shelf)]
        await press(pilot, "tab", *["down"] * places.index((2, "belt")), "enter", *"belt 118 mm sq 1.2")
        await at_once(pilot, "down", "enter")
        line = pilot.app.screen.query_one("#describe-text", Input)
        assert pilot.app.screen.focused is line
        assert "circumference" in line.value
        assert not any(item.described for item in needs.wanted_parts(shelf))


async def test_what_is_typed_while_the_place_comes_up_is_searched_for(shelf, start, at_once, settled):
    async with start("lot").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await at_once(pilot, "f4", *"elko")
        assert pilot.app.place.PLACE == "parts"
        assert pilot.app.screen.query_one("#parts-query", Input).value == "elko"


async def test_spares_of_what_was_found_are_wanted(shelf, start, press, types, settled):
    async with start("parts").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await types(pilot, "SM-4K")
        await press(pilot, "enter", "s")
        form = pilot.app.screen
        assert form.query_one("#in-text", Input).value == "SM-4K"
        form.query_one("#in-chance", Input).value = "30"
        await press(pilot, "enter")
        (kept,) = spares.list_spares(shelf)
        assert (kept.text, kept.kind, kept.pieces, kept.chance) == ("SM-4K", "listed", 1, 0.3)
