"""Orders of repairs and probing trees against every order and every tree."""

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from triage.sequence import Try, best_order, best_order_of_several, odds_per_cost, order_cost, order_cost_of_several
from triage.tracing import Probe, best_probing, front_to_back, halving, probing_by, stages_of

COSTS = st.integers(0, 30)
GROUPS = st.sampled_from(("", "", "case", "board"))
OPENING = st.fixed_dictionaries({"case": st.integers(0, 40), "board": st.integers(0, 40)})


@st.composite
def one_fault(draw):
    weights = draw(st.lists(st.integers(0, 50), min_size=1, max_size=5).filter(any))
    rest = draw(st.sampled_from((0, 0, 20)))
    return [Try(weight / (sum(weights) + rest), draw(COSTS), draw(GROUPS)) for weight in weights]


several_faults = st.lists(
    st.builds(Try, st.sampled_from((0.0, 0.02, 0.1, 0.3, 0.5, 0.9, 1.0)), COSTS, GROUPS), min_size=1, max_size=5
).filter(lambda tries: any(entry.chance for entry in tries))


def worlds_of_several(tries):
    """Every set of faults with its chance, given that one at least is there."""
    for present in itertools.product((False, True), repeat=len(tries)):
        if any(present):
            yield (
                present,
                math.prod(
                    entry.chance if there else 1.0 - entry.chance for entry, there in zip(tries, present, strict=True)
                ),
            )


def played(tries, order, opening, present):
    """What an order costs in one world: repairs until nothing is left of what was there."""
    left, opened, total = set(itertools.compress(range(len(tries)), present)), set(), 0.0
    for place in order:
        if not left:
            break
        group = tries[place].group
        total += tries[place].cost + (opening[group] if group and group not in opened else 0)
        opened.add(group)
        left.discard(place)
    return total


@given(one_fault(), OPENING)
@settings(max_examples=150)
def test_one_fault_no_order_is_cheaper(tries, opening):
    found = best_order(tries, opening)
    assert sorted(found.order) == list(range(len(tries)))
    every = [order_cost(tries, order, opening) for order in itertools.permutations(range(len(tries)))]
    assert found.cost == pytest.approx(min(every), rel=1e-9, abs=1e-9)
    rest = 1.0 - sum(entry.chance for entry in tries)
    by_world = sum(
        entry.chance * played(tries, found.order, opening, [other is entry for other in tries]) for entry in tries
    )
    by_world += rest * order_cost([Try(0.0, entry.cost, entry.group) for entry in tries], found.order, opening)
    if len({id(entry) for entry in tries}) == len(tries):
        assert found.cost == pytest.approx(by_world, rel=1e-9, abs=1e-9)


@given(one_fault(), OPENING, st.integers(0, 200))
@settings(max_examples=150)
def test_walking_away_no_beginning_of_any_order_is_cheaper(tries, opening, giving_up):
    found = best_order(tries, opening, giving_up=giving_up)
    every = [
        order_cost(tries, order[:size], opening, giving_up=giving_up)
        for order in itertools.permutations(range(len(tries)))
        for size in range(len(tries) + 1)
    ]
    assert found.cost == pytest.approx(min(every), rel=1e-9, abs=1e-9)
    assert found.cost == pytest.approx(order_cost(tries, found.order, opening, giving_up=giving_up))
    assert found.gives_up == (len(found.order) < len(tries))


@given(several_faults, OPENING)
@settings(max_examples=150)
def test_several_faults_no_order_is_cheaper(tries, opening):
    found = best_order_of_several(tries, opening)
    worlds = list(worlds_of_several(tries))
    whole = sum(chance for _, chance in worlds)

    def cost(order):
        return sum(chance * played(tries, order, opening, present) for present, chance in worlds) / whole

    every = {order: cost(order) for order in itertools.permutations(range(len(tries)))}
    assert every[found.order] == pytest.approx(min(every.values()), rel=1e-9, abs=1e-9)
    assert found.cost == pytest.approx(every[found.order], rel=1e-9, abs=1e-9)


