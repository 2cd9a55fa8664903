"""Goods in: in part, late, dead, wrong, never; units that are free; waits that are learned."""

from datetime import date, timedelta

import pytest

from catalog import store as catalog_store
from catalog.text import Refused
from triage import store
from triage.actions import goods_in, looks, lots, needs, ordering, parts, planning, prices, settings, units
from triage.actions.history import do_again, take_back
from triage.bench_file import BenchFile

TODAY = date(2026, 12, 1)  # a Tuesday
SUPPLIERS = "supplier,currency,lead_days,lead_days_late,min_order,shipping,free_from\nNorth Bench,EUR,3,5,,3.50,\n"
OFFERS = (
    "supplier,sku,part_number,description,pack,min_packs,stock,from,price,price_per,discount,currency\n"
    "North Bench,NB-1,SM-4K,stick module,1,1,20,1,2.10,1,,EUR\n"
)


def opened(path, day=TODAY):
    return BenchFile(path, today=day)


@pytest.fixture
def path(tmp_path):
    """Two gamepads for which a module each is ordered, on two of one line."""
    (tmp_path / "suppliers.csv").write_text(SUPPLIERS)
    (tmp_path / "offers.csv").write_text(OFFERS)
    with opened(tmp_path / "bench.db") as bench:
        lots.new_lot(bench, "box")
        units.add_units(bench, "2 gamepads drift")
        prices.import_suppliers(bench, tmp_path / "suppliers.csv")
        prices.import_offers(bench, tmp_path / "offers.csv")
        for number in (1, 2):
            for hazard in bench.classes["gamepad"].hazards:
                looks.hazard(bench, number, hazard.id, "no")
            units.change_unit(bench, number, working=9000 if number == 1 else 6000)
            units.overrule(bench, number, "fix", "sells well")
            for check, said in (("connects", "y"), ("centre", "-14"), ("blow_retest", "n"), ("circle", "84")):
                looks.answer(bench, number, check, said)
            for part in needs.wanted_parts(bench):
                if part.unit == number:
                    need = needs.describe_need(bench, number, part.part, "SM-4K", kind="listed")
                    if part.part != "stick_module":
                        needs.drop_need(bench, need.id)
        ordering.place_order(bench)
    return tmp_path / "bench.db"


@pytest.fixture
def bench(path):
    with opened(path) as one:
        yield one


def line_of(bench):
    (line,) = store.order_lines(bench.database)
    return line


def states(bench):
    return [need.state for need in store.needs(bench.database) if need.part == "stick_module"]


def drawer(bench):
    return [(part.part_number, part.description, part.quantity) for part in parts.list_parts(bench)]


def test_the_fixture_orders_two(bench):
    assert (line_of(bench).packs, states(bench)) == (2, ["ordered", "ordered"])


def test_one_of_two_frees_the_older_need(bench):
    goods_in.receive(bench, line_of(bench).id, 1)
    assert states(bench) == ["received", "ordered"]
    assert [one.unit for one in goods_in.ready_to_finish(bench)] == [1]
    goods_in.receive(bench, line_of(bench).id)
    both = goods_in.ready_to_finish(bench)
    assert sorted(one.unit for one in both) == [1, 2]
    assert both[0].day_cost / both[0].minutes >= both[1].day_cost / both[1].minutes  # Smith's rule
    assert all("stick" in one.what for one in goods_in.ready_to_finish(bench))
    looks.repair(bench, 1, ("stick_pot",))
    assert [one.unit for one in goods_in.ready_to_finish(bench)] == [2]


@pytest.mark.parametrize("outcome", ["dud", "never", "wrong"])
def test_what_failed_is_to_be_found_again_and_undo_puts_it_back(bench, outcome):
    before = [list(bench.database[name].rows) for name in ("order_lines", "needs", "set_asides", "parts", "arrivals")]
    goods_in.went_wrong(bench, line_of(bench).id, outcome, 1)
    line = line_of(bench)
    assert (line.received, line.failed, line.open_packs) == (0, 1, 1)
    assert states(bench) == ["ordered", "open"]
    assert drawer(bench) == []
    plan = planning.plan_lot(bench, with_front=False)
    assert [(one.sku, one.packs, one.units) for one in plan.order] == [("NB-1", 1, (2,))]
    take_back(bench)
    after = [list(bench.database[name].rows) for name in ("order_lines", "needs", "set_asides", "parts", "arrivals")]
    assert after == before
    do_again(bench)
    assert states(bench) == ["ordered", "open"]


