"""Adding up over parts and conditions: what a product-form question about the whole network comes to."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Literal, TypeAlias

import msgspec
import numpy as np

from catalog.text import Refused
from triage.diagnosis import enumeration, expansion
from triage.diagnosis.history import History
from triage.diagnosis.likelihood import Floats, factors_of
from triage.diagnosis.marginals import marginals
from triage.diagnosis.nearly import nearly
from triage.diagnosis.network import Network
from triage.diagnosis.situation import Situation
from triage.diagnosis.sky import Weather
from triage.diagnosis.states import FaultStates, Part, fault_states, parts_of

Method: TypeAlias = Literal["auto", "enumeration", "expansion"]
Tests: TypeAlias = Callable[[Sequence[FaultStates]], list[Floats]]
"""From the states of every fault to float64[questions, states] for each; the first question is the plain total."""

MOST_STATES = 2**22
"""Joint states of one part that are still enumerated (about a second)."""
MOST_MEMORY = 2**18
"""Memory states that may be open at once when the faults are taken one by one."""


class BeyondExact(Refused):
    """The evidence ties too many faults together for an exact answer."""


class Totals(msgspec.Struct, frozen=True):
    """Answers to the questions: chances given the evidence; all 0 when it is impossible."""

    log_evidence: float
    """Natural log; -inf when the evidence is impossible."""
    answers: list[float]
    skies: dict[tuple[bool, ...], float]
    """Chance of each combination of the conditions."""


def just_total(states: Sequence[FaultStates]) -> list[Floats]:
    """The one question that only asks for the evidence."""
    return [np.ones((1, len(entry.cured_at))) for entry in states]


def add_up(
    network: Network, history: History, tests_of: Tests = just_total, *, questions: int = 1, method: Method = "auto"
) -> Totals:
    """Answer product-form questions about a network.

    Evidence ties faults into parts; given the conditions the parts are independent. The state "every fault was absent
    from the start" is kept apart all the way, because `known_faulty` changes its weight and no other.

    Raises `BeyondExact` when a part is too large for either way of summing.
    """
    factors = factors_of(network, history)
    states = fault_states(network, history, factors)
    tests = tests_of(states)
    sky = network.layout.sky
    log_some, log_none = network.layout.starting
    loose = sum(expansion.at_rest(factor) for factor in factors if not factor.links)
    scale = sky.log_chance + loose + log_some
    before = np.ones((len(sky.states), 1))  # product of "all absent" over the parts so far
    some = np.zeros((len(sky.states), questions))  # weight of the states with a fault in the parts so far
    parts = parts_of(len(network.faults), factors)
    if questions == 1:  # only the evidence is asked for: faults of which nothing was said add up to certainty
        lone = [part.faults[0] for part in parts if not part.factors]
        parts = [part for part in parts if part.factors]
        log_absent = sky.log_absent[:, lone].sum(axis=1, keepdims=True)
        before, some = np.exp(log_absent), -np.expm1(log_absent)
    for part in parts:
        mine = [tests[i] for i in part.faults]
        found, weight = _part_sums(sky, part, [states[i] for i in part.faults], mine, method=method)
        none = sky.log_absent[:, list(part.faults)].sum(axis=1) + sum(expansion.at_rest(f) for f in part.factors)
        top = np.maximum(found, none)
        top = np.where(top == -np.inf, 0.0, top)
        weight = weight * np.exp(found - top)[:, None]
        here = _at_rest(mine, questions) * np.exp(none - top)[:, None]
        some = some * (weight + here) + before * weight
        before = before * here
        scale = scale + top
    log_rest = log_none + sum(expansion.at_rest(factor) for factor in factors)
    top_all = max(float(scale[some[:, 0] > 0.0].max(initial=-np.inf)), float(log_rest.max()))
    if top_all == -np.inf:
        return Totals(-math.inf, [0.0] * questions, {})
    by_sky = some * np.exp(scale - top_all)[:, None] + np.exp(log_rest - top_all)[:, None] * _at_rest(tests, questions)
    whole = float(by_sky[:, 0].sum())
    return Totals(
        log_evidence=top_all + math.log(whole),
        answers=[min(1.0, float(value)) for value in by_sky.sum(axis=0) / whole],
        skies=dict(zip(sky.states, (by_sky[:, 0] / whole).tolist(), strict=True)),
    )


def log_evidence_in(situation: Situation, *, method: Method = "auto") -> float:
    """Like `log_evidence`, from a situation that is already laid out."""
    found = marginals(situation) if method == "auto" else None
    if found is not None:
        return found.log_evidence
    try:
        return add_up(situation.network, situation.history, method=method).log_evidence
    except BeyondExact:
        rough = nearly(situation) if method == "auto" else None
        if rough is None:
            raise
        return rough.log_evidence


def _at_rest(tests: Sequence[Floats], questions: int) -> Floats:
    """float64[questions]; each question's answer for the unit in which every fault was absent from the start."""
    total = np.ones(questions)
    for line in tests:
        total = total * line[:, 0]
    return total


def _part_sums(
    sky: Weather,
    part: Part,
    states: Sequence[FaultStates],
    tests: Sequence[Floats],
    *,
    method: Method,
) -> tuple[Floats, Floats]:
    with np.errstate(divide="ignore"):
        priors = [
            [entry.log_prior(present[i], absent[i]) for entry, i in zip(states, part.faults, strict=True)]
            for present, absent in zip(sky.log_present, sky.log_absent, strict=True)
        ]
    cells = math.prod(len(entry.cured_at) for entry in states)
    if method == "expansion" or (method == "auto" and cells > 2**14):
        way = expansion.plan(part)
        cheaper = 2 * way.width * len(part.faults) < cells or cells > MOST_STATES
        if method == "expansion" or (cheaper and way.width <= MOST_MEMORY):
            return expansion.sums(part, states, priors, tests, way)
    if cells > MOST_STATES:
        raise BeyondExact(
            f"{len(part.faults)} faults tied by {len(part.factors)} checks: {cells} joint states, "
            "more than can be summed exactly; take back an answer that touches many faults"
        )
    return enumeration.sums(part, states, priors, tests)
