"""What the person's list may not do, and what is made of words and figures that nobody understood."""

import pytest

from catalog.describe import read
from catalog.figures import changed, row_of
from catalog.fit import fit, judged_kind
from catalog.fit_texts import fit_texts
from catalog.own_rules import checked
from catalog.rules import Equal, Grade, Pair, Ratio, Rule, Window, same_word
from catalog.spec import PartSpec, Value

E, D, R, C, U, X = tuple(Grade)


def judged(wanted, candidate, role=None, pairs=(), rules=()):
    return fit_texts(wanted, candidate, role, read=read, pairs=pairs, rules=rules)


def spec(kind, number="", **stated):
    return PartSpec(kind, {name: Value(value) for name, value in stated.items()}, part_number=number)


# the person's list and other kinds

ACROSS = [
    (spec("diode", type_number="1N4007"), spec("battery", code="CR2032")),
    (spec("ceramic", "K-1", capacitance=1e-7, voltage_dc=50.0), spec("electrolytic", "K-2", voltage_dc=6.3)),
    (spec("film", "K-1", voltage_dc=400.0), spec("electrolytic", "K-2", voltage_dc=16.0)),
    (spec("inductor", "K-1"), spec("resistor", "K-2")),
    (spec("electrolytic", "K-1", voltage_dc=400.0), spec("capacitor", "K-2", voltage_dc=16.0)),
    (spec("safety-cap", "K-1", safety_class="X2"), spec("", "K-2")),
]


@pytest.mark.parametrize(("wanted", "candidate"), ACROSS)
def test_a_pair_carries_no_part_across_kinds(wanted, candidate):
    numbers = [one.part_number or one.word("type_number") or one.word("code") for one in (wanted, candidate)]
    verdict = fit(wanted, candidate, pairs=[Pair(*numbers)])
    assert verdict.grade.rank >= U.rank
    assert verdict.grade is U or verdict.locked


# words and figures that nobody understood

T2 = "fuse T2AL250V 5x20"
LEFT = [
    # wanted, candidate, grade
    ("display HX-9 12V", "display HX-9 5V", U),
    ("display HX-9 12V", "display HX-9 12V", E),
    ("display HX-9 12V", "display HX-9", D),
    ("display HX-9", "display HX-9", E),
    (T2, f"{T2} blown", X),
    (T2, f"{T2} or T4A", U),
    (T2, f"{T2} DC only", D),
    (T2, f"{T2} nicht defekt", D),
    (f"{T2} blown", T2, E),
    (f"{T2} durchgebrannt", f"{T2} durchgebrannt", X),
    ("CR2032", "CR2032 empty", X),
    ("CR2032", "CR2032 not empty", D),
    ("CR2032", "leaking CR2032", X),
    ("CR2032", "2x CR2016", U),
    ("CR2032", "2x CR2032", U),
    ("2x CR2032", "2x CR2032", E),
    ("18650", "18650 swollen", X),
    ("1N4007", "10x 1N4007", E),
    ("resistor 10k 0.25W", "resistor 10k 0.25W (10 pcs)", E),
    ("resistor 10k 0.25W", "Werzel resistor 10k 0.25W", D),
    ("Werzel resistor 10k 0.25W", "resistor 10k 0.25W", D),
    ("Werzel resistor 10k 0.25W", "resistor 10k 0.25W WERZEL", E),
    ("ceramic TK-104K X7R 100nF 50V", "ceramic QX-223K X7R 100nF 50V", D),
]


@pytest.mark.parametrize(("wanted", "candidate", "grade"), LEFT)
def test_what_was_left_over_is_never_passed_over_in_silence(wanted, candidate, grade):
    verdict = judged(wanted, candidate)
    assert verdict.grade is grade, verdict
    if grade is not E:
        assert any(reason.attribute == "text" for reason in verdict.reasons)
        assert verdict.do


def test_a_broken_candidate_is_refused_with_the_word_that_says_so():
    verdict = judged("CR2032", "CR2032 swollen")
    assert verdict.reasons[0].why == "the text says that it is broken: swollen"
    assert not verdict.locked


