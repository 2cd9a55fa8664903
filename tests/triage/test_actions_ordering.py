"""An order whose needs are met from several places: nothing is bought twice, nothing is said to be here early."""

import sqlite3
from datetime import date

import pytest

from catalog.seats import Seat
from catalog.text import Refused
from triage import bench_check, store
from triage.actions import goods_in, history, looks, lots, needs, ordering, parts, planning, prices, promises, units
from triage.actions.findable import find_parts
from triage.bench_file import BenchFile

TODAY = date(2026, 12, 1)
SUPPLIERS = "supplier,currency,lead_days,lead_days_late,min_order,shipping,free_from\nQuick Corner,EUR,2,3,,1.00,\n"
OFFERS = (
    "supplier,sku,part_number,description,pack,min_packs,stock,from,price,price_per,discount,currency\n"
    "Quick Corner,Q1,SM-4K,stick module SM-4K,1,,2,1,2.10,1,,\n"
    "Quick Corner,Q2,SM-4K,stick module SM-4K loose,1,,1,1,2.40,1,,\n"
)


@pytest.fixture
def bench(tmp_path):
    """A gamepad that wants four stick modules: one lies in the drawer, the rest are on two lines of one supplier."""
    with BenchFile(tmp_path / "bench.db", today=TODAY) as opened:
        for name, text in (("s.csv", SUPPLIERS), ("o.csv", OFFERS)):
            (tmp_path / name).write_text(text, encoding="utf-8")
            prices.import_any(opened, tmp_path / name)
        lots.new_lot(opened, "box")
        units.add_units(opened, "1 gamepad stick drift")
        for hazard in opened.classes["gamepad"].hazards:
            looks.hazard(opened, 1, hazard.id, "no")
        for check, said in (("connects", "y"), ("centre", "-14"), ("blow_retest", "n"), ("circle", "84")):
            looks.answer(opened, 1, check, said)
        units.change_unit(opened, 1, working=9000)
        units.overrule(opened, 1, "fix", "sells well")
        parts.add_part(opened, "stick module", part_number="SM-4K", quantity=1, place="drawer 2")
        needs.describe_need(opened, 1, "stick_module", "SM-4K", pieces=4)
        yield opened


def state_of(bench):
    return store.needs(bench.database, number=1)[0].state


def test_what_is_on_its_way_is_not_ordered_again(bench):
    plan = planning.plan_lot(bench)
    assert [line.pieces for line in plan.drawer] == [1]
    assert sum(line.pieces for line in plan.order) == 3
    assert len(plan.order) == 2
    ordering.place_order(bench)
    assert state_of(bench) == "ordered"
    again = planning.plan_lot(bench)
    assert not again.order


def test_a_need_is_here_when_every_line_of_it_is(bench):
    first, second = ordering.place_order(bench).lines
    goods_in.receive(bench, first.id)
    assert state_of(bench) == "ordered"
    goods_in.receive(bench, second.id)
    assert state_of(bench) == "received"


def test_what_is_set_aside_is_promised_to_nobody_else(bench):
    ordering.place_order(bench)
    lots.new_lot(bench, "another box")
    units.add_units(bench, "1 gamepad stick drift")
    for hazard in bench.classes["gamepad"].hazards:
        looks.hazard(bench, 2, hazard.id, "no")
    units.change_unit(bench, 2, working=9000)
    units.overrule(bench, 2, "fix", "sells well")
    needs.describe_need(bench, 2, "stick_module", "SM-4K", pieces=1)
    other = planning.plan_lot(bench)
    assert not other.drawer
    assert [line.pieces for line in other.order] == [1]


def test_taking_back_one_of_two_orders_leaves_the_pieces_of_the_other(bench):
    (order,) = ordering.place_order(bench).orders
    part_of_it = ordering.list_orders(bench)[0][1][0]
    ordering.cancel_order(bench, order.id)
    assert state_of(bench) == "open"
    again = planning.plan_lot(bench)
    assert sum(line.pieces for line in again.order) == 3  # the one in the drawer stays set aside
    assert not again.drawer
    with pytest.raises(Refused, match="taken back"):
        goods_in.receive(bench, part_of_it.id)


def test_two_programs_do_not_place_the_same_order(bench):
    with BenchFile(bench.path, today=TODAY) as other:
        shown = planning.plan_lot(other)
        ordering.place_order(bench)
        with pytest.raises(Refused, match="another one than was shown"):
            ordering.place_order(other, as_shown=shown)
    assert len(ordering.list_orders(bench)) == 1


