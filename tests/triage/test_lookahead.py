"""Looking ahead against a slow, obvious recursion, and the laws of the value of information."""

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from triage.lookahead import Look, each_alone, look_ahead
from triage.payoffs import Payoffs

UNIT = st.integers(0, 20).map(lambda n: n / 20)


@st.composite
def problems(draw, most=3):
    worlds, plans = draw(st.integers(1, 4)), draw(st.integers(1, 3))
    weight = np.array(draw(st.lists(st.integers(1, 9), min_size=worlds, max_size=worlds)), dtype=float)
    values = np.array(
        draw(
            st.lists(st.lists(st.integers(-50, 100), min_size=plans, max_size=plans), min_size=worlds, max_size=worlds)
        ),
        dtype=float,
    )
    looks = []
    for place in range(draw(st.integers(0, most))):
        gate = ((draw(st.integers(0, place - 1)), draw(st.booleans())),) if place and draw(st.booleans()) else ()
        looks.append(
            Look(
                bad=np.array(draw(st.lists(UNIT, min_size=worlds, max_size=worlds))),
                cost=float(draw(st.integers(0, 10))),
                dues=frozenset(draw(st.sets(st.sampled_from(["case", "host"])))),
                gate=gate,
                refund=float(draw(st.integers(0, 3))),
                changes=draw(st.booleans()),
            )
        )
    refundable = np.array(draw(st.lists(st.booleans(), min_size=plans, max_size=plans)))
    return weight / weight.sum(), values, looks, {"case": 7.0, "host": 2.0}, refundable


def _values_of(values):
    """A look that changes things makes every plan a little better in the last world."""

    def after(taken):
        changed = values.copy()
        changed[-1] += 5.0 * len(taken)
        return changed

    return after


def _stop(weight, values, looks, answers, refundable):
    taken = frozenset(place for place in answers if looks[place].changes)
    refund = sum(looks[place].refund for place, bad in answers.items() if not bad)
    plans = []
    for plan in range(values.shape[1]):
        money = sum(w * _values_of(values)(taken)[row, plan] for row, w in enumerate(weight))
        plans.append(money + (refund * sum(weight) if refundable[plan] else 0.0))
    return max(plans)


def _going_on(weight, problem, answers, place):
    _, _, looks, dues, _ = problem
    look = looks[place]
    if any(answers.get(other) is not bad for other, bad in look.gate):
        return -np.inf
    paid = {due for other in answers for due in looks[other].dues}
    cost = look.cost + sum(dues[due] for due in look.dues - paid)
    total = -cost * sum(weight)
    for bad in (False, True):
        part = [w * (b if bad else 1 - b) for w, b in zip(weight, look.bad, strict=True)]
        total += _best(part, problem, {**answers, place: bad})
    return total


def _best(weight, problem, answers):
    _, values, looks, _, refundable = problem
    ways = [_going_on(weight, problem, answers, place) for place in range(len(looks)) if place not in answers]
    return max([_stop(weight, values, looks, answers, refundable), *ways])


@settings(deadline=None)
@given(problems())
def test_every_first_look_is_worth_what_the_recursion_says(problem):
    weight, values, looks, dues, refundable = problem
    ahead = look_ahead(weight, lambda taken: Payoffs.told_apart(_values_of(values)(taken)), looks, dues, refundable)
    assert ahead.now == pytest.approx(_stop(list(weight), values, looks, {}, refundable))
    for place, value in enumerate(ahead.first):
        assert value == pytest.approx(_going_on(list(weight), problem, {}, place), abs=1e-9)


@settings(deadline=None)
@given(problems())
def test_a_look_by_itself_is_worth_what_looking_ahead_says_of_it_alone(problem):
    weight, values, looks, dues, refundable = problem
    changed = _values_of(values)
    money = [Payoffs.told_apart(changed(frozenset({0}) if look.changes else frozenset())) for look in looks]
    found = each_alone(weight, lambda place: money[place], looks, dues, refundable)
    for place, look in enumerate(looks):
        plain = msgspec.structs.replace(look, gate=())
        ahead = look_ahead(weight, lambda taken: Payoffs.told_apart(changed(taken)), [plain], dues, refundable)
        assert found[place] == pytest.approx(ahead.first[0], abs=1e-9)


@settings(deadline=None)
@given(problems())
def test_information_alone_never_costs_and_never_beats_knowing_everything(problem):
    weight, values, looks, _, _ = problem
    free = [Look(bad=look.bad, cost=0.0) for look in looks]
    ahead = look_ahead(weight, lambda _: Payoffs.told_apart(values), free, {}, np.zeros(values.shape[1], dtype=bool))
    knowing = float(weight @ values.max(axis=1))
    for value in ahead.first:
        assert ahead.now - 1e-9 <= value <= knowing + 1e-9


@settings(deadline=None)
@given(problems(), st.integers(2, 40))
def test_the_value_scales_with_the_money_unit(problem, factor):
    weight, values, looks, dues, refundable = problem
    scaled = [
        Look(look.bad, look.cost * factor, look.dues, look.gate, look.refund * factor, look.changes) for look in looks
    ]
    small = look_ahead(weight, lambda _: Payoffs.told_apart(values), looks, dues, refundable)
    dear = {name: cost * factor for name, cost in dues.items()}
    large = look_ahead(weight, lambda _: Payoffs.told_apart(values * factor), scaled, dear, refundable)
    assert large.first == pytest.approx([value * factor for value in small.first], abs=1e-6)


@settings(deadline=None)
@given(problems())
def test_looks_that_the_best_course_never_comes_to_may_be_left_out(problem):
    weight, values, looks, dues, refundable = problem
    changed = _values_of(values)
    ahead = look_ahead(weight, lambda taken: Payoffs.told_apart(changed(taken)), looks, dues, refundable)
    used = sorted(ahead.used)
    assert bool(used) == (max([ahead.now, *ahead.first]) > ahead.now)
    few = [
        msgspec.structs.replace(looks[place], gate=tuple((used.index(other), bad) for other, bad in looks[place].gate))
        for place in used
    ]
    left = look_ahead(weight, lambda taken: Payoffs.told_apart(changed(taken)), few, dues, refundable)
    assert max([left.now, *left.first]) == pytest.approx(max([ahead.now, *ahead.first]))


def test_two_looks_that_decide_nothing_alone_decide_together():
    # four equal worlds, two exact looks; only "both bad" is worth acting on, and acting is dear
    weight = np.full(4, 0.25)
    first, second = np.array([1.0, 1.0, 0.0, 0.0]), np.array([1.0, 0.0, 1.0, 0.0])
    values = np.array([[0.0, 100.0], [0.0, -150.0], [0.0, -150.0], [0.0, -150.0]])
    fixed = np.zeros(2, dtype=bool)
    alone = look_ahead(weight, lambda _: Payoffs.told_apart(values), [Look(first, 1.0)], {}, fixed)
    both = look_ahead(weight, lambda _: Payoffs.told_apart(values), [Look(first, 1.0), Look(second, 1.0)], {}, fixed)
    assert alone.first[0] - alone.now == pytest.approx(-1.0)
    assert both.first[0] - both.now == pytest.approx(25.0 - 1.0 - 0.5)
