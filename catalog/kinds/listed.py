"""Parts matched by their full number only, or by the person's own list of pairs."""

from __future__ import annotations

from catalog.kinds.family import Defaults, Family
from catalog.rules import Rule, Special

RULE = Rule(
    id="LI1",
    attributes=("part_number",),
    test=Special("part_number"),
    must_know=True,
    why="nothing but the full number, or the person's own list, says that such a part fits",
)
BY_NUMBER = ("inductor", "ferrite", "thermistor", "wire")
"""Kinds whose descriptions are read but which are judged by number."""

FAMILY = Family(
    "listed",
    (RULE,),
    rework=Defaults(10, 0.05, 0.02),
    compromise=Defaults(5, 0.08, 0.05),
)
