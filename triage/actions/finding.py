"""Finding for a person who types: what the text is read as, what was found with its price, and why it fits or not."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import overload

import msgspec

from catalog import find_store, store
from catalog.fit import Fit
from catalog.fit_texts import fit_sides
from catalog.money import digits, show
from catalog.reading import Reading
from catalog.search import Entry, Hit
from catalog.text import clean_line
from triage.actions.as_written import entry_side, query_side
from triage.actions.findable import QUERY_LIMIT, Making, by_words, entry_of, find_parts, making
from triage.actions.judging import fit_texts, judge_by, read_description
from triage.actions.own_words import OwnWords, own_words, with_also
from triage.actions.pieces import not_good
from triage.actions.promises import Promise, promises
from triage.bench_file import BenchFile

_PAGE, _PAGES = 100, 50
_GONE = store.Part(0, "", "not there any more", "", None, "", 0, "", None, "", "")


class Found(msgspec.Struct, frozen=True):
    """One thing found."""

    hit: Hit
    price: str
    """The first price step in words, such as "2.50 per 10", with its currency where that is not the person's; empty
    for a part."""
    promised: tuple[Promise, ...] = ()
    """To whom pieces of a drawer part are promised."""

    @property
    def bad(self) -> str:
        """What says that the pieces are not good; empty where nothing does."""
        return self.hit.bad


class Search(msgspec.Struct, frozen=True):
    """A query with what it is read as and what was found, best first."""

    query: str
    kind: str | None
    reading: Reading | None
    """None while nothing is typed; `found` is then the whole drawer, a `Drawer`."""
    found: Sequence[Found]
    promised: bool = False
    """Whether pieces of anything found are promised."""
    making: Making | None = None
    """While the index is being made: how far it is. What is found then holds every word as it is typed."""


class Drawer(Sequence[Found]):
    """Every part, oldest first, read from the file as it is looked at: a screenful costs the same however many."""

    def __init__(self, numbers: Sequence[int], promised: Mapping[int, tuple[Promise, ...]]) -> None:
        """Hold the numbers of the parts, and what of them is promised."""
        self._numbers = numbers
        self._promised = promised
        self._pages: dict[int, tuple[Found, ...]] = {}
        self._bench: BenchFile | None = None

    def read_by(self, bench: BenchFile) -> None:
        """Read with this connection from now on: it belongs to the thread that looks."""
        self._bench = bench
        self._pages.clear()

    def __len__(self) -> int:
        return len(self._numbers)

    @overload
    def __getitem__(self, place: int) -> Found: ...
    @overload
    def __getitem__(self, place: slice) -> Sequence[Found]: ...
    def __getitem__(self, place: int | slice) -> Found | Sequence[Found]:
        """What stands at a place; a part that went meanwhile is an empty line."""
        if isinstance(place, slice):
            return [self[one] for one in range(*place.indices(len(self)))]
        page, line = divmod(range(len(self))[place], _PAGE)
        if page not in self._pages:
            if len(self._pages) >= _PAGES:
                self._pages.clear()
            self._pages[page] = self._read(page)
        return self._pages[page][line]

    def _read(self, page: int) -> tuple[Found, ...]:
        if self._bench is None:
            raise LookupError("nobody said with which connection to read")
        numbers = self._numbers[page * _PAGE : (page + 1) * _PAGE]
        held = store.parts_of(self._bench.database, numbers)
        shown = [entry_of(held.get(number) or _GONE) for number in numbers]
        bad = not_good(self._bench, shown)
        hits = [Hit(one, None, "", 0.0, same_number=False, bad=bad.get(("part", one.id), "")) for one in shown]
        return tuple(Found(hit, "", self._promised.get(number, ())) for hit, number in zip(hits, numbers, strict=True))


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
        drawer = Drawer(store.part_numbers(bench.database), promised)
        drawer.read_by(bench)
        return Search(text, kind, None, drawer, bool(promised))
    under_way = making(bench)
    hits = by_words(bench, query, limit) if under_way else find_parts(bench, query, limit, cancelled=cancelled)
    prices = _prices(bench) if any(hit.entry.source == "offer" for hit in hits) else {}
    found = tuple(
        Found(hit, prices.get(hit.entry.id, ""))
        if hit.entry.source == "offer"
        else Found(hit, "", promised.get(hit.entry.id, ()))
        for hit in hits
    )
    any_promised = any(one.promised for one in found)
    return Search(text, kind, read_description(query, kind), found, any_promised, under_way)


def why_it_fits(
    bench: BenchFile, text: str, kind: str | None, entry: Entry, also: OwnWords | None = None
) -> Fit | None:
    """The verdict on one thing found for what was typed; None where nothing was typed.

    `also` is what the person might say beside their own words.
    """
    query = clean_line(text, QUERY_LIMIT)
    if not query:
        return None
    if entry.spec is None:
        return fit_texts(bench, query, entry.part_number or entry.description, also=also)
    _, wanted = query_side(query, kind, with_also(own_words(bench), also).pairs)
    return fit_sides(wanted, entry_side(entry), judge_by(bench, also=also))


def _prices(bench: BenchFile) -> dict[int, str]:
    """First price step of every offer in force, kept as long as nobody writes to the file."""
    state = find_store.now(bench.database)
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
