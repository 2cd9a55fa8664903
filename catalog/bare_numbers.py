"""A number without a unit as all that a line says: what it may be, by kind. None of them is picked."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

from catalog.quantity import scaled
from catalog.reading import MAIN, Choice, Draft
from catalog.text import BEGIN, END

_NUMBER = re.compile(rf"{BEGIN}(?<![/-])\d{{1,5}}(?:[.,]\d{{1,6}})?(?![%/-]|\s[^\W\d_]{{3}}){END}")
_MAYBE: Mapping[str, tuple[tuple[str, int, str], ...]] = MappingProxyType(
    {
        "fuse": (("current", 0, "amperes"), ("current", -3, "milliamperes")),
        "thermal-fuse": (("temperature", 0, "degrees"), ("current", 0, "amperes")),
        "ptc": (("hold_current", 0, "amperes"), ("hold_current", -3, "milliamperes")),
        "battery": (("voltage", 0, "volts"), ("capacity", -3, "milliampere-hours")),
        "psu": (("voltage", 0, "volts"), ("current", 0, "amperes")),
        "motor": (("voltage", 0, "volts"), ("speed", 0, "turns a minute")),
        "regulator": (("output_voltage", 0, "volts"), ("current", 0, "amperes")),
        "transistor": (("voltage", 0, "volts"), ("current", 0, "amperes")),
        "inductor": (("inductance", -6, "microhenry"), ("inductance", -3, "millihenry")),
        "crystal": (("frequency", 6, "megahertz"), ("frequency", 3, "kilohertz")),
        "thermistor": (("resistance", 0, "ohms"), ("resistance", 3, "kilohms")),
        "ferrite": (("impedance", 0, "ohms"), ("test_frequency", 6, "megahertz")),
        "switch": (("pins", 0, "pins"), ("current", 0, "amperes"), ("actuator_height", 0, "millimetres")),
        "connector": (("positions", 0, "positions"), ("pitch", 0, "millimetres")),
        "ffc": (("conductors", 0, "conductors"), ("length", 0, "millimetres")),
        "foot": (("diameter", 0, "millimetres across"), ("height", 0, "millimetres high")),
    }
)
"""Attribute, power of ten and the unit's name, for each thing a plain number may be."""


def open_number(draft: Draft) -> None:
    """Ask what the only number is that nothing explains; any of the attributes it may be settles it when stated."""
    ways = _MAYBE.get(draft.kind, ())
    found = list(draft.scan.find(_NUMBER))
    if not ways or len(found) != 1 or any(draft.has(name) for name, _, _ in ways):
        return
    if draft.kind not in MAIN and draft.scan.left_over() != (found[0][0],):
        return  # beside other words it may be anything
    draft.scan.claim(found[0].start(), found[0].end())
    figure = found[0][0].replace(",", ".")
    draft.ask(
        *(Choice(f"plain {word}", {name: draft.value(name, scaled(figure, power))}) for name, power, word in ways)
    )
