"""Order now or after the diagnosis: every joint turnout and every order by plain enumeration, and the newsvendor."""

from __future__ import annotations

import itertools
import math
import random

import msgspec
import pytest

from catalog.pricing import PriceStep
from catalog.purchase import Stopped
from catalog.purchase import plan as purchase_plan
from catalog.purchase_data import Accept, Need, Offer, OrderUnit, PlanStatus, PurchasePlan, PurchaseProblem, Supplier
from triage import lotplan, two_stage_recourse
from triage.lot_data import LotBranch, Yield
from triage.newsvendor import best_quantity, critical_ratio, wanted_distribution
from triage.scenarios import all_cases, drawn_cases, how_many, mean_and_error
from triage.two_stage import order_now
from triage.two_stage_data import DoubtfulUnit, Finding, TwoStageProblem

replace = msgspec.structs.replace


def _fix(value, *needs):
    return LotBranch(id="fix", kind="fix", value=value, needs=needs)


def _as_is(value=0.0):
    return LotBranch(id="as_is", kind="as_is", value=value)


def _finding(chance, *branches):
    return Finding(chance=chance, branches=branches)


def _problem(units, suppliers, offers, needs, *, look_days=3, leftover=0.25, waits=None, **more):
    """`needs` is {need: (unit, pieces, products)}; `offers` {offer: (supplier, product, price)}."""
    order = PurchaseProblem(
        suppliers=tuple(suppliers),
        offers=tuple(
            Offer(id=name, supplier=supplier, product=product, steps=(PriceStep(1, price),))
            for name, (supplier, product, price) in offers.items()
        ),
        units=tuple(
            OrderUnit(
                id=unit,
                wait_per_day=(waits or {}).get(unit, 0),
                ready_day=look_days if len(findings) > 1 else 0,
            )
            for unit, findings in units.items()
        ),
        needs=tuple(
            Need(id=name, unit=unit, pieces=pieces, accepts=tuple(Accept(product=each) for each in products))
            for name, (unit, pieces, products) in needs.items()
        ),
        **more,
    )
    doubtful = tuple(DoubtfulUnit(id=name, findings=tuple(findings)) for name, findings in units.items())
    return TwoStageProblem(units=doubtful, order=order, look_days=look_days, leftover=leftover)


# --- the slow, obvious way -------------------------------------------------------------------------------------------


def every_way(problem, bought, turnout):
    """The best value of one case after `bought` {offer: pieces}: every branch of every unit, every source of each need.

    Single pieces at one price each, flat postage; amounts without rounding of the leftover.
    """
    order = problem.order
    offers = {offer.id: offer for offer in order.offers}
    senders = {supplier.id: supplier for supplier in order.suppliers}
    needs = {need.id: need for need in order.needs}
    waits = {unit.id: unit.wait_per_day for unit in order.units}
    worth = {name: math.floor(problem.leftover * offer.steps[0].amount) for name, offer in offers.items()}
    today = sum(offers[name].steps[0].amount * count for name, count in bought.items())
    today += sum(senders[name].shipping for name in {offers[name].supplier for name, count in bought.items() if count})
    findings = [unit.findings[place] for unit, place in zip(problem.units, turnout, strict=True)]
    best = -math.inf
    for branches in itertools.product(*(finding.branches for finding in findings)):
        wanted = [needs[name] for branch in branches for name in branch.needs for _ in range(needs[name].pieces)]
        ways = [
            [
                (name, when)
                for name, offer in offers.items()
                if offer.product in {accept.product for accept in need.accepts}
                for when in ("bought", "later")
            ]
            for need in wanted
        ]
        for taken in itertools.product(*ways):
            used = {name: sum(way == (name, "bought") for way in taken) for name in offers}
            if any(used[name] > bought.get(name, 0) for name in offers):
                continue
            value = sum(branch.value for branch in branches) - today
            value += sum(worth[name] * (bought.get(name, 0) - used[name]) for name in offers)
            later = [name for name, when in taken if when == "later"]
            value -= sum(offers[name].steps[0].amount for name in later)
            value -= sum(senders[name].shipping for name in {offers[name].supplier for name in later})
            soonest = {unit.id: unit.ready_day for unit in order.units}
            ready = dict(soonest)
            for need, (name, when) in zip(wanted, taken, strict=True):
                lead = senders[offers[name].supplier].lead_days
                day = lead + problem.look_days if when == "later" else lead
                ready[need.unit] = max(ready[need.unit], day)
            value -= sum(waits[unit] * (day - soonest[unit]) for unit, day in ready.items())
            best = max(best, value)
    return best


