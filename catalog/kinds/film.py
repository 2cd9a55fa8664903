"""Film capacitors without a safety class, and the ceramic that may take their place."""

from __future__ import annotations

from catalog.kinds.electrolytic import AC_FOR_DC
from catalog.kinds.family import Defaults, Family, Route
from catalog.rules import AtMost, Equal, Grade, Matrix, Rule, Special, Window

_PULSE = ("snubber",)
_BETTER = {
    "PET": {"PP": Grade.DROP_IN, "C0G": Grade.DROP_IN, "PPS": Grade.DROP_IN},
    "PS": {"PP": Grade.DROP_IN, "C0G": Grade.DROP_IN},
}
_LOSS = "loss at 100 kHz: PET 3 %, PP 0.25 %; at 1 kHz: PET 0.8 %, PPS 0.2 %, PP 0.05 %"
_FI1 = Rule(
    id="FI1",
    attributes=("capacitance",),
    test=Special("film_capacitance", (Window(1, 1.5, Grade.COMPROMISE),), {"tolerance": 5}),
    must_know=True,
    why="coupling, tone, crossover and deflection use the value itself",
    tell="A capacitor of another value is fitted",
)
_FI2 = Rule(
    id="FI2",
    attributes=("voltage_dc", "voltage_ac"),
    test=Special("film_volts", figures=AC_FOR_DC),
    must_know=True,
    locked=True,
    why="a part marked for direct volts says nothing of alternating volts, whose limit falls with frequency",
    source="maker guidelines for film capacitors",
)
_FI4 = Rule(
    id="FI4",
    attributes=("tolerance",),
    test=AtMost(Grade.COMPROMISE),
    why="a wider tolerance may put the value further off",
    tell="The part fitted has a wider tolerance",
)
_FI5 = (
    Rule(
        id="FI5",
        attributes=("pitch", "style"),
        test=Equal(Grade.REWORK),
        why="another pitch needs formed leads",
        do="Form the leads",
    ),
    Rule(
        id="FI5",
        attributes=("length", "diameter", "height"),
        test=AtMost(Grade.REWORK),
        why="a bigger body needs room",
        do="Form the leads so that the bigger body fits",
    ),
)

FAMILY = Family(
    "film",
    (
        _FI1,
        _FI2,
        Rule(
            id="FI3",
            attributes=("dielectric",),
            test=Matrix(_BETTER, otherwise=Grade.COMPROMISE),
            not_roles=_PULSE,
            why=_LOSS,
            source="maker comparison of dielectrics",
            tell="A film of higher loss is fitted",
        ),
        Rule(
            id="FI3",
            attributes=("dielectric",),
            test=Matrix({**_BETTER, "PP": {"PET": Grade.REFUSE}}, otherwise=Grade.COMPROMISE),
            roles=_PULSE,
            why=f"polyester heats where pulses run; {_LOSS}",
            source="maker comparison of dielectrics",
            tell="A film of higher loss is fitted",
        ),
        _FI4,
        *_FI5,
    ),
    rework=Defaults(3, 0.0, 0.0, "common practice"),
    compromise=Defaults(0, 0.05, 0.0),
    routes={
        "ceramic": Route(
            (
                _FI1,
                _FI2,
                Rule(
                    id="FI3",
                    attributes=("dielectric",),
                    test=Special("ceramic_for_film"),
                    why="only a C0G ceramic is as steady and low in loss as film",
                    source="maker comparison of dielectrics",
                    tell="A ceramic capacitor replaces a film one",
                ),
                _FI4,
                *_FI5,
            )
        ),
    },
)
