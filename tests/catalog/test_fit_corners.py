"""Corners of the judging code that no single row shows: what guards, what lifts, what is asked, and odd data."""

from types import SimpleNamespace

import msgspec
import pytest

from catalog.fit import fit
from catalog.fit_texts import fit_texts
from catalog.rules import AtMost, Equal, Grade, Ladder, Pair, Rule, over, same_number
from catalog.spec import PartSpec, Value

E, D, R, C, U, X = tuple(Grade)
CAN = {"capacitance": 100e-6, "voltage_dc": 25.0}
BELT = {"circumference": 100.0, "section": "square", "thickness": 1.2}
AA = {"chemistry": "alkaline", "voltage": 1.5, "diameter": 14.5, "height": 50.5}
PACK = {"chemistry": "alkaline", "voltage": 3.0, "cells": 2.0}
COIN = {"chemistry": "lithium-manganese-dioxide", "voltage": 3.0, "diameter": 20.0, "height": 3.2}


def part(kind, stated, number="", **more):
    held = {name: Value(value) for name, value in {**stated, **more}.items() if value is not None}
    return PartSpec(kind, held, part_number=number)


def test_no_rule_takes_the_place_of_a_locked_row_even_if_it_was_never_checked():
    wanted = part("electrolytic", CAN)
    loose = Rule(id="s", attributes=("voltage_dc",), test=Equal(D), instead_of="AE3", kind="electrolytic")
    for volts, grade in ((16.0, X), (None, U), (25.0, E)):
        assert fit(wanted, part("electrolytic", CAN, voltage_dc=volts), rules=[loose]).grade is grade


def test_a_rule_instead_of_a_row_leaves_other_attributes_of_it_alone():
    wanted = part("electrolytic", CAN, style="radial", pitch=2.5)
    same_row = Rule(id="s", attributes=("esr",), test=Equal(D), instead_of="AE7", kind="electrolytic")
    worse = part("electrolytic", CAN, style="radial", pitch=2.5, ripple=0.1)
    assert fit(part("electrolytic", CAN, ripple=0.2), worse, rules=[same_row]).grade is C
    strict = Rule(id="t", attributes=("height",), test=AtMost(X), instead_of="AE10", kind="electrolytic")
    assert fit(wanted, part("electrolytic", CAN, style="radial", pitch=5.0), rules=[strict]).grade is R


def test_a_list_lifts_only_refusals_and_doubts_and_only_as_far_as_it_says():
    wanted, longer = part("belt", BELT, "K-1"), part("belt", BELT, "K-2", circumference=110.0)
    thicker = part("belt", BELT, "K-2", thickness=1.5)
    for grade in (D, R, C):
        assert fit(wanted, longer, pairs=[Pair("K-1", "K-2", grade)]).grade is grade
    assert fit(wanted, thicker, pairs=[Pair("K-1", "K-2")]).grade is C
    unsure = part("belt", BELT, "K-2", thickness=None)
    assert fit(wanted, unsure, pairs=[Pair("K-1", "K-2")]).grade is D
    assert fit(wanted, unsure, pairs=[Pair("K-1", "K-2", X)]).grade is X
    reasons = {reason.rule: reason for reason in fit(wanted, longer, pairs=[Pair("K-1", "K-2", R)]).reasons}
    assert "overruled" in reasons["BE1"].why
    assert "overruled" not in reasons["BE4"].why


def test_a_list_lifts_what_is_open_in_a_locked_row():
    wanted = part("safety-cap", {"capacitance": 2.2e-9, "safety_class": "Y2", "voltage_ac": 250.0}, "K-1")
    pairs = [Pair("K-1", "K-2", C)]
    stated = {name: held.value for name, held in wanted.attributes.items()}
    small, big = (part("safety-cap", stated, "K-2", capacitance=farads) for farads in (1.0e-9, 2.7e-9))
    assert not fit(wanted, small).locked
    assert fit(wanted, small, pairs=pairs).grade is C
    assert fit(wanted, big).locked
    assert fit(wanted, big, pairs=pairs).grade is X


