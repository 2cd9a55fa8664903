"""Rows that one action adds in great number, kept in the journal as packed blocks instead of one image each.

An import of 200,000 parts is one event. With an image a row the journal would grow more than the table it tells of;
packed it grows a tenth of that. A block holds what it takes to do the import again after it was taken back. Only rows
that are new are kept so: a row that was there before has its own images.
"""

from __future__ import annotations

import base64
import zlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import islice

import msgspec
from sqlite_utils import Database

SCHEMA = """
CREATE TABLE journal_blocks (
    event INTEGER NOT NULL REFERENCES journal (id),
    position INTEGER NOT NULL,
    table_name TEXT NOT NULL,
    first INTEGER NOT NULL,
    last INTEGER NOT NULL CHECK (last >= first),
    packed TEXT NOT NULL,
    PRIMARY KEY (event, position)
) STRICT, WITHOUT ROWID;
"""
MANY = 500
"""From so many new rows on an action keeps them in blocks of this size."""
_LARGEST = 64 * 1024 * 1024
_LEVEL = 1

Cell = str | int | float | None


class Block(msgspec.Struct, frozen=True):
    """Rows as they were added: the names of their columns, the first of them the key, and their cells."""

    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


def pack(block: Block) -> str:
    """The stored form."""
    return base64.b85encode(zlib.compress(msgspec.json.encode(block), _LEVEL)).decode()


def unpack(packed: str) -> Block:
    """The block of a stored form.

    Raises:
        ValueError: it is none, or larger than any that is written.
    """
    wide = zlib.decompressobj()
    try:
        data = wide.decompress(base64.b85decode(packed), _LARGEST)
        if wide.unconsumed_tail or not wide.eof:
            raise ValueError("it is cut off or too large")
        return msgspec.json.decode(data, type=Block)
    except zlib.error as error:
        raise ValueError(str(error)) from None


def add_rows(
    database: Database,
    event: int,
    table: str,
    rows: Sequence[Mapping[str, object]],
    progress: Callable[[int], object] = lambda _: None,
) -> None:
    """Add rows to a table that numbers them, as blocks of the event, inside its transaction.

    `progress` is told how many are added; what it raises ends the action.
    """
    row = database.conn.execute("SELECT seq FROM sqlite_sequence WHERE name = ?", (table,)).fetchone()
    last = int(row[0]) if row else 0
    position = int(
        database.conn.execute(
            "SELECT coalesce(max(position), 0) FROM journal_blocks WHERE event = ?", (event,)
        ).fetchone()[0]
    )
    rest, done = iter(rows), 0
    while some := list(islice(rest, MANY)):
        names = tuple(some[0])
        first, last = last + 1, last + len(some)
        _insert(
            database, table, ("id", *names), [(number, *held.values()) for number, held in enumerate(some, start=first)]
        )
        position += 1
        packed = pack(_read(database, table, first, last))
        database.conn.execute(
            "INSERT INTO journal_blocks VALUES (?, ?, ?, ?, ?, ?)", (event, position, table, first, last, packed)
        )
        done += len(some)
        progress(done)


def take_away(database: Database, event: int) -> str:
    """Remove the rows an event added in blocks; gives the place of the first that changed since, or nothing."""
    for table, first, last, packed in _blocks(database, event, "DESC"):
        block = unpack(packed)
        held = _read(database, table, first, last)
        if not _same(held, block):
            return f"{table} {first} to {last}"
        database.conn.execute(f'DELETE FROM "{table}" WHERE rowid BETWEEN ? AND ?', (first, last))  # noqa: S608
    return ""


def put_again(database: Database, event: int) -> str:
    """Add the rows of an event's blocks again; gives the place of the first that is taken meanwhile, or nothing."""
    for table, first, last, packed in _blocks(database, event, "ASC"):
        if _read(database, table, first, last).rows:
            return f"{table} {first} to {last}"
        block = unpack(packed)
        _insert(database, table, block.columns, block.rows)
    return ""


def ranges(database: Database, events: Sequence[int], table: str) -> Iterator[range]:
    """The numbers of the rows that these events added to a table in blocks."""
    for event in events:
        for first, last in database.conn.execute(
            "SELECT first, last FROM journal_blocks WHERE event = ? AND table_name = ?", (event, table)
        ):
            yield range(first, last + 1)


def problem(packed: str, first: int, last: int, names: set[str], unclean: Callable[[Cell], str]) -> str:
    """What is wrong with a stored block, in words; empty when it is sound."""
    try:
        block = unpack(packed)
    except (ValueError, RecursionError):
        return "is no block"
    if not block.columns or not set(block.columns) <= names:
        return "has other columns than its table"
    if any(len(row) != len(block.columns) for row in block.rows):
        return "has rows of another length"
    if [row[0] for row in block.rows] != list(range(first, last + 1)):
        return "has other numbers than it says"
    return next((wrong for row in block.rows for cell in row if (wrong := unclean(cell))), "")


def _blocks(database: Database, event: int, order: str) -> list[tuple[str, int, int, str]]:
    query = f"SELECT table_name, first, last, packed FROM journal_blocks WHERE event = ? ORDER BY position {order}"  # noqa: S608
    return database.conn.execute(query, (event,)).fetchall()


def _read(database: Database, table: str, first: int, last: int) -> Block:
    cursor = database.conn.execute(f'SELECT * FROM "{table}" WHERE rowid BETWEEN ? AND ? ORDER BY rowid', (first, last))  # noqa: S608
    return Block(tuple(column[0] for column in cursor.description), tuple(cursor))


def _insert(database: Database, table: str, names: Sequence[str], rows: Sequence[Sequence[object]]) -> None:
    columns = ", ".join(f'"{name}"' for name in names)
    marks = ", ".join("?" for _ in names)
    database.conn.executemany(f'INSERT INTO "{table}" ({columns}) VALUES ({marks})', rows)  # noqa: S608 - names are ours


def _same(held: Block, added: Block) -> bool:
    """Whether the rows still are what they were; columns that a later schema added do not count."""
    if held.columns == added.columns:
        return held.rows == added.rows
    places = [held.columns.index(name) if name in held.columns else -1 for name in added.columns]
    return -1 not in places and added.rows == tuple(tuple(row[place] for place in places) for row in held.rows)
