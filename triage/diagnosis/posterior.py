"""What is wrong with a unit: exact chances over all fault sets, after everything that happened to it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec
import numpy as np

from triage.diagnosis.conflict import smallest_conflict
from triage.diagnosis.history import History, Seen, replay
from triage.diagnosis.likelihood import Floats, links_of, log_quiet
from triage.diagnosis.marginals import alone_of, marginals, quiet_of
from triage.diagnosis.nearly import Nearly, nearly
from triage.diagnosis.network import Check, Event, Network
from triage.diagnosis.quick import chances_of, told_of
from triage.diagnosis.situation import Situation
from triage.diagnosis.states import FaultStates
from triage.diagnosis.sums import BeyondExact, Method, add_up, log_evidence_in
from triage.diagnosis.worlds import likeliest_set

FAR_FETCHED = math.log(5.0)
"""Evidence that is this much less likely together than its pieces are one by one is called far-fetched (from memory).

Above 0 the pieces speak against each other; with the doubt that every answer carries, a factor of five is already odd.
"""


class FaultSet(msgspec.Struct, frozen=True):
    """A complete fault set and its chance; `tied` when another set is exactly as likely."""

    faults: tuple[str, ...]
    probability: float
    tied: bool


class Belief(msgspec.Struct, frozen=True):
    """Everything known about the faults of a unit. All chances are None or empty when the evidence is impossible."""

    impossible: bool
    log_evidence: float | None
    """Natural log of the chance (with readings or reports: the likelihood) of what was seen."""
    present: dict[str, float] = {}
    """Fault id to the chance that it is there now."""
    absent: dict[str, float] = {}
    """Fault id to the chance that it is not there now, summed on its own so that it keeps its digits."""
    at_start: dict[str, float] = {}
    """Fault id to the chance that it was there before any cure."""
    p_no_fault: float | None = None
    """Chance that no listed fault is there now."""
    p_no_fault_at_start: float | None = None
    expected_faults: float | None = None
    most_probable: FaultSet | None = None
    """The likeliest complete fault set now; None also when there are too many rivals to name one."""
    predictive: dict[str, float] = {}
    """Id of each check without an own answer to the chance that its next answer is bad."""
    conditions: dict[str, float] = {}
    """Condition id to the chance that it holds."""
    ignored: tuple[int, ...] = ()
    """Indexes of events that were meant as answers and are no evidence."""
    conflict: tuple[int, ...] = ()
    """A smallest set of event indexes that cannot all be right."""
    conflict_strength: float = 0.0
    """log(product of the chances of each check's evidence alone / chance of all together)."""
    left_out: float = 0.0
    """Above 0 where exact sums are out of reach: every chance is right to within it."""

    @property
    def far_fetched(self) -> bool:
        """Whether the pieces of evidence speak against each other under this network."""
        return self.impossible or self.conflict_strength >= FAR_FETCHED


def posterior(network: Network, events: Sequence[Event], *, method: Method = "auto") -> Belief:
    """Exact posterior after the events, which stand in time order.

    `method` forces one of the two slow ways of summing; all give the same result. Where none is within reach the
    chances are those of the heaviest worlds, and `left_out` bounds what is missing. Raises `BeyondExact` when that is
    too much, `Refused` for events about unknown checks or faults.
    """
    return believe(network, replay(network, events), method=method)


def believe(network: Network, history: History, *, method: Method = "auto", details: bool = True) -> Belief:
    """Like `posterior`, from a history; without `details` no fault set and no predictions."""
    return believe_in(Situation(network, history), method=method, details=details)


def believe_in(situation: Situation, *, method: Method = "auto", details: bool = True) -> Belief:
    """Like `believe`, from a situation that is already laid out."""
    network, history = situation.network, situation.history
    if method == "auto" and not details:
        quick = _untried(situation)
        if quick is not None:
            return quick
    unseen = _unanswered(network, history) if details else []
    found = _at_once(situation, unseen) if method == "auto" else None
    found = found or _slow(situation, unseen, method)
    if found.log_evidence == -math.inf:
        conflict = smallest_conflict(history, lambda some: log_evidence(network, some, method=method) == -math.inf)
        return Belief(impossible=True, log_evidence=None, ignored=history.ignored, conflict=conflict)
    faults = [fault.id for fault in network.faults]
    belief = Belief(
        impossible=False,
        log_evidence=found.log_evidence,
        present=dict(zip(faults, found.present, strict=True)),
        absent=dict(zip(faults, found.absent, strict=True)),
        at_start=dict(zip(faults, found.at_start, strict=True)),
        p_no_fault=found.none_now,
        p_no_fault_at_start=found.none_at_start,
        expected_faults=math.fsum(found.present),
        conditions=found.conditions,
        ignored=history.ignored,
        conflict_strength=_conflict_strength(situation, found.log_evidence, method),
        left_out=found.left_out,
    )
    if not details:
        return belief
    return msgspec.structs.replace(
        belief,
        most_probable=None if found.left_out else _most_probable(situation, found.log_evidence, method),
        predictive={
            check.id: _predicted(network, history, check, quiet, method)
            for check, quiet in zip(unseen, found.quiet, strict=True)
        },
    )


def log_evidence(network: Network, history: History, *, method: Method = "auto") -> float:
    """Natural log of the chance of what counts in the history; -inf when it is impossible."""
    return log_evidence_in(Situation(network, history), method=method)


def _untried(situation: Situation) -> Belief | None:
    """The belief, without details, where nothing was tried on the unit yet; None where that is not enough."""
    layout, told = situation.network.layout, told_of(situation.network, situation.history)
    found = chances_of(layout, told) if told is not None else None
    if told is None or found is None:
        return None
    present = dict(zip(layout.faults, found.present, strict=True))
    alone = math.fsum([one.log_alone for one in told])
    return Belief(
        impossible=False,
        log_evidence=found.log_evidence,
        present=present,
        absent=dict(zip(layout.faults, found.absent, strict=True)),
        at_start=present.copy(),
        p_no_fault=found.none,
        p_no_fault_at_start=found.none,
        expected_faults=math.fsum(found.present),
        conditions=_conditions(situation, found.skies),
        ignored=situation.history.ignored,
        conflict_strength=alone - found.log_evidence if len(told) > 1 else 0.0,
    )


class _Sums(msgspec.Struct, frozen=True):
    """What both ways of summing answer; -inf and nothing when the evidence is impossible."""

    log_evidence: float
    present: list[float] = []
    absent: list[float] = []
    at_start: list[float] = []
    none_now: float = 0.0
    none_at_start: float = 0.0
    conditions: dict[str, float] = {}
    left_out: float = 0.0
    quiet: list[float] = []
    """For each unanswered check, the chance that no fault makes it bad now."""


def _at_once(situation: Situation, unseen: Sequence[Check]) -> _Sums | None:
    found = marginals(situation, quiet_of(situation, unseen) if unseen else None)
    if found is None:
        return None
    return _Sums(
        log_evidence=found.log_evidence,
        present=found.present[0].tolist(),
        absent=found.absent[0].tolist(),
        at_start=found.at_start[0].tolist(),
        none_now=float(found.none_now[0]),
        none_at_start=float(found.none_at_start[0]),
        conditions=_conditions(situation, found.skies),
        quiet=found.total[1:].tolist(),
    )


def _conditions(situation: Situation, skies: Floats) -> dict[str, float]:
    holds = situation.network.layout.holds
    return dict(zip((each.id for each in situation.network.conditions), (holds @ skies).tolist(), strict=True))


def _slow(situation: Situation, unseen: Sequence[Check], method: Method) -> _Sums:
    network = situation.network
    count = len(network.faults)
    try:
        total = add_up(
            network,
            situation.history,
            lambda states: _tests(network, states, unseen),
            questions=3 + 3 * count + len(unseen),
            method=method,
        )
    except BeyondExact:
        rough = nearly(situation, unseen) if method == "auto" else None
        if rough is None:
            raise
        return _roughly(situation, rough)
    answers = total.answers
    return _Sums(
        log_evidence=total.log_evidence,
        present=answers[3 : 3 + count],
        absent=answers[3 + count : 3 + 2 * count],
        at_start=answers[3 + 2 * count : 3 + 3 * count],
        none_now=answers[1],
        none_at_start=answers[2],
        conditions={
            condition.id: math.fsum(chance for sky, chance in total.skies.items() if sky[place])
            for place, condition in enumerate(network.conditions)
        },
        quiet=answers[3 + 3 * count :],
    )


def _roughly(situation: Situation, found: Nearly) -> _Sums:
    return _Sums(
        log_evidence=found.log_evidence,
        present=found.present.tolist(),
        absent=(1.0 - found.present).tolist(),
        at_start=found.at_start.tolist(),
        none_now=found.none_now,
        none_at_start=found.none_at_start,
        conditions=_conditions(situation, found.skies),
        left_out=found.left_out,
        quiet=found.quiet.tolist(),
    )


def _tests(network: Network, states: Sequence[FaultStates], unseen: Sequence[Check]) -> list[Floats]:
    """Questions: everything, none now, none at the start, each fault now, each not now, each at the start.

    Then, for each unanswered check, that no fault makes it bad now.
    """
    places = {fault.id: place for place, fault in enumerate(network.faults)}
    links = [dict(links_of(check, places)) for check in unseen]
    count = len(network.faults)
    lines = []
    for place, entry in enumerate(states):
        now = entry.present(np.inf).astype(np.float64)
        first = np.array([0.0] + [1.0] * (len(now) - 1))
        line = np.ones((3 + 3 * count + len(unseen), len(now)))
        line[1], line[2] = 1.0 - now, 1.0 - first
        line[3 + place], line[3 + count + place], line[3 + 2 * count + place] = now, 1.0 - now, first
        for row, strength in enumerate(links):
            if place in strength:
                line[3 + 3 * count + row] = np.where(now > 0.0, math.exp(strength[place]), 1.0)
        lines.append(line)
    return lines


def _unanswered(network: Network, history: History) -> list[Check]:
    answered = {entry.check for entry in history.seen}
    return [check for check in network.checks if check.id not in answered]


def _predicted(network: Network, history: History, check: Check, no_cause: float, method: Method) -> float:
    """Chance that the first own answer of a check is bad."""
    misread = check.misread
    report = next((entry for entry in history.reports if entry.check == check.id), None)
    if report is not None and not history.touched_since(check, report.index):
        # the report was about the same state that the answer will show, so it counts for the answer as well
        said, not_said = report.likelihood
        chances = []
        for pair in ((said * (1.0 - misread), said * misread), (not_said * misread, not_said * (1.0 - misread))):
            instead = Seen(report.index, check.id, pair)
            reports = tuple(instead if entry is report else entry for entry in history.reports)
            chances.append(log_evidence(network, msgspec.structs.replace(history, reports=reports), method=method))
        top = max(chances)
        bad, good = (math.exp(chance - top) for chance in chances)
        return bad / (bad + good)
    bad = max(0.0, 1.0 - math.exp(log_quiet(check)) * no_cause)
    return bad * (1.0 - misread) + (1.0 - bad) * misread


def _most_probable(situation: Situation, together: float, method: Method) -> FaultSet | None:
    found = likeliest_set(situation, together)
    if found is None:
        return None
    chosen, tied = found
    wanted = [fault.id in chosen for fault in situation.network.faults]

    def tests(states: Sequence[FaultStates]) -> list[Floats]:
        return [
            np.array([np.ones(len(entry.cured_at)), entry.present(np.inf) == there], dtype=np.float64)
            for entry, there in zip(states, wanted, strict=True)
        ]

    answers = add_up(situation.network, situation.history, tests, questions=2, method=method).answers
    return FaultSet(faults=chosen, probability=answers[1], tied=tied)


def _conflict_strength(situation: Situation, together: float, method: Method) -> float:
    """Conflict measure of Jensen (An Introduction to Bayesian Networks, 1996), from memory, one piece a check."""
    network, history = situation.network, situation.history
    checks = dict.fromkeys(entry.check for entry in (*history.seen, *history.reports))
    if len(checks) < 2:
        return 0.0
    alone = alone_of(situation) if method == "auto" else {}
    for check in checks:
        if check not in alone:
            indexes = (entry.index for entry in (*history.seen, *history.reports) if entry.check == check)
            alone[check] = log_evidence(network, history.keeping(indexes), method=method)
    return math.fsum(alone.values()) - together