def test_a_pickup_goes_by_the_list_of_its_code_alone():
    wanted, other = part("pickup", {"model_code": "K-1"}), part("pickup", {"model_code": "K-2"})
    verdict = fit(wanted, other, pairs=[Pair("K-1", "K-2")])
    assert verdict.grade is D
    assert [reason.rule for reason in verdict.reasons] == ["OP1"]
    numbered = [msgspec.structs.replace(one, part_number="SAME") for one in (wanted, other)]
    assert fit(*numbered).grade is U
    assert fit(wanted, other, pairs=[Pair("K-1", "K-2", X)]).do == ()


def test_what_no_rule_compares_is_a_difference_or_a_check():
    wanted = part("electrolytic", CAN, tolerance=20.0)
    different = fit(wanted, part("electrolytic", CAN, tolerance=10.0))
    omitted = fit(wanted, part("electrolytic", CAN))
    assert [(one.rule, one.result) for one in different.reasons if one.attribute == "tolerance"] == [("G5", D)]
    assert [(one.rule, one.result) for one in omitted.reasons if one.attribute == "tolerance"] == [("G4", D)]
    assert fit(wanted, wanted).grade is E
    assert fit(part("transistor", {}, matched=True), part("transistor", {}, matched=True)).grade is U
    assert fit(part("tantalum", CAN), part("film", CAN, pitch=5.0)).grade is R


def test_another_kind_is_never_exact_and_says_so():
    wanted = part("electrolytic", CAN, height=11.0)
    verdict = fit(wanted, part("film", CAN, height=11.0))
    assert verdict.grade is D
    assert [reason.rule for reason in verdict.reasons if reason.attribute == "kind"] == ["G8"]


def test_what_is_refused_reminds_of_nothing():
    pickup = part("pickup", {"model_code": "K-1"})
    assert any(line.startswith("OP3") for line in fit(pickup, pickup).do)
    refused = fit(pickup, part("pickup", {"model_code": "K-2"}), pairs=[Pair("K-1", "K-2", X)])
    assert refused.grade is X
    assert not any(line.startswith("OP3") for line in refused.do)


def test_only_film_and_ceramic_become_safety_parts_by_their_class():
    can = part("electrolytic", CAN, safety_class="X2")
    assert "SC1" not in {reason.rule for reason in fit(can, can).reasons}
    for kind in ("film", "ceramic"):
        spec = part(kind, {"capacitance": 1e-7, "voltage_ac": 275.0, "safety_class": "X2"})
        assert fit(spec, spec).grade is E
        assert "SC1" in {reason.rule for reason in fit(spec, spec).reasons}


def test_an_unknown_kind_is_said_and_the_fullest_refusal_shown():
    verdict = fit(part("capacitor", CAN), part("capacitor", CAN, voltage_dc=10.0))
    assert verdict.grade is X
    kind = next(reason for reason in verdict.reasons if reason.attribute == "kind")
    assert (kind.result, kind.wanted, kind.candidate) == (U, "capacitor", "capacitor")
    assert "wanted and the candidate" in kind.why
    bare = fit(part("", CAN), part("electrolytic", CAN))
    assert next((one.wanted, one.candidate) for one in bare.reasons if one.attribute == "kind") == (
        None,
        "electrolytic",
    )
    other = fit(part("electrolytic", CAN), part("", CAN))
    assert next((one.wanted, one.candidate) for one in other.reasons if one.attribute == "kind") == (
        "electrolytic",
        None,
    )


def test_a_reason_has_the_words_of_its_rule_only_where_something_differs():
    reasons = fit(part("electrolytic", CAN), part("electrolytic", CAN, voltage_dc=35.0)).reasons
    assert [(one.rule, one.why) for one in reasons if one.result is E] == [("AE1", "the same")]
    assert any(one.why == "higher than wanted, which is better" for one in reasons if one.rule == "AE3")
    lower = fit(part("electrolytic", CAN), part("electrolytic", CAN, voltage_dc=16.0)).reasons
    assert any("vent opens" in one.why for one in lower if one.rule == "AE3")
    smaller = fit(
        part("ceramic", {"capacitance": 1e-7, "voltage_dc": 50.0, "dielectric": "X7R", "size": "0805"}),
        part("ceramic", {"capacitance": 1e-7, "voltage_dc": 50.0, "dielectric": "X7R", "size": "0603"}),
    )
    assert any("under bias" in line for line in smaller.do)
    longer = fit(part("ffc", {"length": 100.0}), part("ffc", {"length": 90.0})).reasons
    assert any("lower" in one.why or "times" in one.why for one in longer)


