"""From fault to described need: which parts the fix units want, and saying what exactly each one is.

Until a part is described, the sums use the class file's typical cost and no order line is written for it.
"""

from __future__ import annotations

import msgspec

from catalog.describe import read
from catalog.journal import Recorder
from catalog.spec import KINDS, ROLES
from catalog.text import Refused, clean_line
from triage import store
from triage.actions.lots import get_lot
from triage.actions.model_sheets import line_for_words
from triage.actions.promises import coming, let_go
from triage.actions.studies import case_of_unit, study_of, study_unit
from triage.actions.units import get_unit
from triage.bench_file import BenchFile, in_one_transaction
from triage.device_classes.schema import DeviceClass, Part
from triage.lot import Need
from triage.model_sheets import sheet_of, words_for
from triage.wants import WantedPart, aside_of, cures_of, fault_for, wanted_of
from triage.worth import needed_parts


def wanted_parts(bench: BenchFile, lot_id: int | None = None, *, aside: bool = False) -> tuple[WantedPart, ...]:
    """Every part that the units leaning to fix want, by unit.

    With `aside`, what was described and is not wanted now comes last: dropped, or of a unit that leans elsewhere.
    """
    lot = get_lot(bench, lot_id)
    wanted: list[WantedPart] = []
    put_aside: list[WantedPart] = []
    for unit in store.units(bench.database, lot.id):
        if unit.device_class in bench.classes:
            found, held = study_unit(bench, unit), store.needs(bench.database, number=unit.number)
            sheet = sheet_of(store.model_lines(bench.database, unit.device_class), unit.device_class, unit.model)
            wanted += (
                msgspec.structs.replace(part, on_sheet=words_for(sheet, part.part)) for part in wanted_of(found, held)
            )
            put_aside += aside_of(found, held) if aside else ()
    return (*wanted, *put_aside)


@in_one_transaction
def describe_need(
    bench: BenchFile,
    number: int,
    part_id: str,
    text: str,
    *,
    kind: str = "",
    role: str = "",
    pieces: int | None = None,
    compromise_ok: bool = False,
) -> Need:
    """Say what exactly a part of a unit is, in the words of a parts list; from then on it may be ordered.

    Raises:
        Refused: no such unit or part, a bad kind or role, nothing understood, or more than one way to read it.
    """
    part, need = _need_for(bench, number, part_id, text, kind=kind, role=role, pieces=pieces)
    need = msgspec.structs.replace(need, compromise_ok=compromise_ok)
    summary = clean_line(f"unit {number}: {part.name} is {need.text}", 200)
    with bench.journal.event("describe", summary, at=bench.now(), unit=number) as recorder:
        return _keep(bench, recorder, need)


@in_one_transaction
def describe_from_sheets(bench: BenchFile, lot_id: int | None = None) -> tuple[Need, ...]:
    """Describe every wanted part that the sheet of its unit's model knows, and that is not described yet. One event.

    Raises:
        Refused: no sheet knows any of them.
    """
    known = [part for part in wanted_parts(bench, lot_id) if part.on_sheet and not part.described]
    if not known:
        raise Refused("no sheet of a model says what one of the parts still to describe is", where="sheets")
    kept = []
    summary = clean_line(f"{len(known)} parts described as on their model's sheet", 200)
    with bench.journal.event("describe", summary, at=bench.now()) as recorder:
        for part in known:
            _, need = _need_for(bench, part.unit, part.part, part.on_sheet)
            kept.append(_keep(bench, recorder, need))
    return tuple(kept)


def _need_for(
    bench: BenchFile, number: int, part_id: str, text: str, *, kind: str = "", role: str = "", pieces: int | None = None
) -> tuple[Part, Need]:
    """The part, and the need as it is to be kept."""
    device_class = case_of_unit(bench, number).device_class
    part = _part_of(device_class, part_id, number)
    where = f"unit {number}.{part_id}"
    words = clean_line(text)
    kind = kind or part.kind
    if kind not in KINDS:
        raise Refused(f"unknown kind; known are {', '.join(KINDS)}", where=where)
    if role and role not in ROLES:
        raise Refused(f"unknown role; known are {', '.join(ROLES)}", where=where)
    if pieces is not None and not 1 <= pieces <= 999:
        raise Refused("expected 1 to 999 pieces", where=where)
    if not words:
        raise Refused("say what it is, such as “belt 43 mm sq 1.2”", where=where)
    understood(words, kind, where)
    mine = [need for need in store.needs(bench.database, number=number) if need.part == part_id and not need.wish]
    held = mine[-1] if mine and mine[-1].state != "fitted" else None
    if held is not None:
        _not_coming(bench, held, where)
    return part, Need(
        id=held.id if held else 0,
        unit=number,
        fault=_fault_of(bench, number, device_class, part_id),
        part=part_id,
        pieces=pieces or (held.pieces if held else _pieces_of(bench, number, part)),
        text=words,
        kind=kind,
        role=role,
        state="open",
    )


