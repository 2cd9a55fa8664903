"""A second name in a line, such as `CR1616 cell CR2032`, `T1.25A T6.3A` or `1N4007 1N4001`: either may be the part.

Two names of one and the same thing (`LR44 AG13`) are no question. Pure.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from types import MappingProxyType

from catalog.cell_codes import CELL_CODE, LOW_CELL
from catalog.fuse_marks import FUSE_MARK, from_match
from catalog.numbered import without_names
from catalog.read_power import LITHIUM_ROUND
from catalog.read_semiconductors import DIODE_TYPE, REGULATOR_TYPE, SPACED_TYPE, TRANSISTOR_TYPE
from catalog.spec import PartSpec

_NAMES: Mapping[str, tuple[re.Pattern[str], ...]] = MappingProxyType(
    {
        "battery": (CELL_CODE, LOW_CELL, LITHIUM_ROUND),
        "fuse": (FUSE_MARK,),
        "diode": (DIODE_TYPE,),
        "transistor": (TRANSISTOR_TYPE, SPACED_TYPE),
        "regulator": (REGULATOR_TYPE,),
    }
)
"""The names that stand for a whole part, by kind."""
_LEAST_BREAKING = 35.0
"""Amperes of the lowest breaking capacity (maker data sheet to IEC 60127-2)."""
_SYNONYM = frozenset({"code"})
"""Two words for it are no contradiction."""


def names(line: str, kind: str) -> tuple[tuple[int, int], ...]:
    """Places of the names of this kind in a cleaned line, in order; what may be a breaking capacity is none."""
    plain = without_names(line)
    found: list[tuple[int, int]] = []
    for place in sorted(_places(plain, kind), key=lambda one: (one[0], -one[1])):
        if not found or place[0] >= found[-1][1]:
            found.append(place)
    return tuple(found)


def contradict(one: PartSpec, other: PartSpec) -> bool:
    """Whether two readings state something in two ways."""
    shared = (set(one.attributes) & set(other.attributes)) - _SYNONYM
    return any(one.attributes[name].value != other.attributes[name].value for name in shared)


def _places(line: str, kind: str) -> Iterator[tuple[int, int]]:
    for pattern in _NAMES.get(kind, ()):
        for match in pattern.finditer(line):
            if pattern is not FUSE_MARK or match[1] or match[4] or from_match(match).current < _LEAST_BREAKING:
                yield match.span()
