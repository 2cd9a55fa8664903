"""A list before its rows are read: where it comes from, which list it is, and what its columns hold.

Canonical headers are known without asking. Any other header is asked about once and remembered in the bench file; what
is said now goes before what was remembered.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import msgspec

from catalog import list_store
from catalog.columns import FIELDS, IGNORED, Unmapped, check_header, could_be, load, looks_like, plain_title
from catalog.feeds import Fetched, Marks
from catalog.mapping import KINDS_OF_LIST, Title, column_map, fingerprint, guess, likeliest, missing, titles
from catalog.text import Refused, clean_line
from triage.bench_file import BenchFile


class Opened(msgspec.Struct, frozen=True):
    """The text of a list. `where` names it in messages, `source` in the journal; `address` is empty for a file.

    `note` says what was assumed of its encoding; empty where nothing was.
    """

    text: str
    where: str
    source: str
    address: str = ""
    marks: Marks = Marks()
    note: str = ""


class Sheet(msgspec.Struct, frozen=True):
    """A list of a known kind whose columns are known. `supplier` is whose it is, where no column says so."""

    opened: Opened
    kind: str
    columns: dict[str, str]
    supplier: str = ""
    layout: list_store.Layout | None = None
    """What is to be remembered of the header, when there is something new."""


class Question(msgspec.Struct, frozen=True):
    """What the person has to say about a header: which list it is, and a title for each field."""

    opened: Opened
    kind: str
    """What it most likely is."""
    titles: tuple[Title, ...]
    guesses: dict[str, dict[str, str]]
    """For each kind of list, {field: title} as far as it can be guessed or was said before."""
    suppliers: tuple[str, ...]
    """Those one has, for a price list that does not say whose it is."""


def open_file(path: Path) -> Opened:
    """The text of a file; raises Refused when it cannot be read."""
    held = load(path)
    return Opened(held.text, str(path), clean_line(path.name), note=held.note)


def open_fetched(address: str, fetched: Fetched) -> Opened:
    """What was fetched."""
    return Opened(fetched.text, address, clean_line(address, 200), address, fetched.marks, fetched.note)


def sheet_of(
    bench: BenchFile,
    opened: Opened,
    said: Mapping[str, str] | None = None,
    *,
    kind: str | None = None,
    supplier: str = "",
) -> Sheet:
    """Say which list it is and what its columns hold.

    Args:
        bench: where layouts are remembered.
        opened: the list.
        said: {column as written: field, or `-`}; goes before what is remembered.
        kind: which list it is, when that is known.
        supplier: whose price list it is, where it has no column for that.

    Raises:
        Unmapped: nobody has said yet what the columns hold.
        Refused: it is no list, a list of units, or what was said does not hold for it.
    """
    held, header = _remembered(bench, opened)
    if held is not None and kind not in {None, held.kind}:
        held = None
    columns = dict(held.columns) if held is not None else {}
    for title, field in (said or {}).items():
        columns = {other: one for other, one in columns.items() if plain_title(other) != plain_title(title)}
        columns[title] = field
    stated = {"supplier": clean_line(supplier)} if supplier.strip() else {}
    found = kind or (
        held.kind if held is not None else looks_like(opened.text, columns, name=opened.where, stated=stated)
    )
    if found is None and len(possible := [one for one in could_be(columns) if one in KINDS_OF_LIST]) == 1:
        found = possible[0]  # what is still missing of it is said below
    if found == "units":
        raise Refused(
            "this is a list of units; take it in on the Lot (F2, then i), or with `lotwright lot add --file`",
            where=opened.where,
        )
    if found not in KINDS_OF_LIST:
        raise Unmapped(
            "the header does not tell what list this is; say what its columns hold with --map COLUMN=FIELD"
            + _proposal(opened),
            where=f"{opened.where}:1",
        )
    check_header(found, opened.text, columns, name=opened.where, stated=stated if found == "offers" else None)
    layout = None
    if said and header and any(plain_title(title) != field for title, field in columns.items()):
        layout = list_store.Layout(held.id if held else _layout_id(bench, header), header, found, columns)
    return Sheet(opened, found, columns, stated.get("supplier", ""), layout if layout != held else None)


def question_of(bench: BenchFile, opened: Opened, kind: str | None = None) -> Question:
    """What to ask about a header, with guesses; raises Refused when it is no list at all."""
    found = titles(opened.text, name=opened.where)
    held, _ = _remembered(bench, opened)
    guesses = {one: guess(one, found) for one in KINDS_OF_LIST}
    if held is not None:
        said = {plain_title(title): field for title, field in held.columns.items()}
        guesses[held.kind] = {
            said[plain_title(title.text)]: title.text
            for title in found
            if said.get(plain_title(title.text), IGNORED) != IGNORED
        }
    suppliers = tuple(row["name"] for row in bench.database.query("SELECT name FROM suppliers ORDER BY name"))
    return Question(opened, kind or (held.kind if held else likeliest(found)), found, guesses, suppliers)


def header_of(opened: Opened) -> str:
    """The same for lists with the same header."""
    return fingerprint(titles(opened.text, name=opened.where))


def answer_of(question: Question, chosen: Mapping[str, str]) -> dict[str, str]:
    """The column map for `sheet_of` from {field: title}."""
    return column_map(question.titles, chosen)


def still_missing(kind: str, chosen: Mapping[str, str], supplier: str = "") -> tuple[str, ...]:
    """What the list still needs a column for, or whose it is."""
    stated = {"supplier": supplier} if supplier and kind == "offers" else {}
    return missing(kind, {**chosen, **stated})


def fields_of(kind: str) -> tuple[str, ...]:
    """The fields a list of this kind can have."""
    return FIELDS[kind]


def _remembered(bench: BenchFile, opened: Opened) -> tuple[list_store.Layout | None, str]:
    header = header_of(opened)
    return list_store.layout(bench.database, header), header


def _layout_id(bench: BenchFile, header: str) -> int:
    held = list_store.layout(bench.database, header)
    return held.id if held else 0


def _proposal(opened: Opened) -> str:
    """The guess as words for the command line, empty where there is none."""
    found = titles(opened.text, name=opened.where)
    kind = likeliest(found)
    guessed = guess(kind, found)
    if not guessed:
        return ""
    said = [(title, field) for title, field in column_map(found, guessed).items() if plain_title(title) != field]
    maps = " ".join(f"--map “{title[:60]}={field}”" for title, field in said[:12])
    return f", perhaps --as {kind} {maps}"
