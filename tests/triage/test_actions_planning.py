"""From fault to described need to one order, placed, taken back and received, on a real bench file."""

import csv
import re
import shutil
from datetime import date

import msgspec
import pytest

from catalog.text import Refused
from triage import store
from triage.actions import (
    goods_in,
    history,
    looks,
    lots,
    needs,
    ordering,
    own_words,
    parts,
    plan_facts,
    planning,
    prices,
    settings,
    unit_view,
    units,
)
from triage.actions.lot_view import lot_view
from triage.actions.plan_contests import verdict
from triage.actions.studies import study_of
from triage.bench_file import BenchFile
from triage.screens import order_draw

TODAY = date(2026, 12, 1)
BELT = "square belt 118 mm inside circumference 1.2 mm"
SUPPLIERS = """supplier,currency,lead_days,lead_days_late,min_order,shipping,free_from
Heather Spares,EUR,2,4,0.00,3.00,30.00
Long Wait Post,EUR,9,14,0.00,0.00,
Elsewhere,USD,1,2,0.00,0.00,
"""
OFFERS = f"""supplier,sku,description,pack,from,price,discount,currency
Heather Spares,H-1,{BELT},1,1,1.60,all_units,EUR
Heather Spares,H-1,{BELT},1,2,1.20,all_units,EUR
Long Wait Post,L-7,{BELT},5,1,0.90,all_units,EUR
Elsewhere,E-2,{BELT},1,1,0.10,all_units,USD
Heather Spares,H-9,square belt 200 mm inside circumference 1.2 mm,1,1,0.50,all_units,EUR
"""


@pytest.fixture(scope="module")
def two_consoles(tmp_path_factory, until_repair):
    """A bench file with prices and two consoles whose repair is proposed; made once, copied for each test."""
    folder = tmp_path_factory.mktemp("two consoles")
    with BenchFile(folder / "bench.db", today=TODAY) as opened:
        for name, text, take_in in (
            ("suppliers.csv", SUPPLIERS, prices.import_suppliers),
            ("offers.csv", OFFERS, prices.import_offers),
        ):
            path = folder / name
            path.write_text(text, encoding="utf-8")
            take_in(opened, path)
        lots.new_lot(opened, "box")
        units.add_units(opened, "2 disc console tray stuck")
        for number in (1, 2):
            units.change_unit(opened, number, working=9000)
            until_repair(opened, number)
    return folder / "bench.db"


@pytest.fixture
def bench(two_consoles, tmp_path):
    shutil.copy(two_consoles, tmp_path / "bench.db")
    with BenchFile(tmp_path / "bench.db", today=TODAY) as opened:
        yield opened


def test_nothing_is_ordered_before_it_is_described(bench):
    plan = planning.plan_lot(bench)
    assert {unit.pile for unit in plan.units} == {"fix"}
    assert plan.order == ()
    assert [(item.unit, item.part) for item in plan.to_describe] == [(1, "belt"), (2, "belt")]
    with pytest.raises(Refused, match="still to be described"):
        ordering.write_order(bench, None, bench.path.parent / "orders")


def test_described_needs_of_two_units_become_one_line(bench):
    for number in (1, 2):
        needs.describe_need(bench, number, "belt", BELT)
    plan = planning.plan_lot(bench)
    assert plan.status == "optimal"
    (line,) = plan.order
    assert (line.sku, line.packs, line.amount, line.units, line.grade) == ("H-1", 2, 240, (1, 2), "exact")
    assert (plan.goods, plan.shipping, plan.order_total) == (240, 300, 540)
    assert plan.arrival == "2026-12-03"
    assert plan.arrival_late == "2026-12-05"
    assert any("USD" in why for _, why in plan.left_out)


def test_the_front_shows_what_waiting_saves(bench):
    for number in (1, 2):
        needs.describe_need(bench, number, "belt", BELT)
    points = planning.plan_lot(bench).front
    assert [point.cost for point in points] == [540, 450]
    assert [point.day for point in points] == sorted(point.day for point in points)
    assert sum(point.cheapest for point in points) == 1


