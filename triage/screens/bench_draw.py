"""How one unit is written on the screen: its line, cautions, suspects as bars, branches, and what was done."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content

from catalog.money import show, shown
from triage.actions.asides import Aside
from triage.actions.unit_view import HEARD, Done, Moved, Suspect, UnitView
from triage.asking import Question, tool_words
from triage.branches import BranchSum, Flip
from triage.lot import PILE_WORDS
from triage.reach import reach
from triage.screens.lot_draw import hours, loss, standing
from triage.screens.plain import Piece, fitted, plain, pressable, stacked, styled

TERM_WORDS = {
    "success": "chance that it works after",
    "net_working": "price when working",
    "net_failed": "price if not cured",
    "parts": "parts cost",
    "minutes": "minutes",
    "delay_days": "days of waiting",
    "delay_per_day": "cost of a day",
    "returns": "returns",
    "net": "price as it stands",
    "strip_minutes": "minutes to strip",
    "lump": "all parts together",
    "minute_cost": "worth of an hour",
    "working": "works, sold",
    "not cured": "not cured, sold",
    "delay": "waiting",
    "sale": "sold as it stands",
}
_SHARES = {"success"}
_PLAIN = {"minutes", "strip_minutes", "delay_days"}
_FIRST_FLIPS = ("minute_cost", "net", "net_working", "lump", "success")
BAR = "█"
_SHOWN = 0.0005
"""A doubt about the chances that is smaller than this shows in none of the figures."""
_STROKE = 10
_EIGHTHS = " ▏▎▍▌▋▊▉"


def head(view: UnitView, lot_name: str, currency: str, width: int) -> Content:
    """The unit in one line: number, class, model, lot, minutes, pile; what it is ahead by where there is room."""
    pieces: list[Piece] = [(f" {view.unit.number} ", "bold reverse"), (f" {view.class_name}", "bold")]
    if view.unit.model:
        pieces.append(f" {view.unit.model}")
    pieces.append((f"   {fitted(lot_name, min(24, max(1, len(lot_name)))).rstrip()}", "dim"))
    pieces.append(f"   {hours(view.minutes)}   ")
    pieces.append((standing(view), "bold"))
    best = view.branches[0] if view.branches else None
    if view.unit.pile:
        pieces.append("   by hand")
    if best is not None and view.gap is not None:
        ahead = f"   best {_way(view, best.kind)} {shown(best.value, currency)}"
        if styled(*pieces, ahead).cell_length <= width:
            pieces.append(ahead)
    return styled(*pieces)


def cautions(view: UnitView) -> Content:
    """One line each, first on the screen; the class's own and those of hazards in force."""
    return stacked(styled((" ! ", "bold reverse"), (f" {line}", "bold")) for line in view.cautions)


def bar(chance: float, width: int) -> str:
    """A chance as a bar of `width` cells."""
    eighths = round(max(0.0, min(1.0, chance)) * width * 8)
    full, rest = divmod(eighths, 8)
    return (BAR * full + (_EIGHTHS[rest] if rest else "")).ljust(width)


def suspects(view: UnitView, width: int, most: int) -> Content:
    """The likeliest faults with bars, then what is not on the list; nothing where the answers leave no chances."""
    if not view.suspects or view.conflict:
        return Content("")
    name = max(12, min(50, width - 6 - 10))  # the longest fault of the classes has 49
    stroke = max(4, width - name - 8)
    most -= view.far_fetched + (view.left_out >= _SHOWN)
    listed = [_bar_line(item, name, stroke) for item in view.suspects[:most] if item.chance >= 0.005]
    nothing = styled(
        (" " + fitted("none on the list", name), "dim"),
        bar(view.nothing_listed, stroke),
        f" {view.nothing_listed * 100:3.0f} %",
    )
    odd = [plain(" these answers hardly go together; look at one again (m)", "bold")] if view.far_fetched else []
    if view.left_out >= _SHOWN:
        odd.append(plain(f" chances to within {view.left_out * 100:.1g} %: these answers tie too many faults", "dim"))
    return stacked([*listed, nothing, *odd])


def _bar_line(item: Suspect, name: int, stroke: int) -> Content:
    what = item.what if item.curable else f"{item.what} (no cure)"
    return styled(" " + fitted(what, name), bar(item.chance, stroke), (f" {item.chance * 100:3.0f} %", "bold"))


