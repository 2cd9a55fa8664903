"""What every look at a unit is worth: the plans and the looks of a device class put before the look-ahead."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final, TypeAlias

import msgspec
import numpy as np
from numpy.typing import NDArray

from triage.device_classes.schema import Check
from triage.locks import Locked, good_since
from triage.lookahead import Look, each_alone, look_ahead
from triage.network import gates_of
from triage.payoffs import Menu, Payoffs, explained
from triage.plans import Case, CureSet, Floats, Plan, SeenWorlds
from triage.repair_orders import plans_for

DEPTH: Final = 7
"""Looks that are played through together, in every order and with every answer (3^7 states of knowledge)."""
PASSES: Final = 3
"""How often looks that the best course never comes to make room for others."""
MOST_WORLDS: Final = 2000
CASE_DUE: Final = "case"
SAFETY_DUE: Final = "safety step"

Meanwhile: TypeAlias = tuple[CureSet, bool]
"""Faults that looks have tried to cure meanwhile, and whether one has opened the case."""
NOTHING: Final[Meanwhile] = ((), False)


class Ranked(msgspec.Struct, frozen=True):
    """A check that may be taken now: what going on with it gains over stopping now, minor units, minutes paid."""

    check: str
    net_gain: float
    minutes: float
    """Its own and those of opening or setting up that are still to be paid."""
    gain_per_minute: float


class Outlook(msgspec.Struct, frozen=True):
    """The best plan now with its value, the best value without any repair, and every offered check, best first."""

    plan: Plan
    now: float
    unrepaired: float
    """Best of the branches that are no fix."""
    ranking: tuple[Ranked, ...]
    alone: float
    """What the first of the ranking gains when nothing may follow it; -inf for an empty ranking."""

    def of(self, check_id: str) -> Ranked | None:
        """The check's place in the ranking, None when it is not offered or is outside the money."""
        return next((entry for entry in self.ranking if entry.check == check_id), None)


def heaviest(worlds: SeenWorlds, most: int = MOST_WORLDS) -> SeenWorlds:
    """At most so many worlds, the likeliest, as if the rest could not be."""
    if len(worlds.weight) <= most:
        return worlds  # with all that was worked out of them already
    rows: NDArray[np.intp] = np.argsort(-worlds.weight, kind="stable")[:most]
    return worlds.at(rows).shared_out()


def outlook(case: Case, worlds: SeenWorlds, locked: Sequence[Locked], depth: int = DEPTH) -> Outlook:
    """Compare every offered check with stopping now, looking `depth` answers ahead."""
    view = heaviest(worlds)
    open_looks = _open_looks(case, locked)
    plans = plans_for(case, view, seen_out=_seen_out(case, open_looks))
    refundable = np.array([plan.no_repair for plan in plans])
    dues = _dues(case)
    menu = Menu(case, view, plans)
    cached = _cached_values(case, menu)
    looks = {check.id: _look(case, view, menu, check) for check in open_looks}
    by_id = {check_id: case.device_class.check(check_id) for check_id in looks}
    money = cached(NOTHING).expected(view.weight)
    now = int(money.argmax())
    telling = _most_telling(case, view.weight, cached(NOTHING), now, looks)
    gated = {entry.check for entry in locked}
    offered = [check_id for check_id in looks if check_id not in gated]

    def values(taken: Iterable[str]) -> Payoffs:
        done = [by_id[check_id] for check_id in taken]
        cured = tuple(fault for check in done for fault in check.cures)
        return cached((cured, any(check.state == "opened" for check in done)))

    alone = dict(
        zip(
            offered,
            each_alone(
                view.weight,
                lambda place: values([offered[place]]),
                [looks[check_id] for check_id in offered],
                dues,
                refundable,
            ),
            strict=True,
        )
    )
    gains, stopping, kept, tried = dict(alone), float(money[now]), list[str](), set[str]()
    for _ in range(PASSES):
        deep = _filled_up(case, looks, kept, [name for name in telling if name not in tried], depth)
        if tried.issuperset(deep):
            break
        tried.update(deep)
        ahead = look_ahead(
            view.weight,
            _by_place(values, deep),
            [_gated(case, by_id, looks, deep, check_id) for check_id in deep],
            dues,
            refundable,
        )
        for check_id, value in zip(deep, ahead.first, strict=True):
            gains[check_id] = max(gains.get(check_id, -np.inf), value)
        kept = [check_id for place, check_id in enumerate(deep) if place in ahead.used]
    ranking = in_order(case, [_ranked(case, by_id[check_id], gains[check_id] - stopping) for check_id in offered])
    return Outlook(
        plan=_plain_choice(case, view, plans, money),
        now=float(money[now]),
        unrepaired=float(max(value for value, plan in zip(money, plans, strict=True) if plan.branch != "fix")),
        ranking=ranking,
        alone=alone[ranking[0].check] - stopping if ranking else -np.inf,
    )


