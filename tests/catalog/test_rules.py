"""The rule type: each kind of test, its conditions, and the form in which a person writes one."""

import msgspec
import pytest

from catalog.figures import rows_of
from catalog.judge import can_refuse, judge
from catalog.kinds import FAMILIES, family_of
from catalog.kinds.remarks import REMARKS
from catalog.kinds.special import FUNCTIONS
from catalog.rules import (
    AtLeast,
    AtMost,
    Case,
    Equal,
    Grade,
    Ladder,
    Listed,
    Matrix,
    Pair,
    Present,
    Ratio,
    Rule,
    Special,
    Step,
    Window,
    normal,
    same_word,
)
from catalog.spec import KINDS, ROLES, PartSpec, Value
from catalog.text import Refused

E, D, R, C, U, X = tuple(Grade)
ALL_RULES = [
    (family, rule)
    for family in FAMILIES.values()
    for rule in (*family.rules, *(rule for route in family.routes.values() for rule in route.rules))
]


def result(test, wanted, candidate, pairs=(), **more):
    rule = Rule(id="t", attributes=("a",), test=test, **more)
    sides = [PartSpec("k", {} if value is None else {"a": Value(value)}) for value in (wanted, candidate)]
    found = judge(rule, Case(*sides, None, tuple(pairs)), {})
    return found[0].grade if found else None


@pytest.mark.parametrize(
    ("test", "wanted", "candidate", "grade"),
    [
        (Equal(X), 10.0, 10.009, E),
        (Equal(X), 10.0, 10.02, X),
        (Equal(X, percent=2), 5.0, 5.1, D),
        (Equal(X, percent=2), 5.0, 5.11, X),
        (Equal(X, near=(Step(0.2, D), Step(0.5, C))), 1.2, 1.0, D),
        (Equal(X, near=(Step(0.2, D), Step(0.5, C))), 1.2, 1.7, C),
        (Equal(X, near=(Step(0.2, D), Step(0.5, C))), 1.2, 1.8, X),
        (Equal(R), "TO-220", "to220", E),
        (Equal(R), "+~~-", "+~-~", R),
        (AtLeast(X), 25.0, 24.99, E),
        (AtLeast(X), 25.0, 35.0, D),
        (AtLeast(X), 25.0, 16.0, X),
        (AtMost(X, over=(Step(2.5, R),)), 6.3, 5.0, D),
        (AtMost(X, over=(Step(2.5, R),)), 6.3, 8.8, R),
        (AtMost(X, over=(Step(2.5, R),)), 6.3, 8.81, X),
        (Ratio((Window(1, 2.2, D), Window(1, None, C))), 10.0, 22.0, D),
        (Ratio((Window(1, 2.2, D), Window(1, None, C))), 10.0, 220.0, C),
        (Ratio((Window(1, 2.2, D), Window(1, None, C))), 10.0, 9.0, X),
        (Ratio((Window(1, 2.2, D),)), 0.0, 1.0, X),
        (Ladder(("F", "M", "T"), below=C, above=X), "M", "f", C),
        (Ladder(("F", "M", "T"), below=C, above=X), "M", "T", X),
        (Ladder(("F", "M", "T"), below=C, above=X), "M", "strange", X),
        (Ladder(("F", "M", "T"), below=C, above=X), "strange", "strange", E),
        (Matrix({"a": {"b": C}}), "a", "B", C),
        (Matrix({"a": {"b": C}}), "b", "a", X),
        (Listed(), "K-1", "K1", E),
        (Listed(), "K-1", "K-2", U),
        (Present(broken=C, extra=R), True, True, E),
        (Present(broken=C, extra=R), True, None, C),
        (Present(broken=C, extra=R), None, True, R),
        (Present(broken=C), None, True, None),
        (Present(broken=C), False, True, None),
        (Equal(X), 10.0, "ten", X),
        (AtLeast(X), 10.0, "ten", U),
        (Ladder(("F", "M"), below=C), 1.0, 2.0, U),
    ],
)
def test_each_kind_of_test(test, wanted, candidate, grade):
    assert result(test, wanted, candidate) is grade


@pytest.mark.parametrize(
    ("more", "wanted", "candidate", "grade"),
    [
        ({}, None, 5.0, None),
        ({"must_know": True}, None, 5.0, U),
        ({"must_know": True}, 5.0, None, U),
        ({"assume": 5.0}, None, 5.0, E),
        ({"assume": 5.0, "must_know": True}, 5.0, None, E),
        ({"silent": D}, 5.0, None, D),
    ],
)
def test_what_silence_means(more, wanted, candidate, grade):
    assert result(Equal(C), wanted, candidate, **more) is grade


@pytest.mark.parametrize(
    ("test", "wanted", "grade"),
    [
        (Equal(C), 5.0, D),
        (Equal(X), 5.0, U),
        (AtLeast(X), 5.0, U),
        (AtMost(C), 5.0, D),
        (Ratio((Window(1, 2, D),), otherwise=C), 5.0, D),
        (Ratio((Window(1, 2, D),)), 5.0, U),
        (Ladder(("L", "E"), below=X), "E", U),
        (Ladder(("L", "E"), below=X), "L", D),
        (Matrix({"a": {"b": X}}, otherwise=C), "a", U),
        (Matrix({"a": {"b": X}}, otherwise=C), "c", D),
    ],
)
def test_an_omission_is_a_check_only_where_no_value_would_be_refused(test, wanted, grade):
    assert result(test, wanted, None) is grade
    assert can_refuse(test, wanted) is (grade is U)