def branches(view: UnitView, currency: str, width: int = 60) -> Content:
    """Each way the unit may go with its value and spread, the best one pointed at; then where the answer flips."""
    lines = []
    for place, item in enumerate(view.branches):
        spread = f" {reach(item, currency)}, {loss(item.loss_chance)}"
        if len(spread) > width - 21:
            risk = "" if item.loss_chance < 0.005 else f" {loss(item.loss_chance)}"
            sure = risk and item.high == item.low and len(item.outcomes) < 2  # the risk says it, where both do not fit
            spread = risk if sure else f" {reach(item, currency, short=True)}{risk}"
        lines.append(
            styled(
                (" ▸ " if place == 0 else "   ", "bold"),
                (fitted(_way(view, item.kind), 9), "bold" if place == 0 else ""),
                fitted(shown(item.value, currency), 8, right=True),
                spread,
            )
        )
        if item.kind == "fix" and view.second_try is not None:
            lines.append(styled((f"   with a second try {shown(view.second_try, currency)}", "dim")))
    return stacked(lines)


def _way(view: UnitView, kind: str) -> str:
    """A branch in a word; of a unit that works already, the one to fix is called as its pile is."""
    return standing(view) if kind == view.pile == "fix" else PILE_WORDS.get(kind, kind)


def gap(view: UnitView, currency: str) -> Content:
    """What the best branch is ahead of the runner-up, and where the answer turns."""
    if view.gap is None or len(view.branches) < 2:
        return Content("")
    best, second = (_way(view, item.kind) for item in view.branches[:2])
    told = first_flip(view)
    turns = f"; turns to {flip_words(told, currency)}" if told is not None else ""
    return styled((f"{best} is {shown(view.gap, currency)} ahead of {second}", "bold"), turns)


def follow(aside: Aside, currency: str) -> Content:
    """That a signal may be followed to tell several suspects apart; empty where that tells nothing."""
    path = aside.follow
    if path is None:
        return Content("")
    ahead = f", {shown(aside.follow_gain, currency)} ahead of any look" if aside.follow_gain else ""
    offer = pressable("f", (" f ", "reverse bold"), " follow the signal")
    return styled(offer, f" {path.name}: about {path.minutes:.0f} min", (ahead, "bold"))


def tool_worth(aside: Aside, asked: Question | None, currency: str, width: int) -> Content:
    """What a tool that the person lacks would gain here; empty where that is little, or just being asked."""
    if not aside.tools or (asked is not None and asked.about in aside.tools):
        return Content("")
    with_it = f"with {' and '.join(map(tool_words, aside.tools))}"
    told = f": {shown(aside.tool_gain, currency)} ahead of any look: "
    return styled((with_it, "bold"), told, fitted(aside.tool_question, max(10, width - len(with_it + told))).rstrip())


def second_look(aside: Aside, width: int) -> Content:
    """That a function may have read bad by mistake, and how to look at it again; empty where that is not likely."""
    if not aside.again:
        return Content("")
    doubt, told = "bad by mistake?", f" {aside.again_chance * 100:.0f} %; l looks again: "
    return styled((doubt, "bold"), told, fitted(aside.again, max(10, width - len(doubt + told))).rstrip())


def first_flip(view: UnitView) -> Flip | None:
    """The flip worth a line of its own: the person's hour first, then prices of the best branch."""
    best = view.branches[0].id if view.branches else ""
    for term in _FIRST_FLIPS:
        for flip in view.flips:
            if flip.term == term and (flip.branch == best or term == "minute_cost"):
                return flip
    return view.flips[0] if view.flips else None


def flip_words(flip: Flip, currency: str) -> str:
    """A flip in words: which way, and at which figure."""
    to = PILE_WORDS.get(flip.to, flip.to)
    word = TERM_WORDS.get(flip.term, flip.term.replace("_", " "))
    if flip.term == "minute_cost":
        figure = shown(flip.value * 60, currency)
    elif flip.term in _SHARES:
        figure = f"{flip.value * 100:.0f} %"
    elif flip.term in _PLAIN:
        figure = f"{flip.value:.0f}"
    else:
        figure = shown(flip.value, currency)
    of = "" if flip.term == "minute_cost" else f" ({PILE_WORDS.get(flip.branch, flip.branch)})"
    return f"{to} once {word}{of} is {figure}"


def untested(view: UnitView) -> Content:
    """What was taken out, and the functions nobody has seen working since the last repair: not tested, never good."""
    lines = [styled((f"{words} (L)", "bold")) for words in view.exchange]
    if view.fixed:
        return stacked([*lines, styled(("every function tested good", "bold"))])
    if view.lifted:
        lines.append(styled(("not whole, taken out: ", "bold"), ", ".join(view.lifted)))
    if view.untested:
        lines.append(styled(("not tested yet: ", "bold"), ", ".join(view.untested)))
    return stacked(lines)


