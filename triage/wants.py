"""Which parts one unit wants: those of the cure set it leans to, with what the person described for each."""

from __future__ import annotations

from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from typing import Literal

import msgspec

from triage.device_classes.schema import DeviceClass
from triage.lot import Need
from triage.study import Study
from triage.worth import needed_parts

PROMISED = frozenset({"reserved", "ordered", "received"})
"""States of a need that holds pieces: it stays in sight, also when the unit leans elsewhere."""


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
    fitted_before: str = ""
    """What was fitted for it at an earlier try, in the words of its description."""
    on_sheet: str = ""
    """What the sheet of the unit's model says that it is."""
    aside: Literal["", "dropped", "elsewhere"] = ""
    """Why it is not wanted now: the person said so, or the unit leans elsewhere. Empty where it is wanted."""

    @property
    def described(self) -> bool:
        """Whether an order line can be written for it."""
        return self.need is not None and bool(self.need.text)


def wanted_of(unit: Study, needs: Sequence[Need]) -> tuple[WantedPart, ...]:
    """The parts one unit wants, given what was described for it so far; a dropped part is left out.

    To be fixed it also wants back what was lifted out of it.

    A part that was fitted and is wanted again, because the repair did not help, is to be described anew.
    """
    device_class, cures = unit.device_class, cures_of(unit)
    known = {part.id for part in device_class.parts}  # a need may be from before the class was said anew
    held = _latest(needs, known)
    lifted = unit.state.missing if leans_to_fix(unit) else {}
    listed = list(dict.fromkeys((*needed_parts(device_class, cures), *lifted)))
    listed += [part for part, need in held.items() if part not in listed and need.state in PROMISED]
    wanted = []
    for part_id in listed:
        need = held.get(part_id)
        if need is not None and need.state == "dropped":
            continue
        before = need.text if need is not None and need.state == "fitted" else ""
        need = None if before or (need is not None and need.over) else need
        wanted.append(_wanted(unit, part_id, need, cures, before=before, lifted=lifted.get(part_id)))
    return tuple(wanted)


def aside_of(unit: Study, needs: Sequence[Need]) -> tuple[WantedPart, ...]:
    """Parts that were described for a unit and are not wanted now: dropped, or the unit leans elsewhere."""
    cures = cures_of(unit)
    listed = {part.part for part in wanted_of(unit, needs)}
    known = {part.id for part in unit.device_class.parts}
    held = _latest(needs, known)
    return tuple(
        _wanted(unit, part_id, need, cures, aside="dropped" if need.state == "dropped" else "elsewhere")
        for part_id, need in held.items()
        if need.text and (need.state == "dropped" or (need.state == "open" and part_id not in listed))
    )


def _latest(needs: Sequence[Need], known: AbstractSet[str]) -> dict[str, Need]:
    """The latest need of each part of the class; wishes for later are none of a repair."""
    return {need.part: need for need in needs if need.part in known and not need.wish}


def _wanted(
    unit: Study,
    part_id: str,
    need: Need | None,
    cures: tuple[str, ...],
    *,
    before: str = "",
    lifted: int | None = None,
    aside: Literal["", "dropped", "elsewhere"] = "",
) -> WantedPart:
    device_class = unit.device_class
    part = device_class.part(part_id)
    fault = fault_for(device_class, part_id, cures)
    return WantedPart(
        unit=unit.facts.unit.number,
        class_name=device_class.name,
        fault=fault,
        what=device_class.fault(fault).what if fault else "",
        part=part_id,
        part_name=part.name,
        kind=need.kind if need and need.kind else part.kind,
        pieces=need.pieces if need else part.pieces if fault in cures or lifted is None else lifted,
        typical_cost=part.typical_cost * unit.facts.minor,
        alike=part.alike,
        need=need,
        fitted_before=before,
        aside=aside,
    )


def cures_of(found: Study) -> tuple[str, ...]:
    """The faults that would be cured if the unit is fixed: the repair at hand, else the set with the best sum.

    Empty while the unit leans elsewhere.
    """
    if found.decision is None or found.action is None or not leans_to_fix(found):
        return ()
    return found.action.faults if found.action.action == "repair" else found.decision.sum_of("fix").cures


def leans_to_fix(found: Study) -> bool:
    """Whether the unit is on the pile of those to fix, or would be as things stand."""
    if found.decision is None or found.action is None:
        return False
    fixes = found.action.action == "repair" or found.action.branch == "fix"
    return found.pile == "fix" or (found.pile == "undecided" and fixes)


def fault_for(device_class: DeviceClass, part_id: str, cures: tuple[str, ...]) -> str:
    """The fault that the part is for, one of the cure set first; empty when none needs it."""
    serving = [fault.id for fault in device_class.faults if part_id in fault.needs]
    return next((fault for fault in serving if fault in cures), serving[0] if serving else "")
