"""What a plan of the lot says: units with their piles, lines with the units they serve, and the days."""

from __future__ import annotations

from typing import Literal

import msgspec

from triage.bench_week import Today
from triage.lot import Lot, Need
from triage.papers import OrderSheet
from triage.wants import WantedPart


class PlannedUnit(msgspec.Struct, frozen=True):
    """What the plan does with one unit. `value` is its expected net with its share of the order, minor units."""

    number: int
    class_name: str
    pile: str
    pile_word: str
    by_sums: str
    """The pile by the unit's own sums, before parts were priced together."""
    by_hand: bool
    value: float
    cures: tuple[str, ...]
    turned_down: str = ""
    """Why it is not fixed although its own sums would; empty otherwise."""
    pin_costs: float | None = None
    """What the pile by hand costs against the best plan without it; None where it is the sums' own, or not reckoned.

    Parts that the unit would want on another pile are reckoned at their guess, as before they are described.
    """
    done: str = ""
    """Day by whose end its work is done in the plan, ISO; empty where its price does not fall by the day."""


class PlannedUse(msgspec.Struct, frozen=True):
    """Pieces of a line that go into one unit, for one of its needs; spares are of no unit and no need."""

    need: int | None
    unit: int | None
    part: str
    pieces: int
    grade: str
    do: tuple[str, ...]
    """What to do to make it fit."""
    tell: tuple[str, ...]
    """What to tell a buyer."""
    words: str = ""
    """What the need was described as."""
    rides: Literal["", "wish", "spare"] = ""
    """Whether it rides along: the proper part for later, or spares."""

    def holds_for(self, need: Need) -> bool:
        """Whether the need is still described as the plan had it, and allows what the plan takes for it."""
        return need.text == self.words and (self.grade != "compromise" or need.compromise_ok)


class PlannedLine(msgspec.Struct, frozen=True):
    """One thing the plan takes: from a supplier, or (`supplier` empty, `amount` 0) from the drawer or a donor."""

    supplier: str
    sku: str
    part_number: str
    description: str
    packs: int
    pack: int
    pieces: int
    price: str
    amount: int
    kind: str
    uses: tuple[PlannedUse, ...]
    part_id: int | None
    """The catalogue part, where it comes from the drawer."""
    place: str
    donor: int | None = None
    """The unit it is taken out of."""
    donor_part: str = ""
    """Which part of that unit it is."""
    donor_words: str = ""
    """What exactly that part is."""
    coming: int | None = None
    """The order line on its way that it comes with."""
    due: str = ""
    """When that is expected, ISO."""
    their_amount: int | None = None
    """The line in minor units of the supplier's currency, where that is another one."""

    @property
    def units(self) -> tuple[int, ...]:
        """The units it serves, each once."""
        return tuple(dict.fromkeys(use.unit for use in self.uses if use.unit is not None))

    @property
    def needs(self) -> tuple[int, ...]:
        """The needs it serves, each once."""
        return tuple(dict.fromkeys(use.need for use in self.uses if use.need is not None))

    @property
    def whom(self) -> str:
        """The units it serves, those that only wish for it, and spares: `4, 5, later 7, spare`."""
        now = [str(use.unit) for use in self.uses if not use.rides]
        later = [f"later {use.unit}" for use in self.uses if use.rides == "wish"]
        spare = ["spare" for use in self.uses if use.rides == "spare"]
        return ", ".join(dict.fromkeys([*now, *later, *spare]))

    @property
    def grade(self) -> str:
        """The worst grade among its uses, as one word."""
        order = ("exact", "drop-in", "rework", "compromise")
        return max((use.grade for use in self.uses), key=order.index, default="")


class Ordered(msgspec.Struct, frozen=True):
    """One way to have everything that is wanted: what is bought where, what the drawer gives, and when it is here."""

    order: tuple[PlannedLine, ...]
    drawer: tuple[PlannedLine, ...]
    donors: tuple[PlannedLine, ...]
    """What is to be lifted out of units that are taken apart."""
    coming: tuple[PlannedLine, ...]
    """What is on its way already and free for it."""
    sheets: tuple[OrderSheet, ...]
    goods: int
    shipping: int
    charges: int
    """Fees for small orders, tax and import charges."""
    rework: int
    waiting: int
    worth: int
    """What the wishes and spares that ride along are worth."""
    arrival: str
    """Typical day the last part is here, ISO; empty without an order."""
    arrival_late: str


class DayPoint(msgspec.Struct, frozen=True):
    """One day to have everything by, with an order that does. On the front no order costs less."""

    day: int
    date: str
    cost: int
    """Without waiting."""
    total: int
    """With waiting."""
    cheapest: bool
    """Whether no other day has a lower total with waiting."""
    ordered: Ordered
    """What is ordered then."""


class Side(msgspec.Struct, frozen=True):
    """One of the two ways of a contested need, with the whole order that goes with it."""

    grade: str
    date: str
    """Typical day its last piece is there, ISO."""
    unit_date: str
    """Typical day the unit can go on."""
    goods: int
    """What its own pieces cost."""
    extra: int
    """Extra work, and what it takes off success and sale price."""
    total: int
    """The whole order, waiting of all units included."""
    sources: tuple[str, ...]
    """What it is and where it comes from."""
    do: tuple[str, ...]
    tell: tuple[str, ...]
    ordered: Ordered


