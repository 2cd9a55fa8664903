"""The same exact sums without going through every joint state: fault by fault, keeping which checks were set off.

A check comes out bad when the leak or any present fault sets it off, each on its own (Zhang & Poole, JAIR 5, 1996, on
causal independence). So it is enough to carry, for every check that may be bad, whether something has set it off yet;
a check that is plainly good must never be set off and costs nothing. The cost grows with the number of bad checks that
are open at once, as in inclusion-exclusion (Heckerman's Quickscore, UAI 1989), but every term is positive: nothing
cancels, however improbable the evidence.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec
import numpy as np

from triage.diagnosis.likelihood import Factor, Floats
from triage.diagnosis.states import FaultStates, Part

_MOST_CELLS = 2**21


class Axis(msgspec.Struct, frozen=True):
    """What must be remembered about one check; `start` and `end` weigh its memory before and after all faults."""

    factor: Factor
    start: Floats
    end: Floats
    copies: tuple[tuple[int, bool], ...]
    """Slot of each answer of the independent part, and whether the answer leaves room for being set off."""
    runs: tuple[int, ...]
    """Slots of the persistent part, as far as it must be followed; its memory is how many answers are bad."""

    def step(self, strength: float, present: Sequence[bool]) -> Floats:
        """float64[memory, memory]: what a fault, there at the slots marked in `present`, does to the memory."""
        blocks = []
        if self.factor.persistence < 1.0:
            block = np.ones((1, 1))
            for slot, open_ in self.copies:
                fires = strength if present[slot] else 0.0
                one = np.array([[1.0 - fires, fires], [0.0, 1.0]]) if open_ else np.array([[1.0 - fires]])
                block = np.kron(block, one)
            blocks.append(block)
        if self.factor.persistence > 0.0:
            blocks.append(self._lasting(strength, sum(present[slot] for slot, _ in self.factor.answers)))
        size = sum(len(block) for block in blocks)
        whole, corner = np.zeros((size, size)), 0
        for block in blocks:
            whole[corner : corner + len(block), corner : corner + len(block)] = block
            corner += len(block)
        return whole

    def _lasting(self, strength: float, reach: int) -> Floats:
        """A fault that fires makes all answers bad up to the last one at which it was there."""
        size = len(self.runs) + 1
        block = np.zeros((size, size))
        for bad in range(size):
            goal = max(bad, reach)
            block[bad, bad] += 1.0 - strength
            if goal < size:
                block[bad, goal] += strength
        return block


def axis_of(factor: Factor) -> Axis:
    """The memory that one check's evidence needs."""
    leak = -math.expm1(factor.log_quiet)
    starts: list[Floats] = []
    ends: list[Floats] = []
    copies = tuple((slot, bad > 0.0) for slot, (bad, _) in factor.answers)
    if factor.persistence < 1.0:
        start = end = np.ones(1)
        for (_, open_), (_, (bad, good)) in zip(copies, factor.answers, strict=True):
            start = np.kron(start, np.array([1.0 - leak, leak] if open_ else [1.0 - leak]))
            end = np.kron(end, np.array([good, bad] if open_ else [good]))
        starts.append(start * (1.0 - factor.persistence))
        ends.append(end)
    runs = factor.runs()
    last = max((j for j, chance in enumerate(runs) if chance > 0.0), default=0)
    if factor.persistence > 0.0:
        start = np.zeros(last + 1)
        start[0] = 1.0 - leak
        if last == len(factor.answers):
            start[last] += leak
        starts.append(start * factor.persistence)
        ends.append(np.array(runs[: last + 1]))
    return Axis(
        factor=factor,
        start=np.concatenate(starts),
        end=np.concatenate(ends),
        copies=copies,
        runs=tuple(slot for slot, _ in factor.answers[:last]),
    )


class Plan(msgspec.Struct, frozen=True):
    """In which order a part's faults are taken, and the most memory states that are open at once."""

    axes: tuple[Axis, ...]
    order: tuple[int, ...]
    """Positions within the part."""
    width: int


