"""Taking in a list on the screen: its columns, what it would change, yes or no, and from an address."""

import http.server
import threading
from pathlib import Path

import pytest
from textual.widgets import Input, OptionList

from triage.actions import history, lots, parts, prices, units
from triage.screens import take_in
from triage.screens.dialogs import Choose, Form, Page
from triage.screens.list_pages import Columns, Summary

SIZES = pytest.mark.parametrize("size", [(80, 24), (160, 50)])
SHOPS = "supplier,lead_days\nNorth Counter,3\n[red]Odd[/] \x1b[31mShop,4\n"
OFFERS = "supplier,sku,description,price\nNorth Counter,F1,fuse T2A 250V 5x20,0.30\nNorth Counter,F2,glow lamp,1.00\n"
FOREIGN = "Artikelnummer;Bezeichnung;Preis netto;Farbe [/x]\nF1;fuse T2A 250V 5x20;0,36;[b]red\nF9;zzfrob;2,00;\n"


@pytest.fixture
def stocked(bench, tmp_path):
    lots.new_lot(bench, "cellar")
    for name, text in (("s.csv", SHOPS), ("o.csv", OFFERS)):
        (tmp_path / name).write_text(text, encoding="utf-8")
        prices.import_any(bench, tmp_path / name)
    return bench


@pytest.fixture
def give(press, settled, tmp_path):
    """Opens the form with `i` and sends a file of that text, or an address."""

    async def given(pilot, text, name="list.csv"):
        if "://" not in text and text:
            (tmp_path / name).write_text(text, encoding="utf-8")
            text = str(tmp_path / name)
        await settled(pilot)
        pilot.app.place.query_one("#parts-hits").focus()
        await press(pilot, "i")
        pilot.app.screen.query_one("#in-path", Input).value = text
        await press(pilot, "enter")

    return given


def offers(bench):
    return {offer.sku: offer.steps[0].amount for offer in prices.list_offers(bench)}


@SIZES
async def test_nothing_is_kept_before_the_yes(stocked, start, press, seen, give, size):
    newer = OFFERS.replace("0.30", "0.36").replace("F2,glow lamp", "F3,zzfrob [b]")
    async with start("parts").run_test(size=size) as pilot:
        await give(pilot, newer)
        assert isinstance(pilot.app.screen, Summary)
        text = seen(pilot.app)
        for said in ("1 added, 1 dearer, 1 gone; 1 not understood", "0.30 EUR → 0.36 EUR (+20 %)", "zzfrob [b]"):
            assert said in text
        assert "Enter keeps it, Esc leaves everything as it was" in text
        assert offers(stocked) == {"F1": 30, "F2": 100}
        await press(pilot, "escape")
        assert isinstance(pilot.app.screen, Form)
        assert offers(stocked) == {"F1": 30, "F2": 100}
        await press(pilot, "enter", "enter")
        assert pilot.app.screen is pilot.app.place
        assert "1 dearer" in seen(pilot.app)
        assert offers(stocked) == {"F1": 36, "F3": 100}
        await press(pilot, "u")
        assert offers(stocked) == {"F1": 30, "F2": 100}


@SIZES
async def test_a_strange_header_is_asked_once(stocked, start, press, seen, give, size):
    async with start("parts").run_test(size=size) as pilot:
        await give(pilot, FOREIGN)
        assert isinstance(pilot.app.screen, Columns)
        text = seen(pilot.app)
        for said in ("prices of a supplier", "Preis netto", "0,36 · 2,00", "supplier", "needed", "read the list so"):
            assert said in text, said
        await press(pilot, "ctrl+s")
        assert "still needed: supplier" in seen(pilot.app)
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, Choose)
        text = seen(pilot.app)
        assert "all of it is from [red]Odd[/] Shop" in text
        assert "Farbe [/x]   [b]red" in text
        await press(pilot, "3")
        assert "all of it: North Counter" not in seen(pilot.app)
        await press(pilot, "enter", "2", "ctrl+s")
        assert isinstance(pilot.app.screen, Summary)
        assert "1 added, 1 dearer, 1 gone" in seen(pilot.app)
        await press(pilot, "enter")
        assert offers(stocked) == {"F1": 36, "F9": 200}
        # the header is known now; whose list it is cannot be seen in it
        await give(pilot, FOREIGN.replace("0,36", "0,40"), "again.csv")
        assert isinstance(pilot.app.screen, Columns)
        assert pilot.app.screen._chosen["price"] == "Preis netto"


