"""Parts lists, supplier lists and price lists from CSV: staged first, accepted whole or not at all.

A row that cannot be trusted refuses its file, because half a price list is worse than none: the missing half would look
like parts nobody sells. Nothing is stored here; what was read is plain rows for whoever commits them.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Protocol

import msgspec

from catalog import money
from catalog.charge_cells import charges_of, weight_of
from catalog.charges import Charges
from catalog.columns import Record, Source, read_table
from catalog.spec import KINDS, PartSpec, Value
from catalog.staged import Cells, Desk, Progress, Staged, no_progress

MAX_COUNT = 1_000_000_000
MAX_DAYS = 730
DISCOUNTS = ("all_units", "incremental")


_NUMBER = re.compile(r"(?<!\S)(?=\S*\d)[A-Z][A-Z0-9./-]+(?=[,;]?(?:\s|$))")
"""A word that begins with a capital and has digits too: `12V` is a value, `SM-4K` a number."""


class Understood(Protocol):
    """What a reader of descriptions answers."""

    @property
    def status(self) -> str:
        """`ok` when exactly one reading stands, `nothing` when there is none at all."""

    @property
    def spec(self) -> PartSpec | None:
        """What is certain."""

    @property
    def left_over(self) -> Sequence[str]:
        """Words that were not understood."""


Reader = Callable[[str, str | None], Understood]
"""Description and kind (None when not stated) to what is understood of it."""


class PartRow(msgspec.Struct, frozen=True):
    """One part of the person's own. Quantity and cost (minor units of `currency`) are None when not stated."""

    line: int
    part_number: str
    description: str
    kind: str
    spec: PartSpec | None
    left_over: str
    quantity: int | None
    place: str
    unit_cost: int | None
    currency: str


class SupplierRow(msgspec.Struct, frozen=True):
    """One supplier. Amounts in minor units of `currency`, waits in days; None where the list states nothing."""

    line: int
    name: str
    currency: str
    lead_days: int
    lead_days_late: int | None
    min_order: int | None
    shipping: int | None
    free_from: int | None
    charges: Charges | None = None


class StepRow(msgspec.Struct, frozen=True):
    """From `start` pieces on, `amount` minor units for every `per` pieces."""

    start: int
    amount: int
    per: int


class OfferRow(msgspec.Struct, frozen=True):
    """One thing a supplier sells, with its price steps, the first from 1 piece; `stock_packs` None = plenty."""

    line: int
    supplier: str
    sku: str
    part_number: str
    description: str
    kind: str
    spec: PartSpec | None
    left_over: str
    pack: int
    min_packs: int
    stock_packs: int | None
    discount: str
    steps: tuple[StepRow, ...]
    weight: int = 0
    """Milligrams of one piece; 0 = not stated."""


class Description(msgspec.Struct, frozen=True):
    """A description as the catalogue keeps it. `left_over` is all of it when more than one reading stands, or none."""

    kind: str
    spec: PartSpec | None
    left_over: str


def described(text: str, part_number: str, kind: str, reader: Reader) -> Description:
    """What is kept of a description: its kind, what is certain of it, and what was not understood.

    A stated kind wins over the text. Of an ambiguous text the certain part is kept, and the whole text as left over.
    A part number alone is enough for the kind `listed`; one that stands in the text counts. A number is never taken
    for a value: `47R2` as a part number, or in a name that holds no word of the trade, stays a number.
    """
    if kind == "listed" and not part_number:
        part_number = number_in(text)
    if kind != "listed":
        reading = reader(text or part_number, kind or None)
        if part_number and not kind and _only_a_name(text, part_number, reading):
            return _listed(text, part_number)
        if reading.spec is not None and kind in ("", reading.spec.kind):
            spec = msgspec.structs.replace(reading.spec, part_number=part_number or reading.spec.part_number)
            return Description(spec.kind, spec, " ".join(reading.left_over) if reading.status == "ok" else text)
        if kind or reading.status != "nothing" or not part_number:
            return Description(kind, None, text)
    if not part_number:
        return Description("listed", None, text)
    return _listed(text, part_number)


def _listed(text: str, part_number: str) -> Description:
    spec = PartSpec("listed", {"part_number": Value(part_number)}, part_number=part_number)
    return Description("listed", spec, text)


