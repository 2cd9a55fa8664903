"""The whole lot: two acceptance sums, donors, minutes and days, pins, reasons, and a slow enumeration as the oracle."""

from __future__ import annotations

import itertools
import math
from collections import Counter

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.pricing import PriceStep
from catalog.purchase import Stopped
from catalog.purchase_data import Accept, Need, Offer, OrderUnit, PlanStatus, PurchaseProblem, Served, Supplier
from catalog.reprice import RuleBroken
from triage.lot_count import count
from triage.lot_data import Bench, Harvest, LotBranch, LotProblem, LotUnit, Yield
from triage.lotplan import day_worth, minute_worth, plan, price_of_pin

replace = msgspec.structs.replace


def _offer(name, supplier, product, *prices, **more):
    steps = tuple(PriceStep(*price) if isinstance(price, tuple) else PriceStep(1, price) for price in prices)
    return Offer(id=name, supplier=supplier, product=product, steps=steps, **more)


def _need(name, unit, pieces, *products):
    accepts = tuple(Accept(product=p) if isinstance(p, str) else p for p in products)
    return Need(id=name, unit=unit, pieces=pieces, accepts=accepts)


def _fix(value, *needs, minutes=0.0, name="fix"):
    return LotBranch(id=name, kind="fix", value=value, minutes=minutes, needs=needs)


def _as_is(value=0.0):
    return LotBranch(id="as_is", kind="as_is", value=value)


def _lot(units, suppliers=(), offers=(), needs=(), order_units=None, bench=None, pins=None, **more):
    order = PurchaseProblem(
        suppliers=tuple(suppliers),
        offers=tuple(offers),
        units=tuple(order_units or (OrderUnit(id=unit) for unit in units)),
        needs=tuple(needs),
        **more,
    )
    found = tuple(LotUnit(id=name, branches=tuple(branches)) for name, branches in units.items())
    return LotProblem(units=found, order=order, bench=bench, pins=pins or {})


@pytest.fixture
def donor_lot():
    """A player worth more broken: its motor spares unit 7 a part of 12.00. Amounts in hundredths."""
    part_out = LotBranch(
        id="part_out",
        kind="part_out",
        value=-400,
        yields=(
            Yield(part="door", pieces=1, value=0.8 * 1400 - 80),
            Yield(part="motor", pieces=1, value=0.7 * 1200 - 80, offer="motor of the player"),
            Yield(part="button set", pieces=1, value=0.6 * 600 - 80),
            Yield(part="case", pieces=1, value=0.5 * 900 - 80),
        ),
    )
    fix = _fix(0.45 * 6200 + 0.55 * 1800 - 1000 - 1600)
    return _lot(
        {"player": (fix, part_out, _as_is(2400 - 200)), "7": (_fix(5000, "motor"), _as_is(1000))},
        [Supplier(id="donor player", own=True), Supplier(id="S", lead_days=4)],
        [
            _offer("motor of the player", "donor player", "old motor", 0, stock_packs=1),
            _offer("new", "S", "motor", 1200),
        ],
        [_need("motor", "7", 1, "motor", "old motor")],
    )


def test_a_donor_worth_more_broken(donor_lot):
    found = plan(donor_lot)
    assert found.decisions == {"player": "part_out", "7": "fix"}
    assert Harvest("player", "motor", 1, "motor", "7") in found.harvested
    assert found.purchase.lines == ()
    # 24.90 with the motor at the 12.00 it saves: ahead of as-is by 2.90.
    assert found.total == pytest.approx(5000 - 1200 + 2490)
    kept = replace(donor_lot, pins={"player": "as_is"})
    assert price_of_pin(kept, plan(kept), "player") == pytest.approx(290)
    assert found.values["player"] == pytest.approx(2490 - 1200)
    assert math.fsum(found.values.values()) == pytest.approx(found.total)


def test_without_the_other_unit_the_donor_is_sold_as_it_is(donor_lot):
    sold = plan(replace(donor_lot, pins={"7": "as_is"}))
    assert sold.decisions == {"player": "as_is", "7": "as_is"}
    assert sold.total == pytest.approx(2200 + 1000)
    alone = replace(donor_lot, units=donor_lot.units[:1], order=replace(donor_lot.order, needs=(), units=()), pins={})
    assert plan(alone).values == {"player": pytest.approx(2200)}
    broken = plan(replace(alone, pins={"player": "part_out"}))
    assert broken.total == pytest.approx(2050)
    assert Counter(entry.part for entry in broken.harvested) == Counter(["door", "motor", "button set", "case"])
    assert plan(replace(alone, pins={"player": "fix"})).total == pytest.approx(1180)


