"""The sheets of models: what was learned about one model, kept for the next unit of it."""

from __future__ import annotations

import re
from typing import Final

import msgspec

from catalog.journal import Recorder
from catalog.text import Refused, clean_line
from triage import store
from triage.actions.units import get_unit
from triage.bench_file import BenchFile, in_one_transaction
from triage.device_classes.schema import DeviceClass, Part
from triage.lot import Happening, Unit
from triage.model_sheets import TAKEN_APART, TOPICS, ModelLine, lines_for_step, sheet_of
from triage.study import Study
from triage.worth import needed_parts, opens

HOW_IT_SITS: Final = "Before a part comes out, note how it sits: which way round, ribbons, screws."


class SheetLine(msgspec.Struct, frozen=True):
    """A line in words."""

    id: int
    topic: str
    text: str


class SheetView(msgspec.Struct, frozen=True):
    """The sheet of a unit's model, with what a line can be about."""

    unit: int
    device_class: str
    class_name: str
    model: str
    """Empty while it was not said; then nothing can be kept."""
    lines: tuple[SheetLine, ...]
    parts: tuple[tuple[str, str], ...]
    """(part id, name) of the class."""
    faults: tuple[tuple[str, str], ...]
    """(fault id, what it is) of the class."""


def sheet_view(bench: BenchFile, number: int) -> SheetView:
    """What is known of the model of a unit, in words.

    Raises:
        Refused: no such unit, or its class is in doubt.
    """
    unit = get_unit(bench, number)
    if unit.device_class not in bench.classes:
        raise Refused("it is not settled yet what this is; choose its class first", where=f"unit {number}")
    device_class = bench.classes[unit.device_class]
    return SheetView(
        unit=number,
        device_class=device_class.id,
        class_name=device_class.name,
        model=unit.model,
        lines=tuple(
            SheetLine(line.id, line_topic(line), told_of(device_class, line)) for line in model_sheet(bench, number)
        ),
        parts=tuple((part.id, part.name) for part in device_class.parts),
        faults=tuple((fault.id, fault.what) for fault in device_class.faults),
    )


def model_sheet(bench: BenchFile, number: int) -> tuple[ModelLine, ...]:
    """What is known of the model of a unit, by topic; nothing where its model or class was not said."""
    unit = get_unit(bench, number)
    return sheet_of(store.model_lines(bench.database, unit.device_class), unit.device_class, unit.model)


def class_of_sheet(bench: BenchFile, number: int) -> DeviceClass:
    """The class of a unit that a sheet can be kept for.

    Raises:
        Refused: no such unit, its class is in doubt, or its model was not said.
    """
    unit = get_unit(bench, number)
    if unit.device_class not in bench.classes:
        raise Refused("it is not settled yet what this is; choose its class first", where=f"unit {number}")
    if not unit.model.strip():
        raise Refused("say its model first (e, or `unit --model`): the sheet is kept by model", where=f"unit {number}")
    return bench.classes[unit.device_class]


@in_one_transaction
def add_to_sheet(
    bench: BenchFile,
    number: int,
    topic: str,
    text: str = "",
    *,
    place: str = "",
    part: str = "",
    fault: str = "",
    counted: str = "",
) -> ModelLine:
    """Write a line on the sheet of a unit's model. One event.

    Args:
        bench: the open bench file.
        number: a unit of the model.
        topic: a topic of `TOPICS`.
        text: what there is to know; a common fault may do without.
        place: where in the set.
        part: for the topic `part`: which part of the class.
        fault: for the topic `fault`: which fault of the class.
        counted: for the topic `fault`: in how many of how many such units elsewhere, such as `3 of 4`.

    Raises:
        Refused: no such unit, topic, part or fault, the model was not said, nothing to keep, or odd counts.
    """
    device_class = class_of_sheet(bench, number)
    unit = get_unit(bench, number)
    where = f"model {unit.model}"
    words = clean_line(text, 300)
    seen = among = 0
    if topic not in TOPICS:
        raise Refused(f"no topic of that name; known are {', '.join(TOPICS)}", where=where)
    if topic == "part" and part not in {one.id for one in device_class.parts}:
        raise Refused(f"say which part; known are {', '.join(one.id for one in device_class.parts)}", where=where)
    if topic == "fault":
        if fault not in {one.id for one in device_class.faults}:
            raise Refused(f"say which fault; known are {', '.join(one.id for one in device_class.faults)}", where=where)
        seen, among = _counted(counted, where)
    elif not words:
        raise Refused("say what there is to know", where=where)
    line = ModelLine(
        id=0,
        device_class=device_class.id,
        model=unit.model,
        topic=topic,  # type: ignore[arg-type]
        place=clean_line(place, 80),
        text=words,
        part=part if topic == "part" else "",
        fault=fault if topic == "fault" else "",
        seen=seen,
        among=among,
        at=bench.now(),
    )
    summary = clean_line(f"sheet of {unit.model}: {told_of(device_class, line)}", 200)
    with bench.journal.event("sheet_add", summary, at=bench.now(), unit=number) as recorder:
        row_id = store.save(recorder, "model_lines", line)
    return msgspec.structs.replace(line, id=row_id)


