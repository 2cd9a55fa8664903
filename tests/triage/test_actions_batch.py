"""The same look on many units: which units it is open and pays on, and in which order the looks come."""

from datetime import date

import pytest

from catalog.text import Refused
from triage.actions import batch, looks, lots, studies, units
from triage.bench_file import BenchFile
from triage.outlook import small_change


@pytest.fixture
def bench(tmp_path):
    with BenchFile(tmp_path / "bench.db", today=date(2026, 12, 1)) as opened:
        lots.new_lot(opened, "box")
        units.add_units(opened, "4 gamepads drift, 2 gamepads dead, 2 handhelds silent, 1 thing")
        for unit in units.list_units(opened):
            units.change_unit(opened, unit.number, working=9000)
        yield opened


def test_every_paying_look_is_listed_with_the_units_it_pays_on(bench):
    seen = []
    found = batch.batches(bench, progress=lambda done, whole: seen.append((done, whole)))
    assert seen[-1] == (8, 8)
    assert [one.gain for one in found] == sorted((one.gain for one in found), reverse=True)
    by_unit = {}
    for one in found:
        for row in one.units:
            assert units.get_unit(bench, row.unit).device_class == one.device_class
            by_unit.setdefault(row.unit, {})[one.look.check] = row
    for unit in units.list_units(bench)[:8]:
        study = studies.study_of(bench, unit.number)
        paying = {e.check: e.net_gain for e in study.action.ranking if e.net_gain > small_change(study.case)}
        listed = {check: row.gain for check, row in by_unit.get(unit.number, {}).items()}
        assert paying.items() <= listed.items()
        assert [check for check, row in by_unit[unit.number].items() if row.first] == (
            [study.action.check] if study.action.action == "check" else []
        )


def test_an_answered_unit_leaves_the_list(bench):
    first = next(one for one in batch.batches(bench) if len(one.units) > 1 and not one.units[0].ask_first)
    number = first.units[0].unit
    looks.answer(bench, number, first.look.check, "y")
    again = batch.batch_of(bench, first.device_class, first.look.check)
    assert [row.unit for row in again.units] == [row.unit for row in first.units if row.unit != number]


def test_hazards_that_come_before_are_named(bench):
    rows = [row for one in batch.batches(bench) if one.look.powered for row in one.units]
    assert rows
    assert all("swollen_pack" in [hazard.id for hazard in row.ask_first] for row in rows)


@pytest.mark.parametrize(
    ("wanted", "says"),
    [(("lamp", "glow"), "no such class"), (("gamepad", "glow"), "no such check"), (("turntable", "hum"), "on no unit")],
)
def test_what_is_not_there_is_refused(bench, wanted, says):
    with pytest.raises(Refused, match=says):
        batch.batch_of(bench, *wanted)
