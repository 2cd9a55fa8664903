"""The same look down a list of units: which looks pay on several at once, and each unit's row in such a list.

Every answer is an event of its own (`looks.answer`); nothing here writes.
"""

from __future__ import annotations

from collections.abc import Callable

import msgspec

from catalog.text import Refused
from triage import store
from triage.actions.look_view import Look, look_of
from triage.actions.lots import get_lot
from triage.actions.studies import study_unit
from triage.bench_file import BenchFile
from triage.device_classes.schema import Hazard
from triage.lot import Unit
from triage.outlook import small_change
from triage.study import Study


class BatchUnit(msgspec.Struct, frozen=True):
    """One unit of which the look is open and pays."""

    unit: int
    model: str
    seen: str
    """What was reported of it."""
    gain: float
    """What the look is expected to bring over stopping now, minor units."""
    minutes: float
    ask_first: tuple[Hazard, ...]
    """Hazards to be asked about before the look may be taken."""
    first: bool
    """Whether it is the very look that is advised for the unit now."""


class Batch(msgspec.Struct, frozen=True):
    """One look and the units, by number, of which it is open and pays."""

    device_class: str
    class_name: str
    look: Look
    units: tuple[BatchUnit, ...]

    @property
    def gain(self) -> float:
        """What it is expected to bring on all of them, each for itself."""
        return sum(unit.gain for unit in self.units)


def batches(
    bench: BenchFile, lot_id: int | None = None, *, progress: Callable[[int, int], None] | None = None
) -> tuple[Batch, ...]:
    """Every look that pays on a unit of the lot with the units it pays on, what brings most together first.

    `progress` is told (units done, units in all). Raises `Refused` when there is no such lot.
    """
    lot = get_lot(bench, lot_id)
    units = [unit for unit in store.units(bench.database, lot.id) if unit.device_class in bench.classes]
    gathered: dict[tuple[str, str], tuple[Study, list[BatchUnit]]] = {}
    for place, unit in enumerate(units):
        found = study_unit(bench, unit)
        for row, check in _paying(found):
            gathered.setdefault((unit.device_class, check), (found, []))[1].append(row)
        if progress is not None:
            progress(place + 1, len(units))
    made = (_batch(check, *held) for (_, check), held in gathered.items())
    return tuple(sorted(made, key=lambda batch: -batch.gain))


def batch_of(
    bench: BenchFile,
    class_id: str,
    check_id: str,
    lot_id: int | None = None,
    *,
    progress: Callable[[int, int], None] | None = None,
) -> Batch:
    """One look with its units.

    Raises:
        Refused: there is no such lot, class or check, or it pays on no unit now.
    """
    if class_id not in bench.classes:
        raise Refused(f"there is no such class; known are {', '.join(bench.classes)}", where="class")
    if check_id not in {check.id for check in bench.classes[class_id].checks}:
        known = ", ".join(check.id for check in bench.classes[class_id].checks)
        raise Refused(f"class {class_id} has no such check; known are {known}", where="check")
    for batch in batches(bench, lot_id, progress=progress):
        if (batch.device_class, batch.look.check) == (class_id, check_id):
            return batch
    raise Refused("it is open and pays on no unit of this lot now", where=f"{class_id}.{check_id}")


def _paying(found: Study) -> list[tuple[BatchUnit, str]]:
    action = found.action
    if action is None or found.fixed.fixed:
        return []
    least = small_change(found.case)
    gains = {entry.check: entry.net_gain for entry in action.ranking if entry.net_gain > least}
    if action.action == "check" and action.check is not None:
        gains.setdefault(action.check, action.net_gain)
    rows = []
    for check_id, gain in gains.items():
        look = look_of(found, found.device_class.check(check_id))
        row = BatchUnit(
            unit=found.facts.unit.number,
            model=found.facts.unit.model,
            seen=_reported(found, found.facts.unit),
            gain=gain,
            minutes=look.minutes,
            ask_first=look.ask_first,
            first=action.check == check_id,
        )
        rows.append((row, check_id))
    return rows


def _batch(check_id: str, found: Study, rows: list[BatchUnit]) -> Batch:
    look = look_of(found, found.device_class.check(check_id))
    return Batch(found.device_class.id, found.device_class.name, look, tuple(rows))


def _reported(found: Study, unit: Unit) -> str:
    words = {symptom.id: symptom.words[0] for symptom in found.device_class.symptoms}
    return ", ".join(words[name] for name in unit.symptoms if name in words) or unit.note