@pytest.fixture
def bench_lot():
    """One order for six units: packs, price steps, postage and a smallest order."""
    wants = {
        "2": (("capacitor", 2),),
        "3": (("capacitor", 1),),
        "9": (("capacitor", 4), ("chip", 1)),
        "4": (("belt", 1),),
        "5": (("belt", 1),),
        "6": (("relay", 1), ("fuse", 1)),
        "1": (("fuse", 1),),
    }
    return _lot(
        {unit: (_fix(9000, *(f"{unit} {part}" for part, _ in own)), _as_is(500)) for unit, own in wants.items()},
        [
            Supplier(id="X", shipping=395, free_from=2000),
            Supplier(id="Y", shipping=250),
            Supplier(id="Z", shipping=350, min_order=1000),
        ],
        [
            _offer("capacitor", "X", "capacitor", (1, 30), (10, 14)),
            _offer("relay X", "X", "relay", 420),
            _offer("chip", "X", "chip", 500),
            _offer("fuse", "X", "fuse", 95),
            _offer("ten fuses", "X", "fuse", 18, pack_size=10),
            _offer("belt", "Y", "belt", 220),
            _offer("five belts", "Y", "belt", 120, pack_size=5),
            _offer("relay Z", "Z", "relay", 360),
        ],
        [_need(f"{unit} {part}", unit, pieces, part) for unit, own in wants.items() for part, pieces in own],
    )


def test_one_order_with_packs_and_postage(bench_lot):
    found = plan(bench_lot)
    assert set(found.decisions.values()) == {"fix"}
    assert found.purchase.total == 2325
    assert found.total == 7 * 9000 - 2325
    assert math.fsum(found.values.values()) == pytest.approx(found.total)
    line = next(line for line in found.purchase.lines if line.offer == "capacitor")
    assert (line.pieces, line.units) == (10, ("2", "3", "9"))
    sold = plan(replace(bench_lot, pins={"9": "as_is"}))
    assert sold.purchase.total == 1775
    assert sold.total == 6 * 9000 + 500 - 1775


def test_a_part_that_pays_only_together_with_another_repair():
    units = {name: (_fix(700, f"n{name}"), _as_is()) for name in "ab"}
    lot = _lot(
        units,
        [Supplier(id="S", shipping=600)],
        [_offer("o", "S", "p", 300)],
        [_need(f"n{name}", name, 1, "p") for name in "ab"],
    )
    assert plan(lot).total == 1400 - 1200
    alone = replace(lot, pins={"b": "as_is"})
    assert plan(alone).decisions["a"] == "as_is"
    assert price_of_pin(alone, plan(alone), "b") == 200
    assert price_of_pin(alone, plan(alone), "a") == 0


def _waiting_lot(minutes, days, lead):
    """Two repairs of 60 minutes; the part of `b` comes on day `lead`."""
    return _lot(
        {"a": (_fix(1000, minutes=60), _as_is()), "b": (_fix(1000, "n", minutes=60), _as_is())},
        [Supplier(id="S", lead_days=lead)],
        [_offer("o", "S", "p", 100)],
        [_need("n", "b", 1, "p")],
        bench=Bench(minutes=minutes, days=days),
    )


def test_bench_minutes_bind_and_have_a_worth():
    tight = _waiting_lot(119, None, 1)
    found = plan(tight)
    assert found.decisions == {"a": "fix", "b": "as_is"}
    assert found.minutes == 60
    assert minute_worth(tight, found) == 900 / 60
    assert minute_worth(tight, found, minutes=1) == 900
    assert minute_worth(replace(tight, bench=None), plan(replace(tight, bench=None))) == 0
    roomy = _waiting_lot(120, None, 1)
    assert plan(roomy).total == 1900
    assert minute_worth(roomy, plan(roomy)) == 0


