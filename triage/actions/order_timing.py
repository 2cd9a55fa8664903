"""Order now or after the looks, as the person reads it: which lines today, what to leave, and what that saves."""

from __future__ import annotations

from collections.abc import Callable

import msgspec

from catalog.money import show, shown
from catalog.purchase import Stopped
from catalog.purchase_data import PlanStatus
from catalog.text import Refused
from triage import lotplan, store
from triage.actions.lots import get_lot
from triage.actions.plan_facts import PlanFacts, gather
from triage.actions.plan_lines import ordered
from triage.actions.plan_view import Ordered, PlanView
from triage.actions.planning import Cancel, still_holds
from triage.bench_file import BenchFile
from triage.lot import Lot
from triage.two_stage import order_now
from triage.two_stage_data import Comparison, Rule, TwoStagePlan
from triage.two_stage_problem import LEFTOVER, LOOK_DAYS, two_stage_problem, undescribed
from triage.two_stage_recourse import paid_for

LONGEST = 365
"""Days until the looks are done, at most."""

RARE = 0.005
"""Chance below which buying a part is not spoken of."""

COUNTED = (
    "Waiting for parts costs its day cost and the fall in price: from today for what is decided, for the rest from the"
    " day the looks are done. Left out: bench hours, and the days that work takes."
)
"""What the sums hold of time, and what not."""

RULE_WORDS: dict[Rule, str] = {
    "wait": "ordering nothing before the looks",
    "decided": "ordering only for what is decided",
    "expected": "ordering what is expected to be needed",
    "likely": "ordering all that is likely (1 in 10 or more)",
}


class TimedNeed(msgspec.Struct, frozen=True):
    """A part that today's order is for, or leaves."""

    unit: int
    part: str
    words: str
    """What it was described as."""
    chance: float
    """That it is wanted in the end."""
    pays_from: float
    """Chance from which ordering it today pays by itself."""
    bought: float
    """That it is bought for, today or later, and not met from what one has."""
    now: bool


class ToDescribe(msgspec.Struct, frozen=True):
    """A part that may be wanted and cannot be ordered today, because nobody described it."""

    unit: int
    part: str
    """Its id in the class."""
    name: str
    chance: float


class TimingView(msgspec.Struct, frozen=True):
    """The answer in the person's terms; amounts are minor units of the lot's currency."""

    lot: Lot
    look_days: int
    leftover: float
    money: int
    """What today's order costs."""
    ordered: Ordered
    needs: tuple[TimedNeed, ...]
    """By unit; those of sure wants too."""
    comparisons: tuple[Comparison, ...]
    foresight: float
    foresight_error: float
    exact: bool
    judged: int
    """Ways the units may turn out that the answer was judged on."""
    to_describe: tuple[ToDescribe, ...]
    looking: tuple[int, ...]
    """The units on which a look still pays."""

    @property
    def left(self) -> tuple[TimedNeed, ...]:
        """What is better left for after the looks, though it may have to be bought then."""
        return tuple(one for one in self.needs if not one.now and one.bought >= RARE)


