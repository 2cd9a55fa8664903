"""The journal: what is kept of an action, taking back and doing again, several programs, a killed program."""

import json
import os
import random
import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog import journal_blocks, store
from catalog.database import open_database, run_script, writing
from catalog.journal import SCHEMA, Journal
from catalog.seats import SUFFIX, take_seat
from catalog.text import Refused

ROOT = Path(__file__).parents[2]
AT = "2026-01-08T10:00:00.000+00:00"
TABLES = """
CREATE TABLE boxes (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    name TEXT NOT NULL UNIQUE,
    weight REAL,
    count INTEGER NOT NULL DEFAULT 0 CHECK (count >= 0)
) STRICT;
CREATE TABLE things (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    box INTEGER NOT NULL REFERENCES boxes (id),
    name TEXT NOT NULL
) STRICT;
"""


def schema(database):
    for script in (SCHEMA, journal_blocks.SCHEMA, TABLES):
        run_script(database, script)


def catalogue(database):
    for script in (store.SCHEMA, store.CHARGES):
        run_script(database, script)


def later(database):
    run_script(database, "ALTER TABLE boxes ADD COLUMN colour TEXT NOT NULL DEFAULT 'grey';\n")


@pytest.fixture
def path(tmp_path):
    return tmp_path / "bench.db"


@pytest.fixture
def opened(path):
    """A function that opens the file (again); everything is closed at the end."""
    held = []

    def opened(*more):
        database = open_database(path, [schema, *more])
        held.append(database)
        return database

    yield opened
    for database in held:
        database.conn.close()


@pytest.fixture
def database(opened):
    return opened()


@pytest.fixture
def journal(database):
    return Journal(database)


def add(journal, name, **more):
    with journal.event("add", f"add {name}", at=AT, **more) as recorder:
        return recorder.insert("boxes", {"name": name})


def add_twice(recorder):
    for _ in range(2):
        recorder.insert("boxes", {"name": "never"})


def boxes(database):
    return {row[0]: row[1:] for row in database.conn.execute("SELECT * FROM boxes ORDER BY id")}


def images(database, event):
    query = "SELECT table_name, row_id, before, after FROM journal_rows WHERE event = ? ORDER BY position"
    return [
        (table, row, before and json.loads(before), after and json.loads(after))
        for table, row, before, after in database.conn.execute(query, (event,))
    ]


def journal_count(database):
    return database.table("journal").count


def test_an_event_keeps_the_rows_before_and_after(database, journal):
    with journal.event("add", "add", at=AT, unit=4) as recorder:
        box = recorder.insert("boxes", {"name": "Ω “box”", "weight": 0.1})
    with journal.event("change", "change", at=AT) as recorder:
        recorder.update("boxes", box, {"count": 2, "weight": None})
        recorder.delete("boxes", box)
    full = {"id": box, "name": "Ω “box”", "weight": 0.1, "count": 0}
    changed = {**full, "count": 2, "weight": None}
    assert images(database, 1) == [("boxes", box, None, full)]
    assert images(database, 2) == [("boxes", box, full, changed), ("boxes", box, changed, None)]
    assert [(event.action, event.unit) for event in journal.history()] == [("change", None), ("add", 4)]
    assert [event.action for event in journal.history(unit=4)] == ["add"]
    assert [event.action for event in journal.history(limit=1)] == ["change"]


def test_nothing_stays_of_an_event_whose_body_fails(database, journal):
    def fail():
        with journal.event("add", "add", at=AT) as recorder:
            recorder.insert("boxes", {"name": "a"})
            recorder.insert("boxes", {"name": "a"})

    with pytest.raises(sqlite3.IntegrityError):
        fail()
    assert boxes(database) == {}
    assert journal_count(database) == 0
    assert database.table("journal_rows").count == 0
    assert add(journal, "a") == 1


@pytest.mark.parametrize(
    "row",
    [{"name": None}, {"name": "a", "count": -1}, {"name": "a", "count": "many"}, {"name": "a", "weight": "heavy"}, {}],
)
def test_nonsense_is_refused_by_the_table(database, journal, row):
    with pytest.raises(sqlite3.Error), journal.event("add", "add", at=AT) as recorder:
        recorder.insert("boxes", row)
    assert journal_count(database) == 0