def _by_place(values: Callable[[Iterable[str]], Payoffs], ids: Sequence[str]) -> Callable[[frozenset[int]], Payoffs]:
    """The money after some looks, asked for by their places in `ids`."""
    return lambda taken: values(ids[place] for place in sorted(taken))


def _plain_choice(case: Case, worlds: SeenWorlds, plans: Sequence[Plan], money: Floats) -> Plan:
    """The best plan; of repair plans within 3 per mille of the unit's price, the one that starts with what is there."""
    best = int(money.argmax())
    if not plans[best].tries:
        return plans[best]
    chance = dict(zip(worlds.faults, (float(value) for value in worlds.weight @ worlds.present), strict=True))
    near = [
        (min(chance[fault] for fault in plan.tries[0]), float(value), place)
        for place, (plan, value) in enumerate(zip(plans, money, strict=True))
        if plan.tries and value >= money[best] - 30.0 * small_change(case)
    ]
    return plans[max(near)[2]]


def small_change(case: Case) -> float:
    """Money that makes no difference: a ten-thousandth (our choice) of what the unit can bring, in any currency."""
    return 1e-4 * max(abs(case.worth.working), abs(case.worth.as_is), abs(case.worth.part_out))


def check_minutes(case: Case, check: Check) -> float:
    """Attended minutes of a check now: its own, opening the case and setting up where that is still to do."""
    setups = {setup.id: setup.minutes for setup in case.device_class.setups}
    opening = case.device_class.open_minutes if check.state == "opened" and not case.state.case_open else 0.0
    setting_up = setups.get(check.setup, 0.0) if check.setup not in case.state.setups else 0.0
    return check.minutes + opening + setting_up


def _dues(case: Case) -> dict[str, float]:
    minutes = {setup.id: setup.minutes for setup in case.device_class.setups if setup.id not in case.state.setups}
    if not case.state.case_open:
        minutes[CASE_DUE] = case.device_class.open_minutes
    if case.device_class.mains and case.safety_due:
        minutes[SAFETY_DUE] = case.safety_due
    return {name: case.rate * value for name, value in minutes.items()}


def _open_looks(case: Case, locked: Sequence[Locked]) -> list[Check]:
    """Checks that are offered, and those that only wait for an answer of one that is."""
    hard = {entry.check for entry in locked if not entry.by_gate}
    waiting = {entry.check for entry in locked if entry.by_gate}
    looks = {check.id: check for check in case.device_class.checks if check.money and check.id not in hard}
    while True:
        lost = [
            check.id
            for check in looks.values()
            if check.id in waiting
            and any(case.record.latest.get(g.check) != g.must_be and g.check not in looks for g in gates_of(check))
        ]
        if not lost:
            return list(looks.values())
        for check_id in lost:
            del looks[check_id]


def seen_out(case: Case, locked: Sequence[Locked]) -> bool:
    """Whether all that this person can test reads good and something is left that they cannot test."""
    return _seen_out(case, _open_looks(case, locked))


def _seen_out(case: Case, open_looks: Sequence[Check]) -> bool:
    due = [check for check in case.functions if not good_since(check, case.record)]
    reads_bad = any(case.record.bad_in_a_row.get(check.id) for check in case.functions)
    return bool(due) and not reads_bad and not any(check in due for check in open_looks)


def _look(case: Case, worlds: SeenWorlds, menu: Menu, check: Check) -> Look:
    dues = {check.setup} if check.setup else set()
    dues |= {CASE_DUE} if check.state == "opened" else set()
    dues |= {SAFETY_DUE} if check.powered and case.device_class.mains and case.safety_due else set()
    tests = check.function and not check.cures and check.id not in case.state.does_not_apply
    bad = worlds.bad_chance(check.id)
    return Look(
        bad=bad,
        passing=_passing(worlds, menu, check, bad) if tests else None,
        cost=case.rate * check.minutes,
        dues=frozenset(dues),
        refund=case.rate * check.minutes if tests and not good_since(check, case.record) else 0.0,
        changes=bool(check.cures) or (check.state == "opened" and not case.state.case_open),
    )


