"""Several values where one is expected: sections of a can, ranges, `2x` before a value. None is picked silently."""

from __future__ import annotations

import re

from catalog import read_common as common
from catalog.quantity import scaled, unit_at
from catalog.reading import Choice, Draft
from catalog.scan import Measure, Scan
from catalog.text import BEGIN

_PREFIXED = r"(?:\s?[µμunpм]к?[FfФф]?)?"
SECTIONS = re.compile(
    rf"(?<![\w.+])(?<![\d\s],)({common.NUMBER}){_PREFIXED}((?:\s?\+\s?{common.NUMBER}{_PREFIXED}){{1,3}})(?!\s?%)"
)
_TIMES = re.compile(rf"(?<![\w.,])([2-4])[x×]({common.NUMBER})\s?(?=[µμu])")
"""`2x50µF`, glued: two sections or two pieces."""
_RANGE = re.compile(
    rf"(?<![\w./-])(?<![\d\s],)((?!0\d){common.NUMBER})\s?(?:-|–|\.{{2,3}}|to|bis|до|\s/\s|or|oder|ou|или|of|and|und|et)\s?$"
)
_NUMBERS = re.compile(common.NUMBER)
GANGS = re.compile(rf"{BEGIN}2\s?[x×х]\s?(?=\d{{1,4}}(?:[.,]\d{{1,2}})?\s?[kKкMМRΩ])")


def sections(line: str) -> tuple[int, int, tuple[float, ...]] | None:
    """A capacitor of several sections, such as `32+16µF` or `2x50µF`: its place and the sections in farad."""
    if times := _TIMES.search(line):
        unit = unit_at(line, times.end())
        if unit and unit[0].unit == "F" and len(unit[0].exponents) == 1:
            one = scaled(times[2].replace(",", "."), unit[0].exponents[0])
            return times.start(), unit[1], (one,) * int(times[1])
    for match in SECTIONS.finditer(line) if "+" in line else ():
        last = list(_NUMBERS.finditer(line, match.start(), match.end()))[-1]
        space = 1 if line[last.end() : last.end() + 1] == " " else 0
        unit = unit_at(line, last.end() + space)
        if unit and unit[0].unit == "F" and len(unit[0].exponents) == 1:
            figures = [common.first(number[0]) for number in _NUMBERS.finditer(line, match.start(), match.end())]
            values = tuple(scaled(repr(figure), unit[0].exponents[0]) for figure in figures)
            return match.start(), max(unit[1], match.end()), values
    return None


def take_sections(draft: Draft) -> None:
    """A can of several sections is open: each section, or all of them joined."""
    found = sections(draft.scan.text)
    if found is None or not draft.scan.free(found[0], found[1]):
        return
    start, end, values = found
    draft.scan.claim(start, end)
    ways = dict.fromkeys(values, "one section of the can")
    ways[float(f"{sum(values):.9g}")] = "all sections joined"
    draft.ask(*(Choice(why, {"capacitance": draft.value("capacitance", value)}) for value, why in ways.items()))


def take_range(draft: Draft, measure: Measure, name: str, units: frozenset[str]) -> bool:
    """`100-220 ohm`, `4.7 or 47 ohm`: both are open. Returns whether the measure was one."""
    scan = draft.scan
    before = _RANGE.search(scan.text[: measure.start])
    tail = scan.text[measure.start : measure.end].lstrip("0123456789.,")
    if before is None or re.search(r"\d", tail) or not scan.free(before.start(), measure.end):
        return False
    low = Scan(before[1] + tail).measures(units)
    rising = len(low) == 1 and low[0].values[0] < measure.values[0]
    either = re.search(r"(?:[^\W\d_]{2}|/)\s?$", before[0]) is not None and len(low) == 1
    if not (rising or either) or low[0].unit != measure.unit or low[0].values == measure.values:
        return False
    scan.claim(before.start(), measure.end)
    ends = ((low[0].values[0], "first of the two"), (measure.values[0], "second of the two"))
    draft.ask(*(Choice(why, {name: draft.value(name, value)}) for value, why in ends))
    return True


def take_gangs(draft: Draft) -> None:
    """`2x10k` on a potentiometer: two gangs or two pieces."""
    if not draft.has("gangs") and draft.scan.take(GANGS):
        both = ((2.0, "2x as two gangs"), (1.0, "2x as two pieces"))
        draft.ask(*(Choice(why, {"gangs": draft.value("gangs", count)}) for count, why in both))
