"""Tantalum capacitors, and the other capacitors that may take their place."""

from __future__ import annotations

from catalog.kinds.electrolytic import AC_FOR_DC, FORM, FREQUENCY_ROLES, MORE_OR_LESS
from catalog.kinds.family import Defaults, Family, Route
from catalog.rules import AtLeast, AtMost, Equal, Grade, Present, Rule, Special

_TA1 = (
    Rule(
        id="TA1",
        attributes=("capacitance",),
        test=MORE_OR_LESS,
        must_know=True,
        not_roles=FREQUENCY_ROLES,
        why="a bypass takes more gladly, less only within limits",
        tell="A capacitor of another value is fitted",
    ),
    Rule(
        id="TA1",
        attributes=("capacitance",),
        test=Equal(Grade.REFUSE),
        must_know=True,
        roles=FREQUENCY_ROLES,
        why="here the value sets the function",
    ),
)
_TA2 = Rule(
    id="TA2",
    attributes=("voltage_dc",),
    test=AtLeast(Grade.REFUSE),
    must_know=True,
    locked=True,
    why="overvoltage ignites tantalum; a higher rating in the same case is normal practice",
    source="maker questions and answers; EIA-535BAAC",
)
_TA4_STYLE = Rule(
    id="TA4", attributes=("style", "pitch"), test=Equal(Grade.REWORK), why="the footprint differs", do=FORM
)

FAMILY = Family(
    "tantalum",
    (
        *_TA1,
        _TA2,
        Rule(
            id="TA3",
            attributes=("circuit_volts",),
            test=Special(
                "tantalum_derating",
                figures={"times": 2, "polymer_low": 0.9, "polymer_volts": 10, "polymer_high": 0.8},
            ),
            locked=True,
            why="at full rating 0.1 to 1 % fail in 1000 hours: manganese dioxide wants twice the circuit volts,"
            " polymer a tenth to a fifth more",
            source="maker questions and answers on tantalum and polymer derating",
            tell="The tantalum capacitor runs closer to its rating than is usual",
        ),
        Rule(
            id="TA4",
            attributes=("case",),
            test=Equal(Grade.REWORK),
            why="the land pattern belongs to the case",
            do="Re-lay the pads or use short wires",
        ),
        _TA4_STYLE,
        Rule(
            id="TA5",
            attributes=("esr",),
            test=AtMost(Grade.COMPROMISE),
            why="a higher series resistance heats and filters less",
            tell="The capacitor fitted filters less well than the original",
        ),
        Rule(
            id="TA6",
            attributes=("polymer",),
            test=Present(broken=Grade.COMPROMISE),
            why="manganese dioxide has more series resistance than polymer and wants double the volts",
            tell="An ordinary tantalum capacitor replaces a polymer one",
        ),
        Rule(
            id="TA7",
            attributes=("polymer",),
            test=Present(extra=Grade.DROP_IN),
            why="polymer needs only 10 to 20 % derating",
            source="maker questions and answers on polymer derating",
        ),
    ),
    place=("circuit_volts",),
    rework=Defaults(5, 0.02, 0.0),
    compromise=Defaults(0, 0.05, 0.03),
    routes={
        "electrolytic": Route(
            (
                *_TA1,
                _TA2,
                Rule(
                    id="TA8",
                    attributes=("case",),
                    test=Special("always_compromise"),
                    why="a wet part has more series resistance, more so when cold, and dries out",
                    do="Mind the lead that the mark means; form the leads",
                    tell="A wet aluminium capacitor replaces a tantalum one",
                ),
                _TA4_STYLE,
            ),
            settled=("case", "polymer", "diameter", "height", "esr"),
        ),
        "ceramic": Route(
            (
                *_TA1,
                Rule(
                    id="TA9",
                    attributes=("voltage_dc", "dielectric"),
                    test=Special("ceramic_for_tantalum", figures={"times": 2, "change": 22}),
                    locked=True,
                    why="a ceramic loses capacitance under bias and its very low resistance can upset old regulators",
                    do="Check that the supply is stable with the ceramic in place",
                    tell="A ceramic capacitor replaces a tantalum one",
                ),
                Rule(
                    id="TA10",
                    attributes=("dielectric", "size", "style", "pitch"),
                    test=Special("better_than_tantalum"),
                    why="electrically better, if there is room",
                    do=FORM,
                ),
            ),
            settled=("case", "polymer", "diameter", "height", "esr"),
        ),
        "film": Route(
            (
                *_TA1,
                Rule(
                    id="TA2",
                    attributes=("voltage_dc", "voltage_ac"),
                    test=Special("film_volts", figures=AC_FOR_DC),
                    locked=True,
                    why="volts above the rating break the dielectric down",
                ),
                Rule(
                    id="TA10",
                    attributes=("diameter", "height", "pitch", "style"),
                    test=Special("film_size"),
                    why="electrically better, if there is room",
                    do=FORM,
                ),
            ),
            settled=("case", "polymer", "esr"),
        ),
    },
)
