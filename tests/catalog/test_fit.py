"""The verdict as a whole: kinds that differ, the person's list and rules, texts, and what is said to do and to tell."""

from types import SimpleNamespace

import msgspec
import pytest

from catalog.fit import POLARITY, as_dict, fit
from catalog.fit_texts import fit_texts
from catalog.kinds import FAMILIES, defaults
from catalog.rules import AtMost, Grade, Pair, Rule, worst
from catalog.spec import PartSpec, Value
from catalog.text import Refused


def spec(kind, role=None, number="", **stated):
    return PartSpec(kind, {name: Value(value) for name, value in stated.items()}, role, number)


CAP = spec("electrolytic", capacitance=100e-6, voltage_dc=25.0)
LOW = spec("electrolytic", capacitance=100e-6, voltage_dc=16.0)
FUSE = spec("fuse", current=1.0, speed="T", voltage_ac=250.0, body="5x20")


def test_the_role_of_the_call_goes_before_the_role_of_the_part():
    timing = spec("electrolytic", "timing", capacitance=100e-6, voltage_dc=25.0)
    more = spec("electrolytic", capacitance=150e-6, voltage_dc=25.0)
    assert fit(timing, more).grade is Grade.REFUSE
    assert fit(timing, more, "bypass").grade is Grade.DROP_IN


def test_a_role_that_does_not_exist_is_refused():
    with pytest.raises(Refused, match="'hot' is no role"):
        fit(CAP, CAP, "hot")


def test_a_proven_refusal_is_final_although_other_data_are_missing():
    assert fit(CAP, spec("electrolytic", voltage_dc=10.0)).grade is Grade.REFUSE
    assert fit(CAP, spec("electrolytic", voltage_dc=35.0)).grade is Grade.UNKNOWN


def test_what_the_candidate_omits_caps_at_drop_in_and_is_listed_as_a_check():
    wanted = spec("electrolytic", capacitance=100e-6, voltage_dc=25.0, temperature=105.0, tolerance=20.0)
    verdict = fit(wanted, CAP)
    assert verdict.grade is Grade.DROP_IN
    assert "Check temperature: not stated for the candidate" in verdict.do
    assert "Check tolerance: not stated for the candidate" in verdict.do


def test_what_only_the_candidate_states_does_not_spoil_exact():
    assert fit(CAP, spec("electrolytic", capacitance=100e-6, voltage_dc=25.0, pitch=2.5)).grade is Grade.EXACT


def test_a_stated_attribute_without_a_rule_must_be_equal_for_exact():
    wanted = spec("electrolytic", capacitance=100e-6, voltage_dc=25.0, tolerance=20.0)
    other = spec("electrolytic", capacitance=100e-6, voltage_dc=25.0, tolerance=10.0)
    assert fit(wanted, other).grade is Grade.DROP_IN


def test_different_kinds_never_match_unless_a_rule_allows_it():
    resistor = spec("resistor", resistance=100.0)
    assert [reason.rule for reason in fit(CAP, resistor).reasons] == ["G8"]
    assert fit(CAP, resistor).locked
    assert fit(FUSE, resistor).locked


def test_a_candidate_of_no_known_kind_is_judged_as_the_wanted_kind_and_stays_unknown():
    named = {"capacitance": 100e-6}
    assert fit(CAP, spec("", voltage_dc=35.0, **named)).grade is Grade.UNKNOWN
    assert fit(CAP, spec("", voltage_dc=10.0, **named)).grade is Grade.REFUSE
    assert fit(spec(""), spec("")).grade is Grade.UNKNOWN


def test_a_capacitor_of_no_construction_is_refused_only_for_what_every_construction_refuses():
    wanted = spec("capacitor", capacitance=100e-6, voltage_dc=16.0)
    assert fit(wanted, spec("capacitor", capacitance=100e-6, voltage_dc=10.0)).grade is Grade.REFUSE
    assert fit(wanted, spec("capacitor", capacitance=150e-6, voltage_dc=16.0)).grade is Grade.UNKNOWN
    assert fit(wanted, wanted).grade is Grade.UNKNOWN
    assert fit(wanted, spec("film", capacitance=10e-6, voltage_dc=16.0)).grade is Grade.REFUSE
    assert fit(wanted, spec("film", capacitance=150e-6, voltage_dc=16.0)).grade is Grade.UNKNOWN
    assert fit(wanted, spec("resistor", resistance=10.0)).grade is Grade.REFUSE
    assert fit(CAP, spec("capacitor", capacitance=100e-6, voltage_dc=10.0)).locked


@pytest.mark.parametrize("grade", [Grade.DROP_IN, Grade.UNKNOWN, Grade.REFUSE])
def test_crossing_aluminium_and_tantalum_always_says_which_lead_the_mark_means(grade):
    volts = {Grade.DROP_IN: 50.0, Grade.UNKNOWN: 35.0, Grade.REFUSE: 10.0}[grade]
    tantalum = spec("tantalum", capacitance=100e-6, voltage_dc=volts)
    verdict = fit(CAP, tantalum)
    assert verdict.grade is grade
    assert verdict.do[0] == POLARITY
    assert fit(tantalum, CAP).do[0] == POLARITY
    assert POLARITY not in fit(CAP, CAP).do


