"""Aluminium electrolytic capacitors, and the other capacitors that may take their place."""

from __future__ import annotations

from catalog.kinds.family import Defaults, Family, Route
from catalog.rules import (
    AtLeast,
    AtMost,
    Equal,
    Grade,
    Present,
    Ratio,
    Rule,
    Special,
    Step,
    Window,
)

FREQUENCY_ROLES = ("timing", "oscillator", "crossover", "network")
"""Places where the capacitance itself sets the function."""
MORE_OR_LESS = Ratio((Window(1, 2.2, Grade.DROP_IN), Window(0.8, 4.7, Grade.COMPROMISE)))
AC_FOR_DC = {"ac_to_dc": 1.4}
"""Direct volts that a part marked only for alternating volts takes, as a factor."""
FORM = "Form the leads; begin the bend 1 to 2 mm from the body"

AE1 = Rule(
    id="AE1",
    attributes=("capacitance",),
    test=MORE_OR_LESS,
    must_know=True,
    not_roles=FREQUENCY_ROLES,
    why="more is invisible in a reservoir or bypass up to a point; far more loads rectifier and switch-on",
    source="tolerance ±20 % by maker data sheets; the windows are common practice",
    tell="A capacitor of another value is fitted",
)
AE2 = Rule(
    id="AE2",
    attributes=("capacitance",),
    test=Equal(Grade.REFUSE),
    must_know=True,
    roles=FREQUENCY_ROLES,
    why="here the value sets the function",
)
AE3 = Rule(
    id="AE3",
    attributes=("voltage_dc",),
    test=AtLeast(Grade.REFUSE),
    must_know=True,
    locked=True,
    why="peak volts above the rating raise leakage until the vent opens",
    source="maker guidelines for aluminium electrolytics",
)
AE8 = Rule(
    id="AE8",
    attributes=("bipolar",),
    test=Present(Grade.REFUSE),
    locked=True,
    why="a polarised part is destroyed by reverse volts",
    source="maker guidelines for aluminium electrolytics",
)
_AE11 = Rule(
    id="AE11",
    attributes=("pitch",),
    test=Equal(Grade.REWORK),
    why="another lead pitch needs formed leads",
    source="forum of a distributor on lead bending",
    do=FORM,
)
_AE12 = Rule(
    id="AE12",
    attributes=("style",),
    test=Equal(Grade.REWORK),
    why="another body style is adapted by forming leads; snap-in pins do not pass radial holes",
    do=FORM,
)
_AE7_ESR = Rule(
    id="AE7",
    attributes=("esr",),
    test=AtMost(Grade.COMPROMISE),
    why="ripple through a higher resistance heats the core",
    source="maker cautions",
    tell="The capacitor fitted carries less ripple than the original",
)

RULES = (
    AE1,
    AE2,
    AE3,
    Rule(
        id="AE4",
        attributes=("temperature",),
        test=AtLeast(Grade.COMPROMISE),
        remark="life_factor",
        why="life doubles for every 10 degrees",
        source="lifetime equation in makers' technical notes",
        tell="The capacitor fitted will not last as long as the original type",
    ),
    Rule(
        id="AE5",
        attributes=("life",),
        test=AtLeast(Grade.COMPROMISE),
        why="life scales with the rated hours",
        source="lifetime equation in makers' technical notes",
        tell="The capacitor fitted will not last as long as the original type",
    ),
    Rule(
        id="AE6",
        attributes=("low_esr", "polymer"),
        test=Special("low_impedance"),
        why="switching supplies heat general-purpose parts",
        tell="A general-purpose capacitor stands in a low-impedance place",
    ),
    Rule(
        id="AE7",
        attributes=("ripple",),
        test=AtLeast(Grade.COMPROMISE),
        why="ripple heats the core",
        source="maker cautions",
        tell="The capacitor fitted carries less ripple than the original",
    ),
    _AE7_ESR,
    AE8,
    Rule(
        id="AE9",
        attributes=("diameter",),
        test=AtMost(Grade.REFUSE, over=(Step(2.5, Grade.REWORK),)),
        why="a wider can meets its neighbours",
        do="Form the leads so that the wider can stands clear of its neighbours",
    ),
    Rule(
        id="AE10",
        attributes=("height",),
        test=AtMost(Grade.REWORK),
        unless={"style": ("axial",)},
        why="a taller can may touch shield or lid",
        do="Lay the taller can flat and fix it",
    ),
    Rule(
        id="AE10",
        attributes=("height_limit",),
        test=Special("ceiling"),
        why="taller than the room stated for it",
    ),
    _AE11,
    _AE12,
    Rule(
        id="AE13",
        attributes=("polymer",),
        test=Special("polymer_for_wet"),
        why="the leakage of conductive polymer upsets coupling, timing and high-impedance places",
        source="maker guidelines for conductive polymer capacitors",
        tell="A polymer capacitor replaces a wet one",
    ),
    Rule(
        id="AE14",
        attributes=("polymer",),
        test=Present(broken=Grade.COMPROMISE),
        why="a wet part has several times the series resistance",
        tell="A wet capacitor replaces a polymer one",
    ),
)

