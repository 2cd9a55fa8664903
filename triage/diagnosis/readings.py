"""What a measured value says about a check, as a pair of likelihoods.

Healthy: uniform over the stated limits, blurred by the meter's error. Bad: uniform over everything the meter can show,
with half of it on "open" or "dead" where that is how the thing fails. Only the ratio matters; it is capped, so that one
mistyped number cannot settle a unit.
"""

from __future__ import annotations

import math
from typing import Literal, TypeAlias

import msgspec

from triage.diagnosis.network import Likelihood

Scale: TypeAlias = Literal["linear", "log"]
Reads: TypeAlias = Literal["value", "open", "dead"]

CAP = 1_000.0
SPIKE = 0.5
"""Share of bad ones that read open (or dead) where they are stated to fail that way (from memory)."""


class Meter(msgspec.Struct, frozen=True):
    """A meter on one range: shows `low` to `high` in steps of `count`; its error is `share` of the value + `counts`."""

    low: float
    high: float
    count: float
    share: float = 0.02
    counts: float = 2.0

    def error(self, value: float) -> float:
        """Standard error at a value, in its unit; the stated error is taken as one standard error, to be careful."""
        return self.share * abs(value) + self.counts * self.count


def limits_of(nominal: float, tolerance: float) -> tuple[float, float]:
    """Low and high of a nominal value and its tolerance as a share (0.05 for 5 %)."""
    spread = abs(nominal) * tolerance
    return nominal - spread, nominal + spread


def likelihood_of(
    value: float,
    low: float,
    high: float,
    meter: Meter,
    *,
    scale: Scale = "linear",
    fails: Reads = "value",
    reads: Reads = "value",
) -> Likelihood:
    """Likelihood of a reading if the check is bad, and if it is good; the larger of the two is 1.

    `low` to `high` is what a healthy one shows. `scale` is "log" for ohms. `fails` says where half of the bad ones
    read; `reads` is "open" (over range) or "dead" (nothing there) when the meter showed no number: that is the end of
    its range, whatever `value` is. Raises ValueError for limits the wrong way round or a value off the scale.
    """
    if not low <= high or not meter.low < meter.high:
        raise ValueError("the low limit must not be above the high one")
    if reads == fails != "value":
        return 1.0, 1.0 / CAP
    if reads != "value":
        value = meter.high if reads == "open" else meter.low
        value = max(value, meter.count) if scale == "log" else value
    return _capped(
        _bad_density(value, meter, scale) * (1.0 - SPIKE if fails != "value" else 1.0),
        _healthy_density(value, low, high, meter, scale),
    )


def _healthy_density(value: float, low: float, high: float, meter: Meter, scale: Scale) -> float:
    error = meter.error(value)
    if scale == "log":
        if min(value, low) <= 0.0:
            raise ValueError("a log scale needs values above 0")
        error /= value
        value, low, high = math.log(value), math.log(low), math.log(high)
    if high - low < 1e-9 * error:
        return math.exp(-0.5 * ((value - low) / error) ** 2) / (error * math.sqrt(2.0 * math.pi))
    above, below = (value - low) / error, (value - high) / error
    return _between(below, above) / (high - low)


def _between(below: float, above: float) -> float:
    """Chance that a standard normal lies between two points, without losing digits far out."""
    if below > 0.0:
        return _beyond(below) - _beyond(above)
    if above < 0.0:
        return _beyond(-above) - _beyond(-below)
    return 1.0 - _beyond(-below) - _beyond(above)


def _beyond(x: float) -> float:
    return 0.5 * math.erfc(x / math.sqrt(2.0))


def _bad_density(value: float, meter: Meter, scale: Scale) -> float:
    if scale == "log":
        return 1.0 / (math.log(meter.high) - math.log(max(meter.low, meter.count)))
    return 1.0 / (meter.high - meter.low)


def _capped(bad: float, good: float) -> Likelihood:
    top = max(bad, good)
    return max(bad / top, 1.0 / CAP), max(good / top, 1.0 / CAP)