@pytest.mark.parametrize("seen", [True, False])
def test_the_units_are_studied_before_the_write_lock_is_taken(bench, monkeypatch, seen):
    shown = planning.plan_lot(bench) if seen else None
    asked = []

    def looked_at(own, plan):
        asked.append(own.database.conn.in_transaction)
        return planning.still_holds(own, plan)

    monkeypatch.setattr(ordering, "still_holds", looked_at)
    assert len(ordering.place_order(bench, as_shown=shown).orders) == 1
    assert asked == ([False] if seen else [])


@pytest.mark.parametrize("seen", [True, False])
def test_what_another_program_writes_after_the_last_look_at_a_plan_is_seen_under_the_lock(bench, monkeypatch, seen):
    shown = planning.plan_lot(bench) if seen else None
    asked, planned = [], planning.plan_lot

    def another_writes():
        with BenchFile(bench.path, today=TODAY) as other:
            units.overrule(other, 1, "as_is", "want it no more")

    def looked_at(own, plan):
        asked.append(own.database.conn.in_transaction)
        if own.database.conn.in_transaction:
            with BenchFile(bench.path, today=TODAY) as other:
                other.database.conn.execute("PRAGMA busy_timeout = 0")
                with pytest.raises(sqlite3.OperationalError, match="locked"):
                    units.overrule(other, 1, "fix", "after all")
        holds = planning.still_holds(own, plan)
        if not own.database.conn.in_transaction:
            another_writes()
        return holds

    def plan_lot(*args, **more):
        found = planned(*args, **more)
        another_writes()
        return found

    monkeypatch.setattr(ordering, "still_holds", looked_at)
    monkeypatch.setattr(ordering, "plan_lot", plan_lot)
    with pytest.raises(Refused, match="another one than was shown"):
        ordering.place_order(bench, as_shown=shown)
    assert asked == ([False, True] if seen else [True])
    assert ordering.list_orders(bench) == ()


def test_what_comes_is_described_as_it_was_ordered(bench):
    (tmp := bench.path.parent / "usd.csv").write_text(
        "supplier,sku,part_number,description,pack,min_packs,stock,from,price,price_per,discount,currency\n"
        "Quick Corner,Q9,,electrolytic capacitor 100 uF 25 V radial,3,1,9,1,1.00,3,,\n",
        encoding="utf-8",
    )
    prices.import_any(bench, tmp)
    units.overrule(bench, 1, "as_is", "no stick module on offer any more")
    units.add_units(bench, "1 radio no sound")
    for hazard in bench.classes["portable_radio"].hazards:
        looks.hazard(bench, 2, hazard.id, "no")
    units.change_unit(bench, 2, working=9000)
    units.overrule(bench, 2, "fix", "sells well")
    wanted = [item for item in needs.wanted_parts(bench) if item.unit == 2]
    for item in wanted:
        needs.describe_need(
            bench, 2, item.part, "electrolytic capacitor 100 uF 25 V radial", kind="electrolytic", pieces=2
        )
    placed = ordering.place_order(bench)
    line = next(line for line in placed.lines if line.sku == "Q9")
    goods_in.receive(bench, line.id)
    part = next(part for part in parts.list_parts(bench) if "100 uF" in part.description)
    assert (part.kind, part.quantity, part.unit_cost, part.currency) == ("electrolytic", 3 * line.packs, 33, "EUR")
    assert part.spec is not None
    assert find_parts(bench, "100uF 25V")[0].entry.id == part.id


def test_what_stands_in_the_way_is_said_in_words(bench):
    needs.describe_need(bench, 1, "stick_module", "SM-4K", pieces=40)
    (why,) = planning.plan_lot(bench).conflicts
    assert why.startswith("unit 1 FIX: stick module for unit 1: 40 pieces wanted")


def test_a_repair_uses_what_was_set_aside_and_a_second_one_asks_anew(bench):
    for line in ordering.place_order(bench).lines:
        goods_in.receive(bench, line.id)
    assert sum(part.quantity for part in parts.list_parts(bench)) == 4
    (need,) = store.needs(bench.database, number=1)
    looks.repair(bench, 1, (need.fault,))
    assert sum(part.quantity for part in parts.list_parts(bench)) == 0
    assert store.set_asides(bench.database) == []
    assert state_of(bench) == "fitted"
    looks.answer(bench, 1, "circle", "84")
    again = [item for item in needs.wanted_parts(bench) if item.part == "stick_module"]
    assert [(item.need, item.fitted_before) for item in again] == [(None, "SM-4K")]
    needs.describe_need(bench, 1, "stick_module", "SM-4K", pieces=1)
    assert [need.state for need in store.needs(bench.database, number=1)] == ["fitted", "open"]
    bench.journal.undo(at=bench.now())
    assert state_of(bench) == "fitted"


