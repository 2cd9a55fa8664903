"""The plan and the front against a slow, obvious enumeration of everything that can be bought and shared out."""

from __future__ import annotations

import itertools
import math
from fractions import Fraction

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from catalog import purchase_solve, purchase_start
from catalog.charges import Charges, Step
from catalog.pricing import Discount, PriceStep
from catalog.purchase import front, plan
from catalog.purchase_data import Accept, Need, Offer, OrderUnit, PlanStatus, PurchaseProblem, Supplier
from catalog.purchase_parts import merged, parts
from catalog.purchase_start import first_plan
from catalog.reprice import reprice
from catalog.riders import riders


def _line(offer, pieces):
    steps = [*offer.steps, None]
    exact = Fraction(0)
    if offer.discount is Discount.ALL_UNITS:
        reached = [step for step in offer.steps if step.from_pieces <= pieces][-1]
        exact = Fraction(pieces * reached.amount, reached.per)
    else:
        for step, following in itertools.pairwise(steps):
            last = pieces if following is None else min(pieces, following.from_pieces - 1)
            exact += Fraction(max(0, last - step.from_pieces + 1) * step.amount, step.per)
    return int(exact + Fraction(1, 2))


def _half_up(value):
    return math.floor(Fraction(value) + Fraction(1, 2))


def _asked(supplier, goods, weight):
    """Postage and all charges on top of goods worth more than nothing."""
    more = supplier.charges
    postage = supplier.shipping
    if more.by_value:
        postage = [step.amount for step in more.by_value if step.start <= goods][-1]
    if more.by_weight:
        postage = [step.amount for step in more.by_weight if step.start <= weight][-1]
    if supplier.free_from is not None and goods >= supplier.free_from:
        postage = 0
    fee = more.fee if goods < more.fee_below else 0
    tax = _half_up(Fraction(more.tax, 10000) * (goods + postage + fee))
    brought_in = 0
    if more.import_above is not None and goods > more.import_above:
        brought_in = _half_up(Fraction(more.import_rate, 10000) * (goods + postage)) + more.import_fee
    return postage + fee + tax + brought_in


def _spent(problem, packs):
    """Goods and charges, and the part that is cash; None if a smallest order is not reached or a line not kept."""
    total = cash = 0
    for supplier in problem.suppliers:
        taken = [
            (offer, count)
            for offer, count in zip(problem.offers, packs, strict=True)
            if count and offer.supplier == supplier.id
        ]
        goods = sum(_line(offer, count * offer.pack_size) for offer, count in taken)
        if not goods:
            continue
        if goods < supplier.min_order:
            return None
        weight = sum(offer.weight * count * offer.pack_size for offer, count in taken)
        whole = goods + _asked(supplier, goods, weight)
        total += whole
        cash += 0 if supplier.own else whole
    return total, cash


def _shares(pieces, places):
    if places == 1:
        yield (pieces,)
        return
    for first in range(pieces + 1):
        for rest in _shares(pieces - first, places - 1):
            yield (first, *rest)


def _ways(problem, need):
    """Each way to share a need over the offers: pieces per offer, rework, last day."""
    suppliers = {supplier.id: supplier for supplier in problem.suppliers}
    deadline = next(unit.deadline_day for unit in problem.units if unit.id == need.unit)
    accepts = {accept.product: accept for accept in need.accepts}
    sizes = range(need.pieces + 1) if need.worths else [need.pieces]
    sizes = [0, need.pieces] if need.whole else sizes
    for share in itertools.chain.from_iterable(_shares(pieces, len(problem.offers)) for pieces in sizes):
        day = 0
        rework = -sum(need.worths[: sum(share)])
        for offer, pieces in zip(problem.offers, share, strict=True):
            if not pieces:
                continue
            sender = suppliers[offer.supplier]
            if offer.product not in accepts or (deadline is not None and sender.late > deadline):
                break
            if offer.id in need.not_from:
                break
            accept = accepts[offer.product]
            minutes = Fraction(problem.labour_per_hour * accept.rework_minutes, 60)
            rework += (int(minutes + Fraction(1, 2)) + accept.penalty) * pieces
            day = day if need.worths else max(day, sender.lead_days)
        else:
            yield share, rework, day


