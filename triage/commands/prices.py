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
    from msgspec import Struct


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
    names = {one.id: (one.name, one.currency) for one in suppliers}
    senders = [_supplier_form(one) for one in suppliers]
    forms = [_offer_form(offer, *names[offer.supplier]) for offer in offers]
    if as_json:
        json_line({"suppliers": senders, "offers": forms})
    else:
        _print(senders, forms)


def _print(suppliers: list[dict[str, Any]], offers: list[dict[str, Any]]) -> None:
    from catalog.money import show as written  # noqa: PLC0415

    def money(form: dict[str, Any], name: str) -> str:
        return "" if form[name] is None else written(form[name], form["currency"], with_code=True)

    amounts = ("min_order_cents", "shipping_cents", "free_from_cents")
    table(
        ("supplier", "days", "late", "least order", "shipping", "free from"),
        [
            (one["supplier"], one["lead_days"], one["lead_days_late"], *(money(one, name) for name in amounts))
            for one in suppliers
        ],
        right=("days", "late", "least order", "shipping", "free from"),
    )
    show("")
    table(
        ("supplier", "sku", "pack", "stock", "prices", "number", "description"),
        [
            (
                one["supplier"],
                one["sku"],
                one["pack"],
                "plenty" if one["stock_packs"] is None else one["stock_packs"],
                _steps(one),
                one["part_number"],
                one["description"],
            )
            for one in offers
        ],
        right=("pack", "stock"),
    )


def _steps(offer: dict[str, Any]) -> str:
    from catalog.money import show as written  # noqa: PLC0415

    steps = []
    for step in offer["steps"]:
        per = f" per {step['price_per']}" if step["price_per"] > 1 else ""
        steps.append(f"{step['from']}+ {written(step['price_cents'], offer['currency'])}{per}")
    return ", ".join(steps)


def _supplier_form(supplier: Struct) -> dict[str, Any]:
    from msgspec.structs import asdict  # noqa: PLC0415

    held = asdict(supplier)
    return {
        "supplier": held["name"],
        **{name: held[name] for name in ("currency", "lead_days", "lead_days_late")},
        **{f"{name}_cents": held[name] for name in ("min_order", "shipping", "free_from")},
    }


def _offer_form(offer: Struct, supplier: str, currency: str) -> dict[str, Any]:
    from msgspec.structs import asdict  # noqa: PLC0415

    held = asdict(offer)
    stated = ("id", "sku", "part_number", "description", "kind", "left_over", "pack", "min_packs", "stock_packs")
    return {
        "supplier": supplier,
        "currency": currency,
        **{name: held[name] for name in (*stated, "discount")},
        "steps": [{"from": step.start, "price_cents": step.amount, "price_per": step.per} for step in held["steps"]],
    }
