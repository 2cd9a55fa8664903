"""What ways beside the looks on offer would gain: a look that takes a tool the person lacks, a signal followed.

The gains are reckoned one step deep, in the money of the branches: the best branch after each outcome, less the
minutes, less the best branch now. Going on afterwards may add to it, so it is a careful figure beside that of the
looks. Also said is whether a function that read bad may have done so by mistake.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Final

import msgspec
import numpy as np

from triage.device_classes.schema import Check
from triage.locks import Locked, gate_is_open, may_look_again
from triage.outlook import check_minutes, heaviest, seen_out
from triage.payoffs import Menu, Payoffs
from triage.plans import Case, Floats, SeenWorlds
from triage.repair_orders import plans_for

CLEARLY: Final = 0.01
"""Share of the unit's price that a way must gain beyond the best look on offer to be worth a line (our choice)."""


class Doubt(msgspec.Struct, frozen=True):
    """A function that read bad, and the chance that nothing listed is there now that makes it bad."""

    check: str
    chance: float


class ToolGain(msgspec.Struct, frozen=True):
    """A look that only a missing tool keeps from being offered, and what it would gain, minor units."""

    check: str
    tools: tuple[str, ...]
    gain: float


class Stretch(msgspec.Struct, frozen=True):
    """Part of a chain between two points that may be probed: how often each fault shows behind it, and what else."""

    shows: Mapping[str, float]
    leak: float


class Ways:
    """The money of one unit's branches in every world, laid out once for both questions."""

    def __init__(self, case: Case, worlds: SeenWorlds, locked: Sequence[Locked]) -> None:
        """`locked` is what the advice could not offer: the plans are those that it compared."""
        self._case = case
        self._seen = heaviest(worlds)
        self._locked = locked
        self._untested = seen_out(case, locked)
        menu = self._menu(seen_out=self._untested)
        self._money = menu.payoffs(case_open=case.state.case_open)
        self._opened = self._money if case.state.case_open else menu.payoffs(case_open=True)
        self.now = float(self._money.expected(self._seen.weight).max())
        """What the best branch is worth before any of these ways, minor units."""

    @property
    def clear_gain(self) -> float:
        """What a way must gain beyond the best look."""
        worth = self._case.worth
        return CLEARLY * max(abs(worth.working), abs(worth.as_is), abs(worth.part_out))

    def best_tool(self) -> ToolGain | None:
        """The look that would gain most among those that wait for a tool alone; None where there is none."""
        shut = {entry.check for entry in self._locked if entry.kind == "tool"}
        found = [
            ToolGain(check.id, self._missing(check), self._gain_of(check))
            for check in self._case.device_class.checks
            if check.id in shut and check.money and gate_is_open(check, self._case.record.latest) and not check.cures
        ]
        return max(found, key=lambda entry: entry.gain, default=None)

    def false_alarm(self) -> Doubt | None:
        """The function that most likely read bad by mistake, where that is likelier than every suspect; else None."""
        present = self._seen.present
        doubts = []
        for check in may_look_again(self._case.device_class, self._case.record):
            linked = [fault in check.fails for fault in self._seen.faults]
            doubts.append(Doubt(check.id, float(self._seen.weight @ ~present[:, linked].any(axis=1))))
        likeliest = float((self._seen.weight @ present).max(initial=0.0))
        found = max(doubts, key=lambda entry: entry.chance, default=None)
        return found if found is not None and found.chance > likeliest else None

    def gain_of_following(self, stretches: Sequence[Stretch], minutes: float) -> float:
        """What it gains to learn in which stretch, source first, the signal is lost; past the last of them it is not.

        `minutes` is what that is expected to take, opening included; that it then stands open for a repair is left out.
        A fault may fail to show, and what is not listed may look like one: then a wrong stretch is blamed.
        """
        left = np.ones(len(self._seen.weight))
        outcomes = []
        for stretch in stretches:
            through = left * self._through(stretch)
            outcomes.append(left - through)
            left = through
        return self._gain(self._money, [*outcomes, left], minutes)

    def _missing(self, check: Check) -> tuple[str, ...]:
        return tuple(tool for tool in check.tools if tool not in self._case.means.tools)

    def _menu(self, *, seen_out: bool) -> Menu:
        return Menu(self._case, self._seen, plans_for(self._case, self._seen, seen_out=seen_out))

    def _gain_of(self, check: Check) -> float:
        bad = self._seen.bad_chance(check.id)
        case_open = self._case.state.case_open or check.state == "opened"
        money = self._opened if case_open else self._money
        if self._untested and check in self._case.functions:  # with it a repair that did not help would be seen
            money = self._menu(seen_out=False).payoffs(case_open=case_open)
        return self._gain(money, [bad, 1.0 - bad], check_minutes(self._case, check))

    def _through(self, stretch: Stretch) -> Floats:
        """float64[w]; chance that the signal comes through a stretch."""
        total = np.full(len(self._seen.weight), 1.0 - stretch.leak)
        for place, fault in enumerate(self._seen.faults):
            if fault in stretch.shows:
                total *= np.where(self._seen.present[:, place], 1.0 - stretch.shows[fault], 1.0)
        return total

    def _gain(self, money: Payoffs, outcomes: Collection[Floats], minutes: float) -> float:
        after = money.expected(self._seen.weight * np.array(outcomes))
        return float(after.max(axis=1).sum()) - self.now - self._case.rate * minutes
