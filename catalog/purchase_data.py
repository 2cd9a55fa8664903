"""What a parts order is asked and what it answers: plain frozen records, no arithmetic.

Money is whole minor units of one currency (prices in other currencies are converted before they come here), time is
whole days from today and whole minutes. A unit is an opaque label with a deadline and a cost of waiting. What is in the
drawer, in a donor or on its way is an ordinary offer at price 0 of a supplier marked `own`.
"""

from __future__ import annotations

from enum import StrEnum

import msgspec

from catalog.charges import NO_CHARGES, Charges
from catalog.pricing import Discount, PriceStep


class Supplier(msgspec.Struct, frozen=True, kw_only=True):
    """Who sends, when it arrives and what the postage is."""

    id: str
    lead_days: int = 0
    """Typical arrival day: waiting is charged to it."""
    lead_days_late: int | None = None
    """Late arrival day: deadlines are tested against it. None = the typical day."""
    shipping: int = 0
    free_from: int | None = None
    """Goods subtotal, after price steps, from which postage is free (inclusive). None = never."""
    min_order: int = 0
    own: bool = False
    """The person's own stock: not an order line, and no cash."""
    charges: Charges = NO_CHARGES
    """What is asked beyond the flat postage."""

    @property
    def late(self) -> int:
        """The day deadlines are tested against."""
        return self.lead_days if self.lead_days_late is None else self.lead_days_late


class Offer(msgspec.Struct, frozen=True, kw_only=True):
    """One product of one supplier, bought in whole packs: none, or from `min_packs` to `stock_packs`."""

    id: str
    supplier: str
    product: str
    steps: tuple[PriceStep, ...]
    """Sorted by pieces, the first from 1. A step counts the pieces of this offer."""
    discount: Discount = Discount.ALL_UNITS
    pack_size: int = 1
    min_packs: int = 1
    stock_packs: int | None = None
    """None = no limit known."""
    weight: int = 0
    """Milligrams of one piece, for postage by weight."""

    @property
    def sold(self) -> bool:
        """Whether any amount can be bought at all."""
        return self.stock_packs is None or max(self.min_packs, 1) <= self.stock_packs


class OrderUnit(msgspec.Struct, frozen=True, kw_only=True):
    """A unit that waits for parts."""

    id: str
    wait_per_day: int = 0
    deadline_day: int | None = None
    ready_day: int = 0
    """Day before which it cannot go on whatever is ordered, as parts ordered before come then: until then nothing that
    is ordered makes it wait."""


class Accept(msgspec.Struct, frozen=True, kw_only=True):
    """A product a need may be met with, what using it costs for each piece, and its grade of fit."""

    product: str
    rework_minutes: int = 0
    """Extra work on one piece."""
    grade: str = "exact"
    penalty: int = 0
    """What one piece costs beyond its price and the extra work: less success, a lower sale price."""


class Need(msgspec.Struct, frozen=True, kw_only=True):
    """Pieces a unit needs, or spares that are only taken where they are worth it. They may come from several offers."""

    id: str
    unit: str
    pieces: int
    accepts: tuple[Accept, ...]
    not_from: frozenset[str] = frozenset()
    """Offers that it may not be met from."""
    worths: tuple[int, ...] = ()
    """Of spares: what the first piece is worth, the second, …, never rising; one for each of `pieces`. Empty: all
    pieces must be had."""
    whole: bool = False
    """Of spares: all of the pieces or none."""

    def __post_init__(self) -> None:
        """Refuse worths that do not go with the pieces."""
        if self.worths and (len(self.worths) != self.pieces or list(self.worths) != sorted(self.worths)[::-1]):
            raise ValueError(f"{self.id}: expected {self.pieces} worths that never rise, got {self.worths}")

    @property
    def spare(self) -> bool:
        """Whether it may be left, in whole or in part."""
        return bool(self.worths)


class PurchaseProblem(msgspec.Struct, frozen=True, kw_only=True):
    """One parts order to plan. Every id is unique in its list, and every reference names one."""

    suppliers: tuple[Supplier, ...]
    offers: tuple[Offer, ...]
    units: tuple[OrderUnit, ...]
    needs: tuple[Need, ...]
    labour_per_hour: int = 0
    """What an hour of extra work costs; the rework of one piece is rounded half-up once."""
    cash_limit: int | None = None
    """The most that goods and all charges together may come to. None = no ceiling."""
    keep: dict[str, int] = {}
    """{offer: packs} that are bought exactly so, whatever they are for."""


class PlanStatus(StrEnum):
    """`STOPPED` = cancelled or out of time: the plan, if any, is within `gap` of the best."""

    OPTIMAL = "optimal"
    INFEASIBLE = "infeasible"
    STOPPED = "stopped"