@pytest.mark.parametrize(
    ("wanted", "candidate", "role", "grade"),
    [
        (AA, AA, None, E),
        (AA, {**AA, "voltage": 1.65}, None, X),
        (AA, {**AA, "chemistry": "lithium-iron-disulfide", "voltage": 1.65}, None, D),
        (AA, {**AA, "chemistry": "lithium-iron-disulfide", "voltage": 1.66}, None, X),
        (PACK, PACK, None, E),
        (PACK, {**PACK, "chemistry": "lithium-iron-disulfide", "voltage": 3.3}, None, D),
        (PACK, {**PACK, "chemistry": "lithium-iron-disulfide", "voltage": 3.31}, None, X),
        (AA, {**AA, "chemistry": "zinc-carbon"}, None, C),
        (AA, {**AA, "chemistry": "nimh", "voltage": 1.2}, None, C),
        (AA, {**AA, "chemistry": "nicd", "voltage": 1.2}, None, C),
        (AA, {**AA, "chemistry": "nimh", "voltage": 1.22}, None, X),
        (AA, {**AA, "chemistry": "nimh", "voltage": None}, None, U),
        (AA, {**AA, "chemistry": "li-ion", "voltage": 1.5, "rechargeable": True}, None, C),
        (AA, {**AA, "chemistry": "li-ion", "voltage": 1.6, "rechargeable": True}, None, C),
        (AA, {**AA, "chemistry": "li-ion", "voltage": 1.61, "rechargeable": True}, None, X),
        (COIN, {**COIN, "chemistry": "li-ion", "rechargeable": True, "voltage": 3.6}, None, X),
        ({**AA, "voltage": None}, {**AA, "chemistry": "nimh", "voltage": 1.2}, None, U),
        ({**AA, "chemistry": "nimh", "voltage": 1.2}, {**AA, "chemistry": "nimh", "voltage": 1.2}, None, E),
        ({**AA, "chemistry": "nimh", "voltage": 1.2, "charging_circuit": False}, AA, None, X),
        ({**AA, "chemistry": "nimh", "voltage": 1.5, "charging_circuit": False}, AA, None, D),
        ({**AA, "chemistry": "nimh", "voltage": 1.5, "charging_circuit": False}, AA, "charging", X),
        ({**AA, "chemistry": "nimh", "voltage": 1.5, "charging_circuit": True}, AA, None, X),
        ({**AA, "chemistry": None, "rechargeable": True}, {**AA, "chemistry": "nimh"}, None, U),
        ({**AA, "chemistry": "nimh"}, {**AA, "chemistry": None, "rechargeable": True}, None, U),
        ({**AA, "chemistry": "nimh"}, {**AA, "chemistry": None}, None, U),
        (AA, {**AA, "diameter": 13.5}, None, D),
        (AA, {**AA, "diameter": 13.4}, None, X),
        (AA, {**AA, "diameter": 14.6}, None, X),
        (AA, {**AA, "height": 49.2}, None, D),
        (AA, {**AA, "height": 49.1}, None, X),
        (AA, {**AA, "height": 50.6}, None, X),
        (COIN, {**COIN, "height": 2.5, "diameter": 19.0}, None, X),
        (COIN, {**COIN, "diameter": None}, None, U),
        (COIN, {**COIN, "height": None}, None, U),
        ({**PACK, "diameter": 14.5, "height": 100.0}, {**PACK, "diameter": 14.5, "height": 101.0}, None, D),
        ({**PACK, "diameter": 14.5}, {**PACK, "diameter": 14.0}, None, D),
        ({**PACK, "diameter": 14.5}, {**PACK, "diameter": 14.5}, None, E),
        ({**PACK, "diameter": 14.5}, PACK, None, D),
        (PACK, {**PACK, "diameter": 14.5}, None, E),
        (PACK, {**PACK, "cells": 3.0}, None, U),
        (PACK, {**PACK, "cells": None}, None, E),
        (PACK, {**PACK, "chemistry": None, "cells": None}, None, U),
        ({**PACK, "voltage": 4.5, "cells": 3.0}, PACK, None, X),
        (COIN, {**COIN, "chemistry": "lithium-carbon-monofluoride"}, None, D),
        ({**COIN, "chemistry": "lithium-carbon-monofluoride"}, COIN, None, U),
        ({**AA, "protected": True}, AA, None, X),
        ({**AA, "diameter": 11.6, "height": 5.0}, {**AA, "diameter": 11.3, "height": 5.0}, None, X),
        ({**AA, "diameter": 11.0, "height": 5.4}, {**AA, "diameter": 11.0, "height": 5.2}, None, C),
        ({**AA, "diameter": 5.0, "height": 5.4}, {**AA, "diameter": 5.0, "height": 5.2}, None, X),
        (AA, {**AA, "chemistry": "li-ion", "voltage": 1.2, "rechargeable": True}, None, X),
        (AA, {**AA, "chemistry": None, "rechargeable": True}, None, C),
        ({**AA, "chemistry": "nimh", "voltage": 1.2}, {**AA, "chemistry": "nimh", "voltage": 1.4}, None, X),
        (AA, {**AA, "protected": True}, None, E),
    ],
)
def test_cells(wanted, candidate, role, grade):
    verdict = fit(part("battery", wanted), part("battery", candidate), role)
    assert verdict.grade is grade, verdict


