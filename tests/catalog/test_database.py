"""Opening a bench file: settings, versions, foreign files, several processes."""

import hashlib
import sqlite3
import subprocess
import sys
import threading
import time
from contextlib import closing
from pathlib import Path

import pytest

from catalog.database import (
    APPLICATION_ID,
    _marks,
    copy_file,
    open_database,
    reading,
    run_script,
    schema_version,
    writing,
)
from catalog.text import Refused

ROOT = Path(__file__).parents[2]


def first(database):
    run_script(database, "CREATE TABLE notes (id INTEGER PRIMARY KEY AUTOINCREMENT, text TEXT NOT NULL) STRICT;\n")


def second(database):
    run_script(
        database,
        "ALTER TABLE notes ADD COLUMN\n  rank INTEGER NOT NULL DEFAULT 7;\n"
        "CREATE TABLE more (\n id INTEGER PRIMARY KEY,\n note INTEGER NOT NULL REFERENCES notes (id)\n) STRICT;\n",
    )


def failing(database):
    run_script(database, "CREATE TABLE half (id INTEGER PRIMARY KEY) STRICT;\n")
    raise RuntimeError("the power went")


def state(folder):
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.iterdir()}


def pragma(database, name):
    return database.conn.execute(f"PRAGMA {name}").fetchone()[0]


@pytest.fixture
def path(tmp_path):
    return tmp_path / "a folder" / "bench#1 %20?.db"


@pytest.fixture
def old(path):
    """A file at schema 1 with one note."""
    database = open_database(path, [first])
    with writing(database):
        database.conn.execute("INSERT INTO notes (text) VALUES ('kept')")
    database.conn.close()
    return path


def test_a_new_file_has_the_safe_settings(path):
    database = open_database(path, [first, second])
    assert pragma(database, "journal_mode") == "wal"
    assert pragma(database, "synchronous") == 2
    assert pragma(database, "foreign_keys") == 1
    assert pragma(database, "trusted_schema") == 0
    assert pragma(database, "busy_timeout") == 10_000
    assert pragma(database, "application_id") == APPLICATION_ID
    assert schema_version(database) == 2
    with pytest.raises(sqlite3.IntegrityError), writing(database):
        database.conn.execute("INSERT INTO more VALUES (1, 99)")
    database.conn.close()
    assert [entry.name for entry in path.parent.iterdir()] == [path.name]


def test_an_old_file_is_backed_up_then_migrated(old):
    database = open_database(old, [first, second], when="20260108")
    assert database.conn.execute("SELECT * FROM notes").fetchall() == [(1, "kept", 7)]
    database.conn.close()
    saved = old.with_name(f"{old.stem}-schema1-20260108{old.suffix}")
    copy = sqlite3.connect(saved.as_uri() + "?mode=ro", uri=True)
    assert copy.execute("SELECT * FROM notes").fetchall() == [(1, "kept")]
    assert copy.execute("PRAGMA user_version").fetchone() == (1,)
    assert copy.execute("PRAGMA application_id").fetchone() == (APPLICATION_ID,)
    copy.close()
    again = open_database(old, [first, second])
    assert schema_version(again) == 2
    again.conn.close()
    assert {entry.name for entry in old.parent.iterdir()} == {old.name, saved.name}


def test_a_migration_that_fails_leaves_the_old_file_and_can_be_tried_again(old):
    for _ in range(2):
        with pytest.raises(RuntimeError):
            open_database(old, [first, failing], when="today")
        database = open_database(old, [first])
        assert schema_version(database) == 1
        assert "half" not in database.table_names()
        database.conn.close()
    database = open_database(old, [first, second], when="today")
    assert schema_version(database) == 2
    database.conn.close()
    assert len(list(old.parent.glob("*schema1-today*"))) == 3


def test_a_newer_file_is_refused_untouched(old):
    open_database(old, [first, second]).conn.close()
    before = state(old.parent)
    with pytest.raises(Refused, match="newer lotwright") as refusal:
        open_database(old, [first])
    assert str(old) in str(refusal.value)
    assert state(old.parent) == before


def test_a_newer_file_in_use_is_refused(old):
    newer = open_database(old, [first, second])
    with pytest.raises(Refused, match="newer lotwright"):
        open_database(old, [first])
    newer.conn.close()


