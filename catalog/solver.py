"""The one module that imports HiGHS: model in, status and values out.

Everything that is easy to get wrong stands here once. The thread number is fixed for the life of the process (a second
number makes a later solve return nothing). The relative gap is 0 and the absolute gap below one whole unit of the
objective, because the defaults end the search early and silently. The returned status is always read. Cancelling and
progress go through callbacks that run on the calling thread, and an error inside them is raised after the solver has
let go, never through it.

Importing this module loads HiGHS and numpy (about 0.4 s): import it inside the function that solves.
"""

from __future__ import annotations

import math
from enum import StrEnum
from typing import TYPE_CHECKING, Any

import highspy
import msgspec
import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from catalog.model import Model

THREADS = 1
"""Measured: a second thread did not help on parts orders, and the number may not change within a process."""

FAULTY_RULES = 1 << 16
"""Presolve rules left out: enumerating the solutions of a row may lose a choice of exactly one among several, so that
what can be had is said to be infeasible, or the run fails (ERGO-Code/HiGHS issue 3216; seen with 1.16.0)."""

SECOND_LOOK_SECONDS = 5.0
"""Seconds at most for looking once more, without presolve, at what is said to be infeasible. Where that does not settle
it, the first word stands: without presolve some proofs take very long."""

WHOLE_GAP = 0.99
"""Absolute gap that proves an optimum when every attainable objective is a whole number."""


class Status(StrEnum):
    """How a solve ended. `STOPPED` = cancelled or out of time; there may still be values, with a proven bound."""

    OPTIMAL = "optimal"
    INFEASIBLE = "infeasible"
    UNBOUNDED = "unbounded"
    STOPPED = "stopped"


class Incumbent(msgspec.Struct, frozen=True):
    """The best plan so far and how far from the best possible it can be at most."""

    objective: float
    """Infinite while no plan was found."""
    bound: float
    """No plan can cost less than this."""

    @property
    def gap(self) -> float:
        """Proven distance in units of the objective; infinite while no plan was found."""
        return max(0.0, self.objective - self.bound) if math.isfinite(self.objective) else math.inf


class Solution(msgspec.Struct, frozen=True):
    """What came out. `values` has one number per column, whole columns rounded; empty where nothing was `found`."""

    status: Status
    objective: float
    bound: float
    values: tuple[float, ...]

    @property
    def found(self) -> bool:
        """Whether there is a plan (that of a model without columns has no values)."""
        return math.isfinite(self.objective)

    @property
    def gap(self) -> float:
        """Proven distance from the best possible, in units of the objective (0 when optimal)."""
        if self.status is Status.OPTIMAL:
            return 0.0
        return max(0.0, self.objective - self.bound) if self.found else math.inf


class SolverError(RuntimeError):
    """The solver itself failed: not an answer about the problem."""


def solve(
    model: Model,
    *,
    absolute_gap: float = WHOLE_GAP,
    time_limit: float | None = None,
    cancel: Callable[[], bool] | None = None,
    on_incumbent: Callable[[Incumbent], None] | None = None,
    start: Sequence[float] = (),
) -> Solution:
    """Minimise `model`.

    Args:
        model: the columns and rows.
        start: a solution to begin from, one value a column; of no effect where it breaks a row. Empty = none.
        absolute_gap: proof is complete when no plan can be better by more than this; 0.99 where all costs are whole.
        time_limit: seconds, or None for as long as it takes.
        cancel: polled during the search; true stops it.
        on_incumbent: called with each better plan and each better bound.

    Raises:
        SolverError: the solver refused the model or failed.
    """
    if any(not row.terms and not row.low <= 0.0 <= row.high for row in model.rows):
        return Solution(Status.INFEASIBLE, math.inf, math.inf, ())
    if not model.columns:
        return Solution(Status.OPTIMAL, 0.0, 0.0, ())
    watch = _Watch(cancel, on_incumbent)
    limit = math.inf if time_limit is None else max(0.0, time_limit)
    ran, found, seconds = _run(model, watch, absolute_gap, limit, start)
    failed, nothing = ran == highspy.HighsStatus.kError, found is not None and found.status is Status.INFEASIBLE
    if failed or nothing:
        # presolve has lost rows before: that there is no plan is believed only if a search without it agrees
        rest = min(limit - seconds, SECOND_LOOK_SECONDS) if nothing else limit - seconds
        ran, again, _ = _run(model, watch, absolute_gap, rest, start, presolve=False)
        out_of_time = again is not None and again.status is Status.STOPPED and not again.found and not watch.cancelled
        found = found if nothing and out_of_time else again
    if found is None:
        _done(ran, "run")
    return _which(model, watch) if found is None else found


