"""Every limit of the substitution rules from both sides, what must be known, and the rows that serve another kind."""

import pytest

from catalog.fit import fit
from catalog.kinds import FAMILIES
from catalog.rules import Grade
from catalog.spec import PartSpec, Value

E, D, R, C, U, X = tuple(Grade)
CAN = {"capacitance": 100e-6, "voltage_dc": 25.0}
BEAD = {"capacitance": 10e-6, "voltage_dc": 16.0}
CHIP = {"capacitance": 100e-9, "voltage_dc": 50.0, "dielectric": "X7R"}
FILM = {"capacitance": 100e-9, "voltage_dc": 250.0}
X2 = {"capacitance": 100e-9, "safety_class": "X2", "voltage_ac": 275.0}
FUSE = {"current": 1.0, "speed": "T", "voltage_ac": 250.0, "body": "5x20"}
DIODE = {"reverse_voltage": 100.0, "current": 1.0}
ZENER = {"zener_voltage": 5.0, "power": 0.5}
NPN = {"polarity": "NPN", "voltage": 40.0, "current": 0.2}
FIVE = {"output_voltage": 5.0, "current": 1.0, "pin_order": "IN-GND-OUT"}
COIN = {"chemistry": "lithium-manganese-dioxide", "voltage": 3.0, "diameter": 20.0, "height": 3.2}
PACK = {"chemistry": "nimh", "rechargeable": True, "voltage": 2.4}
TACT = {"poles": 1.0, "throws": 1.0, "normally": "NO", "action": "momentary"}
PLUG = {"family": "K", "pitch": 2.5, "positions": 4.0, "gender": "female"}
RIBBON = {"pitch": 0.5, "conductors": 24.0, "contact_sides": "same"}
BELT = {"circumference": 100.0, "section": "square", "thickness": 1.2}
FLAT = {"circumference": 100.0, "section": "flat", "width": 5.0, "thickness": 0.6}
FOOT = {"height": 10.0}
MOTOR = {"voltage": 9.0, "rotation": "CW", "plain": True, "diameter": 24.0}
GOVERNED = {**MOTOR, "plain": None, "governed": True, "speed": 2400.0}
QUARTZ = {"frequency": 4e6}
SUPPLY = {"output": "DC", "voltage": 10.0, "current": 0.5, "polarity": "N", "plug_outer": 5.5, "plug_inner": 2.1}
LISTED = {"part_number": "K-1"}
LAMP = {**LISTED, "what": "lamp", "voltage": 6.0, "current": 0.25}
CAPACITORS = ("electrolytic", "tantalum", "film", "ceramic")
MICRO = {80e-6: C, 79e-6: X, 99e-6: C, 101e-6: D, 220e-6: D, 221e-6: C, 470e-6: C, 471e-6: X}
BEADS = {8e-6: C, 7.9e-6: X, 9.9e-6: C, 10.1e-6: D, 22e-6: D, 22.1e-6: C, 47e-6: C, 47.1e-6: X}
NANO = {80e-9: C, 79e-9: X, 99e-9: C, 101e-9: D, 220e-9: D, 221e-9: C, 470e-9: C, 471e-9: X}

