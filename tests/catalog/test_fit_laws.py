"""Laws of a fit that hold for every kind, whatever the parts, the roles and what the person said.

The parts are made from the rule data itself: values at, just inside and just outside every window, step and rung.
"""

from functools import cache

import msgspec
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from catalog.figures import changed, named, rows_of
from catalog.fit import fit
from catalog.kinds import FAMILIES, special_batteries
from catalog.kinds.listed import MUST_MATCH
from catalog.own_rules import checked, ratings
from catalog.rules import (
    AtLeast,
    AtMost,
    Equal,
    Grade,
    Ladder,
    Matrix,
    Pair,
    Present,
    Ratio,
    Rule,
    Special,
    Window,
    over,
)
from catalog.spec import KINDS, ROLES, PartSpec, Value
from catalog.text import Refused

WORDS = {
    "style": ["radial", "axial", "smd"],
    "case": ["A", "B"],
    "dielectric": ["C0G", "X7R", "X5R", "Y5V", "U2J", "PET", "PP", "PS", "paper"],
    "size": ["0603", "0805"],
    "safety_class": ["X1", "X2", "X3", "Y1", "Y2", "Y4", "X1/Y2"],
    "composition": ["carbon composition", "metal film", "wirewound"],
    "circuit": ["bussed", "isolated"],
    "taper": ["lin", "log", "reverse log"],
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
    "element": ["crystal", "resonator", "oscillator"],
    "output": ["DC", "AC"],
    "input_voltage": ["230 V", "120 V", "100-240 V"],
    "fixing": ["screw", "adhesive"],
    "material": ["silicon", "germanium"],
    "what": sorted(MUST_MATCH),
    "coil_current": ["ac", "dc"],
    "tip": ["conical", "elliptical"],
    "bias_resistors": ["10k/10k", "47k/47k"],
}
NUMBERS = {
    "capacitance": [1e-9, 100e-9],
    "poles": [1.0, 2.0],
    "throws": [1.0, 2.0],
    "gangs": [1.0, 2.0],
    "cells": [1.0, 2.0],
    "wires": [2.0, 4.0],
    "positions": [3.0, 4.0],
    "pitch": [2.5, 2.54, 5.0],
    "frequency": [3579545.0, 3.58e6, 4e6],
    "voltage": [1.2, 1.5, 3.0, 9.0],
    "zener_voltage": [5.1],
}
ANY_NUMBER = [1.0, 2.0, 5.0]
NAMES = {"part_number", "type_number", "code", "model_code"}
JUDGED = sorted(set(FAMILIES) - {"pickup"})
CAPACITOR = ("capacitor", "")
IMPLIED = {
    "taper_letter",
    "taper_region",
    "form",
    "cells",
    "inside_diameter",
    "headroom",
    "circuit_volts",
    "height_limit",
    "recess",
}
"""A second way to say the same, or a fact of the circuit that can contradict the part itself."""
SILENT_STATEMENTS = {"terminals", "material", "element", "gangs", "wires", "series_resistor", "bias_resistors"}
"""Attributes whose silence says something by their own row: one gang, bare, silicon, a crystal, two wires, none."""


@cache
def factors(kind):
    """What to multiply a wanted number with, and what to add: at, inside and outside every limit of the kind."""
    times, plus = {1.0, 0.5, 2.0}, {0.0}
    for rule in rows_of(FAMILIES[kind]):
        for name, value in named(rule.test):
            if name.endswith((" from", " to")):
                times |= {value, value * 1.001, value * 0.999}
            elif name.endswith((" within", " over by")) or name == "within":
                plus |= {value, value * 1.01, -value, -value * 1.01}
            elif "percent" in name or name == "tolerance":
                times |= {1 + value / 100, 1 - value / 100, 1 + value / 99, 1 - value / 99}
    return sorted(times), sorted(plus)


@cache
def words(kind, name):
    """The words of an attribute that the rules know, and some they do not."""
    found = list(WORDS.get(name, []))
    for rule in rows_of(FAMILIES.get(kind, FAMILIES["listed"])):
        if name in rule.attributes and isinstance(rule.test, Ladder):
            found += rule.test.order
        if name in rule.attributes and isinstance(rule.test, Matrix):
            found += [*rule.test.cells, *(word for row in rule.test.cells.values() for word in row)]
        found += [word for held in (rule.when, rule.unless) for word in held.get(name, ())]
    strange = ["strange"] if name not in {"safety_class", "chemistry"} else []  # one that is none says nothing
    return tuple(dict.fromkeys([*found, *strange] if found else ["one", "two"]))


