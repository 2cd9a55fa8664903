"""The tables this package owns: lots, units, what happened, needs, orders and settings; and the schema as a whole."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

import msgspec
from sqlite_utils import Database

from catalog import journal, journal_blocks, list_store, own_store
from catalog import store as catalog_store
from catalog.database import Migration, run_script, writing
from catalog.journal import Recorder
from catalog.shapes import ready
from triage.lot import Happening, LiftedPart, Lot, Need, OrderPin, Outcome, SetAside, Unit
from triage.model_sheets import ModelLine

SCHEMA = """
CREATE TABLE settings (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    name TEXT NOT NULL UNIQUE,
    value TEXT NOT NULL
) STRICT;
CREATE TABLE lots (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    name TEXT NOT NULL,
    currency TEXT NOT NULL,
    paid INTEGER NOT NULL CHECK (paid >= 0),
    postage INTEGER NOT NULL CHECK (postage >= 0),
    bought_on TEXT NOT NULL,
    place TEXT NOT NULL,
    bench_minutes INTEGER CHECK (bench_minutes >= 0),
    deadline TEXT NOT NULL,
    cash_limit INTEGER CHECK (cash_limit >= 0),
    note TEXT NOT NULL
) STRICT;
CREATE TABLE units (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    lot INTEGER NOT NULL REFERENCES lots (id),
    device_class TEXT NOT NULL,
    typed TEXT NOT NULL,
    candidates TEXT NOT NULL,
    symptoms TEXT NOT NULL,
    sold_as TEXT NOT NULL CHECK (sold_as IN ('faulty', 'untested')),
    model TEXT NOT NULL,
    note TEXT NOT NULL,
    shelf TEXT NOT NULL,
    grade TEXT NOT NULL CHECK (grade IN ('A', 'B', 'C')),
    working INTEGER,
    as_is INTEGER,
    part_out INTEGER,
    own_worth INTEGER,
    pile TEXT NOT NULL,
    pile_reason TEXT NOT NULL
) STRICT;
CREATE INDEX units_lot ON units (lot);
CREATE TABLE happenings (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    unit INTEGER NOT NULL REFERENCES units (number),
    at TEXT NOT NULL,
    kind TEXT NOT NULL,
    subject TEXT NOT NULL,
    answer TEXT NOT NULL,
    value REAL,
    raw TEXT NOT NULL,
    minutes REAL NOT NULL CHECK (minutes >= 0)
) STRICT;
CREATE INDEX happenings_unit ON happenings (unit);
CREATE TABLE needs (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    unit INTEGER NOT NULL REFERENCES units (number),
    fault TEXT NOT NULL,
    part TEXT NOT NULL,
    pieces INTEGER NOT NULL CHECK (pieces > 0),
    text TEXT NOT NULL,
    kind TEXT NOT NULL,
    role TEXT NOT NULL,
    compromise_ok INTEGER NOT NULL CHECK (compromise_ok IN (0, 1)),
    state TEXT NOT NULL,
    source TEXT NOT NULL
) STRICT;
CREATE INDEX needs_unit ON needs (unit);
CREATE TABLE orders (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    lot INTEGER NOT NULL REFERENCES lots (id),
    supplier TEXT NOT NULL,
    at TEXT NOT NULL,
    due TEXT NOT NULL,
    currency TEXT NOT NULL,
    goods INTEGER NOT NULL,
    shipping INTEGER NOT NULL,
    cancelled TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE TABLE order_lines (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    order_id INTEGER NOT NULL REFERENCES orders (id),
    sku TEXT NOT NULL,
    part_number TEXT NOT NULL,
    description TEXT NOT NULL,
    packs INTEGER NOT NULL CHECK (packs > 0),
    pack INTEGER NOT NULL CHECK (pack > 0),
    line_total INTEGER NOT NULL,
    units TEXT NOT NULL,
    needs TEXT NOT NULL,
    grade TEXT NOT NULL,
    received INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE INDEX order_lines_order ON order_lines (order_id);
"""
SET_ASIDES = """
CREATE TABLE set_asides (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    need INTEGER NOT NULL REFERENCES needs (id),
    pieces INTEGER NOT NULL CHECK (pieces > 0),
    part INTEGER REFERENCES parts (id),
    line INTEGER REFERENCES order_lines (id),
    CHECK (part IS NOT NULL OR line IS NOT NULL)
) STRICT;
CREATE INDEX set_asides_need ON set_asides (need);
ALTER TABLE order_lines ADD COLUMN kind TEXT NOT NULL DEFAULT '';
INSERT INTO set_asides (need, pieces, line)
    SELECT needs.id, min(needs.pieces, (order_lines.packs - order_lines.received) * order_lines.pack),
        min(order_lines.id)
    FROM needs
    JOIN order_lines ON EXISTS (SELECT 1 FROM json_each(order_lines.needs) WHERE value = needs.id)
    JOIN orders ON orders.id = order_lines.order_id AND orders.cancelled = ''
    WHERE needs.state = 'ordered' AND order_lines.received < order_lines.packs GROUP BY needs.id;
UPDATE needs SET state = 'open', source = '' WHERE state IN ('reserved', 'received');
INSERT INTO settings (name, value)
    SELECT 'currency', json_quote(currency) FROM lots
    WHERE NOT EXISTS (SELECT 1 FROM settings WHERE name = 'currency') ORDER BY id DESC LIMIT 1;
"""
"""What is promised to a need, piece by piece; before, a need was only marked. Drawer parts are found again by the plan.
"""
SAID_OF_UNITS = """
ALTER TABLE units ADD COLUMN looks TEXT NOT NULL DEFAULT '' CHECK (looks IN ('', 'A', 'B', 'C'));
UPDATE units SET looks = grade;
ALTER TABLE units DROP COLUMN grade;
ALTER TABLE units RENAME COLUMN looks TO grade;
ALTER TABLE units ADD COLUMN complete TEXT NOT NULL DEFAULT '';
ALTER TABLE units ADD COLUMN opened_before TEXT NOT NULL DEFAULT '' CHECK (opened_before IN ('', 'yes', 'no'));
ALTER TABLE units ADD COLUMN keep TEXT NOT NULL DEFAULT '' CHECK (keep IN ('', 'yes', 'no'));
ALTER TABLE lots ADD COLUMN no_cash_limit INTEGER NOT NULL DEFAULT 0 CHECK (no_cash_limit IN (0, 1));
"""
"""What is asked of a unit and of a lot may be not said yet; a check cannot be widened, so `grade` is made anew."""
LIFTED_PARTS = """
CREATE TABLE lifted_parts (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    part INTEGER NOT NULL UNIQUE REFERENCES parts (id),
    unit INTEGER NOT NULL REFERENCES units (number),
    unit_part TEXT NOT NULL
) STRICT;
"""
"""Where a line of the drawer came out of: its pieces are as good as that unit's evidence says."""
FINDINGS = """
CREATE TABLE forecasts (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    unit INTEGER NOT NULL UNIQUE REFERENCES units (number),
    at TEXT NOT NULL,
    device_class TEXT NOT NULL,
    chances TEXT NOT NULL,
    base TEXT NOT NULL
) STRICT;
CREATE TABLE model_lines (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    device_class TEXT NOT NULL,
    model TEXT NOT NULL,
    topic TEXT NOT NULL,
    place TEXT NOT NULL,
    text TEXT NOT NULL,
    part TEXT NOT NULL,
    fault TEXT NOT NULL,
    seen INTEGER NOT NULL CHECK (seen >= 0),
    among INTEGER NOT NULL CHECK (among >= seen),
    at TEXT NOT NULL
) STRICT;
CREATE INDEX model_lines_class ON model_lines (device_class);
CREATE INDEX happenings_found ON happenings (unit) WHERE kind = 'found';
"""
"""What was believed of a unit before it was known, and what is known of a model."""
ARRIVALS = """
ALTER TABLE order_lines ADD COLUMN failed INTEGER NOT NULL DEFAULT 0 CHECK (failed >= 0);
CREATE TABLE arrivals (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    line INTEGER NOT NULL REFERENCES order_lines (id),
    at TEXT NOT NULL,
    packs INTEGER NOT NULL CHECK (packs > 0),
    outcome TEXT NOT NULL,
    note TEXT NOT NULL
) STRICT;
CREATE INDEX arrivals_line ON arrivals (line);
"""
"""What came of an order line and when; packs that failed came as duds, as something else, or will not come."""


ORDER_PINS = """
CREATE TABLE order_pins (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    lot INTEGER NOT NULL REFERENCES lots (id),
    kind TEXT NOT NULL CHECK (kind IN ('only', 'not', 'keep')),
    supplier TEXT NOT NULL,
    sku TEXT NOT NULL DEFAULT '',
    packs INTEGER NOT NULL DEFAULT 0 CHECK (packs >= 0)
) STRICT;
"""
"""The person's word on where to buy and what line to keep."""
LOT_MINUTES = "lot_minutes"
"""Setting that holds the worth of a bench minute by lot."""
TABLES = (
    *catalog_store.TABLES,
    *list_store.TABLES,
    *own_store.TABLES,
    "settings",
    "lots",
    "units",
    "happenings",
    "needs",
    "orders",
    "order_lines",
    "set_asides",
    "lifted_parts",
    "forecasts",
    "model_lines",
    "arrivals",
    "order_pins",
    "journal",
    "journal_rows",
    "journal_blocks",
)
"""Every table, parents before children."""


def _first(database: Database) -> None:
    for script in (journal.SCHEMA, catalog_store.SCHEMA, SCHEMA):
        run_script(database, script)


def _set_asides(database: Database) -> None:
    run_script(database, SET_ASIDES)


def _lists_from_elsewhere(database: Database) -> None:
    run_script(database, list_store.SCHEMA)


def _said_of_units(database: Database) -> None:
    run_script(database, SAID_OF_UNITS)


def _lifted_parts(database: Database) -> None:
    run_script(database, LIFTED_PARTS)


def _findings(database: Database) -> None:
    run_script(database, FINDINGS)


def _arrivals(database: Database) -> None:
    run_script(database, ARRIVALS)


def _journal_blocks(database: Database) -> None:
    run_script(database, journal_blocks.SCHEMA)


def _own_rules(database: Database) -> None:
    run_script(database, own_store.SCHEMA)


def _charges(database: Database) -> None:
    run_script(database, catalog_store.CHARGES)
    run_script(database, ORDER_PINS)


MIGRATIONS: tuple[Migration, ...] = (
    _first,
    _set_asides,
    _lists_from_elsewhere,
    _said_of_units,
    _lifted_parts,
    _findings,
    _arrivals,
    _journal_blocks,
    _own_rules,
    _charges,
)
"""One function a schema version; append only, a shipped one is never edited."""


class OrderLine(msgspec.Struct, frozen=True):
    """One line of a placed order, and how many packs of it have come."""

    id: int
    order_id: int
    sku: str
    part_number: str
    description: str
    packs: int
    pack: int
    line_total: int
    units: tuple[int, ...]
    needs: tuple[int, ...]
    grade: str
    received: int = 0
    kind: str = ""
    """The kind that was read from the description when it was ordered."""
    failed: int = 0
    """Packs that came as duds or as something else, or will not come."""

    @property
    def open_packs(self) -> int:
        """Packs still to come."""
        return self.packs - self.received - self.failed


class Arrival(msgspec.Struct, frozen=True):
    """Packs of an order line of which became clear what came of them."""

    id: int
    line: int
    at: str
    packs: int
    outcome: Outcome
    note: str = ""


class Order(msgspec.Struct, frozen=True):
    """One order placed with one supplier."""

    id: int
    lot: int
    supplier: str
    at: str
    due: str
    currency: str
    goods: int
    shipping: int
    """Postage, fees, tax and import charges."""
    cancelled: str = ""
    """The moment of the counter-entry that took it back; empty while it stands."""


class Forecast(msgspec.Struct, frozen=True):
    """What was believed of a unit before its first repair or its finding, {fault: chance}; `base` before any look."""

    id: int
    unit: int
    at: str
    device_class: str
    chances: dict[str, float]
    base: dict[str, float]


ready(Lot, Unit, Happening, Need, Order, OrderLine, OrderPin, SetAside, Forecast, ModelLine, Arrival)


def lots(database: Database) -> list[Lot]:
    """All lots, oldest first."""
    rows = database.query(f"SELECT {_names(Lot)} FROM lots ORDER BY id")  # noqa: S608
    return [msgspec.convert({**row, "no_cash_limit": bool(row["no_cash_limit"])}, Lot) for row in rows]


def units(database: Database, lot: int | None = None) -> list[Unit]:
    """The units of one lot, or all, by number."""
    where, values = ("WHERE lot = ?", (lot,)) if lot is not None else ("", ())
    rows = database.query(f"SELECT {_names(Unit)} FROM units {where} ORDER BY number", values)  # noqa: S608
    return [_unit(row) for row in rows]


def unit(database: Database, number: int) -> Unit | None:
    """One unit, or None."""
    rows = database.query(f"SELECT {_names(Unit)} FROM units WHERE number = ?", (number,))  # noqa: S608
    row = next(iter(rows), None)
    return _unit(row) if row else None


def happenings(database: Database, number: int) -> list[Happening]:
    """What happened to one unit, in time."""
    query = f"SELECT {_names(Happening)} FROM happenings WHERE unit = ? ORDER BY id"  # noqa: S608
    return [msgspec.convert(row, Happening) for row in database.query(query, (number,))]


def needs(database: Database, *, number: int | None = None, lot: int | None = None) -> list[Need]:
    """The needs of one unit, or of all units of a lot, by id."""
    where, values = "", tuple[int, ...]()
    if number is not None:
        where, values = "WHERE unit = ?", (number,)
    elif lot is not None:
        where, values = "WHERE unit IN (SELECT number FROM units WHERE lot = ?)", (lot,)
    rows = database.query(f"SELECT {_names(Need)} FROM needs {where} ORDER BY id", values)  # noqa: S608
    return [msgspec.convert({**row, "compromise_ok": bool(row["compromise_ok"])}, Need) for row in rows]


def orders(database: Database, lot: int | None = None) -> list[Order]:
    """The orders placed for a lot, or all, oldest first."""
    where, values = ("WHERE lot = ?", (lot,)) if lot is not None else ("", ())
    rows = database.query(f"SELECT {_names(Order)} FROM orders {where} ORDER BY id", values)  # noqa: S608
    return [msgspec.convert(row, Order) for row in rows]


def order_lines(database: Database, order_id: int | None = None) -> list[OrderLine]:
    """The lines of one order, or of all."""
    where, values = ("WHERE order_id = ?", (order_id,)) if order_id is not None else ("", ())
    rows = database.query(f"SELECT {_names(OrderLine)} FROM order_lines {where} ORDER BY id", values)  # noqa: S608
    return [
        msgspec.convert({**row, "units": json.loads(row["units"]), "needs": json.loads(row["needs"])}, OrderLine)
        for row in rows
    ]


def arrivals(database: Database) -> list[Arrival]:
    """What came of order lines, in time."""
    query = f"SELECT {_names(Arrival)} FROM arrivals ORDER BY id"  # noqa: S608
    return [msgspec.convert(row, Arrival) for row in database.query(query)]


def set_asides(database: Database) -> list[SetAside]:
    """Everything promised to a need, oldest first."""
    query = f"SELECT {_names(SetAside)} FROM set_asides ORDER BY id"  # noqa: S608
    return [msgspec.convert(row, SetAside) for row in database.query(query)]


def order_pins(database: Database, lot: int | None = None) -> list[OrderPin]:
    """The person's word on the order of a lot, or on all, oldest first."""
    where, values = ("WHERE lot = ?", (lot,)) if lot is not None else ("", ())
    rows = database.query(f"SELECT {_names(OrderPin)} FROM order_pins {where} ORDER BY id", values)  # noqa: S608
    return [msgspec.convert(row, OrderPin) for row in rows]


def lifted_parts(database: Database) -> dict[int, LiftedPart]:
    """{part id: where its pieces came out of}, of the lines of the drawer that were lifted out of a unit."""
    query = f"SELECT {_names(LiftedPart)} FROM lifted_parts ORDER BY id"  # noqa: S608
    return {row["part"]: msgspec.convert(row, LiftedPart) for row in database.query(query)}


def forecasts(database: Database) -> list[Forecast]:
    """Everything that was believed before it was known, by unit."""
    query = f"SELECT {_names(Forecast)} FROM forecasts ORDER BY unit"  # noqa: S608
    return [
        msgspec.convert({**row, "chances": json.loads(row["chances"]), "base": json.loads(row["base"])}, Forecast)
        for row in database.query(query)
    ]


def model_lines(database: Database, device_class: str) -> list[ModelLine]:
    """What is known of the models of a class, oldest first."""
    query = f"SELECT {_names(ModelLine)} FROM model_lines WHERE device_class = ? ORDER BY id"  # noqa: S608
    return [msgspec.convert(row, ModelLine) for row in database.query(query, (device_class,))]


def found_units(database: Database, device_class: str) -> list[int]:
    """The units of a class of which was said what was wrong, in the order in which that was first said."""
    query = """
        SELECT units.number, min(happenings.id) AS first FROM units
        JOIN happenings ON happenings.unit = units.number AND happenings.kind = 'found'
        WHERE units.device_class = ? GROUP BY units.number ORDER BY first
    """
    return [int(row["number"]) for row in database.query(query, (device_class,))]


def latest_event(database: Database, numbers: Sequence[int]) -> int:
    """The newest journal event about any of these units, 0 for none: changes whenever what is kept of them does."""
    marks = ", ".join("?" for _ in numbers)
    row = database.conn.execute(f"SELECT max(id) FROM journal WHERE unit IN ({marks})", tuple(numbers)).fetchone()  # noqa: S608
    return int(row[0] or 0)


def settings(database: Database) -> dict[str, Any]:
    """All settings, by name."""
    return {row["name"]: json.loads(row["value"]) for row in database.query("SELECT name, value FROM settings")}


def lot_minutes(settings: dict[str, Any]) -> dict[int, float]:
    """{lot id: worth of one more bench minute in its last plan}, minor units."""
    return {int(lot): float(worth) for lot, worth in settings.get(LOT_MINUTES, {}).items()}


def keep_lot_minute(database: Database, lot: int, worth: float) -> None:
    """Keep what the last plan found; derived, so it is no event and is not undone."""
    with writing(database):
        held = {**lot_minutes(settings(database)), lot: worth}
        database.conn.execute(
            "INSERT INTO settings (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
            (LOT_MINUTES, json.dumps({str(key): value for key, value in sorted(held.items())})),
        )


def save(recorder: Recorder, table: str, row: msgspec.Struct, key: str = "id") -> int:
    """Insert the row (key 0) or write it over the one with its key; returns the key."""
    columns = {name: _stored(getattr(row, name)) for name in row.__struct_fields__}
    row_id = int(columns.pop(key))
    if row_id:
        recorder.update(table, row_id, columns)
        return row_id
    return recorder.insert(table, columns)


def save_setting(recorder: Recorder, database: Database, name: str, value: object) -> None:
    """Set one setting."""
    row = database.conn.execute("SELECT id FROM settings WHERE name = ?", (name,)).fetchone()
    stored = json.dumps(value, ensure_ascii=False)
    if row:
        recorder.update("settings", int(row[0]), {"value": stored})
    else:
        recorder.insert("settings", {"name": name, "value": stored})


def _stored(value: object) -> Any:
    if isinstance(value, bool):
        return int(value)
    if isinstance(value, tuple | list | dict):
        return json.dumps(value, ensure_ascii=False)
    return value


def _unit(row: dict[str, Any]) -> Unit:
    held = {**row, "candidates": json.loads(row["candidates"]), "symptoms": json.loads(row["symptoms"])}
    return msgspec.convert(held, Unit)


def _names(struct: type[msgspec.Struct]) -> str:
    return ", ".join(struct.__struct_fields__)
