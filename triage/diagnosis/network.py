"""What a fault network is made of, and what can happen to a unit over time.

Faults cause checks to come out bad, each through its own strength, and a leak stands for everything that is not listed
(two-level noisy-OR: Heckerman 1989; Jaakkola & Jordan 1999). Every number is a probability from 0 to 1.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import cached_property
from typing import Literal, TypeAlias

import msgspec

from catalog.text import Refused
from triage.diagnosis.layout import Layout

Answer: TypeAlias = Literal["good", "bad", "cant_tell", "not_tested"]
Likelihood: TypeAlias = tuple[float, float]
"""How likely what was seen is if the check is truly bad, and if it is truly good; only the ratio matters for faults."""

MAX_CONDITIONS = 3
REPORTED: Likelihood = (0.8, 0.2)
"""Weight of a symptom somebody reported (from memory)."""


class Fault(msgspec.Struct, frozen=True):
    """A thing that can be wrong; `success` is the chance that one attempt to cure it works."""

    id: str
    prior: float
    success: float = 1.0


class Gate(msgspec.Struct, frozen=True):
    """A check whose latest answer must be good (or bad) before another check says anything."""

    check: str
    must_be: Literal["good", "bad"] = "good"


class Check(msgspec.Struct, frozen=True):
    """Something to look at: bad with chance 1 - (1 - leak) x product over present faults of (1 - strength).

    `links` maps fault ids to strengths; a fault that is not listed has strength 0. `cures` names faults that doing the
    check may cure, after its answer. `persistence` is the share of the chance in a repeat that stays the same
    from one answer to the next, `flip` the chance that a recorded answer differs from that lasting state.
    """

    id: str
    leak: float
    links: dict[str, float] = {}
    gate: tuple[Gate, ...] = ()
    cures: tuple[str, ...] = ()
    persistence: float = 0.0
    flip: float = 0.0

    @property
    def misread(self) -> float:
        """Chance that a first answer says the opposite of what a single look would."""
        return self.persistence * self.flip


class Condition(msgspec.Struct, frozen=True):
    """A hidden cause that raises several faults at once: given it, p becomes 1 - (1 - p)(1 - r)."""

    id: str
    raises: dict[str, float]
    prior: float
    state: Literal["yes", "no", "unknown"] = "unknown"


class Network(msgspec.Struct, frozen=True, dict=True):
    """Faults, checks and conditions of one unit; `known_faulty` is the chance of any fault, applied before any answer.

    Raises `Refused`, naming the key path, when the numbers or the names do not fit together.
    """

    faults: tuple[Fault, ...]
    checks: tuple[Check, ...]
    conditions: tuple[Condition, ...] = ()
    known_faulty: float | None = None

    def __post_init__(self) -> None:
        """Refuse names that lead nowhere and numbers that are no probabilities."""
        faults = _unique("faults", (fault.id for fault in self.faults))
        checks = _unique("checks", (check.id for check in self.checks))
        _unique("conditions", (condition.id for condition in self.conditions))
        for fault in self.faults:
            _chance(f"faults[{fault.id}].prior", fault.prior)
            _chance(f"faults[{fault.id}].success", fault.success)
        for check in self.checks:
            _check_fits(check, faults, checks)
        if len(self.conditions) > MAX_CONDITIONS:
            raise Refused(f"at most {MAX_CONDITIONS} conditions can be summed; leave one out", where="conditions")
        for condition in self.conditions:
            where = f"conditions[{condition.id}]"
            _chance(f"{where}.prior", condition.prior)
            for fault_id, rise in condition.raises.items():
                _known(f"{where}.raises", fault_id, faults, "fault")
                _chance(f"{where}.raises[{fault_id}]", rise)
        if self.known_faulty is not None:
            _chance("known_faulty", self.known_faulty)

    @cached_property
    def layout(self) -> Layout:
        """The same as arrays; what needs no history, worked out once."""
        return Layout(self)

    def check(self, check_id: str) -> Check:
        """The check of that id; KeyError when there is none."""
        return self.checks[self.layout.row_of[check_id]]


class Answered(msgspec.Struct, frozen=True, tag=True):
    """A check was answered. Its cures, if it has any, happen after the answer, unless it was not tested."""

    check: str
    answer: Answer


class Reading(msgspec.Struct, frozen=True, tag=True):
    """A check was answered by a measured value; `reads` says what the value means to a gate, if anything."""

    check: str
    likelihood: Likelihood
    reads: Literal["good", "bad"] | None = None


class Reported(msgspec.Struct, frozen=True, tag=True):
    """Somebody else said that the check is bad: weak evidence, gates ignored, replaced by the next own answer."""

    check: str
    likelihood: Likelihood = REPORTED


class Repaired(msgspec.Struct, frozen=True, tag=True):
    """One attempt to cure each of these faults."""

    faults: tuple[str, ...]


Event: TypeAlias = Answered | Reading | Reported | Repaired


def prior_of_share(share: float) -> float:
    """Chance that a faulty unit has this fault, from the fault's share among first causes (1.3 faults a unit)."""
    return float(-math.expm1(1.3 * math.log1p(-share))) if share < 1.0 else 1.0


def _check_fits(check: Check, faults: frozenset[str], checks: frozenset[str]) -> None:
    where = f"checks[{check.id}]"
    for field in ("leak", "persistence", "flip"):
        _chance(f"{where}.{field}", getattr(check, field))
    for fault_id, strength in check.links.items():
        _known(f"{where}.links", fault_id, faults, "fault")
        _chance(f"{where}.links[{fault_id}]", strength)
    for fault_id in check.cures:
        _known(f"{where}.cures", fault_id, faults, "fault")
    for gate in check.gate:
        _known(f"{where}.gate", gate.check, checks, "check")


def _unique(where: str, ids: Iterable[str]) -> frozenset[str]:
    seen: set[str] = set()
    for name in ids:
        if name in seen:
            raise Refused("this id stands twice; give each its own", where=f"{where}[{name}].id")
        seen.add(name)
    return frozenset(seen)


def _known(where: str, name: str, known: frozenset[str], kind: str) -> None:
    if name not in known:
        raise Refused(f"there is no {kind} {name!r}; name one that is listed", where=where)


def _chance(where: str, value: float) -> None:
    if not 0.0 <= value <= 1.0:  # also refuses NaN
        raise Refused(f"a number from 0 to 1 was expected, not {value}", where=where)
