"""Simulated units: faults, answers and the luck of repairs are drawn once, so that every policy meets the same unit.

A unit is drawn from its class file: faults with the file's chances and conditions, at least one nine times in ten, at
most three. An answer is bad with the file's noisy-OR; with chance `persistence` what makes it bad lasts (leak and
links are drawn once for the unit), otherwise it is drawn anew at each attempt. Money in minor units, times in minutes.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterable, Mapping
from itertools import combinations, product
from typing import Literal, TypeAlias

import msgspec

from triage.checks import NextAction
from triage.device_classes.schema import Check, DeviceClass
from triage.diagnosis import Answered, Repaired
from triage.diagnosis.network import Answer
from triage.locks import UnitState, fixed_of
from triage.network import SOLD_AS_FAULTY, network_of
from triage.plans import MOST_REPAIRS
from triage.worth import Worth, bill_of, opens

Mode: TypeAlias = Literal["stated", "sticky", "wrong"]
"""`stated`: as the class file says; `sticky`: what makes an answer bad always lasts; `wrong`: the odds are off."""
MOST_FAULTS = 3
MOST_STEPS = 200
"""No advice is that long unless it goes in circles."""
ODDS_OFF = 0.7
"""Spread of the normal error on the logarithm of every chance's odds in mode `wrong`."""


class EndlessError(Exception):
    """The advice does not end."""


class Step(msgspec.Struct, frozen=True):
    """One thing done to a unit: minutes worked, money paid for parts, money that came in."""

    what: str
    minutes: float = 0.0
    paid: float = 0.0
    earned: float = 0.0


class Run(msgspec.Struct, frozen=True):
    """A unit followed to its end."""

    steps: tuple[Step, ...]
    rate: float
    made_right: bool
    """Sold as working, and nothing is wrong with it."""
    returned: bool
    """Sold as working with a fault in it: it comes back and brings what a faulty one brings."""
    needless: int
    """Repairs of faults that were not there."""
    most_repairs: int
    """Most repairs that one fault was given."""

    @property
    def minutes(self) -> float:
        """Attended minutes of all steps."""
        return math.fsum(step.minutes for step in self.steps)

    @property
    def money(self) -> float:
        """What came in, less parts, less the minutes at their worth."""
        return math.fsum(step.earned - step.paid for step in self.steps) - self.rate * self.minutes


class Unit:
    """One drawn unit. It never changes; `Bench` works on it."""

    def __init__(self, device_class: DeviceClass, seed: str, mode: Mode) -> None:
        """Draw the faults, and set up the luck; `seed` names the unit."""
        self.seed, self.mode = seed, mode
        self.truth = _off(device_class, seed) if mode == "wrong" else device_class
        self.faults = _drawn(self.truth, random.Random(f"{seed} faults"))
        self.lasting: dict[str, tuple[bool, float, dict[str, float]]] = {}
        for check in device_class.checks:
            draw = random.Random(f"{seed} {check.id}").random
            self.lasting[check.id] = (draw() < check.persistence, draw(), {fault: draw() for fault in check.fails})

    def bad(self, check_id: str, attempt: int, present: frozenset[str]) -> bool:
        """Whether the answer given at an attempt (from 0) is bad while these faults are there."""
        check = self.truth.check(check_id)
        draw = random.Random(f"{self.seed} {check_id} {attempt}").random
        misread, leak = draw() < check.flip, draw()
        shown = {fault: draw() for fault in check.fails}
        lasts, lasting_leak, lasting_shown = self.lasting[check_id]
        if lasts or self.mode == "sticky":
            return _speaks(check, lasting_leak, lasting_shown, present) != misread
        return _speaks(check, leak, shown, present)

    def cures(self, fault: str, attempt: int) -> bool:
        """Whether an attempt (from 0) on a fault works."""
        return random.Random(f"{self.seed} cure {fault} {attempt}").random() < self.truth.fault(fault).success


def _speaks(check: Check, leak: float, shown: Mapping[str, float], present: frozenset[str]) -> bool:
    return leak < check.leak or any(shown[fault] < check.fails[fault] for fault in present if fault in check.fails)


def _drawn(device_class: DeviceClass, luck: random.Random) -> frozenset[str]:
    healthy = luck.random() >= SOLD_AS_FAULTY
    while not healthy:
        raised = [entry.raises for entry in device_class.conditions if luck.random() < entry.prior]
        faults = frozenset(
            fault.id
            for fault in network_of(device_class).faults
            if _strikes(luck, (fault.prior, *(raises.get(fault.id, 0.0) for raises in raised)))
        )
        if 1 <= len(faults) <= MOST_FAULTS:
            return faults
    return frozenset()


