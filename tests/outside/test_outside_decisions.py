"""Decisions and values of information against published examples."""

import math
from itertools import permutations, product

import msgspec
import numpy as np
import pytest

from triage.lookahead import Look, look_ahead
from triage.payoffs import Payoffs
from triage.tracing import best_probing


@pytest.mark.parametrize("blocks", [2, 5, 10])
def test_a_survey_of_one_oil_block_is_worth_the_price_of_a_block(blocks):
    """Russell and Norvig, Artificial Intelligence: A Modern Approach, value of information (figures from memory).

    Of n blocks one holds oil worth C, each is offered at C/n, and a survey tells of one block whether it is that one.
    The survey is worth C/n.
    """
    worth = 1_000.0
    price = worth / blocks
    weight = np.full(blocks, 1.0 / blocks)  # world k: the oil is in block k
    buy = np.eye(blocks) * worth - price  # plan k: buy block k
    survey = Look(bad=np.eye(blocks)[0], cost=0.0)
    ahead = look_ahead(weight, lambda _: Payoffs.told_apart(buy), [survey], {}, np.zeros(blocks, dtype=bool))
    assert ahead.now == pytest.approx(0.0, abs=1e-9)
    assert ahead.first[0] - ahead.now == pytest.approx(worth / blocks)


def test_the_best_repair_order_of_a_published_troubleshooting_example():
    """Nielsen and Jensen, Bayesian Networks and Decision Graphs (2nd ed., 2007), Example 9.2 and its exercise.

    One fault of three (0.8, 0.15, 0.05). Actions for 1, 2 and 25: the first cures the first fault, the other two the
    second with 0.95 and 0.99; a service call for 500 always ends the matter. The book asks for the best sequence; from
    its data it is 1, 2, 3, call at 27.875, before 2, 1, 3, call at 29.3325, and 30.15 without the third action.
    Here an action is a look that reads bad while the fault is still there; at the end it works, or service is called.
    """
    help_chance = ((1.0, 0.0, 0.0), (0.0, 0.95, 0.0), (0.0, 0.99, 0.0))
    weight, still_bad = [], []
    for fault, chance in enumerate((0.8, 0.15, 0.05)):  # a world: which fault, and which actions would help
        for helps in product((True, False), repeat=3):
            odds = (row[fault] if does else 1.0 - row[fault] for row, does in zip(help_chance, helps, strict=True))
            weight.append(chance * math.prod(odds))
            still_bad.append([0.0 if does else 1.0 for does in helps])
    bad = np.array(still_bad).T
    values = np.stack([np.full(len(weight), -500.0), *np.where(bad == 0.0, 0.0, -1e6)], axis=1)
    looks = [Look(bad=bad[action], cost=cost) for action, cost in enumerate((1.0, 2.0, 25.0))]

    def cost_of(*order):
        """Expected cost with the actions in this order, each only after the one before did not help."""
        chain = [looks[action] for action in order]
        for place in range(1, len(chain)):
            chain[place] = msgspec.structs.replace(chain[place], gate=((place - 1, True),))
        ahead = look_ahead(np.array(weight), lambda _: Payoffs.told_apart(values), chain, {}, np.zeros(4, dtype=bool))
        return -ahead.first[0]

    free = look_ahead(np.array(weight), lambda _: Payoffs.told_apart(values), looks, {}, np.zeros(4, dtype=bool))
    assert -max(free.first) == pytest.approx(27.875)
    assert free.first.index(max(free.first)) == 0
    costs = {order: cost_of(*order) for order in permutations(range(3))}
    assert min(costs, key=costs.get) == (0, 1, 2)
    assert sorted(costs.values())[:2] == pytest.approx([27.875, 29.3325])
    assert cost_of(0, 1) == pytest.approx(30.15)


def test_equally_likely_stages_need_as_many_probes_as_the_best_search_tree():
    """Knuth, The Art of Computer Programming 3 (2nd ed., 1998), 6.2.1: n leaves have n lg + n - 2^lg path length.

    lg is the binary logarithm of n rounded up; a probe is a comparison, a stage a leaf.
    """
    for stages in range(1, 34):
        depth = (stages - 1).bit_length()
        shortest = stages * depth + stages - 2**depth
        assert best_probing([1.0] * stages, [1.0] * (stages - 1)).cost == pytest.approx(shortest / stages)


def test_the_oil_wildcatter_pays_for_the_soundings():
    """Raiffa, Decision Analysis (1968), as Shenoy (Operations Research 40, 1992) states it, in thousands of dollars.

    Dry 0.5, wet 0.3, soaking 0.2; drilling costs 70 and brings 0, 120 or 270; soundings cost 10 and show no structure
    (0.6, 0.3, 0.1), open (0.3, 0.4, 0.4) or closed (0.1, 0.3, 0.5). Drilling at once is worth 20, after the soundings
    22.5 with their price paid; knowing what lies below would make it 55 (printed values from memory, recomputed from
    the data). The soundings are two looks here: no structure or some, then which.
    """
    weight = np.array([0.5, 0.3, 0.2])
    values = np.array([[-70.0, 0.0], [50.0, 0.0], [200.0, 0.0]])
    nothing, closed = np.array([0.6, 0.3, 0.1]), np.array([0.1, 0.3, 0.5])
    soundings = [Look(nothing, 10.0), Look(closed / (1.0 - nothing), 0.0, gate=((0, False),))]
    ahead = look_ahead(weight, lambda _: Payoffs.told_apart(values), soundings, {}, np.zeros(2, dtype=bool))
    assert ahead.now == pytest.approx(20.0)
    assert ahead.first[0] == pytest.approx(22.5)
    every = [Look(np.array([0.0, 1.0, 0.0]), 0.0), Look(np.array([0.0, 0.0, 1.0]), 0.0)]
    knowing = look_ahead(weight, lambda _: Payoffs.told_apart(values), every, {}, np.zeros(2, dtype=bool))
    assert max(knowing.first) == pytest.approx(55.0)
