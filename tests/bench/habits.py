"""Other ways to choose the next look, for comparison: habits of the trade and textbook rules.

Each says what a look is worth in its own way; what comes after (retests, repairs in their order, walking away) is the
program's own, so that a difference in money is a difference in the looks.
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
from triage.payoffs import Menu
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


class _Sums:
    """What the rules have in common, worked out once for a situation."""

    def __init__(self, case: Case, worlds: SeenWorlds, locked: Sequence[Locked]) -> None:
        self.case, self.base = case, outlook(case, worlds, locked, depth=0)
        shut = {entry.check for entry in locked}
        self.view = heaviest(worlds)
        self.offered = [check for check in case.device_class.checks if check.money and check.id not in shut]
        hard = {entry.check for entry in locked if not entry.by_gate}
        self.waiting = [
            check
            for check in case.device_class.checks
            if check.money and check.id in shut - hard and len(gates_of(check)) == 1
        ]
        self.bad = {check.id: self.view.bad_chance(check.id) for check in (*self.offered, *self.waiting)}
        menu = Menu(case, self.view.faults, plans_for(case, self.view))
        self.payoffs = menu.payoffs(self.view, case_open=case.state.case_open)
        self.chance = dict(zip(self.view.faults, self.view.weight @ self.view.present, strict=True))

    @property
    def found(self) -> bool:
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
        ranking = sorted(gains, key=lambda name: (-gains[name], name))
        entries = []
        for name in ranking:
            minutes = check_minutes(self.case, self.case.device_class.check(name))
            entries.append(Ranked(name, gains[name], minutes, gains[name] / max(minutes, 1e-9)))
        return msgspec.structs.replace(self.base, ranking=tuple(entries))


def _entropy(chance: Floats | float) -> Floats:
    sure = np.clip(chance, 1e-12, 1.0 - 1e-12)
    result: Floats = -(sure * np.log(sure) + (1.0 - sure) * np.log1p(-sure))
    return result


def _cheapest(sums: _Sums) -> Outlook:
    """Outside before inside, quick before slow, until one fault is as good as found."""
    if sums.found:
        return sums.ranked({})
    return sums.ranked({c.id: ASK - check_minutes(sums.case, c) for c in sums.offered})


def _likeliest(sums: _Sums) -> Outlook:
    """The look that shows the likeliest fault best, until one is as good as found."""
    if sums.found:
        return sums.ranked({})
    for fault in sorted(sums.chance, key=lambda name: (-sums.chance[name], name)):
        looks = {c.id: ASK + c.fails[fault] for c in sums.offered if c.fails.get(fault, 0.0) > 0.0}
        if looks and sums.chance[fault] > 0.02:
            return sums.ranked(looks)
    return sums.ranked({})


def _entropy_rate(sums: _Sums) -> Outlook:
    """Most information a minute, until nothing tells anything."""
    told = {check.id: sums.told(check) for check in sums.offered}
    minutes = {check.id: max(check_minutes(sums.case, check), 0.1) for check in sums.offered}
    return sums.ranked({name: ASK * nats / minutes[name] for name, nats in told.items() if nats > TOLD})


def _entropy_stop(sums: _Sums) -> Outlook:
    """Most information a minute, while its share of what full knowledge would add pays its minutes."""
    weight = sums.view.weight
    whole = max(float(-(weight @ np.log(np.maximum(weight, 1e-300)))), 1e-9)
    gains = {}
    for check in sums.offered:
        nats = sums.told(check)
        if nats > TOLD and sums.full * min(1.0, nats / whole) > sums.cost(check):
            gains[check.id] = ASK * nats / max(check_minutes(sums.case, check), 0.1)
    return sums.ranked(gains)


def _one_step(sums: _Sums) -> Outlook:
    return sums.base


def _credit(sums: _Sums) -> Outlook:
    """One step of money; each outcome is also credited a share of what full knowledge would still add after it."""
    weight, sure, now, gains = sums.view.weight, sums.sure, sums.now, {}
    for check in sums.offered:
        rows = np.stack([weight * sums.bad[check.id], weight * (1.0 - sums.bad[check.id])])
        then = sums.best(rows)
        gains[check.id] = float((then + CREDIT * (rows @ sure - then)).sum()) - now - sums.cost(check)
    one = {entry.check: entry.net_gain for entry in sums.base.ranking}
    telling = {check.id for check in sums.offered if sums.told(check) > TOLD}
    return sums.ranked({name: max(gain if name in telling else -1.0, one[name]) for name, gain in gains.items()})


def _two_step(sums: _Sums) -> Outlook:
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


def _second_cost(sums: _Sums, first: Check, second: Check, setups: Mapping[str, float]) -> float:
    minutes, case = check_minutes(sums.case, second), sums.case
    if first.state == second.state == "opened" and not case.state.case_open:
        minutes -= case.device_class.open_minutes
    if second.setup and second.setup == first.setup and second.setup not in case.state.setups:
        minutes -= setups[second.setup]
    return case.rate * minutes


def _judge(rule: Callable[[_Sums], Outlook]) -> Judge:
    def judged(case: Case, worlds: SeenWorlds, locked: Sequence[Locked]) -> Outlook:
        return rule(_Sums(case, worlds, locked))

    return judged


def _everything(sums: _Sums) -> Outlook:
    return sums.ranked({c.id: ASK - check_minutes(sums.case, c) for c in sums.offered})


FREE = "all answers free"
"""Not a habit but a bound to compare with: it asks everything, and its looks cost nothing."""

HABITS: Mapping[str, Judge] = {
    "cheapest first": _judge(_cheapest),
    "likeliest first": _judge(_likeliest),
    "entropy per minute": _judge(_entropy_rate),
    "entropy with stop": _judge(_entropy_stop),
    "one-step money": _judge(_one_step),
    "two-step money": _judge(_two_step),
    "one-step with credit": _judge(_credit),
    FREE: _judge(_everything),
}
