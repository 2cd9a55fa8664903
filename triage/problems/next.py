"""`solve next`: one unit of a class and what happened to it, stated as a problem, and the next action in plain data."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Annotated, Any, Literal

import msgspec

from catalog.text import Refused, clean_line
from triage.absent import without_absent
from triage.checks import next_action
from triage.device_classes.loader import load_classes
from triage.device_classes.schema import DeviceClass
from triage.diagnosis.network import Answer, Answered, Event, Reading, Repaired
from triage.diagnosis.worlds import worlds
from triage.locks import ASSUMED_TOOLS, Means, UnitState, record_of
from triage.network import network_of, reported_events
from triage.problems.form import Name, decoded
from triage.study import MOST_WORLDS
from triage.worth import Worth, opens, worth_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

LOSS = 1e-3
"""Share of the chance that looking ahead may leave out."""
SAME_CASES = 4096
"""Answers that are kept for when the same case comes again."""
ASSUMED_MINUTE_COST = 20.0
"""An hour worth 12.00."""

Amount = Annotated[float, msgspec.Meta(ge=-(10**9), le=10**9)]
Cost = Annotated[float, msgspec.Meta(ge=0, le=10**9)]
Chance = Annotated[float, msgspec.Meta(ge=0, le=1)]
Weight = Annotated[float, msgspec.Meta(ge=0, le=1e300)]


class _Form(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    pass


class EventForm(_Form, frozen=True, kw_only=True):
    """One of: `check` with `answer`, `check` with `likelihood`, `repair`."""

    check: str | None = None
    answer: Answer | None = None
    likelihood: tuple[Weight, Weight] | None = None
    repair: tuple[str, ...] | None = None


class MoneyForm(_Form, frozen=True, kw_only=True):
    """What takes the place of the class's figures. Amounts in minor units, expectations not necessarily whole."""

    working: Amount | None = None
    """In currency units, like `as_is_ratio` and `part_out_ratio` in place of the class's own figure."""
    as_is_ratio: Chance | None = None
    part_out_ratio: Cost | None = None
    grade: Literal["A", "B", "C"] = "B"
    working_cents: Amount | None = None
    own_worth_cents: Amount | None = None
    as_is_cents: Amount | None = None
    as_is_after_cents: Amount | None = None
    part_out_cents: Amount | None = None
    returns_cents: Cost = 0.0
    delay_days: Cost = 0.0
    delay_cents_per_day: Cost = 0.0
    list_minutes: Cost = 0.0
    strip_minutes: Cost = 0.0
    part_costs_cents: dict[str, Cost] = {}


_CLASS_FILL = {
    "id": "inline",
    "name": "inline",
    "origin": "P",
    "mains": False,
    "words": [],
    "functions": [],
    "parts": [],
}
_TABLE_FILL: dict[str, dict[str, Any]] = {
    "parts": {"origin": "P", "kind": "listed", "name": ""},
    "faults": {"origin": "P", "what": "", "skill": 1, "risk": "L"},
    "checks": {"origin": "P", "question": "", "good": "yes", "do": "", "state": "closed"},
    "symptoms": {"origin": "P", "words": []},
    "conditions": {"origin": "P", "name": "", "question": ""},
    "setups": {"origin": "P", "name": ""},
    "hazards": {"question": "", "source": "", "releases": []},
}
"""What an inline class need not state, because no sum and no lock depends on it."""


class _Inline(msgspec.Struct, frozen=True, rename={"device_class": "class"}):
    device_class: DeviceClass


