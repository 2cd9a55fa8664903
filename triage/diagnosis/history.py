"""Replaying what happened to a unit: which answers are evidence, about which state, and which cures were tried."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import msgspec

from catalog.text import Refused
from triage.diagnosis.network import Answered, Check, Event, Likelihood, Network, Reading, Repaired, Reported


class Seen(msgspec.Struct, frozen=True):
    """One piece of evidence: an answer, a reading or a report, at the time `index` (its place among the events)."""

    index: int
    check: str
    likelihood: Likelihood
    recorded: bool = False
    """True for a plain good or bad, which `flip` may have turned over; a reading carries its own error."""


class History(msgspec.Struct, frozen=True):
    """A unit's events, sorted into what counts and what does not."""

    seen: tuple[Seen, ...]
    """Answers and readings that count, in time order."""
    reports: tuple[Seen, ...]
    """Reports that no later answer of the same check has replaced; at most one a check."""
    attempts: dict[str, tuple[int, ...]]
    """Fault id to the times at which a cure was tried."""
    latest: dict[str, str]
    """Check id to its latest good or bad."""
    ignored: tuple[int, ...]
    """Events that were meant as answers and are no evidence."""
    now: int
    """Number of events; later than each of their times."""

    def without(self, index: int) -> History:
        """The same history with the evidence of one event left out; what it cured or opened stays as it was."""
        return self.keeping(entry.index for entry in (*self.seen, *self.reports) if entry.index != index)

    def keeping(self, indexes: Iterable[int]) -> History:
        """The same history with only these events as evidence."""
        kept = frozenset(indexes)
        return msgspec.structs.replace(
            self,
            seen=tuple(entry for entry in self.seen if entry.index in kept),
            reports=tuple(entry for entry in self.reports if entry.index in kept),
        )

    def touched_since(self, check: Check, time: int) -> bool:
        """Whether a cure of a fault behind the check was tried at that time or later."""
        return any(moment >= time for fault in check.links for moment in self.attempts[fault])


def gate_open(check: Check, latest: Mapping[str, str]) -> bool:
    """Whether an answer to the check means anything, given the latest good or bad of every check."""
    return not check.gate or all(latest.get(gate.check) == gate.must_be for gate in check.gate)


def replay(network: Network, events: Sequence[Event]) -> History:
    """Go through the events in time order. Raises `Refused` for an event about an unknown check or fault."""
    rows, faults = network.layout.row_of, network.layout.place_of
    attempts: dict[str, tuple[int, ...]] = dict.fromkeys(faults, ())
    latest: dict[str, str] = {}
    seen: list[Seen] = []
    reports: dict[str, Seen] = {}
    ignored: list[int] = []
    for index, event in enumerate(events):
        if isinstance(event, Repaired):
            for fault_id in dict.fromkeys(event.faults):
                if fault_id not in faults:
                    raise Refused(f"there is no fault {fault_id!r}; name one that is listed", where=f"events[{index}]")
                attempts[fault_id] += (index,)
            continue
        if event.check not in rows:
            raise Refused(f"there is no check {event.check!r}; name one that is listed", where=f"events[{index}]")
        check = network.checks[rows[event.check]]
        entry = _evidence(index, event)
        counts = entry is not None and (isinstance(event, Reported) or gate_open(check, latest))
        if entry is None or not counts:
            ignored.append(index)
        else:
            replaced = reports.pop(event.check, None)
            if replaced is not None:
                ignored.append(replaced.index)
            if isinstance(event, Reported):
                reports[event.check] = entry
            else:
                seen.append(entry)
        _note_answer(event, latest)
        if check.cures and not isinstance(event, Reported) and not _not_tested(event):
            for fault_id in dict.fromkeys(check.cures):
                attempts[fault_id] += (index,)
    return History(
        seen=tuple(seen),
        reports=tuple(sorted(reports.values(), key=lambda entry: entry.index)),
        attempts=attempts,
        latest=latest,
        ignored=tuple(sorted(ignored)),
        now=len(events),
    )


def _not_tested(event: Event) -> bool:
    return isinstance(event, Answered) and event.answer == "not_tested"


def _note_answer(event: Event, latest: dict[str, str]) -> None:
    if isinstance(event, Answered) and event.answer in {"good", "bad"}:
        latest[event.check] = event.answer
    elif isinstance(event, Reading) and event.reads is not None:
        latest[event.check] = event.reads


def _evidence(index: int, event: Event) -> Seen | None:
    if isinstance(event, Repaired):
        return None
    if isinstance(event, Answered):
        if event.answer not in {"good", "bad"}:
            return None
        return Seen(index, event.check, (1.0, 0.0) if event.answer == "bad" else (0.0, 1.0), recorded=True)
    return Seen(index, event.check, event.likelihood)
