"""The problem file of whole lots with proven totals, each plan valued again here by the header's rules."""

from __future__ import annotations

import copy
import json
from collections import Counter
from pathlib import Path

import msgspec
import pytest

from catalog import solver
from catalog.text import Refused
from triage.lotplan import plan
from triage.problems.form import decoded
from triage.problems.lot import LotCase, answer, stated

CASES = json.loads((Path(__file__).parents[1] / "problems" / "lot.json").read_text(encoding="utf-8"))["cases"]


def _to_buy(case, decision, donor_pieces):
    """{unit: [parts]} that the repairs need besides the donor pieces {unit: [parts]}."""
    bought = {}
    for unit in case["units"]:
        if decision[unit["id"]] == "fix":
            wanted = Counter({need["part"]: need["pieces"] for need in unit["needs"]})
            given = Counter(donor_pieces.get(unit["id"], []))
            assert not given - wanted
            bought[unit["id"]] = list((wanted - given).elements())
    return bought


def _value(case, got):
    """Income less cost of an answer by the header's rules; asserts that it keeps them."""
    units = {unit["id"]: unit for unit in case["units"]}
    parts = {part["id"]: part for part in case["parts"]}
    decision = got["decision"]
    assert decision.keys() == units.keys()
    given = {}
    for piece in got["harvested"]:
        assert decision[piece["from"]] == "part_out"
        if piece["to"] is not None:
            assert decision[piece["to"]] == "fix"
            given.setdefault(piece["to"], []).append(piece["part"])
    taken_out = Counter((piece["from"], piece["part"]) for piece in got["harvested"])
    bought = _to_buy(case, decision, given)
    assert Counter(part for pieces in bought.values() for part in pieces) == Counter(got["bought"])
    total = minutes = 0
    for name, unit in units.items():
        if decision[name] == "sell":
            total += unit["as_is_cents"]
        elif decision[name] == "fix":
            chance = unit["success_percent"]
            total += (chance * unit["fixed_cents"] + (100 - chance) * unit["failed_cents"]) / 100
            minutes += unit["fix_minutes"]
        else:
            total += unit["carcass_cents"]
            minutes += unit["teardown_minutes"]
            for each in unit["yields"]:
                pieces = taken_out.pop((name, each["part"]), 0)
                assert pieces <= each["pieces"]
                minutes += pieces * each["minutes_each"]
                sold = [p for p in got["harvested"] if (p["from"], p["part"], p["to"]) == (name, each["part"], None)]
                total += len(sold) * each["resale_cents"]
    assert not taken_out
    for name, pieces in got["bought"].items():
        assert parts[name]["stock"] is None or pieces <= parts[name]["stock"]
        assert parts[name]["lead_days"] <= case["deadline_days"]
        total -= pieces * parts[name]["buy_cents"]
    assert minutes <= case["minutes_per_day"] * case["deadline_days"]
    ready = {name: max((parts[part]["lead_days"] for part in pieces), default=0) for name, pieces in bought.items()}
    for day in set(ready.values()) - {0}:
        waiting = sum(units[name]["fix_minutes"] for name, own in ready.items() if own >= day)
        assert waiting <= case["minutes_per_day"] * (case["deadline_days"] - day)
    return total - minutes * case["minute_cost_cents"]


@pytest.mark.parametrize("case", CASES, ids=[case["id"] for case in CASES])
def test_the_proven_total(case):
    got, expected = answer(case), case["expected"]
    assert (got["id"], got["status"]) == (case["id"], "optimal")
    assert got["total_cents"] == expected["total_cents"]
    assert _value(case, got) == expected["total_cents"]


@pytest.mark.parametrize("case", CASES, ids=[case["id"] for case in CASES])
def test_the_proven_total_when_donor_parts_may_only_be_sold(case):
    problem = stated(decoded(case, LotCase))
    replace = msgspec.structs.replace
    given = {each.offer for unit in problem.units for branch in unit.branches for each in branch.yields}
    offers = tuple(offer for offer in problem.order.offers if offer.id not in given)
    found = plan(replace(problem, order=replace(problem.order, offers=offers)))
    assert found.total == case["expected"]["total_without_donor_parts_cents"]
    assert all(entry.to is None for entry in found.harvested)


