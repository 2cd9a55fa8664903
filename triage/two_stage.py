"""Order now or after the diagnosis: which pieces today's order should hold, against the simple rules.

Pure; a two-stage stochastic programme with recourse, solved by comparing orders over the same cases. Where there are
few cases, all of them are reckoned; else a sample drawn from a seed serves to choose the order, and a fresh larger one
to judge it (the chosen one looks too good on the sample that chose it: Kleywegt, Shapiro & Homem-de-Mello, SIAM J.
Optimization 12, 2002). An order is named by how many pieces of each kind of need it is for.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final

import msgspec

from catalog import purchase
from catalog.purchase import Stopped
from catalog.purchase_data import Need, PlanStatus, PurchasePlan
from catalog.reprice import reprice
from triage.newsvendor import best_quantity, wanted_distribution
from triage.scenarios import Cases, all_cases, drawn_cases, how_many, mean_and_error
from triage.two_stage_data import RULES, Comparison, NeedTiming, Rule, TwoStagePlan, TwoStageProblem
from triage.two_stage_needs import NeedOdds, alike, odds_of
from triage.two_stage_recourse import Cancel, Recourse, paid_for
from triage.two_stage_settle import settled

if TYPE_CHECKING:
    from catalog.purchase_data import PurchaseProblem

EXACT: Final = 64
"""Cases up to which all of them are reckoned."""
SEARCHED: Final = 40
"""Cases drawn for comparing orders."""
JUDGED: Final = 200
"""Fresh cases drawn for judging the chosen one."""
MOST_TRIED: Final = 32
"""Orders that are compared at most."""
LIKELY: Final = 0.1
"""Chance from which the rule “all that is likely” orders a part."""
SURE: Final = 1.0 - 1e-9
"""Chance from which the rule “only for what is decided” orders a part."""
_LEVELS: Final = (0.8, 0.65, 0.35, 0.2)
"""Chances at which a plain cut is tried besides the rules."""

Counts = tuple[int, ...]
"""How many needs of each kind today's order is for, the likeliest first."""
Progress = Callable[[int, int], None]
"""Orders compared so far, and at most."""


def order_now(
    problem: TwoStageProblem,
    *,
    seed: int = 0,
    cancel: Cancel = None,
    progress: Progress | None = None,
    exact: int = EXACT,
    searched: int = SEARCHED,
    judged: int = JUDGED,
) -> TwoStagePlan:
    """Today's order with the best average over how the units may turn out.

    Args:
        problem: the units, what is sold, and when the diagnosis is done.
        seed: for the cases that are drawn.
        cancel: polled; true stops.
        progress: told how many orders are compared.
        exact: cases up to which all are reckoned.
        searched: cases drawn for choosing.
        judged: fresh cases drawn for judging.

    Raises:
        Stopped: cancelled.
        ValueError: chances that do not sum to 1.
    """
    _check(problem)
    small, rest = settled(problem)
    if how_many(small.units) <= exact:
        cases = fresh = all_cases(small.units)
    else:
        cases = drawn_cases(small.units, searched, seed, 0)
        fresh = drawn_cases(small.units, judged, seed, 1)
    search = _Search(small, cases, cancel, progress)
    chosen = search.best()
    return _judged(search, chosen, fresh, rest, searched=len(cases.turnouts))


def _check(problem: TwoStageProblem) -> None:
    for unit in problem.units:
        chance = math.fsum(finding.chance for finding in unit.findings)
        if not math.isclose(chance, 1.0, abs_tol=1e-6):
            raise ValueError(f"{unit.id}: the chances of its findings sum to {chance:g}")


