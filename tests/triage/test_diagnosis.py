"""Laws of the fault posterior: order, both ways of summing, conflicts, explanations, worlds, reports and refusals."""

import itertools
import math
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.text import Refused
from triage.diagnosis import (
    Answered,
    BeyondExact,
    Check,
    Condition,
    Fault,
    Gate,
    Network,
    Reading,
    Repaired,
    Reported,
    Situation,
    contributions,
    gate_open,
    nearly,
    posterior,
    prior_of_share,
    replay,
    terms,
    worlds,
)


def invented(seed, faults, checks, links=4, *, bad=3, **settings_):
    """A random network and an answer to every check."""
    chance = random.Random(seed)
    ids = [f"f{i}" for i in range(faults)]
    network = Network(
        tuple(Fault(name, chance.uniform(0.01, 0.2), chance.choice([0.8, 1.0])) for name in ids),
        tuple(
            Check(
                f"c{j}",
                chance.uniform(0.01, 0.1),
                {name: chance.uniform(0.2, 0.99) for name in chance.sample(ids, min(links, faults))},
                persistence=0.8,
                flip=settings_.get("flip", 0.0),
            )
            for j in range(checks)
        ),
        known_faulty=settings_.get("known_faulty"),
    )
    return network, [Answered(f"c{j}", "bad" if j < bad else "good") for j in range(checks)]


def agree(one, other, within=1e-9):
    assert one.log_evidence == pytest.approx(other.log_evidence, abs=within)
    assert one.present == pytest.approx(other.present, abs=within)
    assert one.absent == pytest.approx(other.absent, abs=within)
    assert one.at_start == pytest.approx(other.at_start, abs=within)
    assert one.predictive == pytest.approx(other.predictive, abs=within)
    assert one.p_no_fault == pytest.approx(other.p_no_fault, abs=within)


@given(st.integers(0, 10**6), st.integers(1, 8), st.integers(0, 8), st.sampled_from([0.0, 0.02]))
@settings(max_examples=25, deadline=None)
def test_both_ways_of_summing_agree(seed, faults, bad, flip):
    network, events = invented(seed, faults, 8, bad=bad, flip=flip, known_faulty=0.9 if seed % 2 else None)
    events[5:5] = [Repaired(("f0",)), Answered("c0", "good"), Answered("c1", "bad")]
    agree(posterior(network, events, method="enumeration"), posterior(network, events, method="expansion"))


@given(st.integers(0, 10**6))
@settings(max_examples=20, deadline=None)
def test_order_of_answers_does_not_matter(seed):
    network, events = invented(seed, 6, 7, flip=0.02)
    shuffled = list(events)
    random.Random(seed).shuffle(shuffled)
    agree(posterior(network, events), posterior(network, shuffled), within=1e-12)


def test_a_large_part_is_summed_by_its_answers_or_falls_back_where_digits_would_go(monkeypatch):
    said, used = [], terms.sums
    monkeypatch.setattr(terms, "sums", lambda *args: said.append(used(*args)) or said[-1])
    for seed, bad in ((1, 2), (2, 5), (3, 9)):
        network, events = invented(seed, 18, 9, links=9, bad=bad, flip=0.02, known_faulty=0.9)
        agree(posterior(network, events), posterior(network, events, method="expansion"))
    assert [found is None for found in said].count(False) >= 2
    rare = Network(
        tuple(Fault(fault.id, fault.prior * 1e-6) for fault in network.faults),
        tuple(Check(check.id, 1e-9, check.links) for check in network.checks),
    )
    said.clear()
    agree(posterior(rare, events), posterior(rare, events, method="expansion"))
    assert said[0] is None


