"""The open bench file."""

import re
import threading
import time
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from catalog.text import Refused
from triage import store
from triage.bench_file import CLASS_FOLDER, ENVIRONMENT, BenchFile, day_of, default_path
from triage.lot import Lot


@pytest.fixture
def bench(tmp_path):
    with BenchFile(tmp_path / "new" / "bench.db", today=date(2026, 1, 8), seed=3) as bench:
        yield bench


def add(bench, name):
    with bench.journal.event("add", name, at=bench.now()) as recorder:
        return store.save(recorder, "lots", Lot(0, name, "EUR"))


def test_the_default_path_is_named_by_the_environment(monkeypatch, tmp_path):
    monkeypatch.setenv(ENVIRONMENT, str(tmp_path / "mine.db"))
    assert default_path() == tmp_path / "mine.db"
    monkeypatch.delenv(ENVIRONMENT)
    assert default_path().name == "bench.db"
    assert default_path().parent.name == "lotwright"


def test_a_new_file_is_made_with_its_folder_and_keeps_what_was_done(bench):
    add(bench, "attic")
    bench.close()
    with BenchFile(bench.path) as again:
        assert [lot.name for lot in store.lots(again.database)] == ["attic"]
        assert again.journal.undo(at=again.now()).summary == "attic"
        assert store.lots(again.database) == []


def test_the_clock(bench):
    assert bench.today == date(2026, 1, 8)
    assert re.fullmatch(r"2026-01-08T\d\d:\d\d:\d\d\.\d{3}\+00:00", bench.now())
    with BenchFile(bench.path) as again:
        before = datetime.now().astimezone().date()
        assert before <= again.today <= datetime.now().astimezone().date()
        early = datetime.now(tz=UTC) - timedelta(milliseconds=1)
        assert early <= datetime.fromisoformat(again.now()) <= datetime.now(tz=UTC)


def test_another_is_the_same_file_and_the_same_program_in_another_thread(bench):
    add(bench, "attic")
    seen = []

    def work():
        with bench.another() as mine:
            add(mine, "cellar")
            seen.append((mine.today, mine.seed, [lot.name for lot in store.lots(mine.database)]))

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()
    assert seen == [(date(2026, 1, 8), 3, ["attic", "cellar"])]
    assert [bench.journal.undo(at=bench.now()).summary for _ in range(2)] == ["cellar", "attic"]


def test_the_person_is_assumed_until_said(bench):
    assert (bench.person.hour_worth, bench.currency) == (1200, bench.person.currency)
    with bench.journal.event("set", "set", at=bench.now()) as recorder:
        store.save_setting(recorder, bench.database, "currency", "SEK")
        store.save_setting(recorder, bench.database, "hour_worth", 0)
    assert (bench.person.hour_worth, bench.currency) == (0, "SEK")


def test_classes_are_the_built_in_ones_and_a_broken_own_one_is_left_out_by_name(bench):
    assert "portable_radio" in bench.classes
    assert bench.class_problems == ()
    folder = bench.path.parent / CLASS_FOLDER
    folder.mkdir()
    (folder / "broken.toml").write_text("id = [", encoding="utf-8")
    with bench.another() as other:
        assert set(other.classes) == set(bench.classes)
        (problem,) = other.class_problems
    assert problem.startswith("broken.toml:1: not valid TOML")


def test_what_is_not_a_bench_file_is_refused_untouched(tmp_path):
    path = tmp_path / "words.db"
    path.write_text("words")
    with pytest.raises(Refused, match=re.escape(str(path))):
        BenchFile(path)
    assert [entry.name for entry in Path(tmp_path).iterdir()] == ["words.db"]
    assert path.read_text() == "words"


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Etc/GMT+12"])
def test_what_is_noted_on_a_stated_day_is_of_that_day_here(tmp_path, monkeypatch, zone):
    try:
        monkeypatch.setenv("TZ", zone)
        time.tzset()
        with BenchFile(tmp_path / "bench.db", today=date(2026, 12, 1)) as bench:
            assert day_of(bench.now()) == bench.today
    finally:
        monkeypatch.undo()
        time.tzset()
