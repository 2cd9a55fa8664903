"""What every plan for a unit is worth in every world.

A plan is a fixed rule, so its expected money is linear in the chances of the worlds. That turns "what is best after
this answer" into one matrix product, and it makes `fix` the sum that the whole program uses:
chance cured x net working + rest x net as it stands after - parts - minutes - returns - waiting.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from functools import cached_property

import msgspec
import numpy as np
from numpy.typing import NDArray

from triage.branches import Fix
from triage.device_classes.schema import Check, DeviceClass
from triage.locks import MOST_LOOKS, good_since
from triage.plans import Case, CureSet, Floats, Plan, SeenWorlds


class Payoffs(msgspec.Struct, frozen=True):
    """Money by world and plan: rest + chance x gain, where the chance is nothing in most worlds."""

    near: NDArray[np.intp]
    """The worlds, rising, in which it may be something."""
    chance: Floats
    """float64[near worlds, ways]; that the unit works after some tries."""
    gain: Floats
    """float64[ways, plans]; what that brings more."""
    rest: Floats
    """float64[plans]; in a world in which nothing helps."""
    untested: int = 0
    """How many of the last ways ask for no test that the unit works."""

    @classmethod
    def told_apart(cls, money: Floats) -> Payoffs:
        """Every world by itself, from float64[w, plans]."""
        return cls(np.arange(len(money)), money, np.eye(money.shape[1]), np.zeros(money.shape[1]))

    def expected(self, weight: Floats, passing: Floats | None = None) -> Floats:
        """float64[..., plans]; the sum over worlds of weight x money, from float64[..., w].

        `passing` is the weight with how looks have moved the chance of passing the whole-function test, where they did.
        """
        near = weight[..., self.near]
        return self.summed(weight.sum(axis=-1), near if passing is None else passing[..., self.near], near)

    def summed(self, whole: Floats, passing: Floats, weight: Floats) -> Floats:
        """Like `expected`, from the whole weight and from what lies on the `near` worlds."""
        works = passing @ self.chance
        if self.untested and passing is not weight:
            works[..., -self.untested :] = weight @ self.chance[:, -self.untested :]
        money: Floats = works @ self.gain + whole[..., None] * self.rest
        return money


class Menu:
    """The plans of a case laid out side by side; they are priced by what looks have changed meanwhile."""

    def __init__(self, case: Case, worlds: SeenWorlds, plans: Sequence[Plan]) -> None:
        self._case = case
        self._worlds = worlds
        self._plans = plans
        self._fixes = np.array([place for place, plan in enumerate(plans) if plan.branch == "fix"], dtype=np.intp)
        self._tries = Tries(case, worlds.faults, [plans[place].tries for place in self._fixes])
        self._stays: dict[str, Floats] = {}
        self._cured: dict[CureSet, tuple[NDArray[np.intp], SeenWorlds, Floats]] = {}

    def payoffs(self, cured_already: Collection[str] = (), *, case_open: bool) -> Payoffs:
        """Expected money of each plan in each world, minor units.

        `cured_already` names faults that one more try has been made on meanwhile, such as by a check that cures them.
        In most worlds something is there that no plan repairs: they are all worth the same.
        """
        case, worth = self._case, self._case.worth
        near, at_hand, chance = self._after(tuple(cured_already))
        rest, gain = np.empty(len(self._plans)), np.zeros((chance.shape[1], len(self._plans)))
        rest[self._fixes], gain[:, self._fixes] = self._tries.money(
            case_open=case_open, tests_again=bool(cured_already)
        )
        untested = 0
        others = {fix.kind: _sure(fix, case.rate) for fix in worth.others}
        for place, plan in enumerate(self._plans):
            if plan.branch == "as_is":
                rest[place] = worth.as_is - case.rate * worth.list_minutes
            elif plan.branch == "part_out":
                rest[place] = (0.0 if worth.parts else worth.part_out) - case.rate * worth.strip_minutes
                if worth.parts:
                    untested += 1
                    chance = np.column_stack([chance, _parts_of(case, at_hand)])
                    gain = np.vstack([gain, np.arange(len(self._plans)) == place])
            elif plan.branch != "fix":
                rest[place] = others[plan.branch]
        return Payoffs(near, chance, gain, rest, untested)

    def _after(self, cured_already: CureSet) -> tuple[NDArray[np.intp], SeenWorlds, Floats]:
        """The worlds in which a plan may help, and the chances there: the same whether the case is open or not."""
        if cured_already not in self._cured:
            worlds, tries = self._worlds, self._tries
            everywhere = bool(self._case.worth.parts)
            near = np.arange(len(worlds.weight)) if everywhere else tries.within_reach(worlds, cured_already)
            at_hand = worlds.at(near)
            self._cured[cured_already] = near, at_hand, tries.cured(at_hand, self._passes[near], cured_already)
        return self._cured[cured_already]

    @cached_property
    def _passes(self) -> Floats:
        return passes(self._case, self._worlds, self.stays_bad)

    def stays_bad(self, check: Check) -> Floats:
        """What the function of that name says of the worlds, worked out once."""
        if check.id not in self._stays:
            self._stays[check.id] = stays_bad(self._case, self._worlds, check)
        return self._stays[check.id]


class Tries:
    """Lists of tries as arrays: which faults each touches, what each costs, and where lists begin alike."""

    def __init__(self, case: Case, faults: Sequence[str], entries: Sequence[tuple[CureSet, ...]]) -> None:
        self._case = case
        self._place = {fault: place for place, fault in enumerate(faults)}
        failure = {fault.id: 1.0 - fault.success for fault in case.device_class.faults}
        self._failure = np.array([failure[fault] for fault in faults])
        sets = list(dict.fromkeys(cures for tries in entries for cures in tries))
        row_of = {cures: row for row, cures in enumerate(sets)}
        member = np.zeros((len(sets), len(faults)))
        for row, cures in enumerate(sets):
            for fault in cures:
                member[row, self._place[fault]] = 1.0
        self._bills = _Bills(case, faults, member)
        # what many lists try first is worked out once
        begun = list(dict.fromkeys(tries[:step] for tries in entries for step in range(len(tries) + 1)))
        column = {tries: place for place, tries in enumerate(begun)}
        holds = np.zeros((len(begun), len(sets)))
        pairs = [(place, row_of[cures]) for place, tries in enumerate(begun) for cures in tries]
        np.add.at(holds, tuple(np.array(pairs, dtype=np.intp).reshape(-1, 2).T), 1.0)
        self._touched = holds @ member
        """How often each fault is tried by each beginning."""
        self._count = len(entries)
        self._lists = [
            (
                np.array(places, dtype=np.intp),
                np.array([[row_of[cures] for cures in entries[place]] for place in places], dtype=np.intp),
                np.array([[column[entries[place][:step]] for step in range(length + 1)] for place in places]),
            )
            for length, places in _by_length(entries).items()
        ]

    def within_reach(self, worlds: SeenWorlds, cured_already: Collection[str] = ()) -> NDArray[np.intp]:
        """The worlds in which some list touches every fault that is there; in all others none of them can help."""
        touched = self._touched > 0.0
        size = touched.sum(axis=1)
        shared = touched.astype(np.float64) @ touched.T
        inside = (shared == size[:, None]) & ((size[None] > size[:, None]) | np.tri(len(size), k=-1, dtype=np.bool_))
        left_out = ~touched[~inside.any(axis=1)]
        left_out[:, [self._place[fault] for fault in cured_already]] = False
        missed = worlds.present.astype(np.float64) @ left_out.T.astype(np.float64)
        rows: NDArray[np.intp] = np.flatnonzero(missed.min(axis=1) == 0.0)
        return rows

    def cured(self, worlds: SeenWorlds, passes: Floats, cured_already: Collection[str] = ()) -> Floats:
        """float64[w, beginnings]; chance that the unit works after all the tries of a beginning, in each world.

        `passes` is what the function of that name says of the worlds.
        """
        touched = self._touched.copy()
        for fault in cured_already:
            touched[:, self._place[fault]] += 1.0
        helped = 1.0 - self._failure[:, None] ** touched.T
        chance: Floats = np.repeat(passes[:, None], len(touched), axis=1)
        for place, line in enumerate(helped):  # few faults are there in a world: quicker than the sum of logarithms
            chance[worlds.present[:, place]] *= line
        if self._case.reads_bad and not cured_already:
            chance[:, ~self._touched.any(axis=1)] = 0.0  # what stays bad is not sold as working untouched
        return chance

    def of(self, chance: Floats) -> Floats:
        """float64[..., lists], from the columns of `cured`: those of the whole lists, in their order."""
        columns = np.empty(self._count, dtype=np.intp)
        for places, _, steps in self._lists:
            columns[places] = steps[:, -1]
        return chance[..., columns]

    def money(self, *, case_open: bool, tests_again: bool = False) -> tuple[Floats, Floats]:
        """float64[lists], what each brings when nothing helps, and float64[beginnings, lists], what each cure adds.

        With r_s = 1 - c_s the chance that the unit still fails after s tries, a list brings
        working + sum over s of r_s x (what failing then costs).

        `tests_again`: something was worked on meanwhile, so that the whole-function test is due again. One that reads
        fixed is worth no more than its chance: what hides in it comes back.
        """
        case, worth = self._case, self._case.worth
        rest, gain = np.empty(self._count), np.zeros((len(self._touched), self._count))
        always = worth.working - sum(worth.missing.values()) - worth.returns - case.rate * worth.list_minutes
        for places, rows, columns in self._lists:
            length = rows.shape[1]
            costs = np.zeros((len(places), length + 1))
            if length:
                first, later = self._bills.of_tries(rows, case_open=case_open)
                # the whole test is done where the unit works; what fails shows sooner
                costs[:, :-1] = -first - later
                costs[:, -1] = worth.as_is_after - worth.working
                costs[:, 1:] += later
                rest[places] = always + costs.sum(axis=1)
                for step in range(1, length + 1):
                    gain[columns[:, step], places] -= costs[:, step]
            else:
                fails = worth.as_is - worth.working
                rest[places] = always + fails - case.rate * case.test_minutes(after_repair=tests_again)
                gain[columns[:, 0], places] -= fails
        return rest, gain


class _Bills:
    """What curing each of some sets of faults in one go takes; `member` is float64[sets, faults]."""

    def __init__(self, case: Case, faults: Sequence[str], member: Floats) -> None:
        self._case = case
        by_id = {fault.id: fault for fault in case.device_class.faults}
        known = [by_id[fault] for fault in faults]
        parts = list(case.worth.part_costs)
        opening = case.device_class.open_minutes
        own = [max(0.0, fault.minutes - (opening if fault.minutes_include_opening else 0.0)) for fault in known]
        needs = np.array([[part in fault.needs for part in parts] for fault in known], dtype=np.float64)
        shown = np.array([[fault.id in check.fails for check in case.functions] for fault in known], dtype=np.float64)
        self._minutes = member @ own
        self._opens = member @ [float(fault.minutes_include_opening) for fault in known] > 0.0
        self._waits = member @ [float(bool(fault.needs)) for fault in known] > 0.0
        self._parts = (member @ needs.reshape(len(known), -1) > 0.0) @ np.array(list(case.worth.part_costs.values()))
        self._concerned = (member @ shown.reshape(len(known), -1) > 0.0) @ [c.minutes for c in case.functions]
        self._concerned = self._concerned + case.safety_minutes

    def of_tries(self, rows: NDArray[np.intp], *, case_open: bool) -> tuple[Floats, Floats]:
        """What each try costs with the test of the functions it concerns, and what the rest of the test costs.

        `rows` is [lists, steps], each a set; so are both results. The case is opened once, parts are waited for once.
        """
        case = self._case
        opening = np.where(_first(self._opens[rows]), 0.0 if case_open else case.device_class.open_minutes, 0.0)
        waiting = np.where(_first(self._waits[rows]), case.worth.delay_days * case.worth.delay_per_day, 0.0)
        concerned = self._concerned[rows]
        tried: Floats = self._parts[rows] + case.rate * (self._minutes[rows] + opening + concerned) + waiting
        return tried, case.rate * (case.retest_minutes - concerned)


def _by_length(entries: Sequence[tuple[CureSet, ...]]) -> dict[int, list[int]]:
    by_length: dict[int, list[int]] = {}
    for place, tries in enumerate(entries):
        by_length.setdefault(len(tries), []).append(place)
    return by_length


def _first(flags: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """bool[lists, steps]; whether the flag is up for the first time."""
    first: NDArray[np.bool_] = flags & (np.cumsum(flags, axis=1) == 1)
    return first


def passes(case: Case, worlds: SeenWorlds, stays: Callable[[Check], Floats] | None = None) -> Floats:
    """float64[w]; chance that the whole-function test is passed once the listed faults are cured.

    What is not listed, and misreadings, make a test fail however good the repair; a function that was good since the
    last work is not in doubt. `stays` says `stays_bad` of a function where that is known already.
    """
    chance = np.zeros(len(worlds.weight)) if case.unfixable else np.ones(len(worlds.weight))
    for check in case.functions:
        if not good_since(check, case.record):
            chance = chance * (1.0 - (stays(check) if stays else stays_bad(case, worlds, check)))
    return chance


def stays_bad(case: Case, worlds: SeenWorlds, check: Check) -> Floats:
    """float64[w]; chance that a function reads bad at every look it gets, though every listed fault is cured.

    Where a fault behind it is there, curing that gives it its looks anew. Otherwise only those count that are left:
    looking until a misreading turns out well is no cure.
    """
    left = case.looks_left(check)
    anew = worlds.fails_test(check.id, MOST_LOOKS)
    if left == MOST_LOOKS:
        return anew
    return np.where(explained(worlds, check), anew, worlds.fails_test(check.id, left) if left else 1.0)


def explained(worlds: SeenWorlds, check: Check) -> NDArray[np.bool_]:
    """bool[w]; whether a fault behind the check is there."""
    behind = [place for place, fault in enumerate(worlds.faults) if fault in check.fails]
    there: NDArray[np.bool_] = np.asarray(worlds.present[:, behind].any(axis=1))
    return there


def _parts_of(case: Case, worlds: SeenWorlds) -> Floats:
    """float64[w]; what the single parts bring in each world."""
    total: Floats = np.zeros(len(worlds.weight))
    for part in case.worth.parts:
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
