"""The likeliest joint states of a unit, one by one, for looking ahead: the fewest that make up almost all of it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import cached_property

import msgspec
import numpy as np
from numpy.typing import NDArray

from catalog.text import Refused
from triage.diagnosis.history import History, Seen, replay
from triage.diagnosis.likelihood import Floats, factors_of, links_of, log_quiet
from triage.diagnosis.nearly import nearly
from triage.diagnosis.network import Answered, Event, Network
from triage.diagnosis.search import Search
from triage.diagnosis.situation import Situation
from triage.diagnosis.sums import BeyondExact, log_evidence_in

MOST_WORLDS = 2**21
_FIRST_THRESHOLD = 1e-3
"""Weight, as a share of what may be left out, down to which worlds are looked for first (measured on the classes)."""
_LEAST_THRESHOLD = 1e-40
"""Weights below this are not looked for one by one: everything possible is."""
_ROUGHER, _MOST_THRESHOLD = 1e6, 1e12
"""A search that takes too many rows is run again so much more roughly. What a world is asked for is a bound on its
share, far above it where answers hardly go together, so that even thresholds above 1 leave out little."""
_MOST_ROWS = 2**18
"""Rows of the search where the number of worlds is limited: about a second; ordinary units take some thousands."""
_MOST_RIVALS = 2**14
"""Worlds looked through for the likeliest set of a unit with more than 18 faults."""


class Worlds(msgspec.Struct, frozen=True, dict=True):
    """Joint fault states, the likeliest first.

    `weight` is float64[w] and sums to 1; `present` is bool[w, n], whether each fault is there now; `dropped` is the
    share of the chance that the worlds left out have.
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
        """float64[w]; chance that the next answer of the check is bad in each world, given all it has said so far.

        It is worked out once.
        """
        if check_id not in self.known_bad:
            self.known_bad[check_id] = self._reads_bad(check_id)
        return self.known_bad[check_id]

    @cached_property
    def known_bad(self) -> dict[str, Floats]:
        """What `bad_chance` has said, by check."""
        return {}

    def _reads_bad(self, check_id: str) -> Floats:
        check = self.network.check(check_id)
        places = {fault: place for place, fault in enumerate(self.faults)}
        links = links_of(check, places)
        report = next((entry for entry in self.history.reports if entry.check == check_id), None)
        said = [entry for entry in self.history.seen if entry.check == check_id]
        if not said:
            bad = -np.expm1(_log_good(self.cured_at, log_quiet(check), links, self.history.now))
            bad = bad * (1.0 - check.misread) + (1.0 - bad) * check.misread
            if report is not None and not self.history.touched_since(check, report.index):
                # the report was about the same state that the answer will show, so it counts for the answer as well
                bad = bad * report.likelihood[0] / (bad * report.likelihood[0] + (1.0 - bad) * report.likelihood[1])
            return bad
        likelihoods = []
        for pair in ((1.0, 0.0), (0.0, 1.0)):
            entry = Seen(self.history.now, check_id, pair, recorded=True)
            longer = msgspec.structs.replace(self.history, seen=(*said, entry), reports=(), now=self.history.now + 1)
            likelihoods.append(self._likelihood(longer, self.cured_at, links))
        result: Floats = likelihoods[0] / (likelihoods[0] + likelihoods[1])
        return result

    def fails_test(self, check_id: str, looks: int) -> Floats:
        """float64[w]; chance that the check would read bad so often in a row once every listed fault were cured.

        What makes it bad then is nothing listed, or a misreading. The chance is that of each world given all that the
        check has said so far. It is worked out once.
        """
        if (check_id, looks) not in self.known_failing:
            self.known_failing[check_id, looks] = self._fails(check_id, looks)
        return self.known_failing[check_id, looks]

    @cached_property
    def known_failing(self) -> dict[tuple[str, int], Floats]:
        """What `fails_test` has said, by check and looks."""
        return {}

    def _fails(self, check_id: str, looks: int) -> Floats:
        check, now = self.network.check(check_id), self.history.now
        said = [entry for entry in self.history.seen if entry.check == check_id]
        if not said:
            lasting = check.leak * (1.0 - check.flip) ** looks + (1.0 - check.leak) * check.flip**looks
            anew = check.leak**looks
            return np.full(len(self.weight), check.persistence * lasting + (1.0 - check.persistence) * anew)
        links = links_of(check, {fault: place for place, fault in enumerate(self.faults)})
        cured_at = np.where(self.present, float(now), self.cured_at)
        attempts = {
            **self.history.attempts,
            **{fault: (*self.history.attempts[fault], now) for fault in check.links},
        }
        again = [Seen(now + 1 + look, check_id, (1.0, 0.0), recorded=True) for look in range(looks)]
        likelihoods = []
        for seen in (said, [*said, *again]):
            longer = msgspec.structs.replace(
                self.history, seen=tuple(seen), reports=(), attempts=attempts, now=now + 1 + looks
            )
            likelihoods.append(self._likelihood(longer, cured_at, links))
        result: Floats = likelihoods[1] / likelihoods[0]
        return result

    def _likelihood(self, history: History, cured_at: Floats, links: Sequence[tuple[int, float]]) -> Floats:
        """float64[w]; likelihood of all that one check said, the only one with evidence in this history."""
        (factor,) = factors_of(self.network, history)
        log_good = np.array([_log_good(cured_at, factor.log_quiet, links, time) for time in factor.slots])
        return factor.likelihood(np.exp(log_good), -np.expm1(log_good))

    def answered(self, events: Sequence[Event]) -> Worlds:
        """The same worlds after one more answer, good or bad, the last of `events`; all others led here.

        Worlds that were left out stay out, however well they foretold the answer.
        """
        answer = events[-1]
        if not (isinstance(answer, Answered) and answer.answer in {"good", "bad"}):
            raise TypeError(f"the last event must be a good or a bad answer, not {answer}")
        bad = self.bad_chance(answer.check)
        weight = self.weight * (bad if answer.answer == "bad" else 1.0 - bad)
        cures = self.network.check(answer.check).cures
        after = msgspec.structs.replace(self, weight=weight, history=replay(self.network, events))
        after = after.tried(cures, len(events) - 1).shared_out()
        if not cures:  # what the other checks say in each world is as it was
            after.known_bad.update((name, bad) for name, bad in self.known_bad.items() if name != answer.check)
            after.known_failing.update(
                (key, fails) for key, fails in self.known_failing.items() if key[0] != answer.check
            )
        return after

    def tried(self, faults: Iterable[str], time: int) -> Worlds:
        """The same worlds after a try at each of these faults: where one is there it is cured with its chance."""
        now, success = self, {fault.id: fault.success for fault in self.network.faults}
        for fault in faults:
            column = now.faults.index(fault)
            there = now.present[:, column]
            weight = np.where(there, now.weight * (1.0 - success[fault]), now.weight)
            present, cured_at = now.present[there].copy(), now.cured_at[there].copy()
            present[:, column], cured_at[:, column] = False, time
            now = msgspec.structs.replace(
                now,
                weight=np.concatenate([weight, now.weight[there] * success[fault]]),
                present=np.concatenate([now.present, present]),
                cured_at=np.concatenate([now.cured_at, cured_at]),
            )
        return now

    def at(self, rows: NDArray[np.intp]) -> Worlds:
        """Only these worlds, their weights as they are."""
        return msgspec.structs.replace(
            self, weight=self.weight[rows], present=self.present[rows], cured_at=self.cured_at[rows]
        )

    def shared_out(self) -> Worlds:
        """The same worlds, their weights brought to a sum of 1."""
        return msgspec.structs.replace(self, weight=self.weight / self.weight.sum())