def test_a_pair_on_the_list_is_worth_its_worst_entry_and_never_exact():
    pairs = [Pair("K-1", "K-2", E)]
    assert result(Listed(), "K-1", "K-2", pairs) is D
    assert result(Listed(), "K-1", "K-2", [*pairs, Pair("K-1", "K-2", X)]) is X


@pytest.mark.parametrize(
    ("more", "role", "speaks"),
    [
        ({"roles": ("timing",)}, "timing", True),
        ({"roles": ("timing",)}, None, False),
        ({"not_roles": ("timing",)}, "timing", False),
        ({"not_roles": ("timing",)}, None, True),
        ({"only_if": ("b",)}, None, True),
        ({"only_if": ("c",)}, None, False),
        ({"not_if": ("b",)}, None, False),
        ({"when": {"b": ("flat",)}}, None, True),
        ({"when": {"b": ("round",)}}, None, False),
        ({"unless": {"b": ("Flat",)}}, None, False),
    ],
)
def test_when_a_rule_speaks(more, role, speaks):
    side = PartSpec("k", {"a": Value(1.0), "b": Value("flat")})
    rule = Rule(id="t", attributes=("a",), test=Equal(X), **more)
    assert bool(judge(rule, Case(side, side, role), {})) is speaks


def test_a_person_writes_a_rule_in_the_same_form():
    text = """
    id = "own 1"
    attributes = ["height"]
    must_know = true
    why = "shield in this set"
    [test]
    test = "at_most"
    broken = "refuse"
    over = [{limit = 1.0, grade = "rework"}]
    """
    rule = msgspec.toml.decode(text, type=Rule)
    assert rule.test == AtMost(X, over=(Step(1.0, R),))
    assert msgspec.json.decode(msgspec.json.encode(rule), type=Rule) == rule


def test_a_misspelt_key_of_a_rule_is_not_passed_over():
    with pytest.raises(msgspec.ValidationError, match="brokn"):
        msgspec.convert({"id": "x", "attributes": ["a"], "test": {"test": "equal", "brokn": "refuse"}}, Rule)


def test_a_rule_that_names_no_known_function_is_refused_with_its_place():
    rule = Rule(id="own 2", attributes=("a",), test=Special("magic"))
    side = PartSpec("k")
    with pytest.raises(Refused, match=r"rules\[own 2\].test: no test is called 'magic'"):
        judge(rule, Case(side, side), FUNCTIONS)


@pytest.mark.parametrize(("family", "rule"), ALL_RULES, ids=lambda one: getattr(one, "id", getattr(one, "kind", "")))
def test_built_in_rules_use_the_vocabulary_and_explain_themselves(family, rule):
    known = set().union(*(KINDS[kind] for kind in (family.kind, *family.routes) if kind in KINDS))
    assert set(rule.attributes) <= known
    assert set(rule.only_if) | set(rule.not_if) | set(rule.when) | set(rule.unless) <= set(KINDS[family.kind])
    assert {*rule.roles, *rule.not_roles} <= set(ROLES)
    assert rule.why
    assert rule.source
    assert not rule.remark or rule.remark in REMARKS
    assert not isinstance(rule.test, Special) or rule.test.name in FUNCTIONS


LOCKED = {
    "electrolytic": "AE3 AE8 AE15",
    "tantalum": "TA2 TA3 TA9",
    "ceramic": "CE3 CE4",
    "film": "FI2",
    "safety-cap": "SC1 SC2 SC3 SC5 SC7",
    "resistor": "RE3 RE4 RE5 RE6",
    "potentiometer": "PO5 PO8",
    "fuse": "FU1 FU2 FU3 FU4 FU7 FU9",
    "thermal-fuse": "TF1 TF2 TF3 TF4",
    "ptc": "PT1 PT2 PT3 PT6",
    "diode": "DI1 DI2 DI3 DI6 DI7",
    "transistor": "TR1 TR2 TR3 TR4",
    "regulator": "RG1 RG2 RG3 RG4",
    "battery": "BA1 BA2 BA3 BA6 BA9",
    "switch": "SW3",
    "connector": "CN5",
    "motor": "MO1",
    "psu": "EP1 EP2 EP3 EP4 EP6 EP9",
    "listed": "RY1 RY2 LP1 LP2 LP3 LD3 LD4",
}
"""Rows about volts, current, power, polarity, chemistry and charging, safety class, breaking capacity, time or
temperature characteristic, and mains approval: their refusals nobody overrules."""
OPEN_BY_A_SECOND_ROW = {("electrolytic", "AE15", "style")}
"""Rows that share the id of a locked one, but are about the footprint."""


@pytest.mark.parametrize("kind", FAMILIES)
def test_exactly_the_rows_about_safety_are_locked(kind):
    rows = rows_of(family_of(kind))
    for rule in rows:
        meant = (
            rule.id in LOCKED.get(kind, "").split()
            and (kind, rule.id, *rule.attributes[:1]) not in OPEN_BY_A_SECOND_ROW
        )
        assert rule.locked is meant, rule.id
    assert set(LOCKED.get(kind, "").split()) <= {rule.id for rule in rows}


def test_every_named_function_and_remark_is_used_by_a_rule():
    assert {rule.test.name for _, rule in ALL_RULES if isinstance(rule.test, Special)} == set(FUNCTIONS)
    assert {rule.remark for _, rule in ALL_RULES if rule.remark} == set(REMARKS)


@pytest.mark.parametrize("kind", sorted(set(KINDS) - {"capacitor"}))
def test_every_kind_of_the_vocabulary_is_judged(kind):
    assert family_of(kind) is not None


def test_words_are_compared_without_case_spaces_and_joins():
    assert normal("HC-49/US") == normal("hc49us")
    assert normal("6,3 × 32") == normal("6.3x32")
    assert normal("2.5") != normal("25")
    assert not same_word("", "")
