"""Running the command line, in this process and as a process of its own."""

import json
import os
import shutil
import subprocess
import sys

import pytest
from click.testing import CliRunner

from triage.cli import program

SUPPLIERS = """supplier,currency,lead_days,lead_days_late,min_order,shipping,free_from
North Bench Supply,EUR,3,5,,3.50,
"""
OFFERS = """supplier,sku,part_number,description,pack,min_packs,stock,from,price,price_per,discount,currency
North Bench Supply,NB-1,STK-10,stick unit,1,1,20,1,2.10,1,,EUR
North Bench Supply,NB-1,STK-10,stick unit,1,1,20,5,1.80,1,,EUR
North Bench Supply,NB-2,,electrolytic 4.7uF 50V radial,10,1,,1,0.60,10,,EUR
"""
PARTS = """part_number,description,kind,quantity,place,unit_cost,currency
,electrolytic 4.7uF 25V radial,,12,box 1,0.08,EUR
,fuse T1.6A 250V 5x20,,8,box 3,0.35,EUR
"""


class Ran:
    """What one command line did."""

    def __init__(self, code, out, err, error=None):
        self.code, self.out, self.err, self.error = code, out, err, error

    @property
    def form(self):
        """The one JSON object that was printed."""
        assert self.code == 0, self.err
        assert self.out.count("\n") == 1
        return json.loads(self.out)

    @property
    def forms(self):
        """The JSON objects that were printed, one a line."""
        return [json.loads(line) for line in self.out.splitlines()]

    @property
    def complaint(self):
        """The one line of talk."""
        lines = self.err.splitlines()
        assert len(lines) == 1, self.err
        return lines[0]


@pytest.fixture
def bench_path(tmp_path, monkeypatch):
    path = tmp_path / "bench.db"
    monkeypatch.setenv("LOTWRIGHT_BENCH", str(path))
    monkeypatch.setenv("LOTWRIGHT_TRACEBACK", "1")
    return path


def on(**environment):
    """Runs command lines in this process, with this set besides."""
    runner = CliRunner(env=environment)

    def run(*words, given=None):
        said = runner.invoke(program, ["--today", "2026-01-08", *map(str, words)], input=given)
        if said.exception is not None and not isinstance(said.exception, SystemExit):
            raise said.exception
        return Ran(said.exit_code, said.stdout, said.stderr)

    return run


@pytest.fixture
def run(bench_path):
    """Run a command line in this process, on a bench file of the test's own."""
    return on()


@pytest.fixture
def process(bench_path):
    """Run a command line as a process."""

    def process(*words, given=b"", **details):
        done = subprocess.run(
            [sys.executable, "-m", "triage", *map(str, words)],
            input=given,
            capture_output=True,
            check=False,
            env={**os.environ, "LOTWRIGHT_TRACEBACK": ""},
            **details,
        )
        return Ran(done.returncode, done.stdout.decode(), done.stderr.decode())

    return process


@pytest.fixture
def write(tmp_path):
    def write(text, name="list.csv"):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return write


PAD_HAZARDS = ("swollen_pack", "leaked_cells")
RADIO_HAZARDS = ("leaked_cells", "mains_inside", "live_chassis")


@pytest.fixture(scope="session")
def kept_lot(tmp_path_factory):
    """The folder behind `lot`, made once and copied for each test."""
    folder = tmp_path_factory.mktemp("lot")
    run = on(LOTWRIGHT_BENCH=str(folder / "bench.db"))
    assert run("lot", "new", "cellar", "--paid", "60", "--deadline", "2026-02-20", "--hours", "6").code == 0
    assert run("lot", "add", "2 gamepads drift", "1 radio hum").code == 0
    for unit, hazards in {1: PAD_HAZARDS, 2: PAD_HAZARDS, 3: RADIO_HAZARDS}.items():
        for hazard in hazards:
            assert run("hazard", unit, hazard, "no").code == 0
    for name, text in (("parts.csv", PARTS), ("suppliers.csv", SUPPLIERS), ("offers.csv", OFFERS)):
        (folder / name).write_text(text)
    assert run("parts", "import", folder / "parts.csv").code == 0
    assert run("prices", "import", folder / "suppliers.csv", folder / "offers.csv").code == 0
    return folder


@pytest.fixture(scope="session")
def kept_described(kept_lot, tmp_path_factory):
    """The folder behind `described`."""
    folder = tmp_path_factory.mktemp("described")
    shutil.copytree(kept_lot, folder, dirs_exist_ok=True)
    run = on(LOTWRIGHT_BENCH=str(folder / "bench.db"))
    for words in (
        ("unit", 1, "working=60.00"),
        ("hazard", 1, "swollen_pack", "no"),
        ("check", 1, "connects", "y"),
        ("check", 1, "centre", "n"),
        ("pile", 1, "fix", "--why", "wanted"),
        ("need", 1, "stick_module", "STK-10", "--kind", "listed"),
    ):
        assert run(*words).code == 0
    return folder


@pytest.fixture
def lot(run, bench_path, kept_lot):
    """A lot of three units with a parts list, a supplier and its prices."""
    shutil.copytree(kept_lot, bench_path.parent, dirs_exist_ok=True)
    return run


@pytest.fixture
def described(lot, bench_path, kept_described):
    """The same, the first unit looked at and leaning to fix, with its part described."""
    shutil.copytree(kept_described, bench_path.parent, dirs_exist_ok=True)
    return lot
