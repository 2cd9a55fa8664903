"""What the Lot screen shows: every unit with its pile and value, the piles summed, the hours left."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date

import msgspec

from catalog.text import Refused
from triage import store
from triage.actions.bench_time import bench_time
from triage.actions.lots import get_lot
from triage.actions.moved import Standing, standing
from triage.actions.plan_view import PlannedUnit
from triage.actions.studies import study_unit
from triage.bench_file import BenchFile
from triage.bench_week import Today
from triage.locks import named_unasked
from triage.lot import PILE_WORDS, Lot, Unit, minutes_spent, to_exchange, waits_for
from triage.reach import reach
from triage.study import Study, hazards_in_force

PILE_ORDER = tuple(PILE_WORDS)


class UnitRow(msgspec.Struct, frozen=True):
    """One unit on one line. Amounts are expected minor units at the person's own hour, as the plan adds them up."""

    number: int
    device_class: str
    class_name: str
    seen: str
    """What is known in a few words: symptoms, or the latest answer."""
    suspect: str
    suspect_chance: float
    pile: str
    pile_word: str
    by_hand: bool
    """The person put it there against the sums."""
    value: float
    low: float
    high: float
    reach: str
    """How far it may spread, in words; empty where nothing is known."""
    loss_chance: float
    waits_for: str
    fixed: bool
    finished: bool
    """Whether it is fixed and no further look pays."""
    untested: tuple[str, ...]
    hazard: str
    """Caution of a hazard in force, empty otherwise."""
    minutes: float
    minutes_to_go: float
    """Bench minutes that its branch still takes."""
    next_step: str


def planned_elsewhere(rows: Sequence[UnitRow], planned: Sequence[PlannedUnit]) -> dict[int, str]:
    """{unit: the pile that a plan of the lot puts it on} where that is another one than its own, which still stands."""
    own = {row.number: row.pile for row in rows if not row.by_hand and not row.fixed}
    return {
        unit.number: unit.pile
        for unit in planned
        if not unit.by_hand and own.get(unit.number) == unit.by_sums and unit.pile != unit.by_sums
    }


class PileSum(msgspec.Struct, frozen=True):
    """One pile added up."""

    pile: str
    word: str
    units: int
    value: float
    minutes: float


class LotView(msgspec.Struct, frozen=True):
    """The whole lot at a glance."""

    lot: Lot
    rows: tuple[UnitRow, ...]
    piles: tuple[PileSum, ...]
    """In the order of `PILE_ORDER`, empty piles left out."""
    minutes_spent: float
    minutes_left: float | None
    days_left: int | None
    untouched: float
    """What the lot would bring sold as it stands, every unit for itself."""
    standing: Standing
    """What each unit is meant for, and how that moved since the person last looked."""
    best_look: int | None
    """The unit whose next look pays most, None when no look pays."""
    hour_worth: float | None = None
    """What one more bench hour would bring by the last plan; None where hours are not limited or nothing is planned."""
    day_worth: float | None = None
    """What one more day would bring by the last plan; None where there is no last day, or nothing was planned."""
    today: Today | None = None
    """Today's bench minutes; None where hours by weekday limit nothing."""


def lot_view(
    bench: BenchFile, lot_id: int | None = None, *, progress: Callable[[int, int], None] | None = None
) -> LotView:
    """The lot as it stands; `progress` is told (units done, units in all).

    Raises:
        Refused: there is no such lot.
    """
    lot = get_lot(bench, lot_id)
    units = store.units(bench.database, lot.id)
    rows: list[UnitRow] = []
    untouched, best_gain, best_look = 0.0, 0.0, None
    for place, unit in enumerate(units):
        found = study_unit(bench, unit) if unit.device_class in bench.classes else None
        row = _row(bench, unit, found)
        rows.append(row)
        if found is not None and found.plain is not None and found.action is not None:
            untouched += found.plain.sum_of("as_is").value
            if found.action.action == "check" and found.action.net_gain > best_gain:
                best_gain, best_look = found.action.net_gain, unit.number
        if progress is not None:
            progress(place + 1, len(units))
    hour_worth, day_worth = _worths(bench, lot)
    time = bench_time(bench, lot)
    return LotView(
        lot=lot,
        rows=tuple(rows),
        piles=_piles(rows),
        minutes_spent=time.spent,
        minutes_left=None if lot.bench_minutes is None else max(0.0, lot.bench_minutes - time.spent),
        days_left=_days(lot.deadline, bench.today),
        untouched=untouched,
        standing=standing(bench, lot.id, rows),
        best_look=best_look,
        hour_worth=hour_worth,
        day_worth=day_worth,
        today=time.today,
    )


def _worths(bench: BenchFile, lot: Lot) -> tuple[float | None, float | None]:
    """What the last plan found that one more hour and one more day would bring."""
    settings = store.settings(bench.database)
    minute, day = store.lot_minutes(settings).get(lot.id), store.lot_days(settings).get(lot.id)
    limited = lot.bench_minutes is not None or (lot.week and lot.deadline)
    return (
        minute * 60 if limited and minute is not None else None,
        day if lot.deadline else None,
    )


