"""What may be looked at now, and why the rest may not; when a unit counts as fixed.

A check is not offered when a hazard locks it (inside a mains set: every hazard that is not answered no or released),
a training or a tool is missing, it does not apply, it was answered and nothing changed since, or its gate is closed.
Only a closed gate can be opened by another answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final, Literal, TypeAlias

import msgspec

from triage.device_classes.schema import Check, DeviceClass, Hazard, Lock, Part
from triage.diagnosis.network import Answered, Event, Reading, Repaired, Reported
from triage.network import gates_of

MAINS_LOCK: Final = "mains inside: outside looks only until it is unplugged and proven below 10 V"
TRAINING: Final = {"live_mains": "live mains", "tube": "picture tubes"}
MOST_LOOKS: Final = 2
"""A function that reads bad so often in a row is taken to be bad; before that it may be looked at once more."""
ASSUMED_TOOLS: Final = ("screwdriver", "iron", "meter")


class UnitState(msgspec.Struct, frozen=True):
    """How the unit stands on the bench."""

    events: tuple[Event, ...] = ()
    """Everything seen and done, in time order."""
    case_open: bool = False
    setups: frozenset[str] = frozenset()
    """Set-up groups that stand now."""
    hazards: frozenset[str] = frozenset()
    """Hazards answered yes."""
    cleared: frozenset[str] = frozenset()
    """Hazards answered no."""
    recharged: frozenset[str] = frozenset()
    """Hazards that are to be asked about anew, and cannot be answered no, because the set was powered since."""
    named: tuple[str, ...] = ()
    """Hazards that what was typed of the unit speaks of, whether answered or not."""
    confirmed: dict[str, frozenset[str]] = {}
    """Hazard id to the releases that were confirmed, in the words of the class."""
    does_not_apply: frozenset[str] = frozenset()
    """Checks that the person said do not apply to this unit."""
    missing: dict[str, int] = {}
    """Part id to the pieces that were lifted out of the unit and not put back."""
    put_back: int = -1
    """How many events there were when a part was put back last; -1 where none was."""

    def inside(self, part: Part) -> int:
        """Pieces of a part of the class that are still in the unit."""
        return max(0, part.pieces - self.missing.get(part.id, 0))


class Means(msgspec.Struct, frozen=True):
    """What the person has: tools by name, and trainings (`live_mains`, `tube`)."""

    tools: frozenset[str] = frozenset(ASSUMED_TOOLS)
    permissions: frozenset[str] = frozenset()


LockKind: TypeAlias = Literal["safety", "training", "tool", "none_here", "answered", "gate"]
"""`safety` and `training` hold a check back whatever the person says; the others only keep it from being offered."""


class Locked(msgspec.Struct, frozen=True):
    """A check that is not offered, why in a few words, and what kind of reason that is."""

    check: str
    why: str
    kind: LockKind

    @property
    def by_gate(self) -> bool:
        """Whether another answer would open it."""
        return self.kind == "gate"

    @property
    def hard(self) -> bool:
        """Whether an answer to it is refused."""
        return self.kind in {"safety", "training"}


class Said(msgspec.Struct, frozen=True):
    """The latest own answer of a check: the word, its place among the events, and whether its gate was open then."""

    word: str
    index: int
    counted: bool


class Record(msgspec.Struct, frozen=True):
    """A unit's events read for offering: the latest answers and the times at which each fault was worked on."""

    said: dict[str, Said]
    latest: dict[str, str]
    """Check id to its latest good or bad."""
    worked_on: dict[str, tuple[int, ...]]
    """Fault id to the times of repairs and cures."""
    repairs: tuple[tuple[int, tuple[str, ...]], ...]
    """Times and faults of the repairs alone."""
    bad_in_a_row: dict[str, int]
    """Check id to how often it was answered bad since the last work on the unit and its last good answer."""
    put_back: int = -1
    """Time at which a part that had been lifted out was put back last, -1 for never."""

    @property
    def last_work(self) -> int:
        """Time of the last repair or cure, or of putting a part back; -1 for none."""
        return max(self.put_back, *(time for times in self.worked_on.values() for time in times), -1)

    def attempts(self, fault_id: str) -> int:
        """How often a repair of the fault was tried."""
        return sum(fault_id in faults for _, faults in self.repairs)


