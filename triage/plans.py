"""Ways to end a unit, valued in every world: sell, take apart, or repair this, and if that does not help, that.

A plan is a fixed rule, so its expected money is linear in the chances of the worlds. That turns "what is best after
this answer" into one matrix product, and it makes `fix` the sum that the whole program uses:
chance cured x net working + rest x net as it stands after - parts - minutes - returns - waiting.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from functools import cached_property
from typing import Protocol, TypeAlias

import msgspec
import numpy as np
from numpy.typing import NDArray

from triage.branches import BranchKind, Fix
from triage.device_classes.schema import Check, DeviceClass, Lock
from triage.locks import (
    Means,
    Record,
    UnitState,
    barred,
    fixed_of,
    function_checks,
    good_since,
    in_force,
    record_of,
    stale,
)
from triage.worth import Bill, Worth, bill_of, unsellable, whole

Floats: TypeAlias = NDArray[np.float64]
CureSet: TypeAlias = tuple[str, ...]

MOST_REPAIRS = 2
"""A repair that did not help so often is not proposed again."""
MOST_LOOKS = 2
"""A function that reads bad so often in a row is taken to be bad."""


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
    """Whether the unit reads fixed: then it is sold as working, whatever may still hide in it."""

    @cached_property
    def functions(self) -> tuple[Check, ...]:
        """The checks of the whole-function test that apply."""
        return function_checks(self.device_class, self.state.does_not_apply)

    @cached_property
    def reads_bad(self) -> bool:
        """Whether a function reads bad and nothing was done since: then it does not work as it is.

        Looking again until it happens to read good is no way to fix it; a slip in the answer is mended.
        """
        return any(
            self.record.latest.get(check.id) == "bad" and not stale(check, self.record) for check in self.functions
        )

    @cached_property
    def retest_minutes(self) -> float:
        """Minutes of the whole-function test after a repair: all of it."""
        return self._minutes_of(self.functions)

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

    def _minutes_of(self, due: Sequence[Check]) -> float:
        setups = {check.setup for check in due} - self.state.setups
        setting_up = sum(setup.minutes for setup in self.device_class.setups if setup.id in setups)
        return sum(check.minutes for check in due) + setting_up

    def concerned_minutes(self, cures: CureSet) -> float:
        """Minutes of the function checks that these faults show in: the first to be done again after a repair."""
        return sum(check.minutes for check in self.functions if not check.fails.keys().isdisjoint(cures))

    def fix_of(self, cures: CureSet, success: float) -> Fix:
        """The `fix` branch for one cure set with its chance to cure the unit; every minute of it is counted."""
        bill = bill_of(self.device_class, self.worth, cures)
        opening = self.device_class.open_minutes if bill.opens and not self.state.case_open else 0.0
        tests = self.test_minutes(after_repair=bool(cures))
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


def utilities(case: Case, worlds: SeenWorlds, plans: Sequence[Plan], cured_already: Collection[str] = ()) -> Floats:
    """float64[w, plans]; expected money of each plan in each world, minor units.

    `cured_already` names faults that one more try has been made on meanwhile, such as by a check that cures them.
    """
    others = {fix.kind: _sure(fix, case.rate) for fix in case.worth.others}
    result = np.empty((len(worlds.weight), len(plans)))
    fixes = []
    for place, plan in enumerate(plans):
        if plan.branch == "as_is":
            result[:, place] = case.worth.as_is - case.rate * case.worth.list_minutes
        elif plan.branch == "part_out":
            result[:, place] = _part_out(case, worlds)
        elif plan.branch == "fix":
            fixes.append(place)
        else:
            result[:, place] = others[plan.branch]
    result[:, fixes] = _fix_values(case, worlds, [plans[place].tries for place in fixes], tuple(cured_already))
    return result


def _fix_values(
    case: Case, worlds: SeenWorlds, entries: Sequence[tuple[CureSet, ...]], cured_already: CureSet
) -> Floats:
    values = np.empty((len(worlds.weight), len(entries)))
    passes = _passes(case, worlds)
    bills = _bills(case, entries)
    # what many plans try first is worked out once
    begun = list(dict.fromkeys(tries[:step] for tries in entries for step in range(1, len(tries) + 1)))
    column = {tries: place for place, tries in enumerate(begun)}
    failing = 1.0 - cured_within(case, worlds, begun, cured_already, passes)
    by_length: dict[int, list[int]] = {}
    for place, tries in enumerate(entries):
        by_length.setdefault(len(tries), []).append(place)
    for length, places in by_length.items():
        reached: Floats = np.ones((len(worlds.weight), len(places)))
        total: Floats = np.zeros((len(worlds.weight), len(places)))
        for step in range(length):
            costs = [_try_cost(case, bills, entries[place], step) for place in places]
            total -= reached * np.array([cost for cost, _ in costs])
            still = failing[:, [column[entries[place][: step + 1]] for place in places]]
            # the whole test is done where the unit works; one that fails shows sooner; the last try is tested in full
            tested = reached - still if step + 1 < length else reached
            total -= tested * np.array([rest for _, rest in costs])
            reached = still
        if not length:
            works = cured_within(case, worlds, [()] * len(places), cured_already, passes)
            reached = np.zeros_like(works) if case.fixed else 1.0 - works
            total = total - case.rate * case.test_minutes(after_repair=False)
        failed = case.worth.as_is_after if length else case.worth.as_is
        ends = (1.0 - reached) * case.worth.working + reached * failed - sum(case.worth.missing.values())
        values[:, places] = total + ends - case.worth.returns - case.rate * case.worth.list_minutes
    return values


def _bills(case: Case, entries: Sequence[tuple[CureSet, ...]]) -> dict[CureSet, tuple[Bill, float]]:
    """Each cure set's bill, and the minutes of the tests that it concerns."""
    sets = dict.fromkeys(cures for tries in entries for cures in tries)
    return {cures: (bill_of(case.device_class, case.worth, cures), case.concerned_minutes(cures)) for cures in sets}


