"""`solve diagnosis`: a fault network and what was seen, stated as a problem, and the chances in plain data."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Literal

import msgspec

from catalog.text import Refused
from triage.diagnosis import (
    Answer,
    Answered,
    Belief,
    Check,
    Condition,
    Event,
    Fault,
    Gate,
    Likelihood,
    Network,
    Reading,
    Repaired,
    foresee,
    posterior,
    worlds,
)
from triage.problems.form import Name, decoded, unique_names

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

Chance = Annotated[float, msgspec.Meta(ge=0, le=1)]
Weight = Annotated[float, msgspec.Meta(ge=0, le=1e300)]
Amount = Annotated[float, msgspec.Meta(ge=-1e12, le=1e12)]

_FAILED = " failed"


class _Form(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    pass


class FaultForm(_Form, frozen=True, kw_only=True):
    """A fault; `success` is the chance that one repair cures it."""

    id: Name
    prior: Chance
    success: Chance = 1.0


class CheckForm(_Form, frozen=True, kw_only=True):
    """A check; a gate is `LED` (wants it good) or `LED failed`."""

    id: Name
    leak: Chance
    links: dict[str, Chance] = {}
    gate: tuple[str, ...] = ()
    cures: tuple[str, ...] = ()
    persistence: Chance = 0.0
    flip: Chance = 0.0


class ConditionForm(_Form, frozen=True, kw_only=True):
    """A hidden cause; without a `state` it is not known."""

    id: Name
    prior: Chance
    raises: dict[str, Chance]
    state: Literal["yes", "no", "unknown"] = "unknown"


class EventForm(_Form, frozen=True, kw_only=True):
    """One of: `check` with `answer`, `check` with `likelihood`, `repair`."""

    check: str | None = None
    answer: Answer | None = None
    likelihood: tuple[Weight, Weight] | None = None
    repair: tuple[str, ...] | None = None


class ActionForm(_Form, frozen=True, kw_only=True):
    """A way to end the matter: worth `base` plus `per_fault` for each fault that is there."""

    base: Amount
    per_fault: dict[str, Amount] = {}


class DecisionForm(_Form, frozen=True, kw_only=True):
    """Ways to end the matter, by name."""

    actions: Annotated[dict[str, ActionForm], msgspec.Meta(min_length=1)]


class DiagnosisCase(_Form, frozen=True, kw_only=True):
    """One case; `group`, `note` and `expected` are for people and are not read."""

    id: str = ""
    group: Any = None
    note: Any = None
    expected: Any = None
    faults: tuple[FaultForm, ...]
    checks: tuple[CheckForm, ...]
    conditions: tuple[ConditionForm, ...] = ()
    known_faulty: Chance | None = None
    evidence: dict[str, bool] | None = None
    soft_evidence: dict[str, tuple[Weight, Weight]] | None = None
    events: tuple[EventForm, ...] | None = None
    decision: DecisionForm | None = None


def answer(case: Mapping[str, Any]) -> dict[str, Any]:
    """Chances of every fault after what was seen, and what each further check is worth where money is stated.

    Where the case is beyond exact sums, `within` says to within what the chances are right.

    `posterior` speaks of now, `posterior_at_start` of before any repair. Indexes in `ignored` and `conflict` count
    `events`; without events they count `evidence`, then `soft_evidence`, in the order of the case.

    Raises:
        Refused: `where` is the key path, such as `checks[LED].leak`.
    """
    form = decoded(case, DiagnosisCase)
    network = _network(form)
    order, events = _events(form)
    belief = posterior(network, events)
    shown: dict[str, Any] = {
        "id": form.id,
        "contradiction": belief.impossible,
        "log_evidence": belief.log_evidence,
        "posterior": None if belief.impossible else belief.present,
        "posterior_complement": None if belief.impossible else belief.absent,
        "posterior_at_start": None if belief.impossible else belief.at_start,
        "p_no_fault": belief.p_no_fault,
        "expected_faults": belief.expected_faults,
        "most_probable": _fault_set(belief),
        "predictive": None if belief.impossible else belief.predictive,
        "ignored": sorted(order[index] for index in belief.ignored),
        "conflict": sorted(order[index] for index in belief.conflict),
    }
    if belief.left_out:
        shown["within"] = belief.left_out
    if form.conditions:
        shown["conditions"] = None if belief.impossible else belief.conditions
    if form.decision is not None:
        actions = _actions(form, form.decision)
        shown["evsi"] = None if belief.impossible else _evsi(network, events, belief, actions)
        shown["evpi"] = None if belief.impossible else _evpi(network, events, belief, actions)
    return shown


def _fault_set(belief: Belief) -> dict[str, Any] | None:
    found = belief.most_probable
    if found is None:
        return None
    return {"faults": list(found.faults), "probability": found.probability, "tied": found.tied}


def _network(form: DiagnosisCase) -> Network:
    for place, named in (("faults", form.faults), ("checks", form.checks), ("conditions", form.conditions)):
        unique_names((entry.id for entry in named), place)
    ids = {check.id for check in form.checks}
    return Network(
        faults=tuple(Fault(fault.id, fault.prior, fault.success) for fault in form.faults),
        checks=tuple(
            Check(
                id=check.id,
                leak=check.leak,
                links=check.links,
                gate=tuple(_gate(entry, ids) for entry in check.gate),
                cures=check.cures,
                persistence=check.persistence,
                flip=check.flip,
            )
            for check in form.checks
        ),
        conditions=tuple(Condition(entry.id, entry.raises, entry.prior, entry.state) for entry in form.conditions),
        known_faulty=form.known_faulty,
    )


def _gate(entry: str, ids: set[str]) -> Gate:
    if entry not in ids and entry.endswith(_FAILED):
        return Gate(entry.removesuffix(_FAILED), "bad")
    return Gate(entry)


def _events(form: DiagnosisCase) -> tuple[list[int], list[Event]]:
    """The events in time order, and each one's place in the case."""
    if form.events is None:
        stated = [(check, _answered(check, bad=bad)) for check, bad in (form.evidence or {}).items()]
        soft: Iterable[tuple[str, Event]] = (
            (check, Reading(check, _likelihood(f"soft_evidence[{check}]", pair)))
            for check, pair in (form.soft_evidence or {}).items()
        )
        return _gates_first(form, [*stated, *soft])
    if form.evidence or form.soft_evidence:
        raise Refused("state either events or evidence, not both", where="events")
    return list(range(len(form.events))), [_event(index, entry) for index, entry in enumerate(form.events)]


