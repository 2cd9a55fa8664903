"""The person's own parts: taking in a list, adding, changing, finding, and writing the list out again."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path

import msgspec

from catalog import money, store
from catalog.columns import write_table
from catalog.database import writing
from catalog.pricelists import Description, PartRow, described, part_key, read_parts
from catalog.search import Entry, Hit, Index, Judge, search_form
from catalog.spec import KINDS
from catalog.text import LINE_LIMIT, Refused, clean_line
from triage.actions.judging import judge_by, read_description
from triage.actions.promises import keep_within
from triage.bench_file import BenchFile, in_one_transaction

QUERY_LIMIT = 200


class Imported(msgspec.Struct, frozen=True):
    """What taking in a list did. `unread` counts descriptions that no single reading stands for."""

    kind: str
    source: str
    added: int
    changed: int
    unchanged: int
    unread: int

    @property
    def summary(self) -> str:
        """One line for the person and the journal."""
        counts = [f"{self.added} added", f"{self.changed} changed", f"{self.unchanged} as before"]
        said = ", ".join(count for count in counts if not count.startswith("0 ")) or "nothing in it"
        unread = f"; {self.unread} not understood" if self.unread else ""
        return f"{self.kind} from {self.source}: {said}{unread}"


def import_parts(bench: BenchFile, path: Path, column_map: Mapping[str, str] | None = None) -> Imported:
    """Take in a parts list as one event: known parts are changed to what the list states, others are added.

    A part is known by its part number, or without one by description and place. What the list leaves empty stays.

    Raises:
        Refused: the file or any row of it is not sound; nothing was changed.
    """
    rows = read_parts(path, read_description, currency=bench.currency, column_map=column_map).accepted()
    source = clean_line(path.name)
    with writing(bench.database):
        held = {part_key(part.part_number, part.description, part.place): part for part in store.parts(bench.database)}
        changes = [_merged(row, held.get(part_key(row.part_number, row.description, row.place))) for row in rows]
        new = [part for part in changes if not part.id]
        known = {part.id: part for part in held.values()}
        changed = [part for part in changes if part.id and part != known[part.id]]
        before = len(changes) - len(new) - len(changed)
        done = Imported("parts", source, len(new), len(changed), before, unread(changes))
        batch = store.new_batch(bench.database, "parts", source, bench.now())
        with bench.journal.event("import_parts", done.summary, at=bench.now(), batch=batch) as recorder:
            for part in (*new, *changed):
                store.save_part(recorder, part)
                if part.id:
                    keep_within(bench, recorder, part.id, part.quantity)
    return done


def export_parts(bench: BenchFile, path: Path) -> int:
    """Write the parts as CSV that `import_parts` reads back; returns how many.

    Raises:
        Refused: the file exists, or cannot be written.
    """
    parts = store.parts(bench.database)
    text = write_table("parts", map(_cells, parts))
    try:
        with path.open("x", encoding="utf-8", newline="") as file:
            file.write(text)
    except FileExistsError:
        raise Refused("the file exists already; name another one", where=str(path)) from None
    except OSError as error:
        raise Refused(f"cannot be written ({error.strerror or error}); name another file", where=str(path)) from None
    return len(parts)


@in_one_transaction
def add_part(
    bench: BenchFile,
    description: str,
    *,
    part_number: str = "",
    kind: str = "",
    quantity: int = 0,
    place: str = "",
    unit_cost: int | None = None,
    currency: str = "",
) -> store.Part:
    """Add one part. `unit_cost` in minor units of `currency` (empty = the person's).

    Raises:
        Refused: neither description nor part number, a kind that is none, a number below zero, or it is there already.
    """
    part = _checked(
        bench,
        store.Part(0, part_number, description, kind, None, "", quantity, place, unit_cost, currency, ""),
    )
    with bench.journal.event("part_add", f"part {_name(part)} added", at=bench.now()) as recorder:
        return msgspec.structs.replace(part, id=store.save_part(recorder, part))


@in_one_transaction
def change_part(
    bench: BenchFile,
    part_id: int,
    *,
    quantity: int | None = None,
    place: str | None = None,
    description: str | None = None,
    part_number: str | None = None,
    kind: str | None = None,
    unit_cost: int | None = None,
) -> store.Part:
    """Change what is stated; None leaves a field as it is.

    Raises:
        Refused: no such part, or what `add_part` refuses.
    """
    stated = {
        "quantity": quantity,
        "place": place,
        "description": description,
        "part_number": part_number,
        "kind": kind,
        "unit_cost": unit_cost,
    }
    changes = {field: value for field, value in stated.items() if value is not None}
    part = msgspec.structs.replace(get_part(bench, part_id), **changes)
    if description is not None and kind is None:
        as_before = described(clean_line(description), part.part_number, part.kind, read_description)
        part = msgspec.structs.replace(part, kind=as_before.kind if as_before.spec else "")
    part = _checked(bench, part)
    said = ", ".join(f"{field.replace('_', ' ')} {value}" for field, value in changes.items())
    with bench.journal.event("part_change", f"part {_name(part)}: {said}", at=bench.now()) as recorder:
        store.save_part(recorder, part)
        keep_within(bench, recorder, part.id, part.quantity)
    return part


def get_part(bench: BenchFile, part_id: int) -> store.Part:
    """One part; Refused when there is none of that number."""
    part = store.part(bench.database, part_id)
    if part is None:
        raise Refused(f"there is no part {part_id}; `lotwright find` shows them", where="part")
    return part


def list_parts(bench: BenchFile) -> list[store.Part]:
    """Every part, oldest first."""
    return store.parts(bench.database)


def find_parts(
    bench: BenchFile, query: str, limit: int = 50, *, cancelled: Callable[[], bool] = lambda: False
) -> list[Hit]:
    """Parts and offers in force for what was typed, best first; empty when cancelled.

    The first call after a change builds the index anew, the following ones only search it.
    """
    index, judge = _index(bench)
    return index.find(clean_line(query, QUERY_LIMIT), limit, reader=read_description, judge=judge, cancelled=cancelled)


def part_index(bench: BenchFile) -> Index:
    """The index over parts and offers as they are now, kept until somebody writes to the file."""
    return _index(bench)[0]


def _index(bench: BenchFile) -> tuple[Index, Judge]:
    version = bench.database.conn.execute("PRAGMA data_version").fetchone()[0]
    state = (version, bench.database.conn.total_changes)
    held = bench.cache.get("part_index")
    if held is None or held[0] != state:
        held = (state, Index.of(_entries(bench)), judge_by(store.pairs(bench.database)))
        bench.cache["part_index"] = held
    return held[1], held[2]


def searchable(part_number: str, description: str, kind: str, sku: str = "") -> str:
    """What a part or offer is to be found by."""
    words = (part_number, sku if sku.casefold() != part_number.casefold() else "", description)
    plain = " ".join(word for word in words if word)
    return search_form(plain if kind in plain.casefold() else f"{plain} {kind}")


def unread(held: Iterable[store.Part | store.Offer]) -> int:
    """How many of the descriptions no single reading stands for; a `listed` part needs none."""
    return sum(
        one.spec is None or (one.kind != "listed" and bool(one.left_over) and one.left_over == one.description)
        for one in held
    )


def _entries(bench: BenchFile) -> Iterator[Entry]:
    for part in store.parts(bench.database):
        yield Entry(
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
    names = {supplier.id: supplier.name for supplier in store.suppliers(bench.database)}
    for offer in store.offers(bench.database):
        yield Entry(
            "offer",
            offer.id,
            offer.part_number,
            offer.description,
            offer.kind,
            offer.spec,
            offer.left_over,
            None if offer.stock_packs is None else offer.stock_packs * offer.pack,
            "",
            names[offer.supplier],
            offer.search,
        )


def _merged(row: PartRow, held: store.Part | None) -> store.Part:
    """The part as it is after the row: what the row states, over what was held."""
    if held is None:
        held = store.Part(0, "", "", "", None, "", 0, "", None, row.currency, "")
    number, text = held.part_number or row.part_number, row.description or held.description
    what = Description(row.kind, row.spec, row.left_over)
    if text != row.description or (held.kind and not row.kind):
        what = described(text, number, row.kind or held.kind, read_description)
    costs = row.unit_cost is not None
    return store.Part(
        held.id,
        number,
        text,
        what.kind,
        what.spec,
        what.left_over,
        held.quantity if row.quantity is None else row.quantity,
        row.place or held.place,
        row.unit_cost if costs else held.unit_cost,
        row.currency if costs or not held.currency else held.currency,
        searchable(number, text, what.kind),
    )


def _checked(bench: BenchFile, part: store.Part) -> store.Part:
    """The part with its texts cleaned, read and made searchable."""
    texts = {field: getattr(part, field) for field in ("part_number", "description", "place", "kind")}
    for field, text in texts.items():
        if len(text) > LINE_LIMIT:
            raise Refused(f"longer than {LINE_LIMIT:,} characters; shorten it", where=f"part.{field}")
    cleaned = {field: clean_line(text) for field, text in texts.items()}
    number, text = cleaned["part_number"], cleaned["description"]
    if not number and not text:
        raise Refused("a part needs a description or a part number", where="part.description")
    if cleaned["kind"] and cleaned["kind"] not in KINDS:
        raise Refused(f"“{cleaned['kind'][:40]}” is no kind; use one of {', '.join(KINDS)}", where="part.kind")
    for field in ("quantity", "unit_cost"):
        if (getattr(part, field) or 0) < 0:
            raise Refused("expected zero or more", where=f"part.{field}")
    key = part_key(number, text, cleaned["place"])
    for other in store.parts(bench.database):
        if other.id != part.id and part_key(other.part_number, other.description, other.place) == key:
            raise Refused(f"it is there already as part {other.id}; change that one", where="part")
    return read_anew(
        msgspec.structs.replace(
            part,
            part_number=number,
            description=text,
            place=cleaned["place"],
            kind=cleaned["kind"],
            currency=money.code(part.currency or bench.currency),
        )
    )


def read_anew(part: store.Part) -> store.Part:
    """The part as its number, description and kind are read now."""
    what = described(part.description, part.part_number, part.kind, read_description)
    return msgspec.structs.replace(
        part,
        kind=what.kind,
        spec=what.spec,
        left_over=what.left_over,
        search=searchable(part.part_number, part.description, what.kind),
    )


def _cells(part: store.Part) -> dict[str, str]:
    cost = "" if part.unit_cost is None else money.show(part.unit_cost, part.currency)
    return {
        "part_number": part.part_number,
        "description": part.description,
        "kind": part.kind if part.kind in KINDS else "",
        "quantity": str(part.quantity),
        "place": part.place,
        "unit_cost": cost,
        "currency": part.currency,
    }


def _name(part: store.Part) -> str:
    return f"“{part.part_number or part.description[:60]}”"