def locked(view: UnitView) -> Content:
    """The looks that are not offered for a reason the person can change, gathered by reason."""
    by_reason: dict[str, int] = {}
    for _, reason in view.locked:
        by_reason[reason] = by_reason.get(reason, 0) + 1
    return stacked(
        styled(("locked: ", "bold"), f"{count} look{'s' if count != 1 else ''}: {reason}")
        for reason, count in by_reason.items()
    )


def done(lines: Sequence[Done], most: int, *, numbered: bool = False) -> Content:
    """What was seen and done, the latest first unless they are numbered."""
    if not lines:
        return styled((" nothing done yet", "dim"))
    shown_lines = list(lines)[-most:] if numbered else list(reversed(lines))[:most]
    return stacked(
        styled(
            (f"{place} " if numbered else "· ", "bold"),
            item.text,
            ("  (no evidence)" if item.ignored else "", "dim"),
        )
        for place, item in enumerate(shown_lines, 1)
    )


def came_as(view: UnitView) -> Content:
    """What was typed when the unit came in, in the person's own words; empty where nothing was."""
    typed, note = view.unit.typed, view.unit.note
    said = [f"“{typed}”"] if typed else []
    if note and note not in typed:
        said.append(note)
    return styled(("· came as ", "dim"), "; ".join(said)) if said else Content("")


def sums(view: UnitView, currency: str, assumed: Sequence[str]) -> Content:
    """Every branch term by term, then every figure at which the answer flips, and what still is assumed."""
    lines = [plain("Each amount is weighed by its chance.", "dim")]
    for item in view.branches:
        lines += _terms(item, _way(view, item.kind), currency)
    lines.append(plain("The answer turns to", "bold underline"))
    lines += [styled("   ", flip_words(flip, currency)) for flip in view.flips] or [plain("   nothing near")]
    lines.append(Content(""))
    unit = view.unit
    own = [
        f"{word} {show(value, currency)}"
        for word, value in (
            ("working", unit.working),
            ("as it stands", unit.as_is),
            ("in parts", unit.part_out),
            ("on your shelf", unit.own_worth),
        )
        if value is not None
    ]
    lines.append(plain("your own figures: " + (", ".join(own) if own else "none yet, all are guesses of its class")))
    if assumed:
        lines.append(plain("assumed until you say otherwise (F9, e): " + ", ".join(assumed)))
    return stacked(lines)


def _terms(item: BranchSum, way: str, currency: str) -> list[Content]:
    lines = [
        styled(
            (f"{way}  {shown(item.value, currency)}", "bold"),
            f"   {reach(item, currency)}, {loss(item.loss_chance)}, {item.minutes:.0f} min",
        )
    ]
    for term in item.terms:
        word = TERM_WORDS.get(term.name, term.name.replace("_", " "))
        lines.append(styled("   ", fitted(word, 26), fitted(shown(term.amount, currency), 10, right=True)))
    return [*lines, Content("")]


def moved(lines: Sequence[Moved], *, conflict: bool = False) -> Content:
    """Which answers moved which suspect, in points and as a bar; how far what was only heard counts."""
    if conflict:
        return plain("Answers that cannot all be right move nothing: mend one first (a digit, or m).")
    if not lines:
        return plain("No answer has moved anything yet: the chances are those of the class.")
    told = [
        styled(
            (f"{item.points * 100:+4.0f} ", "bold"),
            fitted(bar(abs(item.points), _STROKE), _STROKE + 1),
            item.what,
            ("  by  ", "dim"),
            item.text,
        )
        for item in lines
    ]
    return stacked([*told, plain(HEARD, "dim")] if any(item.heard for item in lines) else told)


def card(view: UnitView, width: int, currency: str) -> Content:
    """The unit under the cursor, for the side of the Lot."""
    lines = [
        styled((f"{view.unit.number} {view.class_name}", "bold"), f"  {view.unit.model}" if view.unit.model else ""),
        plain(view.where_was_i),
    ]
    if view.unit.shelf:
        lines.append(plain(f"lies: {view.unit.shelf}"))
    if view.cautions:
        lines += [styled(("! ", "bold"), line) for line in view.cautions]
    lines += [Content(""), plain(view.reason), Content("")]
    if view.suspects:
        lines += [plain("suspects now", "bold underline"), suspects(view, width, 8), Content("")]
    if view.branches:
        lines += [
            plain("ways to go", "bold underline"),
            branches(view, currency, width),
            gap(view, currency),
            Content(""),
        ]
    lines += [untested(view)]
    return stacked(lines)
