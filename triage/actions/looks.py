"""What is seen and done on a unit: answers, readings, repairs, hazards, and correcting an old answer.

Each writes one happening in one transaction before it returns. What was locked is refused here, not only hidden on a
screen.
"""

from __future__ import annotations

from typing import Literal

import msgspec

from catalog.text import Refused, clean_line
from triage import store
from triage.actions.findings import keep_forecast
from triage.actions.holding import ask_first, may_repair
from triage.actions.makeshift import wish_for
from triage.actions.promises import fit_parts, take_out
from triage.actions.studies import case_of_unit, class_of_unit
from triage.actions.telling import PROBED_WORDS
from triage.actions.units import get_unit
from triage.bench_file import BenchFile, in_one_transaction
from triage.device_classes.schema import Check, DeviceClass, Hazard
from triage.evidence import CORRECTABLE, Answer, measured
from triage.locks import locked_checks, opening_locked
from triage.lot import Happening
from triage.outlook import check_minutes
from triage.path_evidence import probed
from triage.plans import Case
from triage.typed_reading import TypedReading, typed_reading
from triage.worth import needed_parts, opens, repair_minutes

Pressed = Literal["yes", "no", "cant_tell", "not_now", "does_not_apply"]
PRESSED: dict[str, Pressed] = {
    "y": "yes",
    "yes": "yes",
    "n": "no",
    "no": "no",
    "c": "cant_tell",
    "cant_tell": "cant_tell",
    "s": "not_now",
    "not_now": "not_now",
    "x": "does_not_apply",
    "does_not_apply": "does_not_apply",
}
"""What may be pressed or typed for an answer."""

_SAID: dict[str, str] = {"cant_tell": "can't tell", "not_tested": "not now", "does_not_apply": "does not apply"}


@in_one_transaction
def answer(bench: BenchFile, number: int, check_id: str, said: str, *, minutes: float | None = None) -> Happening:
    """Answer a check by what was seen: yes, no, can't tell, not now, does not apply, or a reading such as `4k7`.

    Args:
        bench: the open bench file.
        number: the unit.
        check_id: the check.
        said: a word or key of `PRESSED`; good or bad; or a reading.
        minutes: what it took; None counts the minutes of the class file, nothing for `not now`.

    Raises:
        Refused: no such unit or check, it is locked, or the reading is no number.
    """
    device_class = _class_of(bench, number)
    check = _check_of(device_class, check_id, number)
    word = clean_line(said, 40).casefold().replace("'", "").replace(" ", "_")
    if word in PRESSED:
        seen = _answered(bench, number, check, _answer_of(check, PRESSED[word]), said)
        return _write(bench, check, seen, _word(seen.answer), minutes)
    if word in {"good", "bad"}:
        seen = _answered(bench, number, check, "good" if word == "good" else "bad", said)
        return _write(bench, check, seen, word, minutes)
    return reading(bench, number, check_id, said, minutes=minutes)


def reading(
    bench: BenchFile,
    number: int,
    check_id: str,
    text: str,
    *,
    against: float | None = None,
    minutes: float | None = None,
) -> Happening:
    """Note a measured value; `against` is the label or rail value it is divided by, where the check is relative.

    `o` (open, over range) and `dead` are readings too.

    Raises:
        Refused: no such check, it takes no reading, it is locked, or this is no number.
    """
    device_class = _class_of(bench, number)
    check = _check_of(device_class, check_id, number)
    if check.reading is None:
        raise Refused(
            f"“{clean_line(text, 40)}” is no answer here; expected y, n, c (can't tell) or s (not now)",
            where=f"unit {number}.{check_id}",
        )
    typed = _typed(text, f"unit {number}.{check_id}")
    value = _divided(typed, against, check, number)
    found = measured(check, value, typed.reads)
    shown = clean_line(text, 40) if typed.reads == "value" else typed.reads
    seen = Happening(0, number, bench.now(), "reading", check.id, found.answer, value, shown)
    return _write(bench, check, seen, f"{shown} {check.reading.unit}: {found.answer}", minutes)


