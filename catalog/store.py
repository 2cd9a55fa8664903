"""The tables this package owns: parts, suppliers, offers with their price steps, and import batches.

Only loads and saves. Money is in whole minor units of the row's currency; a unit price is exact: `amount` minor units
for `per` pieces.
"""

from __future__ import annotations

from array import array
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import islice

import msgspec
from sqlite_utils import Database

from catalog.charges import NO_CHARGES, Charges
from catalog.journal import Recorder
from catalog.pricelists import part_key
from catalog.rules import Grade
from catalog.shapes import ready
from catalog.spec import PartSpec

SCHEMA = """
CREATE TABLE batches (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    kind TEXT NOT NULL CHECK (kind IN ('parts', 'suppliers', 'offers')),
    source TEXT NOT NULL,
    at TEXT NOT NULL
) STRICT;
CREATE TABLE parts (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    part_number TEXT NOT NULL,
    description TEXT NOT NULL,
    kind TEXT NOT NULL,
    spec TEXT,
    left_over TEXT NOT NULL DEFAULT '',
    quantity INTEGER NOT NULL DEFAULT 0 CHECK (quantity >= 0),
    place TEXT NOT NULL DEFAULT '',
    unit_cost INTEGER CHECK (unit_cost >= 0),
    currency TEXT NOT NULL DEFAULT '',
    search TEXT NOT NULL
) STRICT;
CREATE INDEX parts_number ON parts (part_number COLLATE NOCASE);
CREATE TABLE suppliers (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    name TEXT NOT NULL UNIQUE,
    currency TEXT NOT NULL,
    lead_days INTEGER NOT NULL CHECK (lead_days >= 0),
    lead_days_late INTEGER NOT NULL CHECK (lead_days_late >= lead_days),
    min_order INTEGER NOT NULL DEFAULT 0 CHECK (min_order >= 0),
    shipping INTEGER NOT NULL DEFAULT 0 CHECK (shipping >= 0),
    free_from INTEGER CHECK (free_from >= 0),
    price_batch INTEGER REFERENCES batches (id)
) STRICT;
CREATE TABLE offers (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    batch INTEGER NOT NULL REFERENCES batches (id),
    supplier INTEGER NOT NULL, -- no foreign key: a supplier that is taken back leaves its old offers
    sku TEXT NOT NULL,
    part_number TEXT NOT NULL,
    description TEXT NOT NULL,
    kind TEXT NOT NULL,
    spec TEXT,
    left_over TEXT NOT NULL DEFAULT '',
    pack INTEGER NOT NULL CHECK (pack > 0),
    min_packs INTEGER NOT NULL CHECK (min_packs > 0),
    stock_packs INTEGER CHECK (stock_packs >= 0),
    discount TEXT NOT NULL CHECK (discount IN ('all_units', 'incremental')),
    steps TEXT NOT NULL,
    search TEXT NOT NULL
) STRICT;
CREATE INDEX offers_supplier ON offers (supplier, batch);
CREATE TABLE pairs (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    wanted TEXT NOT NULL,
    candidate TEXT NOT NULL,
    fits INTEGER NOT NULL CHECK (fits IN (0, 1)),
    note TEXT NOT NULL DEFAULT '',
    at TEXT NOT NULL
) STRICT;
"""
CHARGES = """
ALTER TABLE suppliers ADD COLUMN charges TEXT NOT NULL DEFAULT '{}';
ALTER TABLE offers ADD COLUMN weight INTEGER NOT NULL DEFAULT 0 CHECK (weight >= 0);
"""
"""What suppliers ask beyond flat postage, and what pieces weigh; a later version than the first."""
TABLES = ("batches", "parts", "suppliers", "offers", "pairs")


class Part(msgspec.Struct, frozen=True):
    """One line of the person's own catalogue: what it is, how many, where they lie."""

    id: int
    part_number: str
    description: str
    kind: str
    """A kind of `catalog.spec.KINDS`, or empty when nothing told."""
    spec: PartSpec | None
    """What was understood of the description; None when nothing certain was."""
    left_over: str
    """What of the description was not understood."""
    quantity: int
    place: str
    unit_cost: int | None
    currency: str
    search: str
    """The normalised form that text search compares."""

    @property
    def name(self) -> str:
        """Its number, where it has one, and its description."""
        return f"{self.part_number} {self.description}".strip()


