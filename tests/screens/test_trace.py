"""Following a signal on the Bench: the path drawn, the next point marked, one key an answer."""

import pytest

from triage import store
from triage.actions import looks, settings
from triage.actions.lots import new_lot
from triage.actions.own_paths import add_path, own_paths
from triage.actions.probing import trace_view
from triage.actions.units import add_units, change_unit
from triage.screens.dialogs import Choose
from triage.screens.trace import TracePage

SIZES = [(80, 24), (160, 50)]


@pytest.fixture
def handheld(bench, clear_hazards):
    new_lot(bench, "shelf", paid=2000)
    number = add_units(bench, "1 handheld dead").units[0].number
    clear_hazards(number)
    looks.answer(bench, number, "cells_run", "n")
    return number


@pytest.fixture
def probes(bench):
    return lambda number: [
        (item.subject, item.answer) for item in store.happenings(bench.database, number) if item.kind == "probe"
    ]


@pytest.mark.parametrize("size", SIZES)
async def test_the_path_is_drawn_and_the_next_point_marked(start, settled, press, seen, bench, handheld, size):
    async with start("bench").run_test(size=size) as pilot:
        await settled(pilot)
        assert "follow the signal" in seen(pilot.app)
        await press(pilot, "f")
        view = trace_view(bench, handheld)
        shown = seen(pilot.app)
        order = [shown.index(point.at[:28]) for point in view.points]
        assert order == sorted(order)
        assert "NEXT" in shown
        assert view.cautions[0] in shown
        for word in ("y  signal", "n  no signal", "w  weak", "c  can't tell"):
            assert word in shown
        assert max(map(len, shown.splitlines())) <= size[0]


async def test_each_key_is_kept_before_the_next_point_is_marked(start, settled, press, seen, bench, handheld, probes):
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "f")
        marked = []
        answers = {"cells": "y", "bay": "y", "jack": "y", "behind_fuse": "w", "behind_switch": "n", "rail": "n"}
        while (view := trace_view(bench, handheld)).next is not None:
            point = view.points[view.next].point
            marked.append(point)
            await press(pilot, answers[point])
        said = [subject.partition(".")[2] for subject, _ in probes(handheld)]
        assert said == [point for point in marked if point != "rail"]
        assert "HERE" in seen(pilot.app)
        assert "surface fuse blown" in seen(pilot.app)
        before = probes(handheld)
        await press(pilot, "u")
        assert probes(handheld) == before[:-1]
        assert "taken back" in seen(pilot.app)
        await press(pilot, "escape")
        assert not isinstance(pilot.app.screen, TracePage)


async def test_another_point_and_another_path(start, settled, press, seen, handheld, probes):
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "f")
        await press(pilot, "up", "up", "up", "up", "up", "up", "down", "w")
        assert probes(handheld) == [("supply.bay", "weak")]
        await press(pilot, "tab")
        assert "volume wheel to speaker" in seen(pilot.app)
        assert "needs a tool you do not have" in seen(pilot.app)
        await press(pilot, "tab")
        assert "weak signal" in seen(pilot.app)


async def test_a_hazard_is_asked_before_the_probe_and_a_yes_locks(start, settled, press, seen, bench, probes):
    new_lot(bench, "shelf")
    number = add_units(bench, "1 handheld dead").units[0].number
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "f")
        hazard = trace_view(bench, number).ask_first
        assert hazard.question[:40] in seen(pilot.app)
        await press(pilot, "w")
        assert "when in doubt" in seen(pilot.app)
        assert not store.happenings(bench.database, number)
        await press(pilot, "y")
        assert isinstance(pilot.app.screen, Choose)
        await press(pilot, "escape")
        await press(pilot, "f")
        assert hazard.caution in seen(pilot.app)
        await press(pilot, "down", "y")
        assert "locked" in seen(pilot.app)
        assert probes(number) == []


async def test_a_path_of_ones_own_is_typed_and_followed(start, settled, press, seen, bench, handheld, probes):
    change_unit(bench, handheld, model="H 3")
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "f", "a")
        await press(pilot, *"in > C1", "enter")
        assert "begins and ends" in seen(pilot.app)
        await press(pilot, *" > out", "enter")
        [own] = own_paths(bench)
        assert (own.chain, own.model) == ("in > C1 > out", "H 3")
        assert "in to out" in seen(pilot.app)
        await press(pilot, "n")
        assert probes(handheld)[-1][0].startswith("own_1.")


async def test_the_big_amplifier_fits_eighty_by_twenty_four(start, settled, press, seen, bench, clear_hazards):
    new_lot(bench, "shelf")
    number = add_units(bench, "1 amplifier no sound").units[0].number
    clear_hazards(number)
    settings.change_person(bench, live_mains=True, tools=("meter", "scope"))
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "f")
        shown = seen(pilot.app)
        for point in trace_view(bench, number, "signal").points:
            assert point.at[:26] in shown
        assert "w  weak" in shown


async def test_a_hostile_chain_is_shown_as_it_stands(start, settled, press, seen, bench, handheld):
    add_path(bench, handheld, "[b]in[/y] > [@click=app.quit]C1[/] > out", name="[red]x[/]")
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "f", "tab", "tab")
        shown = seen(pilot.app)
        for text in ("[b]in[/y]", "[@click=app.quit]C1[/]", "[red]x[/]"):
            assert text in shown