@pytest.mark.parametrize(
    "content",
    [b"just some words, long enough to hold a header", b"SQLite format 3\x00" + bytes(200), b"x", bytes(5000)],
)
def test_what_is_not_a_database_is_refused_untouched(tmp_path, content):
    path = tmp_path / "other.db"
    path.write_bytes(content)
    with pytest.raises(Refused, match=r"other\.db"):
        open_database(path, [first])
    assert path.read_bytes() == content
    assert [entry.name for entry in tmp_path.iterdir()] == ["other.db"]


@pytest.mark.parametrize(
    "script",
    [
        "CREATE TABLE t (x);",
        "CREATE TABLE t (x); PRAGMA user_version = 1;",
        "PRAGMA application_id = 77; PRAGMA user_version = 0;",
        "PRAGMA user_version = 5;",
        "PRAGMA journal_mode = WAL; CREATE TABLE t (x);",
    ],
)
def test_another_programs_database_is_refused_untouched(tmp_path, script):
    path = tmp_path / "other.db"
    other = sqlite3.connect(path)
    other.executescript(script)
    other.close()
    before = state(tmp_path)
    with pytest.raises(Refused, match="not a bench file"):
        open_database(path, [first])
    assert state(tmp_path) == before


def test_a_folder_or_a_path_through_a_file_is_refused(tmp_path):
    with pytest.raises(Refused):
        open_database(tmp_path, [first])
    (tmp_path / "file").write_text("x")
    with pytest.raises(Refused):
        open_database(tmp_path / "file" / "bench.db", [first])


PROCESS = """
import sys
from pathlib import Path
from catalog.database import open_database, schema_version, run_script
def first(database):
    run_script(database, "CREATE TABLE notes (id INTEGER PRIMARY KEY) STRICT;\\n")
def second(database):
    run_script(database, "CREATE TABLE more (id INTEGER PRIMARY KEY) STRICT;\\n")
print("ready", flush=True)
sys.stdin.readline()
database = open_database(Path(sys.argv[1]), [first, second][: int(sys.argv[2])], when="now")
print(schema_version(database))
"""


