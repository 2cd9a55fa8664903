"""The person's own rules: which may stand, how they speak, the figures they change, and the words they are said in."""

import msgspec
import pytest

from catalog.figures import all_figures, changed, named, row_of, rows_of
from catalog.fit import fit
from catalog.kinds import FAMILIES
from catalog.own_rules import checked, merged, of_kind, ratings
from catalog.rule_words import FORMS, test_of, words_of
from catalog.rules import (
    AtLeast,
    AtMost,
    Equal,
    Grade,
    Ladder,
    Listed,
    Pair,
    Present,
    Ratio,
    Rule,
    Special,
    Step,
    Window,
)
from catalog.spec import PartSpec, Value
from catalog.text import Refused

E, D, R, C, U, X = tuple(Grade)
read_words = test_of  # not a test


del test_of


def spec(kind, number="", **stated):
    held = {name: Value(value) for name, value in stated.items() if value is not None}
    return PartSpec(kind, held, part_number=number)


CAN = {"capacitance": 100e-6, "voltage_dc": 25.0, "height": 11.0}


def can(**more):
    return spec("electrolytic", **{**CAN, **more})


def own(**more):
    base = {"id": "mine", "kind": "electrolytic", "attributes": ("height",), "test": AtMost(Grade.REFUSE)}
    return Rule(**{**base, **more})


VALUE = own(
    attributes=("capacitance",), test=Ratio((Window(0.5, 4, D),), C), instead_of="AE1", by="Ann", at="2026-11-27"
)
RULE_CASES = [
    # rules, change of the candidate, role, grade
    ([], {"height": 12.0}, None, R),
    ([own()], {"height": 12.0}, None, X),
    ([own(kind="film")], {"height": 12.0}, None, R),
    ([own(roles=("timing",))], {"height": 12.0}, None, R),
    ([own(test=AtMost(Grade.DROP_IN))], {"height": 12.0}, None, R),
    ([own(test=AtMost(Grade.DROP_IN), instead_of="AE10")], {"height": 12.0}, None, D),
    ([own(test=AtMost(Grade.EXACT), instead_of="AE10")], {"height": 12.0}, None, D),
    ([own(test=AtMost(Grade.REFUSE), instead_of="AE10")], {"height": None}, None, U),
    ([own(test=AtMost(Grade.DROP_IN), instead_of="AE10")], {"height": None}, None, D),
    ([VALUE], {"capacitance": 50e-6}, None, D),
    ([VALUE], {"capacitance": 401e-6}, None, C),
    ([VALUE], {"capacitance": None}, None, U),
    ([VALUE], {"capacitance": 150e-6}, "timing", X),
    ([VALUE], {"voltage_dc": 16.0}, None, X),
    ([VALUE, own(test=AtMost(Grade.COMPROMISE))], {"capacitance": 50e-6, "height": 12.0}, None, C),
]


@pytest.mark.parametrize(("rules", "change", "role", "grade"), RULE_CASES)
def test_own_rules_speak_beside_the_others_or_instead_of_a_row(rules, change, role, grade):
    verdict = fit(can(), can(**change), role, rules=[checked(rule) for rule in rules])
    assert verdict.grade is grade, verdict


def test_a_reason_says_whose_rule_it_is_since_when_and_what_the_row_says():
    reasons = fit(can(), can(capacitance=50e-6), rules=[VALUE]).reasons
    mine = next(reason for reason in reasons if reason.attribute == "capacitance")
    assert mine.rule == "mine"
    assert mine.source == "the person's own rule, by Ann, 2026-11-27"
    assert "; AE1 says refuse; more is invisible in a reservoir" in mine.why
    same = fit(can(), can(), rules=[VALUE]).reasons
    assert next(reason.why for reason in same if reason.attribute == "capacitance") == "the same"
    assert [reason.rule for reason in same].count("AE1") == 0


FORM = "Form the leads so that the wider can stands clear of its neighbours"
ANOTHER = "A capacitor of another value is fitted"


