"""From fault to described need: which parts the fix units want, and saying what exactly each one is.

Until a part is described, the sums use the class file's typical cost and no order line is written for it.
"""

from __future__ import annotations

import msgspec

from catalog.describe import read
from catalog.spec import KINDS, ROLES
from catalog.text import Refused, clean_line
from triage import store
from triage.actions.lots import get_lot
from triage.actions.studies import study_of, study_unit
from triage.bench_file import BenchFile
from triage.device_classes.schema import DeviceClass, Part
from triage.lot import Need
from triage.study import Study
from triage.worth import needed_parts


class WantedPart(msgspec.Struct, frozen=True):
    """One part that a unit leaning to fix wants; `need` is None until it is described."""

    unit: int
    class_name: str
    fault: str
    what: str
    """The fault in words."""
    part: str
    part_name: str
    kind: str
    pieces: int
    typical_cost: float
    """Guess of the class file for all pieces, minor units."""
    alike: str
    need: Need | None

    @property
    def described(self) -> bool:
        """Whether an order line can be written for it."""
        return self.need is not None and bool(self.need.text)


def wanted_parts(bench: BenchFile, lot_id: int | None = None) -> tuple[WantedPart, ...]:
    """Every part that the units leaning to fix want, by unit; what is fitted or dropped is left out."""
    lot = get_lot(bench, lot_id)
    found: list[WantedPart] = []
    for unit in store.units(bench.database, lot.id):
        if unit.device_class in bench.classes:
            found += wanted_of(bench, study_unit(bench, unit))
    return tuple(found)


def wanted_of(bench: BenchFile, unit: Study) -> list[WantedPart]:
    """The parts one unit wants: those of the cure set it leans to, and what the person described for it."""
    number, device_class = unit.facts.unit.number, unit.device_class
    held = {need.part: need for need in store.needs(bench.database, number=number)}
    cures = cures_of(unit)
    listed = [*needed_parts(device_class, cures)]
    listed += [part for part, need in held.items() if part not in listed and need.state == "ordered"]
    wanted = []
    for part_id in listed:
        need = held.get(part_id)
        if need is not None and need.state in {"fitted", "dropped"}:
            continue
        part = device_class.part(part_id)
        fault = _fault_for(device_class, part_id, cures)
        wanted.append(
            WantedPart(
                unit=number,
                class_name=device_class.name,
                fault=fault,
                what=device_class.fault(fault).what if fault else "",
                part=part_id,
                part_name=part.name,
                kind=need.kind if need and need.kind else part.kind,
                pieces=need.pieces if need else part.pieces,
                typical_cost=part.typical_cost * unit.facts.minor,
                alike=part.alike,
                need=need,
            )
        )
    return wanted


def cures_of(found: Study) -> tuple[str, ...]:
    """The faults that would be cured if the unit is fixed: the repair at hand, else the set with the best sum.

    Empty while the unit leans elsewhere.
    """
    if found.decision is None or found.action is None or found.pile not in {"fix", "undecided"}:
        return ()
    if found.action.action == "repair":
        return found.action.faults
    if found.pile == "fix" or found.action.branch == "fix":
        return found.decision.sum_of("fix").cures
    return ()


def describe_need(
    bench: BenchFile,
    number: int,
    part_id: str,
    text: str,
    *,
    kind: str = "",
    role: str = "",
    pieces: int | None = None,
    compromise_ok: bool = False,
) -> Need:
    """Say what exactly a part of a unit is, in the words of a parts list; from then on it may be ordered.

    Raises:
        Refused: no such unit or part, a bad kind or role, nothing understood, or more than one way to read it.
    """
    found = study_of(bench, number)
    part = _part_of(found.device_class, part_id, number)
    where = f"unit {number}.{part_id}"
    words = clean_line(text)
    kind = kind or part.kind
    if kind not in KINDS:
        raise Refused(f"unknown kind; known are {', '.join(KINDS)}", where=where)
    if role and role not in ROLES:
        raise Refused(f"unknown role; known are {', '.join(ROLES)}", where=where)
    if pieces is not None and not 1 <= pieces <= 999:
        raise Refused("expected 1 to 999 pieces", where=where)
    _understood(words, kind, where)
    held = next((need for need in store.needs(bench.database, number=number) if need.part == part_id), None)
    if held is not None and held.state == "ordered":
        raise Refused("it is on its way already; receive it or leave it", where=where)
    fault = _fault_for(found.device_class, part_id, cures_of(found)) or _fault_for(found.device_class, part_id, ())
    need = Need(
        id=held.id if held else 0,
        unit=number,
        fault=fault,
        part=part_id,
        pieces=pieces or (held.pieces if held else part.pieces),
        text=words,
        kind=kind,
        role=role,
        compromise_ok=compromise_ok,
        state="open",
    )
    summary = clean_line(f"unit {number}: {part.name} is {words}", 200)
    with bench.journal.event("describe", summary, at=bench.now(), unit=number) as recorder:
        need_id = store.save(recorder, "needs", need)
    return msgspec.structs.replace(need, id=need_id)


def allow_compromise(bench: BenchFile, need_id: int, *, allowed: bool) -> Need:
    """Let the plan use a compromise for this need, or forbid it again.

    Raises:
        Refused: there is no such need.
    """
    need = _need(bench, need_id)
    changed = msgspec.structs.replace(need, compromise_ok=allowed)
    word = "allowed" if allowed else "not allowed"
    with bench.journal.event(
        "compromise", f"unit {need.unit}: a compromise for {need.part} {word}", at=bench.now(), unit=need.unit
    ) as recorder:
        store.save(recorder, "needs", changed)
    return changed


def drop_need(bench: BenchFile, need_id: int) -> Need:
    """This part is not wanted after all; it leaves the plan.

    Raises:
        Refused: there is no such need, or it is on its way.
    """
    need = _need(bench, need_id)
    if need.state == "ordered":
        raise Refused("it is on its way; a counter-entry takes an order back", where=f"need {need_id}")
    dropped = msgspec.structs.replace(need, state="dropped")
    with bench.journal.event(
        "drop_need", f"unit {need.unit}: {need.part} not wanted", at=bench.now(), unit=need.unit
    ) as recorder:
        store.save(recorder, "needs", dropped)
    return dropped


def _need(bench: BenchFile, need_id: int) -> Need:
    need = next((item for item in store.needs(bench.database) if item.id == need_id), None)
    if need is None:
        raise Refused("there is no such need", where=f"need {need_id}")
    return need


def _part_of(device_class: DeviceClass, part_id: str, number: int) -> Part:
    try:
        return device_class.part(part_id)
    except KeyError:
        known = ", ".join(part.id for part in device_class.parts)
        raise Refused(f"no part of that name; known are {known}", where=f"unit {number}.{part_id}") from None


def _fault_for(device_class: DeviceClass, part_id: str, cures: tuple[str, ...]) -> str:
    """The fault that the part is for: one of the cure set first."""
    serving = [fault.id for fault in device_class.faults if part_id in fault.needs]
    return next((fault for fault in serving if fault in cures), serving[0] if serving else "")


def _understood(text: str, kind: str, where: str) -> None:
    if not text:
        raise Refused("say what it is, such as “belt 43 mm sq 1.2”", where=where)
    if kind == "listed":
        return
    reading = read(text, kind)
    if reading.status == "ambiguous":
        ways = "; ".join(str(way.why) for way in reading.readings if way.why)
        raise Refused(f"“{text}” can be read in more than one way ({ways}); say which", where=where)
    if reading.spec is None:
        raise Refused(f"“{text}” says nothing that fits a {kind}; add a value or a size", where=where)