def plan(part: Part) -> Plan:
    """A good order: at every step the fault that leaves least to remember."""
    axes = tuple(axis_of(factor) for factor in part.factors)
    waiting = [{place for place, _ in axis.factor.links} for axis in axes]
    left = list(range(len(part.faults)))
    opened: set[int] = set()
    order, width = [], 2
    while left:
        options = []
        for position in left:
            place = part.faults[position]
            touched = opened | {k for k, faults in enumerate(waiting) if place in faults}
            open_after = {k for k in touched if waiting[k] - {place}}
            sizes = [2 * math.prod(len(axes[k].start) for k in some) for some in (open_after, touched)]
            options.append((sizes[0], sizes[1], position, open_after))
        _, peak, position, opened = min(options, key=lambda option: option[:3])
        width = max(width, peak)
        for faults in waiting:
            faults.discard(part.faults[position])
        left.remove(position)
        order.append(position)
    return Plan(axes, tuple(order), width)


def sums(
    part: Part,
    states: Sequence[FaultStates],
    log_priors: Sequence[Sequence[Floats]],
    tests: Sequence[Floats],
    way: Plan,
) -> tuple[Floats, Floats]:
    """Like `enumeration.sums`, in the order of a plan."""
    questions = tests[0].shape[0]
    rows = max(1, _MOST_CELLS // way.width)
    scales, found = [], []
    for priors in log_priors:
        pieces = [
            _swept(part, states, [np.exp(line) for line in priors], [line[row : row + rows] for line in tests], way)
            for row in range(0, questions, rows)
        ]
        top = max(scale for scale, _ in pieces)
        scales.append(top)
        found.append(
            np.concatenate([values * math.exp(scale - top) if top > -np.inf else values for scale, values in pieces])
        )
    return np.array(scales), np.array(found)


def at_rest(factor: Factor) -> float:
    """Log likelihood of a check's evidence if no listed fault was ever there."""
    log_good = [np.array([factor.log_quiet])] * len(factor.slots)
    return float(factor.log_likelihood(log_good)[0])


def _swept(
    part: Part, states: Sequence[FaultStates], priors: Sequence[Floats], tests: Sequence[Floats], way: Plan
) -> tuple[float, Floats]:
    """Log scale and float64[questions]; the second dimension of `memory` is whether any fault was there at first."""
    memory = np.zeros((tests[0].shape[0], 2))
    memory[:, 0] = 1.0
    opened: list[int] = []
    pending = [{place for place, _ in axis.factor.links} for axis in way.axes]
    scale = 0.0
    for position in way.order:
        place = part.faults[position]
        linked = [k for k, axis in enumerate(way.axes) if any(place == other for other, _ in axis.factor.links)]
        for k in linked:
            if k not in opened:
                memory = np.multiply.outer(memory, way.axes[k].start)
                opened.append(k)
        first = [1, *(2 + opened.index(k) for k in linked)]
        memory = np.moveaxis(memory, first, range(memory.ndim - len(first), memory.ndim))
        opened = [k for k in opened if k not in linked] + linked
        # the memory now ends with "any fault" and the linked checks
        memory = _taken(
            memory, states[position], priors[position] * tests[position], [way.axes[k] for k in linked], place
        )
        memory = np.moveaxis(memory, memory.ndim - len(first), 1)
        for k in linked:
            pending[k].discard(place)
            if not pending[k]:
                memory = np.tensordot(memory, way.axes[k].end, axes=([2 + opened.index(k)], [0]))
                opened.remove(k)
        top = float(memory.max())
        if top == 0.0:
            return -math.inf, np.zeros(len(memory))
        memory = memory / top
        scale += math.log(top)
    return scale, memory[:, 1]


def _taken(memory: Floats, states: FaultStates, weight: Floats, linked: Sequence[Axis], place: int) -> Floats:
    """One fault decided: the sum over its states of weight x what the state does to the memory."""
    count = 1 + len(linked)
    lead = (slice(None),) + (None,) * (memory.ndim - 1)
    total = weight[:, 0][lead] * memory
    alike: dict[tuple[bool, ...], list[int]] = {}
    for state in range(1, len(states.cured_at)):
        key = tuple(bool(states.present(time)[state]) for axis in linked for time in axis.factor.slots)
        alike.setdefault(key, []).append(state)
    for some in alike.values():
        moved = np.tensordot(memory, np.array([[0.0, 1.0], [0.0, 1.0]]), axes=([memory.ndim - count], [0]))
        for axis in linked:
            present = [bool(states.present(time)[some[0]]) for time in axis.factor.slots]
            strength = -math.expm1(dict(axis.factor.links)[place])
            # taking the first of the last dimensions and putting it behind brings them back into order in the end
            moved = np.tensordot(moved, axis.step(strength, present), axes=([memory.ndim - count], [0]))
        total = total + weight[:, some].sum(axis=1)[lead] * moved
    return total
