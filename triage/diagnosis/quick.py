"""The chances of a unit on which nothing was tried yet and no look was repeated: most units, most of the time.

What a check said is then `steady` + `share` x G, with G the chance that nothing makes it bad: a product over the
faults. So the evidence is a sum of products, two for each uncertain answer and one for a certain good one (Heckerman's
Quickscore, UAI 1989): a handful of small arrays. An answer that speaks
of one fault only is a factor on its prior. The terms have both signs; where they cancel to less than a millionth, or are too many, nothing is returned and the sums of `marginals`
take over.
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
MOST_CELLS = 2**17
"""Combinations x faults x terms."""
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
    """Chances given the evidence; float64[faults] and float64[combinations]."""

    log_evidence: float
    present: Floats
    absent: Floats
    none: float
    """That no fault is there."""
    skies: Floats


def told_of(network: Network, history: History) -> list[Told] | None:
    """What each answered check said; None where a cure was tried or a check spoke twice."""
    if any(history.attempts.values()):
        return None
    layout, result, spoken = network.layout, [], set()
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
    """All chances at once; None when that would lose digits or take too long, or the evidence is impossible."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return _chances(layout, told) if layout.faults else None


def _chances(layout: Layout, told: Sequence[Told]) -> Chances | None:
    prior, tied, scale = _folded(layout, told)
    if 2 ** len(tied) * prior.size > MOST_CELLS:
        return None
    scale *= math.prod(one.steady or one.share for one in tied)
    at_rest = math.prod(one.at_rest(layout) / (one.steady or one.share) for one in tied)
    healthy, nothing = layout.healthy * at_rest, layout.nothing * at_rest
    sums = _sums(layout, prior, *_terms(layout, tied))
    # one fault is there or it is not, so both sums of any one make up the whole
    whole = sums[:, 0, 0] + sums[:, 1, 0]
    some, size = (layout.some_chance @ whole).tolist()
    evidence = some - nothing + healthy
    if not evidence * scale > _FAINT or not some - nothing >= LOST * (size + nothing):
        return None
    by_fault = (layout.some_chance @ sums.reshape(len(sums), -1)).reshape(sums.shape[1:])
    by_fault[0, :, 0] += healthy - nothing
    by_fault[0, :, 1] += healthy + nothing
    if not (by_fault[..., 0] >= LOST * by_fault[..., 1]).all():
        return None
    by_sky = layout.some_chance * (whole[:, 0] - layout.none * at_rest) + layout.untouched * at_rest
    absent, present = by_fault[..., 0] / evidence
    return Chances(math.log(evidence * scale), present, absent, healthy / evidence, by_sky / evidence)


def _folded(layout: Layout, told: Sequence[Told]) -> tuple[Floats, list[Told], float]:
    """Answers that speak of one fault or none, as a factor on its prior; the others; the scale taken out."""
    present, tied, scale = layout.present, [], 1.0
    for one in told:
        faults, at_rest = layout.linked[one.check], one.at_rest(layout)
        if faults & (faults - 1) or not at_rest:
            tied.append(one)
            continue
        scale *= at_rest
        if faults:
            place = faults.bit_length() - 1
            if present is layout.present:
                present = present.copy()
            present[place] *= (at_rest + one.share * (layout.kept_quiet[one.check][place] - layout.quiet[one.check])) / at_rest
    return present, tied, scale


def _sums(layout: Layout, present: Floats, kept: Floats, factor: Floats) -> Floats:
    """float64[combinations, 2, faults, 2]: over all sets without each fault, and all with it.

    Each the sum of its terms, then the sum of what they come to without their signs.
    """
    line = present * kept[:, None]  # float64[faults, combinations, terms]
    line += layout.absent
    signed = np.empty((*line.shape[1:], 2))
    np.multiply(factor, np.multiply.reduce(line), out=signed[:, :, 0])
    np.abs(signed[:, :, 0], out=signed[:, :, 1])
    result = np.empty((line.shape[1], 2, line.shape[0], 2))
    np.divide(1.0, line, out=line)
    by_sky = line.transpose(1, 0, 2)
    np.multiply(layout.absent.transpose(1, 0, 2), by_sky @ signed, out=result[:, 0])
    line *= kept[:, None]
    np.multiply(present.transpose(1, 0, 2), by_sky @ signed, out=result[:, 1])
    return result


def _terms(layout: Layout, told: Sequence[Told]) -> tuple[Floats, Floats]:
    """float64[faults, terms] and float64[terms]: what each fault leaves of each term if it is there; its factor.

    Of an uncertain answer the constant is taken out, so that it is 1 + (share / steady) x G.
    """
    kept = np.empty((len(layout.faults) + 1, 2 ** sum(one.steady != 0.0 for one in told)))
    kept[:, 0] = 1.0
    count = 1
    for one in told:
        column = layout.kept[one.check]
        if one.steady:
            np.multiply(kept[:, :count], column, out=kept[:, count : 2 * count])
            kept[-1, count : 2 * count] *= one.share / one.steady
            count *= 2
        else:
            kept[:, :count] *= column
    return kept[:-1], kept[-1]