_WET_ONLY = ("temperature", "life", "low_esr", "polymer", "ripple", "bipolar")

FAMILY = Family(
    "electrolytic",
    RULES,
    place=("circuit_volts", "height_limit"),
    rework=Defaults(3, 0.0, 0.0, "common practice"),
    compromise=Defaults(0, 0.03, 0.03),
    routes={
        "tantalum": Route(
            (
                AE1,
                AE2,
                AE3,
                _AE7_ESR,
                AE8,
                Rule(
                    id="AE15",
                    attributes=("voltage_dc",),
                    test=Special("tantalum_for_wet", figures={"times": 2}),
                    locked=True,
                    why="manganese-dioxide tantalum is used at half its rating; a stiff supply at switch-on ignites it",
                    source="maker questions and answers on tantalum derating",
                    do="Form the leads or re-lay the pads",
                    tell="A tantalum capacitor replaces an aluminium one",
                ),
                Rule(
                    id="AE13",
                    attributes=("polymer",),
                    test=Special("polymer_for_wet"),
                    why="the leakage of conductive polymer upsets coupling, timing and high-impedance places",
                    source="maker guidelines for conductive polymer capacitors",
                    tell="A polymer capacitor replaces a wet one",
                ),
                Rule(
                    id="AE15",
                    attributes=("style", "pitch"),
                    test=Equal(Grade.REWORK),
                    why="the footprint differs",
                    do="Form the leads or re-lay the pads",
                ),
            ),
            settled=("life", "polymer", "bipolar", "diameter", "height"),
        ),
        "film": Route(
            (
                AE1,
                AE2,
                Rule(
                    id="AE3",
                    attributes=("voltage_dc", "voltage_ac"),
                    test=Special("film_volts", figures=AC_FOR_DC),
                    locked=True,
                    why="volts above the rating break the dielectric down",
                ),
                Rule(
                    id="AE16",
                    attributes=("diameter", "height", "pitch", "style"),
                    test=Special("film_size"),
                    why="not polarised, lower loss, but bigger",
                    source="maker comparison of dielectrics",
                    do="Form the leads; find room for the bigger body",
                ),
            ),
            settled=(*_WET_ONLY, "esr"),
        ),
        "ceramic": Route(
            (
                AE1,
                AE2,
                AE3,
                Rule(
                    id="AE17",
                    attributes=("dielectric",),
                    test=Special("ceramic_for_wet"),
                    why="a class 2 or 3 ceramic loses capacitance under direct volts",
                    source="maker notes on bias of multilayer ceramics",
                    do="Check that the capacitance left under bias is enough",
                    tell="A ceramic capacitor replaces an aluminium one",
                ),
            ),
            settled=(*_WET_ONLY, "esr"),
        ),
    },
)