class Riding(msgspec.Struct, frozen=True):
    """A wish or spares beside the plan's order. Amounts in minor units."""

    rides: Literal["wish", "spare"]
    number: int
    """The need of a wish, or the number of the spares."""
    unit: int | None
    part: str
    words: str
    wanted: int
    """Pieces that nothing is there or promised for."""
    at_hand: int
    """Of those, pieces in the drawer or on their way that nobody else takes."""
    bought: int
    """Of those, pieces in the plan's order."""
    worth: int
    """What the pieces taken are worth; where none is, what all would be."""
    costs: int | None
    """How much dearer they make the order; where none is taken, all of them would. None: they cannot be had."""
    why: str = ""
    """Why nothing serves, where nothing does: what is nearest, and what is not known of it."""

    @property
    def taken(self) -> bool:
        """Whether the plan takes any."""
        return self.at_hand + self.bought > 0


class Contested(msgspec.Struct, frozen=True):
    """A need that a substitute could meet sooner than the better part: both ways, and where the answer flips."""

    need: int
    unit: int
    part: str
    now: Side | None
    """None where no such order can be had."""
    wait: Side | None
    taken: Literal["now", "wait", ""]
    """The way the plan goes; empty where it takes some of both."""
    plan_total: int
    """The plan's own order, waiting included."""
    ahead: int | None
    """By how much waiting is better, minor units; negative when the substitute is."""
    day_cost: int
    """What a day of waiting costs the unit."""
    flip_day_cost: float | None
    """The cost of a day of this unit above which the substitute wins, minor units."""
    flip_days: int | None
    """The wait, in whole days, that is still worth it; None for any."""
    flip_goods: int | None
    """What the pieces of the losing way may cost at most to win; None where not even a gift would do."""


class PlanView(msgspec.Struct, frozen=True):
    """The whole plan."""

    lot: Lot
    status: str
    gap: float
    total: float
    """What the decided units bring after parts, minor units."""
    units: tuple[PlannedUnit, ...]
    order: tuple[PlannedLine, ...]
    drawer: tuple[PlannedLine, ...]
    donors: tuple[PlannedLine, ...]
    """What is to be lifted out of units that are taken apart."""
    coming: tuple[PlannedLine, ...]
    """What is on its way already and free for it."""
    sheets: tuple[OrderSheet, ...]
    goods: int
    shipping: int
    charges: int
    """Fees for small orders, tax and import charges."""
    rework: int
    waiting: int
    worth: int
    """What the wishes and spares that ride along are worth."""
    arrival: str
    """Typical day the last part is here, ISO; empty without an order."""
    arrival_late: str
    to_describe: tuple[WantedPart, ...]
    """Parts that must be described before they can be ordered."""
    to_look: tuple[int, ...]
    """Units where a look still pays; nothing is ordered for them yet."""
    left_out: tuple[tuple[str, str], ...]
    """(what nearly serves, why it is not used)"""
    conflicts: tuple[str, ...]
    front: tuple[DayPoint, ...]
    """The least money for each day that changes it; waiting counts in the totals only."""
    own: DayPoint | None = None
    """The plan's order as a point, where with waiting it beats the whole front: dearer in money, but here in time for
    those that wait dearly."""
    contested: tuple[Contested, ...] = ()
    pins: tuple[tuple[int, str], ...] = ()
    """(number, the person's word on the order)"""
    pins_cost: float | None = None
    """What that word costs against the best plan without it; None where there is none, or it was not reckoned."""
    riding: tuple[Riding, ...] = ()
    """The later list and the spares: what of them rides along, and what the rest would cost."""
    idle: tuple[int, ...] = ()
    """Needs whose promised pieces the plan may give to others."""
    late: tuple[int, ...] = ()
    """Promises of what may miss its unit's last day: what the plan takes for those needs stands in their place."""
    notes: tuple[str, ...] = ()
    """What else is good to know: rates that were used, words on the order that speak of nothing any more."""
    today: Today | None = None
    """Today's bench minutes; None where hours by weekday do not limit the plan."""
    minute_worth: float | None = None
    """What one more bench minute would bring; None where minutes are not limited, or it was not proven."""
    day_worth: float | None = None
    """What one more day would bring; None where there is no last day, or it was not proven."""
    basis: str = ""
    """A fingerprint of all that the plan follows from."""

    @property
    def order_total(self) -> int:
        """Goods, postage and charges: what is paid."""
        return self.goods + self.shipping + self.charges

    @property
    def days(self) -> tuple[DayPoint, ...]:
        """The days one can walk, one point each: the front, and the plan's own order where it is not on it.

        The plan's own order takes the place of a front point of its day: with waiting it is the cheaper of the two.
        """
        if self.own is None:
            return self.front
        rest = (msgspec.structs.replace(point, cheapest=False) for point in self.front if point.day != self.own.day)
        return tuple(sorted((*rest, self.own), key=lambda point: (point.day, -point.cost)))

    def ordering(self, ordered: Ordered) -> PlanView:
        """The same decisions with another order: of another day, or of the other way of a contested need.

        What wishes and spares would cost there was not reckoned.
        """
        return msgspec.structs.replace(self, riding=(), **msgspec.structs.asdict(ordered))