def next_paying(
    bench: BenchFile, lot_id: int | None, here: int | None, *, progress: Callable[[int, int], None] | None = None
) -> int | None:
    """The unit to go on to from unit `here`: the best look of the lot, else the next one where a look still pays."""
    view = lot_view(bench, lot_id, progress=progress)
    if view.best_look is not None and view.best_look != here:
        return view.best_look
    paying = [row.number for row in view.rows if row.pile == "undecided" and row.number != here]
    return next((number for number in paying if here is None or number > here), paying[0] if paying else None)


def _row(bench: BenchFile, unit: Unit, found: Study | None) -> UnitRow:
    happenings = store.happenings(bench.database, unit.number)
    if found is None:
        return _doubtful(unit, bench, minutes_spent(happenings))
    belief = found.belief
    top = max(belief.present, key=lambda fault: belief.present[fault], default="")
    branch = next((item for item in found.plain.sums if item.id == found.pile), None) if found.plain else None
    if found.pile == "undecided" and found.plain is not None:
        branch = found.plain.sums[0]
    names = {part.id: part.name for part in found.device_class.parts}
    needs = store.needs(bench.database, number=unit.number)
    waiting = waits_for(needs, names)
    ready = ", ".join(names.get(need.part, need.part) for need in to_exchange(needs))
    hazard = next((item.caution for item in hazards_in_force(found)), "")
    return UnitRow(
        number=unit.number,
        device_class=unit.device_class,
        class_name=found.device_class.name,
        seen=_seen(found, unit),
        suspect=found.device_class.fault(top).what if top else "",
        suspect_chance=belief.present.get(top, 0.0),
        pile=found.pile,
        pile_word=PILE_WORDS[found.pile],
        by_hand=bool(unit.pile),
        value=branch.value if branch else 0.0,
        low=branch.low if branch else 0.0,
        high=branch.high if branch else 0.0,
        reach=reach(branch, bench.currency) if branch else "",
        loss_chance=branch.loss_chance if branch else 0.0,
        waits_for=", ".join(waiting),
        fixed=found.fixed.fixed,
        finished=found.finished,
        untested=found.fixed.untested,
        hazard=hazard,
        minutes=minutes_spent(happenings),
        minutes_to_go=branch.minutes if branch else 0.0,
        next_step=f"exchange: the proper {ready} lies ready" if ready and not found.ask_first else _next_step(found),
    )


def _seen(found: Study, unit: Unit) -> str:
    """What was reported, then the latest thing that was found bad."""
    words = {symptom.id: symptom.words[0] for symptom in found.device_class.symptoms}
    reported = [words[name] for name in unit.symptoms if name in words]
    bad = _latest_bad(found)
    return "; ".join(filter(None, (", ".join(reported), bad))) or unit.note or "nothing said"


def _latest_bad(found: Study) -> str:
    known = {check.id for check in found.device_class.checks}
    for item in reversed(found.facts.happenings):
        if item.kind in {"answer", "reading"} and item.answer == "bad" and item.subject in known:
            check = found.device_class.check(item.subject)
            said = item.raw if item.kind == "reading" else {"no": "yes"}.get(check.good, "no")
            return f"{said}: {check.question.rstrip('?')}"
    return ""


def _next_step(found: Study) -> str:
    if found.finished and not named_unasked(found.device_class, found.state):
        return "sell as working"
    if found.ask_first is not None:
        return found.ask_first.question
    if found.action is None:
        return "answers contradict each other"
    if found.action.action == "check" and found.action.check:
        return found.device_class.check(found.action.check).question
    if found.action.action == "repair":
        return "repair: " + ", ".join(found.device_class.fault(name).what for name in found.action.faults)
    return found.action.reason


def _doubtful(unit: Unit, bench: BenchFile, minutes: float) -> UnitRow:
    names = [bench.classes[name].name for name in unit.candidates if name in bench.classes]
    pile = unit.pile or "undecided"
    return UnitRow(
        number=unit.number,
        device_class="",
        class_name="?",
        seen=unit.typed,
        suspect="",
        suspect_chance=0.0,
        pile=pile,
        pile_word=PILE_WORDS[pile],
        by_hand=bool(unit.pile),
        value=float(unit.as_is or 0),
        low=0.0,
        high=0.0,
        reach="",
        loss_chance=0.0,
        waits_for="",
        fixed=False,
        finished=False,
        untested=(),
        hazard="",
        minutes=minutes,
        minutes_to_go=0.0,
        next_step="What is it? " + (" or ".join(names) if names else "choose its class"),
    )


def _piles(rows: Sequence[UnitRow]) -> tuple[PileSum, ...]:
    sums = []
    for pile in PILE_ORDER:
        members = [row for row in rows if row.pile == pile]
        if members:
            value, minutes = sum(row.value for row in members), sum(row.minutes_to_go for row in members)
            sums.append(PileSum(pile, PILE_WORDS[pile], len(members), value, minutes))
    return tuple(sums)


def _days(deadline: str, today: date) -> int | None:
    if not deadline:
        return None
    try:
        return (date.fromisoformat(deadline) - today).days
    except ValueError:
        raise Refused(f"expected a day such as 2026-12-20, not “{deadline}”", where="lot.deadline") from None
