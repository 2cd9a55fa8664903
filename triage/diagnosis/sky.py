"""What is believed before anything was seen: the conditions of a unit, combined, and the chance of no fault at all."""

from __future__ import annotations

import math
from itertools import product
from typing import TYPE_CHECKING

import msgspec
import numpy as np

from catalog.text import Refused

if TYPE_CHECKING:
    from triage.diagnosis.likelihood import Floats
    from triage.diagnosis.network import Network


class Weather(msgspec.Struct, frozen=True):
    """The conditions of a unit, combined: each combination's log chance and what it makes of the fault priors."""

    states: tuple[tuple[bool, ...], ...]
    log_chance: Floats
    """float64[combinations]"""
    log_present: Floats
    """float64[combinations, faults]"""
    log_absent: Floats
    """float64[combinations, faults]"""


def weather(network: Network) -> Weather:
    """All combinations of the conditions that are not known; a known one is taken as given."""
    choices = [
        {"yes": [True], "no": [False], "unknown": [True, False]}[condition.state] for condition in network.conditions
    ]
    with np.errstate(divide="ignore"):
        base_present = np.log(np.array([fault.prior for fault in network.faults], dtype=np.float64))
        base_absent = np.log1p(-np.array([fault.prior for fault in network.faults], dtype=np.float64))
        states, chances, present, absent = [], [], [], []
        for state in product(*choices):
            chance = 0.0
            log_absent = base_absent.copy()
            raised = np.zeros(len(network.faults), dtype=np.bool_)
            for condition, holds in zip(network.conditions, state, strict=True):
                if condition.state == "unknown":
                    chance += float(np.log(condition.prior) if holds else np.log1p(-condition.prior))
                if holds:
                    rises = np.array([condition.raises.get(fault.id, 0.0) for fault in network.faults])
                    log_absent += np.log1p(-rises)
                    raised |= rises > 0.0
            if chance == -np.inf:
                continue
            states.append(state)
            chances.append(chance)
            absent.append(log_absent)
            present.append(np.where(raised, np.log(-np.expm1(log_absent)), base_present))
    return Weather(tuple(states), np.array(chances), np.array(present), np.array(absent))


def starting_chances(network: Network, sky: Weather) -> tuple[float, Floats]:
    """Log factor on every set with a fault, and log chance of no fault with each combination of conditions."""
    log_empty = sky.log_chance + sky.log_absent.sum(axis=1)
    if network.known_faulty is None:
        return 0.0, log_empty
    with np.errstate(divide="ignore"):
        log_good = np.log1p(-network.known_faulty)
        some = float((np.exp(sky.log_chance) * -np.expm1(sky.log_absent.sum(axis=1))).sum())
        if some == 0.0 and network.known_faulty > 0.0:
            raise Refused("no fault has a chance above 0, so nothing can be known faulty", where="known_faulty")
        log_some = float(np.log(network.known_faulty) - np.log(some)) if some > 0.0 else 0.0
    top = float(log_empty.max())
    share = sky.log_chance if top == -np.inf else log_empty - top - math.log(float(np.exp(log_empty - top).sum()))
    return log_some, share + log_good
