"""The rows of what one supplier asks on top of the goods: postage, smallest order, fees, tax, import charge.

The goods subtotal lies in one of a few ranges with the same fixed amounts, and one yes-or-no column stands for each.
A rate is a whole column held from below by the half-up rule: every objective wants it as small as it may be.
"""

from __future__ import annotations

from math import gcd
from typing import TYPE_CHECKING

import msgspec

from catalog.charges import WHOLE_RATE, GoodsRange, goods_ranges
from catalog.model import Terms

if TYPE_CHECKING:
    from collections.abc import Sequence

    from catalog.model import Model
    from catalog.purchase_data import Supplier


class Bought(msgspec.Struct, kw_only=True):
    """What of one supplier the rows say so far."""

    goods: Terms
    """The subtotal."""
    choices: list[list[int]]
    """Of each offer that costs something, the choices that do."""
    weight: Terms
    """Milligrams."""
    top_goods: int
    """The most that the subtotal can be."""
    top_weight: int
    gifts: bool
    """Whether something may be had for nothing: it comes without postage where nothing is paid for."""


def add_charges(model: Model, supplier: Supplier, bought: Bought) -> Terms:
    """Add the rows; returns the terms of everything that is asked on top of the goods."""
    ranges, more = goods_ranges(supplier), supplier.charges
    rates = more.tax or (more.import_rate and ranges[-1].imported)
    nothing = all(not each.fixed and not each.weighed and not (each.imported and more.import_fee) for each in ranges)
    if not bought.choices or (nothing and not rates and not supplier.min_order):
        return []
    name = supplier.id
    modes = [model.choice(name=f"{name}: goods from {each.low}") for each in ranges]
    _tie(model, bought, ranges, modes, name=name)
    fixed: Terms = [(mode, float(each.fixed)) for mode, each in zip(modes, ranges, strict=True) if each.fixed]
    weighed = _postage_by_weight(model, supplier, bought, ranges, modes)
    asked = fixed + weighed
    asked += [(mode, float(more.import_fee)) for mode, each in zip(modes, ranges, strict=True) if each.imported]
    used: Terms = [(mode, 1.0) for mode in modes]
    if more.tax:
        asked.append(_rate(model, more.tax, [*bought.goods, *fixed, *weighed], used, f"{name}: tax"))
    if more.import_rate and ranges[-1].imported:
        imported = [(mode, 1.0) for mode, each in zip(modes, ranges, strict=True) if each.imported]
        base = _imported(model, bought, ranges, modes, weighed)
        asked.append(_rate(model, more.import_rate, base, imported, f"{name}: import charge"))
    return [(column, cost) for column, cost in asked if cost]


def _tie(model: Model, bought: Bought, ranges: Sequence[GoodsRange], modes: Sequence[int], *, name: str) -> None:
    """One range at most, the subtotal inside it, and nothing paid for without one."""
    if len(modes) > 1:
        model.row([(mode, 1) for mode in modes], high=1, name=f"{name}: one range of goods")
    starts: Terms = [(mode, -float(each.low)) for mode, each in zip(modes, ranges, strict=True) if each.low > 1]
    if starts:
        model.row([*bought.goods, *starts], low=0, name=f"{name}: goods reach the range")
    if any(_dearer(later, each) for at, each in enumerate(ranges) for later in ranges[at + 1 :]):
        ends: Terms = [(mode, -float(_top(each, bought))) for mode, each in zip(modes, ranges, strict=True)]
        model.row([*bought.goods, *ends], high=0, name=f"{name}: goods stay in the range")
    for choices in bought.choices:
        model.row([*((z, 1.0) for z in choices), *((mode, -1.0) for mode in modes)], high=0)


def _dearer(later: GoodsRange, each: GoodsRange) -> bool:
    return later.fixed > each.fixed or later.imported > each.imported or later.weighed > each.weighed


def _top(each: GoodsRange, bought: Bought) -> int:
    return bought.top_goods if each.high is None else min(each.high, bought.top_goods)


