"""On the Order and the Bench: what rides along, spares, the later list, suppliers by hand, and when what arrives."""

from datetime import date, timedelta

import pytest
from textual.widgets import Input

from catalog.money import show
from triage import store
from triage.actions import later, looks, lots, needs, ordering, parts, planning, prices, spares, unit_view, units
from triage.papers import OrderSheet
from triage.screens import order_days, order_supplier
from triage.screens.dialogs import Choose, Form
from triage.screens.order_draw import Pin
from triage.screens.plain import day
from triage.screens.rows import RowList

TODAY = date(2026, 12, 1)
FUSE = "fuse T1.6AL 250V 5x20 glass"


@pytest.fixture
def shelf(bench, tmp_path, clear_hazards):
    """Two gamepads that want a stick module, and a makeshift one in a third."""
    lots.new_lot(bench, "cellar shelf", paid=1000)
    units.add_units(bench, "3 gamepads stick drift")
    for number in (1, 2, 3):
        clear_hazards(number)
        for check, said in (("connects", "y"), ("centre", "-14"), ("blow_retest", "n"), ("circle", "84")):
            looks.answer(bench, number, check, said)
        units.change_unit(bench, number, working=9000)
        units.overrule(bench, number, "fix", "sells well")
    units.overrule(bench, 3, "as_is", "sold so")
    files = {
        "suppliers.csv": "supplier,currency,lead_days,lead_days_late,shipping,free_from\n"
        "Quick Corner,EUR,2,3,4.00,40.00\nSlow Boat,EUR,12,20,1.00,\n",
        "offers.csv": "supplier,sku,part_number,description,pack,from,price\n"
        "Quick Corner,Q1,SM-4K,stick module SM-4K,1,1,9.10\n"
        f"Quick Corner,Q2,,{FUSE},1,1,0.40\n"
        "Slow Boat,S1,SM-4K,stick module SM-4K,1,1,8.00\n",
    }
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
        prices.import_any(bench, tmp_path / name)
    for number in (1, 2):
        needs.describe_need(bench, number, "stick_module", "SM-4K")
    lots.change_lot(bench, 1, no_cash_limit=True)
    return bench


def stand_on(screen, wanted):
    """Puts the cursor on the first row whose target is wanted."""
    screen.query_one(RowList).cursor = next(
        place for place, row in enumerate(screen._rows) if row.target is not None and wanted(row.target)
    )


def is_a(name, **fields):
    return lambda target: (
        type(target).__name__ == name and all(getattr(target, field) == value for field, value in fields.items())
    )


@pytest.mark.parametrize("size", [(80, 24), (160, 50)])
async def test_what_rides_along_is_shown_with_its_cost_and_its_worth_can_be_changed(
    shelf, start, settled, seen, press, size
):
    later.add_wish(shelf, 3, "stick_module", "SM-4K", instead="a worn one", worth=900)
    async with start("order").run_test(size=size) as pilot:
        await settled(pilot)
        screen = pilot.app.screen
        stand_on(screen, is_a("Riding"))
        await settled(pilot)
        assert "rides along for 8.00, worth 9.00" in seen(pilot.app)
        assert "for 1, 2, later 3" in seen(pilot.app)
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, Choose)
        assert "a worn one" in seen(pilot.app)
        pilot.app.screen.dismiss("change")
        await settled(pilot)
        pilot.app.screen.query_one("#in-worth", Input).value = "7.99"
        await press(pilot, "enter")
        assert later.later_list(shelf)[0].worth == 799
        assert "left: 8.00 more, worth 7.99" in seen(pilot.app)
        assert "later 3," not in seen(pilot.app)


async def test_spares_are_added_and_dropped_from_the_order(shelf, start, settled, seen, press):
    async with start("order").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "a")
        form = pilot.app.screen
        for name, text in (("text", FUSE), ("pieces", "2"), ("chance", "80 %"), ("price", "4.00")):
            form.query_one(f"#in-{name}", Input).value = text
        await press(pilot, "enter")
        (kept,) = spares.list_spares(shelf)
        assert (kept.text, kept.pieces, kept.chance, kept.price) == (FUSE, 2, 0.8, 400)
        stand_on(pilot.app.screen, is_a("Riding"))
        await settled(pilot)
        # alone at Quick Corner they would cost their postage too: 0.80 and 4.00 against 3.20 and 1.91
        assert show(planning.plan_lot(shelf).riding[0].worth, "EUR") == "5.11"
        assert "spare: 2 × fuse" in seen(pilot.app)
        await press(pilot, "L")
        assert "80 % a year, at 4.00" in seen(pilot.app)
        await press(pilot, "1", "2")
        assert spares.list_spares(shelf) == []


async def test_what_is_typed_wrong_is_said_in_the_form(shelf, start, settled, seen, press):
    async with start("order").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "a")
        pilot.app.screen.query_one("#in-text", Input).value = FUSE
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, Form)
        assert "chance" in seen(pilot.app)
        assert spares.list_spares(shelf) == []


@pytest.mark.parametrize("size", [(80, 24), (160, 50)])
async def test_a_supplier_is_changed_from_its_row_and_the_plan_follows(shelf, start, settled, seen, press, size):
    async with start("order").run_test(size=size) as pilot:
        await settled(pilot)
        assert planning.plan_lot(shelf).sheets[0].supplier == "Slow Boat"
        stand_on(pilot.app.screen, is_a("OrderSheet", supplier="Slow Boat"))
        await press(pilot, "e")
        pilot.app.screen.query_one("#in-shipping", Input).value = "-1"
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, Form)
        pilot.app.screen.query_one("#in-shipping", Input).value = "9.00"
        await press(pilot, "enter")
        assert {one.name: one.shipping for one in prices.list_suppliers(shelf)}["Slow Boat"] == 900
        assert "Quick Corner" in seen(pilot.app)
        assert planning.plan_lot(shelf).sheets[0].supplier == "Quick Corner"