@in_one_transaction
def repair(
    bench: BenchFile,
    number: int,
    faults: tuple[str, ...],
    *,
    note: str = "",
    minutes: float | None = None,
    parts: tuple[tuple[int, int], ...] = (),
    makeshift: str = "",
) -> Happening:
    """Note that a repair of these faults was done; the program will ask for the retest.

    What was set aside for it leaves the drawer in the same event. `parts` names other catalogue parts that were used,
    as (part id, pieces). What was used is told in the unit's history. What of it is makeshift goes on the later list:
    what its grade says, or `makeshift` in the person's words; `no` where it is proper after all.

    Raises:
        Refused: no such fault, it has no economic cure, opening is locked, or the drawer does not hold so many.
    """
    found = case_of_unit(bench, number)
    for fault_id in faults:
        try:
            fault = found.device_class.fault(fault_id)
        except KeyError:
            known = ", ".join(fault.id for fault in found.device_class.faults)
            raise Refused(f"no fault of that name; known are {known}", where=f"unit {number}.{fault_id}") from None
        if not fault.repairable:
            raise Refused("it has no economic cure; sell it or part it out", where=f"unit {number}.{fault_id}")
    if not faults:
        raise Refused("name what was repaired", where=f"unit {number}.repair")
    opening = opens(found.device_class, faults)
    may_repair(found, f"unit {number}.repair", opening=opening)
    spent = repair_minutes(found.device_class, faults, case_open=found.state.case_open) if minutes is None else minutes
    what = ", ".join(found.device_class.fault(fault_id).what for fault_id in faults)
    summary = f"unit {number}: repaired {what}"
    with bench.journal.event("repair", clean_line(summary, 200), at=bench.now(), unit=number) as recorder:
        keep_forecast(bench, recorder, number)
        if opening and not found.state.case_open:
            store.save(recorder, "happenings", Happening(0, number, bench.now(), "case", "", "opened"))
        named = {part_id for part_id, _ in parts}
        needed = needed_parts(found.device_class, faults)
        gone = fit_parts(bench, recorder, number, needed, named)
        used = [*map(str, gone), *(take_out(bench, recorder, part_id, pieces) for part_id, pieces in parts)]
        wish_for(bench, recorder, number, needed, gone=gone, named=parts, said=makeshift)
        told = clean_line("; ".join(filter(None, (note, f"used: {'; '.join(used)}" if used else ""))))
        done = Happening(0, number, bench.now(), "repair", " ".join(faults), "done", None, told, spent)
        row_id = store.save(recorder, "happenings", done)
    return msgspec.structs.replace(done, id=row_id)


@in_one_transaction
def hazard(bench: BenchFile, number: int, hazard_id: str, said: str) -> Happening:
    """Answer a hazard question: yes or no. A yes locks at once.

    Raises:
        Refused: no such hazard, neither yes nor no, or a no although powering has brought it back.
    """
    held = _hazard_of(_class_of(bench, number), hazard_id, number)
    word = PRESSED.get(clean_line(said, 10).casefold())
    if word not in {"yes", "no"}:
        raise Refused("expected yes or no; when in doubt, yes", where=f"unit {number}.{hazard_id}")
    if word == "no" and held.id in case_of_unit(bench, number).state.recharged:
        raise Refused(
            f"it was powered since; confirm what was done: {held.releases[0]}", where=f"unit {number}.{held.id}"
        )
    seen = Happening(0, number, bench.now(), "hazard", held.id, word, None, clean_line(said, 10))
    return _record(bench, number, "hazard", f"unit {number}: {held.question} {word}", seen)


def release(bench: BenchFile, number: int, hazard_id: str, action: str) -> Happening:
    """Confirm a named precaution of a hazard; it lifts what the class file says it lifts.

    Raises:
        Refused: the hazard does not know that action.
    """
    held = _hazard_of(_class_of(bench, number), hazard_id, number)
    if action not in held.releases:
        raise Refused(f"expected one of: {'; '.join(held.releases)}", where=f"unit {number}.{hazard_id}")
    done = Happening(0, number, bench.now(), "release", held.id, action)
    return _record(bench, number, "release", f"unit {number}: confirmed: {action}", done)


