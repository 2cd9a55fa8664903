"""How one unit stands now: the sums of its branches, with the repair that pays best."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from typing import Final

import msgspec

from triage.branches import AsIs, Branch, Decision, DonorPart, PartOut, decide
from triage.device_classes.schema import DeviceClass
from triage.payoffs import Tries, part_good, passes
from triage.plans import Case, CureSet, Floats, SeenWorlds
from triage.repair_orders import by_chance

TOP_EXACT: Final = 6
"""Every cure set among so many of the likeliest faults is tried; beyond them sets grow one fault at a time."""


def good_chance(device_class: DeviceClass, worlds: SeenWorlds, part_id: str) -> float:
    """Chance that a donor part is good: that none of the faults that need it is there now."""
    return float(worlds.weight @ part_good(device_class, worlds, part_id))


def stand(case: Case, worlds: SeenWorlds) -> Decision:
    """The sums of the unit as it is known now: the best repair, part-out, as-is, and whatever else has figures."""
    cures, success = best_cure_set(case, worlds)
    worth = case.worth
    branches: list[Branch] = [
        case.fix_of(cures, success),
        PartOut(
            strip_minutes=worth.strip_minutes,
            parts=tuple(_as_donor(case.device_class, worlds, part) for part in worth.parts),
            lump=0.0 if worth.parts else worth.part_out,
        ),
        AsIs(net=worth.as_is, minutes=worth.list_minutes),
        *worth.others,
    ]
    return decide(branches, case.rate)


def best_cure_set(case: Case, worlds: SeenWorlds) -> tuple[CureSet, float]:
    """The cure set with the best `fix` sum, and its chance.

    Every set among the six likeliest faults is tried, then single faults, and the best grows by one fault at a time as
    long as that pays. A unit that reads fixed needs none; its chance is that nothing hides in it.
    """
    passing = passes(case, worlds)
    if case.fixed:
        return (), _best_of(case, worlds, passing, [()])[2]
    likely = by_chance(case, worlds)
    top = likely[:TOP_EXACT]
    sets = [pick for size in range(len(top) + 1) for pick in combinations(top, size)]
    sets += [(fault,) for fault in likely[TOP_EXACT:]]
    if case.reads_bad:  # it does not work as it is
        sets = sets[1:] or sets
    best, value, chance = _best_of(case, worlds, passing, sets)
    while grown := [(*best, fault) for fault in likely if fault not in best]:
        wider, wider_value, wider_chance = _best_of(case, worlds, passing, grown)
        if wider_value <= value:
            break
        best, value, chance = wider, wider_value, wider_chance
    order = {fault: place for place, fault in enumerate(worlds.faults)}
    return tuple(sorted(best, key=order.__getitem__)), chance


def _best_of(case: Case, worlds: SeenWorlds, passing: Floats, sets: Sequence[CureSet]) -> tuple[CureSet, float, float]:
    tries = Tries(case, worlds.faults, [(cures,) if cures else () for cures in sets])
    near = tries.within_reach(worlds)
    at_hand = worlds.at(near)
    cured = at_hand.weight @ tries.cured(at_hand, passing[near])
    rest, gain = tries.money(case_open=case.state.case_open)
    values = rest + cured @ gain
    best = int(values.argmax())
    return sets[best], float(values[best]), min(1.0, float(tries.of(cured)[best]))


def _as_donor(device_class: DeviceClass, worlds: SeenWorlds, part: DonorPart) -> DonorPart:
    good = good_chance(device_class, worlds, part.id)
    own_use = None if part.own_use is None else part.own_use * good
    return msgspec.structs.replace(part, sell_chance=part.sell_chance * good, own_use=own_use)
