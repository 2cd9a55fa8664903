import os
import subprocess
import sys

import pytest
from rich.cells import cell_len
from textual.binding import Binding
from textual.widgets._footer import FooterKey

from triage.actions.lots import new_lot
from triage.actions.units import add_units
from triage.screens.app import LotwrightApp
from triage.screens.bench import BenchScreen
from triage.screens.big_text import big
from triage.screens.key_line import KeyLine
from triage.screens.lot import LotScreen
from triage.screens.order import OrderScreen
from triage.screens.parts import PartsScreen
from triage.screens.plain import fitted, plain, stacked, styled


@pytest.fixture
def a_radio(bench):
    lot = new_lot(bench, "shelf")
    return add_units(bench, "1 radio crackle", lot_id=lot.id).units[0].number


@pytest.mark.parametrize("width", [60, 80, 100, 160])
async def test_the_line_of_keys_is_never_cut_and_always_leads_to_the_rest(start, settled, press, seen, a_radio, width):
    async with start().run_test(size=(width, 24)) as pilot:
        await settled(pilot)
        for keys in (("f2",), ("f3",), ("f4",), ("escape",), ("tab",), ("f5",)):
            await press(pilot, *keys)
            shown = list(pilot.app.screen.query_one(KeyLine).query(FooterKey))
            line = " ".join(f"{key.key_display} {key.description}" for key in shown)
            assert seen(pilot.app).splitlines()[-1].rstrip() == line
            assert shown[-1].key_display == "?"
            left_out = [one for one in pilot.app.screen.active_bindings.values() if one.binding.show]
            whole = len({one.binding.action for one in left_out}) == len(shown)
            assert shown[-1].description == ("help" if whole else "more keys")
            assert whole or width < 160


async def test_a_wider_terminal_shows_more_keys(start, settled, press, seen, a_radio):
    async with start("parts").run_test(size=(60, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "escape")
        before = len(pilot.app.screen.query(FooterKey))
        await pilot.resize_terminal(160, 50)
        await settled(pilot)
        await settled(pilot)
        assert len(pilot.app.screen.query(FooterKey)) > before
        assert "i import" in seen(pilot.app).splitlines()[-1]


@pytest.mark.parametrize("size", [(80, 24), (160, 50)])
async def test_four_places_by_key_and_by_click_and_the_line_says_where_one_is(
    start, settled, press, seen, a_radio, size
):
    async with start().run_test(size=size) as pilot:
        await settled(pilot)
        assert "▸F2 Lot◂" in seen(pilot.app)
        for key, place, mark in (
            ("f3", BenchScreen, "▸F3 Bench◂"),
            ("f4", PartsScreen, "▸F4 Parts◂"),
            ("f5", OrderScreen, "▸F5 Order◂"),
            ("f2", LotScreen, "▸F2 Lot◂"),
        ):
            await press(pilot, key)
            assert isinstance(pilot.app.screen, place)
            assert mark in seen(pilot.app)
        column = seen(pilot.app).splitlines()[0].index("F3")
        await pilot.click(offset=(column, 0))
        await settled(pilot)
        assert isinstance(pilot.app.screen, BenchScreen)


async def test_help_is_in_sight_and_lists_every_key_of_the_place(start, settled, press, seen, a_radio):
    async with start("bench").run_test(size=(80, 60)) as pilot:
        await settled(pilot)
        assert "help" in seen(pilot.app).splitlines()[0]
        assert pilot.app.screen.query_one(KeyLine).display
        await press(pilot, "question_mark")
        shown = seen(pilot.app)
        for line in ("Answer yes", "Take back what was done last", "Choose another look", "All units of the lot"):
            assert line in shown
        await press(pilot, "escape")
        assert isinstance(pilot.app.screen, BenchScreen)


_NO_LETTERS = {"f2", "f3", "f4", "f5", "tab", "escape", "enter", "down"}


@pytest.mark.parametrize("owner", [LotwrightApp, LotScreen, BenchScreen, PartsScreen, OrderScreen])
def test_every_binding_has_an_id_a_help_text_and_no_printable_key_has_priority(owner):
    bindings = [item for item in owner.BINDINGS if isinstance(item, Binding)]
    assert len(bindings) == len(owner.BINDINGS)
    for binding in bindings:
        assert binding.id, binding
        assert binding.tooltip, binding
        for key in binding.key.split(",") if binding.priority else ():
            assert key.startswith("ctrl+") or key in _NO_LETTERS, binding
    ids = [binding.id for binding in bindings]
    assert len(ids) == len(set(ids))


def test_ids_of_bindings_do_not_repeat_over_the_places():
    ids = [
        item.id for owner in (LotwrightApp, LotScreen, BenchScreen, PartsScreen, OrderScreen) for item in owner.BINDINGS
    ]
    assert len(ids) == len(set(ids))


async def test_q_leaves_from_a_place_but_is_text_in_a_field(start, settled, press):
    app = start()
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "q")
        assert app.is_running
        assert app.screen.query_one("#units").text == "q"
        await pilot.press("ctrl+q")
    assert app.return_code == 0


