"""The next action on one unit: a check, a repair, or stop, whichever brings the most money over the rest of the job.

The rules of the bench come with it: outside before inside, the whole-function test before opening, after each repair
and before selling, the retest first after a repair, and nothing that a hazard, a missing tool or training locks.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Literal, TypeAlias

import msgspec

from triage.branches import BRANCH_WORDS, BranchKind
from triage.device_classes.schema import Check, DeviceClass, Lock
from triage.further import advised
from triage.locks import (
    Locked,
    Means,
    Record,
    UnitState,
    fixed_of,
    gate_is_open,
    good_since,
    locked_checks,
    repair_locked,
    stale,
    what_lifts,
)
from triage.network import gates_of
from triage.outlook import Outlook, Ranked, check_minutes, small_change
from triage.plans import Case, SeenWorlds, case_of
from triage.worth import Worth, opens, repair_minutes

Action: TypeAlias = Literal["check", "repair", "stop"]
Judge: TypeAlias = Callable[[Case, SeenWorlds, Sequence[Locked]], Outlook]
"""Says what every look is worth; other judges than `advised` serve to compare with it."""


class NextAction(msgspec.Struct, frozen=True):
    """What to do next and why. Amounts are minor units, times minutes."""

    action: Action
    branch: BranchKind
    """The best branch as things stand."""
    value: float
    """What that branch brings."""
    reason: str
    check: str | None = None
    faults: tuple[str, ...] = ()
    net_gain: float = 0.0
    """What the action brings over stopping now; of a repair over the best branch that is no fix; 0 for stop."""
    minutes: float = 0.0
    gain_per_minute: float = 0.0
    locked: tuple[Locked, ...] = ()
    ranking: tuple[Ranked, ...] = ()


def next_action(
    device_class: DeviceClass,
    worlds: SeenWorlds,
    worth: Worth,
    *,
    rate: float,
    state: UnitState | None = None,
    means: Means | None = None,
    judge: Judge = advised,
) -> NextAction:
    """The next action on a unit whose `state.events` led to `worlds`; `rate` is the worth of a minute, 0 allowed."""
    return action_for(case_of(device_class, worth, rate=rate, state=state, means=means), worlds, judge)


def action_for(case: Case, worlds: SeenWorlds, judge: Judge = advised) -> NextAction:
    """Like `next_action`, for a case that is already read."""
    locked = locked_checks(case.device_class, case.state, case.means, case.record)
    view = judge(case, worlds, locked)
    return _Choice(case, locked, view).made()


class _Choice:
    """One choice; its methods are the rules, tried in the order of `made`."""

    def __init__(self, case: Case, locked: tuple[Locked, ...], view: Outlook) -> None:
        self._case = case
        self._view = view
        self._locked = locked
        shut = {entry.check for entry in locked}
        self._offered = [check for check in case.device_class.checks if check.id not in shut]

    def made(self) -> NextAction:
        retest = None if self._case.fixed else self._after_repair()
        if retest is not None:
            return retest
        if self._view.ranking and self._view.ranking[0].net_gain > small_change(self._case):
            return self._paying_check(self._view.ranking[0])
        if self._view.plan.tries and (not self._case.fixed or any(self._case.record.bad_in_a_row.values())):
            return self._repair(self._view.plan.tries[0])
        if self._case.fixed or self._view.plan.branch == "fix":
            return self._finish()
        branch = self._view.plan.branch
        why = self._lifts("opened") if branch == "part_out" else ""
        first = f", but first: {why}" if why else ""
        if branch == "hand_over" and (lifts := self._lifts("posting")):
            first = f"; to sell it, first: {lifts}"
        elif self._case.unfixable:
            first = f"; to fix it: {self._lifts('opened', 'powered')}"
        return self._stop(f"no further check pays; best branch now is {BRANCH_WORDS[branch]}, {self._written()}{first}")

    # --- the rules ---------------------------------------------------------------------------------------------------

    def _after_repair(self) -> NextAction | None:
        if not self._case.record.repairs:
            return None
        retest = self._retest()
        if retest is not None:
            return self._look_at(retest, "retest after the repair, before anything else")
        locked = self._retest_locked()
        return self._stop(f"retest after the repair, before anything else, but first: {locked}") if locked else None

    def _retest(self) -> Check | None:
        """After a repair: the functions it concerns, until one is bad again; without any, the look that was bad.

        Where the way to one is closed by an older answer, that is looked at again first. Where nothing that was
        repaired shows in any look, some function is tested, so that a repair never goes without a test.
        """
        record = self._case.record
        time, faults = self._last_repairs()
        concerned = [check for check in self._case.device_class.checks if faults & check.fails.keys()]
        path = {check.id for each in concerned for check in self._way_to(each, time)} | {each.id for each in concerned}
        since = {name: said.word for name, said in record.said.items() if said.index > time}
        if any(since.get(name) == "bad" for name in path):
            return None
        functions = self._case.functions
        ready = {
            way[0].id: way[0]
            for check in concerned
            if check in functions and _is_open(check, record) and (way := self._way_to(check, time))
        }
        due = ready or {check.id: check for check in concerned if check in self._offered and stale(check, record)}
        if not due and not since:
            due = {check.id: check for check in functions if check in self._offered and _is_open(check, record)}
        if not ready and since:
            return None
        return min((check for check in due.values() if check.money), key=self._retest_order, default=None)

    def _retest_locked(self) -> str:
        """What is to be done before any function can be tested after the repair; empty where one can, or was."""
        time, _ = self._last_repairs()
        tests = {check.id: check for check in self._case.functions}
        held = [entry for entry in self._locked if entry.check in tests and entry.kind == "safety"]
        if self._case.unfixable or not held or any(said.index > time for said in self._case.record.said.values()):
            return ""
        return self._lifts(*tests[held[0].check].held_by()) or held[0].why

    def _last_repairs(self) -> tuple[int, set[str]]:
        """Time of the last repair, and the faults of it and of those before it that nothing was looked at since."""
        repairs, said = self._case.record.repairs, self._case.record.said.values()
        time, faults = repairs[-1][0], set(repairs[-1][1])
        for (before, more), (after, _) in zip(reversed(repairs[:-1]), reversed(repairs), strict=False):
            if any(before < each.index < after for each in said):
                break
            faults |= set(more)
        return time, faults

    def _way_to(self, check: Check, time: int) -> tuple[Check, ...]:
        """What is to be looked at so that the check says something: itself, or gates that an old answer keeps shut.

        Empty where it cannot be had.
        """
        if check in self._offered:
            return (check,)
        record = self._case.record
        kinds = {entry.kind for entry in self._locked if entry.check == check.id}
        said = record.said.get(check.id)
        if kinds == {"answered"} and said is not None and said.index < time and gate_is_open(check, record.latest):
            return (check,)
        shut = [gate for gate in gates_of(check) if record.latest.get(gate.check) != gate.must_be]
        if kinds != {"gate"} or any(gate.must_be == "bad" for gate in shut):
            return ()
        ways = [self._way_to(self._case.device_class.check(gate.check), time) for gate in shut]
        return tuple(each for way in ways for each in way) if all(ways) else ()

    def _retest_order(self, check: Check) -> tuple[bool, bool, bool, float]:
        opens_others = any(
            gate.check == check.id for other in self._case.device_class.checks for gate in gates_of(other)
        )
        was_bad = self._case.record.latest.get(check.id) == "bad"
        return (not was_bad, not opens_others, check.state == "opened", check.minutes)

    def _paying_check(self, best: Ranked) -> NextAction:
        check = self._case.device_class.check(best.check)
        first = self._before(opening=check.state == "opened", powers=check.powered)
        if first is not None:
            return first
        gain, now = self._case.worth.written(best.net_gain), BRANCH_WORDS[self._view.plan.branch]
        if self._case.fixed and self._view.plan.branch == "fix":
            now = "sell it as working"
        reason = f"worth {gain} more than to {now} at once ({self._written()}), its {best.minutes:g} min paid"
        if self._view.alone <= 0.0:
            reason = f"alone it would not pay, but with what may follow it does: {reason}"
        return self._look_at(check, reason)

    def _repair(self, cures: tuple[str, ...]) -> NextAction:
        case = self._case
        opening = opens(case.device_class, cures) and not case.state.case_open
        why = repair_locked(case.device_class, case.state, opening=opens(case.device_class, cures))
        if why:
            why = self._lifts("opened") or why
            return self._stop(f"no further check pays; best branch now is fix, {self._written()}, but first: {why}")
        first = self._before(opening=opening, powers=False, repairing=True)
        if first is not None:
            return first
        what = ", ".join(map(self._what, cures))
        minutes = repair_minutes(case.device_class, cures, case_open=case.state.case_open)
        gain = self._view.now - self._view.unrepaired
        reason = f"no further check pays; cure {what}, then test: {self._written()}, {case.worth.written(gain)} ahead"
        if len(self._view.plan.tries) > 1:
            reason += f"; if that does not help: {', '.join(map(self._what, self._view.plan.tries[1]))}"
        return self._action("repair", reason, net_gain=gain, minutes=minutes, faults=cures)

    def _what(self, fault_id: str) -> str:
        return self._case.device_class.fault(fault_id).what or fault_id

    def _finish(self) -> NextAction:
        """Nothing to cure: test what is untested, then it may be sold as working."""
        case = self._case
        if case.state.missing:
            lifted = ", ".join(case.device_class.part(part_id).name for part_id in case.state.missing)
            return self._stop(f"best branch now is fix, {self._written()}, but first put back: {lifted}")
        due = [check for check in case.functions if self._is_due(check)]
        open_now = [check for check in due if check in self._offered]
        if open_now:
            check = min(open_now, key=lambda entry: (entry.state == "opened", entry.minutes))
            first = self._safety() if check.powered else None
            if first is not None:
                return self._look_at(first, "safety step before it is powered")
            return self._look_at(check, f"whole-function test: {self._name(check.function)} is still to be shown")
        safety = self._safety()
        if safety is not None:
            return self._look_at(safety, "safety step before it is sold")
        done = fixed_of(case.device_class, case.state)
        if done.fixed:
            return self._stop(f"every function is tested and good; best branch now is fix, {self._written()}")
        missing = ", ".join(map(self._name, (*done.untested, *done.failed))) or "every function"
        lifts = self._lifts("powered")
        lifts = f"; first: {lifts}" if lifts else ""
        return self._stop(
            f"best branch now is fix, {self._written()}, but it cannot be shown to work: {missing}{lifts}"
        )

    def _before(self, *, opening: bool, powers: bool, repairing: bool = False) -> NextAction | None:
        """What comes before opening or repairing (the whole-function test) and before mains power (the safety step).

        An open set is repaired again as soon as something reads bad; until then its functions are tested first.
        """
        if powers and self._case.device_class.mains and (safety := self._safety()) is not None:
            return self._look_at(safety, "safety step before it is powered")
        shut = opening and not self._case.state.case_open
        if not shut and not (repairing and not any(self._case.record.bad_in_a_row.values())):
            return None
        said = self._case.record.said
        untested = [
            check
            for check in self._offered
            if check.state == "closed"
            and check in self._case.functions
            and (check.id not in said or not said[check.id].counted or (not shut and stale(check, self._case.record)))
        ]
        if not untested:
            return None
        check = min(untested, key=lambda entry: entry.minutes)
        when = "before the case is opened" if shut else "before anything more is changed"
        return self._look_at(check, f"whole-function test {when}: {self._name(check.function)}")

    def _lifts(self, *locks: Lock) -> str:
        """What is to be done about the hazards that keep these locks."""
        return what_lifts(self._case.device_class, self._case.state, frozenset(locks))

    def _name(self, function_id: str) -> str:
        names = {function.id: function.name for function in self._case.device_class.functions}
        return names.get(function_id) or function_id

    def _safety(self) -> Check | None:
        return next((check for check in self._offered if not check.money and check.state == "closed"), None)

    def _is_due(self, check: Check) -> bool:
        return not good_since(check, self._case.record)

    # --- the answer --------------------------------------------------------------------------------------------------

    def _look_at(self, check: Check, reason: str) -> NextAction:
        if self._case.record.bad_in_a_row.get(check.id):
            reason = f"once more, as one bad answer may be a false alarm: {reason}"
        ranked = self._view.of(check.id)
        gain = ranked.net_gain if ranked is not None else 0.0
        return self._action("check", reason, net_gain=gain, minutes=check_minutes(self._case, check), check=check.id)

    def _stop(self, reason: str) -> NextAction:
        return self._action("stop", reason)

    def _written(self) -> str:
        return self._case.worth.written(self._view.now)

    def _action(
        self,
        action: Action,
        reason: str,
        *,
        net_gain: float = 0.0,
        minutes: float = 0.0,
        check: str | None = None,
        faults: tuple[str, ...] = (),
    ) -> NextAction:
        return NextAction(
            action=action,
            branch=self._view.plan.branch,
            value=round(self._view.now, 9),  # sums over worlds carry dust
            reason=reason,
            check=check,
            faults=faults,
            net_gain=round(net_gain, 9),
            minutes=minutes,
            gain_per_minute=net_gain / minutes if minutes else net_gain,
            locked=self._locked,
            ranking=self._view.ranking,
        )


def _is_open(check: Check, record: Record) -> bool:
    """Whether the check was never answered, or its answer no longer tells how the unit is."""
    return check.id not in record.said or stale(check, record)
