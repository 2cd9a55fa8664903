"""Exact sums over every joint state of a part's faults, in log space: slow, plain, and without cancellation."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from triage.diagnosis.likelihood import Factor, Floats
from triage.diagnosis.states import FaultStates, Part

_SMALL = 2**14


def sums(
    part: Part, states: Sequence[FaultStates], log_priors: Sequence[Sequence[Floats]], tests: Sequence[Floats]
) -> tuple[Floats, Floats]:
    """Weights of product-form questions about a part, once for each combination of conditions.

    `states` and the inner lists of `log_priors` [combination][fault] follow the part's faults. `tests[i]` is
    float64[questions, states of fault i]; a question's weight is the sum over joint states of the state's weight x
    the product of the tests. The state "every fault was absent from the start" is left out.

    Returns the log scale float64[combinations] and the weights float64[combinations, questions] to that scale.
    """
    shape = tuple(len(entry.cured_at) for entry in states)
    log_likelihood = np.zeros(shape)
    for table in _gathered([log_table(factor, part, states) for factor in part.factors]):
        log_likelihood += table
    half = _halfway(shape)
    questions = tests[0].shape[0]
    left, right = _joined(tests[:half], questions), _joined(tests[half:], questions)
    scales, found = [], []
    for priors in log_priors:
        log_weight = log_likelihood.reshape(-1) + _outer_sum(priors)
        log_weight[0] = -np.inf
        scale = float(log_weight.max())
        if scale == -np.inf:
            found.append(np.zeros(left.shape[0]))
        else:
            weight = np.exp(log_weight - scale).reshape(left.shape[1], right.shape[1])
            found.append(np.einsum("qr,qr->q", left @ weight, right))
        scales.append(scale)
    return np.array(scales), np.array(found)


def log_table(factor: Factor, part: Part, states: Sequence[FaultStates]) -> Floats:
    """A factor's log likelihood over the joint states of its faults, shaped to broadcast over the whole part."""
    strength = dict(factor.links)
    log_good = []
    for time in factor.slots:
        total = np.full((1,) * len(part.faults), factor.log_quiet)
        for axis, place in enumerate(part.faults):
            if place in strength:
                line = np.where(states[axis].present(time), strength[place], 0.0)
                total = total + line.reshape([-1 if other == axis else 1 for other in range(len(part.faults))])
        log_good.append(total)
    shape = np.broadcast_shapes(*(table.shape for table in log_good))
    return factor.log_likelihood([np.broadcast_to(table, shape) for table in log_good])


def _gathered(tables: Sequence[Floats]) -> list[Floats]:
    """The same sum in fewer, still small tables: adding one to the whole part is what costs."""
    result: list[Floats] = []
    for table in sorted(tables, key=lambda one: one.shape):
        if result and math.prod(np.broadcast_shapes(result[-1].shape, table.shape)) <= _SMALL:
            result[-1] = result[-1] + table
        else:
            result.append(table)
    return result


def _outer_sum(lines: Sequence[Floats]) -> Floats:
    total = np.zeros(1)
    for line in lines:
        total = np.add.outer(total, line).reshape(-1)
    return total


def _joined(tests: Sequence[Floats], questions: int) -> Floats:
    """float64[questions, joint states]: products of the tests over the joint states of these faults."""
    total = np.ones((questions, 1))
    for line in tests:
        total = (total[:, :, None] * line[:, None, :]).reshape(questions, -1)
    return total


def _halfway(shape: tuple[int, ...]) -> int:
    goal = np.sqrt(float(np.prod([float(size) for size in shape])))
    count, cells = 0, 1.0
    while count < len(shape) and cells < goal:
        cells *= shape[count]
        count += 1
    return max(1, min(count, len(shape)))
