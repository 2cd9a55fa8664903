"""What was only heard of a unit is told as such where answers are told, with what it weighs."""

from datetime import date

from triage.actions import looks, lots, unit_view, units
from triage.bench_file import BenchFile
from triage.screens.bench_draw import moved


def test_hearsay_is_named_with_its_weight_until_it_is_looked_at(tmp_path):
    with BenchFile(tmp_path / "bench.db", today=date(2026, 12, 1)) as bench:
        lots.new_lot(bench, "box")
        units.add_units(bench, "gamepad drift")
        for hazard in bench.classes["gamepad"].hazards:
            looks.hazard(bench, 1, hazard.id, "no")
        lines = unit_view.why(bench, 1)
        assert {line.text for line in lines if line.heard} == {"heard: drift"}
        largest = lines[0]
        shown = moved(lines).plain.splitlines()
        assert shown[0].startswith(f"{largest.points * 100:+4.0f} ")
        assert "█" in shown[0]
        assert shown[-1] == "What was only heard counts 4 to 1, until you look at it yourself."
        for check in ("connects", "centre"):
            looks.answer(bench, 1, check, "y")
        lines = unit_view.why(bench, 1)
        assert lines
        assert not any(line.heard for line in lines)
        assert "heard" not in moved(lines).plain