def relaxed(model: Model, *, cancel: Callable[[], bool] | None = None) -> Solution:
    """`model` without the demand for whole numbers: no solution of it costs less than this one.

    Raises:
        SolverError: as `solve`.
    """
    loose = type(model)()
    loose.columns = [msgspec.structs.replace(column, whole=False) for column in model.columns]
    loose.rows = model.rows
    return solve(loose, cancel=cancel)


class _Silent(highspy.Highs):
    """HiGHS that is quiet before its first word: the banner comes with the callbacks, and standard output is data."""

    def enableCallbacks(self) -> None:  # noqa: N802 - the solver's own name
        self.silent()
        super().enableCallbacks()  # type: ignore[no-untyped-call]


def _run(
    model: Model, watch: _Watch, gap: float, limit: float, start: Sequence[float], *, presolve: bool = True
) -> tuple[Any, Solution | None, float]:
    """One run: its status, what it came to, its seconds. None: it failed, or cannot tell unbounded from infeasible."""
    highs = _prepared(gap, limit, presolve=presolve)
    _done(highs.passModel(_lp(model)), "passModel")
    if start:
        known = highspy.HighsSolution()
        known.col_value = list(start)
        _done(highs.setSolution(known), "setSolution")
    watch.attach(highs)
    ran = highs.run()
    if watch.error is not None:
        raise watch.error
    return ran, None if ran == highspy.HighsStatus.kError else _outcome(highs, model), highs.getRunTime()


def _prepared(absolute_gap: float, time_limit: float, *, presolve: bool) -> Any:
    highs = _Silent()  # type: ignore[no-untyped-call]
    options: dict[str, Any] = {
        "threads": THREADS,
        "random_seed": 0,
        "presolve_rule_off": FAULTY_RULES,
        "mip_rel_gap": 0.0,
        "mip_abs_gap": absolute_gap,
        # measured: of 49 s for eight orders of 200 needs × 12 suppliers it made 71, and no good plan came sooner
        "mip_heuristic_run_root_reduced_cost": False,
    }
    if not presolve:
        options["presolve"] = "off"
    if math.isfinite(time_limit):
        options["time_limit"] = max(0.0, time_limit)
    for name, value in options.items():
        _done(highs.setOptionValue(name, value), f"option {name}")
    return highs


def _done(status: Any, what: str) -> None:
    if status == highspy.HighsStatus.kError:
        raise SolverError(f"the solver failed at {what}")


def _lp(model: Model) -> Any:
    columns, rows = model.columns, model.rows
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(columns), len(rows)
    lp.col_cost_ = np.array([c.cost for c in columns], dtype=np.float64)
    lp.col_lower_ = np.array([c.low for c in columns], dtype=np.float64)
    lp.col_upper_ = np.array([c.high for c in columns], dtype=np.float64)
    lp.row_lower_ = np.array([r.low for r in rows], dtype=np.float64)
    lp.row_upper_ = np.array([r.high for r in rows], dtype=np.float64)
    lengths = [len(row.terms) for row in rows]
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.num_col_, lp.a_matrix_.num_row_ = len(columns), len(rows)
    lp.a_matrix_.start_ = np.concatenate(([0], np.cumsum(lengths, dtype=np.int32))).astype(np.int32)
    lp.a_matrix_.index_ = np.array([column for row in rows for column in row.terms], dtype=np.int32)
    lp.a_matrix_.value_ = np.array([value for row in rows for value in row.terms.values()], dtype=np.float64)
    kinds = highspy.HighsVarType
    lp.integrality_ = [kinds.kInteger if c.whole else kinds.kContinuous for c in columns]
    return lp