def test_parts_may_come_from_suppliers_and_offers():
    case = {
        "id": "two repairs share the postage",
        "minutes_per_day": 60,
        "deadline_days": 10,
        "suppliers": [{"id": "S", "lead_days": 3, "shipping_cents": 300}],
        "offers": [
            {
                "id": "o",
                "supplier": "S",
                "product": "belt",
                "pack_size": 5,
                "breaks": [{"from_pieces": 1, "unit_price_cents": 20}],
            }
        ],
        "units": [
            {"id": "a", "as_is_cents": 0, "fixed_cents": 250, "needs": [{"part": "belt", "pieces": 1}]},
            {"id": "b", "as_is_cents": 0, "fixed_cents": 250, "needs": [{"part": "belt", "pieces": 2}]},
            {"id": "c", "as_is_cents": 50, "fixed_cents": 900, "needs": [{"part": "never sold", "pieces": 1}]},
        ],
    }
    got = answer(case)
    assert got["decision"] == {"a": "fix", "b": "fix", "c": "sell"}
    assert got["total_cents"] == 500 - 100 - 300 + 50
    assert (got["bought"], got["packs"]) == ({"belt": 5}, {"o": 1})
    assert answer(case | {"cash_limit_cents": 399})["total_cents"] == 50
    assert answer(case | {"deadline_days": 2})["decision"]["a"] == "sell"
    case["units"][0]["success_percent"] = 99
    assert answer(case)["total_cents"] == 147.5


def test_an_answer_is_plain_json():
    got = answer(CASES[1])
    assert json.loads(json.dumps(got)) == got
    assert got["harvested"] == sorted(got["harvested"], key=lambda piece: piece["from"])


def _put(*path_and_value):
    *path, last, value = path_and_value

    def change(case):
        place = case
        for key in path:
            place = place[key]
        place[last] = value

    return change


REFUSED = {
    "no price": (_put("parts", 0, {"id": "p0"}), "parts[0].buy_cents"),
    "two ways to buy": (_put("offers", []), "parts[0].buy_cents"),
    "no such part": (_put("units", 1, "needs", 0, "part", "p9"), "units[1].needs[0].part"),
    "no such part given": (_put("units", 0, "yields", 0, "part", "p9"), "units[0].yields[0].part"),
    "more than sure": (_put("units", 0, "success_percent", 101), "units[0].success_percent"),
    "part of a cent": (_put("units", 0, "fixed_cents", 0.5), "units[0].fixed_cents"),
    "typing error in a key": (_put("units", 0, "need", []), "units[0]"),
    "unit twice": (_put("units", 1, "id", "u0"), "units[1].id"),
    "part twice": (_put("parts", 1, "id", "p0"), "parts[1].id"),
    "our own kind of name": (_put("units", 1, "id", "donor  u0"), "units[1].id"),
    "no pieces": (_put("units", 1, "needs", 0, "pieces", 0), "units[1].needs[0].pieces"),
}


@pytest.mark.parametrize(("change", "where"), REFUSED.values(), ids=REFUSED.keys())
def test_what_makes_no_sense_is_refused_with_its_key_path(change, where):
    case = copy.deepcopy(CASES[0])
    change(case)
    with pytest.raises(Refused) as refused:
        answer(case)
    assert refused.value.where == where


def test_minutes_by_day_and_a_price_that_falls_until_it_is_fixed():
    unit = {"as_is_cents": 0, "fixed_cents": 1000, "fix_minutes": 60}
    case = {
        "minutes_by_day": [60, 0, 60],
        "units": [{"id": "slow", "day_loss_cents": 10, **unit}, {"id": "quick", "day_loss_cents": 40, **unit}],
    }
    found = answer(case)
    assert (found["total_cents"], found["done"]) == (2000 - 2 * 10, {"slow": 2, "quick": 0})
    assert "done" not in answer({**case, "units": [{"id": "a", **unit}]})
    short = answer({**case, "minutes_by_day": [60, 0, 59]})
    assert list(short["decision"].values()).count("fix") == 1
    assert answer({**case, "deadline_days": 3}) == found
    for wrong in ({"deadline_days": 2}, {"minutes_per_day": 5}):
        with pytest.raises(Refused, match="minutes_by_day: "):
            answer({**case, **wrong})