# numbers


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("HX1-12", "HX11-2", False),
        ("HX-210", "HX-21-0", False),
        ("HX1 12", "HX11 2", False),
        ("HX1/12", "HX11/2", False),
        ("HX1-12", "hx-1 12", True),
        ("HX1_12", "HX1−12", True),
        ("BC 547-B", "bc547b", True),
        ("TO-220", "TO220", True),
        ("HC-49/U", "HC49U", True),
        ("X1/Y2", "x1y2", True),
        ("1N 4007", "1N4007", True),
        ("K-1", "k 1", True),
    ],
)
def test_a_gap_between_two_figures_tells_numbers_apart(one, other, same):
    assert same_word(one, other) is same
    assert same_word(other, one) is same


def test_two_numbers_that_differ_by_their_gap_are_no_one_number():
    assert judged("relay HX1-12", "relay HX11-2").grade is U
    assert judged("relay HX1-12", "relay HX1-12").grade is E
    assert judged("relay HX11-2", "relay HX-3", pairs=[Pair("HX1-12", "HX-3")]).grade is U


# places that charge


@pytest.mark.parametrize(
    ("wanted", "candidate", "role", "grade"),
    [
        ("CR2032", "CR2032", "charging", X),
        ("CR2032", "CR2032", None, E),
        ("ML2032", "CR2032", "charging", X),
        ("ML2032", "ML2032", "charging", E),
        ("CR2032", "ML2032", "charging", U),
    ],
)
def test_a_primary_cell_never_goes_where_it_would_be_charged(wanted, candidate, role, grade):
    verdict = judged(wanted, candidate, role)
    assert verdict.grade is grade, verdict
    assert verdict.locked is (grade is X)


def test_a_place_that_says_itself_that_it_charges_takes_no_primary_cell():
    cell = spec("battery", code="CR2032", chemistry="lithium-manganese-dioxide", voltage=3.0, diameter=20.0, height=3.2)
    place = spec("battery", **{name: held.value for name, held in cell.attributes.items()}, charging_circuit=True)
    assert fit(cell, cell).grade is E
    assert fit(place, cell).locked


# rules of one's own in the place of a row


def belts(low, name, **more):
    windows = (Window(low, 1.02, D),)
    return checked(
        Rule(
            id=name,
            kind="belt",
            attributes=("circumference",),
            test=Ratio(windows, X),
            instead_of="BE1",
            why=name,
            **more,
        )
    )


BELT = spec("belt", circumference=100.0, section="square", thickness=1.2)
SHORT = spec("belt", circumference=92.0, section="square", thickness=1.2)


@pytest.mark.parametrize("turned", [False, True])
def test_of_two_own_rules_in_the_place_of_one_row_the_strictest_counts_and_is_named(turned):
    wide, narrow = belts(0.9, "wide"), belts(0.95, "narrow")
    rules = [narrow, wide] if turned else [wide, narrow]
    verdict = fit(BELT, SHORT, rules=rules)
    assert fit(BELT, SHORT, rules=[wide]).grade is D
    assert verdict.grade is X
    assert verdict.reasons[0].rule == "narrow"


def test_a_changed_window_keeps_what_its_row_warns_of():
    wanted, candidate = "0.1uF X2 275VAC", "1uF X2 275VAC"
    row = row_of("safety-cap", "SC4")
    wide = changed(row.test, "compromise to", 10.0)
    own = Rule(id="own", kind="safety-cap", attributes=row.attributes, test=wide, instead_of="SC4", why="mine")
    verdict = judged(wanted, candidate, rules=[checked(own)])
    reason = next(one for one in verdict.reasons if one.attribute == "capacitance")
    assert verdict.grade is C
    assert (
        reason.why
        == "10 times the wanted value; mine; SC4 says refuse; the discharge of the plug pins depends on the value"
    )
    assert verdict.tell == ("The suppression capacitor has another value",)


# reasons in words


@pytest.mark.parametrize(
    ("wanted", "candidate", "why"),
    [
        ("resistor 10k 0.25W", "resistor 10k 0.6W", "higher than wanted, which is better"),
        ("elko 100uF 16V", "elko 100uF 25V", "higher than wanted, which is better"),
        ("film 100nF 250V", "film 100nF 400V", "higher than wanted, which is better"),
        ("T2AL250V 5x20", "T2AL300V 5x20", "higher than wanted, which is better"),
        ("diode 100V 1A", "diode 400V 1A", "higher than wanted, which is better"),
        ("elko 100uF 25V 6.3x11mm", "elko 100uF 25V 5x11mm", "lower than wanted, which does no harm"),
    ],
)
def test_what_is_better_is_not_told_like_a_fault(wanted, candidate, why):
    reasons = [reason.why for reason in judged(wanted, candidate).reasons if reason.result is D]
    assert why in reasons


