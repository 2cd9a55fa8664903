"""Laws of a fit that hold for every kind, whatever the parts."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.fit import fit
from catalog.kinds import FAMILIES
from catalog.rules import AtLeast, Grade, Pair
from catalog.spec import KINDS, ROLES, PartSpec, Value

WORDS = {
    "style": ["radial", "axial", "smd"],
    "case": ["A", "B"],
    "dielectric": ["C0G", "X7R", "X5R", "Y5V", "U2J", "PET", "PP", "paper"],
    "size": ["0603", "0805"],
    "safety_class": ["X1", "X2", "Y1", "Y2", "X1/Y2"],
    "composition": ["carbon composition", "metal film", "wirewound"],
    "circuit": ["bussed", "isolated"],
    "taper": ["lin", "log"],
    "speed": ["F", "M", "T"],
    "breaking": ["L", "E", "H"],
    "body": ["5x20", "6.3x32"],
    "system": ["IEC", "UL"],
    "recovery": ["standard", "fast", "ultrafast", "schottky"],
    "material": ["silicon", "germanium"],
    "polarity": ["NPN", "PNP", "N-JFET", "centre-positive"],
    "idss_class": ["2-6 mA", "5-9 mA", "8-12 mA"],
    "chemistry": ["alkaline", "silver-oxide", "zinc-air", "lithium-manganese-dioxide", "nimh", "nicd", "li-ion"],
    "terminals": ["bare", "tabs", "plug"],
    "normally": ["NO", "NC"],
    "action": ["momentary", "latching"],
    "gender": ["male", "female"],
    "family": ["invented K", "invented L", "pin header"],
    "contact_sides": ["same", "opposite"],
    "basis": ["nominal", "measured", "path"],
    "section": ["square", "round", "flat"],
    "rotation": ["CW", "CCW"],
    "mode": ["fundamental", "overtone"],
    "package": ["HC-49/U", "HC-49/US", "TO-92", "TO-220"],
    "output": ["DC", "AC"],
    "input_voltage": ["230 V", "120 V", "100-240 V"],
    "fixing": ["screw", "adhesive"],
}
NUMBERS = {
    "capacitance": [1e-9, 1.5e-9, 100e-9, 220e-9],
    "poles": [1.0, 2.0],
    "throws": [1.0, 2.0],
    "gangs": [1.0, 2.0],
    "cells": [1.0, 2.0],
    "wires": [2.0, 4.0],
    "frequency": [3579545.0, 3.58e6, 4e6],
    "voltage": [1.2, 1.5, 3.0, 3.6],
}
ANY_NUMBER = [1.0, 1.04, 1.4, 2.0, 2.5, 5.0]
NAMES = {"part_number", "type_number", "code", "model_code"}
DEFAULTED = {
    "taper_letter",
    "taper_region",
    "form",
    "gangs",
    "terminals",
    "material",
    "element",
    "series_resistor",
    "bias_resistors",
    "wires",
}
"""Attributes whose silence is itself a statement (one gang, bare cell, silicon, crystal, two wires, none inside)."""
CONTRADICTIONS = {"inside_diameter", "height_limit", "circuit_volts", "headroom", "recess"}
"""Facts of the place, or a second way to say the same: a random one would only contradict the part itself."""
JUDGED = sorted(set(FAMILIES) - {"listed", "pickup"})


def values(kind, name):
    unit = KINDS[kind][name]
    if unit == "flag":
        return st.just(True)
    if unit in {"word", "text"}:
        return st.sampled_from(WORDS.get(name, ["one", "two"]))
    return st.sampled_from(NUMBERS.get(name, ANY_NUMBER))


@st.composite
def parts(draw, kind, *, full=False, skip=frozenset()):
    held = {}
    for name, unit in KINDS[kind].items():
        if name in NAMES | DEFAULTED | CONTRADICTIONS | skip:
            continue
        wish = draw(st.integers(0, 3))
        if (full and unit != "flag") or wish > (1 if unit == "flag" else 0):
            held[name] = Value(draw(values(kind, name)))
    if kind == "motor":
        held.pop("plain" if "governed" in held else "", None)
    if kind == "battery":
        held.pop("cells", None)
    if kind == "regulator":
        for name in ("adjustable", "output_voltage_max"):
            held.pop(name, None)
    return PartSpec(kind, held)


def without(spec, name):
    return PartSpec(spec.kind, {key: value for key, value in spec.attributes.items() if key != name})


def plus(spec, **more):
    return PartSpec(spec.kind, {**spec.attributes, **{name: Value(value) for name, value in more.items()}})


roles = st.sampled_from([None, *ROLES])


@pytest.mark.parametrize("kind", JUDGED)
@settings(max_examples=30, deadline=None)
@given(data=st.data(), role=roles)
def test_a_fully_stated_part_replaces_itself_exactly(kind, data, role):
    spec = data.draw(parts(kind, full=True))
    if kind == "motor" and not (spec.flag("governed") or spec.flag("plain")):
        spec = plus(spec, plain=True)
    if kind == "diode":
        spec = without(spec, "zener_voltage") if data.draw(st.booleans()) else spec
    assert fit(spec, spec, role).grade is Grade.EXACT


@pytest.mark.parametrize("kind", JUDGED)
@settings(max_examples=30, deadline=None)
@given(data=st.data(), role=roles)
def test_leaving_data_out_of_a_refused_candidate_never_promises_more_than_unknown(kind, data, role):
    wanted, candidate = data.draw(parts(kind)), data.draw(parts(kind))
    if fit(wanted, candidate, role).grade is Grade.REFUSE:
        stated = [name for name in candidate.attributes if KINDS[kind][name] != "flag"]
        for name in stated:
            assert fit(wanted, without(candidate, name), role).grade.rank >= Grade.UNKNOWN.rank, name


@pytest.mark.parametrize("kind", JUDGED)
@settings(max_examples=30, deadline=None)
@given(data=st.data(), role=roles, more=st.floats(1.001, 20))
def test_raising_a_rating_never_hurts(kind, data, role, more):
    wanted, candidate = data.draw(parts(kind)), data.draw(parts(kind))
    ratings = {
        name
        for rule in FAMILIES[kind].rules
        if isinstance(rule.test, AtLeast)
        for name in rule.attributes
        if not (kind == "resistor" and wanted.flag("fusible"))
    }
    before = fit(wanted, candidate, role).grade
    for name in ratings & candidate.attributes.keys():
        raised = plus(candidate, **{name: candidate.number(name) * more})
        after = fit(wanted, raised, role).grade
        assert after.rank <= max(before.rank, Grade.DROP_IN.rank), name


@pytest.mark.parametrize("kind", JUDGED)
@settings(max_examples=30, deadline=None)
@given(data=st.data(), role=roles, grade=st.sampled_from([Grade.EXACT, Grade.DROP_IN, Grade.COMPROMISE]))
def test_no_list_and_no_role_moves_a_locked_refusal(kind, data, role, grade):
    wanted, candidate = data.draw(parts(kind)), data.draw(parts(kind))
    verdict = fit(wanted, candidate)
    if verdict.locked:
        named = [
            PartSpec(spec.kind, spec.attributes, part_number=number)
            for spec, number in ((wanted, "K-1"), (candidate, "K-2"))
        ]
        listed = fit(*named, role, [Pair("K-1", "K-2", grade)])
        assert listed.grade is Grade.REFUSE
        assert listed.locked


@pytest.mark.parametrize("kind", JUDGED)
@settings(max_examples=30, deadline=None)
@given(data=st.data(), role=roles)
def test_the_worst_reason_is_the_grade(kind, data, role):
    other = data.draw(st.sampled_from([kind, *FAMILIES[kind].routes]))
    wanted = data.draw(parts(kind))
    candidate = data.draw(parts(other)) if other in FAMILIES else PartSpec(other)
    verdict = fit(wanted, candidate, role)
    ranks = [reason.result.rank for reason in verdict.reasons]
    assert verdict.grade.rank == max(ranks, default=0)
    assert ranks == sorted(ranks, reverse=True)
    assert other == kind or verdict.grade is not Grade.EXACT
