"""The place Order: the plan as the actions say it, the days, files, placing, receiving, taking back."""

import threading

import msgspec
import pytest
from textual.widgets import Input

from catalog.money import show
from triage import store
from triage.actions import (
    goods_in,
    looks,
    lots,
    needs,
    order_timing,
    ordering,
    own_words,
    parts,
    planning,
    prices,
    units,
)
from triage.screens import order as order_module
from triage.screens import order_draw
from triage.screens.dialogs import Choose, Form
from triage.screens.order_receive import Receive
from triage.screens.plain import day
from triage.screens.rows import RowList

SIZES = pytest.mark.parametrize("size", [(80, 24), (160, 50)])
HOSTILE = "stick [@click=app.quit]module[/] [/x]"


@pytest.fixture
def shelf(bench, tmp_path, clear_hazards):
    """Three gamepads on the fix pile, of which two want a described stick module; a quick and a slow supplier."""
    lots.new_lot(bench, "cellar shelf", paid=1000)
    units.add_units(bench, "3 gamepads stick drift")
    for number in (1, 2, 3):
        clear_hazards(number)
        for check, said in (("connects", "y"), ("centre", "-14"), ("blow_retest", "n"), ("circle", "84")):
            looks.answer(bench, number, check, said)
        units.change_unit(bench, number, working=9000)
        units.overrule(bench, number, "fix", "sells well")
    files = {
        "suppliers.csv": "supplier,currency,lead_days,lead_days_late,min_order,shipping,free_from\n"
        "Quick Corner,EUR,2,3,,4.00,40.00\n"
        "Slow Boat,EUR,12,20,,1.00,\n",
        "offers.csv": "supplier,sku,part_number,description,pack,min_packs,stock,from,price,price_per,discount,"
        "currency\n"
        f"Quick Corner,Q1,SM-4K,{HOSTILE},1,,,1,9.10,1,,\n"
        "Slow Boat,S1,SM-4K,stick module SM-4K,3,,,1,6.00,3,,\n",
        "parts.csv": "part_number,description,quantity,place\nSM-9,stick module,1,drawer 2\n",
    }
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
        prices.import_any(bench, tmp_path / name)
    for number in (1, 2):
        needs.describe_need(bench, number, "stick_module", "SM-4K")
    lots.change_lot(bench, 1, no_cash_limit=True)
    return bench


def plan_of(bench):
    return planning.plan_lot(bench)


@SIZES
async def test_what_is_shown_is_what_the_plan_says(shelf, start, settled, seen, size):
    async with start("order").run_test(size=size) as pilot:
        await settled(pilot)
        text, plan = seen(pilot.app), plan_of(shelf)
        assert plan.sheets
        assert show(plan.order_total, "EUR", with_code=True) in text
        assert day(plan.arrival) in text
        assert "proven cheapest" in text
        for line in plan.order:
            assert show(line.amount, "EUR") in text
            assert f"for {', '.join(map(str, line.units))}" in text
        for sheet in plan.sheets:
            assert f"postage {show(sheet.shipping, 'EUR')}" in text
        assert "Describe first" in text
        cheapest = next(point for point in plan.front if point.cheapest)
        waits = show(cheapest.total - cheapest.cost, "EUR")
        paid = show(plan.order_total, "EUR")
        assert f"{show(cheapest.cost, 'EUR')} = paid {paid}; waiting {waits}" in text
        assert ("Unit by unit" in text) == (size[0] == 160)


def test_how_far_it_is_to_free_postage(shelf):
    plan = plan_of(shelf)
    for sheet in plan.sheets:
        free_from = next(one.free_from for one in prices.list_suppliers(shelf) if one.name == sheet.supplier)
        expected = free_from - sheet.goods if free_from and sheet.shipping else None
        assert sheet.to_free == expected


