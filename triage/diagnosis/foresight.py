"""What the next answer of each check may be, and what would be believed after it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import msgspec
import numpy as np

from triage.diagnosis.history import History, gate_open, replay
from triage.diagnosis.likelihood import log_quiet
from triage.diagnosis.marginals import marginals, quiet_of
from triage.diagnosis.network import Answer, Answered, Check, Event, Network
from triage.diagnosis.posterior import believe_in
from triage.diagnosis.situation import Situation

_ANSWERS: Final[tuple[Answer, Answer]] = ("bad", "good")


class NextAnswer(msgspec.Struct, frozen=True):
    """The chance that a check's next answer is bad, and the chance of each fault there after either answer.

    The faults are as the answer's own cures leave them. A side is empty when that answer cannot come.
    """

    bad: float
    if_bad: dict[str, float]
    if_good: dict[str, float]


def foresee(network: Network, events: Sequence[Event]) -> dict[str, NextAnswer]:
    """By id, every check without an own answer whose gate is open; empty when the evidence is impossible.

    Raises `BeyondExact` like `posterior`.
    """
    history = replay(network, events)
    situation = Situation(network, history)
    answered = {entry.check for entry in history.seen}
    asked = [check for check in network.checks if check.id not in answered and gate_open(check, history.latest)]
    plain = [check for check in asked if _is_plain(check, history)]
    found = _together(situation, plain)
    result = {}
    for check in asked:
        next_answer = found.get(check.id) or _by_itself(network, events, check)
        if next_answer is not None:
            result[check.id] = next_answer
    return result


def _is_plain(check: Check, history: History) -> bool:
    """Whether an answer does no more than speak of the faults as they are."""
    return not check.cures and all(entry.check != check.id for entry in history.reports)


def _together(situation: Situation, checks: Sequence[Check]) -> dict[str, NextAnswer]:
    """All plain checks at once: with G the chance that nothing makes one bad, both answers are sums of 1 and of G."""
    found = marginals(situation, quiet_of(situation, checks))
    if found is None:
        return {}
    faults = [fault.id for fault in situation.network.faults]
    quiet = np.exp([log_quiet(check) for check in checks])
    good = quiet * found.total[1:]
    with_good = quiet[:, None] * found.present[1:]
    result = {}
    for row, check in enumerate(checks):
        bad, if_bad = 1.0 - good[row], np.maximum(found.present[0] - with_good[row], 0.0)
        told = (1.0 - check.misread) * bad + check.misread * good[row]
        sides = [
            (told, (1.0 - check.misread) * if_bad + check.misread * with_good[row]),
            (1.0 - told, (1.0 - check.misread) * with_good[row] + check.misread * if_bad),
        ]
        if min(told, 1.0 - told) > 1e-6:  # so rare an answer is better worked out by itself
            first, second = (dict(zip(faults, (line / chance).tolist(), strict=True)) for chance, line in sides)
            result[check.id] = NextAnswer(float(told), first, second)
    return result


def _by_itself(network: Network, events: Sequence[Event], check: Check) -> NextAnswer | None:
    beliefs = [
        believe_in(Situation(network, replay(network, [*events, Answered(check.id, answer)])), details=False)
        for answer in _ANSWERS
    ]
    logs = [-math.inf if belief.log_evidence is None else belief.log_evidence for belief in beliefs]
    top = max(logs)
    if top == -math.inf:
        return None
    bad, good = (math.exp(log - top) for log in logs)
    return NextAnswer(bad / (bad + good), beliefs[0].present, beliefs[1].present)