class _Watch:
    """The callbacks of one solve. The solver must never see a Python error, so the first one is kept here."""

    def __init__(self, cancel: Callable[[], bool] | None, on_incumbent: Callable[[Incumbent], None] | None) -> None:
        self.cancel = cancel
        self.on_incumbent = on_incumbent
        self.cancelled = False
        self.error: BaseException | None = None
        self.latest = Incumbent(math.inf, -math.inf)

    def attach(self, highs: Any) -> None:
        if self.cancel is not None or self.on_incumbent is not None:
            for hook in (highs.cbMipInterrupt, highs.cbSimplexInterrupt, highs.cbIpmInterrupt):
                hook.subscribe(self.poll)
        if self.on_incumbent is not None:
            highs.cbMipImprovingSolution.subscribe(self.improved)

    def poll(self, event: Any) -> None:
        try:
            if event.callback_type == highspy.cb.HighsCallbackType.kCallbackMipInterrupt:
                self.report(event)
            if self.cancel is not None and not self.cancelled:
                self.cancelled = bool(self.cancel())
        except BaseException as error:  # Ctrl-C included: raised again when the solver has returned
            self.error = self.error or error
        if self.cancelled or self.error is not None:
            event.interrupt()

    def improved(self, event: Any) -> None:
        try:
            self.report(event)
        except BaseException as error:
            self.error = self.error or error

    def report(self, event: Any) -> None:
        out = event.data_out
        objective = out.mip_primal_bound if math.isfinite(out.mip_primal_bound) else math.inf
        seen = Incumbent(min(objective, self.latest.objective), max(out.mip_dual_bound, self.latest.bound))
        if self.on_incumbent is not None and math.isfinite(seen.objective) and seen != self.latest:
            self.latest = seen
            self.on_incumbent(seen)


def _outcome(highs: Any, model: Model) -> Solution | None:
    states = highspy.HighsModelStatus
    state = highs.getModelStatus()
    if state == states.kInfeasible:
        return Solution(Status.INFEASIBLE, math.inf, math.inf, ())
    if state == states.kUnbounded:
        return Solution(Status.UNBOUNDED, -math.inf, -math.inf, ())
    if state == states.kUnboundedOrInfeasible:
        return None
    stopped = state in {states.kTimeLimit, states.kInterrupt}
    if state != states.kOptimal and not stopped:
        raise SolverError(f"the solver ended with {highs.modelStatusToString(state)!r}")
    info = highs.getInfo()
    status = Status.STOPPED if stopped else Status.OPTIMAL
    mixed = any(column.whole for column in model.columns)
    feasible = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    if not feasible:
        bound = info.mip_dual_bound if mixed else -math.inf
        return Solution(status, math.inf, bound, ())
    raw = highs.getSolution().col_value
    values = tuple(
        float(round(value)) if column.whole else value for column, value in zip(model.columns, raw, strict=True)
    )
    objective = model.value(values)
    bound = info.mip_dual_bound if mixed else (-math.inf if stopped else objective)
    return Solution(status, objective, min(bound, objective), values)


def _which(model: Model, watch: _Watch) -> Solution:
    """Presolve could not tell unbounded from infeasible: without costs it can only be infeasible."""
    free = type(model)()
    free.columns = [msgspec.structs.replace(column, cost=0.0) for column in model.columns]
    free.rows = model.rows
    if free.columns == model.columns or solve(free, cancel=watch.cancel).status is Status.INFEASIBLE:
        return Solution(Status.INFEASIBLE, math.inf, math.inf, ())
    return Solution(Status.UNBOUNDED, -math.inf, -math.inf, ())
