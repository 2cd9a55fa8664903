"""What the reason of one rule tells: its grade, the two figures that were compared, and the words for them."""

import pytest

from catalog.fit import fit
from catalog.rules import Grade
from catalog.spec import PartSpec, Value

E, D, R, C, U, X = tuple(Grade)
OURS, THEIRS = "not stated for the wanted part", "check: not stated for the candidate"
OHMS = {"resistance": 100.0, "power": 0.5}
SAFE = {**OHMS, "fusible": True}
QUIET = {**OHMS, "non_inductive": True}
POT = {"resistance": 1e4, "taper": "lin"}
LETTER = {"resistance": 1e4, "taper_letter": "A"}
DIODE = {"reverse_voltage": 50.0, "current": 1.0}
NPN = {"polarity": "NPN", "voltage": 40.0, "current": 0.2}
FIVE = {"output_voltage": 5.0, "current": 1.0, "pin_order": "IN-GND-OUT"}
SPAN = {**FIVE, "output_voltage": 3.0, "output_voltage_max": 30.0, "adjustable": True}
NAMELESS = {**FIVE, "output_voltage": None}
QUARTZ = {"frequency": 4e6}
TACT = {"poles": 1.0, "throws": 1.0, "normally": "NO", "action": "momentary"}
FORM = {"form": "tact", "action": "momentary"}
PLUG = {"family": "K", "pitch": 2.54, "positions": 3.0, "gender": "female"}
BELT = {"circumference": 100.0, "section": "square", "thickness": 1.2}
ROUND = {**BELT, "circumference": None, "inside_diameter": 31.8}
FOOT = {"height": 10.0}
MOTOR = {"voltage": 9.0, "rotation": "CW", "plain": True, "diameter": 24.0}
BACK = {**MOTOR, "rotation": "CCW"}
SUPPLY = {"output": "DC", "voltage": 9.0, "current": 0.5, "polarity": "N", "plug_outer": 5.5, "plug_inner": 2.1}
HOME = {**SUPPLY, "input_voltage": "230 V"}
AA = {"chemistry": "alkaline", "voltage": 1.5, "diameter": 14.5, "height": 50.5}
STOUT = {"chemistry": "alkaline", "voltage": 1.5, "diameter": 11.0, "height": 11.0}
PACK = {"chemistry": "alkaline", "voltage": 3.0, "cells": 2.0}
COIN = {"chemistry": "lithium-manganese-dioxide", "voltage": 3.0, "diameter": 20.0, "height": 3.2}
ANY = {"voltage": 1.5, "rechargeable": True, "charging_circuit": False}
CAN = {"capacitance": 100e-6, "voltage_dc": 25.0}
BEAD = {"capacitance": 10e-6, "voltage_dc": 16.0}
SOLID = {**BEAD, "polymer": True}
FILM = {"capacitance": 100e-9, "voltage_dc": 250.0}
BOTH = {**FILM, "voltage_ac": 160.0}
CHIP = {"capacitance": 100e-9, "voltage_dc": 50.0, "dielectric": "X7R", "size": "0805"}
SUPPRESSOR = {"capacitance": 1e-7, "safety_class": "X2", "voltage_ac": 275.0}
Y2 = {"capacitance": 1e-9, "safety_class": "Y2", "voltage_ac": 250.0}
LAMP = {"what": "lamp", "voltage": 6.0, "current": 0.1}

