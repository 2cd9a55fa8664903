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
from triage.actions.plan_riders import riding_words
from triage.actions.plan_view import Contested, PlannedLine, PlannedUse, PlanView, Riding
from triage.lot import PILE_WORDS
from triage.papers import OrderSheet
from triage.screens import order_contest, order_supplier
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


Target = PlannedLine | WantedPart | Look | OrderLine | Contested | Pin | OrderSheet | Riding
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
        listed.append(Row(order_supplier.head(sheet, width), sheet))
        mine = [line for line in plan.order if line.supplier == sheet.supplier]
        listed += [Row(_line(line, width, currency), line) for line in mine]
    if plan.coming:
        listed.append(Row(styled(("On its way already, and free for these", "bold underline"))))
        listed += [Row(_from_drawer(line, width), line) for line in plan.coming]
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
    if plan.riding:
        listed.append(Row(styled(("For later, and spares: bought where cheap", "bold underline"), ("  Enter", "dim"))))
        listed += [Row(_riding(one, width, currency), one) for one in plan.riding]
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
    hours = [] if plan.today is None else [str(plan.today)]
    listed += [row for text in (*hours, *plan.notes) for row in _wrapped(" i ", text, width)]
    if plan.left_out:
        count = len(plan.left_out)
        told = f"{count} thing{'s' if count != 1 else ''} nearly serve{'s' if count == 1 else ''}: w tells why not"
        listed.append(Row(styled((told, "dim"))))
    return listed or [Row(styled(("No unit wants a part as things stand.", "dim")))]


def _wrapped(mark: str, text: str, width: int) -> Iterator[Row]:
    for place, piece in enumerate(textwrap.wrap(plain(text).plain, max(20, width - 4))):
        yield Row(styled((mark, "bold reverse") if place == 0 else " " * len(mark), f" {piece}"))


def _line(line: PlannedLine, width: int, currency: str) -> Content:
    """Packs × pieces in each, what, the price of one, the line, for which units, the grade if not exact, spare."""
    packs = f"{line.packs}×{line.pack}" if line.pack > 1 else str(line.packs)
    units = line.whom
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
    where = f"{line.supplier}, {day(line.due)}" if line.coming is not None else line.place or "drawer"
    place = fitted(where, 17 if width < 100 else 23)
    aside = fitted(f"for {line.whom}{grade}", 22 if width < 100 else 32)
    rest = max(12, width - 8 - 2 - len(place) - 2 - len(aside))
    name = line.description or line.part_number
    return styled((f" {fitted(str(used), 6)} ", "bold"), fitted(name, rest), "  ", place, "  ", aside)


def _riding(one: Riding, width: int, currency: str) -> Content:
    """A wish or spares: for whom, and whether it rides along at what cost."""
    words = riding_words(one, currency)
    who = f"later {one.unit}: {one.part}" if one.rides == "wish" else f"spare: {one.wanted} × {one.words}"
    return styled("  ", fitted(who, max(12, width - 4 - len(words))), "  ", (words, "bold" if one.taken else ""))


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
    if isinstance(target, OrderSheet):
        return order_supplier.detail(target)
    if isinstance(target, Riding):
        return _riding_detail(target, currency)
    if isinstance(target, Contested):
        return order_contest.detail(target, currency)
    return Content("") if target is None else _where_to(target)


def _where_to(target: WantedPart | Look | OrderLine | Pin) -> Content:
    """What Enter does on a row that says little else."""
    bold, rest = f"unit {target.unit}: " if isinstance(target, Look) else "", ""
    if isinstance(target, WantedPart):
        bold = f"unit {target.unit}, {target.class_name}: "
        rest = f"say what exactly the {target.part_name} is; Enter goes to Parts"
    elif isinstance(target, Look):
        rest = "its next look may still change what is ordered; Enter goes there"
    elif isinstance(target, OrderLine):
        bold, rest = target.description or target.part_number, "; Enter or r when it has come"
    else:
        bold, rest = target.words, "; Enter takes it back"
    return styled((bold, "bold"), rest)


def _riding_detail(one: Riding, currency: str) -> Content:
    """What it is, and why it is taken or left."""
    who = f"for unit {one.unit} later, {one.part}" if one.rides == "wish" else "spare"
    bought = f"{one.bought} of {one.wanted} bought" if one.bought else "none bought"
    had = f", {one.at_hand} at hand or on its way" if one.at_hand else ""
    lines = [styled((one.words, "bold"), f", {who}: {bought}{had}"), styled(riding_words(one, currency))]
    if one.why:
        lines.append(styled(one.why))
    if one.costs is not None:
        left = "so it is left" if not one.taken else "so it rides along"
        lines.append(
            styled((f"it makes this order {show(one.costs, currency)} dearer, {left}; Enter changes it", "dim"))
        )
    return stacked(lines)


def _line_detail(line: PlannedLine, currency: str) -> Content:
    name = f"{line.part_number}  {line.description}".strip()
    if line.supplier:
        price = line.price if " per " in line.price else f"{line.price} each"
        source = f"{line.supplier} {line.sku}, {price}, together {show(line.amount, currency)}"
        source = f"on its way from {line.supplier}, {day(line.due)}" if line.coming is not None else source
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
    who = "spare" if use.unit is None else f"unit {use.unit}{', later' if use.rides else ''}, {use.part}"
    return f"{use.pieces} for {who}, {use.grade}{work}"


def decisions(plan: PlanView, width: int) -> Content:
    """Unit by unit: its pile and value, what changed against its own sums, and what it gets and when."""
    currency = plan.lot.currency
    total = shown(plan.total, currency, with_code=True)
    lines = [
        styled(("Unit by unit", "bold underline"), f"  together {total} after parts"),
        styled(("with this order's prices and days; the Lot reckons each unit by itself", "dim")),
    ]
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
    for line in (*plan.order, *plan.coming, *plan.drawer, *plan.donors):
        for use in line.uses:
            if use.unit == unit:
                source = day(line.due) or due.get(line.supplier, "") if line.supplier else line.place or "drawer"
                yield f"{use.pieces} × {use.part}, {source}, {use.grade}"


def left_out(plan: PlanView) -> Content:
    """What nearly serves, and why it is not used."""
    lines = [styled((name, "bold"), f": {why}") for name, why in plan.left_out]
    return stacked(lines) if lines else plain("nothing was left out")
