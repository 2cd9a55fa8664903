"""Fuses, thermal fuses and resettable fuses: parts that must open, at the right moment and no other."""

from __future__ import annotations

from catalog.fuse_marks import BREAKING, SPEEDS
from catalog.kinds.family import Defaults, Family, Route
from catalog.rules import AtLeast, AtMost, Equal, Grade, Ladder, Matrix, Present, Ratio, Rule, Special, Window

_LOWER = Ratio((Window(0, 1, Grade.COMPROMISE),))
_ANOTHER_THING = Route(
    (
        Rule(
            id="FU9",
            attributes=(),
            test=Special("not_a_fuse"),
            locked=True,
            why="wire, links, breakers and resettable parts do not open as a fuse does",
        ),
    )
)

FUSE = Family(
    "fuse",
    (
        Rule(
            id="FU1",
            attributes=("current",),
            test=_LOWER,
            must_know=True,
            locked=True,
            why="a higher current never; a lower one blows for nothing",
            tell="A fuse of a lower current is fitted",
        ),
        Rule(
            id="FU2",
            attributes=("speed",),
            test=Ladder(SPEEDS, below=Grade.COMPROMISE, above=Grade.REFUSE),
            must_know=True,
            locked=True,
            why="a slower fuse lets a fault burn; a faster one may blow at switch-on",
            source="time letters of IEC 60127-1",
            tell="A faster fuse is fitted and may blow at switch-on",
        ),
        Rule(
            id="FU3",
            attributes=("voltage_ac", "voltage_dc"),
            test=Special("fuse_volts"),
            must_know=True,
            locked=True,
            why="above its volts the arc may not clear; an AC figure promises nothing for DC",
        ),
        Rule(
            id="FU4",
            attributes=("breaking",),
            test=Ladder(BREAKING, below=Grade.REFUSE),
            silent=Grade.UNKNOWN,
            locked=True,
            why="glass low-breaking parts clear 35 A or ten times their current; sand-filled ones 1500 A",
            source="maker data sheet to IEC 60127-2",
        ),
        Rule(
            id="FU4",
            attributes=("material",),
            test=Special("breaking_hint"),
            locked=True,
            why="a ceramic, sand-filled body hints at a high breaking capacity where none is stated",
            source="maker data sheet to IEC 60127-2",
        ),
        Rule(
            id="FU5",
            attributes=("body",),
            test=Equal(Grade.REWORK),
            must_know=True,
            why="the holder belongs to the body; say the body size, such as 5x20",
            do="Change the holder",
        ),
        Rule(
            id="FU7",
            attributes=("system",),
            test=Matrix({"IEC": {"UL": Grade.COMPROMISE}, "UL": {"IEC": Grade.REFUSE}}),
            silent=Grade.UNKNOWN,
            locked=True,
            why="UL 248-14 opens at 135 % within an hour, IEC time-lag must hold 150 % for an hour: equal amps are not"
            " the same fuse",
            source="UL 248-14 and IEC 60127-2 gates in maker data sheets",
            tell="A fuse of another rating system is fitted",
        ),
        Rule(
            id="FU8",
            attributes=("leads",),
            test=Equal(Grade.REWORK),
            why="cartridge and pigtail are held differently",
            do="Solder in a pigtail type or fit clips; never solder to a cartridge cap",
        ),
    ),
    rework=Defaults(10, 0.0, 0.0),
    compromise=Defaults(0, 0.03, 0.0),
    routes=dict.fromkeys(("ptc", "thermal-fuse", "wire", "resistor", "switch"), _ANOTHER_THING),
)

THERMAL_FUSE = Family(
    "thermal-fuse",
    (
        Rule(
            id="TF1",
            attributes=("temperature",),
            test=_LOWER,
            must_know=True,
            locked=True,
            why="a higher temperature never; a lower one opens early",
            source="IEC 60691: tolerance +0/-10 degrees",
            tell="A thermal fuse of a lower temperature is fitted",
        ),
        Rule(
            id="TF2",
            attributes=("current",),
            test=AtLeast(Grade.REFUSE),
            must_know=True,
            locked=True,
            why="its own heat would open it",
        ),
        Rule(
            id="TF3",
            attributes=("voltage_ac", "voltage_dc"),
            test=Special("fuse_volts"),
            must_know=True,
            locked=True,
            why="above its volts the arc may not clear",
        ),
        Rule(
            id="TF4",
            attributes=("resettable",),
            test=Present(broken=Grade.COMPROMISE, extra=Grade.REFUSE),
            locked=True,
            why="a resettable one would close again on the fault",
            tell="A one-shot thermal fuse replaces a resettable one",
        ),
        Rule(
            id="TF5",
            attributes=("lead_form",),
            test=Equal(Grade.REWORK),
            why="lead form and a live case need other mounting",
            source="maker definitions of terms to IEC 60691",
            do="Crimp, or clip a heat sink to the leads: soldering heat opens the pellet; insulate a live case",
        ),
    ),
    rework=Defaults(10, 0.02, 0.0),
    compromise=Defaults(0, 0.05, 0.0),
)

PTC = Family(
    "ptc",
    (
        Rule(
            id="PT1",
            attributes=("hold_current",),
            test=_LOWER,
            must_know=True,
            locked=True,
            why="hold is the largest current that never trips; a higher one protects less",
            source="selection terms of makers",
            tell="A resettable fuse of a lower hold current is fitted",
        ),
        Rule(
            id="PT1",
            attributes=("trip_current",),
            test=AtMost(Grade.REFUSE),
            locked=True,
            why="trip is the smallest current that surely trips; a higher one protects less",
            source="selection terms of makers",
        ),
        Rule(
            id="PT2",
            attributes=("voltage_dc",),
            test=AtLeast(Grade.REFUSE),
            must_know=True,
            locked=True,
            why="a tripped part must stand the whole voltage",
        ),
        Rule(
            id="PT3",
            attributes=("fault_current",),
            test=AtLeast(Grade.REFUSE),
            locked=True,
            why="a larger fault current destroys it",
        ),
        Rule(
            id="PT4",
            attributes=("trip_time", "resistance"),
            test=AtMost(Grade.COMPROMISE),
            why="slower to trip, or more volts lost",
            tell="The resettable fuse fitted is slower or loses more volts",
        ),
        Rule(
            id="PT5",
            attributes=("size",),
            test=Equal(Grade.REWORK),
            why="the pads differ",
            do="Fit on short wires",
        ),
    ),
    rework=Defaults(5, 0.0, 0.0),
    compromise=Defaults(0, 0.03, 0.0),
    routes={
        "fuse": Route(
            (
                Rule(
                    id="PT6",
                    attributes=(),
                    test=Special("not_a_fuse"),
                    locked=True,
                    why="a one-shot fuse does not reset: another function",
                ),
            )
        )
    },
)