@SIZES
async def test_walking_the_days(shelf, start, settled, press, seen, size):
    async with start("order").run_test(size=size) as pilot:
        await settled(pilot)
        points = plan_of(shelf).front
        assert len(points) > 1
        here = next(place for place, point in enumerate(points) if point.cheapest)
        await press(pilot, *["left"] * here, *["right"] * (len(points) - 1))
        last = points[-1]
        assert f"◆ {len(points)} of {len(points)}, here {day(last.date)}: {show(last.cost, 'EUR')}" in seen(pilot.app)
        await press(pilot, "left")
        before = points[-2]
        assert f"here {day(before.date)}: {show(before.cost, 'EUR')}" in seen(pilot.app)


async def test_unit_by_unit_and_why_not(shelf, start, settled, press, seen):
    async with start("order").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "v")
        text, plan = seen(pilot.app), plan_of(shelf)
        assert show(round(plan.units[0].value), "EUR") in text
        assert "by hand" in text
        await press(pilot, "escape", "w")
        assert "Left out" in seen(pilot.app)
        for name, _ in plan.left_out:
            assert name.split(":")[0] in seen(pilot.app)


async def test_hostile_words_of_a_supplier_stay_words(shelf, start, settled, press, seen):
    lots.change_lot(shelf, 1, deadline="2026-12-08")  # too soon for the slow one
    shelf_plan = plan_of(shelf)
    async with start("order").run_test(size=(160, 50)) as pilot:
        await settled(pilot)
        assert any(line.description == HOSTILE for line in shelf_plan.order)
        assert HOSTILE in seen(pilot.app)
        await press(pilot, "enter")
        assert HOSTILE in seen(pilot.app)


async def test_files_are_written_where_it_says(shelf, start, settled, press, seen, tmp_path):
    async with start("order").run_test(size=(160, 50)) as pilot:
        await settled(pilot)
        await press(pilot, "f")
        assert isinstance(pilot.app.screen, Form)
        assert pilot.app.screen.query_one(Input).value == str(tmp_path / "orders")
        await press(pilot, "enter")
        names = {path.name for path in (tmp_path / "orders").iterdir()}
        assert "order.md" in names
        assert len(names) == len(plan_of(shelf).sheets) + 1
        for name in names:
            assert name in seen(pilot.app)


@SIZES
async def test_placing_asks_then_it_is_on_its_way_and_comes_in(shelf, start, settled, press, seen, size):
    lots.change_lot(shelf, 1, deadline="2026-12-08")  # too soon for the slow one, which sells them by three
    async with start("order").run_test(size=size) as pilot:
        await settled(pilot)
        await press(pilot, "p")
        assert isinstance(pilot.app.screen, Choose)
        assert "only a dated counter-entry does" in seen(pilot.app)
        await press(pilot, "1")
        assert not ordering.list_orders(shelf)
        await press(pilot, "p", "2")
        ((order, lines),) = ordering.list_orders(shelf)
        text = seen(pilot.app)
        assert "On its way from" in text
        assert day(order.due) in text
        await press(pilot, "r")
        assert isinstance(pilot.app.screen, Receive)
        assert lines[0].packs == 2
        await press(pilot, "1", "enter")
        ((_, lines),) = ordering.list_orders(shelf)
        assert lines[0].received == 1
        assert isinstance(pilot.app.screen, Receive)
        await press(pilot, "9", "enter")
        assert "expected 1 to 1 packs" in seen(pilot.app)
        await press(pilot, "backspace", "enter")
        ((_, lines),) = ordering.list_orders(shelf)
        assert lines[0].received == 2
        assert not isinstance(pilot.app.screen, Receive)
        assert any(part.place == goods_in.ARRIVED for part in parts.list_parts(shelf))
        assert "On its way from" not in seen(pilot.app)