def together(path, versions, count=4):
    running = [
        subprocess.Popen(
            [sys.executable, "-c", PROCESS, str(path), str(versions)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            cwd=ROOT,
        )
        for _ in range(count)
    ]
    for process in running:
        assert process.stdout.readline() == "ready\n"
    for process in running:
        process.stdin.write("go\n")
        process.stdin.flush()
    return [process.communicate()[0].strip() for process in running]


def test_processes_that_make_a_file_at_the_same_time_agree(tmp_path):
    for round_ in range(4):
        assert together(tmp_path / f"{round_}.db", 2) == ["2"] * 4


def test_a_file_that_another_process_makes_between_two_reads_is_seen_at_one_moment(path, monkeypatch):
    path.parent.mkdir()
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("PRAGMA journal_mode=WAL")
    other.execute("CREATE TABLE early (id INTEGER PRIMARY KEY)")
    other.execute("DROP TABLE early")
    asked = []

    class Watched(sqlite3.Connection):
        def execute(self, statement, *values):
            result = super().execute(statement, *values)
            asked.append(statement)
            if statement == "PRAGMA application_id":  # now the other one commits
                other.execute("CREATE TABLE notes (id INTEGER PRIMARY KEY)")
                other.execute(f"PRAGMA application_id={APPLICATION_ID}")
            return result

    connect = sqlite3.connect
    monkeypatch.setattr(sqlite3, "connect", lambda *args, **more: connect(*args, factory=Watched, **more))
    assert _marks(path) == (0, 0, 0)
    assert "PRAGMA user_version" in asked
    monkeypatch.undo()
    assert _marks(path) == (APPLICATION_ID, 0, 1)
    other.close()


def test_a_file_that_looks_foreign_only_for_a_moment_is_looked_at_again(path, monkeypatch):
    path.parent.mkdir()
    with closing(sqlite3.connect(path)) as half_made:
        half_made.execute("CREATE TABLE notes (id INTEGER PRIMARY KEY)")

    def made_meanwhile(_seconds):
        path.unlink()
        open_database(path, [first]).conn.close()
        monkeypatch.undo()

    monkeypatch.setattr(time, "sleep", made_meanwhile)
    with closing(open_database(path, [first]).conn) as connection:
        assert connection.execute("SELECT count(*) FROM notes").fetchone() == (0,)


LEAVER = """
import sys
from pathlib import Path
from catalog.database import open_database, run_script, writing
def first(database):
    raise AssertionError
database = open_database(Path(sys.argv[1]), [first])
with writing(database):
    database.conn.execute("INSERT INTO notes (text) VALUES ('from outside')")
database.conn.close()
"""


def test_a_program_that_comes_and_goes_takes_nothing_away_from_one_that_opened_the_file_twice(path):
    database = open_database(path, [first])
    worker = open_database(path, [first])
    with writing(worker):
        worker.conn.execute("INSERT INTO notes (text) VALUES ('before')")
    log = path.with_name(path.name + "-wal")
    number = log.stat().st_ino
    subprocess.run([sys.executable, "-c", LEAVER, str(path)], cwd=ROOT, check=True)
    assert log.stat().st_ino == number  # the leaver knew that it was not the last one
    with writing(database):
        database.conn.execute("INSERT INTO notes (text) VALUES ('after')")
    with closing(sqlite3.connect(path)) as fresh:
        assert [text for (text,) in fresh.execute("SELECT text FROM notes")] == ["before", "from outside", "after"]
    assert worker.conn.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    worker.conn.close()
    database.conn.close()


def test_processes_that_migrate_at_the_same_time_make_one_backup(tmp_path):
    assert together(tmp_path / "bench.db", 1) == ["1"] * 4
    assert together(tmp_path / "bench.db", 2) == ["2"] * 4
    assert [entry.name for entry in tmp_path.glob("*schema*")] == ["bench-schema1-now.db"]


def test_a_transaction_that_fails_at_its_commit_leaves_nothing_open(path):
    database = open_database(path, [first, second])

    def loose():
        with writing(database):
            database.conn.execute("PRAGMA defer_foreign_keys = ON")
            database.conn.execute("INSERT INTO more VALUES (1, 99)")

    with pytest.raises(sqlite3.IntegrityError):
        loose()
    assert not database.conn.in_transaction
    assert database.table("more").count == 0
    database.conn.close()


def test_nested_writing_is_one_transaction(path):
    database = open_database(path, [first])

    def outer():
        with writing(database):
            with writing(database):
                database.conn.execute("INSERT INTO notes (text) VALUES ('inner')")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        outer()
    assert database.table("notes").count == 0
    database.conn.close()


def test_writers_wait_for_each_other(path):
    open_database(path, [first]).conn.close()

    def work():
        database = open_database(path, [first])
        for _ in range(25):
            with writing(database):
                count = database.conn.execute("SELECT count(*) FROM notes").fetchone()[0]
                database.conn.execute("INSERT INTO notes (text) VALUES (?)", (str(count),))
        database.conn.close()

    threads = [threading.Thread(target=work) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    database = open_database(path, [first])
    found = [row[0] for row in database.conn.execute("SELECT text FROM notes ORDER BY id")]
    assert found == [str(number) for number in range(75)]
    database.conn.close()


def test_reading_sees_one_moment(old):
    reader, writer = open_database(old, [first]), open_database(old, [first])
    with reading(reader):
        assert reader.table("notes").count == 1
        with writing(writer):
            writer.conn.execute("INSERT INTO notes (text) VALUES ('later')")
        assert reader.table("notes").count == 1
    assert reader.table("notes").count == 2
    reader.conn.close()
    writer.conn.close()


def test_a_copy_is_complete_while_the_file_is_open_and_overwrites_nothing(old, tmp_path):
    database = open_database(old, [first])
    with writing(database):
        database.conn.execute("INSERT INTO notes (text) VALUES ('new')")
    target = tmp_path / "copy.db"
    copy_file(old, target)
    database.conn.close()
    copy = open_database(target, [first])
    assert [row[0] for row in copy.conn.execute("SELECT text FROM notes")] == ["kept", "new"]
    copy.conn.close()
    before = target.read_bytes()
    with pytest.raises(Refused, match="exists already"):
        copy_file(old, target)
    assert target.read_bytes() == before
    with pytest.raises(Refused, match="cannot write"):
        copy_file(old, tmp_path / "nowhere" / "copy.db")
    assert not list(tmp_path.glob(".copy*"))


def test_a_script_is_cut_into_statements_by_sqlite_not_by_semicolons(path):
    def quoted(database):
        run_script(
            database, "CREATE TABLE t (x TEXT DEFAULT 'a;\nb') STRICT; -- done; really\nINSERT INTO t DEFAULT VALUES;\n"
        )

    database = open_database(path, [quoted])
    assert database.conn.execute("SELECT x FROM t").fetchall() == [("a;\nb",)]
    database.conn.close()