def test_what_came_instead_lies_in_the_drawer(bench):
    goods_in.went_wrong(bench, line_of(bench).id, "wrong", instead="trimmer 10k")
    assert drawer(bench) == [("", "trimmer 10k", 2)]
    assert states(bench) == ["open", "open"]
    assert store.arrivals(bench.database)[0].note == "trimmer 10k"


def test_half_came_half_did_not_and_nothing_is_open_then(bench):
    goods_in.receive(bench, line_of(bench).id, 1)
    goods_in.went_wrong(bench, line_of(bench).id, "never")
    assert line_of(bench).open_packs == 0
    assert states(bench) == ["received", "open"]
    with pytest.raises(Refused, match="nothing of it is still to come"):
        goods_in.receive(bench, line_of(bench).id)
    with pytest.raises(Refused, match="has come already"):
        ordering.cancel_order(bench, 1)


@pytest.mark.parametrize(("packs", "outcome"), [(0, "dud"), (3, "dud"), (1, "lost"), (-1, "never")])
def test_what_is_refused_changes_nothing(bench, packs, outcome):
    before = list(bench.database["order_lines"].rows)
    with pytest.raises(Refused):
        goods_in.went_wrong(bench, line_of(bench).id, outcome, packs)
    assert list(bench.database["order_lines"].rows) == before
    with pytest.raises(Refused, match="no such order line"):
        goods_in.went_wrong(bench, 99, "dud")


def test_an_order_is_late_from_the_day_after_it_was_due(bench):
    ((order, lines),) = ordering.list_orders(bench)
    due = date.fromisoformat(order.due[:10])
    assert [goods_in.days_late(order, lines, due + timedelta(days=extra)) for extra in (-1, 0, 2)] == [0, 0, 2]
    goods_in.receive(bench, line_of(bench).id)
    ((order, lines),) = ordering.list_orders(bench)
    assert goods_in.days_late(order, lines, due + timedelta(days=9)) == 0


def test_the_last_parcel_counts_whatever_was_in_it_and_what_never_came_tells_no_day(path):
    with opened(path, TODAY + timedelta(days=1)) as bench:
        goods_in.receive(bench, line_of(bench).id, 1)
    with opened(path, TODAY + timedelta(days=8)) as bench:
        goods_in.went_wrong(bench, line_of(bench).id, "dud", 1)
        waits = goods_in.waits_of(bench)["North Bench"]
        assert (waits.used, waits.orders) == ((3, 8), 1)
        take_back(bench)
        goods_in.went_wrong(bench, line_of(bench).id, "never", 1)
        waits = goods_in.waits_of(bench)["North Bench"]
        assert (waits.used, waits.orders) == ((3, 5), 0)


def test_an_order_sent_after_the_cut_off_is_reckoned_from_the_next_day(path):
    with opened(path, TODAY + timedelta(days=8)) as bench:
        goods_in.receive(bench, line_of(bench).id)
        assert goods_in.waits_of(bench)["North Bench"].used[1] == 8
        settings.change_person(bench, cut_off=0)
        assert goods_in.waits_of(bench)["North Bench"].used[1] == 7


def test_a_supplier_that_takes_longer_is_reckoned_with_as_it_is(path):
    with opened(path, TODAY + timedelta(days=8)) as bench:
        goods_in.receive(bench, line_of(bench).id, 1)
        assert goods_in.waits_of(bench)["North Bench"].orders == 0  # not wholly here yet
        goods_in.receive(bench, line_of(bench).id)
        waits = goods_in.waits_of(bench)["North Bench"]
        assert (waits.stated, waits.used, waits.orders) == ((3, 5), (3, 8), 1)
        (supplier,) = goods_in.suppliers_as_they_are(bench)
        assert (supplier.lead_days, supplier.lead_days_late) == (3, 8)
        assert catalog_store.suppliers(bench.database)[0].lead_days_late == 5