class NextCase(_Form, frozen=True, kw_only=True, rename={"device_class": "class"}):
    """One case; `group`, `note` and `expected` are for people and are not read."""

    id: str = ""
    group: Any = None
    note: Any = None
    expected: Any = None
    device_class: Name | dict[str, Any]
    events: tuple[EventForm, ...] = ()
    symptoms: tuple[str, ...] = ()
    money: MoneyForm = MoneyForm()
    minute_cost_cents: Cost = ASSUMED_MINUTE_COST
    tools: tuple[str, ...] = ASSUMED_TOOLS
    permissions: tuple[Literal["live_mains", "tube"], ...] = ()
    known_faulty: Chance | None = None
    conditions: dict[str, Literal["yes", "no", "unknown"]] = {}
    hazards: dict[str, Literal["yes", "no"]] = {}
    confirmed: dict[str, tuple[str, ...]] = {}
    """Hazard id to the releases done, in the words of the class."""
    case_open: bool | None = None
    """Without it, open once anything inside was looked at or repaired."""
    does_not_apply: tuple[str, ...] = ()
    """Checks that this unit does not have; a function stands for all of its checks."""


def answer(case: Mapping[str, Any]) -> dict[str, Any]:
    """The next action on the unit of a case.

    Returns:
        id, action (check | repair | stop), check or null, faults, branch, branch_value_cents, net_gain_cents, minutes,
        reason, locked [{check, why}], ranking [{check, net_gain_cents, minutes}].

    Raises:
        Refused: the case is malformed or makes no sense; the message begins with the key path.
    """
    form = decoded(case, NextCase)
    plain = msgspec.structs.replace(form, id="", group=None, note=None, expected=None)
    return {"id": form.id, **_found(msgspec.json.encode(plain))}


@lru_cache(maxsize=SAME_CASES)
def _found(case: bytes) -> dict[str, Any]:
    """The answer to a case without its name; of many simulated units the first answers are the same again and again."""
    form = msgspec.json.decode(case, type=NextCase)
    device_class = _class(form.device_class, form.money)
    absent = _absent(device_class, form.does_not_apply)
    device_class = without_absent(device_class, absent)
    events = (*reported_events(device_class, form.symptoms), *_events(device_class, form.events))
    network = network_of(device_class, known_faulty=form.known_faulty, conditions=form.conditions)
    state = _state(device_class, form, events, absent)
    chosen = next_action(
        device_class,
        worlds(network, events, LOSS, at_most=MOST_WORLDS),
        _worth(device_class, form.money),
        rate=form.minute_cost_cents,
        state=state,
        means=Means(frozenset(form.tools), frozenset(form.permissions)),
    )
    return {
        "action": chosen.action,
        "check": chosen.check,
        "faults": list(chosen.faults),
        "branch": chosen.branch,
        "branch_value_cents": chosen.value,
        "net_gain_cents": chosen.net_gain,
        "minutes": chosen.minutes,
        "reason": chosen.reason,
        "locked": [{"check": entry.check, "why": entry.why} for entry in chosen.locked],
        "ranking": [
            {"check": entry.check, "net_gain_cents": entry.net_gain, "minutes": entry.minutes}
            for entry in chosen.ranking
        ],
    }


def _class(stated: str | dict[str, Any], money: MoneyForm) -> DeviceClass:
    if isinstance(stated, str):
        classes = load_classes()
        if stated not in classes:
            raise Refused(f"there is no class {stated!r}; there are {', '.join(sorted(classes))}", where="class")
        device_class = classes[stated]
    else:
        device_class = decoded({"class": _filled(stated)}, _Inline).device_class
    figures = {name: getattr(money, name) for name in ("working", "as_is_ratio", "part_out_ratio")}
    return msgspec.structs.replace(
        device_class, **{name: value for name, value in figures.items() if value is not None}
    )


def _filled(stated: dict[str, Any]) -> dict[str, Any]:
    """An inline class with everything that bears on no sum filled in, and its text cleaned."""
    raw: dict[str, Any] = _cleaned({**_CLASS_FILL, **stated})
    for name, fill in _TABLE_FILL.items():
        if isinstance(raw.get(name), list):
            raw[name] = [{**fill, **entry} if isinstance(entry, dict) else entry for entry in raw[name]]
    return raw


def _cleaned(value: Any) -> Any:
    if isinstance(value, str):
        return clean_line(value)
    if isinstance(value, list):
        return [_cleaned(entry) for entry in value]
    return {name: _cleaned(entry) for name, entry in value.items()} if isinstance(value, dict) else value


