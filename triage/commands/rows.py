"""Lists of questions for `read` and `fit`: a CSV file row by row, where a bad row does not stop the others.

A price list is taken over whole or not at all (`catalog.columns`); here each row is a question of its own.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

from catalog.columns import load
from catalog.text import LINE_LIMIT, Refused, clean_line
from triage.commands.output import json_line, say

Cells = dict[str, str]
_DELIMITERS = ",;\t"


def answer_rows(path: Path, fields: Sequence[str], needed: int, answer: Callable[[Cells], Any]) -> None:
    """Print one JSON object for each row: what `answer` makes of its cells, or `{"row": i, "error": …}`, i from 1.

    Args:
        path: the CSV file with a header.
        fields: the columns it may have, the needed ones first.
        needed: how many of them must be there.
        answer: takes the cells by field; may refuse the row.

    Raises:
        Refused: the file as such is not sound (then nothing was printed), or some row could not be judged.
    """
    rows = _rows(path, fields, needed)
    bad: list[str] = []
    for number, (line, cells) in enumerate(rows, start=1):
        try:
            json_line(answer(_sound(cells, fields)))
        except Refused as refusal:
            json_line({"row": number, "error": str(refusal)})
            bad.append(f"{path}:{line}: {refusal}")
    if bad:
        more = f" (and {len(bad) - 1} more rows)" if len(bad) > 1 else ""
        raise Refused(bad[0] + more)


def _sound(cells: Cells | None, fields: Sequence[str]) -> Cells:
    if cells is None:
        raise Refused(f"more cells than columns; expected {', '.join(fields)}, cells with the delimiter quoted")
    for field, cell in cells.items():
        if len(cell) > LINE_LIMIT:
            raise Refused(f"{len(cell):,} characters; at most {LINE_LIMIT:,} are read, shorten it", where=field)
    return {field: clean_line(cell) for field, cell in cells.items()}


def _rows(path: Path, fields: Sequence[str], needed: int) -> list[tuple[int, Cells | None]]:
    held = load(path)
    text = held.text
    if held.note:
        say(f"{path}: {held.note}")
    if "\0" in text:
        raise Refused("this is no text; save it as CSV in UTF-8", where=str(path))
    lines = text.split("\n", 1)
    delimiter = max(_DELIMITERS, key=lambda one: sum(_plain(title) in fields for title in lines[0].split(one)))
    rows = _read(text, delimiter, path)
    line, header = next(rows, (1, []))
    titles = [_plain(title) for title in header]
    for title in titles:
        if title not in fields:
            shown = clean_line(title, 60)
            raise Refused(f"unknown column; expected {', '.join(fields)}", where=f"{path}:{line}:{shown}")
    for field in fields:
        if titles.count(field) > 1 or (field in fields[:needed] and field not in titles):
            wanted = "the column is named twice" if field in titles else "no such column; the header must name it"
            raise Refused(wanted, where=f"{path}:{line}:{field}")
    found: list[tuple[int, Cells | None]] = []
    for line, row in rows:
        stray = any(cell.strip() for cell in row[len(titles) :])
        padded = [*row, *[""] * len(titles)]
        found.append((line, None if stray else dict(zip(titles, padded, strict=False))))
    return found


def _read(text: str, delimiter: str, path: Path) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    line = 1
    try:
        for row in reader:
            if row:  # an empty line is no row; one of empty cells is, so that row i gives line i
                yield line, row
            line = reader.line_num + 1
    except csv.Error as error:
        raise Refused(f"broken row ({error}); check its quotes", where=f"{path}:{line}") from None


def _plain(title: str) -> str:
    return clean_line(title, 60).casefold().replace(" ", "_")
