"""Words for what was seen and done on a unit, one line a happening."""

from __future__ import annotations

from msgspec.json import decode

from triage.device_classes.schema import Check, DeviceClass
from triage.lot import Happening
from triage.own_faults import OwnFault
from triage.path_evidence import point_named
from triage.swaps import swap_seen

_WORDS = {"cant_tell": "can't tell", "not_tested": "not now", "does_not_apply": "does not apply"}

PROBED_WORDS = {"there": "signal", "weak": "weak signal", "gone": "no signal", "cant_tell": "can't tell"}
"""What was seen at a test point, in words."""


def told(device_class: DeviceClass, item: Happening) -> str:
    """One happening in words; what the class does not know (any more) is told by its name."""
    if item.kind in {"answer", "reading"}:
        return _answered(device_class, item)
    if item.kind in {"probe", "swap"}:
        return _probed(device_class, item) if item.kind == "probe" else _swapped(device_class, item)
    if item.kind in {"repair", "found", "own_fault"}:
        return _of_faults(device_class, item)
    if item.kind == "lift":
        names = {part.id: part.name for part in device_class.parts}
        did = {"out": "taken out", "exchanged": "exchanged for the proper one"}.get(item.answer, "put back")
        return f"{did}: {item.value or 0:g} × {names.get(item.subject, item.subject)}" + (
            f" ({item.raw})" if item.raw else ""
        )
    questions = {hazard.id: hazard.question for hazard in device_class.hazards}
    names = {condition.id: condition.name for condition in device_class.conditions}
    plain = {
        "hazard": f"{questions.get(item.subject, item.subject)} {item.answer}",
        "release": f"confirmed: {item.answer}",
        "condition": f"{names.get(item.subject, item.subject)}: {item.answer}",
        "case": f"case {item.answer}",
    }
    return plain.get(item.kind, f"note: {item.raw}")


def _probed(device_class: DeviceClass, item: Happening) -> str:
    named = point_named(device_class, item.subject)
    at = f"{named[0].name}, {named[0].points[named[1]].at}" if named is not None else item.subject
    return f"{at}: {PROBED_WORDS.get(item.answer, item.answer)}"


def _swapped(device_class: DeviceClass, item: Happening) -> str:
    seen = swap_seen(device_class, item)
    if seen is None:
        return f"swap test with unit {item.value or 0:g}: {item.subject}"
    part, question = device_class.part(seen.part).name, device_class.check(seen.check).question
    done = f"swap test, its {part} in unit {item.value or 0:g}"
    if seen.side == "borrowed":
        done = f"swap test, with the {part} of unit {item.value or 0:g}"
    return f"{done}: {question} {_WORDS.get(item.answer, item.answer)}"


def _of_faults(device_class: DeviceClass, item: Happening) -> str:
    known = {fault.id: fault.what for fault in device_class.faults}
    what = ", ".join(known.get(name, name) for name in item.subject.split())
    if item.kind == "found":
        return f"found: {what or 'nothing wrong with it'}"
    if item.kind == "own_fault":
        added = item.answer == "added"
        return f"a fault of your own: {decode(item.raw, type=OwnFault).what}" if added else f"taken off: {what}"
    return f"repaired: {what}" + (f" ({item.raw})" if item.raw else "")


def judged(item: Happening) -> str:
    """Whether an answer was the good one, in a few words; empty where it says neither."""
    if item.kind not in {"answer", "reading"}:
        return ""
    return {"good": "as it should be", "bad": "not as it should be"}.get(item.answer, "")


def _answered(device_class: DeviceClass, item: Happening) -> str:
    check = next((check for check in device_class.checks if check.id == item.subject), None)
    if check is None:
        return f"{item.subject} {_WORDS.get(item.answer, item.answer)}"
    question = _told_apart(device_class, check)
    if item.kind == "reading":
        return f"{question} {item.raw} ({item.answer})"
    if item.answer in {"good", "bad"} and check.good != "reading":
        said = check.good if item.answer == "good" else {"yes": "no", "no": "yes"}[check.good]
        return f"{question} {said} ({item.answer})"
    return f"{question} {_WORDS.get(item.answer, item.answer)}"


def _told_apart(device_class: DeviceClass, check: Check) -> str:
    """The question, with what was done where another check of the class asks the same."""
    same = sum(other.question == check.question for other in device_class.checks)
    return check.question if same == 1 else f"{check.do} {check.question}"
