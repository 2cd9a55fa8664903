"""What holds back work on a unit: refused by the actions, and told before a form is opened for it."""

from __future__ import annotations

import msgspec

from catalog.text import Refused
from triage import store
from triage.actions.studies import case_of_unit, class_of_unit
from triage.actions.units import get_unit
from triage.bench_file import BenchFile
from triage.device_classes.schema import Check, Hazard, Lock
from triage.locks import in_force, lock_of, repair_locked, unasked
from triage.plans import Case
from triage.swaps import faults_of
from triage.worth import opens


def may_repair(found: Case, where: str, *, opening: bool) -> None:
    """Refuse work on the unit that a hazard holds back, or could hold back and was not asked about; `where` for that.

    Raises:
        Refused: it is locked, or a hazard is to be asked about first.
    """
    why = repair_locked(found.device_class, found.state, opening=opening)
    if why:
        raise Refused(f"locked: {why}", where=where)
    ask_first(found, frozenset({"opened"}) if opening else frozenset(), where, opening=opening)


def may_exchange(found: Case, part_id: str, where: str) -> bool:
    """Refuse to put another piece in place of a part, as `may_repair`; gives back whether that opens the case.

    A name that the class does not know is of something outside; a part that no repair needs is taken to lie inside.
    """
    faults = faults_of(found.device_class, part_id)
    inside = any(part.id == part_id for part in found.device_class.parts)
    opening = inside and (not faults or opens(found.device_class, faults))
    may_repair(found, where, opening=opening)
    return opening


def may_probe(found: Case, look: Check, number: int) -> None:
    """Refuse a probe, or a look that another action takes, that safety or training holds back.

    Raises:
        Refused: it is locked, or a hazard is to be asked about first.
    """
    where = f"unit {number}.{look.id}"
    locked = lock_of(found.device_class, look, found.state, found.means, found.record)
    if locked is not None and locked.hard:
        raise Refused(f"locked: {locked.why}", where=where)
    ask_first(found, look.held_by(), where, opening=look.state == "opened")


class InTheWay(msgspec.Struct, frozen=True):
    """What stands before work on a unit: what locks it (empty: nothing), and the hazard to ask about first."""

    locked: str = ""
    ask: Hazard | None = None
    again: bool = False
    """Whether powering brought the hazard back, so that only what was done about it says otherwise."""


def in_the_way(bench: BenchFile, number: int, *, opening: bool) -> InTheWay:
    """What `repair`, `lift` and putting back would be refused for now, to be asked before a form is opened for them.

    Raises:
        Refused: there is no such unit, or its class is still in doubt.
    """
    found = case_of_unit(bench, number)
    held: frozenset[Lock] = frozenset({"opened"}) if opening else frozenset()
    asked = unasked(found.device_class, found.state, held, opening=opening)
    if not asked:
        return InTheWay(repair_locked(found.device_class, found.state, opening=opening))
    stands = in_force(found.device_class, found.state, frozenset({"opened"}))
    return InTheWay(stands, asked[0], asked[0].id in found.state.recharged)


def still_may(bench: BenchFile, number: int, action: str) -> None:
    """Refuse work that is done again where a hazard, or another program, was quicker; called after its rows are back.

    Args:
        bench: the open bench file.
        number: the unit.
        action: of the event that is done again.

    Raises:
        Refused: the latest repair, lift or exchange of the unit is held back by a hazard, or more came out than was in
            it.
    """
    if action == "exchange":
        _still_exchanged(bench, number)
        return
    found, where = case_of_unit(bench, number), f"unit {number}"
    latest = next(
        item for item in reversed(store.happenings(bench.database, number)) if item.kind in {"repair", "lift"}
    )
    opening = latest.kind == "lift" or opens(found.device_class, latest.subject.split())
    may_repair(found, where, opening=opening)
    for part in found.device_class.parts:
        if found.state.missing.get(part.id, 0) > part.pieces:
            raise Refused(f"all {part.name} were taken out meanwhile", where=where)


def _still_exchanged(bench: BenchFile, number: int) -> None:
    """The same for an exchange; of a unit whose class is in doubt nothing is known that could hold it back."""
    if class_of_unit(bench, get_unit(bench, number)) is None:
        return
    exchanged = (item for item in reversed(store.happenings(bench.database, number)) if item.answer == "exchanged")
    latest = next(exchanged, None)
    may_exchange(case_of_unit(bench, number), latest.subject if latest is not None else "", f"unit {number}")


def ask_first(found: Case, held: frozenset[Lock], where: str, *, opening: bool = False) -> None:
    """Refuse what a hazard not asked about yet could hold back by one of these locks.

    Raises:
        Refused: naming the question.
    """
    asked = unasked(found.device_class, found.state, held, opening=opening)
    if asked:
        raise Refused(f"say first: {asked[0].question}", where=f"{where.partition('.')[0]}.{asked[0].id}")
