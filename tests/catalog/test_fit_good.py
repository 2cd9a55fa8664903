"""What differs for the good is told as such; cells by the place they go into; figures of a row each by itself."""

import pytest

from catalog.describe import read
from catalog.fit import fit
from catalog.fit_texts import Side, fit_sides, fit_texts
from catalog.own_rules import grade_instead
from catalog.rules import FURTHER, HIGHER, LOWER, Grade
from catalog.spec import PartSpec, Value
from catalog.unread import Rest

E, D, R, C, U, X = tuple(Grade)
CAN = {"capacitance": 100e-6, "voltage_dc": 25.0, "leakage": 1e-6}
FILM = {"capacitance": 100e-9, "voltage_dc": 250.0}
ALTERNATING = {"capacitance": 100e-9, "voltage_ac": 160.0}
FUSE = {"current": 1.0, "speed": "T", "voltage_ac": 250.0, "body": "5x20", "breaking": "L"}
GLASS = {**FUSE, "breaking": None, "material": "glass"}
STYLUS = {"what": "stylus", "family": "K", "tip": "conical"}
NICD = {"chemistry": "nicd", "voltage": 1.2, "diameter": 14.5, "height": 50.5}
BELT = {"circumference": 100.0, "section": "square", "thickness": 1.2}


def part(kind, stated):
    return PartSpec(kind, {name: Value(value) for name, value in stated.items() if value is not None})


def told(kind, wanted, candidate, rule, role=None):
    reasons = fit(part(kind, wanted), part(kind, candidate), role).reasons
    return [(one.attribute, one.result, one.why) for one in reasons if one.rule == rule]


@pytest.mark.parametrize(
    ("kind", "wanted", "candidate", "told_of"),
    [
        ("electrolytic", CAN, {**CAN, "voltage_dc": 35.0}, ("AE3", "voltage_dc", HIGHER)),
        ("electrolytic", {**CAN, "esr": 1.0}, {**CAN, "esr": 0.5}, ("AE7", "esr", LOWER)),
        ("fuse", FUSE, {**FUSE, "breaking": "H"}, ("FU4", "breaking", FURTHER)),
        ("listed", STYLUS, {**STYLUS, "tip": "elliptical"}, ("ST2", "tip", FURTHER)),
        ("film", FILM, {**FILM, "voltage_dc": 400.0}, ("FI2", "voltage_dc", HIGHER)),
        ("film", ALTERNATING, {**ALTERNATING, "voltage_ac": 250.0}, ("FI2", "voltage_ac", HIGHER)),
        ("fuse", FUSE, {**FUSE, "voltage_ac": 440.0}, ("FU3", "voltage_ac", HIGHER)),
    ],
)
def test_what_differs_for_the_good_is_no_failing(kind, wanted, candidate, told_of):
    rule, attribute, why = told_of
    assert told(kind, wanted, candidate, rule) == [(attribute, D, why)]


def test_volts_that_are_not_higher_are_not_called_so():
    mixed = {**FILM, "voltage_dc": 200.0, "voltage_ac": 200.0}  # its alternating volts count for the direct ones wanted
    attribute, grade, why = told("film", FILM, mixed, "FI2")[0]
    assert (attribute, grade) == ("voltage_dc", D)
    assert HIGHER not in why
    assert told("fuse", FUSE, FUSE, "FU3") == [("voltage_ac", E, "the same")]
    attribute, grade, why = told("fuse", FUSE, {**FUSE, "voltage_ac": 32.0}, "FU3")[0]
    assert (attribute, grade) == ("voltage_ac", X)
    assert HIGHER not in why


def test_another_body_of_a_fuse_is_told_as_it_is():
    other, silent = ({**GLASS, "material": one} for one in ("ceramic", None))
    assert told("fuse", GLASS, other, "FU4")[0][2].startswith("different")
    assert told("fuse", GLASS, silent, "FU4")[0][2].startswith("check: not stated for the candidate")


