"""What the Bench shows of one unit: the question, the suspects, the sums, what was done, and where one was."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from catalog.money import rounded, shown
from triage import store
from triage.actions.look_view import Look, look_of
from triage.actions.model_sheets import for_the_step
from triage.actions.studies import case_of_unit, study_unit
from triage.actions.telling import told
from triage.actions.units import get_unit
from triage.actions.where_was_i import exchange_words, lifted_of, names_of, where_was_i
from triage.alike import RULE, neighbours
from triage.asking import to_be_told
from triage.bench_file import BenchFile
from triage.branches import BranchSum, Flip
from triage.device_classes.schema import DeviceClass, Hazard
from triage.diagnosis import Reported, contributions
from triage.diagnosis.network import REPORTED
from triage.evidence import CORRECTABLE, is_event
from triage.locks import named_unasked
from triage.lot import PILE_WORDS, Happening, Need, Unit, case_open, minutes_spent, still_makeshift
from triage.study import Study, hazards_in_force


class Suspect(msgspec.Struct, frozen=True):
    """One fault with the chance that it is there now."""

    fault: str
    what: str
    chance: float
    at_start: float
    curable: bool


class Done(msgspec.Struct, frozen=True):
    """One line of what was seen or done."""

    id: int
    at: str
    text: str
    can_correct: bool
    ignored: bool
    """True where it was no evidence, because its gate was not open or nothing could be told."""


class UnitView(msgspec.Struct, frozen=True):
    """Everything the Bench shows."""

    unit: Unit
    class_name: str
    mains: bool
    minutes: float
    case_open: bool
    cautions: tuple[str, ...]
    """Standing cautions, then those of hazards in force; first on the screen."""
    hazards_in_force: tuple[Hazard, ...]
    tell: tuple[str, ...]
    """What whoever gets it must be told."""
    ask_first: Hazard | None
    """A hazard to be asked before anything else."""
    recharged: frozenset[str]
    """Hazards that powering brought back."""
    typed_of: frozenset[str]
    """Hazards that what was typed of the unit speaks of, not answered yet."""
    action: str
    """check, repair, stop, choose_class, or contradiction."""
    look: Look | None
    repair: tuple[str, ...]
    reason: str
    """Why this, in one plain line."""
    gain: float
    alike: tuple[str, ...]
    """What is to be said of alike neighbours of the parts that the repair changes, one line each."""
    pile: str
    pile_word: str
    suspects: tuple[Suspect, ...]
    nothing_listed: float
    branches: tuple[BranchSum, ...]
    flips: tuple[Flip, ...]
    gap: float | None
    second_try: float | None
    """Value of fixing with the next repair where the first does not help; None where the sum says it all."""
    far_fetched: bool
    """Whether the answers speak against each other."""
    left_out: float
    """Above 0 where the chances are not exact, but right to within it."""
    done: tuple[Done, ...]
    conflict: tuple[Done, ...]
    """Answers that cannot all be right."""
    fixed: bool
    finished: bool
    """Whether it is fixed and no further look pays."""
    lifted: tuple[str, ...]
    """What was lifted out of it and not put back, such as `1 × tray belt`."""
    untested: tuple[str, ...]
    """Names of functions not shown to work since the last repair or cure."""
    locked: tuple[tuple[str, str], ...]
    """(question, why) of looks that are not offered for a reason the person can change."""
    needs: tuple[Need, ...]
    where_was_i: str
    exchange: tuple[str, ...] = ()
    """Proper parts that lie ready for what is makeshift, in words."""
    on_sheet: tuple[str, ...] = ()
    """What the sheet of its model says that matters to the step at hand, or what is to be noted before it."""


class HazardSaid(msgspec.Struct, frozen=True):
    """A hazard of a unit, what was said of it (yes, no, or empty), and what was confirmed about it."""

    hazard: str
    question: str
    said: str
    caution: str
    releases: tuple[str, ...]
    confirmed: tuple[str, ...]


HEARD: Final = f"What was only heard counts {REPORTED[0] / REPORTED[1]:g} to 1, until you look at it yourself."


class Moved(msgspec.Struct, frozen=True):
    """What one answer did to one suspect, in points of chance."""

    text: str
    what: str
    points: float
    heard: bool = False
    """Whether it is what somebody else said of the unit, which counts for less than a look."""


def unit_view(bench: BenchFile, number: int) -> UnitView:
    """The Bench's picture of one unit; raises `Refused` when there is none."""
    unit = get_unit(bench, number)
    happenings = store.happenings(bench.database, number)
    needs = tuple(store.needs(bench.database, number=number))
    if unit.device_class not in bench.classes:
        return _unsettled(unit, happenings, needs)
    found = study_unit(bench, unit)
    done = _done(found, happenings)
    action = found.action
    return UnitView(
        unit=unit,
        class_name=found.device_class.name,
        mains=found.device_class.mains,
        minutes=minutes_spent(happenings),
        case_open=case_open(happenings),
        cautions=cautions_of(found),
        hazards_in_force=hazards_in_force(found),
        tell=(
            *(hazard.caution for hazard in hazards_in_force(found)),
            *to_be_told(unit),
            *(f"missing: {lifted}, taken out" for lifted in lifted_of(found)),
            *still_makeshift(needs, names_of(found.device_class)),
        ),
        ask_first=found.ask_first,
        recharged=found.state.recharged,
        typed_of=frozenset(hazard.id for hazard in named_unasked(found.device_class, found.state)),
        action=action.action if action else "contradiction",
        look=look_of(found, found.device_class.check(action.check)) if action and action.check else None,
        repair=action.faults if action else (),
        reason=action.reason if action else "these answers cannot all be right; correct one, or say “can't tell”",
        gain=action.net_gain if action else 0.0,
        alike=_alike(found, bench.currency),
        pile=found.pile,
        pile_word=PILE_WORDS[found.pile],
        suspects=_suspects(found),
        nothing_listed=found.belief.p_no_fault or 0.0,
        branches=found.decision.sums if found.decision else (),
        flips=found.decision.flips if found.decision else (),
        gap=found.decision.gap if found.decision else None,
        second_try=_second_try(found),
        far_fetched=found.belief.far_fetched,
        left_out=found.belief.left_out,
        done=done,
        conflict=_conflict(found, happenings, done),
        fixed=found.fixed.fixed,
        finished=found.finished,
        lifted=lifted_of(found),
        untested=_names(found.device_class, found.fixed.untested),
        locked=_locked(found),
        needs=needs,
        where_was_i=where_was_i(found, happenings, needs, bench.today),
        exchange=exchange_words(needs, names_of(found.device_class)),
        on_sheet=for_the_step(bench, found),
    )