def test_a_tiny_chance_keeps_its_digits():
    tries = [Try(1e-12, 3.0), Try(2e-12, 5.0)]
    assert order_cost_of_several(tries, (1, 0)) == pytest.approx(5.0 + 3.0 / 3.0)


def test_chance_per_cost_is_not_best_for_several_faults():
    """A worked case: 0.5 for 10 before 0.9 for 20 by chance per cost; by odds it is the other way round."""
    tries = [Try(0.5, 10.0), Try(0.9, 20.0)]
    assert best_order(tries[:1]).order == (0,)
    assert best_order_of_several(tries).order == (1, 0)
    assert order_cost_of_several(tries, (1, 0)) == pytest.approx(20.0 + 10.0 * 0.5 / 0.95)
    assert order_cost_of_several(tries, (0, 1)) == pytest.approx(10.0 + 20.0 * 0.9 / 0.95)
    assert odds_per_cost(0.9, 20.0) > odds_per_cost(0.5, 10.0)


def test_a_repair_that_pays_only_later_is_not_cut_off():
    """The one-step test p/C > what is left / cost of giving up fails at the first repair, and yet both pay."""
    tries = [Try(0.5, 55.0), Try(0.5, 40.0)]
    found = best_order(tries, giving_up=100.0)
    assert (found.order, found.gives_up) == ((1, 0), False)
    assert found.cost == pytest.approx(40.0 + 0.5 * 55.0)


# --- probing -----------------------------------------------------------------------------------------------------


def every_tree(first, last):
    if first == last:
        yield first
        return
    for k in range(first, last):
        for gone, there in itertools.product(every_tree(first, k), every_tree(k + 1, last)):
            yield Probe(k, gone, there)


def walked(tree, stage, costs):
    """(cost, stage found) of following a tree while `stage` is the bad one."""
    total = 0.0
    while isinstance(tree, Probe):
        total += costs[tree.behind_stage]
        tree = tree.gone if stage <= tree.behind_stage else tree.there
    return total, tree


chains = st.integers(1, 6).flatmap(
    lambda size: st.tuples(
        st.lists(st.integers(0, 40), min_size=size, max_size=size).filter(any),
        st.lists(st.integers(0, 9), min_size=size - 1, max_size=size - 1),
    )
)


@given(chains)
@settings(max_examples=120)
def test_no_probing_tree_is_cheaper(chain):
    weights, costs = chain
    found = best_probing(weights, costs)
    assert stages_of(found.tree) == list(range(len(weights)))
    assert all(walked(found.tree, stage, costs)[1] == stage for stage in range(len(weights)))

    def cost(tree):
        return sum(weight * walked(tree, stage, costs)[0] for stage, weight in enumerate(weights)) / sum(weights)

    assert found.cost == pytest.approx(cost(found.tree))
    assert found.cost == pytest.approx(min(map(cost, every_tree(0, len(weights) - 1))))
    for rule in (halving(weights), front_to_back):
        assert probing_by(weights, costs, rule).cost >= found.cost - 1e-9


@given(chains, st.integers(0, 12), st.data())
@settings(max_examples=120)
def test_opening_is_paid_by_the_first_probe_inside(chain, opening, data):
    weights, costs = chain
    inside = data.draw(st.sets(st.integers(0, max(0, len(costs) - 1)), max_size=len(costs)))

    def cost(tree):
        total = 0.0
        for stage, weight in enumerate(weights):
            node, opened = tree, False
            while isinstance(node, Probe):
                first = node.behind_stage in inside and not opened
                total += weight * (costs[node.behind_stage] + (opening if first else 0))
                opened = opened or first
                node = node.gone if stage <= node.behind_stage else node.there
        return total / sum(weights)

    found = best_probing(weights, costs, inside=inside, opening=opening)
    assert found.cost == pytest.approx(cost(found.tree))
    assert found.cost == pytest.approx(min(map(cost, every_tree(0, len(weights) - 1))))
