"""How decisions moved: what each unit was meant for when the person last looked, and what it is meant for now.

Pure.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import msgspec


class Decided(msgspec.Struct, frozen=True):
    """What a unit is meant for, and what that is expected to bring, in minor units."""

    pile: str
    value: float


class Move(msgspec.Struct, frozen=True):
    """A unit that is meant for something else than before."""

    unit: int
    was: Decided
    now: Decided


class Change(msgspec.Struct, frozen=True):
    """Something that was done since: about one unit, or (None) about no unit in particular."""

    unit: int | None
    summary: str


def moves(before: Mapping[int, Decided], now: Mapping[int, Decided]) -> tuple[Move, ...]:
    """The units on another pile than before, by number; one that was not there before did not move."""
    return tuple(
        Move(unit, before[unit], decided)
        for unit, decided in sorted(now.items())
        if unit in before and before[unit].pile != decided.pile
    )


def why(unit: int, changes: Sequence[Change], *, by_plan: bool, serves: Sequence[int] = ()) -> str:
    """What was done since, in one line: on the unit itself, else for all, else on other units.

    Args:
        unit: the one that moved.
        changes: what was done since, newest first.
        by_plan: whether the plan of the whole lot moved it, to which a price counts as much as the unit's own answers.
        serves: the units that its parts go to in that plan: what they gain is not in what it brings itself.
    """
    own = [change.summary for change in changes if change.unit == unit]
    general = [change.summary for change in changes if change.unit is None]
    others = [_on_its_unit(change) for change in changes if change.unit not in {None, unit}]
    order = (general, own, others) if by_plan else (own, general, others)
    told = next((each for each in order if each), [])
    plan = "the plan of the whole lot"
    if serves:
        plan += f", where its parts serve unit {', '.join(map(str, serves))}, which gains by it"
    if not told:
        return plan if by_plan else "nothing was noted since"
    more = f", and {len(told) - 1} more" if len(told) > 1 else ""
    return f"{told[0]}{more}" + (f"; by {plan}" if by_plan else "")


def _on_its_unit(change: Change) -> str:
    unit = f"unit {change.unit}: "
    return change.summary if change.summary.startswith(unit) else unit + change.summary