# rule, kind, kind of the candidate, wanted part, attribute, {value of the candidate: result of the rule}
LIMITS = [
    *(("AE1", "electrolytic", other, CAN, "capacitance", MICRO) for other in CAPACITORS),
    *(("TA1", "tantalum", other, BEAD, "capacitance", BEADS) for other in CAPACITORS),
    ("CE2", "ceramic", "ceramic", CHIP, "capacitance", NANO),
    ("AE3", "electrolytic", "tantalum", CAN, "voltage_dc", {24.0: X, 25.0: E, 50.0: D}),
    ("AE3", "electrolytic", "ceramic", CAN, "voltage_dc", {24.0: X, 25.0: E, 50.0: D}),
    ("AE3", "electrolytic", "film", CAN, "voltage_ac", {17.8: X, 17.9: D}),
    ("AE9", "electrolytic", "electrolytic", {**CAN, "diameter": 10.0}, "diameter", {9.0: D, 10.1: R, 12.5: R, 12.6: X}),
    ("AE10", "electrolytic", "electrolytic", {**CAN, "height_limit": 12.0}, "height", {12.0: E, 12.1: X}),
    ("AE15", "electrolytic", "tantalum", CAN, "voltage_dc", {49.0: U, 50.0: D}),
    ("AE15", "electrolytic", "tantalum", {**CAN, "style": "radial"}, "style", {"radial": E, "smd": R}),
    ("AE7", "electrolytic", "tantalum", {**CAN, "esr": 0.2}, "esr", {0.3: C, 0.1: D}),
    ("TA2", "tantalum", "electrolytic", BEAD, "voltage_dc", {15.0: X, 25.0: D}),
    ("TA2", "tantalum", "film", BEAD, "voltage_ac", {11.4: X, 11.5: D}),
    ("TA4", "tantalum", "tantalum", {**BEAD, "style": "smd"}, "style", {"smd": E, "radial": R}),
    ("TA4", "tantalum", "tantalum", {**BEAD, "pitch": 5.0}, "pitch", {5.0: E, 2.5: R}),
    ("TA4", "tantalum", "electrolytic", {**BEAD, "style": "radial"}, "style", {"radial": E, "smd": R}),
    ("TA4", "tantalum", "electrolytic", {**BEAD, "pitch": 5.0}, "pitch", {5.0: E, 2.5: R}),
    ("TA9", "tantalum", "ceramic", {**BEAD, "dielectric": "X7R"}, "voltage_dc", {15.0: X, 31.0: C, 32.0: D}),
    ("TA9", "tantalum", "ceramic", BEAD, "dielectric", {"X7R": C, "X5S": C, "X5T": X, "Y5V": X}),
    ("CE3", "ceramic", "ceramic", CHIP, "voltage_ac", {35.0: X, 36.0: D}),
    ("CE7", "ceramic", "ceramic", {**CHIP, "pitch": 5.0}, "pitch", {5.0: E, 2.5: R}),
    ("FI1", "film", "film", FILM, "capacitance", {94.9e-9: X, 95e-9: D, 105e-9: D, 106e-9: C, 150e-9: C, 151e-9: X}),
    ("FI1", "film", "ceramic", FILM, "capacitance", {94.9e-9: X, 95e-9: D, 105e-9: D, 106e-9: C, 150e-9: C, 151e-9: X}),
    ("FI1", "film", "film", {**FILM, "tolerance": 10.0}, "capacitance", {89e-9: X, 90e-9: D, 110e-9: D, 111e-9: C}),
    ("FI2", "film", "ceramic", FILM, "voltage_ac", {178.0: X, 179.0: D}),
    ("FI3", "film", "film", {**FILM, "dielectric": "PP"}, "dielectric", {"PP": E, "PS": C, "PET": C}),
    ("FI3", "film", "film", {**FILM, "dielectric": "PET"}, "dielectric", {"PP": D, "C0G": D, "PPS": D, "PS": C}),
    ("FI3", "film", "film", {**FILM, "dielectric": "PS"}, "dielectric", {"PP": D, "C0G": D, "PET": C}),
    ("FI4", "film", "ceramic", {**FILM, "tolerance": 5.0}, "tolerance", {5.0: E, 2.0: D, 10.0: C}),
    *(
        (rule, kind, other, {**base, name: 10.0}, name, {10.0: E, 9.0: smaller, 11.0: R})
        for rule, kind, base, other in (
            ("FI5", "film", FILM, "film"), ("FI5", "film", FILM, "ceramic"), ("SC6", "safety-cap", X2, "safety-cap")
        )
        for name, smaller in (("pitch", R), ("length", D), ("diameter", D), ("height", D))
    ),
    *(
        (rule, kind, other, {**base, "style": "radial"}, "style", {"radial": E, "axial": R})
        for rule, kind, other, base in (
            ("FI5", "film", "film", FILM), ("FI5", "film", "ceramic", FILM), ("SC6", "safety-cap", "safety-cap", X2)
        )
    ),
    ("SC4", "safety-cap", "safety-cap", X2, "capacitance", {79e-9: X, 80e-9: C, 150e-9: C, 151e-9: X}),
    ("SC5", "safety-cap", "safety-cap", {**X2, "safety_class": "Y2"}, "capacitance", {49e-9: X, 50e-9: C, 101e-9: X}),
    ("RE1", "resistor", "resistor", {"resistance": 1000.0}, "resistance", {1001.5: C, 1100.0: C, 1101.0: X, 899.0: X}),
    ("RE1", "resistor", "resistor", {"resistance": 1000.0, "tolerance": 5.0}, "resistance", {1049.0: C}),
    ("RE8", "resistor", "resistor", {"resistance": 1.0, "composition": "carbon composition"}, "composition",
     {"film": C, "carbon film": C, "metal film": C, "metal oxide": C, "carbon composition": E}),
    ("RE11", "resistor", "resistor", {"resistance": 1.0, "size": "0805"}, "size", {"0805": E, "0603": R}),
    ("RE11", "resistor", "resistor", {"resistance": 1.0, "style": "axial"}, "style", {"axial": E, "chip": R}),
    ("RE12", "resistor", "resistor", {"resistance": 1.0, "pins": 9.0}, "pins", {9.0: E, 8.0: X}),
    ("RE12", "resistor", "resistor", {"resistance": 1.0, "circuit": "bussed"}, "circuit", {"bussed": E, "isolated": X}),
    ("PO1", "potentiometer", "potentiometer", {"resistance": 10e3}, "resistance",
     {4.9e3: X, 5e3: C, 8.9e3: C, 9e3: D, 11e3: D, 11.1e3: C, 15e3: C, 15.1e3: X}),
    ("PO4", "potentiometer", "potentiometer", {"resistance": 10e3, "gangs": 10.0}, "gangs", {9.0: X, 10.0: E, 11.0: R}),
    ("FU1", "fuse", "fuse", FUSE, "current", {0.01: C, 0.99: C, 1.0: E, 1.01: X, 1.09: X}),
    ("FU5", "fuse", "fuse", FUSE, "body", {"5x20": E, "6.3x32": R}),
    ("FU7", "fuse", "fuse", {**FUSE, "system": "IEC"}, "system", {"IEC": E, "UL": C, "strange": X}),
    ("TF1", "thermal-fuse", "thermal-fuse", {"temperature": 130.0}, "temperature", {1.0: C, 129.0: C, 131.0: X}),
    ("PT1", "ptc", "ptc", {"hold_current": 0.5}, "hold_current", {0.01: C, 0.49: C, 0.51: X, 0.54: X}),
    ("DI4", "diode", "diode", {**DIODE, "reverse_voltage": 60.0}, "recovery", {"schottky": D}),
    ("DI4", "diode", "diode", {**DIODE, "reverse_voltage": 61.0}, "recovery", {"schottky": C}),
    ("DI6", "diode", "diode", ZENER, "zener_voltage", {4.89: X, 4.9: D, 5.1: D, 5.11: X}),
    ("DI8", "diode", "diode", {**DIODE, "bridge": True}, "bridge", {True: E, None: X}),
    ("DI8", "diode", "diode", DIODE, "bridge", {True: X}),
    ("TR5", "transistor", "transistor", {**NPN, "gain": 100.0}, "gain", {49.0: C, 50.0: D, 200.0: D, 201.0: C}),
    ("TR8", "transistor", "transistor", {**NPN, "isolated_tab": True}, "isolated_tab", {True: E, None: R}),
    ("TR8", "transistor", "transistor", NPN, "isolated_tab", {True: R}),
    ("RG1", "regulator", "regulator", FIVE, "output_voltage", {4.89: X, 4.9: D, 5.1: D, 5.11: X, -5.0: X}),
    ("RG9", "regulator", "regulator", {**FIVE, "switching": True}, "switching", {True: E, None: D}),
    ("RG9", "regulator", "regulator", FIVE, "switching", {True: C}),
    ("BA3", "battery", "battery", COIN, "voltage", {2.89: X, 2.9: D, 3.1: D, 3.11: X}),
    ("BA5", "battery", "battery", {**COIN, "terminals": "tabs", "pin_count": 3.0}, "pin_count", {3.0: E, 2.0: R}),
    ("BA9", "battery", "battery", {**PACK, "plug_polarity": "red-1"}, "plug_polarity",
     {"red-1": E, "red-2": X, None: U}),
    ("BA9", "battery", "battery", {**PACK, "terminals": "plug", "plug_polarity": "red-1"}, "plug_polarity",
     {"red-1": E, "red-2": X, None: U}),
    ("SW1", "switch", "switch", {**TACT, "shorting": True}, "shorting", {True: E, None: X}),
    ("SW3", "switch", "switch", {**TACT, "voltage_dc": 24.0}, "voltage_dc", {24.0: E, 50.0: D, 12.0: X}),
    ("SW5", "switch", "switch", {**TACT, "pins": 4.0}, "pins", {4.0: E, 2.0: R}),
    ("SW6", "switch", "switch", {**TACT, "actuator_height": 5.0}, "actuator_height",
     {5.3: D, 4.7: D, 5.31: R, 4.69: R}),
    ("SW7", "switch", "switch", {**TACT, "force": 2.0}, "force", {0.99: C, 1.0: D, 4.0: D, 4.01: C}),
    ("SW8", "switch", "switch", TACT, "illuminated", {True: C}),
    ("CN2", "connector", "connector", {**PLUG, "positions": 3.0}, "pitch", {2.5: E, 2.54: C, 2.0: X}),
    ("CN2", "connector", "connector", PLUG, "pitch", {2.54: X}),
    ("CN4", "connector", "connector", {**PLUG, "latch": "side"}, "latch", {"side": E, "top": X}),
    ("CN5", "connector", "connector", {**PLUG, "voltage": 50.0}, "voltage", {50.0: E, 100.0: D, 25.0: X}),
    ("FF4", "ffc", "ffc", {**RIBBON, "length": 100.0}, "length", {99.0: X, 150.0: D, 151.0: C}),
    ("FF6", "ffc", "ffc", RIBBON, "shielded", {True: C}),
    ("BE1", "belt", "belt", BELT, "circumference",
     {89.9: X, 90.0: C, 96.9: C, 97.0: D, 101.0: D, 101.1: C, 103.0: C, 103.1: X}),
    ("BE2", "belt", "belt", {**BELT, "basis": "measured"}, "circumference",
     {89.9: X, 90.0: C, 91.9: C, 92.0: D, 98.0: D, 98.1: C, 99.8: C, 100.2: X}),
    ("BE3", "belt", "belt", {**BELT, "basis": "path"}, "circumference",
     {89.9: X, 90.0: C, 91.9: C, 92.0: D, 96.0: D, 96.1: C, 98.0: C, 98.1: X}),
    ("BE4", "belt", "belt", BELT, "section", {"square": E, "round": C, "flat": X}),
    ("BE4", "belt", "belt", {**BELT, "section": "round"}, "section", {"round": E, "square": C, "flat": X}),
    ("BE5", "belt", "belt", BELT, "thickness", {1.0: D, 1.4: D, 1.41: C, 1.7: C, 1.71: X, 0.7: C, 0.69: X}),
    ("BE6", "belt", "belt", FLAT, "width", {2.9: X, 3.0: C, 3.9: C, 4.0: D, 5.1: X}),
    ("BE6", "belt", "belt", FLAT, "thickness", {0.5: D, 0.7: D, 0.71: C, 0.8: C, 0.81: X}),
    ("RF1", "foot", "foot", FOOT, "height", {9.5: D, 10.5: D, 10.51: C, 9.49: C}),
    ("RF2", "foot", "foot", {**FOOT, "diameter": 15.0}, "diameter", {14.0: D, 16.0: D, 16.01: C, 13.99: C}),
    ("OP2", "pickup", "pickup", {"model_code": "K", "with_mechanism": True}, "with_mechanism", {True: E, None: R}),
    ("MO4", "motor", "motor", {**MOTOR, "speed": 2400.0}, "speed", {2400.0: E, 3000.0: X, None: U}),
    ("MO4", "motor", "motor", GOVERNED, "speed", {2400.0: E, 3000.0: X, None: U}),
    ("XT1", "crystal", "crystal", {"frequency": 3579545.0}, "frequency", {3.58e6: D, 3.6e6: X, 3579546.0: X}),
    ("XT1", "crystal", "crystal", {"frequency": 5.001e6}, "frequency", {5e6: D}),
    ("XT1", "crystal", "crystal", {"frequency": 4.9989e6}, "frequency", {5e6: X}),
    ("XT1", "crystal", "crystal", {"frequency": 5.0011e6}, "frequency", {5e6: X}),
    ("XT5", "crystal", "crystal", {**QUARTZ, "package": "HC-49/U"}, "package", {"HC-49S": D, "HC-49": D, "SMD": R}),
    ("XT5", "crystal", "crystal", {**QUARTZ, "package": "HC-49"}, "package",
     {"HC-49/US": D, "HC-49S": D, "HC-49/U": D, "SMD": R}),
    ("XT5", "crystal", "crystal", {**QUARTZ, "package": "HC-49/US"}, "package", {"HC-49S": D, "HC-49": R}),
    ("XT5", "crystal", "crystal", {**QUARTZ, "package": "HC-49S"}, "package", {"HC-49/US": D, "HC-49": R}),
    ("XT3", "crystal", "crystal", {**QUARTZ, "series": True}, "series", {True: E, None: C}),
    ("XT3", "crystal", "crystal", {**QUARTZ, "load": 20e-12}, "series", {True: C}),
    ("EP2", "psu", "psu", SUPPLY, "voltage", {8.99: X, 9.0: C, 9.49: C, 9.5: D, 10.5: D, 10.51: X}),
    ("EP5", "psu", "psu", SUPPLY, "plug_outer", {5.5: E, 5.0: R}),
    ("EP5", "psu", "psu", {**SUPPLY, "plug_length": 9.5}, "plug_length", {9.5: E, 12.0: R}),
    ("EP9", "psu", "psu", {**SUPPLY, "input_voltage": "230 V"}, "input_voltage",
     {"210 V": D, "209 V": X, "255 V": D, "256 V": X, "100-240 V": D}),
    ("EP10", "psu", "psu", SUPPLY, "earthed", {True: C}),
    ("RY2", "listed", "listed", {**LISTED, "what": "relay", "voltage_dc": 30.0}, "voltage_dc",
     {30.0: E, 60.0: D, 24.0: X}),
    ("RY3", "listed", "listed", {**LISTED, "what": "relay", "throws": 2.0}, "throws", {2.0: E, 1.0: X}),
    ("LP3", "listed", "listed", {**LAMP, "power": 1.0}, "power", {0.79: X, 0.8: D, 1.0: E, 1.05: X}),
    ("RO1", "listed", "listed", {**LISTED, "what": "roller", "diameter": 13.0}, "diameter",
     {13.1: D, 13.11: X, 12.89: X}),
]  # fmt: skip