class Reason(StrEnum):
    """Why a need cannot be met."""

    NO_OFFER = "no offer"
    NONE_IN_TIME = "none in time"
    NOT_ENOUGH_STOCK = "not enough stock"
    MINIMUM_ORDER = "minimum order"
    CASH_LIMIT = "cash limit"
    KEPT = "kept line"
    TOGETHER = "not together"


class Conflict(msgspec.Struct, frozen=True):
    """One reason why there is no plan: what cannot all be kept. With any one of it given up, the rest can be."""

    reason: Reason
    needs: tuple[str, ...]
    detail: str
    figures: tuple[int, ...] = ()
    """Cash limit: least money and the limit. None in time: the last day and the soonest. Too few: wanted, in stock."""
    dates: tuple[str, ...] = ()
    """Units whose last day is part of it."""
    least: tuple[str, ...] = ()
    """Suppliers whose smallest order is."""
    stock: tuple[str, ...] = ()
    """Offers of which there is no more."""
    kept: tuple[str, ...] = ()
    """Lines that are to be kept."""
    cash: bool = False
    """Whether the cash limit is."""

    @property
    def conditions(self) -> tuple[tuple[str, str], ...]:
        """Everything that is part of it, as (what, id)."""
        named = (("need", self.needs), ("date", self.dates), ("least", self.least), ("stock", self.stock))
        found = [(kind, name) for kind, names in (*named, ("kept", self.kept)) for name in names]
        return (*found, ("cash", "")) if self.cash else tuple(found)


class Served(msgspec.Struct, frozen=True):
    """So many pieces of an offer go to a need."""

    need: str
    offer: str
    pieces: int


class LineUse(msgspec.Struct, frozen=True):
    """What pieces of an order line are for."""

    unit: str
    need: str
    pieces: int
    grade: str


class OrderLine(msgspec.Struct, frozen=True):
    """One offer bought. A line without uses only carries the order over a threshold."""

    supplier: str
    offer: str
    product: str
    packs: int
    pieces: int
    amount: int
    uses: tuple[LineUse, ...]

    @property
    def units(self) -> tuple[str, ...]:
        """The units this line serves, each once."""
        return tuple(dict.fromkeys(use.unit for use in self.uses))

    @property
    def spare(self) -> int:
        """Pieces bought that no need uses."""
        return self.pieces - sum(use.pieces for use in self.uses)


class SupplierCost(msgspec.Struct, frozen=True):
    """What one supplier's part of the order comes to."""

    supplier: str
    goods: int
    shipping: int
    charges: int = 0
    """Fee for a small order, tax and import charge."""

    @property
    def total(self) -> int:
        """What is paid to or for this supplier."""
        return self.goods + self.shipping + self.charges


class PurchasePlan(msgspec.Struct, frozen=True, kw_only=True):
    """The answer. Without a plan (`found` false) all amounts are 0 and all lists empty."""

    status: PlanStatus
    found: bool = False
    packs: dict[str, int] = {}
    """{offer: packs}, only what is taken."""
    served: tuple[Served, ...] = ()
    suppliers: tuple[SupplierCost, ...] = ()
    lines: tuple[OrderLine, ...] = ()
    """What has to be ordered."""
    own: tuple[OrderLine, ...] = ()
    """What comes from the person's own stock, in the same form."""
    goods: int = 0
    shipping: int = 0
    charges: int = 0
    """Fees for small orders, tax and import charges."""
    worth: int = 0
    """What the spares taken are worth."""
    rework: int = 0
    penalty: int = 0
    """What the substitutes used take off success and sale price."""
    waiting: int = 0
    ready_days: dict[str, int] = {}
    """{unit: typical day on which its last part is there}; for a unit without needs its own `ready_day`."""
    arrival_day: int = 0
    """The last typical arrival day among the suppliers that serve a need."""
    late_day: int = 0
    """The same with the late days."""
    gap: float = 0.0
    """The total can be lower by at most this; 0 when optimal."""
    conflicts: tuple[Conflict, ...] = ()

    @property
    def money(self) -> int:
        """Goods, all charges, rework and penalty less what the spares are worth, without waiting."""
        return self.goods + self.shipping + self.charges + self.rework + self.penalty - self.worth

    @property
    def total(self) -> int:
        """Everything, waiting included."""
        return self.money + self.waiting


class FrontPoint(msgspec.Struct, frozen=True):
    """The least money for an arrival on this day or earlier, with a plan that reaches it."""

    arrival_day: int
    cost: int
    """Money without waiting."""
    cheapest: bool
    """Whether its plan has the lowest total with waiting of the whole front."""
    plan: PurchasePlan

    @property
    def total(self) -> int:
        """The plan's total with waiting."""
        return self.plan.total
