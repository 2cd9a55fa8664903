"""The states a fault can be in, and the parts of a network that evidence ties together."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec
import numpy as np
from numpy.typing import NDArray

from triage.diagnosis.history import History
from triage.diagnosis.likelihood import Factor, Floats
from triage.diagnosis.network import Network

NEVER = float("inf")


class FaultStates(msgspec.Struct, frozen=True):
    """State 0 is "absent"; each other state is "present at first, cured at that time", the last "never cured".

    Times between which nothing was seen that could tell them apart share one state.
    """

    cured_at: Floats
    """float64[states]; -1 for absent, inf for still present."""
    share: Floats
    """float64[states - 1]; chance of each state but the first, given that the fault was present at first."""

    def present(self, time: float) -> NDArray[np.bool_]:
        """bool[states]; whether the fault is there at that time. A check speaks before its own cures."""
        return self.cured_at >= time

    def log_prior(self, log_present: float, log_absent: float) -> Floats:
        """float64[states]; log chance of each state."""
        return np.concatenate(([log_absent], log_present + np.log(self.share)))


_UNTOUCHED = FaultStates(np.array([-1.0, NEVER]), np.array([1.0]))
"""Absent, or still there: of a fault that no cure was tried on."""


class Part(msgspec.Struct, frozen=True):
    """Faults tied together by evidence, and that evidence; nothing outside them bears on them."""

    faults: tuple[int, ...]
    factors: tuple[Factor, ...]


def fault_states(network: Network, history: History, factors: Sequence[Factor]) -> list[FaultStates]:
    """The distinguishable states of each fault, in network order."""
    if not any(history.attempts.values()):
        return [_UNTOUCHED] * len(network.faults)
    times: list[set[int]] = [{history.now} for _ in network.faults]
    for factor in factors:
        for place, _ in factor.links:
            times[place].update(factor.slots)
    result = []
    for place, fault in enumerate(network.faults):
        if not history.attempts[fault.id]:
            result.append(_UNTOUCHED)
            continue
        shares: dict[tuple[bool, ...], tuple[float, float]] = {}
        left = 1.0
        for moment in (*map(float, history.attempts[fault.id]), NEVER):
            share = left if moment == NEVER else left * fault.success
            left -= share
            key = tuple(time <= moment for time in sorted(times[place]))
            shares[key] = (moment, shares.get(key, (0.0, 0.0))[1] + share)
        kept = [(moment, share) for moment, share in shares.values() if share > 0.0]
        result.append(
            FaultStates(
                cured_at=np.array([-1.0, *(moment for moment, _ in kept)]),
                share=np.array([share for _, share in kept]),
            )
        )
    return result


def parts_of(count: int, factors: Sequence[Factor]) -> list[Part]:
    """Split `count` faults into parts that no evidence ties together; a fault nothing was said about stands alone."""
    root = list(range(count))

    def find(place: int) -> int:
        while root[place] != place:
            root[place] = root[root[place]]
            place = root[place]
        return place

    for factor in factors:
        for place, _ in factor.links[1:]:
            root[find(place)] = find(factor.links[0][0])
    members: dict[int, list[int]] = {}
    for place in range(count):
        members.setdefault(find(place), []).append(place)
    return [
        Part(tuple(faults), tuple(f for f in factors if f.links and find(f.links[0][0]) == key))
        for key, faults in members.items()
    ]