def part(kind, stated):
    held = {name: Value(value) for name, value in stated.items() if value is not None and name != "part_number"}
    return PartSpec(kind, held, part_number=stated.get("part_number", ""))


@pytest.mark.parametrize(
    ("rule", "kind", "other", "wanted", "name", "value", "grade"),
    [(*row[:5], value, grade) for row in LIMITS for value, grade in row[5].items()],
)
def test_limit(rule, kind, other, wanted, name, value, grade):
    shared = {key: held for key, held in wanted.items() if not (name == "voltage_ac" and key == "voltage_dc")}
    reasons = fit(part(kind, wanted), part(other, {**shared, name: value})).reasons
    found = [reason for reason in reasons if reason.rule == rule and reason.attribute in {name, _shown(name)}]
    assert [reason.result for reason in found] == [grade] or max(found, key=_rank).result is grade, reasons


def _rank(reason):
    return reason.result.rank


def _shown(name):
    """The attribute that a function names when it speaks of another one."""
    return {"voltage_ac": "voltage_dc", "dielectric": "voltage_dc"}.get(name, name)


STARRED = {
    "electrolytic": (CAN, ("capacitance", "voltage_dc")),
    "tantalum": (BEAD, ("capacitance", "voltage_dc")),
    "ceramic": (CHIP, ("capacitance", "voltage_dc")),
    "film": (FILM, ("capacitance", "voltage_dc")),
    "safety-cap": (X2, ("capacitance", "voltage_ac")),
    "resistor": ({"resistance": 1000.0}, ("resistance",)),
    "potentiometer": ({"resistance": 1000.0, "taper": "lin"}, ("resistance", "taper")),
    "fuse": (FUSE, tuple(FUSE)),
    "thermal-fuse": (
        {"temperature": 130.0, "current": 1.0, "voltage_ac": 250.0},
        ("temperature", "current", "voltage_ac"),
    ),
    "ptc": ({"hold_current": 0.5, "voltage_dc": 30.0}, ("hold_current", "voltage_dc")),
    "diode": (DIODE, tuple(DIODE)),
    "transistor": (NPN, tuple(NPN)),
    "regulator": (FIVE, tuple(FIVE)),
    "battery": (COIN, ("chemistry", "voltage", "diameter", "height")),
    "switch": (TACT, tuple(TACT)),
    "connector": (PLUG, tuple(PLUG)),
    "ffc": (RIBBON, tuple(RIBBON)),
    "belt": (BELT, tuple(BELT)),
    "foot": (FOOT, tuple(FOOT)),
    "pickup": ({"model_code": "K"}, ("model_code",)),
    "motor": (MOTOR, tuple(MOTOR)),
    "crystal": (QUARTZ, tuple(QUARTZ)),
    "psu": (SUPPLY, tuple(SUPPLY)),
    "listed": (LISTED, tuple(LISTED)),
}
"""A part that states just what must be known of its kind, and what that is."""
ALSO_STARRED = [
    ("electrolytic", "timing", CAN, "capacitance"),
    ("tantalum", "timing", BEAD, "capacitance"),
    ("diode", None, ZENER, "power"),
    ("belt", None, FLAT, "width"),
    ("battery", None, {**PACK, "terminals": "plug", "plug_polarity": "red-1"}, "plug_polarity"),
    ("battery", None, {**PACK, "voltage": 4.8, "cells": 4.0, "chemistry": "nimh"}, "voltage"),
    ("switch", "mains", {**TACT, "voltage_ac": 250.0, "current": 1.0}, "voltage_ac"),
    ("switch", "mains", {**TACT, "voltage_ac": 250.0, "current": 1.0}, "current"),
    ("motor", None, GOVERNED, "speed"),
    ("connector", None, {**PLUG, "both_halves": True}, "family"),
    ("transistor", None, {**NPN, "polarity": "N-JFET", "idss_class": "2-6 mA"}, "idss_class"),
]


