"""What a class file must keep to beyond its form: references that resolve, numbers in range, no fault left unfindable.

`slips` yields (key path, problem) pairs, the first of which a loader refuses the file for. Pure.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import msgspec

from catalog.spec import KINDS
from triage.device_classes.schema import Check, DeviceClass, Hazard, Path, ReadingLimits

Slip = tuple[str, str]

SHARES_WITHIN = 0.005
"""How far the shares of a class may be from 1: they are stated to two places."""
CONDITIONS_AT_MOST = 3
"""Conditions are summed exactly outside the posterior, which doubles its work with each."""
IS_FOR = 0.6
"""A check is meant for the faults that it shows at least this often."""
GATE_SHUT = 0.2
"""A gate that is open less often than this under a fault hides that fault."""
FOUND = 0.3
"""A fault counts as found when some check shows it at least this often, its gates included."""

_ID = re.compile(r"[a-z][a-z0-9_]{0,39}\Z")
_CHANCES = {"share", "prior", "success", "sell_chance", "leak", "persistence", "flip", "as_is_ratio"}
_MAY_BE_NEGATIVE = {"low", "high", "nominal"}
_LISTS = ("functions", "parts", "faults", "checks", "symptoms", "hazards", "conditions", "paths", "setups")


def slips(device_class: DeviceClass) -> Iterator[Slip]:
    """Every slip of a class as (key path, what is wrong and what was expected).

    What takes the whole class to see (gates in a ring, faults out of reach) is looked at once the rest is right.
    """
    plain = list(_plain(device_class))
    yield from plain
    if not plain:
        tangled = list(_cycles(device_class))
        yield from tangled or _hidden(device_class)


def _plain(device_class: DeviceClass) -> Iterator[Slip]:
    yield from _names(device_class)
    yield from _numbers(device_class, "")
    yield from _parts_and_faults(device_class)
    for check in device_class.checks:
        yield from _check(check, device_class)
    for hazard in device_class.hazards:
        yield from _hazard(hazard, f"hazards[{hazard.id}]")
    yield from _conditions_and_symptoms(device_class)
    for path in device_class.paths:
        yield from _path(path, device_class)


def gates_open(device_class: DeviceClass, check: Check, fault_id: str) -> float:
    """Chance that every gate of `check`, and every gate of those, is open when only `fault_id` is present."""
    chance = 1.0
    waiting, seen = list(check.gate), set[str]()
    while waiting:
        gate = waiting.pop()
        if gate in seen:
            continue
        seen.add(gate)
        before = device_class.check(gate.removesuffix(" failed"))
        good = (1 - before.leak) * (1 - before.fails.get(fault_id, 0.0))
        chance *= 1 - good if gate.endswith(" failed") else good
        waiting.extend(before.gate)
    return chance


def _names(device_class: DeviceClass) -> Iterator[Slip]:
    yield from _id(device_class.id, "id")
    for group in _LISTS:
        items: Sequence[Any] = getattr(device_class, group)
        ids = [item.id for item in items]
        for item in items:
            yield from _id(item.id, f"{group}[{item.id}].id")
        for repeated in _repeats(ids):
            yield f"{group}[{repeated}].id", "this id is used twice; ids are unique"
    for group in ("functions", "faults", "checks"):
        if not getattr(device_class, group):
            yield group, "is empty; a class has at least one"
    if not device_class.words or "" in device_class.words:
        yield "words", "state the words that people use for it, none empty"


def _id(stated: str, place: str) -> Iterator[Slip]:
    if not _ID.match(stated):
        yield place, "an id is a to z, digits and _, at most 40 characters, starting with a letter"


def _numbers(item: msgspec.Struct, place: str) -> Iterator[Slip]:
    """Numbers, texts and origins of a table and of the tables in it, by the meaning that their names carry."""
    for name in item.__struct_fields__:
        value = getattr(item, name)
        key = f"{place}.{name}" if place else name
        if isinstance(value, float | int) and not isinstance(value, bool):
            yield from _number(name, value, key)
        elif name in {"name", "what", "question", "do", "source", "at", "unit"} and value == "":
            yield key, "is empty; say it in plain words"
        elif name == "origins":
            for field in value:
                if field not in item.__struct_fields__ or field in {"id", "origin", "origins"}:
                    yield f"{key}.{field}", "names no field of this table"
        elif name in {"fails", "raises"}:
            for fault, strength in value.items():
                yield from _number("share", strength, f"{key}.{fault}")
        elif isinstance(value, msgspec.Struct):
            yield from _numbers(value, key)
        elif isinstance(value, tuple) and value and isinstance(value[0], msgspec.Struct):
            for inner in value:
                yield from _numbers(inner, f"{key}[{inner.id}]")


def _number(name: str, value: float, place: str) -> Iterator[Slip]:
    if not math.isfinite(value):
        yield place, f"{value} is not a number to reckon with"
    elif name in _CHANCES and not 0 <= value <= 1:
        yield place, f"{value:g} is not a chance; expected 0 to 1"
    elif value < 0 and name not in _MAY_BE_NEGATIVE:
        yield place, f"{value:g} is below 0; minutes, costs and counts are not"


def _parts_and_faults(device_class: DeviceClass) -> Iterator[Slip]:
    for part in device_class.parts:
        place = f"parts[{part.id}]"
        if part.kind not in KINDS:
            yield f"{place}.kind", f"{part.kind} is no kind of part; one of {', '.join(KINDS)}"
        if part.pieces < 1:
            yield f"{place}.pieces", "expected 1 or more"
        if part.consumable and (part.resale or part.sell_chance or part.harvest_minutes):
            yield f"{place}.consumable", "what is used up is not taken from a donor: no resale, sell_chance, minutes"
    for fault in device_class.faults:
        place = f"faults[{fault.id}]"
        yield from _unknown(fault.needs, device_class.parts, f"{place}.needs", "part")
        yield from _unknown(fault.lies_in, device_class.parts, f"{place}.lies_in", "part")
        if fault.share is None and fault.prior is None:
            yield f"{place}.share", "state share or prior"
        if not 1 <= fault.skill <= 4:
            yield f"{place}.skill", f"{fault.skill} is no skill; expected 1 to 4"
        if fault.repairable != (fault.success > 0):
            yield f"{place}.success", "above 0 where the fault is repairable, 0 where it is not"
    shares = [fault.share for fault in device_class.faults if fault.share is not None]
    if shares and abs(math.fsum(shares) - 1) > SHARES_WITHIN:
        yield "faults", f"the shares sum to {math.fsum(shares):.4g}; expected 1"


def _check(check: Check, device_class: DeviceClass) -> Iterator[Slip]:
    place = f"checks[{check.id}]"
    if check.money and not check.fails:
        yield f"{place}.fails", "names no fault; a check outside the money ranking says money = false"
    yield from _unknown(check.fails, device_class.faults, f"{place}.fails", "fault")
    yield from _unknown(check.cures, device_class.faults, f"{place}.cures", "fault")
    yield from _unknown(
        [gate.removesuffix(" failed") for gate in check.gate], device_class.checks, f"{place}.gate", "check"
    )
    for field, stated, among in (
        ("setup", check.setup, device_class.setups),
        ("function", check.function, device_class.functions),
    ):
        yield from _unknown([stated] if stated else [], among, f"{place}.{field}", field)
    if check.flip >= 0.5:
        yield f"{place}.flip", f"{check.flip:g} would make answers misleading; expected below 0.5"
    if (check.good == "reading") != (check.reading is not None):
        yield f"{place}.reading", 'good = "reading" and a reading go together; state both or neither'
    if check.reading is not None:
        yield from _limits(check.reading, f"{place}.reading")


def _limits(reading: ReadingLimits, place: str) -> Iterator[Slip]:
    window = (reading.low is not None, reading.high is not None)
    about = (reading.nominal is not None, reading.tolerance is not None)
    if (window, about) not in {((True, True), (False, False)), ((False, False), (True, True))}:
        yield place, "state low and high, or nominal and tolerance, and nothing of the other"
        return
    low, high = reading.limits()
    if low >= high:
        yield place, f"low {low:g} is not below high {high:g}"
    if reading.scale == "log" and low <= 0:
        yield f"{place}.scale", f"no log scale from {low:g}; a log scale needs a low above 0"
    if reading.range_high is not None and reading.range_high <= high:
        yield f"{place}.range_high", f"{reading.range_high:g} is not above the good readings (up to {high:g})"


def _hazard(hazard: Hazard, place: str) -> Iterator[Slip]:
    if not hazard.locks:
        yield f"{place}.locks", "locks nothing; a caution that holds nothing back goes to cautions"
    if not hazard.releases or "" in hazard.releases:
        yield f"{place}.releases", "state what releases it, in plain words"
    for action in hazard.trained:
        if action not in hazard.releases:
            yield f"{place}.trained.{action}", "is none of the releases"
    for action, freed in hazard.frees.items():
        if action not in hazard.releases:
            yield f"{place}.frees.{action}", "is none of the releases"
        for lock in freed:
            if lock not in hazard.locks:
                yield f"{place}.frees.{action}", f"{lock} is not locked by it"
    if hazard.allows_post == ("posting" in hazard.locks):
        yield f"{place}.allows_post", "true exactly where posting is not locked"


def _conditions_and_symptoms(device_class: DeviceClass) -> Iterator[Slip]:
    if len(device_class.conditions) > CONDITIONS_AT_MOST:
        yield "conditions", f"{len(device_class.conditions)} of them; at most {CONDITIONS_AT_MOST} a class"
    for condition in device_class.conditions:
        place = f"conditions[{condition.id}]"
        if not condition.raises:
            yield f"{place}.raises", "raises no fault"
        yield from _unknown(condition.raises, device_class.faults, f"{place}.raises", "fault")
    said: dict[str, str] = {}
    for symptom in device_class.symptoms:
        place = f"symptoms[{symptom.id}]"
        if not symptom.words or "" in symptom.words:
            yield f"{place}.words", "state the words that people use, none empty"
        if not symptom.checks:
            yield f"{place}.checks", "speaks to no check"
        yield from _unknown(symptom.checks, device_class.checks, f"{place}.checks", "check")
        for phrase in symptom.words:
            if said.setdefault(phrase, symptom.id) != symptom.id:
                yield f"{place}.words", f"{phrase} belongs to {said[phrase]} too"
    tested = {check.function for check in device_class.checks}
    for function in device_class.functions:
        if function.id not in tested:
            yield f"functions[{function.id}]", "no check has this function, so it could never be tested"


def _path(path: Path, device_class: DeviceClass) -> Iterator[Slip]:
    place = f"paths[{path.id}]"
    for repeated in _repeats([point.id for point in path.points]):
        yield f"{place}.points[{repeated}].id", "this id is used twice; ids are unique"
    for point in path.points:
        yield from _id(point.id, f"{place}.points[{point.id}].id")
        named = (point.check,) if point.check else ()
        yield from _unknown(named, device_class.checks, f"{place}.points[{point.id}].check", "check")
    if len(path.points) < 2 or len(path.between) != len(path.points) - 1:
        yield f"{place}.between", f"{len(path.between)} stretches for {len(path.points)} points; expected one fewer"
    for index, faults in enumerate(path.between):
        yield from _unknown(faults, device_class.faults, f"{place}.between[{index}]", "fault")
        if not faults:
            yield f"{place}.between[{index}]", "names no fault"
    yield from _unknown(path.before, device_class.faults, f"{place}.before", "fault")


def _cycles(device_class: DeviceClass) -> Iterator[Slip]:
    known = {check.id: [gate.removesuffix(" failed") for gate in check.gate] for check in device_class.checks}
    for start, gates in known.items():
        reached: set[str] = set()
        waiting = list(gates)
        while waiting:
            step = waiting.pop()
            if step not in reached:
                reached.add(step)
                waiting.extend(known[step])
        if start in reached:
            yield f"checks[{start}].gate", "waits for itself by way of its gates"


def _hidden(device_class: DeviceClass) -> Iterator[Slip]:
    found = dict.fromkeys((fault.id for fault in device_class.faults), 0.0)
    for check in device_class.checks:
        for fault, strength in check.fails.items():
            is_open = gates_open(device_class, check, fault)
            found[fault] = max(found[fault], strength * is_open)
            if strength >= IS_FOR and is_open < GATE_SHUT:
                yield (
                    f"checks[{check.id}].gate",
                    f"hides {fault}, which the check is for: open {is_open:.0%} of the time",
                )
    for fault, chance in found.items():
        if chance < FOUND:
            yield f"faults[{fault}]", f"no check that can be reached shows it often enough (best {chance:.0%})"


def _unknown(stated: Iterable[str], among: Sequence[Any], place: str, what: str) -> Iterator[Slip]:
    known = {item.id for item in among}
    keyed = isinstance(stated, Mapping)
    for each in stated:
        if each not in known:
            yield (f"{place}.{each}" if keyed else place), f"{each or 'an empty id'} is no {what} of this class"


def _repeats(ids: Sequence[str]) -> list[str]:
    return [each for each, times in Counter(ids).items() if times > 1]