def test_one_more_day_has_a_worth():
    # 60 minutes are left on the last of ten days: a part of day 9 needs all of it, one of day 10 needs another day
    lot = _waiting_lot(600, 10, 10)
    found = plan(lot)
    assert found.decisions == {"a": "fix", "b": "as_is"}
    by_day = replace(lot, bench=Bench(minutes=600, days=10, by_day=(60,) * 10, next_day=60))
    assert plan(by_day).total == 1000
    assert day_worth(by_day, plan(by_day)) == 900
    assert day_worth(replace(by_day, bench=Bench(minutes=600, days=10, by_day=(60,) * 10, next_day=59)), found) == 0
    late = replace(
        lot, order=replace(lot.order, units=(OrderUnit(id="a"), OrderUnit(id="b", deadline_day=9))), bench=None
    )
    assert plan(late).decisions["b"] == "as_is"
    assert day_worth(late, plan(late)) == 900
    free = replace(lot, bench=None)
    assert day_worth(free, plan(free)) == 0
    with pytest.raises(Stopped):
        day_worth(by_day, replace(plan(by_day), status=PlanStatus.STOPPED))


def test_bench_minutes_by_day():
    # 120 minutes in all, but only 30 of them from day 3 on, when the part of `b` comes
    thin = replace(_waiting_lot(0, 0, 3), bench=Bench(minutes=120, days=5, by_day=(60, 30, 0, 30, 0)))
    assert plan(thin).decisions == {"a": "fix", "b": "as_is"}
    enough = replace(thin, bench=Bench(minutes=120, days=5, by_day=(60, 0, 0, 30, 30)))
    assert plan(enough).total == 1900
    # the hours of the lot as a whole may be fewer than those of its days
    assert plan(replace(enough, bench=replace(enough.bench, minutes=119))).total == 1000
    assert minute_worth(thin, plan(thin), minutes=119) == 0  # spread as the others are: 59.75 of them from day 3 on
    assert minute_worth(thin, plan(thin), minutes=120) == 900 / 120


def test_with_a_falling_price_what_falls_most_is_done_first():
    # one hour a day: the first repair done loses nothing, the second a day, the third two
    units = {name: (replace(_fix(1000, minutes=60), day_loss=loss), _as_is(950)) for name, loss in
             (("slow", 10.0), ("quick", 40.0), ("medium", 30.0))}  # fmt: skip
    lot = _lot(units, bench=Bench(minutes=180, days=3, by_day=(60, 60, 60)))
    found = plan(lot)
    assert found.done == {"quick": 0, "medium": 1, "slow": 2}
    assert found.total == 3000 - 30 - 2 * 10
    assert found.values == {"quick": 1000, "medium": 970, "slow": 980}
    # where the last one loses more than its repair brings, it is sold as it is
    steep = {name: tuple(replace(b, day_loss=b.day_loss * 3) for b in branches) for name, branches in units.items()}
    fallen = plan(_lot(steep, bench=lot.bench))
    assert sorted(fallen.decisions.values()) == ["as_is", "fix", "fix"]
    assert fallen.decisions["slow"] == "fix"
    assert fallen.total == 1000 + 950 + 1000 - 30
    # without a last day nothing says when a repair is done
    assert plan(replace(lot, bench=Bench(minutes=180))).total == 3000


def test_days_of_waiting_for_a_part_are_not_lost_twice():
    lot = _waiting_lot(600, 5, 2)
    lot = replace(
        lot,
        units=tuple(replace(u, branches=tuple(replace(b, day_loss=20.0 * (b.id == "fix")) for b in u.branches))
                    for u in lot.units),
        order=replace(lot.order, units=(OrderUnit(id="a", wait_per_day=20), OrderUnit(id="b", wait_per_day=25))),
        bench=Bench(minutes=600, days=5, by_day=(60, 0, 30, 30, 480)),
    )  # fmt: skip
    found = plan(lot)
    # a is done on day 0; the part of b comes on day 2 (2 x 25), and it takes two half hours: one day more at 20
    assert found.done == {"a": 0, "b": 3}
    assert found.total == 2000 - 100 - 50 - 20
    with pytest.raises(ValueError, match="no more than a day of waiting"):
        plan(replace(lot, order=replace(lot.order, units=(OrderUnit(id="a"), OrderUnit(id="b", wait_per_day=19)))))


