"""Lot, Unit, and what happened to them.

A lot is one purchase; a unit is one device of it, with a number that runs through the whole bench file and is never
reused. What was seen and done on a unit is a list of happenings in time; everything else about its state follows
from them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Final, Literal

import msgspec

_GAP: Final = re.compile(r"(?P<digits>(?<=\d)[\s\-\u2010-\u2015_]+(?=\d))|[\s\-\u2010-\u2015_]+")

Grade = Literal["", "A", "B", "C"]
Word = Literal["", "yes", "no"]
"""What was said to a plain question; empty while it was not said."""
SoldAs = Literal["faulty", "untested"]
Pile = Literal["fix", "part_out", "as_is", "hold", "hand_over", "dispose", "undecided"]
NeedState = Literal["open", "reserved", "ordered", "received", "fitted", "dropped"]
Kind = Literal[
    "answer",
    "reading",
    "repair",
    "hazard",
    "release",
    "condition",
    "case",
    "note",
    "lift",
    "found",
    "own_fault",
    "probe",
    "swap",
]
Outcome = Literal["came", "dud", "wrong", "never"]
"""What came of packs that were ordered: good, dead, something else, or nothing."""

PILE_WORDS: dict[str, str] = {
    "fix": "FIX",
    "part_out": "PART-OUT",
    "as_is": "AS-IS",
    "hold": "HOLD",
    "hand_over": "HAND OVER",
    "dispose": "DISPOSE",
    "undecided": "LOOK",
}
"""How each pile is written on screens and paper."""


class Lot(msgspec.Struct, frozen=True):
    """One purchase. Money in minor units of `currency`; minutes for time; days as ISO dates, empty when not said."""

    id: int
    name: str
    currency: str
    paid: int = 0
    postage: int = 0
    bought_on: str = ""
    place: str = ""
    bench_minutes: int | None = None
    """Bench time the person gives this lot; None when not said."""
    deadline: str = ""
    cash_limit: int | None = None
    note: str = ""
    no_cash_limit: bool = False
    """The person said that there is no limit; with None and False nothing was said yet."""
    week: str = ""
    """Bench hours by weekday, as `triage.bench_week` reads them; empty when not said."""
    price_fall: float = 0.0
    """Share of its price that a unit of this lot loses in a week until it is sold, on top of the person's day cost."""


class Unit(msgspec.Struct, frozen=True):
    """One device of a lot. Money fields are the person's own figures in minor units; None = the class file's guess."""

    number: int
    lot: int
    device_class: str
    """Id of a device class; empty while it is not known which."""
    typed: str
    """What the person typed, kept as it was."""
    candidates: tuple[str, ...] = ()
    """Class ids to choose from while the class is in doubt, likeliest first."""
    symptoms: tuple[str, ...] = ()
    sold_as: SoldAs = "faulty"
    model: str = ""
    note: str = ""
    shelf: str = ""
    grade: Grade = ""
    """How it looks: A fine, B used, C poor. While it is not said it counts as B."""
    working: int | None = None
    as_is: int | None = None
    part_out: int | None = None
    own_worth: int | None = None
    """What it is worth to the person on their own shelf; then it takes the place of the net sale."""
    pile: str = ""
    """The person's own decision where it overrules the sums; empty otherwise."""
    pile_reason: str = ""
    complete: str = ""
    """`yes`, or what is missing in a few words; empty while it is not said."""
    opened_before: Word = ""
    """Whether somebody had opened it before it came."""
    keep: Word = ""
    """Whether it is meant for the person's own shelf; `own_worth` says so too, and `yes` needs it."""

    @property
    def missing(self) -> str:
        """What is said to be missing; empty where nothing is, or nothing was said."""
        return "" if self.complete == "yes" else self.complete


class Happening(msgspec.Struct, frozen=True):
    """One thing seen or done on a unit, in time order of `id`.

    `subject` names the check, hazard or condition, the part that was lifted out, the faults of a repair or of a finding
    separated by spaces, a fault of the person's own by its id, the path and the point of a probe with a dot between, or
    the check, the part and the side of a swap test.
    """

    id: int
    unit: int
    at: str
    kind: Kind
    subject: str
    answer: str
    """good, bad, cant_tell, not_tested, does_not_apply; yes, no, unknown; opened, closed; out, back, exchanged;
    added, taken off; there, weak, gone; or free words."""
    value: float | None = None
    """The reading, in the unit of the check's limits, already divided where it is relative; pieces lifted out;
    the other unit of a swap test."""
    raw: str = ""
    """What was typed or pressed; of a fault of the person's own, everything said of it, as JSON."""
    minutes: float = 0.0


