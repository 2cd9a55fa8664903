"""Studies of units on the open bench file, kept between keystrokes as long as their facts are the same."""

from __future__ import annotations

import msgspec

from catalog.money import digits
from catalog.text import Refused
from triage import store
from triage.absent import absent_looks, without_absent
from triage.actions.learned import learned_class
from triage.actions.units import get_unit
from triage.bench_file import BenchFile
from triage.device_classes.schema import DeviceClass
from triage.lot import Unit
from triage.own_faults import with_own_faults
from triage.own_paths import with_own_paths
from triage.person import person_of
from triage.plans import Case
from triage.study import Facts, Study, case_for, study

_KEPT = 400


def study_of(bench: BenchFile, number: int) -> Study:
    """The study of one unit.

    Raises:
        Refused: there is no such unit, or its class is still in doubt.
    """
    return study_unit(bench, get_unit(bench, number))


def study_unit(bench: BenchFile, unit: Unit) -> Study:
    """The same for a unit already loaded."""
    return _kept(bench, *_facts(bench, unit))


def plain_study(bench: BenchFile, unit: Unit) -> Study:
    """The study as if bench minutes were not scarce: what the plan of the lot starts from."""
    device_class, facts = _facts(bench, unit)
    return _kept(bench, device_class, msgspec.structs.replace(facts, lot_minute=0.0))


def _kept(bench: BenchFile, device_class: DeviceClass, facts: Facts) -> Study:
    kept: dict[tuple[int, float], Study] = bench.studies
    key = facts.unit.number, facts.lot_minute
    held = kept.get(key)
    if held is not None and held.facts == facts and held.device_class == device_class:
        return held
    found = study(device_class, facts, held.network if held is not None else None)
    if len(kept) >= _KEPT:
        kept.clear()
    kept[key] = found
    return found


def case_of_unit(bench: BenchFile, number: int) -> Case:
    """How a unit stands, without reckoning any chances: quick.

    Raises:
        Refused: as `study_of`.
    """
    return case_for(*_facts(bench, get_unit(bench, number)))


def _facts(bench: BenchFile, unit: Unit) -> tuple[DeviceClass, Facts]:
    device_class = class_of_unit(bench, unit)
    if device_class is None:
        raise Refused("it is not settled yet what this is; choose its class first", where=f"unit {unit.number}")
    settings = store.settings(bench.database)
    person = person_of(settings)
    happenings = tuple(store.happenings(bench.database, unit.number))
    minor = 10 ** digits(person.currency)
    facts = Facts(
        unit=unit,
        happenings=happenings,
        person=person,
        minor=minor,
        day_fall=store.price_fall(bench.database, unit.lot) / 7,
        lot_minute=store.lot_minutes(settings).get(unit.lot, 0.0),
    )
    applying = without_absent(device_class, absent_looks(happenings))
    return with_own_faults(applying, happenings, minor), facts


def class_of_unit(bench: BenchFile, unit: Unit) -> DeviceClass | None:
    """The class of a unit with what was learned and the person's own signal paths; None while it is in doubt."""
    if unit.device_class not in bench.classes:
        return None
    own = [own for own in store.own_paths(bench.database) if own.serves(unit.device_class, unit.model)]
    learned = learned_class(bench, unit)
    return with_own_paths(learned, own) if own else learned