def _only_a_name(text: str, part_number: str, reading: Understood) -> bool:
    """Whether the reading is no more than a number taken for a value; a type number or cell code is read by right."""
    held = reading.spec.attributes if reading.spec is not None else {}
    if reading.status == "nothing" or {"type_number", "code", "model_code", "part_number"} & set(held):
        return False
    from catalog.numbered import rests_on_a_name  # noqa: PLC0415 - the word lists are loaded when something is read

    return rests_on_a_name(text, part_number, reading.left_over)


def number_in(text: str) -> str:
    """The part number among the words of a text, such as `SM-4K` in “stick module SM-4K”; empty for none or several."""
    found = _NUMBER.findall(text)
    return found[0] if len(found) == 1 else ""


def read_parts(
    source: Source,
    reader: Reader,
    *,
    currency: str,
    column_map: Mapping[str, str] | None = None,
    name: str = "",
    progress: Progress = no_progress,
) -> Staged[PartRow]:
    """Read a parts list. A part number stands once; a part without one stands once for each place.

    A row that says word for word what an earlier one says counts once, here and in the other lists.

    Args:
        source: a file, or the text of one.
        reader: reads descriptions.
        currency: of costs that state none.
        column_map: {column as written: field}.
        name: what to call the source in messages.
        progress: told how far it is.

    Raises:
        Refused: the file as such cannot be read. Bad rows are in `problems`.
    """
    desk = Desk(read_table("parts", source, column_map, name=name))
    rows, seen = [], dict[tuple[str, str, str], Record]()
    for record in desk.records(progress):
        at = Cells(desk, record)
        number, text, place = at.text("part_number"), at.text("description"), at.text("place")
        kind = at.one_of("kind", KINDS, "")
        quantity = at.whole("quantity", 0, 0, MAX_COUNT) if at.text("quantity") else None
        own_currency = at.currency(currency)
        cost = at.amount("unit_cost", own_currency)
        if not number and not text:
            at.problem("description", "empty; a part needs a description or a part number")
            continue
        first = seen.setdefault(part_key(number, text, place), record)
        if first is not record and first.cells == record.cells:
            desk.repeat(record.line, first.line)
            continue
        if first is not record:
            at.problem(
                "part_number" if number else "description",
                f"line {first.line} says otherwise of “{(number or text)[:60]}”; put both into one row",
            )
        what = described(text, number, kind, reader)
        rows.append(
            PartRow(
                record.line, number, text, what.kind, what.spec, what.left_over, quantity, place, cost, own_currency
            )
        )
    return desk.staged(rows)


def part_key(part_number: str, description: str, place: str) -> tuple[str, str, str]:
    """What makes two rows the same part: the part number, or without one description and place."""
    if part_number:
        return (part_number.casefold(), "", "")
    return ("", description.casefold(), place.casefold())


def read_suppliers(
    source: Source,
    *,
    currency: str,
    known: Mapping[str, str] | None = None,
    column_map: Mapping[str, str] | None = None,
    name: str = "",
) -> Staged[SupplierRow]:
    """Read a supplier list. `known` is {name: currency} of those one has; else arguments as in `read_parts`."""
    desk = Desk(read_table("suppliers", source, column_map, name=name))
    currencies = {who.casefold(): held for who, held in (known or {}).items()}
    rows, seen = [], dict[str, Record]()
    for record in desk.table.records:
        at = Cells(desk, record)
        who = at.needed("supplier")
        first = seen.setdefault(who.casefold(), record) if who else record
        if first is not record and first.cells == record.cells:
            desk.repeat(record.line, first.line)
            continue
        own_currency = at.currency(currencies.get(who.casefold(), currency))
        lead = at.whole("lead_days", None, 0, MAX_DAYS)
        late = at.whole("lead_days_late", 0, 0, MAX_DAYS) if at.text("lead_days_late") else None
        if late is not None and late < lead:
            at.problem("lead_days_late", f"{late} is before the typical {lead}; the late day is the later one")
        if first is not record:
            at.problem("supplier", f"line {first.line} says otherwise of “{who[:60]}”; keep one of the two")
        rows.append(
            SupplierRow(
                record.line,
                who,
                own_currency,
                lead,
                late,
                at.amount("min_order", own_currency),
                at.amount("shipping", own_currency),
                at.amount("free_from", own_currency),
                charges_of(at, own_currency),
            )
        )
    return desk.staged(rows)


