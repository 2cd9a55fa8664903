"""Finding every world above a threshold: one fault after another, bounded by what the rest can still make of it.

A row stands for the world in which every fault that was not taken yet is absent, so taking a fault adds rows and
changes none. Each row carries G, the chance that nothing makes a check bad, and 1 - G, for every distinct state that
the check was asked in; adding a fault multiplies the one and adds to the other, so nothing cancels.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

import msgspec
import numpy as np
from numpy.typing import NDArray

from catalog.text import Refused
from triage.diagnosis.likelihood import Factor, Floats
from triage.diagnosis.situation import Situation

_Number = TypeVar("_Number", bound=np.generic)


class Found(msgspec.Struct, frozen=True):
    """Worlds with their share of everything, in no order but that the untouched unit, if possible, is the first."""

    taken: NDArray[np.int8]
    """int8[w, n]; the state of each fault."""
    weight: Floats
    """float64[w]"""
    by_sky: Floats
    """float64[combinations]; the weights added up under each combination of conditions."""
    lost: float
    """What was left out weighs no more than this."""


class _Step(msgspec.Struct, frozen=True):
    """What taking one fault does. A state is one of the fault's; state 0 is "absent"."""

    place: int
    chance: Floats
    """float64[combinations, states]; prior chance under each combination of conditions."""
    gain: float
    """The most that a prior grows when the fault is there instead of at its best."""
    factors: NDArray[np.intp]
    """The factors that the fault bears on."""
    slots: NDArray[np.intp]
    """Their slots."""
    fires: Floats
    """float64[states, slots]; strength where the fault is there at the slot's time, else 0."""
    left: Floats
    """float64[slots]; what the faults still to come can leave of G, at least."""
    plain: tuple[Floats, Floats] | None
    """Of factors with one answer: a bound is the first x (1 - G) + the second x G, both float64[factors, 1]."""