class Need(msgspec.Struct, frozen=True):
    """A part that a unit wants. `text` is empty until the person describes it; until then no order line is written.

    A wish names its part freely where the class has none of that name.
    """

    id: int
    unit: int
    fault: str
    part: str
    """Part id of the device class."""
    pieces: int
    text: str = ""
    kind: str = ""
    role: str = ""
    compromise_ok: bool = False
    state: NeedState = "open"
    source: str = ""
    """Where it comes from once that is settled: a drawer place, a donor unit, an order number."""
    instead: str = ""
    """Of a wish, what is fitted in its place for now; empty for a part that a repair wants."""
    tell: str = ""
    """Of a wish, what a buyer is to be told of what is fitted."""
    worth: int | None = None
    """Of a wish, what having the proper part is worth by the person's word; None = what it adds to the sale price, less
    the minutes of the exchange."""

    @property
    def wish(self) -> bool:
        """Whether the unit works without it: something makeshift does for now, and the proper part is for later."""
        return bool(self.instead)

    @property
    def over(self) -> bool:
        """Whether nothing more is wanted for it."""
        return self.state in {"fitted", "dropped"}


class OrderPin(msgspec.Struct, frozen=True):
    """The person's word on the order of a lot: buy only from a supplier, not from it or not this line, keep a line."""

    id: int
    lot: int
    kind: Literal["only", "not", "keep"]
    supplier: str
    sku: str = ""
    """A line of that supplier; empty for the supplier as a whole."""
    packs: int = 0
    """How many of a line are kept."""
    need: int | None = None
    """The need that it speaks of; None for the whole order."""


class SetAside(msgspec.Struct, frozen=True):
    """Pieces promised to one need: they lie in the drawer as `part`, or are to come with order line `line`.

    What came by an order has both.
    """

    id: int
    need: int
    pieces: int
    part: int | None = None
    line: int | None = None

    @property
    def coming(self) -> bool:
        """Whether it is still on its way."""
        return self.part is None


class Spare(msgspec.Struct, frozen=True):
    """Pieces that the person would like to have at hand, where an order has them cheaply enough."""

    id: int
    text: str
    kind: str
    pieces: int
    """At most so many, what lies in the drawer included."""
    chance: float
    """That at least one is used within a year."""
    price: int | None = None
    """What a piece is reckoned at, minor units of the bench file's currency; None = the least price of a single one."""


class LiftedPart(msgspec.Struct, frozen=True):
    """A line of the drawer that holds pieces lifted out of one unit, and nothing else."""

    id: int
    part: int
    """The line, a part of the catalogue."""
    unit: int
    unit_part: str
    """Which part of that unit's class it is."""


def model_form(model: str) -> str:
    """The form in which two models are compared: capitals, spaces and hyphens do not count, but between two digits."""
    return _GAP.sub(lambda gap: "-" if gap["digits"] else "", model.strip().casefold())


def same_model(one: Unit, other: Unit) -> bool:
    """Whether two units are of the same class and of the same model, which must have been said."""
    return one.device_class == other.device_class and model_form(one.model) == model_form(other.model) != ""


def waits_for(needs: Sequence[Need], names: Mapping[str, str]) -> tuple[str, ...]:
    """The parts that are on their way, by their names where the class knows them ({part id: name})."""
    return tuple(names.get(need.part, need.part) for need in needs if need.state == "ordered" and not need.wish)


def still_makeshift(needs: Sequence[Need], names: Mapping[str, str]) -> tuple[str, ...]:
    """What a unit has in it that is not as it should be, in words, also where the proper part is not wished for."""
    return tuple(
        f"{names.get(need.part, need.part)} is makeshift: {need.instead}" + (f" ({need.tell})" if need.tell else "")
        for need in needs
        if need.wish and need.state != "fitted"
    )


def to_exchange(needs: Sequence[Need]) -> tuple[Need, ...]:
    """The wishes whose proper part lies ready."""
    return tuple(need for need in needs if need.wish and need.state in {"reserved", "received"})


def pieces_missing(need: Need, promised: Sequence[SetAside]) -> int:
    """How many pieces of a need nothing is promised for."""
    return need.pieces - sum(item.pieces for item in promised if item.need == need.id)


def need_state(need: Need, promised: Sequence[SetAside]) -> NeedState:
    """The state of a need that follows from what is promised to it."""
    mine = [item for item in promised if item.need == need.id]
    if need.over:
        return need.state
    if pieces_missing(need, mine) > 0:
        return "open"
    if any(item.coming for item in mine):
        return "ordered"
    return "received" if any(item.line is not None for item in mine) else "reserved"


def case_open(happenings: Sequence[Happening]) -> bool:
    """Whether the case stands open now."""
    state = False
    for item in happenings:
        if item.kind == "case":
            state = item.answer == "opened"
    return state


def minutes_spent(happenings: Sequence[Happening]) -> float:
    """Bench minutes counted on the unit so far."""
    return sum(item.minutes for item in happenings)
