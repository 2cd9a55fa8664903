"""The event journal: what a person did, with the rows before and after, and taking it back.

The tables are the truth; the journal tells how they came about. Every hand action is one event in one transaction
with the row images it changed, so it can be undone and redone without end, also after a restart. The journal only
grows: taking back is an event itself. It lives in `catalog` because both packages write through it.

Every event carries the seat (`catalog.seats`) of the program that wrote it. A program takes over the lowest seat whose
program has ended, so what it takes back is what was done from "this program", also before a restart, and never what
another process that is still running did.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import msgspec
from sqlite_utils import Database

from catalog.database import writing
from catalog.journal_blocks import MANY, add_rows, put_again, take_away
from catalog.seats import Seat, take_seat
from catalog.text import Refused, clean_line

SCHEMA = """
CREATE TABLE journal (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    at TEXT NOT NULL,
    seat INTEGER NOT NULL,
    action TEXT NOT NULL,
    summary TEXT NOT NULL,
    unit INTEGER,
    batch INTEGER,
    target INTEGER REFERENCES journal (id),
    final INTEGER NOT NULL DEFAULT 0 CHECK (final IN (0, 1))
) STRICT;
CREATE INDEX journal_target ON journal (target);
CREATE INDEX journal_unit ON journal (unit);
CREATE TABLE journal_rows (
    event INTEGER NOT NULL REFERENCES journal (id),
    position INTEGER NOT NULL,
    table_name TEXT NOT NULL,
    row_id INTEGER NOT NULL,
    before TEXT,
    after TEXT,
    PRIMARY KEY (event, position)
) STRICT, WITHOUT ROWID;
"""
UNDO, REDO = "undo", "redo"
_IN_FORCE = (
    "SELECT id, at, action, summary, unit, final FROM journal AS done WHERE seat = ? AND target IS NULL"
    " AND coalesce((SELECT action FROM journal WHERE target = done.id ORDER BY id DESC LIMIT 1), 'redo') = 'redo'"
    " ORDER BY id DESC LIMIT 1"
)
"""The latest action of a seat that was not taken back, or was done again."""
_TAKEN_BACK = (
    "SELECT id, at, action, summary, unit, final FROM journal AS done WHERE seat = ? AND target IS NULL"
    " AND (SELECT action FROM journal WHERE target = done.id ORDER BY id DESC LIMIT 1) = 'undo'"
    " AND (SELECT max(id) FROM journal WHERE target = done.id) >"
    " coalesce((SELECT max(id) FROM journal WHERE seat = done.seat AND target IS NULL), 0)"
    " ORDER BY id LIMIT 1"
)
"""What a seat took back last, as long as it did nothing new since."""

Row = dict[str, Any]


class Event(msgspec.Struct, frozen=True):
    """One line of the journal."""

    id: int
    at: str
    action: str
    summary: str
    unit: int | None


class Stands(Refused):
    """What is to be taken back is reversed by a counter-entry only; `event` is what stands."""

    def __init__(self, event: Event, direction: str) -> None:
        """Say which one."""
        super().__init__(f"“{event.summary}” stands; reverse it with a dated counter-entry", where=direction)
        self.event = event


class Recorder:
    """The only way rows are written by hand actions: each change keeps the row before and after."""

    def __init__(self, database: Database, event: int) -> None:
        """Record under the journal event `event`, inside its transaction."""
        self._database = database
        self._event = event
        self._position = 0

    def insert(self, table: str, row: Mapping[str, object]) -> int:
        """Add a row; returns its id."""
        columns = ", ".join(f'"{name}"' for name in row)
        marks = ", ".join("?" for _ in row)
        cursor = self._database.conn.execute(
            f'INSERT INTO "{table}" ({columns}) VALUES ({marks})',  # noqa: S608 - names are ours, values are bound
            tuple(row.values()),
        )
        row_id = int(cursor.lastrowid or 0)
        self._keep(table, row_id, None, _read(self._database, table, row_id))
        return row_id

    def update(self, table: str, row_id: int, changes: Mapping[str, object]) -> None:
        """Change columns of one row."""
        before = _read(self._database, table, row_id)
        if before is None:
            raise KeyError(f"{table} has no row {row_id}")
        sets = ", ".join(f'"{name}" = ?' for name in changes)
        self._database.conn.execute(
            f'UPDATE "{table}" SET {sets} WHERE rowid = ?',  # noqa: S608
            (*changes.values(), row_id),
        )
        self._keep(table, row_id, before, _read(self._database, table, row_id))

    def delete(self, table: str, row_id: int) -> None:
        """Remove one row."""
        before = _read(self._database, table, row_id)
        if before is None:
            raise KeyError(f"{table} has no row {row_id}")
        _put(self._database, table, row_id, None)
        self._keep(table, row_id, before, None)

    def insert_many(
        self, table: str, rows: Sequence[Mapping[str, object]], progress: Callable[[int], object] = lambda _: None
    ) -> None:
        """Add rows of the same columns; many of them take little room. `progress` is told how many are added."""
        if len(rows) >= MANY:
            add_rows(self._database, self._event, table, rows, progress)
            return
        for row in rows:
            self.insert(table, row)

    def _keep(self, table: str, row_id: int, before: Row | None, after: Row | None) -> None:
        self._position += 1
        self._database.conn.execute(
            "INSERT INTO journal_rows VALUES (?, ?, ?, ?, ?, ?)",
            (self._event, self._position, table, row_id, _dump(before), _dump(after)),
        )


Mend = Callable[[Recorder, Event], None]


class Journal:
    """Writes events on one open bench file, for one running program."""

    def __init__(self, database: Database) -> None:
        """Take no seat yet: a program that only reads leaves no mark."""
        self._database = database
        self._seat: Seat | None = None

    @contextmanager
    def event(
        self,
        action: str,
        summary: str,
        *,
        at: str,
        unit: int | None = None,
        batch: int | None = None,
        final: bool = False,
    ) -> Iterator[Recorder]:
        """One action: everything written through the recorder is committed together, or nothing is.

        `final` marks what is reversed by a counter-entry only (a placed order, a sale, a closed month).
        """
        with writing(self._database):
            yield Recorder(self._database, self._append(action, summary, at, unit, batch=batch, final=final))

    def undo(self, *, at: str, mend: Mend | None = None) -> Event | None:
        """Take back the latest action of this program that is still in force; None when there is none.

        `mend` may write what follows from the rows as they are then; it belongs to the same event.

        Raises:
            Stands: it may only be reversed by a counter-entry.
            Refused: its rows were changed since.
        """
        return self._turn_first(_IN_FORCE, UNDO, at, mend)

    def redo(self, *, at: str, mend: Mend | None = None) -> Event | None:
        """Do again what was taken back last, as long as nothing new was done since; None when there is nothing.

        `mend` as in `undo`; what it refuses is not done again.
        """
        return self._turn_first(_TAKEN_BACK, REDO, at, mend)

    def history(self, unit: int | None = None, limit: int = 200) -> list[Event]:
        """The newest events first, of one unit or of all."""
        where = "WHERE unit = ?" if unit is not None else ""
        rows = self._database.conn.execute(
            f"SELECT id, at, action, summary, unit FROM journal {where} ORDER BY id DESC LIMIT ?",  # noqa: S608
            (unit, limit) if unit is not None else (limit,),
        )
        return [Event(*row) for row in rows]

    def _append(
        self,
        action: str,
        summary: str,
        at: str,
        unit: int | None,
        *,
        batch: int | None = None,
        target: int | None = None,
        final: bool = False,
    ) -> int:
        cursor = self._database.conn.execute(
            "INSERT INTO journal (at, seat, action, summary, unit, batch, target, final)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            (at, self._take_seat(), action, clean_line(summary), unit, batch, target, int(final)),
        )
        return int(cursor.lastrowid or 0)

    def _turn_first(self, query: str, direction: str, at: str, mend: Mend | None) -> Event | None:
        event: Event | None = None
        try:
            with writing(self._database):
                row = self._database.conn.execute(query, (self._take_seat(),)).fetchone()
                if row is None:
                    return None
                event = Event(*row[:5])
                if row[5]:
                    raise Stands(event, direction)
                recorder = self._turn(event, direction, at)
                if mend is not None:
                    mend(recorder, event)
        except sqlite3.IntegrityError as error:  # when the row is put, or only at the commit
            raise _stands(event, direction, f"rows written since depend on it ({error})") from error
        return event

    def _turn(self, event: Event, direction: str, at: str) -> Recorder:
        """Put the rows of an event back (undo) or forth (redo), after seeing that nobody changed them since."""
        order = "DESC" if direction == UNDO else "ASC"
        images = self._database.conn.execute(
            f"SELECT table_name, row_id, before, after FROM journal_rows WHERE event = ? ORDER BY position {order}",  # noqa: S608
            (event.id,),
        ).fetchall()
        self._database.conn.execute("PRAGMA defer_foreign_keys = ON")
        moved = put_again(self._database, event.id) if direction == REDO else ""
        for table, row_id, before, after in images:
            expected, wanted = (after, before) if direction == UNDO else (before, after)
            if not _matches(_read(self._database, table, row_id), expected):
                raise _stands(event, direction, f"something it touched was changed since ({table} {row_id})")
            _put(self._database, table, row_id, json.loads(wanted) if wanted else None)
        moved = take_away(self._database, event.id) if direction == UNDO else moved
        if moved:
            raise _stands(event, direction, f"something it touched was changed since ({moved})")
        return Recorder(self._database, self._append(direction, event.summary, at, event.unit, target=event.id))

    def _take_seat(self) -> int:
        if self._seat is None:
            file = self._database.conn.execute("PRAGMA database_list").fetchone()[2]
            self._seat = take_seat(Path(file) if file else None)
        return self._seat.number


def _stands(event: Event | None, direction: str, reason: str) -> Refused:
    summary = event.summary if event else ""
    taken = "back" if direction == UNDO else "up again"
    return Refused(f"“{summary}” cannot be taken {taken}: {reason}; correct it where it stands", where=direction)


def _read(database: Database, table: str, row_id: int) -> Row | None:
    cursor = database.conn.execute(f'SELECT * FROM "{table}" WHERE rowid = ?', (row_id,))  # noqa: S608
    row = cursor.fetchone()
    return dict(zip((column[0] for column in cursor.description), row, strict=True)) if row else None


def _put(database: Database, table: str, row_id: int, row: Row | None) -> None:
    if row is None:
        database.conn.execute(f'DELETE FROM "{table}" WHERE rowid = ?', (row_id,))  # noqa: S608
        return
    columns = ", ".join(f'"{name}"' for name in row)
    marks = ", ".join("?" for _ in row)
    sets = ", ".join(f'"{name}" = excluded."{name}"' for name in row)
    key = next(iter(row))
    database.conn.execute(
        f'INSERT INTO "{table}" ({columns}) VALUES ({marks}) ON CONFLICT ("{key}") DO UPDATE SET {sets}',  # noqa: S608
        tuple(row.values()),
    )


def _matches(row: Row | None, image: str | None) -> bool:
    """Whether the row still is what the image holds; columns that a later schema added do not count."""
    if row is None or image is None:
        return row is None and image is None
    return all(name in row and row[name] == value for name, value in json.loads(image).items())


def _dump(row: Row | None) -> str | None:
    return None if row is None else json.dumps(row, ensure_ascii=False, sort_keys=False)
