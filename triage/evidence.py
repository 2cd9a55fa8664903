"""What happened to a unit, said in the terms of the diagnosis: happenings in, events and the unit's state out.

Everything is replayed from the list of happenings, so correcting an old answer corrects all that follows from it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

import msgspec

from catalog.text import Refused
from triage.absent import absent_looks
from triage.device_classes.schema import Check, DeviceClass, ReadingLimits
from triage.diagnosis import Answered, Event, Likelihood, Meter, Reading, Reads, Repaired, likelihood_of
from triage.diagnosis.network import Check as NetworkCheck
from triage.locks import UnitState
from triage.lot import Happening, Unit, case_open
from triage.network import reported_events
from triage.path_evidence import point_named, probe_events, probe_look, stretch_checks
from triage.swaps import swap_checks, swap_event, swap_seen, was_good_unit
from triage.typed_hazards import hazards_named
from triage.worth import needed_parts

Answer = Literal["good", "bad", "cant_tell", "not_tested", "does_not_apply"]

CORRECTABLE = frozenset({"answer", "reading", "probe"})
"""Kinds of happenings that say what was seen, and can be said anew."""

_DIGITS = 2_000
"""Counts of the assumed meter: what it resolves on a range is the range divided by this (common practice)."""


class Measured(msgspec.Struct, frozen=True):
    """A reading as it is kept: the number (None for open or dead), what the meter showed, and what it means."""

    value: float | None
    reads: Reads
    answer: Literal["good", "bad"]


def measured(check: Check, value: float | None, reads: Reads = "value") -> Measured:
    """Judge a reading of a check against its limits, for gates and for the word that is shown.

    Raises:
        Refused: the check takes no reading.
    """
    limits = _limits(check)
    low, high = limits.limits()
    good = reads == "value" and value is not None and low <= value <= high
    if reads == "open" and limits.dead != "open":
        good = good or (limits.range_high is not None and high >= limits.range_high)
    return Measured(value, reads, "good" if good else "bad")


def likelihood_of_reading(check: Check, value: float | None, reads: Reads = "value") -> Likelihood:
    """How likely the reading is if the check is truly bad, and if it is truly good."""
    limits = _limits(check)
    low, high = limits.limits()
    top = limits.range_high if limits.range_high is not None else max(abs(low), abs(high)) * 3
    bottom = -top if low < 0 else 0.0
    scale = limits.scale if low > 0 else "linear"
    meter = Meter(bottom, top, count=top / _DIGITS)
    held = top if value is None else min(max(value, bottom), top)
    if scale == "log":
        held = max(held, meter.count)
    fails: Reads = {"open": "open", "zero": "dead"}.get(limits.dead, "value")  # type: ignore[assignment]
    return likelihood_of(held, low, high, meter, scale=scale, fails=fails, reads=reads)


def events_of(device_class: DeviceClass, unit: Unit, happenings: Sequence[Happening]) -> tuple[Event, ...]:
    """The unit's story as diagnosis events, reported symptoms first. Happenings of unknown checks are left out."""
    checks = {check.id: check for check in device_class.checks}
    known = {symptom.id for symptom in device_class.symptoms}
    events: list[Event] = [*reported_events(device_class, (name for name in unit.symptoms if name in known))]
    probed = probe_events(device_class, happenings)
    for index, item in enumerate(happenings):
        swapped = swap_event(device_class, item) if item.kind == "swap" else None
        event = probed.get(index) or swapped or _event(checks, {fault.id for fault in device_class.faults}, item)
        if event is not None:
            events.append(event)
    return tuple(events)


def made_up_checks(device_class: DeviceClass, happenings: Sequence[Happening]) -> tuple[NetworkCheck, ...]:
    """What the events of probes and swap tests speak of: checks of the network that the class does not list."""
    return (*stretch_checks(device_class, happenings), *swap_checks(device_class, happenings))


def is_event(device_class: DeviceClass, item: Happening) -> bool:
    """Whether a happening is one of `events_of`."""
    if item.kind == "repair":
        return any(fault.id in item.subject.split() for fault in device_class.faults)
    if item.kind == "swap":
        return swap_seen(device_class, item) is not None
    if item.kind == "probe":
        return point_named(device_class, item.subject) is not None
    known = any(check.id == item.subject for check in device_class.checks)
    return item.kind in {"answer", "reading"} and known and item.answer != "does_not_apply"


def conditions_of(
    device_class: DeviceClass, happenings: Sequence[Happening]
) -> dict[str, Literal["yes", "no", "unknown"]]:
    """What the person said about hidden causes, the latest word of each."""
    known = {condition.id for condition in device_class.conditions}
    said: dict[str, Literal["yes", "no", "unknown"]] = {}
    for item in happenings:
        told = item.kind in {"condition", "hazard"}  # a leaked cell is both: one answer serves
        if told and item.subject in known and item.answer in {"yes", "no", "unknown"}:
            said[item.subject] = item.answer  # type: ignore[assignment]
    return said


