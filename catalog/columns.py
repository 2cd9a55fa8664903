"""CSV files to cleaned cells by field name, and back: delimiter, header, place of every refusal.

Which columns a list has is the same question for parts, suppliers, offers and units, so the headers are here and the
meaning of the cells is with each reader. Nothing is guessed: an unknown column is refused until a column map names it.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

import msgspec

from catalog.encodings import Text, decoded
from catalog.text import LINE_LIMIT, Refused, clean_line

Source = Path | str
"""A file, or the text of one."""

FIELDS: Mapping[str, tuple[str, ...]] = {
    "parts": ("part_number", "description", "kind", "quantity", "place", "unit_cost", "currency"),
    "suppliers": (
        "supplier",
        "currency",
        "lead_days",
        "lead_days_late",
        "min_order",
        "shipping",
        "free_from",
        "shipping_by_value",
        "shipping_by_weight",
        "small_order_fee",
        "fee_below",
        "tax",
        "import_above",
        "import_rate",
        "import_fee",
    ),
    "offers": (
        "supplier",
        "sku",
        "part_number",
        "description",
        "pack",
        "min_packs",
        "stock",
        "from",
        "price",
        "price_per",
        "discount",
        "currency",
        "weight",
    ),
    "units": ("count", "class", "symptom", "model", "note", "grade", "complete", "opened_before"),
    "order": (
        "supplier",
        "sku",
        "description",
        "packs",
        "pack",
        "price",
        "line_total",
        "currency",
        "units",
        "grade",
    ),
}
"""The canonical columns of each list, in the order they are written."""

NEEDED: Mapping[str, tuple[tuple[str, ...], ...]] = {
    "parts": (("description", "part_number"),),
    "suppliers": (("supplier",), ("lead_days",)),
    "offers": (("supplier",), ("sku",), ("price",), ("description", "part_number")),
    "units": (("class", "symptom", "model"),),
    "order": (("sku",), ("packs",)),
}
"""For each list, groups of columns of which at least one must be there."""

IGNORED = "-"
"""In a column map: leave this column out."""

FILE_LIMIT = 64 * 1024 * 1024
"""Largest file read, in bytes."""

_DELIMITERS = ",;\t"
_FORMULA = re.compile(r"'*[=+\-@]")
"""A spreadsheet would run such a cell as a formula; it is written with one apostrophe more and read with one less."""


class Unmapped(Refused):
    """A header that is not ours: a column map has to say what its columns hold."""


class Record(msgspec.Struct, frozen=True):
    """One row: the line it begins on and its cells by field, cleaned, empty where nothing is stated."""

    line: int
    cells: dict[str, str]


class Table(msgspec.Struct, frozen=True):
    """A list that was read: where it came from, how its columns are called there, and its rows."""

    name: str
    headers: dict[str, str]
    """{field: header as written}"""
    records: tuple[Record, ...]
    too_long: tuple[tuple[int, str], ...] = ()
    """(line, field) of cells longer than a line may be; they are empty in the record."""
    note: str = ""
    """What was assumed of its encoding, to tell the person; empty where nothing was."""

    def place(self, line: int, field: str) -> str:
        """Where a cell is: file:line:column name."""
        return f"{self.name}:{line}:{self.headers.get(field, field)}"


def load(path: Path) -> Text:
    """The text of a file, with what was assumed of its encoding.

    Raises:
        Refused: it cannot be read, is too large, or its encoding cannot be told.
    """
    try:
        with path.open("rb") as file:
            data = file.read(FILE_LIMIT + 1)
    except OSError as error:
        raise Refused(f"cannot be read ({error.strerror or error}); name a CSV file", where=str(path)) from None
    if len(data) > FILE_LIMIT:
        raise Refused(f"larger than {FILE_LIMIT // 1024 // 1024} MiB; split the list", where=str(path))
    return decoded(data, str(path))


def read_table(
    kind: str,
    source: Source,
    column_map: Mapping[str, str] | None = None,
    *,
    name: str = "",
    stated: Mapping[str, str] | None = None,
) -> Table:
    """Read a list of this kind (a key of `FIELDS`).

    Args:
        kind: which columns to expect.
        source: a file, or the text of one.
        column_map: {column as written: field, or `-` to leave it out}; canonical headers need none.
        name: what to call the source in messages; a file is called by its path.
        stated: {field: value} of what holds for every row, where the list has no column for it.

    Raises:
        Refused: not text, no header, a column unknown, missing or named twice, a broken row.
    """
    text, name, note = _text_of(source, name)
    always = {field: value for field, value in (stated or {}).items() if value}
    delimiter, rows, header, fields = _headed(kind, text, column_map or {}, name, always)
    headers = {field: clean_line(title) for field, title in zip(fields, header, strict=True) if field}
    records, too_long = [], []
    for line, row in rows:
        for stray in row[len(fields) :]:
            if stray.strip():
                raise Refused(
                    f"more cells than the {len(fields)} columns; quote cells that hold “{delimiter}”",
                    where=f"{name}:{line}",
                )
        cells = always | dict.fromkeys(headers, "")
        for field, cell in zip(fields, row, strict=False):
            if len(cell) > LINE_LIMIT and field:
                too_long.append((line, field))
            elif field:
                cells[field] = _unguarded(clean_line(cell))
        records.append(Record(line, cells))
    return Table(name, headers, tuple(records), tuple(too_long), note)


def check_header(
    kind: str,
    source: Source,
    column_map: Mapping[str, str] | None = None,
    *,
    name: str = "",
    stated: Mapping[str, str] | None = None,
) -> None:
    """Refuse what `read_table` would refuse for its header, without reading the rows; arguments as there.

    Raises:
        Unmapped: a column map has to say what the columns hold.
        Refused: it cannot be read, or the map is wrong.
    """
    text, name, _ = _text_of(source, name)
    _headed(kind, text, column_map or {}, name, {field: value for field, value in (stated or {}).items() if value})


def looks_like(
    source: Source,
    column_map: Mapping[str, str] | None = None,
    *,
    name: str = "",
    stated: Mapping[str, str] | None = None,
) -> str | None:
    """Which list this is by its header: "parts", "suppliers", "offers", "units", or None when the header does not tell.

    Args:
        source: a file, or the text of one.
        column_map: {column as written: field}, as for reading it.
        name: what to call the source in messages.
        stated: {field: value} of what holds for every row.

    Raises:
        Refused: the file cannot be read as text.
    """
    text, name, _ = _text_of(source, name)
    best: tuple[int, str | None] = (0, None)
    for kind, fields in FIELDS.items():
        if kind not in could_be(column_map or {}):
            continue
        delimiter, known = _delimiter(text, kind, column_map or {}, name)
        _, header = next(_rows(text, delimiter, name, strict=False))
        found = ({known.get(plain_title(title)) for title in header} | set(stated or {})) & set(fields)
        if all(found.intersection(group) for group in NEEDED[kind]) and len(found) > best[0]:
            best = (len(found), kind)
    return best[1]


def could_be(column_map: Mapping[str, str]) -> tuple[str, ...]:
    """The kinds of list that have every field the map names; a word that is no field of any list does not count."""
    named = set(column_map.values()) & {field for fields in FIELDS.values() for field in fields}
    return tuple(kind for kind, fields in FIELDS.items() if named <= set(fields))


def header_of(source: Source, *, name: str = "") -> tuple[list[str], Iterator[list[str]]]:
    """The titles of a list of no known kind, under the delimiter that parts most, and the rows below.

    Raises:
        Refused: it cannot be read as text.
    """
    text, name, _ = _text_of(source, name)
    delimiter = max(_DELIMITERS, key=lambda one: len(next(_rows(text, one, name, strict=False))[1]))
    rows = _rows(text, delimiter, name, strict=False)
    return next(rows)[1], (row for _, row in rows)


def write_table(kind: str, rows: Iterable[Mapping[str, str]]) -> str:
    """A list of this kind as CSV with its canonical header; `read_table` reads the same cells back."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(FIELDS[kind])
    for row in rows:
        writer.writerow([_guarded(row.get(field, "")) for field in FIELDS[kind]])
    return out.getvalue()