async def test_lines_can_be_said_otherwise(stocked, start, press, seen, give):
    async with start("parts").run_test(size=(80, 24)) as pilot:
        await give(pilot, "Was;Wo;Zahl\nlens;box;3\n")
        screen = pilot.app.screen
        assert screen._kind == "parts"
        lines = screen.query_one(OptionList)
        assert lines.get_option_at_index(lines.highlighted).id == "description"
        await press(pilot, "home", "enter", "2")
        assert (screen._kind, lines.highlighted) == ("suppliers", 0)
        await press(pilot, "enter", "1", "down", "enter", "2")
        assert screen._chosen["part_number"] == "Was"
        await press(pilot, "down", "enter", "2")  # a column holds one thing: the first one lets go of it
        assert "part_number" not in screen._chosen
        assert screen._chosen["description"] == "Was"
        await press(pilot, "down", "down", "enter", "4", "end", "enter")
        assert isinstance(pilot.app.screen, Summary)
        assert "1 added" in seen(pilot.app)
        await press(pilot, "m")
        assert isinstance(pilot.app.screen, Columns)
        assert pilot.app.screen._chosen == {"description": "Was", "quantity": "Zahl"}
        await press(pilot, "escape")
        assert isinstance(pilot.app.screen, Form)
        await press(pilot, "escape")
        assert parts.list_parts(stocked) == []


@SIZES
async def test_rows_that_cannot_be_read_are_listed_and_keep_it_out(stocked, start, press, seen, give, size):
    bad = OFFERS + "North Counter,F3,belt,much\nNobody,F4,belt,1\n"
    async with start("parts").run_test(size=size) as pilot:
        await give(pilot, bad)
        whole = "".join(
            letter for letter in seen(pilot.app) if letter not in " \n│▁▂▃▄▅▆▇█"
        )  # however a long path wraps
        for said in ("2 things are not right", "list.csv", "“much” is no plain figure", "“Nobody” is not known"):
            assert said.replace(" ", "") in whole
        await press(pilot, "enter")
        assert "nothing is taken in" in seen(pilot.app)
        assert offers(stocked) == {"F1": 30, "F2": 100}
        await press(pilot, "escape", "escape")
        assert pilot.app.screen is pilot.app.place


async def test_answers_about_columns_outlast_a_refusal_and_leaving_the_form(stocked, start, press, seen, give):
    bad = FOREIGN.replace("0,36", "much")
    async with start("parts").run_test(size=(80, 24)) as pilot:
        await give(pilot, bad)
        await press(pilot, "enter", "2")  # all of it is from North Counter
        said = dict(pilot.app.screen._chosen)
        await press(pilot, "ctrl+s")
        assert "“much” is no plain figure" in " ".join(seen(pilot.app).split())
        await press(pilot, "escape", "escape")
        assert pilot.app.screen is pilot.app.place
        await give(pilot, FOREIGN, "corrected.csv")
        assert isinstance(pilot.app.screen, Summary)  # not asked again
        assert "1 added, 1 dearer, 1 gone" in seen(pilot.app)
        await press(pilot, "m")
        assert isinstance(pilot.app.screen, Columns)
        assert (pilot.app.screen._chosen, pilot.app.screen._supplier) == (said, "North Counter")
        await press(pilot, "escape", "enter")  # given up: asked again, with guesses
        assert isinstance(pilot.app.screen, Columns)
        assert pilot.app.screen._stated == ""
        assert offers(stocked) == {"F1": 30, "F2": 100}
        await press(pilot, "enter", "2", "ctrl+s", "enter")
        assert offers(stocked) == {"F1": 36, "F9": 200}
        assert pilot.app.columns_said == {}


@SIZES
async def test_what_was_assumed_and_what_stands_twice_is_said(stocked, start, press, seen, give, tmp_path, size):
    text = "supplier,sku,description,price\nNorth Counter,F3,fuse Ø5 für Gerät,0.40\n" * 2
    path = tmp_path / "old.csv"
    path.write_bytes((text.splitlines()[0] + "\n" + (text.splitlines()[1] + "\n") * 2).encode("cp1252"))
    async with start("parts").run_test(size=size) as pilot:
        await give(pilot, "")
        pilot.app.screen.query_one("#in-path", Input).value = str(path)
        await press(pilot, "enter")
        text = " ".join(seen(pilot.app).replace("│", " ").split())
        assert "old.csv: read as Windows-1252; see that its letters are right" in text
        assert "old.csv: 1 row says the same as an earlier one, taken once: line 3 as 2" in text
        assert "fuse Ø5 für Gerät" in text
        await press(pilot, "enter")
        assert offers(stocked) == {"F3": 40}


async def test_every_bad_row_of_a_list_of_units_is_named(stocked, start, press, seen, settled, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    path = Path("units.csv")
    path.write_text("count,class,grade\nmany,gamepad,\n1,radio,Z\n", encoding="utf-8")
    async with start("lot").run_test(size=(160, 50)) as pilot:
        await settled(pilot)
        await press(pilot, "i")
        pilot.app.screen.query_one("#in-path", Input).value = str(path)
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, Page)
        text = seen(pilot.app)
        assert "units.csv:2:count" in text
        assert "units.csv:3:grade" in text
        await press(pilot, "escape")
        assert isinstance(pilot.app.screen, Form)
        assert units.list_units(stocked) == []