def test_a_day_has_one_point_and_of_two_the_cheaper_with_waiting_stays(bench):
    """The plan's own order may be dearer in money than the front's of its day, and cheaper with waiting."""
    for number in (1, 2):
        needs.describe_need(bench, number, "belt", BELT)
    plan = planning.plan_lot(bench)
    first, last = plan.front
    own = msgspec.structs.replace(last, cost=last.cost + 50, total=min(first.total, last.total) - 1, cheapest=True)
    days = msgspec.structs.replace(plan, own=own).days
    assert days == (msgspec.structs.replace(first, cheapest=False), own)
    between = msgspec.structs.replace(own, day=first.day + 1)
    assert [point.day for point in msgspec.structs.replace(plan, own=between).days] == [
        first.day, first.day + 1, last.day
    ]  # fmt: skip


def test_what_lies_in_the_drawer_is_not_ordered(bench):
    parts.add_part(bench, BELT, quantity=1, place="drawer 3")
    for number in (1, 2):
        needs.describe_need(bench, number, "belt", BELT)
    plan = planning.plan_lot(bench)
    assert [(line.place, line.pieces) for line in plan.drawer] == [("drawer 3", 1)]
    assert [(line.sku, line.pieces) for line in plan.order] == [("H-1", 1)]
    both = [*plan.drawer[0].units, *plan.order[0].units]
    assert sorted(both) == [1, 2]


@pytest.mark.parametrize("turned", [False, True])
def test_of_two_belts_in_the_drawer_the_better_fitting_one_is_planned(bench, turned):
    belts = [BELT.replace("118", "117"), BELT]
    for belt in belts[::-1] if turned else belts:
        parts.add_part(bench, belt, quantity=1)
    needs.describe_need(bench, 1, "belt", BELT)
    plan = planning.plan_lot(bench)
    assert [(line.description, line.pieces) for line in plan.drawer] == [(BELT, 1)]


def test_a_unit_sold_as_it_stands_leaves_the_order(bench):
    for number in (1, 2):
        needs.describe_need(bench, number, "belt", BELT)
    units.overrule(bench, 2, "as_is", "sold to the neighbour")
    (line,) = planning.plan_lot(bench).order
    assert (line.packs, line.amount, line.units) == (1, 160, (1,))


def test_a_part_that_nothing_fits_is_told(bench):
    needs.describe_need(bench, 1, "belt", "square belt 555 mm inside circumference 1.2 mm")
    plan = planning.plan_lot(bench)
    assert any("unit 1" in text and "555 mm" in text for text in plan.conflicts)
    assert plan.units[0].pile != "fix"


def test_papers_are_written_whole(bench, tmp_path):
    needs.describe_need(bench, 1, "belt", BELT)
    files = ordering.write_order(bench, None, tmp_path / "orders")
    assert sorted(path.name for path in files) == ["order-heather-spares.csv", "order.md"]
    with (tmp_path / "orders" / "order-heather-spares.csv").open(encoding="utf-8", newline="") as file:
        (row,) = csv.DictReader(file)
    assert row == {
        "supplier": "Heather Spares",
        "sku": "H-1",
        "description": BELT,
        "packs": "1",
        "pack": "1",
        "price": "1.60",
        "line_total": "1.60",
        "currency": "EUR",
        "units": "1",
        "grade": "exact",
    }
    text = (tmp_path / "orders" / "order.md").read_text(encoding="utf-8")
    assert "together 4.60 EUR" in text
    assert not [path for path in (tmp_path / "orders").iterdir() if path.name.startswith(".")]


def test_a_placed_order_is_reversed_only_by_a_counter_entry(bench):
    needs.describe_need(bench, 1, "belt", BELT)
    placed = ordering.place_order(bench)
    assert [need.state for need in store.needs(bench.database, number=1)] == ["ordered"]
    with pytest.raises(Refused, match="counter-entry"):
        history.take_back(bench)
    assert planning.plan_lot(bench).order == ()
    ordering.cancel_order(bench, placed.orders[0].id)
    assert [need.state for need in store.needs(bench.database, number=1)] == ["open"]
    assert len(planning.plan_lot(bench).order) == 1
    with pytest.raises(Refused, match="no such order in force"):
        ordering.cancel_order(bench, placed.orders[0].id)


def test_goods_come_in_part_and_free_the_unit_when_whole(bench):
    for number in (1, 2):
        needs.describe_need(bench, number, "belt", BELT)
    (line,) = ordering.place_order(bench).lines
    assert line.packs == 2
    goods_in.receive(bench, line.id, 1)
    assert [need.state for need in store.needs(bench.database)] == ["received", "ordered"]
    with pytest.raises(Refused, match="1 to 1 packs"):
        goods_in.receive(bench, line.id, 2)
    goods_in.receive(bench, line.id)
    assert {need.state for need in store.needs(bench.database)} == {"received"}
    assert [(part.description, part.quantity) for part in parts.list_parts(bench)] == [(BELT, 2)]
    looks.repair(bench, 1, ("tray_belt",))
    assert [need.state for need in store.needs(bench.database, number=1)] == ["fitted"]