def _keep(bench: BenchFile, recorder: Recorder, need: Need) -> Need:
    """Write the need, and what it says about the model on the model's sheet."""
    let_go(bench, recorder, need)
    need_id = store.save(recorder, "needs", need)
    line = line_for_words(bench, get_unit(bench, need.unit), need.part, need.text)
    if line is not None:
        store.save(recorder, "model_lines", line)
    return msgspec.structs.replace(need, id=need_id)


@in_one_transaction
def allow_compromise(bench: BenchFile, need_id: int, *, allowed: bool) -> Need:
    """Let the plan use a compromise for this need, or forbid it again.

    Raises:
        Refused: there is no such need.
    """
    need = _need(bench, need_id)
    changed = msgspec.structs.replace(need, compromise_ok=allowed)
    word = "allowed" if allowed else "not allowed"
    with bench.journal.event(
        "compromise", f"unit {need.unit}: a compromise for {need.part} {word}", at=bench.now(), unit=need.unit
    ) as recorder:
        recorder.update("needs", need.id, {"compromise_ok": int(allowed)})
    return changed


@in_one_transaction
def drop_need(bench: BenchFile, need_id: int) -> Need:
    """This part is not wanted after all; it leaves the plan.

    Raises:
        Refused: there is no such need, or it is on its way.
    """
    need = _need(bench, need_id)
    if need.state == "dropped":
        raise Refused("it is dropped already; --want takes it in again", where=f"need {need_id}")
    _not_coming(bench, need, f"need {need_id}")
    dropped = msgspec.structs.replace(need, state="dropped")
    with bench.journal.event(
        "drop_need", f"unit {need.unit}: {need.part} not wanted", at=bench.now(), unit=need.unit
    ) as recorder:
        let_go(bench, recorder, need)
        recorder.update("needs", need.id, {"state": dropped.state})
    return dropped


@in_one_transaction
def want_again(bench: BenchFile, need_id: int) -> Need:
    """A part that was said not to be wanted is wanted again, as it was described.

    Raises:
        Refused: there is no such need, or it was not dropped.
    """
    need = _need(bench, need_id)
    if need.state != "dropped":
        raise Refused("it is not dropped", where=f"need {need_id}")
    newer = [
        item
        for item in store.needs(bench.database, number=need.unit)
        if item.part == need.part and item.id > need.id and not item.wish
    ]
    if newer:
        raise Refused("it was described anew since", where=f"need {need_id}")
    again = msgspec.structs.replace(need, state="open")
    with bench.journal.event(
        "want_again", f"unit {need.unit}: {need.part} wanted again", at=bench.now(), unit=need.unit
    ) as recorder:
        recorder.update("needs", need.id, {"state": again.state})
    return again


def turn_need(bench: BenchFile, need_id: int) -> Need:
    """Not wanted after all, or wanted again where it was dropped."""
    return (want_again if _need(bench, need_id).state == "dropped" else drop_need)(bench, need_id)


def _pieces_of(bench: BenchFile, number: int, part: Part) -> int:
    """All that a repair takes; of a part that the unit only lacks, what was lifted out."""
    lacking = case_of_unit(bench, number).state.missing.get(part.id)
    if lacking is None:
        return part.pieces
    found = study_of(bench, number)
    return part.pieces if part.id in needed_parts(found.device_class, cures_of(found)) else lacking


def _need(bench: BenchFile, need_id: int) -> Need:
    need = next((item for item in store.needs(bench.database) if item.id == need_id), None)
    if need is None:
        raise Refused("there is no such need", where=f"need {need_id}")
    return need


def _not_coming(bench: BenchFile, need: Need, where: str) -> None:
    if coming(bench, need.id):
        raise Refused("it is on its way; receive it, or take its order back first", where=where)


def _part_of(device_class: DeviceClass, part_id: str, number: int) -> Part:
    try:
        return device_class.part(part_id)
    except KeyError:
        known = ", ".join(part.id for part in device_class.parts)
        raise Refused(f"no part of that name; known are {known}", where=f"unit {number}.{part_id}") from None


def _fault_of(bench: BenchFile, number: int, device_class: DeviceClass, part_id: str) -> str:
    """The fault that the part is for; the unit is only studied where there is more than one to choose from."""
    serving = [fault.id for fault in device_class.faults if part_id in fault.needs]
    cures = cures_of(study_of(bench, number)) if len(serving) > 1 else ()
    return fault_for(device_class, part_id, cures)


def understood(text: str, kind: str, where: str) -> None:
    """Refuse a description of a part that no single reading stands for; a `listed` one needs none.

    Raises:
        Refused: nothing is understood, or it can be read in more than one way.
    """
    if kind == "listed":
        return
    reading = read(text, kind)
    if reading.status == "ambiguous":
        ways = "; ".join(str(way.why) for way in reading.readings if way.why)
        raise Refused(f"“{text}” can be read in more than one way ({ways}); say which", where=where)
    if reading.spec is None:
        raise Refused(f"“{text}” says nothing that fits a {kind}; add a value or a size", where=where)