def _everything(problem):
    """(total, money, arrival day) of every plan there is, the worse of two that are alike left out."""
    counts = [_amounts(problem, offer) for offer in problem.offers]
    ways = [list(_ways(problem, need)) for need in problem.needs]
    taken = {}
    for combination in itertools.product(*ways):
        use = tuple(sum(way[0][place] for way in combination) for place in range(len(problem.offers)))
        ready = {}
        for need, way in zip(problem.needs, combination, strict=True):
            ready[need.unit] = max(ready.get(need.unit, 0), way[2])
        waiting = sum(unit.wait_per_day * max(0, ready.get(unit.id, 0) - unit.ready_day) for unit in problem.units)
        rework = sum(way[1] for way in combination)
        taken.setdefault(use, set()).add((rework, waiting, max(ready.values(), default=0)))
    found = set()
    for packs in itertools.product(*counts):
        spent = _spent(problem, packs)
        if spent is None or (problem.cash_limit is not None and spent[1] > problem.cash_limit):
            continue
        for use, sums in taken.items():
            if all(u <= n * offer.pack_size for u, n, offer in zip(use, packs, problem.offers, strict=True)):
                found |= {(spent[0] + rework + waiting, spent[0] + rework, day) for rework, waiting, day in sums}
    return found


def _amounts(problem, offer):
    sold = [0, *range(max(1, offer.min_packs), offer.stock_packs + 1)]
    kept = problem.keep.get(offer.id)
    return sold if kept is None else [count for count in sold if count == kept]


FEATURES = (
    "all units",
    "incremental",
    "prices per many",
    "packs",
    "fewest packs",
    "smallest order",
    "postage",
    "free from",
    "by value",
    "by weight",
    "small order fee",
    "tax",
    "import charge",
    "deadline",
    "waiting",
    "on the way",
    "extra work",
    "penalty",
    "own",
    "cash limit",
    "spares",
    "not from",
    "kept line",
)


def _supplier(draw, index, on):
    number = st.integers
    lead = draw(number(0, 6))
    starts = sorted(draw(st.sets(number(2, 24), max_size=2))) if on & {"by value", "by weight"} else []
    by_value = "by value" in on and not ("by weight" in on and index % 2)
    by_weight = "by weight" in on and not by_value
    postages = [draw(number(0, 9)) for _ in (0, *starts)]
    steps = tuple(Step(*each) for each in zip((0, *starts), sorted(postages) if by_weight else postages, strict=True))
    return Supplier(
        id=f"S{index}",
        lead_days=lead,
        lead_days_late=lead + draw(number(0, 2)) if "deadline" in on else None,
        shipping=draw(number(0, 9)) if "postage" in on else 0,
        free_from=draw(st.none() | number(0, 24)) if "free from" in on else None,
        min_order=draw(number(0, 14)) if "smallest order" in on else 0,
        own="own" in on and draw(st.booleans()),
        charges=Charges(
            by_value=steps if by_value else (),
            by_weight=steps if by_weight else (),
            fee=draw(number(0, 6)) if "small order fee" in on else 0,
            fee_below=draw(number(0, 24)) if "small order fee" in on else 0,
            tax=draw(st.sampled_from([0, 700, 1900, 2500, 333])) if "tax" in on else 0,
            import_above=draw(st.none() | number(0, 24)) if "import charge" in on else None,
            import_rate=draw(st.sampled_from([0, 470, 2000, 5000])) if "import charge" in on else 0,
            import_fee=draw(number(0, 4)) if "import charge" in on else 0,
        ),
    )


