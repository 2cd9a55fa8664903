"""What the person's own findings say about a class: fault rates and strengths, moved from the file's numbers.

Pure. A finding is what the person says was wrong with a unit in the end (`triage.findings`); nothing is learned from a
posterior, so a unit that was sold without a finding only counts as seen. The file's number counts like `PSEUDO_UNITS`
units seen before (a Beta prior), what the class came to like as many of the model. With several faults there, a bad
answer is shared out among them and the leak by how likely each set it off, one pass over the units in their order.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

import msgspec

from triage.device_classes.schema import DeviceClass
from triage.findings import Closed
from triage.model_sheets import Stated
from triage.network import SOLD_AS_FAULTY, prior_of

PSEUDO_UNITS: Final = 8.0
"""How many units the number of the class file counts for (between 4 and 10 are usual; our choice, from memory)."""
_LEAST, _MOST = 1e-4, 0.9999
"""Bounds of a learned chance, so that no finding is ever taken for impossible."""
_ROUNDS = 4
"""Times the share of units sold as faulty is reckoned anew with what was learned; it settles after two or three."""


class Tally(msgspec.Struct, frozen=True):
    """One fault as it was found: in `found` of `of` units, `model_found` of `model_of` of the same model."""

    fault: str
    file: float
    """Chance in the class file."""
    found: int
    of: int
    model_found: int
    model_of: int
    """With what was written down for the model."""
    used: float
    """Chance that is reckoned with."""


class Learned(msgspec.Struct, frozen=True):
    """The numbers of a class after the findings."""

    tallies: tuple[Tally, ...]
    fails: Mapping[str, Mapping[str, float]]
    """{check: {fault: strength}} where a finding moved one."""
    leaks: Mapping[str, float]
    closed: int
    """Units with a finding."""


def learn(
    device_class: DeviceClass, closed: Sequence[Closed], *, model: str = "", stated: Sequence[Stated] = ()
) -> Learned:
    """Learn from units of one class, in the order in which they were closed.

    Args:
        device_class: the class as its file states it.
        closed: its units with a finding.
        model: the model for which it is learned, in comparable form; empty for the class at large.
        stated: common faults of that model as they were written down.
    """
    start = {fault.id: prior_of(fault) for fault in device_class.faults}
    mine = [unit for unit in closed if model and unit.model == model]
    used = _rates(_rates(start, closed, ()), mine, stated)  # the class's mean is where its models start from
    fails, leaks = _strengths(device_class, closed)
    told = {one.fault: one for one in stated}
    return Learned(
        tallies=tuple(
            Tally(
                fault=fault,
                file=start[fault],
                found=sum(fault in unit.faults for unit in closed),
                of=len(closed),
                model_found=sum(fault in unit.faults for unit in mine) + (told[fault].seen if fault in told else 0),
                model_of=len(mine) + (told[fault].among if fault in told else 0),
                used=used[fault],
            )
            for fault in start
        ),
        fails=fails,
        leaks=leaks,
        closed=len(closed),
    )


def with_learned(device_class: DeviceClass, learned: Learned) -> DeviceClass:
    """The class with the learned numbers in place of the file's; the same object where nothing was learned."""
    priors = {tally.fault: tally.used for tally in learned.tallies if tally.used != tally.file}
    if not priors and not learned.fails and not learned.leaks:
        return device_class
    return msgspec.structs.replace(
        device_class,
        faults=tuple(
            msgspec.structs.replace(fault, prior=priors[fault.id], origins={**fault.origins, "prior": "P"})
            if fault.id in priors
            else fault
            for fault in device_class.faults
        ),
        checks=tuple(
            msgspec.structs.replace(
                check,
                fails={**check.fails, **learned.fails.get(check.id, {})},
                leak=learned.leaks.get(check.id, check.leak),
                origins={**check.origins, "fails": "P"},
            )
            if check.id in learned.fails or check.id in learned.leaks
            else check
            for check in device_class.checks
        ),
    )


def _rates(start: Mapping[str, float], closed: Sequence[Closed], stated: Sequence[Stated]) -> dict[str, float]:
    """Chance of each fault: (s · p + units with it) / (s + units, each by how much likelier its sale made faults).

    A unit sold as faulty shows each fault more often than the chance says, by the same factor for all faults.
    """
    told = {one.fault: one for one in stated}
    rates = dict(start)
    for _ in range(_ROUNDS):
        factor = _raised(rates.values())
        exposure = sum(factor if unit.sold_as_faulty else 1.0 for unit in closed)
        rates = {
            fault: _bounded(
                PSEUDO_UNITS * chance + sum(fault in unit.faults for unit in closed) + _seen(told.get(fault)),
                PSEUDO_UNITS + exposure + _among(told.get(fault)) * factor,
            )
            if closed or fault in told
            else chance
            for fault, chance in start.items()
        }
    return rates


def _raised(chances: Iterable[float]) -> float:
    """By how much a unit sold as faulty is likelier to have each fault: 0.9 ÷ chance of any fault, never below 1."""
    none = math.exp(sum(math.log1p(-min(chance, _MOST)) for chance in chances))
    return max(1.0, SOLD_AS_FAULTY / (1.0 - none)) if none < 1.0 else 1.0


def _seen(one: Stated | None) -> float:
    return float(one.seen) if one else 0.0


def _among(one: Stated | None) -> float:
    return float(one.among) if one else 0.0


def _bounded(hits: float, tries: float) -> float:
    return min(_MOST, max(_LEAST, hits / tries))


class _Beta:
    """Pseudo-counts of one strength: starts at the file's number with the weight of `PSEUDO_UNITS`."""

    def __init__(self, mean: float) -> None:
        self.hits, self.tries = PSEUDO_UNITS * mean, PSEUDO_UNITS

    @property
    def mean(self) -> float:
        return self.hits / self.tries

    def add(self, hit: float) -> None:
        self.hits += hit
        self.tries += 1.0


def _strengths(
    device_class: DeviceClass, closed: Sequence[Closed]
) -> tuple[dict[str, dict[str, float]], dict[str, float]]:
    """One pass over the closed units in their order; a strength of exactly 0 or 1 in the file stays (it is meant)."""
    checks = {check.id: check for check in device_class.checks}
    links = {name: {fault: _Beta(value) for fault, value in check.fails.items()} for name, check in checks.items()}
    leaks = {name: _Beta(check.leak) for name, check in checks.items()}
    moved: set[tuple[str, str]] = set()
    for unit in closed:
        for name, bad in unit.answers:
            if name not in checks:
                continue
            causes = {fault: links[name][fault] for fault in sorted(unit.faults) if fault in links[name]}
            held = [*causes.values(), leaks[name]]
            chance = 1.0 - math.prod(1.0 - one.mean for one in held)
            if bad and chance <= 0.0:
                continue  # the file says that this cannot be
            shares = [one.mean / chance if bad else 0.0 for one in held]
            for one, share in zip(held, shares, strict=True):
                one.add(share)
            moved |= {(name, fault) for fault in causes} | {(name, "")}
    fails: dict[str, dict[str, float]] = {}
    for name, fault in sorted(moved):
        if fault and 0.0 < checks[name].fails[fault] < 1.0:
            fails.setdefault(name, {})[fault] = _bounded(links[name][fault].hits, links[name][fault].tries)
    rested = {
        name: _bounded(leaks[name].hits, leaks[name].tries)
        for name, fault in sorted(moved)
        if not fault and 0.0 < checks[name].leak < 1.0
    }
    return fails, rested
