"""How parts, offers and needs are written on the screen."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content

from catalog.fit import Fit, Reason
from catalog.money import shown
from catalog.quantity import engineering
from catalog.reading import Reading
from catalog.spec import KINDS, PartSpec
from catalog.text import Refused, clean_line
from triage.actions.drawer import NO_PLACE
from triage.actions.finding import Found, Search
from triage.actions.promises import Promise
from triage.screens.plain import counted, fitted, plain, stacked, styled
from triage.wants import WantedPart

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
    told = found.reading
    if told is None:
        way_out = "type a value or kind; Esc or ↓ leaves this line"
        return styled((f" your drawer, {counted(len(found.found), 'entry', 'entries')}; {way_out}", "dim"))
    if found.making is not None:
        told_so = f" getting ready, {found.making.percent} %"
        return styled((told_so, "bold"), ("; until then only what holds every word as it is typed", "dim"))
    left = (f"   not understood: {' '.join(told.left_over)}", "italic") if told.left_over else ""
    if told.status == "refused":
        return styled((" not a part as it stands: ", "bold"), told.reason)
    if told.status == "ambiguous":
        count = len(told.readings)
        return styled((f" {count} ways to read it: ", "bold"), "; or ".join(map(way, told.readings)), left)
    if told.spec is None or not (told.spec.attributes or told.spec.part_number):
        return styled((" searched as words", "dim"), left)
    return styled(" ", (told.spec.kind, "bold"), "  ", attributes(told), left)


def nothing(found: Search) -> str:
    """What is said where nothing was found."""
    if found.making is not None:
        return "nothing holds these words as they are typed"
    what = "nothing like it in the drawer or on offer" if found.query.strip() else "nothing in the drawer yet"
    return f"{what}; Esc, then a adds, i imports"


def way(option: Reading) -> str:
    """One way to read an ambiguous text."""
    said = attributes(option)
    return f"{said} ({option.why})" if said and option.why else said or option.why


def attributes(told: Reading) -> str:
    """What a reading states, in words."""
    return "" if told.spec is None else _stated(told.spec)


def _stated(spec: PartSpec) -> str:
    return ", ".join(_attribute(spec.kind, name, held.value) for name, held in spec.attributes.items())


def _attribute(kind: str, name: str, value: object) -> str:
    word = name.replace("_", " ")
    return word if value is True else f"{word} {_said(kind, name, value)}"


def _said(kind: str, name: str, value: object) -> str:
    """An attribute's value with its unit, as it is read aloud."""
    if value is None or value == "":
        return "not stated"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        unit = KINDS.get(kind, {}).get(name, "")
        return engineering(float(value), "" if unit in {"word", "text", "flag", "count"} else unit)
    return str(value)


