"""What a list would change, told before it is taken in: new, dearer, cheaper, otherwise changed, gone.

Pure comparison of what stands with what the list says. A price is dearer when no quantity got cheaper and some got
dearer; where both happen the offer is `changed` and says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

import msgspec

from catalog.money import show
from catalog.sourcing_data import Priced, Step

NEW, DEARER, CHEAPER, CHANGED, GONE = "new", "dearer", "cheaper", "changed", "gone"
KINDS_OF_CHANGE = (NEW, DEARER, CHEAPER, CHANGED, GONE)
"""In the order they are told: counts first, then the lines."""

Key = tuple[str, str]
"""Supplier and the supplier's own number, in small letters."""


class Change(msgspec.Struct, frozen=True):
    """One thing that would not be as before; `note` says how, empty where the word says it all."""

    what: str
    name: str
    text: str
    note: str = ""


class Changes(msgspec.Struct, frozen=True):
    """All of it, in the order of `KINDS_OF_CHANGE`."""

    changes: tuple[Change, ...] = ()
    unchanged: int = 0

    def count(self, what: str) -> int:
        """How many changes of that kind."""
        return sum(change.what == what for change in self.changes)


def offer_changes(
    before: Iterable[tuple[str, Priced]], after: Iterable[tuple[str, Priced]], currencies: Mapping[str, str]
) -> Changes:
    """Compare (supplier, offer) pairs: those in force of the suppliers concerned, and those of the list.

    Args:
        before: what stands.
        after: what the list says.
        currencies: {supplier: currency} of every supplier in either.
    """
    old = {(who, offer.sku.casefold()): offer for who, offer in before}
    found, same = [], 0
    names = set[Key]()
    for who, offer in after:
        key = (who, offer.sku.casefold())
        names.add(key)
        change = _offer_change(who, old.get(key), offer, currencies[who])
        if change is None:
            same += 1
        else:
            found.append(change)
    for (who, sku), offer in old.items():
        if (who, sku) not in names:
            found.append(Change(GONE, f"{who} {offer.sku}", _named(offer)))
    return Changes(_in_order(found), same)


def row_changes(rows: Iterable[tuple[str, str, Mapping[str, str] | None, Mapping[str, str]]]) -> Changes:
    """Compare rows that are told field by field.

    Args:
        rows: (name, text, fields as they stand or None where it is new, fields as they would be).
    """
    found, same = [], 0
    for name, text, before, after in rows:
        if before is None:
            found.append(Change(NEW, name, text))
            continue
        differing = [
            f"{field} {before[field] or 'nothing'} → {value or 'nothing'}"
            for field, value in after.items()
            if before[field] != value
        ]
        if differing:
            found.append(Change(CHANGED, name, text, ", ".join(differing)))
        else:
            same += 1
    return Changes(_in_order(found), same)


def price_text(step: Step, currency: str) -> str:
    """The price of a step: `0.30 EUR`, or `1.80 EUR per 10`."""
    per = f" per {step.per}" if step.per > 1 else ""
    return show(step.amount, currency, with_code=True) + per


def _offer_change(who: str, old: Priced | None, new: Priced, currency: str) -> Change | None:
    name, text = f"{who} {new.sku}", _named(new)
    if old is None:
        return Change(NEW, name, text, price_text(new.steps[0], currency))
    what, note = _price_change(old, new, currency)
    notes = [note] if note else []
    for word, was, now in (
        ("number", old.part_number, new.part_number),
        ("described as", old.description, new.description),
        ("pack of", str(old.pack), str(new.pack)),
        ("at least", str(old.min_packs), str(new.min_packs)),
        ("in stock", _stock(old), _stock(new)),
        ("discount on", old.discount, new.discount),
    ):
        if was != now:
            notes.append(f"{word} {was or 'nothing'} → {now or 'nothing'}")
    return Change(what or CHANGED, name, text, ", ".join(notes)) if notes else None


def _price_change(old: Priced, new: Priced, currency: str) -> tuple[str, str]:
    """The word for it and how, both empty where every quantity costs the same."""
    smallest = new.pack * new.min_packs
    points = sorted({max(step.start, smallest) for offer in (old, new) for step in offer.steps})
    pairs = [(point, _step(old, point), _step(new, point)) for point in points]
    moved = [(point, was, now) for point, was, now in pairs if _each(was) != _each(now)]
    if not moved:
        return "", ""
    point, was, now = moved[0]
    part = f"{float(_each(now) / _each(was) - 1) * 100:+.0f} %" if was.amount else ""
    start = f"from {point} pieces " if point > smallest else ""
    note = f"{start}{price_text(was, currency)} → {price_text(now, currency)}" + (f" ({part})" if part else "")
    up = sum(_each(now) > _each(was) for _, was, now in moved)
    if 0 < up < len(moved):
        return CHANGED, f"{note}, the other way at other quantities"
    return (DEARER if up else CHEAPER), note


def _step(offer: Priced, pieces: int) -> Step:
    return [step for step in offer.steps if step.start <= pieces][-1]


def _each(step: Step) -> Fraction:
    return Fraction(step.amount, step.per)


def _stock(offer: Priced) -> str:
    return "plenty" if offer.stock_packs is None else str(offer.stock_packs)


def _named(offer: Priced) -> str:
    return offer.description or offer.part_number


def _in_order(found: list[Change]) -> tuple[Change, ...]:
    return tuple(sorted(found, key=lambda change: KINDS_OF_CHANGE.index(change.what)))
