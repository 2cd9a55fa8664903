"""Faults that the person adds to one unit, because what they suspect is on no list.

They join the unit's class as if they stood in its file: an own chance, the checks they show in, what a cure takes.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from catalog.shapes import ready
from triage.device_classes.schema import DeviceClass, Fault, Part
from triage.lot import Happening

SHOWS: Final = 0.9
"""Chance that a fault of one's own makes a check bad that it was said to show in (from memory)."""
PREFIX: Final = "own_"


class OwnFault(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What the person said of it. Chances from 0 to 1, minutes for time, `cost` in minor units."""

    what: str
    shows: tuple[str, ...]
    """Ids of the checks that it makes bad."""
    chance: float = 0.1
    """How likely it is before any look (from memory: an own suspicion is one of the likelier faults)."""
    minutes: float = 15.0
    cost: int = 0
    """Of the parts that a cure takes; 0 for work only."""
    success: float = 0.8
    inside: bool = True
    """Whether the case is opened for it."""
    repairable: bool = True


ready(OwnFault)


def own_faults(happenings: Sequence[Happening]) -> dict[str, OwnFault]:
    """By id, in the order in which they were added; those taken off again are left out."""
    found: dict[str, OwnFault] = {}
    for item in happenings:
        if item.kind == "own_fault" and item.answer == "added":
            found[item.subject] = msgspec.json.decode(item.raw, type=OwnFault)
        elif item.kind == "own_fault":
            found.pop(item.subject, None)
    return found


def next_id(happenings: Sequence[Happening]) -> str:
    """An id that no fault of the unit has had, so that old repairs stay what they were."""
    return f"{PREFIX}{1 + len({item.subject for item in happenings if item.kind == 'own_fault'})}"


def with_own_faults(device_class: DeviceClass, happenings: Sequence[Happening], minor: int) -> DeviceClass:
    """The class as it is for this unit; `minor` is minor units in one currency unit."""
    own = own_faults(happenings)
    if not own:
        return device_class
    shown = {fault_id: frozenset(fault.shows) for fault_id, fault in own.items()}
    return msgspec.structs.replace(
        device_class,
        faults=(*device_class.faults, *(_as_fault(name, fault, device_class) for name, fault in own.items())),
        parts=(*device_class.parts, *(_as_part(name, fault, minor) for name, fault in own.items() if fault.cost)),
        checks=tuple(
            msgspec.structs.replace(
                check, fails={**check.fails, **{name: SHOWS for name, checks in shown.items() if check.id in checks}}
            )
            for check in device_class.checks
        ),
    )


def _as_fault(fault_id: str, fault: OwnFault, device_class: DeviceClass) -> Fault:
    return Fault(
        id=fault_id,
        what=fault.what,
        origin="P",
        minutes=fault.minutes + (device_class.open_minutes if fault.inside else 0.0),
        skill=1,
        risk="L",
        success=fault.success,
        prior=fault.chance,
        needs=(fault_id,) if fault.cost else (),
        minutes_include_opening=fault.inside,
        repairable=fault.repairable,
    )


def _as_part(fault_id: str, fault: OwnFault, minor: int) -> Part:
    """What the cure takes, as one part; nobody else's donor, since no class knows it."""
    name = f"part for: {fault.what}"
    return Part(fault_id, name, "listed", "P", typical_cost=fault.cost / minor, consumable=True)