@pytest.mark.parametrize(
    "change", [lambda recorder: recorder.update("boxes", 9, {"count": 1}), lambda recorder: recorder.delete("boxes", 9)]
)
def test_a_row_that_is_not_there_cannot_be_changed(database, journal, change):
    with pytest.raises(KeyError, match="9"), journal.event("change", "change", at=AT) as recorder:
        change(recorder)
    assert journal_count(database) == 0


def test_taking_back_and_doing_again_without_end_and_across_a_restart(opened, path):
    database = opened()
    journal = Journal(database)
    states = [boxes(database)]
    for number in range(30):
        if number % 3 == 2:
            with journal.event("change", f"change {number}", at=AT) as recorder:
                recorder.update("boxes", number // 3 + 1, {"count": number})
        else:
            add(journal, f"box {number}")
        states.append(boxes(database))
    for state in reversed(states[:-1]):
        database.conn.close()
        database = opened()
        journal = Journal(database)
        assert journal.undo(at=AT) is not None
        assert boxes(database) == state
    assert journal.undo(at=AT) is None
    for state in states[1:]:
        database.conn.close()
        database = opened()
        journal = Journal(database)
        assert journal.redo(at=AT) is not None
        assert boxes(database) == state
    assert journal.redo(at=AT) is None
    assert journal_count(database) == 90
    assert path.with_name(path.name + SUFFIX).stat().st_size == 0


def test_what_is_told_is_the_action_taken_back(journal):
    add(journal, "a", unit=3)
    back = journal.undo(at=AT)
    again = journal.redo(at=AT)
    assert (back.id, back.summary, back.unit) == (1, "add a", 3)
    assert again == back
    assert [event.action for event in journal.history(unit=3)] == ["redo", "undo", "add"]


def test_nothing_is_done_again_after_a_new_action(database, journal):
    add(journal, "a")
    add(journal, "b")
    journal.undo(at=AT)
    add(journal, "c")
    assert journal.redo(at=AT) is None
    assert journal.undo(at=AT).summary == "add c"
    assert journal.undo(at=AT).summary == "add a"
    assert journal.redo(at=AT).summary == "add a"
    assert journal.redo(at=AT).summary == "add c"
    assert journal.redo(at=AT) is None
    assert [row[0] for row in boxes(database).values()] == ["a", "c"]


def test_a_number_taken_back_is_not_given_again(database, journal):
    assert add(journal, "a") == 1
    journal.undo(at=AT)
    assert add(journal, "b") == 2


def test_a_final_action_stands_and_so_does_what_is_before_it(database, journal):
    add(journal, "a")
    add(journal, "order", final=True)
    before = boxes(database)
    with pytest.raises(Refused, match=r"“add order” stands.*counter-entry"):
        journal.undo(at=AT)
    assert boxes(database) == before
    assert journal_count(database) == 2
    add(journal, "c")
    assert journal.undo(at=AT).summary == "add c"


def test_a_row_changed_by_somebody_else_is_not_overwritten(opened, database, journal):
    box = add(journal, "a")
    other = opened()
    with writing(other):
        other.conn.execute("UPDATE boxes SET count = 5")
    with pytest.raises(Refused, match=rf"“add a” cannot be taken back: something it touched.*boxes {box}"):
        journal.undo(at=AT)
    assert boxes(database) == {box: ("a", None, 5)}
    assert journal_count(database) == 1
    with writing(other):
        other.conn.execute("UPDATE boxes SET count = 0")
    assert journal.undo(at=AT) is not None
    with writing(other):
        other.conn.execute("INSERT INTO boxes VALUES (?, 'taken', NULL, 0)", (box,))
    with pytest.raises(Refused, match="cannot be taken up again"):
        journal.redo(at=AT)
    assert boxes(database) == {box: ("taken", None, 0)}


def test_what_others_hung_on_a_row_keeps_it(opened, database, journal):
    box = add(journal, "a")
    other = opened()
    with writing(other):
        other.conn.execute("INSERT INTO things (box, name) VALUES (?, 'pen')", (box,))
    with pytest.raises(Refused, match=r"“add a” cannot be taken back.*depend on it"):
        journal.undo(at=AT)
    assert not database.conn.in_transaction
    assert list(boxes(database)) == [box]
    assert journal_count(database) == 1


def test_a_name_used_again_since_refuses_cleanly(opened, database, journal):
    box = add(journal, "a")
    with journal.event("remove", "remove a", at=AT) as recorder:
        recorder.delete("boxes", box)
    other = opened()
    with writing(other):
        other.conn.execute("INSERT INTO boxes (name) VALUES ('a')")
    before = boxes(database)
    with pytest.raises(Refused, match="remove a"):
        journal.undo(at=AT)
    assert boxes(database) == before


def test_parent_and_child_made_in_one_action_go_and_come_together(database, journal):
    with journal.event("add", "add both", at=AT) as recorder:
        box = recorder.insert("boxes", {"name": "a"})
        recorder.insert("things", {"box": box, "name": "pen"})
    with journal.event("remove", "remove both", at=AT) as recorder:
        recorder.delete("things", 1)
        recorder.delete("boxes", box)
    journal.undo(at=AT)
    assert (database.table("boxes").count, database.table("things").count) == (1, 1)
    journal.undo(at=AT)
    assert (database.table("boxes").count, database.table("things").count) == (0, 0)
    journal.redo(at=AT)
    assert (database.table("boxes").count, database.table("things").count) == (1, 1)


def test_an_action_can_be_taken_back_after_a_column_was_added(opened):
    database = opened()
    journal = Journal(database)
    box = add(journal, "a")
    add(journal, "b")
    with journal.event("remove", "remove", at=AT) as recorder:
        recorder.delete("boxes", box)
    database.conn.close()
    database = opened(later)
    journal = Journal(database)
    journal.undo(at=AT)
    assert boxes(database)[box] == ("a", None, 0, "grey")
    journal.undo(at=AT)
    journal.undo(at=AT)
    assert boxes(database) == {}


def test_taking_back_an_import_restores_the_batch_before(opened):
    database = opened(catalogue)
    journal = Journal(database)
    with journal.event("supplier", "add supplier", at=AT) as recorder:
        supplier = store.save_supplier(recorder, store.Supplier(0, "Hill & Sons", "EUR", 3, 6, 0, 400, None, None))
    held = store.Offer(0, supplier, "S1", "P1", "fuse", "", None, "", 10, 1, None, "all_units", (), "fuse")
    batches = []
    for sku in ("OLD", "NEW"):
        batch = []
        with writing(database):
            batch.append(store.new_batch(database, "offers", "list.csv", AT))
            with journal.event("import", f"import {sku}", at=AT, batch=batch[0]) as recorder:
                rows = [store.Offer(**{name: getattr(held, name) for name in held.__struct_fields__} | {"sku": sku})]
                assert store.add_offers(database, batch[0], rows) == 1
                recorder.update("suppliers", supplier, {"price_batch": batch[0]})
        batches += batch
    skus = lambda: [offer.sku for offer in store.offers(database)]  # noqa: E731
    assert skus() == ["NEW"]
    assert journal.undo(at=AT).summary == "import NEW"
    assert skus() == ["OLD"]
    assert journal.redo(at=AT).summary == "import NEW"
    assert skus() == ["NEW"]
    journal.undo(at=AT)
    journal.undo(at=AT)
    assert skus() == []
    assert database.table("offers").count == 2


OTHER = f"""
import sys
from pathlib import Path
from catalog.database import open_database, run_script
from catalog import journal_blocks
from catalog.journal import Journal, SCHEMA
def schema(database):
    for script in (SCHEMA, journal_blocks.SCHEMA, {TABLES!r}):
        run_script(database, script)
database = open_database(Path(sys.argv[1]), [schema])
journal = Journal(database)
for line in sys.stdin:
    word, _, name = line.strip().partition(" ")
    if word == "add":
        with journal.event("add", "add " + name, at="{AT}") as recorder:
            recorder.insert("boxes", {{"name": name}})
        print("done", flush=True)
    else:
        event = getattr(journal, word)(at="{AT}")
        print(event.summary if event else "nothing", flush=True)
"""


class Program:
    """Another running program on the same file."""

    def __init__(self, path):
        self.process = subprocess.Popen(
            [sys.executable, "-c", OTHER, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=ROOT
        )

    def __call__(self, line):
        self.process.stdin.write(line + "\n")
        self.process.stdin.flush()
        return self.process.stdout.readline().strip()

    def kill(self):
        self.process.kill()
        self.process.wait()
        self.process.stdin.close()
        self.process.stdout.close()


@pytest.fixture
def program(path, database):
    """Starts other programs on the file, once it is made; all of them are ended afterwards."""
    started = []

    def program():
        started.append(Program(path))
        return started[-1]

    yield program
    for one in started:
        one.kill()


def seats(database):
    return [row[0] for row in database.conn.execute("SELECT seat FROM journal ORDER BY id")]


def test_only_this_programs_actions_are_taken_back(database, journal, program):
    other = program()
    add(journal, "mine")
    other("add theirs")
    assert seats(database) == [1, 2]
    assert journal.undo(at=AT).summary == "add mine"
    assert journal.undo(at=AT) is None
    assert [row[0] for row in boxes(database).values()] == ["theirs"]
    assert other("redo") == "nothing"
    assert other("undo") == "add theirs"
    assert journal.redo(at=AT).summary == "add mine"
    assert other("redo") == "add theirs"


def test_a_dead_programs_seat_is_taken_over_with_its_history(database, program):
    first, second = program(), program()
    first("add a")
    second("add b")
    first.kill()
    third = program()
    assert third("undo") == "add a"
    assert second("undo") == "add b"
    second.kill()
    third.kill()
    last = program()
    assert last("redo") == "add a"
    fifth = program()
    assert fifth("redo") == "add b"
    assert seats(database) == [1, 2, 1, 2, 1, 2]


def test_a_program_that_only_reads_takes_no_seat(path, database, journal, program):
    assert journal.history() == []
    assert not path.with_name(path.name + SUFFIX).exists()
    other = program()
    other("add a")
    assert seats(database) == [1]


PROBE = """
import os, sys
from pathlib import Path
from catalog.seats import take_seat
seat = take_seat(Path(sys.argv[1]))
print(seat.number, flush=True)
if "fork" in sys.argv:
    child = os.fork()
    if not child:
        print(take_seat(Path(sys.argv[1])).number, flush=True)
        os._exit(0)
    os.waitpid(child, 0)
    print(take_seat(Path(sys.argv[1])).number)
"""


def test_everything_in_one_process_shares_its_seat_until_the_last_lets_go(path, tmp_path):
    path.write_bytes(b"")
    (tmp_path / "link.db").symlink_to(path)
    one, two = take_seat(path), take_seat(tmp_path / "link.db")
    assert one is two
    assert one.number == 1
    other = take_seat(tmp_path / "other.db")
    assert other is not one

    def seen():
        command = [sys.executable, "-c", PROBE, str(path)]
        return subprocess.run(command, capture_output=True, text=True, check=True, cwd=ROOT).stdout.strip()

    assert seen() == "2"
    del one
    assert seen() == "2"
    del two
    assert seen() == "1"


@pytest.mark.skipif(not hasattr(os, "fork"), reason="this system has no fork")
def test_a_forked_child_is_another_program(path):
    command = [sys.executable, "-c", PROBE, str(path), "fork"]
    done = subprocess.run(command, capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stdout.split() == ["1", "2", "1"]


def test_a_file_in_memory_has_one_program(tmp_path):
    assert take_seat(None).number == 1
    assert list(tmp_path.iterdir()) == []


WRITER = (
    OTHER.split("for line in sys.stdin", maxsplit=1)[0]
    + f"""
run = sys.argv[2]
for number in range(10**9):
    with journal.event("add", f"{{run}}/{{number}}", at="{AT}") as recorder:
        box = recorder.insert("boxes", {{"name": f"{{run}}/{{number}}"}})
        for name in "abc":
            recorder.insert("things", {{"box": box, "name": name}})
    print(number, flush=True)
"""
)


def test_a_killed_program_loses_nothing_it_acknowledged_and_leaves_nothing_half(path, opened):
    draw = random.Random(20260108)
    acknowledged = []
    for run in range(10):
        process = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(path), str(run)], stdout=subprocess.PIPE, text=True, cwd=ROOT
        )
        lines = [process.stdout.readline() for _ in range(draw.randrange(1, 60))]
        process.send_signal(signal.SIGKILL)
        rest, _ = process.communicate()
        lines += [line for line in rest.splitlines(keepends=True) if line.endswith("\n")]
        acknowledged += [f"{run}/{line.strip()}" for line in lines]
    database = opened()
    written = [row[0] for row in database.conn.execute("SELECT name FROM boxes ORDER BY id")]
    assert len(acknowledged) >= 10
    assert set(acknowledged) <= set(written)
    assert len(written) - len(acknowledged) <= 10
    assert database.conn.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    counts = "SELECT count(*) FROM things GROUP BY box"
    assert {row[0] for row in database.conn.execute(counts)} == {3}
    assert database.table("things").count == 3 * len(written)
    assert [row[0] for row in database.conn.execute("SELECT summary FROM journal ORDER BY id")] == written
    per_event = "SELECT count(*) FROM journal_rows GROUP BY event"
    assert [row[0] for row in database.conn.execute(per_event)] == [4] * len(written)
    assert seats(database) == [1] * len(written)
    assert Journal(database).undo(at=AT).summary == written[-1]


STEP = st.one_of(
    st.tuples(st.sampled_from(["undo", "redo"])),
    st.tuples(st.just("add"), st.integers(1, 3)),
    st.tuples(st.just("change"), st.integers(0, 20), st.integers(0, 3)),
    st.tuples(st.just("remove"), st.integers(0, 20)),
    st.tuples(st.just("fail")),
    st.tuples(st.just("reopen")),
)


@settings(max_examples=60, deadline=None)
@given(st.lists(STEP, max_size=30))
def test_any_sequence_of_actions_equals_a_list_of_snapshots(tmp_path_factory, steps):
    """The model is a list of snapshots with a finger on the present one."""
    path = tmp_path_factory.mktemp("model") / "bench.db"
    database = open_database(path, [schema])
    journal = Journal(database)
    snapshots, present = [boxes(database)], 0
    for number, step in enumerate(steps):
        held = list(snapshots[present])
        before = journal_count(database)
        if step[0] == "undo":
            assert (journal.undo(at=AT) is not None) == (present > 0)
            present = max(present - 1, 0)
        elif step[0] == "redo":
            assert (journal.redo(at=AT) is not None) == (present + 1 < len(snapshots))
            present = min(present + 1, len(snapshots) - 1)
        elif step[0] == "fail":
            with pytest.raises(sqlite3.IntegrityError), journal.event("fail", "fail", at=AT) as recorder:
                add_twice(recorder)
        elif step[0] == "reopen":
            database.conn.close()
            database = open_database(path, [schema])
            journal = Journal(database)
        elif step[0] == "add" or held:
            with journal.event(step[0], step[0], at=AT) as recorder:
                if step[0] == "add":
                    for count in range(step[1]):
                        recorder.insert("boxes", {"name": f"{number}.{count}", "weight": count / 3})
                elif step[0] == "change":
                    recorder.update("boxes", held[step[1] % len(held)], {"count": step[2]})
                else:
                    recorder.delete("boxes", held[step[1] % len(held)])
            snapshots = [*snapshots[: present + 1], boxes(database)]
            present += 1
        assert boxes(database) == snapshots[present]
        assert journal_count(database) >= before
    database.conn.close()
