"""External power supplies."""

from __future__ import annotations

from catalog.kinds.family import Defaults, Family
from catalog.rules import AtLeast, Equal, Grade, Present, Ratio, Rule, Special, Window

_GUIDES = "dealers' selection guides for adaptors"

FAMILY = Family(
    "psu",
    (
        Rule(
            id="EP1",
            attributes=("output",),
            test=Equal(Grade.REFUSE),
            must_know=True,
            locked=True,
            why="AC into a DC set, or the reverse, does harm",
        ),
        Rule(
            id="EP2",
            attributes=("voltage",),
            test=Ratio((Window(0.95, 1.05, Grade.DROP_IN), Window(0.9, 1, Grade.COMPROMISE))),
            must_know=True,
            locked=True,
            why="more volts destroy, fewer may not run it",
            tell="The adaptor gives a little less than the original",
        ),
        Rule(
            id="EP3",
            attributes=("current",),
            test=AtLeast(Grade.REFUSE),
            must_know=True,
            locked=True,
            why="never lower; higher does no harm",
            source=_GUIDES,
        ),
        Rule(
            id="EP4",
            attributes=("polarity",),
            test=Equal(Grade.REFUSE),
            must_know=True,
            locked=True,
            unless={"output": ("ac",)},
            why="reversed polarity does harm as it stands; the lead can be given another plug",
        ),
        Rule(
            id="EP5",
            attributes=("plug_outer", "plug_inner"),
            test=Equal(Grade.REWORK),
            must_know=True,
            why="a 2.1 mm plug does not go on a 2.5 mm pin, a 2.5 mm one is loose on 2.1 mm",
            do="Fit the right plug to the lead; check polarity with a meter before use",
        ),
        Rule(
            id="EP5",
            attributes=("plug_length",),
            test=Equal(Grade.REWORK),
            why="a short plug makes no contact",
            do="Fit the right plug to the lead; check polarity with a meter before use",
        ),
        Rule(
            id="EP6",
            attributes=("regulated",),
            test=Present(broken=Grade.REFUSE),
            locked=True,
            why="an unregulated output soars at light load",
            source=_GUIDES,
        ),
        Rule(
            id="EP7",
            attributes=("regulated",),
            test=Present(extra=Grade.DROP_IN),
            why="check: most sets run from a regulated supply, a few do not",
            source=f"{_GUIDES}, which disagree",
        ),
        Rule(
            id="EP8",
            attributes=("linear",),
            test=Present(broken=Grade.COMPROMISE),
            why="a switching supply may be heard",
            tell="The adaptor is a switching type and may add noise",
        ),
        Rule(
            id="EP9",
            attributes=("input_voltage",),
            test=Special("mains_input", figures={"percent": 10, "lowest": 80, "highest": 500}),
            locked=True,
            why="the input must cover the mains at hand",
        ),
        Rule(
            id="EP10",
            attributes=("earthed",),
            test=Present(broken=Grade.COMPROMISE, extra=Grade.COMPROMISE),
            why="another earth arrangement may hum",
            tell="The adaptor differs in its earth connection",
        ),
    ),
    rework=Defaults(15, 0.02, 0.0),
    compromise=Defaults(0, 0.08, 0.1),
)
