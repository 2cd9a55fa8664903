"""`solve diagnosis`: the proven cases, the two scenarios worked by hand, and what is refused."""

import json
import math
from pathlib import Path

import pytest

from catalog.text import Refused
from triage.problems.diagnosis import answer

FILE = json.loads((Path(__file__).parents[1] / "problems" / "diagnosis.json").read_text(encoding="utf-8"))
CASES = FILE["cases"]


def near_enough(got, wanted, other):
    """The tolerance the file suggests: 1e-9, or 1e-7 of the smaller of a chance and its complement."""
    assert abs(got - wanted) <= max(1e-9, 1e-7 * min(wanted, other))


@pytest.mark.parametrize("case", CASES, ids=[case["id"] for case in CASES])
def test_proven_cases(case):
    got, wanted = answer(case), case["expected"]
    assert got["id"] == case["id"]
    assert got["contradiction"] == wanted["contradiction"]
    if wanted["contradiction"]:
        assert got["posterior"] is None
        assert got["log_evidence"] is None
        assert got["conflict"]
        return
    assert abs(got["log_evidence"] - wanted["log_evidence"]) <= 1e-8 * max(1.0, abs(wanted["log_evidence"]))
    assert got["posterior"].keys() == wanted["posterior"].keys()
    for fault, chance in wanted["posterior"].items():
        complement = wanted["posterior_complement"][fault]
        near_enough(got["posterior"][fault], chance, complement)
        near_enough(got["posterior_complement"][fault], complement, chance)
    assert got["posterior_at_start"] == pytest.approx(got["posterior"], abs=1e-12)
    assert got["p_no_fault"] == pytest.approx(wanted["p_no_fault"], abs=1e-9)
    assert got["expected_faults"] == pytest.approx(wanted["expected_faults"], abs=1e-8)
    assert got["predictive"] == pytest.approx(wanted["predictive"], abs=1e-9)
    assert got["most_probable"]["probability"] == pytest.approx(wanted["most_probable"]["probability"], abs=1e-9)
    if not wanted["most_probable"]["tied"]:
        assert got["most_probable"]["faults"] == wanted["most_probable"]["faults"]
    if "decision" in case:
        size = max(
            abs(action["base"]) + sum(map(abs, action["per_fault"].values()))
            for action in case["decision"]["actions"].values()
        )
        assert got["evsi"] == pytest.approx(wanted["evsi"], abs=1e-9 * size)
        assert got["evpi"] == pytest.approx(wanted["evpi"], abs=1e-9 * size)


def console(*events):
    return {
        "id": "two faults, the first hides the second",
        "faults": [
            {"id": "S", "prior": 0.20},
            {"id": "R", "prior": 0.10},
            {"id": "V", "prior": 0.15},
            {"id": "C", "prior": 0.25},
        ],
        "checks": [
            {"id": "LED", "leak": 0.02, "links": {"S": 0.90, "R": 0.60}},
            {"id": "SWITCH-OHMS", "leak": 0.03, "links": {"S": 0.92}},
            {"id": "PICTURE", "leak": 0.03, "links": {"V": 0.85}, "gate": ["LED"]},
            {"id": "BOOT", "leak": 0.04, "links": {"C": 0.80}, "gate": ["LED"]},
        ],
        "events": list(events),
    }


def said(check, word):
    return {"check": check, "answer": word}


def test_a_dead_switch_hides_the_picture_socket():
    steps = [said("LED", "bad")]
    got = answer(console(*steps))
    assert round(math.exp(got["log_evidence"]), 4) == 0.2446
    assert {fault: round(chance, 4) for fault, chance in got["posterior"].items()} == {
        "S": 0.7423,
        "R": 0.2774,
        "V": 0.1500,
        "C": 0.2500,
    }
    blank = answer(console(*steps, said("PICTURE", "bad")))
    assert blank["ignored"] == [1]
    assert round(blank["posterior"]["V"], 4) == 0.1500

    steps.append(said("SWITCH-OHMS", "bad"))
    got = answer(console(*steps))
    assert round(got["posterior"]["S"], 4) == 0.9888
    assert round(got["posterior"]["R"], 4) == 0.1133

    steps += [{"repair": ["S"]}, said("LED", "good")]
    got = answer(console(*steps))
    assert got["posterior"]["S"] == 0.0
    assert round(got["posterior_at_start"]["S"], 4) >= 0.9888
    assert round(got["posterior"]["R"], 4) == 0.0486
    assert round(got["posterior"]["V"], 4) == 0.1500

    steps.append(said("PICTURE", "bad"))
    got = answer(console(*steps))
    assert round(got["posterior"]["V"], 4) == 0.8341
    assert got["ignored"] == []


def gamepad(*events):
    return {
        "id": "drift",
        "faults": [{"id": "S", "prior": 0.28}, {"id": "D", "prior": 0.06}],
        "checks": [
            {"id": "CENTRE", "leak": 0.06, "links": {"S": 0.88, "D": 0.70}},
            {"id": "BLOW-RETEST", "leak": 0.05, "links": {"S": 0.90, "D": 0.15}, "gate": ["CENTRE failed"]},
        ],
        "events": list(events),
    }


