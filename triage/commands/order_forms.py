"""The plan and its order as they leave the command line: plain data with stable names, and tables for a person."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from triage.commands.output import json_line, show, table, today_form

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date

    from msgspec import Struct

    from triage.actions.ordering import Order, OrderLine
    from triage.actions.plan_view import Contested, DayPoint, PlannedLine, PlanView, Riding, Side
    from triage.actions.plan_why import LineWhy
    from triage.wants import WantedPart


def wanted_form(entry: WantedPart) -> dict[str, Any]:
    """A wanted part as plain data."""
    held = entry.need
    return {
        "unit": entry.unit,
        "fault": entry.fault,
        "part": entry.part,
        "name": entry.part_name,
        "kind": entry.kind,
        "pieces": entry.pieces,
        "typical_cost_cents": entry.typical_cost,
        "described": entry.described,
        "text": held.text if held else "",
        "role": held.role if held else "",
        "compromise": held.compromise_ok if held else False,
        "state": held.state if held else None,
        "source": held.source if held else "",
        "aside": entry.aside or None,
    }


def plan_form(view: PlanView) -> dict[str, Any]:
    """The plan as plain data: status, gap_cents, decisions, order, and what is still open."""
    return {
        "lot": view.lot.id,
        "status": view.status,
        "gap_cents": view.gap,
        "total_cents": view.total,
        "decisions": [
            {
                "unit": unit.number,
                "branch": unit.pile,
                "by_sums": unit.by_sums,
                "by_hand": unit.by_hand,
                "pin_costs_cents": unit.pin_costs,
                "value_cents": unit.value,
                "cures": list(unit.cures),
                "done_by": unit.done or None,
                "not_fixed_because": unit.turned_down or None,
            }
            for unit in view.units
        ],
        "order": order_form(view),
        "to_describe": [wanted_form(entry) for entry in view.to_describe],
        "to_look": list(view.to_look),
        "contested": [_contested_form(one) for one in view.contested],
        "left_out": [{"what": what, "why": why} for what, why in view.left_out],
        "conflicts": list(view.conflicts),
        "today": today_form(view.today),
        "hour_worth_cents": None if view.minute_worth is None else view.minute_worth * 60,
        "day_worth_cents": view.day_worth,
        "pins": [{"pin": number, "words": words} for number, words in view.pins],
        "pins_cost_cents": view.pins_cost,
        "riding": [_riding_form(one) for one in view.riding],
        "notes": list(view.notes),
        "front": [_point_form(point) for point in view.front],
        "own": view.own and _point_form(view.own),
    }


def order_form(view: PlanView) -> dict[str, Any]:
    """The order of a plan as plain data: lines, shipping_cents, total_cents."""
    return {
        "currency": view.lot.currency,
        "lines": [line_form(line) for line in view.order],
        "from_drawer": [line_form(line) for line in view.drawer],
        "on_its_way": [{**line_form(line), "order_line": line.coming, "due": line.due} for line in view.coming],
        "from_donors": [{**line_form(line), "donor": line.donor, "part": line.donor_part} for line in view.donors],
        "goods_cents": view.goods,
        "shipping_cents": view.shipping,
        "charges_cents": view.charges,
        "total_cents": view.order_total,
        "arrival": view.arrival or None,
        "arrival_late": view.arrival_late or None,
    }


def _riding_form(one: Riding) -> dict[str, Any]:
    return {
        "rides": one.rides,
        "number": one.number,
        "unit": one.unit,
        "part": one.part,
        "text": one.words,
        "wanted": one.wanted,
        "at_hand": one.at_hand,
        "bought": one.bought,
        "worth_cents": one.worth,
        "costs_cents": one.costs,
        "why": one.why or None,
    }


def why_form(found: LineWhy) -> dict[str, Any]:
    """Why a line is as it is, as plain data."""
    return {
        "supplier": found.supplier,
        "sku": found.sku,
        "description": found.words,
        "without_cents": found.without,
        "closed_cents": found.closed,
        "best_grade_cents": found.best_grade,
        "fewer_packs_line_cents": found.fewer,
        "moves_at_cents": found.moves_at,
        "postage_cents": found.postage,
        "reasons": list(found.sentences),
    }


def _point_form(point: DayPoint) -> dict[str, Any]:
    return {
        "arrival_day": point.day,
        "date": point.date,
        "cost_cents": point.cost,
        "total_cents": point.total,
        "cheapest": point.cheapest,
    }


def _contested_form(one: Contested) -> dict[str, Any]:
    return {
        "unit": one.unit,
        "part": one.part,
        "taken": one.taken or None,
        "wait_ahead_cents": one.ahead,
        "day_cost_cents": one.day_cost,
        "flip_day_cost_cents": one.flip_day_cost,
        "flip_days": one.flip_days,
        "flip_goods_cents": one.flip_goods,
        **{name: side and _side_form(side) for name, side in (("now", one.now), ("wait", one.wait))},
    }


def _side_form(side: Side) -> dict[str, Any]:
    return {
        "grade": side.grade,
        "date": side.date,
        "unit_date": side.unit_date,
        "goods_cents": side.goods,
        "extra_cents": side.extra,
        "total_cents": side.total,
        "from": list(side.sources),
        "do": list(side.do),
        "tell": list(side.tell),
    }


def line_form(line: PlannedLine) -> dict[str, Any]:
    """A line of an order as plain data."""
    return {
        "supplier": line.supplier or None,
        "sku": line.sku,
        "part_number": line.part_number,
        "description": line.description,
        "packs": line.packs,
        "pieces": line.pieces,
        "line_cents": line.amount,
        "units": list(line.units),
        "grade": line.grade,
        "place": line.place,
        "uses": [
            {
                "unit": use.unit,
                "rides": use.rides or None,
                "part": use.part,
                "pieces": use.pieces,
                "grade": use.grade,
                "do": list(use.do),
                "tell": list(use.tell),
            }
            for use in line.uses
        ],
    }


def placed_line_form(line: Struct) -> dict[str, Any]:
    """A line of a placed order as plain data."""
    from msgspec.structs import asdict  # noqa: PLC0415

    held = asdict(line)
    return {
        "line": held["id"],
        "order": held["order_id"],
        **{name: held[name] for name in ("sku", "part_number", "description", "packs", "units", "grade")},
        "pieces": held["packs"] * held["pack"],
        "line_cents": held["line_total"],
        "received_packs": held["received"],
        "failed_packs": held["failed"],
    }


def print_wanted(wanted: Sequence[WantedPart], currency: str) -> None:
    """The wanted parts of a unit for a person."""
    from catalog.money import shown  # noqa: PLC0415

    table(
        ("part", "pieces", "guess", "state", "for", "described as"),
        [
            (
                entry.part,
                entry.pieces,
                shown(entry.typical_cost, currency),
                "leans elsewhere" if entry.aside == "elsewhere" else entry.need.state if entry.need else "to describe",
                entry.what,
                entry.need.text if entry.need else "",
            )
            for entry in wanted
        ],
        right=("pieces", "guess"),
    )


def print_plan(view: PlanView) -> None:
    """The plan for a person."""
    from catalog.money import shown  # noqa: PLC0415
    from triage.actions.plan_contests import verdict  # noqa: PLC0415
    from triage.actions.plan_riders import riding_lines  # noqa: PLC0415

    currency = view.lot.currency
    if view.status == "infeasible":
        show(f"lot {view.lot.id} “{view.lot.name}”: no plan exists")
        return
    gap = "" if view.status == "optimal" else f", within {shown(view.gap, currency)} of the best"
    show(f"lot {view.lot.id} “{view.lot.name}”: {view.status}{gap}, brings {shown(view.total, currency)} {currency}")
    table(
        ("unit", "class", "pile", "value", "done by", "cures"),
        [
            (
                unit.number,
                unit.class_name,
                unit.pile_word + (" by hand" if unit.by_hand else ""),
                shown(unit.value, currency),
                unit.done,
                ", ".join(unit.cures),
            )
            for unit in view.units
        ],
        right=("unit", "value"),
    )
    _print_worths(view)
    _print_units(view, currency)
    for number, words in view.pins:
        show(f"your word {number}: {words}")
    if view.pins_cost is not None:
        show(f"your word on the order costs {shown(view.pins_cost, currency)} against the best plan without it")
    if view.to_look:
        show(f"a look still pays on {numbers(view.to_look)}; nothing is ordered for them yet")
    for entry in view.to_describe:
        show(f"say what it is: lotwright need {entry.unit} {entry.part} TEXT ({entry.part_name})")
    for what, reason in view.left_out:
        show(f"not used: {what}: {reason}")
    if view.status == "optimal":
        for line in view.conflicts:
            show(f"not to be had: {line}")
    print_order(view)
    for words in riding_lines(view.riding, currency):
        show(words)
    for one in view.contested:
        show(f"unit {one.unit}, {one.part}, substitute or wait: {' '.join(verdict(one, currency))}")
    for point in view.days:
        mark = ", the cheapest with waiting" if point.cheapest else ""
        cost, total = shown(point.cost, currency), shown(point.total, currency)
        show(f"all here by {point.date}: {cost}, with waiting {total}{mark}")


def _print_units(view: PlanView, currency: str) -> None:
    """What is to be said of single units."""
    from catalog.money import rounded, shown  # noqa: PLC0415

    for unit in view.units:
        if unit.pin_costs is not None and rounded(unit.pin_costs) > 0:
            costs = shown(unit.pin_costs, currency)
            show(f"keeping unit {unit.number} on {unit.pile_word} costs {costs} against the best plan without it")
        if unit.turned_down:
            show(f"unit {unit.number} is not fixed: {unit.turned_down}")


def _print_worths(view: PlanView) -> None:
    """How much of today is left, and what one more hour and one more day would bring, where they are limited."""
    from catalog.money import shown  # noqa: PLC0415

    if view.today is not None:
        show(str(view.today))
    hour = None if view.minute_worth is None else view.minute_worth * 60
    for word, amount in (("bench hour", hour), ("day", view.day_worth)):
        if amount is not None:
            show(f"one more {word} would bring {shown(amount, view.lot.currency)}")


def print_order(view: PlanView) -> None:
    """The order of a plan for a person."""
    from catalog.money import show as written  # noqa: PLC0415

    currency = view.lot.currency
    if not (view.order or view.drawer or view.donors or view.coming):
        show("nothing to order")
        return
    table(
        ("from", "sku", "packs", "pieces", "line", "grade", "units", "description"),
        [
            (
                _source(line),
                line.sku,
                line.packs,
                line.pieces,
                written(line.amount, currency),
                line.grade,
                line.whom,
                line.description or line.part_number,
            )
            for line in (*view.order, *view.coming, *view.drawer, *view.donors)
        ],
        right=("packs", "pieces", "line"),
    )
    goods, shipping, total = (written(amount, currency) for amount in (view.goods, view.shipping, view.order_total))
    when = f"; here {view.arrival}, at the latest {view.arrival_late}" if view.arrival else ""
    more = f", fees and tax {written(view.charges, currency)}" if view.charges else ""
    show(f"goods {goods}, postage {shipping}{more}, together {total} {currency}{when}")
    for note in view.notes:
        show(note)


def _source(line: PlannedLine) -> str:
    if line.coming is not None:
        return f"{line.supplier}, here {line.due}"
    return line.supplier or (line.place if line.donor else f"drawer {line.place}".strip())


def tell_orders(orders: Iterable[tuple[Order, Sequence[OrderLine]]], today: date, *, as_json: bool) -> None:
    """Print placed orders with their lines."""
    from catalog.money import show as written  # noqa: PLC0415
    from triage.actions.goods_in import days_late  # noqa: PLC0415

    forms = [{**_placed_form(one, lines), "days_late": days_late(one, lines, today)} for one, lines in orders]
    if as_json:
        json_line({"orders": forms})
        return
    for one in forms:
        state = f"taken back {one['cancelled'][:10]}" if one["cancelled"] else f"due {one['due']}"
        late = one["days_late"]
        state += f", {late} day{'s' if late > 1 else ''} late" if late else ""
        paid = written(one["goods_cents"] + one["shipping_cents"], one["currency"], with_code=True)
        show(f"order {one['order']} with {one['supplier']}, {one['at'][:10]}, {paid}, {state}")
        table(
            ("line", "sku", "packs", "here", "failed", "units", "description"),
            [
                (
                    *(line[name] for name in ("line", "sku", "packs", "received_packs", "failed_packs")),
                    numbers(line["units"]),
                    line["description"] or line["part_number"],
                )
                for line in one["lines"]
            ],
            right=("line", "packs", "here", "failed"),
        )


def _placed_form(order: Struct, lines: Iterable[Struct]) -> dict[str, Any]:
    from msgspec.structs import asdict  # noqa: PLC0415

    held = asdict(order)
    return {
        "order": held["id"],
        **{name: held[name] for name in ("lot", "supplier", "at", "due", "currency")},
        "cancelled": held["cancelled"] or None,
        "goods_cents": held["goods"],
        "shipping_cents": held["shipping"],
        "lines": [placed_line_form(line) for line in lines],
    }


def numbers(units: Sequence[int]) -> str:
    """Unit numbers with commas between."""
    return ", ".join(map(str, units))
