"""What one unit brings each way and what curing its faults costs, before any chance comes in.

Amounts are minor units (floats), times minutes. A class file's figures are guesses in whole currency units; what the
person states takes their place.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Final

import msgspec

from triage.branches import DonorPart, Fix
from triage.device_classes.schema import DeviceClass

GRADE_FACTOR: Final = {"A": 1.10, "B": 1.00, "C": 0.80, "": 1.00}
"""What looks do to a price (from memory); while they are not said they count as B."""
OPENED_AS_IS_AT_MOST: Final = 0.30
"""Most that one for parts, opened before, brings as a share of a working one (from memory: 0.20 to 0.35)."""
PART_OUT_SELLS: Final = 0.7
"""Share of what all parts together would ask that is really sold (from memory)."""


NEVER: Final = -1.0
"""Minor units that a way which is barred brings: less than nothing, so that it never ties with handing over."""


class Worth(msgspec.Struct, frozen=True):
    """The money side of one unit, in minor units; days and minutes as they are."""

    working: float
    """Net of a working one, or what it is worth on the person's own shelf."""
    as_is: float
    as_is_after: float
    """Net as it stands after a repair that did not cure it."""
    part_out: float = 0.0
    """All parts together, where `parts` does not list single ones."""
    parts: tuple[DonorPart, ...] = ()
    """Single parts as if known good; the chance that each is good comes in later."""
    strip_minutes: float = 0.0
    list_minutes: float = 0.0
    """To photograph and list the unit, sold working or not."""
    returns: float = 0.0
    delay_days: float = 0.0
    """Calendar days until the parts are here; charged only where a repair needs parts."""
    delay_per_day: float = 0.0
    part_costs: dict[str, float] = {}
    """Part id to the cost of all its pieces for one unit."""
    missing: dict[str, float] = {}
    """Part id to the cost of putting back the pieces of it that were lifted out; every way of fixing bears it once."""
    others: tuple[Fix, ...] = ()
    """Hold, hand over, dispose, where the person has figures for them."""
    minor: int = 100
    """Minor units in one currency unit, for writing amounts."""

    def written(self, amount: float) -> str:
        """The amount in currency units, such as 18.20."""
        return f"{amount / self.minor:.2f}" if self.minor == 100 else f"{amount / self.minor:g}"


def worth_of(
    device_class: DeviceClass,
    *,
    minor: int = 100,
    grade: str = "B",
    working: float | None = None,
    as_is: float | None = None,
    part_out: float | None = None,
    own_worth: float | None = None,
    part_costs: Mapping[str, float] | None = None,
    complete: float = 1.0,
    opened_before: bool = False,
) -> Worth:
    """The money of a unit: the class's guesses at its grade, replaced by what is stated (minor units, grade included).

    What is not stated follows from the working price; other fields are set with `msgspec.structs.replace`. `complete`
    is the factor of one that lacks something: it lowers a guessed price, not what the parts that are there bring.
    """
    whole = device_class.working * minor * GRADE_FACTOR[grade] if working is None else working
    price = whole * complete if working is None else working
    ratio = min(device_class.as_is_ratio, OPENED_AS_IS_AT_MOST) if opened_before else device_class.as_is_ratio
    standing = price * ratio if as_is is None else as_is
    return Worth(
        working=price if own_worth is None else own_worth,
        as_is=standing,
        as_is_after=standing,
        part_out=whole * device_class.part_out_ratio * PART_OUT_SELLS if part_out is None else part_out,
        part_costs={
            **{part.id: part.typical_cost * minor for part in device_class.parts},
            **(part_costs or {}),
        },
        minor=minor,
    )


def share_of(device_class: DeviceClass, pieces: Mapping[str, int]) -> float:
    """Share that {part id: pieces} have in what all parts of one unit bring together, by the class file's prices."""
    asked = {part.id: part.resale * part.sell_chance for part in device_class.parts}
    together = sum(asked.values())
    whole = {part.id: part.pieces for part in device_class.parts}
    gone = sum(
        asked[part_id] * min(1.0, count / whole[part_id]) for part_id, count in pieces.items() if part_id in asked
    )
    return gone / together if together else 0.0


