"""Opening a bench file: one SQLite file, the same safe settings everywhere, versions that only go forward.

Both packages keep their tables in the same file, so the way it is opened, written and migrated is decided once, here.
`catalog` and `triage` state their tables as SQL in their own `store.py`; whoever opens the file passes the migrations.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from sqlite_utils import Database

from catalog.text import Refused

APPLICATION_ID = 0x4C4F5457  # "LOTW": tells our files from other SQLite files
BUSY_MILLISECONDS = 10_000

Migration = Callable[[Database], None]


def open_database(path: Path, migrations: Sequence[Migration], *, when: str = "") -> Database:
    """Open (or make) the bench file and bring it to the newest schema.

    Args:
        path: the file; its folder is made if missing.
        migrations: one function a schema version, in order; number n takes the file from version n-1 to n.
        when: a stamp for the name of the backup that is made before an old file is migrated.

    Raises:
        Refused: it is not a bench file, or a newer program wrote it. The file is left as it was.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    _refuse_foreign(path, len(migrations))
    connection = sqlite3.connect(path, timeout=BUSY_MILLISECONDS / 1000)
    try:
        database = Database(connection, execute_plugins=False)
        _set_up(connection, path)
        _migrate(database, path, migrations, when)
    except BaseException:
        connection.close()
        raise
    return database


@contextmanager
def writing(database: Database) -> Iterator[None]:
    """One write transaction that takes the write lock at once; all of it or nothing.

    `BEGIN IMMEDIATE` because a deferred transaction that reads first fails at once when another process writes.
    Nested use joins the outer transaction.
    """
    if database.conn.in_transaction:
        yield
        return
    database.conn.execute("BEGIN IMMEDIATE")
    try:
        yield
    except BaseException:
        database.conn.rollback()
        raise
    database.conn.commit()


def schema_version(database: Database) -> int:
    """The schema version the file is at."""
    return int(database.conn.execute("PRAGMA user_version").fetchone()[0])


def copy_file(database: Database, target: Path) -> None:
    """Write a complete, consistent copy of the open file; refuses to overwrite one."""
    if target.exists():
        raise Refused("the file exists already; name another one", where=str(target))
    part = target.with_name(target.name + ".part")
    part.unlink(missing_ok=True)
    copy = sqlite3.connect(part)
    try:
        database.conn.backup(copy)
        copy.execute("PRAGMA journal_mode=DELETE")
    finally:
        copy.close()
    part.replace(target)


def _refuse_foreign(path: Path, newest: int) -> None:
    """Look before touching: opening in WAL mode would already change a file that is not ours."""
    if not path.exists() or path.stat().st_size == 0:
        return
    with path.open("rb") as file:
        if file.read(16) != b"SQLite format 3\x00":
            raise Refused("this is not a bench file; name another one with --bench", where=str(path))
    connection = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    try:
        application = int(connection.execute("PRAGMA application_id").fetchone()[0])
        version = int(connection.execute("PRAGMA user_version").fetchone()[0])
        tables = int(connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0])
    except sqlite3.DatabaseError as error:
        raise Refused(f"this bench file cannot be read ({error}); restore a backup", where=str(path)) from error
    finally:
        connection.close()
    if application != APPLICATION_ID and tables:
        raise Refused("this SQLite file is not a bench file; name another one with --bench", where=str(path))
    if version > newest:
        raise Refused(
            f"a newer lotwright wrote this file (schema {version}, this program knows {newest}); update lotwright. "
            "Nothing was changed",
            where=str(path),
        )


def _set_up(connection: sqlite3.Connection, path: Path) -> None:
    connection.execute(f"PRAGMA busy_timeout={BUSY_MILLISECONDS}")
    mode = connection.execute("PRAGMA journal_mode=WAL").fetchone()[0]
    if mode != "wal":
        raise Refused("write-ahead logging does not work here (a network share?); use a local folder", where=str(path))
    for pragma in ("synchronous=FULL", "foreign_keys=ON", "trusted_schema=OFF", "recursive_triggers=ON"):
        connection.execute(f"PRAGMA {pragma}")


def _migrate(database: Database, path: Path, migrations: Sequence[Migration], when: str) -> None:
    if schema_version(database) == len(migrations):
        return
    if 0 < schema_version(database) < len(migrations):
        version = schema_version(database)
        stamp = f"-{when}" if when else ""
        copy_file(database, path.with_name(f"{path.stem}-schema{version}{stamp}{path.suffix}"))
    with writing(database):
        version = schema_version(database)  # again, now under the lock: another process may have been first
        for number, migration in enumerate(migrations[version:], start=version + 1):
            migration(database)
            database.conn.execute(f"PRAGMA user_version={number}")
        database.conn.execute(f"PRAGMA application_id={APPLICATION_ID}")


def run_script(database: Database, script: str) -> None:
    """Run several SQL statements inside the transaction that is open (`executescript` would commit it first)."""
    statement = ""
    for line in script.splitlines(keepends=True):
        statement += line
        if sqlite3.complete_statement(statement):
            database.conn.execute(statement)
            statement = ""