def mean_of(problem, bought):
    cases = all_cases(problem.units)
    return sum(
        weight * every_way(problem, bought, turnout)
        for turnout, weight in zip(cases.turnouts, cases.weights, strict=True)
    )


def best_of_all(problem, most=2):
    """The best mean over every order of up to `most` pieces of each offer."""
    names = [offer.id for offer in problem.order.offers]
    return max(
        mean_of(problem, dict(zip(names, counts, strict=True)))
        for counts in itertools.product(range(most + 1), repeat=len(names))
    )


def _random_problem(seed):
    rng = random.Random(seed)
    parts = ["belt", "chip"]
    units, needs = {}, {}
    for unit in ("1", "2") if rng.random() < 0.6 else ("1", "2", "3"):
        rest = rng.uniform(0.1, 0.6)
        split = rng.random()
        findings = [_finding(rest, _as_is(rng.randrange(500, 3000)))]
        for part, share in zip(parts, (split, 1.0 - split), strict=True):
            need = f"{part} of {unit}"
            needs[need] = (unit, 1, [part, *(["other belt"] if part == "belt" and rng.random() < 0.5 else [])])
            findings.append(
                _finding((1.0 - rest) * share, _fix(rng.randrange(1500, 6000), need), _as_is(rng.randrange(0, 1500)))
            )
        units[unit] = findings
    if rng.random() < 0.5:  # one that is decided: it waits from today on
        needs["sure"] = ("sure", 1, [rng.choice(parts)])
        units["sure"] = [_finding(1.0, _fix(rng.randrange(1500, 6000), "sure"), _as_is(rng.randrange(0, 1500)))]
    return _problem(
        units,
        [
            Supplier(id="S", shipping=rng.randrange(0, 600), lead_days=rng.randrange(0, 6)),
            Supplier(id="T", shipping=rng.randrange(0, 600), lead_days=rng.randrange(0, 12)),
        ],
        {
            "S belt": ("S", "belt", rng.randrange(100, 1500)),
            "S chip": ("S", "chip", rng.randrange(100, 1500)),
            "T other": ("T", "other belt", rng.randrange(50, 900)),
        },
        needs,
        look_days=rng.randrange(1, 6),
        leftover=rng.choice([0.0, 0.25, 0.6]),
        waits={unit: rng.randrange(0, 60) for unit in units},
    )


@pytest.mark.parametrize("seed", range(14))
def test_it_counts_and_chooses_as_plain_enumeration_does(seed):
    problem = _random_problem(seed)
    found = order_now(problem)
    assert found.exact
    bought = {line.offer: line.pieces for line in found.first.lines}
    assert found.value == pytest.approx(mean_of(problem, bought), abs=1e-6)
    for one in found.comparisons:
        assert one.error == 0.0
        assert one.ahead >= -1e-6
    waiting = next(one for one in found.comparisons if one.rule == "wait")
    assert found.value - waiting.ahead == pytest.approx(mean_of(problem, {}), abs=1e-6)
    assert found.value == pytest.approx(best_of_all(problem), abs=1e-6)
    assert found.foresight >= -1e-6


@pytest.mark.parametrize("seed", [3, 8])
def test_a_sample_says_how_far_off_it_may_be(seed):
    problem = _random_problem(seed)
    everything = order_now(problem)
    sampled = order_now(problem, exact=0, searched=60, judged=400, seed=5)
    assert not sampled.exact
    assert (sampled.searched, sampled.judged) == (60, 400)
    bought = {line.offer: line.pieces for line in sampled.first.lines}
    for one in sampled.comparisons:
        truly = mean_of(problem, bought) - (
            everything.value - next(each.ahead for each in everything.comparisons if each.rule == one.rule)
        )
        assert abs(one.ahead - truly) <= 2.0 * one.error + 1e-6  # twice the 95 % interval: four standard errors
    assert order_now(problem, exact=0, searched=60, judged=400, seed=5) == sampled


