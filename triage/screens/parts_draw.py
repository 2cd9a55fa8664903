"""How parts, offers and needs are written on the screen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.content import Content

from catalog.fit import Fit
from catalog.money import shown
from catalog.quantity import engineering
from catalog.reading import Reading
from catalog.search import Hit
from catalog.text import Refused, clean_line
from triage.actions.needs import WantedPart
from triage.screens.plain import Piece, fitted, plain, stacked, styled

if TYPE_CHECKING:
    from triage.screens.parts_describe import Search

_EXAMPLES = {
    "belt": "belt 135 mm circumference square 1.2",
    "electrolytic": "electrolytic 100 uF 25 V radial",
    "fuse": "T1.6A L 250V 5x20",
    "switch": "tact switch 6x6 height 5 mm",
    "battery": "CR2032 with tabs",
    "psu": "9 V DC 500 mA centre negative 5.5x2.1",
    "motor": "motor 6 V cw governed 2400 rpm",
    "pickup": "the number on it",
    "transistor": "NPN 45 V 100 mA TO-92 C-B-E",
    "connector": "its series, pitch and ways",
    "ffc": "24 way 0.5 mm type A 100 mm",
}


def example(kind: str) -> str:
    """What one might type for a part of a kind."""
    return _EXAMPLES.get(kind, "the number or words on it")


def reading(found: Search) -> Content:
    """What the typed text is read as, and what of it was left over."""
    if found.reading is None:
        return styled((" read as it is typed: value, size, kind, in any order", "dim"))
    told = found.reading
    if told.status == "ambiguous":
        ways = "; or ".join(way.why for way in told.readings if way.why)
        return styled((" more than one way to read it: ", "bold"), ways or "say the kind")
    if told.spec is None:
        return styled((" searched as words", "dim"))
    pieces: list[Piece] = [" ", (told.spec.kind, "bold"), "  ", _attributes(told)]
    if told.left_over:
        pieces.append((f"   not understood: {' '.join(told.left_over)}", "italic"))
    return styled(*pieces)


def _attributes(told: Reading) -> str:
    if told.spec is None:
        return ""
    said = []
    for name, held in told.spec.attributes.items():
        word = name.replace("_", " ")
        if held.value is True:
            said.append(word)
        elif isinstance(held.value, str):
            said.append(f"{word} {held.value}")
        else:
            said.append(
                f"{word} {engineering(float(held.value), '' if held.unit in {None, 'count'} else str(held.unit))}"
            )
    return ", ".join(said)


def hit(found: Hit, width: int) -> Content:
    """One line: grade, what it is, how many, where."""
    entry = found.entry
    grade = found.grade or ""
    where = entry.place or "drawer" if entry.source == "part" else entry.supplier
    count = "plenty" if entry.quantity is None else str(entry.quantity)
    right = f"{count} × {where}"
    aside = min(26, max(14, width // 3))
    name = entry.description if not entry.part_number else f"{entry.part_number}  {entry.description}".strip()
    mark = "=" if found.same_number else " "
    return styled(
        (fitted(f"{mark}{grade}", 12), "bold"), fitted(name, max(10, width - 13 - aside)), " ", fitted(right, aside)
    )


def hit_line(found: Hit) -> Content:
    """The hit under the cursor in full."""
    entry = found.entry
    source = f"in the drawer, {entry.place}" if entry.source == "part" else f"offered by {entry.supplier}"
    lines = [
        styled((entry.part_number, "bold"), "  " if entry.part_number else "", entry.description),
        styled((f"{entry.kind or 'kind not known'}, {source}", "dim")),
        plain(found.why),
    ]
    if entry.left_over:
        lines.append(styled(("not understood: ", "dim"), entry.left_over))
    return stacked(line for line in lines if line.plain)


def verdict(found: Hit, fit: Fit) -> Content:
    """Why it fits or not, attribute by attribute; what to do, what to tell."""
    lines = [styled((str(fit.grade), "bold reverse"), f"  {found.entry.description or found.entry.part_number}")]
    for reason in fit.reasons:
        lock = " (locked)" if reason.locked else ""
        lines.append(
            styled(
                (fitted(reason.attribute.replace("_", " "), 16), "bold"),
                f" {_said(reason.wanted)} → {_said(reason.candidate)}: {reason.result}{lock}",
                (f"  {reason.rule} {reason.why}", "dim"),
            )
        )
    lines += [styled(("do: ", "bold"), text) for text in fit.do]
    lines += [styled(("tell the buyer: ", "bold"), text) for text in fit.tell]
    return stacked(lines)


def _said(value: object) -> str:
    return "not stated" if value in {None, ""} else str(value)


def wanted_head(items: Sequence[WantedPart]) -> Content:
    """How many parts are wanted, and how many are not described yet."""
    open_ones = sum(1 for item in items if not item.described)
    if not items:
        return styled(("wanted: nothing; no unit leans to fix", "dim"))
    told = f"{open_ones} to describe (Enter)" if open_ones else "all described"
    return styled((f"wanted: {len(items)}", "bold"), f", {told}")


def wanted(item: WantedPart, width: int, currency: str) -> Content:
    """One wanted part: for which unit, what, and whether it can be ordered."""
    need = item.need
    state = (
        ""
        if need is None
        else {"ordered": "on its way", "received": "here", "reserved": "set aside"}.get(need.state, "")
    )
    if not item.described:
        told = f"? describe it, about {shown(item.typical_cost, currency)}"
    else:
        told = need.text if need else ""
        told += " (compromise allowed)" if need and need.compromise_ok else ""
        told += f" ({state})" if state else ""
    name = fitted(f"{item.pieces} × {item.part_name}", max(12, width // 3))
    return styled(
        (fitted(str(item.unit), 3, right=True), "bold"), f" {name} ", fitted(told, max(8, width - 6 - width // 3))
    )


def pieces(text: str) -> int:
    """A count as typed; raises `Refused` for anything but a whole number of pieces."""
    if not (text.isascii() and text.isdigit() and len(text) <= 6):
        raise Refused(f"expected a whole number of pieces, not “{clean_line(text, 40)}”", where="pieces")
    return int(text)
