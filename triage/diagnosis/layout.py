"""A network as arrays: everything that needs no history, each piece worked out when first asked for and then kept."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from triage.diagnosis.sky import Weather, starting_chances, weather

if TYPE_CHECKING:
    from triage.diagnosis.likelihood import Floats
    from triage.diagnosis.network import Network
    from triage.diagnosis.quick import Told


class Layout:
    """Faults and checks by their places in the network; "sky" stands for one combination of the conditions."""

    def __init__(self, network: Network) -> None:
        self._network = network
        self.faults = tuple(fault.id for fault in network.faults)
        self.row_of = {check.id: row for row, check in enumerate(network.checks)}
        """Check id to its place."""
        self.told: dict[tuple[int, float, float], Told] = {}
        """By check and likelihoods if it is bad and if it is good: what was worked out of such an answer before."""

    @cached_property
    def place_of(self) -> dict[str, int]:
        """Fault id to its place."""
        return {fault: place for place, fault in enumerate(self.faults)}

    @cached_property
    def sky(self) -> Weather:
        """The combinations of conditions."""
        return weather(self._network)

    @cached_property
    def holds(self) -> Floats:
        """float64[conditions, combinations]; 1 where the condition holds."""
        states = np.array(self.sky.states, dtype=np.float64)
        return states.reshape(len(self.sky.states), len(self._network.conditions)).T

    @cached_property
    def starting(self) -> tuple[float, Floats]:
        """Log factor on every set with a fault, and log chance of no fault with each combination of conditions."""
        return starting_chances(self._network, self.sky)

    @cached_property
    def some_chance(self) -> Floats:
        """float64[combinations, 1]; factor on the chances of the fault sets that are not empty."""
        chance: Floats = np.exp(self.sky.log_chance + self.starting[0])
        return chance[:, None]

    @cached_property
    def untouched(self) -> Floats:
        """float64[combinations]; chance of each together with no fault at all."""
        return np.exp(self.starting[1])

    @cached_property
    def present(self) -> Floats:
        """float64[faults, combinations, 1]; chance of each fault."""
        return np.exp(self.sky.log_present.T[:, :, None])

    @cached_property
    def absent(self) -> Floats:
        """float64[faults, combinations, 1]; chance that it is not there."""
        return np.exp(self.sky.log_absent.T[:, :, None])

    @cached_property
    def none(self) -> Floats:
        """float64[combinations]; chance of no fault before `known_faulty` is reckoned with."""
        result: Floats = np.exp(self.sky.log_absent.sum(axis=1))
        return result

    @cached_property
    def nothing(self) -> float:
        """What `some_chance` makes of the sets without a fault: too much by this."""
        return float(self.some_chance[:, 0] @ self.none)

    @cached_property
    def healthy(self) -> float:
        """Chance of no fault at all."""
        return float(self.untouched.sum())

    @cached_property
    def beside(self) -> Floats:
        """float64[combinations]; `untouched`, less what `some_chance` makes of the sets without a fault."""
        result: Floats = self.untouched - self.some_chance[:, 0] * self.none
        return result

    @cached_property
    def sure(self) -> bool:
        """Whether some fault is sure to be there under some combination."""
        return not self.absent.all()

    @cached_property
    def quiet(self) -> list[float]:
        """For each check, 1 - leak."""
        return [1.0 - check.leak for check in self._network.checks]

    @cached_property
    def kept(self) -> Floats:
        """float64[checks, faults, 1]; 1 - strength, what a fault that is there leaves of the chance of good."""
        result = np.ones((len(self._network.checks), len(self.faults), 1))
        for row, check in enumerate(self._network.checks):
            for fault, strength in check.links.items():
                result[row, self.place_of[fault]] = 1.0 - strength
        return result

    @cached_property
    def linked(self) -> list[int]:
        """For each check, the faults that can make it bad, as bits of a number."""
        return [
            sum(1 << self.place_of[fault] for fault, strength in check.links.items() if strength)
            for check in self._network.checks
        ]

    @cached_property
    def good(self) -> list[float]:
        """For each check, the chance that it is truly good before anything was seen."""
        left = self.absent + self.present * self.kept[:, :, 0].T[:, None]  # float64[faults, combinations, checks]
        by_sky = self.quiet * (left.prod(axis=0) - self.none[:, None])
        result = self.some_chance[:, 0] @ np.maximum(by_sky, 0.0) + self.untouched.sum() * np.array(self.quiet)
        return [min(1.0, chance) for chance in result.tolist()]