def test_the_days_by_which_work_counts_as_done():
    assert Bench(minutes=1, days=4).stages == (0, 1, 2, 3)
    assert Bench(minutes=1, days=12).stages == (1, 3, 5, 7, 9, 11)
    assert Bench(minutes=1, days=7).stages[-1] == 6
    assert Bench(minutes=1).stages == ()
    # a day more leaves every day that counted before, so that it can only help
    assert Bench(minutes=1, days=12).longer().stages == (1, 3, 5, 7, 9, 11, 12)
    week = Bench(minutes=100, days=4, by_day=(30, 0, 80, 10))
    assert [week.between(0, 0), week.between(1, 2), week.between(0, 3), week.between(3, 3)] == [30, 80, 100, 10]
    assert Bench(minutes=100, days=4).between(1, 2) == 50


def test_more_minutes_and_a_longer_bench():
    week = Bench(minutes=90, days=3, by_day=(60, 0, 30), next_day=45)
    assert [week.left(day) for day in range(-1, 5)] == [90, 90, 30, 30, 0, 0]
    assert week.more(30) == Bench(minutes=120, days=3, by_day=(80, 0, 40), next_day=45)
    assert week.longer() == Bench(minutes=135, days=4, by_day=(60, 0, 30, 45), next_day=45, ends=(0, 1, 2, 3))
    assert replace(week, minutes=70).longer().minutes == 70  # the lot has no more hours for it
    none = Bench(minutes=0, days=2, by_day=(0, 0))
    assert none.more(60).left(0) == 60
    even = Bench(minutes=100, days=4)
    assert even.longer() == Bench(minutes=100, days=5, ends=(0, 1, 2, 3, 4))
    assert even.more(20) == Bench(minutes=120, days=4)
    assert Bench(minutes=100).longer() == Bench(minutes=100)


def test_a_repair_that_waits_for_its_part_needs_minutes_after_that_day():
    assert plan(_waiting_lot(600, 10, 9)).total == 1900
    late = plan(_waiting_lot(590, 10, 9))
    assert late.decisions == {"a": "fix", "b": "as_is"}
    assert plan(_waiting_lot(590, None, 9)).total == 1900


def test_extra_work_on_a_substitute_takes_bench_minutes_after_it_came():
    lot = _waiting_lot(700, 10, 9)
    bent = replace(lot.order.needs[0], accepts=(Accept(product="p", rework_minutes=10, penalty=50),))
    lot = replace(lot, order=replace(lot.order, needs=(bent,), labour_per_hour=600))
    found = plan(lot)
    assert (found.minutes, found.purchase.rework, found.purchase.penalty) == (130, 100, 50)
    assert found.total == 2000 - 100 - 100 - 50
    assert plan(replace(lot, bench=Bench(minutes=699, days=10))).decisions["b"] == "as_is"


def test_a_better_grade_takes_no_bench_minutes_that_are_not_there():
    ways = Accept(product="bent", grade="compromise"), Accept(product="filed", grade="rework", rework_minutes=10)
    shelf = _offer("bent", "drawer", "bent", 10, stock_packs=1), _offer("filed", "drawer", "filed", 5, stock_packs=5)
    found = plan(
        _lot(
            {"1": [_fix(500, "n"), _as_is()]},
            [Supplier(id="drawer", own=True)],
            shelf,
            [_need("n", "1", 2, *ways)],
            bench=Bench(minutes=12),
        )
    )
    assert (found.decisions, found.minutes, found.total) == ({"1": "fix"}, 10, 485)


def test_two_repairs_of_a_unit_may_share_a_need():
    lot = _lot(
        {"a": (_fix(1000, "near", name="small"), _fix(2000, "near", "far", name="whole"), _as_is())},
        [Supplier(id="S", lead_days=2), Supplier(id="T", lead_days=7)],
        [_offer("s", "S", "p", 100), _offer("t", "T", "q", 100)],
        [_need("near", "a", 1, "p"), _need("far", "a", 2, "q")],
        bench=Bench(minutes=100, days=10),
    )
    assert plan(lot).decisions == {"a": "whole"}
    assert plan(lot).total == 2000 - 300
    small = plan(replace(lot, pins={"a": "small"}))
    assert (small.total, small.purchase.packs) == (900, {"s": 1})


