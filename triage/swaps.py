"""The swap test: one part changes places between two like units, and the fault moves with it or stays.

What it says is evidence on both units. Of the faulty one: its part in the good unit (`lent`: only a fault of that part,
or what is not listed, makes that bad), and itself with the good part (`borrowed`: everything but that part may still
make it bad). Of the good one: its part where it worked in the faulty unit (`helped`). The parts go back to where they
were afterwards, and the good unit is tested anew before it counts as fixed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final, Literal, TypeAlias

import msgspec

from triage.device_classes.schema import Check as ClassCheck
from triage.device_classes.schema import DeviceClass, Part
from triage.diagnosis.network import Answered, Check
from triage.lot import Happening

Outcome: TypeAlias = Literal["moves", "stays", "neither", "both"]
Side: TypeAlias = Literal["lent", "borrowed", "helped"]
OUTCOME_WORDS: Final[dict[Outcome, str]] = {
    "moves": "the fault moved with the part",
    "stays": "the fault stayed in its unit",
    "neither": "now neither unit shows it",
    "both": "now both units show it",
}
SIDES: Final[tuple[Side, ...]] = ("lent", "borrowed", "helped")

_FAULTY: Final[dict[Outcome, tuple[str, str]]] = {
    "moves": ("bad", "good"),
    "stays": ("good", "bad"),
    "neither": ("good", "good"),
    "both": ("bad", "bad"),
}
"""(lent, borrowed) as the faulty unit's evidence: the good unit with its part, and itself with the good part."""


class SwapSeen(msgspec.Struct, frozen=True):
    """One happening of a swap taken apart."""

    check: str
    part: str
    side: Side


def swap_happenings(units: tuple[int, int], check: str, part: str, outcome: Outcome, *, at: str) -> list[Happening]:
    """What is kept of a swap test: two happenings of the faulty unit, one of the good unit; `units` in that order.

    The good unit's part is cleared where the faulty unit works with it; where that is still bad, it says nothing.
    """
    number, other = units
    lent, borrowed = _FAULTY[outcome]
    told = "good" if borrowed == "good" else "cant_tell"
    rows = ((number, "lent", lent, other), (number, "borrowed", borrowed, other), (other, "helped", told, number))
    return [
        Happening(0, unit, at, "swap", f"{check} {part} {side}", answer, float(with_unit), outcome)
        for unit, side, answer, with_unit in rows
    ]


def swap_seen(device_class: DeviceClass, item: Happening) -> SwapSeen | None:
    """What a happening of a swap is about; None where the class has no such check or part (any more)."""
    check, _, rest = item.subject.partition(" ")
    part, _, side = rest.partition(" ")
    known = any(one.id == check for one in device_class.checks) and any(one.id == part for one in device_class.parts)
    return SwapSeen(check, part, side) if known and side in SIDES else None


def was_good_unit(item: Happening) -> bool:
    """Whether a happening says that the unit lent its good part: it was taken apart and put together for that."""
    return item.kind == "swap" and item.subject.endswith(" helped")


def swap_event(device_class: DeviceClass, item: Happening) -> Answered | None:
    """The event of the diagnosis that one happening of a swap is; exactly one where the class knows it."""
    seen = swap_seen(device_class, item)
    if seen is None:
        return None
    return Answered(_id(seen), item.answer if item.answer in {"good", "bad"} else "cant_tell")  # type: ignore[arg-type]


def swap_checks(device_class: DeviceClass, happenings: Iterable[Happening]) -> Iterator[Check]:
    """What `swap_event` speaks of, as checks of the network, each once."""
    done: set[SwapSeen] = set()
    for item in happenings:
        seen = swap_seen(device_class, item) if item.kind == "swap" else None
        if seen is None or seen in done:
            continue
        done.add(seen)
        check = device_class.check(seen.check)
        inside = faults_of(device_class, seen.part)
        yield Check(
            id=_id(seen),
            leak=check.leak,
            links={
                fault: strength
                for fault, strength in check.fails.items()
                if (fault in inside) == (seen.side != "borrowed")
            },
            persistence=check.persistence,
            flip=check.flip,
        )


def faults_of(device_class: DeviceClass, part_id: str) -> frozenset[str]:
    """The faults that go where a part goes: those whose cure needs it, and those that are said to lie in it."""
    return frozenset(fault.id for fault in device_class.faults if part_id in (*fault.needs, *fault.lies_in))


def swappable(device_class: DeviceClass, check: ClassCheck) -> list[Part]:
    """The parts that may change places to test a check: they carry a fault that shows in it and none of high risk."""
    risky = {fault.id for fault in device_class.faults if fault.risk == "H"}
    found = []
    for part in device_class.parts:
        inside = faults_of(device_class, part.id)
        if not part.consumable and inside & check.fails.keys() and not inside & risky:
            found.append(part)
    return found


def _id(seen: SwapSeen) -> str:
    return f"{seen.check} {seen.part} {seen.side}"