@pytest.mark.parametrize(
    ("part", "text", "details", "words"),
    [
        ("engine", BELT, {}, "no part of that name"),
        ("belt", "", {}, "say what it is"),
        ("belt", BELT, {"kind": "rubber"}, "unknown kind"),
        ("belt", BELT, {"role": "hero"}, "unknown role"),
        ("belt", BELT, {"pieces": 0}, "1 to 999"),
        ("belt", "belt 43mm sq 1.2", {}, "more than one way"),
    ],
)
def test_a_description_that_does_not_tell_is_refused(bench, part, text, details, words):
    with pytest.raises(Refused, match=words):
        needs.describe_need(bench, 1, part, text, **details)
    assert store.needs(bench.database) == []


def test_a_plan_follows_from_the_facts_alone_also_when_hours_are_scarce(bench):
    for number in (1, 2):
        needs.describe_need(bench, number, "belt", BELT)
    free = planning.plan_lot(bench)
    lots.change_lot(bench, 1, bench_minutes=int(sum(unit_view.unit_view(bench, n).minutes for n in (1, 2))) + 40)
    first = planning.plan_lot(bench)
    assert store.lot_minutes(store.settings(bench.database)).get(1, 0.0) > 0
    assert first.total < free.total
    assert planning.still_holds(bench, first)
    again = planning.plan_lot(bench)
    assert (again.total, again.units, again.order, again.basis) == (first.total, first.units, first.order, first.basis)


def test_the_lot_shows_the_sums_that_the_plan_adds_up(bench):
    """Where minutes are scarce, only the advice reckons with their worth; the sums stay at the person's own hour."""
    free = {row.number: (row.value, row.low, row.high, row.loss_chance) for row in lot_view(bench).rows}
    store.keep_lot_worths(bench.database, 1, minute=400.0, day=0.0)
    scarce = lot_view(bench)
    for row in scarce.rows:
        found = study_of(bench, row.number)
        assert found.decision != found.plain
        assert row.value == found.plain.sum_of(row.pile).value
        assert row.pile == found.pile != "fix"  # the advice is the scarce one
    store.keep_lot_worths(bench.database, 1, minute=0.0, day=0.0)
    assert {row.number: (row.value, row.low, row.high, row.loss_chance) for row in lot_view(bench).rows} == free
    assert study_of(bench, 1).plain is study_of(bench, 1).decision


@pytest.mark.parametrize("name", ["the drawer", "donor 4"])
def test_a_supplier_called_like_one_of_ours_gets_its_sheet(bench, tmp_path, name):
    for file, text, take_in in (
        ("suppliers.csv", f"supplier,currency,lead_days,shipping\n{name},EUR,1,0.00\n", prices.import_suppliers),
        ("offers.csv", f"supplier,sku,description,pack,from,price\n{name},D-4,{BELT},1,1,0.10\n", prices.import_offers),
    ):
        path = tmp_path / file
        path.write_text(text, encoding="utf-8")
        take_in(bench, path)
    for number in (1, 2):
        needs.describe_need(bench, number, "belt", BELT)
    plan = planning.plan_lot(bench)
    (line,) = plan.order
    assert (line.supplier, line.sku, line.donor, line.part_id) == (name, "D-4", None, None)
    (sheet,) = plan.sheets
    assert (sheet.supplier, sheet.goods, [each.sku for each in sheet.lines]) == (name, 20, ["D-4"])
    placed = ordering.place_order(bench, as_shown=plan)
    assert [order.supplier for order in placed.orders] == [name]


def test_a_unit_may_be_left_lying_when_the_hours_are_gone(bench):
    lots.change_lot(bench, 1, bench_minutes=1)
    plan = planning.plan_lot(bench)
    assert plan.status == "optimal"
    assert {unit.pile for unit in plan.units} == {"hold"}


def test_what_was_ordered_counts_against_the_ceiling_of_the_lot(bench):
    for number in (1, 2):
        needs.describe_need(bench, number, "belt", BELT)
    (order,) = ordering.place_order(bench).orders
    lots.change_lot(bench, 1, cash_limit=order.goods + order.shipping)
    units.add_units(bench, "1 radio no sound")
    assert plan_facts.gather(bench, lots.get_lot(bench), None).sourcing.problem.cash_limit == 0


