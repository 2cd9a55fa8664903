"""What a unit does not have: a look that does not apply to it, by the person's word, keeps no other look waiting."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import msgspec

from triage.device_classes.schema import DeviceClass
from triage.lot import Happening


def absent_looks(happenings: Sequence[Happening]) -> frozenset[str]:
    """Ids of the looks that the person last said do not apply."""
    absent: set[str] = set()
    for item in happenings:
        if item.kind in {"answer", "reading"}:
            (absent.add if item.answer == "does_not_apply" else absent.discard)(item.subject)
    return frozenset(absent)


def without_absent(device_class: DeviceClass, absent: Collection[str]) -> DeviceClass:
    """The class as it is for this unit.

    What waited for such a look to be good waits for what that look waited for itself: an amplifier without a relay is
    listened to as soon as it has light. What waits for one to be bad waits on: nothing failed.
    """
    if not absent:
        return device_class
    stated = {check.id: check.gate for check in device_class.checks}

    def left(gate: Collection[str]) -> dict[str, None]:
        kept: dict[str, None] = {}
        for entry in gate:
            kept |= left(stated.get(entry, ())) if entry in absent else {entry: None}
        return kept

    return msgspec.structs.replace(
        device_class,
        checks=tuple(msgspec.structs.replace(check, gate=tuple(left(check.gate))) for check in device_class.checks),
    )