def _try_cost(
    case: Case, bills: Mapping[CureSet, tuple[Bill, float]], tries: tuple[CureSet, ...], step: int
) -> tuple[float, float]:
    """What one try costs with the test of the functions it concerns, and what the rest of the whole test costs."""
    before = [bills[cures][0] for cures in tries[:step]]
    bill, concerned = bills[tries[step]]
    opening = bill.opens and not case.state.case_open and not any(earlier.opens for earlier in before)
    minutes = bill.minutes + (case.device_class.open_minutes if opening else 0.0)
    waits = bill.waits and not any(earlier.waits for earlier in before)
    waiting = case.worth.delay_days * case.worth.delay_per_day if waits else 0.0
    rest = case.retest_minutes - concerned
    return bill.parts + case.rate * (minutes + concerned) + waiting, case.rate * rest


def cured_within(
    case: Case,
    worlds: SeenWorlds,
    entries: Sequence[tuple[CureSet, ...]],
    cured_already: Collection[str] = (),
    passes: Floats | None = None,
) -> Floats:
    """float64[w, entries]; chance that the unit works after all the tries of an entry, in each world."""
    success = {fault.id: fault.success for fault in case.device_class.faults}
    places = {fault: place for place, fault in enumerate(worlds.faults)}
    left = np.ones((len(worlds.faults), len(entries)))
    for column, tries in enumerate(entries):
        for cures in (tuple(cured_already), *tries):
            for fault in cures:
                left[places[fault], column] *= 1.0 - success[fault]
    passing = _passes(case, worlds) if passes is None else passes
    chance: Floats = np.repeat(passing[:, None], len(entries), axis=1)
    for place, line in enumerate(1.0 - left):  # few faults are there in a world: quicker than the sum of logarithms
        chance[worlds.present[:, place]] *= line
    if case.reads_bad and not cured_already:
        chance[:, [not any(tries) for tries in entries]] = 0.0
    return chance


def _passes(case: Case, worlds: SeenWorlds) -> Floats:
    """float64[w]; chance that the functions that read bad would read good once the listed faults are cured.

    Where none of the faults behind such a function is there, something unlisted speaks, which no repair touches.
    What reads bad twice in a row stays bad: looking until a misreading turns out well is no cure.
    """
    chance = np.zeros(len(worlds.weight)) if case.unfixable else np.ones(len(worlds.weight))
    for check in case.functions:
        if case.record.latest.get(check.id) == "bad":
            behind = [place for place, fault in enumerate(worlds.faults) if fault in check.fails]
            unexplained = ~worlds.present[:, behind].any(axis=1)
            settled = case.record.bad_in_a_row.get(check.id, 0) >= MOST_LOOKS
            again = 0.0 if settled else 1.0 - worlds.bad_chance(check.id)
            chance = np.where(unexplained, chance * again, chance)
    return chance


def _part_out(case: Case, worlds: SeenWorlds) -> Floats:
    worth = case.worth
    lump = 0.0 if worth.parts else worth.part_out
    total: Floats = np.full(len(worlds.weight), lump - case.rate * worth.strip_minutes)
    for part in worth.parts:
        good = part_good(case.device_class, worlds, part.id)
        if part.own_use is not None:
            total += part.own_use * good
        else:
            total += part.sell_chance * part.net * good - case.rate * part.list_minutes
    return total


def part_good(device_class: DeviceClass, worlds: SeenWorlds, part_id: str) -> Floats:
    """float64[w]; 1 where none of the faults that need the part is there now."""
    wanted = [fault.id for fault in device_class.faults if part_id in fault.needs]
    columns = [place for place, fault in enumerate(worlds.faults) if fault in wanted]
    good: Floats = np.where(worlds.present[:, columns].any(axis=1), 0.0, 1.0)
    return good


def _sure(fix: Fix, rate: float) -> float:
    ends = fix.success * fix.net_working + (1.0 - fix.success) * fix.net_failed
    return ends - fix.parts - rate * fix.minutes - fix.returns - fix.delay_days * fix.delay_per_day