@pytest.mark.parametrize(
    ("kind", "role", "whole", "name"),
    [*((kind, None, whole, name) for kind, (whole, names) in STARRED.items() for name in names), *ALSO_STARRED],
)
def test_what_must_be_known_is_unknown_when_either_side_leaves_it_out(kind, role, whole, name):
    full, lacking = part(kind, whole), part(kind, {**whole, name: None, "part_number": ""})
    assert fit(full, full, role).grade is E
    assert fit(lacking, full, role).grade is U
    assert fit(full, lacking, role).grade is U


def test_every_kind_says_what_must_be_known():
    assert set(STARRED) == set(FAMILIES)


# wanted kind, candidate kind, wanted, candidate, role, grade: what only another kind's rows decide
ACROSS = [
    *(("electrolytic", other, CAN, {**CAN, "capacitance": 110e-6, "voltage_dc": 50.0, "dielectric": "C0G"}, "timing", X)
      for other in ("tantalum", "film", "ceramic")),
    *(("tantalum", other, BEAD, {**BEAD, "capacitance": 11e-6, "voltage_dc": 50.0, "dielectric": "C0G"}, "timing", X)
      for other in ("electrolytic", "film", "ceramic")),
    *(("electrolytic", other, {**CAN, "capacitance": None}, {**CAN, "voltage_dc": 50.0, "dielectric": "X7R"}, role, U)
      for other, role in (("tantalum", None), ("tantalum", "timing"), ("film", None), ("film", "timing"),
                          ("ceramic", None))),
    *(("tantalum", other, {**BEAD, "capacitance": None}, {**BEAD, "voltage_dc": 50.0, "dielectric": "X7R"}, role, U)
      for other in ("electrolytic", "film", "ceramic") for role in (None, "timing")),
    ("electrolytic", "tantalum", {**CAN, "voltage_dc": None}, {**CAN, "voltage_dc": 50.0}, None, U),
    ("electrolytic", "ceramic", {**CAN, "voltage_dc": None}, {**CAN, "dielectric": "X7R"}, None, U),
    ("electrolytic", "tantalum", {**CAN, "circuit_volts": 5.0}, {**CAN, "voltage_dc": 16.0}, None, X),
    ("electrolytic", "tantalum", {**CAN, "bipolar": True}, {**CAN, "voltage_dc": 50.0}, None, X),
    ("tantalum", "electrolytic", {**BEAD, "voltage_dc": None}, BEAD, None, U),
    ("film", "ceramic", {**FILM, "capacitance": None}, {**FILM, "dielectric": "C0G"}, None, U),
    ("film", "ceramic", {**FILM, "voltage_dc": None}, {**FILM, "dielectric": "C0G"}, None, U),
    *(("safety-cap", other, X2, {"capacitance": 100e-9, "voltage_dc": 2000.0}, None, X)
      for other in ("film", "ceramic", "electrolytic", "tantalum")),
    *(("fuse", other, FUSE, {"current": 1.0}, None, X)
      for other in ("thermal-fuse", "switch", "ptc", "wire", "resistor")),
    ("ptc", "fuse", {"hold_current": 0.5}, {"current": 0.5}, None, X),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "other", "wanted", "candidate", "role", "grade"), ACROSS)
