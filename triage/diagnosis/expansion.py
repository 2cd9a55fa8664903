"""The same exact sums by inclusion-exclusion: every check's evidence is a sum of products over its faults.

After Heckerman's Quickscore (UAI 1989): cost grows with the number of bad checks, not of faults. Terms of opposite sign
nearly cancel when the evidence is improbable, so the result comes with a guard.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import product

import numpy as np

from triage.diagnosis.likelihood import Factor, Floats
from triage.diagnosis.states import FaultStates, Part

GUARD = 1e-6
"""Below this share of the sum of absolute terms a sum has lost too many digits."""
_BLOCK = 2_048


def count_terms(part: Part) -> int:
    """Number of products that the expansion of a part has."""
    return math.prod(len(factor.terms()) for factor in part.factors)


def sums(
    part: Part,
    states: Sequence[FaultStates],
    log_priors: Sequence[Sequence[Floats]],
    tests: Sequence[Floats],
    *,
    without_rest: bool,
) -> tuple[Floats, Floats] | None:
    """Like `enumeration.sums`; None when too many digits cancelled to trust the result.

    The first question must be the plain total. `without_rest` says that the weights will be used without that of
    "every fault was absent from the start", so they must be sharp on their own.
    """
    priors = [[np.exp(line) for line in combination] for combination in log_priors]
    questions = tests[0].shape[0]
    total = np.zeros((len(priors), questions))
    size = np.zeros(len(priors))
    lines = [_lines(factor, part, states) for factor in part.factors]
    weighted = [[line * prior for line, prior in zip(tests, combination, strict=True)] for combination in priors]
    for signs, powers in _blocks(lines, [len(entry.cured_at) for entry in states]):
        for row, combination in enumerate(priors):
            values = np.ones((questions, len(signs)))
            whole = np.ones(len(signs))
            for line, power, prior in zip(weighted[row], powers, combination, strict=True):
                values *= line @ power
                whole *= prior @ power
            total[row] += values @ signs
            size[row] += float(whole @ np.abs(signs))
    none = np.array([math.prod(float(line[0]) for line in combination) for combination in priors])
    none *= math.exp(sum(at_rest(factor) for factor in part.factors))
    judged = total[:, 0] - none if without_rest else total[:, 0]
    if np.any(judged < GUARD * size) or np.any(size < 1e-250):
        return None
    total -= none[:, None] * np.prod([line[:, 0] for line in tests], axis=0)
    return np.zeros(len(priors)), np.maximum(total, 0.0)


def at_rest(factor: Factor) -> float:
    """Log likelihood of a check's evidence if no listed fault was ever there."""
    log_good = [np.array([factor.log_quiet])] * len(factor.slots)
    return float(factor.log_likelihood(log_good)[0])


def _lines(factor: Factor, part: Part, states: Sequence[FaultStates]) -> tuple[Floats, list[Floats | None]]:
    """Coefficients float64[terms], and per fault of the part float64[states, terms]; None where all are 1."""
    terms = factor.terms()
    powers = np.array([power for _, power in terms], dtype=np.float64).reshape(len(terms), len(factor.slots))
    with np.errstate(invalid="ignore"):
        quiet = np.where(powers.sum(axis=1) > 0, np.exp(powers.sum(axis=1) * factor.log_quiet), 1.0)
    strength = dict(factor.links)
    result: list[Floats | None] = []
    for axis, place in enumerate(part.faults):
        if place not in strength:
            result.append(None)
            continue
        there = np.array([states[axis].present(time) for time in factor.slots], dtype=np.float64)
        exponent = (powers @ there).T
        with np.errstate(invalid="ignore"):
            result.append(np.where(exponent > 0, np.exp(exponent * strength[place]), 1.0))
    return np.array([coefficient for coefficient, _ in terms]) * quiet, result


def _blocks(
    lines: Sequence[tuple[Floats, list[Floats | None]]], sizes: Sequence[int]
) -> Iterator[tuple[Floats, list[Floats]]]:
    """All terms of the product of the factors, in blocks of bounded length."""
    inner, length = 0, 1
    while inner < len(lines) and length * len(lines[inner][0]) <= _BLOCK:
        length *= len(lines[inner][0])
        inner += 1
    signs = np.ones(1)
    powers = [np.ones((size, 1)) for size in sizes]
    for coefficients, tables in lines[:inner]:
        signs = np.multiply.outer(signs, coefficients).reshape(-1)
        powers = [
            np.repeat(power, len(coefficients), axis=1)
            if table is None
            else (power[:, :, None] * table[:, None, :]).reshape(len(power), -1)
            for power, table in zip(powers, tables, strict=True)
        ]
    for choice in product(*(range(len(coefficients)) for coefficients, _ in lines[inner:])):
        block_signs, block = signs, powers
        for (coefficients, tables), term in zip(lines[inner:], choice, strict=True):
            block_signs = block_signs * coefficients[term]
            block = [
                power if table is None else power * table[:, term, None]
                for power, table in zip(block, tables, strict=True)
            ]
        yield block_signs, block
