"""How the plan and its order are written on the screen: by unit and by day."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from textual.content import Content

from catalog.money import show, shown
from triage.actions.ordering import Order, OrderLine
from triage.actions.planning import DayPoint, PlannedLine, PlanView
from triage.lot import PILE_WORDS
from triage.screens.plain import fitted, plain, stacked, styled

_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day(iso: str) -> str:
    """A day as people say it: Thu 4 Dec."""
    if not iso:
        return ""
    there = date.fromisoformat(iso[:10])
    return f"{_WEEKDAYS[there.weekday()]} {there.day} {_MONTHS[there.month - 1]}"


def title(plan: PlanView) -> Content:
    """The order in one line: how many suppliers, what it costs, when it is here, and how sure that is."""
    currency = plan.lot.currency
    proven = "proven cheapest" if plan.status == "optimal" else f"within {shown(plan.gap, currency)} of the best"
    if not plan.order:
        return styled((" Nothing to order. ", "bold"), proven if plan.units else "")
    count = len(plan.sheets)
    suppliers = f"{count} supplier{'s' if count != 1 else ''}"
    total = show(plan.order_total, currency, with_code=True)
    late = f", {day(plan.arrival_late)} if late" if plan.arrival_late != plan.arrival else ""
    return styled((f" {suppliers}, {total}", "bold"), f", all here {day(plan.arrival)}{late}   {proven}")


def order(plan: PlanView, width: int) -> Content:
    """Everything that has to be done: what to order for whom, what the drawer gives, what is missing."""
    lines: list[Content] = []
    currency = plan.lot.currency
    for sheet in plan.sheets:
        total = show(sheet.goods + sheet.shipping, currency)
        postage = f"goods {show(sheet.goods, currency)} + postage {show(sheet.shipping, currency)}"
        lines.append(styled((f" {sheet.supplier}", "bold underline"), f"  {total}  ({postage}), here {day(sheet.due)}"))
        lines += [_line(line, width, currency) for line in plan.order if line.supplier == sheet.supplier]
    if plan.drawer:
        lines.append(styled((" From the drawer", "bold underline")))
        lines += [_from_drawer(line, width) for line in plan.drawer]
    lines += _told(plan)
    if plan.to_describe:
        lines.append(styled((" To describe before it can be ordered", "bold underline"), ("  d goes there", "dim")))
        lines += [
            styled(
                (f"   {item.unit:>3} ", "bold"),
                f"{item.part_name}, for {item.what}, about {shown(item.typical_cost, currency)}",
            )
            for item in plan.to_describe
        ]
    if plan.to_look:
        numbers = ", ".join(map(str, plan.to_look))
        lines.append(styled((" A look still pays on ", "bold"), f"{numbers}; nothing is ordered for them yet"))
    lines += [styled((" ! ", "bold reverse"), f" {text}") for text in plan.conflicts]
    if plan.left_out:
        lines.append(styled((f" {len(plan.left_out)} things nearly serve and are left out: w tells why", "dim")))
    return stacked(lines) if lines else styled((" No unit wants a part as things stand.", "dim"))


def _line(line: PlannedLine, width: int, currency: str) -> Content:
    packs = f"{line.packs} × {line.pack}" if line.pack > 1 else str(line.packs)
    spare = line.pieces - sum(use.pieces for use in line.uses)
    units = ", ".join(map(str, line.units)) or "to reach a threshold"
    grade = f" {line.grade}" if line.grade not in {"", "exact"} else ""
    aside = f"for {units}{grade}" + (f", {spare} spare" if spare else "")
    money = f"{line.price:>9} {show(line.amount, currency):>8}"
    name = line.description or line.part_number
    rest = max(12, width - 8 - len(money) - 24)
    return styled(
        f"   {fitted(packs, 7)}", fitted(name, rest), (money, "bold"), "  ", fitted(aside, 22 if width < 120 else 40)
    )


def _from_drawer(line: PlannedLine, width: int) -> Content:
    used = sum(use.pieces for use in line.uses)
    units = ", ".join(map(str, line.units))
    name = line.description or line.part_number
    return styled(
        f"   {fitted(str(used), 7)}", fitted(name, max(12, width - 48)), f" {line.place}, for {units} {line.grade}"
    )


def _told(plan: PlanView) -> list[Content]:
    """What substitutes ask for: work, and words to the buyer."""
    lines = []
    for line in (*plan.order, *plan.drawer):
        for use in line.uses:
            lines += [styled((f"   {use.unit:>3} do: ", "bold"), text) for text in use.do]
            lines += [styled((f"   {use.unit:>3} tell the buyer: ", "bold"), text) for text in use.tell]
    head = [styled((" Substitutes", "bold underline"))] if lines else []
    return head + lines


def decisions(plan: PlanView) -> Content:
    """Every planned unit with its pile and value, changed ones marked."""
    currency = plan.lot.currency
    lines = [styled((" decided together", "bold underline"), f"  {shown(plan.total, currency, with_code=True)}")]
    for unit in plan.units:
        changed = unit.pile != unit.by_sums and not unit.by_hand
        told = f"  (alone it would be {PILE_WORDS.get(unit.by_sums, unit.by_sums)})" if changed else ""
        told += "  by hand" if unit.by_hand else ""
        lines.append(
            styled(
                (f" {unit.number:>3} ", "bold"),
                fitted(unit.class_name, 16),
                (fitted(unit.pile_word, 9), "bold"),
                fitted(shown(unit.value, currency), 9, right=True),
                (told, "italic"),
            )
        )
    return stacked(lines)


def front(points: Sequence[DayPoint], here: int, width: int, currency: str) -> Content:
    """The least money against the day everything is here, as a small plot; `here` is the point one stands on."""
    if not points:
        return Content("")
    rows = 5
    low, high = min(point.cost for point in points), max(point.cost for point in points)
    first, last = points[0].day, points[-1].day
    across = max(10, min(60, width - 22))
    grid = [[" "] * (across + 1) for _ in range(rows)]
    for place, point in enumerate(points):
        x = 0 if last == first else round((point.day - first) * across / (last - first))
        y = 0 if high == low else round((high - point.cost) * (rows - 1) / (high - low))
        grid[y][x] = "◆" if place == here else ("●" if point.cheapest else "·")
    labels = {0: show(high, currency), rows - 1: show(low, currency)}
    lines = [styled((" Money against days", "bold underline"), ("  ← → walk, ● cheapest with waiting", "dim"))]
    lines += [
        styled((fitted(labels.get(row, ""), 9, right=True), "dim"), " │", "".join(cells))
        for row, cells in enumerate(grid)
    ]
    span = fitted(day(points[0].date), across - 8) + (day(points[-1].date) if last != first else "")
    lines.append(styled(" " * 10, ("└" + span, "dim")))
    point = points[here]
    mark = ", the cheapest" if point.cheapest else ""
    lines.append(
        styled(
            (f" ◆ all here by {day(point.date)}: {show(point.cost, currency)}", "bold"),
            f", with waiting {show(point.total, currency)}{mark}",
        )
    )
    return stacked(lines)


def left_out(plan: PlanView) -> Content:
    """What nearly serves, and why it is not used."""
    return (
        stacked(styled((name, "bold"), f": {why}") for name, why in plan.left_out) if plan.left_out else plain("none")
    )


def on_the_way(orders: Sequence[tuple[Order, Sequence[OrderLine]]]) -> Content:
    """Placed orders that are not wholly here."""
    lines = []
    for held, order_lines in orders:
        missing = [line for line in order_lines if line.received < line.packs]
        if held.cancelled or not missing:
            continue
        lines.append(
            styled((f" On the way from {held.supplier}", "bold underline"), f"  due {day(held.due)}, r receives")
        )
        lines += [
            styled(
                f"   {line.packs - line.received} × {line.pack} ",
                line.description or line.part_number,
                (f"  for {', '.join(map(str, line.units))}", "dim"),
            )
            for line in missing
        ]
    return stacked(lines)
