"""The posterior against a slow, obvious sum over everything that can have happened, in exact fractions."""

import math
from fractions import Fraction
from itertools import product

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from triage.diagnosis import (
    Answered,
    Check,
    Condition,
    Fault,
    Gate,
    Network,
    Reading,
    Repaired,
    Reported,
    believe,
    foresee,
    marginals,
    posterior,
    quick,
    replay,
    terms,
    worlds,
)

CHANCES = st.sampled_from([0.0, 0.0625, 0.125, 0.25, 0.5, 0.75, 0.9375, 1.0])
INNER = st.sampled_from([0.0625, 0.125, 0.25, 0.5, 0.75, 0.9375])


def evidence_of(network, events):
    """(index, check, pair, recorded) that count, reports kept apart, and the times of each fault's attempts."""
    checks = {check.id: check for check in network.checks}
    said, answers, reports = {}, [], []
    attempts = {fault.id: [] for fault in network.faults}
    for time, event in enumerate(events):
        if isinstance(event, Repaired):
            for fault in set(event.faults):
                attempts[fault].append(time)
            continue
        check = checks[event.check]
        if isinstance(event, Reported):
            reports = [entry for entry in reports if entry[1] != check.id]
            reports.append((time, check.id, event.likelihood, False))
            continue
        opened = all(said.get(gate.check) == gate.must_be for gate in check.gate)
        is_reading = isinstance(event, Reading)
        if is_reading or event.answer in {"good", "bad"}:
            if opened:
                reports = [entry for entry in reports if entry[1] != check.id]
                pair = event.likelihood if is_reading else {"bad": (1.0, 0.0), "good": (0.0, 1.0)}[event.answer]
                answers.append((time, check.id, pair, not is_reading))
            if not is_reading:
                said[check.id] = event.answer
        if is_reading or event.answer != "not_tested":
            for fault in set(check.cures):
                attempts[fault].append(time)
    return answers, reports, attempts


def lives(network, attempts):
    """Every (chance without prior, how each fault went): None absent, a time = cured then, "still" = never cured."""
    lines = []
    for fault in network.faults:
        success, left, line = Fraction(fault.success), Fraction(1), [(None, Fraction(1))]
        for time in attempts[fault.id]:
            line.append((time, left * success))
            left *= 1 - success
        lines.append([*line, ("still", left)])
    for combination in product(*lines):
        chance = Fraction(1)
        for _, share in combination:
            chance *= share
        yield chance, {fault.id: how for fault, (how, _) in zip(network.faults, combination, strict=True)}


def there(how, time):
    return how == "still" or (how is not None and how >= time)


def good_chance(check, life, time):
    chance = 1 - Fraction(check.leak)
    for fault, strength in check.links.items():
        if there(life[fault], time):
            chance *= 1 - Fraction(strength)
    return chance


def history_chance(check, entries, life):
    """Likelihood of all that one check said in one life."""
    independent = Fraction(1)
    for time, _, (bad, good), _ in entries:
        quiet = good_chance(check, life, time)
        independent *= Fraction(bad) * (1 - quiet) + Fraction(good) * quiet
    flip = Fraction(check.flip)
    persistent = Fraction(0)
    quiets = [good_chance(check, life, entry[0]) for entry in entries]
    for first_good in range(len(entries) + 1):
        upper = quiets[first_good] if first_good < len(entries) else Fraction(1)
        lower = quiets[first_good - 1] if first_good > 0 else Fraction(0)
        chance = upper - lower
        for place, (_, _, (bad, good), recorded) in enumerate(entries):
            right, wrong = (bad, good) if place < first_good else (good, bad)
            slip = flip if recorded else Fraction(0)
            chance *= Fraction(right) * (1 - slip) + Fraction(wrong) * slip
        persistent += chance
    share = Fraction(check.persistence)
    return share * persistent + (1 - share) * independent