def _postage_by_weight(
    model: Model, supplier: Supplier, bought: Bought, ranges: Sequence[GoodsRange], modes: Sequence[int]
) -> Terms:
    """One yes-or-no column a step of weight; heavier never costs less, so only too heavy has to be ruled out."""
    weighed = [(mode, 1.0) for mode, each in zip(modes, ranges, strict=True) if each.weighed]
    if not weighed:
        return []
    steps = supplier.charges.by_weight
    grain = gcd(*(int(weight) for _, weight in bought.weight)) or 1
    top = bought.top_weight // grain
    chosen: Terms = []
    limits: Terms = []
    for place, step in enumerate(steps):
        if step.start > bought.top_weight:
            break
        following = steps[place + 1].start if place + 1 < len(steps) else None
        column = model.choice(name=f"{supplier.id}: weight from {step.start}")
        chosen.append((column, float(step.amount)))
        limits.append((column, -float(top if following is None else min(top, (following - 1) // grain))))
    model.row([*((column, 1.0) for column, _ in chosen), *((mode, -1.0) for mode, _ in weighed)], 0, 0)
    free: Terms = [(mode, -float(top)) for mode, each in zip(modes, ranges, strict=True) if not each.weighed]
    weight: Terms = [(column, float(each // grain)) for column, each in ((c, int(w)) for c, w in bought.weight)]
    if bought.gifts:
        # where nothing is paid for, no postage is asked whatever it weighs
        anything: Terms = [(mode, float(top)) for mode, _ in weighed]
        model.row([*weight, *limits, *anything], high=top, name=f"{supplier.id}: weight")
    else:
        model.row([*weight, *limits, *free], high=0, name=f"{supplier.id}: weight")
    return chosen


def _imported(
    model: Model, bought: Bought, ranges: Sequence[GoodsRange], modes: Sequence[int], weighed: Terms
) -> Terms:
    """What the import charge is asked on: goods and postage where the goods lie in an imported range, else nothing."""
    postage: Terms = [
        (mode, float(each.postage)) for mode, each in zip(modes, ranges, strict=True) if each.imported and each.postage
    ]
    if ranges[0].imported:
        return [*bought.goods, *postage, *weighed]
    parts: dict[bool, int] = {}
    for abroad in (False, True):
        mine = [(mode, each) for mode, each in zip(modes, ranges, strict=True) if each.imported is abroad]
        parts[abroad] = part = model.column(high=float(max(0, bought.top_goods)))
        model.row([(part, 1.0), *((mode, -float(each.low)) for mode, each in mine)], low=0)
        model.row([(part, 1.0), *((mode, -float(_top(each, bought))) for mode, each in mine)], high=0)
    model.row([*bought.goods, (parts[False], -1.0), (parts[True], -1.0)], 0, 0)
    base: Terms = [(parts[True], 1.0), *postage]
    if weighed:
        most = max(cost for _, cost in weighed)
        carried = model.column(high=most)
        home: Terms = [(mode, most) for mode, each in zip(modes, ranges, strict=True) if not each.imported]
        model.row([(carried, 1.0), *((column, -cost) for column, cost in weighed), *home], low=0)
        base.append((carried, 1.0))
    return base


def _rate(model: Model, rate: int, base: Terms, used: Terms, name: str) -> tuple[int, float]:
    """A whole column at least `rate` of `base` rounded half-up; `used` sums to 1 where anything is asked, else 0."""
    shared = gcd(rate, WHOLE_RATE)
    numerator, parts = rate // shared, WHOLE_RATE // shared
    column = model.column(whole=True, name=name)
    # half-up: charge > base - 1/2. Times 2 x parts both sides are even whole numbers.
    room = parts - (1 if parts % 2 else 2)
    terms: Terms = [(column, 2.0 * parts), *((each, -2.0 * numerator * cost) for each, cost in base)]
    model.row([*terms, *((mode, room * one) for mode, one in used)], low=0, name=name)
    return column, 1.0
