"""Replace alike neighbours, or leave them: what the others cost now against opening the set again for one later.

The rule of the trade (common practice): change them together when they are of one kind, age and heat, cost less than
about a tenth of what the set brings working, and the case is open anyway. How often one of them fails later nobody
knows here; so the chance from which changing them pays is told instead of an answer.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

import msgspec

from triage.device_classes.schema import Origin
from triage.plans import Case
from triage.worth import opens

SHARE_AT_MOST: Final = 0.1
"""Most that the others may cost as a share of a working set's price (common practice)."""
RULE: Final = "rule: one kind, age and heat, under a tenth of its price, open anyway (common practice)"
ORIGIN_WORDS: Final[dict[Origin, str]] = {
    "R": "repair records",
    "G": "a published guide",
    "C": "common practice",
    "M": "from memory",
    "P": "your own",
}


class Neighbours(msgspec.Struct, frozen=True):
    """The neighbours of one part that is changed. Amounts in minor units, the worth of minutes included."""

    part: str
    part_name: str
    told: str
    """What the class file says of them."""
    others: int
    now: float
    """Changing all of them while the case is open."""
    later: float
    """Opening the set again for one of them, testing included."""
    origin: str
    """Where the class file has it from, in words."""

    @property
    def pays_from(self) -> float:
        """Chance that one of them fails later from which changing them now costs less; above 1 it never does."""
        return self.now / self.later if self.later > 0.0 else 1.0


def neighbours(case: Case, cures: Collection[str]) -> tuple[Neighbours, ...]:
    """The neighbours that the rule speaks of when these faults are cured; empty where it does not hold."""
    device_class, worth = case.device_class, case.worth
    if not case.state.case_open and not opens(device_class, cures):
        return ()
    found = []
    for part in device_class.parts:
        serving = [fault for fault in device_class.faults if fault.id in cures and part.id in fault.needs]
        others = part.pieces - 1 if part.pieces > 1 else part.alike_more
        if not (serving and part.alike and others > 0):
            continue
        each = worth.part_costs.get(part.id, 0.0) / part.pieces
        if others * each >= SHARE_AT_MOST * worth.working:
            continue
        inside = [fault.minutes - device_class.open_minutes * fault.minutes_include_opening for fault in serving]
        minutes = max(0.0, *inside) / part.pieces
        again = device_class.open_minutes + minutes + case.concerned_minutes(tuple(fault.id for fault in serving))
        found.append(
            Neighbours(
                part=part.id,
                part_name=part.name,
                told=part.alike,
                others=others,
                now=others * (each + case.rate * minutes),
                later=each + case.rate * again,
                origin=ORIGIN_WORDS[part.origins.get("alike", part.origin)],
            )
        )
    return tuple(found)
