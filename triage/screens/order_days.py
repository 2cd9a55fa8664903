"""The days of the order on the screen: money against the day everything is here, and when what arrives."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import msgspec
from textual.content import Content

from catalog.money import show
from triage.actions.ordering import Order, OrderLine
from triage.actions.plan_view import DayPoint, PlanView
from triage.screens.plain import day, fitted, plain, stacked, styled


class Arrival(msgspec.Struct, frozen=True):
    """Something that comes: from whom, its usual and its late day, and for which units."""

    supplier: str
    due: date
    late: date
    whom: str
    on_its_way: bool


def front(points: Sequence[DayPoint], here: int, width: int, currency: str, *, rows: int = 5, way: str = "") -> Content:
    """The least money against the day everything is here, as a small plot; `here` is the point one stands on.

    Each point holds until the next day that is cheaper. ◆ is where one stands, ● the cheapest with waiting, ○ another.
    `way` names the order shown above where it is none of the points, so that no point's figures stand under it.
    """
    if not points:
        return Content("")
    low, high = min(point.cost for point in points), max(point.cost for point in points)
    first, last = points[0].day, points[-1].day
    across = max(10, min(52, width - 22))
    places = [0 if last == first else round((point.day - first) * across / (last - first)) for point in points]
    heights = [0 if high == low else round((high - point.cost) * (rows - 1) / (high - low)) for point in points]
    grid = [[" "] * (across + 1) for _ in range(rows)]
    for x, y, until in zip(places, heights, [*places[1:], across], strict=True):
        grid[y][x:until] = ["╌"] * (until - x)
    for place, (x, y) in enumerate(zip(places, heights, strict=True)):
        grid[y][x] = "◆" if place == here and not way else "●" if points[place].cheapest else "○"
    labels = {0: show(high, currency), heights[-1]: show(low, currency)}
    lines = [styled(("Money against days", "bold underline"), ("  ← → walk   ◆ you   ● cheapest with waiting", "dim"))]
    lines += [
        styled((fitted(labels.get(row, ""), 9, right=True), "dim"), " │", ("".join(cells), "bold"))
        for row, cells in enumerate(grid)
    ]
    end = day(points[-1].date) if last != first else ""
    lines.append(styled((f"{'':10}└{fitted(day(points[0].date), across - 8)}{end}", "dim")))
    point = points[here]
    if way:
        told = f"above stands another way ({way}), which is no point of this plot; g shows the plan again"
        return stacked([*lines, plain(told)])
    mark = ": the least of all days" if point.cheapest else ""
    paid = point.ordered.goods + point.ordered.shipping + point.ordered.charges
    work = point.cost - paid + point.ordered.worth
    rest = f", work and quality {show(work, currency)}" if work else ""
    rest += f", less {show(point.ordered.worth, currency)} that rides along" if point.ordered.worth else ""
    told = f" = paid {show(paid, currency)}{rest}; waiting {show(point.total - point.cost, currency)}"
    lines.append(
        styled(
            (f"◆ {here + 1} of {len(points)}, here {day(point.date)}: {show(point.cost, currency)}", "bold"),
            f"{told}, together {show(point.total, currency)}{mark}",
        )
    )
    return stacked(lines)


def arrivals_of(plan: PlanView, orders: Sequence[tuple[Order, Sequence[OrderLine]]]) -> list[Arrival]:
    """Everything that comes, soonest first: the plan's order, and what was ordered before."""
    found = []
    for sheet in plan.sheets:
        mine = [line.whom for line in plan.order if line.supplier == sheet.supplier]
        whom = ", ".join(dict.fromkeys(name for one in mine for name in one.split(", ") if name))
        days = date.fromisoformat(sheet.due), date.fromisoformat(sheet.due_late)
        found.append(Arrival(sheet.supplier, *days, whom, on_its_way=False))
    for order, lines in orders:
        left = [line for line in lines if line.open_packs]
        if left and not order.cancelled:
            units = dict.fromkeys(unit for line in left for unit in line.units)
            due = date.fromisoformat(order.due[:10])
            found.append(Arrival(order.supplier, due, due, ", ".join(map(str, units)), on_its_way=True))
    return sorted(found, key=lambda one: (one.due, one.supplier))


def timeline(coming: Sequence[Arrival], today: date, width: int, *, titled: bool = True) -> Content:
    """One line each over the same days: ● the usual day, ╌ as late as it may be, ◌ what is on its way already."""
    if not coming:
        return Content("")
    last = max((max(one.late, today) for one in coming), default=today)
    span = max(1, (last - today).days)
    aside = 24 if width < 100 else 34
    across = max(16, width - 13 - aside - 2)
    title = ("When what arrives  ", "bold underline") if titled else ""
    lines = [styled(title, ("● usual  ╌ to the late day  ◌ on its way", "dim"))]
    for one in coming:
        there, late = (
            min(across - 1, max(0, (each - today).days) * (across - 1) // span) for each in (one.due, one.late)
        )
        cells = ["─"] * there + ["◌" if one.on_its_way else "●"] + ["╌"] * (late - there)
        when = "overdue" if one.due < today else day(one.due.isoformat())
        told = f"{when}, for {one.whom}" if one.whom else when
        lines.append(
            styled(
                fitted(one.supplier, 12),
                " ",
                ("".join(cells).ljust(across), "bold"),
                " ",
                fitted(told, aside).rstrip(),
            )
        )
    lines.append(styled((f"{'':13}today{fitted(day(last.isoformat()), across - 5, right=True)}", "dim")))
    return stacked(lines)
