"""Pieces on their way, or set aside, that their unit wants no more: who needs them gets them before any is bought."""

import shutil
from datetime import date, timedelta

import pytest

from catalog.text import Refused
from triage import store
from triage.actions import goods_in, history, looks, lots, needs, ordering, pins, planning, prices, settings, units
from triage.bench_file import BenchFile
from triage.demo import make_demo

TODAY = date(2026, 12, 1)
SUPPLIERS = """supplier,currency,lead_days,lead_days_late,shipping
Quick Corner,EUR,2,3,4.00
Slow Boat,EUR,12,20,1.00
"""
OFFERS = """supplier,sku,part_number,description,pack,from,price
Quick Corner,Q1,SM-4K,stick module SM-4K,1,1,9.10
Slow Boat,S1,SM-4K,stick module SM-4K,3,1,2.00
"""


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Two gamepads that want a stick module; unit 2 is to be sold as it stands for now; made once."""
    folder = tmp_path_factory.mktemp("on the way")
    with BenchFile(folder / "bench.db", today=TODAY) as bench:
        settings.change_person(bench, currency="EUR", hour_worth=0)
        lots.new_lot(bench, "shelf")
        units.add_units(bench, "2 gamepads stick drift")
        for number in (1, 2):
            for hazard in bench.classes["gamepad"].hazards:
                looks.hazard(bench, number, hazard.id, "no")
            for check, said in (("connects", "y"), ("centre", "-14"), ("blow_retest", "n"), ("circle", "84")):
                looks.answer(bench, number, check, said)
            units.change_unit(bench, number, working=9000)
            units.overrule(bench, number, "fix", "sells well")
            needs.describe_need(bench, number, "stick_module", "SM-4K")
        units.overrule(bench, 2, "as_is", "no time")
        for text in (SUPPLIERS, OFFERS):
            (folder / "list.csv").write_text(text, encoding="utf-8")
            prices.import_any(bench, folder / "list.csv")
    return folder / "bench.db"


@pytest.fixture
def bench(made, tmp_path):
    shutil.copy(made, tmp_path / "bench.db")
    with BenchFile(tmp_path / "bench.db", today=TODAY) as opened:
        yield opened


def states(bench):
    return {need.unit: need.state for need in store.needs(bench.database)}


def test_what_a_pack_has_too_many_serves_the_next_unit_at_no_cost(bench):
    placed = ordering.place_order(bench)
    (line,) = placed.lines
    assert (line.sku, line.packs * line.pack, line.units) == ("S1", 3, (1,))
    units.overrule(bench, 2, "fix", "time after all")
    plan = planning.plan_lot(bench)
    assert plan.order == ()
    (coming,) = plan.coming
    assert (coming.coming, coming.pieces, coming.amount, coming.units) == (line.id, 1, 0, (2,))
    assert (coming.due, plan.arrival) == ("2026-12-13", "2026-12-13")
    ordering.place_order(bench, as_shown=plan)
    assert states(bench) == {1: "ordered", 2: "ordered"}
    history.take_back(bench)  # no order was placed by it: it can be taken back
    assert states(bench) == {1: "ordered", 2: "open"}
    ordering.place_order(bench)
    goods_in.receive(bench, line.id)
    assert states(bench) == {1: "received", 2: "received"}
    assert planning.plan_lot(bench).coming == ()


def test_a_unit_that_changed_its_pile_gives_up_what_is_on_its_way_only_when_it_is_taken(bench):
    (line,) = ordering.place_order(bench).lines
    units.overrule(bench, 1, "as_is", "buyer found")
    units.overrule(bench, 2, "fix", "time after all")
    bench.database.conn.execute("UPDATE order_lines SET pack = 1")  # as if only one had been bought
    bench.database.conn.commit()
    plan = planning.plan_lot(bench)
    assert [(one.coming, one.units) for one in plan.coming] == [(line.id, (2,))]
    assert states(bench) == {1: "ordered", 2: "open"}
    ordering.place_order(bench, as_shown=plan)
    assert states(bench) == {1: "open", 2: "ordered"}
    goods_in.receive(bench, line.id)
    assert states(bench) == {1: "open", 2: "received"}


def test_what_lies_set_aside_for_a_unit_that_wants_it_no_more_is_used_too(bench):
    (line,) = ordering.place_order(bench).lines
    bench.database.conn.execute("UPDATE order_lines SET pack = 1")
    bench.database.conn.commit()
    goods_in.receive(bench, line.id)
    units.overrule(bench, 1, "as_is", "buyer found")
    units.overrule(bench, 2, "fix", "time after all")
    plan = planning.plan_lot(bench)
    assert (plan.order, [one.units for one in plan.drawer]) == ((), [(2,)])
    ordering.place_order(bench, as_shown=plan)
    assert states(bench) == {1: "open", 2: "reserved"}


def test_a_unit_that_still_wants_it_keeps_what_it_was_promised(bench):
    ordering.place_order(bench)
    bench.database.conn.execute("UPDATE order_lines SET pack = 1")
    bench.database.conn.commit()
    units.overrule(bench, 2, "fix", "time after all")
    plan = planning.plan_lot(bench)
    assert plan.coming == ()
    assert [line.units for line in plan.order] == [(2,)]


def test_what_comes_too_late_for_the_last_day_does_not_serve(bench):
    ordering.place_order(bench)
    units.overrule(bench, 2, "fix", "time after all")
    lots.change_lot(bench, 1, deadline="2026-12-15")  # it is usually here on the 13th, but may be on the 21st
    plan = planning.plan_lot(bench)
    assert [line.sku for line in plan.order] == ["Q1"]
    assert plan.coming == ()


def test_overdue_goods_are_expected_tomorrow_and_cancelled_ones_never(bench, tmp_path):
    placed = ordering.place_order(bench)
    units.overrule(bench, 2, "fix", "time after all")
    bench.close()
    with BenchFile(tmp_path / "bench.db", today=TODAY + timedelta(days=40)) as late:
        (coming,) = planning.plan_lot(late).coming
        assert coming.due == "2027-01-11"
        ordering.cancel_order(late, placed.orders[0].id)
        assert planning.plan_lot(late).coming == ()


def test_a_plan_with_goods_that_somebody_else_took_meanwhile_is_refused(bench):
    ordering.place_order(bench)
    units.overrule(bench, 2, "fix", "time after all")
    plan = planning.plan_lot(bench)
    ordering.place_order(bench)
    with pytest.raises(Refused, match="another one than was shown"):
        ordering.place_order(bench, as_shown=plan)


def by_unit(plan):
    return {unit.number: unit for unit in plan.units}


def only_the_module(bench):
    """Unit 1 wants its module and nothing else."""
    for part in needs.wanted_parts(bench):
        if part.unit == 1 and part.need is None:
            needs.drop_need(bench, needs.describe_need(bench, 1, part.part, "SM-4K", kind="listed").id)


def test_work_waits_for_what_is_on_its_way_as_it_would_for_what_is_ordered_now(bench):
    only_the_module(bench)
    pins.pin_order(bench, 1, "not", "Quick Corner")
    lots.change_lot(bench, 1, deadline="2026-12-24", week="Mon-Sun 1", price_fall=0.07)
    before = by_unit(planning.plan_lot(bench))[1]
    (order,) = ordering.place_order(bench).orders
    after = by_unit(planning.plan_lot(bench))[1]
    assert before.done == after.done >= "2026-12-13"
    assert after.value == pytest.approx(before.value + order.goods + order.shipping)  # paid; the wait is still to come


def test_nothing_is_hurried_for_a_unit_that_waits_anyhow(bench, tmp_path):
    only_the_module(bench)
    ordering.place_order(bench)
    needs.describe_need(bench, 1, "button_pads", "BP-12", kind="listed")
    (tmp_path / "list.csv").write_text(
        "supplier,sku,part_number,description,pack,from,price\n"
        "Quick Corner,Q2,BP-12,button pads,1,1,1.00\nSlow Boat,S2,BP-12,button pads,1,1,3.50\n"
    )
    prices.import_any(bench, tmp_path / "list.csv")
    plan = planning.plan_lot(bench)
    assert [(line.sku, line.units) for line in plan.order] == [("S2", (1,))]
    assert plan.waiting == 0


def test_what_was_put_on_the_pile_by_hand_stays_there_though_its_part_may_come_too_late(bench):
    only_the_module(bench)
    ordering.place_order(bench)
    lots.change_lot(bench, 1, deadline="2026-12-05", week="Mon-Sun 4", price_fall=0.07)
    unit = by_unit(planning.plan_lot(bench))[1]
    assert (unit.pile, unit.done) == ("fix", "2026-12-04")


@pytest.fixture
def ordered_in_time(tmp_path):
    """The demo with its order placed; what unit 6 waits for is usually here on the 13th, late on the 27th."""
    make_demo(tmp_path / "demo.db", TODAY)
    with BenchFile(tmp_path / "demo.db", today=TODAY) as bench:
        ordering.place_order(bench)
        (order,) = [one for one, _ in ordering.list_orders(bench) if one.supplier == "Slow Kettle Overseas"]
        assert order.due == "2026-12-13"
        lots.change_lot(bench, 1, deadline="2026-12-27")
        assert by_unit(planning.plan_lot(bench, with_front=False))[6].pile == "fix"
        lots.change_lot(bench, 1, deadline="2026-12-26")
        yield bench


def promised_to_unit_6(bench):
    lines = {line.id: line for line in store.order_lines(bench.database)}
    orders = {order.id: order.supplier for order in store.orders(bench.database)}
    needs = {need.id: need.unit for need in store.needs(bench.database)}
    return [orders[lines[item.line].order_id] for item in store.set_asides(bench.database) if needs[item.need] == 6]


def test_a_quicker_piece_takes_the_place_of_one_that_may_miss_the_last_day(ordered_in_time):
    bench = ordered_in_time
    plan = planning.plan_lot(bench)
    unit = by_unit(plan)[6]
    (line,) = [line for line in plan.order if 6 in line.units]
    assert (unit.pile, unit.turned_down, line.supplier == "Slow Kettle Overseas") == ("fix", "", False)
    assert "may not be here before 2026-12-27; another takes its place" in plan.notes[0]
    assert promised_to_unit_6(bench) == ["Slow Kettle Overseas"]  # looking at a plan changes nothing
    ordering.place_order(bench, as_shown=plan)
    assert promised_to_unit_6(bench) == [line.supplier]
    after = planning.plan_lot(bench, with_front=False)
    assert (by_unit(after)[6].pile, [line for line in after.order if 6 in line.units]) == ("fix", [])
    assert after.notes == ()


def test_a_unit_whose_parts_on_their_way_may_miss_the_last_day_is_not_fixed(ordered_in_time):
    bench = ordered_in_time
    plan = planning.plan_lot(bench, with_front=False)
    while quick := [line.supplier for line in plan.order if 6 in line.units]:
        pins.pin_order(bench, 1, "not", quick[0])
        plan = planning.plan_lot(bench, with_front=False)
    unit = by_unit(plan)[6]
    assert unit.turned_down.startswith("its parts on their way may not be here before 2026-12-27; ")
    assert (unit.pile == "fix", promised_to_unit_6(bench)) == (False, ["Slow Kettle Overseas"])