def test_what_is_worse_still_says_why():
    assert "it overheats" in judged("resistor 10k 0.6W", "resistor 10k 0.25W").reasons[0].why


def test_a_fuse_without_its_body_is_told_to_say_it():
    verdict = judged("T2AL250V", "T2AL250V")
    assert verdict.grade is U
    assert "say the body size, such as 5x20" in verdict.reasons[0].why


# numbers that only the person's list knows


def test_two_numbers_that_nobody_can_read_are_judged_by_the_persons_list():
    pairs = [Pair("QX-9", "QX-10", R)]
    assert judged("QX-9", "QX-10", pairs=pairs).grade is R
    assert judged("qx 9", "QX10", pairs=pairs).grade is R
    assert judged("QX-10", "QX-9", pairs=pairs).grade is U
    assert judged("QX-9", "QX-9", pairs=pairs).grade is E
    assert judged("QX-9", "QX-10").grade is U
    assert judged("fuse T2AL250V 5x20", "QX-10", pairs=[Pair("fuse T2AL250V 5x20", "QX-10")]).grade is U


# at the mains


@pytest.mark.parametrize(
    ("wanted", "candidate", "grade"),
    [
        ("film capacitor 100nF 275VAC", "film capacitor 100nF 275VAC", X),
        ("film capacitor 100nF 400V", "film capacitor 100nF 630V", X),
        ("ceramic capacitor 2.2nF 1kV", "ceramic capacitor 2.2nF 2kV", X),
        ("film capacitor 100nF 275VAC", "100nF X2 275VAC", U),
        ("100nF X2 275VAC", "100nF X2 275VAC", E),
        ("electrolytic 47uF 400V", "electrolytic 47uF 400V", E),
    ],
)
def test_at_the_mains_only_an_approved_capacitor_may_stand(wanted, candidate, grade):
    verdict = judged(wanted, candidate, "mains")
    assert verdict.grade is grade
    assert verdict.locked is (grade is X)
    if grade is X:
        assert judged(wanted, candidate).grade is not X
    assert judged(wanted, candidate, "mains", pairs=[Pair(wanted, candidate)]).grade is grade


def test_the_kind_that_judges_a_part_is_told_with_its_place():
    assert judged_kind(spec("film")) == "film"
    assert judged_kind(spec("film"), "snubber") == "film"
    assert judged_kind(spec("ceramic"), "mains") == "safety-cap"
    assert judged_kind(spec("ceramic", safety_class="Y2")) == "safety-cap"
    assert judged_kind(spec("resistor"), "mains") == "resistor"


def test_a_pair_does_not_say_of_what_kind_a_part_is():
    wanted = spec("film", "K-1", capacitance=1e-7, voltage_dc=63.0)
    candidate = spec("", "K-2", capacitance=1e-7, voltage_dc=63.0)
    verdict = fit(wanted, candidate, pairs=[Pair("K-1", "K-2")])
    assert verdict.grade is U
    assert {reason.result for reason in verdict.reasons if reason.attribute == "kind"} == {U}


@pytest.mark.parametrize("stated", [{"pitch": 15.0}, {"pitch": 15.0, "style": "radial"}])
def test_an_own_rule_in_the_place_of_a_row_speaks_once(stated):
    mine = checked(
        Rule(id="mine", kind="film", attributes=("pitch",), test=Equal(D), instead_of="FI5", why="two pitches fit")
    )
    wanted = spec("film", capacitance=1e-7, voltage_dc=63.0, **stated)
    candidate = spec("film", capacitance=1e-7, voltage_dc=63.0, **{**stated, "pitch": 10.0})
    verdict = fit(wanted, candidate, rules=[mine])
    assert [reason.rule for reason in verdict.reasons if reason.attribute == "pitch"] == ["mine"]
    assert verdict.grade is D
