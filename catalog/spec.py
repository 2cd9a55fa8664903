"""PartSpec: a kind and its typed attributes, the one form that reading, fit and search share.

`KINDS` is the vocabulary: for each kind the attribute names and the unit each is stored in. Numbers are in SI base
units (farad, ohm, volt, ampere, watt, hertz, second) except where a trade unit is clearer and named as such:
millimetres (`mm`), degrees Celsius (`degC`), percent (`%`), parts per million (`ppm`), hours (`h`).
`word` is one word of a fixed set, `text` any cleaned text, `flag` true when the feature is named.
"""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

WORD, TEXT, FLAG, COUNT = "word", "text", "flag", "count"

_SIZE = {"style": WORD, "diameter": "mm", "height": "mm", "pitch": "mm"}
_CAPACITOR = {"capacitance": "F", "voltage_dc": "V", "voltage_ac": "V", "tolerance": "%", **_SIZE}

KINDS: Mapping[str, Mapping[str, str]] = {
    "capacitor": {
        **_CAPACITOR,
        "dielectric": WORD,
        "size": WORD,
        "temperature": "degC",
        "life": "h",
        "low_esr": FLAG,
        "bipolar": FLAG,
        "polymer": FLAG,
        "ripple": "A",
        "esr": "ohm",
        "circuit_volts": "V",
    },
    "electrolytic": {
        **_CAPACITOR,
        "temperature": "degC",
        "life": "h",
        "low_esr": FLAG,
        "ripple": "A",
        "esr": "ohm",
        "bipolar": FLAG,
        "polymer": FLAG,
        "height_limit": "mm",
        "circuit_volts": "V",
    },
    "tantalum": {**_CAPACITOR, "case": WORD, "esr": "ohm", "polymer": FLAG, "circuit_volts": "V"},
    "ceramic": {**_CAPACITOR, "dielectric": WORD, "size": WORD},
    "film": {**_CAPACITOR, "dielectric": WORD, "length": "mm"},
    "safety-cap": {**_CAPACITOR, "safety_class": WORD, "length": "mm", "series_resistor": "ohm", "dielectric": WORD},
    "resistor": {
        "resistance": "ohm",
        "tolerance": "%",
        "power": "W",
        "voltage": "V",
        "fusible": FLAG,
        "flameproof": FLAG,
        "composition": WORD,
        "non_inductive": FLAG,
        "temperature_coefficient": "ppm",
        "style": WORD,
        "size": WORD,
        "network": FLAG,
        "circuit": WORD,
        "pins": COUNT,
    },
    "potentiometer": {
        "resistance": "ohm",
        "taper": WORD,
        "taper_letter": WORD,
        "taper_region": WORD,
        "gangs": COUNT,
        "mains_switch": FLAG,
        "tap": FLAG,
        "detent": FLAG,
        "shaft": TEXT,
        "power": "W",
        "turns": WORD,
        "tolerance": "%",
    },
    "fuse": {
        "current": "A",
        "speed": WORD,
        "voltage_ac": "V",
        "voltage_dc": "V",
        "breaking": WORD,
        "body": WORD,
        "system": WORD,
        "leads": WORD,
        "material": WORD,
    },
    "thermal-fuse": {
        "temperature": "degC",
        "current": "A",
        "voltage_ac": "V",
        "voltage_dc": "V",
        "resettable": FLAG,
        "lead_form": WORD,
    },
    "ptc": {
        "hold_current": "A",
        "trip_current": "A",
        "voltage_dc": "V",
        "fault_current": "A",
        "trip_time": "s",
        "resistance": "ohm",
        "size": WORD,
    },
    "diode": {
        "type_number": TEXT,
        "reverse_voltage": "V",
        "current": "A",
        "recovery": WORD,
        "material": WORD,
        "zener_voltage": "V",
        "power": "W",
        "package": WORD,
        "pin_order": WORD,
        "surge_current": "A",
        "bridge": FLAG,
    },
    "transistor": {
        "type_number": TEXT,
        "polarity": WORD,
        "material": WORD,
        "voltage": "V",
        "current": "A",
        "power": "W",
        "gain": COUNT,
        "transition_frequency": "Hz",
        "pin_order": WORD,
        "package": WORD,
        "isolated_tab": FLAG,
        "bias_resistors": TEXT,
        "matched": FLAG,
        "idss_class": WORD,
    },
    "regulator": {
        "type_number": TEXT,
        "polarity": WORD,
        "output_voltage": "V",
        "output_voltage_max": "V",
        "current": "A",
        "input_voltage": "V",
        "dropout": "V",
        "headroom": "V",
        "ldo": FLAG,
        "adjustable": FLAG,
        "switching": FLAG,
        "output_capacitor": WORD,
        "pin_order": WORD,
        "package": WORD,
    },
    "battery": {
        "code": TEXT,
        "chemistry": WORD,
        "voltage": "V",
        "rechargeable": FLAG,
        "diameter": "mm",
        "height": "mm",
        "terminals": WORD,
        "pin_count": COUNT,
        "capacity": "Ah",
        "cells": COUNT,
        "plug_polarity": WORD,
        "protected": FLAG,
        "charging_circuit": FLAG,
    },
    "switch": {
        "form": WORD,
        "poles": COUNT,
        "throws": COUNT,
        "normally": WORD,
        "shorting": FLAG,
        "action": WORD,
        "voltage_ac": "V",
        "voltage_dc": "V",
        "current": "A",
        "mains_approved": FLAG,
        "low_level": FLAG,
        "footprint": TEXT,
        "pins": COUNT,
        "actuator_height": "mm",
        "force": "N",
        "illuminated": FLAG,
        "detector": FLAG,
    },
    "connector": {
        "family": TEXT,
        "pitch": "mm",
        "positions": COUNT,
        "gender": WORD,
        "key": WORD,
        "latch": WORD,
        "current": "A",
        "voltage": "V",
        "mount": WORD,
        "plating": WORD,
        "both_halves": FLAG,
    },
    "ffc": {
        "pitch": "mm",
        "conductors": COUNT,
        "contact_sides": WORD,
        "length": "mm",
        "thickness": "mm",
        "shielded": FLAG,
        "flex_grade": FLAG,
    },
    "belt": {
        "circumference": "mm",
        "inside_diameter": "mm",
        "basis": WORD,
        "section": WORD,
        "thickness": "mm",
        "width": "mm",
    },
    "foot": {"height": "mm", "diameter": "mm", "recess": "mm", "fixing": WORD},
    "pickup": {"model_code": TEXT, "with_mechanism": FLAG},
    "motor": {
        "voltage": "V",
        "rotation": WORD,
        "governed": FLAG,
        "plain": FLAG,
        "wires": COUNT,
        "speed": "rpm",
        "diameter": "mm",
        "length": "mm",
        "shaft": "mm",
    },
    "crystal": {
        "frequency": "Hz",
        "mode": WORD,
        "load": "F",
        "series": FLAG,
        "tolerance_ppm": "ppm",
        "package": WORD,
        "element": WORD,
        "timekeeping": FLAG,
        "esr": "ohm",
    },
    "psu": {
        "output": WORD,
        "voltage": "V",
        "current": "A",
        "polarity": WORD,
        "plug_outer": "mm",
        "plug_inner": "mm",
        "plug_length": "mm",
        "regulated": FLAG,
        "linear": FLAG,
        "input_voltage": TEXT,
        "earthed": FLAG,
    },
    "inductor": {"inductance": "H", "tolerance": "%", "current": "A", "resistance": "ohm", "size": WORD},
    "ferrite": {"impedance": "ohm", "test_frequency": "Hz", "current": "A", "size": WORD},
    "thermistor": {"resistance": "ohm", "b_value": "K", "tolerance": "%"},
    "wire": {"diameter": "m", "strands": COUNT},
    "listed": {
        "part_number": TEXT,
        "what": WORD,
        "coil_voltage": "V",
        "coil_current": WORD,
        "contact_current": "A",
        "voltage_ac": "V",
        "voltage_dc": "V",
        "poles": COUNT,
        "throws": COUNT,
        "footprint": TEXT,
        "voltage": "V",
        "current": "A",
        "power": "W",
        "led": FLAG,
        "colour": WORD,
        "diameter": "mm",
        "bore": "mm",
        "width": "mm",
        "family": TEXT,
        "height": "mm",
        "resistance": "ohm",
        "magnetic": FLAG,
        "tip": WORD,
        "cell": WORD,
        "cells": COUNT,
    },
}
"""Attribute names and units by kind.

`capacitor` is one whose construction the text does not say. `inductor`, `ferrite`, `thermistor` and `wire` are read but
judged as `listed`.
"""


