"""The device class that a unit is studied with: the file's numbers, moved by the findings of other units."""

from __future__ import annotations

from triage import store
from triage.bench_file import BenchFile
from triage.device_classes.schema import DeviceClass
from triage.findings import Closed, closed_unit
from triage.learning import learn, with_learned
from triage.lot import Unit, model_form
from triage.model_sheets import sheet_of, stated_faults

LEARNED_SINCE = "learned_since"
"""Setting: {class id: moment}; findings said before it are not learned from any more."""


def learned_class(bench: BenchFile, unit: Unit) -> DeviceClass:
    """The class of a unit with what was learned of its class and model; the file's own where nothing was.

    What was found of the unit itself says nothing new about it and is left out.
    """
    device_class = bench.classes[unit.device_class]
    numbers = store.found_units(bench.database, device_class.id)
    model = model_form(unit.model)
    stated = stated_faults(sheet_of(store.model_lines(bench.database, device_class.id), device_class.id, model))
    if not numbers and not stated:
        return device_class
    key = (device_class.id, model, unit.number if unit.number in numbers else 0)
    latest = store.latest_event(bench.database, numbers)
    rests_on = (device_class, tuple(numbers), latest, since(bench, device_class.id), stated)
    held = bench.learned.get(key)
    if held is None or held[0] != rests_on:
        others = [one for one in closed_units(bench, device_class) if one.unit != unit.number]
        held = (rests_on, with_learned(device_class, learn(device_class, others, model=model, stated=stated)))
        bench.learned[key] = held
    return held[1]


def closed_units(bench: BenchFile, device_class: DeviceClass) -> list[Closed]:
    """Units of a class with a finding that counts, in the order of their findings."""
    units = {unit.number: unit for unit in store.units(bench.database)}
    made = []
    for number in store.found_units(bench.database, device_class.id):
        happenings = store.happenings(bench.database, number)
        latest = max(item.at for item in happenings if item.kind == "found")
        one = closed_unit(device_class, units[number], happenings) if latest >= since(bench, device_class.id) else None
        if one is not None:
            made.append(one)
    return made


def since(bench: BenchFile, class_id: str) -> str:
    """The moment from which findings of a class count; empty for all."""
    return str(store.settings(bench.database).get(LEARNED_SINCE, {}).get(class_id, ""))
