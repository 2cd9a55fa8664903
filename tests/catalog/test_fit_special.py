"""Resistors, fuses, semiconductors, crystals, contacts and mechanical parts where more than one comparison decides."""

import pytest

from catalog.fit import fit
from catalog.rules import Grade, Pair
from catalog.spec import PartSpec, Value

E, D, R, C, U, X = tuple(Grade)
OHMS = {"resistance": 100.0, "power": 0.5}
FUSIBLE = {**OHMS, "fusible": True}
POT = {"resistance": 1e4, "taper": "lin"}
LETTER = {"resistance": 1e4, "taper_letter": "A", "taper_region": "europe"}
LINK = {"current": 1.0, "speed": "T", "voltage_ac": 250.0, "body": "5x20"}
DIODE = {"reverse_voltage": 50.0, "current": 1.0}
NPN = {"polarity": "NPN", "voltage": 40.0, "current": 0.2}
JFET = {**NPN, "polarity": "N-JFET", "idss_class": "2-6 mA"}
FIVE = {"output_voltage": 5.0, "current": 1.0, "pin_order": "IN-GND-OUT"}
SPAN = {**FIVE, "output_voltage": 3.0, "output_voltage_max": 30.0, "adjustable": True}
QUARTZ = {"frequency": 4e6}
TACT = {"poles": 1.0, "throws": 1.0, "normally": "NO", "action": "momentary"}
PLUG = {"family": "K", "pitch": 2.54, "positions": 3.0, "gender": "female"}
BELT = {"circumference": 100.0, "section": "square", "thickness": 1.2}
FOOT = {"height": 10.0}
MOTOR = {"voltage": 9.0, "rotation": "CW", "plain": True, "diameter": 24.0}
SUPPLY = {"output": "DC", "voltage": 9.0, "current": 0.5, "polarity": "N", "plug_outer": 5.5, "plug_inner": 2.1}
HOME = {**SUPPLY, "input_voltage": "230 V"}