def test_waiting_for_parts_is_paid_by_the_units_that_wait():
    lot = _waiting_lot(6000, 10, 9)
    units = (OrderUnit(id="a", wait_per_day=40), OrderUnit(id="b", wait_per_day=50))
    found = plan(replace(lot, order=replace(lot.order, units=units)))
    assert found.purchase.waiting == 450
    assert found.values == {"a": 1000, "b": 1000 - 100 - 450}


def test_why_a_lot_cannot_be_dealt_with():
    lot = _waiting_lot(119, None, 1)
    both = plan(replace(lot, pins={"a": "fix", "b": "fix"}))
    assert (both.status, both.found) == (PlanStatus.INFEASIBLE, False)
    (conflict,) = both.conflicts
    assert conflict.units == ("a", "b")
    assert conflict.detail == "a fix, b fix: 119 bench minutes do not allow all of it"
    unsold = replace(lot, order=replace(lot.order, offers=()), pins={"b": "fix"})
    (conflict,) = plan(unsold).conflicts
    assert conflict.units == ("b",)
    assert conflict.detail == "b fix: n: nobody offers p"
    assert price_of_pin(unsold, plan(unsold), "b") == math.inf
    assert plan(unsold, cancel=lambda: True).found is False


def test_only_the_donors_that_a_pin_allows_give_parts(donor_lot):
    only_donor = replace(donor_lot, order=replace(donor_lot.order, offers=donor_lot.order.offers[:1]))
    assert plan(only_donor).decisions["7"] == "fix"
    assert plan(replace(only_donor, pins={"player": "fix"})).decisions["7"] == "as_is"
    (conflict,) = plan(replace(only_donor, pins={"player": "fix", "7": "fix"})).conflicts
    assert conflict.units == ("7",)


def test_a_stopped_search_says_so():
    lot = _waiting_lot(119, None, 1)
    stopped = plan(lot, time_limit=0.0)
    assert stopped.status in {PlanStatus.STOPPED, PlanStatus.OPTIMAL}
    unproven = replace(plan(lot), status=PlanStatus.STOPPED)
    with pytest.raises(Stopped):
        minute_worth(lot, unproven)


def test_incumbents_are_told(bench_lot):
    told = []
    found = plan(bench_lot, on_incumbent=told.append)
    assert told
    assert -told[-1].objective == pytest.approx(found.total, abs=1)
    assert told[-1].gap >= 0


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"pins": {"7": "sell"}}, "7 has no branch sell"),
        ({"pins": {"8": "fix"}}, "8 has no branch fix"),
        ({"units": (LotUnit(id="7", branches=(_fix(1, "belt"),)),)}, "'belt'"),
        ({"units": (LotUnit(id="player", branches=(_fix(1, "motor"),)),)}, "'motor'"),
        ({"units": (LotUnit(id="7", branches=(_as_is(), _as_is())),)}, "two branches"),
        ({"units": (LotUnit(id="7", branches=(_as_is(),)),) * 2}, "two units"),
    ],
)
def test_a_lot_that_names_what_is_not_there(donor_lot, change, said):
    with pytest.raises(ValueError, match=said):
        plan(replace(donor_lot, **change))


@pytest.mark.parametrize(
    ("decisions", "packs", "served", "sold", "said"),
    [
        ({"player": "as_is"}, {}, (), {}, "7 takes None"),
        (
            {"player": "as_is", "7": "fix"},
            {"motor of the player": 1},
            (Served("motor", "motor of the player", 1),),
            {},
            "not taken apart",
        ),
        ({"player": "as_is", "7": "as_is"}, {}, (), {("player", "part_out", 0): 1}, "not taken apart"),
        ({"player": "part_out", "7": "as_is"}, {}, (), {("player", "part_out", 0): 2}, "more than 1 door"),
        ({"player": "part_out", "7": "fix"}, {}, (), {}, "not met"),
    ],
)
def test_counting_refuses_what_breaks_a_rule(donor_lot, decisions, packs, served, sold, said):
    with pytest.raises(RuleBroken, match=said):
        count(donor_lot, decisions, packs, served, sold, status=PlanStatus.OPTIMAL)


