"""Belts, feet, optical pickups and motors."""

from __future__ import annotations

from collections.abc import Mapping

from catalog.kinds.family import Defaults, Family
from catalog.rules import COMMON, Equal, Grade, Listed, Matrix, Present, Ratio, Rule, Special, Step, Window

_PAGES = "belt makers' pages on measuring belts"
_MEASURED, _PATH = ("measured", "old", "old belt"), ("path", "path length", "string", "string length")


def _length(
    row: str,
    windows: tuple[tuple[float, float], tuple[float, float]],
    source: str,
    when: Mapping[str, tuple[str, ...]] | None = None,
    unless: Mapping[str, tuple[str, ...]] | None = None,
) -> Rule:
    """The length of a belt on one basis: the windows of drop-in and of compromise."""
    grades = Grade.DROP_IN, Grade.COMPROMISE
    found = tuple(Window(*ends, grade) for ends, grade in zip(windows, grades, strict=True))
    return Rule(
        id=row,
        attributes=("circumference", "inside_diameter", "basis"),
        test=Special("belt_length", found, {"pi_percent": 3, "agree_percent": 1}),
        must_know=True,
        when=when or {},
        unless=unless or {},
        why="too long slips, too short loads bearing and motor",
        source=source,
        tell="A belt of slightly different length is fitted",
    )


BELT = Family(
    "belt",
    (
        _length("BE1", ((0.97, 1.01), (0.90, 1.03)), COMMON, unless={"basis": (*_MEASURED, *_PATH)}),
        _length("BE2", ((0.92, 0.98), (0.90, 1.00)), f"{_PAGES}; 5 % is common practice", when={"basis": _MEASURED}),
        _length("BE3", ((0.92, 0.96), (0.90, 0.98)), f"{_PAGES}: take 6 % off", when={"basis": _PATH}),
        Rule(
            id="BE4",
            attributes=("section",),
            test=Matrix({"square": {"round": Grade.COMPROMISE}, "round": {"square": Grade.COMPROMISE}}),
            must_know=True,
            why="square and round share a V groove; flat runs on a crowned pulley",
            tell="A belt of another section is fitted",
        ),
        Rule(
            id="BE5",
            attributes=("thickness",),
            test=Equal(Grade.REFUSE, near=(Step(0.2, Grade.DROP_IN), Step(0.5, Grade.COMPROMISE))),
            must_know=True,
            unless={"section": ("flat",)},
            why="thickness changes the effective pulley radius and with it the speed",
            tell="Check the speed with a test tape or disc",
        ),
        Rule(
            id="BE6",
            attributes=("width",),
            test=Ratio((Window(0.8, 1, Grade.DROP_IN), Window(0.6, 1, Grade.COMPROMISE))),
            must_know=True,
            when={"section": ("flat",)},
            why="a wider belt rides on the pulley flange and runs fast",
            source=_PAGES,
            tell="A narrower belt is fitted",
        ),
        Rule(
            id="BE6",
            attributes=("thickness",),
            test=Equal(Grade.REFUSE, near=(Step(0.1, Grade.DROP_IN), Step(0.2, Grade.COMPROMISE))),
            when={"section": ("flat",)},
            why="thickness changes the effective pulley radius and with it the speed",
            tell="Check the speed with a test tape or disc",
        ),
    ),
    place=("basis",),
    rework=Defaults(2, 0.02, 0.0),
    compromise=Defaults(3, 0.08, 0.02),
)

FOOT = Family(
    "foot",
    (
        Rule(
            id="RF1",
            attributes=("height",),
            test=Equal(Grade.COMPROMISE, near=(Step(0.5, Grade.DROP_IN),)),
            must_know=True,
            why="one foot of another height wobbles",
            do="Replace all four: then it drops in",
            tell="The feet are not of one height",
        ),
        Rule(
            id="RF2",
            attributes=("diameter",),
            test=Special("foot_diameter", figures={"within": 1}),
            why="a foot must sit in its place",
            do="Trim the foot to the recess",
            tell="The feet are not of one diameter",
        ),
        Rule(
            id="RF3",
            attributes=("fixing",),
            test=Equal(Grade.REWORK),
            why="another fixing needs glue or a hole",
            do="Glue or drill",
        ),
    ),
    place=("recess",),
    rework=Defaults(5, 0.0, 0.0),
    compromise=Defaults(0, 0.0, 0.02),
)

PICKUP = Family(
    "pickup",
    (
        Rule(
            id="OP1",
            attributes=("model_code",),
            test=Listed(),
            must_know=True,
            why="look-alikes differ in wiring and optics, and lists disagree: only the person's own entries count",
            source="published pickup chronology and repair threads",
        ),
        Rule(
            id="OP2",
            attributes=("with_mechanism",),
            test=Present(broken=Grade.REWORK, extra=Grade.REWORK),
            why="a bare pickup goes into the old mechanism",
            do="Move the pickup from one mechanism to the other",
        ),
    ),
    rework=Defaults(20, 0.05, 0.0),
    compromise=Defaults(10, 0.15, 0.05),
    reminders=(
        "OP3: work against static charge; connect, then remove the anti-static solder short; leave the power trimmer",
    ),
)

MOTOR = Family(
    "motor",
    (
        Rule(
            id="MO1",
            attributes=("voltage",),
            test=Equal(Grade.REFUSE),
            must_know=True,
            locked=True,
            why="another voltage turns at another speed or burns out",
        ),
        Rule(
            id="MO2",
            attributes=("rotation",),
            test=Special("rotation"),
            must_know=True,
            why="a governed motor cannot be turned round",
            do="Cross the two leads",
        ),
        Rule(
            id="MO3",
            attributes=("governed", "plain"),
            test=Special("governed"),
            must_know=True,
            why="the set relies on who keeps the speed",
        ),
        Rule(
            id="MO4",
            attributes=("speed",),
            test=Equal(Grade.REFUSE),
            must_know=True,
            only_if=("governed",),
            why="speed sets the pitch of the sound",
        ),
        Rule(
            id="MO4",
            attributes=("speed",),
            test=Equal(Grade.REFUSE),
            not_if=("governed",),
            why="speed sets the pitch of the sound",
        ),
        Rule(
            id="MO5",
            attributes=("diameter", "length", "shaft"),
            test=Special("motor_body"),
            must_know=True,
            why="body and shaft must suit bracket and pulley",
            do="Adapt the bracket or bush the pulley",
        ),
    ),
    rework=Defaults(20, 0.05, 0.0),
    compromise=Defaults(10, 0.1, 0.05),
)
