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
    their_total: int | None = None
    """The line in minor units of the supplier's currency, where that is another one."""


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
    theirs: str = ""
    """The supplier's currency, where it is another one; prices are stated in it."""
    their_total: int = 0
    """Goods and postage in it: exact for the goods, the postage by the rate."""
    rate: str = ""
    """The rate all of it was reckoned with and its day, in words."""

    @property
    def their_goods(self) -> int:
        """The goods in the supplier's currency; 0 where that is one's own."""
        return sum(line.their_total or 0 for line in self.lines)

    @property
    def total(self) -> int:
        """What is to be paid to or for this supplier."""
        return self.goods + self.shipping + self.charges


def order_csv(sheet: OrderSheet) -> str:
    """One supplier's order as CSV, one line an offer; the columns are those of a list of kind `order`.

    Price and line are both in the currency that the line names: the supplier's own.
    """
    return write_table(
        "order",
        (
            {
                "supplier": sheet.supplier,
                "sku": line.sku,
                "description": line.description or line.part_number,
                "packs": str(line.packs),
                "pack": str(line.pack),
                "price": line.price.removesuffix(f" {sheet.theirs}"),
                "line_total": show(line.line_total, sheet.currency)
                if line.their_total is None
                else show(line.their_total, sheet.theirs),
                "currency": sheet.theirs or sheet.currency,
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
            if line.their_total is not None:
                total += f" ({show(line.their_total, sheet.theirs, with_code=True)})"
            cells = (line.packs, line.pack, what, _plain(line.sku), _plain(line.price), total, units)
            out.append("| ☐ | " + " | ".join(map(str, cells)) + " |")
        goods, shipping = show(sheet.goods, sheet.currency), show(sheet.shipping, sheet.currency)
        total = show(sheet.total, sheet.currency, with_code=True)
        more = f", fees and tax {show(sheet.charges, sheet.currency)}" if sheet.charges else ""
        out += ["", f"Goods {goods}, postage {shipping}{more}, together {total}.", ""]
        if sheet.theirs:
            theirs, both = (show(sum_, sheet.theirs, with_code=True) for sum_ in (sheet.their_goods, sheet.their_total))
            out += [f"In the supplier's currency: goods {theirs}, with postage about {both} ({sheet.rate}).", ""]
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
