"""Everything the program concludes about one unit from what is known of it: one pure step from facts to advice.

happenings → events → posterior and worlds → sums of the branches → next action. Screens, command line and the whole-lot
plan all start from a `Study`, so they can never disagree.
"""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from triage.branches import Decision
from triage.checks import NextAction, action_for
from triage.device_classes.schema import Check, DeviceClass, Hazard, Lock
from triage.diagnosis import Belief, Network, Situation, Worlds, believe_in, replay, worlds_in
from triage.evidence import conditions_of, made_up_checks, state_of
from triage.locks import FixedState, Means, UnitState, fixed_of, in_force, named_unasked, unasked
from triage.lot import Happening, Unit
from triage.network import known_faulty_of, network_of
from triage.person import Person
from triage.plans import Case, case_of
from triage.stand import stand
from triage.worth import Worth, lacking, opens, worth_of

MOST_WORLDS = 4_000
WORLDS_LEFT_OUT = 1e-3
"""Chance left out where money is reckoned: a few cents on a unit worth 100; the chances that are shown are exact."""
SELLING = frozenset({"fix", "part_out", "as_is"})
"""Piles from which a unit, or parts of it, go to somebody else."""
STRIP_MINUTES = 20.0
"""Minutes to take a unit apart for its parts (from memory)."""


class Facts(msgspec.Struct, frozen=True):
    """What a study rests on. Two equal facts give the same study."""

    unit: Unit
    happenings: tuple[Happening, ...]
    person: Person
    minor: int = 100
    """Minor units in one currency unit."""
    delay_days: float = 3.0
    """Days until parts are here (from memory); the plan of the lot reckons with the real ones."""
    day_fall: float = 0.0
    """Share of its price that a unit of the lot loses in a day, on top of the person's day cost."""
    lot_minute: float = 0.0
    """Worth of one more bench minute in the last plan of the lot; a minute is worth at least that."""

    @property
    def rate(self) -> float:
        """Worth of a bench minute: the person's hour, or what the lot's hours are short of."""
        return max(self.person.minute_worth, self.lot_minute)


class Study(msgspec.Struct, frozen=True):
    """The conclusions on one unit."""

    device_class: DeviceClass
    facts: Facts
    state: UnitState
    network: Network
    belief: Belief
    case: Case
    fixed: FixedState
    decision: Decision | None
    """None when the answers contradict each other; then `belief.conflict` names them."""
    plain: Decision | None
    """The same sums at the person's own hour, for showing: as the plan adds them up where minutes are scarce."""
    action: NextAction | None
    ask_first: Hazard | None
    """A hazard to ask about before the action is taken."""

    @property
    def pile(self) -> str:
        """The pile the unit belongs on now: the person's word, else the sums; undecided while a look still pays."""
        if self.facts.unit.pile:
            kept = self.facts.unit.pile not in SELLING or not self.unsellable
            return self.facts.unit.pile if kept else "hand_over"
        if self.decision is None or self.action is None:
            return "undecided"
        if self.action.action == "check" and not self.fixed.fixed:
            return "undecided" if self.action.branch != "fix" or not self._repaired() else "fix"
        return self.action.branch if self.action.action != "repair" else "fix"

    @property
    def finished(self) -> bool:
        """Whether it reads fixed and nothing more is to be looked at, or the person has settled its pile."""
        looking = self.action is not None and self.action.action == "check" and not self.facts.unit.pile
        return self.fixed.fixed and not looking

    @property
    def unsellable(self) -> str:
        """Why the unit may not be sent to anybody as it is; empty when it may."""
        return in_force(self.device_class, self.state, frozenset({"posting"}))

    def _repaired(self) -> bool:
        return bool(self.case.record.repairs)


