"""Backup, check-up, export and import of the whole bench file."""

import json
import shutil
import sqlite3
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from catalog import store as catalog_store
from catalog.database import writing
from catalog.text import Refused
from triage import schema, store
from triage.actions import files
from triage.bench_file import BenchFile
from triage.lot import Happening, Lot, Need, Unit

ROOT = Path(__file__).parents[2]
TEXTS = (
    "",
    " ",
    "=1+1",
    "+4",
    "-",
    "@x",
    "'",
    "''=",
    '"quoted", "',
    "two\nlines",
    "a,b;c",
    "кОм Ω 🔧",
    "NULL",
    "1e5",
    "00",
    "\\",
)


def fill(bench):
    """Some of everything, with texts that a spreadsheet or a CSV reader would trip over."""
    journal, at = bench.journal, bench.now()
    with journal.event("lot", "take in", at=at, final=True) as recorder:
        lot = store.save(recorder, "lots", Lot(0, "attic", "EUR", 4000, cash_limit=None, note="=SUM(A1:A9)"))
        for text in TEXTS:
            number = store.save(recorder, "units", Unit(0, lot, "", text, (text,), (), note=text), "number")
            happening = Happening(0, number, at, "reading", "rail", "bad", -0.1 - number / 3, text, 1e-9)
            store.save(recorder, "happenings", happening)
        need = store.save(recorder, "needs", Need(0, 1, "leaky", "c1", 2, "47uF", compromise_ok=True))
        order = store.save(recorder, "orders", store.Order(0, lot, "Hill", at, "2026-02-01", "EUR", -5, 0))
        line = store.OrderLine(0, order, "s", "p", "d", 1, 10, 99, (1, 2), (need,), "drop_in")
        store.save(recorder, "order_lines", line)
        store.save_setting(recorder, bench.database, "tools", ["iron"])
        supplier = catalog_store.Supplier(0, "Hill", "EUR", 1, 2, 0, 0, None, None)
        supplier_id = catalog_store.save_supplier(recorder, supplier)
    with writing(bench.database):
        batch = catalog_store.new_batch(bench.database, "offers", "list.csv", at)
        steps = (catalog_store.PriceStep(1, 5, 100), catalog_store.PriceStep(100, 4, 100))
        offer = catalog_store.Offer(
            0, supplier_id, "s", "p", "fuse", "", None, "", 10, 1, None, "all_units", steps, "fuse"
        )
        catalog_store.add_offers(bench.database, batch, [offer])
        with journal.event("prices", "read prices", at=at, batch=batch) as recorder:
            recorder.update("suppliers", supplier_id, {"price_batch": batch})
    with journal.event("add", "one more", at=at, unit=len(TEXTS) + 1) as recorder:
        store.save(recorder, "units", Unit(0, lot, "", "gone"), "number")
    journal.undo(at=at)


def everything(bench):
    return {table: [tuple(row.values()) for row in bench.database[table].rows] for table in schema.TABLES}


@pytest.fixture
def bench(tmp_path):
    with BenchFile(tmp_path / "bench.db", today=date(2026, 1, 8)) as bench:
        fill(bench)
        yield bench


@pytest.fixture
def exported(bench, tmp_path):
    files.export(bench, tmp_path / "out")
    return tmp_path / "out"


def test_a_sound_file_is_found_sound(bench):
    found = files.verify(bench)
    assert found.problems == ()
    assert found.ok
    assert found.counts == {table: len(rows) for table, rows in everything(bench).items()}
    assert files.verify(bench).digest == found.digest
    assert len(found.digest) == 64


def test_an_empty_file_is_sound_and_survives(tmp_path):
    with BenchFile(tmp_path / "empty.db") as empty:
        before = files.verify(empty)
        files.export(empty, tmp_path / "out")
    assert before.ok
    assert files.import_(tmp_path / "out", tmp_path / "again.db").digest == before.digest


