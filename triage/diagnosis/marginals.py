"""Every chance of a unit in one go: faults, no fault, conditions, and the same with one more check found quiet.

Given the conditions, the parts that evidence ties together are independent, so each is summed by itself and the parts
are multiplied: small parts state by state, large ones by inclusion and exclusion over the answers (`terms`). A guard
hands back to the slow exact sums whenever digits could be lost.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec
import numpy as np

from triage.diagnosis import terms
from triage.diagnosis.likelihood import Factor, Floats
from triage.diagnosis.network import Check
from triage.diagnosis.situation import PartSums, Situation
from triage.diagnosis.states import Part

MOST_CELLS = 2**11
"""Joint states of one part that are gone through one by one; beyond, its answers are fewer."""
_FAINT = 1e-200
"""Evidence less likely than this is left to the sums in log space."""


class Marginals(msgspec.Struct, frozen=True):
    """Chances given the evidence. The first question is the plain one, the others add a check that is found quiet.

    float64[questions] and float64[questions, faults], all as shares of the plain total.
    """

    log_evidence: float
    total: Floats
    present: Floats
    absent: Floats
    at_start: Floats
    none_now: Floats
    none_at_start: Floats
    skies: Floats
    """float64[combinations]; of the plain question."""


def marginals(situation: Situation, quiet: Floats | None = None) -> Marginals | None:
    """All chances at once; None when that would lose digits or take too long, or the evidence is impossible.

    `quiet` is float64[questions, faults, states]: what each state of each fault leaves of the chance that an extra
    check is quiet; the first question should be all 1.
    """
    prior = situation.prior
    shape = (1, *prior.shape[1:])
    asked = np.ones(shape) if quiet is None else quiet
    if not situation.network.faults or -math.inf in situation.at_rest:
        return None
    single, tied = _split(situation)
    weight = prior.copy()
    log_scale = sum(rest for factor, rest in zip(situation.factors, situation.at_rest, strict=True) if not factor.links)
    for factor, fires in zip(situation.factors, situation.fires, strict=True):
        if len(factor.links) == 1:
            line = _line(factor, fires[0])
            top = line.max()
            if top == 0.0:
                return None
            weight[:, factor.links[0][0], : len(line)] *= line / top
            log_scale += math.log(top)
    found = [_alone(situation, weight, asked, single)]
    for part in tied:
        sums = _tied(situation, part, weight, asked)
        if sums is None:
            return None
        found.append(sums)
    places = [*single, *(place for part in tied for place in part.faults)]
    return _joined(situation, found, places, log_scale)


def quiet_of(situation: Situation, checks: Sequence[Check]) -> Floats:
    """Questions for `marginals`: the plain one, then each check found quiet now, its leak left out."""
    result = np.ones((1 + len(checks), *situation.now.shape))
    places = {fault.id: place for place, fault in enumerate(situation.network.faults)}
    for row, check in enumerate(checks, start=1):
        for fault, strength in check.links.items():
            result[row, places[fault], situation.now[places[fault]]] = 1.0 - strength
    return result


def alone_of(situation: Situation) -> dict[str, float]:
    """Log chance of each check's evidence as if nothing else had been seen, of the checks with one answer."""
    log_some, log_none = situation.starting
    chance, untouched = np.exp(situation.sky.log_chance + log_some), np.exp(log_none)
    none = np.exp(situation.sky.log_absent.sum(axis=1))
    result = {}
    for factor, lines, rest in zip(situation.factors, situation.fires, situation.at_rest, strict=True):
        if len(factor.answers) > 1:
            continue
        good = np.full(len(chance), math.exp(factor.log_quiet))
        for (place, _), fires in zip(factor.links, lines, strict=True):
            good *= 1.0 - situation.prior[:, place, : fires.shape[1]] @ fires[0]
        ((_, (if_bad, if_good)),) = factor.answers
        some = if_bad * (1.0 - good) + if_good * good - none * math.exp(rest)
        total = float(chance @ np.maximum(some, 0.0) + untouched.sum() * math.exp(rest))
        result[factor.check] = math.log(total) if total > 0.0 else -math.inf
    return result