def _strikes(luck: random.Random, chances: Iterable[float]) -> bool:
    drawn = [luck.random() < chance for chance in chances]  # always as many draws
    return any(drawn)


def _off(device_class: DeviceClass, seed: str) -> DeviceClass:
    """The class with the odds of every chance moved by a normal error."""
    luck = random.Random(f"{seed} off")

    def moved(chance: float) -> float:
        if not 0.0 < chance < 1.0:
            return chance
        return 1.0 / (1.0 + math.exp(-math.log(chance / (1.0 - chance)) - luck.gauss(0.0, ODDS_OFF)))

    priors = {fault.id: moved(fault.prior) for fault in network_of(device_class).faults}
    replace = msgspec.structs.replace
    return replace(
        device_class,
        faults=tuple(
            replace(fault, share=None, prior=priors[fault.id], success=moved(fault.success))
            for fault in device_class.faults
        ),
        checks=tuple(
            replace(
                check, leak=moved(check.leak), fails={fault: moved(chance) for fault, chance in check.fails.items()}
            )
            for check in device_class.checks
        ),
    )


Advice: TypeAlias = Callable[[UnitState], NextAction]


def followed(
    device_class: DeviceClass, unit: Unit, worth: Worth, rate: float, advice: Advice, *, free: bool = False
) -> Run:
    """Do what the advice says until it says stop, and sell; `free` looks take no time. Raises `EndlessError`.

    Every hazard was asked and is absent. What is sold as working reads fixed; with a fault in it, it brings what a
    faulty one does.
    """
    bench = _Bench(device_class, unit, worth, free=free)
    for _ in range(MOST_STEPS):
        action = advice(bench.state)
        if action.action == "stop":
            return bench.sold(action.branch, rate)
        if action.check is not None:
            bench.look(action.check)
        else:
            bench.repair(action.faults)
    raise EndlessError(f"{unit.seed}: {bench.steps}")


class _Bench:
    """A unit being worked on. Minutes and money are counted here, from the class file, not from the advice."""

    def __init__(self, device_class: DeviceClass, unit: Unit, worth: Worth, *, free: bool) -> None:
        self._free = free
        self.steps: list[Step] = []
        self.state = at_first(device_class)
        self._class, self._unit, self._worth = device_class, unit, worth
        self._present = set(unit.faults)
        self._looks: dict[str, int] = {}
        self._attempts: dict[str, int] = {}
        self._repairs: dict[str, int] = {}
        self._needless = 0

    def look(self, check_id: str) -> None:
        attempt = self._looks.get(check_id, 0)
        self._looks[check_id] = attempt + 1
        bad = self._unit.bad(check_id, attempt, frozenset(self._present))
        self._cure(self._class.check(check_id).cures)
        self.state, minutes = looked_at(self._class, self.state, check_id, "bad" if bad else "good")
        self.steps.append(Step(f"{check_id} {'bad' if bad else 'good'}", 0.0 if self._free else minutes))

    def repair(self, faults: tuple[str, ...]) -> None:
        self._needless += sum(fault not in self._present for fault in faults)
        for fault in faults:
            self._repairs[fault] = self._repairs.get(fault, 0) + 1
        self._cure(faults)
        self.state, minutes, parts = repaired(self._class, self._worth, self.state, faults)
        self.steps.append(Step(f"repair {' '.join(faults)}", minutes, parts))

    def sold(self, branch: str, rate: float) -> Run:
        working = branch == "fix" and fixed_of(self._class, self.state).fixed
        right = working and not self._present
        minutes, earned = sale(self._worth, branch, right=right, repaired=bool(self._repairs))
        self.steps.append(Step(f"sold: {'working' if working else branch}", minutes, earned=earned))
        most = max(self._repairs.values(), default=0)
        return Run(tuple(self.steps), rate, right, working and not right, self._needless, most)

    def _cure(self, faults: tuple[str, ...]) -> None:
        for fault in faults:
            attempt = self._attempts.get(fault, 0)
            self._attempts[fault] = attempt + 1
            if self._unit.cures(fault, attempt):
                self._present.discard(fault)


# --- the books: what each step takes, from the class file ------------------------------------------------------------


def at_first(device_class: DeviceClass) -> UnitState:
    """A unit as it comes to the bench; every hazard was asked and is absent."""
    return UnitState(cleared=frozenset(hazard.id for hazard in device_class.hazards))