@pytest.mark.parametrize(
    ("rule", "change", "do", "tell"),
    [
        (own(attributes=("diameter",), test=AtMost(R), instead_of="AE9"), {"diameter": 14.0}, (FORM,), ()),
        (own(attributes=("diameter",), test=AtMost(R), instead_of="AE9", do="Mine"), {"diameter": 14.0}, ("Mine",), ()),
        (own(attributes=("capacitance",), test=Equal(C), instead_of="AE1"), {"capacitance": 5e-4}, (), (ANOTHER,)),
        (
            own(attributes=("capacitance",), test=Equal(C), instead_of="AE1", tell="Mine"),
            {"capacitance": 5e-4},
            (),
            ("Mine",),
        ),
    ],
)
def test_what_to_do_and_to_tell_is_the_persons_own_word_where_there_is_one(rule, change, do, tell):
    wide = {**CAN, "diameter": 10.0}
    wanted, candidate = (spec("electrolytic", **stated) for stated in (wide, {**wide, **change}))
    verdict = fit(wanted, candidate, rules=[checked(rule)])
    assert (verdict.do, verdict.tell) == (do, tell)


def test_a_named_test_that_an_own_rule_asks_of_another_attribute_stands_beside_its_row():
    row = next(one for one in rows_of(FAMILIES["belt"]) if one.id == "BE1")
    wide = msgspec.structs.replace(row.test, windows=(Window(0.5, 2, D),))
    wanted, candidate = (spec("belt", circumference=size, section="square", thickness=1.2) for size in (100.0, 80.0))
    for name, grade in (("circumference", D), ("inside_diameter", X)):
        mine = checked(own(kind="belt", attributes=(name,), instead_of="BE1", test=wide))
        reasons = fit(wanted, candidate, rules=[mine]).reasons
        assert max((one.result for one in reasons), key=lambda one: one.rank) is grade, reasons


def test_a_pair_says_whose_word_it_is():
    pairs = [Pair("K-1", "K-2", R, "pins crossed", "Ann", "2026-11-27T10:00:00"), Pair("K-2", "K-3")]
    parts = [spec("listed", part_number=name) for name in ("K-1", "K-2", "K-3")]
    verdict = fit(parts[0], parts[1], pairs=pairs)
    assert verdict.grade is R
    assert verdict.reasons[0].source == "the person's own list, by Ann, 2026-11-27"
    assert "pins crossed" in verdict.reasons[0].why
    assert fit(parts[0], parts[2], pairs=pairs).grade is U
    assert fit(parts[1], parts[0], pairs=pairs).grade is U
    belts = [
        spec("belt", name, circumference=size, section="flat", width=5.0)
        for name, size in (("K-1", 100.0), ("K-2", 150.0))
    ]
    lifted = fit(*belts, pairs=pairs)
    assert lifted.grade is R
    assert "the person's own list, by Ann, 2026-11-27" in {reason.source for reason in lifted.reasons}


