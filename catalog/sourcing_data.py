"""What sourcing is asked and what it answers: wants, what is at hand, and the order problem with what stands behind it.

Parts, suppliers and offers are taken as they lie in the bench file, by shape, so that this needs no store.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, Protocol

import msgspec

if TYPE_CHECKING:
    from collections.abc import Sequence

    from catalog.charges import Charges
    from catalog.fit import Fit
    from catalog.purchase_data import PurchaseProblem
    from catalog.spec import PartSpec


class HeldPart(Protocol):
    """A line of the person's own catalogue."""

    @property
    def id(self) -> int:
        """Its number."""

    @property
    def part_number(self) -> str:
        """May be empty."""

    @property
    def description(self) -> str:
        """As written."""

    @property
    def spec(self) -> PartSpec | None:
        """What was understood of it."""

    @property
    def quantity(self) -> int:
        """Pieces in the drawer."""

    @property
    def left_over(self) -> str:
        """What of the description was not understood."""


class Sender(Protocol):
    """Somebody who sells parts; amounts are minor units of `currency`."""

    @property
    def id(self) -> int:
        """Its number."""

    @property
    def name(self) -> str:
        """Unique among the suppliers."""

    @property
    def currency(self) -> str:
        """ISO 4217."""

    @property
    def lead_days(self) -> int:
        """Typical wait."""

    @property
    def lead_days_late(self) -> int:
        """Late wait."""

    @property
    def min_order(self) -> int:
        """Smallest goods subtotal."""

    @property
    def shipping(self) -> int:
        """Postage."""

    @property
    def free_from(self) -> int | None:
        """Goods subtotal from which postage is free."""

    @property
    def charges(self) -> Charges:
        """What is asked beyond that."""


class Step(Protocol):
    """A price step."""

    @property
    def start(self) -> int:
        """From so many pieces on; 1 for the first."""

    @property
    def amount(self) -> int:
        """Minor units for `per` pieces."""

    @property
    def per(self) -> int:
        """Pieces the amount is for."""


class Priced(Protocol):
    """What is sold and for how much, whether it stands in the bench file or in a list that is not taken in yet."""

    @property
    def sku(self) -> str:
        """The supplier's own number."""

    @property
    def part_number(self) -> str:
        """May be empty."""

    @property
    def description(self) -> str:
        """As written."""

    @property
    def pack(self) -> int:
        """Pieces in a pack."""

    @property
    def min_packs(self) -> int:
        """Fewest packs sold."""

    @property
    def stock_packs(self) -> int | None:
        """Packs in stock; None = plenty."""

    @property
    def discount(self) -> str:
        """`all_units` or `incremental`."""

    @property
    def steps(self) -> Sequence[Step]:
        """Sorted by pieces, the first from 1."""


class Offered(Priced, Protocol):
    """One thing a supplier sells, as it lies in the bench file."""

    @property
    def id(self) -> int:
        """Its number."""

    @property
    def supplier(self) -> int:
        """The supplier's number."""

    @property
    def weight(self) -> int:
        """Milligrams of one piece; 0 = not known."""

    @property
    def spec(self) -> PartSpec | None:
        """What was understood of it."""

    @property
    def left_over(self) -> str:
        """What of the description was not understood."""


class Coming(msgspec.Struct, frozen=True, kw_only=True):
    """Pieces of an order line on their way that are promised to nobody."""

    line: int
    """Number of the order line."""
    order: int
    """Number of its order."""
    supplier: str
    """Who sends them."""
    sku: str = ""
    part_number: str = ""
    description: str = ""
    left_over: str = ""
    """What of the description was not understood."""
    spec: PartSpec | None = None
    pieces: int
    day: int
    """Typical arrival, days from the day of the plan."""
    late: int
    """Late arrival."""


class Want(msgspec.Struct, frozen=True, kw_only=True):
    """Pieces of a described part that a unit needs, or that ride along where they are worth it.

    What rides along takes only an exact or drop-in part, and nothing out of a donor.
    """

    id: str
    unit: str
    pieces: int
    spec: PartSpec | None = None
    part_number: str = ""
    """Full number, for what is matched by it. A want needs a spec, a number or both."""
    description: str = ""
    """As written."""
    left_over: str = ""
    """What of the description was not understood."""
    role: str | None = None
    compromise_ok: bool = False
    """Whether the person allows a compromise here."""
    value: int = 0
    """What the unit nets when it works, minor units."""
    failed: int = 0
    """What it nets when the repair fails."""
    chance: float = 1.0
    """Chance that the repair works with the exact part."""
    worth: int | None = None
    """Of a wish: what having all its pieces is worth, minor units."""
    use_chance: float | None = None
    """Of spares: chance that at least one is used within a year."""
    price: int | None = None
    """Of spares: what a piece is reckoned at, minor units; None = the least price of a single one among the offers."""

    @property
    def rides(self) -> bool:
        """Whether it may be left: a wish or spares."""
        return self.worth is not None or self.use_chance is not None


class Donor(msgspec.Struct, frozen=True, kw_only=True):
    """Pieces that a unit of the lot would give if it were taken apart."""

    id: str
    unit: str
    pieces: int
    spec: PartSpec | None = None
    part_number: str = ""
    description: str = ""
    left_over: str = ""
    """What of the description was not understood."""
    good: float = 1.0
    """Chance that the pieces work."""


class Source(msgspec.Struct, frozen=True):
    """Where a product comes from; `id` is that of the part, the offer, the donor or the order line on its way."""

    source: Literal["part", "offer", "donor", "coming"]
    id: int | str
    supplier: str
    """Name of the seller, the unit of a donor, or the drawer."""
    sku: str
    part_number: str
    description: str


class LeftOut(msgspec.Struct, frozen=True):
    """Something of a wanted kind, or with a wanted number, that the plan may not use, and why."""

    product: str
    why: str


class Sourcing(msgspec.Struct, frozen=True):
    """The order problem (every want is a need), and what stands behind its names."""

    problem: PurchaseProblem
    sources: dict[str, Source]
    """{product id: where it comes from}, of everything that was looked at; a product's offer has the same id."""
    fits: dict[tuple[str, str], Fit]
    """{(want id, product id): verdict}, of every pair that was judged."""
    left_out: tuple[LeftOut, ...]