@pytest.mark.parametrize(
    ("statement", "told"),
    [
        ("UPDATE needs SET unit = 99", "needs 1: names a row of units that is not there"),
        ("UPDATE happenings SET unit = 99 WHERE id = 2", "happenings 2: names a row of units that is not there"),
        ("UPDATE happenings SET kind = 'guess' WHERE id = 3", "happenings 3: "),
        ("UPDATE happenings SET value = 9e999 WHERE id = 3", "happenings 3 value: a number without end"),
        ("UPDATE units SET candidates = '[' WHERE number = 4", "units 4: "),
        ("UPDATE units SET candidates = '[1]' WHERE number = 4", "units 4: "),
        ("UPDATE units SET note = char(27) || '[2J' WHERE number = 4", "units 4 note: a character that cannot"),
        (
            "UPDATE units SET symptoms = '[\"\\u001b[2J\"]' WHERE number = 4",
            "units 4 symptoms: a character that cannot",
        ),
        ("UPDATE needs SET state = 'lost'", "needs 1: "),
        ("UPDATE order_lines SET units = '[1, 77]'", "order_lines 1 units: names 77"),
        ("UPDATE order_lines SET needs = '[9]'", "order_lines 1 needs: names 9"),
        ("UPDATE settings SET value = 'iron'", "settings 1 value: is not JSON"),
        ("UPDATE offers SET steps = '{}'", "offers 1: "),
        ("UPDATE suppliers SET price_batch = 99", "suppliers 1: names a row of batches"),
        ("UPDATE journal SET unit = 999 WHERE id = 1", "journal 1 unit: 999 was never given"),
        ("UPDATE journal SET action = 'redo' WHERE action = 'undo'", "journal 4 target: redo of 3"),
        ("UPDATE journal SET target = 4 WHERE action = 'undo'", "journal 4 target: undo of 4"),
        ("UPDATE journal_rows SET after = '{' WHERE event = 2", "journal_rows 2/1 after: is not JSON"),
        ("UPDATE journal_rows SET after = '{\"x\": 1}' WHERE event = 2", "journal_rows 2/1 after: is not a row"),
        ("UPDATE journal_rows SET before = NULL, after = NULL WHERE event = 2", "journal_rows 2/1: holds neither"),
        ("UPDATE journal_rows SET table_name = 'x' WHERE event = 2", "journal_rows 2/1 table_name: x is no table"),
        ("UPDATE sqlite_sequence SET seq = 1 WHERE name = 'units'", "units 16 number: is beyond its numbering, 1"),
        ("UPDATE sqlite_sequence SET seq = 1 << 60 WHERE name = 'units'", "units: its numbering stands at"),
    ],
)
def test_what_is_wrong_is_named(bench, statement, told):
    before = files.verify(bench)
    bench.database.conn.execute("PRAGMA foreign_keys = OFF")
    bench.database.conn.execute(statement)
    bench.database.conn.commit()
    found = files.verify(bench)
    assert not found.ok
    assert [line for line in found.problems if line.startswith(told)]
    assert found.digest != before.digest


@pytest.fixture
def damaged(bench, tmp_path):
    """A function that opens a copy in which bytes at the end of the first page of a table or index were changed."""

    def damaged(name, new):
        copy = files.backup(bench, tmp_path / "copy.db")
        query = "SELECT rootpage FROM sqlite_master WHERE name = ?"
        page = bench.database.conn.execute(query, (name,)).fetchone()[0]
        size = bench.database.conn.execute("PRAGMA page_size").fetchone()[0]
        content = bytearray(copy.read_bytes())
        content[page * size - len(new) : page * size] = new
        copy.write_bytes(content)
        return BenchFile(copy)

    return damaged


@pytest.mark.parametrize("name", ["happenings_unit", "journal_unit", "needs_unit"])
def test_a_damaged_index_is_a_finding(damaged, name):
    with damaged(name, b"\x08") as bench:  # its first entry leads to row 0 instead of row 1
        assert name in " ".join(files.verify(bench).problems)


@pytest.mark.parametrize("name", ["happenings", "units", "journal_rows"])
def test_a_damaged_table_is_refused_with_what_to_do(damaged, name):
    with damaged(name, bytes(4096)) as bench, pytest.raises(Refused, match="restore a backup"):
        files.verify(bench)


