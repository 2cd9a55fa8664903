"""On a real terminal nothing raw from a bench file gets through, in no command and on no screen.

The names are written past the gate at which input is cleaned, straight into the tables, as a file of unknown origin
would hold them: what is shown has to be clean for its own part too.
"""

import contextlib
import fcntl
import json
import os
import pty
import re
import select
import shutil
import signal
import sqlite3
import struct
import subprocess
import sys
import termios
import time
import tomllib
from datetime import date
from pathlib import Path

import pyte
import pytest

from triage.actions import looks, lots, needs, parts, prices, settings, units
from triage.bench_file import CLASS_FOLDER, BenchFile

TODAY = "2026-01-08"
PAYLOADS = tomllib.loads((Path(__file__).parent / "hostile" / "payloads.toml").read_text("utf-8"))["payload"]
RAW = [raw.encode() for payload in PAYLOADS for raw in payload.get("raw", ())]
MARKUP = ("[/x]", "[@click=app.quit]press me[/]")
"""Markup that has to be readable as it stands wherever its text is shown."""
EVIL = "A [/x] B [@click=app.quit]press me[/]\x00 C " + " ".join(payload["text"] for payload in PAYLOADS)
LATIN = EVIL.replace("\x00", "")

SUPPLIERS = "supplier,lead_days,shipping\nNorth Bench Supply,3,3.50\n"
OFFERS = "supplier,sku,part_number,description,price\nNorth Bench Supply,NB-1,STK-10,stick unit,2.10\n"
TEXTS = {
    "lots": ("name", "place", "note"),
    "units": ("typed", "model", "note", "shelf", "pile_reason"),
    "happenings": ("raw",),
    "needs": ("source",),
    "parts": ("part_number", "description", "left_over", "place", "search"),
    "suppliers": ("name",),
    "offers": ("sku", "description", "left_over", "search"),
    "batches": ("source",),
    "journal": ("summary",),
}
"""The columns that hold a person's or a seller's own words."""

TERMINAL = {
    "TERM": "xterm-256color",
    "COLUMNS": "",
    "LINES": "",
    "TEXTUAL_ANIMATIONS": "none",
    "COLORTERM": "truecolor",
}
COLOUR = re.compile(rb"\x1b\[[\d;]*m")
UNFINISHED = re.compile(rb"\x1b(\[[\d;]*)?$")
"""A sequence whose end is still to come."""
PLACES = {"lot": b"\x1bOQ", "bench": b"\x1bOR", "parts": b"\x1bOS", "order": b"\x1b[15~"}
"""The keys of the places, as a terminal sends F2 to F5."""
TABS = {"lot": "▸F2 Lot◂", "bench": "▸F3 Bench◂", "parts": "▸F4 Parts◂", "order": "▸F5 Order◂"}
"""How the place one is in is marked."""


@pytest.fixture(scope="module")
def poisoned(tmp_path_factory):
    """A bench file whose every free text is hostile, with a class file of hostile words beside it."""
    folder = tmp_path_factory.mktemp("poisoned")
    (folder / CLASS_FOLDER).mkdir()
    lamp = (Path(__file__).parent / "hostile" / "lamp.toml").read_text("utf-8")
    words = json.dumps(LATIN).replace("\x7f", "\\u007f")
    for clean in ('"Lamp"', '"bulb blown"', '"wire loose"', '"Does it glow?"', '"Switch it on."'):
        lamp = lamp.replace(clean, words)
    (folder / CLASS_FOLDER / "lamp.toml").write_text(lamp, "utf-8")
    for name, text in (("suppliers.csv", SUPPLIERS), ("offers.csv", OFFERS)):
        (folder / name).write_text(text)
    with BenchFile(folder / "bench.db", today=date.fromisoformat(TODAY)) as bench:
        assert bench.class_problems == ()
        settings.change_person(bench, currency="EUR")
        lots.new_lot(bench, "cellar", paid=6000, bench_minutes=360)
        units.add_units(bench, "2 gamepads drift, 1 radio hum, 1 lamp dark, 1 teapot")
        for hazard in bench.classes["gamepad"].hazards:
            looks.hazard(bench, 1, hazard.id, "no")
        looks.answer(bench, 1, "connects", "y")
        looks.note(bench, 1, "a note")
        units.overrule(bench, 1, "fix", "wanted")
        needs.describe_need(bench, 1, "stick_module", "STK-10", kind="listed")
        parts.add_part(bench, "fuse T1A 250V 5x20", quantity=3)
        for name in ("suppliers.csv", "offers.csv"):
            prices.import_any(bench, folder / name)
    with contextlib.closing(sqlite3.connect(folder / "bench.db")) as base:
        for table, columns in TEXTS.items():
            for column in columns:
                base.execute(f"UPDATE {table} SET {column} = {column} || ' ' || ?", (EVIL,))  # noqa: S608 - names above
        base.commit()
    return folder