def test_volts_that_are_not_stated_are_told_on_their_side():
    lacking = fit(part("battery", {**AA, "voltage": None}), part("battery", AA))
    assert any(one.why.startswith("not stated for the wanted part") for one in lacking.reasons if one.rule == "BA3")
    lacking = fit(part("battery", AA), part("battery", {**AA, "voltage": None}))
    assert any(line == "Check voltage: not stated for the candidate" for line in lacking.do)


@pytest.mark.parametrize(
    ("order", "wanted", "candidate", "grade"),
    [
        (Ladder(("a", "b", "c"), X, C), "a", "strange", U),
        (Ladder(("a", "b", "c"), X, C), "b", "strange", X),
        (Ladder(("a", "b", "c"), C, X), "c", "strange", U),
        (Ladder(("a", "b", "c"), C, X), "b", "strange", X),
        (Ladder(("a", "b", "c"), C, X), "strange", "a", X),
        (Ladder(("a", "b", "c"), C, D), "strange", "a", C),
        (Ladder(("a", "b", "c"), C, D), "a", "strange", C),
        (Ladder(("a", "b", "c"), C, D), "a", "b", D),
        (Ladder(("a", "b", "c"), C, D), "b", "a", C),
    ],
)
def test_a_word_off_the_ladder(order, wanted, candidate, grade):
    rule = Rule(id="s", attributes=("style",), test=order, kind="electrolytic")
    parts = part("electrolytic", CAN, style=wanted), part("electrolytic", CAN, style=candidate)
    reasons = [one.result for one in fit(*parts, rules=[rule]).reasons if one.rule == "s"]
    assert reasons == [grade]
    missing = [one.result for one in fit(parts[0], part("electrolytic", CAN), rules=[rule]).reasons if one.rule == "s"]
    assert grade is not X or missing == [U]


def test_a_number_against_a_word_and_zero_are_no_match_and_no_crash():
    assert fit(part("electrolytic", CAN), part("electrolytic", CAN, capacitance="much")).grade is U
    assert fit(part("electrolytic", CAN, capacitance=0.0), part("electrolytic", CAN)).grade is X
    assert fit(part("electrolytic", CAN, capacitance=0.0), part("electrolytic", CAN, capacitance=0.0)).grade is E
    assert fit(part("electrolytic", CAN, height=0.0), part("electrolytic", CAN, height=1.0)).grade is R
    assert fit(part("belt", BELT, thickness=0.0), part("belt", BELT, thickness=0.0)).grade is E


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [(1.0, 1.001, True), (1.0, 1.0010005, True), (1.0, 1.0011, False), (-1.0, -1.0005, True), (0.0, 0.0, True)],
)
def test_numbers_are_the_same_but_for_rounding(one, other, same):
    assert same_number(one, other) is same
    assert same_number(other, one) is same