def order_timing(
    bench: BenchFile,
    lot_id: int | None = None,
    *,
    look_days: int = LOOK_DAYS,
    leftover: float = LEFTOVER,
    shown: PlanView | None = None,
    cancel: Cancel | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> TimingView | None:
    """What of the lot's order should go out today, before the looks that still pay are done; None if it was stopped.

    Args:
        bench: the bench file.
        lot_id: the lot; None = the newest.
        look_days: days until the looks are done and the second order goes out.
        leftover: what a piece left over is worth, as a share of its price.
        shown: the plan it is asked about: it must still follow from what the bench file holds.
        cancel: polled; true stops.
        progress: told how many orders were compared, and how many may be at most.

    Raises:
        Refused: there is no such lot, a figure is out of range, no plan exists, or things have changed since `shown`.
    """
    if not 1 <= look_days <= LONGEST:
        raise Refused(f"expected 1 to {LONGEST} days", where="days until the looks are done")
    if not 0.0 <= leftover <= 1.0:
        raise Refused("expected a share from 0 to 1", where="worth of what is left over")
    if shown is not None and not still_holds(bench, shown):
        raise Refused("things have changed since this plan; g plans again", where="order")
    facts = gather(bench, get_lot(bench, lot_id), None, ahead=True)
    plan = lotplan.plan(facts.problem, cancel=cancel)
    if plan.status is PlanStatus.STOPPED:
        return None
    if not plan.found:
        raise Refused(
            "no plan keeps all that was asked for; `lotwright plan` says what stands against it", where="order"
        )
    problem = two_stage_problem(
        facts.problem,
        plan,
        facts.studies,
        facts.wanted,
        minute_worth=store.lot_minutes(store.settings(bench.database)).get(facts.lot.id, 0.0),
        look_days=look_days,
        leftover=leftover,
    )
    try:
        found = order_now(problem, seed=bench.seed, cancel=cancel, progress=progress)
    except Stopped:
        return None
    names = {
        (found.facts.unit.number, part.id): part.name for found in facts.studies for part in found.device_class.parts
    }
    return TimingView(
        lot=facts.lot,
        look_days=look_days,
        leftover=leftover,
        money=paid_for(found.first),
        ordered=ordered(bench, facts, found.first),
        needs=_needs(facts, found),
        comparisons=found.comparisons,
        foresight=found.foresight,
        foresight_error=found.foresight_error,
        exact=found.exact,
        judged=found.judged,
        to_describe=tuple(
            ToDescribe(one.unit, one.part, names[one.unit, one.part], one.chance)
            for one in undescribed(facts.studies, facts.wanted)
        ),
        looking=tuple(one.facts.unit.number for one in facts.studies if one.pile == "undecided"),
    )


def _needs(facts: PlanFacts, found: TwoStagePlan) -> tuple[TimedNeed, ...]:
    parts = {f"need {part.need.id}": part for part in facts.wanted if part.need is not None}
    needs = [
        TimedNeed(
            unit=parts[one.need].unit,
            part=parts[one.need].part_name,
            words=held.text if (held := parts[one.need].need) is not None else "",
            chance=one.chance,
            pays_from=one.pays_from,
            bought=one.bought,
            now=one.now,
        )
        for one in found.needs
    ]
    return tuple(sorted(needs, key=lambda one: (one.unit, one.part)))


def verdict(view: TimingView) -> tuple[str, ...]:
    """The answer in plain sentences, the first of them what to do."""
    currency = view.lot.currency
    told = [_what_to_do(view)]
    told += [_against(one, view, currency) for one in view.comparisons]
    if view.exact:
        told.append(_plural(view.judged, "way they may turn out was", "ways they may turn out were") + " all reckoned.")
    else:
        told.append(f"Judged on {view.judged} fresh draws of how they may turn out; ± is the 95 % range.")
    if view.foresight > 0.5:
        most = _amount(view.foresight, view.foresight_error, currency)
        told.append(f"Knowing today how all turn out would be worth {most} more.")
    return (*told, COUNTED) if view.needs else tuple(told)


def _what_to_do(view: TimingView) -> str:
    if not view.needs:
        return "No described part is wanted, so there is nothing to order today or to leave."
    count = len(view.ordered.order)
    if not count:
        return f"Order nothing today; order in {_days(view)}, when the looks are done."
    lines = _plural(count, "line", "lines")
    left = len(view.left)
    rest = f"; leave {_plural(left, 'part', 'parts')} for {_days(view)} on" if left else ""
    return f"Order {lines} today for {show(view.money, view.lot.currency)}{rest}."


def _against(one: Comparison, view: TimingView, currency: str) -> str:
    words = RULE_WORDS[one.rule]
    if one.needs == frozenset() and not view.ordered.order:
        return f"That is {words}."
    if one.ahead == 0.0 and not one.error:
        return f"{words[0].upper()}{words[1:]} comes to the same."
    if one.ahead == float("inf"):
        return f"{words[0].upper()}{words[1:]} leaves a repair that you decided on without its parts."
    amount = _amount(abs(one.ahead), one.error, currency)
    if one.same:
        return f"Against {words}: no difference that shows ({'-' if one.ahead < 0 else ''}{amount})."
    better = "better" if one.ahead > 0 else "worse"
    return f"Against {words}: {amount} {better}."


def _amount(amount: float, error: float, currency: str) -> str:
    return shown(amount, currency) + (f" ± {shown(error, currency)}" if error else "")


def _plural(count: int, one: str, many: str) -> str:
    return f"{count} {one if count == 1 else many}"


def _days(view: TimingView) -> str:
    return _plural(view.look_days, "day", "days")