@pytest.fixture
def path(poisoned, tmp_path):
    shutil.copytree(poisoned, tmp_path, dirs_exist_ok=True)
    return tmp_path / "bench.db"


class Terminal:
    """A process on a terminal of its own: every byte it wrote, and what a person would see."""

    def __init__(self, path, *words, size):
        columns, rows = size
        self.written = b""
        self._held = b""
        self.screen = pyte.Screen(columns, rows)
        self._stream = pyte.ByteStream(self.screen)
        self._end, there = pty.openpty()
        fcntl.ioctl(there, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        self.process = subprocess.Popen(
            [sys.executable, "-m", "triage", "--bench", str(path), "--today", TODAY, *words],
            stdin=there,
            stdout=there,
            stderr=there,
            env={**os.environ, **TERMINAL},
            start_new_session=True,
        )
        os.close(there)

    def send(self, keys):
        os.write(self._end, keys)

    def read(self, seconds):
        """Take in what comes next; False once nothing came for so long, or the process is gone."""
        ready, _, _ = select.select([self._end], [], [], seconds)
        try:
            piece = os.read(self._end, 65_536) if ready else b""
        except OSError:
            piece = b""
        came = bool(piece)
        self.written += piece
        # colours change no letter, and reading them is most of the work
        piece = self._held + piece
        self._held = held.group() if (held := UNFINISHED.search(piece)) else b""
        self._stream.feed(COLOUR.sub(b"", piece.removesuffix(self._held)))
        return came

    def until(self, *texts, seconds=90):
        """Take in what comes until all of these are to be seen, and then until it is quiet."""
        end = time.monotonic() + seconds
        while time.monotonic() < end and not all(text in self.text for text in texts):
            self.read(1)
        while time.monotonic() < end and self.read(0.3):  # a cursor blinks more slowly
            pass
        assert all(text in self.text for text in texts), f"{texts} not to be seen in\n{self.text}"

    @property
    def text(self):
        return "\n".join(self.screen.display)

    def close(self):
        if self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()
        os.close(self._end)


@pytest.fixture
def terminal(path):
    opened = []

    def terminal(*words, size=(80, 24)):
        opened.append(Terminal(path, *words, size=size))
        return opened[-1]

    yield terminal
    for each in opened:
        each.close()


def slipped(written):
    """The hostile sequences that reached the terminal."""
    return [raw for raw in RAW if raw in written]


@pytest.mark.parametrize(
    "words",
    [("lot", "show"), ("lot", "list"), ("unit", "1"), ("odds", "4"), ("next", "4"), ("find", "fuse"), ("history",),
     ("parts", "list"), ("prices", "show"), ("classes",), ("plan",)],
    ids=" ".join,
)  # fmt: skip
def test_a_command_writes_nothing_but_plain_lines(terminal, words):
    shown = terminal(*words, size=(160, 50))
    while shown.read(60):
        pass
    assert shown.process.wait(timeout=60) == 0
    assert "[@click=app.quit]press me[/]" in shown.written.decode()
    assert shown.written.decode().replace("\r\n", "").isprintable()
    assert slipped(shown.written) == []
    assert shown.screen.title == ""


WALKS = {
    (80, 24): (("bench",), ("parts",), ("order",)),
    (160, 50): (
        ("lot", b"?", b"c", b"e"),
        ("bench", b"v", b"w", b"l", b"h", b"]", b"]", b"]", b"v", b"w", b"l"),
        ("parts", b"fuse", b"\t"),
        ("order", b"w", b"v"),
        ("bench", b"n"),
        ("lot", b"b"),
    ),
}
"""Size of the terminal -> places in turn, and the keys that open things in each, each left by Esc."""


@pytest.mark.parametrize("size", WALKS, ids=["80x24", "160x50"])
def test_no_place_lets_anything_through(terminal, size):
    shown = terminal(size=size)
    shown.until(TABS["lot"], MARKUP[0])
    seen = shown.text
    for place, *keys in WALKS[size]:
        shown.send(PLACES[place])
        shown.until(TABS[place])
        seen += shown.text
        for key in keys:
            shown.send(key)
            shown.until()
            seen += shown.text
            shown.send(b"\x1b")
            shown.until()
    shown.send(b"\x11")
    while shown.read(60):
        pass
    assert shown.process.wait(timeout=60) == 0, shown.text
    assert all(text in seen for text in MARKUP)
    assert slipped(shown.written) == []
    assert "owned" not in shown.screen.title