def hazards_of(bench: BenchFile, number: int) -> tuple[HazardSaid, ...]:
    """Every hazard of a unit with what was said of it; raises `Refused` as `study_of`."""
    case = case_of_unit(bench, number)
    state = case.state
    return tuple(
        HazardSaid(
            hazard=hazard.id,
            question=hazard.question,
            said="yes" if hazard.id in state.hazards else "no" if hazard.id in state.cleared else "",
            caution=hazard.caution,
            releases=tuple(hazard.releases),
            confirmed=tuple(sorted(state.confirmed.get(hazard.id, ()))),
        )
        for hazard in case.device_class.hazards
    )


def why(bench: BenchFile, number: int, most: int = 12) -> tuple[Moved, ...]:
    """Which answers moved which suspect most, largest first."""
    found = study_unit(bench, get_unit(bench, number))
    happenings, heard = _told(found), _heard(found)
    moved = [
        Moved(
            happenings.get(entry.index) or heard[entry.index],
            found.device_class.fault(fault).what,
            points,
            heard=entry.index in heard,
        )
        for entry in contributions(found.network, found.state.events)
        for fault, points in entry.chance.items()
        if abs(points) >= 0.01
    ]
    return tuple(sorted(moved, key=lambda item: -abs(item.points))[:most])


def cautions_of(found: Study) -> tuple[str, ...]:
    """Cautions of hazards in force, then the standing ones of the class."""
    standing = [hazard.caution for hazard in hazards_in_force(found)]
    return tuple(dict.fromkeys((*standing, *found.device_class.cautions)))


def _alike(found: Study, currency: str) -> tuple[str, ...]:
    """Each kind of neighbours in a line with its price, and the rule once at the end."""
    cures = found.action.faults if found.action is not None and found.action.action == "repair" else ()
    lines = []
    for one in neighbours(found.case, cures):
        count = f"{one.others} more" if one.others > 1 else "One more"
        now, later = shown(one.now, currency), shown(one.later, currency)
        pays = (
            f"pays if the chance that it fails later is {one.pays_from * 100:.0f} % or more"
            if one.pays_from < 1.0
            else "does not pay"
        )
        lines.append(f"{one.part_name}: {one.told} {count} now costs {now}, to open it again for one {later}: {pays}.")
    origins = ", ".join(dict.fromkeys(one.origin for one in neighbours(found.case, cures)))
    return (*lines, f"{RULE}; class file: {origins}") if lines else ()


