"""Other ways to choose the next look, for comparison: habits of the trade and textbook rules.

Each says what a look is worth in its own way; what comes after (retests, repairs in their order, walking away) is the
program's own, so that a difference in money is a difference in the looks. Those called plain share the rules of the
bench (retests, the whole-function test) only: they repair one set of faults once, as a person with that rule alone.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import msgspec
import numpy as np
from numpy.typing import NDArray

from triage.checks import Judge
from triage.device_classes.schema import Check
from triage.locks import Locked
from triage.network import gates_of
from triage.outlook import Outlook, Ranked, check_minutes, heaviest, outlook
from triage.payoffs import Menu, Payoffs
from triage.plans import Case, SeenWorlds
from triage.repair_orders import plans_for

Floats = NDArray[np.float64]

SURE = 0.9
"""A fault this likely counts as found, for habits that have no sums."""
TOLD = 0.01
"""Nats of information below which an answer tells nothing."""
CREDIT = 0.3
"""Share of what full knowledge would still add that the credit counts."""
SECOND_LOOKS = 8
ASK = 1e9
"""Gain that stands for "ask"."""


class Sums:
    """What the rules have in common, worked out once for a situation: the program's own plans and sums."""

    def __init__(self, case: Case, worlds: SeenWorlds, locked: Sequence[Locked]) -> None:
        """One situation of a unit."""
        self.case = case
        shut = self.shut(locked)
        self.view = heaviest(worlds)
        self.offered = [check for check in case.device_class.checks if check.money and check.id not in shut]
        hard = shut - {entry.check for entry in locked if entry.by_gate}
        self.waiting = [
            check
            for check in case.device_class.checks
            if check.money and check.id in shut - hard and len(gates_of(check)) == 1
        ]
        self.bad = {check.id: self.view.bad_chance(check.id) for check in (*self.offered, *self.waiting)}
        self.payoffs, self.base = self.money(worlds, locked)
        self.chance = dict(zip(self.view.faults, self.view.weight @ self.view.present, strict=True))

    def shut(self, locked: Sequence[Locked]) -> set[str]:
        """Checks that are not offered."""
        return {entry.check for entry in locked}

    def money(self, worlds: SeenWorlds, locked: Sequence[Locked]) -> tuple[Payoffs, Outlook]:
        """The money of every plan, and the best plan with what each look gains by itself."""
        menu = Menu(self.case, self.view, plans_for(self.case, self.view))
        payoffs = menu.payoffs(case_open=self.case.state.case_open)
        return payoffs, outlook(self.case, worlds, locked, depth=0)

    @property
    def found(self) -> bool:
        """Whether one fault is as good as found."""
        return max(self.chance.values()) >= SURE

    @property
    def now(self) -> float:
        """Money of the best plan as things stand."""
        return float(self.payoffs.expected(self.view.weight).max())

    @property
    def sure(self) -> Floats:
        """float64[w]; money of the best plan in each world."""
        near, rest = self.payoffs.near, self.payoffs.rest
        best: Floats = np.full(len(self.view.weight), rest.max())
        best[near] = (self.payoffs.chance @ self.payoffs.gain + rest).max(axis=1)
        return best

    @property
    def full(self) -> float:
        """What full knowledge of the faults would add now."""
        return float(self.view.weight @ self.sure) - self.now

    def cost(self, check: Check) -> float:
        """What the look costs now."""
        return self.case.rate * check_minutes(self.case, check)

    def told(self, check: Check) -> float:
        """Nats that the answer tells about the faults."""
        bad, weight = self.bad[check.id], self.view.weight
        return float(_entropy(weight @ bad) - weight @ _entropy(bad))

    def best(self, weights: Floats) -> Floats:
        """float64[rows]; best plan's money for rows of unnormalised weights."""
        result: Floats = self.payoffs.expected(weights).max(axis=1)
        return result

    def ranked(self, gains: Mapping[str, float]) -> Outlook:
        """These looks in the order of their gains, the plan as the sums have it."""
        return in_rank(self.case, self.base, gains)


def _entropy(chance: Floats | float) -> Floats:
    sure = np.clip(chance, 1e-12, 1.0 - 1e-12)
    result: Floats = -(sure * np.log(sure) + (1.0 - sure) * np.log1p(-sure))
    return result


def _cheapest(sums: Sums) -> Outlook:
    """Outside before inside, quick before slow, until one fault is as good as found."""
    if sums.found:
        return sums.ranked({})
    return sums.ranked({c.id: ASK - check_minutes(sums.case, c) for c in sums.offered})