def test_a_candidate_without_a_number_may_be_the_one_the_list_refuses():
    pairs = [Pair("K-1", "K-2", X)]
    wanted = msgspec.structs.replace(can(), part_number="K-1")
    assert fit(wanted, can(), pairs=pairs).grade is U
    assert fit(wanted, can(), pairs=[Pair("K-9", "K-2", X)]).grade is E
    assert fit(wanted, can(), pairs=[Pair("K-1", "K-2", R)]).grade is E
    assert fit(wanted, msgspec.structs.replace(can(), part_number="K-3"), pairs=pairs).grade is E
    assert fit(wanted, wanted, pairs=[Pair("K-1", "K-1", X)]).grade is E
    traits = {"what": "roller", "diameter": 13.0, "bore": 2.0, "width": 9.0}
    roller, bare = spec("listed", "K-1", **traits), spec("listed", **traits)
    assert fit(roller, bare).grade is D
    assert fit(roller, bare, pairs=pairs).grade is U


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"id": ""}, "id"),
        ({"id": "AE1"}, "id"),
        ({"kind": "gadget"}, "kind"),
        ({"kind": ""}, "kind"),
        ({"attributes": ()}, "attributes"),
        ({"attributes": ("colour",)}, "attributes"),
        ({"only_if": ("colour",)}, "only_if"),
        ({"when": {"colour": ("red",)}}, "when"),
        ({"roles": ("hot",)}, "roles"),
        ({"not_roles": ("hot",)}, "roles"),
        ({"locked": True}, "locked"),
        ({"assume": 5.0}, "assume"),
        ({"silent": D}, "silent"),
        ({"vouched": True}, "vouched"),
        ({"remark": "width"}, "remark"),
        ({"instead_of": "ZZ9"}, "instead_of"),
        ({"instead_of": "AE3", "attributes": ("voltage_dc",), "test": AtLeast(C)}, "instead_of"),
        ({"instead_of": "AE1"}, "attributes"),
        ({"test": Special("ceiling")}, "test.name"),
        ({"test": Special("magic"), "instead_of": "AE10"}, "test.name"),
        (
            {
                "kind": "foot",
                "attributes": ("diameter",),
                "instead_of": "RF2",
                "test": Special("magic", (), {"within": 2}),
            },
            "test.name",
        ),
        ({"instead_of": "AE15", "attributes": ("style",), "test": Equal(D)}, "instead_of"),
        ({"test": Listed()}, "test"),
        ({"test": Present(X)}, "test.test"),
        ({"test": Ladder(("a", "b"), X)}, "test.test"),
        ({"attributes": ("style",)}, "test.test"),
        ({"attributes": ("low_esr",), "test": Equal(X)}, "test.test"),
        ({"attributes": ("voltage_dc",)}, "test.test"),
        ({"attributes": ("temperature",), "test": Equal(X)}, "test.test"),
        ({"test": AtMost(X, over=(Step(-1, R),))}, "test"),
        ({"test": AtMost(X, over=(Step(float("nan"), R),))}, "test"),
        ({"test": AtMost(X, over=(Step(float("inf"), R),))}, "test"),
        ({"test": Ratio((Window(2, 1, D),))}, "test.windows"),
        ({"test": Ratio((Window(1, 11, D),))}, "test.windows"),
    ],
)
def test_what_may_not_stand_is_refused_with_its_field(change, where):
    with pytest.raises(Refused) as refused:
        checked(own(**change))
    assert refused.value.where == where


@pytest.mark.parametrize(
    "change",
    [
        {},
        {"test": Ratio((Window(1, 10, D),))},
        {"test": Ratio((Window(1, 1, D), Window(0, None, C)))},
        {"test": AtMost(X, over=(Step(0, R),))},
        {"attributes": ("voltage_dc",), "test": AtLeast(X)},
        {"attributes": ("style",), "test": Equal(X)},
        {"attributes": ("polymer",), "test": Present(X)},
        {"instead_of": "AE10"},
        {
            "kind": "foot",
            "attributes": ("diameter",),
            "instead_of": "RF2",
            "test": Special("foot_diameter", (), {"within": 2}),
        },
        {"roles": ("timing",), "only_if": ("pitch",), "when": {"style": ("radial",)}},
    ],
)
def test_what_may_stand_stands(change):
    assert checked(own(**change)) == own(**change)


def test_a_named_test_keeps_its_figures():
    foot = own(kind="foot", attributes=("diameter",), instead_of="RF2", test=Special("foot_diameter"))
    with pytest.raises(Refused, match="figures"):
        checked(foot)
    length = next(row.test for row in rows_of(FAMILIES["belt"]) if row.id == "BE1")
    belt = own(kind="belt", attributes=("circumference",), instead_of="BE1", test=length)
    assert checked(belt) == belt
    for lacking in (Special("belt_length"), Special("belt_length", (), length.figures)):
        with pytest.raises(Refused, match="figures"):
            checked(msgspec.structs.replace(belt, test=lacking))


def test_texts_of_a_rule_are_cleaned():
    kept = checked(own(id=" low\x1b[31m  lid ", why="a\nb", by="\x07Ann"))
    assert (kept.id, kept.why, kept.by) == ("low lid", "a b", "Ann")


def test_of_two_rules_with_one_name_the_later_counts():
    first, second, other = own(), own(why="b"), own(kind="film")
    assert merged([first], [second, other]) == (second, other)
    assert of_kind([first, other, own(kind="")], "film") == (other, own(kind=""))


