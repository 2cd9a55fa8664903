"""Rows added in great number: kept in packed blocks, taken back and done again as a whole."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog import journal, journal_blocks
from catalog.database import open_database, run_script
from catalog.journal import Journal
from catalog.journal_blocks import MANY, Block, pack, problem, unpack
from catalog.text import Refused

AT = "2026-01-08T10:00:00.000Z"
THINGS = "CREATE TABLE things (id INTEGER PRIMARY KEY AUTOINCREMENT, name TEXT NOT NULL, count INTEGER) STRICT;"


@pytest.fixture
def database(tmp_path):
    def tables(database):
        for script in (journal.SCHEMA, journal_blocks.SCHEMA, THINGS):
            run_script(database, script)

    opened = open_database(tmp_path / "bench.db", [tables])
    yield opened
    opened.conn.close()


@pytest.fixture
def log(database):
    return Journal(database)


def things(database):
    return database.conn.execute("SELECT id, name, count FROM things ORDER BY id").fetchall()


def add(log, count, progress=lambda _: None, name="thing"):
    with log.event("import", f"{count} things", at=AT, batch=1) as recorder:
        recorder.insert_many("things", [{"name": f"{name} {one}", "count": one} for one in range(count)], progress)


@pytest.mark.parametrize("count", [1, MANY - 1, MANY, MANY + 1, 3 * MANY + 7])
def test_many_rows_are_one_event_that_is_taken_back_and_done_again(database, log, count):
    with log.event("add", "one before", at=AT) as recorder:
        recorder.insert("things", {"name": "before", "count": 0})
    add(log, count)
    added = things(database)
    assert [row[0] for row in added] == list(range(1, count + 2))
    assert added[-1] == (count + 1, f"thing {count - 1}", count - 1)
    assert log.undo(at=AT).summary == f"{count} things"
    assert things(database) == [(1, "before", 0)]
    assert log.redo(at=AT).summary == f"{count} things"
    assert things(database) == added


def test_few_rows_have_their_own_images_and_many_are_packed(database, log):
    add(log, MANY - 1)
    assert (database.table("journal_rows").count, database.table("journal_blocks").count) == (MANY - 1, 0)
    add(log, 2 * MANY, name="another thing with quite a long name to tell of")
    assert (database.table("journal_rows").count, database.table("journal_blocks").count) == (MANY - 1, 2)
    plain = sum(len(str(row)) for row in things(database)[MANY - 1 :])
    packed = database.conn.execute("SELECT sum(length(packed)) FROM journal_blocks").fetchone()[0]
    assert packed < plain / 4


def test_a_row_that_changed_since_stands_in_the_way_and_nothing_moves(database, log):
    add(log, MANY)
    other = Journal(database)
    with other.event("change", "one", at=AT) as recorder:
        recorder.update("things", 77, {"count": 5})
    database.conn.execute("UPDATE journal SET seat = 99 WHERE action = 'change'")
    database.conn.commit()
    before = things(database)
    with pytest.raises(Refused, match="changed since"):
        log.undo(at=AT)
    assert things(database) == before


def test_a_number_that_is_taken_stands_in_the_way_of_doing_it_again(database, log):
    add(log, MANY)
    log.undo(at=AT)
    database.conn.execute("INSERT INTO things (id, name) VALUES (77, 'a stranger')")
    database.conn.commit()
    with pytest.raises(Refused, match="changed since"):
        log.redo(at=AT)
    assert things(database) == [(77, "a stranger", None)]


def test_a_column_that_came_later_does_not_hinder_undo(database, log):
    add(log, MANY)
    database.conn.execute("ALTER TABLE things ADD COLUMN note TEXT NOT NULL DEFAULT ''")
    log.undo(at=AT)
    assert things(database) == []
    log.redo(at=AT)
    assert len(things(database)) == MANY


def test_what_is_stopped_half_way_leaves_nothing(database, log):
    told = []

    def stop(done):
        told.append(done)
        if done >= 2 * MANY:
            raise Refused("stopped")

    with pytest.raises(Refused, match="stopped"):
        add(log, 3 * MANY, stop)
    assert told == [MANY, 2 * MANY]
    assert things(database) == []
    assert database.table("journal").count == database.table("journal_blocks").count == 0


cells = (
    st.none() | st.text(max_size=5) | st.integers(-(2**40), 2**40) | st.floats(allow_nan=False, allow_infinity=False)
)


@given(st.lists(st.tuples(cells, cells), max_size=8))
def test_a_block_comes_back_as_it_was_packed(rows):
    block = Block(("id", "name"), tuple(rows))
    assert unpack(pack(block)) == block


def test_what_is_wrong_with_a_block_is_said():
    def said(block, first=1, last=1):
        return problem(block if isinstance(block, str) else pack(block), first, last, {"id", "name"}, lambda cell: "")

    assert said(Block(("id", "name"), ((1, "a"),))) == ""
    assert said("rubbish") == "is no block"
    assert said(pack(Block(("id",), ((1,),)))[:-5]) == "is no block"
    assert said(Block(("id", "colour"), ((1, "a"),))) == "has other columns than its table"
    assert said(Block(("id", "name"), ((1,),))) == "has rows of another length"
    assert said(Block(("id", "name"), ((2, "a"),))) == "has other numbers than it says"
    unclean = pack(Block(("id", "name"), ((1, "a\x1b"),)))
    assert problem(unclean, 1, 1, {"id", "name"}, lambda cell: "bad" if cell == "a\x1b" else "") == "bad"
