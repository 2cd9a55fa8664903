"""What the plan of a whole lot is asked and what it answers: plain frozen records, no arithmetic.

Amounts are minor units: expectations are floats, the order is whole. Times are minutes and whole days from today.
"""

from __future__ import annotations

import msgspec

from catalog.purchase_data import Conflict, PlanStatus, PurchasePlan, PurchaseProblem
from triage.branches import BranchKind

MOST_STAGES = 6
"""Days by whose end work may count as done, at most: with more days until the last they are evenly spread."""


class Yield(msgspec.Struct, frozen=True, kw_only=True):
    """Pieces of one part that a branch gives. Each piece is sold, used in a repair, or left where it is."""

    part: str
    """What it is called in the answer."""
    pieces: int
    value: float = 0.0
    """What a piece brings when sold, with the chance that it is good and sells, its minutes already paid."""
    used_cost: float = 0.0
    """What a piece costs when it goes into a repair: its minutes, a test."""
    minutes: float = 0.0
    """Bench minutes to take out one piece."""
    sale_minutes: float = 0.0
    """Further bench minutes for a piece that is sold."""
    offer: str | None = None
    """The offer of the order problem that stands for these pieces. None, or an offer that is not there: only sold."""


class LotBranch(msgspec.Struct, frozen=True, kw_only=True):
    """One way to deal with a unit."""

    id: str
    kind: BranchKind
    value: float
    """Expected, without the parts named in `needs`, without waiting for them; minutes already paid."""
    minutes: float = 0.0
    """Bench minutes, without those of harvested pieces and of the extra work on substitutes."""
    needs: tuple[str, ...] = ()
    """Needs of the order problem that must be met in full. Several branches of a unit may name the same need."""
    yields: tuple[Yield, ...] = ()
    ready: int = 0
    """Day on which its work can begin at the soonest, as parts that are on their way come then. Waiting until then is
    in `value`; of a branch with needs it is the `ready_day` of its unit in the order."""
    day_loss: float = 0.0
    """What it brings less for every day until its work is done, while its parts are here: waiting for them is in the
    order already, at this or more a day. Counts only where the bench has a last day."""


class LotUnit(msgspec.Struct, frozen=True, kw_only=True):
    """A unit takes exactly one of its branches."""

    id: str
    branches: tuple[LotBranch, ...]


class Bench(msgspec.Struct, frozen=True, kw_only=True):
    """The minutes there are. They only limit: what a minute is worth is in the values already."""

    minutes: float
    days: int | None = None
    """Days they are spread over. None = no last day, so waiting for parts loses no bench time."""
    by_day: tuple[float, ...] = ()
    """Minutes there are on each of these days, from today on; empty = `minutes` spread evenly."""
    ends: tuple[int, ...] = ()
    """The days by whose end work counts as done, the last of all among them; empty = each, or evenly spread."""
    next_day: float = 0.0
    """Minutes there would be on the day after the last, where they are stated by day."""

    def left(self, day: int) -> float:
        """Minutes left from a day on."""
        if self.by_day:
            return min(self.minutes, sum(self.by_day[max(0, day) :]))
        if self.days is None or day <= 0:
            return self.minutes
        return self.minutes * max(0, self.days - day) / self.days if self.days else 0.0

    def between(self, first: int, last: int) -> float:
        """Minutes on the days from `first` to `last`, both included; there must be a last day of all."""
        if self.by_day:
            return min(self.minutes, sum(self.by_day[first : last + 1]))
        return self.minutes * max(0, min(last + 1, self.days or 0) - first) / self.days if self.days else 0.0

    @property
    def stages(self) -> tuple[int, ...]:
        """The days by whose end work counts as done: each day, or so many evenly spread; empty without a last day."""
        if not self.days or self.ends:
            return self.ends
        count = min(self.days, MOST_STAGES)
        return tuple(-(-(stage + 1) * self.days // count) - 1 for stage in range(count))

    def more(self, minutes: float) -> Bench:
        """With `minutes` more, spread as those there are."""
        there = sum(self.by_day)
        grown = tuple(each * (1.0 + minutes / there) for each in self.by_day) if there else self.by_day
        if self.by_day and not there:
            grown = (minutes, *self.by_day[1:])
        return msgspec.structs.replace(self, minutes=self.minutes + minutes, by_day=grown)

    def longer(self) -> Bench:
        """With the last day one day later; its minutes come on top where they are stated by day and nothing else is."""
        if self.days is None:
            return self
        longer = msgspec.structs.replace(self, days=self.days + 1, ends=(*self.stages, self.days))
        if not self.by_day:
            return longer
        all_stated = self.minutes >= sum(self.by_day) - 1e-9
        return msgspec.structs.replace(
            longer,
            by_day=(*self.by_day, self.next_day),
            minutes=self.minutes + (self.next_day if all_stated else 0.0),
        )


class LotProblem(msgspec.Struct, frozen=True, kw_only=True):
    """A lot to decide at once."""

    units: tuple[LotUnit, ...]
    order: PurchaseProblem
    """Every need is only bought for if a branch that names it is taken; spares need no branch."""
    bench: Bench | None = None
    """None = no limit."""
    pins: dict[str, str] = {}
    """{unit: branch the person decided on}"""


class Harvest(msgspec.Struct, frozen=True):
    """Pieces taken out of a donor."""

    unit: str
    part: str
    pieces: int
    need: str | None
    """The need they meet; None = sold."""
    to: str | None
    """The unit they go into; None = sold."""


class LotConflict(msgspec.Struct, frozen=True):
    """Units that cannot be dealt with together while any of them alone can be left out to make a plan possible."""

    units: tuple[str, ...]
    detail: str
    order: tuple[Conflict, ...] = ()
    """What stands in the way of their parts; empty if it is the bench minutes."""


class LotPlan(msgspec.Struct, frozen=True, kw_only=True):
    """The answer. Without a plan (`found` false) everything is empty."""

    status: PlanStatus
    found: bool = False
    gap: float = 0.0
    """The total can be higher by at most this; 0 when optimal."""
    total: float = 0.0
    decisions: dict[str, str] = {}
    """{unit: branch}"""
    values: dict[str, float] = {}
    """{unit: its branch, pieces sold, and its share of the order}. A supplier's postage is shared by the goods each
    unit uses, pieces nobody uses go with the line. In a proven plan they and `riding` add up to the total."""
    riding: float = 0.0
    """What the spares taken are worth, less their share of the order."""
    purchase: PurchasePlan = PurchasePlan(status=PlanStatus.INFEASIBLE)
    """The order for the branches taken, counted again in whole minor units."""
    harvested: tuple[Harvest, ...] = ()
    minutes: float = 0.0
    """Bench minutes the plan takes."""
    done: dict[str, int] = {}
    """{unit: day by whose end its work is done}, of units that lose by the day; the first is day 0."""
    conflicts: tuple[LotConflict, ...] = ()