CASES = [
    ("resistor", FUSIBLE, FUSIBLE, E),
    ("resistor", FUSIBLE, {**FUSIBLE, "resistance": 101.0}, X),
    ("resistor", FUSIBLE, {**FUSIBLE, "resistance": None}, U),
    ("resistor", FUSIBLE, {**FUSIBLE, "power": None}, U),
    ("resistor", {**FUSIBLE, "power": None}, FUSIBLE, U),
    ("resistor", {**FUSIBLE, "resistance": None}, FUSIBLE, U),
    ("resistor", FUSIBLE, {**FUSIBLE, "power": 0.6}, X),
    ("resistor", OHMS, {**OHMS, "resistance": 0.0}, X),
    ("resistor", {"resistance": 0.0}, {"resistance": 0.0}, E),
    ("resistor", OHMS, {**OHMS, "resistance": 104.0, "tolerance": 0.9}, D),
    ("resistor", OHMS, {**OHMS, "resistance": 104.0, "tolerance": 1.0}, C),
    ("resistor", {**OHMS, "tolerance": 0.5}, {**OHMS, "resistance": 100.4, "tolerance": 0.0}, D),
    ("resistor", {**OHMS, "non_inductive": True}, {**OHMS, "non_inductive": True}, E),
    ("resistor", {**OHMS, "non_inductive": True}, {**OHMS, "composition": "wirewound", "non_inductive": True}, E),
    ("potentiometer", LETTER, LETTER, E),
    ("potentiometer", LETTER, {**LETTER, "taper_region": "asia"}, C),
    ("potentiometer", {**LETTER, "taper_region": None}, POT, U),
    ("potentiometer", POT, {**POT, "taper": "linear"}, E),
    ("potentiometer", POT, {**POT, "taper": "audio"}, C),
    ("potentiometer", {**POT, "taper": "log"}, {**POT, "taper": "audio"}, E),
    ("potentiometer", {**POT, "taper": "reverse log"}, {**POT, "taper": None, "taper_letter": "F"}, E),
    ("potentiometer", {**LETTER, "taper_letter": "B"}, {**POT, "taper": "log"}, E),
    ("potentiometer", {**LETTER, "taper_letter": "B", "taper_region": "asia"}, POT, E),
    ("fuse", LINK, {**LINK, "voltage_ac": 249.9}, E),
    ("fuse", LINK, {**LINK, "voltage_ac": 125.0, "voltage_dc": 500.0}, X),
    ("fuse", LINK, {**LINK, "voltage_ac": 500.0}, D),
    ("fuse", LINK, {**LINK, "voltage_ac": None, "voltage_dc": 500.0}, U),
    ("diode", DIODE, {**DIODE, "recovery": "schottky"}, D),
    ("diode", {**DIODE, "recovery": "schottky"}, {**DIODE, "recovery": "schottky"}, E),
    ("diode", {**DIODE, "recovery": "schottky", "reverse_voltage": 100.0},
     {**DIODE, "recovery": "schottky", "reverse_voltage": 100.0}, E),
    ("diode", DIODE, {**DIODE, "material": "germanium"}, C),
    ("diode", {**DIODE, "material": "silicon"}, {**DIODE, "material": "germanium"}, C),
    ("diode", {**DIODE, "material": "germanium"}, DIODE, X),
    ("diode", {**DIODE, "material": "germanium"}, {**DIODE, "material": "silicon"}, X),
    ("diode", {**DIODE, "material": "germanium"}, {**DIODE, "material": "germanium"}, E),
    ("diode", DIODE, {**DIODE, "material": "silicon"}, E),
    ("diode", {**DIODE, "material": "silicon"}, DIODE, E),
    ("transistor", {**NPN, "pin_order": "E-B-C"}, {**NPN, "pin_order": "e b c"}, E),
    ("transistor", {**NPN, "pin_order": "E-B-C"}, {**NPN, "pin_order": "C-B-E"}, R),
    ("transistor", NPN, {**NPN, "pin_order": "C-B-E"}, E),
    ("transistor", {**NPN, "type_number": "2N0001"}, {**NPN, "type_number": "2N0002"}, D),
    ("transistor", {**NPN, "type_number": "2N0001"}, {**NPN, "type_number": "2N 0001"}, E),
    ("transistor", {**NPN, "type_number": "2N0001"}, {**NPN, "pin_order": "C-B-E"}, D),
    ("transistor", JFET, JFET, E),
    ("transistor", JFET, {**JFET, "idss_class": "6-9 mA"}, D),
    ("transistor", JFET, {**JFET, "idss_class": "6.1-9 mA"}, X),
    ("transistor", JFET, {**JFET, "idss_class": "1-1.9 mA"}, X),
    ("transistor", JFET, {**JFET, "idss_class": "1-2 mA"}, D),
    ("transistor", JFET, {**JFET, "idss_class": "green"}, U),
    ("transistor", {**JFET, "idss_class": "green"}, JFET, U),
    ("transistor", {**JFET, "idss_class": "green"}, {**JFET, "idss_class": "Green"}, E),
    ("transistor", JFET, {**JFET, "idss_class": None}, U),
    ("transistor", {**JFET, "idss_class": None, "type_number": "2N0001"},
     {**JFET, "idss_class": None, "type_number": "2N0001"}, E),
    ("transistor", {**JFET, "type_number": "2N0001"}, {**JFET, "idss_class": None, "type_number": "2N0001"}, U),
    ("regulator", FIVE, {**SPAN, "output_voltage": 5.1}, R),
    ("regulator", FIVE, {**SPAN, "output_voltage": 5.2}, X),
    ("regulator", FIVE, {**SPAN, "output_voltage_max": 4.9}, R),
    ("regulator", FIVE, {**SPAN, "output_voltage_max": 4.8}, X),
    ("regulator", FIVE, {**SPAN, "output_voltage_max": None}, U),
    ("regulator", SPAN, SPAN, E),
    ("regulator", SPAN, {**SPAN, "output_voltage_max": 40.0}, D),
    ("regulator", SPAN, {**SPAN, "output_voltage_max": 20.0}, X),
    ("regulator", SPAN, {**SPAN, "output_voltage": 4.0}, X),
    ("regulator", SPAN, {**FIVE, "output_voltage": 3.0}, X),
    ("regulator", {**FIVE, "output_voltage": -5.0}, {**SPAN, "output_voltage": -1.2, "output_voltage_max": -37.0}, R),
    ("regulator", FIVE, {**SPAN, "output_voltage": -1.2, "output_voltage_max": -37.0}, X),
    ("regulator", {**FIVE, "output_voltage": None, "type_number": "7805"},
     {**FIVE, "output_voltage": None, "type_number": "7805"}, E),
    ("regulator", {**FIVE, "type_number": "7805"}, {**FIVE, "output_voltage": None, "type_number": "7805"}, U),
    ("regulator", {**FIVE, "output_voltage": None, "type_number": "7805"}, {**FIVE, "type_number": "7805"}, U),
    ("regulator", {**FIVE, "headroom": 3.0}, {**FIVE, "dropout": 3.1}, X),
    ("regulator", {**FIVE, "headroom": 3.0}, {**FIVE, "dropout": 3.0}, D),
    ("regulator", {**FIVE, "headroom": 3.0}, FIVE, U),
    ("regulator", {**FIVE, "dropout": 2.0}, FIVE, D),
    ("regulator", {**FIVE, "dropout": 2.0}, {**FIVE, "dropout": 1.0}, D),
    ("regulator", FIVE, {**FIVE, "dropout": 9.0}, E),
    ("regulator", {**FIVE, "ldo": True}, {**FIVE, "ldo": True}, E),
    ("crystal", QUARTZ, {"frequency": 4e6 * (1 + 5e-10)}, E),
    ("crystal", {**QUARTZ, "element": "oscillator"}, QUARTZ, X),
    ("crystal", {**QUARTZ, "element": "oscillator"}, {**QUARTZ, "element": "oscillator module"}, E),
    ("crystal", {**QUARTZ, "element": "ceramic resonator"}, {**QUARTZ, "element": "resonator"}, E),
    ("crystal", {**QUARTZ, "element": "resonator", "timekeeping": True}, QUARTZ, R),
    ("crystal", QUARTZ, {**QUARTZ, "element": "quartz crystal"}, E),
    ("crystal", {"frequency": 0.0}, QUARTZ, X),
    ("switch", TACT, {**TACT, "throws": 2.0}, R),
    ("switch", TACT, {**TACT, "poles": 2.0}, R),
    ("switch", {**TACT, "poles": 2.0}, {**TACT, "throws": 2.0}, X),
    ("switch", {**TACT, "throws": 2.0}, TACT, X),
    ("switch", TACT, {**TACT, "normally": "NC"}, X),
    ("switch", {**TACT, "normally": None}, {**TACT, "throws": 2.0}, R),
    ("switch", {**TACT, "normally": None, "action": "latching"}, {**TACT, "normally": None, "action": "latching"}, E),
    ("switch", TACT, {**TACT, "poles": None}, U),
    ("switch", {**TACT, "throws": None}, TACT, U),
    ("switch", {"form": "tact", "action": "momentary"}, {"form": "Tact", "action": "momentary"}, E),
    ("switch", {"form": "tact", "action": "momentary"}, {"form": "slide", "action": "momentary"}, U),
    ("connector", PLUG, {**PLUG, "pitch": 2.5}, C),
    ("connector", PLUG, {**PLUG, "pitch": 2.52}, X),
    ("connector", {**PLUG, "positions": 3.0}, {**PLUG, "pitch": None}, U),
    ("connector", {**PLUG, "positions": None}, {**PLUG, "pitch": 2.5}, X),
    ("belt", {**BELT, "circumference": None, "inside_diameter": 31.83}, BELT, E),
    ("belt", {**BELT, "inside_diameter": 31.6}, BELT, E),
    ("belt", {**BELT, "inside_diameter": 31.4}, BELT, U),
    ("belt", {**BELT, "inside_diameter": 31.4}, {**BELT, "inside_diameter": 31.4}, U),
    ("belt", {**BELT, "basis": "nominal"}, BELT, E),
    ("belt", {**BELT, "basis": "measured"}, {**BELT, "basis": "measured"}, E),
    ("belt", {**BELT, "basis": "measured"}, {**BELT, "basis": "path", "circumference": 95.0}, D),
    ("belt", {**BELT, "circumference": 0.0}, BELT, X),
    ("foot", {**FOOT, "recess": 15.0}, {**FOOT, "diameter": 15.0}, E),
    ("foot", {**FOOT, "recess": 15.0}, {**FOOT, "diameter": 15.1}, R),
    ("foot", {**FOOT, "recess": 15.0}, FOOT, D),
    ("foot", {**FOOT, "recess": 15.0, "diameter": 14.0}, {**FOOT, "diameter": 12.0}, R),
    ("foot", {**FOOT, "diameter": 14.0}, {**FOOT, "diameter": 12.0}, C),
    ("foot", {**FOOT, "diameter": 14.0}, FOOT, D),
    ("foot", FOOT, {**FOOT, "diameter": 12.0}, E),
    ("motor", MOTOR, {**MOTOR, "rotation": "CCW"}, R),
    ("motor", {**MOTOR, "wires": 2.0}, {**MOTOR, "rotation": "CCW", "wires": 2.0}, R),
    ("motor", MOTOR, {**MOTOR, "plain": None, "governed": True}, X),
    ("motor", MOTOR, {**MOTOR, "governed": True}, U),
    ("motor", {**MOTOR, "governed": True}, {**MOTOR, "governed": True}, U),
    ("motor", {**MOTOR, "shaft": 2.0}, MOTOR, D),
    ("motor", {**MOTOR, "shaft": 2.0}, {**MOTOR, "shaft": 2.3}, R),
    ("motor", {**MOTOR, "length": 30.0}, {**MOTOR, "length": 31.0}, R),
    ("motor", MOTOR, {**MOTOR, "diameter": 25.0}, R),
    ("psu", HOME, {**HOME, "input_voltage": "220-240 V"}, D),
    ("psu", HOME, {**HOME, "input_voltage": "110 V"}, X),
    ("psu", {**HOME, "input_voltage": "100-240 V"}, {**HOME, "input_voltage": "230 V"}, X),
    ("psu", {**HOME, "input_voltage": "100-240 V"}, {**HOME, "input_voltage": "100-240 V 50 Hz"}, D),
    ("psu", HOME, {**HOME, "input_voltage": None}, U),
    ("psu", HOME, {**HOME, "input_voltage": "any"}, U),
    ("psu", {**HOME, "input_voltage": "mains"}, {**HOME, "input_voltage": "230 V"}, D),
    ("psu", SUPPLY, HOME, D),
]  # fmt: skip


