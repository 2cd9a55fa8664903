"""`solve sequence`: the proven cases, priced again from the plan that is given."""

import json
import math
from pathlib import Path

import pytest

from triage.problems.sequence import answer

CASES = json.loads((Path(__file__).parents[1] / "problems" / "sequence.json").read_text(encoding="utf-8"))["cases"]


def price_of_order(case, order):
    p, total, opened = case["p"], 0.0, set()
    some = 1.0 - math.prod(1.0 - chance for chance in p)
    for step, action in enumerate(order):
        group = case.get("group", [None] * len(p))[action]
        cost = case["cost"][action] + (case["open_cost"][group] if group and group not in opened else 0.0)
        opened.add(group)
        if case["kind"] == "several_faults":
            left = (1.0 - math.prod(1.0 - p[other] for other in order[step:])) / some
        else:
            left = sum(p[other] for other in order[step:])
        total += left * cost
    return total


def price_of_tree(tree, case):
    def walk(node, stage):
        if not isinstance(node, dict):
            assert node == stage
            return 0.0
        side = "bad_at_or_before" if stage <= node["probe"] else "bad_after"
        return case["probe_cost"][node["probe"]] + walk(node[side], stage)

    weights = case["weights"]
    return sum(weight * walk(tree, stage) for stage, weight in enumerate(weights)) / sum(weights)


@pytest.mark.parametrize("case", CASES, ids=[case["id"] for case in CASES])
def test_proven_cases(case):
    got, wanted = answer(case), case["expected"]
    assert got["id"] == case["id"]
    for name in wanted.keys() - {"order"}:
        assert got[name] == pytest.approx(wanted[name], rel=1e-9)
    if case["kind"] == "probe_chain":
        assert price_of_tree(got["tree"], case) == pytest.approx(wanted["cost"], rel=1e-9)
    else:
        assert sorted(got["order"]) == list(range(len(case["p"])))
        assert price_of_order(case, got["order"]) == pytest.approx(wanted["cost"], rel=1e-9)
    assert json.loads(json.dumps(got)) == got


def test_walking_away_is_stated_and_told():
    case = {"kind": "open_once", "p": [0.5, 0.5], "cost": [10, 90], "group": [None, "case"], "open_cost": {"case": 30}}
    assert answer(case)["order"] == [0, 1]
    away = answer({**case, "walk_away_cost": 60})
    assert (away["order"], away["walks_away"], away["cost"]) == ([0], True, pytest.approx(10 + 0.5 * 60))
    stays = answer({**case, "walk_away_cost": 1000})
    assert (stays["order"], stays["walks_away"]) == ([0, 1], False)


def test_one_stage_needs_no_probe():
    assert answer({"kind": "probe_chain", "weights": [3], "probe_cost": []}) == {
        "id": "",
        "cost": 0.0,
        "tree": 0,
        "cost_half_split": 0.0,
        "cost_front_to_back": 0.0,
    }