class _Search:
    """Orders and what they bring on average over some cases."""

    def __init__(self, problem: TwoStageProblem, cases: Cases, cancel: Cancel, progress: Progress | None) -> None:
        self.problem = problem
        self.recourse = Recourse(problem, cancel)
        self._cases = cases
        self._cancel = cancel
        self._progress = progress
        self.odds: dict[str, NeedOdds] = odds_of(problem)
        needs = [need for need in problem.order.needs if need.id in self.odds]
        self.kinds: list[list[Need]] = alike(needs, {name: one.chance for name, one in self.odds.items()})
        self._today = _today(problem)
        self._orders: dict[Counts, PurchasePlan | None] = {}
        self._means: dict[frozenset[tuple[str, int]], float] = {}

    @property
    def tried(self) -> int:
        """Different orders compared so far."""
        return len(self._means)

    def best(self) -> Counts:
        """The best of the rules, of plain cuts, and of what comes of them by one piece more or less."""
        starts = [self.rule("decided"), *(self.rule(rule) for rule in RULES)]
        starts.append(tuple(self._newsvendor(kind) for kind in self.kinds))
        starts += [self._cut(level) for level in _LEVELS]
        found = max(starts, key=self.mean)  # of equals the first: what is decided need not wait
        while (step := self._step(found)) is not None:
            found = step
        return found

    def rule(self, rule: Rule) -> Counts:
        """What a simple rule orders for."""
        if rule == "wait":
            return (0,) * len(self.kinds)
        if rule in {"decided", "likely"}:
            return self._cut(SURE if rule == "decided" else LIKELY)
        return tuple(
            math.floor(math.fsum(self.odds[need.id].chance for need in kind) + 0.5 - 1e-9) for kind in self.kinds
        )

    def order(self, counts: Counts) -> PurchasePlan | None:
        """The cheapest order for so many needs of each kind; None where there is none."""
        if counts not in self._orders:
            wanted = {need.id for kind, count in zip(self.kinds, counts, strict=True) for need in kind[:count]}
            found = purchase.plan(_for_needs(self._today, wanted, self.odds), cancel=self._cancel)
            if found.status is PlanStatus.STOPPED:
                raise Stopped("stopped before every case was reckoned")
            self._orders[counts] = found if found.found else None
        return self._orders[counts]

    def mean(self, counts: Counts) -> float:
        """What the order brings on average; minus infinite where it is impossible."""
        order = self.order(counts)
        if order is None:
            return -math.inf
        key = frozenset((line.offer, line.packs) for line in order.lines)
        if key not in self._means:
            if self._progress is not None:
                self._progress(len(self._means), MOST_TRIED)
            values = [ending.value for ending in self.recourse.endings(order, self._cases.turnouts)]
            self._means[key], _ = mean_and_error(values, self._cases)
        return self._means[key]

    def _step(self, counts: Counts) -> Counts | None:
        """The first change by one piece that is better, the most doubtful tried first."""
        doubt = [
            (abs(one.chance - one.pays_from), place, step)
            for place, kind in enumerate(self.kinds)
            for step in (1, -1)
            if 0 <= (count := counts[place] + step) <= len(kind)
            for one in [self.odds[kind[max(count, counts[place]) - 1].id]]
        ]
        now = self.mean(counts)
        for _, place, step in sorted(doubt):
            if self.tried >= MOST_TRIED:
                return None
            changed = (*counts[:place], counts[place] + step, *counts[place + 1 :])
            if self.mean(changed) > now + 1e-6:
                return changed
        return None

    def _cut(self, level: float) -> Counts:
        return tuple(sum(self.odds[need.id].chance >= level for need in kind) for kind in self.kinds)

    def _newsvendor(self, kind: Sequence[Need]) -> int:
        chances = [self.odds[need.id].chance for need in kind]
        return best_quantity(wanted_distribution(chances), 1.0 - self.odds[kind[0].id].pays_from)


