"""The worlds of a unit carried on from one event to the next, which costs a tenth of finding them anew.

A world is weighed by how well it foretold an answer; a try at a cure splits the worlds in which the fault is there.
"""

from __future__ import annotations

import msgspec
import numpy as np

from triage.diagnosis import Answered, Network, Repaired, Worlds, worlds
from triage.diagnosis.history import replay
from triage.diagnosis.network import Event

FIRST_LOSS = 1e-4
"""Chance left out at the start."""
LOSS = 2e-4
"""Chance left out at each event, as a share of what is there."""


def at_the_start(network: Network) -> Worlds:
    """The worlds before any event."""
    return worlds(network, (), FIRST_LOSS)


def bad_chance(before: Worlds, check_id: str) -> float:
    """The chance that the next answer of a check is bad."""
    return float(before.weight @ before.bad_chance(check_id))


def carried_on(before: Worlds, events: tuple[Event, ...]) -> Worlds:
    """The worlds after the last of the events, `before` being those after all the others."""
    event = events[-1]
    if isinstance(event, Answered):
        return _heavy(before.answered(events))
    after = msgspec.structs.replace(before, history=replay(before.network, events))
    return _heavy(after.tried(event.faults if isinstance(event, Repaired) else (), len(events) - 1))


def _heavy(before: Worlds) -> Worlds:
    """The heaviest worlds, brought to a sum of 1; all but `LOSS` of the chance."""
    weight = before.weight / before.weight.sum()
    order = np.argsort(-weight, kind="stable")
    count = 1 + int(np.searchsorted(np.cumsum(weight[order]), 1.0 - LOSS))
    return msgspec.structs.replace(before, weight=weight).at(order[:count]).shared_out()