TOLD = [
    # kind, wanted, candidate, rule, attribute, result, shown, words
    ("resistor", OHMS, {**OHMS, "resistance": 104.0, "tolerance": 0.9}, "RE1", (D, 100.0, 104.0), "nominal 4 % off"),
    ("resistor", OHMS, {**OHMS, "resistance": 0.0}, "RE1", (X, 100.0, 0.0), "a link matches only a link"),
    ("resistor", {**OHMS, "resistance": None}, OHMS, "RE1", (U, None, 100.0), OURS),
    ("resistor", OHMS, {**OHMS, "resistance": None}, "RE1", (U, 100.0, None), THEIRS),
    ("resistor", SAFE, OHMS, "RE5", (X, True, None), "the candidate is an ordinary resistor"),
    ("resistor", QUIET, QUIET, "RE9", (E, True, True), "the same"),
    ("resistor", QUIET, OHMS, "RE9", (U, True, None), THEIRS),
    ("potentiometer", LETTER, POT, "PO3", (U, "A", "lin"), "check: a bare letter means lin or log by region"),
    ("potentiometer", {**POT, "taper": None}, POT, "PO2", (U, None, "lin"), "check: taper not stated"),
    ("diode", {**DIODE, "material": "germanium"}, {**DIODE, "material": "silicon"}, "DI5",
     (X, "germanium", "silicon"), "silicon unless germanium is said"),
    ("diode", {**DIODE, "material": "silicon"}, {**DIODE, "material": "germanium"}, "DI5",
     (C, "silicon", "germanium"), "germanium leaks"),
    ("transistor", {**NPN, "type_number": "2N0001"}, {**NPN, "type_number": "2N0002"}, "TR7", (D, None, None),
     "check: pin order not stated on both sides"),
    ("regulator", NAMELESS, FIVE, "RG1", (U, None, 5.0), OURS),
    ("regulator", FIVE, NAMELESS, "RG1", (U, 5.0, None), THEIRS),
    ("regulator", {**NAMELESS, "type_number": "7805"}, {**NAMELESS, "type_number": "7812"}, "RG1", (U, None, None),
     OURS),
    ("regulator", FIVE, SPAN, "RG1", (D, 5.0, 3.0), "inside the range"),
    ("regulator", FIVE, {**SPAN, "output_voltage": 6.0}, "RG1", (X, 5.0, 6.0), "outside the range"),
    ("regulator", FIVE, {**SPAN, "output_voltage": 5.105}, "RG1", (X, 5.0, 5.105), "outside the range"),
    ("regulator", SPAN, {**SPAN, "output_voltage": 3.3}, "RG1", (X, 3.0, 3.3), "outside the range"),
    ("regulator", FIVE, {**FIVE, "output_voltage_max": 12.0}, "RG1", (E, 5.0, 5.0), "the same"),
    ("regulator", FIVE, {**FIVE, "ldo": True}, "RG5", (R, False, True), "check: the output capacitor must suit"),
    ("regulator", {**FIVE, "output_capacitor": "ceramic"}, {**FIVE, "ldo": True, "output_capacitor": "Ceramic"}, "RG5",
     (D, False, True), "the output capacitor suits"),
    ("crystal", {"frequency": 3.58e6}, {"frequency": 3.579545e6}, "XT1", (D, 3.58e6, 3.579545e6),
     "127 ppm apart, a rounding"),
    ("crystal", {"element": "crystal", **QUARTZ}, QUARTZ, "XT6", (E, "crystal", None), "the same"),
    ("switch", TACT, TACT, "SW1", (E, "1 poles, 1 throws NO", "1 poles, 1 throws NO"), "the same"),
    ("switch", TACT, {**TACT, "throws": 2.0, "normally": None}, "SW1",
     (R, "1 poles, 1 throws NO", "1 poles, 2 throws"), ""),
    ("switch", {**TACT, "form": "SPST"}, {**FORM, "normally": "NO"}, "SW1", (U, "SPST NO", "tact"), THEIRS),
    ("switch", {**TACT, "throws": None}, TACT, "SW1", (U, "", "1 poles, 1 throws NO"), OURS),
    ("switch", {**TACT, "form": "tact"}, FORM, "SW1", (U, "tact NO", "tact"), THEIRS),
    ("switch", FORM, {**TACT, "form": "tact", "normally": None}, "SW1", (U, "tact", "tact"), OURS),
    ("connector", {**PLUG, "pitch": None}, PLUG, "CN2", (U, None, 2.54), OURS),
    ("connector", PLUG, {**PLUG, "pitch": None}, "CN2", (U, 2.54, None), THEIRS),
    ("belt", {**BELT, "circumference": None}, BELT, "BE1", (U, None, 100.0), OURS),
    ("belt", BELT, {**BELT, "circumference": None}, "BE1", (U, 100.0, None), THEIRS),
    ("belt", {**BELT, "inside_diameter": 31.514}, BELT, "BE1", (E, 100.0, 100.0), "the same"),
    ("belt", {**BELT, "inside_diameter": 31.497}, BELT, "BE1", (U, None, 100.0), OURS),
    ("belt", ROUND, ROUND, "BE1", (E, 99.9, 99.9), "the same"),
    ("belt", BELT, {**BELT, "circumference": 95.0}, "BE1", (C, 100.0, 95.0), "95 % of the wanted figure"),
    ("belt", BELT, {**BELT, "circumference": 32.75}, "BE1", (X, 100.0, 32.75), "about pi apart"),
    ("belt", BELT, {**BELT, "circumference": 32.82}, "BE1", (X, 100.0, 32.82), "32.82 % of the wanted figure"),
    ("belt", BELT, {**BELT, "circumference": 305.0}, "BE1", (X, 100.0, 305.0), "about pi apart"),
    ("belt", BELT, {**BELT, "circumference": 304.75}, "BE1", (X, 100.0, 304.75), "about pi apart"),
    ("belt", BELT, {**BELT, "circumference": 304.0}, "BE1", (X, 100.0, 304.0), "304 % of the wanted figure"),
    ("foot", {**FOOT, "diameter": 14.0, "recess": 15.0}, FOOT, "RF2", (D, 14.0, None), THEIRS),
    ("foot", {**FOOT, "recess": 15.0}, FOOT, "RF2", (D, 15.0, None), THEIRS),
    ("foot", {**FOOT, "diameter": 14.0, "recess": 15.0}, {**FOOT, "diameter": 14.0}, "RF2", (E, 14.0, 14.0), ""),
    ("foot", {**FOOT, "recess": 15.0}, {**FOOT, "diameter": 15.0}, "RF2", (E, 15.0, 15.0), "the same"),
    ("motor", {**MOTOR, "rotation": None}, MOTOR, "MO2", (U, None, "CW"), OURS),
    ("motor", MOTOR, {**MOTOR, "rotation": None}, "MO2", (U, "CW", None), THEIRS),
    ("motor", MOTOR, BACK, "MO2", (R, "CW", "CCW"), "the other way round"),
    ("motor", MOTOR, {**BACK, "plain": None}, "MO2", (X, "CW", "CCW"), "the other way round"),
    ("motor", {**MOTOR, "governed": True}, BACK, "MO2", (X, "CW", "CCW"), "the other way round"),
    ("motor", {**MOTOR, "wires": 3.0}, {**BACK, "wires": 3.0}, "MO2", (X, "CW", "CCW"), "the other way round"),
    ("motor", MOTOR, MOTOR, "MO3", (E, "plain", "plain"), "the same"),
    ("motor", MOTOR, {**MOTOR, "plain": None, "governed": True}, "MO3", (X, "plain", "governed"), ""),
    ("motor", MOTOR, {**MOTOR, "length": 9.0}, "MO5", (E, 24.0, 24.0), "the same"),
    ("motor", {**MOTOR, "diameter": 0.0}, {**MOTOR, "diameter": 1.0}, "MO5", (R, 0.0, 1.0), "different"),
    ("motor", {**MOTOR, "diameter": 1.0}, {**MOTOR, "diameter": 0.0}, "MO5", (R, 1.0, 0.0), "different"),
    ("psu", HOME, {**HOME, "input_voltage": "220-240 V"}, "EP9", (D, "230 V", "220-240 V"), ""),
    ("psu", {**HOME, "input_voltage": "207 V"}, HOME, "EP9", (D, "207 V", "230 V"), ""),
    ("psu", {**HOME, "input_voltage": "253 V"}, HOME, "EP9", (D, "253 V", "230 V"), ""),
    ("psu", {**HOME, "input_voltage": "88 V"}, {**HOME, "input_voltage": "80 V"}, "EP9", (D, "88 V", "80 V"), ""),
    ("psu", {**HOME, "input_voltage": "80 V"}, {**HOME, "input_voltage": "75 V"}, "EP9", (U, "80 V", "75 V"), THEIRS),
    ("psu", {**HOME, "input_voltage": "480 V"}, {**HOME, "input_voltage": "500 V"}, "EP9", (D, "480 V", "500 V"), ""),
    ("psu", {**HOME, "input_voltage": "480 V"}, {**HOME, "input_voltage": "501 V"}, "EP9", (U, "480 V", "501 V"),
     THEIRS),
    ("battery", AA, AA, "BA1", (E, False, False), "the same"),
    ("battery", ANY, ANY, "BA1", (D, None, None), "nothing charges it in this place"),
    ("battery", AA, {**AA, "chemistry": "nimh", "voltage": 1.2115}, "BA2", (C, 1.5, 1.2115), "rechargeable"),
    ("battery", {**PACK, "voltage": 9.0, "cells": 6.0}, {**PACK, "chemistry": "lithium-iron-disulfide",
     "voltage": 10.0, "cells": 6.0}, "BA3", (X, 9.0, 10.0), "different"),
    ("battery", AA, {**AA, "diameter": 14.51, "height": 50.0}, "BA4", (D, 50.5, 50.0), "within the limits of the size"),
    ("battery", AA, {**AA, "diameter": 14.0, "height": 50.52}, "BA4", (D, 50.5, 50.52), "within the limits"),
    ("battery", STOUT, {**STOUT, "height": 10.8}, "BA4", (X, 11.0, 10.8), "does not fit the holder"),
    ("battery", {**AA, "voltage": None}, {**AA, "diameter": 10.0}, "BA4", (X, 14.5, 10.0), "does not fit the holder"),
    ("battery", {**COIN, "chemistry": "lithium-carbon-monofluoride"}, COIN, "BA6",
     (U, "lithium-carbon-monofluoride", "lithium-manganese-dioxide"), "check: no rule for this pair"),
    ("battery", AA, {**AA, "chemistry": "zinc-carbon"}, "BA6", (C, "alkaline", "zinc-carbon"), ""),
    ("battery", {**PACK, "cells": 3.0}, PACK, "BA9", (U, None, 2), "check: cells not known on both sides"),
    ("battery", {**PACK, "chemistry": None}, {**PACK, "chemistry": None}, "BA9", (E, 2, 2), "the same"),
    ("transistor", {"type_number": "2N0001", **NPN, "voltage": None}, {"type_number": "2N0001", **NPN}, "TR2",
     (U, None, 40.0), OURS),
    ("transistor", {"type_number": "2N0001", **NPN}, {"type_number": "2N0001", **NPN, "voltage": None}, "TR2",
     (U, 40.0, None), THEIRS),
    ("safety-cap", {**SUPPRESSOR, "height": 10.0}, {**SUPPRESSOR, "height": 12.0}, "SC6", (R, 10.0, 12.0),
     "higher than wanted"),
    ("safety-cap", {**SUPPRESSOR, "height": 10.0}, {**SUPPRESSOR, "height": 8.0}, "SC6", (D, 10.0, 8.0),
     "lower than wanted"),
    ("electrolytic", {**CAN, "capacitance": "much"}, CAN, "AE1", (U, "much", 100e-6), "a number was expected"),
    ("electrolytic", {**CAN, "tolerance": 0.0}, CAN, "G4", (D, 0.0, None), THEIRS),
    ("electrolytic", {**CAN, "tolerance": 0.0}, {**CAN, "tolerance": 1.0}, "G5", (D, 0.0, 1.0), "different"),
    ("electrolytic", {**CAN, "tolerance": 1.0}, {**CAN, "tolerance": 0.0}, "G5", (D, 1.0, 0.0), "different"),
    ("electrolytic", {**CAN, "tolerance": "M"}, {**CAN, "tolerance": 20.0}, "G5", (D, "M", 20.0), "different"),
    ("electrolytic", {**CAN, "tolerance": 20.0}, {**CAN, "tolerance": "M"}, "G5", (D, 20.0, "M"), "different"),
    ("electrolytic", {**CAN, "low_esr": True}, {**CAN, "low_esr": True}, "AE6", (E, True, True), "the same"),
    ("electrolytic", {**CAN, "low_esr": True}, {**CAN, "polymer": True}, "AE6", (D, True, None), "polymer is low"),
    ("electrolytic", {**CAN, "low_esr": True}, CAN, "AE6", (C, True, None), "the candidate is general purpose"),
    ("electrolytic", CAN, {**CAN, "polymer": True}, "AE13", (C, False, True), "polymer for a wet capacitor"),
    ("film", FILM, BOTH, "FI2", (E, 250.0, 250.0), "the same"),
    ("film", FILM, {**FILM, "voltage_dc": None, "voltage_ac": 178.6}, "FI2", (D, 250.0, 178.6), ""),
    ("film", BOTH, FILM, "FI2", (X, 160.0, 250.0), "the candidate gives direct volts only"),
    ("film", BOTH, {**BOTH, "voltage_ac": 100.0}, "FI2", (X, 160.0, 100.0), "a part marked"),
    ("film", {**FILM, "capacitance": 0.0}, FILM, "FI1", (X, 0.0, 1e-7), "0 times the wanted value"),
    ("tantalum", {**BEAD, "voltage_dc": None, "circuit_volts": 12.0}, BEAD, "TA3", (C, 12.0, 16.0), "less room above"),
    ("ceramic", CHIP, {**CHIP, "capacitance": 150e-9}, "CE2", (D, 1e-7, 1.5e-7), "1.5 times the wanted value"),
    ("ceramic", CHIP, CHIP, "CE4", (E, "X7R", "X7R"), "the same"),
    ("ceramic", {**CHIP, "dielectric": "sort 2"}, {**CHIP, "dielectric": "Sort 2"}, "CE4", (E, "sort 2", "Sort 2"), ""),
    ("ceramic", CHIP, {**CHIP, "dielectric": "X8R"}, "CE4", (D, "X7R", "X8R"), "steadier"),
    ("ceramic", CHIP, {**CHIP, "dielectric": "Y5V"}, "CE4", (C, "X7R", "Y5V"), "less steady"),
    ("ceramic", {**CHIP, "dielectric": "X5S"}, CHIP, "CE4", (D, "X5S", "X7R"), "steadier"),
    ("ceramic", {**CHIP, "dielectric": "X5S"}, {**CHIP, "dielectric": "X5T"}, "CE4", (C, "X5S", "X5T"), "less steady"),
    ("ceramic", {**CHIP, "dielectric": "Z5P"}, {**CHIP, "dielectric": "Y5P"}, "CE4", (D, "Z5P", "Y5P"), "steadier"),
    ("ceramic", {**CHIP, "dielectric": "X7A"}, {**CHIP, "dielectric": "U2J"}, "CE4", (D, "X7A", "U2J"), "steadier"),
    ("ceramic", {**CHIP, "dielectric": "X7P"}, {**CHIP, "dielectric": "Y8P"}, "CE4", (D, "X7P", "Y8P"), ""),
    ("ceramic", CHIP, {**CHIP, "size": "0603"}, "CE6", (R, "0805", "0603"), "smaller"),
    ("ceramic", CHIP, {**CHIP, "size": "1206"}, "CE6", (R, "0805", "1206"), "different"),
    ("ceramic", {**CHIP, "size": "1210"}, {**CHIP, "size": "1206"}, "CE6", (R, "1210", "1206"), "smaller"),
    ("ceramic", CHIP, {**CHIP, "size": "odd"}, "CE6", (R, "0805", "odd"), "different"),
    ("ceramic", {**CHIP, "size": "odd"}, CHIP, "CE6", (R, "odd", "0805"), "different"),
    ("safety-cap", {**SUPPRESSOR, "safety_class": None}, SUPPRESSOR, "SC4", (E, 1e-7, 1e-7), "the same"),
    ("safety-cap", {**SUPPRESSOR, "capacitance": 0.0}, SUPPRESSOR, "SC4", (X, 0.0, 1e-7), "0 times the wanted value"),
    ("safety-cap", {**SUPPRESSOR, "capacitance": None}, SUPPRESSOR, "SC4", (U, None, 1e-7), OURS),
    ("safety-cap", SUPPRESSOR, {**SUPPRESSOR, "capacitance": None}, "SC4", (U, 1e-7, None), THEIRS),
]  # fmt: skip