def _likeliest(sums: Sums) -> Outlook:
    """The look that shows the likeliest fault best, until one is as good as found."""
    if sums.found:
        return sums.ranked({})
    for fault in sorted(sums.chance, key=lambda name: (-sums.chance[name], name)):
        looks = {c.id: ASK + c.fails[fault] for c in sums.offered if c.fails.get(fault, 0.0) > 0.0}
        if looks and sums.chance[fault] > 0.02:
            return sums.ranked(looks)
    return sums.ranked({})


def _entropy_rate(sums: Sums) -> Outlook:
    """Most information a minute, until nothing tells anything."""
    told = {check.id: sums.told(check) for check in sums.offered}
    minutes = {check.id: max(check_minutes(sums.case, check), 0.1) for check in sums.offered}
    return sums.ranked({name: ASK * nats / minutes[name] for name, nats in told.items() if nats > TOLD})


def _entropy_stop(sums: Sums) -> Outlook:
    """Most information a minute, while its share of what full knowledge would add pays its minutes."""
    weight = sums.view.weight
    whole = max(float(-(weight @ np.log(np.maximum(weight, 1e-300)))), 1e-9)
    gains = {}
    for check in sums.offered:
        nats = sums.told(check)
        if nats > TOLD and sums.full * min(1.0, nats / whole) > sums.cost(check):
            gains[check.id] = ASK * nats / max(check_minutes(sums.case, check), 0.1)
    return sums.ranked(gains)


def _one_step(sums: Sums) -> Outlook:
    return sums.base


def _credit(sums: Sums) -> Outlook:
    """One step of money; each outcome is also credited a share of what full knowledge would still add after it."""
    weight, sure, now, gains = sums.view.weight, sums.sure, sums.now, {}
    for check in sums.offered:
        rows = np.stack([weight * sums.bad[check.id], weight * (1.0 - sums.bad[check.id])])
        then = sums.best(rows)
        gains[check.id] = float((then + CREDIT * (rows @ sure - then)).sum()) - now - sums.cost(check)
    one = {entry.check: entry.net_gain for entry in sums.base.ranking}
    telling = {check.id for check in sums.offered if sums.told(check) > TOLD}
    return sums.ranked({name: max(gain if name in telling else -1.0, one[name]) for name, gain in gains.items()})


def _two_step(sums: Sums) -> Outlook:
    """Two steps of money: a second look is taken where it pays after the first answer."""
    weight, case = sums.view.weight, sums.case
    one = {entry.check: entry.net_gain for entry in sums.base.ranking}
    seconds: list[Check] = sorted(sums.offered, key=lambda c: -one.get(c.id, -ASK))[:SECOND_LOOKS]
    gains = dict(one)
    now = sums.now
    setups = {setup.id: setup.minutes for setup in case.device_class.setups}
    for first in sums.offered:
        value = -now - sums.cost(first)
        for is_bad in (True, False):
            row = weight * (sums.bad[first.id] if is_bad else 1.0 - sums.bad[first.id])
            mass, best = float(row.sum()), float(sums.best(row[None])[0])
            opened = [
                c
                for c in sums.waiting
                if gates_of(c)[0].check == first.id and (gates_of(c)[0].must_be == "bad") == is_bad
            ]
            then = [c for c in (*seconds, *opened) if c.id != first.id]
            if then:
                bads = np.stack([sums.bad[c.id] for c in then])
                both = sums.best(np.concatenate([row * bads, row * (1.0 - bads)])).reshape(2, -1).sum(axis=0)
                costs = np.array([_second_cost(sums, first, c, setups) for c in then])
                best = max(best, float((both - mass * costs).max()))
            value += best
        gains[first.id] = max(gains.get(first.id, -ASK), value)
    return sums.ranked(gains)


def _second_cost(sums: Sums, first: Check, second: Check, setups: Mapping[str, float]) -> float:
    minutes, case = check_minutes(sums.case, second), sums.case
    if first.state == second.state == "opened" and not case.state.case_open:
        minutes -= case.device_class.open_minutes
    if second.setup and second.setup == first.setup and second.setup not in case.state.setups:
        minutes -= setups[second.setup]
    return case.rate * minutes


