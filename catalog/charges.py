"""What a supplier asks beyond the goods and one flat postage: steps by value or weight, fees, tax, import charge.

Only the terms and the plain ranges they make over the goods subtotal; the rows of an order are built from these, and
the plain count of an order reads the terms in its own way.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import msgspec

if TYPE_CHECKING:
    from catalog.purchase_data import Supplier

WHOLE_RATE = 10_000
"""Rates are hundredths of a percent: 1900 is 19 %."""


class Step(msgspec.Struct, frozen=True):
    """From `start` on (minor units of goods, or milligrams; inclusive) the postage is `amount`."""

    start: int
    amount: int


class Charges(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """Terms in minor units. Subtotals are those of the goods, after price steps, before anything of this is added.

    `by_value` and `by_weight` replace the flat postage, and only one of them is there; free postage from a value holds
    for them too. Tax is asked on goods, postage and fee; the import charge, where the goods are worth more than
    `import_above`, on goods and postage, and `import_fee` besides. Each rate is rounded half-up once for the order.
    """

    by_value: tuple[Step, ...] = ()
    """Rising starts, the first 0."""
    by_weight: tuple[Step, ...] = ()
    """Rising starts in milligrams, the first 0; the amounts never fall."""
    fee: int = 0
    """Asked where the goods are worth less than `fee_below`."""
    fee_below: int = 0
    tax: int = 0
    """Hundredths of a percent."""
    import_above: int | None = None
    """None = nothing is ever asked."""
    import_rate: int = 0
    """Hundredths of a percent."""
    import_fee: int = 0

    def __post_init__(self) -> None:
        """Refuse steps that mean nothing."""
        for name, steps in (("by_value", self.by_value), ("by_weight", self.by_weight)):
            if steps and (steps[0].start or any(one.start >= two.start for one, two in itertools.pairwise(steps))):
                raise ValueError(f"{name}: the first step starts at 0 and each later one higher")
        if any(one.amount > two.amount for one, two in itertools.pairwise(self.by_weight)):
            raise ValueError("by_weight: what is heavier never costs less")
        if self.by_value and self.by_weight:
            raise ValueError("by_weight: postage goes by value or by weight, not by both")
        amounts = [step.amount for step in (*self.by_value, *self.by_weight)]
        whole = (self.fee, self.fee_below, self.tax, self.import_above or 0, self.import_rate, self.import_fee)
        if min([*amounts, *whole]) < 0:
            raise ValueError("no charge is below 0")


NO_CHARGES = Charges()


class GoodsRange(msgspec.Struct, frozen=True):
    """Goods subtotals `low` to `high` (None = no end) over which the same fixed amounts are asked."""

    low: int
    high: int | None
    postage: int
    """Without what goes by weight."""
    weighed: bool
    """Whether postage by weight is asked."""
    fee: int
    imported: bool

    @property
    def fixed(self) -> int:
        """Postage and fee that do not depend on weight."""
        return self.postage + self.fee


def goods_ranges(supplier: Supplier) -> list[GoodsRange]:
    """The ranges of goods subtotals above 0 that may be bought of a supplier, rising, neighbours never equal."""
    more, lowest = supplier.charges, max(1, supplier.min_order)
    cuts = [lowest, *(step.start for step in more.by_value)]
    cuts += [cut for cut in (supplier.free_from, more.fee_below) if cut is not None]
    cuts += [more.import_above + 1] if more.import_above is not None else []
    lows = sorted({cut for cut in cuts if cut >= lowest})
    found: list[GoodsRange] = []
    for low in lows:
        sent_free = supplier.free_from is not None and low >= supplier.free_from
        by_value = [step.amount for step in more.by_value if step.start <= low]
        flat = by_value[-1] if by_value else 0 if more.by_weight else supplier.shipping
        each = GoodsRange(
            low,
            None,
            0 if sent_free else flat,
            bool(more.by_weight) and not sent_free,
            more.fee if low < more.fee_below else 0,
            more.import_above is not None and low > more.import_above,
        )
        if found and msgspec.structs.replace(each, low=found[-1].low) == found[-1]:
            continue
        if found:
            found[-1] = msgspec.structs.replace(found[-1], high=low - 1)
        found.append(each)
    return found


def most_saved(supplier: Supplier) -> int:
    """The most that charges can fall when more goods are bought, in minor units: a bound, never too small."""
    most = max((fall for _, fall in _falls(supplier)), default=0)
    rates = supplier.charges.tax + supplier.charges.import_rate
    return most + (-(-most * rates // WHOLE_RATE) + 2 if most and rates else 0)


def last_fall(supplier: Supplier) -> int:
    """The highest goods subtotal at which charges fall; 0 where they never do."""
    return max((low for low, fall in _falls(supplier) if fall), default=0)


def _falls(supplier: Supplier) -> list[tuple[int, int]]:
    """(start of a range, by how much its fixed charges are below the dearest lower range)."""
    heaviest = max((step.amount for step in supplier.charges.by_weight), default=0)
    ranges = goods_ranges(supplier)
    highest = [each.fixed + (heaviest if each.weighed else 0) for each in ranges]
    lowest = [
        each.fixed + (min((step.amount for step in supplier.charges.by_weight), default=0) if each.weighed else 0)
        for each in ranges
    ]
    # between two ranges with postage by weight the weight stays as it is or grows
    found = []
    for place, each in enumerate(ranges):
        falls = [
            before.fixed - each.fixed if before.weighed and each.weighed else highest[at] - lowest[place]
            for at, before in enumerate(ranges[:place])
        ]
        found.append((each.low, max([0, *falls])))
    return found
