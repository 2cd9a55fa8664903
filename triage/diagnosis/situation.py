"""A unit's network and history laid out as arrays, once for every question that is asked of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property

import msgspec
import numpy as np
from numpy.typing import NDArray

from triage.diagnosis.history import History
from triage.diagnosis.likelihood import Factor, Floats, factors_of
from triage.diagnosis.network import Network
from triage.diagnosis.sky import Weather
from triage.diagnosis.states import FaultStates, Part, fault_states, parts_of


class Situation(msgspec.Struct, frozen=True, dict=True):
    """What is known of a unit; everything that follows is worked out when it is first asked for, and kept."""

    network: Network
    history: History

    @cached_property
    def factors(self) -> list[Factor]:
        """The evidence, check by check."""
        return factors_of(self.network, self.history)

    @cached_property
    def states(self) -> list[FaultStates]:
        """The distinguishable states of each fault."""
        return fault_states(self.network, self.history, self.factors)

    @cached_property
    def sky(self) -> Weather:
        """The combinations of conditions."""
        return self.network.layout.sky

    @cached_property
    def starting(self) -> tuple[float, Floats]:
        """Log factor on every set with a fault, and log chance of no fault with each combination of conditions."""
        return self.network.layout.starting

    @cached_property
    def parts(self) -> list[Part]:
        """Faults that evidence ties together."""
        return parts_of(len(self.network.faults), self.factors)

    @cached_property
    def prior(self) -> Floats:
        """float64[combinations, faults, states], 0 where a fault has fewer states; state 0 is "absent"."""
        most = max((len(entry.cured_at) for entry in self.states), default=2)
        result = np.zeros((*self.sky.log_present.shape, most))
        result[:, :, 0] = np.exp(self.sky.log_absent)
        result[:, :, 1] = np.exp(self.sky.log_present)
        for place, entry in enumerate(self.states):
            if len(entry.share) != 1:
                result[:, place, 1 : 1 + len(entry.share)] = result[:, place, 1:2] * entry.share
        return result

    @cached_property
    def now(self) -> NDArray[np.bool_]:
        """bool[faults, states]; whether the fault is there now."""
        result = np.zeros(self.prior.shape[1:], dtype=np.bool_)
        for place, entry in enumerate(self.states):
            result[place, : len(entry.cured_at)] = entry.cured_at == np.inf
        return result

    @cached_property
    def at_rest(self) -> list[float]:
        """Log likelihood of each factor if no listed fault was ever there."""
        return [_at_rest(factor) for factor in self.factors]

    @cached_property
    def fires(self) -> list[list[Floats]]:
        """For each factor and each of its linked faults, float64[slots, states]: how strongly each state sets it off.

        That is the fault's strength where it is there at the slot's time, else 0.
        """
        return [
            [self._fires(place, -math.expm1(log_kept), factor.slots) for place, log_kept in factor.links]
            for factor in self.factors
        ]

    def _fires(self, place: int, strength: float, slots: Sequence[int]) -> Floats:
        cured_at = self.states[place].cured_at
        if len(cured_at) == 2 and cured_at[1] == np.inf:
            return np.array([[0.0, strength]] * len(slots))
        return np.where(cured_at >= np.array(slots)[:, None], strength, 0.0)


class PartSums(msgspec.Struct, frozen=True):
    """The sums of parts side by side, to a common scale.

    float64[combinations, questions, parts], or [..., faults] for those of single faults.
    """

    log_scale: float
    some: Floats
    """A fault was there at some time."""
    none: Floats
    """None ever was."""
    clear: Floats
    """One was, but none is there now."""
    present: Floats
    """This fault is there now."""
    absent: Floats
    """It is not, but it or another of the part was there at some time."""
    at_start: Floats


def _at_rest(factor: Factor) -> float:
    if len(factor.answers) > 1:
        return float(factor.log_likelihood([np.array([factor.log_quiet])] * len(factor.slots))[0])
    ((_, (if_bad, if_good)),) = factor.answers
    value = if_good * math.exp(factor.log_quiet) - if_bad * math.expm1(factor.log_quiet)
    return math.log(value) if value > 0.0 else -math.inf