def hit(search: Search, row: int, width: int) -> Content:
    """One line: grade, what it is, how many, where it lies or who sells it, for whom, the price where there is room."""
    found = search.found[row]
    entry = found.hit.entry
    where = entry.place or "drawer" if entry.source == "part" else entry.supplier
    count = "plenty" if entry.quantity is None else f"{entry.quantity}×"
    price = 14 if width >= 90 else 0
    aside = min(30, max(18, width // 4)) if width < 90 else 24
    promised = 9 if search.promised else 0
    name = f"{entry.part_number}  {entry.description}".strip()
    mark = "=" if found.hit.same_number else ""
    grade = _state(found, mark)
    return styled(
        (grade, "bold"),
        fitted(name, max(10, width - len(grade) - 1 - 7 - aside - promised - price)),
        " ",
        (fitted(count, 6, right=True), "bold" if entry.source == "part" and entry.quantity else "dim"),
        " ",
        fitted(where, aside),
        (fitted(_for_whom(found.promised), promised), "bold") if promised else "",
        fitted(found.price, price, right=True) if price else "",
    )


def _for_whom(promised: Sequence[Promise]) -> str:
    """How many pieces are promised, and the units they are for: `2 for 7,9`."""
    units = ",".join(str(unit) for unit in dict.fromkeys(item.unit for item in promised))
    return f"{sum(item.pieces for item in promised)} for {units}" if promised else ""


def _state(found: Found, mark: str = "") -> str:
    """The first column: that the pieces are bad, then the grade; empty where there is neither."""
    grade = f"{mark}{_grade(found)}" if found.hit.why else ""
    if found.bad:
        told = f"bad, {grade}".rstrip(", ")
        return fitted(told, max(11 if grade else 0, len(told) + 2))
    return fitted(grade, 11) if grade else ""


def _grade(found: Found) -> str:
    return found.hit.grade or ("by text" if found.hit.why else "")


def candidate(found: Found, width: int) -> Content:
    """The same for something that may cure a unit: grade, what it is, where, at what price."""
    entry = found.hit.entry
    where = f"{entry.quantity}× {entry.place or 'drawer'}" if entry.source == "part" else entry.supplier
    aside = min(26, max(16, width // 4))
    price = 13
    name = f"{entry.part_number}  {entry.description}".strip()
    grade = _state(found) or fitted("", 11)
    return styled(
        (grade, "bold"),
        fitted(name, max(10, width - len(grade) - 1 - aside - 1 - price)),
        " ",
        fitted(where, aside),
        " ",
        fitted(found.price or "yours", price, right=True),
    )


def hit_lines(found: Found, verdict: Fit | None) -> Content:
    """The hit under the cursor in full: what, where, and why it fits or not, the worst first."""
    entry = found.hit.entry
    if entry.source == "part":
        count = "none left" if not entry.quantity else f"{entry.quantity} there"
        source = f"yours, {entry.place or NO_PLACE}, {count}"
        if found.promised:
            left = (entry.quantity or 0) - sum(item.pieces for item in found.promised)
            source += f"; promised: {', '.join(map(str, found.promised))}; {max(0, left)} free"
    else:
        stock = "plenty" if entry.quantity is None else f"{entry.quantity} in stock"
        source = f"{entry.supplier}, {found.price or 'no price'}, {stock}"
    lines = [
        styled((f"{entry.part_number}  {entry.description}".strip(), "bold")),
        styled((f"{entry.kind or 'kind not known'}; {source}", "dim")),
    ]
    if found.bad:
        lines.insert(1, styled(("bad: ", "bold"), found.bad))
    if entry.spec is not None and entry.spec.attributes:
        lines.append(styled(("read as: ", "dim"), _stated(entry.spec)))
    if entry.left_over:
        lines.append(styled(("not understood: ", "dim"), entry.left_over))
    if verdict is None:
        return stacked(lines)
    lock = ", and nothing can overrule it" if verdict.locked else ""
    lines.append(styled((str(verdict.grade), "bold reverse"), f" {_GRADES[str(verdict.grade)]}{lock}"))
    lines += [styled(("do: ", "bold"), text) for text in verdict.do]
    lines += [styled(("tell the buyer: ", "bold"), text) for text in verdict.tell]
    lines += [_reason(entry.kind, reason) for reason in verdict.reasons]
    return stacked(lines)


_GRADES = {
    "exact": "the same in all that is stated",
    "drop-in": "fits as it is",
    "rework": "fits with some work",
    "compromise": "would serve, with a drawback",
    "unknown": "cannot be told from what is stated",
    "refuse": "does not fit",
}


def _reason(kind: str, reason: Reason) -> Content:
    """One attribute: what is wanted, what this has, the result, the rule and why."""
    name = reason.attribute
    lock = ", locked" if reason.locked else ""
    sides = ""
    if reason.wanted is not None or reason.candidate is not None:
        sides = f" {_said(kind, name, reason.wanted)} → {_said(kind, name, reason.candidate)}"
    return styled(
        (name.replace("_", " "), "bold"),
        f"{sides}: {reason.result}{lock}",
        (f"  {reason.why}  ({reason.rule})", "dim"),
    )


_ASIDE = {"dropped": "not wanted", "elsewhere": "leans elsewhere"}
"""Why a described part is not wanted now."""


def wanted_head(items: Sequence[WantedPart]) -> Content:
    """How many parts are wanted, and how many are not described yet."""
    items = [item for item in items if not item.aside]
    open_ones = sum(1 for item in items if not item.described)
    if not items:
        return styled(("The units want nothing: none leans to fix", "dim"))
    told = f"{open_ones} still to describe: Tab, then Enter" if open_ones else "all described"
    return styled((f"The units want {len(items)}", "bold"), f"; {told}")


def wanted(item: WantedPart, width: int, currency: str) -> Content:
    """One wanted part: for which unit, what, and whether it can be ordered."""
    need = item.need
    if need is None or not item.described:
        told, style = f"? what exactly; about {shown(item.typical_cost, currency)}", "bold"
    else:
        state = {"ordered": "on its way: ", "received": "here: ", "reserved": "set aside: "}.get(need.state, "")
        compromise = ", compromise allowed" if need.compromise_ok else ""
        told, style = f"{state}{need.text}{compromise}", ""
    name = f"{item.pieces} × {item.part_name}"
    name_width = max(14, width // 3)
    if item.aside and need is not None:
        line = f"{item.unit:>3} {fitted(name, name_width)} {_ASIDE[item.aside]}: {need.text}"
        return styled((fitted(line, width), "dim"))
    return styled(
        (fitted(str(item.unit), 3, right=True), "bold"),
        f" {fitted(name, name_width)} ",
        (fitted(told, max(8, width - 5 - name_width)), style),
    )


def wanted_lines(item: WantedPart, currency: str) -> Content:
    """The wanted part under the cursor in full."""
    lines = [
        styled((f"unit {item.unit}, {item.class_name}: {item.pieces} × {item.part_name}", "bold")),
        styled(("for: ", "dim"), item.what or "what was described by hand", (f"; read as {item.kind}", "dim")),
    ]
    if item.need is not None and item.described:
        lines.append(styled(("it is: ", "dim"), item.need.text))
        allowed = "allowed" if item.need.compromise_ok else "not allowed"
        lines.append(styled(("a compromise is ", "dim"), allowed, ("  k turns it", "dim")))
    else:
        about = shown(item.typical_cost, currency, with_code=True)
        lines.append(
            styled(("not described: the sums guess ", "dim"), about, (" and nothing is ordered for it", "dim"))
        )
        if item.on_sheet:
            lines.append(styled(("the sheet of its model says: ", "dim"), item.on_sheet, ("  s takes it", "dim")))
    if item.aside == "dropped":
        lines.append(styled(("not wanted, you said", "bold"), ("  x wants it again", "dim")))
    elif item.aside:
        lines.append(styled(("the unit leans elsewhere now", "bold"), ("; the words are kept", "dim")))
    if item.alike:
        lines.append(plain(item.alike))
    return stacked(lines)


def pieces(text: str) -> int:
    """A count as typed; raises `Refused` for anything but a whole number of pieces."""
    if not (text.isascii() and text.isdigit() and len(text) <= 6):
        raise Refused(f"expected a whole number of pieces, not “{clean_line(text, 40)}”", where="pieces")
    return int(text)
