"""Substitute or wait on the screen: both ways of a need side by side, and taking the other one."""

from __future__ import annotations

from datetime import date

from textual.content import Content

from catalog.money import show
from triage.actions.plan_contests import verdict
from triage.actions.plan_view import Contested, Side
from triage.screens.dialogs import Choice, Choose
from triage.screens.plain import Piece, day, fitted, stacked, styled

HEAD = "Substitute or wait"


def row(contest: Contested, width: int, currency: str) -> Content:
    """One line: the part and its unit, now, wait, and which is better by how much. ● marks the way of the plan."""
    side_width = 27 if width < 100 else 33
    better = f"{'wait' if contest.ahead > 0 else 'now'} +{show(abs(contest.ahead), currency)}" if contest.ahead else ""
    rest = max(8, width - 5 - 2 * side_width - 12)
    name = f"for {contest.unit}: {contest.part}"
    return styled(
        ("  ", ""),
        fitted(name, rest),
        " ",
        *_side("NOW", contest.now, side_width, currency, taken=contest.taken == "now"),
        " ",
        *_side("WAIT", contest.wait, side_width, currency, taken=contest.taken == "wait", after=contest.now),
        " ",
        (fitted(better, 12, right=True), "bold"),
    )


def _side(
    word: str, side: Side | None, width: int, currency: str, *, taken: bool, after: Side | None = None
) -> tuple[Piece, ...]:
    mark = "●" if taken else " "
    if side is None:
        return (fitted(f"{mark}{word} not to be had", width),)
    when = day(side.date) if after is None else f"+{_days(after, side)} d"
    return (
        (fitted(f"{mark}{word} {side.grade}, {when}, {show(side.goods, currency)}", width), "bold" if taken else ""),
    )


def _days(now: Side, wait: Side) -> int:
    return (date.fromisoformat(wait.date) - date.fromisoformat(now.date)).days


def detail(contest: Contested, currency: str) -> Content:
    """Which way is better, what flips it, and what each way takes."""
    lines = [
        styled((sentence, "bold" if place == 0 else "")) for place, sentence in enumerate(verdict(contest, currency))
    ]
    for word, side in (("now", contest.now), ("wait", contest.wait)):
        if side is None:
            continue
        lines.append(styled((f"{word}: ", "bold"), "; ".join(side.sources)))
        lines += [styled((f"{word}, do: ", "bold"), text) for text in side.do]
        lines += [styled((f"{word}, tell the buyer: ", "bold"), text) for text in side.tell]
    return stacked(lines)


def choose(contest: Contested, currency: str) -> Choose:
    """The dialog in which one takes a way; gives back `now`, `wait` or None."""
    choices = []
    for name, side in (("now", contest.now), ("wait", contest.wait)):
        if side is not None:
            there = f"{side.grade}, unit {contest.unit} goes on {day(side.unit_date)}"
            told = f"{name}: {there}; whole order with waiting {show(side.total, currency)}"
            choices.append(Choice(name, told, "as planned" if contest.taken == name else ""))
    about = " ".join(verdict(contest, currency))
    return Choose(f"Unit {contest.unit}, {contest.part}: substitute now, or wait?", choices, about, weigh=True)