def part(kind, stated, number=""):
    return PartSpec(kind, {name: Value(value) for name, value in stated.items() if value is not None}, None, number)


def told(kind, wanted, candidate, rule, role=None, other=None, **more):
    reasons = fit(part(kind, wanted), part(other or kind, candidate), role, **more).reasons
    return [(one.result, one.wanted, one.candidate, one.why) for one in reasons if one.rule == rule]


@pytest.mark.parametrize(("kind", "wanted", "candidate", "rule", "said", "words"), TOLD)
def test_a_reason_tells_what_was_compared(kind, wanted, candidate, rule, said, words):
    reasons = told(kind, wanted, candidate, rule)
    assert said in [one[:3] for one in reasons], reasons
    assert any(one[:3] == said and one[3].startswith(words) for one in reasons), reasons


@pytest.mark.parametrize(
    ("kind", "other", "wanted", "candidate", "rule", "said", "words"),
    [
        ("electrolytic", "tantalum", CAN, {**CAN, "voltage_dc": 30.0}, "AE15", (U, 25.0, 30.0),
         "check: circuit volts not stated"),
        ("electrolytic", "tantalum", {**CAN, "circuit_volts": 20.0}, {**CAN, "voltage_dc": 30.0}, "AE15",
         (C, 20.0, 30.0), "less than 2 times the circuit volts"),
        ("electrolytic", "film", {**CAN, "style": "axial", "diameter": 8.0},
         {**CAN, "style": "axial", "diameter": 8.0}, "AE16", (D, 8.0, 8.0), "the body is no bigger"),
        ("tantalum", "ceramic", BEAD, BEAD, "TA9", (U, None, None), "check: volts and dielectric"),
        ("tantalum", "ceramic", BEAD, {**BEAD, "voltage_dc": 50.0, "dielectric": "odd"}, "TA9", (U, None, "odd"),
         "check: volts and dielectric"),
        ("tantalum", "ceramic", BEAD, {"capacitance": 10e-6, "dielectric": "X7R"}, "TA9", (U, 16.0, None),
         "check: volts and dielectric"),
        ("tantalum", "ceramic", BEAD, {**BEAD, "dielectric": "C0G", "size": "1206"}, "TA10", (D, None, "1206"),
         "check: see that the pads suit"),
    ],
)  # fmt: skip
def test_a_reason_across_kinds_tells_what_was_compared(kind, other, wanted, candidate, rule, said, words):
    assert [(*one[:3], one[3].startswith(words)) for one in told(kind, wanted, candidate, rule, other=other)] == [
        (*said, True)
    ]


