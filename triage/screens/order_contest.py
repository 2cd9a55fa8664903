"""Substitute or wait on the screen: both ways of a need side by side, and taking the other one."""

from __future__ import annotations

from datetime import date

from textual.content import Content

from catalog.money import show
from triage.actions.plan_contests import mixed, verdict
from triage.actions.plan_view import Contested, Side
from triage.screens.dialogs import Choice, Choose
from triage.screens.plain import Piece, day, fitted, stacked, styled

HEAD = "Substitute or wait"


def rows(contest: Contested, width: int, currency: str) -> tuple[Content, Content]:
    """Two lines: the part, its unit and which way is better by how much; then both ways. ● marks that of the plan."""
    better = ""
    if mixed(contest):
        better = "some of both is best"
    elif contest.ahead:
        better = f"{'waiting' if contest.ahead > 0 else 'now'} is {show(abs(contest.ahead), currency)} better"
    name = fitted(f"for {contest.unit}: {contest.part}", max(8, width - 2 - 26))
    side_width = min(38, (width - 6) // 2)
    now = _side("NOW", contest.now, side_width, currency, taken=contest.taken == "now")
    wait = _side("WAIT", contest.wait, side_width, currency, taken=contest.taken == "wait", after=contest.now)
    return styled("  ", name, (fitted(better, 26, right=True), "bold")), styled(
        "    ", now, "  ", wait, " " * (width - 6 - 2 * side_width)
    )


def _side(word: str, side: Side | None, width: int, currency: str, *, taken: bool, after: Side | None = None) -> Piece:
    mark = "●" if taken else " "
    if side is None:
        return fitted(f"{mark}{word} not to be had", width)
    when = day(side.date) if after is None else f"+{_days(after, side)} d"
    told = f"{mark}{word} {side.grade}, {when}, {show(side.goods, currency)}"
    return fitted(told, width), "bold" if taken else ""


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
