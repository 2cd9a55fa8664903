"""The rows this package owns: lots, units, what happened, needs, orders and settings. The tables are in `schema`."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

import msgspec
from sqlite_utils import Database

from catalog.database import writing
from catalog.journal import Recorder
from catalog.shapes import ready
from triage.lot import Happening, LiftedPart, Lot, Need, OrderPin, Outcome, SetAside, Spare, Unit
from triage.model_sheets import ModelLine
from triage.own_paths import OwnPath

LOT_MINUTES = "lot_minutes"
"""Setting that holds the worth of a bench minute by lot."""
LOT_DAYS = "lot_days"
"""Setting that holds the worth of one more day by lot."""


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


ready(Lot, Unit, Happening, Need, Order, OrderLine, OrderPin, SetAside, Spare, Forecast, ModelLine, Arrival, OwnPath)


def lots(database: Database) -> list[Lot]:
    """All lots, oldest first."""
    rows = database.query(f"SELECT {_names(Lot)} FROM lots ORDER BY id")  # noqa: S608
    return [msgspec.convert({**row, "no_cash_limit": bool(row["no_cash_limit"])}, Lot) for row in rows]


def price_fall(database: Database, lot: int) -> float:
    """Share of its price that a unit of the lot loses in a week."""
    row = database.conn.execute("SELECT price_fall FROM lots WHERE id = ?", (lot,)).fetchone()
    return float(row[0]) if row else 0.0


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


def minutes_noted(database: Database, lot: int) -> list[tuple[str, float]]:
    """(moment, minutes) of everything on the units of a lot that took bench time."""
    rows = database.conn.execute(
        "SELECT at, minutes FROM happenings WHERE minutes > 0 AND unit IN (SELECT number FROM units WHERE lot = ?)",
        (lot,),
    )
    return [(str(at), float(minutes)) for at, minutes in rows]


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


def spares(database: Database) -> list[Spare]:
    """The spares that the person would like to have, oldest first."""
    query = f"SELECT {_names(Spare)} FROM spares ORDER BY id"  # noqa: S608
    return [msgspec.convert(row, Spare) for row in database.query(query)]


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


def own_paths(database: Database) -> list[OwnPath]:
    """The person's own signal paths, oldest first."""
    rows = database.query(f"SELECT {_names(OwnPath)} FROM own_paths ORDER BY id")  # noqa: S608
    return [msgspec.convert({**row, "tools": json.loads(row["tools"])}, OwnPath) for row in rows]


def settings(database: Database) -> dict[str, Any]:
    """All settings, by name."""
    return {row["name"]: json.loads(row["value"]) for row in database.query("SELECT name, value FROM settings")}


def lot_minutes(settings: dict[str, Any]) -> dict[int, float]:
    """{lot id: worth of one more bench minute in its last plan}, minor units."""
    return _by_lot(settings, LOT_MINUTES)


def lot_days(settings: dict[str, Any]) -> dict[int, float]:
    """{lot id: worth of one more day in its last plan}, minor units."""
    return _by_lot(settings, LOT_DAYS)


def keep_lot_worths(database: Database, lot: int, *, minute: float, day: float) -> None:
    """Keep what the last plan found; derived, so it is no event and is not undone."""
    with writing(database):
        known = settings(database)
        keep_derived(
            database, LOT_MINUTES, {str(key): worth for key, worth in {**lot_minutes(known), lot: minute}.items()}
        )
        keep_derived(database, LOT_DAYS, {str(key): worth for key, worth in {**lot_days(known), lot: day}.items()})


def keep_derived(database: Database, name: str, value: dict[str, Any]) -> None:
    """Keep a setting that follows from the rest, without an event; inside `writing`."""
    database.conn.execute(
        "INSERT INTO settings (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
        (name, json.dumps(value, sort_keys=True, ensure_ascii=False)),
    )


def _by_lot(settings: dict[str, Any], name: str) -> dict[int, float]:
    return {int(lot): float(worth) for lot, worth in settings.get(name, {}).items()}


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
