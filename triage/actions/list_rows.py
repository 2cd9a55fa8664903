"""Rows of a list laid over what the bench file holds: the part, supplier or offer as it would be.

What a list leaves out, or leaves empty, stays as the person had it.
"""

from __future__ import annotations

from collections.abc import Iterable

import msgspec

from catalog import money, store
from catalog.charge_cells import percent, steps_text
from catalog.charges import NO_CHARGES, Charges
from catalog.pricelists import Description, OfferRow, PartRow, SupplierRow, described
from catalog.search import search_form
from triage.actions.judging import read_description


class Imported(msgspec.Struct, frozen=True):
    """What taking in a list did. `unread` counts descriptions that no single reading stands for."""

    kind: str
    source: str
    added: int
    changed: int
    unchanged: int
    unread: int
    dearer: int = 0
    cheaper: int = 0
    gone: int = 0

    @property
    def summary(self) -> str:
        """One line for the person and the journal."""
        counts = [
            f"{self.added} added",
            f"{self.dearer} dearer",
            f"{self.cheaper} cheaper",
            f"{self.changed} changed",
            f"{self.gone} gone",
            f"{self.unchanged} as before",
        ]
        said = ", ".join(count for count in counts if not count.startswith("0 ")) or "nothing in it"
        unread = f"; {self.unread} not understood" if self.unread else ""
        return f"{self.kind} from {self.source}: {said}{unread}"


def searchable(part_number: str, description: str, kind: str, sku: str = "") -> str:
    """What a part or offer is to be found by."""
    words = (part_number, sku if sku.casefold() != part_number.casefold() else "", description)
    plain = " ".join(word for word in words if word)
    return search_form(plain if kind in plain.casefold() else f"{plain} {kind}")


def unread(held: Iterable[store.Part | store.Offer]) -> list[str]:
    """The descriptions no single reading stands for; a `listed` part needs none."""
    return [
        one.description or one.part_number
        for one in held
        if one.spec is None or (one.kind != "listed" and bool(one.left_over) and one.left_over == one.description)
    ]


def merged_part(row: PartRow, held: store.Part | None) -> store.Part:
    """The part as it is after the row: what the row states, over what was held."""
    if held is None:
        held = store.Part(0, "", "", "", None, "", 0, "", None, row.currency, "")
    number, text = held.part_number or row.part_number, row.description or held.description
    what = Description(row.kind, row.spec, row.left_over)
    if text != row.description or (held.kind and not row.kind):
        what = described(text, number, row.kind or held.kind, read_description)
    costs = row.unit_cost is not None
    return store.Part(
        held.id,
        number,
        text,
        what.kind,
        what.spec,
        what.left_over,
        held.quantity if row.quantity is None else row.quantity,
        row.place or held.place,
        row.unit_cost if costs else held.unit_cost,
        row.currency if costs or not held.currency else held.currency,
        searchable(number, text, what.kind),
    )


def merged_supplier(row: SupplierRow, held: store.Supplier | None) -> store.Supplier:
    """The supplier as it is after the row.

    In another currency nothing that is an amount can stay, and neither can the price list.
    """
    kept = held if held is not None and held.currency == row.currency else None
    late = row.lead_days_late if row.lead_days_late is not None else held.lead_days_late if held else row.lead_days
    return store.Supplier(
        held.id if held else 0,
        held.name if held else row.name,
        row.currency,
        row.lead_days,
        max(late, row.lead_days),
        row.min_order if row.min_order is not None else kept.min_order if kept else 0,
        row.shipping if row.shipping is not None else kept.shipping if kept else 0,
        row.free_from if row.free_from is not None else kept.free_from if kept else None,
        kept.price_batch if kept else None,
        row.charges if row.charges is not None else kept.charges if kept else NO_CHARGES,
    )


def new_offer(row: OfferRow) -> store.Offer:
    """The offer, not yet of a numbered supplier."""
    return store.Offer(
        0,
        0,
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
        row.weight,
    )


def told_part(part: store.Part) -> dict[str, str]:
    """The fields of a part that a list can state, for telling what changes."""
    cost = "" if part.unit_cost is None else money.show(part.unit_cost, part.currency, with_code=True)
    return {
        "described as": part.description,
        "kind": part.kind,
        "pieces": str(part.quantity),
        "place": part.place,
        "cost": cost,
    }


def told_supplier(supplier: store.Supplier) -> dict[str, str]:
    """The fields of a supplier that a list can state, for telling what changes."""

    def amount(value: int | None) -> str:
        return "" if value is None else money.show(value, supplier.currency, with_code=True)

    return {
        "currency": supplier.currency,
        "days": str(supplier.lead_days),
        "late days": str(supplier.lead_days_late),
        "least order": amount(supplier.min_order),
        "shipping": amount(supplier.shipping),
        "free from": amount(supplier.free_from),
        **told_charges(supplier.charges, supplier.currency),
        "price list": "in force" if supplier.price_batch is not None else "",
    }


def told_charges(charges: Charges, currency: str) -> dict[str, str]:
    """The charges beyond flat postage in words, only those that there are."""

    def amount(value: int) -> str:
        return money.show(value, currency, with_code=True)

    told = {
        "shipping by value": steps_text(charges.by_value, currency, weight=False),
        "shipping by weight": steps_text(charges.by_weight, currency, weight=True),
        "small orders": f"{amount(charges.fee)} below {amount(charges.fee_below)}" if charges.fee else "",
        "tax": f"{percent(charges.tax)} %" if charges.tax else "",
    }
    if charges.import_above is not None:
        fee = f" and {amount(charges.import_fee)}" if charges.import_fee else ""
        told["import"] = f"{percent(charges.import_rate)} %{fee} above {amount(charges.import_above)}"
    return {name: text for name, text in told.items() if text}
