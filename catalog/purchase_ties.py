"""Of plans that cost the same, the one whose pieces fit better: grades settle what cents leave open.

The same rows once more: the cost may not rise, and what counts is by how many grades the pieces fall short of the best
that their need could have. Only what those needs can touch is open where the order is large; the rest stays.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

import msgspec

from catalog.model import Model
from catalog.purchase_rows import PurchaseRows, usable
from catalog.reprice import reprice
from catalog.rules import Grade

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Mapping

    from catalog.purchase_data import Need, PurchaseProblem, Served

    Short = dict[tuple[str, str], int]
    """{(need, offer): by how many grades a piece falls short of the best the need could have}"""

ALL_OPEN = 400
"""Columns up to which everything may change places."""


def better_fits(
    problem: PurchaseProblem,
    packs: Mapping[str, int],
    served: Iterable[Served],
    *,
    fixed: Collection[str] = (),
    same_days: bool = False,
    cancel: Callable[[], bool] | None = None,
) -> tuple[dict[str, int], tuple[Served, ...]]:
    """A plan of the same cost with the best grades; the same one where it has them already.

    Spares stay as many as they are.

    Args:
        problem: the order.
        packs: {offer: packs} of the plan.
        served: its pieces by need and offer.
        fixed: offers that stay as they are, such as a donor's, whose pieces are counted elsewhere too.
        same_days: no unit may be ready later, and no need take more extra work, than in the plan; days are not weighed
            against money.
        cancel: polled; true leaves the plan as it is.
    """
    as_it_was = dict(packs), tuple(served)
    short = _short(problem)
    missed = {entry.need for entry in as_it_was[1] if entry.offer not in fixed and short[entry.need, entry.offer]}
    if not missed:
        return as_it_was
    held = [entry for entry in as_it_was[1] if entry.offer in fixed]
    rest = [entry for entry in as_it_was[1] if entry.offer not in fixed]
    left = {offer: count for offer, count in packs.items() if offer not in fixed}
    smaller = _without(problem, fixed, rest, same_days=same_days)
    found = _solved(smaller, left, rest, missed, same_work=same_days, cancel=cancel)
    if found is None:
        return as_it_was
    return {**{o: n for o, n in packs.items() if o in fixed}, **found[0]}, (*held, *found[1])


def _short(problem: PurchaseProblem) -> Short:
    found: Short = {}
    for need in problem.needs:
        ranks = {offer.id: Grade(accept.grade).rank for offer, accept in usable(problem, need)}
        best = min(ranks.values(), default=0)
        found.update({(need.id, offer): rank - best for offer, rank in ranks.items()})
    return found


def _without(
    problem: PurchaseProblem, fixed: Collection[str], rest: Iterable[Served], *, same_days: bool
) -> PurchaseProblem:
    """The needs as far as they are met from other than `fixed`, and, if asked, no day of a unit later."""
    pieces: dict[str, int] = defaultdict(int)
    for entry in rest:
        pieces[entry.need] += entry.pieces
    lead = {supplier.id: supplier.lead_days for supplier in problem.suppliers}
    day = {offer.id: lead[offer.supplier] for offer in problem.offers}
    waits_for = {need.id: ("", need.id) if need.spare else ("unit", need.unit) for need in problem.needs}
    ready: dict[tuple[str, str], int] = defaultdict(int)
    for entry in rest:
        ready[waits_for[entry.need]] = max(ready[waits_for[entry.need]], day[entry.offer])

    def smaller(need: Need) -> Need:
        count = pieces[need.id]
        latest = ready[waits_for[need.id]]
        late = {offer.id for offer, _ in usable(problem, need) if day[offer.id] > latest} if same_days else set()
        return msgspec.structs.replace(need, pieces=count, worths=need.worths[:count], not_from=need.not_from | late)

    units = problem.units
    if same_days:
        units = tuple(msgspec.structs.replace(unit, wait_per_day=0) for unit in units)
    return msgspec.structs.replace(
        problem,
        offers=tuple(offer for offer in problem.offers if offer.id not in fixed),
        needs=tuple(smaller(need) for need in problem.needs if pieces[need.id]),
        units=units,
    )


def _solved(
    problem: PurchaseProblem,
    packs: Mapping[str, int],
    served: list[Served],
    missed: Collection[str],
    *,
    same_work: bool,
    cancel: Callable[[], bool] | None,
) -> tuple[dict[str, int], tuple[Served, ...]] | None:
    """The plan with the best grades at no higher cost, and with no more work if asked; None where none is better."""
    from catalog import solver  # noqa: PLC0415 - loads the solver only when something is solved

    model, short = Model(), _short(problem)
    rows = PurchaseRows(model, problem)
    cost = reprice(problem, packs, served).total
    model.row(rows.spent + rows.rework + rows.spares + rows.waiting, high=cost, name="the same cost")
    for need in problem.needs:
        if need.spare:
            mine = [(column, 1.0) for (name, _), column in rows.served.items() if name == need.id]
            model.row(mine, need.pieces, need.pieces, name=f"{need.id}: as many spares")
        if same_work:
            work = {offer.id: accept.rework_minutes for offer, accept in usable(problem, need)}
            most = sum(work[entry.offer] * entry.pieces for entry in served if entry.need == need.id)
            terms = [(rows.served[need.id, offer], float(minutes)) for offer, minutes in work.items() if minutes]
            model.row(terms, high=most, name=f"{need.id}: no more extra work")
    if len(model.columns) > ALL_OPEN:
        _close(rows, packs, served, _touched(problem, missed))
    rows.minimise([(column, float(short[pair])) for pair, column in rows.served.items()])
    for column in rows.served.values():
        model.columns[column] = msgspec.structs.replace(model.columns[column], whole=True)
    solution = solver.solve(model, cancel=cancel)
    now = sum(short[entry.need, entry.offer] * entry.pieces for entry in served)
    if not solution.found or solution.objective > now - 0.5:
        return None
    return rows.read(solution.values)


def _touched(problem: PurchaseProblem, missed: Collection[str]) -> set[str]:
    """The needs that share an offer with one that could fit better, those included."""
    ways = {need.id: {offer.id for offer, _ in usable(problem, need)} for need in problem.needs}
    reached = set[str]().union(*(ways[name] for name in missed))
    return {name for name, offers in ways.items() if offers & reached}


def _close(rows: PurchaseRows, packs: Mapping[str, int], served: list[Served], touched: Collection[str]) -> None:
    """Hold all pieces and packs that no touched need can use."""
    columns = rows.model.columns
    pieces: dict[tuple[str, str], int] = defaultdict(int)
    for entry in served:
        pieces[entry.need, entry.offer] += entry.pieces
    open_offers = {offer for need, offer in rows.served if need in touched}
    for (need, offer), column in rows.served.items():
        if need not in touched:
            count = float(pieces[need, offer])
            columns[column] = msgspec.structs.replace(columns[column], low=count, high=count)
    for offer, ranges in rows.packs.items():
        if offer not in open_offers and packs.get(offer, 0) == 0:
            for column in ranges:
                columns[column] = msgspec.structs.replace(columns[column], high=0.0)
