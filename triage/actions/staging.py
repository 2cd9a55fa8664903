"""Lists read and compared with what stands, shown, and only then taken in: all of them in one event, or none.

`stage` writes nothing. `commit` compares again under the write lock and refuses when something moved in between, so
what was shown is what is kept.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import lru_cache

import msgspec

from catalog import find_store, list_store, store
from catalog.changes import CHANGED, CHEAPER, DEARER, GONE, NEW, Change, Changes, offer_changes, row_changes
from catalog.database import writing
from catalog.journal import Recorder
from catalog.pricelists import OfferRow, PartRow, SupplierRow, part_key, read_offers, read_parts, read_suppliers
from catalog.staged import Problem, Progress, Staged, no_progress
from catalog.text import Refused
from triage.actions.judging import read_description
from triage.actions.list_rows import (
    Imported,
    merged_part,
    merged_supplier,
    new_offer,
    told_part,
    told_supplier,
    unread,
)
from triage.actions.promises import keep_within, reserved
from triage.actions.sheets import Sheet
from triage.bench_file import BenchFile

_ORDER = ("suppliers", "parts", "offers")
"""A price list may name a supplier that comes with it."""

_TURN = 100
_REMEMBERED = 50_000

Read = Staged[PartRow] | Staged[SupplierRow] | Staged[OfferRow]


class StagedList(msgspec.Struct, frozen=True):
    """One list, read and compared, not yet taken in."""

    sheet: Sheet
    read: Read
    changes: Changes
    unread: tuple[str, ...]
    """Descriptions that no single reading stands for."""

    @property
    def done(self) -> Imported:
        """The counts."""
        count = self.changes.count
        return Imported(
            self.sheet.kind,
            self.sheet.opened.source,
            count(NEW),
            count(CHANGED),
            self.changes.unchanged,
            len(self.unread),
            count(DEARER),
            count(CHEAPER),
            count(GONE),
        )


class Stage(msgspec.Struct, frozen=True):
    """Lists that would be taken in together, in the order in which that happens."""

    lists: tuple[StagedList, ...]
    moment: find_store.Moment = find_store.Moment(0, "")
    """What the file was at when they were compared."""

    @property
    def problems(self) -> tuple[Problem, ...]:
        """What cannot be read, with its place; while there is any, nothing can be taken in."""
        return tuple(problem for one in self.lists for problem in one.read.problems)

    @property
    def problem_count(self) -> int:
        """How many there are, also beyond those kept."""
        return sum(one.read.problem_count for one in self.lists)

    @property
    def notes(self) -> tuple[str, ...]:
        """What was assumed or left out in reading, a line each."""
        said = ((one.sheet.opened, (one.sheet.opened.note, one.read.repeated)) for one in self.lists)
        return tuple(f"{opened.source}: {note}" for opened, notes in said for note in notes if note)

    @property
    def changes(self) -> tuple[Change, ...]:
        """Everything that would not be as before."""
        return tuple(change for one in self.lists for change in one.changes.changes)

    @property
    def unread(self) -> tuple[str, ...]:
        """Descriptions that no single reading stands for."""
        return tuple(text for one in self.lists for text in one.unread)


def stage(bench: BenchFile, sheets: Iterable[Sheet], progress: Progress = no_progress) -> Stage:
    """Read the lists, suppliers first, and say what they would change; `progress` is told how far that is.

    Raises:
        Refused: two lists say something about the same thing, or one cannot be read as such. Bad rows are in
            `problems`.
    """
    coming: list[SupplierRow] = []
    found = []
    for sheet in sorted(sheets, key=lambda one: _ORDER.index(one.kind)):
        read = _read(bench, sheet, coming, progress)
        if sheet.kind == "suppliers":
            coming += [row for row in read.rows if isinstance(row, SupplierRow)]
        found.append((sheet, read))
    _refuse_twice(found)
    moment = find_store.now(bench.database)
    return Stage(tuple(_compared(bench, sheet, read, coming, progress) for sheet, read in found), moment)


def commit(bench: BenchFile, staged: Stage, progress: Progress = no_progress) -> tuple[Imported, ...]:
    """Take in what was staged as one event; returns what was done, one for each list.

    `progress` is told how far it is; when it stops the work, nothing was changed.

    Raises:
        Refused: a list has problems, or what it was compared with has changed since; nothing was changed.
    """
    for one in staged.lists:
        one.read.accepted()
    coming = [row for one in staged.lists for row in one.read.rows if isinstance(row, SupplierRow)]
    with writing(bench.database):
        moved = find_store.now(bench.database) != staged.moment
        for one in staged.lists:
            if moved and _compared(bench, one.sheet, one.read, coming, progress).changes != one.changes:
                raise Refused(
                    "what is held was changed meanwhile; look at the list again", where=one.sheet.opened.where
                )
        done = tuple(one.done for one in staged.lists)
        at = bench.now()
        batches = [store.new_batch(bench.database, one.kind, one.source, at) for one in done]
        action = f"import_{done[0].kind}" if len(done) == 1 else "import_lists"
        summary = "; ".join(one.summary for one in done)
        with bench.journal.event(action, summary, at=at, batch=batches[-1] if batches else None) as recorder:
            for one, batch in zip(staged.lists, batches, strict=True):
                _write(bench, recorder, one, batch, progress)
                _remember(bench, recorder, one.sheet, batch)
    return done


def _read(bench: BenchFile, sheet: Sheet, coming: Sequence[SupplierRow], progress: Progress) -> Read:
    text, name, columns = sheet.opened.text, sheet.opened.where, sheet.columns
    reader = lru_cache(_REMEMBERED)(read_description)  # long lists say the same again and again
    if sheet.kind == "parts":
        return read_parts(text, reader, currency=bench.currency, column_map=columns, name=name, progress=progress)
    currencies = _currencies(store.suppliers(bench.database), coming)
    if sheet.kind == "suppliers":
        return read_suppliers(text, currency=bench.currency, known=currencies, column_map=columns, name=name)
    return read_offers(
        text,
        reader,
        suppliers=currencies,
        supplier=sheet.supplier,
        column_map=columns,
        name=name,
        progress=progress,
    )


def _currencies(held: Iterable[store.Supplier], coming: Iterable[SupplierRow]) -> dict[str, str]:
    """{name: currency} of every supplier as it will be, under the name it has in the bench file."""
    found = {supplier.name: supplier.currency for supplier in held}
    names = {name.casefold(): name for name in found}
    for row in coming:
        if row.name:
            found[names.setdefault(row.name.casefold(), row.name)] = row.currency
    return found


def _refuse_twice(found: Sequence[tuple[Sheet, Read]]) -> None:
    seen: dict[tuple[str, object], str] = {}
    for sheet, read in found:
        for key, name in {_key(row): _name(row) for row in read.rows}.items():
            other = seen.setdefault((sheet.kind, key), sheet.opened.where)
            if other != sheet.opened.where:
                raise Refused(
                    f"“{name[:60]}” is in {other} too; take them in one after the other", where=sheet.opened.where
                )


def _key(row: PartRow | SupplierRow | OfferRow) -> object:
    if isinstance(row, PartRow):
        return part_key(row.part_number, row.description, row.place)
    return row.name.casefold() if isinstance(row, SupplierRow) else row.supplier


def _name(row: PartRow | SupplierRow | OfferRow) -> str:
    if isinstance(row, PartRow):
        return row.part_number or row.description
    return row.name if isinstance(row, SupplierRow) else row.supplier


def _compared(
    bench: BenchFile, sheet: Sheet, read: Read, coming: Sequence[SupplierRow], progress: Progress
) -> StagedList:
    if sheet.kind == "parts":
        held = _parts(bench)
        after = []
        for done, row in enumerate(row for row in read.rows if isinstance(row, PartRow)):
            if done % _TURN == 0:
                progress("comparing", done, len(read.rows))
            after.append(merged_part(row, held.get(_key(row))))
        before = {part.id: part for part in held.values()}
        changes = row_changes(
            (part.part_number or part.description, part.description, told_part(before[part.id]), told_part(part))
            if part.id
            else (part.part_number or part.description, part.description, None, {})
            for part in after
        )
        return StagedList(sheet, read, changes, tuple(unread(after)))
    if sheet.kind == "suppliers":
        return StagedList(sheet, read, row_changes(_told_suppliers(bench, read)), ())
    rows = [row for row in read.rows if isinstance(row, OfferRow)]
    suppliers = store.suppliers(bench.database)
    currencies = _currencies(suppliers, coming)
    named = {row.supplier for row in rows}
    standing = [
        (supplier.name, offer)
        for supplier in suppliers
        if supplier.name in named and supplier.currency == currencies[supplier.name]
        for offer in store.offers(bench.database, supplier.id)
    ]
    changes = offer_changes(standing, ((row.supplier, row) for row in rows), currencies)
    return StagedList(sheet, read, changes, tuple(unread(map(new_offer, rows))))


def _told_suppliers(
    bench: BenchFile, read: Read
) -> Iterable[tuple[str, str, Mapping[str, str] | None, Mapping[str, str]]]:
    held = _suppliers(bench)
    for row in read.rows:
        if isinstance(row, SupplierRow):
            before = held.get(row.name.casefold())
            after = merged_supplier(row, before)
            yield after.name, "", told_supplier(before) if before else None, told_supplier(after)


def _parts(bench: BenchFile) -> dict[object, store.Part]:
    return {part_key(part.part_number, part.description, part.place): part for part in store.parts(bench.database)}


def _suppliers(bench: BenchFile) -> dict[str, store.Supplier]:
    return {supplier.name.casefold(): supplier for supplier in store.suppliers(bench.database)}


def _write_parts(bench: BenchFile, recorder: Recorder, rows: Sequence[PartRow], progress: Progress) -> None:
    """The new ones, then those that change; only of these can anything be promised."""
    held = _parts(bench)
    known = [(merged_part(row, before), before) for row in rows if (before := held.get(_key(row))) is not None]
    new = (merged_part(row, None) for row in rows if _key(row) not in held)
    count = len(rows) - len(known)
    store.add_parts(recorder, new, lambda done: progress("keeping", done, len(rows)))
    changed = [(after, before) for after, before in known if after != before]
    aside = reserved(bench)
    for done, (part, _) in enumerate(changed):
        if done % _TURN == 0:
            progress("keeping", count + done, len(rows))
        store.save_part(recorder, part)
        if part.quantity < aside.get(part.id, 0):
            keep_within(bench, recorder, part.id, part.quantity)


def _write(bench: BenchFile, recorder: Recorder, one: StagedList, batch: int, progress: Progress) -> None:
    if one.sheet.kind == "parts":
        _write_parts(bench, recorder, [row for row in one.read.rows if isinstance(row, PartRow)], progress)
    elif one.sheet.kind == "suppliers":
        known = _suppliers(bench)
        pairs = [(row, known.get(row.name.casefold())) for row in one.read.rows if isinstance(row, SupplierRow)]
        _save(
            [(merged_supplier(row, before), before) for row, before in pairs],
            lambda supplier: store.save_supplier(recorder, supplier),
        )
    else:
        suppliers = {supplier.name: supplier.id for supplier in store.suppliers(bench.database)}
        rows = [row for row in one.read.rows if isinstance(row, OfferRow)]
        offers = (msgspec.structs.replace(new_offer(row), supplier=suppliers[row.supplier]) for row in rows)
        store.add_offers(bench.database, batch, offers)
        for name in dict.fromkeys(row.supplier for row in rows):
            recorder.update("suppliers", suppliers[name], {"price_batch": batch})


def _save(pairs: list[tuple[store.Supplier, store.Supplier | None]], save: Callable[[store.Supplier], int]) -> None:
    """Write the new ones, then those that change; what stays as it is leaves no mark."""
    for after, before in pairs:
        if before is None:
            save(after)
    for after, before in pairs:
        if before is not None and after != before:
            save(after)


def _remember(bench: BenchFile, recorder: Recorder, sheet: Sheet, batch: int) -> None:
    if sheet.layout is not None:
        list_store.save_layout(recorder, sheet.layout)
    opened = sheet.opened
    if opened.address:
        held = list_store.feed(bench.database, opened.address)
        feed = list_store.Feed(
            held.id if held else 0,
            opened.address,
            sheet.kind,
            sheet.supplier,
            batch,
            opened.marks.etag,
            opened.marks.last_modified,
            bench.now(),
        )
        list_store.save_feed(recorder, feed)