def test_the_worlds_kept_are_the_heaviest_there_are():
    network, events = invented(4, 10, 7, bad=3, flip=0.02, known_faulty=0.9)
    events.insert(4, Repaired(("f0",)))
    every = worlds(network, events, 0.0)
    for loss, most in ((1e-3, None), (1e-6, None), (1e-6, 40)):
        found = worlds(network, events, loss, at_most=most)
        heaviest = every.weight[: len(found.weight)]
        assert found.weight * (1.0 - found.dropped) == pytest.approx(heaviest, abs=1e-12)
        assert found.dropped == pytest.approx(1.0 - heaviest.sum(), abs=1e-12)
        if most is None:
            assert found.dropped <= loss < 1.0 - heaviest[:-1].sum()


def test_improbable_evidence_keeps_its_digits():
    network, events = invented(3, 9, 12, links=2, bad=12)
    rare = tuple(Fault(fault.id, fault.prior / 1000.0) for fault in network.faults)
    network = Network(rare, tuple(Check(check.id, check.leak / 100.0, check.links) for check in network.checks))
    one, other = (posterior(network, events, method=method) for method in ("enumeration", "expansion"))
    assert one.log_evidence < math.log(1e-15)
    agree(one, other, within=1e-10)


def test_forty_faults_and_forty_checks_with_ten_bad():
    network, events = invented(1, 40, 40, links=5, bad=10, known_faulty=0.9)
    belief = posterior(network, events)
    assert belief.log_evidence is not None
    assert all(belief.present[name] + belief.absent[name] == pytest.approx(1.0, abs=1e-12) for name in belief.present)
    # leaving every fault that is nowhere near the evidence out of the sums changes nothing
    wider = Network((*network.faults, Fault("far", 0.3)), network.checks)
    alone = posterior(Network(network.faults, network.checks), events)
    together = posterior(wider, events)
    assert together.present["far"] == pytest.approx(0.3, abs=1e-12)
    assert together.log_evidence == pytest.approx(alone.log_evidence, abs=1e-9)


def test_forty_uncertain_answers_are_right_to_within_what_is_stated():
    network, events = invented(1, 40, 40, links=5, bad=4, flip=0.02, known_faulty=0.9)
    belief = posterior(network, events)
    assert 0.0 < belief.left_out < 1e-3
    assert belief.most_probable is None
    assert worlds(network, events, 1e-2).dropped <= 1e-2
    # the same bound holds where exact sums are at hand
    network, events = invented(3, 14, 9, links=5, bad=3, flip=0.02, known_faulty=0.9)
    network = Network(network.faults, network.checks, (Condition("damp", {"f0": 0.4, "f3": 0.3}, 0.3),), 0.9)
    events.insert(4, Repaired(("f0", "f1")))
    exact, situation = posterior(network, events), Situation(network, replay(network, events))
    for rows, worst in ((300, 0.1), (3_000, 1e-3)):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(nearly, "MOST_ROWS", rows)
            patch.setattr(nearly, "WORST", 1.0)
            found = nearly.nearly(situation)
        assert 0.0 < found.left_out < worst
        assert found.present == pytest.approx(list(exact.present.values()), abs=found.left_out)
        assert found.at_start == pytest.approx(list(exact.at_start.values()), abs=found.left_out)
        assert found.none_now == pytest.approx(exact.p_no_fault, abs=found.left_out)
        assert found.skies[0] == pytest.approx(exact.conditions["damp"], abs=found.left_out)
        assert 0.0 <= exact.log_evidence - found.log_evidence <= -math.log1p(-found.left_out) + 1e-9


def test_too_many_tied_faults_are_refused():
    network, events = invented(1, 60, 60, links=30, bad=40)
    with pytest.raises(BeyondExact, match="more than can be summed exactly"):
        posterior(network, events)


def test_untouched_faults_keep_their_prior_to_the_last_digit():
    network = Network((Fault("a", 0.1), Fault("b", 1e-9)), (Check("x", 0.05, {"a": 0.9}),))
    belief = posterior(network, [Answered("x", "bad")])
    assert belief.present["b"] == pytest.approx(1e-9, rel=1e-12)
    assert belief.absent["b"] == pytest.approx(1.0 - 1e-9, abs=1e-15)


