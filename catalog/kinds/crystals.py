"""Quartz crystals and ceramic resonators."""

from __future__ import annotations

from catalog.kinds.family import Defaults, Family
from catalog.rules import AtMost, Equal, Grade, Matrix, Present, Rule, Special

_LOW = ("HC-49/US", "HC-49S")

FAMILY = Family(
    "crystal",
    (
        Rule(
            id="XT1",
            attributes=("frequency",),
            test=Special("frequency", figures={"ppm": 200}),
            must_know=True,
            why="3.58 for 3.579545 is rounding (127 ppm); 12 for 12.288 is another crystal",
        ),
        Rule(
            id="XT2",
            attributes=("mode",),
            test=Equal(Grade.REFUSE),
            why="an overtone crystal in a fundamental circuit runs at another frequency",
        ),
        Rule(
            id="XT3",
            attributes=("load",),
            test=Equal(Grade.COMPROMISE),
            remark="pulling",
            why="another load pulls the frequency",
            source="application notes on quartz pulling",
            do="Change the two load capacitors to suit",
            tell="The crystal fitted runs slightly off frequency",
        ),
        Rule(
            id="XT3",
            attributes=("series",),
            test=Present(broken=Grade.COMPROMISE),
            why="a load crystal in a series circuit runs off frequency",
            source="application notes on quartz pulling",
            tell="The crystal fitted runs slightly off frequency",
        ),
        Rule(
            id="XT3",
            attributes=("series",),
            test=Present(extra=Grade.COMPROMISE),
            only_if=("load",),
            why="a series crystal with load capacitors runs off frequency",
            source="application notes on quartz pulling",
            tell="The crystal fitted runs slightly off frequency",
        ),
        Rule(
            id="XT4",
            attributes=("tolerance_ppm",),
            test=AtMost(Grade.COMPROMISE, slack=1e-9),
            why="the frequency may be further off",
            tell="The crystal fitted has a wider tolerance",
        ),
        Rule(
            id="XT5",
            attributes=("package",),
            test=Matrix(
                {
                    "HC-49/U": dict.fromkeys(("HC-49", *_LOW), Grade.DROP_IN),
                    "HC-49": dict.fromkeys(("HC-49/U", *_LOW), Grade.DROP_IN),
                    "HC-49/US": {"HC-49S": Grade.DROP_IN},
                    "HC-49S": {"HC-49/US": Grade.DROP_IN},
                },
                otherwise=Grade.REWORK,
            ),
            why="the low body has the same 4.88 mm pitch, the tall one needs height",
            do="Form the leads; mind the height",
        ),
        Rule(
            id="XT6",
            attributes=("element", "timekeeping"),
            test=Special("crystal_element"),
            why="a ceramic resonator is good to 0.5 %, a crystal to tens of ppm; an oscillator module needs a supply",
            do="Add two load capacitors for a crystal in place of a resonator",
            tell="A ceramic resonator replaces a crystal",
        ),
        Rule(
            id="XT9",
            attributes=("esr",),
            test=AtMost(Grade.COMPROMISE),
            why="a higher resistance may not start, above all in watches",
            tell="The crystal fitted may start less readily",
        ),
    ),
    place=("timekeeping",),
    rework=Defaults(5, 0.02, 0.0),
    compromise=Defaults(0, 0.05, 0.02),
)
