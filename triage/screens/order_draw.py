"""How the plan and its order are written on the screen: by supplier and day, and by unit."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from datetime import date

import msgspec
from textual.content import Content

from catalog.money import rounded, show, shown
from triage.actions.goods_in import days_late
from triage.actions.ordering import Order, OrderLine
from triage.actions.plan_view import Contested, DayPoint, PlannedLine, PlannedUse, PlanView
from triage.lot import PILE_WORDS
from triage.papers import OrderSheet
from triage.screens import order_contest
from triage.screens.plain import Piece, day, fitted, plain, stacked, styled
from triage.wants import WantedPart

MOST_TO_DESCRIBE = 5
"""Parts to describe that are listed; each that is described makes room for the next."""

Orders = Sequence[tuple[Order, Sequence[OrderLine]]]


class Look(msgspec.Struct, frozen=True):
    """A unit on which a look still pays."""

    unit: int


class Pin(msgspec.Struct, frozen=True):
    """The person's word on the order."""

    number: int
    words: str


Target = PlannedLine | WantedPart | Look | OrderLine | Contested | Pin
"""What Enter on a row goes to."""


class Row(msgspec.Struct, frozen=True):
    """One row of the order; a row with a target can be stood on."""

    text: Content
    target: Target | None = None


def title(plan: PlanView, other: str = "") -> Content:
    """The order in one line: how many suppliers, what it costs, when it is here, and how sure that is.

    `other` says why it is another order than the best one.
    """
    currency = plan.lot.currency
    if plan.status == "infeasible":
        return styled((" No plan keeps all that was asked for ", "bold reverse"), "  see below what stands against it")
    if plan.status == "optimal":
        sure = other or "proven cheapest"
    else:
        sure = f"not proven: {shown(plan.gap, currency)} at most could still be gained"
    if not plan.order:
        return styled((" Nothing to order", "bold"), "" if plan.units else "   no unit is decided yet")
    count = len(plan.sheets)
    suppliers = f"{count} supplier{'s' if count != 1 else ''}"
    total = show(plan.order_total, currency, with_code=True)
    late = f" (late {day(plan.arrival_late)})" if plan.arrival_late != plan.arrival else ""
    return styled((f" {suppliers}, {total}, here {day(plan.arrival)}", "bold"), f"{late}  ", (sure, "bold"))


def rows(plan: PlanView, orders: Orders, width: int, today: date) -> list[Row]:
    """Everything that has to be done, by supplier in the order of the days; then what is missing, and why."""
    currency = plan.lot.currency
    found = [_wrapped(" ! ", text, width) for text in plan.conflicts]
    found += [
        _wrapped(" ! ", f"unit {unit.number} is not fixed: {unit.turned_down}", width)
        for unit in plan.units
        if unit.turned_down
    ]
    listed = [row for part in found for row in part]
    for sheet in sorted(plan.sheets, key=lambda one: one.due):
        listed.append(Row(_sheet(sheet, width)))
        mine = [line for line in plan.order if line.supplier == sheet.supplier]
        listed += [Row(_line(line, width, currency), line) for line in mine]
    if plan.drawer:
        listed.append(Row(styled(("From the drawer", "bold underline"))))
        listed += [Row(_from_drawer(line, width), line) for line in plan.drawer]
    if plan.donors:
        listed.append(Row(styled(("Lift out of units that are taken apart", "bold underline"), ("  Enter", "dim"))))
        listed += [Row(_from_drawer(line, width), line) for line in plan.donors]
    if plan.contested:
        listed.append(Row(styled((order_contest.HEAD, "bold underline"), ("  Enter", "dim"))))
        for one in plan.contested:
            name, ways = order_contest.rows(one, width, currency)
            listed += [Row(name), Row(ways, one)]
    listed += _coming(orders, width, today)
    if plan.to_describe:
        listed.append(Row(styled(("Describe first, or it cannot be ordered", "bold underline"), ("  Enter", "dim"))))
        listed += [Row(_to_describe(item, width, currency), item) for item in plan.to_describe[:MOST_TO_DESCRIBE]]
        more = len(plan.to_describe) - MOST_TO_DESCRIBE
        listed += [Row(styled((f"      and {more} more; Parts (F4) lists them all", "dim")))] if more > 0 else []
    if plan.to_look:
        listed.append(
            Row(styled(("A look still pays; nothing is ordered for these", "bold underline"), ("  Enter", "dim")))
        )
        listed += [Row(styled((f"{unit:>5} ", "bold"), "to the Bench"), Look(unit)) for unit in plan.to_look]
    if plan.pins:
        costs = f", costs {shown(plan.pins_cost, currency)}" if plan.pins_cost is not None else ""
        listed.append(Row(styled((f"By your word{costs}", "bold underline"), ("  Enter lifts it", "dim"))))
        listed += [
            Row(styled("  ", fitted(words, width - 2).rstrip()), Pin(number, words)) for number, words in plan.pins
        ]
    listed += [row for text in plan.notes for row in _wrapped(" i ", text, width)]
    if plan.left_out:
        count = len(plan.left_out)
        told = f"{count} thing{'s' if count != 1 else ''} nearly serve{'s' if count == 1 else ''}: w tells why not"
        listed.append(Row(styled((told, "dim"))))
    return listed or [Row(styled(("No unit wants a part as things stand.", "dim")))]