def test_a_backup_is_equal_and_overwrites_nothing(bench, tmp_path):
    target = tmp_path / "backup.db"
    assert files.backup(bench, target) == target
    with BenchFile(target) as copy:
        assert files.verify(copy) == files.verify(bench)
    kept = target.read_bytes()
    for taken in (target, bench.path):
        with pytest.raises(Refused, match="exists already"):
            files.backup(bench, taken)
    assert target.read_bytes() == kept


def test_export_and_import_give_an_equal_file(bench, exported, tmp_path):
    before = files.verify(bench)
    found = files.import_(exported, tmp_path / "deep" / "new.db")
    assert found == before
    assert [entry.name for entry in (tmp_path / "deep").iterdir()] == ["new.db"]
    with BenchFile(tmp_path / "deep" / "new.db") as new:
        assert everything(new) == everything(bench)
        assert files.verify(new) == before
        files.export(new, tmp_path / "out2")
    for path in exported.iterdir():
        assert (tmp_path / "out2" / path.name).read_bytes() == path.read_bytes()


def test_numbering_and_taking_back_go_on_in_the_new_file(bench, exported, tmp_path):
    files.import_(exported, tmp_path / "new.db")
    with BenchFile(tmp_path / "new.db") as new:
        assert new.journal.redo(at=new.now()).summary == "one more"
        with new.journal.event("add", "add", at=new.now()) as recorder:
            assert store.save(recorder, "units", Unit(0, 1, "", "next"), "number") == len(TEXTS) + 2
        assert [new.journal.undo(at=new.now()).summary for _ in range(3)] == ["add", "one more", "read prices"]
        with pytest.raises(Refused, match="counter-entry"):
            new.journal.undo(at=new.now())


def test_no_cell_of_text_starts_like_a_formula(exported):
    lines = (exported / "units.csv").read_text(encoding="utf-8").splitlines()
    assert "'=1+1" in lines[3]
    cells = [cell for line in lines for cell in line.split(",")]
    assert not [cell for cell in cells if cell.startswith(("=", "+", "@", '"=', '"+', '"@'))]
    assert not [cell for cell in cells if cell.startswith("-") and not cell[1:].replace(".", "").isdigit()]


def test_an_export_replaces_an_earlier_one_but_nothing_else(bench, exported, tmp_path):
    with bench.journal.event("add", "add", at=bench.now()) as recorder:
        store.save(recorder, "lots", Lot(0, "cellar", "EUR"))
    files.export(bench, exported)
    assert files.import_(exported, tmp_path / "new.db").digest == files.verify(bench).digest
    own = tmp_path / "own"
    own.mkdir()
    (own / "parts.csv").write_text("my own list")
    with pytest.raises(Refused, match=r"parts\.csv"):
        files.export(bench, own)
    assert [(path.name, path.read_text()) for path in own.iterdir()] == [("parts.csv", "my own list")]
    with pytest.raises(Refused, match="cannot write here"):
        files.export(bench, own / "parts.csv" / "deeper")


def test_import_overwrites_nothing(bench, exported):
    before = files.verify(bench)
    with pytest.raises(Refused, match="exists already"):
        files.import_(exported, bench.path)
    assert files.verify(bench) == before


def change(name, old, new):
    def change(folder):
        path = folder / name
        text = path.read_bytes()
        assert old in text
        path.write_bytes(text.replace(old, new, 1))

    return change


def put(name, content):
    return lambda folder: (folder / name).write_bytes(content)


def manifest(**changes):
    def change(folder):
        path = folder / files.MANIFEST
        path.write_text(json.dumps(json.loads(path.read_text()) | changes))

    return change


def numbered(name, number):
    def change(folder):
        path = folder / files.MANIFEST
        held = json.loads(path.read_text())
        held["numbers"][name] = number
        path.write_text(json.dumps(held))

    return change


