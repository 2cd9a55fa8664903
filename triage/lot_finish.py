"""The rows of a price that falls until the work is done: by the end of which day each repair is finished.

Work may be put aside and taken up again, so that a set of days to be done by can be kept if and only if, from each day
on which parts come to each of those days, the work that begins no sooner and ends no later fits into the minutes
between (necessary and sufficient for one bench: Horn, Naval Research Logistics Quarterly 21, 1974).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from catalog.model import Terms
    from triage.lot_data import Bench, LotBranch
    from triage.lot_rows import LotRows

Key = tuple[str, str]
"""Unit, branch."""


class FinishRows:
    """Yes-or-no columns: is the work of a branch done by the end of a day?"""

    def __init__(self, rows: LotRows, bench: Bench, losing: Mapping[Key, LotBranch], days: Sequence[int]) -> None:
        """Add them for the branches that lose by the day; `days` are those on which parts come."""
        self.done: dict[Key, dict[int, int]] = {}
        """{(unit, branch): {last day: column}}; by the last of all days everything is done."""
        self._rows = rows
        self._ends = bench.stages
        for key, branch in losing.items():
            self._add_branch(key, branch, days)
        for end in self._ends[:-1]:
            self._add_limit(bench, losing, 0, end)
            for day in days:
                if day <= end:
                    self._add_limit(bench, losing, day, end)

    def days(self, values: Sequence[float], taken: Mapping[str, str]) -> dict[str, int]:
        """{unit: day by whose end it is done}, from the solver's values."""
        return {
            unit: next((end for end, column in columns.items() if values[column] > 0.5), self._ends[-1])
            for (unit, branch), columns in self.done.items()
            if taken.get(unit) == branch
        }

    def _add_branch(self, key: Key, branch: LotBranch, days: Sequence[int]) -> None:
        model, take = self._rows.model, self._rows.taken[key]
        columns: dict[int, int] = {}
        after, next_end = take, self._ends[-1]
        self._rows.losses.append((take, branch.day_loss * self._ends[-1]))
        for end in reversed(self._ends[:-1]):
            done = model.choice(name=f"{key[0]}: {key[1]} done by day {end}")
            model.row([(done, 1), (after, -1)], high=0)
            self._rows.losses.append((done, -branch.day_loss * (next_end - end)))
            for day in days:
                if day > end and (waits := self._rows.waits.get(key, {}).get(day)) is not None:
                    model.row([(done, 1), (waits, 1), (take, -1)], high=0)
            columns[end], after, next_end = done, done, end
        # what takes no minutes may still be done when its parts come with no bench day left: their days are no loss
        before = self._ends[-1]
        for day in days:
            if day > before and (waits := self._rows.waits.get(key, {}).get(day)) is not None:
                self._rows.losses.append((waits, branch.day_loss * (day - before)))
                before = day
        self.done[key] = dict(sorted(columns.items()))

    def _add_limit(self, bench: Bench, losing: Mapping[Key, LotBranch], day: int, end: int) -> None:
        """What is there from `day` on and is to be done by the end of `end` fits in between."""
        model, work = self._rows.model, list[tuple[int, float]]()
        for key, branch in losing.items():
            both = self.done[key][end]
            if day:
                waits = self._rows.waits.get(key, {}).get(day)
                if waits is None:
                    continue
                both = model.column(high=1.0)
                done, take = self.done[key][end], self._rows.taken[key]
                model.row([(both, 1), (waits, -1), (done, -1), (take, 1)], low=0)
            terms: Terms = [(both, branch.minutes), *self._rows.extra_work(branch, both)]
            work += terms
        if work:
            model.row(work, high=bench.between(day, end), name=f"bench minutes from day {day} to {end}")