class Search:
    """A unit's evidence laid out for the search; one search serves several thresholds."""

    def __init__(self, situation: Situation, log_evidence: float, most: int) -> None:
        self._situation = situation
        self._most = most
        log_some, log_none = situation.starting
        self._untouched = np.exp(log_none + sum(situation.at_rest) - log_evidence)
        linked = [number for number, factor in enumerate(situation.factors) if factor.links]
        factors = [situation.factors[number] for number in linked]
        self._tables = _Tables(factors)
        steps, left = self._laid_out([situation.fires[number] for number in linked], factors)
        self._ceiling = self._tables.ceilings(left)
        self._steps = [msgspec.structs.replace(step, plain=self._plain(step)) for step in steps]
        shift = log_some - log_evidence + float(np.log(self._ceiling).sum())
        shift += sum(
            rest for factor, rest in zip(situation.factors, situation.at_rest, strict=True) if not factor.links
        )
        self._start = np.exp(situation.sky.log_chance + shift)
        best = situation.prior[:, [step.place for step in steps]].max(axis=2)
        later = np.cumprod(best[:, ::-1], axis=1)[:, ::-1]
        self._later = np.column_stack([later, np.ones(len(later))]).T
        """What the priors of the faults still to come can come to, at most; float64[step, combinations]."""

    def run(self, threshold: float) -> Found:
        """Every world with a share of at least the threshold, besides some others; 0 gives all that are possible.

        Raises `Refused` when that takes more rows than allowed.
        """
        skies, slots = len(self._start), len(self._tables.quiet)
        # rows of the table: prior under each combination, product of the bounds, each factor's bound, G, 1 - G
        bounds = slice(skies + 1, skies + 1 + len(self._ceiling))
        good, bad = bounds.stop, bounds.stop + slots
        table = np.empty((bad + slots, 1024))
        taken = np.zeros((1024, len(self._steps)), dtype=np.int8)
        table[:skies, 0], table[skies, 0], table[bounds, 0] = self._start, 1.0, 1.0
        table[good:bad, 0], table[bad:, 0] = self._tables.quiet, self._tables.leak
        count, lost = 1, 0.0
        for number, step in enumerate(self._steps):
            reach = (self._later[number] @ table[:skies, :count]) * table[skies, :count] * step.gain
            may = np.flatnonzero(reach >= threshold if threshold else reach > 0.0)
            prior, product = table[:skies, may], table[skies, may]
            if threshold:
                there = 1.0 - step.chance[:, 0]
                passed_by = (there @ table[:skies, :count]) @ table[skies, :count] - (there @ prior) @ product
                lost += max(0.0, float(passed_by))
            told, g, b = bounds.start + step.factors, good + step.slots, bad + step.slots
            here, not_here = table[g[:, None], may], table[b[:, None], may]
            before = table[told[:, None], may]
            table[:skies, :count] *= step.chance[:, :1]
            if len(told):
                fresh = self._bounds(step, here, not_here)
                table[skies, may] = product * (fresh / before).prod(axis=0)
                table[told[:, None], may] = fresh
            for state in range(1, step.chance.shape[1]):
                fires = step.fires[state][:, None]
                spoilt, left = not_here + here * fires, here * (1.0 - fires)
                fresh = self._bounds(step, left, spoilt)
                held = product * (fresh / before).prod(axis=0)
                weighed = prior * step.chance[:, state : state + 1]
                reach = (self._later[number + 1] @ weighed) * held
                stays = reach >= threshold if threshold else reach > 0.0
                lost += float(weighed.sum(axis=0)[~stays] @ held[~stays])
                stay = np.flatnonzero(stays)
                end = count + len(stay)
                if end > self._most:
                    raise Refused(f"more than {self._most} worlds would be needed; allow a larger loss", where="worlds")
                table, taken = _roomy(table, count, end, axis=1), _roomy(taken, count, end, axis=0)
                new = table[:, count:end]
                new[bounds.start :] = table[bounds.start :, may[stay]]
                new[:skies], new[skies] = weighed[:, stay], held[stay]
                new[told], new[g], new[b] = fresh[:, stay], left[:, stay], spoilt[:, stay]
                taken[count:end] = taken[may[stay]]
                taken[count:end, step.place] = state
                count = end
        likelihood = (
            self._tables.likelihoods(table[good:bad, :count], table[bad:, :count]) / self._ceiling[:, None]
        ).prod(axis=0)
        by_sky = table[:skies, :count] * likelihood
        by_sky[:, 0] = self._untouched
        weight = by_sky.sum(axis=0)
        possible = np.flatnonzero(weight > 0.0)
        return Found(taken[possible], weight[possible], by_sky.sum(axis=1), lost)

    def cured_at(self, taken: NDArray[np.int8]) -> Floats:
        """float64[w, n]; the states as times: -1 for absent from the start, inf for still there, else of the cure."""
        cured_at = np.empty(taken.shape)
        for place, entry in enumerate(self._situation.states):
            cured_at[:, place] = entry.cured_at[taken[:, place]]
        return cured_at

    def _laid_out(self, fires: Sequence[Sequence[Floats]], factors: Sequence[Factor]) -> tuple[list[_Step], Floats]:
        """The steps, what evidence speaks of first: it is decided soonest; and what all faults together leave of G."""
        prior, states = self._situation.prior, self._situation.states
        linked: list[list[tuple[int, Floats]]] = [[] for _ in states]
        for number, (factor, rows) in enumerate(zip(factors, fires, strict=True)):
            for (place, _), line in zip(factor.links, rows, strict=True):
                linked[place].append((number, line))
        likely = prior[:, :, 1:].sum(axis=2).max(axis=0)
        doubts = [self._tables.if_bad[number, 0] > self._tables.if_good[number, 0] for number in range(len(factors))]
        hot = [any(doubts[number] for number, _ in linked[place]) for place in range(len(states))]
        order = sorted(range(len(states)), key=lambda place: (not hot[place], not linked[place], -likely[place]))
        left = np.ones(len(self._tables.quiet))
        steps = []
        for place in reversed(order):
            numbers = [number for number, _ in linked[place]]
            slots = self._tables.slots_of(numbers)
            lines = np.vstack([line for _, line in linked[place]]).T if numbers else np.zeros((prior.shape[2], 0))
            chance = prior[:, place, : len(states[place].cured_at)]
            best = chance.max(axis=1)
            gain = float((chance[:, 1:].max(axis=1) / np.where(best > 0.0, best, 1.0)).max())
            steps.append(_Step(place, chance, gain, np.array(numbers, dtype=np.intp), slots, lines, left[slots], None))
            left[slots] *= 1.0 - lines.max(axis=0, initial=0.0)
        return steps[::-1], left

    def _plain(self, step: _Step) -> tuple[Floats, Floats] | None:
        if not self._tables.single[step.factors].all():
            return None
        ceiling, left = self._ceiling[step.factors][:, None], step.left[:, None]
        if_bad, if_good = self._tables.if_bad[step.factors], self._tables.if_good[step.factors]
        return if_bad / ceiling, np.maximum(if_good, if_bad * (1.0 - left) + if_good * left) / ceiling

    def _bounds(self, step: _Step, good: Floats, bad: Floats) -> Floats:
        bounds: Floats
        if step.plain is not None:
            if_bad, if_good = step.plain
            bounds = if_bad * bad + if_good * good
            return bounds
        left = step.left[:, None]
        bounds = self._tables.bounds(step.factors, good, bad, good * left, bad + good * (1.0 - left))
        return bounds / self._ceiling[step.factors][:, None]