def _many_findings(seed):
    """Two units whose repairs bring much, little or less than nothing, in many ways that want the same parts."""
    rng = random.Random(seed)
    units = {}
    for unit in ("1", "2"):
        chances = [rng.random() for _ in range(8)]
        units[unit] = [
            _finding(chance / sum(chances), _fix(rng.randrange(0, 2600), f"belt of {unit}"), _as_is(rng.randrange(900)))
            for chance in chances
        ]
    return _problem(
        units,
        [Supplier(id="S", shipping=300, lead_days=2), Supplier(id="T", shipping=100, lead_days=6)],
        {"S belt": ("S", "belt", rng.randrange(200, 900)), "T belt": ("T", "belt", rng.randrange(200, 900))},
        {f"belt of {unit}": (unit, 1, ["belt"]) for unit in units},
        waits={unit: rng.randrange(0, 60) for unit in units},
    )


@pytest.mark.parametrize("seed", range(5))
def test_cases_that_share_a_plan_come_to_what_each_comes_to_by_itself(seed, monkeypatch):
    problem = _many_findings(seed)
    solved = []
    monkeypatch.setattr(
        two_stage_recourse, "plan", lambda case, **more: solved.append(case) or lotplan.plan(case, **more)
    )
    shared = order_now(problem)
    few = len(solved)
    monkeypatch.setattr(two_stage_recourse, "_gained", lambda known, values: None)
    alone = order_now(problem)
    assert len(solved) > 2 * few
    assert shared.value == pytest.approx(alone.value, abs=1e-6)
    assert shared.foresight == pytest.approx(alone.foresight, abs=1e-6)
    assert [(one.rule, one.money) for one in shared.comparisons] == [(one.rule, one.money) for one in alone.comparisons]
    assert [one.ahead for one in shared.comparisons] == pytest.approx(
        [one.ahead for one in alone.comparisons], abs=1e-6
    )
    assert shared.first.packs == alone.first.packs
    assert [one.chance for one in shared.needs] == pytest.approx([one.chance for one in alone.needs])


# --- one part, and several alike -------------------------------------------------------------------------------------


@pytest.mark.parametrize("chance", [0.05, 0.3, 0.45, 0.55, 0.7, 0.95])
def test_a_single_part_follows_the_newsvendor_ratio(chance):
    # 4.00 a piece, worth 1.00 left over; later: postage of 2.50 again and 5 days at 0.10. Today's parcel comes anyway.
    problem = _problem(
        {"sure": [_finding(1.0, _fix(9000, "relay"))], "1": [
            _finding(chance, _fix(9000, "belt"), _as_is(0)), _finding(1.0 - chance, _as_is(3000))]},
        [Supplier(id="S", shipping=250, lead_days=9), Supplier(id="only relays", lead_days=0)],
        {"S belt": ("S", "belt", 400), "S relay": ("only relays", "relay", 100)},
        {"belt": ("1", 1, ["belt"]), "relay": ("sure", 1, ["relay"])},
        look_days=5,
        waits={"1": 10, "sure": 200},
    )  # fmt: skip
    # alone in its parcel: now costs 250 + 400 whatever happens, later only where it is wanted
    alone = order_now(problem)
    assert any(line.product == "belt" for line in alone.first.lines) == (chance * (650 + 50) > 650 - (1 - chance) * 100)
    shared = replace(problem, order=replace(problem.order, suppliers=(Supplier(id="S", shipping=250, lead_days=9),),
        offers=tuple(replace(offer, supplier="S") for offer in problem.order.offers)))  # fmt: skip
    together = order_now(shared)
    ratio = (400 - 100) / ((400 - 100) + 250 + 10 * 5)  # decision.md 4.5: (c - v) / ((c - v) + s + w x delay)
    belt = next(one for one in together.needs if one.need == "belt")
    assert belt.pays_from == pytest.approx(ratio) == pytest.approx(0.5)
    assert belt.now == (chance >= ratio)