@pytest.mark.parametrize(
    ("rating", "volts", "polymer"),
    [
        (6.3, 5.67, True),
        (10.0, 9.0, True),
        (11.0, 9.0, True),
        (12.0, 9.6, True),
        (16.0, 12.8, True),
        (16.0, 8.0, False),
    ],
)
def test_how_many_circuit_volts_a_tantalum_rating_is_good_for(rating, volts, polymer):
    for circuit, grade in ((volts, E), (volts + 0.1, C)):
        wanted = {**SOLID, "voltage_dc": 50.0, "circuit_volts": circuit}
        candidate = {**BEAD, "voltage_dc": rating, "polymer": polymer or None}
        assert [one[0] for one in told("tantalum", wanted, candidate, "TA3")] == [grade], circuit


def test_what_a_tantalum_without_volts_is_good_for_is_not_known():
    assert told("electrolytic", CAN, {**CAN, "voltage_dc": None}, "AE15", other="tantalum") == []
    assert fit(part("electrolytic", CAN), part("tantalum", {**CAN, "voltage_dc": None})).grade is U


def test_a_ceramic_for_a_part_of_no_capacitance_is_refused():
    reasons = told("ceramic", {**CHIP, "capacitance": 0.0}, CHIP, "CE2")
    assert [(*one[:3], one[3].startswith("0 times the wanted value")) for one in reasons] == [(X, 0.0, 1e-7, True)]


