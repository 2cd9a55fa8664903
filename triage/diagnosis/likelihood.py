"""How likely everything one check has said is, given the states of the faults behind it.

With G_k the chance that nothing makes the check bad at its k-th answer, the likelihood of the whole history is
persistence x persistent + (1 - persistence) x independent. Persistent: one hidden state that only ever goes from bad
to good, so "bad up to answer j, good from then on" has chance G_(j+1) - G_j. Independent: every answer by itself.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TypeAlias

import msgspec
import numpy as np
from numpy.typing import NDArray

from triage.diagnosis.history import History, Seen
from triage.diagnosis.network import Check, Likelihood, Network

Floats: TypeAlias = NDArray[np.float64]


class Factor(msgspec.Struct, frozen=True):
    """One check's evidence.

    `links` pairs a fault's place in the network with log(1 - strength). `slots` holds one time for each distinct G:
    answers with no attempt on a linked fault between them share one. `answers` pairs each answer's slot with its
    likelihoods, `lasting` holds the same likelihoods with `flip` mixed in, for the persistent part.
    """

    check: str
    log_quiet: float
    """log(1 - leak)."""
    links: tuple[tuple[int, float], ...]
    slots: tuple[int, ...]
    answers: tuple[tuple[int, Likelihood], ...]
    lasting: tuple[Likelihood, ...]
    persistence: float

    def log_likelihood(self, log_good: Sequence[Floats]) -> Floats:
        """Log likelihood, given the log of G at each slot (arrays of one shape)."""
        at = [log_good[slot] for slot, _ in self.answers]
        with np.errstate(divide="ignore"):
            if self.persistence == 0.0:
                return self._independent(at)
            if self.persistence == 1.0:
                return self._persistent(at)
            result: Floats = np.logaddexp(
                np.log(self.persistence) + self._persistent(at), np.log1p(-self.persistence) + self._independent(at)
            )
            return result

    def likelihood(self, good: Floats, bad: Floats) -> Floats:
        """float64[rows]; likelihood, given G and 1 - G at each slot, float64[slots, rows]."""
        independent: Floats = np.ones(good.shape[1])
        for slot, (if_bad, if_good) in self.answers:
            independent = independent * (if_bad * bad[slot] + if_good * good[slot])
        if self.persistence == 0.0:
            return independent
        order, runs = [slot for slot, _ in self.answers], self.runs()
        lasting = runs[0] * good[order[0]] + runs[-1] * bad[order[-1]]
        for run, before, after in zip(runs[1:-1], order, order[1:], strict=False):
            lasting = lasting + run * np.maximum(good[after] - good[before], 0.0)
        result: Floats = self.persistence * lasting + (1.0 - self.persistence) * independent
        return result

    def bound(self, good: Floats, bad: Floats, least: Floats, most: Floats) -> Floats:
        """Likelihoods that no G's from `least` to `good` (1 - G from `bad` to `most`) exceed; exact where they meet."""
        pairs = [pair for _, pair in self.answers] + list(self.lasting)
        if all(if_good >= if_bad for if_bad, if_good in pairs):
            return self.likelihood(good, bad)
        if all(if_bad >= if_good for if_bad, if_good in pairs):
            return self.likelihood(least, most)
        if len(self.answers) == 1:  # linear in its only G
            return np.maximum(self.likelihood(good, bad), self.likelihood(least, most))
        top: Floats = np.full(good.shape[1], max(self._ceilings()))
        return top

    def runs(self) -> list[float]:
        """Likelihood of all answers if the check was bad up to answer j and good from then on, for j = 0 … m."""
        count = len(self.lasting)
        return [
            math.prod([pair[0] for pair in self.lasting[:j]] + [pair[1] for pair in self.lasting[j:]])
            for j in range(count + 1)
        ]

    def _ceilings(self) -> tuple[float, float]:
        largest = [max(pair) for _, pair in self.answers]
        return math.prod(largest), max(self.runs())

    def _independent(self, at: Sequence[Floats]) -> Floats:
        total = np.zeros_like(at[0])
        for log_good, (_, pair) in zip(at, self.answers, strict=True):
            total = total + mixed(log_good, pair)
        return total

    def _persistent(self, at: Sequence[Floats]) -> Floats:
        runs = self.runs()
        total = np.log(runs[0]) + at[0]
        for j in range(1, len(at)):
            # both may be minus infinity: then the state did not change
            gap = np.subtract(at[j - 1], at[j], out=np.zeros_like(at[j]), where=at[j] > -np.inf)
            total = np.logaddexp(total, np.log(runs[j]) + at[j] + np.log(-np.expm1(np.minimum(gap, 0.0))))
        result: Floats = np.logaddexp(total, np.log(runs[-1]) + log_bad(at[-1]))
        return result


