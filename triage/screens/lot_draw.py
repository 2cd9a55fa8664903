"""How a lot is written on the screen: the head, the piles, one line a unit, and the unit under the cursor."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from textual.content import Content

from catalog.money import show, shown
from triage.actions.lot_view import LotView, PileSum, UnitRow
from triage.actions.unit_view import UnitView
from triage.lot import PILE_WORDS, Lot, Unit
from triage.screens.plain import Piece, day, fitted, plain, stacked, styled

LEAST_NEXT = 30
"""Cells from which on the next step of each unit is worth a column of its own: less of it says nothing."""


def head(lot: Lot, units: int, view: LotView | None, currency: str, width: int) -> Content:
    """The lot in one line: name, paid, units, hours, deadline; what it brings untouched where there is room."""
    pieces: list[Piece] = [(f" {fitted(lot.name, min(width // 4, max(1, len(lot.name)))).rstrip()}", "bold")]
    pieces.append(f"  paid {show(lot.paid + lot.postage, lot.currency)} {lot.currency}")
    pieces.append(f"  {units} unit{'s' if units != 1 else ''}")
    if view is not None and view.minutes_left is not None and lot.bench_minutes is not None:
        pieces.append(f"  {hours(view.minutes_left)} left of {hours(lot.bench_minutes)}")
    elif view is not None and view.minutes_spent:
        pieces.append(f"  {hours(view.minutes_spent)} spent")
    if lot.deadline:
        pieces.append(f"  until {day(lot.deadline)}")
        if view is not None and view.days_left is not None:
            left = f", {days(view.days_left)}"
            pieces += [left] if styled(*pieces, left).cell_length <= width else []
    if view is not None:
        untouched: Piece = (f"  sold as it stands {shown(view.untouched, currency)}", "dim")
        pieces += [untouched] if styled(*pieces, untouched).cell_length <= width else []
    return styled(*pieces)


def hint(units: Sequence[Unit], view: LotView | None, assumed: Sequence[str]) -> Content:
    """The one line on what to do next; `assumed` is what still is assumed of the person."""
    if not units:
        return plain("no units yet: press a and type what is in the box")
    doubtful = [unit for unit in units if not unit.device_class and not unit.pile]
    if doubtful:
        return plain(f"unit {doubtful[0].number} is not settled yet: press c on it and say what it is")
    if view is None:
        return plain("working out the sums …", "dim")
    if view.best_look is not None:
        return styled((f"unit {view.best_look}: the look that pays most", "bold"), "   Enter takes it to the Bench")
    hour = next((f"   assumed: {word} (F9)" for word in assumed if "hour" in word), "")
    return styled("no look pays more than it costs; the piles stand", (hour, "dim"))


def standing(unit: UnitRow | UnitView) -> str:
    """Its pile in a word: FIXED when nothing more is to be looked at, WORKS while a look may still find what hides."""
    if not unit.fixed or unit.pile != "fix":
        return unit.pile_word
    return "FIXED" if unit.finished else "WORKS"


def told(view: LotView | None, currency: str, width: int) -> Content:
    """What else is good to know: decisions that moved, today's hours, what an hour or a day more would bring."""
    if view is None:
        return Content("")
    pieces = []
    count = len(view.standing.moved)
    if count:
        units = ", ".join(str(one.move.unit) for one in view.standing.moved[:8]) + (" …" if count > 8 else "")
        pieces.append(styled((f"moved since you looked: {units}", "bold"), "  (w why)"))
    if view.today is not None:
        pieces.append(plain(str(view.today)))
    worths = [
        f"{word} {shown(amount, currency)}"
        for word, amount in (("an hour more brings", view.hour_worth), ("a day more brings", view.day_worth))
        if amount is not None
    ]
    if worths and not any(round(amount or 0.0) for amount in (view.hour_worth, view.day_worth)):
        worths = ["more hours or days would bring nothing"]
    if worths:
        pieces.append(styled((", ".join(worths).replace(", a day more brings", ", a day"), "dim")))
    aside = styled(*(part for piece in pieces for part in (piece, "   ")))
    return aside if aside.cell_length <= width else stacked(pieces)


def moved(view: LotView, currency: str, width: int) -> Content:
    """Unit by unit: what it was meant for, what it is now, and what was done since."""
    names = {row.number: row.class_name for row in view.rows}
    lines = []
    for one in view.standing.moved:
        was, now = one.move.was, one.move.now
        piles = f"{PILE_WORDS[was.pile]} → {PILE_WORDS[now.pile]}"
        money = f"{shown(was.value, currency)} → {shown(now.value, currency)}"
        name = fitted(names[one.move.unit], max(8, width - 4 - 24 - 20))
        number = fitted(str(one.move.unit), 4, right=True)
        lines.append(styled((f"{number} ", "bold"), name, (fitted(piles, 22), "bold"), fitted(money, 20, right=True)))
        lines.append(styled("     ", one.why))
    return stacked(lines)


def hours(minutes: float) -> str:
    """Minutes as hours where that reads better."""
    return f"{minutes:.0f} min" if minutes < 90 else f"{round(minutes / 60, 1):g} h"


def days(left: int) -> str:
    """How far a day is."""
    if left < 0:
        return f"{-left} days ago"
    return "today" if left == 0 else f"{left} day{'s' if left != 1 else ''}"