def oracle(network, events):
    answers, reports, attempts = evidence_of(network, events)
    skies = []
    choices = {"yes": [True], "no": [False], "unknown": [True, False]}
    for holds in product(*[choices[condition.state] for condition in network.conditions]):
        chance = Fraction(1)
        prior = {fault.id: Fraction(fault.prior) for fault in network.faults}
        for condition, here in zip(network.conditions, holds, strict=True):
            if condition.state == "unknown":
                chance *= Fraction(condition.prior) if here else 1 - Fraction(condition.prior)
            if here:
                for fault, rise in condition.raises.items():
                    prior[fault] = 1 - (1 - prior[fault]) * (1 - Fraction(rise))
        skies.append((holds, chance, prior))
    start = {}
    for place, (_, chance, prior) in enumerate(skies):
        for present in product([False, True], repeat=len(network.faults)):
            weight = chance
            for fault, here in zip(network.faults, present, strict=True):
                weight *= prior[fault.id] if here else 1 - prior[fault.id]
            start[place, present] = weight
    if network.known_faulty is not None:
        known = Fraction(network.known_faulty)
        empty = sum(weight for (_, present), weight in start.items() if not any(present))
        for key in start:
            part = (1 - known) / empty if not any(key[1]) else known / (1 - empty)
            start[key] *= part
    weights = {}
    for chance, life in lives(network, attempts):
        if chance == 0:
            continue
        likelihood = chance
        for check in network.checks:
            own = [entry for entry in answers if entry[1] == check.id]
            if own:
                likelihood *= history_chance(check, own, life)
            for entry in reports:
                if entry[1] == check.id:
                    quiet = good_chance(check, life, entry[0])
                    likelihood *= Fraction(entry[2][0]) * (1 - quiet) + Fraction(entry[2][1]) * quiet
        present = tuple(life[fault.id] is not None for fault in network.faults)
        for place in range(len(skies)):
            key = (place, tuple(life.items()))
            weights[key] = weights.get(key, 0) + start[place, present] * likelihood
    return weights, skies, answers, reports


def total_where(weights, wanted):
    return sum(weight for (_, life), weight in weights.items() if wanted(dict(life)))


@st.composite
def cases(draw, chances=INNER, most_events=6):
    faults = [f"f{i}" for i in range(draw(st.integers(1, 3)))]
    ids = [f"c{i}" for i in range(draw(st.integers(1, 3)))]
    checks = []
    for place, name in enumerate(ids):
        gate = ()
        if place and draw(st.integers(0, 3)) == 0:
            gate = (Gate(ids[place - 1], draw(st.sampled_from(["good", "bad"]))),)
        checks.append(
            Check(
                name,
                draw(chances),
                draw(st.dictionaries(st.sampled_from(faults), chances, max_size=3)),
                gate=gate,
                cures=tuple(draw(st.lists(st.sampled_from(faults), max_size=1))),
                persistence=draw(st.sampled_from([0.0, 0.5, 0.75, 1.0])),
                flip=draw(st.sampled_from([0.0, 0.0, 0.03125])),
            )
        )
    conditions = [
        Condition(
            f"w{i}",
            draw(st.dictionaries(st.sampled_from(faults), INNER, min_size=1, max_size=2)),
            draw(INNER),
            draw(st.sampled_from(["yes", "no", "unknown"])),
        )
        for i in range(draw(st.integers(0, 2)))
    ]
    network = Network(
        tuple(Fault(name, draw(chances), draw(st.sampled_from([0.5, 0.75, 1.0]))) for name in faults),
        tuple(checks),
        tuple(conditions),
        draw(st.sampled_from([None, None, 0.5, 0.875, 1.0])),
    )
    likelihoods = st.tuples(INNER, INNER)
    event = st.one_of(
        st.builds(Answered, st.sampled_from(ids), st.sampled_from(["good", "bad"])),
        st.builds(Answered, st.sampled_from(ids), st.sampled_from(["good", "bad", "cant_tell", "not_tested"])),
        st.builds(Reading, st.sampled_from(ids), likelihoods),
        st.builds(Reported, st.sampled_from(ids)),
        st.builds(Repaired, st.lists(st.sampled_from(faults), min_size=1, max_size=2).map(tuple)),
    )
    return network, draw(st.lists(event, max_size=most_events))


