"""`solve branches`: worked sums by hand, to the cent, and what is refused."""

import json

import pytest

from catalog.text import Refused
from triage.problems.branches import answer


def _flip(answered, branch, term):
    return [flip["value"] for flip in answered["flips"] if flip["branch"] == branch and flip["term"] == term]


def test_waiting_for_the_exact_relay_beats_the_substitute_now():
    answered = answer(
        {
            "id": "relay",
            "minute_cost_cents": 20,
            "branches": [
                {
                    "id": "wait",
                    "kind": "fix",
                    "success": 0.95,
                    "net_working_cents": 8400,
                    "net_failed_cents": 2800,
                    "parts_cents": 420,
                    "minutes": 35,
                    "delay_days": 9,
                    "delay_cents_per_day": 25,
                },
                {
                    "id": "substitute",
                    "kind": "fix",
                    "success": 0.85,
                    "net_working_cents": 7600,
                    "net_failed_cents": 2800,
                    "parts_cents": 310,
                    "minutes": 50,
                },
            ],
            "as_is": {"net_cents": 2800},
        }
    )
    assert answered["values"] == pytest.approx({"wait": 6775, "substitute": 5570, "as_is": 2800}, abs=1e-6)
    assert (answered["best"], answered["runner_up"]) == ("wait", "substitute")
    assert answered["gap_cents"] == pytest.approx(1205)
    assert _flip(answered, "wait", "delay_cents_per_day") == [pytest.approx(1430 / 9)]
    assert _flip(answered, "wait", "delay_days") == [pytest.approx(57.2)]
    assert json.loads(json.dumps(answered)) == answered


def test_the_substitute_module_now_beats_the_exact_one():
    common = {"kind": "fix", "net_failed_cents": 400, "minutes": 25}
    answered = answer(
        {
            "minute_cost_cents": 20,
            "branches": [
                {
                    **common,
                    "id": "exact",
                    "success": 0.95,
                    "net_working_cents": 1800,
                    "parts_cents": 450,
                    "delay_days": 9,
                    "delay_cents_per_day": 10,
                },
                {**common, "id": "substitute", "success": 0.93, "net_working_cents": 1750, "parts_cents": 250},
            ],
        }
    )
    assert answered["values"] == pytest.approx({"exact": 690, "substitute": 905.5}, abs=1e-9)
    assert answered["best"] == "substitute"
    assert answered["gap_cents"] == pytest.approx(215.5)
    assert _flip(answered, "exact", "parts_cents") == [pytest.approx(234.5)]
    assert _flip(answered, "exact", "delay_days") == []  # even a free wait does not turn it


def _player(own_use):
    parts = [("door", 1400, 0.8), ("motor", 1200, 0.7), ("buttons", 600, 0.6), ("case", 900, 0.5)]
    return answer(
        {
            "minute_cost_cents": 20,
            "branches": [
                {
                    "id": "fix",
                    "kind": "fix",
                    "success": 0.45,
                    "net_working_cents": 6200,
                    "net_failed_cents": 1800,
                    "parts_cents": 1000,
                    "minutes": 80,
                }
            ],
            "as_is": {"net_cents": 2400, "minutes": 10},
            "part_out": {
                "strip_minutes": 20,
                "parts": [
                    {
                        "id": name,
                        "net_cents": net,
                        "sell_chance": chance,
                        "list_minutes": 4,
                        **({"own_use_cents": own_use} if own_use and name == "motor" else {}),
                    }
                    for name, net, chance in parts
                ],
            },
        }
    )


def test_a_player_alone_is_sold_as_it_is_and_parted_out_when_another_unit_needs_its_motor():
    alone, needed = _player(None), _player(1200)
    assert alone["values"] == pytest.approx({"fix": 1180, "as_is": 2200, "part_out": 2050})
    assert (alone["best"], alone["runner_up"]) == ("as_is", "part_out")
    assert needed["values"]["part_out"] == pytest.approx(2490)
    assert (needed["best"], needed["gap_cents"]) == ("part_out", pytest.approx(290))
    assert _flip(needed, "part_out", "parts[motor].own_use_cents") == [pytest.approx(910)]


@pytest.mark.parametrize(
    ("case", "where"),
    [
        ({}, "branches"),
        ({"branches": [{"id": "fix", "success": 1.2}]}, "branches[0].success"),
        ({"branches": [{"id": "fix", "minutes": -1}]}, "branches[0].minutes"),
        ({"branches": [{"id": "fix"}, {"id": "fix"}]}, "branches[1].id"),
        ({"branches": [{"id": "as_is"}], "as_is": {"net_cents": 5}}, "branches[0].id"),
        ({"as_is": {"net_cents": "5"}}, "as_is.net_cents"),
        ({"part_out": {"parts": [{"id": "a", "sell_chance": 2}]}}, "part_out.parts[0].sell_chance"),
    ],
)
def test_a_case_that_cannot_be_judged_is_refused_with_its_key_path(case, where):
    with pytest.raises(Refused) as refused:
        answer(case)
    assert refused.value.where == where


def test_a_single_branch_has_no_runner_up():
    answered = answer({"as_is": {"net_cents": 500}})
    assert (answered["best"], answered["runner_up"], answered["gap_cents"], answered["flips"]) == (
        "as_is",
        None,
        None,
        [],
    )