def test_another_kind(kind, other, wanted, candidate, role, grade):
    verdict = fit(part(kind, wanted), part(other, candidate), role)
    assert verdict.grade is grade, verdict
    if kind in {"safety-cap", "fuse", "ptc"}:
        assert verdict.locked
        assert verdict.reasons[0].rule in {"SC2", "FU9", "PT6"}


# what a rule of one sort of part must not say of another
QUIET = [
    ("BE5", "belt", FLAT, {}),
    ("BE6", "belt", BELT, {"width": 3.0}),
    ("DI1", "diode", {**ZENER, "reverse_voltage": 10.0}, {"reverse_voltage": 5.0}),
    ("DI2", "diode", {**ZENER, "current": 1.0}, {"current": 0.5}),
    ("CN1", "connector", {**PLUG, "both_halves": True}, {}),
    *(
        (rule, "listed", {**LISTED, "what": "other", **stated}, other)
        for rule, stated, other in (
            ("RY1", {"coil_voltage": 12.0}, {"coil_voltage": 24.0}),
            ("RY1", {"coil_current": "dc"}, {"coil_current": "ac"}),
            ("RY2", {"contact_current": 5.0}, {"contact_current": 1.0}),
            ("RY3", {"poles": 2.0}, {"poles": 1.0}),
            ("RY4", {"footprint": "K"}, {"footprint": "L"}),
            ("LP1", {"voltage": 6.0}, {"voltage": 12.0}),
            ("LP2", {"current": 0.25}, {"current": 1.0}),
            ("LP3", {"power": 1.0}, {"power": 2.0}),
            ("LP4", {}, {"led": True}),
            ("LP5", {"footprint": "E10"}, {"footprint": "BA9S"}),
            ("LD1", {"colour": "red"}, {"colour": "green"}),
            ("LD2", {"diameter": 5.0}, {"diameter": 3.0}),
            ("LD3", {"voltage": 2.0}, {"voltage": 12.0}),
            ("LD4", {"current": 0.02}, {"current": 0.01}),
            ("RO1", {"diameter": 13.0}, {"diameter": 14.0}),
            ("RO2", {"bore": 2.0}, {"bore": 3.0}),
            ("SK1", {"family": "K"}, {"family": "L"}),
            ("SK2", {"height": 12.0}, {"height": 13.0}),
            ("SK3", {"resistance": 1e4}, {"resistance": 5e4}),
            ("SK4", {}, {"magnetic": True}),
            ("ST1", {"family": "K"}, {"family": "L"}),
            ("ST2", {"tip": "elliptical"}, {"tip": "conical"}),
            ("BH1", {"cell": "AA"}, {"cell": "AAA"}),
        )
    ),
]


@pytest.mark.parametrize(("rule", "kind", "wanted", "change"), QUIET)
def test_a_row_speaks_of_its_own_sort_only(rule, kind, wanted, change):
    reasons = fit(part(kind, wanted), part(kind, {**wanted, **change})).reasons
    same = {(reason.rule, reason.result) for reason in reasons if reason.rule == rule}
    assert same <= {(rule, E), (rule, R)} if rule == "CN1" else not same, reasons
