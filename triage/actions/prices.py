"""Suppliers and their price lists, and taking in any list: from files together, or from an address."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import msgspec

from catalog import feeds, list_store, store
from catalog.columns import plain_title
from catalog.feeds import Limits, Marks, Unreachable
from catalog.mapping import titles
from catalog.staged import Progress, no_progress
from catalog.text import Refused
from triage.actions.list_rows import Imported
from triage.actions.sheets import Opened, Sheet, open_fetched, open_file, sheet_of
from triage.actions.staging import Stage, commit, stage
from triage.bench_file import BenchFile


class Fetch(msgspec.Struct, frozen=True):
    """What fetching brought, not yet taken in."""

    stage: Stage
    same: tuple[str, ...] = ()
    """Addresses whose list is still the one that was taken in."""
    failed: tuple[str, ...] = ()
    """One line for each address that could not be reached."""
    refused: tuple[str, ...] = ()
    """One line for each address whose list cannot be taken in."""


def import_suppliers(bench: BenchFile, path: Path, column_map: Mapping[str, str] | None = None) -> Imported:
    """Take in a supplier list as one event; a known name is changed, others are added. What it leaves empty stays.

    A supplier whose currency changes loses its price list: the amounts in it are of the old currency.

    Raises:
        Refused: the file or any row of it is not sound; nothing was changed.
    """
    return commit(bench, stage_files(bench, [path], column_map, kind="suppliers"))[0]


def import_offers(bench: BenchFile, path: Path, column_map: Mapping[str, str] | None = None) -> Imported:
    """Take in a price list as one event: for each supplier it names it takes the place of the list before.

    Taking the event back puts the list before in force again.

    Raises:
        Refused: the file or any row of it is not sound, or a supplier is not known; nothing was changed.
    """
    return commit(bench, stage_files(bench, [path], column_map, kind="offers"))[0]


def import_any(bench: BenchFile, path: Path, column_map: Mapping[str, str] | None = None) -> Imported:
    """Take in a list of parts, suppliers or offers, whichever its header says it is.

    Raises:
        Refused: the header does not tell, it is a list of units, or the list is not sound.
    """
    return commit(bench, stage_files(bench, [path], column_map))[0]


def stage_files(
    bench: BenchFile,
    paths: Sequence[Path],
    column_map: Mapping[str, str] | None = None,
    *,
    kind: str | None = None,
    supplier: str = "",
    progress: Progress = no_progress,
) -> Stage:
    """Read files that are to be taken in together with `staging.commit`; nothing is written.

    Args:
        bench: the bench file.
        paths: the files.
        column_map: {column as written: field, or `-`}; each file takes what is said of its columns.
        kind: which list they are, when the header is not to tell.
        supplier: whose price list it is, where it has no column for that.
        progress: told how far it is.

    Raises:
        Refused: a file as such cannot be read or its columns are not known. Bad rows are in `Stage.problems`.
    """
    opened = [open_file(path) for path in paths]
    maps = _shared_out(opened, column_map or {})
    return stage(
        bench,
        [sheet_of(bench, one, own, kind=kind, supplier=supplier) for one, own in zip(opened, maps, strict=True)],
        progress,
    )


def fetch(
    bench: BenchFile,
    address: str | None = None,
    column_map: Mapping[str, str] | None = None,
    *,
    kind: str | None = None,
    supplier: str = "",
    limits: Limits = Limits(),  # noqa: B008 - frozen
    cancelled: Callable[[], bool] = lambda: False,
) -> Fetch:
    """Fetch the list at an address, or at every address known, and read it; nothing is written before `commit`.

    A known address is asked only for what changed, and keeps its kind and supplier where nothing else is said. Of
    several addresses one that fails is left out and named; a single one raises.

    Args:
        bench: the bench file.
        address: beginning with http:// or https://; None for every address known.
        column_map: {column as written: field, or `-`}.
        kind: which list it is, when the header is not to tell.
        supplier: whose price list it is, where it has no column for that.
        limits: how much and how long, for each address.
        cancelled: asked all the time; the fetch ends as soon as it says yes.

    Raises:
        Unreachable: the address could not be reached, or the fetch was called off.
        Refused: there is no such list, or it cannot be taken in.
    """
    if address is not None:
        opened = open_address(bench, address, limits=limits, cancelled=cancelled)
        if opened is None:
            return Fetch(Stage(()), same=(feeds.checked(address),))
        return Fetch(stage(bench, [sheet_for(bench, opened, column_map, kind=kind, supplier=supplier)]))
    known = list_store.feeds(bench.database)
    if not known:
        raise Refused("no address is known yet; name one", where="fetch")
    sheets, same, failed, refused = list[Sheet](), list[str](), list[str](), list[str]()
    for held in known:
        try:
            opened = open_address(bench, held.address, limits=limits, cancelled=cancelled)
            if opened is None:
                same.append(held.address)
            else:
                sheets.append(sheet_for(bench, opened))
        except Unreachable as error:
            if cancelled():
                raise
            failed.append(str(error))
        except Refused as error:
            refused.append(str(error))
    staged, bad = _sound(bench, sheets)
    return Fetch(staged, tuple(same), tuple(failed), (*refused, *bad))


def open_address(
    bench: BenchFile,
    address: str,
    *,
    limits: Limits = Limits(),  # noqa: B008 - frozen
    cancelled: Callable[[], bool] = lambda: False,
) -> Opened | None:
    """The text of the list at an address, or None when it is still the one that stands; raises as `fetch`."""
    address = feeds.checked(address)
    held = list_store.feed(bench.database, address)
    marks = Marks()
    if held is not None and list_store.in_force(bench.database, held):
        marks = Marks(held.etag, held.last_modified)
    fetched = feeds.fetch(address, marks, limits=limits, cancelled=cancelled)
    return open_fetched(address, fetched) if fetched is not None else None


def sheet_for(
    bench: BenchFile,
    opened: Opened,
    column_map: Mapping[str, str] | None = None,
    *,
    kind: str | None = None,
    supplier: str = "",
) -> Sheet:
    """As `sheet_of`; a list from a known address keeps its kind and supplier where nothing else is said."""
    held = list_store.feed(bench.database, opened.address) if opened.address else None
    if held is not None:
        kind, supplier = kind or held.kind, supplier or held.supplier
    return sheet_of(bench, opened, column_map, kind=kind, supplier=supplier)


def list_feeds(bench: BenchFile) -> list[list_store.Feed]:
    """The addresses that lists were taken in from, oldest first."""
    return list_store.feeds(bench.database)


def forget_feed(bench: BenchFile, address: str) -> str:
    """Fetch from an address no more; what was taken in from it stays. Returns the address.

    Raises:
        Refused: it is not known.
    """
    held = list_store.feed(bench.database, feeds.checked(address))
    if held is None:
        raise Refused("this address is not known; `lotwright prices show` lists them", where=address)
    with bench.journal.event("forget_feed", f"{held.address} forgotten", at=bench.now()) as recorder:
        recorder.delete("feeds", held.id)
    return held.address


def list_suppliers(bench: BenchFile) -> list[store.Supplier]:
    """All suppliers, by name."""
    return store.suppliers(bench.database)


def list_offers(bench: BenchFile, supplier: int | None = None) -> list[store.Offer]:
    """The offers in force, of one supplier or of all."""
    return store.offers(bench.database, supplier)


def _shared_out(opened: Sequence[Opened], column_map: Mapping[str, str]) -> list[dict[str, str]]:
    """For each of several lists what is said of its own columns; one alone takes all, and refuses what it has not."""
    if len(opened) == 1:
        return [dict(column_map)]
    found = [{plain_title(title.text) for title in titles(one.text, name=one.where)} for one in opened]
    for title in column_map:
        if not any(plain_title(title) in one for one in found):
            raise Refused("the map names this column, but none of the lists has it", where=f"--map {title}")
    return [{title: field for title, field in column_map.items() if plain_title(title) in one} for one in found]


def _sound(bench: BenchFile, sheets: Sequence[Sheet]) -> tuple[Stage, list[str]]:
    """Those of several lists that can be taken in, and a line for each of the others."""
    refused = list[str]()
    kept = list(sheets)
    while True:
        staged = stage(bench, kept)
        bad = [one for one in staged.lists if one.read.problems]
        if not bad:
            return staged, refused
        for one in bad:
            try:
                one.read.accepted()
            except Refused as error:
                refused.append(str(error))
        kept = [sheet for sheet in kept if sheet not in [one.sheet for one in bad]]
