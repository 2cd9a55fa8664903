"""Substitute or wait, as the Order shows it: both ways of a contested need, their orders, and what flips the answer."""

from __future__ import annotations

import math
from typing import Literal

from catalog.contested import Contest, Way
from catalog.money import show, shown
from triage.actions.plan_facts import PlanFacts
from triage.actions.plan_lines import ordered
from triage.actions.plan_view import Contested, Side
from triage.bench_file import BenchFile
from triage.lot_data import LotPlan


def contested_view(bench: BenchFile, facts: PlanFacts, plan: LotPlan, contest: Contest) -> Contested:
    """One contested need."""
    number = int(contest.need.removeprefix("need "))
    part = next(part for part in facts.wanted if part.need is not None and part.need.id == number)
    flip = contest.flip_day_cost
    return Contested(
        need=number,
        unit=part.unit,
        part=part.part_name,
        now=_side(bench, facts, contest, contest.now),
        wait=_side(bench, facts, contest, contest.wait),
        taken=_taken(plan, contest),
        plan_total=plan.purchase.total,
        ahead=contest.ahead,
        day_cost=contest.day_cost,
        flip_day_cost=None if flip is None else float(flip),
        flip_days=None if contest.flip_days is None else math.floor(contest.flip_days),
        flip_goods=contest.flip_goods,
    )


def _taken(plan: LotPlan, contest: Contest) -> Literal["now", "wait", ""]:
    mine = {entry.offer for entry in plan.purchase.served if entry.need == contest.need}
    sides: tuple[tuple[Literal["now", "wait"], Way | None], ...] = (("now", contest.now), ("wait", contest.wait))
    for name, way in sides:
        if way is not None and mine == {entry.offer for entry in way.plan.served if entry.need == contest.need}:
            return name
    return ""


def _side(bench: BenchFile, facts: PlanFacts, contest: Contest, way: Way | None) -> Side | None:
    if way is None:
        return None
    sources, do, tell = list[str](), list[str](), list[str]()
    for line in (*way.plan.lines, *way.plan.own):
        if any(use.need == contest.need for use in line.uses):
            origin = facts.sourcing.sources[line.product]
            place = f"{origin.supplier} {origin.sku}".strip()
            sources.append(f"{origin.description or origin.part_number} ({place})")
            fit = facts.sourcing.fits[contest.need, line.product]
            do += fit.do
            tell += fit.tell
    return Side(
        grade=way.grade,
        date=facts.on(way.day),
        unit_date=facts.on(way.unit_day),
        goods=way.goods,
        extra=way.extra,
        total=way.plan.total,
        sources=tuple(sources),
        do=tuple(dict.fromkeys(do)),
        tell=tuple(dict.fromkeys(tell)),
        ordered=ordered(bench, facts, way.plan),
    )


def verdict(contest: Contested, currency: str) -> tuple[str, ...]:
    """Which way is better and what would flip it, one plain sentence each."""
    if contest.ahead is None:
        there, gone = ("the substitute", "waiting") if contest.wait is None else ("waiting", "the substitute")
        return (f"Only {there} can be had in time and within the limits; {gone} cannot.",)
    if mixed(contest):
        gain = min(side.total for side in (contest.now, contest.wait) if side is not None) - contest.plan_total
        better = f"{show(gain, currency)} better than either alone" if gain else "which costs no more than either alone"
        return (f"The plan takes some of both, {better}.",)
    waits = contest.ahead > 0
    better, other = ("Waiting", "the substitute") if waits else ("The substitute", "waiting")
    told = [f"{better} is {show(abs(contest.ahead), currency)} better, postage and packs of the whole order included."]
    if not contest.ahead:
        told = ["Both ways come to the same, postage and packs of the whole order included."]
    if contest.taken and contest.ahead and contest.taken != ("wait" if waits else "now"):
        told.append("The plan goes the other way, because the bench hours would not last.")
    told += [_by_day_cost(contest, currency), _by_days(contest), _by_price(contest, other, currency)]
    return tuple(sentence for sentence in told if sentence)


def mixed(contest: Contested) -> bool:
    """Whether the plan takes some of both and is no worse than either alone."""
    sides = [side.total for side in (contest.now, contest.wait) if side is not None]
    return not contest.taken and contest.plan_total <= min(sides)


def _by_day_cost(contest: Contested, currency: str) -> str:
    flip, now = contest.flip_day_cost, show(contest.day_cost, currency)
    if flip is None:
        return f"Unit {contest.unit} is ready on the same day either way: the wait costs nothing."
    if contest.now is None or contest.wait is None:
        return ""
    first, last = "The substitute", "Waiting"
    if contest.wait.unit_date < contest.now.unit_date:  # other parts of the substitute's order come later
        first, last = last, first
    if flip <= 0:
        return f"{last} would not win if a day cost nothing."
    winner, word = (first, "more") if contest.day_cost < flip else (last, "less")
    return f"{winner} wins if a day of unit {contest.unit} costs {word} than {shown(flip, currency)} (now {now})."


def _by_days(contest: Contested) -> str:
    if contest.flip_days is None:
        return ""
    return f"It stays so up to {contest.flip_days} days of waiting longer than for the substitute."


def _by_price(contest: Contested, other: str, currency: str) -> str:
    if contest.ahead is None or not contest.ahead:
        return ""
    if contest.flip_goods is None:
        return f"Not even as a gift would {other} win on the price of the part."
    pieces = "the better part" if other == "waiting" else "the substitute"
    return f"Otherwise {other} wins if {pieces} costs {show(contest.flip_goods, currency)} or less."
