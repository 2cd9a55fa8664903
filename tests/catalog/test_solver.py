"""The solver behind its one door: statuses, gaps, cancelling, incumbents, silence."""

from __future__ import annotations

import itertools
import math
import random
import subprocess
import sys
import threading

import pytest

from catalog import solver
from catalog.model import Model


@pytest.fixture
def hard():
    """A knapsack with many rows: a plan at once, the proof much later."""
    numbers = random.Random(3)
    model = Model()
    columns = [model.choice(-numbers.randint(20, 100)) for _ in range(120)]
    for _ in range(30):
        model.row([(column, numbers.randint(5, 60)) for column in columns], high=900)
    return model


def test_a_small_whole_problem_is_solved():
    model = Model()
    x, y = model.column(-5, high=10, whole=True), model.column(-4, high=10, whole=True)
    model.row([(x, 6), (y, 4)], high=24)
    model.row([(x, 1), (y, 2)], high=6)
    solution = solver.solve(model)
    assert solution.status is solver.Status.OPTIMAL
    assert (solution.objective, solution.values) == (-20, (4, 0))
    assert solution.gap == 0
    assert model.broken(solution.values) == []


def test_a_linear_problem_keeps_its_fractions():
    model = Model()
    x = model.column(-1)
    model.row([(x, 2)], high=5)
    assert solver.solve(model).values == pytest.approx((2.5,))


def test_a_plan_one_unit_worse_is_never_taken_for_the_best():
    # Far above the usual relative gap of 1e-4: a solver left at its defaults may stop one unit early.
    model = Model()
    base = model.column(1, low=10**7, high=10**7)
    choices = [model.choice(cost) for cost in (7, 6, 5, 4, 3)]
    model.row([(base, 1)], low=10**7)
    model.row([(choice, weight) for choice, weight in zip(choices, (9, 8, 7, 6, 5), strict=True)], low=13, high=13)
    assert solver.solve(model).objective == 10**7 + 9


def test_impossible_and_endless_are_told_apart():
    model = Model()
    x = model.column(-1)
    assert solver.solve(model).status is solver.Status.UNBOUNDED
    model.row([(x, 1)], high=3)
    model.row([(x, 1)], low=4)
    solution = solver.solve(model)
    assert solution.status is solver.Status.INFEASIBLE
    assert not solution.found


def test_that_nothing_can_be_had_is_believed_only_without_presolve_too(monkeypatch):
    model = Model()
    x = model.column(3, high=10, whole=True)
    model.row([(x, 2)], low=5)
    ran, looked = solver._run, []

    def losing(*args, presolve=True):
        looked.append(presolve)
        status, found, seconds = ran(*args, presolve=presolve)
        return status, solver.Solution(solver.Status.INFEASIBLE, math.inf, math.inf, ()) if presolve else found, seconds

    monkeypatch.setattr(solver, "_run", losing)
    solution = solver.solve(model)
    assert (solution.status, solution.values, looked) == (solver.Status.OPTIMAL, (3,), [True, False])


def test_a_second_look_that_takes_too_long_leaves_the_first_word(monkeypatch):
    # a parity that no cut sees: without presolve every half of the choices is tried
    model = Model()
    model.row([(model.choice(), 2) for _ in range(60)], low=61, high=61)
    monkeypatch.setattr(solver, "SECOND_LOOK_SECONDS", 0.0)
    assert solver.solve(model).status is solver.Status.INFEASIBLE


def test_an_empty_model_and_an_empty_impossible_row():
    model = Model()
    assert solver.solve(model).status is solver.Status.OPTIMAL
    assert solver.solve(model).found
    model.row([], low=1)
    assert solver.solve(model).status is solver.Status.INFEASIBLE


def test_cancelling_stops_with_the_best_so_far_and_its_proven_distance(hard):
    polls = []

    def enough():
        polls.append(1)
        return len(polls) > 20

    solution = solver.solve(hard, cancel=enough)
    assert solution.status is solver.Status.STOPPED
    assert solution.found
    assert hard.broken(solution.values) == []
    assert solution.gap == pytest.approx(solution.objective - solution.bound)
    assert solution.gap > 0.99


def test_cancelling_at_once_gives_no_plan_or_a_valid_one(hard):
    solution = solver.solve(hard, cancel=lambda: True)
    assert solution.status is solver.Status.STOPPED
    assert solution.found or math.isinf(solution.gap)


def test_a_time_limit_stops(hard):
    assert solver.solve(hard, time_limit=0.05).status is solver.Status.STOPPED


def test_incumbents_only_get_better(hard):
    seen = []
    solver.solve(hard, on_incumbent=seen.append, cancel=lambda: len(seen) > 3)
    assert len(seen) > 1
    assert all(after.objective <= before.objective for before, after in itertools.pairwise(seen))
    assert all(after.bound >= before.bound for before, after in itertools.pairwise(seen))
    assert all(each.gap == pytest.approx(each.objective - each.bound) for each in seen)


def test_an_error_in_a_callback_comes_out_after_the_solver_has_let_go(hard):
    def broken():
        raise LookupError("from the callback")

    with pytest.raises(LookupError, match="from the callback"):
        solver.solve(hard, cancel=broken)
    model = Model()
    model.column(1, low=2, whole=True)
    assert solver.solve(model).objective == 2


def test_other_threads_get_answers_too():
    def one():
        model = Model()
        x = model.column(1, whole=True)
        model.row([(x, 2)], low=7)
        found.append(solver.solve(model).objective)

    found: list[float] = []
    threads = [threading.Thread(target=one) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found == [4, 4, 4]


def test_nothing_is_written_to_standard_output():
    code = (
        "from catalog.model import Model; from catalog.solver import solve\n"
        "m = Model(); x = m.column(1, whole=True); m.row([(x, 2)], low=3)\n"
        "assert solve(m).objective == 2"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False, text=True)
    assert (ran.returncode, ran.stdout, ran.stderr) == (0, "", "")
