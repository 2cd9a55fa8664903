"""Which answers moved which fault, and by how much."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec

from triage.diagnosis.history import replay
from triage.diagnosis.network import Event, Network
from triage.diagnosis.posterior import Belief, believe


class Contribution(msgspec.Struct, frozen=True):
    """What one piece of evidence does: the belief with it, less the belief with everything but it."""

    index: int
    """Place among the events."""
    check: str
    log_odds: dict[str, float]
    """Fault id to the change in log(p / (1 - p)); infinite where the evidence alone settles the fault."""
    chance: dict[str, float]
    """Fault id to the change in the chance that it is there now."""


def contributions(network: Network, events: Sequence[Event]) -> tuple[Contribution, ...]:
    """One entry for each event that counts as evidence, in time order; empty when the evidence is impossible.

    Leaving evidence out leaves its cures and the gates it opened as they were.
    """
    history = replay(network, events)
    whole = believe(network, history, details=False)
    if whole.impossible:
        return ()
    entries = sorted((*history.seen, *history.reports), key=lambda entry: entry.index)
    result = []
    for entry in entries:
        rest = believe(network, history.without(entry.index), details=False)
        result.append(
            Contribution(
                index=entry.index,
                check=entry.check,
                log_odds={fault: _gap(_log_odds(whole, fault), _log_odds(rest, fault)) for fault in whole.present},
                chance={fault: whole.present[fault] - rest.present[fault] for fault in whole.present},
            )
        )
    return tuple(result)


def _log_odds(belief: Belief, fault: str) -> float:
    present, absent = belief.present[fault], belief.absent[fault]
    if present == 0.0:
        return -math.inf
    return math.inf if absent == 0.0 else math.log(present) - math.log(absent)


def _gap(after: float, before: float) -> float:
    return 0.0 if after == before else after - before
