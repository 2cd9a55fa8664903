"""The rows of the plan, and word of how far a plan is."""

from __future__ import annotations

from math import isfinite
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.message import Message

from catalog.money import shown
from triage.screens.rows import RowList


class Planning(Message):
    """How far a plan is, told by the back room."""

    def __init__(self, turn: int, done: int, units: int, so_far: str = "") -> None:
        """`done` of `units` are studied for the plan numbered `turn`; `so_far` tells of the best plan found yet."""
        super().__init__()
        self.turn = turn
        self.done = done
        self.units = units
        self.so_far = so_far

    def can_replace(self, message: Message) -> bool:
        """A newer one makes an older one needless."""
        return isinstance(message, Planning)


def so_far(total: float, more: float, currency: str) -> str:
    """The best plan yet, and how far it is from the best possible, as far as that is known."""
    bound = f", at most {shown(more, currency)} more is possible" if isfinite(more) else ""
    return f"{shown(total, currency)} so far{bound}"


class PlanRows(RowList):
    """The rows of the plan; the letters of the left hand move too."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("j", "step(1)", "down", show=False, tooltip="Row below", id="plan.down"),
        Binding("k", "step(-1)", "up", show=False, tooltip="Row above", id="plan.up"),
        Binding("left", "screen.walk(-1)", "sooner", show=False, tooltip="Walk the days back", id="plan.sooner"),
        Binding("right", "screen.walk(1)", "later", show=False, tooltip="Walk the days", id="plan.later"),
    ]
