"""Finding for a person who types: what the text is read as, what was found with its price, and why it fits or not."""

from __future__ import annotations

from collections.abc import Callable

import msgspec

from catalog import store
from catalog.fit import Fit
from catalog.money import digits, show
from catalog.reading import Reading
from catalog.search import Entry, Hit
from catalog.text import clean_line
from triage.actions.judging import fit_texts, judge_by, read_description
from triage.actions.parts import QUERY_LIMIT, find_parts, list_parts
from triage.actions.promises import Promise, promises
from triage.bench_file import BenchFile


class Found(msgspec.Struct, frozen=True):
    """One thing found."""

    hit: Hit
    price: str
    """The first price step in words, such as "2.50 per 10", with its currency where that is not the person's; empty
    for a part."""
    promised: tuple[Promise, ...] = ()
    """To whom pieces of a drawer part are promised."""


class Search(msgspec.Struct, frozen=True):
    """A query with what it is read as and what was found, best first."""

    query: str
    kind: str | None
    reading: Reading | None
    """None while nothing is typed; `found` is then the whole drawer."""
    found: tuple[Found, ...]


def search(
    bench: BenchFile,
    text: str,
    *,
    kind: str | None = None,
    limit: int = 200,
    cancelled: Callable[[], bool] = lambda: False,
) -> Search:
    """Read what was typed and find what fits it; `kind` if the wanted kind is known.

    When cancelled, `found` is empty.
    """
    query = clean_line(text, QUERY_LIMIT)
    promised = promises(bench)
    if not query:
        mine = tuple(Found(_held(part), "", promised.get(part.id, ())) for part in list_parts(bench))
        return Search(text, kind, None, mine)
    hits = find_parts(bench, query, limit, cancelled=cancelled)
    prices = _prices(bench) if any(hit.entry.source == "offer" for hit in hits) else {}
    found = tuple(
        Found(hit, prices.get(hit.entry.id, ""))
        if hit.entry.source == "offer"
        else Found(hit, "", promised.get(hit.entry.id, ()))
        for hit in hits
    )
    return Search(text, kind, read_description(query, kind), found)


def why_it_fits(bench: BenchFile, text: str, kind: str | None, entry: Entry) -> Fit | None:
    """The verdict on one thing found for what was typed; None where nothing was typed."""
    query = clean_line(text, QUERY_LIMIT)
    if not query:
        return None
    wanted = read_description(query, kind)
    if wanted.status == "ok" and wanted.spec is not None and entry.spec is not None:
        return judge_by(bench)(wanted.spec, entry.spec)
    return fit_texts(bench, query, entry.description or entry.part_number)


def _held(part: store.Part) -> Hit:
    entry = Entry(
        "part",
        part.id,
        part.part_number,
        part.description,
        part.kind,
        part.spec,
        part.left_over,
        part.quantity,
        part.place,
        "",
        part.search,
    )
    return Hit(entry, None, "", 0.0, same_number=False)


def _prices(bench: BenchFile) -> dict[int, str]:
    """First price step of every offer in force, kept as long as nobody writes to the file."""
    version = bench.database.conn.execute("PRAGMA data_version").fetchone()[0]
    state = (version, bench.database.conn.total_changes)
    held: tuple[object, dict[int, str]] | None = bench.cache.get("first_prices")
    if held is None or held[0] != state:
        currencies = {supplier.id: supplier.currency for supplier in store.suppliers(bench.database)}
        own = bench.currency
        said = {offer.id: _price(offer, currencies[offer.supplier], own) for offer in store.offers(bench.database)}
        held = (state, said)
        bench.cache["first_prices"] = held
    return held[1]


def _price(offer: store.Offer, currency: str, own: str) -> str:
    if not offer.steps:
        return ""
    step = min(offer.steps, key=lambda one: one.start)
    code = "" if currency == own else f" {currency}"
    if step.per == 1:
        return show(step.amount, currency) + code
    return f"{step.amount / 10 ** digits(currency):g} per {step.per}{code}"
