"""What leaves the program on paper or as a file: the order, as CSV for each supplier and as one Markdown sheet.

Pure: text in the order of the plan, nothing computed that the plan did not say.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

import msgspec

from catalog.columns import write_table
from catalog.money import show


class SheetLine(msgspec.Struct, frozen=True):
    """One order line. `price` is the unit price as the supplier states it, in words."""

    sku: str
    part_number: str
    description: str
    packs: int
    pack: int
    price: str
    line_total: int
    units: tuple[int, ...]
    grade: str
    spare: int = 0
    whom: str = ""
    """The units, those that only wish for it, and spares, in words."""


class OrderSheet(msgspec.Struct, frozen=True):
    """What is ordered from one supplier. Money in minor units of `currency`."""

    supplier: str
    currency: str
    lines: tuple[SheetLine, ...]
    goods: int
    shipping: int
    due: str
    """The typical day of arrival, ISO."""
    due_late: str
    charges: int = 0
    """Fee for a small order, tax and import charge."""
    to_free: int | None = None
    """How much more of goods would make the postage free; None when it is free or never is."""

    @property
    def total(self) -> int:
        """What is to be paid to or for this supplier."""
        return self.goods + self.shipping + self.charges


def order_csv(sheet: OrderSheet) -> str:
    """One supplier's order as CSV, one line an offer; the columns are those of a list of kind `order`."""
    return write_table(
        "order",
        (
            {
                "supplier": sheet.supplier,
                "sku": line.sku,
                "description": line.description or line.part_number,
                "packs": str(line.packs),
                "pack": str(line.pack),
                "price": line.price,
                "line_total": show(line.line_total, sheet.currency),
                "currency": sheet.currency,
                "units": " ".join(map(str, line.units)),
                "grade": line.grade,
            }
            for line in sheet.lines
        ),
    )


def order_markdown(lot_name: str, day: str, sheets: Sequence[OrderSheet]) -> str:
    """All suppliers on one sheet to read, print or tick off."""
    out = [f"# Parts order for {_plain(lot_name)}", "", f"Drawn up {day}.", ""]
    for sheet in sheets:
        out += [
            f"## {_plain(sheet.supplier)}",
            "",
            "| | packs | of | what | number | each | line | for units |",
            "|---|---:|---:|---|---|---:|---:|---|",
        ]
        for line in sheet.lines:
            what = _plain(line.description or line.part_number)
            if line.grade not in {"exact", ""}:
                what += f" ({line.grade})"
            if line.spare:
                what += f", {line.spare} spare"
            units = line.whom or ", ".join(map(str, line.units)) or "to reach a threshold"
            total = show(line.line_total, sheet.currency)
            cells = (line.packs, line.pack, what, _plain(line.sku), _plain(line.price), total, units)
            out.append("| ☐ | " + " | ".join(map(str, cells)) + " |")
        goods, shipping = show(sheet.goods, sheet.currency), show(sheet.shipping, sheet.currency)
        total = show(sheet.total, sheet.currency, with_code=True)
        more = f", fees and tax {show(sheet.charges, sheet.currency)}" if sheet.charges else ""
        out += ["", f"Goods {goods}, postage {shipping}{more}, together {total}.", ""]
        late = f", at the latest {sheet.due_late}" if sheet.due_late != sheet.due else ""
        out += [f"Expected {sheet.due}{late}.", ""]
    if len(sheets) > 1:
        currencies = {sheet.currency for sheet in sheets}
        if len(currencies) == 1:
            together = sum(sheet.total for sheet in sheets)
            out += [f"All orders together: {show(together, currencies.pop(), with_code=True)}.", ""]
    return "\n".join(out)


def file_stem(supplier: str) -> str:
    """A file name made of a supplier's name: letters, digits and dashes only."""
    stem = re.sub(r"[^\w]+", "-", supplier, flags=re.UNICODE).strip("-").lower()
    return (stem or "supplier")[:60]


def _plain(text: str) -> str:
    """Text that Markdown shows as it is."""
    return re.sub(r"([\\`*_{}\[\]<>#|!~])", r"\\\1", text)
