"""What no single row decides: rows of several places, the person's list, numbers, unknown constructions."""

from types import SimpleNamespace

import pytest

from catalog.fit import fit
from catalog.fit_texts import fit_texts
from catalog.own_rules import checked
from catalog.rules import AtMost, Equal, Grade, Pair, Ratio, Rule, Window, identity
from catalog.spec import PartSpec, Value

E, D, R, C, U, X = tuple(Grade)
BELT = {"circumference": 100.0, "section": "square", "thickness": 1.2}
MOTOR = {"voltage": 9.0, "rotation": "CW", "plain": True, "diameter": 24.0}
PACK = {"chemistry": "alkaline", "voltage": 3.0, "cells": 2.0}
CAN = {"capacitance": 100e-6, "voltage_dc": 25.0}
FILM = {"capacitance": 100e-9, "voltage_dc": 250.0}
Y2 = {"capacitance": 1e-9, "safety_class": "Y2", "voltage_ac": 250.0}
RELAY = {
    "what": "relay", "coil_voltage": 12.0, "coil_current": "DC", "contact_current": 5.0, "poles": 1.0, "throws": 2.0,
    "footprint": "K1",
}  # fmt: skip
LED = {"what": "led", "colour": "red", "diameter": 5.0, "voltage": 2.0}
LAMP = {"what": "lamp", "voltage": 6.0, "current": 0.1}
ROLLER = {"what": "roller", "diameter": 10.0, "bore": 2.0, "width": 8.0}
STICK = {"what": "stick-module", "family": "K", "height": 20.0, "footprint": "K1", "resistance": 1e4}
STYLUS = {"what": "stylus", "family": "K", "tip": "conical"}
TACT = {"poles": 1.0, "throws": 1.0, "normally": "NO", "action": "momentary"}
TIMED = {"electrolytic": "AE2", "tantalum": "TA1"}
RATED = {**TACT, "current": 1.0, "voltage_ac": 250.0}
PIN = {"family": "pin header", "pitch": 2.54, "positions": 3.0, "gender": "male"}


def part(kind, stated, number=""):
    return PartSpec(kind, {name: Value(value) for name, value in stated.items() if value is not None}, None, number)


def told(kind, wanted, candidate, rule, role=None, other=None, **more):
    reasons = fit(part(kind, wanted), part(other or kind, candidate), role, **more).reasons
    return [(one.result, one.wanted, one.candidate, one.why) for one in reasons if one.rule == rule]


@pytest.mark.parametrize(
    ("stated", "left_out"),
    [(stated, name) for stated in (RELAY, LAMP, LED, ROLLER, STICK, STYLUS) for name in stated if name != "what"],
)
def test_another_number_serves_only_if_all_that_must_match_is_stated(stated, left_out):
    whole, lacking = part("listed", stated, "K-1"), {**stated, left_out: None}
    assert fit(whole, part("listed", stated, "K-2")).grade is D
    assert fit(whole, part("listed", lacking, "K-2")).grade is U
    assert fit(part("listed", lacking, "K-1"), part("listed", stated, "K-2")).grade is U


def test_what_the_list_says_of_a_number_goes_before_the_rules_of_the_trade():
    wanted, other = part("listed", RELAY, "K-1"), part("listed", RELAY, "K-2")
    for grade in (C, X):
        assert fit(wanted, other, pairs=[Pair("K-1", "K-2", grade)]).grade is grade


@pytest.mark.parametrize("name", ["matched", "style"])
def test_a_feature_that_is_denied_and_an_empty_word_ask_for_nothing(name):
    wanted = {**CAN, name: False if name == "matched" else ""}
    assert fit(part("electrolytic", wanted), part("electrolytic", CAN)).grade is E


@pytest.mark.parametrize(
    ("kinds", "wanted", "candidate", "role"),
    [
        (("capacitor", "ceramic"), {**CAN, "dielectric": "C0G"}, {**CAN, "dielectric": "Y5V"}, None),
        (("capacitor", "electrolytic"), CAN, {**CAN, "polymer": True}, "timing"),
        (("ceramic", "capacitor"), CAN, CAN, None),
        (("film", "capacitor"), CAN, {**CAN, "dielectric": "X7R"}, None),
    ],
)
def test_what_one_construction_would_allow_is_not_refused(kinds, wanted, candidate, role):
    """Each pair is refused for three constructions; the fourth (aluminium, tantalum, ceramic, film) leaves it open."""
    verdict = fit(part(kinds[0], wanted), part(kinds[1], candidate), role)
    assert verdict.grade is U
    assert {one.attribute for one in verdict.reasons} == {"kind"}