class Value(msgspec.Struct, frozen=True):
    """One attribute's value: a number with its unit, a word or text (unit null), or a flag (true)."""

    value: float | str | bool
    unit: str | None = None
    implied: bool = False
    """True when the text did not say it: a default of the code, such as 20 % for three colour bands."""


class PartSpec(msgspec.Struct, frozen=True):
    """What is known of one part. Frozen by convention too: build a new one instead of changing `attributes`."""

    kind: str
    attributes: dict[str, Value] = msgspec.field(default_factory=dict)
    role: str | None = None
    """Where it sits, if the text or the person says so: a word of `ROLES`."""
    part_number: str = ""
    """Full part or type number as written, for the kinds that are matched by it."""

    def number(self, name: str) -> float | None:
        """The attribute as a number, or None when it is not stated (or is not one)."""
        held = self.attributes.get(name)
        return float(held.value) if held and isinstance(held.value, int | float) and held.value is not True else None

    def word(self, name: str) -> str | None:
        """The attribute as a word, or None when it is not stated."""
        held = self.attributes.get(name)
        return held.value if held and isinstance(held.value, str) else None

    def flag(self, name: str) -> bool:
        """Whether the feature is named."""
        held = self.attributes.get(name)
        return bool(held and held.value is True)


ROLES = (
    "timing",
    "oscillator",
    "crossover",
    "network",
    "coupling",
    "filter",
    "bypass",
    "snubber",
    "ldo-output",
    "charging",
    "mains",
)
"""The places in a circuit that switch on stricter rows."""
