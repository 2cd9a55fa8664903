"""Plain columns and rows of a (mixed-)integer linear problem, with no solver in it.

Kept apart from the solver so that the purchase rows and the whole-lot rows can be built, joined, counted and tested
without loading one, and so that a second solver can be set against the first.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import msgspec

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

INF = math.inf
"""No bound."""

Terms = list[tuple[int, float]]
"""(column index, coefficient) each."""


class Column(msgspec.Struct, frozen=True):
    """One unknown: its cost per piece in the objective, its range, and whether only whole numbers are allowed."""

    cost: float
    low: float
    high: float
    whole: bool
    name: str


class Row(msgspec.Struct, frozen=True):
    """One limit: low <= sum of coefficient x column <= high. `terms` is {column index: coefficient}."""

    terms: dict[int, float]
    low: float
    high: float
    name: str


class Model:
    """A problem to minimise, built column by column and row by row; both are known by their index."""

    def __init__(self) -> None:
        self.columns: list[Column] = []
        self.rows: list[Row] = []

    def column(
        self, cost: float = 0.0, low: float = 0.0, high: float = INF, *, whole: bool = False, name: str = ""
    ) -> int:
        """Add an unknown and return its index."""
        if not low <= high:
            raise ValueError(f"column {name or len(self.columns)}: low {low} is above high {high}")
        self.columns.append(Column(cost, low, high, whole, name))
        return len(self.columns) - 1

    def choice(self, cost: float = 0.0, *, name: str = "") -> int:
        """Add a yes-or-no unknown (0 or 1) and return its index."""
        return self.column(cost, 0.0, 1.0, whole=True, name=name)

    def row(self, terms: Iterable[tuple[int, float]], low: float = -INF, high: float = INF, *, name: str = "") -> int:
        """Add a limit and return its index. A column named twice has its coefficients added; zeros are left out."""
        self.rows.append(Row({}, low, high, name))
        index = len(self.rows) - 1
        for column, coefficient in terms:
            self.add_term(index, column, coefficient)
        return index

    def add_term(self, row: int, column: int, coefficient: float) -> None:
        """Add `coefficient` x `column` to a row that exists already."""
        if not 0 <= column < len(self.columns):
            raise ValueError(f"row {self.rows[row].name or row}: no column {column}")
        terms = self.rows[row].terms
        total = terms.get(column, 0.0) + coefficient
        if total:
            terms[column] = total
        else:
            terms.pop(column, None)

    def set_cost(self, column: int, cost: float) -> None:
        """Replace the cost of a column."""
        self.columns[column] = msgspec.structs.replace(self.columns[column], cost=cost)

    def value(self, values: Sequence[float]) -> float:
        """The objective at `values` (one per column)."""
        return math.fsum(column.cost * value for column, value in zip(self.columns, values, strict=True))

    def broken(self, values: Sequence[float], tolerance: float = 1e-6) -> list[str]:
        """Names (or indexes) of the columns and rows that `values` breaks by more than `tolerance`."""
        found = []
        for index, (column, value) in enumerate(zip(self.columns, values, strict=True)):
            off_whole = column.whole and abs(value - round(value)) > tolerance
            if off_whole or not column.low - tolerance <= value <= column.high + tolerance:
                found.append(column.name or f"column {index}")
        for index, row in enumerate(self.rows):
            total = math.fsum(coefficient * values[column] for column, coefficient in row.terms.items())
            if not row.low - tolerance <= total <= row.high + tolerance:
                found.append(row.name or f"row {index}")
        return found