class _Tables:
    """The factors side by side; those with one answer, nearly all, are worked out together."""

    def __init__(self, factors: Sequence[Factor]) -> None:
        self._factors = factors
        self._slots = [len(factor.slots) for factor in factors]
        self._first = np.cumsum([0, *self._slots])[:-1]
        log_quiet = np.repeat([factor.log_quiet for factor in factors], self._slots) if factors else np.zeros(0)
        self.quiet, self.leak = np.exp(log_quiet), -np.expm1(log_quiet)
        self.single = np.array([len(factor.answers) == 1 for factor in factors], dtype=np.bool_)
        pairs = [factor.answers[0][1] for factor in factors]
        self.if_bad = np.array([bad for bad, _ in pairs]).reshape(-1, 1)
        self.if_good = np.array([good for _, good in pairs]).reshape(-1, 1)

    def slots_of(self, some: Sequence[int]) -> NDArray[np.intp]:
        """The slots of some factors."""
        slots = [self._first[number] + offset for number in some for offset in range(self._slots[number])]
        return np.array(slots, dtype=np.intp)

    def ceilings(self, left: Floats) -> Floats:
        """float64[factors]; the most that each can come to, where `left` is what all faults can leave of G; not 0."""
        quiet, leak, left = self.quiet[:, None], self.leak[:, None], left[:, None]
        top = self.bounds(np.arange(len(self._factors)), quiet, leak, quiet * left, leak + quiet * (1.0 - left))[:, 0]
        return np.where(top > 0.0, top, 1.0)

    def likelihoods(self, good: Floats, bad: Floats) -> Floats:
        """float64[factors, rows] from G and 1 - G of every slot, float64[slots, rows]."""
        return self._worked_out(np.arange(len(self._factors)), good, bad)

    def bounds(self, some: NDArray[np.intp], good: Floats, bad: Floats, least: Floats, most: Floats) -> Floats:
        """float64[factors, rows]; likelihoods of some factors that no G between `least` and `good` exceeds.

        `good` and `bad` are G and 1 - G as they are, `least` and `most` with everything there that may still come.
        """
        if self.single[some].all():
            return np.maximum(self._worked_out(some, good, bad), self._worked_out(some, least, most))
        result = np.empty((len(some), good.shape[1]))
        for row, (number, here) in enumerate(self._cut(some)):
            result[row] = self._factors[number].bound(good[here], bad[here], least[here], most[here])
        return result

    def _worked_out(self, some: NDArray[np.intp], good: Floats, bad: Floats) -> Floats:
        if self.single[some].all():
            value: Floats = self.if_bad[some] * bad + self.if_good[some] * good
            return value
        result = np.empty((len(some), good.shape[1]))
        for row, (number, here) in enumerate(self._cut(some)):
            result[row] = self._factors[number].likelihood(good[here], bad[here])
        return result

    def _cut(self, some: NDArray[np.intp]) -> list[tuple[int, slice]]:
        """Each of some factors with its piece of the slots of them all."""
        pieces, start = [], 0
        for number in some:
            pieces.append((int(number), slice(start, start + self._slots[number])))
            start += self._slots[number]
        return pieces


def _roomy(table: NDArray[_Number], used: int, wanted: int, *, axis: int) -> NDArray[_Number]:
    """The table, or a copy of what is used of it with room for more."""
    if wanted <= table.shape[axis]:
        return table
    shape = list(table.shape)
    shape[axis] = 2 * wanted
    wider = np.empty(shape, dtype=table.dtype)
    kept = (slice(None),) * axis + (slice(used),)
    wider[kept] = table[kept]
    return wider