@SIZES
async def test_what_came_dead_wrong_or_not_at_all_is_to_be_found_again(shelf, start, settled, press, seen, size):
    lots.change_lot(shelf, 1, deadline="2026-12-08")
    async with start("order").run_test(size=size) as pilot:
        await settled(pilot)
        await press(pilot, "p", "2", "r")
        await press(pilot, "1", "d")
        ((_, lines),) = ordering.list_orders(shelf)
        assert (lines[0].received, lines[0].failed) == (0, 1)
        assert "came dead" in seen(pilot.app)
        await press(pilot, "w")
        assert isinstance(pilot.app.screen, Form)
        await press(pilot, *"knob", "enter")
        ((_, lines),) = ordering.list_orders(shelf)
        assert (lines[0].received, lines[0].failed) == (0, 2)
        assert [part.description for part in parts.list_parts(shelf) if part.place == goods_in.ARRIVED] == ["knob"]
        assert "On its way from" not in seen(pilot.app)


async def test_the_cash_limit_is_asked_once_before_the_first_order(shelf, start, settled, press, seen):
    lots.change_lot(shelf, 1, no_cash_limit=False)
    async with start("order").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "p")
        assert "most you want to spend" in seen(pilot.app)
        await press(pilot, "x", "enter")
        assert isinstance(pilot.app.screen, Form)  # no amount: it stays, and nothing is kept
        await press(pilot, "backspace", "5", "enter")
        assert lots.get_lot(shelf).cash_limit == 500
        assert not isinstance(pilot.app.screen, Choose)  # the plan is worked out anew within it first
        assert "worked out anew within it" in seen(pilot.app)
        assert pilot.app.place._plan.order_total <= 500
        await press(pilot, "u", "p", "enter")
        assert lots.get_lot(shelf).no_cash_limit
        assert isinstance(pilot.app.screen, Choose)
        await press(pilot, "1", "p")
        assert isinstance(pilot.app.screen, Choose)  # it is not asked again
        assert "Was the order sent?" in seen(pilot.app)


async def test_a_cash_limit_left_unsaid_does_not_hold_the_order(shelf, start, settled, press, seen):
    lots.change_lot(shelf, 1, no_cash_limit=False)
    async with start("order").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "p", "escape", "2")
        assert ordering.list_orders(shelf)
        assert (lots.get_lot(shelf).cash_limit, lots.get_lot(shelf).no_cash_limit) == (None, False)


async def test_an_order_is_taken_back_by_a_counter_entry(shelf, start, settled, press, seen):
    ordering.place_order(shelf)
    async with start("order").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "Nothing to order" in seen(pilot.app)
        await press(pilot, "c", "1")
        ((order, _),) = ordering.list_orders(shelf)
        assert order.cancelled
        assert "proven cheapest" in seen(pilot.app)
        assert pilot.app.screen._plan.sheets


async def test_only_the_plan_that_was_shown_is_placed(shelf, start, settled, press, seen):
    async with start("order").run_test(size=(160, 50)) as pilot:
        await settled(pilot)
        await press(pilot, "p")
        needs.describe_need(shelf, 3, "stick_module", "SM-4K")
        await press(pilot, "2")
        assert not ordering.list_orders(shelf)
        assert "the plan is another one than was shown" in seen(pilot.app)


async def test_escape_stops_planning(shelf, start, settled, press, seen, until, monkeypatch):
    began, real = threading.Event(), order_module.plan_lot

    def endless(bench, lot_id, *, cancel, progress, better):
        began.set()
        while True:
            progress(0, 3)

    async with start("order").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        monkeypatch.setattr(order_module, "plan_lot", endless)
        await pilot.press("g")
        await until(pilot, began)
        await pilot.pause()
        assert "Esc stops" in seen(pilot.app)
        await press(pilot, "escape")
        assert "planning was stopped" in seen(pilot.app)
        await press(pilot, "p")
        assert not isinstance(pilot.app.screen, Choose)
        monkeypatch.setattr(order_module, "plan_lot", real)
        await press(pilot, "g")
        assert "proven cheapest" in seen(pilot.app)