def looked_at(device_class: DeviceClass, state: UnitState, check_id: str, answer: Answer) -> tuple[UnitState, float]:
    """The unit after an answer, and the minutes of the look."""
    check = device_class.check(check_id)
    minutes = check.minutes + _opening(device_class, state, now=check.state == "opened")
    if check.setup and check.setup not in state.setups:
        minutes += {setup.id: setup.minutes for setup in device_class.setups}[check.setup]
    after = msgspec.structs.replace(
        state,
        events=(*state.events, Answered(check_id, answer)),
        case_open=state.case_open or check.state == "opened",
        setups=state.setups | {check.setup} - {""},
    )
    return after, minutes


def repaired(
    device_class: DeviceClass, worth: Worth, state: UnitState, faults: tuple[str, ...]
) -> tuple[UnitState, float, float]:
    """The unit after a repair, its minutes, and the money for its parts."""
    bill = bill_of(device_class, worth, faults)
    minutes = bill.minutes + _opening(device_class, state, now=bill.opens)
    after = msgspec.structs.replace(
        state, events=(*state.events, Repaired(faults)), case_open=state.case_open or bill.opens
    )
    return after, minutes, bill.parts


def sale(worth: Worth, branch: str, *, right: bool, repaired: bool) -> tuple[float, float]:
    """Minutes of selling and what comes in; `right` is sold as working with nothing wrong in it."""
    untouched = worth.as_is_after if repaired else worth.as_is
    earned = worth.working if right else worth.part_out if branch == "part_out" else untouched
    return worth.strip_minutes if branch == "part_out" else worth.list_minutes, earned


def _opening(device_class: DeviceClass, state: UnitState, *, now: bool) -> float:
    return device_class.open_minutes if now and not state.case_open else 0.0


class Clairvoyant:
    """Knows what is wrong at every moment, needs no test, and repairs while that pays; it does not know its luck."""

    def __init__(self, device_class: DeviceClass, worth: Worth, rate: float) -> None:
        """One clairvoyant for all units of a class; every situation is worked out once."""
        self._class, self._worth, self._rate = device_class, worth, rate
        self._known: dict[tuple[frozenset[str], bool, int], tuple[float, tuple[str, ...]]] = {}
        self._unsold = max(
            worth.as_is - rate * worth.list_minutes,
            worth.part_out - rate * worth.strip_minutes,
        )

    def money(self, unit: Unit) -> float:
        """What it makes of a unit, with that unit's own luck."""
        present, opened, tries, spent = frozenset(unit.faults), False, 0, 0.0
        attempts: dict[str, int] = {}
        while cures := self._best(present, opened, tries)[1]:
            spent += self._cost(cures, opened)
            opened |= opens(self._class, cures)
            cured = {fault for fault in cures if unit.cures(fault, attempts.get(fault, 0))}
            attempts.update({fault: attempts.get(fault, 0) + 1 for fault in cures})
            present, tries = present - cured, tries + 1
        return self._best(present, opened, tries)[0] - spent

    def expected(self, faults: frozenset[str]) -> float:
        """What it makes of a unit with these faults, over all luck."""
        return self._best(faults, False, 0)[0]

    def _best(self, present: frozenset[str], opened: bool, tries: int) -> tuple[float, tuple[str, ...]]:
        key = present, opened, tries
        if key not in self._known:
            self._known[key] = self._worked_out(present, opened, tries)
        return self._known[key]

    def _worked_out(self, present: frozenset[str], opened: bool, tries: int) -> tuple[float, tuple[str, ...]]:
        if not present:
            return self._worth.working - self._rate * self._worth.list_minutes, ()
        best: tuple[float, tuple[str, ...]] = (self._unsold, ())
        curable = sorted(fault for fault in present if self._class.fault(fault).repairable)
        if tries == MOST_REPAIRS * MOST_FAULTS or len(curable) < len(present):
            return best
        for size in range(1, len(curable) + 1):
            for cures in combinations(curable, size):
                value = -self._cost(cures, opened)
                chances = [self._class.fault(fault).success for fault in cures]
                for works in product((False, True), repeat=size):
                    left = present - {fault for fault, cured in zip(cures, works, strict=True) if cured}
                    chance = math.prod(p if cured else 1.0 - p for p, cured in zip(chances, works, strict=True))
                    then = opened or opens(self._class, cures)
                    value += chance * self._best(left, then, tries + 1)[0] if chance else 0.0
                best = max(best, (value, cures))
        return best

    def _cost(self, cures: tuple[str, ...], opened: bool) -> float:
        bill = bill_of(self._class, self._worth, cures)
        opening = self._class.open_minutes if bill.opens and not opened else 0.0
        return bill.parts + self._rate * (bill.minutes + opening)