def test_the_published_newsstand_ratio():
    # Nahmias, Production and Operations Analysis: cu .50, co .15 -> .7692 (the text rounds to .77), 15 copies at
    # mean 11.73, deviation 4.74
    ratio = critical_ratio(0.50, 0.15)
    assert ratio == pytest.approx(0.7692, abs=5e-5)
    normal = [
        0.5 * (math.erf((n + 0.5 - 11.73) / 4.74 / math.sqrt(2)) - math.erf((n - 0.5 - 11.73) / 4.74 / math.sqrt(2)))
        for n in range(60)
    ]
    assert best_quantity(normal, ratio) == 15


def test_the_poisson_binomial_by_enumeration():
    chances = [0.1, 0.5, 0.8, 0.35]
    slow = [0.0] * 5
    for turnout in itertools.product((0, 1), repeat=4):
        slow[sum(turnout)] += math.prod(p if hit else 1 - p for p, hit in zip(chances, turnout, strict=True))
    assert wanted_distribution(chances) == pytest.approx(slow)
    assert best_quantity(slow, 0.0) == 0
    assert best_quantity(slow, 1.0) == 4
    assert critical_ratio(0.0, 0.0) == 1.0
    assert critical_ratio(0.0, 3.0) == 0.0


@pytest.mark.parametrize(("chance", "postage"), [(0.3, 300), (0.5, 300), (0.7, 300), (0.5, 900)])
def test_several_alike_units_follow_the_fractile(chance, postage):
    # four units of one kind; today's parcel comes anyway, a later one costs the postage once however many pieces it has
    units = {str(n): [_finding(chance, _fix(9000, f"b{n}")), _finding(1 - chance, _as_is(0))] for n in range(1, 5)}
    units["sure"] = [_finding(1.0, _fix(9000, "relay"))]
    problem = _problem(
        units,
        [Supplier(id="S", shipping=postage, lead_days=2)],
        {"S belt": ("S", "belt", 500), "S relay": ("S", "relay", 100)},
        {**{f"b{n}": (str(n), 1, ["belt"]) for n in range(1, 5)}, "relay": ("sure", 1, ["relay"])},
        leftover=0.0,
        waits={"sure": 2000},
    )
    found = order_now(problem)
    chances = wanted_distribution([chance] * 4)

    def cost(pieces):
        short = [max(0, n - pieces) for n in range(5)]
        return 500 * pieces + sum(p * (500 * s + (postage if s else 0)) for p, s in zip(chances, short, strict=True))

    best = min(range(5), key=cost)
    assert sum(line.pieces for line in found.first.lines if line.product == "belt") == best


# --- what else must hold ---------------------------------------------------------------------------------------------


@pytest.fixture
def doubtful():
    return _problem(
        {"1": [_finding(0.5, _fix(5000, "belt"), _as_is(0)), _finding(0.5, _as_is(2000))],
         "2": [_finding(1.0, _fix(5000, "chip"), _as_is(0))]},
        [Supplier(id="S", shipping=400, lead_days=4)],
        {"S belt": ("S", "belt", 300), "S chip": ("S", "chip", 900)},
        {"belt": ("1", 1, ["belt"]), "chip": ("2", 1, ["chip"])},
        waits={"1": 5, "2": 200},
    )  # fmt: skip


@pytest.mark.parametrize("bought", [{}, {"o": 1}])
def test_cases_that_differ_in_values_share_a_plan_only_where_it_stays_the_best(bought, monkeypatch):
    values = ((1000, 0), (1100, 50), (250, 0), (1100, 900), (260, 20))
    problem = _problem(
        {"a": [_finding(0.2, _fix(fixed, "n"), _as_is(sold)) for fixed, sold in values]},
        [Supplier(id="s", lead_days=2, shipping=100)],
        {"o": ("s", "p", 200)},
        {"n": ("a", 1, ("p",))},
    )
    first = purchase_plan(problem.order) if bought else PurchasePlan(status=PlanStatus.OPTIMAL)
    solved = []
    plan = two_stage_recourse.plan
    monkeypatch.setattr(two_stage_recourse, "plan", lambda *case, **more: solved.append(case) or plan(*case, **more))
    recourse = two_stage_recourse.Recourse(problem)
    found = [ending.value for ending in recourse.endings(first, [(place,) for place in range(len(values))])]
    assert found == [every_way(problem, bought, (place,)) for place in range(len(values))]
    assert 1 < len(solved) < len(values)


