"""The bench file as a whole: a backup, a check-up, all of it as plain files, and a new bench file from those."""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Mapping
from pathlib import Path

import msgspec
from sqlite_utils import Database

from catalog.database import Migration, copy_file, open_database, reading, schema_version, writing
from catalog.safe_file import replacing, settle
from catalog.table_files import LARGEST_NUMBER, columns, key_columns, read_table, table_names, write_table
from catalog.text import Refused
from triage import schema
from triage.bench_check import Verified, check, numbers
from triage.bench_file import BenchFile

MANIFEST = "lotwright-export.json"
"""Written last: a folder without it is no complete export."""
LONGEST_MANIFEST = 1_000_000

Lines = dict[tuple[str, int], int]


class Manifest(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What an export holds, so that a file that is missing or cut short is noticed."""

    schema: int
    """Schema version of the bench file it came from."""
    counts: dict[str, int]
    """Rows of each table."""
    numbers: dict[str, int]
    """The highest number ever given in each table, so that none is given twice."""


def backup(bench: BenchFile, target: Path) -> Path:
    """Copy the open bench file, complete and consistent, to a new file; returns its path.

    Raises:
        Refused: the target exists, or nothing can be written there.
    """
    copy_file(bench.path, target)
    return target


def verify(bench: BenchFile) -> Verified:
    """Check the whole file: SQLite's own checks, every row, every reference, the journal, the numbering."""
    with reading(bench.database):
        try:
            return check(bench.database)
        except sqlite3.DatabaseError as error:
            raise Refused(f"the bench file is damaged ({error}); restore a backup", where=str(bench.path)) from error


def export(bench: BenchFile, folder: Path) -> Manifest:
    """Write every table as CSV and a manifest into the folder (made when missing); an earlier export is replaced.

    Raises:
        Refused: files of those names lie there that no export wrote, or nothing can be written there.
    """
    manifest = folder / MANIFEST
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with reading(bench.database):
            tables = table_names(bench.database)
            if not manifest.exists():
                for table in tables:
                    if (folder / f"{table}.csv").exists():
                        raise Refused(
                            "the file exists already; name an empty folder", where=str(folder / f"{table}.csv")
                        )
            manifest.unlink(missing_ok=True)
            counts = {}
            for table in tables:
                with replacing(folder / f"{table}.csv") as file:
                    counts[table] = write_table(bench.database, table, file)
            held = Manifest(schema_version(bench.database), counts, dict(sorted(numbers(bench.database).items())))
        with replacing(manifest) as file:
            file.write(msgspec.json.format(msgspec.json.encode(held), indent=2).decode() + "\n")
    except OSError as error:
        raise Refused(f"cannot write here ({error.strerror}); name another folder", where=str(folder)) from error
    return held


def import_(folder: Path, new_bench_path: Path) -> Verified:
    """Make a new bench file from an export, equal to the one that was exported, row for row.

    Raises:
        Refused: the target exists, or something in the folder is not as an export writes it; then nothing is made.
    """
    if new_bench_path.exists():
        raise Refused("the file exists already; name a new one", where=str(new_bench_path))
    manifest = _read_manifest(folder)
    try:
        new_bench_path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=f".{new_bench_path.name}.", dir=new_bench_path.parent) as name:
            part = Path(name) / "bench.db"
            _build(part, schema.MIGRATIONS[: manifest.schema], folder, manifest)
            finding = _finish(part)
            if not finding.ok:
                raise Refused(finding.problems[0], where=str(folder))
            settle(part, new_bench_path)
    except OSError as error:
        raise Refused(f"cannot write here ({error.strerror}); name another file", where=str(new_bench_path)) from error
    return finding


def _read_manifest(folder: Path) -> Manifest:
    path = folder / MANIFEST
    try:
        with path.open("rb") as file:
            text = file.read(LONGEST_MANIFEST)
        manifest = msgspec.json.decode(text, type=Manifest)
    except OSError as error:
        raise Refused(f"cannot be read ({error.strerror}); name the folder of an export", where=str(path)) from error
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError) as error:
        raise Refused(f"is not the manifest of an export ({error})", where=str(path)) from error
    if not 1 <= manifest.schema <= len(schema.MIGRATIONS):
        raise Refused(
            f"expected a schema from 1 to {len(schema.MIGRATIONS)}, found {manifest.schema}; update lotwright",
            where=f"{path.name}:schema",
        )
    return manifest


