"""One table as a CSV file, and back, cell for cell.

A cell is empty for NULL; numbers are written plainly; text is written as it is, except that a text that is empty or
that a spreadsheet would take for a formula (or for this mark) gets one apostrophe in front, which reading takes off.
"""

from __future__ import annotations

import csv
import json
import math
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, TextIO

from sqlite_utils import Database

from catalog.text import Refused

MARK = "'"
FIRST_MARKED = ("=", "+", "-", "@", "\t", "\r", "\n", MARK)
LONGEST_CELL = 10_000_000
LARGEST_NUMBER = 2**53
"""No row number is greater, so that numbering never comes to an end."""

Cell = str | int | float | None
_WHOLE = re.compile(r"-?[0-9]{1,19}")
_REAL = re.compile(r"-?[0-9]+(\.[0-9]+)?(e[+-]?[0-9]{1,3})?")


def table_names(database: Database) -> list[str]:
    """Every table of the file, by name."""
    query = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite!_%' ESCAPE '!' ORDER BY name"
    return [row[0] for row in database.conn.execute(query)]


def columns(database: Database, table: str) -> dict[str, str]:
    """The columns of a table in order, each with its type: INTEGER, REAL or TEXT."""
    return {row[1]: row[2] for row in database.conn.execute(f'PRAGMA table_info("{table}")')}


def key_columns(database: Database, table: str) -> list[str]:
    """The columns of the primary key, in its order."""
    rows = database.conn.execute(f'PRAGMA table_info("{table}")').fetchall()
    return [row[1] for row in sorted(rows, key=lambda row: int(row[5])) if row[5]]


def rows(database: Database, table: str) -> Iterator[tuple[Cell, ...]]:
    """The rows of a table by primary key."""
    order = ", ".join(f'"{name}"' for name in key_columns(database, table))
    yield from database.conn.execute(f'SELECT * FROM "{table}" ORDER BY {order}')  # noqa: S608 - the name is the file's


def write_table(database: Database, table: str, file: TextIO) -> int:
    """Write the whole table with a header line; returns how many rows."""
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(columns(database, table))
    count = 0
    for count, row in enumerate(rows(database, table), start=1):  # noqa: B007 - the last number is the count
        writer.writerow([_written(cell) for cell in row])
    return count


def read_table(path: Path, kinds: dict[str, str]) -> Iterator[tuple[int, tuple[Cell, ...]]]:
    """Every row of a written table with the number of the line it starts on.

    Args:
        path: the CSV file.
        kinds: its columns in order with their types, as `columns` gives them.

    Raises:
        Refused: with file, line and column, at the first cell that is not what was written.
    """
    limit = csv.field_size_limit(LONGEST_CELL)
    line = 1
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            reader = csv.reader(file, strict=True)
            header = next(reader, [])
            if header != list(kinds):
                raise Refused(f"expected the columns {','.join(kinds)}", where=f"{path.name}:1")
            line = reader.line_num + 1
            for cells in reader:
                if len(cells) != len(kinds):
                    raise Refused(f"expected {len(kinds)} cells, found {len(cells)}", where=f"{path.name}:{line}")
                yield (
                    line,
                    tuple(
                        _read(cell, kind, f"{path.name}:{line}:{name}")
                        for cell, (name, kind) in zip(cells, kinds.items(), strict=True)
                    ),
                )
                line = reader.line_num + 1
    except OSError as error:
        raise Refused(f"cannot be read ({error.strerror}); export again", where=path.name) from error
    except UnicodeDecodeError as error:
        raise Refused("is not UTF-8 text; export again", where=f"{path.name}:{line}") from error
    except csv.Error as error:
        raise Refused(f"is not well-formed CSV ({error}); export again", where=f"{path.name}:{line}") from error
    finally:
        csv.field_size_limit(limit)


def unclean(cell: Cell) -> str:
    """What makes a stored cell unfit to show or to reckon with; empty when nothing does.

    Looks into JSON too, where an escape sequence can hide behind a backslash.
    """
    if isinstance(cell, float) and not math.isfinite(cell):
        return "a number without end"
    if not isinstance(cell, str):
        return ""
    if not cell.replace("\n", "").isprintable():
        return "a character that cannot be printed"
    if "\\" in cell:
        try:
            texts = list(_texts(json.loads(cell)))
        except (ValueError, RecursionError):
            return ""
        return next((f"{problem}, hidden" for text in texts if (problem := unclean(text))), "")
    return ""


def _texts(held: Any) -> Iterator[str]:
    if isinstance(held, str):
        yield held
    elif isinstance(held, dict):
        for name, value in held.items():
            yield name
            yield from _texts(value)
    elif isinstance(held, list):
        for value in held:
            yield from _texts(value)


def _written(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return MARK + cell if not cell or cell.startswith(FIRST_MARKED) else cell
    return repr(cell)


def _read(cell: str, kind: str, where: str) -> Cell:
    if not cell:
        return None
    if kind == "TEXT":
        text = cell.removeprefix(MARK)
        if _written(text) != cell:
            raise Refused("expected an apostrophe in front, as the export writes it", where=where)
        problem = unclean(text)
        if problem:
            raise Refused(f"{problem} is not accepted", where=where)
        return text
    if kind == "INTEGER":
        if not _WHOLE.fullmatch(cell) or not -(2**63) <= int(cell) < 2**63:
            raise Refused("expected a whole number", where=where)
        return int(cell)
    if not _REAL.fullmatch(cell) or not math.isfinite(float(cell)):
        raise Refused("expected a number", where=where)
    return float(cell)
