"""Ceramic capacitors."""

from __future__ import annotations

from catalog.kinds.electrolytic import AC_FOR_DC, MORE_OR_LESS
from catalog.kinds.family import Defaults, Family
from catalog.rules import AtMost, Equal, Grade, Rule, Special

FAMILY = Family(
    "ceramic",
    (
        Rule(
            id="CE2",
            attributes=("capacitance",),
            test=Special("ceramic_capacitance", MORE_OR_LESS.windows),
            must_know=True,
            why="class 1 parts tune and time, class 2 and 3 parts bypass",
            tell="A capacitor of another value is fitted",
        ),
        Rule(
            id="CE3",
            attributes=("voltage_dc", "voltage_ac"),
            test=Special("film_volts", figures=AC_FOR_DC),
            must_know=True,
            locked=True,
            why="volts above the rating break the dielectric down",
        ),
        Rule(
            id="CE4",
            attributes=("dielectric",),
            test=Special("ceramic_dielectric"),
            must_know=True,
            locked=True,
            why="a lower dielectric changes more with temperature and bias",
            source="EIA-198 as printed in makers' introductions",
            tell="The ceramic fitted drifts more than the original",
        ),
        Rule(
            id="CE6",
            attributes=("size",),
            test=Special("chip_size"),
            why="a smaller chip of equal rating loses more capacitance under bias",
            source="a maker's post comparing 0805 and 1206 under bias",
            do="Bridge the pads to the other chip size",
        ),
        Rule(
            id="CE7",
            attributes=("style",),
            test=Equal(Grade.REWORK),
            why="chip and leaded parts need other pads",
            do="Fit on short wires or with formed leads",
        ),
        Rule(
            id="CE7",
            attributes=("pitch",),
            test=Equal(Grade.REWORK),
            why="another lead pitch needs formed leads",
            do="Form the leads",
        ),
        Rule(
            id="CE8",
            attributes=("tolerance",),
            test=AtMost(Grade.COMPROMISE),
            why="a wider tolerance may put the value further off",
            tell="The part fitted has a wider tolerance",
        ),
    ),
    rework=Defaults(3, 0.01, 0.0),
    compromise=Defaults(0, 0.05, 0.0),
)
