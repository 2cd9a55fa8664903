"""Capacitors across the mains (X) and from mains to touchable parts (Y)."""

from __future__ import annotations

from catalog.kinds.family import Defaults, Family, Route
from catalog.rules import AtLeast, AtMost, Equal, Grade, Rule, Special, Window

SERVES = {
    "X1": ("X1", "Y1", "Y2"),
    "X2": ("X1", "X2", "Y1", "Y2"),
    "X3": ("X1", "X2", "X3", "Y1", "Y2"),
    "Y1": ("Y1",),
    "Y2": ("Y1", "Y2"),
    "Y3": ("Y1", "Y2", "Y3"),
    "Y4": ("Y1", "Y2", "Y4"),
}
"""Wanted class to the classes that may take its place. Y3 is from memory, the others follow the impulse levels."""
_STANDARD = "IEC 60384-14 sub-class table as printed by makers"

_SC2 = Rule(
    id="SC2",
    attributes=("safety_class",),
    test=Special("approved_part"),
    locked=True,
    why="only an approved part may stand at the mains, whatever the volts of an ordinary one: shock and fire",
    source=_STANDARD,
)

FAMILY = Family(
    "safety-cap",
    (
        Rule(
            id="SC1",
            attributes=("safety_class",),
            test=Special("safety_class"),
            must_know=True,
            locked=True,
            why="the same class or a higher one",
            source=_STANDARD,
        ),
        _SC2,
        Rule(
            id="SC3",
            attributes=("voltage_ac",),
            test=AtLeast(Grade.REFUSE),
            must_know=True,
            locked=True,
            why="the class holds only up to the rated mains volts",
            source=_STANDARD,
        ),
        Rule(
            id="SC4",
            attributes=("capacitance",),
            test=Special("across_the_line", (Window(0.8, 1.5, Grade.COMPROMISE),)),
            must_know=True,
            why="the discharge of the plug pins depends on the value",
            tell="The suppression capacitor has another value",
        ),
        Rule(
            id="SC5",
            attributes=("capacitance",),
            test=Special("line_to_case", (Window(0.5, 1, Grade.COMPROMISE),)),
            must_know=True,
            locked=True,
            remark="earth_leakage",
            why="more capacitance means more current through a person",
            source="I = 2·pi·f·C·U",
            tell="The suppression capacitor has another value",
        ),
        Rule(
            id="SC6",
            attributes=("pitch", "style"),
            test=Equal(Grade.REWORK),
            why="another pitch needs formed leads",
            do="Form the leads and keep the creepage distance",
        ),
        Rule(
            id="SC6",
            attributes=("length", "diameter", "height"),
            test=AtMost(Grade.REWORK),
            why="a bigger body needs room",
            do="Form the leads and keep the creepage distance",
        ),
        Rule(
            id="SC7",
            attributes=("series_resistor",),
            test=Special("series_resistor"),
            locked=True,
            why="a unit with a resistor inside and one without limit different currents",
        ),
        Rule(
            id="SC8",
            attributes=("dielectric",),
            test=Equal(Grade.DROP_IN),
            silent=Grade.DROP_IN,
            why="metallised paper cracks; a film part of the class takes its place",
        ),
    ),
    rework=Defaults(3, 0.0, 0.0, "common practice"),
    compromise=Defaults(0, 0.02, 0.0),
    routes={kind: Route((_SC2,)) for kind in ("film", "ceramic", "electrolytic", "tantalum")},
)
