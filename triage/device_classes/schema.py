"""What a device-class file may say: the structs that a TOML file is decoded into.

A class file is knowledge about one kind of device, in plain words: what usually goes wrong, which looks tell one
fault from another, what a part costs, what is dangerous. Every number has an origin: each table states a default
`origin`, and `origins` names the fields of that table that come from elsewhere. Unknown keys are refused.

Money is in the person's currency units (a guess until the person says otherwise), time in minutes.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import Literal, TypeVar

import msgspec

Origin = Literal["R", "G", "C", "M", "P"]
"""R open repair records, G a published repair guide, C common practice, M from memory, P the person's own."""

State = Literal["closed", "opened"]
Permission = Literal["live_mains", "tube"]
Lock = Literal["powered", "opened", "charging", "posting"]
Sign = Literal["shock", "burning", "cord", "valve", "pack", "cells", "capacitor", "lens"]
"""What a person may have noticed and typed; the words for each are in `triage.typed_hazards`."""


class Part(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A part that cures a fault, and what it is worth out of a donor."""

    id: str
    name: str
    kind: str
    """A kind of `catalog.spec.KINDS`, or `listed`."""
    origin: Origin
    typical_cost: float
    """Of all `pieces` together, postage left out."""
    pieces: int = 1
    """How many one repair takes."""
    resale: float = 0.0
    """Price it brings when sold used, known good, before sell-through."""
    sell_chance: float = 0.0
    harvest_minutes: float = 0.0
    consumable: bool = False
    """True for what is used up (paste, cleaner, a capacitor kit): never taken from a donor."""
    alike: str = ""
    """Replace-alike-neighbours advice, empty for none."""
    alike_more: int = 0
    """How many more of the kind, age and heat a set has, where one repair takes one of them; 0 where that differs."""
    origins: dict[str, Origin] = {}


class Fault(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One thing that may be wrong."""

    id: str
    what: str
    origin: Origin
    minutes: float
    skill: int
    risk: Literal["L", "M", "H"]
    success: float
    """Chance that one repair of it cures it."""
    share: float | None = None
    """Chance that this is the main fault of a faulty unit; the shares of a class sum to 1."""
    prior: float | None = None
    """Chance of being present, where stated; otherwise it follows from `share`."""
    needs: tuple[str, ...] = ()
    """Part ids; empty means work only."""
    lies_in: tuple[str, ...] = ()
    """Further parts that carry it along when they change places: dirt on a lens goes where the pickup goes."""
    minutes_include_opening: bool = False
    repairable: bool = True
    """False where there is no economic cure."""
    origins: dict[str, Origin] = {}


class ReadingLimits(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a measured value is compared with. Either `low` and `high`, or `nominal` and `tolerance` (percent)."""

    unit: str
    """Unit of the number that the person types."""
    low: float | None = None
    high: float | None = None
    nominal: float | None = None
    tolerance: float | None = None
    scale: Literal["linear", "log"] = "linear"
    """`log` for ohms, where `low` is above nought; limits that start at nought have no log scale."""
    relative_to: Literal["", "label", "rail"] = ""
    """Empty for an absolute value; else what it is read against: the program divides, and all limits are ratios."""
    range_high: float | None = None
    """Top of the meter's usable range, for the faulty side. Its bottom is 0, or minus the top if `low` is negative."""
    dead: Literal["", "open", "zero"] = ""
    """Where a dead circuit shows: half of the faulty weight sits there. `open` = over range, or (seconds) never."""

    def limits(self) -> tuple[float, float]:
        """(low, high) of a healthy reading, in `unit`; raises ValueError when the file states neither form."""
        if self.nominal is not None and self.tolerance is not None:
            spread = abs(self.nominal) * self.tolerance / 100
            return self.nominal - spread, self.nominal + spread
        if self.low is None or self.high is None:
            raise ValueError("state low and high, or nominal and tolerance")
        return self.low, self.high


class Check(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One look: a question about what is seen, and what its answer tells."""

    id: str
    question: str
    good: Literal["yes", "no", "reading"]
    """Which answer is the good one. With `reading` a number decides, and the question is worded so that yes is good:
    whoever looked without noting the number still answers y or n."""
    do: str
    origin: Origin
    state: State
    minutes: float
    leak: float
    """Chance of a bad answer with none of the listed faults present."""
    fails: dict[str, float]
    """Fault id -> chance that this fault alone makes the answer bad."""
    caution: str = ""
    powered: bool = False
    tools: tuple[str, ...] = ()
    setup: str = ""
    """Set-up group: its minutes (`DeviceClass.setups`) are paid once for a unit."""
    wait_minutes: float = 0.0
    gate: tuple[str, ...] = ()
    """`x` = check x must have been good; `x failed` = must have been bad."""
    persistence: float = 0.8
    flip: float = 0.02
    cures: tuple[str, ...] = ()
    function: str = ""
    """Id of the function it belongs to in the whole-function test; empty for none."""
    permission: Permission | None = None
    charging: bool = False
    """True when it puts charge into a pack, so that the lock `charging` holds it back."""
    money: bool = True
    """False for a safety step outside the money ranking."""
    reading: ReadingLimits | None = None
    origins: dict[str, Origin] = {}

    def held_by(self) -> frozenset[Lock]:
        """The locks that hold this check back: any one of them in force is enough."""
        stated: tuple[tuple[bool, Lock], ...] = (
            (self.powered, "powered"),
            (self.state == "opened", "opened"),
            (self.charging, "charging"),
        )
        return frozenset(lock for applies, lock in stated if applies)


class Function(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One thing the working device does; listed when it is sold, tested before and after a repair."""

    id: str
    name: str


class Symptom(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Words that people use, and the checks they speak to (as soft evidence that these would be bad)."""

    id: str
    words: tuple[str, ...]
    checks: tuple[str, ...]
    origin: Origin


class Hazard(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Something that can hurt. Asked first; a `yes` locks until the named release is confirmed."""

    id: str
    question: str
    caution: str
    """One line, shown at once and for as long as it is not released."""
    locks: tuple[Lock, ...]
    releases: tuple[str, ...]
    """Actions of which one must be confirmed, in plain words."""
    source: str
    allows_post: bool = False
    """Whether the unit may be offered for posting while unreleased; false exactly where `posting` is locked.
    Damaged lithium: never."""
    when: Literal["always", "open"] = "always"
    """`open`: asked only once the case stands open, because it cannot be seen before."""
    expires: Literal["", "powered"] = ""
    """`powered`: a no, or a release, holds only until the unit is powered again."""
    signs: tuple[Sign, ...] = ()
    """Words about any of these, typed of a unit, put this question before everything else on it."""
    unless: str = ""
    """Hazard id: answered no, that one says that this one never comes back by powering."""
    trained: dict[str, Permission] = {}
    """Release -> the training of whoever does it. One that is not named takes none."""
    frees: dict[str, tuple[Lock, ...]] = {}
    """Release -> the locks that it lifts. One that is not named lifts all; setting aside or handing over lifts none."""

    def locked_after(self, confirmed: Collection[str]) -> frozenset[Lock]:
        """The locks still in force for a hazard answered yes, once the releases in `confirmed` are done."""
        done = [action for action in self.releases if action in confirmed]
        return frozenset(self.locks).difference(*(self.lifted_by(action) for action in done))

    def lifted_by(self, release: str) -> frozenset[Lock]:
        """The locks that a release lifts."""
        return frozenset(self.frees.get(release, self.locks))


class Condition(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A hidden cause that raises several faults together, such as a leaked cell or damp storage.

    Where a hazard of the class has the same id, its answer is the answer here too.
    """

    id: str
    name: str
    question: str
    prior: float
    raises: dict[str, float]
    origin: Origin


class PathPoint(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A test point of a signal path."""

    id: str
    at: str
    minutes: float
    state: State = "opened"
    tools: tuple[str, ...] = ()
    permission: Permission | None = None
    check: str = ""
    """Check that looks at the same thing: its answer is this point's, so that one observation counts once."""


class Path(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A chain of test points; `between[i]` holds the fault ids between point i and point i + 1."""

    id: str
    name: str
    origin: Origin
    points: tuple[PathPoint, ...]
    between: tuple[tuple[str, ...], ...]
    before: tuple[str, ...] = ()
    """Fault ids that keep the signal from ever coming to the first point."""


class Setup(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A preparation shared by several checks, paid once while it stands."""

    id: str
    name: str
    minutes: float
    origin: Origin


class DeviceClass(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Everything the program knows about one kind of device."""

    id: str
    name: str
    origin: Origin
    working: float
    """Net price of a working, cleaned, tested one: a guess until the person says otherwise."""
    as_is_ratio: float
    part_out_ratio: float
    open_minutes: float
    mains: bool
    """True where mains is inside: outside looks only, until all that locks `opened` is answered no or released."""
    words: tuple[str, ...]
    """What people call it, singular, lower case; matched fuzzily."""
    functions: tuple[Function, ...]
    parts: tuple[Part, ...]
    faults: tuple[Fault, ...]
    checks: tuple[Check, ...]
    symptoms: tuple[Symptom, ...] = ()
    hazards: tuple[Hazard, ...] = ()
    conditions: tuple[Condition, ...] = ()
    paths: tuple[Path, ...] = ()
    setups: tuple[Setup, ...] = ()
    cautions: tuple[str, ...] = ()
    """Standing cautions, one line each, true of every unit of the class whatever is answered."""
    origins: dict[str, Origin] = {}

    def fault(self, fault_id: str) -> Fault:
        """The fault of that id; KeyError otherwise."""
        return _by_id(self.faults, fault_id)

    def check(self, check_id: str) -> Check:
        """The check of that id; KeyError otherwise."""
        return _by_id(self.checks, check_id)

    def part(self, part_id: str) -> Part:
        """The part of that id; KeyError otherwise."""
        return _by_id(self.parts, part_id)

    def path(self, path_id: str) -> Path:
        """The signal path of that id; KeyError otherwise."""
        return _by_id(self.paths, path_id)


_Named = TypeVar("_Named", Fault, Check, Part, Path)


def _by_id(items: tuple[_Named, ...], wanted: str) -> _Named:
    for item in items:
        if item.id == wanted:
            return item
    raise KeyError(wanted)