def test_counting_refuses_too_much_work():
    lot = _waiting_lot(590, 10, 9)
    done = ({"a": "fix", "b": "fix"}, {"o": 1}, (Served("n", "o", 1),), {})
    with pytest.raises(RuleBroken, match="60 bench minutes from day 9, 59 are left"):
        count(lot, *done, status=PlanStatus.OPTIMAL)
    with pytest.raises(RuleBroken, match="120 bench minutes, there are 100"):
        count(replace(lot, bench=Bench(minutes=100)), *done, status=PlanStatus.OPTIMAL)
    with pytest.raises(RuleBroken, match="a takes fix"):
        count(replace(lot, pins={"a": "as_is"}), *done, status=PlanStatus.OPTIMAL)


def _splits(pieces, places):
    if places == 0:
        return [()] if pieces == 0 else []
    return [(first, *rest) for first in range(pieces + 1) for rest in _splits(pieces - first, places - 1)]


def _shares(need, places):
    """Each way to share out a need; spares in part or not at all too, unless they are all or none."""
    sizes = [need.pieces] if not need.worths else [0, need.pieces] if need.whole else range(need.pieces + 1)
    return [split for pieces in sizes for split in _splits(pieces, places)]


def _best(problem):
    """The largest total over every choice of branches, every sharing out and every number of pieces sold."""
    order = problem.order
    branch_lists = [[b for b in u.branches if problem.pins.get(u.id, b.id) == b.id] for u in problem.units]
    best = -math.inf
    for taken in itertools.product(*branch_lists):
        giving = {each.offer: each for branch in taken for each in branch.yields}
        donors = {each.offer for unit in problem.units for branch in unit.branches for each in branch.yields}
        needs = [need for need in order.needs if need.worths or any(need.id in branch.needs for branch in taken)]
        offers = [offer for offer in order.offers if offer.id not in donors or offer.id in giving]
        for shares in itertools.product(*(_shares(need, len(offers)) for need in needs)):
            cost = _ordered(problem, needs, offers, shares)
            if cost is None:
                continue
            spent, work, ready = cost
            for unit, branch in zip(problem.units, taken, strict=True):
                ready = {**ready, unit.id: max(ready.get(unit.id, 0), branch.ready)}
            used = {offer.id: sum(share[i] for share in shares) for i, offer in enumerate(offers)}
            given = [(each, used.get(each.offer, 0)) for each in giving.values()]
            for sales in itertools.product(*(range(each.pieces - pieces + 1) for each, pieces in given)):
                total = sum(branch.value for branch in taken) - spent
                minutes = dict(work)
                for unit, branch in zip(problem.units, taken, strict=True):
                    minutes[unit.id] = minutes.get(unit.id, 0) + branch.minutes
                apart = 0.0
                for (each, pieces), sold in zip(given, sales, strict=True):
                    total += sold * each.value - pieces * each.used_cost
                    apart += (pieces + sold) * each.minutes + sold * each.sale_minutes
                if total > best and _time_for(problem.bench, minutes, apart, ready):
                    losses = {
                        unit.id: branch.day_loss
                        for unit, branch in zip(problem.units, taken, strict=True)
                        if branch.day_loss
                    }
                    best = max(best, total - _least_loss(problem.bench, minutes, apart, ready, losses))
    return best


