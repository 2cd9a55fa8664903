"""Shared by the screen tests: a bench file, the running app, its settled state, and what a person would read."""

from datetime import date

import pytest

from triage.actions import looks, units
from triage.bench_file import BenchFile
from triage.screens.app import LotwrightApp

TODAY = date(2026, 12, 1)


@pytest.fixture(autouse=True)
def _calm(monkeypatch):
    monkeypatch.setenv("TEXTUAL_ANIMATIONS", "none")


@pytest.fixture
def bench_path(tmp_path):
    return tmp_path / "bench.db"


@pytest.fixture
def bench(bench_path):
    """The bench file opened a second time, to see what is really on disk."""
    opened = BenchFile(bench_path, today=TODAY)
    yield opened
    opened.close()


@pytest.fixture
def start(bench_path):
    """Makes the app; run it with `async with start().run_test(size=...) as pilot`."""
    return lambda place="lot": LotwrightApp(bench_path, today=TODAY, first_place=place)


@pytest.fixture
def clear_hazards(bench):
    """Answers no to every hazard of a unit, so that its looks are in front."""

    def cleared(number):
        for hazard in bench.classes[units.get_unit(bench, number).device_class].hazards:
            looks.hazard(bench, number, hazard.id, "no")

    return cleared


@pytest.fixture
def until():
    """Waits for something another thread says; what never comes fails the test instead of holding it up."""

    async def wait(pilot, event):
        for _ in range(3000):
            if event.is_set():
                return
            await pilot.pause(0.01)
        assert event.is_set(), "what was waited for did not begin"

    return wait
