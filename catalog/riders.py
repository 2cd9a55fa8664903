"""What rides along in an order, and at what marginal cost: the order with it against the best order without it.

A wish or spares share the postage and the price steps of everything else, so neither a price nor a share of the postage
says what they cost: only two whole orders do.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import msgspec

from catalog.purchase import Stopped, plan
from catalog.purchase_data import OrderUnit, PlanStatus

if TYPE_CHECKING:
    from collections.abc import Callable

    from catalog.purchase_data import Need, PurchasePlan, PurchaseProblem


class Rider(msgspec.Struct, frozen=True, kw_only=True):
    """One need that may be left. Amounts in minor units."""

    need: str
    pieces: int
    """Taken by the plan; 0 for one that is left."""
    worth: int
    """What the pieces taken are worth; of one that is left, what all of them would be."""
    costs: int | None
    """How much dearer the order is with the pieces taken than the best one without any; of one that is left, with all
    of them. None where they cannot be had."""


def riders(
    problem: PurchaseProblem, best: PurchasePlan, *, cancel: Callable[[], bool] | None = None
) -> tuple[Rider, ...]:
    """Every need of `problem` that may be left, in its order; `best` is its proven plan.

    Raises:
        Stopped: cancelled before everything was proven.
    """
    return tuple(_rider(problem, best, need, cancel) for need in problem.needs if need.spare)


def _rider(problem: PurchaseProblem, best: PurchasePlan, need: Need, cancel: Callable[[], bool] | None) -> Rider:
    taken = sum(entry.pieces for entry in best.served if entry.need == need.id)
    rest = tuple(each for each in problem.needs if each is not need)
    if taken:
        worth = sum(need.worths[:taken])
        without = _proven(msgspec.structs.replace(problem, needs=rest), best, cancel)
        # what was bought for others may serve it for nothing, so the others' best order is never dearer
        costs = None if without is None else best.total + worth - without.total
        return Rider(need=need.id, pieces=taken, worth=worth, costs=costs)
    # nobody waits for spares: at its own unit with wait it would be charged for
    deadline = next(unit.deadline_day for unit in problem.units if unit.id == need.unit)
    alone = OrderUnit(id=f"{need.id}\0alone", deadline_day=deadline)
    wanted = msgspec.structs.replace(need, unit=alone.id, worths=(), whole=False)
    needs, units = (*rest, wanted), (*problem.units, alone)
    forced = _proven(msgspec.structs.replace(problem, needs=needs, units=units), best, cancel)
    return Rider(
        need=need.id,
        pieces=0,
        worth=sum(need.worths),
        costs=None if forced is None else forced.total - best.total,
    )


def _proven(problem: PurchaseProblem, before: PurchasePlan, cancel: Callable[[], bool] | None) -> PurchasePlan | None:
    """The proven plan; None where there is none."""
    found = plan(problem, before=before, cancel=cancel)
    if found.status is PlanStatus.STOPPED:
        raise Stopped("stopped before it was proven")
    return found if found.found else None
