"""Charges as a supplier list states them: steps such as `0: 4.95; 20: 2.95`, rates in percent, weights in grams."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, TypeVar

from catalog import money
from catalog.charges import Charges, Step
from catalog.text import Refused

if TYPE_CHECKING:
    from collections.abc import Callable

    from catalog.staged import Cells

FIELDS = (
    "shipping_by_value",
    "shipping_by_weight",
    "small_order_fee",
    "fee_below",
    "tax",
    "import_above",
    "import_rate",
    "import_fee",
)
"""The columns of a supplier list that are about charges."""

MOST_GRAMS = 1_000_000

Read = TypeVar("Read")


def charges_of(at: Cells, currency: str) -> Charges | None:
    """The charges that a row states, None where it states none of them. They hold as a whole."""
    if not any(at.text(field) for field in FIELDS):
        return None
    none: tuple[Step, ...] = ()
    try:
        return Charges(
            by_value=_read(at, "shipping_by_value", lambda text: steps(text, currency, weight=False), none),
            by_weight=_read(at, "shipping_by_weight", lambda text: steps(text, currency, weight=True), none),
            fee=at.amount("small_order_fee", currency) or 0,
            fee_below=at.amount("fee_below", currency) or 0,
            tax=_read(at, "tax", hundredths, 0),
            import_above=at.amount("import_above", currency),
            import_rate=_read(at, "import_rate", hundredths, 0),
            import_fee=at.amount("import_fee", currency) or 0,
        )
    except ValueError as error:
        at.problem("shipping_by_weight" if str(error).startswith("by_weight") else "shipping_by_value", str(error))
        return None


def weight_of(at: Cells) -> int:
    """Milligrams of one piece, from grams; 0 where nothing is stated."""
    return _read(at, "weight", milligrams, 0)


def hundredths(text: str) -> int:
    """A percentage as hundredths of a percent; raises `Refused`."""
    rate = money.figure(text.removesuffix("%").strip())
    exact = Decimal(rate) * 100
    if not 0 <= exact <= 100_000 or exact != int(exact):
        raise Refused(f"expected a percentage from 0 to 1000 with at most 2 digits after the point, not “{text[:40]}”")
    return int(exact)


def milligrams(text: str) -> int:
    """Grams as milligrams; raises `Refused`."""
    exact = Decimal(money.figure(text.removesuffix("g").strip())) * 1000
    if not 0 <= exact <= MOST_GRAMS * 1000 or exact != int(exact):
        raise Refused(f"expected grams with at most 3 digits after the point, not “{text[:40]}”")
    return int(exact)


def steps_text(steps: tuple[Step, ...], currency: str, *, weight: bool) -> str:
    """Steps as a list states them."""
    places = Decimal(1000)
    return "; ".join(
        f"{step.start / places:g}: {money.show(step.amount, currency)}"
        if weight
        else f"{money.show(step.start, currency)}: {money.show(step.amount, currency)}"
        for step in steps
    )


def percent(rate: int) -> str:
    """A rate as a list states it."""
    return f"{Decimal(rate) / 100:g}"


def steps(text: str, currency: str, *, weight: bool) -> tuple[Step, ...]:
    """Steps as `steps_text` writes them, amounts in minor units, weights in milligrams; raises `Refused`."""
    found = []
    for word in filter(None, map(str.strip, text.split(";"))):
        start, sign, amount = (part.strip() for part in word.partition(":"))
        if not sign or not start or not amount:
            raise Refused(f"“{word[:40]}” is no step; write such as 0: 4.95; 20: 2.95")
        found.append(Step(milligrams(start) if weight else money.minor(start, currency), money.minor(amount, currency)))
    return tuple(found)


def _read(at: Cells, field: str, read: Callable[[str], Read], default: Read) -> Read:
    text = at.text(field)
    try:
        return read(text) if text else default
    except Refused as refused:
        at.problem(field, refused.problem)
        return default