def test_it_says_what_to_order_and_what_to_leave(doubtful):
    found = order_now(doubtful)
    assert {one.need: one.now for one in found.needs} == {"belt": True, "chip": True}
    assert {one.need: one.chance for one in found.needs} == pytest.approx({"belt": 0.5, "chip": 1.0})
    dear = replace(
        doubtful, leftover=0.0, order=replace(doubtful.order, offers=(
            replace(doubtful.order.offers[0], steps=(PriceStep(1, 1500),)), doubtful.order.offers[1])),
    )  # fmt: skip
    left = order_now(dear)
    assert {one.need: one.now for one in left.needs} == {"belt": False, "chip": True}
    assert [line.product for line in left.first.lines] == ["chip"]


def test_price_steps_packs_and_stock_hold_in_both_orders(doubtful):
    steps = (PriceStep(1, 300), PriceStep(2, 100))
    pack = replace(doubtful.order.offers[0], steps=steps, pack_size=2, stock_packs=1)
    problem = replace(doubtful, order=replace(doubtful.order, offers=(pack, doubtful.order.offers[1])))
    found = order_now(problem)
    belt = next(line for line in found.first.lines if line.product == "belt")
    assert (belt.pieces, belt.amount) == (2, 200)
    # wanted half the time: two pieces at 1.00, of which one or two are left over at a quarter; unit 2 is decided and
    # waits four days from today, unit 1 only one of its four, after three days of looks
    brought = 5000 - 900 - 200 * 4 - 400 - 200 + 0.5 * (5000 + 25 - 5 * 1) + 0.5 * (2000 + 50)
    assert found.value == pytest.approx(brought)


def test_the_cash_limit_covers_both_orders_together(doubtful):
    units = (
        replace(doubtful.units[0], findings=(
            _finding(0.5, _fix(1500, "belt"), _as_is(0)), doubtful.units[0].findings[1])),
        doubtful.units[1],
    )  # fmt: skip
    free = order_now(replace(doubtful, units=units))
    assert next(one.chance for one in free.needs if one.need == "belt") == 0.5
    found = order_now(replace(doubtful, units=units, order=replace(doubtful.order, cash_limit=1400)))
    # 400 + 900 today leave 100: the belt of 3.00 is out of reach, so that unit 1 stays unfixed
    assert {one.need: one.now for one in found.needs} == {"belt": False, "chip": True}
    assert next(one.chance for one in found.needs if one.need == "belt") == 0.0


def test_a_kept_line_is_in_todays_order_and_bought_once(doubtful):
    kept = replace(doubtful, order=replace(doubtful.order, keep={"S belt": 1}))
    found = order_now(kept)
    assert [line.packs for line in found.first.lines if line.offer == "S belt"] == [1]


def test_a_donor_that_is_taken_apart_anyway_spares_the_part(doubtful):
    gives = LotBranch(
        id="part_out", kind="part_out", value=3000, yields=(Yield(part="chip", pieces=1, offer="chip of 3"),)
    )
    order = doubtful.order
    chip = Offer(id="chip of 3", supplier="unit 3", product="chip", steps=(PriceStep(1, 0),), stock_packs=1)
    problem = replace(
        doubtful,
        units=(*doubtful.units, DoubtfulUnit(id="3", findings=(_finding(1.0, gives, _as_is(100)),))),
        order=replace(
            order,
            suppliers=(*order.suppliers, Supplier(id="unit 3", own=True)),
            offers=(*order.offers, chip),
            units=(*order.units, OrderUnit(id="3")),
        ),
    )  # fmt: skip
    assert all(line.product != "chip" for line in order_now(problem).first.lines)


