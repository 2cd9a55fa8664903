"""What was wrong with a unit in the end, as the person says it, and what was seen of it before anything was done.

Pure. A finding is a happening of the kind `found`; the latest one counts.
"""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from triage.absent import absent_looks, without_absent
from triage.device_classes.schema import DeviceClass
from triage.diagnosis import Answered, Event, Reading, replay
from triage.evidence import events_of, made_up_checks
from triage.lot import Happening, Unit, model_form
from triage.network import network_of


class Closed(msgspec.Struct, frozen=True):
    """One unit whose finding is known."""

    unit: int
    model: str
    """In the form in which models are compared."""
    sold_as_faulty: bool
    faults: frozenset[str]
    """What was wrong with it when it came; empty where nothing was."""
    answers: tuple[tuple[str, bool], ...] = ()
    """(check, whether it was bad): the first good or bad answer of each check while nothing was repaired or cured."""


def finding_of(device_class: DeviceClass, happenings: Sequence[Happening]) -> frozenset[str] | None:
    """The faults found, empty for none at all; None while nothing was said, or only what the class does not list."""
    known = {fault.id for fault in device_class.faults}
    said = [item for item in happenings if item.kind == "found"]
    if not said:
        return None
    named = frozenset(said[-1].subject.split())
    return named & known if named & known or not named else None


def repaired(device_class: DeviceClass, happenings: Sequence[Happening]) -> tuple[str, ...]:
    """Every fault that was repaired, in class order: what a finding most likely is once all works."""
    done = {fault for item in happenings if item.kind == "repair" for fault in item.subject.split()}
    return tuple(fault.id for fault in device_class.faults if fault.id in done)


def closed_unit(device_class: DeviceClass, unit: Unit, happenings: Sequence[Happening]) -> Closed | None:
    """The unit as something to learn from; None without a finding."""
    faults = finding_of(device_class, happenings)
    if faults is None:
        return None
    device_class = without_absent(device_class, absent_looks(happenings))
    events = events_of(device_class, unit, happenings)
    history = replay(network_of(device_class, more=made_up_checks(device_class, happenings)), events)
    listed = {check.id for check in device_class.checks}
    first_cure = min((times[0] for times in history.attempts.values() if times), default=history.now)
    answers: dict[str, bool] = {}
    for entry in history.seen:
        bad = _bad(events[entry.index])
        if (
            entry.check in listed and entry.index <= first_cure and bad is not None
        ):  # an answer speaks of the state before its own cures
            answers.setdefault(entry.check, bad)
    return Closed(unit.number, model_form(unit.model), unit.sold_as == "faulty", faults, tuple(answers.items()))


def _bad(event: Event) -> bool | None:
    """Whether an answer was the bad one; None where it says neither."""
    word = event.answer if isinstance(event, Answered) else event.reads if isinstance(event, Reading) else None
    return {"good": False, "bad": True}.get(word) if word else None