def test_nothing_seen_and_nothing_listed():
    belief = posterior(Network((), (Check("x", 0.25),)), [Answered("x", "bad")])
    assert belief.p_no_fault == 1.0
    assert belief.log_evidence == pytest.approx(math.log(0.25))
    assert belief.most_probable.faults == ()
    assert belief.most_probable.probability == pytest.approx(1.0)


def test_a_smallest_conflict_is_impossible_and_no_smaller_set_is():
    network = Network(
        (Fault("a", 0.3), Fault("b", 0.3), Fault("c", 0.3)),
        (
            Check("p", 0.0, {"a": 1.0, "b": 1.0}),
            Check("q", 0.1, {"a": 1.0}),
            Check("r", 0.1, {"b": 1.0, "c": 0.5}),
            Check("s", 0.2, {"c": 0.7}),
        ),
    )
    events = [Answered("s", "bad"), Answered("p", "bad"), Answered("q", "good"), Answered("r", "good")]
    belief = posterior(network, events)
    assert belief.impossible
    assert belief.conflict == (1, 2, 3)
    for size in range(3):
        for some in itertools.combinations(range(len(events)), size):
            assert not posterior(network, [events[i] for i in some]).impossible


def test_evidence_that_speaks_against_itself_is_far_fetched():
    network = Network((Fault("a", 0.02),), tuple(Check(f"c{i}", 0.01, {"a": 0.97}) for i in range(4)))
    agreeing = posterior(network, [Answered(f"c{i}", "bad") for i in range(4)])
    clashing = posterior(network, [Answered(f"c{i}", "bad" if i < 2 else "good") for i in range(4)])
    assert not agreeing.far_fetched
    assert agreeing.conflict_strength < 0.0
    assert clashing.conflict_strength > agreeing.conflict_strength
    crossed = Network((Fault("a", 0.5),), (Check("x", 0.001, {"a": 0.999}), Check("y", 0.001, {"a": 0.999})))
    assert posterior(crossed, [Answered("x", "bad"), Answered("y", "good")]).far_fetched


def test_a_repair_that_did_not_help_lowers_the_odds_that_it_ever_will():
    network = Network(
        (Fault("a", 0.3, success=0.8), Fault("b", 0.1, success=0.8)), (Check("x", 0.02, {"a": 0.9, "b": 0.9}),)
    )
    first = posterior(network, [Answered("x", "bad")])
    after = posterior(network, [Answered("x", "bad"), Repaired(("a",)), Answered("x", "bad")])
    assert after.present["a"] < first.present["a"]
    assert after.present["b"] > first.present["b"]
    assert after.at_start["a"] > after.present["a"]


def test_an_answer_speaks_of_the_time_before_the_cure_it_brings():
    network = Network((Fault("dirt", 0.4),), (Check("clean", 0.05, {"dirt": 0.9}, cures=("dirt",)),))
    belief = posterior(network, [Answered("clean", "bad")])
    assert belief.present["dirt"] == 0.0
    assert belief.at_start["dirt"] == pytest.approx(0.4 * (1 - 0.95 * 0.1) / (1 - 0.95 * (1 - 0.4 * 0.9)))
    assert posterior(network, [Answered("clean", "not_tested")]).present["dirt"] == pytest.approx(0.4)
    assert posterior(network, [Answered("clean", "cant_tell")]).present["dirt"] == 0.0


def test_a_repeat_is_worth_less_than_a_fresh_look():
    def after(persistence):
        network = Network((Fault("a", 0.2),), (Check("x", 0.1, {"a": 0.8}, persistence=persistence),))
        return posterior(network, [Answered("x", "bad")] * 2).present["a"]

    once = posterior(Network((Fault("a", 0.2),), (Check("x", 0.1, {"a": 0.8}),)), [Answered("x", "bad")]).present["a"]
    assert after(1.0) == pytest.approx(once)
    assert once < after(0.8) < after(0.0)


