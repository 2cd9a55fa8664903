"""Opening a bench file: one SQLite file, the same safe settings everywhere, versions that only go forward.

Both packages keep their tables in the same file, so the way it is opened, written and migrated is decided once, here.
`catalog` and `triage` state their tables as SQL in their own `store.py`; whoever opens the file passes the migrations.
"""

from __future__ import annotations

import sqlite3
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from pathlib import Path

from sqlite_utils import Database

from catalog.safe_file import settle
from catalog.text import Refused

APPLICATION_ID = 0x4C4F5457  # "LOTW": tells our files from other SQLite files
BUSY_MILLISECONDS = 10_000
_LOOKS = 5
_SMALLEST = 512
"""Bytes of the smallest page that SQLite writes."""

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
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        _refuse_foreign(path, len(migrations))
        connection = sqlite3.connect(path, timeout=BUSY_MILLISECONDS / 1000)
    except (OSError, sqlite3.OperationalError) as error:
        problem = f"cannot open a bench file here ({error}); name another one with --bench"
        raise Refused(problem, where=str(path)) from error
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
        database.conn.commit()  # may fail too, on a reference that leads nowhere; then nothing of it stays
    except BaseException:
        database.conn.rollback()
        raise


@contextmanager
def reading(database: Database) -> Iterator[None]:
    """Several reads that all see the same moment, whatever other processes write meanwhile."""
    if database.conn.in_transaction:
        yield
        return
    database.conn.execute("BEGIN")
    try:
        yield
    finally:
        database.conn.rollback()


def change_mark(database: Database) -> int:
    """A number that is another one as soon as any other connection has committed a change; own ones leave it."""
    return int(database.conn.execute("PRAGMA data_version").fetchone()[0])


def schema_version(database: Database) -> int:
    """The schema version the file is at."""
    return int(database.conn.execute("PRAGMA user_version").fetchone()[0])


def copy_file(path: Path, target: Path) -> None:
    """Write a complete, consistent copy of a bench file, also while others write to it; refuses to overwrite one."""
    if target.exists():
        raise Refused("the file exists already; name another one", where=str(target))
    try:
        with tempfile.TemporaryDirectory(prefix=f".{target.name}.", dir=target.parent) as folder:
            part = Path(folder) / "copy"
            with closing(sqlite3.connect(path)) as source, closing(sqlite3.connect(part)) as copy:
                source.backup(copy)
                copy.execute("PRAGMA journal_mode=DELETE")
            settle(part, target)
    except (OSError, sqlite3.OperationalError) as error:
        raise Refused(f"cannot write here ({error}); name another file", where=str(target)) from error


def _refuse_foreign(path: Path, newest: int) -> None:
    """Look before touching: opening in WAL mode would already change a file that is not ours.

    Only ever through SQLite: closing a file that one opened oneself drops every lock that this process holds on it
    (POSIX), and the next program that leaves would take the log away under us.
    """
    size = path.stat().st_size if path.exists() else 0
    if not size:
        return
    if size < _SMALLEST:  # SQLite would take it for an empty file and write over it
        raise Refused("this is not a bench file; name another one with --bench", where=str(path))
    marks = _settled_marks(path)
    if _foreign(marks):
        raise Refused("this SQLite file is not a bench file; name another one with --bench", where=str(path))
    _refuse_newer(marks[1], newest, path)


def _settled_marks(path: Path) -> tuple[int, int, int]:
    """As `_marks`; what cannot be read or is not ours is looked at again, as another process may just be making it."""
    for _ in range(_LOOKS):
        with suppress(Refused):
            marks = _marks(path)
            if not _foreign(marks):
                return marks
        time.sleep(0.1)
    return _marks(path)


def _foreign(marks: tuple[int, int, int]) -> bool:
    """Whether these are the marks of a file that holds something, but is not ours."""
    application, version, tables = marks
    return application != APPLICATION_ID and bool(application or version or tables)


def _marks(path: Path) -> tuple[int, int, int]:
    """Application id, schema version and number of tables, read without leaving a trace."""
    log = path.with_name(path.name + "-wal")
    # Reading makes the log and its index where there are none, unless SQLite is told that nobody writes.
    quiet = "" if log.exists() and log.stat().st_size else "&immutable=1"
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro{quiet}", uri=True)) as connection:
            connection.execute("BEGIN")  # one moment: between two reads another process may have made the file
            application = int(connection.execute("PRAGMA application_id").fetchone()[0])
            version = int(connection.execute("PRAGMA user_version").fetchone()[0])
            tables = int(connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0])
    except sqlite3.DatabaseError as error:
        if error.sqlite_errorcode == sqlite3.SQLITE_NOTADB:
            raise Refused("this is not a bench file; name another one with --bench", where=str(path)) from error
        raise Refused(f"this bench file cannot be read ({error}); restore a backup", where=str(path)) from error
    return application, version, tables


def _refuse_newer(version: int, newest: int, path: Path) -> None:
    if version > newest:
        raise Refused(
            f"a newer lotwright wrote this file (schema {version}, this program knows {newest}); update lotwright. "
            "Nothing was changed",
            where=str(path),
        )


def _set_up(connection: sqlite3.Connection, path: Path) -> None:
    connection.execute(f"PRAGMA busy_timeout={BUSY_MILLISECONDS}")
    if _write_ahead(connection) != "wal":
        raise Refused("write-ahead logging does not work here (a network share?); use a local folder", where=str(path))
    for pragma in ("synchronous=FULL", "foreign_keys=ON", "trusted_schema=OFF", "recursive_triggers=ON"):
        connection.execute(f"PRAGMA {pragma}")


def _write_ahead(connection: sqlite3.Connection) -> str:
    """Switch to write-ahead logging; SQLite does not wait for another process that does the same, so this does."""
    until = time.monotonic() + BUSY_MILLISECONDS / 1000
    while True:
        try:
            return str(connection.execute("PRAGMA journal_mode=WAL").fetchone()[0])
        except sqlite3.OperationalError:
            if time.monotonic() > until:
                raise
            time.sleep(0.01)


def _migrate(database: Database, path: Path, migrations: Sequence[Migration], when: str) -> None:
    if schema_version(database) == len(migrations):
        return
    with writing(database):
        version = schema_version(database)  # under the lock: another process may have been first
        _refuse_newer(version, len(migrations), path)
        if 0 < version < len(migrations):
            copy_file(path, _backup_name(path, version, when))
        for number, migration in enumerate(migrations[version:], start=version + 1):
            migration(database)
            database.conn.execute(f"PRAGMA user_version={number}")
        database.conn.execute(f"PRAGMA application_id={APPLICATION_ID}")


def _backup_name(path: Path, version: int, when: str) -> Path:
    """A name that is still free, so that a migration that failed once does not stand in its own way."""
    stem = f"{path.stem}-schema{version}" + (f"-{when}" if when else "")
    count = 1
    while (target := path.with_name(stem + (f"-{count}" if count > 1 else "") + path.suffix)).exists():
        count += 1
    return target


def run_script(database: Database, script: str) -> None:
    """Run several SQL statements inside the transaction that is open (`executescript` would commit it first)."""
    statement = ""
    for line in script.splitlines(keepends=True):
        statement += line
        if sqlite3.complete_statement(statement):
            database.conn.execute(statement)
            statement = ""
