"""The tables of a bench file, version by version: what each migration makes, and all of them, parents first."""

from __future__ import annotations

from sqlite_utils import Database

from catalog import journal, journal_blocks, list_store, own_store
from catalog import store as catalog_store
from catalog.database import Migration, run_script

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
OWN_PATHS = """
CREATE TABLE own_paths (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    device_class TEXT NOT NULL,
    model TEXT NOT NULL,
    name TEXT NOT NULL,
    chain TEXT NOT NULL,
    tools TEXT NOT NULL
) STRICT;
"""
"""Signal paths that the person typed, for a class or for one model of it."""
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
LATER = """
ALTER TABLE needs ADD COLUMN instead TEXT NOT NULL DEFAULT '';
ALTER TABLE needs ADD COLUMN tell TEXT NOT NULL DEFAULT '';
ALTER TABLE needs ADD COLUMN worth INTEGER CHECK (worth >= 0);
ALTER TABLE order_pins ADD COLUMN need INTEGER REFERENCES needs (id);
CREATE TABLE spares (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    text TEXT NOT NULL,
    kind TEXT NOT NULL,
    pieces INTEGER NOT NULL CHECK (pieces > 0),
    chance REAL NOT NULL CHECK (chance > 0 AND chance <= 1),
    price INTEGER CHECK (price >= 0)
) STRICT;
"""
"""Proper parts wished for where something makeshift does for now, spares, and words on where one need is met."""
LOT_WEEKS = """
ALTER TABLE lots ADD COLUMN week TEXT NOT NULL DEFAULT '';
ALTER TABLE lots ADD COLUMN price_fall REAL NOT NULL DEFAULT 0 CHECK (price_fall >= 0 AND price_fall <= 1);
"""
"""Bench hours by weekday, and a price that falls from week to week."""
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
    "own_paths",
    "order_pins",
    "spares",
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


def _own_paths(database: Database) -> None:
    run_script(database, OWN_PATHS)


def _charges(database: Database) -> None:
    run_script(database, catalog_store.CHARGES)
    run_script(database, ORDER_PINS)


def _later(database: Database) -> None:
    run_script(database, LATER)


def _lot_weeks(database: Database) -> None:
    run_script(database, LOT_WEEKS)


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
    _own_paths,
    _charges,
    _lot_weeks,
    _later,
)
"""One function a schema version; append only, a shipped one is never edited."""