def value(draw, kind, name):
    unit = KINDS[kind][name]
    if unit == "flag":
        return True
    if unit in {"word", "text"}:
        return draw(st.sampled_from(words(kind, name)))
    return draw(st.sampled_from(NUMBERS.get(name, ANY_NUMBER)))


def sound(spec):
    """What no description would say at once is taken out again."""
    held = dict(spec.attributes)
    if spec.kind == "motor" and "governed" in held:
        held.pop("plain", None)
    if spec.kind == "regulator" and "adjustable" not in held:
        held.pop("output_voltage_max", None)
    return PartSpec(spec.kind, held, part_number=spec.part_number)


@st.composite
def parts(draw, kind, *, full=False, skip=frozenset()):
    held = {}
    for name, unit in KINDS[kind].items():
        if name in NAMES | IMPLIED | skip:
            continue
        wish = draw(st.integers(0, 3))
        if (full and unit != "flag") or wish > (2 if unit == "flag" else 0):
            held[name] = Value(value(draw, kind, name))
    return sound(PartSpec(kind, held))


@st.composite
def near(draw, wanted, kind):
    """A candidate close to the wanted part: most attributes are the same, some at or beside a limit."""
    times, plus = factors(wanted.kind)
    held = {}
    for name, unit in KINDS.get(kind, {}).items():
        if name in NAMES | IMPLIED:
            continue
        wish = draw(st.integers(0, 7))
        other = wanted.attributes.get(name)
        if wish == 0 or (other is None and wish < (7 if unit == "flag" else 4)):
            continue
        if other is None or wish == 1:
            held[name] = Value(value(draw, kind, name))
        elif wish <= 4 or unit in {"flag", "word", "text"}:
            held[name] = other
        else:
            number = float(other.value) * draw(st.sampled_from(times)) + draw(st.sampled_from(plus))
            held[name] = Value(number if number > 0 else float(other.value))
    return sound(PartSpec(kind, held))


@st.composite
def two(draw, kind):
    """A wanted part of the kind, and a candidate of it or of a kind that may serve."""
    wanted = draw(parts(kind))
    others = [other for other in FAMILIES[kind].routes if other in KINDS]
    other = draw(st.sampled_from([kind, kind, kind, *others]))
    return wanted, draw(near(wanted, other))


@cache
def own_rules(kind):
    """Rules of the person's own that may stand: wide open instead of every row that is not locked, and strict ones."""
    found = []
    for place, row in enumerate(rows_of(FAMILIES[kind])):
        plain = {"kind": kind, "why": "own", "must_know": False}
        for name, figure in named(row.test):
            for factor in (0.0, 0.5, 2.0, 4.0):
                rule = Rule(
                    id=f"{place} {name} {factor}",
                    attributes=row.attributes,
                    test=_changed(row.test, name, figure * factor),
                    instead_of=row.id,
                    **plain,
                )
                found.append(rule)
        for name in row.attributes:
            found += [
                Rule(id=f"{place} {name} {test}", attributes=(name,), test=test, instead_of=instead, **plain)
                for instead in (row.id, "")
                for test in _tests()
            ]
    return tuple(rule for rule in found if _stands(rule))


def _tests():
    loose, strict = Grade.DROP_IN, Grade.REFUSE
    yield from (Equal(grade) for grade in (loose, strict))
    yield from (AtLeast(grade) for grade in (loose, strict))
    yield from (AtMost(grade) for grade in (loose, strict))
    yield from (Ratio((Window(0, None, loose),)), Ratio((Window(0.5, 2, loose),), strict))
    yield from (Present(loose, loose), Present(strict))
    yield from (Ladder(("one", "two"), loose, loose), Ladder(("one", "two"), strict, strict))


def _changed(test, name, figure):
    try:
        return changed(test, name, figure)
    except Refused:
        return test


def _stands(rule):
    try:
        return checked(rule) is not None
    except Refused:
        return False


@st.composite
def own(draw, kind):
    """Some of them at once."""
    return tuple(draw(st.lists(st.sampled_from(own_rules(kind)), max_size=4)))


def without(spec, *names):
    return msgspec.structs.replace(
        spec, attributes={key: held for key, held in spec.attributes.items() if key not in names}
    )


def plus(spec, **more):
    return msgspec.structs.replace(
        spec, attributes={**spec.attributes, **{name: Value(held) for name, held in more.items()}}
    )


def numbered(spec, number):
    return msgspec.structs.replace(spec, part_number=number)