def check_chances(network, belief, weights, skies):
    whole = sum(weights.values())
    near = pytest.approx
    assert belief.log_evidence == near(math.log(whole), abs=1e-9)
    for fault in network.faults:
        now = total_where(weights, lambda life, name=fault.id: life[name] == "still") / whole
        first = total_where(weights, lambda life, name=fault.id: life[name] is not None) / whole
        assert belief.present[fault.id] == near(float(now), abs=1e-9)
        assert belief.absent[fault.id] == near(float(1 - now), abs=1e-9)
        assert belief.at_start[fault.id] == near(float(first), abs=1e-9)
    none_now = total_where(weights, lambda life: "still" not in life.values()) / whole
    none_ever = total_where(weights, lambda life: not any(how is not None for how in life.values())) / whole
    assert belief.p_no_fault == near(float(none_now), abs=1e-9)
    assert belief.p_no_fault_at_start == near(float(none_ever), abs=1e-9)
    for place, condition in enumerate(network.conditions):
        holds = sum(weight for (sky, _), weight in weights.items() if skies[sky][0][place]) / whole
        assert belief.conditions[condition.id] == near(float(holds), abs=1e-9)


def check_against_oracle(network, events, method):
    weights, skies, answers, reports = oracle(network, events)
    whole = sum(weights.values())
    belief = posterior(network, events, method=method)
    if whole == 0:
        assert belief.impossible
        assert belief.log_evidence is None
        return
    assert not belief.impossible
    check_chances(network, belief, weights, skies)
    near = pytest.approx
    sets = {}
    for (_, life), weight in weights.items():
        key = tuple(name for name, how in life if how == "still")
        sets[key] = sets.get(key, 0) + weight
    assert belief.most_probable is not None
    assert belief.most_probable.probability == near(float(max(sets.values()) / whole), abs=1e-9)
    assert sets[belief.most_probable.faults] / whole == near(belief.most_probable.probability, abs=1e-9)
    answered = {entry[1] for entry in answers}
    assert set(belief.predictive) == {check.id for check in network.checks} - answered
    for check in network.checks:
        if check.id in answered or any(entry[1] == check.id for entry in reports):
            continue
        misread = Fraction(check.persistence) * Fraction(check.flip)
        bad = (
            sum(weight * (1 - good_chance(check, dict(life), len(events))) for (_, life), weight in weights.items())
            / whole
        )
        bad = bad * (1 - misread) + (1 - bad) * misread
        assert belief.predictive[check.id] == near(float(bad), abs=1e-9)


@given(cases())
@settings(max_examples=120, deadline=None)
def test_enumeration_equals_the_slow_sum(case):
    check_against_oracle(*case, "enumeration")


@given(cases())
@settings(max_examples=120, deadline=None)
def test_expansion_equals_the_slow_sum(case):
    check_against_oracle(*case, "expansion")


@given(cases())
@settings(max_examples=80, deadline=None)
def test_the_quick_sums_equal_the_slow_sum(case):
    check_against_oracle(*case, "auto")


def untouched(case):
    """The case without repairs, and with one event for each check at most; nothing in it cures."""
    network, events = case
    checks = tuple(msgspec.structs.replace(check, cures=()) for check in network.checks)
    told = {event.check: event for event in events if not isinstance(event, Repaired)}
    return Network(network.faults, checks, network.conditions, network.known_faulty), list(told.values())


@given(cases(most_events=8).map(untouched))
@settings(max_examples=150, deadline=None)
def test_the_sums_of_a_unit_nothing_was_tried_on_equal_the_slow_sum(case):
    network, events = case
    weights, skies, _, _ = oracle(network, events)
    history = replay(network, events)
    found = quick.chances_of(network.layout, quick.told_of(network, history))
    belief = believe(network, history, details=False)
    if sum(weights.values()) == 0:
        assert found is None
        assert belief.impossible
        return
    check_chances(network, belief, weights, skies)
    assert belief.conflict_strength == pytest.approx(posterior(network, events).conflict_strength, abs=1e-9)
    if found is not None:
        assert found.present == pytest.approx(list(belief.present.values()), abs=1e-12)


@given(cases(chances=CHANCES, most_events=4).map(untouched))
@settings(max_examples=120, deadline=None)
def test_such_sums_with_chances_of_exactly_nought_and_one(case):
    network, events = case
    able = any(fault.prior > 0 for fault in network.faults) and all(fault.prior < 1 for fault in network.faults)
    if network.known_faulty is not None and not able:
        network = Network(network.faults, network.checks, network.conditions)
    weights, skies, _, _ = oracle(network, events)
    belief = believe(network, replay(network, events), details=False)
    assert belief.impossible == (sum(weights.values()) == 0)
    if not belief.impossible:
        check_chances(network, belief, weights, skies)


