"""An order whose needs are met from several places: nothing is bought twice, nothing is said to be here early."""

from datetime import date

import pytest

from triage import store
from triage.actions import looks, lots, needs, ordering, parts, planning, prices, units
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
    ordering.receive(bench, first.id)
    assert state_of(bench) == "ordered"
    ordering.receive(bench, second.id)
    assert state_of(bench) == "received"
