"""What was learned about one model and is worth keeping for the next one: voltages, plug, screws, ribbons, parts.

Pure. A sheet is all the lines with the same device class and model; models are compared as `triage.lot` says.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final, Literal, get_args

import msgspec

from triage.lot import model_form

Topic = Literal["volts", "plug", "screws", "ribbon", "way_round", "part", "fault", "note"]
TOPICS: Final[dict[str, str]] = {
    "volts": "volts to expect",
    "plug": "plug and polarity",
    "screws": "screw map",
    "ribbon": "ribbons and their order",
    "way_round": "which way round",
    "part": "what a part is",
    "fault": "common fault",
    "note": "good to know",
}
"""Topic of a line -> its words."""
TAKEN_APART: Final[tuple[Topic, ...]] = ("way_round", "ribbon", "screws")
"""Topics that matter when something is taken out."""
assert set(TOPICS) == set(get_args(Topic))  # noqa: S101 - one list, said twice for the type checker


class ModelLine(msgspec.Struct, frozen=True):
    """One line of a model's sheet."""

    id: int
    device_class: str
    model: str
    """As it was typed first."""
    topic: Topic
    place: str = ""
    """Where in the set: a test point, a position, a ribbon's name."""
    text: str = ""
    part: str = ""
    """Part id of the class, for the topic `part`."""
    fault: str = ""
    """Fault id of the class, for the topic `fault`: seen in `seen` of `among` such units, elsewhere than here."""
    seen: int = 0
    among: int = 0
    at: str = ""


class Stated(msgspec.Struct, frozen=True):
    """A common fault of a model as it was written down: there in `seen` of `among` of them."""

    fault: str
    seen: int
    among: int


def sheet_of(lines: Iterable[ModelLine], device_class: str, model: str) -> tuple[ModelLine, ...]:
    """The lines about a model, by topic, oldest first; none without a model."""
    wanted, order = model_form(model), list(TOPICS)
    mine = [line for line in lines if line.device_class == device_class and model_form(line.model) == wanted != ""]
    return tuple(sorted(mine, key=lambda line: (order.index(line.topic), line.id)))


def stated_faults(sheet: Sequence[ModelLine]) -> tuple[Stated, ...]:
    """The common faults of a sheet; of several lines about one fault the counts are added."""
    added: dict[str, tuple[int, int]] = {}
    for line in sheet:
        if line.topic == "fault":
            seen, among = added.get(line.fault, (0, 0))
            added[line.fault] = (seen + line.seen, among + line.among)
    return tuple(Stated(fault, seen, among) for fault, (seen, among) in added.items())


def lines_for_step(sheet: Sequence[ModelLine], *, opens: bool, powered: bool, measures: bool) -> tuple[ModelLine, ...]:
    """What of a sheet is good to know before a step: how it comes apart, what it is fed with, what to expect."""
    wanted: set[Topic] = set(TAKEN_APART) if opens else set()
    wanted |= {"plug"} if powered else set()
    wanted |= {"volts"} if measures else set()
    return tuple(line for line in sheet if line.topic in wanted)


def words_for(sheet: Sequence[ModelLine], part: str) -> str:
    """What the sheet says a part of the class is, the latest word; empty where it says nothing."""
    said = [line.text for line in sheet if line.topic == "part" and line.part == part and line.text]
    return said[-1] if said else ""