roles = st.sampled_from([None, *ROLES])
grades = st.sampled_from([Grade.EXACT, Grade.DROP_IN, Grade.REWORK, Grade.COMPROMISE])
mains = st.sampled_from([None, 120.0, 230.0])
EXAMPLES = 30
law = settings(
    max_examples=EXAMPLES,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    phases=[Phase.explicit, Phase.reuse, Phase.generate, Phase.shrink],
)
every = pytest.mark.parametrize("kind", JUDGED)


@every
@law
@given(data=st.data(), role=roles, volts=mains)
def test_a_fully_stated_part_replaces_itself_exactly_whatever_the_person_said(kind, data, role, volts):
    spec = data.draw(parts(kind, full=True))
    if kind == "motor" and not (spec.flag("governed") or spec.flag("plain")):
        spec = plus(spec, plain=True)
    if kind == "regulator" and "adjustable" in spec.attributes:
        spec = plus(spec, output_voltage_max=9.0)
    if kind == "diode" and data.draw(st.booleans()):
        spec = without(spec, "zener_voltage")
    if kind == "battery" and special_batteries.rechargeable(spec) is not True:
        spec = without(
            spec, "charging_circuit"
        )  # a primary cell in a place that charges is refused, whatever was there
        role = None if role == "charging" else role
    if kind in {"film", "ceramic"} and role == "mains":
        role = None  # an ordinary capacitor at the mains is refused, whatever was there
    spec = numbered(spec, "K-1")
    pairs = [Pair("K-1", "K-1", Grade.REFUSE), Pair("K-1", "K-2", Grade.REFUSE), Pair("K-2", "K-1", Grade.REWORK)]
    said = data.draw(own(kind))
    assert fit(spec, spec, role, pairs, rules=said, mains=volts).grade is Grade.EXACT, said


@every
@law
@given(data=st.data(), role=roles)
def test_leaving_data_out_of_a_refused_candidate_never_promises_more_than_unknown(kind, data, role):
    wanted, candidate = data.draw(two(kind))
    said = data.draw(own(kind))
    if fit(wanted, candidate, role, rules=said).grade is not Grade.REFUSE:
        return
    units = KINDS[candidate.kind]
    stated = [name for name in candidate.attributes if units[name] != "flag" and name not in SILENT_STATEMENTS]
    for name in stated:
        assert fit(wanted, without(candidate, name), role, rules=said).grade.rank >= Grade.UNKNOWN.rank, name
    for some in data.draw(st.lists(st.sets(st.sampled_from(stated)), max_size=3)) if stated else ():
        assert fit(wanted, without(candidate, *some), role, rules=said).grade.rank >= Grade.UNKNOWN.rank, some


@every
@law
@given(data=st.data(), role=roles)
def test_leaving_out_the_number_or_the_kind_of_a_refused_candidate_promises_nothing(kind, data, role):
    wanted, candidate = (numbered(part, name) for part, name in zip(data.draw(two(kind)), ("K-1", "K-2"), strict=True))
    pairs = [Pair("K-1", "K-2", Grade.REFUSE)]
    assert fit(wanted, candidate, role, pairs).grade is Grade.REFUSE
    assert fit(wanted, numbered(candidate, ""), role, pairs).grade.rank >= Grade.UNKNOWN.rank
    for unsaid in CAPACITOR:
        vague = msgspec.structs.replace(numbered(candidate, ""), kind=unsaid)
        assert fit(wanted, vague, role, pairs).grade.rank >= Grade.UNKNOWN.rank


@every
@law
@given(data=st.data(), role=roles, more=st.floats(1.001, 20), grade=grades)
def test_raising_a_rating_never_hurts(kind, data, role, more, grade):
    wanted, candidate = (numbered(part, name) for part, name in zip(data.draw(two(kind)), ("K-1", "K-2"), strict=True))
    said = data.draw(own(kind))
    pairs = data.draw(st.sampled_from([[], [Pair("K-1", "K-2", grade)]]))
    rated = ratings(kind) - ({"power"} if wanted.flag("fusible") else set())
    before = fit(wanted, candidate, role, pairs, rules=said).grade
    for name in rated & candidate.attributes.keys():
        raised = plus(candidate, **{name: candidate.number(name) * more})
        after = fit(wanted, raised, role, pairs, rules=said).grade
        assert after.rank <= max(before.rank, Grade.DROP_IN.rank), name