def test_a_refusal_is_for_good_only_where_its_rule_is_locked():
    assert not fit(part("belt", BELT), part("belt", {**BELT, "circumference": 120.0})).locked
    assert fit(part("safety-cap", Y2), part("safety-cap", {**Y2, "voltage_ac": 125.0})).locked


def test_another_kind_is_told_only_where_nothing_else_keeps_it_from_exact():
    same = told("electrolytic", CAN, {**CAN, "style": "axial"}, "G8", other="film")
    assert same == [(D, "electrolytic", "film", "another kind of part is never exact")]
    assert told("electrolytic", {**CAN, "tolerance": 20.0}, {**CAN, "style": "axial"}, "G8", other="film") == []


def test_a_window_earns_no_more_than_drop_in():
    near = Rule(id="s", attributes=("esr",), test=Ratio((Window(0.9, 1.1, E),)), kind="electrolytic")
    assert told("electrolytic", {**CAN, "esr": 1.0}, {**CAN, "esr": 1.05}, "s", rules=[near])[0][0] is D


def test_a_list_speaks_once_and_lifts_nothing_of_a_part_for_itself():
    longer = {**BELT, "circumference": 120.0}
    wanted, other = part("belt", BELT, "K-1"), part("belt", longer, "K-2")
    assert fit(wanted, part("belt", longer, "K-1"), pairs=[Pair("K-1", "K-1")]).grade is X
    refused = [one.rule for one in fit(wanted, other, pairs=[Pair("K-1", "K-2", X)]).reasons if one.result is X]
    assert refused == ["BE1", "LI1"]
    open_pair = [Pair("K-1", "K-2", U)]
    doubt = fit(wanted, part("belt", {**BELT, "circumference": None}, "K-2"), pairs=open_pair)
    assert [one.why for one in doubt.reasons if "overruled" in one.why] == []
    relays = part("listed", RELAY, "K-1"), part("listed", RELAY, "K-2")
    spoken = [one for one in fit(*relays, pairs=[Pair("K-1", "K-2", D)]).reasons if one.rule == "LI1"]
    assert [(one.wanted, one.candidate) for one in spoken] == [("K-1", "K-2")]


def test_a_blank_number_on_the_list_is_about_no_part():
    for pair in (Pair(" ", " "), Pair(" ", "K-2"), Pair("K-1", " ")):
        assert not pair.names(pair.wanted.strip(), pair.candidate.strip())


@pytest.mark.parametrize("name", ["part_number", "type_number", "model_code", "code"])
def test_any_of_these_is_the_number_a_part_goes_by(name):
    assert identity(part("listed", {name: "K-1"})) == "K-1"


@pytest.mark.parametrize("name", ["part_number", "code"])
def test_a_number_is_not_compared_as_an_attribute(name):
    assert fit(part("electrolytic", {**CAN, name: "K-1"}), part("electrolytic", {**CAN, name: "K-2"})).grade is E


def test_of_several_refused_readings_the_first_is_told():
    def read(text):
        specs = [part("belt", {**BELT, "circumference": round_}) for round_ in (70.0, 60.0)]
        ways = [SimpleNamespace(spec=spec, left_over=()) for spec in specs]
        return (
            SimpleNamespace(status="ok", spec=part("belt", BELT), readings=[], left_over=())
            if text == "one"
            else (SimpleNamespace(status="ambiguous", spec=None, readings=ways, left_over=()))
        )

    verdict = fit_texts("one", "several", read=read)
    assert verdict.grade is X
    assert (verdict.reasons[0].wanted, verdict.reasons[0].candidate) == (100.0, 70.0)


def test_the_name_of_an_own_rule_is_cut_at_eighty_letters():
    rule = Rule(id="n" * 90, attributes=("esr",), test=AtMost(C), kind="electrolytic")
    assert len(checked(rule).id) == 80


@pytest.mark.parametrize(("role", "row"), [(None, {"electrolytic": "AE1", "tantalum": "TA1"}), ("timing", TIMED)])
@pytest.mark.parametrize("kind", ["electrolytic", "tantalum"])
@pytest.mark.parametrize("other", ["electrolytic", "tantalum", "film", "ceramic"])
def test_one_row_speaks_of_the_capacitance_in_each_place(kind, other, role, row):
    reasons = fit(part(kind, CAN), part(other, {**CAN, "capacitance": 150e-6}), role).reasons
    spoken = [(one.rule, one.result) for one in reasons if one.attribute == "capacitance"]
    assert spoken == [(row[kind], X if role else D)]