class Supplier(msgspec.Struct, frozen=True):
    """Somebody who sells parts. `lead_days` is the typical wait, `lead_days_late` the one in ten."""

    id: int
    name: str
    currency: str
    lead_days: int
    lead_days_late: int
    min_order: int
    shipping: int
    free_from: int | None
    price_batch: int | None
    charges: Charges = NO_CHARGES
    """What it asks beyond the flat postage."""


class PriceStep(msgspec.Struct, frozen=True):
    """From so many pieces on, `amount` minor units for every `per` pieces."""

    start: int
    amount: int
    per: int


class Offer(msgspec.Struct, frozen=True):
    """One thing a supplier sells, in packs of `pack` pieces; `stock_packs` None means plenty."""

    id: int
    supplier: int
    sku: str
    part_number: str
    description: str
    kind: str
    spec: PartSpec | None
    left_over: str
    pack: int
    min_packs: int
    stock_packs: int | None
    discount: str
    steps: tuple[PriceStep, ...]
    search: str
    weight: int = 0
    """Milligrams of one piece; 0 = not known."""


class Pair(msgspec.Struct, frozen=True):
    """The person's own word on how one part number stands in for another, or that it does not."""

    id: int
    wanted: str
    candidate: str
    grade: Grade
    note: str
    at: str
    said_by: str = ""


ready(Part, Supplier, Offer, Pair)


def spec_text(spec: PartSpec | None) -> str | None:
    """The stored form of a spec."""
    return msgspec.json.encode(spec).decode() if spec else None


def parts(database: Database) -> list[Part]:
    """The whole catalogue, by id."""
    return [_part(row) for row in database.query(f"SELECT {_PART} FROM parts ORDER BY id")]  # noqa: S608


def part(database: Database, part_id: int) -> Part | None:
    """One part, or None."""
    row = next(iter(database.query(f"SELECT {_PART} FROM parts WHERE id = ?", (part_id,))), None)  # noqa: S608
    return _part(row) if row else None


def part_numbers(database: Database) -> Sequence[int]:
    """The ids of all parts, oldest first."""
    return array("q", (number for (number,) in database.conn.execute("SELECT id FROM parts ORDER BY id")))


def same_parts(database: Database, part_number: str, description: str, place: str) -> list[int]:
    """The ids of the parts that `catalog.pricelists.part_key` takes for this one."""
    key = part_key(part_number, description, place)
    where = "part_number = ? COLLATE NOCASE"
    if part_number:  # the file compares only ASCII letters without their case
        where += " OR part_number GLOB '*[^ -~]*'"
    rows = database.conn.execute(
        f"SELECT id, part_number, description, place FROM parts WHERE {where}",  # noqa: S608 - the text is ours
        (part_number,),
    )
    return [number for number, *stated in rows if part_key(*stated) == key]


def parts_of(database: Database, ids: Iterable[int]) -> dict[int, Part]:
    """Those of these parts that there are, by id."""
    return {held.id: held for held in map(_part, _rows_of(database, f"SELECT {_PART} FROM parts", ids))}  # noqa: S608


def suppliers(database: Database) -> list[Supplier]:
    """All suppliers, by name."""
    return [
        msgspec.convert({**row, "charges": msgspec.json.decode(row["charges"])}, Supplier)
        for row in database.query(f"SELECT {_SUPPLIER} FROM suppliers ORDER BY name")  # noqa: S608
    ]


def offers(database: Database, supplier: int | None = None) -> list[Offer]:
    """The offers in force: those of the newest price batch of each supplier."""
    where = " AND suppliers.id = ?" if supplier is not None else ""
    query = (
        f"SELECT {_OFFER} FROM offers JOIN suppliers ON suppliers.id = offers.supplier"  # noqa: S608
        f" AND suppliers.price_batch = offers.batch{where} ORDER BY offers.id"
    )
    return [_offer(row) for row in database.query(query, (supplier,) if supplier is not None else ())]


