"""A look as it is put to the person: its question, what to do, the caution, and what a healthy reading is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

import msgspec

from triage.actions.studies import study_unit
from triage.actions.units import get_unit
from triage.bench_file import BenchFile
from triage.device_classes.schema import Check, Hazard
from triage.locks import unasked
from triage.outlook import check_minutes
from triage.study import Study, questions_left


class Look(msgspec.Struct, frozen=True):
    """One question to the person."""

    check: str
    question: str
    do: str
    caution: str
    minutes: float
    """Attended minutes, opening and set-up included where they are still to do."""
    wait_minutes: float
    reading: str
    """Limits of a healthy reading with their unit, empty where no number is asked."""
    relative_to: str
    """What a reading is divided by: `label`, `rail` or empty."""
    opened: bool
    powered: bool
    ask_first: tuple[Hazard, ...] = ()
    """Hazards to be asked about before this look may be taken."""


def told_apart(looks: Iterable[Look | Check]) -> dict[str, str]:
    """The question of each look by the id of its check; one that stands there twice says what is done for it first."""
    asked = [(look.check if isinstance(look, Look) else look.id, look) for look in looks]
    often = Counter(look.question for _, look in asked)
    return {name: f"{look.do} {look.question}" if often[look.question] > 1 else look.question for name, look in asked}


def other_looks(bench: BenchFile, number: int) -> tuple[Look, ...]:
    """The looks that may be taken now, best first: for the person who wants another one."""
    found = study_unit(bench, get_unit(bench, number))
    return tuple(look_of(found, check) for check in questions_left(found))


def look_of(found: Study, check: Check) -> Look:
    """A check as it is put to the person."""
    limits = ""
    if check.reading is not None:
        low, high = check.reading.limits()
        limits = f"{_figure(low)} to {_figure(high)} {check.reading.unit}"
        if check.reading.relative_to:
            limits = f"{low:g} to {high:g} times the {check.reading.relative_to} value"
    return Look(
        check=check.id,
        question=check.question,
        do=check.do,
        caution=" ".join(filter(None, (_close_first(found, check), check.caution))),
        minutes=check_minutes(found.case, check),
        wait_minutes=check.wait_minutes,
        reading=limits,
        relative_to=check.reading.relative_to if check.reading else "",
        opened=check.state == "opened",
        powered=check.powered,
        ask_first=unasked(found.device_class, found.state, check.held_by(), opening=check.state == "opened"),
    )


def _figure(value: float) -> str:
    """A limit as it stands on a meter: 4.75, 20, 2000000."""
    return f"{value:.6f}".rstrip("0").rstrip(".") if abs(value) < 1e6 else f"{value:,.0f}".replace(",", " ")


def _close_first(found: Study, check: Check) -> str:
    shut = check.state == "closed" and check.powered and found.state.case_open
    return "The case stands open: close it first (k)." if shut else ""