def part(kind, stated, number=""):
    return PartSpec(kind, {name: Value(value) for name, value in stated.items() if value is not None}, None, number)


@pytest.mark.parametrize(("kind", "wanted", "candidate", "grade"), CASES)
def test_case(kind, wanted, candidate, grade):
    verdict = fit(part(kind, wanted), part(kind, candidate))
    assert verdict.grade is grade, verdict


@pytest.mark.parametrize(
    ("wanted", "candidate", "mains", "grade"),
    [
        (SUPPLY, HOME, 230.0, D),
        (SUPPLY, HOME, 120.0, X),
        (SUPPLY, SUPPLY, 230.0, U),
        (HOME, {**HOME, "input_voltage": "120 V"}, 120.0, X),
        ({**HOME, "input_voltage": "100-240 V"}, HOME, 230.0, D),
        ({**HOME, "input_voltage": "100-240 V"}, HOME, 120.0, X),
    ],
)
def test_the_mains_of_the_line_goes_before_that_of_the_person(wanted, candidate, mains, grade):
    if wanted is SUPPLY and candidate is SUPPLY:
        candidate = {**SUPPLY, "input_voltage": "mains"}
    assert fit(part("psu", wanted), part("psu", candidate), mains=mains).grade is grade


@pytest.mark.parametrize("change", [{"resistance": 101.0}, {"power": 0.6}, {"fusible": None}])
def test_what_is_no_like_fusible_resistor_is_refused_for_good(change):
    wanted, other = part("resistor", FUSIBLE, "K-1"), part("resistor", {**FUSIBLE, **change}, "K-2")
    verdict = fit(wanted, other, pairs=[Pair("K-1", "K-2")])
    assert verdict.grade is X
    assert [reason.rule for reason in verdict.reasons if reason.locked] == ["RE5"]