def log_bad(log_good: Floats) -> Floats:
    """log(1 - G) from log G, exact to the last digit even for tiny chances."""
    with np.errstate(divide="ignore"):
        result: Floats = np.log(-np.expm1(log_good))
    return result


def mixed(log_good: Floats, pair: Likelihood) -> Floats:
    """log(L1 (1 - G) + L0 G)."""
    bad, good = pair
    result: Floats
    if bad == 0.0:
        result = log_good + np.log(good)
    elif good == 0.0:
        result = log_bad(log_good) + np.log(bad)
    else:
        result = np.logaddexp(log_bad(log_good) + np.log(bad), log_good + np.log(good))
    return result


def factors_of(network: Network, history: History) -> list[Factor]:
    """One factor for each check that has evidence, and one for each report that still stands."""
    places = {fault.id: place for place, fault in enumerate(network.faults)}
    by_check: dict[str, list[Seen]] = {}
    for entry in history.seen:
        by_check.setdefault(entry.check, []).append(entry)
    found = []
    for check in network.checks:
        if check.id in by_check:
            found.append(_factor(check, by_check[check.id], history, places, check.persistence))
        found.extend(
            _factor(check, [entry], history, places, 0.0) for entry in history.reports if entry.check == check.id
        )
    return found


def links_of(check: Check, places: dict[str, int]) -> tuple[tuple[int, float], ...]:
    """Place and log(1 - strength) of each fault that can make the check bad; strength 1 gives minus infinity."""
    return tuple((places[fault], _log_rest(strength)) for fault, strength in check.links.items() if strength)


def log_quiet(check: Check) -> float:
    """log(1 - leak)."""
    return _log_rest(check.leak)


def _log_rest(chance: float) -> float:
    return math.log1p(-chance) if chance < 1.0 else -math.inf


def _factor(
    check: Check, entries: Sequence[Seen], history: History, places: dict[str, int], persistence: float
) -> Factor:
    slots: dict[tuple[int, ...], tuple[int, int]] = {}
    answers = []
    tried = [fault for fault in check.links if history.attempts[fault]]
    for entry in entries:
        done = tuple(sum(time < entry.index for time in history.attempts[fault]) for fault in tried)
        slot, _ = slots.setdefault(done, (len(slots), entry.index))
        answers.append((slot, entry.likelihood))
    lasting = tuple(_flipped(entry.likelihood, check.flip if entry.recorded else 0.0) for entry in entries)
    if len(entries) == 1:  # both parts look at one and the same state, so they can be mixed beforehand
        (_, raw), (kept,) = answers[0], lasting
        mix = (1.0 - persistence) * raw[0] + persistence * kept[0], (1.0 - persistence) * raw[1] + persistence * kept[1]
        answers, lasting, persistence = [(0, mix)], (mix,), 0.0
    return Factor(
        check=check.id,
        log_quiet=log_quiet(check),
        links=links_of(check, places),
        slots=tuple(time for _, time in slots.values()),
        answers=tuple(answers),
        lasting=lasting,
        persistence=persistence,
    )


def _flipped(pair: Likelihood, flip: float) -> Likelihood:
    bad, good = pair
    return bad * (1.0 - flip) + good * flip, good * (1.0 - flip) + bad * flip