def _build(part: Path, migrations: tuple[Migration, ...], folder: Path, manifest: Manifest) -> None:
    database = open_database(part, migrations)
    lines: Lines = {}
    try:
        with writing(database):
            database.conn.execute("PRAGMA defer_foreign_keys = ON")
            tables = table_names(database)
            if set(manifest.counts) != set(tables):
                raise Refused(f"expected the tables {', '.join(tables)}", where=f"{MANIFEST}:counts")
            for table in tables:
                _fill(database, table, folder / f"{table}.csv", manifest.counts[table], lines)
            _refuse_loose(database, lines)
            _set_numbers(database, manifest.numbers)
    finally:
        database.conn.close()


def _fill(database: Database, table: str, path: Path, count: int, lines: Lines) -> None:
    kinds = columns(database, table)
    # a key left empty would be numbered anew, and the row would be another one
    required = [index for index, name in enumerate(kinds) if name in key_columns(database, table)]
    insert = f'INSERT INTO "{table}" VALUES ({", ".join("?" for _ in kinds)})'  # noqa: S608 - the schema's own names
    found = 0
    for line, row in read_table(path, kinds):
        for index in required:
            if row[index] is None:
                raise Refused("expected a value", where=f"{path.name}:{line}:{list(kinds)[index]}")
        found += 1
        if found > count:
            break
        try:
            cursor = database.conn.execute(insert, row)
        except sqlite3.Error as error:
            raise Refused(f"this row is not accepted ({error})", where=_place(path.name, line, table, error)) from error
        lines[table, cursor.lastrowid or 0] = line
    if found != count:
        more = "more" if found > count else str(found)
        raise Refused(f"expected {count} rows, found {more}; export again", where=path.name)


def _place(name: str, line: int, table: str, error: sqlite3.Error) -> str:
    """File and line, and the column where SQLite's message names one (`table.column`)."""
    column = str(error).partition(f"{table}.")[2].partition(",")[0].strip()
    return f"{name}:{line}:{column}" if column else f"{name}:{line}"


def _refuse_loose(database: Database, lines: Lines) -> None:
    loose = database.conn.execute("PRAGMA foreign_key_check").fetchone()
    if loose is None:
        return
    table, row_id, parent, number = loose
    keys = {row[0]: row[3] for row in database.conn.execute(f'PRAGMA foreign_key_list("{table}")')}
    line = f":{lines[table, row_id]}" if (table, row_id) in lines else ""
    raise Refused(f"names a row of {parent} that is not there", where=f"{table}.csv{line}:{keys[number]}")


def _set_numbers(database: Database, given: Mapping[str, int]) -> None:
    reached = numbers(database)
    tables = set(table_names(database))
    for table, number in given.items():
        where = f"{MANIFEST}:numbers.{table}"
        if table not in tables:
            raise Refused("is no table", where=where)
        if not reached.get(table, 0) <= number <= LARGEST_NUMBER:
            raise Refused(f"expected a number from {reached.get(table, 0)} to {LARGEST_NUMBER}", where=where)
        database.conn.execute("DELETE FROM sqlite_sequence WHERE name = ?", (table,))
        database.conn.execute("INSERT INTO sqlite_sequence (name, seq) VALUES (?, ?)", (table, number))
    missing = sorted(set(reached) - set(given))
    if missing:
        raise Refused("expected the highest number ever given", where=f"{MANIFEST}:numbers.{missing[0]}")


def _finish(part: Path) -> Verified:
    """Bring the new file to the newest schema, check it, and leave it as one file."""
    database = open_database(part, schema.MIGRATIONS)
    try:
        with reading(database):
            finding = check(database)
        database.conn.execute("PRAGMA journal_mode=DELETE")
    finally:
        database.conn.close()
    return finding
