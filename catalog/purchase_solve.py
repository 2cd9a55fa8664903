"""How one order is searched: a bound first, a good plan at once, a better one among few offers, then the proof.

The relaxed rows say which offers can matter and give a bound. From what they lean to a plan is made without a solver.
Only with the offers of those two the rows are solved once, which is quick and mostly ends within a thousandth of the
best; all rows are then solved from there, and only that proves anything.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import msgspec

from catalog import solver
from catalog.model import Model
from catalog.purchase_start import first_plan

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from catalog.purchase_data import PurchasePlan, Served
    from catalog.purchase_rows import PurchaseRows

    Told = Callable[[solver.Incumbent], None]

SMALL = 400
"""Columns up to which the proof comes as soon as anything else would."""
FEW_OFFERS_LIMIT = 2.0
"""Seconds at most for the search among few offers; it is only a start for the next one."""
NEAR = 0.0002
"""The search among few offers ends when it is this near to its own bound, as a share of the cost."""


class Found(msgspec.Struct, frozen=True):
    """What the search came to."""

    solution: solver.Solution
    first: PurchasePlan | None = None
    """The plan made without a solver, for where the search was stopped before it had any."""


def search(
    rows: PurchaseRows,
    *,
    before: Sequence[Served] = (),
    cancel: Callable[[], bool] | None = None,
    time_limit: float | None = None,
    on_incumbent: Told | None = None,
    at_least: float = -math.inf,
) -> Found:
    """Solve rows whose objective is set; each better plan and bound is told.

    Args:
        rows: the order.
        before: what served the needs in the plan of much the same order, where there is one.
        cancel: polled all the time.
        time_limit: seconds for the proof, or None.
        on_incumbent: told each better plan and bound, never a worse one.
        at_least: what is known already that no plan costs less than: one that costs no more is proven.
    """
    model = rows.model
    tell = _Telling(on_incumbent)
    if len(model.columns) <= SMALL:
        watched = None if on_incumbent is None else tell.all
        return Found(solver.solve(model, cancel=cancel, time_limit=time_limit, on_incumbent=watched))
    loose = solver.relaxed(model, cancel=cancel)
    if loose.status is solver.Status.STOPPED:
        return Found(loose, first_plan(rows.problem, _leaning(before), cancel=cancel))
    if loose.status is not solver.Status.OPTIMAL:
        return Found(loose)
    tell.bound = math.ceil(loose.objective - 1e-6)
    first = _first(rows, loose, before, cancel)
    if first is not None:
        tell.plan(first.total)
    used = {offer for (_, offer), column in rows.served.items() if loose.values[column] > 1e-6}
    used |= {entry.offer for entry in (*before, *(first.served if first is not None else ()))}
    few = solver.solve(
        _only(rows, used),
        cancel=cancel,
        time_limit=FEW_OFFERS_LIMIT if time_limit is None else min(FEW_OFFERS_LIMIT, time_limit / 4),
        absolute_gap=max(solver.WHOLE_GAP, NEAR * abs(loose.objective)),
        on_incumbent=None if on_incumbent is None else lambda seen: tell.plan(seen.objective),
    )
    if few.status is solver.Status.OPTIMAL:
        tell.plan(few.objective)
        if few.objective < at_least + 0.5:
            return Found(few, first)
    found = solver.solve(
        model,
        cancel=cancel,
        time_limit=time_limit,
        on_incumbent=None if on_incumbent is None else tell.all,
        start=few.values,
    )
    if not found.found and few.found and found.status is solver.Status.STOPPED:
        found = msgspec.structs.replace(few, status=solver.Status.STOPPED, bound=loose.objective)
    elif found.status is solver.Status.STOPPED:
        found = msgspec.structs.replace(found, bound=max(found.bound, tell.bound))
    return Found(found, first)


def _first(
    rows: PurchaseRows, loose: solver.Solution, before: Sequence[Served], cancel: Callable[[], bool] | None
) -> PurchasePlan | None:
    """The better of the plans made from what the relaxed rows lean to and from the plan before."""
    leanings = [{pair: loose.values[column] for pair, column in rows.served.items() if loose.values[column] > 1e-6}]
    if before:
        leanings.append(_leaning(before))
    found = [first_plan(rows.problem, leaning, cancel=cancel) for leaning in leanings]
    return min((each for each in found if each is not None), key=lambda each: each.total, default=None)


def _leaning(served: Sequence[Served]) -> dict[tuple[str, str], float]:
    return {(entry.need, entry.offer): float(entry.pieces) for entry in served}


def _only(rows: PurchaseRows, used: set[str]) -> Model:
    """The same rows where nothing is bought of other offers, kept lines and offers that nobody needs apart."""
    model = Model()
    model.rows = rows.model.rows
    model.columns = list(rows.model.columns)
    served = {offer for _, offer in rows.served}
    for (_, offer), column in rows.served.items():
        if offer not in used:
            model.columns[column] = msgspec.structs.replace(model.columns[column], high=0.0)
    for offer, columns in rows.packs.items():
        if offer in served and offer not in used and offer not in rows.problem.keep:
            for column in columns:
                model.columns[column] = msgspec.structs.replace(model.columns[column], high=0.0)
    return model


class _Telling:
    """Passes on what is better than what was told before."""

    def __init__(self, on_incumbent: Told | None) -> None:
        self._tell = on_incumbent
        self.best = math.inf
        self.bound = -math.inf

    def plan(self, objective: float) -> None:
        """A plan was found."""
        self.all(solver.Incumbent(objective, self.bound))

    def all(self, seen: solver.Incumbent) -> None:
        """A plan and a bound, or one of them."""
        if seen.objective < self.best or seen.bound > self.bound:
            self.best = min(self.best, seen.objective)
            self.bound = max(self.bound, min(seen.bound, self.best))
            if self._tell is not None and math.isfinite(self.best):
                self._tell(solver.Incumbent(self.best, self.bound))