def test_a_class_2_ceramic_is_judged_by_its_own_row():
    for other in ("X7R", "X8R", "Y5V", None):
        assert told("ceramic", CHIP, {**CHIP, "dielectric": other}, "CE5") == []
        assert len(told("ceramic", CHIP, {**CHIP, "dielectric": other}, "CE4")) == 1


def test_a_lamp_of_no_current_is_no_lamp():
    assert told("listed", {**LAMP, "current": 0.0}, LAMP, "LP2")[0][0] is X


def test_a_bare_f_of_another_region_says_nothing():
    wanted = {"resistance": 1e4, "taper": "reverse log"}
    for region, grade in (("asia", U), ("europe", E), (None, E)):
        candidate = {**LETTER, "taper_letter": "F", "taper_region": region}
        assert fit(part("potentiometer", wanted), part("potentiometer", candidate)).grade is grade


def test_silence_is_told_of_the_side_that_is_silent():
    assert told("diode", {**DIODE, "reverse_voltage": None}, {**DIODE, "recovery": "schottky"}, "DI4")[0][0] is D
    assert told("transistor", {**NPN, "type_number": "2N0001"}, NPN, "TR7") == []
    assert told("transistor", NPN, {**NPN, "type_number": "2N0001"}, "TR7") == []
    assert told("film", {**FILM, "voltage_dc": None}, FILM, "FI2")[0][3].startswith(OURS)