def _text_of(source: Source, name: str) -> tuple[str, str, str]:
    """The text, what to call it, and what was assumed of its encoding."""
    held, name = (load(source), name or str(source)) if isinstance(source, Path) else (Text(source), name or "text")
    text = held.text
    position = text.find("\0")
    if position >= 0:
        raise Refused(
            "this is no text; save it as CSV in UTF-8", where=f"{name}:{text.count(chr(10), 0, position) + 1}"
        )
    if not text.strip():
        raise Refused("the list is empty; expected a header line and rows", where=f"{name}:1")
    return text, name, held.note


def _rows(text: str, delimiter: str, name: str, *, strict: bool = True) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=strict)
    line = 1
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                yield line, row
            line = reader.line_num + 1
    except csv.Error as error:
        raise Refused(f"broken row ({error}); check its quotes", where=f"{name}:{line}") from None


def _headed(
    kind: str, text: str, column_map: Mapping[str, str], name: str, stated: Mapping[str, str]
) -> tuple[str, Iterator[tuple[int, list[str]]], list[str], list[str]]:
    """The delimiter, the rows below the header, the header, and the field of each of its columns."""
    delimiter, known = _delimiter(text, kind, column_map, name)
    rows = _rows(text, delimiter, name)
    first, header = next(rows)
    for title, field in column_map.items():
        if field not in (*FIELDS[kind], IGNORED):
            raise Refused(
                f"“{field}” is no field; use one of {', '.join(FIELDS[kind])}, or - to leave the column out",
                where=f"--map {title}",
            )
        if plain_title(title) not in map(plain_title, header):
            raise Refused(
                "the map names this column, but the list has none of that name", where=f"{name}:{first}:{title}"
            )
    return delimiter, rows, header, _fields(kind, header, known, f"{name}:{first}", stated)