async def test_a_list_of_units_is_told_where_it_goes(stocked, start, seen, give, settled, press):
    async with start("parts").run_test(size=(160, 50)) as pilot:
        await give(pilot, "count,class\n2,gamepad\n")
        assert "this is a list of units" in seen(pilot.app)
        assert units.list_units(stocked) == []


# ---- from an address


class Lists(http.server.ThreadingHTTPServer):
    daemon_threads = True
    block_on_close = False

    def __init__(self):
        super().__init__(("127.0.0.1", 0), Answer)
        self.text = OFFERS.replace("0.30", "0.33")
        self.asked = threading.Event()
        self.go = threading.Event()

    def handle_error(self, *_):
        """The other side hangs up on purpose here."""


class Answer(http.server.BaseHTTPRequestHandler):
    def log_message(self, *_):
        """Quiet."""

    def do_GET(self):
        self.server.asked.set()
        if self.path == "/slow":
            self.server.go.wait(30)
        body = self.server.text.encode()
        same = self.headers.get("If-None-Match") == '"1"' and self.path == "/list"
        self.send_response(304 if same else 404 if self.path == "/none" else 200)
        if not same:
            self.send_header("ETag", '"1"')
            self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        if not same:
            self.wfile.write(body)


@pytest.fixture
def server(serve):
    running = serve(Lists())
    yield running
    running.go.set()


@pytest.fixture
def at(server):
    return lambda path: f"http://127.0.0.1:{server.server_port}/{path}"


@SIZES
async def test_an_address_is_taken_in_and_fetched_again(stocked, start, press, seen, give, at, size):
    async with start("parts").run_test(size=size) as pilot:
        await give(pilot, at("list"))
        assert "0.30 EUR → 0.33 EUR" in seen(pilot.app)
        await press(pilot, "enter")
        assert offers(stocked)["F1"] == 33
        await give(pilot, "")
        assert "nothing new at the known addresses" in seen(pilot.app)
        history.take_back(pilot.app.bench)
        await give(pilot, at("none"))
        assert isinstance(pilot.app.screen, Form)
        assert "there is no such list (404)" in " ".join(seen(pilot.app).split())
        assert offers(stocked)["F1"] == 30


async def test_leaving_the_form_stops_the_fetch(stocked, start, press, seen, give, server, at, until):
    async with start("parts").run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await press(pilot, "escape", "i")
        pilot.app.screen.query_one("#in-path", Input).value = at("slow")
        await pilot.press("enter")
        await until(pilot, server.asked)
        assert "Esc stops it" in seen(pilot.app)
        await press(pilot, "escape")  # settles only because the fetch ends although the server is silent
        assert not server.go.is_set()
        assert pilot.app.screen is pilot.app.place
        assert offers(stocked) == {"F1": 30, "F2": 100}


async def test_leaving_the_program_does_not_wait_for_a_silent_server(stocked, start, press, server, at, until):
    async with start("parts").run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await press(pilot, "escape", "i")
        pilot.app.screen.query_one("#in-path", Input).value = at("slow")
        await pilot.press("enter")
        await until(pilot, server.asked)
        pilot.app.exit()
    assert not server.go.is_set()


@SIZES
async def test_a_long_import_says_how_far_it_is_and_leaving_stops_it(
    stocked, start, press, seen, give, settled, size, monkeypatch
):
    """The taking in is held up after its first rows; the form is left then, and nothing was kept."""
    go, began = threading.Event(), threading.Event()
    real = take_in.Bar.tell

    def slow(bar, doing, done, of):
        real(bar, doing, done, of)
        if doing == "keeping":
            began.set()
            go.wait(20)
            real(bar, doing, done, of)

    monkeypatch.setattr(take_in.Bar, "tell", slow)
    rows = "\n".join(f"QX-{number},lever {number} mm" for number in range(1_200))
    async with start("parts").run_test(size=size) as pilot:
        await give(pilot, f"part_number,description\n{rows}\n")
        assert isinstance(pilot.app.screen, Summary)
        await pilot.press("enter")
        for _ in range(100):
            await pilot.pause(0.05)
            if began.is_set() and "keeping" in seen(pilot.app):
                break
        assert "41 %, 500 of 1,200; Esc stops it" in seen(pilot.app)
        await pilot.press("escape")
        await pilot.pause(0.5)
        go.set()
        await settled(pilot)
        assert pilot.app.screen is pilot.app.place
        assert "stopped; nothing was taken in" in seen(pilot.app)
        assert parts.list_parts(stocked) == []
        monkeypatch.setattr(take_in.Bar, "tell", real)
        await give(pilot, f"part_number,description\n{rows}\n")
        await press(pilot, "enter")
        assert len(parts.list_parts(stocked)) == 1_200
        assert pilot.app.screen is pilot.app.place
        await press(pilot, "u")
        assert parts.list_parts(stocked) == []