def read_offers(
    source: Source,
    reader: Reader,
    *,
    suppliers: Mapping[str, str],
    supplier: str = "",
    column_map: Mapping[str, str] | None = None,
    name: str = "",
    progress: Progress = no_progress,
) -> Staged[OfferRow]:
    """Read a price list, one row a price step; rows of the same supplier and sku are one offer.

    The first step begins at 1 piece or at the smallest order and is kept as from 1. A later row of an offer may leave
    empty what the first one states, and may not say otherwise. `stock` counts packs; empty means plenty.

    Args:
        source: a file, or the text of one.
        reader: reads descriptions.
        suppliers: {name: currency} of those that are known; prices are in that currency.
        supplier: whose list it is, where it has no column for that.
        column_map: {column as written: field}.
        name: what to call the source in messages.
        progress: told how far it is.
    """
    desk = Desk(read_table("offers", source, column_map, name=name, stated={"supplier": supplier}))
    known = {who.casefold(): who for who in suppliers}
    offers: dict[tuple[str, str], list[Cells]] = {}
    said: dict[tuple[str, str], dict[tuple[str, ...], int]] = {}  # lines by what they say, of offers of several rows
    for record in desk.records(progress):
        at = Cells(desk, record)
        who, sku = at.needed("supplier"), at.needed("sku")
        if who and who.casefold() not in known:
            at.problem("supplier", f"“{who[:60]}” is not known; import the suppliers first")
        elif who and sku:
            key = (known[who.casefold()], sku.casefold())
            if key not in offers:
                offers[key] = [at]
                continue
            lines = said.setdefault(key, {offers[key][0].stated: offers[key][0].line})
            earlier = lines.setdefault(at.stated, at.line)
            if earlier == at.line:
                offers[key].append(at)
            else:
                desk.repeat(at.line, earlier)
    rows = [_offer(who, steps, suppliers[who], reader) for (who, _), steps in offers.items()]
    return desk.staged(rows)


_SHARED = ("part_number", "description", "pack", "min_packs", "stock", "discount", "currency", "weight")


def _offer(who: str, steps: list[Cells], currency: str, reader: Reader) -> OfferRow:
    first = steps[0]
    for later in steps[1:]:
        for field in _SHARED:
            said = later.text(field)
            if said and said.casefold() != first.text(field).casefold():
                later.problem(field, f"line {first.line} says otherwise of the same offer; make them agree")
    number, text = first.text("part_number"), first.text("description")
    if not number and not text:
        first.problem("description", "empty; an offer needs a description or a part number")
    stated = first.currency(currency)
    if stated != currency:
        first.problem("currency", f"{stated} is not the supplier's {currency}; one supplier, one currency")
    pack = first.whole("pack", 1, 1, money.MAX_PER)
    min_packs = first.whole("min_packs", 1, 1, money.MAX_PER)
    stock = first.whole("stock", -1, 0, MAX_COUNT)
    what = described(text, number, "", reader)
    return OfferRow(
        first.line,
        who,
        first.text("sku"),
        number,
        text,
        what.kind,
        what.spec,
        what.left_over,
        pack,
        min_packs,
        None if stock < 0 else stock,
        first.one_of("discount", DISCOUNTS, DISCOUNTS[0]),
        tuple(_steps(steps, currency, pack * min_packs)),
        weight_of(first),
    )


def _steps(rows: list[Cells], currency: str, smallest: int) -> list[StepRow]:
    steps: list[StepRow] = []
    last = line = 0
    for at in rows:
        start = at.whole("from", 1, 1, MAX_COUNT)
        if steps and start == last:
            at.problem("from", f"line {line} states the price from {start} on already; keep one of the two")
        elif start < last:
            at.problem("from", f"{start} comes after {last}; the price steps of an offer go upwards")
        elif not steps and start > smallest:
            at.problem(
                "from", f"{start} is above the smallest order of {smallest}; the first step begins there or at 1"
            )
        last, line = start, at.line
        amount, per = at.price(currency)
        steps.append(StepRow(start if steps else 1, amount, per))
    return steps
