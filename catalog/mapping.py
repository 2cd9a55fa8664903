"""A header that is not ours: what its columns may hold, guessed for the person to say yes or no to, never assumed.

The guess compares each title with words that people write over such columns; a fingerprint tells the same header
again, whatever the order of its columns, so that it is asked about once.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from itertools import islice

import msgspec
from rapidfuzz import fuzz

from catalog.columns import FIELDS, IGNORED, NEEDED, Source, header_of, plain_title
from catalog.text import clean_line

KINDS_OF_LIST = ("parts", "suppliers", "offers")
SAMPLES = 3
_LIKELY = 78.0
"""A guess below this likeness (of 100) is none (our choice, from memory)."""

WORDS: Mapping[str, tuple[str, ...]] = {
    "part_number": ("part number", "part no", "manufacturer part", "mpn", "type", "typ", "teilenummer", "référence"),
    "description": (
        "description",
        "article",
        "artikel",
        "name",
        "item",
        "text",
        "bezeichnung",
        "beschreibung",
        "désignation",
    ),
    "kind": ("kind", "category", "group", "art", "gruppe", "kategorie"),
    "quantity": ("quantity", "qty", "pieces", "count", "on hand", "menge", "anzahl", "stück", "bestand", "quantité"),
    "place": ("place", "location", "box", "drawer", "bin", "lagerort", "lagerplatz", "fach", "ort", "schublade"),
    "unit_cost": ("unit cost", "cost", "paid", "purchase price", "einkaufspreis", "kosten"),
    "currency": ("currency", "währung", "waehrung", "devise"),
    "supplier": ("supplier", "seller", "vendor", "shop", "lieferant", "händler", "anbieter", "fournisseur"),
    "lead_days": ("lead days", "lead time", "delivery days", "lieferzeit", "tage", "délai"),
    "lead_days_late": ("latest days", "late days", "slow delivery", "lieferzeit spätestens"),
    "min_order": ("minimum order", "least order value", "mindestbestellwert", "minimum"),
    "shipping": ("shipping", "postage", "delivery cost", "versand", "versandkosten", "porto", "frais de port"),
    "free_from": ("free from", "free shipping from", "versandfrei ab", "franco"),
    "shipping_by_value": ("shipping by value", "postage by value"),
    "shipping_by_weight": ("shipping by weight", "postage by weight"),
    "small_order_fee": ("small order fee", "surcharge", "mindermengenzuschlag"),
    "fee_below": ("fee below", "surcharge below"),
    "tax": ("tax", "vat", "mwst", "tva"),
    "import_above": ("import above", "duty above"),
    "import_rate": ("import rate", "duty"),
    "import_fee": ("import fee", "handling fee"),
    "weight": ("weight", "grams", "gewicht", "poids"),
    "sku": ("sku", "order number", "order code", "article number", "item number", "bestellnummer", "artikelnummer"),
    "pack": ("pack", "pack size", "per pack", "packaging unit", "verpackungseinheit", "ve", "packung"),
    "min_packs": ("minimum packs", "minimum quantity", "mindestmenge", "moq"),
    "stock": ("stock", "available", "availability", "in stock", "lagerbestand", "verfügbar", "lager"),
    "from": ("from", "from quantity", "price break", "ab menge", "ab", "staffel"),
    "price": ("price", "net price", "unit price", "preis", "einzelpreis", "nettopreis", "prix"),
    "price_per": ("price per", "price unit", "per pieces", "preiseinheit", "preis pro"),
    "discount": ("discount", "rabatt", "rabattart"),
}
"""Common practice: what stands over such columns in English, German and French."""


class Title(msgspec.Struct, frozen=True):
    """One column of a header: its title, and the first things that stand below it."""

    text: str
    samples: tuple[str, ...]


def titles(source: Source, *, name: str = "") -> tuple[Title, ...]:
    """The columns of a list that have a title, each title once.

    Raises:
        Refused: it cannot be read as CSV.
    """
    header, rows = header_of(source, name=name)
    first = list(islice(rows, 200))
    found: dict[str, Title] = {}
    for place, title in enumerate(header):
        text = clean_line(title)
        cells = (clean_line(row[place], 60) for row in first if place < len(row))
        below = tuple(islice(dict.fromkeys(cell for cell in cells if cell), SAMPLES))
        if text:
            found.setdefault(plain_title(text), Title(text, below))
    return tuple(found.values())


def fingerprint(found: tuple[Title, ...]) -> str:
    """The same for the same titles in any order and letter case."""
    plain = sorted(plain_title(title.text) for title in found)
    return hashlib.sha256(json.dumps(plain).encode()).hexdigest()


def guess(kind: str, found: tuple[Title, ...]) -> dict[str, str]:
    """{field: title} as far as the titles sound like it; a canonical title is certain and comes first."""
    plain = {plain_title(title.text): title.text for title in found}
    sure = {field: plain[field] for field in FIELDS[kind] if field in plain}
    likeness = sorted(
        (
            (-_likeness(title.text, field), place, order, field, title.text)
            for place, field in enumerate(FIELDS[kind])
            for order, title in enumerate(found)
            if field not in sure and title.text not in sure.values()
        ),
    )
    chosen = dict(sure)
    for near, _, _, field, title in likeness:
        if -near >= _LIKELY and field not in chosen and title not in chosen.values():
            chosen[field] = title
    return {field: chosen[field] for field in FIELDS[kind] if field in chosen}


def likeliest(found: tuple[Title, ...]) -> str:
    """The kind of list whose needed columns the titles sound like most."""

    def fitness(kind: str) -> int:
        guessed = guess(kind, found)
        # a price list of one supplier seldom names it
        return len(guessed) - 2 * sum(group != "supplier" for group in missing(kind, guessed))

    return max(KINDS_OF_LIST, key=fitness)


def column_map(found: tuple[Title, ...], chosen: Mapping[str, str]) -> dict[str, str]:
    """{title: field, or `-`} for every column, from {field: title}."""
    fields = {title: field for field, title in chosen.items()}
    return {title.text: fields.get(title.text, IGNORED) for title in found}


def missing(kind: str, chosen: Mapping[str, str]) -> tuple[str, ...]:
    """What a list of this kind needs and nobody chose a column for, such as “description or part_number”."""
    return tuple(" or ".join(group) for group in NEEDED[kind] if not set(group) & set(chosen))


def _likeness(title: str, field: str) -> float:
    plain = plain_title(title).replace("_", " ")
    return max(fuzz.ratio(plain, word) if len(word) < 5 else fuzz.token_set_ratio(plain, word) for word in WORDS[field])