def condition(bench: BenchFile, number: int, condition_id: str, said: str) -> Happening:
    """Say whether a hidden cause holds: yes, no or unknown.

    Raises:
        Refused: no such condition, or another word.
    """
    known = {item.id: item for item in _class_of(bench, number).conditions}
    if condition_id not in known:
        raise Refused(f"known conditions: {', '.join(known) or 'none'}", where=f"unit {number}.{condition_id}")
    word = {"y": "yes", "n": "no", "c": "unknown"}.get(said, said)
    if word not in {"yes", "no", "unknown"}:
        raise Refused("expected yes, no or unknown", where=f"unit {number}.{condition_id}")
    seen = Happening(0, number, bench.now(), "condition", condition_id, word)
    return _record(bench, number, "condition", f"unit {number}: {known[condition_id].name}: {word}", seen)


@in_one_transaction
def case(bench: BenchFile, number: int, state: Literal["opened", "closed"]) -> Happening:
    """Say that the case was opened or closed.

    Raises:
        Refused: opening is locked by a hazard.
    """
    found = case_of_unit(bench, number)
    if state == "opened" and not found.state.case_open:
        why = opening_locked(found.device_class, found.state)
        if why:
            raise Refused(f"locked: {why}", where=f"unit {number}")
        ask_first(found, frozenset({"opened"}), f"unit {number}")
    seen = Happening(0, number, bench.now(), "case", "", state)
    return _record(bench, number, "case", f"unit {number}: case {state}", seen)


def turn_case(bench: BenchFile, number: int) -> Happening:
    """Open the case if it is closed, close it if it stands open; raises as `case`."""
    standing_open = case_of_unit(bench, number).state.case_open
    return case(bench, number, "closed" if standing_open else "opened")


def note(bench: BenchFile, number: int, text: str) -> Happening:
    """Keep a note in the unit's history: a screw map, which way round, where the bag is."""
    get_unit(bench, number)
    words = clean_line(text)
    if not words:
        raise Refused("type the note first", where=f"unit {number}.note")
    seen = Happening(0, number, bench.now(), "note", "", "", None, words)
    return _record(bench, number, "note", f"unit {number}: note: {words}", seen)


@in_one_transaction
def correct(bench: BenchFile, number: int, happening_id: int, said: str) -> Happening:
    """Correct an old answer or reading; the unit is replayed from there.

    Raises:
        Refused: no such answer on this unit, or the new one is not understood.
    """
    device_class = _class_of(bench, number)
    old = next((item for item in store.happenings(bench.database, number) if item.id == happening_id), None)
    if old is None or old.kind not in CORRECTABLE:
        raise Refused("there is no answer of that number on this unit", where=f"unit {number}")
    if old.kind == "probe":
        return _correct_probe(bench, old, said)
    check = _check_of(device_class, old.subject, number)
    word = clean_line(said, 40).casefold().replace("'", "").replace(" ", "_")
    if word in PRESSED or word in {"good", "bad"}:
        told = _answer_of(check, PRESSED[word]) if word in PRESSED else word
        new = msgspec.structs.replace(old, kind="answer", answer=told, value=None, raw=clean_line(said, 40))
    else:
        typed = _typed(said, f"unit {number}.{check.id}")
        value = _divided(typed, None, check, number)
        found = measured(check, value, typed.reads)
        raw = clean_line(said, 40) if typed.reads == "value" else typed.reads
        new = msgspec.structs.replace(old, kind="reading", answer=found.answer, value=value, raw=raw)
    if old.answer in {"not_tested", "does_not_apply"}:  # what was never looked at is looked at now
        _may_look(case_of_unit(bench, number), check, new.answer, number)
    summary = f"unit {number}: {check.id} corrected from {_word(old.answer)} to {_word(new.answer)}"
    with bench.journal.event("correct", summary, at=bench.now(), unit=number) as recorder:
        store.save(recorder, "happenings", new)
    return new


def _correct_probe(bench: BenchFile, old: Happening, said: str) -> Happening:
    where = f"unit {old.unit}.{old.subject}"
    new = msgspec.structs.replace(old, answer=probed(said, where), raw=clean_line(said, 40))
    words = PROBED_WORDS[old.answer], PROBED_WORDS[new.answer]
    summary = f"unit {old.unit}: {old.subject} corrected from {words[0]} to {words[1]}"
    with bench.journal.event("correct", summary, at=bench.now(), unit=old.unit) as recorder:
        store.save(recorder, "happenings", new)
    return new