@pytest.mark.parametrize(
    ("kind", "wanted", "candidate", "rule", "shown"),
    [
        ("potentiometer", LETTER, POT, "PO2", ("A", "lin")),
        ("fuse", LINK, {**LINK, "voltage_ac": None, "voltage_dc": 60.0}, "FU6", (250.0, 60.0)),
        ("fuse", LINK, {**LINK, "voltage_ac": None}, "FU3", (250.0, None)),
        ("diode", DIODE, {**DIODE, "recovery": "schottky"}, "DI4", ("silicon", "schottky")),
        ("diode", {**DIODE, "recovery": "fast"}, {**DIODE, "recovery": "schottky"}, "DI4", ("fast", "schottky")),
        ("diode", {**DIODE, "material": "germanium"}, DIODE, "DI5", ("germanium", None)),
        ("diode", DIODE, {**DIODE, "material": "germanium"}, "DI5", (None, "germanium")),
        ("psu", SUPPLY, HOME, "EP9", (None, "230 V")),
    ],
)
def test_what_is_shown_is_what_was_compared(kind, wanted, candidate, rule, shown):
    reasons = fit(part(kind, wanted), part(kind, candidate)).reasons
    assert [(one.wanted, one.candidate) for one in reasons if one.rule == rule] == [shown]


def test_volts_of_the_other_sort_are_another_matter_only_for_fuses():
    link = {"temperature": 130.0, "current": 1.0, "voltage_ac": 250.0}
    reasons = fit(
        part("thermal-fuse", link), part("thermal-fuse", {**link, "voltage_ac": None, "voltage_dc": 60.0})
    ).reasons
    assert "FU6" not in {one.rule for one in reasons}