def _log_good(cured_at: Floats, quiet: float, links: Sequence[tuple[int, float]], time: int) -> Floats:
    there = cured_at[:, [place for place, _ in links]] >= time
    total: Floats = quiet + np.where(there, [strength for _, strength in links], 0.0).sum(axis=1)
    return total


def worlds(network: Network, events: Sequence[Event], loss: float = 1e-7, *, at_most: int | None = None) -> Worlds:
    """The likeliest worlds after the events, leaving out at most `loss` of the chance.

    `at_most` cuts their number further; `dropped` then says what that costs.

    Raises `Refused` when the evidence is impossible or when more than two million worlds would be needed.
    """
    found = worlds_in(Situation(network, replay(network, events)), loss, at_most=at_most)
    if found is None:
        raise Refused(
            "these answers cannot all be right, so there is no world in which they were given", where="events"
        )
    return found


def worlds_in(
    situation: Situation,
    loss: float,
    *,
    at_most: int | None = None,
    log_evidence: float | None = None,
    most: int = MOST_WORLDS,
) -> Worlds | None:
    """Like `worlds`, from a situation; None when the evidence is impossible. `log_evidence` saves working it out.

    With `at_most`, answers that tie too many faults for the search are searched more roughly instead of refused.
    """
    if log_evidence is None:
        log_evidence = _log_evidence(situation, rough=at_most is not None)
    if log_evidence == -math.inf:
        return None
    search = Search(situation, log_evidence, most if at_most is None else min(most, _MOST_ROWS))
    threshold, rough = _FIRST_THRESHOLD * loss, False
    while True:
        try:
            found = search.run(threshold)
        except Refused:
            if at_most is None or threshold > _MOST_THRESHOLD:
                raise
            threshold, rough = threshold * _ROUGHER, True
            continue
        order = np.argsort(-found.weight, kind="stable")
        reached = np.cumsum(found.weight[order])
        missing = 1.0 - float(reached[-1]) if len(order) else 1.0
        # none of at least that weight is left out
        enough = at_most is not None and int((found.weight >= threshold).sum()) >= at_most
        if rough or threshold < _LEAST_THRESHOLD or missing <= loss or enough:
            break
        threshold *= min(1.0 / 3.0, max(1.0 / 30.0, 0.3 * loss / missing))
    count = len(order) if loss == 0.0 else 1 + int(np.searchsorted(reached, 1.0 - loss))
    order = order[: max(1, min(count, len(order), len(order) if at_most is None else at_most))]
    cured_at = search.cured_at(found.taken[order])
    weight = found.weight[order]
    kept = float(weight.sum())
    return Worlds(
        faults=tuple(fault.id for fault in situation.network.faults),
        weight=weight / kept,
        present=cured_at == np.inf,
        dropped=0.0 if loss == 0.0 else max(0.0, 1.0 - kept),
        network=situation.network,
        history=situation.history,
        cured_at=cured_at,
    )


def _log_evidence(situation: Situation, *, rough: bool) -> float:
    """Exact; `rough`: where answers tie too many faults for that, from the heaviest worlds."""
    try:
        return log_evidence_in(situation)
    except BeyondExact:
        found = nearly(situation) if rough else None
        if found is None:
            raise
        return found.log_evidence


def likeliest_set(situation: Situation, log_evidence: float) -> tuple[tuple[str, ...], bool] | None:
    """The likeliest complete fault set now, in network order, and whether another ties with it.

    None when the evidence is impossible or too many sets rival for the first place.
    """
    most = MOST_WORLDS if len(situation.network.faults) <= 18 else _MOST_RIVALS
    for loss in (1e-2, 1e-4, 1e-7, 1e-10):
        try:
            found = worlds_in(situation, loss, log_evidence=log_evidence, most=most)
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