def state_of(device_class: DeviceClass, unit: Unit, happenings: Sequence[Happening]) -> UnitState:
    """How the unit stands on the bench."""
    hazards: set[str] = set()
    confirmed: dict[str, set[str]] = {}
    answered: set[str] = set()
    setups: set[str] = set()
    checks = {check.id: check for check in device_class.checks}
    expiring = {hazard.id: hazard.unless for hazard in device_class.hazards if hazard.expires == "powered"}
    recharged: set[str] = set()
    parts = {part.id for part in device_class.parts}
    missing: dict[str, int] = {}
    put_back = -1
    for place, item in enumerate(happenings):
        if item.kind == "repair" or (item.kind == "lift" and item.subject in parts):
            came = _came_back(device_class, item, missing)
            if came and item.kind == "lift":
                put_back = len(events_of(device_class, unit, happenings[: place + 1]))
        if was_good_unit(item):
            put_back = len(events_of(device_class, unit, happenings[: place + 1]))
        if item.kind == "hazard":
            if item.subject in recharged and item.answer != "yes":
                continue  # powering said yes; only what is done about it says otherwise
            (answered.discard if item.answer == "unknown" else answered.add)(item.subject)
            confirmed.pop(item.subject, None)
            (hazards.add if item.answer == "yes" else hazards.discard)(item.subject)
        elif item.kind == "release":
            confirmed.setdefault(item.subject, set()).add(item.answer)
            recharged.discard(item.subject)
        elif item.kind in {"answer", "reading", "probe", "swap"}:
            check = _looked(device_class, checks, item)
            if check is None or item.answer in {"not_tested", "does_not_apply"}:
                continue
            if check.setup:
                setups.add(check.setup)
            if check.powered:
                back = {name for name, unless in expiring.items() if unless not in answered - hazards}
                hazards -= back
                answered -= back
                recharged |= back
                confirmed = {name: said for name, said in confirmed.items() if name not in back}
    return UnitState(
        events=events_of(device_class, unit, happenings),
        case_open=case_open(happenings),
        setups=frozenset(setups),
        hazards=frozenset(hazards),
        recharged=frozenset(recharged),
        named=hazards_named(device_class, (unit.typed, unit.note, *_notes(happenings))),
        cleared=frozenset(answered - hazards),
        confirmed={name: frozenset(actions) for name, actions in confirmed.items()},
        does_not_apply=absent_looks(happenings),
        missing=missing,
        put_back=put_back,
    )


def _notes(happenings: Sequence[Happening]) -> Iterator[str]:
    return (item.raw for item in happenings if item.kind == "note")


def _came_back(device_class: DeviceClass, item: Happening, missing: dict[str, int]) -> bool:
    """Keep `missing` true through a lift or a repair: whether something came back into the unit.

    A repair fits new pieces of every part that its faults need.
    """
    if item.kind == "repair":
        fitted = set(needed_parts(device_class, item.subject.split())) & missing.keys()
        for part in fitted:
            del missing[part]
        return bool(fitted)
    if item.answer == "exchanged":
        return True
    pieces = round(item.value or 0)
    left = missing.get(item.subject, 0) + (pieces if item.answer == "out" else -pieces)
    missing[item.subject] = left
    if left <= 0:
        del missing[item.subject]
    return item.answer != "out"


def _event(checks: dict[str, Check], faults: set[str], item: Happening) -> Event | None:
    if item.kind == "repair":
        cured = tuple(fault for fault in item.subject.split() if fault in faults)
        return Repaired(cured) if cured else None
    check = checks.get(item.subject)
    if check is None or item.answer == "does_not_apply":
        return None
    if item.kind == "reading" and check.reading is not None and item.answer in {"good", "bad"}:
        reads: Reads = "open" if item.value is None else "value"
        reads = "dead" if item.raw == "dead" else reads
        likelihood = likelihood_of_reading(check, item.value, reads)
        return Reading(check.id, likelihood, item.answer)  # type: ignore[arg-type]
    if item.kind in {"answer", "reading"} and item.answer in {"good", "bad", "cant_tell", "not_tested"}:
        return Answered(check.id, item.answer)  # type: ignore[arg-type]
    return None


def _looked(device_class: DeviceClass, checks: dict[str, Check], item: Happening) -> Check | None:
    """The look that a happening answered; a probe is one, of a set that is powered."""
    if item.kind != "probe":
        return checks.get(item.subject.partition(" ")[0])
    named = point_named(device_class, item.subject)
    return probe_look(named[0], named[0].points[named[1]]) if named is not None else None


def _limits(check: Check) -> ReadingLimits:
    if check.reading is None:
        raise Refused("this check takes no reading; answer y, n or c", where=f"checks[{check.id}]")
    return check.reading