@in_one_transaction
def drop_from_sheet(bench: BenchFile, number: int, line_id: int) -> ModelLine:
    """Strike a line of the sheet of a unit's model. One event.

    Raises:
        Refused: there is no such line on it.
    """
    unit = get_unit(bench, number)
    line = next((one for one in model_sheet(bench, number) if one.id == line_id), None)
    if line is None:
        raise Refused(f"there is no line {line_id} on the sheet of this model", where=f"unit {number}")
    told = told_of(bench.classes[unit.device_class], line)
    summary = clean_line(f"sheet of {unit.model}: struck: {told}", 200)
    with bench.journal.event("sheet_drop", summary, at=bench.now(), unit=number) as recorder:
        recorder.delete("model_lines", line_id)
    return line


def _counted(text: str, where: str) -> tuple[int, int]:
    match = re.fullmatch(r"(\d{1,4})\s*(?:of|/)\s*(\d{1,4})", clean_line(text, 40).casefold())
    seen, among = (int(match[1]), int(match[2])) if match else (0, 0)
    if not 0 <= seen <= among or not among:
        raise Refused("expected in how many of how many it was, such as 3 of 4", where=where)
    return seen, among


def told_of(device_class: DeviceClass, line: ModelLine) -> str:
    """A line of a sheet in words, without its topic."""
    parts = {part.id: part.name for part in device_class.parts}
    faults = {fault.id: fault.what for fault in device_class.faults}
    what = {"part": parts.get(line.part, line.part), "fault": faults.get(line.fault, line.fault)}.get(line.topic, "")
    counted = f"{line.seen} of {line.among}" if line.topic == "fault" else ""
    told = "; ".join(filter(None, (what, line.place, counted)))
    return f"{told}: {line.text}" if told and line.text else told or line.text


def for_the_step(bench: BenchFile, found: Study) -> tuple[str, ...]:
    """What the sheet of a unit's model says that matters to the advised step, a line each.

    Before a part comes out, how it sits is asked for where neither the sheet nor a note tells of it.
    """
    action, device_class = found.action, found.device_class
    if action is None or action.action == "stop":
        return ()
    check = device_class.check(action.check) if action.check else None
    sheet = lines_for_step(
        model_sheet(bench, found.facts.unit.number),
        opens=opens(device_class, action.faults) if check is None else check.state == "opened",
        powered=check is not None and check.powered,
        measures=check is not None and check.reading is not None,
    )
    told = tuple(f"{line_topic(line)}: {told_of(device_class, line)}" for line in sheet)
    lifted = any(not device_class.part(part).consumable for part in needed_parts(device_class, action.faults))
    noted = any(line.topic in TAKEN_APART for line in sheet)
    noted = noted or any(item.kind == "note" for item in found.facts.happenings)
    return (*told, HOW_IT_SITS) if lifted and not noted else told


def line_topic(line: ModelLine) -> str:
    """The topic of a line in words."""
    return TOPICS[line.topic]


def line_for_words(bench: BenchFile, unit: Unit, part: str, words: str) -> ModelLine | None:
    """The line that describing a part of a unit adds to its model's sheet; None where the sheet says so already."""
    if not unit.model.strip():
        return None
    sheet = sheet_of(store.model_lines(bench.database, unit.device_class), unit.device_class, unit.model)
    if any(line.topic == "part" and line.part == part and line.text == words for line in sheet):
        return None
    return ModelLine(0, unit.device_class, unit.model, "part", "", words, part, at=bench.now())


def keep_way_round(bench: BenchFile, recorder: Recorder, number: int, part: Part, text: str) -> None:
    """Keep how a part sat, on the sheet of the unit's model or, without a model, as a note of the unit."""
    words, unit = clean_line(text, 300), get_unit(bench, number)
    if not words:
        return
    if unit.model.strip():
        line = ModelLine(0, unit.device_class, unit.model, "way_round", part.name, words, part.id, at=bench.now())
        store.save(recorder, "model_lines", line)
    else:
        noted = Happening(0, number, bench.now(), "note", "", "", None, clean_line(f"{part.name}: {words}"))
        store.save(recorder, "happenings", noted)