def _split(situation: Situation) -> tuple[list[int], list[Part]]:
    """Faults that stand alone, and parts of several with the factors that tie them."""
    single, tied = [], []
    for part in situation.parts:
        if len(part.faults) == 1:
            single.append(part.faults[0])
        else:
            tied.append(Part(part.faults, tuple(factor for factor in part.factors if len(factor.links) > 1)))
    return single, tied


def _line(factor: Factor, fires: Floats) -> Floats:
    """float64[states]; likelihood of a factor that only one fault bears on."""
    quiet = math.exp(factor.log_quiet)
    return factor.likelihood(quiet * (1.0 - fires), quiet * fires - math.expm1(factor.log_quiet))


def _alone(situation: Situation, weight: Floats, asked: Floats, single: Sequence[int]) -> PartSums:
    """The sums of faults that stand alone, side by side: the last dimension of all counts them."""
    now = situation.now[single]
    each = weight[:, None, single] * asked[None, :, single]
    here = np.where(now, each, 0.0).sum(axis=3)
    gone = np.where(now[:, 1:], 0.0, each[..., 1:]).sum(axis=3)
    return PartSums(0.0, here + gone, each[..., 0], gone, here, gone, here + gone)


def _tied(situation: Situation, part: Part, weight: Floats, asked: Floats) -> PartSums | None:
    cells = math.prod(len(situation.states[place].cured_at) for place in part.faults)
    if cells <= MOST_CELLS or not terms.few(part, cells):
        return _enumerated(situation, part, weight, asked) if cells <= 8 * MOST_CELLS else None
    return terms.sums(situation, part, weight, asked)


def _enumerated(situation: Situation, part: Part, weight: Floats, asked: Floats) -> PartSums | None:
    """The sums of a part state by state; every term is positive."""
    sizes = [len(situation.states[place].cured_at) for place in part.faults]
    likelihood, log_scale = _likelihood(situation, part, sizes)
    if likelihood is None:
        return None
    joint = np.ones((len(weight), 1))
    questions = np.ones((len(asked), 1))
    clear = np.ones(1)
    for place, size in zip(part.faults, sizes, strict=True):
        joint = (joint[:, :, None] * weight[:, place, None, :size]).reshape(len(weight), -1)
        questions = (questions[:, :, None] * asked[:, place, None, :size]).reshape(len(asked), -1)
        clear = (clear[:, None] * ~situation.now[place, :size]).reshape(-1)
    joint *= likelihood
    none = joint[:, 0, None] * questions[None, :, 0]
    joint[:, 0] = 0.0
    some = joint @ questions.T
    present, absent, at_start = [], [], []
    left, right = 1, joint.shape[1]
    for place, size in zip(part.faults, sizes, strict=True):
        right //= size
        cut = joint.reshape(-1, left, size, right)
        asks = questions.reshape(-1, left, size, right)
        by_state = np.stack(
            [
                cut[:, :, state].reshape(len(weight), -1) @ asks[:, :, state].reshape(len(asked), -1).T
                for state in range(size)
            ]
        )
        now = situation.now[place, :size]
        present.append(by_state[now].sum(axis=0))
        absent.append(by_state[~now].sum(axis=0))
        at_start.append(by_state[1:].sum(axis=0))
        left *= size
    return PartSums(
        log_scale=log_scale,
        some=some[:, :, None],
        none=none[:, :, None],
        clear=((joint * clear) @ questions.T)[:, :, None],
        present=np.stack(present, axis=2),
        absent=np.stack(absent, axis=2),
        at_start=np.stack(at_start, axis=2),
    )


def _likelihood(situation: Situation, part: Part, sizes: Sequence[int]) -> tuple[Floats | None, float]:
    """float64[joint states] of the part's evidence, and the log scale taken out of it; None when it is impossible."""
    axis = {place: number for number, place in enumerate(part.faults)}
    total, log_scale = np.ones([1] * len(sizes)), 0.0
    for factor in part.factors:
        good = np.full((len(factor.slots), 1), math.exp(factor.log_quiet))
        bad = np.full((len(factor.slots), 1), -math.expm1(factor.log_quiet))
        shape = [1] * len(sizes)
        lines = situation.fires[situation.factors.index(factor)]
        for (place, _), fires in sorted(zip(factor.links, lines, strict=True), key=lambda entry: entry[0][0]):
            more = good[:, :, None] * fires[:, None, :]
            bad = (bad[:, :, None] + more).reshape(len(bad), -1)
            good = (good[:, :, None] * (1.0 - fires[:, None, :])).reshape(len(good), -1)
            shape[axis[place]] = fires.shape[1]
        line = factor.likelihood(good, bad)
        top = float(line.max())
        if top == 0.0:
            return None, 0.0
        log_scale += math.log(top)
        total = total * (line / top).reshape(shape)
    return np.broadcast_to(total, sizes).reshape(-1), log_scale


