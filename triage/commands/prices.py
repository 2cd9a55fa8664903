"""`prices`: suppliers and their price lists in, and what is in force."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from catalog.text import Refused
from triage.commands.lists import dry_run_option, kind_option, supplier_option, take_in, telling
from triage.commands.output import json_line, say, show, table
from triage.commands.shared import FILE, LINE, Globals, Group, json_option, map_option, pairs

if TYPE_CHECKING:
    from msgspec import Struct

    from triage.actions.goods_in import Waits


@click.group(cls=Group)
def prices() -> None:
    """Suppliers and their price lists."""


@prices.command("import")
@click.argument("files", type=FILE, nargs=-1, required=True, metavar="FILE…")
@kind_option
@supplier_option
@map_option
@dry_run_option
@json_option
@click.pass_obj
def import_(
    held: Globals,
    files: tuple[Path, ...],
    column_map: dict[str, str],
    *,
    kind: str | None,
    supplier: str,
    dry_run: bool,
    as_json: bool,
) -> None:
    """Take in supplier and price lists (CSV).

    They are told apart by their headers; all of them are taken in, or none.

    suppliers: supplier, currency, lead_days, lead_days_late, min_order, shipping, free_from, and where it asks more:
    shipping_by_value (0: 4.95; 20: 2.95), shipping_by_weight (the same from grams), small_order_fee, fee_below, tax,
    import_above, import_rate (percent), import_fee. offers, one row a price step: supplier, sku, part_number,
    description, pack, min_packs, stock, from, price, price_per, discount, currency, weight (grams of one piece).
    Other headers are said once with --map and remembered.
    """
    from triage.actions.prices import stage_files  # noqa: PLC0415 - loaded when a bench file is wanted

    with held.open() as bench:
        staged = stage_files(bench, files, column_map, kind=kind, supplier=supplier, progress=telling())
        take_in(bench, staged, dry_run=dry_run, as_json=as_json)


@prices.command("fetch")
@click.argument("address", type=LINE, required=False)
@kind_option
@supplier_option
@map_option
@dry_run_option
@json_option
@click.pass_context
def fetch_(
    ctx: click.Context,
    address: str | None,
    column_map: dict[str, str],
    *,
    kind: str | None,
    supplier: str,
    dry_run: bool,
    as_json: bool,
) -> None:
    """Take in a list from an address.

    The address (http or https) is kept; without one, all known addresses are fetched again.

    Only what changed is sent again. What cannot be fetched changes nothing (exit 1); of several addresses the others
    are still taken in.
    """
    from catalog.feeds import Unreachable  # noqa: PLC0415
    from triage.actions.prices import fetch  # noqa: PLC0415

    held = ctx.ensure_object(Globals)
    if address is None and (column_map or kind or supplier):
        raise click.UsageError("--as, --supplier and --map need an address", ctx)
    with held.open() as bench:
        try:
            found = fetch(bench, address, column_map, kind=kind, supplier=supplier)
        except Unreachable as error:
            raise click.ClickException(str(error)) from None
        for same in found.same:
            say(f"{same}: nothing new there")
        for line in (*found.failed, *found.refused):
            say(line)
        take_in(bench, found.stage, dry_run=dry_run, as_json=as_json)
    if found.failed or found.refused:
        ctx.exit(3 if found.refused else 1)


@prices.command()
@click.argument("address", type=LINE)
@click.pass_obj
def forget(held: Globals, address: str) -> None:
    """Fetch from an address no more.

    What was taken in from it stays.
    """
    from triage.actions.prices import forget_feed  # noqa: PLC0415

    with held.existing() as bench:
        say(f"{forget_feed(bench, address)} forgotten")


@prices.command("set")
@click.argument("supplier", type=LINE)
@click.argument("changes", nargs=-1, required=True, metavar="NAME=VALUE…")
@click.option("--new", is_flag=True, help="It is not known yet.")
@json_option
@click.pass_obj
def set_(held: Globals, supplier: str, changes: tuple[str, ...], *, new: bool, as_json: bool) -> None:
    """Change what a supplier asks and how long it takes.

    Names: those of a supplier list (currency, lead_days, lead_days_late, min_order, shipping, free_from,
    shipping_by_value, shipping_by_weight, small_order_fee, fee_below, tax, import_above, import_rate, import_fee). An
    empty value means that nothing of it is asked.
    """
    from triage.actions.suppliers import change_supplier  # noqa: PLC0415 - loaded when a bench file is wanted

    said = dict(pairs(changes, "supplier"))
    with held.open() as bench:
        changed = change_supplier(bench, supplier, said, new=new)
    if as_json:
        json_line(_supplier_form(changed))
    else:
        say(f"{changed.name}: {', '.join(said)} {'kept' if new else 'changed'}")


@prices.command("show")
@click.argument("supplier", type=LINE, required=False)
@json_option
@click.pass_obj
def show_(held: Globals, supplier: str | None, *, as_json: bool) -> None:
    """List suppliers, offers in force, known addresses."""
    from triage.actions.goods_in import waits_of  # noqa: PLC0415
    from triage.actions.prices import list_feeds, list_offers, list_suppliers  # noqa: PLC0415

    with held.existing() as bench:
        suppliers = list_suppliers(bench)
        if supplier is not None:
            suppliers = [one for one in suppliers if one.name.casefold() == supplier.casefold()]
            if not suppliers:
                raise Refused("there is no such supplier; `lotwright prices show` lists them", where=supplier[:60])
        offers = list_offers(bench, suppliers[0].id if supplier is not None else None)
        waits = waits_of(bench)
        addresses = [_address_form(one) for one in list_feeds(bench)] if supplier is None else []
    names = {one.id: (one.name, one.currency) for one in suppliers}
    senders = [_supplier_form(one) | _waits_form(waits[one.name]) for one in suppliers]
    forms = [_offer_form(offer, *names[offer.supplier]) for offer in offers]
    if as_json:
        json_line({"suppliers": senders, "offers": forms, "addresses": addresses})
        return
    _print(senders, forms)
    if addresses:
        show("")
        table(("address", "list", "last taken in"), [(one["address"], one["kind"], one["at"]) for one in addresses])


def _print(suppliers: list[dict[str, Any]], offers: list[dict[str, Any]]) -> None:
    from catalog.money import show as written  # noqa: PLC0415

    def money(form: dict[str, Any], name: str) -> str:
        return "" if form[name] is None else written(form[name], form["currency"], with_code=True)

    amounts = ("min_order_cents", "shipping_cents", "free_from_cents")
    table(
        ("supplier", "days", "late", "orders seen", "least order", "shipping", "free from"),
        [
            (
                one["supplier"],
                *(_wait(one["lead_days"], one["used_days"]), _wait(one["lead_days_late"], one["used_days_late"])),
                one["orders_seen"],
                *(money(one, name) for name in amounts),
            )
            for one in suppliers
        ],
        right=("days", "late", "orders seen", "least order", "shipping", "free from"),
    )
    for one in suppliers:
        if one["charges"]:
            show(f"{one['supplier']}: {'; '.join(f'{name} {text}' for name, text in one['charges'].items())}")
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


def _address_form(feed: Struct) -> dict[str, Any]:
    from msgspec.structs import asdict  # noqa: PLC0415

    held = asdict(feed)
    return {name: held[name] for name in ("address", "kind", "supplier", "at")}


def _supplier_form(supplier: Struct) -> dict[str, Any]:
    from msgspec.structs import asdict  # noqa: PLC0415

    from triage.actions.list_rows import told_charges  # noqa: PLC0415

    held = asdict(supplier)
    return {
        "supplier": held["name"],
        **{name: held[name] for name in ("currency", "lead_days", "lead_days_late")},
        **{f"{name}_cents": held[name] for name in ("min_order", "shipping", "free_from")},
        "charges": told_charges(held["charges"], held["currency"]),
    }


def _waits_form(waits: Waits) -> dict[str, Any]:
    """What is reckoned with in place of the stated days, from how many orders that came."""
    return {"used_days": waits.used[0], "used_days_late": waits.used[1], "orders_seen": waits.orders}


def _wait(stated: int, used: int) -> str:
    return str(stated) if stated == used else f"{used} (says {stated})"


def _offer_form(offer: Struct, supplier: str, currency: str) -> dict[str, Any]:
    from msgspec.structs import asdict  # noqa: PLC0415

    held = asdict(offer)
    stated = ("id", "sku", "part_number", "description", "kind", "left_over", "pack", "min_packs", "stock_packs")
    return {
        "supplier": supplier,
        "currency": currency,
        **{name: held[name] for name in (*stated, "discount")},
        "weight_grams": held["weight"] / 1000 if held["weight"] else None,
        "steps": [{"from": step.start, "price_cents": step.amount, "price_per": step.per} for step in held["steps"]],
    }
