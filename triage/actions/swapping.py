"""The swap test as an action: which part of which like unit may change places, what that risks, and what came of it."""

from __future__ import annotations

import msgspec

from catalog.text import Refused, clean_line
from triage import store
from triage.actions.holding import may_probe, may_repair
from triage.actions.studies import case_of_unit, study_of, study_unit
from triage.actions.units import get_unit
from triage.bench_file import BenchFile, in_one_transaction
from triage.device_classes.schema import Check, DeviceClass, Part
from triage.locks import Record, opening_locked, stale
from triage.lot import Happening, Unit, model_form
from triage.outlook import check_minutes
from triage.plans import Case
from triage.swaps import OUTCOME_WORDS, Outcome, faults_of, swap_happenings, swappable
from triage.worth import opens

SUSPECT = 0.05
"""From this chance on a part is worth the exchange (our choice)."""
_RISK = {"L": "low", "M": "middling", "H": "high"}


class SwapOffer(msgspec.Struct, frozen=True):
    """One exchange that would tell something about unit `unit`."""

    unit: int
    other: int
    """The like unit that does not show the fault."""
    part: str
    part_name: str
    check: str
    question: str
    chance: float
    """That the part carries a fault that shows in the check."""
    minutes: float
    """Out of both, into the other, looked at, and back."""
    risk: str
    """What the exchange puts at risk, in one line; to be read before it is done."""


def swap_offers(bench: BenchFile, number: int) -> tuple[SwapOffer, ...]:
    """The exchanges with like units of the lot that would tell something, likeliest part first.

    A like unit is of the same class and the same model, and the check that is bad here is good there. Where the model
    of neither was said, that they are alike is for the person to see first: the risk says so.

    Raises:
        Refused: no such unit, or its class is in doubt.
    """
    found = study_of(bench, number)
    unit, case = found.facts.unit, found.case
    bad = [check for check in found.device_class.checks if _said(case.record, check) == "bad"]
    offers = []
    for other in store.units(bench.database, unit.lot) if bad else ():
        if other.number == number or not _alike(unit, other):
            continue
        theirs = study_unit(bench, other)
        for check in bad:
            if _said(theirs.case.record, check) != "good":
                continue
            for part in swappable(found.device_class, check):
                chance = 1.0
                for fault in faults_of(found.device_class, part.id) & check.fails.keys():
                    chance *= 1.0 - found.belief.present.get(fault, 0.0)
                if 1.0 - chance >= SUSPECT and _whole(case, part) and _whole(theirs.case, part):
                    offers.append(
                        SwapOffer(
                            unit=number,
                            other=other.number,
                            part=part.id,
                            part_name=part.name,
                            check=check.id,
                            question=check.question,
                            chance=1.0 - chance,
                            minutes=_minutes(case, check, part) + _minutes(theirs.case, check, part),
                            risk=_risk(found.device_class, theirs.case, other, part) + _unsaid(unit),
                        )
                    )
    return tuple(sorted(offers, key=lambda offer: (-offer.chance, offer.minutes, offer.other)))


