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
    """One check's answer: its likelihood is `steady` + `share` x G."""

    check: int
    """Place of the check."""
    steady: float
    share: float

    def at_rest(self, layout: Layout) -> float:
        """Likelihood where no fault is there."""
        return self.steady + self.share * layout.quiet[self.check]

    def log_alone(self, layout: Layout) -> float:
        """Log chance of the answer as if nothing else had been seen."""
        chance = self.steady + self.share * layout.good[self.check]
        return math.log(chance) if chance > 0.0 else -math.inf


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
        result.append(Told(row, bad, good - bad))
    return result


def chances_of(layout: Layout, told: Sequence[Told]) -> Chances | None:
    """All chances at once, each right to 1e-9; None where that is not sure, or would take too long."""
    if not layout.faults or layout.sure:
        return None
    prior, tied, scale = _folded(layout, told)
    if 2 ** len(tied) * prior.size > MOST_CELLS:
        return None
    at_rest = 1.0
    for one in tied:
        if one.steady:
            scale *= one.steady
            at_rest *= one.at_rest(layout) / one.steady
        else:
            at_rest *= one.at_rest(layout)
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


def _folded(layout: Layout, told: Sequence[Told]) -> tuple[Floats, list[Told], float]:
    """The chances that faults are there, after all answers that speak of one only; the other answers; the scale.

    float64[faults, combinations, 1]. An answer moves the odds of the one fault by how much likelier it is with it.
    """
    tied: list[Told] = []
    scale, gains = 1.0, [1.0] * len(layout.faults)
    for one in told:
        faults, at_rest = layout.linked[one.check], one.at_rest(layout)
        if faults & (faults - 1) or not at_rest:
            tied.append(one)
            continue
        scale *= at_rest
        if faults:
            place = faults.bit_length() - 1
            gains[place] *= (one.steady + one.share * layout.good_beside[one.check][place]) / at_rest
    return layout.present * np.array(gains)[:, None, None], tied, scale


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