def test_a_fault_that_comes_and_goes_is_neither_cleared_nor_proven_by_one_answer():
    network = Network(
        (Fault("joint", 0.1), Fault("other", 0.1)),
        (Check("x", 0.02, {"joint": 0.6}, persistence=0.8, flip=0.02), Check("y", 0.02, {"other": 0.6})),
    )

    def after(*words):
        return posterior(network, [Answered("x", word) for word in words])

    good, both, back, bad = after("good"), after("good", "bad"), after("bad", "good"), after("bad")
    for once in (both, back):
        assert not once.impossible
        assert good.present["joint"] < once.present["joint"] < bad.present["joint"]
        assert once.present["other"] == pytest.approx(0.1)
    # the same answer again says less than a second independent look would, the other one less than nothing said
    assert after("bad", "bad").present["joint"] > bad.present["joint"]
    assert after("bad", "bad", "good").present["joint"] > both.present["joint"]


def test_nothing_wrong_is_an_outcome_of_its_own():
    network = Network((Fault("a", 0.3), Fault("b", 0.2)), (Check("x", 0.02, {"a": 0.95, "b": 0.95}),), known_faulty=0.9)
    before, after = posterior(network, []), posterior(network, [Answered("x", "good")] * 3)
    assert before.p_no_fault == pytest.approx(0.1)
    assert after.p_no_fault > 0.9
    assert after.most_probable.faults == ()
    repaired = posterior(network, [Answered("x", "bad"), Repaired(("a", "b")), Answered("x", "good")])
    assert repaired.p_no_fault_at_start < 0.05 < 0.9 < repaired.p_no_fault


def test_a_report_is_weak_ignores_gates_and_gives_way_to_an_answer():
    network = Network(
        (Fault("a", 0.2),), (Check("g", 0.05), Check("x", 0.1, {"a": 0.8}, gate=(Gate("g"),))), known_faulty=None
    )
    reported = posterior(network, [Reported("x")])
    bad = 1 - 0.9 * (1 - 0.2 * 0.8)
    assert math.exp(reported.log_evidence) == pytest.approx(0.8 * bad + 0.2 * (1 - bad))
    assert reported.present["a"] > 0.2
    # foretelling the answer and then hearing it must come to the same as hearing it alone
    assert reported.predictive["x"] == pytest.approx(0.8 * bad / (0.8 * bad + 0.2 * (1 - bad)))
    found = worlds(network, [Reported("x")], loss=0.0)
    assert found.weight @ found.bad_chance("x") == pytest.approx(reported.predictive["x"])
    answered = posterior(network, [Reported("x"), Answered("g", "good"), Answered("x", "good")])
    plain = posterior(network, [Answered("g", "good"), Answered("x", "good")])
    assert answered.present == pytest.approx(plain.present)
    assert answered.ignored == (0,)
    closed = posterior(network, [Reported("x"), Answered("x", "good")])
    assert closed.ignored == (1,)
    assert closed.present == pytest.approx(reported.present)


def test_a_gate_looks_at_the_latest_answer_and_a_repair_does_not_close_it():
    network = Network((Fault("a", 0.2),), (Check("g", 0.05), Check("x", 0.1, {"a": 0.8}, gate=(Gate("g", "bad"),))))
    history = replay(network, [Answered("g", "good"), Answered("g", "bad"), Repaired(("a",)), Answered("x", "bad")])
    assert [entry.index for entry in history.seen] == [0, 1, 3]
    assert gate_open(network.check("x"), history.latest)
    assert replay(network, [Answered("g", "bad"), Answered("g", "cant_tell"), Answered("x", "bad")]).ignored == (1,)
    assert replay(network, [Reading("g", (1.0, 0.1), "bad"), Answered("x", "bad")]).ignored == ()
    assert replay(network, [Reading("g", (1.0, 0.1)), Answered("x", "bad")]).ignored == (1,)