def _offer(draw, index, suppliers, on):
    number = st.integers
    starts = sorted(draw(st.sets(number(2, 6), max_size=2))) if on & {"all units", "incremental"} else []
    per = st.sampled_from([1, 2, 3, 10] if "prices per many" in on else [1])
    kinds = [
        kind for kind, word in ((Discount.ALL_UNITS, "all units"), (Discount.INCREMENTAL, "incremental")) if word in on
    ]
    return Offer(
        id=f"o{index}",
        supplier=draw(st.sampled_from(suppliers)).id,
        product=draw(st.sampled_from(["a", "a", "b", "c"])),
        steps=tuple(PriceStep(at, draw(number(0, 12)), draw(per)) for at in [1, *starts]),
        discount=draw(st.sampled_from(kinds or [Discount.ALL_UNITS])),
        pack_size=draw(number(1, 3)) if "packs" in on else 1,
        min_packs=draw(number(0, 2)) if "fewest packs" in on else 1,
        stock_packs=draw(st.sampled_from([4, 3, 2, 1, 0, 5])),
        weight=draw(st.sampled_from([0, 2, 4, 7])) if "by weight" in on else 0,
    )


def _need(draw, index, units, offers, on):
    number = st.integers
    pieces = draw(number(1, 3))
    spare = "spares" in on and index == 0
    return Need(
        id=f"n{index}",
        unit=draw(st.sampled_from(units)).id,
        pieces=pieces,
        accepts=tuple(
            Accept(
                product=product,
                rework_minutes=draw(number(0, 3)) if "extra work" in on else 0,
                penalty=draw(number(0, 4)) if "penalty" in on else 0,
            )
            for product in sorted(draw(st.sets(st.sampled_from(sorted({o.product for o in offers})), min_size=1)))
        ),
        not_from=frozenset(draw(st.sets(st.sampled_from([o.id for o in offers]), max_size=1)))
        if "not from" in on
        else frozenset(),
        worths=tuple(sorted((draw(number(0, 14)) for _ in range(pieces)), reverse=True)) if spare else (),
        whole=spare and draw(st.booleans()),
    )


@st.composite
def problems(draw, on=frozenset(FEATURES)):
    """Orders small enough to enumerate, with the features `on`."""
    number = st.integers
    suppliers = tuple(_supplier(draw, index, on) for index in range(draw(number(1, 2))))
    offers = tuple(_offer(draw, index, suppliers, on) for index in range(draw(number(1, 3))))
    units = tuple(
        OrderUnit(
            id=f"u{index}",
            wait_per_day=draw(number(0, 3)) if "waiting" in on else 0,
            deadline_day=draw(st.none() | number(1, 8)) if "deadline" in on else None,
            ready_day=draw(number(0, 5)) if "on the way" in on else 0,
        )
        for index in range(2)
    )
    needs = tuple(_need(draw, index, units, offers, on) for index in range(draw(st.sampled_from([2, 1, 2, 0]))))
    kept = draw(st.sampled_from([None, *offers])) if "kept line" in on else None
    return PurchaseProblem(
        suppliers=suppliers,
        offers=offers,
        units=units,
        needs=needs,
        labour_per_hour=draw(st.sampled_from([50, 60])) if "extra work" in on else 0,
        cash_limit=draw(st.none() | number(0, 40)) if "cash limit" in on else None,
        keep={kept.id: draw(number(0, 4))} if kept else {},
    )


def _check(problem):
    everything = _everything(problem)
    found, points = plan(problem), front(problem)
    if not everything:
        assert found.status is PlanStatus.INFEASIBLE
        assert found.conflicts
        assert points == ()
        return
    assert found.status is PlanStatus.OPTIMAL
    assert found.total == min(total for total, _, _ in everything)
    wanted, least = [], None
    for day in sorted({day for _, _, day in everything}):
        cost = min(money for _, money, reached in everything if reached <= day)
        if least is None or cost < least:
            total = min(total for total, money, reached in everything if reached <= day and money == cost)
            wanted.append((day, cost, total))
            least = cost
    assert [(point.arrival_day, point.cost) for point in points] == [(day, cost) for day, cost, _ in wanted]
    assert [point.cheapest for point in points] == [
        point.total == min(each.total for each in points) for point in points
    ]
    assert [point.total for point in points] == [
        min(total for total, money, reached in everything if reached <= day_by and money == cost)
        for (_, cost, _), day_by in zip(wanted, _last_days(problem, wanted), strict=True)
    ]