class FixedState(msgspec.Struct, frozen=True):
    """Whether the unit reads fixed, and which checks of the whole-function test stand in the way."""

    fixed: bool
    untested: tuple[str, ...]
    """Functions without an answer after the last repair or cure."""
    failed: tuple[str, ...]
    """Functions whose latest answer is bad."""


def record_of(device_class: DeviceClass, events: Sequence[Event], put_back: int = -1) -> Record:
    """Read a unit's events; events about checks the class does not have are passed over."""
    checks = {check.id: check for check in device_class.checks}
    said: dict[str, Said] = {}
    latest: dict[str, str] = {}
    worked_on: dict[str, list[int]] = {}
    repairs: list[tuple[int, tuple[str, ...]]] = []
    bad_in_a_row: dict[str, int] = {}
    for index, event in enumerate(events):
        if isinstance(event, Repaired):
            repairs.append((index, event.faults))
            for fault_id in event.faults:
                worked_on.setdefault(fault_id, []).append(index)
            bad_in_a_row.clear()
            continue
        if isinstance(event, Reported) or event.check not in checks:
            continue
        check = checks[event.check]
        word = _word(event)
        said[check.id] = Said(word, index, gate_is_open(check, latest))
        if word in {"good", "bad"}:
            latest[check.id] = word
            bad_in_a_row[check.id] = bad_in_a_row.get(check.id, 0) + 1 if word == "bad" else 0
        if word != "not_tested" and check.cures:
            bad_in_a_row.clear()
            for fault_id in check.cures:
                worked_on.setdefault(fault_id, []).append(index)
    times = {fault: tuple(moments) for fault, moments in worked_on.items()}
    return Record(said, latest, times, tuple(repairs), bad_in_a_row, put_back)


def gate_is_open(check: Check, latest: dict[str, str]) -> bool:
    """Whether an answer to the check would mean anything now."""
    return all(latest.get(gate.check) == gate.must_be for gate in gates_of(check))


def stale(check: Check, record: Record) -> bool:
    """Whether the check's latest answer no longer tells how the unit is; False when it was never answered."""
    said = record.said.get(check.id)
    if said is None:
        return False
    if not said.counted and gate_is_open(check, record.latest):
        return True
    if check.function or not check.money:
        return record.last_work > said.index or (bool(check.cures) and record.last_work == said.index)
    return any(time > said.index for fault in check.fails for time in record.worked_on.get(fault, ()))


def fixed_of(device_class: DeviceClass, state: UnitState) -> FixedState:
    """`fixed_state` of a unit as it stands; one from which a part was lifted is not fixed until that is put back."""
    found = fixed_state(device_class, state.events, state.does_not_apply, state.put_back)
    return msgspec.structs.replace(found, fixed=found.fixed and not state.missing)


def fixed_state(
    device_class: DeviceClass, events: Sequence[Event], does_not_apply: Iterable[str] = (), put_back: int = -1
) -> FixedState:
    """A unit reads fixed only when every function check is good, answered after the last repair or cure.

    Where no function check applies, nothing was tested, and the unit does not read fixed.
    """
    record = record_of(device_class, events, put_back)
    skipped = frozenset(does_not_apply)
    untested: dict[str, None] = {}
    failed: dict[str, None] = {}
    for check in function_checks(device_class, skipped):
        if record.latest.get(check.id) == "bad":
            failed[check.function] = None
        if not good_since(check, record) and (record.latest.get(check.id) != "bad" or stale(check, record)):
            untested[check.function] = None
    tested = bool(function_checks(device_class, skipped))
    return FixedState(tested and not untested and not failed, tuple(untested), tuple(failed))


