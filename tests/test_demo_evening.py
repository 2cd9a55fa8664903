"""One more evening over the demo lot, on the real program at 80x24: a look, a repair, an order, a parcel, and home."""

from datetime import date

import pytest

from triage.actions.lot_view import lot_view
from triage.actions.ordering import list_orders
from triage.actions.parts import list_parts
from triage.actions.unit_view import unit_view
from triage.demo import make_demo
from triage.screens.app import LotwrightApp

TODAY = date(2031, 3, 5)
SIZE = (80, 24)
REPAIRED = 8
"""A gamepad whose new button pads lie in the drawer."""
NO_MORE_THAN = 30
"""Questions that a unit with nothing wrong any more is asked at most."""


@pytest.fixture(autouse=True)
def _calm(monkeypatch):
    monkeypatch.setenv("TEXTUAL_ANIMATIONS", "none")


def held(app, number):
    return next(part.quantity for part in list_parts(app.bench) if part.part_number == number)


async def test_an_evening_over_the_demo_lot(tmp_path, settled, press, seen):
    path = tmp_path / "demo.db"
    make_demo(path, TODAY)
    app = LotwrightApp(path, today=TODAY)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await settled(pilot)
        assert "holiday box" in seen(app)
        assert "23 units" in seen(app)

        # on with the look that pays most
        await press(pilot, "b", "enter")
        view = app.place._view
        number, done = view.unit.number, len(view.done)
        assert view.action == "check"
        assert view.look.question.split()[0] in seen(app)
        await press(pilot, "y")
        assert len(unit_view(app.bench, number).done) == done + 1

        # one repair, with the part that lies in the drawer, and its retest
        await press(pilot, *["right"] * (REPAIRED - app.place._view.unit.number))
        view = app.place._view
        assert (view.unit.number, view.action, view.repair) == (REPAIRED, "repair", ("btn_rubber",))
        assert held(app, "BP-12") == 1
        await press(pilot, "r", "enter")
        assert held(app, "BP-12") == 0
        view = app.place._view
        assert "retest" in view.reason
        gamepad = app.bench.classes[view.unit.device_class]
        for _ in range(NO_MORE_THAN):
            view = app.place._view
            if view.fixed:
                break
            good = view.ask_first is None and gamepad.check(view.look.check).good != "no"
            await press(pilot, "y" if good else "n")
        assert app.place._view.fixed

        # the piles
        await press(pilot, "f2")
        assert next(row for row in app.place._view.rows if row.number == REPAIRED).fixed
        assert all(word in seen(app) for word in ("FIX", "PART-OUT", "AS-IS", "HAND OVER", "LOOK"))

        # the plan, and the order noted as sent
        await press(pilot, "f5")
        plan = app.place._plan
        assert plan.status == "optimal"
        assert len(plan.sheets) >= 2
        assert plan.sheets[0].supplier[:12] in seen(app)
        assert [line.donor for line in plan.donors] == [18]
        await press(pilot, "p", "2")
        orders = list_orders(app.bench)
        assert {order.supplier: order.goods for order, _ in orders} == {s.supplier: s.goods for s in plan.sheets}
        assert "on its way" in seen(app).casefold()

        # one line comes
        await press(pilot, "r", "enter", "escape")
        came = [line for _, lines in list_orders(app.bench) for line in lines if line.received]
        assert [line.received for line in came] == [line.packs for line in came] != []
        before = lot_view(app.bench)
        await press(pilot, "q")
    assert app.return_code == 0

    # the next evening everything is there
    reopened = LotwrightApp(path, today=TODAY)
    async with reopened.run_test(size=SIZE) as pilot:
        await settled(pilot)
        assert reopened.place._view == before
        assert unit_view(reopened.bench, REPAIRED).fixed
        assert [line for _, lines in list_orders(reopened.bench) for line in lines if line.received] == came
