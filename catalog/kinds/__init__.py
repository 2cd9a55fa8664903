"""The families of parts that have substitution rules, one small module each, and the registry of them."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from catalog.kinds import (
    batteries,
    ceramic,
    contacts,
    crystals,
    electrolytic,
    film,
    listed,
    mechanical,
    protection,
    resistors,
    safety_cap,
    semiconductors,
    supplies,
    tantalum,
)
from catalog.kinds.family import Defaults, Family
from catalog.rules import Grade

FAMILIES: Mapping[str, Family] = MappingProxyType(
    {
        family.kind: family
        for family in (
            electrolytic.FAMILY,
            tantalum.FAMILY,
            ceramic.FAMILY,
            film.FAMILY,
            safety_cap.FAMILY,
            resistors.RESISTOR,
            resistors.POTENTIOMETER,
            protection.FUSE,
            protection.THERMAL_FUSE,
            protection.PTC,
            semiconductors.DIODE,
            semiconductors.TRANSISTOR,
            semiconductors.REGULATOR,
            batteries.FAMILY,
            contacts.SWITCH,
            contacts.CONNECTOR,
            contacts.FFC,
            mechanical.BELT,
            mechanical.FOOT,
            mechanical.PICKUP,
            mechanical.MOTOR,
            crystals.FAMILY,
            supplies.FAMILY,
            listed.FAMILY,
        )
    }
)
"""Kind to family."""


def family_of(kind: str) -> Family | None:
    """The family that judges a kind; None when the kind is not known."""
    return FAMILIES.get("listed" if kind in listed.BY_NUMBER else kind)


def defaults(kind: str, grade: Grade) -> Defaults:
    """What a substitute of this grade usually costs for this kind.

    Minutes a piece, and the fractions taken off success and price. ValueError for a kind that is not known and for
    unknown and refuse, which are never fitted.
    """
    family = family_of(kind)
    if family is None:
        raise ValueError(f"no kind is called '{kind}'")
    return family.defaults(grade)
