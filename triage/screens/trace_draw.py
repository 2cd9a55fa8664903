"""How a signal path is written on the screen: its points one below the other, with the parts between them."""

from __future__ import annotations

from textual.content import Content

from triage.actions.probing import PointView, StretchView, TraceView
from triage.actions.telling import PROBED_WORDS, judged
from triage.lot import Happening
from triage.screens.bench_draw import bar
from triage.screens.plain import Piece, fitted, plain, pressable, stacked, styled

_LEVEL = 11
_FIGURE = 5
_KEYS = (("y", "signal"), ("n", "no signal"), ("w", "weak"), ("c", "can't tell"))
_MORE = "↑ ↓ other point, Tab other path, a path of your own, u takes back, Esc leaves"


def head(view: TraceView, class_name: str) -> Content:
    """Unit, path, and which of how many."""
    place = next((at for at, (path, _) in enumerate(view.paths, 1) if path == view.path), 1)
    count = f"   path {place} of {len(view.paths)}" if len(view.paths) > 1 else ""
    return styled((f" {view.unit} ", "bold reverse"), f" {class_name}: ", (view.name, "bold"), (count, "dim"))


def cautions(view: TraceView, at: int | None) -> Content:
    """What can hurt, one line each, and the hazard to be asked about first."""
    lines = [styled((" ! ", "bold reverse"), (f" {line}", "bold")) for line in view.cautions]
    hazard = view.points[at].ask_first if at is not None else None
    if hazard is not None:
        lines.append(styled((" ? ", "bold reverse"), (f" {hazard.question}", "bold"), "  y or n; when in doubt, y"))
    return stacked(lines)


def chain(view: TraceView, at: int | None, width: int) -> Content:
    """Every point with what was seen there, and between two the parts with the chance that one of them is at fault.

    `at` is the point to be answered now; the one to probe next is told in words, so that colour says nothing alone.
    """
    lines = []
    for place, point in enumerate(view.points):
        lines.append(_point(view, point, place, at, width))
        if place < len(view.stretches):
            lines.append(_stretch(view.stretches[place], width, worse=(place, place + 1) in view.found))
    return stacked(lines)


def _point(view: TraceView, point: PointView, place: int, at: int | None, width: int) -> Content:
    mark = "▸" if place == at else " "
    level = PROBED_WORDS.get(point.level, "")
    where = "" if point.opened else ", outside"
    if point.locked:
        aside = point.locked
    elif place == view.next:
        aside = f"NEXT, {point.minutes:g} min{where}"
    else:
        aside = "" if level else f"{point.minutes:g} min{where}"
    room = max(12, width - _LEVEL - 4)
    name = fitted(point.at, min(room, max(30, min(56, room - 30))) if aside else min(room, 56))
    style = "bold reverse" if place == at else "bold" if point.level else ""
    return styled(
        (f" {mark} ", "bold"),
        (fitted(level or "·", _LEVEL), "bold" if point.level != "there" else ""),
        (name, style),
        " ",
        (fitted(aside, max(0, room - len(name) - 1)).rstrip(), "bold" if place == view.next else "dim"),
    )


def _stretch(stretch: StretchView, width: int, *, worse: bool) -> Content:
    figure = f"{stretch.chance * 100:.0f} %"
    room = max(12, width - _LEVEL - _FIGURE - 8)
    what = " or ".join(stretch.what)
    length = min(16, max(4, room - 40))
    pieces: list[Piece] = [
        "   ",
        (fitted("HERE ▸" if worse else "│", _LEVEL), "bold" if worse else "dim"),
        (f"  {fitted(what, min(room - length - 1, 54))}", "bold" if worse else ""),
        (fitted(figure, _FIGURE, right=True), "bold" if worse else ""),
        " ",
        bar(stretch.chance, length),
    ]
    return styled(*pieces)


def keys(view: TraceView, at: int | None) -> Content:
    """What is known in one line, and the keys."""
    pieces: list[Piece] = []
    hazard = view.points[at].ask_first if at is not None else None
    if hazard is not None:
        pieces = [pressable("y", (" y ", "reverse bold"), " yes: locked at once"), "   "]
        pieces += [pressable("n", (" n ", "reverse bold"), " no"), "   "]
    elif at is not None:
        for key, text in _KEYS:
            pieces += [pressable(key, (f" {key} ", "reverse bold"), f" {text}"), "   "]
    return stacked([plain(view.told, "bold"), styled(*pieces), plain(_MORE, "dim")])


def seen_words(seen: Happening) -> str:
    """What was just kept of a point."""
    return PROBED_WORDS.get(seen.answer) or judged(seen) or seen.answer.replace("_", " ")