@settings(max_examples=60, deadline=None)
@given(problems())
def test_plan_and_front_are_those_of_the_enumeration(problem):
    _check(problem)


@pytest.mark.parametrize("feature", FEATURES)
def test_each_feature_alone(feature):
    @settings(max_examples=8, deadline=None, database=None)
    @given(problems(frozenset({feature})))
    def alone(problem):
        _check(problem)

    alone()


@pytest.mark.parametrize("feature", FEATURES[1:])
def test_each_feature_with_each_other(feature):
    @settings(max_examples=12, deadline=None, database=None)
    @given(
        st.sampled_from(FEATURES[: FEATURES.index(feature)]).flatmap(lambda one: problems(frozenset({one, feature})))
    )
    def together(problem):
        _check(problem)

    together()


def _last_days(problem, wanted):
    """For each point the day before the next point's, since nothing cheaper can be had until then."""
    return [*(day - 1 for day, _, _ in wanted[1:]), max(supplier.lead_days for supplier in problem.suppliers)]


def _total(problem):
    found = plan(problem)
    return found.total if found.found else math.inf


BY_SUBTOTAL = frozenset({"smallest order", "free from", "by value", "small order fee"})
"""Where these hold, a cheaper offer can cost more: the subtotal may fall below what would have lowered the rest."""


@settings(max_examples=30, deadline=None)
@given(problems(frozenset(FEATURES) - BY_SUBTOTAL), st.data())
def test_a_cheaper_offer_never_raises_the_cost(problem, data):
    place = data.draw(st.sampled_from(range(len(problem.offers))))
    offer = problem.offers[place]
    steps = tuple(msgspec.structs.replace(step, amount=data.draw(st.integers(0, step.amount))) for step in offer.steps)
    cheaper = msgspec.structs.replace(offer, steps=steps)
    offers = (*problem.offers[:place], cheaper, *problem.offers[place + 1 :])
    assert _total(msgspec.structs.replace(problem, offers=offers)) <= _total(problem)


@settings(max_examples=30, deadline=None)
@given(problems(), st.data())
def test_more_room_never_raises_the_cost(problem, data):
    later = tuple(
        msgspec.structs.replace(
            unit, deadline_day=None if unit.deadline_day is None else unit.deadline_day + data.draw(st.integers(0, 4))
        )
        for unit in problem.units
    )
    richer = None if problem.cash_limit is None else problem.cash_limit + data.draw(st.integers(0, 9))
    freer = msgspec.structs.replace(problem, units=later, cash_limit=richer)
    assert _total(freer) <= _total(problem)
    assert _total(msgspec.structs.replace(problem, keep={})) <= _total(problem)


@settings(max_examples=30, deadline=None)
@given(problems())
def test_a_need_split_in_two_costs_the_same(problem):
    needs = []
    for need in problem.needs:
        if need.pieces == 1 or need.worths:
            needs.append(need)
        else:
            needs += [
                msgspec.structs.replace(need, id=f"{need.id} {part}", pieces=pieces)
                for part, pieces in (("first", 1), ("rest", need.pieces - 1))
            ]
    assert _total(msgspec.structs.replace(problem, needs=tuple(needs))) == _total(problem)


