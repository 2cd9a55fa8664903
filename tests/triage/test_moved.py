"""How decisions moved since the person last looked: by an answer, by a price through the plan, until it is seen."""

import shutil
from datetime import date

import pytest

from triage.actions import history, looks, lots, moved, needs, planning, prices, unit_view, units
from triage.actions.lot_view import lot_view
from triage.bench_file import BenchFile
from triage.demo import make_demo
from triage.moved import Change, Decided, Move, moves, why

TODAY = date(2026, 12, 1)
SUPPLIERS = """supplier,currency,lead_days,lead_days_late,min_order,shipping,free_from
Quick Corner,EUR,2,3,,4.00,
"""
OFFERS = """supplier,sku,part_number,description,pack,from,price,currency
Quick Corner,Q1,SM-4K,stick module SM-4K,1,1,2.10,EUR
"""


def test_a_move_is_another_pile_not_another_value():
    before = {1: Decided("look", 5.0), 2: Decided("fix", 7.0), 3: Decided("fix", 1.0)}
    now = {1: Decided("fix", 9.0), 2: Decided("fix", 2.0), 4: Decided("as_is", 1.0)}
    assert moves(before, now) == (Move(1, Decided("look", 5.0), Decided("fix", 9.0)),)


@pytest.mark.parametrize(
    ("by_plan", "changes", "told"),
    [
        (False, [Change(1, "light: no"), Change(None, "prices"), Change(1, "case opened")], "light: no, and 1 more"),
        (False, [Change(None, "prices"), Change(2, "light on: yes")], "prices"),
        (False, [Change(2, "light on: yes")], "unit 2: light on: yes"),
        (False, [Change(2, "unit 2: repaired the belt")], "unit 2: repaired the belt"),
        (False, [], "nothing was noted since"),
        (True, [Change(1, "light on: no"), Change(None, "prices")], "prices; by the plan of the whole lot"),
        (True, [], "the plan of the whole lot"),
    ],
)  # fmt: skip
def test_why_names_the_nearest_thing_that_was_done(by_plan, changes, told):
    assert why(1, changes, by_plan=by_plan) == told


def test_a_unit_that_gives_its_parts_to_others_is_told_with_them(tmp_path):
    make_demo(tmp_path / "demo.db", TODAY)
    with BenchFile(tmp_path / "demo.db", today=TODAY) as bench:
        moved.mark_seen(bench, lot_view(bench))
        planning.plan_lot(bench, with_front=False)
        was, now, reason = told(bench)[18]
    assert (was, now) == ("as_is", "part_out")
    assert reason.endswith("the plan of the whole lot, where its parts serve unit 17, which gains by it")


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Two gamepads that drift: the first looked through until its repair is proposed."""
    folder = tmp_path_factory.mktemp("moved")
    with BenchFile(folder / "bench.db", today=TODAY) as opened:
        for name, text in (("suppliers.csv", SUPPLIERS), ("offers.csv", OFFERS)):
            (folder / name).write_text(text, encoding="utf-8")
            prices.import_any(opened, folder / name)
        lots.new_lot(opened, "shelf")
        units.add_units(opened, "2 gamepads stick drift")
        for number in (1, 2):
            for hazard in opened.classes["gamepad"].hazards:
                looks.hazard(opened, number, hazard.id, "no")
            units.change_unit(opened, number, working=9000)
        answers(opened, 1)
        needs.describe_need(opened, 1, "stick_module", "SM-4K")
    return folder / "bench.db"


def answers(bench, number):
    """Answer as a pad with a worn stick would, until its repair is proposed."""
    for _ in range(60):
        view = unit_view.unit_view(bench, number)
        if view.ask_first is not None:
            looks.hazard(bench, number, view.ask_first.id, "no")
        elif view.action == "repair":
            return
        else:
            check = bench.classes["gamepad"].check(view.look.check)
            looks.answer(bench, number, check.id, "bad" if check.fails.get("stick_pot", 0.0) >= 0.5 else "good")
    pytest.fail("no repair was ever proposed")


@pytest.fixture
def bench(made, tmp_path):
    shutil.copy(made, tmp_path / "bench.db")
    with BenchFile(tmp_path / "bench.db", today=TODAY) as opened:
        yield opened


def piles(bench):
    return {row.number: row.pile for row in lot_view(bench).rows}


def told(bench):
    return {one.move.unit: (one.move.was.pile, one.move.now.pile, one.why) for one in lot_view(bench).standing.moved}


def test_nothing_moved_before_anybody_looked(bench):
    view = lot_view(bench)
    assert (view.standing.moved, view.standing.unrecorded) == ((), True)
    events = len(history.history(bench))
    moved.note_new(bench, view)
    assert not lot_view(bench).standing.unrecorded
    assert len(history.history(bench)) == events  # it is no event, and undo does not stumble over it


def test_an_answer_moves_a_unit_until_it_is_seen(bench):
    moved.mark_seen(bench, lot_view(bench))
    was = piles(bench)
    units.change_unit(bench, 2, working=60)  # hardly worth anything when it works
    now = piles(bench)
    assert was[2] != now[2]
    assert told(bench) == {2: (was[2], now[2], history.history(bench, 2)[0].summary)}
    # a unit that is new counts as seen as it stands, and does not hide what moved
    units.add_units(bench, "gamepad stick drift")
    moved.note_new(bench, lot_view(bench))
    assert set(told(bench)) == {2}
    moved.mark_seen(bench, lot_view(bench))
    assert told(bench) == {}
    history.take_back(bench)  # the added unit
    history.take_back(bench)  # the price
    assert told(bench)[2][:2] == (now[2], was[2])


def test_what_the_person_decided_is_no_news(bench):
    moved.mark_seen(bench, lot_view(bench))
    units.overrule(bench, 1, "as_is", "no time")
    assert told(bench) == {}


def test_a_price_moves_a_decision_of_the_plan(bench, tmp_path):
    before = planning.plan_lot(bench, with_front=False)
    assert {unit.number: unit.pile for unit in before.units}[1] == "fix"
    moved.mark_seen(bench, lot_view(bench))
    path = tmp_path / "offers.csv"
    path.write_text(OFFERS.replace("2.10", "95.00"), encoding="utf-8")
    prices.import_any(bench, path)
    assert told(bench) == {}  # the unit's own sums hold a guess; only the plan knows the price
    after = planning.plan_lot(bench, with_front=False)
    pile = {unit.number: unit.pile for unit in after.units}[1]
    assert pile != "fix"
    was, now, reason = told(bench)[1]
    assert (was, now) == ("fix", pile)
    assert reason == f"{history.history(bench)[0].summary}; by the plan of the whole lot"
    with BenchFile(bench.path, today=TODAY) as again:  # it is told until it is seen, also after a restart
        assert set(told(again)) == {1}
        moved.mark_seen(again, lot_view(again))
    assert told(bench) == {}