def lacking(worth: Worth, device_class: DeviceClass, missing: Mapping[str, int], *, as_is: float = 1.0) -> Worth:
    """The money of a unit out of which parts were lifted, {part id: pieces}.

    Putting them back costs what the class file guesses for them, once, whatever else a repair needs. What all its parts
    bring together, guessed or stated, is that of the whole unit and shrinks by their share. `as_is` is the factor on
    what it brings as it stands.
    """
    if not missing:
        return worth
    known = {part.id: part for part in device_class.parts}
    shares = {
        part_id: min(1.0, pieces / known[part_id].pieces) for part_id, pieces in missing.items() if part_id in known
    }
    costs, cost = dict(worth.part_costs), dict[str, float]()
    for part_id, share in shares.items():
        cost[part_id] = costs.get(part_id, 0.0) * share
        costs[part_id] = costs.get(part_id, 0.0) - cost[part_id]
    return msgspec.structs.replace(
        worth,
        as_is=worth.as_is * as_is,
        part_costs=costs,
        missing=cost,
        part_out=worth.part_out * (1.0 - share_of(device_class, missing)),
    )


def unsellable(worth: Worth) -> Worth:
    """The money of a unit that may not be sent on as it is: handing it over is all that is left."""
    return msgspec.structs.replace(
        worth,
        working=NEVER,
        as_is=NEVER,
        as_is_after=NEVER,
        part_out=NEVER,
        parts=(),
        others=(Fix(id="hand_over", kind="hand_over"),),
    )


def whole(worth: Worth) -> Worth:
    """The money of a unit that may not be opened: it is not taken apart."""
    return msgspec.structs.replace(worth, part_out=NEVER, parts=())


def needed_parts(device_class: DeviceClass, cures: Collection[str]) -> tuple[str, ...]:
    """Part ids that curing these faults takes, each once, in class order of the faults."""
    return tuple(dict.fromkeys(part for fault in device_class.faults if fault.id in cures for part in fault.needs))


def parts_cost(device_class: DeviceClass, worth: Worth, cures: Collection[str]) -> float:
    """Cost of the parts that curing these faults takes; a part that cures two of them is bought once."""
    return bill_of(device_class, worth, cures).parts


class Bill(msgspec.Struct, frozen=True):
    """What curing some faults in one go takes."""

    parts: float
    """Cost of the parts; one that cures two of the faults is bought once."""
    minutes: float
    """Bench minutes with the case standing open."""
    opens: bool
    """Whether the case is opened for it."""
    waits: bool
    """Whether parts are needed at all."""


def bill_of(device_class: DeviceClass, worth: Worth, cures: Collection[str]) -> Bill:
    """The bill for curing these faults, looked up once where many plans share it."""
    cured = [fault for fault in device_class.faults if fault.id in cures]
    needs = dict.fromkeys(part for fault in cured for part in fault.needs)
    inside = [fault.minutes_include_opening for fault in cured]
    return Bill(
        parts=sum(worth.part_costs.get(part, 0.0) for part in needs),
        minutes=sum(
            max(0.0, fault.minutes - (device_class.open_minutes if opened else 0.0))
            for fault, opened in zip(cured, inside, strict=True)
        ),
        opens=any(inside),
        waits=bool(needs),
    )


def opens(device_class: DeviceClass, cures: Collection[str]) -> bool:
    """Whether curing these faults means opening the case."""
    return any(fault.minutes_include_opening for fault in device_class.faults if fault.id in cures)


def repair_minutes(device_class: DeviceClass, cures: Collection[str], *, case_open: bool) -> float:
    """Bench minutes of curing these faults in one go; the case is opened once, and not again if it stands open."""
    total = 0.0
    for fault in device_class.faults:
        if fault.id in cures:
            saved = device_class.open_minutes if fault.minutes_include_opening else 0.0
            total += max(0.0, fault.minutes - saved)
    return total + (device_class.open_minutes if opens(device_class, cures) and not case_open else 0.0)
