"""What is wrong with a unit: exact chances over all fault sets, after everything that happened to it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Literal, TypeAlias

import msgspec
import numpy as np

from catalog.text import Refused
from triage.diagnosis import enumeration, expansion
from triage.diagnosis.conflict import smallest_conflict
from triage.diagnosis.history import History, Seen, replay
from triage.diagnosis.likelihood import Floats, factors_of, links_of, log_quiet
from triage.diagnosis.network import Check, Event, Network
from triage.diagnosis.states import FaultStates, Part, Weather, fault_states, parts_of, starting_chances, weather
from triage.diagnosis.worlds import likeliest_set

Method: TypeAlias = Literal["auto", "enumeration", "expansion"]

MOST_STATES = 2**22
"""Joint states of one part that are still enumerated (about a second)."""
MOST_TERMS = 2**18
"""Products that one part may still be expanded into."""
FAR_FETCHED = math.log(20.0)
"""Evidence that is this much less likely together than its pieces are one by one is called far-fetched."""


class BeyondExact(Refused):
    """The evidence ties too many faults together for an exact answer."""


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

    @property
    def far_fetched(self) -> bool:
        """Whether the pieces of evidence speak against each other under this network."""
        return self.impossible or self.conflict_strength >= FAR_FETCHED


def posterior(network: Network, events: Sequence[Event], *, method: Method = "auto") -> Belief:
    """Exact posterior after the events, which stand in time order.

    `method` forces one of the two ways of summing; both give the same result. Raises `BeyondExact` when neither is
    within reach, `Refused` for events about unknown checks or faults.
    """
    return believe(network, replay(network, events), method=method)


def believe(network: Network, history: History, *, method: Method = "auto", details: bool = True) -> Belief:
    """Like `posterior`, from a history; without `details` no fault set, no predictions and no conflict measure."""
    unseen = _unanswered(network, history) if details else []
    total = _Sums(network, history, method=method, unseen=unseen)
    if total.log_evidence == -math.inf:
        conflict = smallest_conflict(history, lambda some: log_evidence(network, some, method=method) == -math.inf)
        return Belief(impossible=True, log_evidence=None, ignored=history.ignored, conflict=conflict)
    faults = [fault.id for fault in network.faults]
    count = len(faults)
    answers = total.answers
    present = dict(zip(faults, answers[3 : 3 + count], strict=True))
    belief = Belief(
        impossible=False,
        log_evidence=total.log_evidence,
        present=present,
        absent=dict(zip(faults, answers[3 + count : 3 + 2 * count], strict=True)),
        at_start=dict(zip(faults, answers[3 + 2 * count : 3 + 3 * count], strict=True)),
        p_no_fault=answers[1],
        p_no_fault_at_start=answers[2],
        expected_faults=math.fsum(present.values()),
        conditions=total.conditions(),
        ignored=history.ignored,
    )
    if not details:
        return belief
    good = dict(zip((check.id for check in unseen), answers[3 + 3 * count :], strict=True))
    return msgspec.structs.replace(
        belief,
        most_probable=_most_probable(network, history, method),
        predictive={check.id: _predicted(network, history, check, good[check.id], method) for check in unseen},
        conflict_strength=_conflict_strength(network, history, total.log_evidence, method),
    )


def log_evidence(network: Network, history: History, *, method: Method = "auto") -> float:
    """Natural log of the chance of what counts in the history; -inf when it is impossible."""
    return _Sums(network, history, method=method, only_total=True).log_evidence


class _Sums:
    """All product-form questions about a network, answered together.

    Order of the questions: everything, none now, none at the start, each fault now, each not now, each at the start,
    then for each unanswered check that it would be good.
    """

    def __init__(
        self,
        network: Network,
        history: History,
        *,
        method: Method,
        unseen: Sequence[Check] = (),
        only_total: bool = False,
        exactly: Mapping[str, bool] | None = None,
    ) -> None:
        factors = factors_of(network, history)
        self._network = network
        self._weather = weather(network)
        states = fault_states(network, history, factors)
        tests = (
            _set_tests(network, states, exactly)
            if exactly is not None
            else _tests(network, states, unseen, only_total=only_total)
        )
        rest = (
            np.prod([line[:, 0] for line in tests], axis=0)
            if tests
            else np.ones((1 if only_total else 3) + len(unseen))
        )
        loose = sum(expansion.at_rest(factor) for factor in factors if not factor.links)
        self._log_rest = sum(expansion.at_rest(factor) for factor in factors)
        self._add_up(parts_of(len(network.faults), factors), states, tests, rest=rest, loose=loose, method=method)
        self.answers = self._answers(unseen)

    def _add_up(
        self,
        parts: Sequence[Part],
        states: Sequence[FaultStates],
        tests: Sequence[Floats],
        *,
        rest: Floats,
        loose: float,
        method: Method,
    ) -> None:
        sky = self._weather
        log_some, log_none = starting_chances(self._network, sky)
        scale = sky.log_chance + loose + log_some
        before = np.ones((len(sky.states), 1))  # product of "all absent" over the parts so far
        some = np.zeros((len(sky.states), len(rest)))  # weight of the states with a fault in the parts so far
        for part in parts:
            found, weight = _part_sums(self._network, sky, part, [states[i] for i in part.faults], tests, method=method)
            none = sky.log_absent[:, list(part.faults)].sum(axis=1) + sum(expansion.at_rest(f) for f in part.factors)
            top = np.maximum(found, none)
            top = np.where(top == -np.inf, 0.0, top)
            weight = weight * np.exp(found - top)[:, None]
            here = np.prod([tests[i][:, 0] for i in part.faults], axis=0)[None, :] * np.exp(none - top)[:, None]
            some = some * (weight + here) + before * weight
            before = before * here
            scale = scale + top
        log_rest = log_none + self._log_rest
        top_all = max(float(scale[some[:, 0] > 0.0].max(initial=-np.inf)), float(log_rest.max()))
        if top_all == -np.inf:
            self.log_evidence = -math.inf
            self._by_sky = np.zeros((len(sky.states), len(rest)))
            return
        self._by_sky = some * np.exp(scale - top_all)[:, None] + np.exp(log_rest - top_all)[:, None] * rest[None, :]
        whole = float(self._by_sky[:, 0].sum())
        self.log_evidence = top_all + math.log(whole) if whole > 0.0 else -math.inf

    def _answers(self, unseen: Sequence[Check]) -> list[float]:
        if self.log_evidence == -math.inf:
            return []
        values = self._by_sky.sum(axis=0) / self._by_sky[:, 0].sum()
        count = len(values) - len(unseen)
        return [min(1.0, float(value)) for value in values[:count]] + [float(value) for value in values[count:]]

    def conditions(self) -> dict[str, float]:
        """Chance that each condition holds."""
        chances = self._by_sky[:, 0] / self._by_sky[:, 0].sum()
        return {
            condition.id: float(
                sum(chance for chance, state in zip(chances, self._weather.states, strict=True) if state[i])
            )
            for i, condition in enumerate(self._network.conditions)
        }


def _part_sums(
    network: Network,
    sky: Weather,
    part: Part,
    states: Sequence[FaultStates],
    tests: Sequence[Floats],
    *,
    method: Method,
) -> tuple[Floats, Floats]:
    mine = [tests[i] for i in part.faults]
    with np.errstate(divide="ignore"):
        priors = [
            [entry.log_prior(present[i], absent[i]) for entry, i in zip(states, part.faults, strict=True)]
            for present, absent in zip(sky.log_present, sky.log_absent, strict=True)
        ]
    cells = math.prod(len(entry.cured_at) for entry in states)
    terms = expansion.count_terms(part)
    width = sum(len(entry.cured_at) for entry in states)
    cheaper = terms * width * mine[0].shape[0] < 20 * cells and cells > 1_024
    if method == "expansion" or (method == "auto" and (cheaper or cells > MOST_STATES) and terms <= MOST_TERMS):
        found = expansion.sums(part, states, priors, mine, without_rest=network.known_faulty is not None)
        if found is not None:
            return found
    if cells > MOST_STATES:
        raise BeyondExact(
            f"{len(part.faults)} faults tied by {len(part.factors)} checks: {cells} states, {terms} terms; "
            "more than can be summed exactly; take back an answer that touches many faults"
        )
    return enumeration.sums(part, states, priors, mine)


def _tests(
    network: Network, states: Sequence[FaultStates], unseen: Sequence[Check], *, only_total: bool
) -> list[Floats]:
    places = {fault.id: place for place, fault in enumerate(network.faults)}
    links = [dict(links_of(check, places)) for check in unseen]
    count = len(network.faults)
    lines = []
    for place, entry in enumerate(states):
        size = len(entry.cured_at)
        if only_total:
            lines.append(np.ones((1, size)))
            continue
        now = entry.present(np.inf).astype(np.float64)
        first = np.array([0.0] + [1.0] * (size - 1))
        line = np.ones((3 + 3 * count + len(unseen), size))
        line[1], line[2] = 1.0 - now, 1.0 - first
        line[3 + place], line[3 + count + place], line[3 + 2 * count + place] = now, 1.0 - now, first
        for row, strength in enumerate(links):
            if place in strength:
                line[3 + 3 * count + row] = np.where(now > 0.0, math.exp(strength[place]), 1.0)
        lines.append(line)
    return lines


def _set_tests(network: Network, states: Sequence[FaultStates], exactly: Mapping[str, bool]) -> list[Floats]:
    lines = []
    for fault, entry in zip(network.faults, states, strict=True):
        now = entry.present(np.inf)
        lines.append(np.array([np.ones(len(now)), now == exactly[fault.id]], dtype=np.float64))
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


def _most_probable(network: Network, history: History, method: Method) -> FaultSet | None:
    found = likeliest_set(network, history)
    if found is None:
        return None
    chosen, tied = found
    exactly = {fault.id: fault.id in chosen for fault in network.faults}
    answers = _Sums(network, history, method=method, exactly=exactly).answers
    return FaultSet(faults=chosen, probability=answers[1] if network.faults else 1.0, tied=tied)


def _conflict_strength(network: Network, history: History, together: float, method: Method) -> float:
    """Conflict measure of Jensen (An Introduction to Bayesian Networks, 1996), from memory, one piece a check."""
    checks = dict.fromkeys(entry.check for entry in (*history.seen, *history.reports))
    if len(checks) < 2:
        return 0.0
    alone = [
        log_evidence(
            network,
            history.keeping(entry.index for entry in (*history.seen, *history.reports) if entry.check == check),
            method=method,
        )
        for check in checks
    ]
    return math.fsum(alone) - together
