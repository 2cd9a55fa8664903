"""`prices`: suppliers and their price lists in, and what is in force."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from catalog.text import Refused
from triage.commands.output import json_line, show, table
from triage.commands.parts import tell_imported
from triage.commands.shared import FILE, LINE, Globals, Group, json_option, map_option

if TYPE_CHECKING:
    from collections.abc import Mapping

    from catalog.store import Offer, Supplier


@click.group(cls=Group)
def prices() -> None:
    """Suppliers and their price lists."""


@prices.command("import")
@click.argument("files", type=FILE, nargs=-1, required=True, metavar="FILE…")
@map_option
@json_option
@click.pass_obj
def import_(held: Globals, files: tuple[Path, ...], column_map: dict[str, str], *, as_json: bool) -> None:
    """Take in supplier lists and price lists (CSV), told apart by their headers, suppliers first.

    suppliers: supplier, currency, lead_days, lead_days_late, min_order, shipping, free_from. offers, one row a price
    step: supplier, sku, part_number, description, pack, min_packs, stock, from, price, price_per, discount, currency.
    """
    from triage.actions.prices import import_any  # noqa: PLC0415 - loaded when a bench file is wanted

    with held.open() as bench:
        for file in files:
            tell_imported(import_any(bench, file, column_map), as_json=as_json)


@prices.command("show")
@click.argument("supplier", type=LINE, required=False)
@json_option
@click.pass_obj
def show_(held: Globals, supplier: str | None, *, as_json: bool) -> None:
    """List the suppliers and the offers in force, of one supplier or of all."""
    from triage.actions.prices import list_offers, list_suppliers  # noqa: PLC0415

    with held.existing() as bench:
        suppliers = list_suppliers(bench)
        if supplier is not None:
            suppliers = [one for one in suppliers if one.name.casefold() == supplier.casefold()]
            if not suppliers:
                raise Refused("there is no such supplier; `lotwright prices show` lists them", where=supplier[:60])
        offers = list_offers(bench, suppliers[0].id if supplier is not None else None)
    known = {one.id: one for one in suppliers}
    if as_json:
        json_line(
            {
                "suppliers": [_supplier_form(one) for one in suppliers],
                "offers": [_offer_form(offer, known) for offer in offers],
            }
        )
    else:
        _print(suppliers, offers, known)


def _print(suppliers: list[Supplier], offers: list[Offer], known: Mapping[int, Supplier]) -> None:
    from catalog.money import show as written  # noqa: PLC0415

    def money(amount: int | None, currency: str) -> str:
        return "" if amount is None else written(amount, currency, with_code=True)

    table(
        ("supplier", "days", "late", "least order", "shipping", "free from"),
        [
            (
                one.name,
                one.lead_days,
                one.lead_days_late,
                *(money(amount, one.currency) for amount in (one.min_order, one.shipping, one.free_from)),
            )
            for one in suppliers
        ],
        right=("days", "late", "least order", "shipping", "free from"),
    )
    show("")
    table(
        ("supplier", "sku", "pack", "stock", "prices", "number", "description"),
        [
            (
                known[offer.supplier].name,
                offer.sku,
                offer.pack,
                "plenty" if offer.stock_packs is None else offer.stock_packs,
                _steps(offer, known[offer.supplier].currency),
                offer.part_number,
                offer.description,
            )
            for offer in offers
        ],
        right=("pack", "stock"),
    )


def _steps(offer: Offer, currency: str) -> str:
    from catalog.money import show as written  # noqa: PLC0415

    steps = []
    for step in offer.steps:
        per = f" per {step.per}" if step.per > 1 else ""
        steps.append(f"{step.start}+ {written(step.amount, currency)}{per}")
    return ", ".join(steps)


def _supplier_form(supplier: Supplier) -> dict[str, Any]:
    return {
        "supplier": supplier.name,
        "currency": supplier.currency,
        "lead_days": supplier.lead_days,
        "lead_days_late": supplier.lead_days_late,
        "min_order_cents": supplier.min_order,
        "shipping_cents": supplier.shipping,
        "free_from_cents": supplier.free_from,
    }


def _offer_form(offer: Offer, known: Mapping[int, Supplier]) -> dict[str, Any]:
    return {
        "id": offer.id,
        "supplier": known[offer.supplier].name,
        "sku": offer.sku,
        "part_number": offer.part_number,
        "description": offer.description,
        "kind": offer.kind,
        "left_over": offer.left_over,
        "pack": offer.pack,
        "min_packs": offer.min_packs,
        "stock_packs": offer.stock_packs,
        "discount": offer.discount,
        "steps": [{"from": step.start, "price_cents": step.amount, "price_per": step.per} for step in offer.steps],
    }