def _events(device_class: DeviceClass, forms: Sequence[EventForm]) -> list[Event]:
    checks = {check.id for check in device_class.checks}
    faults = {fault.id for fault in device_class.faults}
    events: list[Event] = []
    for index, entry in enumerate(forms):
        where = f"events[{index}]"
        if entry.check is not None and entry.check not in checks:
            raise Refused(f"class {device_class.id} has no check {entry.check!r}", where=f"{where}.check")
        for fault in entry.repair or ():
            if fault not in faults:
                raise Refused(f"class {device_class.id} has no fault {fault!r}", where=f"{where}.repair")
        events.append(_event(entry, where))
    return events


def _event(entry: EventForm, where: str) -> Event:
    stated = [entry.answer is not None, entry.likelihood is not None, entry.repair is not None]
    if sum(stated) != 1 or (entry.check is None) != (entry.repair is not None):
        raise Refused("expected check with answer, check with likelihood, or repair", where=where)
    if entry.repair is not None:
        return Repaired(entry.repair)
    check = entry.check or ""
    if entry.answer is not None:
        return Answered(check, entry.answer)
    bad, good = entry.likelihood or (0.0, 0.0)
    if bad == good == 0.0:
        raise Refused("at least one of the two must be above 0", where=f"{where}.likelihood")
    return Reading(check, (bad, good), "bad" if bad > good else "good" if good > bad else None)


def _worth(device_class: DeviceClass, money: MoneyForm) -> Worth:
    known = {part.id for part in device_class.parts}
    for part in money.part_costs_cents:
        if part not in known:
            raise Refused(f"class {device_class.id} has no part {part!r}", where="money.part_costs_cents")
    worth = worth_of(
        device_class,
        grade=money.grade,
        working=money.working_cents,
        as_is=money.as_is_cents,
        part_out=money.part_out_cents,
        own_worth=money.own_worth_cents,
        part_costs=money.part_costs_cents,
    )
    return msgspec.structs.replace(
        worth,
        as_is_after=worth.as_is if money.as_is_after_cents is None else money.as_is_after_cents,
        returns=money.returns_cents,
        delay_days=money.delay_days,
        delay_per_day=money.delay_cents_per_day,
        list_minutes=money.list_minutes,
        strip_minutes=money.strip_minutes,
    )


def _absent(device_class: DeviceClass, names: tuple[str, ...]) -> frozenset[str]:
    """The checks that do not apply; the name of a function stands for all of its checks."""
    absent: set[str] = set()
    for name in names:
        named = {check.id for check in device_class.checks if name in {check.id, check.function}}
        if not named:
            raise Refused(f"class {device_class.id} has no check and no function {name!r}", where="does_not_apply")
        absent |= {name} if any(check.id == name for check in device_class.checks) else named
    return frozenset(absent)


def _state(device_class: DeviceClass, form: NextCase, events: tuple[Event, ...], absent: frozenset[str]) -> UnitState:
    hazards = {hazard.id for hazard in device_class.hazards}
    for where, names in (("hazards", form.hazards), ("confirmed", form.confirmed)):
        for name in names:
            if name not in hazards:
                raise Refused(f"class {device_class.id} has no hazard {name!r}", where=where)
    record = record_of(device_class, events)
    looked_inside = any(device_class.check(check).state == "opened" for check in record.said)
    worked_inside = any(opens(device_class, faults) for _, faults in record.repairs)
    return UnitState(
        events=events,
        case_open=looked_inside or worked_inside if form.case_open is None else form.case_open,
        setups=frozenset(device_class.check(check).setup for check in record.said) - {""},
        hazards=frozenset(name for name, said in form.hazards.items() if said == "yes"),
        cleared=frozenset(name for name, said in form.hazards.items() if said == "no"),
        confirmed={name: frozenset(actions) for name, actions in form.confirmed.items()},
        does_not_apply=absent,
    )