def test_a_limit_belongs_to_its_window():
    assert not over(2.2, 2.2)
    assert not over(0.0, 0.0)
    assert over(2.3, 2.2)
    assert not over(-2.3, -2.2)


def test_what_could_not_be_read_is_told_on_its_side():
    nothing = SimpleNamespace(status="nothing", spec=None, readings=[], left_over=())
    verdict = fit_texts("abc", "def", read=lambda _: nothing)
    assert [(one.wanted, one.candidate, one.result) for one in verdict.reasons] == [("abc", None, U), (None, "def", U)]
    assert verdict.do == ("Say more of the wanted part", "Say more of the candidate part")


def test_a_pair_needs_both_of_its_numbers():
    pair = Pair("K-1", "K-2")
    assert pair.names("k 1", "K2")
    assert not pair.names("K-1", "K-3")
    assert not pair.names("K-3", "K-2")
    assert not pair.names("", "K-2")
    assert not pair.names("K-1", "")
    assert not Pair("", "").names("", "")
    bare = fit(part("listed", {}), part("listed", {}))
    assert [(one.wanted, one.candidate) for one in bare.reasons] == [(None, None)]


BEAD = {"capacitance": 10e-6, "voltage_dc": 16.0}
FILM = {"capacitance": 100e-9, "voltage_dc": 250.0}
RADIAL = {**CAN, "style": "radial", "pitch": 5.0}
BOTH = {**FILM, "voltage_ac": 160.0}


