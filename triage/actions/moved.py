"""How the decisions on a lot moved since the person last looked, kept until they say that they have seen it.

What was seen and what the last plan decided follow from the rest: both are kept as settings without an event.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import msgspec

from catalog.database import writing
from triage import store
from triage.actions.history import history, newest
from triage.bench_file import BenchFile
from triage.moved import Change, Decided, Move, moves, why

if TYPE_CHECKING:
    from triage.actions.lot_view import LotView, UnitRow
    from triage.actions.plan_view import PlannedLine, PlannedUnit

SEEN = "lot_seen"
"""Setting: {lot: {event: the newest then, units: {unit: [pile, value]}}}."""
PLANNED = "lot_planned"
"""Setting: {lot: {unit: [pile by its own sums, pile by the plan, value in the plan, units its parts serve …]}}."""
_LOOKED_THROUGH = 400
"""Events looked through for what was done since."""


class MovedUnit(msgspec.Struct, frozen=True):
    """One unit that is meant for something else than when the person last looked."""

    move: Move
    why: str
    """What was done since, in one line."""


class Standing(msgspec.Struct, frozen=True):
    """How the decisions stand, and how they moved."""

    decided: dict[int, Decided]
    as_of: int
    """The newest event that they follow from."""
    moved: tuple[MovedUnit, ...]
    unrecorded: bool
    """Whether there are units that nobody has looked at yet."""


def keep_planned(bench: BenchFile, lot: int, units: Sequence[PlannedUnit], donors: Sequence[PlannedLine] = ()) -> None:
    """Keep what a plan decided, and which units the parts of its `donors` serve."""
    serves: dict[int | None, set[int]] = {}
    for line in donors:
        serves.setdefault(line.donor, set()).update(line.units)
    held = _settings(bench, PLANNED)
    mine = {
        str(unit.number): [unit.by_sums, unit.pile, round(unit.value, 2), *sorted(serves.get(unit.number, ()))]
        for unit in units
        if not unit.by_hand
    }
    if held.get(str(lot)) != mine:
        with writing(bench.database):
            store.keep_derived(bench.database, PLANNED, {**_settings(bench, PLANNED), str(lot): mine})


def standing(bench: BenchFile, lot: int, rows: Sequence[UnitRow]) -> Standing:
    """The decisions of a lot's units: by their own sums, or by the last plan where it still follows from those."""
    planned = _settings(bench, PLANNED).get(str(lot), {})
    decided: dict[int, Decided] = {}
    by_plan: dict[int, Sequence[int]] = {}
    by_hand = {row.number for row in rows if row.by_hand}
    for row in rows:
        own, pile, value, *serves = planned.get(str(row.number), [row.pile, row.pile, row.value])
        if own == row.pile and pile != own and not row.by_hand and not row.fixed:
            decided[row.number] = Decided(pile, value)
            by_plan[row.number] = serves
        else:
            decided[row.number] = Decided(row.pile, row.value)
    seen = _settings(bench, SEEN).get(str(lot), {"event": 0, "units": {}})
    before = {int(unit): Decided(*entry) for unit, entry in seen["units"].items()}
    found = [move for move in moves(before, decided) if move.unit not in by_hand]  # the person knows of those
    changes = _since(bench, int(seen["event"])) if found else []
    return Standing(
        decided=decided,
        as_of=newest(bench),
        moved=tuple(
            MovedUnit(move, why(move.unit, changes, by_plan=move.unit in by_plan, serves=by_plan.get(move.unit, ())))
            for move in found
        ),
        unrecorded=not set(decided) <= set(before),
    )


def mark_seen(bench: BenchFile, view: LotView) -> None:
    """The person has seen how the decisions of a lot stand: only what moves from now on is told."""
    _keep(bench, view.lot.id, view.standing.as_of, view.standing.decided)


def note_new(bench: BenchFile, view: LotView) -> None:
    """Units that nobody has looked at yet count as seen as they stand; the others stay."""
    held = _settings(bench, SEEN).get(str(view.lot.id))
    if held is None:
        mark_seen(bench, view)
        return
    before = {int(unit): Decided(*entry) for unit, entry in held["units"].items()}
    _keep(bench, view.lot.id, int(held["event"]), {**view.standing.decided, **before})


def _keep(bench: BenchFile, lot: int, event: int, decided: Mapping[int, Decided]) -> None:
    units = {str(unit): [one.pile, round(one.value, 2)] for unit, one in sorted(decided.items())}
    with writing(bench.database):
        held = _settings(bench, SEEN)
        store.keep_derived(bench.database, SEEN, {**held, str(lot): {"event": event, "units": units}})


def _settings(bench: BenchFile, name: str) -> dict[str, Any]:
    held = store.settings(bench.database).get(name, {})
    return dict(held)


def _since(bench: BenchFile, event: int) -> list[Change]:
    return [Change(one.unit, one.summary) for one in history(bench, limit=_LOOKED_THROUGH) if one.id > event]