def _today(problem: TwoStageProblem) -> PurchaseProblem:
    """What may be ordered today; a donor only where it is taken apart anyway."""
    given = {each.offer for unit in problem.units for f in unit.findings for b in f.branches for each in b.yields}
    sure = {
        each.offer
        for unit in problem.units
        if len(unit.findings) == len(unit.findings[0].branches) == 1
        for each in unit.findings[0].branches[0].yields
    }
    offers = tuple(offer for offer in problem.order.offers if offer.id not in given or offer.id in sure)
    return msgspec.structs.replace(problem.order, offers=offers)


def _for_needs(order: PurchaseProblem, wanted: set[str], odds: dict[str, NeedOdds]) -> PurchaseProblem:
    """The order for these needs and what rides along; a unit's waiting counts as likely as that it waits at all."""
    waits: dict[str, float] = {}
    for need in order.needs:
        if need.id in wanted:
            waits[need.unit] = max(waits.get(need.unit, 0.0), odds[need.id].chance)
    return msgspec.structs.replace(
        order,
        needs=tuple(need for need in order.needs if need.id in wanted or (need.spare and wanted)),
        units=tuple(
            msgspec.structs.replace(unit, wait_per_day=round(unit.wait_per_day * waits.get(unit.id, 0.0)))
            for unit in order.units
        ),
    )


def _judged(search: _Search, chosen: Counts, fresh: Cases, rest: float, *, searched: int) -> TwoStagePlan:
    """The chosen order on fresh cases, beside the rules and beside knowing everything today."""
    first = search.order(chosen) or PurchasePlan(status=PlanStatus.INFEASIBLE)
    endings = search.recourse.endings(first, fresh.turnouts)
    values = [ending.value for ending in endings]
    comparisons = []
    for rule in RULES:
        counts = search.rule(rule)
        order = search.order(counts)
        if order is None:
            continue
        others = [ending.value for ending in search.recourse.endings(order, fresh.turnouts)]
        ahead, error = mean_and_error([_less(a, b) for a, b in zip(values, others, strict=True)], fresh)
        comparisons.append(
            Comparison(rule=rule, money=paid_for(order), needs=_needs(search, counts), ahead=ahead, error=error)
        )
    known = search.recourse.foreseen(fresh.turnouts)
    foresight, off = mean_and_error([_less(a, b) for a, b in zip(known, values, strict=True)], fresh)
    now = _needs(search, chosen)
    return TwoStagePlan(
        first=_from_today(search.problem.order, first),
        needs=tuple(
            NeedTiming(
                need=need.id,
                chance=_share(fresh, [need.id in ending.served for ending in endings]),
                bought=_share(fresh, [need.id in ending.bought for ending in endings]),
                pays_from=search.odds[need.id].pays_from,
                now=need.id in now,
            )
            for kind in search.kinds
            for need in kind
        ),
        value=mean_and_error(values, fresh)[0] + rest,
        comparisons=tuple(comparisons),
        foresight=foresight,
        foresight_error=off,
        exact=fresh.exact,
        searched=searched,
        judged=len(fresh.turnouts),
        tried=search.tried,
    )


def _from_today(order: PurchaseProblem, first: PurchasePlan) -> PurchasePlan:
    """The same order with its days counted from today and waiting charged as ever."""
    if not first.found:
        return first
    served = {entry.need for entry in first.served}
    return reprice(
        msgspec.structs.replace(
            order,
            needs=tuple(need for need in order.needs if need.id in served),
            units=tuple(msgspec.structs.replace(unit, deadline_day=None) for unit in order.units),
        ),
        first.packs,
        first.served,
        status=first.status,
    )


def _share(cases: Cases, flags: Sequence[bool]) -> float:
    return math.fsum(weight for weight, flag in zip(cases.weights, flags, strict=True) if flag)


def _less(one: float, other: float) -> float:
    """The difference of two values of which both may be impossible."""
    return 0.0 if one == other else one - other


def _needs(search: _Search, counts: Counts) -> frozenset[str]:
    return frozenset(need.id for kind, count in zip(search.kinds, counts, strict=True) for need in kind[:count])
