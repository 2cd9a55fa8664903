"""The chances of a unit on which nothing was tried yet and no look was repeated: most units, most of the time.

What a check said is then `steady` + `share` x G, with G the chance that nothing makes it bad: a product over the
faults. So the evidence is a sum of products, two for each uncertain answer and one for a certain good one (Heckerman's
Quickscore, UAI 1989): a handful of small arrays. An answer that speaks of one fault only is a factor on its prior. The
terms have both signs; where they cancel to less than a millionth, or are too many, nothing is returned and the sums of
`marginals` take over.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec
import numpy as np

from triage.diagnosis.history import History
from triage.diagnosis.layout import Layout
from triage.diagnosis.likelihood import Floats
from triage.diagnosis.network import Network

LOST = 1e-6
"""Sums that come out smaller than this share of their terms are not trusted."""
MOST_CELLS = 2**19
"""Combinations x faults x terms; up to here quicker than every other way (measured on the classes)."""
_LEAST_DIGITS = 1e-9
"""The same for the chance that a fault is not there: it keeps six digits even where it is tiny."""
_FAINT = 1e-200
"""Evidence less likely than this is left to the sums in log space."""


class Told(msgspec.Struct, frozen=True):
    """What one answer comes to; its likelihood is `steady` + `share` x G."""

    check: int
    """Place of the check."""
    steady: float
    share: float
    at_rest: float
    """Likelihood where no fault is there."""
    log_alone: float
    """Log chance of the answer as if nothing else had been seen."""
    tied: bool
    """Whether it speaks of several faults; of one or none it is only a factor."""
    fault: int
    """The one fault it speaks of, if it is not tied, and how many times likelier that makes it."""
    gain: float


class Chances(msgspec.Struct, frozen=True):
    """Chances given the evidence, by place of the fault and of the combination of conditions."""

    log_evidence: float
    present: list[float]
    absent: list[float]
    none: float
    """That no fault is there."""
    skies: Floats


def told_of(network: Network, history: History) -> list[Told] | None:
    """What each answered check said; None where a cure was tried or a check spoke twice."""
    if any(history.attempts.values()):
        return None
    layout = network.layout
    result: list[Told] = []
    spoken: set[int] = set()
    for entry in (*history.seen, *history.reports):
        row = layout.row_of[entry.check]
        if row in spoken:
            return None
        spoken.add(row)
        bad, good = entry.likelihood
        if entry.recorded:
            misread = network.checks[row].misread
            bad, good = bad * (1.0 - misread) + good * misread, good * (1.0 - misread) + bad * misread
        key = (row, bad, good)
        if key not in layout.told:
            layout.told[key] = _told(layout, row, bad, good - bad)
        result.append(layout.told[key])
    return result


def _told(layout: Layout, check: int, steady: float, share: float) -> Told:
    faults, at_rest = layout.linked[check], steady + share * layout.quiet[check]
    alone = steady + share * layout.good[check]
    tied = bool(faults & (faults - 1)) or not at_rest
    fault = 0 if tied or not faults else faults.bit_length() - 1
    beside = layout.quiet[check] * float(layout.kept[check, fault, 0]) if faults else layout.quiet[check]
    return Told(
        check=check,
        steady=steady,
        share=share,
        at_rest=at_rest,
        log_alone=math.log(alone) if alone > 0.0 else -math.inf,
        tied=tied,
        fault=fault,
        gain=1.0 if tied else (steady + share * beside) / at_rest,
    )


def chances_of(layout: Layout, told: Sequence[Told]) -> Chances | None:
    """All chances at once, each right to 1e-9; None where that is not sure, or would take too long."""
    if not layout.faults or layout.sure:
        return None
    tied: list[Told] = []
    scale, at_rest, gains = 1.0, 1.0, [1.0] * len(layout.faults)
    for one in told:
        if one.tied:
            tied.append(one)
            scale *= one.steady or 1.0
            at_rest *= one.at_rest / (one.steady or 1.0)
        else:
            scale *= one.at_rest
            gains[one.fault] *= one.gain
    if 2 ** len(tied) * layout.present.size > MOST_CELLS:
        return None
    prior = layout.present * np.array(gains)[:, None, None]
    healthy, nothing = layout.healthy * at_rest, layout.nothing * at_rest
    by_sky, size, gone, here = _sums(layout, prior, *_terms(layout, tied))
    some = math.fsum(by_sky.tolist()) - nothing
    evidence = some + healthy
    if not evidence * scale > _FAINT or not some >= LOST * size:
        return None
    absent = [(each + healthy - nothing) / evidence for each in gone]
    if min(absent) * evidence < _LEAST_DIGITS * size:
        return None
    return Chances(
        log_evidence=math.log(evidence * scale),
        present=[each / evidence for each in here],
        absent=absent,
        none=healthy / evidence,
        skies=(by_sky + at_rest * layout.beside) / evidence,
    )


def _terms(layout: Layout, told: Sequence[Told]) -> tuple[Floats, Floats]:
    """float64[faults, terms] and float64[terms]: what each fault leaves of each term if it is there; its factor.

    Of an uncertain answer the constant is taken out, so that it is 1 + (share / steady) x G.
    """
    kept = np.empty((len(layout.faults), 2 ** sum(one.steady != 0.0 for one in told)))
    kept[:, 0] = 1.0
    factor = [1.0]
    for one in told:
        column, count = layout.kept[one.check], len(factor)
        more = one.share * layout.quiet[one.check]
        if one.steady:
            np.multiply(kept[:, :count], column, out=kept[:, count : 2 * count])
            more /= one.steady
            factor += [each * more for each in factor]
        else:
            factor = [each * more for each in factor]
            kept[:, :count] *= column
    return kept, np.array(factor)


def _sums(
    layout: Layout, prior: Floats, kept: Floats, factor: Floats
) -> tuple[Floats, float, list[float], list[float]]:
    """Sums over all fault sets: float64[combinations]; without signs, in one; without each fault; with each."""
    there = prior * kept[:, None]  # float64[faults, combinations, terms]
    line = there + layout.absent
    terms = np.multiply.reduce(line) * factor
    terms *= layout.some_chance
    flat = terms.reshape(-1)
    gone = (layout.absent / line).reshape(len(line), -1) @ flat
    here = np.divide(there, line, out=there).reshape(len(line), -1) @ flat
    return terms.sum(axis=1), float(np.abs(flat).sum()), gone.tolist(), here.tolist()