def _donor(name, as_is, fixed, needs, yields, **more):
    return {
        "id": name,
        "as_is_cents": as_is,
        "fixed_cents": fixed,
        "needs": [{"part": part, "pieces": pieces} for part, pieces in needs],
        "yields": [dict(zip(("part", "pieces", "minutes_each", "resale_cents"), each, strict=True)) for each in yields],
        **more,
    }


@pytest.mark.parametrize(
    ("units", "bench", "total"),
    [
        (
            [
                _donor("a", 2400, 6200, [("z", 2), ("b", 1)], [("z", 2, 5, 100), ("z", 2, 0, 0)], day_loss_cents=10),
                _donor("b", 0, 4500, [("z", 1)], [("b", 2, 10, 100)], day_loss_cents=10),
            ],
            {"minutes_by_day": [0, 20, 60, 60]},
            4700,
        ),
        (
            [
                _donor("a", 1500, 8400, [("z", 1)], [("b", 2, 0, 0)], teardown_minutes=20, day_loss_cents=80),
                _donor("b", 2400, 4500, [], [("z", 2, 0, 0)], teardown_minutes=20),
                _donor("c", 0, 6200, [("b", 1), ("z", 2)], [("z", 2, 10, 100)], fix_minutes=25, day_loss_cents=80),
            ],
            {"minutes_per_day": 20, "deadline_days": 3},
            13000,
        ),
    ],
)
def test_small_lots_that_a_faulty_presolve_rule_lost(units, bench, total):
    got = answer({"suppliers": [], "offers": [], "units": units, **bench})
    assert (got["status"], got["total_cents"]) == ("optimal", total)


@pytest.mark.parametrize(
    ("units", "bench", "total"),
    [
        (  # the run fails
            [
                _donor("a", 2400, 6200, [("z", 2), ("b", 1)], [("z", 2, 5, 100), ("z", 2, 0, 0)], day_loss_cents=10),
                _donor("b", 0, 4500, [("z", 1)], [("b", 2, 10, 100)], day_loss_cents=10),
            ],
            {"minutes_by_day": [0, 20, 60, 60]},
            4700,
        ),
        (  # there is said to be no plan
            [
                _donor("a", 2400, 4500, [("z", 1)], [("b", 2, 5, 0)]),
                _donor("b", 1500, 6200, [("b", 1), ("z", 2)], [("z", 2, 0, 100)], day_loss_cents=80),
                _donor("c", 2400, 4500, [("z", 2)], [("z", 1, 5, 100)], day_loss_cents=80),
                _donor("d", 0, 6200, [("z", 2)], [], day_loss_cents=10),
            ],
            {"minutes_per_day": 20, "deadline_days": 3},
            11000,
        ),
    ],
)
def test_what_a_presolve_loses_does_not_reach_the_person(units, bench, total, monkeypatch):
    monkeypatch.setattr(solver, "FAULTY_RULES", 0)
    got = answer({"suppliers": [], "offers": [], "units": units, **bench})
    assert (got["status"], got["total_cents"]) == ("optimal", total)


def test_a_repair_without_minutes_may_wait_for_what_comes_on_the_last_day():
    unit = {"id": "a", "as_is_cents": 0, "fixed_cents": 2000, "needs": [{"part": "p", "pieces": 1}]}
    case = {
        "parts": [{"id": "p", "buy_cents": 100, "lead_days": 2}],
        "units": [{**unit, "day_loss_cents": 10}],
        "minutes_by_day": [20, 20],
    }
    got = answer(case)
    assert (got["decision"], got["total_cents"], got["done"]) == ({"a": "fix"}, 2000 - 100 - 2 * 10, {"a": 2})


@pytest.mark.parametrize(("ready", "total", "decision"), [(0, 1900, "fix"), (3, 1870, "fix"), (6, 50, "sell")])
def test_a_repair_waits_for_what_is_on_its_way_and_is_not_begun_after_the_last_day(ready, total, decision):
    unit = {"id": "a", "as_is_cents": 50, "fixed_cents": 2000, "needs": [{"part": "p", "pieces": 1}]}
    case = {
        "parts": [{"id": "p", "buy_cents": 100}],
        "units": [{**unit, "fix_minutes": 20, "day_loss_cents": 10, "ready_day": ready}],
        "minutes_by_day": [30, 30, 30, 30, 30],
    }
    got = answer(case)
    assert (got["decision"], got["total_cents"]) == ({"a": decision}, total)
    assert got["done"] == ({"a": ready} if decision == "fix" else {})