@pytest.mark.parametrize(
    ("kind", "other", "wanted", "candidate", "role", "grade"),
    [
        ("film", "film", BOTH, BOTH, None, E),
        ("film", "film", BOTH, FILM, None, X),
        ("film", "film", BOTH, {**FILM, "voltage_dc": None, "voltage_ac": 179.0}, None, D),
        ("film", "film", BOTH, {**BOTH, "voltage_dc": 100.0}, None, X),
        ("film", "film", BOTH, {**BOTH, "voltage_ac": 100.0}, None, X),
        ("film", "film", BOTH, {**BOTH, "voltage_ac": 250.0}, None, D),
        ("film", "film", FILM, BOTH, None, E),
        ("film", "film", FILM, {**FILM, "voltage_dc": 160.0, "voltage_ac": 250.0}, None, D),
        ("film", "film", {**FILM, "voltage_dc": None}, FILM, None, U),
        ("film", "film", FILM, {**FILM, "voltage_dc": None}, None, U),
        ("film", "film", {**BOTH, "voltage_dc": None}, {**BOTH, "voltage_dc": None}, None, E),
        ("film", "ceramic", FILM, FILM, None, U),
        ("film", "ceramic", {**FILM, "dielectric": "PP"}, {**FILM, "dielectric": "C0G"}, None, C),
        ("film", "ceramic", {**FILM, "dielectric": "PET"}, {**FILM, "dielectric": "C0G"}, None, D),
        ("film", "ceramic", FILM, {**FILM, "dielectric": "C0G"}, None, D),
        ("film", "ceramic", FILM, {**FILM, "dielectric": "U2J"}, None, X),
        ("electrolytic", "film", RADIAL, {**RADIAL, "style": "axial"}, None, R),
        ("electrolytic", "film", RADIAL, {**CAN, "pitch": 5.0}, None, D),
        ("electrolytic", "film", RADIAL, RADIAL, None, D),
        ("electrolytic", "film", {**CAN, "height": 11.0, "style": "axial"},
         {**CAN, "height": 9.0, "style": "axial"}, None, R),
        ("electrolytic", "film", {**CAN, "height": 11.0}, {**CAN, "pitch": 5.0}, None, R),
        ("electrolytic", "film", {**CAN, "pitch": 5.0}, {**CAN, "height": 20.0}, None, R),
        ("electrolytic", "electrolytic", {**CAN, "polymer": True}, {**CAN, "polymer": True}, "coupling", E),
        ("electrolytic", "electrolytic", {**CAN, "low_esr": True}, {**CAN, "low_esr": True}, None, E),
        ("electrolytic", "electrolytic", {**CAN, "polymer": None}, {**CAN, "polymer": True}, "filter", D),
        ("tantalum", "film", {**BEAD, "pitch": 5.0}, {**BEAD, "pitch": 5.0, "style": "radial"}, None, D),
        ("tantalum", "ceramic", BEAD, {**BEAD, "dielectric": "C0G"}, None, D),
        ("tantalum", "ceramic", BEAD, {**BEAD, "dielectric": "C0G", "voltage_dc": 10.0}, None, X),
        ("tantalum", "ceramic", {**BEAD, "voltage_dc": None}, {**BEAD, "dielectric": "X7R"}, None, U),
        ("tantalum", "ceramic", BEAD, {**BEAD, "voltage_dc": None, "dielectric": "X7R"}, None, U),
        ("tantalum", "ceramic", BEAD, {**BEAD, "voltage_dc": 50.0, "dielectric": "nonsense"}, None, U),
        ("tantalum", "ceramic", {**BEAD, "pitch": 5.0}, {**BEAD, "dielectric": "C0G", "pitch": 2.5}, None, R),
        ("tantalum", "ceramic", {**BEAD, "pitch": 5.0}, {**BEAD, "dielectric": "C0G", "pitch": 5.0}, None, D),
        ("tantalum", "ceramic", {**BEAD, "pitch": 5.0}, {**BEAD, "dielectric": "C0G"}, None, D),
        ("tantalum", "ceramic", BEAD, {**BEAD, "dielectric": "C0G", "pitch": 5.0}, None, D),
        ("tantalum", "ceramic", {**BEAD, "style": "smd"}, {**BEAD, "dielectric": "C0G", "style": "radial"}, None, R),
        ("tantalum", "ceramic", {**BEAD, "style": "smd"}, {**BEAD, "dielectric": "C0G", "style": "smd"}, None, D),
        ("tantalum", "ceramic", {**BEAD, "style": "smd"}, {**BEAD, "dielectric": "C0G"}, None, D),
        ("tantalum", "tantalum", {**BEAD, "circuit_volts": 8.0}, BEAD, None, E),
        ("tantalum", "tantalum", {**BEAD, "circuit_volts": 8.1}, BEAD, None, E),
        ("tantalum", "tantalum", {**BEAD, "circuit_volts": 8.1}, {**BEAD, "voltage_dc": 20.0}, None, D),
        ("tantalum", "tantalum", {**BEAD, "circuit_volts": 16.1}, BEAD, None, X),
        ("tantalum", "tantalum", {**BEAD, "circuit_volts": 8.0}, {**BEAD, "voltage_dc": None}, None, U),
        ("tantalum", "tantalum", {**BEAD, "circuit_volts": 12.0, "polymer": True}, {**BEAD, "polymer": True}, None, E),
        ("tantalum", "tantalum", {**BEAD, "voltage_dc": None, "circuit_volts": 12.0}, BEAD, None, U),
        ("ceramic", "ceramic", {**FILM, "dielectric": "X7R", "size": "0805"}, {**FILM, "dielectric": "X7R"}, None, D),
        ("ceramic", "ceramic", {**FILM, "dielectric": "X7R"}, {**FILM, "dielectric": "X7R", "size": "0805"}, None, E),
        ("ceramic", "ceramic", {**FILM, "dielectric": "X7S"}, {**FILM, "dielectric": "X6S"}, None, D),
        ("ceramic", "ceramic", {**FILM, "dielectric": "X6S"}, {**FILM, "dielectric": "X7S"}, None, D),
        ("ceramic", "ceramic", {**FILM, "dielectric": "X8R"}, {**FILM, "dielectric": "X7R"}, None, C),
        ("ceramic", "ceramic", {**FILM, "dielectric": "X7R"}, {**FILM, "dielectric": "X8R"}, None, D),
        ("ceramic", "ceramic", {**FILM, "dielectric": "Z5U"}, {**FILM, "dielectric": "Y5V"}, None, D),
        ("ceramic", "ceramic", {**FILM, "dielectric": "C0G"}, {**FILM, "dielectric": "NP0"}, None, E),
        ("ceramic", "ceramic", {**FILM, "dielectric": "X7R"}, FILM, None, U),
        ("ceramic", "ceramic", {**FILM, "dielectric": "X7R"}, {**FILM, "dielectric": "X7R", "capacitance": 150e-9},
         "oscillator", X),
        ("safety-cap", "safety-cap", {"capacitance": 1e-9, "safety_class": "X1/Y2", "voltage_ac": 250.0},
         {"capacitance": 1e-9, "safety_class": "X1", "voltage_ac": 250.0}, None, X),
        ("safety-cap", "safety-cap", {"capacitance": 1e-9, "safety_class": "X1/Y2", "voltage_ac": 250.0},
         {"capacitance": 1.2e-9, "safety_class": "X1/Y2", "voltage_ac": 250.0}, None, X),
        ("safety-cap", "safety-cap", {"capacitance": 1e-9, "safety_class": "X1/Y2", "voltage_ac": 250.0},
         {"capacitance": 0.7e-9, "safety_class": "X1/Y2", "voltage_ac": 250.0}, None, X),
        ("safety-cap", "safety-cap", {"capacitance": 1e-9, "safety_class": "X1", "voltage_ac": 250.0},
         {"capacitance": 1e-9, "safety_class": "X1/Y2", "voltage_ac": 250.0}, None, D),
        ("safety-cap", "safety-cap", {"capacitance": 1e-9, "safety_class": None, "voltage_ac": 250.0},
         {"capacitance": 1e-9, "safety_class": "X1", "voltage_ac": 250.0}, None, U),
        ("safety-cap", "safety-cap", {"capacitance": 1e-9, "safety_class": "X2", "voltage_ac": 250.0},
         {"capacitance": 1e-9, "safety_class": "X2", "voltage_ac": 250.0, "series_resistor": 47.0}, None, X),
        ("safety-cap", "safety-cap",
         {"capacitance": 1e-9, "safety_class": "X2", "voltage_ac": 250.0, "series_resistor": 47.0},
         {"capacitance": 1e-9, "safety_class": "X2", "voltage_ac": 250.0, "series_resistor": 100.0}, None, X),
    ],
)  # fmt: skip
def test_capacitors(kind, other, wanted, candidate, role, grade):
    verdict = fit(part(kind, wanted), part(other, candidate), role)
    assert verdict.grade is grade, verdict