def _answered(bench: BenchFile, number: int, check: Check, word: Answer, raw: str) -> Happening:
    return Happening(0, number, bench.now(), "answer", check.id, word, None, clean_line(raw, 40))


def _write(bench: BenchFile, check: Check, seen: Happening, word: str, minutes: float | None) -> Happening:
    number = seen.unit
    found = case_of_unit(bench, number)
    if minutes is None and seen.answer in {"not_tested", "does_not_apply"}:
        minutes = 0.0
    _may_look(found, check, seen.answer, number)
    spent = check_minutes(found, check) if minutes is None else minutes
    seen = msgspec.structs.replace(seen, minutes=spent)
    summary = f"unit {number}: {check.question} {word}"
    with bench.journal.event("answer", clean_line(summary, 200), at=bench.now(), unit=number) as recorder:
        if check.state == "opened" and not found.state.case_open and seen.answer in {"good", "bad", "cant_tell"}:
            store.save(recorder, "happenings", Happening(0, number, bench.now(), "case", "", "opened"))
        row_id = store.save(recorder, "happenings", seen)
    return msgspec.structs.replace(seen, id=row_id)


def _may_look(found: Case, check: Check, answer_word: str, number: int) -> None:
    """Refuse what safety or training holds back, and what a hazard not asked about yet could hold back."""
    if answer_word in {"not_tested", "does_not_apply"}:
        return
    where = f"unit {number}.{check.id}"
    locked = locked_checks(found.device_class, found.state, found.means, found.record)
    why = next((entry.why for entry in locked if entry.check == check.id and entry.hard), "")
    if why:
        raise Refused(f"locked: {why}", where=where)
    ask_first(found, check.held_by(), where, opening=check.state == "opened")


def _record(bench: BenchFile, number: int, action: str, summary: str, seen: Happening) -> Happening:
    with bench.journal.event(action, clean_line(summary, 200), at=bench.now(), unit=number) as recorder:
        row_id = store.save(recorder, "happenings", seen)
    return msgspec.structs.replace(seen, id=row_id)


def _answer_of(check: Check, pressed: Pressed) -> Answer:
    if pressed == "cant_tell":
        return "cant_tell"
    if pressed == "not_now":
        return "not_tested"
    if pressed == "does_not_apply":
        return "does_not_apply"
    good = "no" if check.good == "no" else "yes"
    return "good" if pressed == good else "bad"


def _class_of(bench: BenchFile, number: int) -> DeviceClass:
    device_class = class_of_unit(bench, get_unit(bench, number))
    if device_class is None:
        raise Refused("it is not settled yet what this is; choose its class first", where=f"unit {number}")
    return device_class


def _check_of(device_class: DeviceClass, check_id: str, number: int) -> Check:
    try:
        return device_class.check(check_id)
    except KeyError:
        known = ", ".join(check.id for check in device_class.checks)
        raise Refused(f"no check of that name; known are {known}", where=f"unit {number}.{check_id}") from None


def _hazard_of(device_class: DeviceClass, hazard_id: str, number: int) -> Hazard:
    for held in device_class.hazards:
        if held.id == hazard_id:
            return held
    known = ", ".join(held.id for held in device_class.hazards)
    raise Refused(f"no hazard of that name; known are {known or 'none'}", where=f"unit {number}.{hazard_id}")


def _typed(text: str, where: str) -> TypedReading:
    try:
        return typed_reading(text)
    except Refused as problem:
        raise Refused(problem.problem, where=where) from None


def _divided(typed: TypedReading, against: float | None, check: Check, number: int) -> float | None:
    """The number that is kept: divided by the label or rail value where the check is relative to one."""
    relative = check.reading.relative_to if check.reading else ""
    where = f"unit {number}.{check.id}"
    against = typed.against if typed.against is not None else against
    if not relative:
        if typed.against is not None:
            raise Refused("this reading stands alone; type it without a slash", where=where)
        return typed.value
    if typed.value is None:
        return None
    if against is None:
        raise Refused(f"say the {relative} value too, as in 10.9/12", where=where)
    if not against > 0:
        raise Refused(f"the {relative} value must be above 0", where=where)
    return typed.value / against


def _word(answer_word: str) -> str:
    return _SAID.get(answer_word, answer_word)