@pytest.mark.parametrize(
    ("kind", "stated", "role", "attribute"),
    [
        ("film", {**FILM, "dielectric": "PP"}, "snubber", "dielectric"),
        ("switch", RATED, "mains", "current"),
        ("switch", RATED, None, "current"),
        ("battery", {**PACK, "terminals": "plug", "plug_polarity": "A"}, None, "plug_polarity"),
        ("connector", PIN, None, "family"),
        ("connector", {**PIN, "both_halves": True}, None, "family"),
        ("motor", {**MOTOR, "plain": None, "governed": True, "speed": 2400.0}, None, "speed"),
        ("motor", {**MOTOR, "speed": 2400.0}, None, "speed"),
    ],
)
def test_of_two_rows_for_two_places_one_speaks(kind, stated, role, attribute):
    reasons = fit(part(kind, stated), part(kind, stated), role).reasons
    assert [one.result for one in reasons if one.attribute == attribute] == [E]


def test_at_the_mains_each_row_refuses_low_volts():
    reasons = fit(part("switch", RATED), part("switch", {**RATED, "voltage_ac": 125.0}), "mains").reasons
    assert [one.result for one in reasons if one.attribute == "voltage_ac"] == [X, X]


def test_a_timing_part_of_unknown_value_asks_for_it_although_a_ceramic_is_refused():
    asked = told("electrolytic", {**CAN, "capacitance": None}, CAN, "AE2", "timing", other="ceramic")
    assert [one[:3] for one in asked] == [(U, None, 100e-6)]


@pytest.mark.parametrize(
    ("wanted", "served", "not_served"),
    [
        ("X1", ("X1/Y4", "Y1", "Y2"), ("X2", "X3", "Y3", "Y4")),
        ("X2", ("X2/Y4", "X1", "Y1", "Y2"), ("X3", "Y3", "Y4")),
        ("X3", ("X3/Y4", "X1", "X2", "Y1", "Y2"), ("Y3", "Y4")),
        ("Y1", ("X1/Y1",), ("X1", "X2", "X3", "Y2", "Y3", "Y4")),
        ("Y2", ("X1/Y2", "Y1"), ("X1", "X2", "X3", "Y3", "Y4")),
        ("Y3", ("X2/Y3", "Y1", "Y2"), ("X1", "X2", "X3", "Y4")),
        ("Y4", ("X2/Y4", "Y1", "Y2"), ("X1", "X2", "X3", "Y3")),
    ],
)
def test_which_safety_class_serves_for_which(wanted, served, not_served):
    for grade, classes in ((D, served), (X, not_served)):
        for name in classes:
            reasons = told("safety-cap", {**Y2, "safety_class": wanted}, {**Y2, "safety_class": name}, "SC1")
            assert [one[0] for one in reasons] == [grade], name


def test_an_own_rule_speaks_though_the_row_it_replaces_tells_of_another_attribute():
    height = [Rule(id="s", attributes=("height",), test=Equal(X), instead_of="BA4", kind="battery")]
    whole = {**PACK, "diameter": 14.5, "height": 100.0}
    for change, grade in (
        ({}, E),
        ({"height": 90.0}, X),
        ({"height": 90.0, "diameter": 14.0}, X),
        ({"height": 90.0, "diameter": None}, X),
        ({"height": None, "diameter": 14.0}, U),
        ({"diameter": 14.0}, D),
    ):
        assert fit(part("battery", whole), part("battery", {**whole, **change}), rules=height).grade is grade, change


def instead(name, row, kind, grade):
    return [Rule(id="s", attributes=(name,), test=Equal(grade), instead_of=row, kind=kind)]


def test_an_own_rule_is_silent_where_its_row_is():
    lamps = [part("listed", {**LAMP, "poles": poles}, "K-1") for poles in (1.0, 2.0)]
    assert told("listed", RELAY, {**RELAY, "poles": 2.0}, "s", rules=instead("poles", "RY3", "listed", X))[0][0] is X
    assert [one for one in fit(*lamps, rules=instead("poles", "RY3", "listed", X)).reasons if one.rule == "s"] == []


def test_an_own_rule_in_the_place_of_a_locked_row_never_speaks():
    worse = part("electrolytic", {**CAN, "esr": 1.1})
    verdict = fit(part("electrolytic", {**CAN, "esr": 1.0}), worse, rules=instead("esr", "AE3", "electrolytic", X))
    assert "s" not in {one.rule for one in verdict.reasons}


def test_an_own_rule_takes_one_attribute_of_a_row_of_several():
    wanted = {**Y2, "pitch": 10.0, "style": "radial"}
    pitch = instead("pitch", "SC6", "safety-cap", D)
    assert fit(part("safety-cap", wanted), part("safety-cap", {**wanted, "pitch": 15.0}), rules=pitch).grade is D
    assert fit(part("safety-cap", wanted), part("safety-cap", {**wanted, "style": "axial"}), rules=pitch).grade is R