def function_checks(device_class: DeviceClass, does_not_apply: frozenset[str] = frozenset()) -> tuple[Check, ...]:
    """The checks of the whole-function test that apply."""
    return tuple(check for check in device_class.checks if check.function and check.id not in does_not_apply)


def good_since(check: Check, record: Record) -> bool:
    """Whether the check's latest answer is a good one that counted and was given after the last repair or cure."""
    said = record.said.get(check.id)
    return said is not None and said.word == "good" and said.counted and not stale(check, record)


def may_look_again(device_class: DeviceClass, record: Record) -> tuple[Check, ...]:
    """Function checks that read bad once and were not looked at again: a slip or a passing trouble may have done it."""
    return tuple(
        check
        for check in function_checks(device_class)
        if record.bad_in_a_row.get(check.id) == 1
        and record.latest.get(check.id) == "bad"
        and gate_is_open(check, record.latest)
        and not stale(check, record)
    )


def locked_checks(
    device_class: DeviceClass, state: UnitState, means: Means, record: Record | None = None
) -> tuple[Locked, ...]:
    """Every check that is not offered now, with the reason, in class order."""
    record = record or record_of(device_class, state.events, state.put_back)
    found = []
    for check in device_class.checks:
        reason = _why_locked(device_class, check, state, means, record)
        if reason is not None:
            found.append(Locked(check.id, reason[1], reason[0]))
        elif not gate_is_open(check, record.latest):
            closed = [gate for gate in gates_of(check) if record.latest.get(gate.check) != gate.must_be]
            found.append(Locked(check.id, f"says nothing until {closed[0].check} is {closed[0].must_be}", "gate"))
    return tuple(found)


def lock_of(device_class: DeviceClass, check: Check, state: UnitState, means: Means, record: Record) -> Locked | None:
    """Why one look, of the class or made up for a probe, may not be taken now; None when it may."""
    reason = _why_locked(device_class, check, state, means, record)
    return None if reason is None else Locked(check.id, reason[1], reason[0])


def unasked(
    device_class: DeviceClass, state: UnitState, by: frozenset[Lock], *, opening: bool = False
) -> tuple[Hazard, ...]:
    """The hazards not answered yet that could hold back something under one of these locks, in class order.

    With `opening` the case is opened for it: what shows only then is asked too, as is what was typed of.
    """
    asked, is_open = state.hazards | state.cleared, state.case_open or opening
    return tuple(
        hazard
        for hazard in device_class.hazards
        if hazard.id not in asked
        and by & set(hazard.locks)
        and (hazard.when == "always" or is_open or hazard.id in state.named)
    )


def named_unasked(device_class: DeviceClass, state: UnitState) -> tuple[Hazard, ...]:
    """The hazards that what was typed speaks of and that are not answered yet, those named first in front."""
    asked = state.hazards | state.cleared
    known = {hazard.id: hazard for hazard in device_class.hazards}
    return tuple(known[name] for name in state.named if name in known and name not in asked)


def repair_locked(device_class: DeviceClass, state: UnitState, *, opening: bool) -> str:
    """Why no repair may be done now; one that opens the case is also held by what keeps a mains set shut."""
    if opening:
        return opening_locked(device_class, state)
    return in_force(device_class, state, frozenset({"opened"}))


def in_force(device_class: DeviceClass, state: UnitState, by: frozenset[Lock]) -> str:
    """The caution of the first hazard answered yes that keeps one of these locks; empty when none does."""
    for hazard in device_class.hazards:
        if hazard.id in state.hazards and hazard.locked_after(state.confirmed.get(hazard.id, ())) & by:
            return hazard.caution
    return ""


def barred(device_class: DeviceClass, state: UnitState, means: Means) -> frozenset[Lock]:
    """The locks in force that nothing lifts which this person can do: what it takes is a training they have not."""
    found: frozenset[Lock] = frozenset()
    for hazard in device_class.hazards:
        if hazard.id in state.hazards:
            trained = (name for name, needed in hazard.trained.items() if needed not in means.permissions)
            able = frozenset(hazard.releases).difference(trained)
            held = hazard.locked_after(state.confirmed.get(hazard.id, ()))
            found |= held.difference(*(hazard.lifted_by(action) for action in able))
    return found