async def test_enter_leads_on(shelf, start, settled, press, seen):
    async with start("order").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        rows = pilot.app.screen.query_one("#order-rows", RowList)
        targets = [row.target for row in pilot.app.screen._rows]
        row = next(place for place, target in enumerate(targets) if isinstance(target, needs.WantedPart))
        rows.cursor = row
        await press(pilot, "enter")
        assert pilot.app.place.PLACE == "parts"
        assert pilot.app.screen._item.unit == targets[row].unit


async def test_without_a_lot_it_says_so(bench, start, settled, press, seen):
    async with start("order").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "no lot" in seen(pilot.app)
        assert "planning the whole lot" not in seen(pilot.app)
        await press(pilot, "p")
        assert not isinstance(pilot.app.screen, Choose)


@SIZES
async def test_substitute_or_wait_side_by_side(shelf, tmp_path, start, settled, press, seen, size):
    own_words.add_pair(shelf, "SM-4K", "SM-4KX", note="same footprint")
    (tmp_path / "offers.csv").write_text(
        "supplier,sku,part_number,description,pack,price,currency\n"
        "Quick Corner,Q1,SM-4KX,stick module SM-4KX,1,2.10,EUR\n"
        "Slow Boat,S1,SM-4K,stick module SM-4K,1,2.00,EUR\n",
        encoding="utf-8",
    )
    prices.import_offers(shelf, tmp_path / "offers.csv")
    plan = plan_of(shelf)
    first = plan.contested[0]
    async with start("order").run_test(size=size) as pilot:
        await settled(pilot)
        await press(pilot, "s")
        text = seen(pilot.app)
        assert f"NOW drop-in, {day(first.now.date)}, 2.10" in text
        assert "WAIT exact, +10 d, 2.00" in text
        assert f"{'waiting' if first.ahead > 0 else 'now'} is {show(abs(first.ahead), 'EUR')} better" in text
        assert f"a day of unit {first.unit} costs" in text
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, Choose)
        other = "1" if first.taken == "wait" else "2"
        await press(pilot, other)
        side = first.now if first.taken == "wait" else first.wait
        text = seen(pilot.app)
        assert show(side.ordered.goods + side.ordered.shipping, "EUR", with_code=True) in text
        assert f"unit {first.unit} {'waits' if other == '2' else 'does not wait'}" in text


async def test_a_donor_gives_its_part_from_the_order(shelf, tmp_path, start, settled, press, seen):
    units.add_units(shelf, "gamepad buttons stick")
    for number in (1, 4):
        units.change_unit(shelf, number, model="black, on a cable")
    units.overrule(shelf, 4, "part_out", "for its parts")
    (tmp_path / "offers.csv").write_text(
        "supplier,sku,part_number,description,pack,price,currency\n"
        "Quick Corner,Q1,SM-4K,stick module SM-4K,1,29.00,EUR\n"
        "Slow Boat,S1,SM-4K,stick module SM-4K,1,29.00,EUR\n",
        encoding="utf-8",
    )
    prices.import_offers(shelf, tmp_path / "offers.csv")
    async with start("order").run_test(size=(160, 50)) as pilot:
        await settled(pilot)
        assert "Lift out of units that are taken apart" in seen(pilot.app)
        assert "SM-4K" in seen(pilot.app)
        assert "unit 4" in seen(pilot.app)
        rows = pilot.app.screen._rows
        pilot.app.screen.query_one(RowList).cursor = next(
            place for place, row in enumerate(rows) if getattr(row.target, "donor", None)
        )
        await press(pilot, "enter")
        assert "Is the pack swollen" in seen(pilot.app)  # asked before the form opens
        await press(pilot, "2")
        assert "For unit" in seen(pilot.app)
        assert not [part.name for part in parts.list_parts(shelf) if "SM-4K" in part.name]
        await press(pilot, "ctrl+s")
        (held,) = (part for part in parts.list_parts(shelf) if part.part_number == "SM-4K")
        assert held.place == "from unit 4"
        assert "Lift out of units" not in seen(pilot.app)
        assert [need.source for need in store.needs(shelf.database) if need.state == "reserved"] == ["from unit 4"]


