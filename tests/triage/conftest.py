"""Shared by the tests of the actions: lists as files, hazard questions answered, two units that want the same part."""

import pytest

from triage.actions import looks, lots, needs, unit_view, units


@pytest.fixture
def write(tmp_path):
    """Writes a list and gives back its path."""

    def write(text, name="parts.csv"):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return write


@pytest.fixture(scope="session")
def nothing_hazardous():
    """Answers no to every hazard question of the units, or of those that are named."""

    def answered(bench, *numbers):
        for unit in units.list_units(bench):
            if not numbers or unit.number in numbers:
                for hazard in bench.classes[unit.device_class].hazards:
                    looks.hazard(bench, unit.number, hazard.id, "no")

    return answered


@pytest.fixture(scope="session")
def until_repair():
    """Answers what is asked as a disc console with a slack tray belt would show it, until the repair is proposed."""

    def answered(bench, number):
        looked = False
        for _ in range(60):
            view = unit_view.unit_view(bench, number)
            if view.ask_first is not None:
                asked = view.ask_first
                looks.hazard(bench, number, asked.id, "yes" if asked.expires and looked else "no")
                if asked.expires and looked:
                    looks.release(bench, number, asked.id, asked.releases[0])
                continue
            if view.action == "repair":
                return
            check = bench.classes["disc_console"].check(view.look.check)
            bad = check.fails.get("tray_belt", 0.0) >= 0.5
            looks.answer(bench, number, check.id, "bad" if bad else "good")
            looked = True
        pytest.fail("no repair was ever proposed")

    return answered


@pytest.fixture(scope="session")
def two_gamepads(nothing_hazardous):
    """Fills a bench file with two gamepads on the fix pile, each of which wants a stick module SM-4K."""

    def filled(bench):
        lots.new_lot(bench, "cellar shelf", paid=1000)
        units.add_units(bench, "2 gamepads stick drift")
        nothing_hazardous(bench)
        for number in (1, 2):
            for check, said in (("connects", "y"), ("centre", "-14"), ("blow_retest", "n"), ("circle", "84")):
                looks.answer(bench, number, check, said)
            units.change_unit(bench, number, working=9000)
            units.overrule(bench, number, "fix", "sells well")
            needs.describe_need(bench, number, "stick_module", "SM-4K")

    return filled


@pytest.fixture(scope="session")
def parts_list():
    """A parts list as CSV: three described parts and one known by its number only."""
    return """part_number,description,kind,quantity,place,unit_cost,currency
,electrolytic 4.7uF 25V radial,,12,box 1,0.08,EUR
,resistor 10k 0.25W 1%,,50,box 2,0.01,EUR
,fuse T1.6A 250V 5x20,,8,box 3,0.35,EUR
QX-9,lens unit,listed,1,shelf,6.50,EUR
"""