@pytest.mark.parametrize(
    ("kind", "names"),
    [
        ("electrolytic", "voltage_dc voltage_ac temperature life ripple"),
        ("fuse", "voltage_ac voltage_dc"),
        ("psu", "current"),
        ("belt", ""),
    ],
)
def test_ratings_are_what_more_of_is_never_worse(kind, names):
    assert ratings(kind) == set(names.split())


# figures


def test_every_figure_can_be_changed_to_itself_and_has_an_origin():
    seen = 0
    for kind, family in FAMILIES.items():
        for row in rows_of(family):
            for name, value in named(row.test):
                seen += 1
                assert changed(row.test, name, value) == row.test
                assert dict(named(changed(row.test, name, value * 1.0001)))[name] == pytest.approx(value * 1.0001)
                assert any(
                    (one.kind, one.rule, one.name, one.value) == (kind, row.id, name, value) for one in all_figures()
                )
    assert seen >= 90
    assert all(one.source for one in all_figures())


@pytest.mark.parametrize(
    ("kind", "rule", "figure", "value"),
    [
        ("electrolytic", "AE1", "drop-in to", 2.2),
        ("electrolytic", "AE1", "compromise to", 4.7),
        ("electrolytic", "AE9", "rework over by", 2.5),
        ("belt", "BE1", "drop-in from", 0.97),
        ("belt", "BE2", "drop-in to", 0.98),
        ("foot", "RF1", "drop-in within", 0.5),
        ("foot", "RF2", "within", 1),
        ("switch", "SW6", "drop-in within", 0.3),
        ("crystal", "XT1", "ppm", 200),
        ("diode", "DI6", "within percent", 2),
        ("battery", "BA2", "nickel volts", 1.2),
        ("battery", "BA2", "primary volts", 1.5),
        ("battery", "BA2", "nickel percent", 1),
        ("battery", "BA2", "volts", 0.1),
        ("battery", "BA3", "listed volts a cell", 0.15),
        ("battery", "BA3", "cell volts", 1.5),
        ("belt", "BE1", "pi percent", 3),
        ("belt", "BE3", "agree percent", 1),
        ("connector", "CN2", "metric", 2.5),
        ("connector", "CN2", "inch", 2.54),
        ("psu", "EP9", "lowest", 80),
        ("psu", "EP9", "highest", 500),
        ("tantalum", "TA3", "times", 2),
        ("tantalum", "TA3", "polymer low", 0.9),
        ("tantalum", "TA3", "polymer volts", 10),
        ("tantalum", "TA3", "polymer high", 0.8),
    ],
)
def test_thresholds_without_a_source_are_figures_with_their_origin(kind, rule, figure, value):
    found = next(one for one in all_figures() if (one.kind, one.rule, one.name) == (kind, rule, figure))
    assert found.value == value
    assert dict(named(row_of(kind, rule, figure).test))[figure] == value


@pytest.mark.parametrize(
    ("kind", "rule", "figure", "value", "part"),
    [
        ("gadget", "AE1", "drop-in to", 3, "no kind"),
        ("belt", "AE1", "drop-in to", 3, "no rule"),
        ("belt", "BE1", "ppm", 3, "no figure"),
        ("belt", "BE1", "drop-in from", 3, "holds nothing"),
        ("belt", "BE4", "drop-in from", 3, "it has none"),
    ],
)
def test_a_figure_that_is_not_there_is_refused(kind, rule, figure, value, part):
    with pytest.raises(Refused, match=part):
        changed(row_of(kind, rule, figure).test, figure, value)


# words


@pytest.mark.parametrize(
    ("words", "test"),
    [
        ("equal, else refuse", Equal(X)),
        ("equal, within 0.5 drop-in, within 2 rework, else compromise", Equal(C, near=(Step(0.5, D), Step(2, R)))),
        ("equal, within 2 % drop-in, else refuse", Equal(X, percent=2)),
        ("at least, else compromise", AtLeast(C)),
        ("at most, else refuse", AtMost(X)),
        ("at most, over by 2.5 rework, else refuse", AtMost(X, over=(Step(2.5, R),))),
        ("times 1 to 2.2 drop-in, times 0.8 or more compromise, else refuse",
         Ratio((Window(1, 2.2, D), Window(0.8, None, C)))),
        ("present, else rework", Present(R)),
        ("absent, else refuse", Present(extra=X)),
        ("order F < M < T, below compromise, above refuse", Ladder(("F", "M", "T"), C, X)),
    ],
)  # fmt: skip
def test_a_test_is_said_and_read_in_the_same_words(words, test):
    assert read_words(words) == test
    assert words_of(test) == words
    assert read_words(words.upper().replace("F < M < T", "F < M < T")) == test or words.startswith("order")