def test_a_long_list_of_parts_to_describe_is_cut_and_says_so(shelf):
    plan = plan_of(shelf)
    wanted = msgspec.structs.replace(needs.wanted_parts(shelf)[0], need=None)
    for many, told in ((3, ""), (5, ""), (9, "and 4 more; Parts (F4) lists them all")):
        listed = order_draw.rows(msgspec.structs.replace(plan, to_describe=(wanted,) * many), (), 80, shelf.today)
        assert sum(row.target == wanted for row in listed) == min(5, many)
        more = [row.text.plain.strip() for row in listed if " more; " in row.text.plain]
        assert more == ([told] if told else [])


@SIZES
async def test_y_tells_why_a_line_is_bought(shelf, start, settled, seen, size):
    async with start("order").run_test(size=size) as pilot:
        await settled(pilot)
        listed = pilot.app.screen.query_one(RowList)
        line = next(
            place for place, row in enumerate(pilot.app.screen._rows) if getattr(row.target, "sku", "") in {"Q1", "S1"}
        )
        listed.cursor = line
        await pilot.press("y")
        await settled(pilot)
        text = " ".join(seen(pilot.app).split())
        assert "Why this line" in text
        assert "Without this line the whole order costs" in text
        await pilot.press("escape")
        assert isinstance(pilot.app.screen, order_module.OrderScreen)


async def test_h_closes_a_supplier_and_enter_on_its_row_opens_it_again(shelf, start, settled, seen):
    async with start("order").run_test(size=(160, 50)) as pilot:
        await settled(pilot)
        screen = pilot.app.screen
        (bought,) = {line.supplier for line in plan_of(shelf).order}
        screen.query_one(RowList).cursor = next(
            place for place, row in enumerate(screen._rows) if getattr(row.target, "supplier", "") == bought
        )
        await pilot.press("h")
        await pilot.pause()
        dialog = pilot.app.screen
        assert isinstance(dialog, Choose)
        dialog.dismiss("not")
        await settled(pilot)
        assert f"buy nothing from {bought}" in seen(pilot.app)
        assert bought not in {line.supplier for line in plan_of(shelf).order}
        screen.query_one(RowList).cursor = next(
            place for place, row in enumerate(screen._rows) if type(row.target).__name__ == "Pin"
        )
        await pilot.press("enter")
        await settled(pilot)
        assert bought in {line.supplier for line in plan_of(shelf).order}


@SIZES
async def test_t_tells_what_to_order_today_and_enter_shows_that_order(shelf, start, settled, press, seen, size):
    async with start("order").run_test(size=size) as pilot:
        await settled(pilot)
        await press(pilot, "t")
        page, view = pilot.app.screen, order_timing.order_timing(shelf, 1)
        text = " ".join(seen(pilot.app).split())
        assert order_timing.verdict(view)[0] in text
        assert "done in 3 days" in text or "No look pays any more" in text
        await press(pilot, "+")
        assert page.look_days == 4
        assert " ".join(order_timing.verdict(order_timing.order_timing(shelf, 1, look_days=4))[0].split()) in " ".join(
            seen(pilot.app).split()
        )
        await press(pilot, "-", "enter")
        await settled(pilot)
        assert isinstance(pilot.app.screen, order_module.OrderScreen)
        assert pilot.app.screen._plan.order == view.ordered.order
        assert "rest after looks" in seen(pilot.app)
        assert f"here {day(plan_of(shelf).arrival)}" in seen(pilot.app)
        await press(pilot, "t", "escape")
        assert isinstance(pilot.app.screen, order_module.OrderScreen)
