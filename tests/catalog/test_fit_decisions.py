"""What was decided where rules meet or are silent: each decision with the cases that hold it."""

import pytest

from catalog.fit import fit
from catalog.rules import Grade
from catalog.spec import PartSpec, Value

E, D, R, C, U, X = tuple(Grade)
CAN = {"capacitance": 100e-6, "voltage_dc": 25.0}
CHIP = {"capacitance": 100e-9, "voltage_dc": 50.0, "dielectric": "X7R"}
FILM = {"capacitance": 100e-9, "voltage_dc": 250.0}
BEAD = {"capacitance": 10e-6, "voltage_dc": 16.0}
OHMS = {"resistance": 4700.0, "tolerance": 5.0}
POT = {"resistance": 10e3, "taper": "lin", "gangs": 1.0}
LINK = {"current": 1.0, "speed": "T", "voltage_ac": 250.0, "body": "5x20"}
DIODE = {"reverse_voltage": 50.0, "current": 1.0}
NPN = {"polarity": "NPN", "voltage": 40.0, "current": 0.2}
FIVE = {"output_voltage": 5.0, "current": 1.0, "pin_order": "IN-GND-OUT"}
COIN = {"chemistry": "lithium-manganese-dioxide", "voltage": 3.0, "diameter": 20.0, "height": 3.2}
AA = {"chemistry": "alkaline", "voltage": 1.5, "diameter": 14.5, "height": 50.5}
PACK = {"chemistry": "nimh", "rechargeable": True, "voltage": 2.4}
TACT = {"poles": 1.0, "throws": 1.0, "normally": "NO", "action": "momentary"}
PLUG = {"family": "K", "pitch": 2.5, "positions": 4.0, "gender": "female"}
HEADER = {**PLUG, "family": "pin header", "pitch": 2.54}
BELT = {"circumference": 135.0, "section": "square", "thickness": 1.2}
FLAT = {"circumference": 135.0, "section": "flat", "width": 5.0, "thickness": 0.6}
FOOT = {"height": 10.0, "diameter": 15.0, "fixing": "adhesive"}
MOTOR = {"voltage": 9.0, "rotation": "CW", "plain": True, "diameter": 24.0}
QUARTZ = {"frequency": 4e6}
SUPPLY = {
    "output": "DC",
    "voltage": 9.0,
    "current": 0.5,
    "polarity": "centre-negative",
    "plug_outer": 5.5,
    "plug_inner": 2.1,
}
Y2 = {"capacitance": 2.2e-9, "safety_class": "Y2", "voltage_ac": 250.0}
X2 = {"capacitance": 100e-9, "safety_class": "X2", "voltage_ac": 275.0}


def also(spec, **more):
    return {**spec, **more}