@pytest.mark.parametrize("words", FORMS)
def test_the_examples_are_right(words):
    assert words_of(read_words(words)) == words


@pytest.mark.parametrize(
    "words",
    [
        "", "equal", "equal, else", "equal, else bad", "equal, within x drop-in, else refuse", "sometimes, else refuse",
        "at least, within 2 rework, else refuse", "at most, over by 2 % rework, else refuse", "times 1, else refuse",
        "times 1 to 2 drop-in", "equal, within 2 % rework, else refuse", "order a, below refuse, above refuse",
        "equal, within 2 % drop-in, within 3 % drop-in, else refuse", "order a < b, below refuse", "present, refuse",
        "at most, over by -2 rework, else refuse", "order a < , below refuse, above refuse",
    ],
)  # fmt: skip
def test_other_words_are_refused(words):
    with pytest.raises(Refused) as refused:
        read_words(words)
    assert refused.value.where == "test"


@pytest.mark.parametrize("kind", FAMILIES)
def test_every_built_in_row_has_words(kind):
    assert all(words_of(row.test) for row in rows_of(FAMILIES[kind]))


def test_a_figure_is_told_with_its_attribute():
    told = {(one.kind, one.rule): one.attribute for one in all_figures()}
    assert told["electrolytic", "AE1"] == "capacitance"
    assert all(told.values())


def test_a_figure_that_is_not_there_is_refused_with_those_that_are():
    with pytest.raises(Refused, match=r"this rule has no figure “x”; it has none$"):
        changed(AtLeast(X), "x", 1)
    with pytest.raises(Refused, match=r"it has “within percent”, “drop-in within”$"):
        changed(Equal(X, percent=2, near=(Step(0.5, D),)), "x", 1)


def test_a_window_of_one_value_holds_that_value():
    window = changed(Ratio((Window(0.9, 1.1, D),), X), "drop-in from", 1.1)
    assert window.windows == (Window(1.1, 1.1, D),)
    with pytest.raises(Refused, match="holds nothing"):
        changed(window, "drop-in from", 1.2)


def test_a_feature_that_nothing_follows_from_is_noted():
    assert words_of(Present()) == "noted"


@pytest.mark.parametrize(
    ("kind", "rule", "figure", "attribute"),
    [
        ("belt", "BE6", "drop-in to", "width"),
        ("belt", "BE6", "drop-in within", "thickness"),
        ("ptc", "PT1", "compromise to", "hold_current"),
    ],
)
def test_of_rows_with_one_id_the_one_with_the_figure_is_meant(kind, rule, figure, attribute):
    row = row_of(kind, rule, figure)
    assert figure in dict(named(row.test))
    assert row.attributes == (attribute,)


@pytest.mark.parametrize("words", ["equal, within x % drop-in, else refuse", "equal, within 2 % , else refuse"])
def test_a_percentage_that_is_none_is_refused(words):
    with pytest.raises(Refused):
        read_words(words)


def test_an_order_has_two_words_at_least():
    assert (
        words_of(read_words("order F < T, below refuse, above drop-in")) == "order F < T, below refuse, above drop-in"
    )
    with pytest.raises(Refused, match="says no test"):
        read_words("order F, below refuse, above drop-in")


def test_a_person_who_is_asked_for_a_test_sees_each_form():
    with pytest.raises(Refused) as refused:
        read_words("something")
    for form in (
        "at least, else compromise",
        "at most, over by 2.5 rework, else refuse",
        "equal, within 0.5 drop-in, else compromise",
        "times 1 to 2.2 drop-in, else refuse",
        "present, else rework",
    ):
        assert f"“{form}”" in str(refused.value)
