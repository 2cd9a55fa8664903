"""Reading the cells of a list without stopping at the first fault, and refusing the list as one.

Every list has the same needs: whole numbers, amounts, words of a set, and for whatever is wrong the place in the file.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Generic, TypeVar

import msgspec

from catalog import money
from catalog.columns import Record, Table
from catalog.text import LINE_LIMIT, Refused, RefusedRows, clean_line

PROBLEMS_SHOWN = 20
_REPEATS_SHOWN = 8
_TURN = 100

Row = TypeVar("Row")
Progress = Callable[[str, int, int], object]
"""Told what is being done, how many rows of it are done and how many there are; what it raises ends the work."""


def no_progress(doing: str, done: int, of: int) -> None:
    """Nobody watches."""


class Stopped(Refused):
    """The person stopped the work; raised by a `Progress`."""

    def __init__(self) -> None:
        """Say so."""
        super().__init__("stopped; nothing was taken in")


class Problem(msgspec.Struct, frozen=True):
    """Why a row is refused, and where: file:line:column name."""

    where: str
    text: str

    def __str__(self) -> str:
        return f"{self.where}: {self.text}"


class Staged(msgspec.Struct, Generic[Row], frozen=True):
    """A list that was read and not yet accepted."""

    name: str
    rows: tuple[Row, ...]
    problems: tuple[Problem, ...] = ()
    """The first 20."""
    problem_count: int = 0
    repeats: tuple[tuple[int, int], ...] = ()
    """(line, earlier line) of rows that say word for word what an earlier one says; they count once."""

    @property
    def repeated(self) -> str:
        """One line about the repeats; empty where there are none."""
        if not self.repeats:
            return ""
        count = len(self.repeats)
        lines = ", ".join(f"{line} as {earlier}" for line, earlier in self.repeats[:_REPEATS_SHOWN])
        more = f" and {count - _REPEATS_SHOWN} more" if count > _REPEATS_SHOWN else ""
        said = "1 row says" if count == 1 else f"{count} rows say"
        return f"{said} the same as an earlier one, taken once: line {lines}{more}"

    def accepted(self) -> tuple[Row, ...]:
        """The rows, if every one is sound.

        Raises:
            RefusedRows: with the first problem, how many more there are, and those kept a line each.
        """
        if not self.problems:
            return self.rows
        first, *others = (Refused(one.text, where=one.where) for one in self.problems)
        raise RefusedRows(first, others, self.problem_count)


class Desk:
    """Keeps the problems of one table."""

    def __init__(self, table: Table) -> None:
        self.table = table
        self._problems: list[tuple[int, Problem]] = []
        self._told: set[tuple[int, str]] = set()
        self._repeats: list[tuple[int, int]] = []
        for line, field in table.too_long:
            self.problem(line, field, f"longer than {LINE_LIMIT:,} characters; shorten it")

    def records(self, progress: Progress) -> Iterator[Record]:
        """The rows of the table one by one, telling how far one is."""
        for count, record in enumerate(self.table.records):
            if count % _TURN == 0:
                progress("reading", count, len(self.table.records))
            yield record

    def problem(self, line: int, field: str, text: str) -> None:
        """Note what is wrong with a cell; what follows from a cell that is wrong already is no other problem."""
        if (line, field) in self._told:
            return
        self._told.add((line, field))
        self._problems.append((line, Problem(clean_line(self.table.place(line, field)), clean_line(text))))

    def repeat(self, line: int, earlier: int) -> None:
        """Note that a row says word for word what an earlier one says."""
        self._repeats.append((line, earlier))

    def staged(self, rows: Iterable[Row]) -> Staged[Row]:
        """The rows that were read, with the problems in the order of the file."""
        shown = [problem for _, problem in sorted(self._problems, key=lambda noted: noted[0])[:PROBLEMS_SHOWN]]
        return Staged(self.table.name, tuple(rows), tuple(shown), len(self._problems), tuple(self._repeats))


class Cells:
    """Reads the cells of one row; what cannot be read becomes a problem and a harmless value."""

    def __init__(self, desk: Desk, record: Record) -> None:
        self._desk = desk
        self._cells = record.cells
        self.line = record.line

    @property
    def stated(self) -> tuple[str, ...]:
        """All cells in their order: what two rows that say the same have alike."""
        return tuple(self._cells.values())

    def problem(self, field: str, text: str) -> None:
        """Note what is wrong with a cell of this row."""
        self._desk.problem(self.line, field, text)

    def text(self, field: str) -> str:
        """The cell, empty when not stated."""
        return self._cells.get(field, "")

    def needed(self, field: str) -> str:
        """The cell, which must be stated."""
        if not self.text(field):
            self.problem(field, "empty; it must be stated")
        return self.text(field)

    def whole(self, field: str, default: int | None, low: int, high: int) -> int:
        """A whole number; `default` None means that it must be stated."""
        text = self.needed(field) if default is None else self.text(field)
        if text.isascii() and text.isdigit() and len(text) <= 12 and low <= int(text) <= high:
            return int(text)
        if text:
            self.problem(field, f"“{text[:40]}” is not a whole number from {low} to {high:,}")
        return low if default is None else default

    def one_of(self, field: str, words: Sequence[str] | Mapping[str, object], default: str) -> str:
        """One of some words, in any case, with blank, hyphen or underscore between."""
        text = self.text(field)
        plain = text.casefold()
        for word in words:
            if plain in (word, word.replace("_", " "), word.replace("_", "-"), word.replace("-", " ")):
                return word
        if text:
            self.problem(field, f"“{text[:40]}” is none of {', '.join(words)}")
        return default

    def currency(self, default: str) -> str:
        """The currency code stated, or the default."""
        text = self.text("currency")
        try:
            return money.code(text) if text else default
        except Refused as refused:
            self.problem("currency", refused.problem)
            return default

    def amount(self, field: str, currency: str) -> int | None:
        """An amount in whole minor units, None when not stated."""
        text = self.text(field)
        try:
            return money.minor(text, currency) if text else None
        except Refused as refused:
            self.problem(field, refused.problem)
            return None

    def price(self, currency: str) -> tuple[int, int]:
        """A price above zero: minor units for so many pieces."""
        text, per = self.needed("price"), self.whole("price_per", 1, 1, money.MAX_PER)
        try:
            amount, per = money.unit_price(text, per, currency) if text else (1, per)
        except Refused as refused:
            self.problem("price", refused.problem)
            return 1, per
        if amount == 0:
            self.problem("price", "zero; state the price, or leave the row out")
        return amount, per