async def test_taking_back_says_what_and_doing_again_brings_it_back(start, settled, press, seen, bench, a_radio):
    async with start().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "delete")
        assert "removed" in seen(pilot.app)
        await press(pilot, "u")
        assert "taken back: unit 1 removed" in seen(pilot.app)
        assert bench.database.conn.execute("SELECT count(*) FROM units").fetchone()[0] == 1
        await press(pilot, "U")
        assert "done again: unit 1 removed" in seen(pilot.app)
        assert bench.database.conn.execute("SELECT count(*) FROM units").fetchone()[0] == 0


async def test_what_is_refused_is_one_line_and_the_program_goes_on(start, settled, press, seen, a_radio):
    def broken(_):
        raise ZeroDivisionError("oddly [bold]so[/x]")

    async with start().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        pilot.app.place.work_out(broken, lambda _: None)
        await settled(pilot)
        assert "! this went wrong: ZeroDivisionError: oddly [bold]so[/x]" in seen(pilot.app)
        await press(pilot, "f3")
        assert isinstance(pilot.app.screen, BenchScreen)


async def test_a_result_that_a_newer_question_made_stale_is_dropped(start, settled, a_radio):
    got = []
    async with start().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for turn in range(3):
            pilot.app.place.work_out(lambda _, turn=turn: turn, got.append, kind="test")
        await settled(pilot)
    assert got == [2]


@pytest.mark.parametrize(
    "text", ["[b]x[/x]", "[@click=app.quit]go[/]", "a\x1b]0;title\x07b", "\x9b5mblink", "a\u202eb\x00"]
)
def test_data_is_shown_literally_and_cleaned(text):
    for content in (plain(text), styled("› ", (text, "bold")), stacked([plain(text)])):
        assert content.plain.isprintable()
        assert not [span for span in content.spans if "click" in str(span.style)]
    if text.isprintable():
        assert plain(text).plain == text


def test_fitted_is_exactly_as_wide_as_asked_also_for_wide_characters():
    for text in ("", "short", "much too long for it", "電池電池電池電池"):
        for width in (1, 2, 7, 30):
            assert cell_len(fitted(text, width)) == width


@pytest.mark.parametrize("width", [40, 80, 160])
def test_large_letters_stay_within_their_room_or_the_text_stays_plain(width):
    for text in ("Light on?", "Is the lead or plug cut, crushed or scorched, or does it smell burnt?", "Läuft es?"):
        content = big(text, width, 16)
        lines = content.plain.splitlines()
        assert content.plain == text or (len(lines) <= 16 and max(map(len, lines)) <= width)
    assert big("Light on?", 80, 16).plain != "Light on?"
    assert big("Läuft es?", 80, 16).plain == "Läuft es?"


def test_the_screens_start_in_a_terminal_without_colour(tmp_path):
    code = (
        "import asyncio, sys\n"
        "from pathlib import Path\n"
        "from triage.screens.app import LotwrightApp\n"
        "async def run():\n"
        "    app = LotwrightApp(Path(sys.argv[1]))\n"
        "    async with app.run_test(size=(80, 24)) as pilot:\n"
        "        await pilot.pause()\n"
        "        print('no colour' if app.no_color else 'colour')\n"
        "asyncio.run(run())\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path / "b.db")],
        env={**os.environ, "NO_COLOR": "1"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout.strip() == "no colour", done.stderr