@pytest.mark.parametrize(
    ("spoil", "told"),
    [
        (change("lots.csv", b",EUR,4000", b",EUR,4 000"), r"lots\.csv:2:paid: expected a whole number"),
        (change("lots.csv", b",EUR,4000", b",EUR,-4000"), r"lots\.csv:2: this row is not accepted"),
        (change("lots.csv", b",EUR,4000", b",EUR,99999999999999999999"), r"lots\.csv:2:paid: "),
        (change("lots.csv", b",EUR,4000", b",EUR,"), r"lots\.csv:2:paid: .*NOT NULL"),
        (change("lots.csv", b"attic", b"at\x1b[2Jtic"), r"lots\.csv:2:name: a character that cannot be printed"),
        (change("lots.csv", b"attic", "at\u202etic".encode()), r"lots\.csv:2:name: "),
        (change("lots.csv", b"attic", b"at\x00tic"), r"lots\.csv:2"),
        (change("lots.csv", b"attic", b"at\xfftic"), r"lots\.csv:\d: is not UTF-8"),
        (change("lots.csv", b"attic", b"=attic"), r"lots\.csv:2:name: expected an apostrophe"),
        (change("lots.csv", b"attic", b"'attic"), r"lots\.csv:2:name: expected an apostrophe"),
        (change("lots.csv", b"attic", b"'"), None),
        (change("lots.csv", b"\n1,", b"\n,"), r"lots\.csv:2:id: expected a value"),
        (change("lots.csv", b"\n1,", b"\n0,"), r"lots\.csv|lots 0|row of lots"),
        (change("lots.csv", b"attic,", b"attic,,"), r"lots\.csv:2: expected 14 cells, found 15"),
        (change("lots.csv", b"id,name", b"id,title"), r"lots\.csv:1: expected the columns id,name"),
        (change("lots.csv", b"attic", b'"attic'), r"lots\.csv:2: is not well-formed CSV"),
        (change("units.csv", b"\n7,1,", b"\n6,1,"), r"units\.csv:8:number: .*UNIQUE"),
        (put("lots.csv", b""), r"lots\.csv:1"),
        (lambda folder: (folder / "lots.csv").unlink(), r"lots\.csv: cannot be read"),
        (change("units.csv", b"\n7,1,", b"\n7,8,"), r"units\.csv:8:lot: names a row of lots that is not there"),
        (change("needs.csv", b"\n1,1,", b"\n1,99,"), r"needs\.csv:2:unit: names a row of units"),
        (change("happenings.csv", b",reading,", b",guess,"), r"happenings 1: "),
        (change("happenings.csv", b"1e-09", b"1e999"), r"happenings\.csv:2:minutes: expected a number"),
        (change("happenings.csv", b"1e-09", b"nan"), r"happenings\.csv:2:minutes: expected a number"),
        (change("happenings.csv", b"1e-09", b"-1.0"), r"happenings\.csv:2: .*CHECK"),
        (
            change("units.csv", b'"[""""]"', b'"[""\\u001b[2J""]"'),
            r"units\.csv:2:candidates: .*hidden|cannot be printed",
        ),
        (change("journal_rows.csv", b",1,lots,1,", b",1,sqlite_master,1,"), r"journal_rows 1/1 table_name"),
        (change("journal_rows.csv", b"attic", b"at\\u001btic"), r"journal_rows\.csv:2:after: "),
        (change("journal.csv", b",take in,", b",take in"), r"journal\.csv:2: expected"),
        (manifest(schema=0), r":schema: expected a schema from 1"),
        (manifest(schema=999), r":schema: .*update lotwright"),
        (manifest(schema="1"), r"manifest of an export"),
        (manifest(more=1), r"manifest of an export"),
        (manifest(counts={}), r":counts: expected the tables"),
        (manifest(numbers={}), r":numbers\.\w+: expected the highest number"),
        (numbered("units", 3), r":numbers\.units: expected a number from 16"),
        (numbered("units", 2**63 - 1), r":numbers\.units: expected a number from 16"),
        (numbered("../x", 3), r":numbers\.\.\./x: is no table"),
        (put(files.MANIFEST, b"[" * 100_000), r"manifest"),
        (put(files.MANIFEST, b"\xff"), r"manifest"),
        (lambda folder: (folder / files.MANIFEST).unlink(), r"name the folder of an export"),
        (shutil.rmtree, r"name the folder of an export"),
    ],
)
def test_what_no_export_wrote_is_refused_and_leaves_nothing(exported, tmp_path, spoil, told):
    spoil(exported)
    before = sorted(tmp_path.rglob("*"))
    if told is None:
        assert files.import_(exported, tmp_path / "new.db").ok
        return
    with pytest.raises(Refused, match=told):
        files.import_(exported, tmp_path / "new.db")
    assert sorted(tmp_path.rglob("*")) == before


