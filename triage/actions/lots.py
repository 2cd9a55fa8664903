"""Making, changing and listing lots."""

from __future__ import annotations

from datetime import date
from typing import Any

import msgspec

from catalog import money
from catalog.text import Refused, clean_line
from triage import store
from triage.bench_file import BenchFile, in_one_transaction
from triage.bench_week import week_text
from triage.lot import Lot


@in_one_transaction
def new_lot(bench: BenchFile, name: str, **details: Any) -> Lot:
    """Start a lot. `details` are fields of `Lot`; money in minor units, days as ISO dates.

    The currency is that of the bench file, which the first lot settles.

    Raises:
        Refused: no name, a negative amount, a day that is none.
    """
    lot = _checked(bench, msgspec.structs.replace(Lot(0, clean_line(name), bench.currency), **details))
    with bench.journal.event("lot_new", f"lot “{lot.name}” started", at=bench.now()) as recorder:
        if "currency" not in store.settings(bench.database):
            store.save_setting(recorder, bench.database, "currency", lot.currency)
        lot_id = store.save(recorder, "lots", lot)
    return msgspec.structs.replace(lot, id=lot_id)


@in_one_transaction
def change_lot(bench: BenchFile, lot_id: int, **changes: Any) -> Lot:
    """Change fields of a lot. A cash limit ends “no limit”; that there is none ends a limit."""
    was = get_lot(bench, lot_id)
    if changes.get("cash_limit") is not None:
        changes["no_cash_limit"] = False
    elif changes.get("no_cash_limit"):
        changes["cash_limit"] = None
    lot = _checked(bench, msgspec.structs.replace(was, **changes), was)
    said = ", ".join(name.replace("_", " ") for name in changes)
    with bench.journal.event("lot_change", f"lot “{lot.name}”: {said} changed", at=bench.now()) as recorder:
        store.save(recorder, "lots", lot)
    return lot


def share_of(percent: str) -> float:
    """A percentage as typed, such as `2.5` or `2.5 %`, as a share; empty = none; raises `Refused`."""
    text = percent.strip().removesuffix("%").strip()
    share = float(money.figure(text)) / 100 if text else 0.0
    if not 0.0 <= share <= 1.0:
        raise Refused("expected a percentage from 0 to 100", where="lot.price_fall")
    return share


def list_lots(bench: BenchFile) -> list[Lot]:
    """All lots, oldest first."""
    return store.lots(bench.database)


def get_lot(bench: BenchFile, lot_id: int | None = None) -> Lot:
    """The lot of that number, or the newest one when none is named.

    Raises:
        Refused: there is no such lot, or none at all.
    """
    lots = store.lots(bench.database)
    if lot_id is None:
        if not lots:
            raise Refused("there is no lot yet; start one with `lotwright lot new NAME`", where="lot")
        return lots[-1]
    for lot in lots:
        if lot.id == lot_id:
            return lot
    raise Refused(f"there is no lot {lot_id}; `lotwright lot list` shows them", where="lot")


def _checked(bench: BenchFile, lot: Lot, was: Lot | None = None) -> Lot:
    if not lot.name:
        raise Refused("a lot needs a name, such as “box from the cellar”", where="lot.name")
    if money.code(lot.currency) != bench.currency and (was is None or lot.currency != was.currency):
        raise Refused(f"everything of one bench file is in one currency, here {bench.currency}", where="lot.currency")
    for field in ("paid", "postage", "bench_minutes", "cash_limit"):
        value = getattr(lot, field)
        if value is not None and value < 0:
            raise Refused("expected zero or more", where=f"lot.{field}")
    for field in ("bought_on", "deadline"):
        day = getattr(lot, field)
        if day:
            try:
                date.fromisoformat(day)
            except ValueError:
                raise Refused(f"expected a day such as 2026-12-20, not “{day}”", where=f"lot.{field}") from None
    if not 0.0 <= lot.price_fall <= 1.0:
        raise Refused("expected a share from 0 to 1", where="lot.price_fall")
    lot = msgspec.structs.replace(lot, week=week_text(lot.week))
    cleaned = {field: clean_line(getattr(lot, field)) for field in ("name", "place", "note", "bought_on", "deadline")}
    return msgspec.structs.replace(lot, **cleaned)