def _ordered(problem, needs, offers, shares):
    """Cost, extra minutes and ready day by unit; None if it cannot be bought."""
    order = problem.order
    suppliers = {supplier.id: supplier for supplier in order.suppliers}
    spent, work, ready = 0, {}, {}
    for need, share in zip(needs, shares, strict=True):
        accepts = {accept.product: accept for accept in need.accepts}
        spent -= sum(need.worths[: sum(share)])
        for offer, pieces in zip(offers, share, strict=True):
            if not pieces:
                continue
            if offer.product not in accepts:
                return None
            accept, day = accepts[offer.product], suppliers[offer.supplier].lead_days
            spent += pieces * (accept.penalty + order.labour_per_hour * accept.rework_minutes // 60)
            if need.worths:
                continue
            work[need.unit] = work.get(need.unit, 0) + pieces * accept.rework_minutes
            ready[need.unit] = max(ready.get(need.unit, 0), day)
    sending = set()
    for i, offer in enumerate(offers):
        packs = -(-sum(share[i] for share in shares) // offer.pack_size)
        if packs > (offer.stock_packs if offer.stock_packs is not None else packs):
            return None
        spent += packs * offer.pack_size * offer.steps[0].amount
        sending |= {offer.supplier} if packs and offer.steps[0].amount else set()
    spent += sum(suppliers[name].shipping for name in sending)
    spent += sum(unit.wait_per_day * max(0, ready.get(unit.id, 0) - unit.ready_day) for unit in order.units)
    return spent, work, ready


def _day_by_day(bench, minutes, apart, ready):
    """Work what is there, the same day, as far as the day goes; true if all of it gets done."""
    left = dict(minutes)
    for day, minutes_there in enumerate(bench.by_day):
        there = minutes_there
        for unit in sorted(left, key=lambda unit: -ready.get(unit, 0)):
            if ready.get(unit, 0) <= day:
                done = min(there, left[unit])
                left[unit] -= done
                there -= done
        done = min(there, apart)
        apart -= done
    return not apart and not any(left.values())


def _least_loss(bench, minutes, apart, ready, losses):
    """The least that is lost by the day: every set of days to be done by, each tried day by day, the nearest first."""
    if bench is None or bench.days is None or not losses:
        return 0.0
    there = bench.by_day or (bench.minutes / bench.days,) * bench.days
    least = math.inf
    last = bench.stages[-1]
    ways = [bench.stages if ready.get(unit, 0) <= last else (ready[unit],) for unit in losses]
    for days in itertools.product(*ways):
        by = dict(zip(losses, days, strict=True))
        loss = sum(losses[unit] * (by[unit] - ready.get(unit, 0)) for unit in losses)
        if any(by[unit] < ready.get(unit, 0) for unit in losses) or loss >= least:
            continue
        left = {**minutes, "taking apart": apart}
        kept = True
        for day, minutes_there in enumerate(there):
            spare = minutes_there
            for unit in sorted(left, key=lambda unit: by.get(unit, len(there))):
                if ready.get(unit, 0) <= day:
                    worked = min(spare, left[unit])
                    left[unit] -= worked
                    spare -= worked
            kept = kept and all(left[unit] <= 1e-9 for unit in by if by[unit] == day)
        kept = kept and all(left[unit] <= 1e-9 for unit in by if by[unit] > last)
        if kept:
            least = loss
    return least


def _time_for(bench, minutes, apart, ready):
    if bench is None:
        return True
    if bench.by_day:
        return sum(minutes.values()) + apart <= bench.minutes and _day_by_day(bench, minutes, apart, ready)
    if sum(minutes.values()) + apart > bench.minutes:
        return False
    return all(
        sum(m for unit, m in minutes.items() if ready.get(unit, 0) >= day) <= bench.left(day)
        for day in set(ready.values()) - {0}
    )


def test_a_better_grade_is_not_bought_with_bench_minutes_that_are_not_there():
    """One compromise and one piece to rework cost what two to rework do; the bench has time for one of them."""
    ways = Accept(product="p", grade="compromise"), Accept(product="q", grade="rework", rework_minutes=10)
    problem = _lot(
        {"1": (_fix(500.0, "n", minutes=20), _as_is())},
        [Supplier(id="S", lead_days=1)],
        [_offer("a", "S", "p", 10, stock_packs=1), _offer("b", "S", "q", 10)],
        [_need("n", "1", 2, *ways)],
        bench=Bench(minutes=30),
    )
    found = plan(problem)
    assert (found.total, found.minutes) == (480.0, 30.0)
    with_time = plan(replace(problem, bench=Bench(minutes=40)))
    assert with_time.total == 480.0


@st.composite
def _lots(draw):
    number, grade = st.integers, st.sampled_from(["exact", "rework", "compromise"])
    units, needs, offers = {}, [], []
    names = ["a", "b", "c"][: draw(number(1, 3))]
    suppliers = [
        Supplier(id=name, lead_days=draw(number(0, 4)), shipping=draw(st.sampled_from([0, 5]))) for name in ("S", "T")
    ]
    for place in range(draw(number(1, 3))):
        product, pack = draw(st.sampled_from("pq")), draw(number(1, 2))
        name, price, stock = draw(st.sampled_from("ST")), draw(number(1, 6)), draw(st.sampled_from([None, 0, 1, 2]))
        offers.append(_offer(f"o{place}", name, product, price, pack_size=pack, stock_packs=stock))
    for name in names:
        own = []
        for place in range(draw(number(0, 2))):
            accepts = [Accept(product=draw(st.sampled_from("pq")), grade=draw(grade))]
            if draw(st.booleans()):
                other = "q" if accepts[0].product == "p" else "p"
                minutes, penalty = draw(number(0, 2)), draw(number(0, 2))
                accepts.append(Accept(product=other, grade=draw(grade), rework_minutes=minutes, penalty=penalty))
            needs.append(Need(id=f"{name}{place}", unit=name, pieces=draw(number(1, 2)), accepts=tuple(accepts)))
            own.append(needs[-1].id)
        value = st.sampled_from([0.0, 4.0, 7.5, 12.0, 20.0])
        branches = [_as_is(draw(value)), _fix(draw(value), *own, minutes=draw(number(0, 6)))]
        if len(own) == 2:
            branches.append(_fix(draw(value), own[0], minutes=draw(number(0, 6)), name="half"))
        if draw(st.booleans()):
            suppliers.append(Supplier(id=f"donor {name}", own=True))
            product, pieces = draw(st.sampled_from("pq")), draw(number(1, 2))
            offers.append(_offer(f"from {name}", f"donor {name}", product, 0, stock_packs=pieces))
            each = Yield(
                part=product,
                pieces=pieces,
                value=draw(st.sampled_from([-1.0, 0.0, 1.5])),
                used_cost=draw(st.sampled_from([0.0, 0.5])),
                minutes=draw(number(0, 2)),
                sale_minutes=draw(number(0, 1)),
                offer=f"from {name}",
            )
            branches.append(LotBranch(id="part_out", kind="part_out", value=draw(value), minutes=1, yields=(each,)))
        units[name] = tuple(branches)
    by_day = tuple(draw(st.lists(number(0, 5), min_size=5, max_size=5)))
    stated = Bench(minutes=draw(number(6, 16)), days=5, by_day=by_day)
    evenly = Bench(minutes=8), Bench(minutes=8, days=4), Bench(minutes=15, days=5)
    bench = draw(st.sampled_from([None, *evenly, stated, stated]))
    waits = [OrderUnit(id=name, wait_per_day=draw(number(0, 2))) for name in names]
    if draw(st.booleans()):
        for unit in waits:
            loss = draw(st.sampled_from([0.0, 0.5, 1.0, 2.0]))
            units[unit.id] = tuple(replace(b, day_loss=min(loss, unit.wait_per_day)) for b in units[unit.id])
    on_the_way = {unit.id: draw(st.sampled_from([0, 0, 1, 3, 5])) for unit in waits}
    for name, day in on_the_way.items():
        units[name] = tuple(replace(b, ready=day) if b.id in {"fix", "half"} else b for b in units[name])
    waits = [replace(unit, ready_day=on_the_way[unit.id]) for unit in waits]
    if draw(st.booleans()):
        worths = tuple(sorted((draw(number(0, 9)) for _ in range(draw(number(1, 2)))), reverse=True))
        accepts = (Accept(product=draw(st.sampled_from("pq")), penalty=draw(number(0, 1))),)
        needs.append(
            Need(
                id="spare",
                unit="spares",
                pieces=len(worths),
                accepts=accepts,
                worths=worths,
                whole=draw(st.booleans()),
            )
        )
        waits.append(OrderUnit(id="spares"))
    pins = {names[0]: draw(st.sampled_from(units[names[0]])).id} if draw(st.booleans()) else {}
    return _lot(units, suppliers, offers, needs, waits, bench, pins, labour_per_hour=draw(st.sampled_from([0, 60])))


@settings(deadline=None, max_examples=120)
@given(_lots())
def test_nothing_better_can_be_found_by_trying_everything(problem):
    found, best = plan(problem), _best(problem)
    assert found.found == math.isfinite(best)
    if found.found:
        assert found.total == pytest.approx(best)
        assert math.fsum(found.values.values()) + found.riding == pytest.approx(found.total)
    else:
        assert found.conflicts
        assert set(found.conflicts[0].units) <= {unit.id for unit in problem.units}