def _passing(worlds: SeenWorlds, menu: Menu, check: Check, bad: Floats) -> Floats:
    """float64[w]; what a bad answer of a function leaves of the chance that the whole test is passed in the end.

    Where a listed fault explains it that is everything: curing the fault brings the function back.
    """
    fails = menu.stays_bad(check)
    unexplained = ~explained(worlds, check) & (bad > 0.0) & (fails < 1.0)
    left = np.ones(len(bad))
    left[unexplained] = np.maximum(0.0, 1.0 - fails[unexplained] / bad[unexplained]) / (1.0 - fails[unexplained])
    return left


def _gated(
    case: Case, checks: Mapping[str, Check], looks: Mapping[str, Look], ids: Sequence[str], check_id: str
) -> Look:
    """The look with its gates as places in `ids`; a gate that is open by an answer given needs no place."""
    gate = tuple(
        (ids.index(entry.check), entry.must_be == "bad")
        for entry in gates_of(checks[check_id])
        if entry.check in ids and case.record.latest.get(entry.check) != entry.must_be
    )
    return msgspec.structs.replace(looks[check_id], gate=gate)


def _cached_values(case: Case, menu: Menu) -> Callable[[Meanwhile], Payoffs]:
    """Plan values by what looks have changed meanwhile, each worked out once."""
    known: dict[Meanwhile, Payoffs] = {}

    def values(meanwhile: Meanwhile) -> Payoffs:
        cured_already, opened = meanwhile
        key = (cured_already, opened or case.state.case_open)
        if key not in known:
            known[key] = menu.payoffs(cured_already, case_open=key[1])
        return known[key]

    return values


def _most_telling(case: Case, weight: Floats, money: Payoffs, best: int, looks: Mapping[str, Look]) -> list[str]:
    """The looks worth playing through, first those that move the plans against each other the most, less their cost.

    How far a look moves two plans apart is the covariance of its answer with their difference in money, which also
    bounds what it can earn alone.
    """
    if not looks:
        return []
    dues = _dues(case)
    bad = np.stack([look.bad for look in looks.values()])
    passing = np.stack([look.bad_and_passing for look in looks.values()])
    mean = (bad @ weight)[:, None]
    moved = money.expected(weight * (bad - mean), weight * (passing - mean))
    moves = np.abs(moved - moved[:, [best]]).max(axis=1)
    score = {
        name: float(move) + look.refund - look.cost - sum(dues.get(due, 0.0) for due in look.dues)
        for (name, look), move in zip(looks.items(), moves, strict=True)
    }
    useful = [name for name, move in zip(looks, moves, strict=True) if move > 1e-9 * small_change(case)]
    dust = 1e-6 * small_change(case) or 1.0
    return sorted(useful, key=lambda entry: -round(score[entry] / dust))  # of equals the first of the class


def _filled_up(
    case: Case, looks: Mapping[str, Look], kept: Sequence[str], telling: Sequence[str], depth: int
) -> list[str]:
    """`depth` looks to play through together: what is kept, then the most telling; a gate's look is brought along."""
    chosen: list[str] = []
    for name in (*kept, *telling):
        wanted = [entry for entry in _with_gates(case, looks, name) if entry not in chosen]
        if len(chosen) + len(wanted) <= depth:
            chosen += wanted
    return chosen


def _with_gates(case: Case, looks: Mapping[str, Look], check_id: str) -> list[str]:
    """The look after every look that must come first to open its gate."""
    chain: list[str] = []
    for gate in gates_of(case.device_class.check(check_id)):
        if case.record.latest.get(gate.check) != gate.must_be and gate.check in looks and gate.check not in chain:
            chain += [entry for entry in _with_gates(case, looks, gate.check) if entry not in chain]
    return [*chain, check_id]


def _ranked(case: Case, check: Check, gain: float) -> Ranked:
    minutes = check_minutes(case, check)
    return Ranked(check.id, gain, minutes, gain / minutes if minutes else gain)


def in_order(case: Case, entries: Sequence[Ranked]) -> tuple[Ranked, ...]:
    """Best gain first; of gains that differ by small change cheap and harmless looks first, then as the class has them.

    Gains are compared with the best of those that are alike, not rounded each for itself: sums carry dust, and two that
    are equal may lie on the two sides of a rounding.
    """
    place = {check.id: at for at, check in enumerate(case.device_class.checks)}
    step = small_change(case)
    alike: dict[str, int] = {}
    best, group = np.inf, -1
    for entry in sorted(entries, key=lambda entry: -entry.net_gain):
        if best - entry.net_gain > step:
            best, group = entry.net_gain, group + 1
        alike[entry.check] = group

    def key(entry: Ranked) -> tuple[int, bool, bool, float, int]:
        check = case.device_class.check(entry.check)
        return alike[entry.check], check.state == "opened", check.powered, entry.minutes, place[entry.check]

    return tuple(sorted(entries, key=key))