def _wrapped(mark: str, text: str, width: int) -> Iterator[Row]:
    for place, piece in enumerate(textwrap.wrap(plain(text).plain, max(20, width - 4))):
        yield Row(styled((mark, "bold reverse") if place == 0 else " " * len(mark), f" {piece}"))


def _sheet(sheet: OrderSheet, width: int) -> Content:
    """A supplier: when it is here, what goods and postage come to, how far it is to free postage."""
    goods, postage = show(sheet.goods, sheet.currency), show(sheet.shipping, sheet.currency)
    more = f", fees and tax {show(sheet.charges, sheet.currency)}" if sheet.charges else ""
    sums = f"  {show(sheet.total, sheet.currency)}: goods {goods}, postage {postage}{more}"
    if sheet.to_free is not None:
        sums += f", free for {show(sheet.to_free, sheet.currency)} more"
    elif not sheet.shipping:
        sums += " (free)"
    due = day(sheet.due)
    name = fitted(sheet.supplier, max(8, width - len(due) - len(sums) - 1)).rstrip()
    return styled((f"{due} ", "bold"), (name, "bold underline"), sums)


def _line(line: PlannedLine, width: int, currency: str) -> Content:
    """Packs × pieces in each, what, the price of one, the line, for which units, the grade if not exact, spare."""
    packs = f"{line.packs}×{line.pack}" if line.pack > 1 else str(line.packs)
    units = ", ".join(map(str, line.units))
    grade = f", {line.grade}" if line.grade not in {"", "exact"} else ""
    spare = spare_of(line)
    aside = (f"for {units}{grade}" if units else "to reach a threshold") + (f", {spare} spare" if spare else "")
    aside_width = 22 if width < 100 else 32
    money_width = 8 if width < 100 else 14
    rest = max(12, width - 8 - 2 - money_width - 9 - 2 - aside_width)
    return styled(
        (f" {fitted(packs, 6)} ", "bold"),
        fitted(line.description or line.part_number, rest),
        "  ",
        (fitted(line.price.replace(" per ", "/"), money_width, right=True), "dim"),
        (fitted(show(line.amount, currency), 9, right=True), "bold"),
        "  ",
        fitted(aside, aside_width),
    )


def spare_of(line: PlannedLine) -> int:
    """Pieces that no unit uses."""
    return line.pieces - sum(use.pieces for use in line.uses)