@given(cases())
@settings(max_examples=80, deadline=None)
def test_inclusion_and_exclusion_equals_the_slow_sum(case):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(marginals, "MOST_CELLS", 0)
        patch.setattr(terms, "few", lambda part, cells: True)
        check_against_oracle(*case, "auto")


@given(cases())
@settings(max_examples=60, deadline=None)
def test_foreseen_answers_are_what_the_posterior_says_after_them(case):
    network, events = case
    now = posterior(network, events)
    ahead = foresee(network, events)
    if now.impossible:
        assert ahead == {}
    for check, answer in ahead.items():
        for word, chance, chances in (("bad", answer.bad, answer.if_bad), ("good", 1 - answer.bad, answer.if_good)):
            after = posterior(network, [*events, Answered(check, word)])
            if after.impossible:
                assert chance == pytest.approx(0.0, abs=1e-9)
                assert chances == {}
            else:
                assert chances == pytest.approx(after.present, abs=1e-8)
                if check not in {event.check for event in events if isinstance(event, Reported)}:
                    # with a report the answer replaces what was said, so the ratio is another
                    assert chance == pytest.approx(math.exp(after.log_evidence - now.log_evidence), abs=1e-9)


@given(cases(chances=CHANCES, most_events=4))
@settings(max_examples=120, deadline=None)
def test_chances_of_exactly_nought_and_one(case):
    network, events = case
    able = any(fault.prior > 0 for fault in network.faults) and all(fault.prior < 1 for fault in network.faults)
    if network.known_faulty is not None and not able:
        network = Network(network.faults, network.checks, network.conditions)
    check_against_oracle(network, events, "auto")


@given(cases())
@settings(max_examples=80, deadline=None)
def test_worlds_add_up_to_the_posterior_and_foretell_the_next_answer(case):
    network, events = case
    belief = posterior(network, events)
    if belief.impossible:
        return
    found = worlds(network, events, loss=0.0)
    assert found.weight.sum() == pytest.approx(1.0)
    assert found.dropped == 0.0
    for place, fault in enumerate(network.faults):
        assert found.weight @ found.present[:, place] == pytest.approx(belief.present[fault.id], abs=1e-9)
    latest = {}
    for event in events:
        if isinstance(event, Answered) and event.answer in {"good", "bad"}:
            latest[event.check] = event.answer
    reported = {event.check for event in events if isinstance(event, Reported)}
    for check in network.checks:
        if check.id in reported or any(latest.get(gate.check) != gate.must_be for gate in check.gate):
            continue
        chance = found.bad_chance(check.id)
        after = posterior(network, [*events, Answered(check.id, "bad")])
        ratio = 0.0 if after.impossible else math.exp(after.log_evidence - belief.log_evidence)
        assert found.weight @ chance == pytest.approx(ratio, abs=1e-9)


@given(cases(), st.integers(1, 2))
@settings(max_examples=80, deadline=None)
def test_a_test_fails_as_often_as_it_reads_bad_after_a_cure_of_everything(case, looks):
    network, events = case
    sure = tuple(msgspec.structs.replace(fault, success=1.0) for fault in network.faults)
    network = msgspec.structs.replace(network, faults=sure)
    if posterior(network, events).impossible:
        return
    found = worlds(network, events, loss=0.0)
    cured = [*events, Repaired(tuple(fault.id for fault in sure))]
    before = posterior(network, cured).log_evidence
    latest = {}
    for event in events:
        if isinstance(event, Answered) and event.answer in {"good", "bad"}:
            latest[event.check] = event.answer
    reported = {event.check for event in events if isinstance(event, Reported)}
    for check in network.checks:
        if check.id in reported or any(latest.get(gate.check) != gate.must_be for gate in check.gate) or check.cures:
            continue
        after = posterior(network, [*cured, *[Answered(check.id, "bad")] * looks])
        ratio = 0.0 if after.impossible else math.exp(after.log_evidence - before)
        assert found.weight @ found.fails_test(check.id, looks) == pytest.approx(ratio, abs=1e-9)
