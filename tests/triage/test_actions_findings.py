"""Saying what was wrong: kept, learned from by the next unit, scored, undone, reset."""

from datetime import date

import pytest

from catalog.text import Refused
from triage import store
from triage.actions import findings, looks, lots, units
from triage.actions.history import take_back
from triage.actions.questions import answer_question, question_now
from triage.actions.studies import study_of
from triage.bench_file import BenchFile

TODAY = date(2026, 12, 1)


@pytest.fixture
def bench(tmp_path):
    """Four gamepads, sold untested, the first three of one model."""
    with BenchFile(tmp_path / "bench.db", today=TODAY) as opened:
        lots.new_lot(opened, "box")
        units.add_units(opened, "4 untested gamepads")
        for number in (1, 2, 3):
            units.change_unit(opened, number, model="GP-7")
        for number in (1, 2, 3, 4):
            for hazard in opened.classes["gamepad"].hazards:
                looks.hazard(opened, number, hazard.id, "no")
        yield opened


def chance(bench, number, fault):
    return study_of(bench, number).belief.present[fault]


def test_the_next_unit_of_the_class_is_likelier_to_have_it_and_of_the_model_even_more(bench):
    before = chance(bench, 2, "stick_pot"), chance(bench, 4, "stick_pot")
    assert before[0] == before[1]
    findings.found(bench, 1, ("stick_pot",))
    same, other = chance(bench, 2, "stick_pot"), chance(bench, 4, "stick_pot")
    assert same > other > before[1]
    take_back(bench)
    assert (chance(bench, 2, "stick_pot"), chance(bench, 4, "stick_pot")) == before


def test_a_unit_does_not_learn_from_itself(bench):
    before = chance(bench, 1, "stick_pot")
    findings.found(bench, 1, ("stick_pot",))
    assert chance(bench, 1, "stick_pot") == before


def test_the_latest_word_counts(bench):
    findings.found(bench, 1, ("stick_pot",))
    findings.found(bench, 1, ())
    view = findings.learned_view(bench, "gamepad")
    tally = next(one for one in view.learned.tallies if one.fault == "stick_pot")
    assert (tally.found, tally.of, view.seen) == (0, 1, 4)
    assert tally.used < tally.file


def test_learning_can_start_anew_and_that_is_taken_back_too(bench):
    findings.found(bench, 1, ("stick_pot",))
    moved = chance(bench, 2, "stick_pot")
    findings.reset_learning(bench, "gamepad")
    assert chance(bench, 2, "stick_pot") < moved
    assert findings.learned_view(bench, "gamepad").learned.closed == 0
    take_back(bench)
    assert chance(bench, 2, "stick_pot") == moved


def test_the_forecast_is_from_before_the_first_repair_and_is_kept_once(bench):
    looks.answer(bench, 1, "connects", "y")
    looks.answer(bench, 1, "centre", "-14")
    believed = study_of(bench, 1).belief.at_start["stick_pot"]
    looks.repair(bench, 1, ("stick_pot",))
    (kept,) = store.forecasts(bench.database)
    assert kept.chances["stick_pot"] == pytest.approx(believed, abs=1e-6)
    looks.answer(bench, 1, "centre", "0")
    findings.found(bench, 1, ("stick_pot",))
    assert store.forecasts(bench.database) == [kept]
    view = findings.learned_view(bench, "gamepad")
    assert view.score.units == 1
    assert any("too few to judge by" in line for line in view.told)
    for _ in range(3):
        take_back(bench)
    assert store.forecasts(bench.database) == []


def test_answers_after_a_repair_are_not_learned_from(bench):
    looks.answer(bench, 1, "connects", "y")
    looks.answer(bench, 1, "centre", "-14")
    looks.repair(bench, 1, ("stick_pot",))
    looks.answer(bench, 1, "centre", "0")
    looks.answer(bench, 1, "circle", "84")
    findings.found(bench, 1, ("stick_pot",))
    learned = findings.learned_view(bench, "gamepad").learned
    assert "centre" in learned.fails
    assert "circle" not in learned.fails


def test_when_all_works_it_asks_what_it_was(bench):
    looks.answer(bench, 1, "connects", "y")
    looks.answer(bench, 1, "centre", "-14")
    looks.repair(bench, 1, ("stick_pot",))
    for check in bench.classes["gamepad"].checks:
        if check.function:
            looks.answer(bench, 1, check.id, "good")
    assert study_of(bench, 1).fixed.fixed
    question = question_now(bench, 1)
    assert (question.kind, question.about) == ("found", "stick_pot")
    answer_question(bench, question, "yes")
    assert store.happenings(bench.database, 1)[-1].subject == "stick_pot"
    again = question_now(bench, 1)
    assert again is None or again.kind != "found"


def test_what_is_not_understood_is_refused_and_changes_nothing(bench):
    before = list(bench.database["happenings"].rows)
    with pytest.raises(Refused, match="no fault of that name"):
        findings.found(bench, 1, ("gremlins",))
    with pytest.raises(Refused, match="no class"):
        findings.learned_view(bench, "toaster")
    with pytest.raises(Refused, match="no class"):
        findings.reset_learning(bench, "toaster")
    with pytest.raises(Refused):
        findings.found(bench, 99, ("stick_pot",))
    assert list(bench.database["happenings"].rows) == before