def test_a_file_cut_short_or_made_longer_is_noticed(exported, tmp_path):
    path = exported / "happenings.csv"
    lines = path.read_bytes().split(b"\n")
    path.write_bytes(b"\n".join(lines[:4]) + b"\n")
    with pytest.raises(Refused, match=rf"happenings\.csv: expected {len(TEXTS)} rows, found 3"):
        files.import_(exported, tmp_path / "new.db")
    path.write_bytes(b"\n".join([*lines[:-1], b"99" + lines[1].removeprefix(b"1"), b""]))
    with pytest.raises(Refused, match=rf"happenings\.csv: expected {len(TEXTS)} rows, found more"):
        files.import_(exported, tmp_path / "new.db")


def test_an_export_of_an_older_schema_is_migrated(bench, exported, tmp_path, monkeypatch):
    newer = (*schema.MIGRATIONS, lambda database: database.conn.execute("ALTER TABLE lots ADD COLUMN rank INTEGER"))
    monkeypatch.setattr(schema, "MIGRATIONS", newer)
    found = files.import_(exported, tmp_path / "new.db")
    assert found.counts["lots"] == 1
    assert not list(tmp_path.glob("*schema*"))
    with BenchFile(tmp_path / "new.db") as new:
        assert new.database.conn.execute("SELECT name, rank FROM lots").fetchall() == [("attic", None)]


TEXT = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Cf", "Co", "Cn", "Zl", "Zp", "Zs"])
    | st.sampled_from(" \n'=,\"-\\")
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(TEXT, st.none() | st.floats(allow_nan=False, allow_infinity=False)), max_size=8))
def test_any_text_and_number_survives(tmp_path_factory, rows):
    folder = tmp_path_factory.mktemp("any")
    with BenchFile(folder / "bench.db") as bench:
        with bench.journal.event("add", "add", at=bench.now()) as recorder:
            lot = store.save(recorder, "lots", Lot(0, "x", "EUR"))
            for text, value in rows:
                unit = store.save(recorder, "units", Unit(0, lot, "", text, (text,)), "number")
                store.save(recorder, "happenings", Happening(0, unit, "", "note", "", text, value, text))
        before, held = files.verify(bench), everything(bench)
        files.export(bench, folder / "out")
    assert before.problems == ()
    assert files.import_(folder / "out", folder / "new.db") == before
    with BenchFile(folder / "new.db") as new:
        assert everything(new) == held


WRITER = """
import sys
from pathlib import Path
from triage import schema, store
from triage.bench_file import BenchFile
from triage.lot import Happening, Lot, Unit
with BenchFile(Path(sys.argv[1])) as bench:
    print("ready", flush=True)
    while True:
        with bench.journal.event("add", "add", at=bench.now()) as recorder:
            lot = store.save(recorder, "lots", Lot(0, "x", "EUR"))
            store.save(recorder, "units", Unit(0, lot, "", "x"), "number")
"""


def test_export_and_backup_beside_a_busy_writer_are_of_one_moment(bench, tmp_path):
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(bench.path)], stdout=subprocess.PIPE, text=True, cwd=ROOT
    )
    try:
        assert writer.stdout.readline() == "ready\n"
        for number in range(3):
            held = files.export(bench, tmp_path / f"out{number}")
            files.backup(bench, tmp_path / f"copy{number}.db")
            assert files.import_(tmp_path / f"out{number}", tmp_path / f"new{number}.db").counts == held.counts
            copy = sqlite3.connect(tmp_path / f"copy{number}.db")
            lots, units = copy.execute("SELECT (SELECT count(*) FROM lots), (SELECT count(*) FROM units)").fetchone()
            copy.close()
            assert lots - 1 == units - len(TEXTS)
            with BenchFile(tmp_path / f"new{number}.db") as new:
                earlier = len(store.lots(new.database))
                assert earlier - 1 == len(store.units(new.database)) - len(TEXTS)
            assert earlier <= lots
    finally:
        writer.kill()
        writer.communicate()
