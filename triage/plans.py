"""Ways to end a unit: sell, take apart, or repair this, and if that does not help, that; and how the unit stands."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Protocol, TypeAlias

import msgspec
import numpy as np
from numpy.typing import NDArray

from triage.branches import BranchKind, Fix
from triage.device_classes.schema import Check, DeviceClass, Lock
from triage.diagnosis.network import Event
from triage.locks import (
    MOST_LOOKS,
    Means,
    Record,
    UnitState,
    barred,
    fixed_of,
    function_checks,
    good_since,
    has_tools,
    in_force,
    record_of,
)
from triage.worth import Worth, bill_of, unsellable, whole

Floats: TypeAlias = NDArray[np.float64]
CureSet: TypeAlias = tuple[str, ...]

MOST_REPAIRS = 2
"""A repair that did not help so often is not proposed again."""


class SeenWorlds(Protocol):
    """What is needed of the joint fault states of a unit (`triage.diagnosis.worlds.Worlds`)."""

    @property
    def faults(self) -> tuple[str, ...]:
        """Fault ids, the columns of `present`."""

    @property
    def weight(self) -> Floats:
        """float64[w], summing to 1."""

    @property
    def present(self) -> NDArray[np.bool_]:
        """bool[w, n]."""

    def bad_chance(self, check_id: str) -> Floats:
        """float64[w]; chance that the check's next answer is bad."""

    def fails_test(self, check_id: str, looks: int) -> Floats:
        """float64[w]; chance that it would read bad so often in a row once every listed fault were cured."""

    def answered(self, events: Sequence[Event]) -> SeenWorlds:
        """The same worlds after one more answer, the last of all these events."""

    def at(self, rows: NDArray[np.intp]) -> SeenWorlds:
        """Only these worlds, their weights as they are."""

    def shared_out(self) -> SeenWorlds:
        """The same worlds, their weights brought to a sum of 1."""


class Plan(msgspec.Struct, frozen=True):
    """A branch, and for `fix` the faults to cure at each try; a later try is made only when the unit still fails.

    A fix without any try means that it is sold as working once every function is tested.
    """

    branch: BranchKind
    tries: tuple[CureSet, ...] = ()

    @property
    def no_repair(self) -> bool:
        """Whether this is "it works as it is"."""
        return self.branch == "fix" and not self.tries


class Case(msgspec.Struct, frozen=True, dict=True):
    """Everything that the value of a plan for one unit depends on.

    What follows from the rest and is asked for by every plan is worked out once and lives as long as the case.
    """

    device_class: DeviceClass
    worth: Worth
    rate: float
    """Worth of a bench minute, in minor units."""
    state: UnitState
    means: Means
    record: Record
    barred: frozenset[Lock] = frozenset()
    """Locks that this person can do nothing about: no repair, no taking apart, or no test is reckoned with."""
    fixed: bool = False
    """Whether the unit reads fixed: then it may be sold as working, though something may still hide in it."""

    @cached_property
    def functions(self) -> tuple[Check, ...]:
        """The checks of the whole-function test that apply."""
        return function_checks(self.device_class, self.state.does_not_apply)

    @cached_property
    def reads_bad(self) -> bool:
        """Whether a function reads bad for good and nothing was done since: then it does not work as it is.

        Looking again until it happens to read good is no way to fix it, but one bad answer may be a false alarm.
        """
        return any(self.looks_left(check) == 0 for check in self.functions)

    def looks_left(self, check: Check) -> int:
        """How many more bad answers in a row show that a function is bad, as long as nothing is done to the unit."""
        return max(0, MOST_LOOKS - self.record.bad_in_a_row.get(check.id, 0))

    @cached_property
    def retest_minutes(self) -> float:
        """Minutes of the whole-function test after a repair: all of it, and the safety steps before."""
        return self._minutes_of(self.functions) + self.safety_minutes

    @cached_property
    def safety_steps(self) -> tuple[Check, ...]:
        """Safety steps that the person has the tools for, done before power is put on and after every work."""
        return tuple(
            check
            for check in self.device_class.checks
            if not check.money and check.state == "closed" and has_tools(check, self.means)
        )

    @cached_property
    def safety_minutes(self) -> float:
        """Minutes of all the safety steps."""
        return sum(check.minutes for check in self.safety_steps)

    @cached_property
    def safety_due(self) -> float:
        """Minutes of the safety steps that are to be done before it is powered or sold."""
        return sum(check.minutes for check in self.safety_steps if not good_since(check, self.record))

    @property
    def unfixable(self) -> bool:
        """Whether the unit can neither be repaired nor be shown to work by this person."""
        return not self.fixed and not self.barred.isdisjoint({"opened", "powered"})

    def curable(self) -> tuple[str, ...]:
        """Faults that a repair may still be proposed for."""
        if self.unfixable:
            return ()
        return tuple(
            fault.id
            for fault in self.device_class.faults
            if fault.repairable and self.record.attempts(fault.id) < MOST_REPAIRS
        )

    def test_minutes(self, *, after_repair: bool) -> float:
        """Minutes of the whole-function test still due: all of it after a repair, otherwise what is not good."""
        if after_repair:
            return self.retest_minutes
        return self._minutes_of([check for check in self.functions if not good_since(check, self.record)])

    def concerned_minutes(self, cures: CureSet) -> float:
        """Minutes of the function checks that these faults show in: the first to be done again after a repair."""
        return sum(check.minutes for check in self.functions if not check.fails.keys().isdisjoint(cures))

    def _minutes_of(self, due: Sequence[Check]) -> float:
        setups = {check.setup for check in due} - self.state.setups
        setting_up = sum(setup.minutes for setup in self.device_class.setups if setup.id in setups)
        return sum(check.minutes for check in due) + setting_up

    def fix_of(self, cures: CureSet, success: float) -> Fix:
        """The `fix` branch for one cure set with its chance to cure the unit; every minute that is expected counts.

        After a repair the functions that it concerns are tested first, and the others only where those are good.
        """
        bill = bill_of(self.device_class, self.worth, cures)
        opening = self.device_class.open_minutes if bill.opens and not self.state.case_open else 0.0
        tests = self.test_minutes(after_repair=bool(cures))
        if cures:
            concerned = self.concerned_minutes(cures) + self.safety_minutes
            tests = concerned + success * (tests - concerned)
        return Fix(
            id="fix",
            success=success,
            net_working=self.worth.working,
            net_failed=self.worth.as_is_after if cures else self.worth.as_is,
            parts=bill.parts + sum(self.worth.missing.values()),
            minutes=bill.minutes + opening + tests + self.worth.list_minutes,
            delay_days=self.worth.delay_days if bill.waits else 0.0,
            delay_per_day=self.worth.delay_per_day if bill.waits else 0.0,
            returns=self.worth.returns,
            cures=cures,
        )


def case_of(
    device_class: DeviceClass, worth: Worth, *, rate: float, state: UnitState | None = None, means: Means | None = None
) -> Case:
    """A case with the unit's events read once."""
    state = state or UnitState()
    if in_force(device_class, state, frozenset({"posting"})):
        worth = unsellable(worth)
    means = means or Means()
    shut = barred(device_class, state, means)
    if "opened" in shut:
        worth = whole(worth)
    fixed = fixed_of(device_class, state).fixed
    record = record_of(device_class, state.events, state.put_back)
    return Case(device_class, worth, rate, state, means, record, shut, fixed)