def study(device_class: DeviceClass, facts: Facts, before: Network | None = None) -> Study:
    """Work one unit out; pure.

    It takes some tens of milliseconds, where a unit may be given up several times that (`further.py`), and about a
    second where its answers tie very many faults.

    `before` is the network of an earlier study: where it is the same, what was worked out of it serves again.
    """
    unit = facts.unit
    case = case_for(device_class, facts)
    state, means, rate = case.state, case.means, case.rate
    network = network_of(
        device_class,
        known_faulty=known_faulty_of(unit.sold_as),
        conditions=conditions_of(device_class, facts.happenings),
        more=made_up_checks(device_class, facts.happenings),
    )
    if network == before:
        network = before
    situation = Situation(network, replay(network, state.events))
    belief = believe_in(situation, details=False)
    fixed = fixed_of(device_class, state)
    decision: Decision | None = None
    plain: Decision | None = None
    action: NextAction | None = None
    seen: Worlds | None = None
    if not belief.impossible:
        seen = worlds_in(situation, WORLDS_LEFT_OUT, at_most=MOST_WORLDS, log_evidence=belief.log_evidence)
    if seen is not None:
        decision = plain = stand(case, seen)
        own = facts.person.minute_worth
        if rate != own:
            plain = stand(case_of(device_class, case.worth, rate=own, state=state, means=means), seen)
        action = action_for(case, seen)
    return Study(
        device_class=device_class,
        facts=facts,
        state=state,
        network=network,
        belief=belief,
        case=case,
        fixed=fixed,
        decision=decision,
        plain=plain,
        action=action,
        ask_first=next(iter(_hazards_first(device_class, state, action)), None),
    )


def case_for(device_class: DeviceClass, facts: Facts) -> Case:
    """How the unit stands, what the person can do and what things cost: all that needs no chances, at once."""
    state = state_of(device_class, facts.unit, facts.happenings)
    means = Means(frozenset(facts.person.tools), facts.person.permissions)
    unit = facts.unit
    guessed = unit.as_is is None and unit.working is None and not unit.missing  # else it is said, or counted already
    as_is = facts.person.incomplete_ratio if guessed else 1.0
    worth = lacking(worth_in(device_class, facts), device_class, state.missing, as_is=as_is)
    return case_of(device_class, worth, rate=facts.rate, state=state, means=means)


def worth_in(device_class: DeviceClass, facts: Facts) -> Worth:
    """The money side of a unit from the class file, the person's figures and their settings."""
    unit, person = facts.unit, facts.person
    worth = worth_of(
        device_class,
        minor=facts.minor,
        grade=unit.grade,
        working=unit.working,
        as_is=unit.as_is,
        part_out=unit.part_out,
        own_worth=unit.own_worth,
        complete=person.incomplete_ratio if unit.missing else 1.0,
        opened_before=unit.opened_before == "yes",
    )
    kept = unit.own_worth is not None
    return msgspec.structs.replace(
        worth,
        strip_minutes=STRIP_MINUTES,
        list_minutes=person.list_minutes,
        returns=0.0 if kept else worth.working * person.returns_ratio,
        delay_days=facts.delay_days,
        delay_per_day=worth.working * (person.day_cost_ratio + (0.0 if kept else facts.day_fall)),
    )


def _hazards_first(device_class: DeviceClass, state: UnitState, action: NextAction | None) -> tuple[Hazard, ...]:
    """The hazards not asked about yet: those that were typed of, then what could hold back what is to be done now.

    When nothing more can be done outside, the hazards that keep the case shut are asked, so that more may be offered,
    and those that keep a unit from being sent.
    """
    named = named_unasked(device_class, state)
    if named or action is None:
        return named
    if action.action == "check" and action.check is not None:
        check = device_class.check(action.check)
        return unasked(device_class, state, check.held_by(), opening=check.state == "opened")
    if action.action == "repair":
        opening = opens(device_class, action.faults)
        return unasked(device_class, state, frozenset({"opened", "powered"}), opening=opening)
    held: set[Lock] = {"posting"}  # before it is sold: what must not travel
    if action.branch == "part_out":
        held.add("opened")
    for entry in action.locked:
        if entry.kind == "safety":
            held |= device_class.check(entry.check).held_by()
    return unasked(device_class, state, frozenset(held), opening=action.branch == "part_out")


def hazards_in_force(found: Study) -> tuple[Hazard, ...]:
    """The hazards answered yes that still lock something after what was confirmed about them."""
    state = found.state
    return tuple(
        hazard
        for hazard in found.device_class.hazards
        if hazard.id in state.hazards and hazard.locked_after(state.confirmed.get(hazard.id, frozenset()))
    )


def questions_left(found: Study) -> Sequence[Check]:
    """The checks that may be looked at now, best first, those outside the money ranking last."""
    if found.action is None:
        return ()
    shut = {entry.check for entry in found.action.locked}
    ranked = [entry.check for entry in found.action.ranking]
    rest = [check.id for check in found.device_class.checks if check.id not in shut and check.id not in ranked]
    return [found.device_class.check(check_id) for check_id in (*ranked, *rest)]