# decision, kind of the wanted part (and of the candidate), wanted, candidate, role, grade
CASES = [
    # 1: a row that says what silence means goes before the general rule
    (1, "ceramic", also(CHIP, dielectric=None), CHIP, None, D),
    (1, "resistor", OHMS, also(OHMS, power=0.25), None, E),
    (1, "resistor", also(OHMS, power=0.25), OHMS, None, U),
    (1, "potentiometer", also(POT, gangs=None), also(POT, gangs=None), None, E),
    (1, "battery", COIN, also(COIN, terminals="bare"), None, E),
    (1, "transistor", also(NPN, pin_order="E-B-C"), NPN, None, D),
    (1, "transistor", also(NPN, polarity="N-JFET"), also(NPN, polarity="N-JFET"), None, U),
    (1, "regulator", also(FIVE, dropout=2.0), also(FIVE, dropout=2.5), None, U),
    (1, "regulator", also(FIVE, dropout=2.0, headroom=3.0), also(FIVE, dropout=2.5), None, D),
    (1, "fuse", also(LINK, breaking="H"), LINK, None, U),
    (1, "fuse", also(LINK, breaking="L"), LINK, None, U),
    (1, "fuse", also(LINK, voltage_ac=None, voltage_dc=60.0), LINK, None, U),
    (1, "motor", also(MOTOR, shaft=2.0), also(MOTOR, diameter=None, shaft=2.0), None, D),
    (1, "safety-cap", X2, also(X2, safety_class=None), None, X),
    # 2: of a compound row only the named part must be known
    (2, "connector", PLUG, also(PLUG, gender=None), None, U),
    (2, "connector", PLUG, also(PLUG, key="left"), None, E),
    (2, "psu", SUPPLY, also(SUPPLY, plug_inner=None), None, U),
    (2, "psu", also(SUPPLY, plug_length=9.5), SUPPLY, None, D),
    (2, "switch", TACT, also(TACT, normally=None), None, U),
    (2, "switch", also(TACT, voltage_ac=125.0), TACT, None, U),
    (2, "switch", TACT, also(TACT, voltage_ac=125.0), None, E),
    (2, "switch", TACT, TACT, "mains", U),
    (2, "transistor", NPN, also(NPN, material="silicon"), None, E),
    (2, "transistor", NPN, also(NPN, material="germanium"), None, X),
    # 3: a feature that the wanted line names and the candidate does not is absent there
    (3, "resistor", also(OHMS, flameproof=True), OHMS, None, X),
    (3, "potentiometer", also(POT, mains_switch=True), POT, None, X),
    (3, "potentiometer", also(POT, tap=True), POT, None, C),
    (3, "potentiometer", also(POT, detent=True), POT, None, C),
    (3, "safety-cap", also(X2, series_resistor=100.0), X2, None, X),
    (3, "ffc", {"pitch": 0.5, "conductors": 24.0, "contact_sides": "same", "shielded": True},
     {"pitch": 0.5, "conductors": 24.0, "contact_sides": "same"}, None, C),
    (3, "ffc", {"pitch": 0.5, "conductors": 24.0, "contact_sides": "same", "flex_grade": True},
     {"pitch": 0.5, "conductors": 24.0, "contact_sides": "same"}, None, C),
    (3, "switch", also(TACT, low_level=True), TACT, None, C),
    (3, "psu", also(SUPPLY, regulated=True), SUPPLY, None, X),
    # 4: class words
    (4, "diode", also(DIODE, recovery="fast"), DIODE, None, U),
    (4, "diode", also(DIODE, recovery="schottky"), DIODE, None, U),
    (4, "diode", also(DIODE, recovery="standard"), DIODE, None, D),
    (4, "electrolytic", also(CAN, low_esr=True), CAN, None, C),
    # 5: downgraded means slower, more current, later to open, lower class, volts or breaking capacity
    (5, "fuse", LINK, also(LINK, speed="TT"), None, X),
    (5, "fuse", LINK, also(LINK, speed="F"), None, C),
    (5, "fuse", LINK, also(LINK, current=1.25), None, X),
    (5, "fuse", LINK, also(LINK, current=0.8), None, C),
    (5, "thermal-fuse", {"temperature": 130.0, "current": 2.0, "voltage_ac": 250.0},
     {"temperature": 140.0, "current": 2.0, "voltage_ac": 250.0}, None, X),
    (5, "thermal-fuse", {"temperature": 130.0, "current": 2.0, "voltage_ac": 250.0},
     {"temperature": 120.0, "current": 2.0, "voltage_ac": 250.0}, None, C),
    (5, "safety-cap", Y2, also(Y2, safety_class="Y4"), None, X),
    # 6: the slack of a tenth of a percent is not for crystals
    (6, "crystal", QUARTZ, {"frequency": 4.001e6}, None, X),
    (6, "crystal", also(QUARTZ, tolerance_ppm=30.0), also(QUARTZ, tolerance_ppm=30.02), None, C),
    (6, "resistor", OHMS, also(OHMS, resistance=4704.0), None, E),
    (6, "electrolytic", CAN, also(CAN, capacitance=220e-6 * (1 + 9e-7)), None, D),
    (6, "electrolytic", CAN, also(CAN, capacitance=220e-6 * (1 + 3e-6)), None, C),
    # 7: a line without a kind is judged as the other's kind, and stays unknown
    (7, "electrolytic", CAN, also(CAN, kind=""), None, U),
    (7, "electrolytic", CAN, {"kind": "", "capacitance": 100e-6, "voltage_dc": 10.0}, None, X),
    # 8: accepted by anything but equality is a drop-in at best
    (8, "electrolytic", CAN, also(CAN, capacitance=150e-6), None, D),
    (8, "safety-cap", X2, also(X2, safety_class="X1"), None, D),
    (8, "belt", BELT, also(BELT, circumference=134.0), None, D),
    # 9: a polymer for manganese dioxide: the case is rework, the volts are refused
    (9, "tantalum", also(BEAD, case="B"), also(BEAD, case="B", polymer=True), None, D),
    (9, "tantalum", also(BEAD, case="B"), also(BEAD, case="C", polymer=True), None, R),
    (9, "tantalum", BEAD, also(BEAD, voltage_dc=10.0, polymer=True), None, X),
    # 10: filter is smoothing; crossover, network, timing and oscillator are frequency-setting
    (10, "electrolytic", CAN, also(CAN, capacitance=150e-6), "filter", D),
    (10, "electrolytic", CAN, also(CAN, capacitance=150e-6), "crossover", X),
    (10, "electrolytic", CAN, also(CAN, capacitance=150e-6), "network", X),
    (10, "electrolytic", CAN, also(CAN, capacitance=150e-6), "oscillator", X),
    (10, "electrolytic", CAN, also(CAN, capacitance=150e-6), "timing", X),
    (10, "electrolytic", CAN, also(CAN, kind="tantalum", polymer=True), None, C),
    (10, "electrolytic", CAN, also(CAN, kind="tantalum", polymer=True), "bypass", D),
    (10, "electrolytic", CAN, also(CAN, kind="tantalum"), None, U),
    # 11: a footprint differs only where it is said; circuit volts go before the rating
    (11, "electrolytic", CAN, also(CAN, kind="tantalum", voltage_dc=50.0), None, D),
    (11, "electrolytic", also(CAN, pitch=2.5), also(CAN, kind="tantalum", voltage_dc=50.0), None, D),
    (11, "electrolytic", also(CAN, pitch=2.5), also(CAN, kind="tantalum", voltage_dc=50.0, pitch=5.0), None, R),
    (11, "electrolytic", also(CAN, circuit_volts=12.0), also(CAN, kind="tantalum"), None, D),
    (11, "electrolytic", also(CAN, circuit_volts=13.0), also(CAN, kind="tantalum"), None, C),
    (11, "electrolytic", also(CAN, circuit_volts=26.0), also(CAN, kind="tantalum"), None, X),
    # 12: film for wet by its size; only a ceiling refuses a tall can; axial length is no height
    (12, "electrolytic", CAN, also(CAN, kind="film"), None, R),
    (12, "electrolytic", also(CAN, height=11.0), also(CAN, kind="film", height=12.0), None, R),
    (12, "electrolytic", also(CAN, height=11.0), also(CAN, kind="film", height=11.0), None, D),
    (12, "electrolytic", CAN, also(CAN, kind="ceramic", dielectric="X7R"), None, C),
    (12, "electrolytic", CAN, also(CAN, kind="ceramic", dielectric="X7R", voltage_dc=16.0), None, X),
    (12, "electrolytic", CAN, also(CAN, kind="ceramic", dielectric="X7R"), "timing", X),
    (12, "electrolytic", also(CAN, height=12.5), also(CAN, height=13.0), None, R),
    (12, "electrolytic", also(CAN, height=12.5, height_limit=12.6), also(CAN, height=13.0), None, X),
    (12, "electrolytic", also(CAN, height=20.0, style="axial"), also(CAN, height=30.0, style="axial"), None, D),
    # 13: a ceramic for tantalum by its room
    (13, "tantalum", BEAD, also(BEAD, kind="ceramic", dielectric="X7R", voltage_dc=32.0), None, D),
    (13, "tantalum", BEAD, also(BEAD, kind="ceramic", dielectric="X7R", voltage_dc=31.0), None, C),
    (13, "tantalum", BEAD, also(BEAD, kind="ceramic", dielectric="X7R", voltage_dc=10.0), None, X),
    # 14: a missing dielectric by the size of the value; a lower one; a compensating one only by itself
    (14, "ceramic", also(CHIP, dielectric=None), also(CHIP, capacitance=220e-9), None, D),
    (14, "ceramic", also(CHIP, dielectric=None, capacitance=1e-9), also(CHIP, capacitance=1.2e-9), None, X),
    (14, "ceramic", also(CHIP, dielectric=None, capacitance=1e-9), also(CHIP, capacitance=1e-9), None, D),
    (14, "ceramic", also(CHIP, dielectric=None, capacitance=1.1e-9), also(CHIP, capacitance=1.2e-9), None, D),
    (14, "ceramic", also(CHIP, dielectric=None), also(CHIP, dielectric="X5R"), None, U),
    (14, "ceramic", also(CHIP, dielectric="C0G"), CHIP, None, X),
    (14, "ceramic", also(CHIP, dielectric="U2J"), also(CHIP, dielectric="C0G"), None, X),
    (14, "ceramic", also(CHIP, dielectric="X5R"), also(CHIP, dielectric="X5P"), None, D),
    (14, "ceramic", also(CHIP, dielectric="X5P"), also(CHIP, dielectric="X5V"), None, C),
    # 15: windows of value; like volts with like
    (15, "ceramic", CHIP, also(CHIP, capacitance=80e-9), None, C),
    (15, "ceramic", CHIP, also(CHIP, capacitance=79e-9), None, X),
    (15, "ceramic", CHIP, also(CHIP, capacitance=470e-9), None, C),
    (15, "ceramic", CHIP, also(CHIP, capacitance=471e-9), None, X),
    (15, "film", FILM, also(FILM, capacitance=150e-9), None, C),
    (15, "film", FILM, also(FILM, capacitance=151e-9), None, X),
    (15, "film", FILM, also(FILM, capacitance=94e-9), None, X),
    (15, "film", FILM, also(FILM, voltage_dc=None, voltage_ac=179.0), None, D),
    (15, "film", FILM, also(FILM, voltage_dc=None, voltage_ac=178.0), None, X),
    (15, "film", also(FILM, voltage_dc=None, voltage_ac=250.0), also(FILM, voltage_dc=1000.0), None, X),
    # 16: film for metallised paper drops in; the place follows the wanted class
    (16, "safety-cap", also(X2, dielectric="paper"), also(X2, dielectric="PP"), None, D),
    (16, "safety-cap", also(X2, dielectric="paper", pitch=22.5), also(X2, dielectric="PP", pitch=15.0), None, R),
    (16, "safety-cap", X2, also(X2, safety_class="Y2", capacitance=120e-9), None, C),
    (16, "safety-cap", Y2, also(Y2, safety_class="X1/Y2", capacitance=2.3e-9), None, X),
    (16, "safety-cap", Y2, also(Y2, capacitance=1.1e-9), None, C),
    (16, "safety-cap", Y2, also(Y2, capacitance=1.0e-9), None, X),
    # 17: a link, the wider band, power only where it is asked for
    (17, "resistor", {"resistance": 0.0}, {"resistance": 0.0}, None, E),
    (17, "resistor", {"resistance": 0.0}, {"resistance": 0.01}, None, X),
    (17, "resistor", {"resistance": 0.01}, {"resistance": 0.0}, None, X),
    (17, "resistor", also(OHMS, tolerance=20.0), {"resistance": 5600.0, "tolerance": 20.0}, None, C),
    (17, "resistor", also(OHMS, tolerance=5.0), {"resistance": 5150.0, "tolerance": 5.0}, None, C),
    (17, "resistor", also(OHMS, tolerance=5.0), {"resistance": 5180.0, "tolerance": 5.0}, None, X),
    # 18: a bare letter says nothing without a region; a region on its line decides it
    (18, "potentiometer", {"resistance": 10e3, "taper_letter": "A"},
     {"resistance": 10e3, "taper_letter": "A"}, None, U),
    (18, "potentiometer", {"resistance": 10e3, "taper_letter": "A", "taper_region": "asia"},
     {"resistance": 10e3, "taper": "log"}, None, E),
    (18, "potentiometer", {"resistance": 10e3, "taper_letter": "A", "taper_region": "europe"},
     {"resistance": 10e3, "taper": "log"}, None, C),
    (18, "potentiometer", {"resistance": 10e3, "taper_letter": "C"},
     {"resistance": 10e3, "taper": "reverse log"}, None, E),
    # 19: across fuse systems, and a system on one side only; like volts with like
    (19, "fuse", also(LINK, system="IEC"), also(LINK, system="UL"), None, C),
    (19, "fuse", also(LINK, system="UL"), also(LINK, system="IEC"), None, X),
    (19, "fuse", LINK, also(LINK, system="UL"), None, E),
    (19, "fuse", also(LINK, system="UL"), LINK, None, U),
    (19, "fuse", also(LINK, voltage_dc=32.0), LINK, None, U),
    (19, "fuse", also(LINK, voltage_dc=32.0), also(LINK, voltage_dc=24.0), None, X),
    # 20: an adjustable regulator in range; the output capacitor of a low-dropout one; hot
    (20, "regulator", FIVE, also(FIVE, output_voltage=1.25, output_voltage_max=37.0, adjustable=True), None, R),
    (20, "regulator", FIVE, also(FIVE, output_voltage=6.0, output_voltage_max=37.0, adjustable=True), None, X),
    (20, "regulator", FIVE, also(FIVE, ldo=True), None, R),
    (20, "regulator", also(FIVE, output_capacitor="electrolytic"),
     also(FIVE, ldo=True, output_capacitor="electrolytic"), None, D),
    (20, "regulator", also(FIVE, output_capacitor="ceramic"),
     also(FIVE, ldo=True, output_capacitor="electrolytic"), None, R),
    (20, "diode", also(DIODE, recovery="fast"), also(DIODE, recovery="schottky"), None, D),
    (20, "diode", also(DIODE, recovery="fast", hot=True), also(DIODE, recovery="schottky"), None, C),
    # 21: thin coins only; packs by their cells
    (21, "battery", COIN, also(COIN, height=2.5), None, C),
    (21, "battery", COIN, also(COIN, height=3.5), None, X),
    (21, "battery", COIN, also(COIN, diameter=16.0), None, X),
    (21, "battery", COIN, also(COIN, height=2.5, terminals="tabs"), None, R),
    (21, "battery", AA, also(AA, height=44.5), None, X),
    (21, "battery", also(PACK, height=50.0), also(PACK, height=44.0), None, D),
    (21, "battery", PACK, also(PACK, voltage=3.6), None, X),
    (21, "battery", also(PACK, terminals="plug", plug_polarity="red-1"), also(PACK, terminals="plug"), None, U),
    (21, "battery", also(PACK, terminals="tabs"), also(PACK, terminals="tabs"), None, E),
    # 22: a rechargeable sits in a charging circuit unless the line says otherwise
    (22, "battery", also(AA, chemistry="nimh", voltage=1.2), AA, None, X),
    (22, "battery", also(AA, chemistry="nimh", voltage=1.2), also(AA, chemistry="nicd", voltage=1.2), None, X),
    (22, "battery", also(AA, chemistry="nicd", voltage=1.2), also(AA, chemistry="nimh", voltage=1.2), None, C),
    (22, "battery", AA, also(AA, chemistry="nimh", voltage=1.2), None, C),
    # 23: headers are a series of their own, without key and latch
    (23, "connector", HEADER, also(HEADER, key="left"), None, E),
    (23, "connector", also(HEADER, key="right"), also(HEADER, key="left"), None, D),
    (23, "connector", also(PLUG, key="right"), also(PLUG, key="left"), None, X),
    (23, "connector", HEADER, also(PLUG, pitch=2.54), None, X),
    # 24: a new nominal size where no basis is said; about pi apart; flat belts
    (24, "belt", BELT, also(BELT, circumference=131.0), None, D),
    (24, "belt", BELT, also(BELT, circumference=128.0), None, C),
    (24, "belt", also(BELT, basis="measured"), also(BELT, circumference=128.25), None, D),
    (24, "belt", also(BELT, basis="path"), also(BELT, circumference=126.9), None, D),
    (24, "belt", also(BELT, circumference=None, inside_diameter=43.0),
     also(BELT, circumference=None, inside_diameter=135.0), None, X),
    (24, "belt", FLAT, also(FLAT, width=3.0), None, C),
    (24, "belt", FLAT, also(FLAT, width=2.9), None, X),
    (24, "belt", FLAT, also(FLAT, width=5.1), None, X),
    (24, "belt", FLAT, also(FLAT, thickness=0.81), None, X),
    # 25: feet
    (25, "foot", FOOT, also(FOOT, height=12.0), None, C),
    (25, "foot", also(FOOT, recess=15.0), also(FOOT, diameter=15.5), None, R),
    # 26: the mechanism is moved over; a plain motor has two wires unless more are said
    (26, "pickup", {"model_code": "K-1"}, {"model_code": "K-1", "with_mechanism": True}, None, R),
    (26, "pickup", {"model_code": "K-1"}, {"model_code": "K-2", "with_mechanism": True}, None, U),
    (26, "motor", MOTOR, also(MOTOR, rotation="CCW"), None, R),
    (26, "motor", also(MOTOR, wires=4.0), also(MOTOR, rotation="CCW"), None, X),
    (26, "motor", MOTOR, also(MOTOR, rotation="CCW", wires=4.0), None, X),
    # 27: the tall can for the low one is rework
    (27, "crystal", also(QUARTZ, package="HC-49/US"), also(QUARTZ, package="HC-49/U"), None, R),
    (27, "crystal", also(QUARTZ, package="HC-49/U"), also(QUARTZ, package="HC-49/US"), None, D),
    (27, "crystal", QUARTZ, {"frequency": 4000e3}, None, E),
    # 28: the mains of the line, else not known; regulated where nothing is said
    (28, "psu", also(SUPPLY, input_voltage="230 V"), also(SUPPLY, input_voltage="120 V"), None, X),
    (28, "psu", SUPPLY, also(SUPPLY, input_voltage="120 V"), None, D),
    (28, "psu", SUPPLY, also(SUPPLY, regulated=True), None, D),
]  # fmt: skip


def part(kind, stated):
    held = {name: Value(value) for name, value in stated.items() if value is not None and name != "kind"}
    return PartSpec(stated.get("kind", kind), held)


@pytest.mark.parametrize(("decision", "kind", "wanted", "candidate", "role", "grade"), CASES)
def test_decision(decision, kind, wanted, candidate, role, grade):
    verdict = fit(part(kind, wanted), part(kind, candidate), role)
    assert verdict.grade is grade, verdict


def test_every_decision_is_held_by_a_case():
    assert {case[0] for case in CASES} == set(range(1, 29))


def test_what_is_not_stated_is_a_check_and_a_puzzle_is_asked_about():
    wanted = part("electrolytic", also(CAN, pitch=2.5))
    verdict = fit(wanted, part("electrolytic", also(CAN, kind="tantalum", voltage_dc=50.0)))
    assert "Check pitch: not stated for the candidate" in verdict.do
    belts = [part("belt", also(BELT, circumference=None, inside_diameter=size)) for size in (43.0, 135.0)]
    assert any("circumference?" in reason.why for reason in fit(*belts).reasons)
    feet = fit(part("foot", FOOT), part("foot", also(FOOT, height=12.0)))
    assert "Replace all four: then it drops in" in feet.do