def _answered(check: str, *, bad: bool) -> Event:
    return Answered(check, "bad" if bad else "good")


def _gates_first(form: DiagnosisCase, stated: Sequence[tuple[str, Event]]) -> tuple[list[int], list[Event]]:
    """Evidence has no order of its own, so what opens a gate comes before what the gate guards."""
    known = {check.id: check for check in form.checks}
    for place in ("evidence", "soft_evidence"):
        for check in getattr(form, place) or {}:
            if check not in known:
                raise Refused(f"there is no check {check!r}; name one that is listed", where=f"{place}[{check}]")
    waiting = list(range(len(stated)))
    order: list[int] = []
    while waiting:
        ahead = {stated[index][0] for index in waiting}
        free = [
            index
            for index in waiting
            if not any(entry.removesuffix(_FAILED) in ahead or entry in ahead for entry in known[stated[index][0]].gate)
        ]
        order.extend(free or waiting)
        waiting = [index for index in waiting if index not in order]
    return order, [stated[index][1] for index in order]


def _event(index: int, entry: EventForm) -> Event:
    where = f"events[{index}]"
    given = (entry.check is not None, entry.answer is not None, entry.likelihood is not None, entry.repair is not None)
    if given == (False, False, False, True) and entry.repair is not None:
        return Repaired(entry.repair)
    if given == (True, True, False, False) and entry.check is not None and entry.answer is not None:
        return Answered(entry.check, entry.answer)
    if given == (True, False, True, False) and entry.check is not None and entry.likelihood is not None:
        return Reading(entry.check, _likelihood(f"{where}.likelihood", entry.likelihood))
    raise Refused("expected check with answer, check with likelihood, or repair; state one of them", where=where)


def _likelihood(where: str, pair: Likelihood) -> Likelihood:
    if pair == (0.0, 0.0):
        raise Refused("at least one of the two likelihoods must be above 0", where=where)
    return pair


def _actions(form: DiagnosisCase, decision: DecisionForm) -> list[tuple[float, list[float]]]:
    """Base and money per fault, in fault order, of each action."""
    ids = [fault.id for fault in form.faults]
    for name, action in decision.actions.items():
        for fault in action.per_fault:
            if fault not in ids:
                where = f"decision.actions[{name}].per_fault"
                raise Refused(f"there is no fault {fault!r}; name one that is listed", where=where)
    return [(action.base, [action.per_fault.get(fault, 0.0) for fault in ids]) for action in decision.actions.values()]


def _best(chances: Mapping[str, float], actions: Sequence[tuple[float, list[float]]]) -> float:
    return max(
        base + sum(money * chance for money, chance in zip(per_fault, chances.values(), strict=True))
        for base, per_fault in actions
    )


def _evsi(
    network: Network, events: Sequence[Event], belief: Belief, actions: Sequence[tuple[float, list[float]]]
) -> dict[str, float]:
    now = _best(belief.present, actions)
    ahead = foresee(network, events)
    worth = dict.fromkeys(belief.predictive, 0.0)  # a check behind a closed gate says nothing
    for check, answer in ahead.items():
        sides = ((answer.bad, answer.if_bad), (1.0 - answer.bad, answer.if_good))
        expected = sum(chance * _best(after, actions) for chance, after in sides if after and chance > 0.0)
        worth[check] = max(0.0, expected - now)
    return worth


def _evpi(
    network: Network, events: Sequence[Event], belief: Belief, actions: Sequence[tuple[float, list[float]]]
) -> float:
    every = worlds(network, events, loss=0.0)
    rows = [base + every.present @ per_fault for base, per_fault in actions]
    best = rows[0]
    for row in rows[1:]:
        best = best.clip(min=row)
    return max(0.0, float(every.weight @ best) - _best(belief.present, actions))