def test_a_unit_that_is_not_fixed_says_why(bench):
    needs.describe_need(bench, 1, "belt", BELT)
    assert planning.plan_lot(bench).units[0].turned_down == ""
    lots.change_lot(bench, 1, deadline="2026-12-04")
    first = planning.plan_lot(bench).units[0]
    assert first.pile != "fix"
    assert "tray belt for unit 1: wanted by 2026-12-04, it may not be here before 2026-12-05" in first.turned_down
    lots.change_lot(bench, 1, deadline="", cash_limit=100)
    assert "at least 4.50 in goods and postage, the limit is 1.00" in planning.plan_lot(bench).units[0].turned_down


def test_parts_too_dear_for_what_the_repair_brings(bench, tmp_path):
    dear = OFFERS.replace("1.60", "91.60").replace("1.20", "91.20").replace("0.90", "90.90")
    (tmp_path / "offers.csv").write_text(dear, encoding="utf-8")
    prices.import_offers(bench, tmp_path / "offers.csv")
    needs.describe_need(bench, 1, "belt", BELT)
    first = planning.plan_lot(bench).units[0]
    assert first.pile != "fix"
    assert re.fullmatch(r"with its parts and their postage, fixing brings \d+\.\d\d less", first.turned_down)


def test_substitute_or_wait_holds_two_whole_orders(bench, tmp_path):
    near = "square belt 119 mm inside circumference 1.2 mm"
    offers = f"""supplier,sku,description,pack,from,price,discount,currency
Heather Spares,H-1,{near},1,1,1.60,all_units,EUR
Long Wait Post,L-7,{BELT},5,1,0.20,all_units,EUR
"""
    (tmp_path / "offers.csv").write_text(offers, encoding="utf-8")
    prices.import_offers(bench, tmp_path / "offers.csv")
    for number in (1, 2):
        needs.describe_need(bench, number, "belt", BELT)
    plan = planning.plan_lot(bench)
    assert [one.unit for one in plan.contested] == [1, 2]
    for one in plan.contested:
        assert (one.now.grade, one.wait.grade) == ("drop-in", "exact")
        assert (one.now.date, one.wait.date) == ("2026-12-03", "2026-12-10")
        assert one.ahead == one.now.total - one.wait.total
        assert {line.sku for line in one.wait.ordered.order if one.unit in line.units} == {"L-7"}
        other = plan.ordering((one.now if one.taken == "wait" else one.wait).ordered)
        assert other.order_total == sum(sheet.goods + sheet.shipping for sheet in other.sheets)
        said = " ".join(verdict(one, "EUR"))
        assert f"a day of unit {one.unit} costs" in said
    placed = ordering.place_order(bench, as_shown=other)
    assert {line.sku for line in placed.lines} == {line.sku for line in other.order}


def test_a_pile_by_hand_says_what_it_costs(bench):
    for number in (1, 2):
        needs.describe_need(bench, number, "belt", BELT)
    free = planning.plan_lot(bench)
    assert [unit.pin_costs for unit in free.units] == [None, None]
    units.overrule(bench, 1, "as_is", "no time for it")
    kept = planning.plan_lot(bench)
    by_unit = {unit.number: unit for unit in kept.units}
    assert by_unit[1].pile == "as_is"
    assert by_unit[1].pin_costs == pytest.approx(free.total - kept.total, rel=0.05)
    assert by_unit[1].pin_costs > 0
    assert by_unit[2].pin_costs is None
    assert planning.plan_lot(bench, with_front=False).units[0].pin_costs is None
    assert "by hand, costs " in str(order_draw.decisions(kept, 76))


def test_an_order_after_cut_off_or_on_a_holiday_starts_the_next_working_day(bench, monkeypatch):
    for number in (1, 2):
        needs.describe_need(bench, number, "belt", BELT)
    monkeypatch.setattr(BenchFile, "hour", property(lambda self: 15))
    assert planning.plan_lot(bench).arrival == "2026-12-03"
    settings.change_person(bench, cut_off=15)
    shown = planning.plan_lot(bench)
    assert (shown.arrival, shown.arrival_late) == ("2026-12-04", "2026-12-06")
    settings.change_person(bench, holidays=["2026-12-02"])
    assert planning.plan_lot(bench).arrival == "2026-12-05"
    monkeypatch.setattr(BenchFile, "hour", property(lambda self: 14))
    assert planning.plan_lot(bench).arrival == "2026-12-03"
    with pytest.raises(Refused, match=r"^settings\.cut_off: expected an hour"):
        settings.change_person(bench, cut_off=25)
    with pytest.raises(Refused, match=r"^settings: "):
        settings.change_person(bench, holidays=["Christmas"])