def _from_drawer(line: PlannedLine, width: int) -> Content:
    used = sum(use.pieces for use in line.uses)
    grade = f", {line.grade}" if line.grade not in {"", "exact"} else ""
    place = fitted(line.place or "drawer", 17 if width < 100 else 23)
    aside = fitted(f"for {', '.join(map(str, line.units))}{grade}", 22 if width < 100 else 32)
    rest = max(12, width - 8 - 2 - len(place) - 2 - len(aside))
    name = line.description or line.part_number
    return styled((f" {fitted(str(used), 6)} ", "bold"), fitted(name, rest), "  ", place, "  ", aside)


def _to_describe(item: WantedPart, width: int, currency: str) -> Content:
    about = f"about {shown(item.typical_cost, currency)}"
    told = f"{item.part_name}, for {item.what}" if item.what else item.part_name
    return styled((f"{item.unit:>5} ", "bold"), fitted(told, max(12, width - 7 - len(about))), (about, "dim"))


def _coming(orders: Orders, width: int, today: date) -> list[Row]:
    """Placed orders that are not wholly here."""
    listed: list[Row] = []
    for held, lines in orders:
        missing = [line for line in lines if line.open_packs]
        if held.cancelled or not missing:
            continue
        name = fitted(held.supplier, max(8, width - 50)).rstrip()
        late = days_late(held, lines, today)
        told = (f"due {day(held.due)}" + (f", {late} d late" if late else ""), "bold")
        listed.append(
            Row(styled(("On its way from ", "bold"), (name, "bold underline"), "  ", told, ("  Enter", "dim")))
        )
        listed += [Row(_open_line(line, width), line) for line in missing]
    return listed


def _open_line(line: OrderLine, width: int) -> Content:
    left = line.open_packs
    packs = f"{left} × {line.pack}" if line.pack > 1 else str(left)
    some = f", {line.received} of {line.packs} here" if line.received else ""
    aside = fitted(f"for {', '.join(map(str, line.units))}{some}", 26)
    name = line.description or line.part_number
    return styled((f" {fitted(packs, 6)}", "bold"), fitted(name, max(12, width - 7 - 2 - 26)), "  ", aside)


def open_line(order: Order, line: OrderLine, width: int) -> Content:
    """The same with its supplier, for the list of what may have come."""
    left = line.open_packs
    packs = f"{left} × {line.pack}" if line.pack > 1 else str(left)
    name = line.description or line.part_number
    return styled(
        (f"{fitted(packs, 8)}", "bold"), fitted(name, max(12, width - 8 - 1 - 24)), " ", fitted(order.supplier, 24)
    )


def detail(target: Target | None, currency: str) -> Content:
    """The row under the cursor in full: for whom, by what grade, what to do and what to tell a buyer."""
    if isinstance(target, PlannedLine):
        return _line_detail(target, currency)
    if isinstance(target, WantedPart):
        return styled(
            (f"unit {target.unit}, {target.class_name}: ", "bold"),
            f"say what exactly the {target.part_name} is; Enter goes to Parts",
        )
    if isinstance(target, Look):
        return styled(
            (f"unit {target.unit}: ", "bold"), "its next look may still change what is ordered; Enter goes there"
        )
    if isinstance(target, Contested):
        return order_contest.detail(target, currency)
    if isinstance(target, OrderLine):
        return styled((target.description or target.part_number, "bold"), "; Enter or r when it has come")
    return Content("") if target is None else styled((target.words, "bold"), "; Enter takes it back")


def _line_detail(line: PlannedLine, currency: str) -> Content:
    name = f"{line.part_number}  {line.description}".strip()
    if line.supplier:
        price = line.price if " per " in line.price else f"{line.price} each"
        source = f"{line.supplier} {line.sku}, {price}, together {show(line.amount, currency)}"
    else:
        source = f"yours, {line.place or 'drawer'}"
    lines = [styled((name, "bold"), f"  {source}")]
    lines.append(styled("; ".join(_use(use) for use in line.uses) or "only carries the order over a threshold"))
    for use in line.uses:
        lines += [styled((f"unit {use.unit}, do: ", "bold"), text) for text in use.do]
        lines += [styled((f"unit {use.unit}, tell the buyer: ", "bold"), text) for text in use.tell]
    return stacked(lines)


