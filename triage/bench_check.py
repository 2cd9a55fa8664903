"""What must hold in every bench file, beyond what SQLite sees to itself; and the digest that tells two files equal."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from itertools import islice
from typing import Any

import msgspec
from sqlite_utils import Database

from catalog import journal_blocks
from catalog.journal import REDO, UNDO
from catalog.list_store import Feed, Layout
from catalog.own_store import OwnRule
from catalog.store import Offer, Pair, Part, Supplier
from catalog.table_files import LARGEST_NUMBER, columns, rows, table_names, unclean
from catalog.text import Refused
from triage.lot import Happening, Lot, Need, OrderPin, Unit
from triage.own_paths import OwnPath, read_chain
from triage.store import Order, OrderLine

MOST_PROBLEMS = 100
FORMS: dict[str, tuple[type[msgspec.Struct], frozenset[str]]] = {
    "parts": (Part, frozenset({"spec"})),
    "suppliers": (Supplier, frozenset({"charges"})),
    "offers": (Offer, frozenset({"spec", "steps"})),
    "pairs": (Pair, frozenset()),
    "own_rules": (OwnRule, frozenset({"rule"})),
    "feeds": (Feed, frozenset()),
    "layouts": (Layout, frozenset({"columns"})),
    "lots": (Lot, frozenset()),
    "units": (Unit, frozenset({"candidates", "symptoms"})),
    "happenings": (Happening, frozenset()),
    "needs": (Need, frozenset()),
    "orders": (Order, frozenset()),
    "order_lines": (OrderLine, frozenset({"units", "needs"})),
    "own_paths": (OwnPath, frozenset({"tools"})),
    "order_pins": (OrderPin, frozenset()),
}
"""What each row becomes when it is loaded, and which of its columns hold JSON."""


class Verified(msgspec.Struct, frozen=True):
    """The finding about one bench file."""

    ok: bool
    problems: tuple[str, ...]
    """One line each, `table id column: what is wrong`; at most `MOST_PROBLEMS`."""
    digest: str
    """SHA-256 over every row of every table and the numbering: equal for two files with the same content."""
    counts: dict[str, int]
    """Rows of each table."""


def check(database: Database) -> Verified:
    """Look at the whole file; call it inside one read transaction."""
    problems = tuple(islice(_problems(database), MOST_PROBLEMS))
    counts = {
        table: int(database.conn.execute(f'SELECT count(*) FROM "{table}"').fetchone()[0])  # noqa: S608
        for table in table_names(database)
    }
    return Verified(ok=not problems, problems=problems, digest=digest(database), counts=counts)


def digest(database: Database) -> str:
    """SHA-256, in hexadecimal, over every row of every table and the numbering.

    One JSON array a line: first `[table, columns]`, then its rows by primary key; tables by name.
    """
    total = hashlib.sha256()

    def add(held: object) -> None:
        total.update(json.dumps(held, ensure_ascii=True, separators=(",", ":")).encode() + b"\n")

    for table in table_names(database):
        add([table, list(columns(database, table))])
        for row in rows(database, table):
            add(row)
    add(["numbers", sorted(numbers(database).items())])
    return total.hexdigest()


def numbers(database: Database) -> dict[str, int]:
    """The highest number ever given in each table that numbers its rows."""
    return {str(row[0]): int(row[1]) for row in database.conn.execute("SELECT name, seq FROM sqlite_sequence")}


def _problems(database: Database) -> Iterator[str]:
    damage = [str(row[0]) for row in database.conn.execute("PRAGMA integrity_check")]
    yield from (line for line in damage if line != "ok")
    for table, row_id, parent, _ in database.conn.execute("PRAGMA foreign_key_check").fetchall():
        yield f"{table} {row_id}: names a row of {parent} that is not there"
    for table in table_names(database):
        yield from _row_problems(database, table)
    yield from _number_problems(database)
    yield from _line_problems(database)
    yield from _chain_problems(database)
    yield from _rule_problems(database)
    yield from _journal_problems(database)


def _row_problems(database: Database, table: str) -> Iterator[str]:
    names = list(columns(database, table))
    for values in rows(database, table):
        for name, value in zip(names, values, strict=True):
            wrong = unclean(value)
            if wrong:
                yield f"{table} {values[0]} {name}: {wrong}"
        if table in FORMS:
            try:
                load(table, dict(zip(names, values, strict=True)))
            except ValueError as error:
                yield f"{table} {values[0]}: {error}"
        elif table == "settings":
            yield from _json_problem(table, values[0], "value", values[names.index("value")])


def load(table: str, row: dict[str, Any]) -> msgspec.Struct:
    """The struct of one stored row of a table of `FORMS`; raises `ValueError` when it is not one."""
    struct, encoded = FORMS[table]
    held = {name: row[name] for name in struct.__struct_fields__}
    for name in encoded:
        held[name] = None if held[name] is None else json.loads(held[name])
    return msgspec.convert(held, struct, strict=False)


def _json_problem(table: str, row_id: object, column: str, text: object) -> Iterator[str]:
    try:
        json.loads(str(text))
    except (ValueError, RecursionError):
        yield f"{table} {row_id} {column}: is not JSON"


def _number_problems(database: Database) -> Iterator[str]:
    given = numbers(database)
    for table, number in given.items():
        if not 0 <= number <= LARGEST_NUMBER:
            yield f"{table}: its numbering stands at {number}"
    for table in table_names(database):
        key = next(iter(columns(database, table)))
        lowest, highest = database.conn.execute(f'SELECT min("{key}"), max("{key}") FROM "{table}"').fetchone()  # noqa: S608
        if lowest is not None and lowest < 1:
            yield f"{table} {lowest} {key}: numbers start at 1"
        if table in given and highest is not None and highest > given[table]:
            yield f"{table} {highest} {key}: is beyond its numbering, {given[table]}"


def _line_problems(database: Database) -> Iterator[str]:
    """Order lines name units and needs in JSON, which no foreign key guards."""
    known = {
        "units": {row[0] for row in database.conn.execute("SELECT number FROM units")},
        "needs": {row[0] for row in database.conn.execute("SELECT id FROM needs")},
    }
    for row_id, *cells in database.conn.execute("SELECT id, units, needs FROM order_lines ORDER BY id"):
        for column, text in zip(known, cells, strict=True):
            try:
                named = msgspec.json.decode(text, type=list[int])
            except msgspec.MsgspecError:
                continue  # told already, when the row was loaded
            for number in named:
                if number not in known[column]:
                    yield f"order_lines {row_id} {column}: names {number}, which is not there"


def _chain_problems(database: Database) -> Iterator[str]:
    """Own signal paths are typed chains, which no type guards."""
    for row_id, chain in database.conn.execute("SELECT id, chain FROM own_paths ORDER BY id"):
        try:
            read_chain(str(chain))
        except Refused as refused:
            yield f"own_paths {row_id} chain: {refused.problem}"


def _rule_problems(database: Database) -> Iterator[str]:
    """Own rules may stand only as `catalog.own_rules` lets them: a form alone does not say that."""
    from catalog.own_rules import checked  # noqa: PLC0415 - the rule tables, where there are such rules

    names = list(columns(database, "own_rules")) if "own_rules" in table_names(database) else []
    for values in rows(database, "own_rules") if names else ():
        row = dict(zip(names, values, strict=True))
        try:
            held = load("own_rules", row)
            assert isinstance(held, OwnRule)  # noqa: S101 - what `FORMS` says
            kept = checked(held.rule)
        except Refused as refused:
            yield f"own_rules {row['id']} rule: {refused.where}: {refused.problem}"
        except ValueError:
            continue  # told already, when the row was loaded
        else:
            if (kept.kind, kept.id) != (held.kind, held.name):
                yield f"own_rules {row['id']} name: the rule is “{kept.id}” for {kept.kind}"


def _journal_problems(database: Database) -> Iterator[str]:
    tables = set(table_names(database))
    units = numbers(database).get("units", 0)
    turns: dict[int, str] = {}
    ordinary: set[int] = set()
    for event, action, unit, target in database.conn.execute(
        "SELECT id, action, unit, target FROM journal ORDER BY id"
    ).fetchall():
        if unit is not None and not 1 <= unit <= units:
            yield f"journal {event} unit: {unit} was never given"
        if target is None:
            ordinary.add(event)
        elif target not in ordinary or action not in {UNDO, REDO} or turns.get(target, REDO) == action:
            yield f"journal {event} target: {action} of {target} has nothing to turn"
        else:
            turns[target] = action
    for event, position, table, before, after in database.conn.execute(
        "SELECT event, position, table_name, before, after FROM journal_rows ORDER BY event, position"
    ).fetchall():
        place = f"journal_rows {event}/{position}"
        if table not in tables:
            yield f"{place} table_name: {table} is no table of this file"
            continue
        if before is None and after is None:
            yield f"{place}: holds neither what was nor what is"
        for column, text in (("before", before), ("after", after)):
            if text is not None:
                yield from _image_problem(place, column, text, set(columns(database, table)))
    yield from _block_problems(database, tables)


def _block_problems(database: Database, tables: set[str]) -> Iterator[str]:
    for event, position, table, first, last, packed in database.conn.execute(
        "SELECT event, position, table_name, first, last, packed FROM journal_blocks ORDER BY event, position"
    ).fetchall():
        wrong = f"{table} is no table of this file"
        if table in tables:
            wrong = journal_blocks.problem(packed, first, last, set(columns(database, table)), unclean)
        if wrong:
            yield f"journal_blocks {event}/{position}: {wrong}"


def _image_problem(place: str, column: str, text: str, names: set[str]) -> Iterator[str]:
    try:
        image = json.loads(text)
    except (ValueError, RecursionError):
        yield f"{place} {column}: is not JSON"
        return
    if not isinstance(image, dict) or not image or not set(image) <= names:
        yield f"{place} {column}: is not a row of its table"
    elif any(isinstance(value, dict | list | bool) for value in image.values()):
        yield f"{place} {column}: holds more than text and numbers"