def offers_of(database: Database, ids: Iterable[int]) -> dict[int, Offer]:
    """Those of these offers that there are, in force or not, by id."""
    return {held.id: held for held in map(_offer, _rows_of(database, f"SELECT {_OFFER} FROM offers", ids))}  # noqa: S608


def pairs(database: Database) -> list[Pair]:
    """The person's own pairs, oldest first."""
    rows = database.query("SELECT id, wanted, candidate, grade, note, at, said_by FROM pairs ORDER BY id")
    return [msgspec.convert(row, Pair) for row in rows]


def new_batch(database: Database, kind: str, source: str, at: str) -> int:
    """Number a new import batch; call inside the transaction of its event."""
    cursor = database.conn.execute("INSERT INTO batches (kind, source, at) VALUES (?, ?, ?)", (kind, source, at))
    return int(cursor.lastrowid or 0)


def add_offers(database: Database, batch: int, rows: Iterable[Offer]) -> int:
    """Insert the offers of a batch (their `id` is ignored); returns how many.

    They are not in force until a supplier's `price_batch` names the batch, which is the recorded change.
    """
    count = 0
    for count, offer in enumerate(rows, start=1):  # noqa: B007 - the last number is the count
        database.conn.execute(
            "INSERT INTO offers (batch, supplier, sku, part_number, description, kind, spec, left_over, pack,"
            " min_packs, stock_packs, discount, steps, search, weight)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (
                batch,
                offer.supplier,
                offer.sku,
                offer.part_number,
                offer.description,
                offer.kind,
                spec_text(offer.spec),
                offer.left_over,
                offer.pack,
                offer.min_packs,
                offer.stock_packs,
                offer.discount,
                msgspec.json.encode(offer.steps).decode(),
                offer.search,
                offer.weight,
            ),
        )
    return count


def save_part(recorder: Recorder, held: Part) -> int:
    """Insert the part (id 0) or update the one with its id; returns the id."""
    row = _stored_part(held)
    if held.id:
        recorder.update("parts", held.id, row)
        return held.id
    return recorder.insert("parts", row)


def add_parts(recorder: Recorder, new: Iterable[Part], progress: Callable[[int], object] = lambda _: None) -> None:
    """Insert parts (their `id` is ignored); `progress` is told how many."""
    recorder.insert_many("parts", [_stored_part(held) for held in new], progress)


def _stored_part(held: Part) -> dict[str, object]:
    return {
        "part_number": held.part_number,
        "description": held.description,
        "kind": held.kind,
        "spec": spec_text(held.spec),
        "left_over": held.left_over,
        "quantity": held.quantity,
        "place": held.place,
        "unit_cost": held.unit_cost,
        "currency": held.currency,
        "search": held.search,
    }


def save_supplier(recorder: Recorder, held: Supplier) -> int:
    """Insert the supplier (id 0) or update the one with its id; returns the id."""
    row = {name: getattr(held, name) for name in Supplier.__struct_fields__ if name != "id"}
    row["charges"] = msgspec.json.encode(held.charges).decode()
    if held.id:
        recorder.update("suppliers", held.id, row)
        return held.id
    return recorder.insert("suppliers", row)


_AT_ONCE = 500
_SUPPLIER = ", ".join(Supplier.__struct_fields__)
_PART = ", ".join(Part.__struct_fields__)
_OFFER = ", ".join(f"offers.{name}" for name in Offer.__struct_fields__)


def _rows_of(database: Database, select: str, ids: Iterable[int]) -> Iterator[dict[str, object]]:
    """The rows of these ids, as many at once as SQLite takes values."""
    rest = iter(ids)
    while some := list(islice(rest, _AT_ONCE)):
        yield from database.query(f"{select} WHERE id IN ({', '.join('?' * len(some))})", some)


def _part(row: dict[str, object]) -> Part:
    return msgspec.convert({**row, "spec": _spec(row["spec"])}, Part)


def _offer(row: dict[str, object]) -> Offer:
    steps = msgspec.json.decode(str(row["steps"]))
    return msgspec.convert({**row, "spec": _spec(row["spec"]), "steps": steps}, Offer)


def _spec(text: object) -> object:
    return msgspec.json.decode(text) if isinstance(text, str) else None
