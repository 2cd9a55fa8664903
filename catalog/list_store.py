"""The tables about lists from elsewhere: the addresses they are fetched from, and what their columns hold.

Only loads and saves. An address carries the marks of the version that was taken in, so that it is asked for again only
when it has changed; a layout is the person's answer to a header that is not ours, asked once.
"""

from __future__ import annotations

import msgspec
from sqlite_utils import Database

from catalog.journal import Recorder
from catalog.shapes import ready

SCHEMA = """
CREATE TABLE feeds (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    address TEXT NOT NULL UNIQUE,
    kind TEXT NOT NULL CHECK (kind IN ('parts', 'suppliers', 'offers')),
    supplier TEXT NOT NULL,
    batch INTEGER NOT NULL REFERENCES batches (id),
    etag TEXT NOT NULL,
    last_modified TEXT NOT NULL,
    at TEXT NOT NULL
) STRICT;
CREATE TABLE layouts (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    header TEXT NOT NULL UNIQUE,
    kind TEXT NOT NULL CHECK (kind IN ('parts', 'suppliers', 'offers')),
    columns TEXT NOT NULL
) STRICT;
"""
TABLES = ("feeds", "layouts")


class Feed(msgspec.Struct, frozen=True):
    """An address a list was taken in from: which list it is, its batch, and the marks of that version.

    `supplier` is whose price list it is, where the list itself does not say.
    """

    id: int
    address: str
    kind: str
    supplier: str
    batch: int
    etag: str
    last_modified: str
    at: str


class Layout(msgspec.Struct, frozen=True):
    """What the columns of a header hold: {column: field, or `-`}; `header` is its `catalog.mapping.fingerprint`."""

    id: int
    header: str
    kind: str
    columns: dict[str, str]


ready(Feed, Layout)


def feeds(database: Database) -> list[Feed]:
    """All addresses, oldest first."""
    names = ", ".join(Feed.__struct_fields__)
    return [msgspec.convert(row, Feed) for row in database.query(f"SELECT {names} FROM feeds ORDER BY id")]  # noqa: S608


def feed(database: Database, address: str) -> Feed | None:
    """The one of that address, or None."""
    return next((held for held in feeds(database) if held.address == address), None)


def in_force(database: Database, held: Feed) -> bool:
    """Whether what was taken in from the address still stands: only then may the server leave out what it sent."""
    newest = database.conn.execute("SELECT max(id) FROM batches WHERE kind = ?", (held.kind,)).fetchone()[0]
    if held.kind != "offers":
        return bool(newest == held.batch)
    replaced = database.conn.execute(
        "SELECT count(*) FROM offers LEFT JOIN suppliers ON suppliers.id = offers.supplier"
        " WHERE offers.batch = ? AND suppliers.price_batch IS NOT offers.batch",
        (held.batch,),
    ).fetchone()[0]
    return not replaced


def layout(database: Database, header: str) -> Layout | None:
    """What the columns of that header hold, or None where it was never asked."""
    rows = database.query("SELECT id, header, kind, columns FROM layouts WHERE header = ?", (header,))
    row = next(iter(rows), None)
    return msgspec.convert({**row, "columns": msgspec.json.decode(row["columns"])}, Layout) if row else None


def save_feed(recorder: Recorder, held: Feed) -> int:
    """Insert the address (id 0) or update the one with its id; returns the id."""
    row = {name: getattr(held, name) for name in Feed.__struct_fields__ if name != "id"}
    if held.id:
        recorder.update("feeds", held.id, row)
        return held.id
    return recorder.insert("feeds", row)


def save_layout(recorder: Recorder, held: Layout) -> int:
    """Insert the layout (id 0) or update the one with its id; returns the id."""
    row = {"header": held.header, "kind": held.kind, "columns": msgspec.json.encode(held.columns).decode()}
    if held.id:
        recorder.update("layouts", held.id, row)
        return held.id
    return recorder.insert("layouts", row)