def test_a_resistor_is_held_to_its_tolerance_to_the_last_hundredth():
    wanted = {**OHMS, "tolerance": 5.0}
    for percent, grade in ((0.95, D), (0.97, C)):
        assert told("resistor", wanted, {**OHMS, "resistance": 104.0, "tolerance": percent}, "RE1")[0][0] is grade
    assert told("resistor", {**OHMS, "resistance": 1.004}, {**OHMS, "resistance": 1.0}, "RE1")[0][0] is C


def test_figures_that_differ_by_rounding_only_are_the_same():
    assert told("crystal", QUARTZ, {"frequency": 4e6 * (1 + 9.5e-10)}, "XT1")[0][0] is E
    assert told("crystal", QUARTZ, {"frequency": 4e6 * (1 + 1.1e-9)}, "XT1")[0][0] is not E
    stated_twice = {**BELT, "inside_diameter": 31.53}
    assert told("belt", stated_twice, BELT, "BE1")[0][0] is E


def test_the_mains_shown_is_that_of_the_part_or_else_the_persons():
    assert told("psu", SUPPLY, HOME, "EP9", mains=230.0)[0][1:3] == ("230 V", "230 V")
    assert told("psu", {**HOME, "input_voltage": "220-240 V"}, HOME, "EP9", mains=230.0)[0][1] == "220-240 V"