def _second_try(found: Study) -> float | None:
    """What fixing brings when a repair that does not help is followed by the next one, where that adds anything."""
    if found.decision is None or found.action is None or found.action.branch != "fix":
        return None
    more = found.action.value
    return more if rounded(more) > rounded(found.decision.sum_of("fix").value) else None


def _suspects(found: Study) -> tuple[Suspect, ...]:
    faults = found.device_class.faults
    listed = [
        Suspect(
            fault=fault.id,
            what=fault.what,
            chance=found.belief.present.get(fault.id, 0.0),
            at_start=found.belief.at_start.get(fault.id, 0.0),
            curable=fault.repairable,
        )
        for fault in faults
    ]
    return tuple(sorted(listed, key=lambda suspect: -suspect.chance))


def _done(found: Study, happenings: Sequence[Happening]) -> tuple[Done, ...]:
    ignored = set(found.belief.ignored)
    place = len(found.state.events) - sum(1 for item in happenings if is_event(found.device_class, item))
    lines = []
    for item in happenings:
        passed_over = False
        if is_event(found.device_class, item):
            passed_over = place in ignored
            place += 1
        lines.append(Done(item.id, item.at, told(found.device_class, item), item.kind in CORRECTABLE, passed_over))
    return tuple(lines)


def _told(found: Study) -> dict[int, str]:
    """Words for each event by its place, reported symptoms left out."""
    happenings = found.facts.happenings
    events = [item for item in happenings if is_event(found.device_class, item)]
    first = len(found.state.events) - len(events)
    return {first + place: told(found.device_class, item) for place, item in enumerate(events)}


def _heard(found: Study) -> dict[int, str]:
    """Words for each reported event by its place: what was typed of the unit that speaks to its check."""
    device_class, unit = found.device_class, found.facts.unit
    said = [symptom for symptom in device_class.symptoms if symptom.id in unit.symptoms]
    return {
        place: "heard: " + ", ".join(one.words[0] for one in said if event.check in one.checks)
        for place, event in enumerate(found.state.events)
        if isinstance(event, Reported)
    }


def _conflict(found: Study, happenings: Sequence[Happening], done: Sequence[Done]) -> tuple[Done, ...]:
    first = len(found.state.events) - sum(1 for item in happenings if is_event(found.device_class, item))
    events = [line for item, line in zip(happenings, done, strict=True) if is_event(found.device_class, item)]
    return tuple(events[place - first] for place in found.belief.conflict if 0 <= place - first < len(events))


def _names(device_class: DeviceClass, ids: Sequence[str]) -> tuple[str, ...]:
    known = {function.id: function.name for function in device_class.functions}
    return tuple(known.get(name, name) for name in ids)


def _locked(found: Study) -> tuple[tuple[str, str], ...]:
    if found.action is None:
        return ()
    return tuple(
        (found.device_class.check(entry.check).question, entry.why)
        for entry in found.action.locked
        if entry.kind in {"safety", "training", "tool"}
    )


def _unsettled(unit: Unit, happenings: Sequence[Happening], needs: tuple[Need, ...]) -> UnitView:
    """A unit whose class is in doubt: the one question is what it is."""
    return UnitView(
        unit=unit,
        class_name="?",
        mains=False,
        minutes=minutes_spent(happenings),
        case_open=case_open(happenings),
        cautions=(),
        hazards_in_force=(),
        tell=(*to_be_told(unit), *still_makeshift(needs, {})),
        ask_first=None,
        recharged=frozenset(),
        typed_of=frozenset(),
        action="choose_class",
        look=None,
        repair=(),
        reason=f"“{unit.typed}” could be several things; say which",
        gain=0.0,
        alike=(),
        pile=unit.pile or "undecided",
        pile_word=PILE_WORDS[unit.pile or "undecided"],
        suspects=(),
        nothing_listed=0.0,
        branches=(),
        flips=(),
        gap=None,
        second_try=None,
        far_fetched=False,
        left_out=0.0,
        done=(),
        conflict=(),
        fixed=False,
        finished=False,
        lifted=(),
        untested=(),
        locked=(),
        needs=needs,
        where_was_i="It is not settled yet what this is.",
        exchange=exchange_words(needs, {}),
    )
