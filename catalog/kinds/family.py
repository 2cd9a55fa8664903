"""What a family of parts says about itself: its rules, the other kinds that may serve, and what a grade costs."""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from catalog.rules import MEMORY, Grade, Rule


class Defaults(msgspec.Struct, frozen=True):
    """What a substitute of one grade usually costs, until the person says otherwise."""

    minutes: float
    """Extra bench minutes a piece."""
    success_cut: float
    """Fraction taken off the chance that the repair succeeds."""
    price_cut: float
    """Fraction taken off the sale price once the buyer is told."""
    origin: str = MEMORY


class Route(msgspec.Struct, frozen=True):
    """How a candidate of another kind is judged."""

    rules: tuple[Rule, ...]
    settled: tuple[str, ...] = ()
    """Attributes of the wanted part that mean nothing for this kind of candidate."""


class Family(msgspec.Struct, frozen=True):
    """One kind of part."""

    kind: str
    rules: tuple[Rule, ...]
    place: tuple[str, ...] = ()
    """Attributes that describe the place or the line, not the part: they are never compared."""
    routes: Mapping[str, Route] = msgspec.field(default_factory=dict)
    """Other kinds that may serve, or are refused with a reason of their own."""
    rework: Defaults = Defaults(5, 0.02, 0.0)
    compromise: Defaults = Defaults(0, 0.05, 0.03)
    reminders: tuple[str, ...] = ()
    """What to do whatever the grade."""

    def defaults(self, grade: Grade) -> Defaults:
        """The usual cost of a grade. ValueError for unknown and refuse, which are never fitted."""
        if grade.rank > Grade.COMPROMISE.rank:
            raise ValueError(f"a part graded {grade} is not fitted, so it has no usual cost")
        if grade is Grade.COMPROMISE:
            return self.compromise
        return self.rework if grade is Grade.REWORK else Defaults(0, 0.0, 0.0)