def _joined(
    situation: Situation, found: Sequence[PartSums], places: Sequence[int], log_scale: float
) -> Marginals | None:
    """The parts multiplied; "some fault at some time" is kept apart all the way, as `known_faulty` weighs it.

    `places` are the faults in the order in which the parts have them; the first of `found` is the faults that stand
    alone, each of the others one part.
    """
    log_scale += sum(sums.log_scale for sums in found)
    some, none, clear = (_side_by_side(found, name) for name in ("some", "none", "clear"))
    log_some, log_none = situation.starting
    chance = np.exp(situation.sky.log_chance + log_some)
    untouched = np.exp(log_none + sum(situation.at_rest) - log_scale)
    all_so_far, none_so_far, some_so_far = _scanned(some, none)
    all_to_come, _, some_to_come = (line[..., ::-1] for line in _scanned(some[..., ::-1], none[..., ::-1]))
    all_else = _shifted(all_so_far, 1.0, 1) * _shifted(all_to_come, 1.0, -1)
    some_else = _shifted(some_so_far, 0.0, 1) * _shifted(all_to_come, 1.0, -1)
    some_else += _shifted(none_so_far, 1.0, 1) * _shifted(some_to_come, 0.0, -1)
    sizes = [1] * found[0].some.shape[2] + [sums.present.shape[2] for sums in found[1:]]
    part_of = np.repeat(np.arange(len(sizes)), sizes)
    all_else, some_else, none_here = all_else[..., part_of], some_else[..., part_of], none[..., part_of]
    by_sky = chance[:, None] * some_so_far[..., -1] + untouched[:, None]
    plain, bare = float(by_sky[:, 0].sum()), float(untouched.sum())
    if not plain > _FAINT:
        return None
    bare_each = np.full(by_sky.shape[1], bare)
    order = np.argsort(places)
    present, absent, at_start = (_side_by_side(found, name) for name in ("present", "absent", "at_start"))

    def over_skies(line: Floats) -> Floats:
        return (chance @ line.reshape(len(chance), -1)).reshape(line.shape[1:])

    return Marginals(
        log_evidence=math.log(plain) + log_scale,
        total=by_sky.sum(axis=0) / plain,
        present=over_skies(present * all_else)[:, order] / plain,
        absent=(over_skies(absent * all_else + none_here * some_else)[:, order] + bare) / plain,
        at_start=over_skies(at_start * all_else)[:, order] / plain,
        none_now=((over_skies(_scanned(clear, none)[2][..., -1]) if clear.any() else 0.0) + bare_each) / plain,
        none_at_start=bare_each / plain,
        skies=by_sky[:, 0] / plain,
    )


def _side_by_side(found: Sequence[PartSums], name: str) -> Floats:
    return np.concatenate([getattr(sums, name) for sums in found], axis=2)


def _scanned(some: Floats, none: Floats) -> tuple[Floats, Floats, Floats]:
    """Products over the first parts, along the last dimension: of everything, of nothing, and the difference.

    The difference is summed by the first part with something in it, so that nothing cancels.
    """
    each = some + none
    possible = each > 0.0
    everything: Floats = np.multiply.accumulate(np.where(possible, each, 1.0), axis=-1)
    nothing: Floats = np.multiply.accumulate(none, axis=-1)
    something: Floats = everything * np.add.accumulate(_shifted(nothing, 1.0, 1) * some / everything, axis=-1)
    alive = np.logical_and.accumulate(possible, axis=-1)
    return everything * alive, nothing, something * alive


def _shifted(line: Floats, first: float, by: int) -> Floats:
    """The last dimension moved on by one place (or back), `first` filling the gap."""
    moved = np.full_like(line, first)
    if by == 1:
        moved[..., 1:] = line[..., :-1]
    else:
        moved[..., :-1] = line[..., 1:]
    return moved