def what_lifts(device_class: DeviceClass, state: UnitState, by: frozenset[Lock]) -> str:
    """What is to be done before one of these locks is lifted, in the words of the class; empty when none holds."""
    for hazard in device_class.hazards:
        held = hazard.locked_after(state.confirmed.get(hazard.id, ())) & by
        if hazard.id in state.hazards and held:
            return " or ".join(action for action in hazard.releases if hazard.lifted_by(action) & held)
    return _held(device_class, state, by)


def opening_locked(device_class: DeviceClass, state: UnitState) -> str:
    """Why the case may not be opened now, empty when it may."""
    return _held(device_class, state, frozenset({"opened"}))


def _held(device_class: DeviceClass, state: UnitState, by: frozenset[Lock]) -> str:
    """The caution of the first hazard that keeps one of these locks in force; empty when none does."""
    for hazard in device_class.hazards:
        in_force = hazard.locked_after(state.confirmed.get(hazard.id, ())) & by
        if hazard.id in state.hazards and in_force:
            return hazard.caution
        unproven = hazard.id not in state.hazards | state.cleared and "opened" in in_force
        if device_class.mains and unproven:
            return MAINS_LOCK
    proof = any("opened" in hazard.locks for hazard in device_class.hazards)
    return MAINS_LOCK if device_class.mains and "opened" in by and not proof else ""


def _failed_safety(device_class: DeviceClass, record: Record) -> str:
    failed = (check for check in device_class.checks if not check.money and record.latest.get(check.id) == "bad")
    return next((f"“{check.question or check.id}” read bad: do not power it" for check in failed), "")


def has_tools(check: Check, means: Means) -> bool:
    """Whether the person owns every tool that the check takes."""
    return not _tools_missing(check, means)


def _tools_missing(check: Check, means: Means) -> list[str]:
    owned = {_plain(tool) for tool in means.tools}
    return [tool for tool in check.tools if _plain(tool) not in owned]


def _why_locked(
    device_class: DeviceClass, check: Check, state: UnitState, means: Means, record: Record
) -> tuple[LockKind, str] | None:
    said = record.said.get(check.id)
    missing = _tools_missing(check, means)
    untrained = check.permission is not None and check.permission not in means.permissions
    reasons: tuple[tuple[LockKind, str], ...] = (
        ("safety", _failed_safety(device_class, record) if check.powered else ""),
        ("safety", _held(device_class, state, check.held_by())),
        ("training", f"needs training for {TRAINING[check.permission or 'tube']}, not stated" if untrained else ""),
        ("tool", f"needs a tool you do not have: {', '.join(map(_in_words, missing))}" if missing else ""),
        ("none_here", "does not apply to this unit" if check.id in state.does_not_apply else ""),
        (
            "answered",
            _ANSWERED.get(said.word, "answered already") if said and _is_settled(check, said, record) else "",
        ),
    )
    return next(((kind, why) for kind, why in reasons if why), None)


def _is_settled(check: Check, said: Said, record: Record) -> bool:
    """Whether another answer would say nothing new; a function that reads bad once may be a false alarm."""
    if not said.counted or stale(check, record):
        return False
    return not (check.function and said.word == "bad" and record.bad_in_a_row.get(check.id, 0) < MOST_LOOKS)


_ANSWERED: Final = {
    "good": "answered already: good",
    "bad": "answered already: bad",
    "cant_tell": "you could not tell",
    "not_tested": "put off",
}


def _in_words(tool: str) -> str:
    return tool.replace("_", " ")


def _plain(tool: str) -> str:
    return tool.strip().lower().replace(" ", "_")


def _word(event: Answered | Reading) -> str:
    if isinstance(event, Answered):
        return event.answer
    return event.reads or "reading"