def test_a_compromise_says_what_to_tell_and_a_rework_what_to_do():
    wanted = spec("electrolytic", capacitance=100e-6, voltage_dc=25.0, temperature=105.0, pitch=2.5)
    cooler = spec("electrolytic", capacitance=100e-6, voltage_dc=25.0, temperature=85.0, pitch=5.0)
    verdict = fit(wanted, cooler)
    assert verdict.grade is Grade.COMPROMISE
    assert verdict.tell == ("The capacitor fitted will not last as long as the original type",)
    assert any("Form the leads" in line for line in verdict.do)
    why = next(reason.why for reason in verdict.reasons if reason.rule == "AE4")
    assert "0.25 times the life" in why


def test_reasons_come_worst_first_and_name_rule_and_source():
    reasons = fit(CAP, spec("electrolytic", capacitance=220e-6, voltage_dc=10.0)).reasons
    assert [reason.result for reason in reasons] == [Grade.REFUSE, Grade.DROP_IN]
    assert reasons[0].rule == "AE3"
    assert reasons[0].locked
    assert reasons[0].source


def test_a_pickup_reminds_of_the_solder_short():
    pickup = spec("pickup", model_code="K-1")
    assert any(line.startswith("OP3") for line in fit(pickup, pickup).do)


# the person's own list and rules


@pytest.mark.parametrize(
    ("pairs", "grade"),
    [
        ([], Grade.UNKNOWN),
        ([Pair("K-1", "K-2")], Grade.DROP_IN),
        ([Pair("K-1", "K-2", Grade.EXACT)], Grade.DROP_IN),
        ([Pair("k1", "K 2", Grade.REWORK)], Grade.REWORK),
        ([Pair("K-1", "K-2"), Pair("K-1", "K-2", Grade.REFUSE)], Grade.REFUSE),
        ([Pair("K-2", "K-1")], Grade.UNKNOWN),
    ],
)
@pytest.mark.parametrize("kind", ["listed", "pickup", "inductor"])
def test_a_part_by_number_is_judged_by_the_list_in_its_direction(pairs, grade, kind):
    key = "model_code" if kind == "pickup" else "part_number"
    if kind == "inductor":
        parts = spec(kind, number="K-1"), spec(kind, number="K-2")
    else:
        parts = spec(kind, **{key: "K-1"}), spec(kind, **{key: "K-2"})
    assert fit(*parts, pairs=pairs).grade is grade
    assert fit(parts[0], parts[0], pairs=pairs).grade is Grade.EXACT


def test_a_part_of_a_read_kind_without_a_number_is_unknown():
    coil = spec("inductor", inductance=1e-3)
    assert fit(coil, coil).grade is Grade.UNKNOWN


def test_the_list_lifts_what_is_not_locked_and_nothing_else():
    pairs = [Pair("K-1", "K-2", Grade.DROP_IN, "tried in two sets")]
    wanted = spec("belt", number="K-1", circumference=100.0, section="square", thickness=1.2)
    longer = spec("belt", number="K-2", circumference=110.0, section="square", thickness=1.2)
    assert fit(wanted, longer).grade is Grade.REFUSE
    lifted = fit(wanted, longer, pairs=pairs)
    assert lifted.grade is Grade.DROP_IN
    assert "overruled" in next(reason.why for reason in lifted.reasons if reason.rule == "BE1")
    low = [msgspec.structs.replace(part, part_number=number) for part, number in ((CAP, "K-1"), (LOW, "K-2"))]
    assert fit(*low, pairs=pairs).grade is Grade.REFUSE
    doubt = [msgspec.structs.replace(CAP, part_number="K-1"), spec("electrolytic", number="K-2", capacitance=100e-6)]
    assert fit(*doubt, pairs=pairs).grade is Grade.UNKNOWN


def test_the_list_may_refuse_a_part_whose_figures_fit():
    pairs = [Pair("K-1", "K-2", Grade.REFUSE)]
    parts = [msgspec.structs.replace(CAP, part_number=number) for number in ("K-1", "K-2")]
    assert fit(*parts).grade is Grade.EXACT
    assert fit(*parts, pairs=pairs).grade is Grade.REFUSE


def test_a_described_part_is_served_by_a_bare_number_only_if_it_is_its_own():
    wanted = spec("transistor", number="2N0000", polarity="NPN", voltage=40.0, current=0.2)
    pairs = [Pair("2N0000", "2N0001")]
    assert fit(wanted, spec("listed", part_number="2n0000")).grade is Grade.EXACT
    assert fit(wanted, spec("listed", part_number="2N0001"), pairs=pairs).grade is Grade.UNKNOWN


