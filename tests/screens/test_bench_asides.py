"""The place Bench: what stands beside the advice, and what a unit reads while a further look may still pay."""

import pytest

from triage.actions import asides, look_view, looks, lots, probing, settings, unit_view, units
from triage.actions.lot_view import lot_view

SIZES = pytest.mark.parametrize("size", [(80, 24), (160, 50)])


@pytest.fixture
def unit(bench, clear_hazards):
    """Makes a unit of a class with these answers given."""

    def made(typed, *answers, hour_worth=1200):
        settings.change_person(bench, hour_worth=hour_worth)
        lots.new_lot(bench, "cellar shelf")
        units.add_units(bench, typed)
        clear_hazards(1)
        for check, said in answers:
            looks.answer(bench, 1, check, said)
        return bench

    return made


DULL = ("1 turntable", ("belt_look", "bad"), ("lead_ohms", "good"), ("hum", "good"))
DOUBTED = ("1 turntable", ("swap_lr", "good"), ("feet_look", "bad"), ("hum", "good"))


@SIZES
async def test_a_signal_and_a_tool_that_gain_clearly_more_are_said_in_one_line_each(
    unit, start, settled, press, seen, size
):
    bench = unit(*DULL, hour_worth=0)
    aside = asides.aside_of(bench, 1)
    assert aside.follow_gain > 0
    assert aside.tools == ("lens",)
    async with start("bench").run_test(size=size) as pilot:
        await settled(pilot)
        shown = seen(pilot.app)
        assert f"follow the signal {aside.follow.name}: about {aside.follow.minutes:.0f} min, " in shown
        assert "with a strong lens: " in shown
        assert shown.count(" ahead of any look") == 2
        await press(pilot, "f")
        await settled(pilot)
        assert aside.follow.name in seen(pilot.app)
        assert pilot.app.screen._view.path == aside.follow.path != probing.trace_view(bench, 1).path


async def test_where_the_looks_on_offer_gain_more_nothing_is_said_of_money(unit, start, settled, seen):
    bench = unit("1 turntable")
    aside = asides.aside_of(bench, 1)
    assert (aside.follow_gain, aside.tools, aside.again) == (0.0, (), "")
    async with start("bench").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "ahead of any look" not in seen(pilot.app)


def test_a_second_look_that_a_hazard_holds_back_is_not_spoken_of(unit):
    bench = unit(
        "1 portable radio",
        *((check, "good") for check in ("pop", "vol_sweep")),
        ("plays_outside", "bad"),
        *((check, "good") for check in ("band_work", "aerial_look", "adaptor_load", "power_work")),
    )
    assert unit_view.unit_view(bench, 1).look.check == "plays_outside"  # once more
    looks.hazard(bench, 1, "leaked_cells", "yes")
    assert "plays_outside" not in {look.check for look in look_view.other_looks(bench, 1)}
    assert asides.aside_of(bench, 1).again == ""


@SIZES
async def test_a_function_that_may_have_read_bad_by_mistake_can_be_looked_at_again(
    unit, start, settled, press, seen, size
):
    bench = unit(*DOUBTED)
    question = bench.classes["turntable"].check("feet_look").question
    assert asides.aside_of(bench, 1).again == question
    assert question in [look.question for look in look_view.other_looks(bench, 1)]
    async with start("bench").run_test(size=size) as pilot:
        await settled(pilot)
        assert "bad by mistake?" in seen(pilot.app)
        looks.answer(bench, 1, "feet_look", "bad")
        await press(pilot, "right")
        pilot.app.refresh_places()
        await settled(pilot)
        assert "bad by mistake?" not in seen(pilot.app)
    assert question not in [look.question for look in look_view.other_looks(bench, 1)]


@SIZES
async def test_a_unit_that_works_reads_fixed_only_when_nothing_more_is_to_be_looked_at(
    unit, start, settled, press, seen, size
):
    bench = unit("1 turntable")
    for check in bench.classes["turntable"].checks:
        if check.function:
            looks.answer(bench, 1, check.id, "good")
    view = unit_view.unit_view(bench, 1)
    assert (view.fixed, view.finished, view.action) == (True, False, "check")
    assert view.look.question in lot_view(bench, 1).rows[0].next_step
    assert view.where_was_i.endswith(f"every function tested good; next: {view.look.question}")
    async with start("bench").run_test(size=size) as pilot:
        await settled(pilot)
        shown = seen(pilot.app)
        assert "WORKS" in shown
        assert "best FIX" not in shown  # it is called the same wherever it stands
        assert "FIXED" not in shown
        assert "It works; what hides in it may show here." in shown
        while unit_view.unit_view(bench, 1).action == "check":
            await press(pilot, "s")
        assert unit_view.unit_view(bench, 1).finished
        assert "FIXED" in seen(pilot.app)
        assert "WORKS" not in seen(pilot.app)
    assert lot_view(bench, 1).rows[0].next_step == "sell as working"


async def test_or_when_the_person_settles_its_pile(unit):
    bench = unit("1 turntable")
    for check in bench.classes["turntable"].checks:
        if check.function:
            looks.answer(bench, 1, check.id, "good")
    assert not unit_view.unit_view(bench, 1).finished
    units.overrule(bench, 1, "fix", "good enough")
    assert unit_view.unit_view(bench, 1).finished