@pytest.fixture
def other(bench, monkeypatch):
    """Another running program on the same file, on a seat of its own."""
    bench.journal._take_seat()
    monkeypatch.setattr("catalog.journal.take_seat", lambda path: Seat(2, None))
    with BenchFile(bench.path, today=TODAY) as opened:
        yield opened


def test_a_promise_that_comes_back_with_an_undo_is_met_by_what_came_meanwhile(bench, other):
    """Another program took the goods in while this one had noted a repair by mistake."""
    parts.change_part(bench, 1, quantity=0)
    needs.describe_need(bench, 1, "stick_module", "SM-4K", pieces=3)
    lines = ordering.place_order(bench).lines
    (need,) = store.needs(bench.database, number=1)
    looks.repair(bench, 1, (need.fault,))
    assert state_of(bench) == "fitted"
    for line in lines:
        goods_in.receive(other, line.id)
    assert history.take_back(bench).action == "repair"
    assert state_of(bench) == "received"
    held = promises.promised_to(bench, need.id)
    assert sum(item.pieces for item in held) == 3
    assert not any(item.coming for item in held)
    assert bench_check.check(bench.database).problems == ()


def test_a_promise_of_an_order_taken_back_meanwhile_is_open_again(bench, other):
    placed = ordering.place_order(bench)
    (need,) = store.needs(bench.database, number=1)
    looks.repair(bench, 1, (need.fault,))
    ordering.cancel_order(other, placed.orders[0].id)
    history.take_back(bench)
    assert state_of(bench) == "open"
    assert [item.pieces for item in promises.promised_to(bench, need.id)] == [1]
    assert planning.plan_lot(bench).order


def test_undo_stops_at_a_placed_order_and_says_what_takes_it_back(bench):
    ordering.place_order(bench)
    with pytest.raises(Refused, match=r"^undo: undo stops here: “order placed.*counter-entry.*order --cancel N`$"):
        history.take_back(bench)
    ordering.cancel_order(bench, 1)
    with pytest.raises(Refused, match="place the order anew"):
        history.take_back(bench)
    assert state_of(bench) == "open"


def test_what_is_set_aside_stays_in_sight_when_the_unit_leans_elsewhere(bench):
    ordering.place_order(bench)
    units.overrule(bench, 1, "as_is", "no time left")
    (held,) = [item for item in needs.wanted_parts(bench) if item.unit == 1]
    assert held.need.state == "ordered"
    with pytest.raises(Refused, match="on its way"):
        needs.drop_need(bench, held.need.id)
    for line in ordering.list_orders(bench)[0][1]:
        goods_in.receive(bench, line.id)
    needs.drop_need(bench, held.need.id)
    assert store.set_asides(bench.database) == []


def test_a_count_below_what_is_promised_opens_the_need_again(bench):
    ordering.place_order(bench)
    part = next(part for part in parts.list_parts(bench) if part.place == "drawer 2")
    parts.change_part(bench, part.id, quantity=0)
    assert state_of(bench) == "open"
    assert sum(line.pieces for line in planning.plan_lot(bench).order) == 1


def test_a_promised_piece_is_not_taken_for_another_unit(bench):
    ordering.place_order(bench)
    part = next(part for part in parts.list_parts(bench) if part.place == "drawer 2")
    units.add_units(bench, "1 gamepad stick drift")
    for hazard in bench.classes["gamepad"].hazards:
        looks.hazard(bench, 2, hazard.id, "no")
    with pytest.raises(Refused, match="set aside for other units"):
        looks.repair(bench, 2, ("stick_pot",), parts=((part.id, 1),))
    assert parts.get_part(bench, part.id).quantity == 1


def test_a_part_that_was_only_described_leaves_the_drawer_with_the_repair(bench):
    (part,) = parts.list_parts(bench)
    parts.change_part(bench, part.id, quantity=6)
    (need,) = store.needs(bench.database, number=1)
    looks.repair(bench, 1, (need.fault,))
    assert parts.get_part(bench, part.id).quantity == 2