def _delimiter(text: str, kind: str, column_map: Mapping[str, str], name: str) -> tuple[str, dict[str, str]]:
    """The delimiter under which the header says most, and what each plain header means."""
    known = {field: field for field in FIELDS[kind]} | {
        plain_title(title): field for title, field in column_map.items()
    }
    best, delimiter = (-1, -1), ","
    for candidate in _DELIMITERS:
        _, header = next(_rows(text, candidate, name, strict=False))
        said = (sum(plain_title(title) in known for title in header), len(header))
        if said > best:
            best, delimiter = said, candidate
    return delimiter, known


def _fields(kind: str, header: list[str], known: Mapping[str, str], where: str, stated: Mapping[str, str]) -> list[str]:
    """The field of each column, empty for one that is left out."""
    fields: list[str] = []
    strange = [clean_line(title, 60) for title in header if title.strip() and plain_title(title) not in known]
    for number, title in enumerate(header, start=1):
        shown = clean_line(title, 60) or f"column {number}"
        field = known.get(plain_title(title))
        if field is None and title.strip():
            others = f"; so are {', '.join(strange[1:7])}" if len(strange) > 1 else ""
            raise Unmapped(
                f"unknown column; say what it holds with --map “{shown}=FIELD” ({', '.join(FIELDS[kind])}), or leave it"
                f" out with --map “{shown}=-”{others}",
                where=f"{where}:{shown}",
            )
        if field in fields and field not in (None, IGNORED):
            raise Refused(
                f"a second column for {field}; leave one out with --map “{shown}=-”", where=f"{where}:{shown}"
            )
        fields.append("" if field in (None, IGNORED) else str(field))
    for group in NEEDED[kind]:
        if not set(group) & {*fields, *stated}:
            wanted = " or ".join(group)
            other = ", or --supplier “NAME” for all of it" if wanted == "supplier" and kind == "offers" else ""
            raise Unmapped(
                f"no such column; a list of {kind} needs one, or --map “COLUMN={group[0]}”{other}",
                where=f"{where}:{wanted}",
            )
    return fields


def plain_title(title: str) -> str:
    """A title as it is compared: small letters, and one underscore for blanks and hyphens."""
    return re.sub(r"[\s\-]+", "_", clean_line(title).casefold())


def _guarded(cell: str) -> str:
    return f"'{cell}" if _FORMULA.match(cell) else cell


def _unguarded(cell: str) -> str:
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell
