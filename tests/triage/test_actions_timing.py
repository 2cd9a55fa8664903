"""Order now or after the looks on a real bench file: one console decided, one still looked at."""

import shutil
from datetime import date

import msgspec
import pytest

from catalog.text import Refused
from triage import lotplan, store
from triage.actions import later, lots, needs, ordering, planning, prices, settings, units
from triage.actions.lots import get_lot
from triage.actions.order_timing import order_timing, verdict
from triage.actions.plan_facts import gather
from triage.bench_file import BenchFile
from triage.two_stage_problem import two_stage_problem

TODAY = date(2026, 12, 1)
BELT = "square belt 118 mm inside circumference 1.2 mm"
SUPPLIERS = """supplier,currency,lead_days,lead_days_late,min_order,shipping,free_from
Heather Spares,EUR,2,4,0.00,3.00,
"""
OFFERS = f"""supplier,sku,description,pack,from,price,discount,currency
Heather Spares,H-1,{BELT},1,1,1.60,all_units,EUR
"""


@pytest.fixture(scope="module")
def made(tmp_path_factory, until_repair):
    """Two disc consoles whose tray is stuck: the first looked through until its repair is proposed, the second not."""
    folder = tmp_path_factory.mktemp("timing")
    with BenchFile(folder / "bench.db", today=TODAY) as opened:
        for name, text, take_in in (
            ("suppliers.csv", SUPPLIERS, prices.import_suppliers),
            ("offers.csv", OFFERS, prices.import_offers),
        ):
            (folder / name).write_text(text, encoding="utf-8")
            take_in(opened, folder / name)
        settings.change_person(opened, day_cost_ratio=0.02)  # a day costs 1.80: the decided does not wait
        lots.new_lot(opened, "box")
        units.add_units(opened, "2 disc console tray stuck")
        for number in (1, 2):
            units.change_unit(opened, number, working=9000)
            needs.describe_need(opened, number, "belt", BELT)
        until_repair(opened, 1)
    return folder / "bench.db"


@pytest.fixture
def bench(made, tmp_path):
    shutil.copy(made, tmp_path / "bench.db")
    with BenchFile(tmp_path / "bench.db", today=TODAY) as opened:
        yield opened


def test_a_likely_belt_rides_in_todays_parcel(bench):
    view = order_timing(bench)
    assert view.looking == (2,)
    sure, likely = sorted(view.needs, key=lambda one: one.unit)
    assert (sure.unit, sure.chance, sure.now) == (1, pytest.approx(1.0), True)
    assert likely.unit == 2
    assert 0.2 < likely.chance < 1.0
    # 1.60 a belt, a quarter of it left over; a later parcel is 3.00 and two days
    assert likely.now == (likely.chance > likely.pays_from)
    assert likely.now
    assert sum(line.pieces for line in view.ordered.order) == 2
    assert view.money == 320 + 300
    told = verdict(view)
    assert told[0] == "Order 1 line today for 6.20."
    assert "Left out: bench hours, and the days that work takes." in told[-1]
    decided = next(one for one in view.comparisons if one.rule == "decided")
    assert decided.needs < {one for rule in view.comparisons for one in rule.needs}
    assert decided.ahead > decided.error
    wait = next(one for one in view.comparisons if one.rule == "wait")
    assert wait.ahead > 0


def test_a_dear_part_is_left_for_after_the_looks(bench, tmp_path):
    path = tmp_path / "offers.csv"
    path.write_text(OFFERS.replace("1.60", "16.00"), encoding="utf-8")
    prices.import_offers(bench, path)
    view = order_timing(bench, leftover=0.0)
    assert [(one.unit, one.now) for one in view.needs] == [(1, True), (2, False)]
    assert [one.unit for one in view.left] == [2]
    assert verdict(view)[0] == "Order 1 line today for 19.00; leave 1 part for 3 days on."


def test_what_is_not_described_is_named_and_orders_nothing(bench):
    before = {(one.unit, one.part) for one in order_timing(bench).to_describe}
    assert before
    assert (2, "belt") not in before
    assert all(unit == 2 for unit, _ in before)
    held = needs.wanted_parts(bench, aside=True)
    needs.drop_need(bench, next(part.need.id for part in held if part.unit == 2))
    view = order_timing(bench)
    assert [one.unit for one in view.needs] == [1]


def test_the_plan_itself_is_not_moved_by_what_may_be_wanted(bench):
    plan = planning.plan_lot(bench, with_front=False)
    assert [line.units for line in plan.order] == [(1,)]
    view = order_timing(bench, shown=plan)
    shown = plan.ordering(view.ordered)
    assert [line.units for line in shown.order] == [(1, 2)]
    assert shown.arrival == plan.arrival == "2026-12-03"
    placed = ordering.place_order(bench, as_shown=shown)
    assert [(line.packs, line.units) for line in placed.lines] == [(2, (1, 2))]
    assert {need.state for need in store.needs(bench.database)} == {"ordered"}


def test_it_refuses_figures_out_of_range_and_a_plan_that_is_old(bench):
    plan = planning.plan_lot(bench, with_front=False)
    units.change_unit(bench, 1, working=9500)
    with pytest.raises(Refused, match="things have changed"):
        order_timing(bench, shown=plan)
    with pytest.raises(Refused, match="1 to 365 days"):
        order_timing(bench, look_days=0)
    with pytest.raises(Refused, match="share from 0 to 1"):
        order_timing(bench, leftover=1.5)
    assert order_timing(bench, cancel=lambda: True) is None


def test_an_empty_lot_says_so(bench):
    lots.new_lot(bench, "empty")
    view = order_timing(bench)
    assert view.needs == ()
    assert verdict(view)[0].startswith("No described part is wanted")


def test_a_difference_below_the_noise_is_said_to_be_none(bench):
    view = order_timing(bench)
    wait = next(one for one in view.comparisons if one.rule == "wait")

    def told(ahead, error, **more):
        one = msgspec.structs.replace(wait, ahead=ahead, error=error)
        return verdict(msgspec.structs.replace(view, comparisons=(one,), **more))

    assert "Against ordering nothing before the looks: 2.00 ± 0.50 better." in told(200.0, 50.0)
    assert "Against ordering nothing before the looks: no difference that shows (0.20 ± 0.50)." in told(20.0, 50.0)
    assert "Against ordering nothing before the looks: no difference that shows (-0.20 ± 0.50)." in told(-20.0, 50.0)
    assert "Against ordering nothing before the looks: 2.00 ± 0.50 worse." in told(-200.0, 50.0)
    assert "Ordering nothing before the looks comes to the same." in told(0.0, 0.0)
    stuck = told(float("inf"), 0.0)
    assert "Ordering nothing before the looks leaves a repair that you decided on without its parts." in stuck
    drawn = told(200.0, 50.0, exact=False, judged=200)
    assert "Judged on 200 fresh draws of how they may turn out; ± is the 95 % range." in drawn


def doubtful_repairs(bench):
    """The ways to repair unit 2, as the two-stage problem has them."""
    facts = gather(bench, get_lot(bench, None), None, ahead=True)
    plan = lotplan.plan(facts.problem)
    problem = two_stage_problem(facts.problem, plan, facts.studies, facts.wanted)
    (unit,) = (one for one in problem.units if one.id == "2")
    return [branch for finding in unit.findings for branch in finding.branches if branch.kind == "fix"]


def test_what_is_ordered_already_is_neither_paid_again_nor_still_to_describe(bench):
    belts = sorted(branch.value for branch in doubtful_repairs(bench) if branch.needs)
    ordering.place_order(
        bench, as_shown=planning.plan_lot(bench, with_front=False).ordering(order_timing(bench).ordered)
    )
    assert {need.state for need in store.needs(bench.database)} == {"ordered"}
    after = doubtful_repairs(bench)
    assert all(branch.needs == () for branch in after)
    free = {round(branch.value, 6) for branch in after}
    assert belts
    assert {round(value, 6) for value in belts} <= free  # the belt is there: such a repair brings what it did without
    view = order_timing(bench)
    assert (2, "belt") not in {(one.unit, one.part) for one in view.to_describe}
    assert view.money == 0


def test_what_rides_along_in_the_plan_rides_along_in_todays_order_too(bench, tmp_path):
    path = tmp_path / "offers.csv"
    path.write_text(OFFERS + "Heather Spares,H-3,rubber foot 12 mm x 8 mm round,1,1,0.60,all_units,EUR\n", "utf-8")
    prices.import_offers(bench, path)
    before = order_timing(bench)
    later.add_wish(bench, 1, "feet", "rubber foot 12 mm x 8 mm round", pieces=4, worth=400)
    plan = planning.plan_lot(bench, with_front=False)
    assert {line.sku for line in plan.order} == {"H-1", "H-3"}
    view = order_timing(bench, shown=plan)
    assert {line.sku: line.pieces for line in view.ordered.order} == {"H-1": 2, "H-3": 4}
    assert view.money == before.money + 240
    wait = next(one for one in view.comparisons if one.rule == "wait")
    assert (wait.money, wait.needs) == (0, frozenset())  # nothing rides along in an order that is not sent
    placed = ordering.place_order(bench, as_shown=plan.ordering(view.ordered))
    assert {line.sku: line.needs for line in placed.lines}["H-3"]
