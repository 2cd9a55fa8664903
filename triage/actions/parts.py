"""The person's own parts: taking in a list, adding, changing, and writing the list out again."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import msgspec

from catalog import money, store
from catalog.columns import write_table
from catalog.pricelists import described
from catalog.spec import KINDS
from catalog.text import LINE_LIMIT, Refused, clean_line
from triage.actions.judging import read_description
from triage.actions.list_rows import Imported, searchable
from triage.actions.promises import keep_within
from triage.actions.sheets import open_file, sheet_of
from triage.actions.staging import commit, stage
from triage.bench_file import BenchFile, in_one_transaction


def import_parts(bench: BenchFile, path: Path, column_map: Mapping[str, str] | None = None) -> Imported:
    """Take in a parts list as one event: known parts are changed to what the list states, others are added.

    A part is known by its part number, or without one by description and place. What the list leaves empty stays.

    Raises:
        Refused: the file or any row of it is not sound; nothing was changed.
    """
    return commit(bench, stage(bench, [sheet_of(bench, open_file(path), column_map, kind="parts")]))[0]


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
    part = checked(
        bench,
        store.Part(0, part_number, description, kind, None, "", quantity, place, unit_cost, currency, ""),
    )
    with bench.journal.event("part_add", f"part {name_of(part)} added", at=bench.now()) as recorder:
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
    part = checked(bench, part)
    said = ", ".join(f"{field.replace('_', ' ')} {value}" for field, value in changes.items())
    with bench.journal.event("part_change", f"part {name_of(part)}: {said}", at=bench.now()) as recorder:
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


def checked(bench: BenchFile, part: store.Part) -> store.Part:
    """The part with its texts cleaned, read and made searchable.

    Raises:
        Refused: what `add_part` refuses.
    """
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
    for other in store.same_parts(bench.database, number, text, cleaned["place"]):
        if other != part.id:
            raise Refused(f"it is there already as part {other}; change that one", where="part")
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


def name_of(part: store.Part) -> str:
    """The part in a sentence."""
    return f"“{part.part_number or part.description[:60]}”"