class PlainSums(Sums):
    """The sums of a person with the rule alone: one repair of one set of faults, its test, else it is sold.

    No tries in a row, nothing looked at twice, no doubt about the test of a good repair.
    """

    def shut(self, locked: Sequence[Locked]) -> set[str]:
        """No function that reads bad is looked at again."""
        return super().shut(locked) | {name for name, times in self.case.record.bad_in_a_row.items() if times}

    def money(self, worlds: SeenWorlds, locked: Sequence[Locked]) -> tuple[Payoffs, Outlook]:
        """Chance cured x working + rest x as it stands after - parts - minutes, for sets cured in one go."""
        case, view = self.case, self.view
        plans = [plan for plan in plans_for(case, view) if len(plan.tries) <= (0 if case.record.repairs else 1)]
        if any(case.record.latest.get(check.id) == "bad" for check in case.functions):
            plans = [plan for plan in plans if not plan.no_repair]
        success = np.array([case.device_class.fault(fault).success for fault in view.faults])
        money = np.empty((len(view.weight), len(plans)))
        others = {fix.kind: fix for fix in case.worth.others}
        for place, plan in enumerate(plans):
            if plan.branch == "fix":
                cures = plan.tries[0] if plan.tries else ()
                outside = [fault not in cures for fault in view.faults]
                cured = np.where(view.present, success, 1.0).prod(axis=1) * ~view.present[:, outside].any(axis=1)
                fix = case.fix_of(cures, 1.0)
                ends = cured * fix.net_working + (1.0 - cured) * fix.net_failed
                waits = fix.delay_days * fix.delay_per_day
                money[:, place] = ends - fix.parts - case.rate * fix.minutes - fix.returns - waits
            elif plan.branch == "as_is":
                as_is = case.worth.as_is_after if case.record.repairs else case.worth.as_is
                money[:, place] = as_is - case.rate * case.worth.list_minutes
            elif plan.branch == "part_out":
                money[:, place] = case.worth.part_out - case.rate * case.worth.strip_minutes
            else:
                money[:, place] = others[plan.branch].net_working
        payoffs = Payoffs.told_apart(money)
        values = payoffs.expected(view.weight)
        best = int(values.argmax())
        unrepaired = max(float(value) for value, plan in zip(values, plans, strict=True) if plan.branch != "fix")
        base = Outlook(plans[best], float(values[best]), unrepaired, (), -np.inf)
        alone = {}
        for check in self.offered:
            rows = np.stack([view.weight * self.bad[check.id], view.weight * (1.0 - self.bad[check.id])])
            alone[check.id] = float(payoffs.expected(rows).max(axis=1).sum()) - base.now - self.cost(check)
        return payoffs, in_rank(case, base, alone)


def in_rank(case: Case, base: Outlook, gains: Mapping[str, float]) -> Outlook:
    """An outlook with these looks, best gain first."""
    entries = []
    for name in sorted(gains, key=lambda name: (-gains[name], name)):
        minutes = check_minutes(case, case.device_class.check(name))
        entries.append(Ranked(name, gains[name], minutes, gains[name] / max(minutes, 1e-9)))
    return msgspec.structs.replace(base, ranking=tuple(entries))


def _judge(rule: Callable[[Sums], Outlook], sums: type[Sums] = Sums) -> Judge:
    def judged(case: Case, worlds: SeenWorlds, locked: Sequence[Locked]) -> Outlook:
        return rule(sums(case, worlds, locked))

    return judged


def _everything(sums: Sums) -> Outlook:
    return sums.ranked({c.id: ASK - check_minutes(sums.case, c) for c in sums.offered})


FREE = "all answers free"
"""Not a habit but a bound to compare with: it asks everything, and its looks cost nothing."""

HABITS: Mapping[str, Judge] = {
    "no answer further": outlook,
    "cheapest first": _judge(_cheapest),
    "likeliest first": _judge(_likeliest),
    "entropy per minute": _judge(_entropy_rate),
    "entropy with stop": _judge(_entropy_stop),
    "one-step money": _judge(_one_step),
    "two-step money": _judge(_two_step),
    "one-step with credit": _judge(_credit),
    "plain entropy per minute": _judge(_entropy_rate, PlainSums),
    "plain entropy with stop": _judge(_entropy_stop, PlainSums),
    "plain one-step money": _judge(_one_step, PlainSums),
    "plain two-step money": _judge(_two_step, PlainSums),
    "plain one-step with credit": _judge(_credit, PlainSums),
    FREE: _judge(_everything),
}