def test_what_was_described_stays_in_sight_when_it_is_not_wanted(bench):
    held = needs.describe_need(bench, 1, "belt", BELT)
    with pytest.raises(Refused, match="it is not dropped"):
        needs.want_again(bench, held.id)
    needs.drop_need(bench, held.id)
    assert not any(item.need for item in needs.wanted_parts(bench))
    assert [(item.unit, item.aside) for item in needs.wanted_parts(bench, aside=True) if item.need] == [(1, "dropped")]
    assert not planning.plan_lot(bench).order
    needs.want_again(bench, held.id)
    assert [line.units for line in planning.plan_lot(bench).order] == [(1,)]
    units.overrule(bench, 1, "as_is", "no time for it")
    (kept,) = [item for item in needs.wanted_parts(bench, aside=True) if item.need]
    assert (kept.aside, kept.need.text) == ("elsewhere", BELT)
    assert not any(item.unit == 1 for item in needs.wanted_parts(bench))
    assert not planning.plan_lot(bench).order


def test_what_flips_it_is_said_the_right_way_round_also_when_the_substitute_finishes_later(bench, tmp_path):
    near = "square belt 119 mm inside circumference 1.2 mm"
    (tmp_path / "offers.csv").write_text(
        "supplier,sku,description,pack,from,price,discount,currency\n"
        f"Heather Spares,H-1,{near},1,1,1.60,all_units,EUR\n"
        f"Long Wait Post,L-7,{BELT},5,1,0.20,all_units,EUR\n",
        encoding="utf-8",
    )
    prices.import_offers(bench, tmp_path / "offers.csv")
    needs.describe_need(bench, 1, "belt", BELT)
    (one,) = planning.plan_lot(bench).contested
    dear = msgspec.structs.replace(one, day_cost=10**6, flip_day_cost=63.0)
    later = msgspec.structs.replace(dear, now=msgspec.structs.replace(dear.now, unit_date="2027-01-01"))
    assert "Waiting wins if a day of unit 1 costs less than 0.63" in " ".join(verdict(dear, "EUR"))
    assert "The substitute wins if a day of unit 1 costs less than 0.63" in " ".join(verdict(later, "EUR"))


def test_another_class_leaves_no_part_of_the_old_one_behind(bench):
    needs.describe_need(bench, 1, "belt", BELT)
    ordering.place_order(bench)
    units.change_unit(bench, 1, device_class="gamepad")
    assert all(part.unit != 1 or part.part != "belt" for part in needs.wanted_parts(bench))
    assert planning.plan_lot(bench).status == "optimal"


def test_what_was_described_anew_at_the_last_moment_is_not_ordered(bench, monkeypatch):
    needs.describe_need(bench, 1, "belt", BELT)
    plan = planning.plan_lot(bench)
    monkeypatch.setattr(ordering, "still_holds", lambda *_: True)  # another program is quicker than the look at it
    needs.describe_need(bench, 1, "belt", "square belt 200 mm inside circumference 1.2 mm")
    with pytest.raises(Refused, match="described anew meanwhile"):
        ordering.place_order(bench, as_shown=plan)
    assert store.orders(bench.database) == []


def test_a_figure_of_ones_own_holds_in_the_plan(bench):
    needs.describe_need(bench, 1, "belt", BELT.replace("118", "116"))

    def grades():
        return {str(fit.grade) for fit in plan_facts.gather(bench, lots.get_lot(bench), None).sourcing.fits.values()}

    assert grades() == {"compromise", "refuse"}
    own_words.set_figure(bench, "belt", "BE1", "drop-in to", 1.03)
    assert grades() == {"drop-in", "refuse"}
    history.take_back(bench)
    assert grades() == {"compromise", "refuse"}