def test_of_a_motor_the_first_dimension_that_is_stated_stands_for_the_body():
    reasons = fit(part("motor", {**MOTOR, "shaft": 2.0}), part("motor", {**MOTOR, "shaft": 2.0})).reasons
    assert [one.attribute for one in reasons if one.rule == "MO5"] == ["diameter"]


@pytest.mark.parametrize(
    ("kind", "wanted", "candidate", "rule", "figure"),
    [
        # 20 fF and 5 pF inside the crystal: 10 fF · (1/25 pF - 1/35 pF) is 114 parts in a million
        ("crystal", {**QUARTZ, "load": 20e-12}, {**QUARTZ, "load": 30e-12}, "XT3", "runs +114 ppm off"),
        # 2 · pi · 50 Hz · 0.9 nF · 250 V is 70.69 µA
        ("safety-cap", Y2, {**Y2, "capacitance": 0.9e-9}, "SC5", "leakage 70.7 µA at 250 V, 50 Hz"),
        # twice the life for every 10 degrees
        ("electrolytic", {**CAN, "temperature": 85.0}, {**CAN, "temperature": 105.0}, "AE4", "; 4 times the life"),
    ],
)
def test_a_worked_figure_stands_with_the_reason(kind, wanted, candidate, rule, figure):
    assert figure in told(kind, wanted, candidate, rule)[0][3]
    alike = told(kind, wanted, wanted, rule)[0][3]
    assert alike == "the same" or rule == "SC5"


def test_a_value_that_is_not_stated_has_no_worked_figure():
    assert "leakage" not in told("safety-cap", Y2, {**Y2, "capacitance": None}, "SC5")[0][3]
    assert "ppm" not in told("crystal", {**QUARTZ, "load": 20e-12}, QUARTZ, "XT3")[0][3]