def _use(use: PlannedUse) -> str:
    work = " (work to do: see below)" if use.do else ""
    return f"{use.pieces} for unit {use.unit}, {use.part}, {use.grade}{work}"


def decisions(plan: PlanView, width: int) -> Content:
    """Unit by unit: its pile and value, what changed against its own sums, and what it gets and when."""
    currency = plan.lot.currency
    total = shown(plan.total, currency, with_code=True)
    lines = [styled(("Unit by unit", "bold underline"), f"  together {total} after parts")]
    for unit in plan.units:
        changed = unit.pile != unit.by_sums and not unit.by_hand
        told: list[Piece] = []
        if changed:
            told = [(f"  alone: {PILE_WORDS.get(unit.by_sums, unit.by_sums)}", "italic")]
        elif unit.by_hand:
            costs = unit.pin_costs is not None and rounded(unit.pin_costs) > 0
            told = [(f"  by hand, costs {shown(unit.pin_costs or 0.0, currency)}" if costs else "  by hand", "italic")]
        if unit.done:
            told.insert(0, (f"  done by {day(unit.done)}", "dim"))
        lines.append(
            styled(
                (f"{unit.number:>3} ", "bold"),
                fitted(unit.class_name, 18),
                (fitted(unit.pile_word, 9), "bold"),
                fitted(shown(unit.value, currency), 9, right=True),
                *told,
            )
        )
        told_why = f"not fixed: {unit.turned_down}" if unit.turned_down else ""
        lines += [styled("    ", (piece, "italic")) for piece in textwrap.wrap(plain(told_why).plain, width - 4)]
        lines += [styled("    ", (fitted(part, width - 4).rstrip(), "dim")) for part in _gets(plan, unit.number)]
    return stacked(lines)


def _gets(plan: PlanView, unit: int) -> Iterator[str]:
    """What a unit gets, from where or when."""
    due = {sheet.supplier: day(sheet.due) for sheet in plan.sheets}
    for line in (*plan.order, *plan.drawer, *plan.donors):
        for use in line.uses:
            if use.unit == unit:
                source = due.get(line.supplier, "") if line.supplier else line.place or "drawer"
                yield f"{use.pieces} × {use.part}, {source}, {use.grade}"


def front(points: Sequence[DayPoint], here: int, width: int, currency: str, *, rows: int = 5) -> Content:
    """The least money against the day everything is here, as a small plot; `here` is the point one stands on.

    Each point holds until the next day that is cheaper. ◆ is where one stands, ● the cheapest with waiting, ○ another.
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
        grid[y][x] = "◆" if place == here else "●" if points[place].cheapest else "○"
    labels = {0: show(high, currency), heights[-1]: show(low, currency)}
    lines = [styled(("Money against days", "bold underline"), ("  ← → walk   ◆ you   ● cheapest with waiting", "dim"))]
    lines += [
        styled((fitted(labels.get(row, ""), 9, right=True), "dim"), " │", ("".join(cells), "bold"))
        for row, cells in enumerate(grid)
    ]
    end = day(points[-1].date) if last != first else ""
    lines.append(styled((f"{'':10}└{fitted(day(points[0].date), across - 8)}{end}", "dim")))
    point = points[here]
    mark = ": the least of all days" if point.cheapest else ""
    paid = point.ordered.goods + point.ordered.shipping + point.ordered.charges
    rest = f", work and quality {show(point.cost - paid, currency)}" if point.cost != paid else ""
    told = f" = paid {show(paid, currency)}{rest}; waiting {show(point.total - point.cost, currency)}"
    lines.append(
        styled(
            (f"◆ {here + 1} of {len(points)}, here {day(point.date)}: {show(point.cost, currency)}", "bold"),
            f"{told}, together {show(point.total, currency)}{mark}",
        )
    )
    return stacked(lines)


def left_out(plan: PlanView) -> Content:
    """What nearly serves, and why it is not used."""
    lines = [styled((name, "bold"), f": {why}") for name, why in plan.left_out]
    return stacked(lines) if lines else plain("nothing was left out")
