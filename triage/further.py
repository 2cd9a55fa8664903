"""One answer further: before a unit is given up, the looks that all but pay are thought through anew after each answer.

The look-ahead plays a few looks through together and takes what is known then for the end. After an answer other looks
would come to the front, so it promises a little too little: where that little decides between one more look and none,
both answers are followed and everything is worked out once more from there.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from triage.device_classes.schema import Check
from triage.diagnosis import Answered
from triage.diagnosis.network import Answer
from triage.locks import Locked, UnitState, locked_checks
from triage.outlook import Outlook, Ranked, check_minutes, in_order, outlook, small_change
from triage.plans import Case, SeenWorlds, case_of

FOLLOWED: Final = 3
"""Looks that are followed (our choice; eight earned no more, `tests/bench/quality.txt`): each takes twice the time of
all that was worked out before."""
ALL_BUT: Final = 50.0
"""How many times small change a look may fall short and be followed: 0.5 % of what the unit can bring (our choice)."""


def advised(case: Case, worlds: SeenWorlds, locked: Sequence[Locked]) -> Outlook:
    """The outlook; where no repair and no look pays but some all but do, with what these bring when followed."""
    view, step = outlook(case, worlds, locked), small_change(case)
    if view.plan.branch == "fix" or not view.ranking or view.ranking[0].net_gain > step:
        return view
    near = [entry for entry in view.ranking[:FOLLOWED] if entry.net_gain > -ALL_BUT * step]
    followed = {entry.check: _followed(case, worlds, view, entry) for entry in near}
    if all(entry.net_gain <= step for entry in followed.values()):
        return view
    ranking = in_order(case, [followed.get(entry.check, entry) for entry in view.ranking])
    alone = next(entry.net_gain for entry in view.ranking if entry.check == ranking[0].check)
    return msgspec.structs.replace(view, ranking=ranking, alone=alone)


def _followed(case: Case, worlds: SeenWorlds, view: Outlook, entry: Ranked) -> Ranked:
    """The look with what it gains when after each of its answers the best is done."""
    check = case.device_class.check(entry.check)
    bad = float(worlds.weight @ worlds.bad_chance(check.id))
    gain = -view.now - case.rate * (check_minutes(case, check) + _safety(case, check))
    outcomes: tuple[tuple[Answer, float], ...] = (("good", 1.0 - bad), ("bad", bad))
    gain += sum(chance * _best_after(case, worlds, check, answer) for answer, chance in outcomes if chance > 0.0)
    gain = max(gain, entry.net_gain)
    return msgspec.structs.replace(
        entry, net_gain=gain, gain_per_minute=gain / entry.minutes if entry.minutes else gain
    )


def _best_after(case: Case, worlds: SeenWorlds, check: Check, answer: Answer) -> float:
    """What the unit brings from there on, minor units."""
    state = _state_after(case, check, answer)
    after = case_of(case.device_class, case.worth, rate=case.rate, state=state, means=case.means)
    then = worlds.answered((*case.state.events, Answered(check.id, answer)))
    view = outlook(after, then, locked_checks(after.device_class, state, after.means, after.record))
    return view.now + max(0.0, view.ranking[0].net_gain if view.ranking else 0.0)


def _state_after(case: Case, check: Check, answer: Answer) -> UnitState:
    """The unit after the look; the safety steps that come before it are done, and nearly always read good."""
    state = case.state
    steps = case.safety_steps if _safety(case, check) else ()
    return msgspec.structs.replace(
        state,
        events=(*state.events, *(Answered(step.id, "good") for step in steps), Answered(check.id, answer)),
        case_open=state.case_open or check.state == "opened",
        setups=state.setups | ({check.setup} if check.setup else set()),
    )


def _safety(case: Case, check: Check) -> float:
    """Minutes of the safety steps that are due before the look."""
    return case.safety_due if check.powered and case.device_class.mains else 0.0