def test_the_same_type_number_stands_for_facts_that_neither_side_states():
    one, other = spec("transistor", type_number="2N0000"), spec("transistor", type_number="2N0001")
    assert fit(one, one).grade is Grade.EXACT
    assert fit(one, other).grade is Grade.UNKNOWN


def test_own_rules_only_make_a_verdict_stricter():
    narrow = Rule(id="own", attributes=("height",), test=AtMost(Grade.REFUSE), why="shield in this set")
    wanted = spec("electrolytic", capacitance=100e-6, voltage_dc=25.0, height=11.0)
    taller = spec("electrolytic", capacitance=100e-6, voltage_dc=25.0, height=12.0)
    assert fit(wanted, taller).grade is Grade.REWORK
    assert fit(wanted, taller, rules=[narrow]).grade is Grade.REFUSE
    assert fit(wanted, wanted, rules=[narrow]).grade is Grade.EXACT


def test_the_mains_of_the_person_decides_where_the_line_is_silent():
    stated = {"output": "DC", "voltage": 9.0, "current": 1.0, "polarity": "centre-positive"}
    plug = {"plug_outer": 5.5, "plug_inner": 2.1}
    wanted, american = spec("psu", **stated, **plug), spec("psu", **stated, **plug, input_voltage="120 V")
    assert fit(wanted, american).grade is Grade.DROP_IN
    assert fit(wanted, american, mains=120.0).grade is Grade.DROP_IN
    assert fit(wanted, american, mains=230.0).grade is Grade.REFUSE


# texts


def reader(*ways, status="ok"):
    found = [SimpleNamespace(spec=way) for way in ways]
    return lambda text: SimpleNamespace(
        status=status if text == "several" else "ok" if text != "nothing" else "nothing",
        spec=None if text in {"several", "nothing"} else CAP,
        readings=found if text == "several" else [],
        left_over=(),
    )


def test_texts_are_judged_as_they_are_read():
    assert fit_texts("one", "one", read=reader()).grade is Grade.EXACT


@pytest.mark.parametrize(
    ("ways", "grade"), [((CAP, LOW), Grade.UNKNOWN), ((LOW, LOW), Grade.REFUSE), ((CAP, CAP), Grade.UNKNOWN)]
)
def test_an_ambiguous_text_is_unknown_unless_every_reading_is_refused(ways, grade):
    verdict = fit_texts("one", "several", read=reader(*ways, status="ambiguous"))
    assert verdict.grade is grade
    assert verdict.reasons


@pytest.mark.parametrize(("wanted", "candidate"), [("nothing", "one"), ("one", "nothing"), ("one", "several")])
def test_a_text_that_says_nothing_is_unknown(wanted, candidate):
    verdict = fit_texts(wanted, candidate, read=reader(CAP, status="refused"))
    assert verdict.grade is Grade.UNKNOWN
    assert verdict.do


# forms


def test_the_plain_form_holds_exactly_the_stated_fields():
    plain = as_dict(fit(CAP, LOW))
    assert list(plain) == ["grade", "reasons", "do", "tell"]
    keys = ["attribute", "wanted", "candidate", "result", "rule", "why", "source", "locked"]
    assert list(plain["reasons"][0]) == keys
    assert plain["grade"] == "refuse"
    assert msgspec.json.decode(msgspec.json.encode(plain)) == {**plain, "do": list(plain["do"]), **_lists(plain)}


def _lists(plain):
    return {"reasons": list(plain["reasons"]), "tell": list(plain["tell"])}


@pytest.mark.parametrize("kind", [*FAMILIES, "ferrite"])
def test_every_kind_says_what_a_grade_costs(kind):
    usual = [defaults(kind, grade) for grade in (Grade.EXACT, Grade.DROP_IN, Grade.REWORK, Grade.COMPROMISE)]
    assert usual[0].minutes == usual[0].success_cut == usual[0].price_cut == 0
    for one in usual:
        assert one.minutes >= 0
        assert 0 <= one.success_cut < 1
        assert 0 <= one.price_cut < 1
        assert one.origin in {"from memory", "common practice"}
    assert usual[2].minutes > 0


@pytest.mark.parametrize(("kind", "grade"), [("fuse", Grade.REFUSE), ("fuse", Grade.UNKNOWN), ("lamp", Grade.EXACT)])
def test_what_is_never_fitted_has_no_cost(kind, grade):
    with pytest.raises(ValueError, match=r"no usual cost|no kind"):
        defaults(kind, grade)


def test_grades_are_ordered_from_exact_to_refuse():
    assert [grade.value for grade in Grade] == ["exact", "drop-in", "rework", "compromise", "unknown", "refuse"]
    assert worst([Grade.UNKNOWN, Grade.COMPROMISE, Grade.EXACT]) is Grade.UNKNOWN
    assert worst([]) is Grade.EXACT