@every
@law
@given(data=st.data(), role=roles, grade=grades, volts=mains)
def test_nothing_a_person_says_moves_a_locked_refusal(kind, data, role, grade, volts):
    wanted, candidate = (numbered(part, name) for part, name in zip(data.draw(two(kind)), ("K-1", "K-2"), strict=True))
    verdict = fit(wanted, candidate, role, mains=volts)
    if not verdict.locked:
        return
    reasons = [reason for reason in verdict.reasons if reason.locked]
    pairs = [Pair("K-1", "K-2", grade)]
    smuggled = [
        Rule(id="s", attributes=(reason.attribute,), test=Equal(Grade.DROP_IN), instead_of=reason.rule, kind=kind)
        for reason in reasons
    ]
    for said in (data.draw(own(kind)), smuggled):
        after = fit(wanted, candidate, role, pairs, rules=said, mains=volts)
        assert after.grade is Grade.REFUSE
        assert {reason.rule for reason in reasons} <= {reason.rule for reason in after.reasons if reason.locked}


@every
@law
@given(data=st.data(), role=roles, grade=grades)
def test_a_pair_never_lifts_a_refusal_across_kinds(kind, data, role, grade):
    other = data.draw(st.sampled_from([*CAPACITOR, *(name for name in JUDGED if name not in {kind, "listed"})]))
    wanted, candidate = data.draw(parts(kind)), PartSpec(other)
    if other in KINDS and data.draw(st.booleans()):
        candidate = data.draw(parts(other))
    wanted, candidate = numbered(wanted, "K-1"), numbered(candidate, "K-2")
    across = [one.result for one in fit(wanted, candidate, role).reasons if one.rule == "G8"]
    after = fit(wanted, candidate, role, [Pair("K-1", "K-2", grade)]).grade
    if Grade.REFUSE in across:
        assert after is Grade.REFUSE
    if Grade.UNKNOWN in across:
        assert after.rank >= Grade.UNKNOWN.rank


@every
@law
@given(data=st.data(), role=roles)
def test_a_rule_beside_the_others_only_makes_a_verdict_stricter(kind, data, role):
    wanted, candidate = data.draw(two(kind))
    beside = [rule for rule in data.draw(own(kind)) if not rule.instead_of]
    before, after = fit(wanted, candidate, role), fit(wanted, candidate, role, rules=beside)
    assert after.grade.rank >= before.grade.rank or before.grade is Grade.EXACT
    if before.grade is Grade.REFUSE:
        assert after.grade is Grade.REFUSE


@every
@law
@given(data=st.data(), grade=grades)
def test_pairs_are_never_carried_on_and_hold_in_their_direction(kind, data, grade):
    wanted, candidate = (numbered(part, name) for part, name in zip(data.draw(two(kind)), ("K-1", "K-3"), strict=True))
    chain = [Pair("K-1", "K-2", grade), Pair("K-2", "K-3", grade), Pair("K-3", "K-1", grade)]
    assert fit(wanted, candidate, pairs=chain) == fit(wanted, candidate)


@every
@law
@given(data=st.data(), role=roles)
def test_the_worst_reason_is_the_grade(kind, data, role):
    wanted, candidate = data.draw(two(kind))
    verdict = fit(wanted, candidate, role, rules=data.draw(own(kind)))
    ranks = [reason.result.rank for reason in verdict.reasons]
    assert verdict.grade.rank == max(ranks, default=0)
    assert ranks == sorted(ranks, reverse=True)
    assert candidate.kind == kind or verdict.grade is not Grade.EXACT
    assert all(reason.result is Grade.REFUSE for reason in verdict.reasons if reason.locked)


@every
@law
@given(data=st.data(), role=roles)
def test_what_is_exact_states_all_that_was_wanted_and_says_it_alike(kind, data, role):
    wanted = data.draw(parts(kind, full=True))
    if kind == "listed":
        return  # a number stands for the rest
    spoken = {name for row in FAMILIES[kind].rules if isinstance(row.test, Special) for name in row.attributes}
    for name in sorted(wanted.attributes.keys() - SILENT_STATEMENTS - spoken - set(FAMILIES[kind].place)):
        assert fit(wanted, without(wanted, name), role).grade is not Grade.EXACT, name
        number = wanted.number(name)
        if number is not None:
            factor = data.draw(st.sampled_from([0.5, 0.97, 1.03, 2.0]))
            assert fit(wanted, plus(wanted, **{name: number * factor}), role).grade is not Grade.EXACT, name


def test_a_number_just_inside_and_just_outside_a_limit_are_told_apart():
    for rule in rows_of(FAMILIES["electrolytic"]):
        for name, limit in named(rule.test):
            if name.endswith(" to"):
                assert not over(limit, limit)
                assert over(limit * 1.001, limit), name
            assert not isinstance(rule.test, Special) or rule.locked or limit
