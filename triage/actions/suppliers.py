"""One supplier by hand: waits, postage, thresholds, fees and taxes, in the words of a supplier list."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeVar

import msgspec

from catalog import money
from catalog import store as catalog_store
from catalog.charge_cells import hundredths, percent, steps, steps_text
from catalog.charges import Charges
from catalog.pricelists import MAX_DAYS
from catalog.store import Supplier
from catalog.text import Refused, clean_line
from triage.bench_file import BenchFile, in_one_transaction

FIELDS: dict[str, str] = {
    "currency": "currency of its prices",
    "lead_days": "days it usually takes",
    "lead_days_late": "days of the slowest in ten",
    "min_order": "smallest order",
    "shipping": "postage",
    "free_from": "postage free from",
    "shipping_by_value": "or postage by value",
    "shipping_by_weight": "or postage by grams",
    "small_order_fee": "fee for a small order",
    "fee_below": "asked below",
    "tax": "tax on top, percent",
    "import_above": "import charge above",
    "import_rate": "import charge, percent",
    "import_fee": "and an import fee of",
}
"""What can be said of a supplier, and its words; the names are the columns of a supplier list."""

Read = TypeVar("Read")


def supplier_texts(held: Supplier) -> dict[str, str]:
    """What is known of a supplier, in the words in which it may be typed again."""

    def amount(value: int | None) -> str:
        return "" if not value else money.show(value, held.currency)

    more = held.charges
    importing = more.import_above is not None
    return {
        "currency": held.currency,
        "lead_days": str(held.lead_days),
        "lead_days_late": str(held.lead_days_late),
        "min_order": amount(held.min_order),
        "shipping": amount(held.shipping),
        "free_from": "" if held.free_from is None else money.show(held.free_from, held.currency),
        "shipping_by_value": steps_text(more.by_value, held.currency, weight=False),
        "shipping_by_weight": steps_text(more.by_weight, held.currency, weight=True),
        "small_order_fee": amount(more.fee),
        "fee_below": amount(more.fee_below),
        "tax": percent(more.tax) if more.tax else "",
        "import_above": money.show(more.import_above or 0, held.currency) if importing else "",
        "import_rate": percent(more.import_rate) if more.import_rate else "",
        "import_fee": amount(more.import_fee),
    }


def find_supplier(bench: BenchFile, name: str) -> Supplier:
    """The supplier of that name, whatever its capitals.

    Raises:
        Refused: there is none.
    """
    for each in catalog_store.suppliers(bench.database):
        if each.name.casefold() == name.casefold():
            return each
    raise Refused("there is no such supplier; `lotwright prices show` lists them", where=name[:60])


@in_one_transaction
def change_supplier(bench: BenchFile, name: str, said: Mapping[str, str], *, new: bool = False) -> Supplier:
    """Change what is known of a supplier, or say a new one.

    Args:
        bench: the open bench file.
        name: its name.
        said: {field of `FIELDS`: as typed}; an empty text means that nothing of it is asked. What is not said stays.
        new: whether it is one that is not known yet.

    Raises:
        Refused: no such supplier or field, it is known already, a text that is not understood, or another currency
            while its price list is in force. Nothing was changed.
    """
    words = clean_line(name, 60)
    held = _new(bench, words) if new else find_supplier(bench, words)
    where = held.name
    unknown = [field for field in said if field not in FIELDS]
    if unknown:
        raise Refused(f"expected one of {', '.join(FIELDS)}", where=f"{where}.{unknown[0]}")
    texts = {**supplier_texts(held), **{field: clean_line(text) for field, text in said.items()}}
    if "lead_days_late" not in said and held.lead_days_late == held.lead_days:
        texts["lead_days_late"] = ""  # as many as the usual ones, whatever those are
    changed = _read(held, texts, where)
    if changed.currency != held.currency and held.price_batch is not None:
        problem = f"its price list is in {held.currency}; take in a list in {changed.currency} instead"
        raise Refused(problem, where=f"{where}.currency")
    summary = clean_line(f"{held.name}: {', '.join(FIELDS[field] for field in said)} changed", 200)
    with bench.journal.event("supplier", summary, at=bench.now()) as recorder:
        return msgspec.structs.replace(changed, id=catalog_store.save_supplier(recorder, changed))


def _new(bench: BenchFile, name: str) -> Supplier:
    if not name:
        raise Refused("say who sells", where="supplier")
    if any(each.name.casefold() == name.casefold() for each in catalog_store.suppliers(bench.database)):
        raise Refused("it is known already; change it instead", where=name)
    return Supplier(0, name, bench.currency, 0, 0, 0, 0, None, None)


def _read(held: Supplier, texts: Mapping[str, str], where: str) -> Supplier:
    def read(field: str, reader: Callable[[str], Read], empty: Read) -> Read:
        try:
            return reader(texts[field]) if texts[field] else empty
        except Refused as refused:
            raise Refused(refused.problem, where=f"{where}.{field}") from None

    currency = read("currency", money.code, held.currency)

    def amount(field: str) -> int:
        return read(field, lambda text: money.minor(text, currency), 0)

    def limit(field: str) -> int | None:
        return read(field, lambda text: money.minor(text, currency), None)

    typical = read("lead_days", _days, 0)
    late = read("lead_days_late", _days, typical)
    if late < typical:
        raise Refused(f"the slowest in ten cannot take less than the usual {typical}", where=f"{where}.lead_days_late")
    try:
        charges = Charges(
            by_value=read("shipping_by_value", lambda text: steps(text, currency, weight=False), ()),
            by_weight=read("shipping_by_weight", lambda text: steps(text, currency, weight=True), ()),
            fee=amount("small_order_fee"),
            fee_below=amount("fee_below"),
            tax=read("tax", hundredths, 0),
            import_above=limit("import_above"),
            import_rate=read("import_rate", hundredths, 0),
            import_fee=amount("import_fee"),
        )
    except Refused:
        raise
    except ValueError as error:
        field, _, problem = str(error).partition(": ")
        raise Refused(problem or field, where=f"{where}.shipping_{field}" if problem else where) from None
    return msgspec.structs.replace(
        held,
        currency=currency,
        lead_days=typical,
        lead_days_late=late,
        min_order=amount("min_order"),
        shipping=amount("shipping"),
        free_from=limit("free_from"),
        charges=charges,
    )


def _days(text: str) -> int:
    if not (text.isascii() and text.isdigit() and int(text) <= MAX_DAYS):
        raise Refused(f"expected whole days from 0 to {MAX_DAYS}, not “{text[:40]}”")
    return int(text)