def test_contributions_say_what_leaving_an_answer_out_changes():
    network, events = invented(5, 5, 4, flip=0.02)
    events.insert(2, Repaired(("f1",)))
    shown = contributions(network, events)
    assert [entry.index for entry in shown] == [0, 1, 3, 4]
    whole, rest = posterior(network, events), posterior(network, events[:4])
    for name in whole.present:
        change = math.log(whole.present[name] / whole.absent[name]) - math.log(rest.present[name] / rest.absent[name])
        assert shown[-1].log_odds[name] == pytest.approx(change, abs=1e-9)
        assert shown[-1].chance[name] == pytest.approx(whole.present[name] - rest.present[name], abs=1e-9)
    impossible = Network((), (Check("x", 0.0),))
    assert contributions(impossible, [Answered("x", "bad")]) == ()


@given(st.integers(0, 10**6), st.sampled_from([1e-2, 1e-4, 1e-7]))
@settings(max_examples=25, deadline=None)
def test_worlds_leave_out_no_more_than_allowed(seed, loss):
    network, events = invented(seed, 8, 5, bad=seed % 4, known_faulty=0.9, flip=0.02)
    network = Network(network.faults, network.checks, (Condition("damp", {"f0": 0.4, "f3": 0.3}, 0.3),), 0.9)
    events.insert(2, Repaired(("f2",)))
    found, every = worlds(network, events, loss), worlds(network, events, 0.0)
    belief = posterior(network, events)
    assert found.dropped <= loss * (1 + 1e-9)
    assert found.weight.sum() == pytest.approx(1.0)
    assert np.all(np.diff(found.weight) <= 0.0)
    assert len(found.weight) <= len(every.weight)
    # the worlds kept have the weight they have among all, and what is missing is no more than stated
    kept = 1.0 - np.sort(every.weight)[: len(every.weight) - len(found.weight)].sum()
    assert 1.0 - kept <= found.dropped + 1e-12
    assert found.weight[0] * (1.0 - found.dropped) <= every.weight[0] + 1e-12
    for place, name in enumerate(found.faults):
        assert found.weight @ found.present[:, place] == pytest.approx(belief.present[name], abs=2 * loss + 1e-9)
    few = worlds(network, events, loss, at_most=5)
    assert len(few.weight) <= 5
    assert few.dropped >= found.dropped


def test_no_world_fits_impossible_answers():
    with pytest.raises(Refused, match="cannot all be right"):
        worlds(Network((), (Check("x", 0.0),)), [Answered("x", "bad")])


def test_prior_of_a_share():
    assert prior_of_share(0.05) == pytest.approx(1 - 0.95**1.3)
    assert prior_of_share(0.0) == 0.0
    assert prior_of_share(1.0) == 1.0


@pytest.mark.parametrize(
    ("build", "where"),
    [
        (lambda: Network((Fault("a", -0.1),), ()), "faults[a].prior"),
        (lambda: Network((Fault("a", 0.1, math.nan),), ()), "faults[a].success"),
        (lambda: Network((Fault("a", 0.1), Fault("a", 0.1)), ()), "faults[a].id"),
        (lambda: Network((), (Check("x", 0.1, {"a": 0.1}),)), "checks[x].links"),
        (lambda: Network((), (Check("x", 0.1, cures=("a",)),)), "checks[x].cures"),
        (lambda: Network((), (Check("x", 0.1, gate=(Gate("y"),)),)), "checks[x].gate"),
        (lambda: Network((), (), tuple(Condition(f"w{i}", {}, 0.1) for i in range(4))), "conditions"),
        (lambda: Network((), (), (Condition("w", {"a": 0.1}, 0.1),)), "conditions[w].raises"),
        (lambda: Network((), (), known_faulty=1.1), "known_faulty"),
        (lambda: posterior(Network((Fault("a", 0.0),), (), known_faulty=0.9), []), "known_faulty"),
    ],
)
def test_networks_that_make_no_sense_are_refused(build, where):
    with pytest.raises(Refused) as refused:
        build()
    assert refused.value.where == where