@in_one_transaction
def swap(
    bench: BenchFile, number: int, part_id: str, other: int, outcome: Outcome, *, check_id: str = ""
) -> tuple[Happening, ...]:
    """Note what came of a swap test; both parts are back where they were. One event over both units.

    Args:
        bench: the open bench file.
        number: the faulty unit.
        part_id: the part that changed places.
        other: the like unit.
        outcome: what was seen then.
        check_id: the check that was looked at; empty where only one is bad here and good there.

    Raises:
        Refused: the units are not alike, no check is bad here and good there, the part tells nothing of it or may harm
            the other unit, or something holds either unit back.
    """
    mine, theirs = get_unit(bench, number), get_unit(bench, other)
    where = f"unit {number}.{clean_line(part_id, 40)}"
    if outcome not in OUTCOME_WORDS:
        raise Refused(f"expected one of {', '.join(OUTCOME_WORDS)}", where=where)
    if number == other or not _alike(mine, theirs):
        raise Refused(f"unit {other} is not of the same class and model", where=where)
    case, good = case_of_unit(bench, number), case_of_unit(bench, other)
    check = _check(case, good, check_id, where)
    allowed = swappable(case.device_class, check)
    part = next((one for one in allowed if one.id == part_id), None)
    if part is None:
        names = ", ".join(one.id for one in allowed) or "none"
        raise Refused(f"it tells nothing of {check.id}, or may take the good unit along; open: {names}", where=where)
    if not (_whole(case, part) and _whole(good, part)):
        raise Refused("it was taken out of one of them", where=where)
    _may_swap(case, check, part, number)
    _may_swap(good, check, part, other)
    rows = swap_happenings((number, other), check.id, part.id, outcome, at=bench.now())
    spent = {number: _minutes(case, check, part), other: _minutes(good, check, part)}
    summary = f"swap test of units {number} and {other}, {part.name}: {OUTCOME_WORDS[outcome]}"
    kept = []
    with bench.journal.event("swap", clean_line(summary, 200), at=bench.now(), unit=number) as recorder:
        for unit, one in ((number, case), (other, good)):
            if _opens(case.device_class, check, part) and not one.state.case_open:
                store.save(recorder, "happenings", Happening(0, unit, bench.now(), "case", "", "opened"))
        for row in rows:
            timed = msgspec.structs.replace(row, minutes=spent.pop(row.unit, 0.0))
            kept.append(msgspec.structs.replace(timed, id=store.save(recorder, "happenings", timed)))
    return tuple(kept)


def _unsaid(unit: Unit) -> str:
    """What is to be made sure of first where nobody said the model of two units that look alike."""
    return "" if model_form(unit.model) else " The model of neither was said: see that both are the same before it."


def _risk(device_class: DeviceClass, good: Case, other: Unit, part: Part) -> str:
    faults = [device_class.fault(fault) for fault in faults_of(device_class, part.id)]
    worst = max((fault.risk for fault in faults), key="LMH".index, default="L")
    opened = "" if good.state.case_open else ", which is opened for it"
    held = opening_locked(device_class, good.state)
    locked = f"; locked now: {held}" if held else ""
    return f"The good one is at risk: unit {other.number}{opened}, could be harmed ({_RISK[worst]}){locked}."


def _may_swap(case: Case, check: Check, part: Part, number: int) -> None:
    """Refuse what safety, training or a hazard not asked about holds back on one of the two units."""
    may_repair(case, f"unit {number}.{part.id}", opening=_opens(case.device_class, check, part))
    may_probe(case, check, number)


def _check(case: Case, good: Case, check_id: str, where: str) -> Check:
    """The check that is bad on one and good on the other."""
    known = [
        check
        for check in case.device_class.checks
        if _said(case.record, check) == "bad" and _said(good.record, check) == "good"
    ]
    named = [check for check in known if check.id == check_id] if check_id else known
    if len(named) != 1:
        open_ones = ", ".join(check.id for check in known) or "none"
        raise Refused(f"name the check that is bad on the one and good on the other: {open_ones}", where=where)
    return named[0]


def _said(record: Record, check: Check) -> str:
    """Good or bad where that was the latest answer, it counted, and nothing was changed since; else empty."""
    said = record.said.get(check.id)
    fresh = said is not None and said.counted and not stale(check, record)
    return said.word if said is not None and fresh and said.word in {"good", "bad"} else ""


def _alike(one: Unit, other: Unit) -> bool:
    alike = model_form(one.model) == model_form(other.model)
    return one.device_class == other.device_class and bool(one.device_class) and alike


def _whole(case: Case, part: Part) -> bool:
    return case.state.inside(part) == part.pieces


def _opens(device_class: DeviceClass, check: Check, part: Part) -> bool:
    return check.state == "opened" or opens(device_class, faults_of(device_class, part.id))


def _minutes(case: Case, check: Check, part: Part) -> float:
    """Out and in again, twice, and one look; the case is opened once."""
    opened_by_look = check.state == "opened"
    opening = not case.state.case_open and not opened_by_look and _opens(case.device_class, check, part)
    return (
        2.0 * part.harvest_minutes + check_minutes(case, check) + (case.device_class.open_minutes if opening else 0.0)
    )
