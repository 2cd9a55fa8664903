"""From the studies of a lot's units to what may be ordered today or after the diagnosis.

Pure. A unit that is decided turns out in one way only: what it wants is sure. One on which a look still pays turns out
as each of its fault states may be, and is then repaired in full, or takes its best way without a repair: the looks are
taken to tell what is wrong. They cost the same whatever is ordered, and are left out. A part that nobody described
yet cannot be ordered today; where a finding wants it, it costs the class file's guess.

The limit of bench hours is not asked again in every case: what is decided keeps to the plan that kept it, and what is
not pays for its minutes what one more was worth in that plan.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence

import msgspec
import numpy as np

from catalog.money import rounded
from triage.branches import sum_of
from triage.diagnosis import worlds
from triage.lot_data import LotBranch, LotPlan, LotProblem, LotUnit
from triage.lot_problem import HELD, need_name, to_source
from triage.lot_rows import allowed
from triage.study import MOST_WORLDS, WORLDS_LEFT_OUT, Study
from triage.two_stage_data import DoubtfulUnit, Finding, TwoStageProblem
from triage.wants import PROMISED, WantedPart
from triage.worth import needed_parts

LOOK_DAYS = 3
"""Days until the looks that still pay are done (from memory)."""
LEFTOVER = 0.25
"""What a part left over is worth, as a share of its price: its chance to be used within a year (from memory)."""


class Undescribed(msgspec.Struct, frozen=True):
    """A part that a unit may turn out to want and that is not described, so that it cannot be ordered today."""

    unit: int
    part: str
    chance: float


def doubtful(studies: Sequence[Study]) -> list[Study]:
    """The units on which a look still pays: what they will want is not settled."""
    return [found for found in studies if found.pile == "undecided" and found.decision is not None]


def two_stage_problem(
    lot: LotProblem,
    plan: LotPlan,
    studies: Sequence[Study],
    wanted: Sequence[WantedPart],
    *,
    minute_worth: float = 0.0,
    look_days: int = LOOK_DAYS,
    leftover: float = LEFTOVER,
) -> TwoStageProblem:
    """The problem of a lot.

    Args:
        lot: the problem of the units that are decided; its order holds every need of `wanted`.
        plan: its plan.
        studies: all units.
        wanted: the parts that were described for any of them, wanted now or not.
        minute_worth: what one more bench minute is worth to the lot, in minor units.
        look_days: days until the looks are done.
        leftover: worth of a piece that nobody uses, as a share of what was paid for it.
    """
    unsure = doubtful(studies)
    waits = {str(found.facts.unit.number): rounded(found.case.worth.delay_per_day) for found in unsure}
    used = {entry.offer for entry in plan.purchase.served}
    givers = {each.offer for unit in lot.units for branch in unit.branches for each in branch.yields}
    decided = tuple(_decided_unit(lot, unit, plan.decisions[unit.id], used) for unit in lot.units)
    return TwoStageProblem(
        units=(*decided, *(_doubtful_unit(found, wanted, minute_worth) for found in unsure)),
        order=msgspec.structs.replace(
            lot.order,
            offers=tuple(offer for offer in lot.order.offers if offer.id not in givers or offer.id in used),
            units=tuple(
                msgspec.structs.replace(unit, wait_per_day=waits[unit.id], ready_day=max(unit.ready_day, look_days))
                if unit.id in waits
                else unit
                for unit in lot.order.units
            ),
        ),
        look_days=look_days,
        leftover=leftover,
    )


def _decided_unit(lot: LotProblem, unit: LotUnit, decision: str, used: Collection[str]) -> DoubtfulUnit:
    """As the plan has it; should its parts not be had in some case, its best way without parts."""
    branch = next(each for each in unit.branches if each.id == decision)
    given = tuple(each for each in branch.yields if each.offer in used)
    ways = [msgspec.structs.replace(branch, yields=given)]
    plain = [each for each in allowed(lot, unit) if not each.needs]
    if branch.needs and plain:
        ways.append(msgspec.structs.replace(max(plain, key=lambda each: each.value), yields=()))
    return DoubtfulUnit(id=unit.id, findings=(Finding(chance=1.0, branches=tuple(ways)),))


def undescribed(studies: Sequence[Study], wanted: Sequence[WantedPart]) -> tuple[Undescribed, ...]:
    """What the doubtful units may turn out to want and cannot be ordered yet, the likeliest first."""
    found = []
    for each in doubtful(studies):
        known = _sourced(each, wanted).keys() | _promised(each, wanted)
        chances: dict[str, float] = {}
        repairable = _repairable(each)
        for cures, chance in _turnouts(each).items():
            if repairable(cures):
                for part in needed_parts(each.device_class, cures):
                    chances[part] = chances.get(part, 0.0) + chance
        found += [
            Undescribed(each.facts.unit.number, part, chance) for part, chance in chances.items() if part not in known
        ]
    return tuple(sorted(found, key=lambda one: (-one.chance, one.unit, one.part)))


def _turnouts(found: Study) -> dict[tuple[str, ...], float]:
    """{faults that are there now: chance}."""
    seen = worlds(found.network, found.state.events, WORLDS_LEFT_OUT, at_most=MOST_WORLDS)
    states, place = np.unique(seen.present, axis=0, return_inverse=True)
    chances = np.bincount(place.reshape(-1), weights=seen.weight)
    return {
        tuple(fault for fault, there in zip(seen.faults, state, strict=True) if there): float(chance)
        for state, chance in zip(states, chances, strict=True)
    }


def _sourced(found: Study, wanted: Sequence[WantedPart]) -> dict[str, str]:
    """{part: its need in the order problem}, of the parts of a unit that may be ordered."""
    return {
        part.part: need_name(part.need)
        for part in wanted
        if part.unit == found.facts.unit.number and part.need is not None and to_source(part)
    }


def _promised(found: Study, wanted: Sequence[WantedPart]) -> frozenset[str]:
    """The parts of a unit whose pieces lie ready or are on their way: they are paid for."""
    mine = (part for part in wanted if part.unit == found.facts.unit.number and part.need is not None)
    return frozenset(part.part for part in mine if part.need is not None and part.need.state in PROMISED)


def _doubtful_unit(found: Study, wanted: Sequence[WantedPart], minute_worth: float) -> DoubtfulUnit:
    assert found.decision is not None  # noqa: S101 - `doubtful` takes only such
    ready, promised = _sourced(found, wanted), _promised(found, wanted)
    dearer = max(0.0, minute_worth - found.case.rate)
    others = [
        LotBranch(id=item.id, kind=item.kind, value=item.value - dearer * item.minutes)
        for item in found.decision.sums
        if item.kind != "fix"
    ]
    others.append(LotBranch(id="left lying", kind="hold", value=HELD))
    together: dict[LotBranch | None, float] = {}
    fixes: dict[tuple[object, ...], LotBranch] = {}
    repairable = _repairable(found)
    for cures, chance in _turnouts(found).items():
        fix = _fix(found, cures, ready, promised, dearer) if repairable(cures) else None
        if fix is not None:  # equal branches are one finding
            fix = fixes.setdefault((fix.value, fix.needs), fix)
        together[fix] = together.get(fix, 0.0) + chance
    whole = math.fsum(together.values())
    return DoubtfulUnit(
        id=str(found.facts.unit.number),
        findings=tuple(
            Finding(chance=chance / whole, branches=(*others, *([fix] if fix is not None else [])))
            for fix, chance in together.items()
        ),
    )


def _repairable(found: Study) -> Callable[[Sequence[str]], bool]:
    """Whether a repair of just some faults is open; one that reads bad with nothing there is not sold as working."""
    curable = frozenset() if found.case.unfixable else frozenset(found.case.curable())

    def repairable(cures: Sequence[str]) -> bool:
        if found.case.unfixable or (not cures and found.case.reads_bad):
            return False
        return curable.issuperset(cures)

    return repairable


def _fix(
    found: Study, cures: tuple[str, ...], ready: Mapping[str, str], promised: Collection[str], dearer: float
) -> LotBranch:
    """The repair of just these faults, without what the order charges or has charged: parts, and waiting for them."""
    success = math.prod(fault.success for fault in found.device_class.faults if fault.id in cures)
    case, worth = found.case, found.case.worth
    fix, curing = case.fix_of(cures, success), needed_parts(found.device_class, cures)
    parts = list(dict.fromkeys((*curing, *worth.missing)))
    settled = [part for part in parts if part in ready or part in promised]
    priced = sum(worth.part_costs.get(part, 0.0) * (part in curing) for part in settled)
    priced += sum(worth.missing.get(part, 0.0) for part in settled)
    waited = fix.delay_days * fix.delay_per_day if settled else 0.0
    return LotBranch(
        id="fix",
        kind="fix",
        value=sum_of(fix, case.rate).value + priced + waited - dearer * fix.minutes,
        needs=tuple(ready[part] for part in parts if part in ready),
    )
