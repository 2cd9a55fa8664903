"""Price steps to the exact amount of an order line, and to straight pieces that rows can be written from.

A unit price is an amount per n pieces and may be no whole number of cents; the order line is rounded half-up once. The
purchase rows are built from `segments`, so the optimum is that of the rounded lines. The re-pricing after the solve
does not use this arithmetic: it counts again in its own way.
"""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction

import msgspec


class Discount(StrEnum):
    """What a price step applies to: every piece of the line, or only the pieces from that step on."""

    ALL_UNITS = "all_units"
    INCREMENTAL = "incremental"


class PriceStep(msgspec.Struct, frozen=True):
    """From this many pieces on, `per` pieces cost `amount` minor units (145 per 10 = 14.5 each)."""

    from_pieces: int
    amount: int
    per: int = 1

    @property
    def each(self) -> Fraction:
        """Exact price of one piece in minor units."""
        return Fraction(self.amount, self.per)


class Segment(msgspec.Struct, frozen=True):
    """A range of packs over which the exact line amount is `fixed + per_pack x packs`, in minor units.

    Either every line in the range rounds to zero or none does.
    """

    low: int
    high: int | None
    """None = no upper limit."""
    fixed: Fraction
    per_pack: Fraction

    @property
    def whole(self) -> bool:
        """Whether every line in the range is a whole amount without rounding."""
        return self.fixed.denominator == 1 and self.per_pack.denominator == 1

    def amount(self, packs: int) -> int:
        """The rounded line for `packs` in this range."""
        fixed, each = self.fixed, self.per_pack
        below, above = fixed.denominator, each.denominator
        if below == above == 1:
            return fixed.numerator + each.numerator * packs
        # as half_up(fixed + each * packs), without making two fractions: a plan asks for thousands of lines
        whole = below * above
        return (2 * (fixed.numerator * above + each.numerator * packs * below) + whole) // (2 * whole)

    @property
    def free(self) -> bool:
        """Whether the lines of this range cost nothing."""
        return self.amount(self.low) == 0


def half_up(value: Fraction) -> int:
    """Nearest whole number, halves upwards."""
    return (2 * value.numerator + value.denominator) // (2 * value.denominator)


def segments(
    steps: tuple[PriceStep, ...], discount: Discount, pack_size: int, min_packs: int, stock_packs: int | None
) -> list[Segment]:
    """Split what can be bought (in packs) into ranges with one straight price each, smallest first.

    `steps` are sorted by `from_pieces` and the first is 1. A step that no whole number of packs reaches vanishes:
    a step at 7 pieces with packs of 3 begins at 9. Empty if fewer packs are in stock than must be taken.
    """
    found: list[Segment] = []
    before = Fraction(0)
    for index, step in enumerate(steps):
        following = steps[index + 1].from_pieces if index + 1 < len(steps) else None
        low = max(-(-step.from_pieces // pack_size), min_packs, 1)
        tops = [stock_packs, None if following is None else (following - 1) // pack_size]
        limits = [top for top in tops if top is not None]
        high = min(limits) if limits else None
        fixed = before - step.each * (step.from_pieces - 1) if discount is Discount.INCREMENTAL else Fraction(0)
        if high is None or low <= high:
            found += _split_at_zero(Segment(low, high, fixed, step.each * pack_size))
        if following is not None:
            before += step.each * (following - step.from_pieces)
    return found


def _split_at_zero(segment: Segment) -> list[Segment]:
    if not segment.free or segment.per_pack == 0:
        return [segment]
    first_paid = -((segment.fixed - Fraction(1, 2)) // segment.per_pack)
    if segment.high is not None and first_paid > segment.high:
        return [segment]
    replace = msgspec.structs.replace
    return [replace(segment, high=first_paid - 1), replace(segment, low=first_paid)]


def line_amount(steps: tuple[PriceStep, ...], discount: Discount, pieces: int) -> int:
    """The order line for `pieces` (at least 1), rounded half-up once, in minor units."""
    ranges = segments(steps, discount, 1, pieces, pieces)
    return ranges[0].amount(pieces)