async def test_where_one_part_is_bought_is_said_on_its_line(shelf, start, settled, seen, press):
    async with start("order").run_test(size=(160, 50)) as pilot:
        await settled(pilot)
        stand_on(pilot.app.screen, is_a("PlannedLine", sku="S1"))
        await press(pilot, "h")
        choices = [choice.id for choice in pilot.app.screen._choices]
        first = store.needs(shelf.database)[0].id
        pilot.app.screen.dismiss(f"not {first}")
        await settled(pilot)
        assert f"only {first}" in choices
        assert "for unit 1 not from Slow Boat" in seen(pilot.app)
        assert {line.sku: line.units for line in planning.plan_lot(shelf).order} == {"Q1": (1,), "S1": (2,)}
        assert any(isinstance(row.target, Pin) for row in pilot.app.screen._rows)


def sheet(goods, to_free, supplier="Slow Boat", due="2026-12-13", late="2026-12-21"):
    return OrderSheet(supplier, "EUR", (), goods, 100, due, late, to_free=to_free)


@pytest.mark.parametrize(
    ("goods", "to_free", "bar"),
    [(0, 1000, "░░░░░░░░░░"), (500, 500, "█████░░░░░"), (999, 1, "█████████░"), (1000, None, "")],
)
def test_the_postage_bar_is_full_only_where_postage_is_free(goods, to_free, bar):
    assert order_supplier.postage_bar(sheet(goods, to_free), 10) == bar


def test_the_time_line_puts_each_day_where_it_lies(shelf):
    ordering.place_order(shelf)
    units.overrule(shelf, 3, "fix", "after all")
    needs.describe_need(shelf, 3, "stick_module", "SM-4K")
    plan = planning.plan_lot(shelf)
    coming = order_days.arrivals_of(plan, ordering.list_orders(shelf, 1))
    assert [(one.supplier, one.on_its_way, one.whom) for one in coming] == [
        ("Slow Boat", False, "3"),
        ("Slow Boat", True, "1, 2"),
    ]
    lines = order_days.timeline(coming, TODAY, 78).plain.split("\n")
    new, old = lines[1], lines[2]
    assert new.index("●") == old.index("◌")
    assert new.count("╌") > 0 == old.count("╌")
    assert day("2026-12-13") in new
    later_on = order_days.timeline(coming, TODAY + timedelta(days=30), 78).plain
    assert "overdue, for 1, 2" in later_on
    assert order_days.timeline([], TODAY, 78).plain == ""


def test_another_way_has_no_figures_of_a_day_under_it(shelf):
    days = planning.plan_lot(shelf).days
    assert days
    assert "◆ 1 of" in order_days.front(days, 0, 78, "EUR").plain
    other = order_days.front(days, 0, 78, "EUR", way="rest after looks").plain
    assert "rest after looks" in other
    assert "◆ 1 of" not in other
    assert "together" not in other


async def test_when_what_arrives_has_a_page(shelf, start, settled, seen, press):
    async with start("order").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "i")
        assert seen(pilot.app).count("When what arrives") == 1
        assert f"{day('2026-12-13')}, for 1, 2" in seen(pilot.app)


async def test_the_exchange_is_asked_for_on_the_bench_and_done_there(shelf, start, settled, seen, press):
    wish = later.add_wish(shelf, 3, "stick_module", "SM-4K", instead="a worn one", worth=900)
    parts.add_part(shelf, "stick module SM-4K", part_number="SM-4K", quantity=1, place="drawer 2")
    units.overrule(shelf, 1, "as_is", "later")
    units.overrule(shelf, 2, "as_is", "later")
    ordering.place_order(shelf)
    assert [need.state for need in store.needs(shelf.database, number=3)] == ["reserved"]
    async with start("bench").run_test(size=(80, 24)) as pilot:
        pilot.app.unit_number = 3
        pilot.app.screen.refresh_place()
        await settled(pilot)
        assert "the proper stick module lies ready: exchange it (L)" in seen(pilot.app)
        await press(pilot, "L", "1", "1")
        assert later.later_list(shelf) == ()
        assert wish.id in {need.id for need in store.needs(shelf.database, number=3) if need.state == "fitted"}
        assert "exchanged for the proper one" in " ".join(line.text for line in unit_view.unit_view(shelf, 3).done)


async def test_something_makeshift_is_said_on_the_bench(shelf, start, settled, press):
    async with start("bench").run_test(size=(80, 24)) as pilot:
        pilot.app.unit_number = 3
        pilot.app.screen.refresh_place()
        await settled(pilot)
        await press(pilot, "L", "1")
        form = pilot.app.screen
        for name, text in (("part", "feet"), ("instead", "feet of 5 mm"), ("pieces", "4"), ("worth", "2")):
            form.query_one(f"#in-{name}", Input).value = text
        await press(pilot, "enter")
        (wish,) = later.later_list(shelf)
        assert (wish.need.part, wish.need.instead, wish.need.pieces, wish.worth) == ("feet", "feet of 5 mm", 4, 200)
        assert "feet is makeshift: feet of 5 mm" in unit_view.unit_view(shelf, 3).tell