def test_drift_by_hand():
    got = answer(gamepad(said("CENTRE", "bad")))
    assert round(math.exp(got["log_evidence"]), 4) == 0.3214
    assert round(got["posterior"]["S"], 4) == 0.7771
    assert round(got["posterior"]["D"], 4) == 0.1470
    assert round(got["p_no_fault"], 4) == 0.1264
    got = answer(gamepad(said("CENTRE", "bad"), said("BLOW-RETEST", "bad")))
    assert round(got["posterior"]["S"], 4) == 0.9658
    assert round(got["posterior"]["D"], 4) == 0.0892
    assert round(got["p_no_fault"], 4) == 0.0087
    assert got["most_probable"]["faults"] == ["S"]
    assert round(got["most_probable"]["probability"], 4) == 0.9021
    closed = answer(gamepad(said("BLOW-RETEST", "bad"), said("CENTRE", "bad")))
    assert closed["ignored"] == [0]


def test_evidence_without_order_lets_the_gate_come_first():
    case = console()
    del case["events"]
    for names in (["LED", "PICTURE"], ["PICTURE", "LED"]):
        words = {"LED": False, "PICTURE": True}
        got = answer({**case, "evidence": {name: words[name] for name in names}})
        assert got["ignored"] == []
        assert round(got["posterior"]["V"], 4) == 0.8341
    got = answer({**case, "evidence": {"PICTURE": True, "LED": True}})
    assert got["ignored"] == [0]


def test_events_and_evidence_of_one_case_agree():
    case = next(case for case in CASES if case["evidence"] and case["soft_evidence"])
    events = [said(check, "bad" if bad else "good") for check, bad in case["evidence"].items()]
    events += [{"check": check, "likelihood": pair} for check, pair in case["soft_evidence"].items()]
    other = {key: case[key] for key in ("id", "faults", "checks")} | {"events": events}
    assert answer(other)["posterior"] == pytest.approx(answer(case)["posterior"], abs=1e-12)


def test_conditions_and_known_faulty_are_taken_up():
    case = {
        "faults": [{"id": "a", "prior": 0.5}, {"id": "b", "prior": 0.5}],
        "checks": [],
        "conditions": [{"id": "damp", "prior": 0.5, "raises": {"a": 0.5}}],
    }
    assert answer(case)["posterior"]["a"] == pytest.approx(0.5 * 0.5 + 0.5 * 0.75)
    case["conditions"][0]["state"] = "yes"
    assert answer(case)["posterior"]["a"] == pytest.approx(0.75)
    got = answer({**case, "known_faulty": 0.9})
    assert got["p_no_fault"] == pytest.approx(0.1)
    assert got["posterior"]["a"] == pytest.approx(0.75 * 0.9 / 0.875)


def test_an_impossible_case_names_a_smallest_conflict():
    case = console(said("SWITCH-OHMS", "good"), said("LED", "bad"))
    case["faults"] = [{"id": name, "prior": 0.5} for name in "SRVC"]
    case["checks"][0] |= {"leak": 0.0, "links": {"S": 1.0}}
    case["checks"][1] |= {"leak": 0.5, "links": {"S": 1.0}}
    got = answer(case)
    assert got["contradiction"] is True
    assert got["conflict"] == [0, 1]
    assert got["posterior"] is None
    assert got["log_evidence"] is None


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"faults": [{"id": "S", "prior": 1.5}]}, "faults[0].prior"),
        ({"faults": [{"id": "S"}]}, "faults[0]"),
        ({"faults": [{"id": "S", "prior": math.nan}]}, "faults[0].prior"),
        ({"faults": [{"id": "S", "prior": 0.1}, {"id": "S", "prior": 0.1}]}, "faults[1].id"),
        ({"checks": [{"id": "LED", "leak": "much"}]}, "checks[0].leak"),
        ({"checks": [{"id": "LED", "leak": 0.1, "links": {"X": 0.5}}]}, "checks[LED].links"),
        ({"checks": [{"id": "LED", "leak": 0.1, "link": {"S": 0.5}}]}, "checks[0]"),
        ({"checks": [{"id": "LED", "leak": 0.1, "gate": ["POWER"]}]}, "checks[LED].gate"),
        ({"events": [{"check": "NONE", "answer": "bad"}]}, "events[0]"),
        ({"events": [{"check": "LED", "answer": "maybe"}]}, "events[0].answer"),
        ({"events": [{"check": "LED"}]}, "events[0]"),
        ({"events": [{"check": "LED", "likelihood": [0, 0]}]}, "events[0].likelihood"),
        ({"events": [{"check": "LED", "likelihood": [math.nan, 1]}]}, "events[0].likelihood[0]"),
        ({"events": [{"repair": ["X"]}]}, "events[0]"),
        ({"evidence": {"LED": True}}, "events"),
        ({"events": None, "evidence": {"X": True}}, "evidence[X]"),
        ({"known_faulty": 2}, "known_faulty"),
        ({"decision": {"actions": {"sell": {"base": 1, "per_fault": {"X": 1}}}}}, "decision.actions[sell].per_fault"),
    ],
)
def test_malformed_cases_are_refused_with_the_place(change, where):
    with pytest.raises(Refused) as refused:
        answer(console() | change)
    assert refused.value.where == where


def test_a_check_that_cannot_change_the_decision_is_worth_nothing():
    case = console(said("LED", "bad")) | {
        "decision": {"actions": {"fix": {"base": 100.0, "per_fault": {"S": -1.0}}, "sell": {"base": 1.0}}}
    }
    got = answer(case)
    assert got["evsi"]["SWITCH-OHMS"] == pytest.approx(0.0, abs=1e-9)
    assert got["evsi"]["PICTURE"] == pytest.approx(0.0, abs=1e-9)
    assert got["evpi"] == pytest.approx(0.0, abs=1e-9)