def piles(sums: Sequence[PileSum], currency: str, width: int) -> Content:
    """The piles side by side: word, number, value, minutes; one that does not fit whole begins a new line."""
    lines: list[list[Piece]] = []
    for item in sums:
        pile: list[Piece] = [(f"{item.word} {item.units}", "bold")]
        pile.append(f"  {shown(item.value, currency)}  {hours(item.minutes)}")
        beside: list[Piece] = [*lines[-1], ("  ┆  ", "dim"), *pile] if lines else []
        if beside and styled(*beside).cell_length <= width:
            lines[-1] = beside
        else:
            lines.append([" ", *pile])
    return stacked([styled(*line) for line in lines])


class Columns:
    """The widths of the list's columns for a screen width."""

    def __init__(self, width: int, *, planned: bool = False) -> None:
        """Share `width` cells out; where `planned`, two piles stand side by side."""
        self.pile = 15 if planned else 10
        self.next = min(60, width - 88) if width - 88 >= LEAST_NEXT else 0
        rest = width - 2 - 5 - (self.pile + 1) - 9 - (self.next + 2 if self.next else 0)
        self.unit = max(8, rest * 26 // 100)
        self.seen = max(8, rest * 32 // 100)
        self.suspect = max(10, rest - self.unit - self.seen - 3)

    def titles(self) -> Content:
        """The line above the list."""
        text = "  " + fitted("no", 4, right=True) + "  "
        text += fitted("unit", self.unit) + " " + fitted("seen", self.seen) + " "
        text += (
            fitted("main suspect", self.suspect)
            + " "
            + fitted("pile", self.pile)
            + " "
            + fitted("value", 8, right=True)
        )
        if self.next:
            text += "  " + fitted("next", self.next)
        return plain_spaced(text, "dim")

    def row(
        self, row: UnitRow, unit: Unit | None, currency: str, *, here: bool, planned: str = "", moved: bool = False
    ) -> Content:
        """One unit; `here` marks the cursor with a pointer, `planned` is the pile that the plan puts it on instead.

        `moved`: it is meant for something else than when the person last looked.
        """
        name = row.class_name if row.device_class else "?"
        if unit is not None and unit.model:
            name = f"{unit.model}, {name}"
        suspect = row.suspect
        chance = f" {row.suspect_chance * 100:.0f} %" if row.suspect else ""
        word = standing(row)
        if row.by_hand and word == row.pile_word:
            word += "*"
        if planned:
            word += f"→{PILE_WORDS[planned]}"
        pieces: list[Piece] = [
            ("▸" if here else " ", "bold"),
            ("!" if row.hazard else " ", "bold"),
            (fitted(str(row.number), 4, right=True) + ("~ " if moved else "  "), "bold"),
            fitted(name, self.unit) + " ",
            fitted(row.seen, self.seen) + " ",
            fitted(suspect, self.suspect - len(chance)) + chance + " ",
            (fitted(word, self.pile) + " ", "bold"),
            fitted(shown(row.value, currency) if row.device_class else "?", 8, right=True),
        ]
        if self.next:
            pieces.append("  " + fitted(upcoming(row), self.next))
        return styled(*pieces)

    def waiting(self, unit: Unit, class_name: str, *, here: bool) -> Content:
        """A unit whose sums are not worked out yet."""
        return styled(
            ("▸" if here else " ", "bold"),
            " ",
            (fitted(str(unit.number), 4, right=True) + "  ", "bold"),
            fitted(class_name, self.unit) + " ",
            fitted(unit.typed, self.seen) + " ",
            ("…", "dim"),
        )


def plain_spaced(text: str, style: str = "") -> Content:
    """Our own text with its spaces kept."""
    return styled((text, style))


def upcoming(row: UnitRow) -> str:
    """What the unit waits for, else its next step."""
    return f"waits for {row.waits_for}" if row.waits_for else row.next_step


def under_cursor(row: UnitRow, currency: str, planned: Mapping[int, str]) -> Content:
    """Two lines on the unit under the cursor, for screens without room for more; `planned` as for the list."""
    first: list[Piece] = [(f" {row.number} ", "bold"), f"next: {upcoming(row)}"]
    second: list[Piece] = [" "]
    if row.hazard:
        second.append((f"! {row.hazard}", "bold"))
    elif row.device_class:
        known = shown(row.value, currency) if row.reach == "no spread" else row.reach
        second.append(f"{row.pile_word}: {known}, ")
        second.append(loss(row.loss_chance))
        if row.minutes:
            second.append(f"; {row.minutes:g} min spent")
        if row.by_hand:
            second.append("; * put there by hand")
    if row.number in planned:
        second.append((f"; the plan (F5): {PILE_WORDS[planned[row.number]]}", "bold"))
    return stacked([styled(*first), styled(*second)])


def loss(chance: float) -> str:
    """A chance of loss in words."""
    if chance < 0.005:
        return "no loss"
    return f"loss 1 in {round(1 / chance)}" if chance < 0.4 else f"loss {chance * 100:.0f} %"


def assumed(words: Sequence[str]) -> Content:
    """The line on what still is assumed; nothing when everything was said."""
    return plain(" Assumed until you say otherwise (F9): " + ", ".join(words) + ".", "dim") if words else Content("")
