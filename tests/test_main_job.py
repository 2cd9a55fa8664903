"""The whole job on the real program: an empty bench file, a box typed in, one repair, one order, everything kept."""

import csv
from datetime import date

import pytest

from triage.actions.lot_view import lot_view
from triage.actions.ordering import list_orders
from triage.actions.parts import list_parts
from triage.actions.unit_view import unit_view
from triage.bench_file import BenchFile
from triage.screens.app import LotwrightApp

TODAY = date(2026, 12, 1)
SIZES = [(80, 24), (160, 50)]
BOX = "disc console tray stuck\n2 gamepads drift\nradio crackles\nconsole pads"
BELT = "square belt 118 mm inside circumference 1.2 mm"

SUPPLIERS = """supplier,currency,lead_days,lead_days_late,min_order,shipping,free_from
Heather Spares,EUR,2,4,0.00,3.00,30.00
Long Wait Post,EUR,9,14,0.00,0.00,
"""
OFFERS = f"""supplier,sku,description,pack,min_packs,from,price,price_per,discount,currency
Heather Spares,H-1,{BELT},1,1,1,1.60,1,all_units,EUR
Heather Spares,H-1,{BELT},1,1,5,1.20,1,all_units,EUR
Long Wait Post,L-7,{BELT},5,1,1,0.90,1,all_units,EUR
"""
PARTS = """part_number,description,kind,quantity,place,unit_cost,currency
,square belt 92 mm inside circumference 1.0 mm,belt,2,drawer 1,0.40,EUR
,electrolytic 100 uF 25 V radial,electrolytic,6,drawer 2,0.08,EUR
"""


@pytest.fixture(autouse=True)
def _calm(monkeypatch):
    monkeypatch.setenv("TEXTUAL_ANIMATIONS", "none")


async def settle(pilot):
    """Wait until nothing is being worked out and the screen is drawn."""
    await pilot.pause()
    for _ in range(50):
        await pilot.app.workers.wait_for_complete()
        await pilot.pause()
        if all(worker.is_finished for worker in pilot.app.workers):
            return


async def press(pilot, *keys):
    for key in keys:
        await pilot.press(key)
        await settle(pilot)


async def write(pilot, text):
    """Type into whatever has the focus."""
    for letter in text:
        await pilot.press("enter" if letter == "\n" else letter if letter.isalnum() else NAMES.get(letter, letter))
    await settle(pilot)


NAMES = {" ": "space", ".": "full_stop", "/": "slash", "-": "minus", "_": "underscore", ",": "comma"}


async def fill(pilot, text):
    """Put text into the field that has the focus, as a paste would, and send it."""
    pilot.app.screen.focused.value = str(text)
    await press(pilot, "enter")


def seen(app):
    strips = app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in strip) for strip in strips)


async def answer_truly(pilot, device_class, faults):
    """Answer one question on the Bench as a unit with exactly these faults would show it."""
    view = pilot.app.place._view
    if view.ask_first is not None and view.ask_first.id in {"mains_inside", *view.recharged}:
        await press(pilot, "y", "1")  # yes, and the precaution is confirmed
        return
    if view.ask_first is not None:
        await press(pilot, "n")
        return
    check = device_class.check(view.look.check)
    bad = any(check.fails.get(fault, 0.0) >= 0.5 for fault in faults)
    good = "n" if check.good == "no" else "y"
    await press(pilot, {"y": "n", "n": "y"}[good] if bad else good)


@pytest.mark.parametrize("size", SIZES, ids=["80x24", "160x50"])
async def test_a_box_becomes_piles_one_order_and_a_fixed_unit(tmp_path, size):
    path = tmp_path / "bench.db"
    lists = {"suppliers.csv": SUPPLIERS, "offers.csv": OFFERS, "parts.csv": PARTS}
    for name, text in lists.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    app = LotwrightApp(path, today=TODAY)
    async with app.run_test(size=size, notifications=True) as pilot:
        # the box is typed in, on an empty bench file
        await settle(pilot)
        assert "What is in the box?" in seen(app)
        await write(pilot, BOX)
        await press(pilot, "ctrl+s")
        assert "what is it?" in seen(app)  # the doubtful one is asked
        await press(pilot, "1")
        assert "Disc console" in seen(app)

        # lists are taken in
        for name in ("suppliers.csv", "parts.csv", "offers.csv"):
            await press(pilot, "i")
            await fill(pilot, tmp_path / name)
            assert "What it would change" in seen(app)
            await press(pilot, "enter")
        assert len(list_parts(app.bench)) == 2

        # unit 1 on the Bench: its tray belt is slack, nothing else
        app.unit_number = 1
        await press(pilot, "f3")
        console = app.bench.classes["disc_console"]
        asked = 0
        while app.place._view.action != "repair" and asked < 40:
            await answer_truly(pilot, console, {"tray_belt"})
            asked += 1
        view = app.place._view
        assert view.repair == ("tray_belt",)
        assert view.pile == "fix"
        assert asked < 40
        happened = len(view.done)

        # an answer is taken back and given again
        await press(pilot, "u")
        assert len(app.place._view.done) < happened
        await press(pilot, "U")
        assert len(app.place._view.done) == happened

        # the part is described, found, and ordered
        await press(pilot, "d")
        await fill(pilot, BELT)
        await press(pilot, "f5")
        assert "Heather Spares" in seen(app)
        plan = app.place._plan
        assert plan.status == "optimal"
        assert [(line.sku, line.packs, line.units) for line in plan.order] == [("H-1", 1, (1,))]
        assert (plan.goods, plan.shipping) == (160, 300)
        await press(pilot, "f")
        await fill(pilot, tmp_path / "orders")
        with (tmp_path / "orders" / "order-heather-spares.csv").open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        assert [(row["sku"], row["line_total"], row["units"]) for row in rows] == [("H-1", "1.60", "1")]
        assert "4.60 EUR" in (tmp_path / "orders" / "order.md").read_text(encoding="utf-8")
        await press(pilot, "p")
        assert "most you want to spend" in seen(app)
        await press(pilot, "enter", "2")  # no limit; yes, it was sent
        assert "on its way" in seen(app).casefold()

        # it comes, is fitted, and the retest is asked for
        await press(pilot, "r", "1", "enter")
        await press(pilot, "f3", "r", "enter")
        view = app.place._view
        assert view.action == "check"
        assert not view.fixed
        assert "retest" in view.reason
        asked = 0
        while not app.place._view.fixed and asked < 40:
            await answer_truly(pilot, console, set())
            asked += 1
        view = app.place._view
        assert view.fixed
        assert view.pile == "fix"

        # the piles
        await press(pilot, "f2")
        rows = {row.number: row for row in app.place._view.rows}
        assert rows[1].fixed
        assert {row.pile for row in rows.values()} >= {"fix", "as_is"}
        assert "FIX" in seen(app)
        before = lot_view(app.bench)

    # the process is gone; everything is there
    with BenchFile(path, today=TODAY) as again:
        assert lot_view(again) == before
        view = unit_view(again, 1)
        assert view.fixed
        assert [need.state for need in view.needs] == ["fitted"]
        ((order, lines),) = list_orders(again)
        assert (order.supplier, order.goods, order.shipping) == ("Heather Spares", 160, 300)
        assert [line.received for line in lines] == [1]
    reopened = LotwrightApp(path, today=TODAY, first_place="bench")
    async with reopened.run_test(size=size) as pilot:
        reopened.unit_number = 1
        reopened.refresh_places()
        await settle(pilot)
        assert "every function tested good" in seen(reopened)
