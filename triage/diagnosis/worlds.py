"""The likeliest joint states of a unit, one by one, for looking ahead.

Faults are decided one after another; after each, the worlds that cannot come to enough any more are dropped. What was
dropped is bounded from above, so the caller knows how much is missing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec
import numpy as np
from numpy.typing import NDArray

from catalog.text import Refused
from triage.diagnosis.expansion import at_rest
from triage.diagnosis.history import History, Seen, replay
from triage.diagnosis.likelihood import Factor, Floats, factors_of, links_of, log_quiet
from triage.diagnosis.network import Event, Network
from triage.diagnosis.states import FaultStates, Weather, fault_states, starting_chances, weather

MOST_WORLDS = 2**21
_MOST_RIVALS = 2**14
"""Worlds looked through for the likeliest set of a unit with more than 18 faults."""


class Worlds(msgspec.Struct, frozen=True):
    """Joint fault states, the likeliest first.

    `weight` is float64[w] and sums to 1; `present` is bool[w, n], whether each fault is there now; `dropped` is the
    largest share of the chance that the worlds left out can have had.
    """

    faults: tuple[str, ...]
    weight: Floats
    present: NDArray[np.bool_]
    dropped: float
    network: Network
    history: History
    cured_at: Floats
    """float64[w, n]; -1 for absent from the start, inf for still there, else the time of the cure."""

    def bad_chance(self, check_id: str) -> Floats:
        """float64[w]; chance that the next answer of the check is bad in each world, given all it has said so far."""
        check = self.network.check(check_id)
        places = {fault: place for place, fault in enumerate(self.faults)}
        links = links_of(check, places)
        report = next((entry for entry in self.history.reports if entry.check == check_id), None)
        said = [entry for entry in self.history.seen if entry.check == check_id]
        if not said:
            bad = -np.expm1(self._log_good(log_quiet(check), links, self.history.now))
            bad = bad * (1.0 - check.misread) + (1.0 - bad) * check.misread
            if report is not None and not self.history.touched_since(check, report.index):
                # the report was about the same state that the answer will show, so it counts for the answer as well
                bad = bad * report.likelihood[0] / (bad * report.likelihood[0] + (1.0 - bad) * report.likelihood[1])
            return bad
        logs = []
        for pair in ((1.0, 0.0), (0.0, 1.0)):
            entry = Seen(self.history.now, check_id, pair, recorded=True)
            longer = msgspec.structs.replace(self.history, seen=(*said, entry), reports=(), now=self.history.now + 1)
            (factor,) = factors_of(self.network, longer)
            logs.append(factor.log_likelihood([self._log_good(factor.log_quiet, links, time) for time in factor.slots]))
        result: Floats = np.exp(logs[0] - np.logaddexp(logs[0], logs[1]))
        return result

    def _log_good(self, quiet: float, links: Sequence[tuple[int, float]], time: int) -> Floats:
        total = np.full(len(self.weight), quiet)
        for place, strength in links:
            total = total + np.where(self.cured_at[:, place] >= time, strength, 0.0)
        return total


def worlds(network: Network, events: Sequence[Event], loss: float = 1e-7, *, at_most: int | None = None) -> Worlds:
    """The likeliest worlds after the events, leaving out at most `loss` of the chance.

    `at_most` cuts their number further; `dropped` then says what that costs.

    Raises `Refused` when the evidence is impossible or when more than two million worlds would be needed.
    """
    history = replay(network, events)
    found = worlds_of(network, history, loss, at_most=at_most)
    if found is None:
        raise Refused(
            "these answers cannot all be right, so there is no world in which they were given", where="events"
        )
    return found


def worlds_of(
    network: Network, history: History, loss: float, *, at_most: int | None = None, most: int = MOST_WORLDS
) -> Worlds | None:
    """Like `worlds`, from a history; None when the evidence is impossible."""
    factors = factors_of(network, history)
    search = _Search(network, factors, fault_states(network, history, factors), weather(network), most)
    if loss > 0.0:
        first = search.run(budget=0.0, widest=256)
        if len(first.log_weight) == 0:
            loss = 0.0  # nothing to measure against: keep everything
    if loss > 0.0:
        search_budget = loss / 2.0 * math.exp(first.log_total - first.scale)
        found = search.run(budget=search_budget, scale=first.scale)
    else:
        found = search.run(budget=0.0)
    if len(found.log_weight) == 0:
        return None
    return _trimmed(network, history, found, loss, at_most)


def likeliest_set(network: Network, history: History) -> tuple[tuple[str, ...], bool] | None:
    """The likeliest complete fault set now, in network order, and whether another ties with it.

    None when the evidence is impossible or too many sets rival for the first place.
    """
    most = MOST_WORLDS if len(network.faults) <= 18 else _MOST_RIVALS
    for loss in (1e-2, 1e-4, 1e-7, 1e-10):
        try:
            found = worlds_of(network, history, loss, most=most)
        except Refused:
            return None
        if found is None:
            return None
        sets, place = np.unique(found.present, axis=0, return_inverse=True)
        chance = np.bincount(place.reshape(-1), weights=found.weight) * (1.0 - found.dropped)
        order = np.argsort(-chance, kind="stable")
        best = float(chance[order[0]])
        rival = float(chance[order[1]]) if len(order) > 1 else 0.0
        if best > rival + found.dropped or loss <= 1e-10:
            tied = rival >= best * (1.0 - 1e-11)
            return tuple(fault for fault, there in zip(found.faults, sets[order[0]], strict=True) if there), tied
    return None


class _Found(msgspec.Struct, frozen=True):
    cured_at: Floats
    log_weight: Floats
    log_total: float
    scale: float
    dropped: float
    """Upper bound of what was dropped, to `scale`."""


class _Search:
    """Deciding one fault after another over a widening and thinning set of partial worlds."""

    def __init__(
        self, network: Network, factors: Sequence[Factor], states: Sequence[FaultStates], sky: Weather, most: int
    ) -> None:
        self._factors = factors
        self._states = states
        self._sky = sky
        self._most = most
        self._log_some, log_none = starting_chances(network, sky)
        self._log_untouched = float(np.logaddexp.reduce(log_none)) + sum(at_rest(factor) for factor in factors)
        self._strengths = [dict(factor.links) for factor in factors]
        # what evidence speaks of comes first: it is decided soonest
        touched = {place for factor in factors for place, _ in factor.links}
        self._order = sorted(
            range(len(states)), key=lambda place: (place not in touched, -float(sky.log_present[:, place].max()))
        )

    def run(self, *, budget: float = 0.0, scale: float | None = None, widest: int | None = None) -> _Found:
        """Worlds that are left when partial worlds worth up to `budget` (to `scale`) may be dropped on the way."""
        count = len(self._states)
        state = np.zeros((1, count), dtype=np.int8)
        log_prior = self._sky.log_chance[:, None].copy()
        high = [[np.full(1, factor.log_quiet) for _ in factor.slots] for factor in self._factors]
        bounds = [self._bound(factor, high[k], self._order) for k, factor in enumerate(self._factors)]
        any_sky = self._any_sky(log_prior)
        dropped = 0.0
        for step, place in enumerate(self._order):
            entry = self._states[place]
            size, width = len(entry.cured_at), len(state)
            # what is told apart by this fault is laid out for every state of it, [state, world]; the rest is left alone
            lines = self._prior_lines(place)
            priors = log_prior[:, None, :] + lines[:, :, None]
            told: dict[int, list[Floats]] = {}
            for k, factor in enumerate(self._factors):
                strength = self._strengths[k].get(place)
                if strength is not None:
                    told[k] = [
                        (np.where(entry.present(time), strength, 0.0)[:, None] + line).reshape(-1)
                        for line, time in zip(high[k], factor.slots, strict=True)
                    ]
            bound = {k: self._bound(self._factors[k], told[k], self._order[step + 1 :]) for k in told}
            untold = sum((line for k, line in enumerate(bounds) if k not in told), np.zeros(width))
            any_sky = self._any_sky(priors).reshape(-1)
            log_weight = any_sky + np.tile(untold, size) + sum(bound.values(), np.zeros(1))
            keep, lost = _kept(log_weight, scale, (budget - dropped) / (count - step), widest)
            dropped += lost
            if len(keep) > self._most:
                raise Refused(f"more than {self._most} worlds would be needed; allow a larger loss", where="worlds")
            chosen, parent = np.divmod(keep, width)
            any_sky = any_sky[keep]
            state, log_prior = state[parent], priors.reshape(len(priors), -1)[:, keep]
            state[:, place] = chosen
            bounds = [bound[k][keep] if k in told else line[parent] for k, line in enumerate(bounds)]
            high = [
                [line[keep] for line in told[k]] if k in told else [line[parent] for line in rows]
                for k, rows in enumerate(high)
            ]
        return self._finished(state, any_sky + sum(bounds), dropped, scale)

    def _prior_lines(self, place: int) -> Floats:
        """float64[combinations, states]; log chance of each state of a fault under each combination of conditions."""
        entry = self._states[place]
        with np.errstate(divide="ignore"):
            return np.array(
                [
                    entry.log_prior(present[place], absent[place])
                    for present, absent in zip(self._sky.log_present, self._sky.log_absent, strict=True)
                ]
            )

    def _any_sky(self, log_prior: Floats) -> Floats:
        """The log chances added up over the combinations of conditions, the first dimension, and `known_faulty`."""
        summed: Floats = np.logaddexp.reduce(log_prior, axis=0)
        return self._log_some + summed

    def _finished(self, state: NDArray[np.int8], log_weight: Floats, dropped: float, scale: float | None) -> _Found:
        log_weight[0] = self._log_untouched  # the untouched unit is always kept, in front
        possible = log_weight > -np.inf
        state, log_weight = state[possible], log_weight[possible]
        total = float(np.logaddexp.reduce(log_weight)) if len(log_weight) else -math.inf
        cured_at = np.empty(state.shape)
        for place, entry in enumerate(self._states):
            cured_at[:, place] = entry.cured_at[state[:, place]]
        return _Found(
            cured_at=cured_at,
            log_weight=log_weight,
            log_total=total,
            scale=total if scale is None else scale,
            dropped=dropped,
        )

    def _bound(self, factor: Factor, high: Sequence[Floats], undecided: Sequence[int]) -> Floats:
        left = sum(strength for place, strength in factor.links if place in undecided)
        if left == 0.0:
            return factor.log_likelihood(high)
        return factor.log_bound(high, [line + left for line in high])


def _kept(log_weight: Floats, scale: float | None, budget: float, widest: int | None) -> tuple[NDArray[np.intp], float]:
    """Rows that stay, in their old order and always with the first, and the weight of the others (to `scale`)."""
    if widest is not None and len(log_weight) > widest:
        chosen = np.argpartition(-log_weight, widest)[:widest]
        return np.union1d(chosen, [0]), 0.0
    if scale is None or budget <= 0.0:
        stay = log_weight > -np.inf
        stay[0] = True
        return np.flatnonzero(stay), 0.0
    weight = np.exp(log_weight - scale)
    weight[0] = np.inf
    light = np.flatnonzero(weight <= budget)
    order = light[np.argsort(weight[light], kind="stable")]
    gone = order[: int(np.searchsorted(np.cumsum(weight[order]), budget, side="right"))]
    stay = np.ones(len(weight), dtype=np.bool_)
    stay[gone] = False
    return np.flatnonzero(stay), float(weight[gone].sum())


def _trimmed(network: Network, history: History, found: _Found, loss: float, at_most: int | None) -> Worlds:
    weight = np.exp(found.log_weight - found.log_total)
    lost = found.dropped * math.exp(found.scale - found.log_total)
    order = np.argsort(-weight, kind="stable")
    tail = np.cumsum(weight[order][::-1])
    spare = loss * (1.0 + lost) - lost
    count = len(order) - int(np.searchsorted(tail, spare, side="right")) if loss > 0.0 else len(order)
    order = order[: max(1, count if at_most is None else min(count, at_most))]
    kept = float(weight[order].sum())
    lost += float(weight.sum()) - kept if len(order) < len(weight) else 0.0
    cured_at = found.cured_at[order]
    return Worlds(
        faults=tuple(fault.id for fault in network.faults),
        weight=weight[order] / kept,
        present=cured_at == np.inf,
        dropped=max(0.0, lost / (kept + lost)),
        network=network,
        history=history,
        cured_at=cured_at,
    )
