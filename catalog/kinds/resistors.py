"""Resistors and potentiometers."""

from __future__ import annotations

from catalog.kinds.family import Defaults, Family
from catalog.rules import AtLeast, AtMost, Equal, Grade, Matrix, Present, Ratio, Rule, Special, Window

_FILMS = dict.fromkeys(("film", "carbon film", "metal film", "metal oxide"), Grade.COMPROMISE)

RESISTOR = Family(
    "resistor",
    (
        Rule(
            id="RE1",
            attributes=("resistance",),
            test=Special("resistance_window", figures={"tolerance": 5, "percent": 10}),
            must_know=True,
            why="worst case of the candidate must lie inside the tolerance wanted",
            tell="A resistor of another value is fitted",
        ),
        Rule(
            id="RE2",
            attributes=("tolerance",),
            test=AtMost(Grade.COMPROMISE),
            why="a wider tolerance may put the value further off",
            tell="The resistor fitted has a wider tolerance",
        ),
        Rule(
            id="RE3",
            attributes=("power",),
            test=AtLeast(Grade.REFUSE),
            locked=True,
            why="it overheats",
        ),
        Rule(
            id="RE4",
            attributes=("voltage",),
            test=AtLeast(Grade.REFUSE),
            locked=True,
            why="high-voltage places fail by arcing; about 150 V for 0805, 200 V for 1206, 250 V for a leaded 1/4 W",
            source="maker listings",
        ),
        Rule(
            id="RE5",
            attributes=("fusible", "resistance", "power"),
            test=Special("fusible"),
            locked=True,
            why="a fusible resistor opens only in its own overload band; an ordinary or bigger one may not open",
            source="publisher's note on IEC 60127-8",
        ),
        Rule(
            id="RE6",
            attributes=("flameproof",),
            test=Present(broken=Grade.REFUSE),
            locked=True,
            why="service manuals mark such parts and demand the same",
            source="service-manual safety pages",
        ),
        Rule(
            id="RE7",
            attributes=("fusible",),
            test=Present(extra=Grade.COMPROMISE),
            why="a fusible resistor may open on a surge",
            tell="A fusible resistor is fitted",
        ),
        Rule(
            id="RE8",
            attributes=("composition",),
            test=Matrix({"carbon composition": _FILMS}, otherwise=Grade.DROP_IN),
            why="film stands less pulse energy than carbon composition, but its value is steadier",
            tell="A film resistor replaces carbon composition",
        ),
        Rule(
            id="RE9",
            attributes=("non_inductive",),
            test=Special("non_inductive"),
            why="a plain wirewound part is a coil",
        ),
        Rule(
            id="RE10",
            attributes=("temperature_coefficient",),
            test=AtMost(Grade.COMPROMISE),
            why="the value drifts more with temperature",
            tell="The resistor fitted drifts more",
        ),
        Rule(
            id="RE11",
            attributes=("style", "size"),
            test=Equal(Grade.REWORK),
            why="another body needs formed leads or other pads",
            do="Form the leads or bridge the pads",
        ),
        Rule(
            id="RE12",
            attributes=("circuit", "pins"),
            test=Equal(Grade.REFUSE),
            why="bussed and isolated networks are wired differently",
        ),
        Rule(
            id="RE12",
            attributes=("network",),
            test=Present(broken=Grade.REFUSE, extra=Grade.REFUSE),
            why="one resistor and a network of several are wired differently",
        ),
    ),
    rework=Defaults(3, 0.0, 0.0),
    compromise=Defaults(0, 0.03, 0.0),
)

POTENTIOMETER = Family(
    "potentiometer",
    (
        Rule(
            id="PO1",
            attributes=("resistance",),
            test=Ratio((Window(0.9, 1.1, Grade.DROP_IN), Window(0.5, 1.5, Grade.COMPROMISE))),
            must_know=True,
            why="potentiometers are ±20 % parts",
            tell="A control of another value is fitted",
        ),
        Rule(
            id="PO2",
            attributes=("taper", "taper_letter", "taper_region"),
            test=Special("taper"),
            must_know=True,
            why="linear and logarithmic both work but feel different; the letters A and B changed meaning by region",
            source="published lists of taper codes",
            tell="A control has another taper and feels different",
        ),
        Rule(
            id="PO4",
            attributes=("gangs",),
            test=Ratio((Window(1, None, Grade.REWORK),)),
            must_know=True,
            assume=1.0,
            why="a missing gang leaves a channel out, one too many stays unused",
            do="Leave the spare gang unwired; see that it fits",
        ),
        Rule(
            id="PO5",
            attributes=("mains_switch",),
            test=Present(broken=Grade.REFUSE),
            locked=True,
            why="the set is switched by this part, and only an approved switch may do it",
        ),
        Rule(
            id="PO6",
            attributes=("tap", "detent"),
            test=Present(broken=Grade.COMPROMISE),
            why="loudness or centre position is lost",
            tell="A control lacks its tap or centre click",
        ),
        Rule(
            id="PO7",
            attributes=("shaft",),
            test=Equal(Grade.REWORK),
            why="shaft, bushing and pins must suit knob and board",
            do="Cut or adapt the shaft, wire the pins",
        ),
        Rule(id="PO8", attributes=("power",), test=AtLeast(Grade.REFUSE), locked=True, why="it overheats"),
        Rule(
            id="PO9",
            attributes=("turns",),
            test=Equal(Grade.COMPROMISE),
            why="setting is coarser or slower",
            tell="A trimmer has another number of turns",
        ),
    ),
    rework=Defaults(12, 0.03, 0.0),
    compromise=Defaults(0, 0.03, 0.05),
)