@pytest.mark.parametrize("place", [{"charging_circuit": False}, {"charging_circuit": True}])
def test_a_place_that_charges_takes_its_own_system_whatever_the_cell_is_said_to_be(place):
    other = {**NICD, "chemistry": "li-ion"}
    role = None if place["charging_circuit"] else "charging"
    assert told("battery", {**NICD, **place}, other, "BA1", role)[0][:2] == ("chemistry", X)
    quiet = told("battery", {**NICD, "charging_circuit": False}, {**NICD, "chemistry": "nimh"}, "BA1")
    assert quiet[0][:2] == ("chemistry", D)


def test_a_primary_cell_in_the_place_of_a_rechargeable_one_would_be_charged():
    alkaline = {**NICD, "chemistry": "alkaline", "voltage": 1.5}
    why = "a primary cell would be charged"
    for wanted in (NICD, {**NICD, "chemistry": None, "rechargeable": True}):
        attribute, grade, said = told("battery", wanted, alkaline, "BA1")[0]
        assert (attribute, grade, said.split(";")[0]) == ("rechargeable", X, why)


def test_the_volts_of_a_listed_pair_go_by_the_cells_of_the_wanted_one():
    nine, other = ({"chemistry": one, "voltage": volts} for one, volts in (("alkaline", 9.0), ("silver-oxide", 9.85)))
    assert told("battery", nine, other, "BA3")[0][1] is D
    assert told("battery", nine, {**other, "voltage": 9.95}, "BA3")[0][1] is X


@pytest.mark.parametrize(("rule", "basis"), [("BE1", None), ("BE2", "measured"), ("BE3", "path")])
def test_the_two_figures_of_a_belt_agree_on_every_basis(rule, basis):
    wanted = {**BELT, "basis": basis}
    for diameter, known in ((31.53, True), (31.50, False), (32.14, True), (32.17, False)):
        found = told("belt", {**wanted, "inside_diameter": diameter}, BELT, rule)
        assert (found[0][1] is not U) == known, diameter
    for length, pi in ((304.8, True), (304.6, False), (323.5, True), (323.7, False), (30.9, True), (30.8, False)):
        found = told("belt", wanted, {**BELT, "circumference": length}, rule)
        assert found[0][2].startswith("about pi apart") == pi, length


def test_a_row_that_calls_it_equal_is_not_made_worse_by_an_own_rule_that_does():
    assert grade_instead(E, E) is E
    assert grade_instead(C, E) is D
    assert grade_instead(E, C) is C


def test_as_much_of_the_other_sign_is_not_as_much():
    npn = {"polarity": "NPN", "voltage": 40.0, "current": 0.2}
    of_volts = {"kind": "transistor", "wanted": npn, "rule": "TR2"}
    assert told(candidate={**npn, "voltage": -40.0}, **of_volts)[0][:2] == ("voltage", X)
    assert told(candidate={**npn, "voltage": -60.0}, **of_volts)[0][:2] == ("voltage", D)


def test_of_several_ways_one_that_is_not_refused_is_enough_for_a_doubt():
    ways = {amperes: part("fuse", {**FUSE, "current": amperes}) for amperes in (1.0, 2.0, 3.0, 4.0)}
    wanted = Side(Rest("fuse"), (ways[1.0],))

    def against(*amperes):
        return fit_sides(wanted, Side(Rest("other"), tuple(ways[one] for one in amperes), sure=False), fit).grade

    assert [against(2.0, 3.0, 4.0), against(2.0, 1.0, 3.0), against(2.0, 3.0, 1.0), against(1.0, 2.0)] == [X, U, U, U]


@pytest.mark.parametrize("texts", [("qwertz", "fuse T1A red"), ("fuse T1A red", "qwertz")])
def test_beside_a_text_that_cannot_be_read_only_what_is_broken_is_told(texts):
    assert {reason.rule for reason in fit_texts(*texts, read=read).reasons} == {"G1"}
    assert fit_texts("qwertz", "fuse T1A blown", read=read).grade is X