def test_an_impossible_rule_is_left_out_and_a_pinned_repair_cannot_wait(doubtful):
    # unit 2 must be fixed by day 6: today's order comes on day 4, one of day 3 comes on day 7
    order = replace(
        doubtful.order,
        units=tuple(replace(unit, deadline_day=6) if unit.id == "2" else unit for unit in doubtful.order.units),
    )
    pinned = replace(doubtful, order=order, units=(doubtful.units[0], replace(
        doubtful.units[1], findings=(_finding(1.0, _fix(5000, "chip")),))))  # fmt: skip
    found = order_now(pinned)
    assert next(one.now for one in found.needs if one.need == "chip")
    waiting = next(one for one in found.comparisons if one.rule == "wait")
    assert waiting.ahead == math.inf


def test_it_stops_when_asked_and_refuses_chances_that_do_not_sum(doubtful):
    with pytest.raises(Stopped):
        order_now(doubtful, cancel=lambda: True)
    crooked = replace(doubtful, units=(DoubtfulUnit(id="1", findings=(_finding(0.5, _as_is()),)),))
    with pytest.raises(ValueError, match=r"1: the chances of its findings sum to 0\.5"):
        order_now(crooked)


def test_progress_is_told_and_never_passes_its_end(doubtful):
    told = []
    order_now(doubtful, progress=lambda done, most: told.append((done, most)))
    assert told
    assert all(0 <= done < most for done, most in told)


def test_drawn_cases_are_the_same_for_the_same_seed_and_fresh_for_another_stream():
    units = (
        DoubtfulUnit(id="1", findings=(_finding(0.2, _as_is()), _finding(0.8, _as_is()))),
        DoubtfulUnit(id="2", findings=(_finding(0.5, _as_is()), _finding(0.5, _as_is()))),
    )
    one = drawn_cases(units, 4000, 1, 0)
    assert one == drawn_cases(units, 4000, 1, 0)
    assert one.turnouts != drawn_cases(units, 4000, 1, 1).turnouts
    share = sum(turnout[0] == 0 for turnout in one.turnouts) / 4000
    assert abs(share - 0.2) < 4 * math.sqrt(0.16 / 4000)
    both = sum(turnout == (0, 0) for turnout in one.turnouts) / 4000
    assert abs(both - 0.1) < 4 * math.sqrt(0.09 / 4000)  # units are drawn independently
    assert how_many(units) == 4
    assert sum(all_cases(units).weights) == pytest.approx(1.0)


def test_the_interval_of_a_mean():
    cases = drawn_cases((DoubtfulUnit(id="1", findings=(_finding(1.0, _as_is()),)),), 4, 0, 0)
    mean, error = mean_and_error([1.0, 2.0, 3.0, 4.0], cases)
    assert mean == pytest.approx(2.5)
    assert error == pytest.approx(1.96 * math.sqrt((1.5**2 + 0.5**2 + 0.5**2 + 1.5**2) / 3 / 4))


@pytest.mark.parametrize(("worth", "taken"), [(150, 0), (170, 1)])
def test_what_rides_along_is_weighed_in_todays_order_and_counted_once(worth, taken):
    problem = _problem(
        {"1": [_finding(1.0, _fix(5000, "belt of 1"), _as_is(0))]},
        [Supplier(id="S", shipping=300, lead_days=2)],
        {"S belt": ("S", "belt", 160)},
        {"belt of 1": ("1", 1, ["belt"])},
        waits={"1": 10},
    )
    spare = Need(id="spare", unit="spares", pieces=1, accepts=(Accept(product="belt"),), worths=(worth,))
    order = replace(
        problem.order, needs=(*problem.order.needs, spare), units=(*problem.order.units, OrderUnit(id="spares"))
    )
    found = order_now(replace(problem, order=order))
    assert [(line.offer, line.pieces) for line in found.first.lines] == [("S belt", 1 + taken)]
    assert found.value == pytest.approx(5000 - 300 - 160 - 2 * 10 + taken * (worth - 160))
    assert [one.need for one in found.needs] == ["belt of 1"]
    assert found.foresight == pytest.approx(0.0)
