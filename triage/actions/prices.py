"""Suppliers and their price lists, and taking in any list by its header."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import msgspec

from catalog import store
from catalog.columns import looks_like
from catalog.database import writing
from catalog.pricelists import OfferRow, SupplierRow, read_offers, read_suppliers
from catalog.text import Refused, clean_line
from triage.actions.judging import read_description
from triage.actions.parts import Imported, import_parts, searchable, unread
from triage.bench_file import BenchFile


def import_suppliers(bench: BenchFile, path: Path, column_map: Mapping[str, str] | None = None) -> Imported:
    """Take in a supplier list as one event; a known name is changed, others are added.

    A supplier whose currency changes loses its price list: the amounts in it are of the old currency.

    Raises:
        Refused: the file or any row of it is not sound; nothing was changed.
    """
    rows = read_suppliers(path, currency=bench.currency, column_map=column_map).accepted()
    source = clean_line(path.name)
    with writing(bench.database):
        held = {supplier.name.casefold(): supplier for supplier in store.suppliers(bench.database)}
        changes = [_merged(row, held.get(row.name.casefold())) for row in rows]
        new = [supplier for supplier in changes if not supplier.id]
        changed = [supplier for supplier in changes if supplier.id and supplier not in held.values()]
        done = Imported("suppliers", source, len(new), len(changed), len(changes) - len(new) - len(changed), 0)
        batch = store.new_batch(bench.database, "suppliers", source, bench.now())
        with bench.journal.event("import_suppliers", done.summary, at=bench.now(), batch=batch) as recorder:
            for supplier in (*new, *changed):
                store.save_supplier(recorder, supplier)
    return done


def import_offers(bench: BenchFile, path: Path, column_map: Mapping[str, str] | None = None) -> Imported:
    """Take in a price list as one event: for each supplier it names it takes the place of the list before.

    Taking the event back puts the list before in force again.

    Raises:
        Refused: the file or any row of it is not sound, or a supplier is not known; nothing was changed.
    """
    source = clean_line(path.name)
    currencies = {supplier.name: supplier.currency for supplier in store.suppliers(bench.database)}
    rows = read_offers(path, read_description, suppliers=currencies, column_map=column_map).accepted()
    named = dict.fromkeys(row.supplier for row in rows)
    with writing(bench.database):  # only now: reading a long list would keep others from writing
        suppliers = {supplier.name: supplier for supplier in store.suppliers(bench.database)}
        for name in named:
            if name not in suppliers or suppliers[name].currency != currencies[name]:
                raise Refused(f"“{name}” was changed while the list was read; import it again", where=str(path))
        batch = store.new_batch(bench.database, "offers", source, bench.now())
        offers = [_offer(row, suppliers[row.supplier].id) for row in rows]
        done = Imported("offers", source, store.add_offers(bench.database, batch, offers), 0, 0, unread(offers))
        with bench.journal.event("import_offers", done.summary, at=bench.now(), batch=batch) as recorder:
            for name in named:
                recorder.update("suppliers", suppliers[name].id, {"price_batch": batch})
    return done


def import_any(bench: BenchFile, path: Path, column_map: Mapping[str, str] | None = None) -> Imported:
    """Take in a list of parts, suppliers or offers, whichever its header says it is.

    Raises:
        Refused: the header does not tell, it is a list of units, or the list is not sound.
    """
    kind = looks_like(path, column_map)
    if kind == "parts":
        return import_parts(bench, path, column_map)
    if kind == "suppliers":
        return import_suppliers(bench, path, column_map)
    if kind == "offers":
        return import_offers(bench, path, column_map)
    if kind == "units":
        raise Refused("this is a list of units; add them to a lot with `lotwright lot add`", where=str(path))
    raise Refused(
        "the header does not tell what list this is; say what its columns hold with --map COLUMN=FIELD",
        where=f"{path}:1",
    )


def list_suppliers(bench: BenchFile) -> list[store.Supplier]:
    """All suppliers, by name."""
    return store.suppliers(bench.database)


def list_offers(bench: BenchFile, supplier: int | None = None) -> list[store.Offer]:
    """The offers in force, of one supplier or of all."""
    return store.offers(bench.database, supplier)


def _merged(row: SupplierRow, held: store.Supplier | None) -> store.Supplier:
    same_money = held is not None and held.currency == row.currency
    return store.Supplier(
        held.id if held else 0,
        held.name if held else row.name,
        row.currency,
        row.lead_days,
        row.lead_days_late,
        row.min_order,
        row.shipping,
        row.free_from,
        held.price_batch if held and same_money else None,
    )


def _offer(row: OfferRow, supplier: int) -> store.Offer:
    return store.Offer(
        0,
        supplier,
        row.sku,
        row.part_number,
        row.description,
        row.kind,
        row.spec,
        row.left_over,
        row.pack,
        row.min_packs,
        row.stock_packs,
        row.discount,
        tuple(store.PriceStep(*msgspec.structs.astuple(step)) for step in row.steps),
        searchable(row.part_number, row.description, row.kind, row.sku),
    )