@pytest.mark.parametrize(
    ("wanted", "candidate", "shown"),
    [
        (BOTH, FILM, ("voltage_ac", 160.0, 250.0)),
        (FILM, {**FILM, "voltage_dc": None, "voltage_ac": 100.0}, ("voltage_dc", 250.0, 100.0)),
        ({**FILM, "voltage_dc": None}, FILM, ("voltage_dc", None, 250.0)),
        ({**FILM, "voltage_dc": None}, {**FILM, "voltage_dc": None, "voltage_ac": 100.0}, ("voltage_dc", None, 100.0)),
        (FILM, {**FILM, "voltage_dc": None}, ("voltage_dc", 250.0, None)),
        ({**BOTH, "voltage_dc": None}, {**FILM, "voltage_dc": None}, ("voltage_dc", 160.0, None)),
    ],
)
def test_the_volts_shown_are_those_compared(wanted, candidate, shown):
    reason = next(one for one in fit(part("film", wanted), part("film", candidate)).reasons if one.rule == "FI2")
    assert (reason.attribute, reason.wanted, reason.candidate) == shown


def test_a_ceramic_that_is_not_steady_enough_may_be_overruled_low_volts_never():
    wanted = part("tantalum", BEAD, "K-1")
    pairs = [Pair("K-1", "K-2", C)]
    drifts = part("ceramic", {**BEAD, "voltage_dc": 50.0, "dielectric": "Y5V"}, "K-2")
    low = part("ceramic", {**BEAD, "voltage_dc": 10.0, "dielectric": "X7R"}, "K-2")
    assert fit(wanted, drifts).grade is X
    assert fit(wanted, drifts, pairs=pairs).grade is C
    assert fit(wanted, low, pairs=pairs).grade is X