@settings(max_examples=30, deadline=None)
@given(problems(), st.randoms(use_true_random=False))
def test_names_and_order_do_not_matter(problem, shuffle):
    def mixed(things):
        return tuple(shuffle.sample(things, len(things)))

    def other(name):
        return f"{name} of another name"

    replace = msgspec.structs.replace
    renamed = PurchaseProblem(
        suppliers=mixed([replace(each, id=other(each.id)) for each in problem.suppliers]),
        offers=mixed(
            [
                replace(each, id=other(each.id), supplier=other(each.supplier), product=other(each.product))
                for each in problem.offers
            ]
        ),
        units=mixed([replace(each, id=other(each.id)) for each in problem.units]),
        needs=mixed(
            [
                replace(
                    each,
                    id=other(each.id),
                    unit=other(each.unit),
                    accepts=mixed([replace(accept, product=other(accept.product)) for accept in each.accepts]),
                    not_from=frozenset(other(name) for name in each.not_from),
                )
                for each in problem.needs
            ]
        ),
        labour_per_hour=problem.labour_per_hour,
        cash_limit=problem.cash_limit,
        keep={other(name): packs for name, packs in problem.keep.items()},
    )
    assert _total(renamed) == _total(problem)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(problems())
def test_the_staged_search_finds_the_same(monkeypatch, problem):
    whole = _total(problem)
    monkeypatch.setattr(purchase_solve, "SMALL", -1)
    seen = []
    staged = plan(problem, on_incumbent=seen.append)
    monkeypatch.undo()
    assert (staged.total if staged.found else math.inf) == whole
    assert all(one.objective >= two.objective and one.bound <= two.bound for one, two in itertools.pairwise(seen))
    assert all(each.bound <= whole <= each.objective for each in seen)


@settings(max_examples=60, deadline=None)
@given(problems())
def test_a_first_plan_is_an_order_by_all_rules_or_none(problem):
    first = first_plan(problem, {})
    if first is not None:
        counted = reprice(problem, first.packs, first.served)
        assert counted.total == first.total
        assert first.total >= _total(problem)
        again = plan(problem, before=first)
        assert again.total == _total(problem)


@settings(max_examples=60, deadline=None)
@given(problems())
def test_parts_come_to_the_whole(problem):
    pieces = parts(merged(problem).problem)
    assert sum(_total(part) for part in pieces) == _total(problem)
    assert sum(len(part.offers) for part in pieces) <= len(problem.offers)


@settings(max_examples=40, deadline=None)
@given(problems(frozenset(FEATURES)).filter(lambda problem: any(need.worths for need in problem.needs)))
def test_what_rides_along_costs_what_two_enumerations_say(problem):
    best = plan(problem)
    if not best.found:
        return
    for rider in riders(problem, best):
        need = next(each for each in problem.needs if each.id == rider.need)
        rest = tuple(each for each in problem.needs if each.id != need.id)
        assert rider.pieces == sum(entry.pieces for entry in best.served if entry.need == need.id)
        without = min(total for total, _, _ in _everything(msgspec.structs.replace(problem, needs=rest)))
        if rider.pieces:
            assert rider.worth == sum(need.worths[: rider.pieces])
            assert rider.costs == best.total + rider.worth - without
            assert rider.costs <= rider.worth
            continue
        assert best.total == without
        nobody_waits = tuple(msgspec.structs.replace(unit, id=f"{unit.id}!", wait_per_day=0) for unit in problem.units)
        forced = msgspec.structs.replace(need, unit=f"{need.unit}!", worths=(), whole=False)
        units = (*problem.units, *nobody_waits)
        totals = [
            total for total, _, _ in _everything(msgspec.structs.replace(problem, needs=(*rest, forced), units=units))
        ]
        assert rider.worth == sum(need.worths)
        assert rider.costs == (min(totals) - best.total if totals else None)


@settings(max_examples=60, deadline=None)
@given(problems())
def test_the_quick_question_of_the_first_plan_has_the_answer_of_the_whole_one(problem):
    search = purchase_start._Search(problem)
    for index, item in enumerate(search.items):
        for at in item.ways:
            assert search.change_one(item, at) == search.change([(item, at)])
        possible = [at for at in item.ways if search.change_one(item, at) < math.inf]
        if possible:
            search.place(index, possible[0])