def test_bench_hours_by_day_limit_the_plan_and_a_day_more_has_a_worth(bench):
    for number in (1, 2):
        needs.describe_need(bench, number, "belt", BELT)
    free = planning.plan_lot(bench, with_front=False)
    assert {unit.pile for unit in free.units} == {"fix"}
    assert (free.minute_worth, free.day_worth) == (None, None)
    # TODAY is a Tuesday; the belts come on Thursday, after the only bench day before Friday
    lots.change_lot(bench, 1, week="tue 9; fri 9", deadline="2026-12-04")
    assert lots.get_lot(bench, 1).week == "Tue 9; Fri 9"
    short = planning.plan_lot(bench, with_front=False)
    assert "fix" not in {unit.pile for unit in short.units}
    assert short.day_worth == pytest.approx(free.total - short.total, abs=1.0)
    view = lot_view(bench)
    assert (view.hour_worth, view.day_worth) == (pytest.approx(short.minute_worth * 60), pytest.approx(short.day_worth))
    lots.change_lot(bench, 1, deadline="2026-12-05")
    assert {unit.pile for unit in planning.plan_lot(bench, with_front=False).units} == {"fix"}
    lots.change_lot(bench, 1, deadline="", week="")
    assert (lot_view(bench).hour_worth, lot_view(bench).day_worth) == (None, None)


def test_what_was_done_today_is_taken_off_todays_hours_in_the_plan_and_on_the_lot(bench):
    for number in (1, 2):
        needs.describe_need(bench, number, "belt", BELT)
    spent = lot_view(bench).minutes_spent  # all of it was looked at on TODAY, a Tuesday
    assert spent > 0
    lots.change_lot(bench, 1, week="tue 9; wed 1", deadline="2026-12-03")

    def minutes():
        return plan_facts.gather(bench, lots.get_lot(bench), None).problem.bench

    assert minutes().by_day == (540 - spent, 60)
    assert minutes().minutes == 600 - spent
    looks.answer(bench, 1, "disc_spin", "s", minutes=30)
    shown, plan = lot_view(bench).today, planning.plan_lot(bench, with_front=False).today
    assert shown == plan
    assert (plan.stated, plan.spent, plan.left) == (540, spent + 30, 510 - spent)
    looks.answer(bench, 1, "disc_spin", "s", minutes=900)
    assert minutes().by_day == (0, 60)
    assert lot_view(bench).today.left == 0
    with BenchFile(bench.path, today=date(2026, 12, 2)) as tomorrow:  # what was done yesterday is over
        assert lot_view(tomorrow).today.spent == 0
        assert plan_facts.gather(tomorrow, lots.get_lot(tomorrow), None).problem.bench.by_day == (60,)
    lots.change_lot(bench, 1, deadline="")
    assert (lot_view(bench).today, planning.plan_lot(bench, with_front=False).today) == (None, None)


def test_a_falling_price_makes_waiting_dear(bench):
    for number in (1, 2):
        needs.describe_need(bench, number, "belt", BELT)
        units.overrule(bench, number, "fix", "wanted")
    before = planning.plan_lot(bench, with_front=False)
    lots.change_lot(bench, 1, price_fall=0.07)
    falling = planning.plan_lot(bench, with_front=False)
    days = (date.fromisoformat(falling.arrival) - TODAY).days
    # 1 % of 90.00 a day and unit on top of the person's 0.2 %
    assert falling.waiting - before.waiting == pytest.approx(2 * days * 90, abs=2)
    with pytest.raises(Refused, match="share from 0 to 1"):
        lots.change_lot(bench, 1, price_fall=1.5)
    with pytest.raises(Refused, match="is no day with its hours"):
        lots.change_lot(bench, 1, week="often")


@pytest.mark.parametrize(("typed", "share"), [("", 0.0), ("2.5", 0.025), ("10 %", 0.1), ("2,5%", 0.025)])
def test_a_percentage_as_it_is_typed(typed, share):
    assert lots.share_of(typed) == pytest.approx(share)


def test_a_falling_price_says_by_when_each_is_done(bench):
    for number in (1, 2):
        needs.describe_need(bench, number, "belt", BELT)
        units.overrule(bench, number, "fix", "wanted")
    units.change_unit(bench, 2, working=30000)
    lots.change_lot(bench, 1, price_fall=0.07, week="daily 0.4", deadline="2026-12-13")
    plan = planning.plan_lot(bench, with_front=False)
    done = {unit.number: unit.done for unit in plan.units}
    assert {unit.pile for unit in plan.units} == {"fix"}
    assert "2026-12-03" <= done[2] < done[1] <= "2026-12-13"  # the dearer one first, after the belts came
    lots.change_lot(bench, 1, price_fall=0.0)
    assert {unit.done for unit in planning.plan_lot(bench, with_front=False).units} == {""}
