"""Pieces that several kinds share: tolerance, volts, lengths, counts. Every function claims what it reads."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence

from catalog.attribute_words import ATTRIBUTE_WORDS
from catalog.dielectric_codes import decode_dielectric
from catalog.markings import Tolerance, tolerance_letter
from catalog.quantity import numbers, scaled
from catalog.reading import Choice, Draft
from catalog.scan import Measure
from catalog.spec import KINDS
from catalog.text import BEGIN, END, Refused
from catalog.words import DIMENSION_WORDS

NUMBER = r"\d{1,6}(?:[.,]\d{1,4})?"
_ASYMMETRIC = (
    re.compile(r"[-−–]\s?(\d{1,3})\s?%?\s?[/,]?\s?\+\s?(\d{1,3})\s?%"),
    re.compile(r"\+\s?(\d{1,3})\s?%?\s?[/,]?\s?[-−–]\s?(\d{1,3})\s?%"),
)
_PERCENT = re.compile(rf"{BEGIN}(?:±|\+/-|\+-)?\s?({NUMBER})\s?%(?!\s?/\s?°?[CKck](?![^\W_]))")
_PICOFARADS = re.compile(rf"(?:±|\+/-|\+-)\s?({NUMBER})\s?p[Ff]?(?![^\W_])")
_COUPLED = re.compile(
    rf"(?:(?P<low>{BEGIN}{NUMBER})\s?V?\s?(?:-|–|\.{{2,3}}|to|bis)\s?)(?P<high>{NUMBER})\s?V(?:AC|DC|ac|dc)?(?![^\W\d_])"
)
_TESTED = (
    r"(?:(?:test|proof|withstand|impulse|surge|peak|prüf|spitzen|stoß|stoss)[\s-]?(?:voltage|volts|spannung)?|spitze|sv|"
    r"tension d'essai|crête)"
)
"""Volts that a part stands for a moment only: never its rating (common practice)."""
_NO_RATING = re.compile(rf"\s?(?:input|in|rail|supply|bulk|vreg|line|bus|versorgung|eingang|{_TESTED})(?![^\W_])")
_NO_RATING_BEFORE = re.compile(
    rf"(?:vreg|rail|(?<!power )supply|input|vin|vcc|(?<![^\W_]){_TESTED}"
    r"|(?<![^\W_])(?:tested|measured|formed|reformed|charged|geprüft|gemessen|formiert)\s(?:at|to|with|bei|mit|auf))\s?[:=]?\s?$"
)
_SUPPLY_ITSELF = re.compile(r"(?:plug in|power) supply\s?[:=]?\s?$")
_MEASURED = re.compile(r"^[\d.,]+\s?(?:v(?:ac|dc)?|w|mm|%)(?![^\W_])")
"""A figure with its unit, which is no mark although a word for marks stands in front."""
_CIRCUIT = re.compile(r"\s?(?:circuit|schaltung)(?![^\W_])")
_CURRENT_SORT = re.compile(r"(?<![^\W_])(ac|dc)\s?$")
_SORT_AFTER = re.compile(r"\s?(ac|dc)(?![^\W_])")


def first(text: str) -> float:
    """The plain reading of a number with point or comma, where a thousands comma makes no sense."""
    return numbers(text)[0]


def attribute_words(draft: Draft, *, settled: frozenset[str] = frozenset()) -> None:
    """State what the words of the draft's kind say; what is `settled` already they do not touch."""
    table = ATTRIBUTE_WORDS.get(draft.kind, {})
    for _, _, effects in draft.scan.words(table):
        for name, value in effects:
            if name in KINDS[draft.kind] and name not in settled:
                draft.put(name, value)


def take_tolerance(draft: Draft) -> None:
    """Percentages, and for capacitors an absolute tolerance in picofarads. A dielectric's own change is none."""
    scan = draft.scan
    for order, pattern in zip((1, -1), _ASYMMETRIC, strict=True):
        match = scan.take(pattern)
        if match:
            minus, plus = (float(size) for size in match.groups()[::order])
            set_tolerance(draft, Tolerance(minus, plus))
            return
    if "capacitance" in KINDS[draft.kind] and (absolute := scan.take(_PICOFARADS)):
        size = first(absolute[1])
        set_tolerance(draft, Tolerance(size, size, "pF"))
    for match in list(scan.find(_PERCENT)):
        size = first(match[1])
        scan.claim(match.start(), match.end())
        if not _own_change(draft, scan.text[: match.start()], size):
            set_tolerance(draft, Tolerance(size, size))


def _own_change(draft: Draft, before: str, size: float) -> bool:
    """Whether a percentage is the change a dielectric code promises: right behind it, or no usual tolerance at all."""
    code = draft.attributes.get("dielectric")
    try:
        promised = code is not None and decode_dielectric(str(code.value)).change == (-size, size)
    except Refused:
        return False
    return promised and (size in {15.0, 22.0} or re.search(r"[XYZ]\d[A-Z]\s?[,(±+/\-]{0,4}\s?$", before) is not None)


def set_tolerance(draft: Draft, tolerance: Tolerance) -> None:
    """State the tolerance; a second, different one becomes a question."""
    if draft.tolerance is None or draft.tolerance.implied:
        draft.tolerance = tolerance
    elif draft.tolerance != tolerance and not tolerance.implied:
        old, draft.tolerance = draft.tolerance, None
        draft.ask(
            *(
                Choice(f"tolerance {item.minus:g}/{item.plus:g} {item.unit}", tolerance=item)
                for item in (old, tolerance)
            )
        )


def letter_tolerance(draft: Draft, measure: Measure, *, farads: bool = False) -> None:
    """A tolerance letter glued to a value or standing alone right behind it; anything else stays left over."""
    scan, letter, end = draft.scan, measure.letter, measure.end
    if not letter:
        letters = "BCDJKMGFZ" if farads else "JKMGF"
        alone = re.match(rf"\s([{letters}]){END}", scan.text[end:])
        if not alone or not scan.free(end, end + 2):
            return
        letter, end = alone[1], end + 2
    try:
        tolerance = tolerance_letter(letter, measure.values[0] if farads else None)
    except Refused:
        return
    scan.claim(measure.start, end)
    set_tolerance(draft, tolerance)


def split_volts(draft: Draft, measures: Sequence[Measure]) -> tuple[list[tuple[Measure, str | None]], list[Measure]]:
    """The volts that may be ratings with "ac", "dc" or None, and everything else.

    A voltage of a rail, input or supply, or one of a range, is no rating and stays left over.
    """
    scan = draft.scan
    ranges = [match.span() for match in scan.find(_COUPLED) if first(match["low"]) < first(match["high"])]
    ratings: list[tuple[Measure, str | None]] = []
    others: list[Measure] = []
    for measure in measures:
        if measure.unit != "V":
            others.append(measure)
            continue
        before, after = scan.low[: measure.start], scan.low[measure.end :]
        if any(start <= measure.start < end for start, end in ranges):
            continue
        if _NO_RATING.match(after) or (_NO_RATING_BEFORE.search(before) and not _SUPPLY_ITSELF.search(before)):
            continue
        circuit = _CIRCUIT.match(after)
        if circuit and "circuit_volts" in KINDS[draft.kind]:
            scan.claim(measure.start, measure.end + circuit.end())
            draft.put_measure("circuit_volts", measure)
            continue
        sort = measure.kind_of_volts
        named = None if sort else _CURRENT_SORT.search(before) or _SORT_AFTER.match(after)
        if named:
            sort = named[1]
            offset = 0 if named.re is _CURRENT_SORT else measure.end
            scan.claim(offset + named.start(), offset + named.end())
        ratings.append((measure, sort))
    return ratings, others


def take_ratings(draft: Draft, measures: Sequence[Measure], bare: str = "voltage_dc") -> list[Measure]:
    """Put volts into voltage_ac and voltage_dc; one without a sort goes to `bare` as implied. Returns the rest."""
    ratings, others = split_volts(draft, measures)
    for measure, sort in ratings:
        name = f"voltage_{sort}" if sort else bare
        if name not in KINDS[draft.kind]:
            continue  # a sort of volts this kind is not rated in stays left over
        draft.scan.claim(measure.start, measure.end)
        if len(measure.values) > 1:
            draft.put_measure(name, measure)
        elif draft.has(name) and not sort and draft.attributes.get(name) and draft.attributes[name].implied:
            two_ratings(draft, name, measure.values[0])
        elif sort or not draft.has(name):
            draft.put(name, measure.values[0], implied=sort is None)
        else:
            two_ratings(draft, name, measure.values[0])
    return others


def two_ratings(draft: Draft, name: str, second: float) -> None:
    """Two bare voltages in one line: which is the rating is a question."""
    held = draft.attributes.get(name)
    if held is not None and held.value != second:
        del draft.attributes[name]
        both = (held, draft.value(name, second, implied=held.implied))
        draft.ask(*(Choice(f"{item.value:g} V as the rating", {name: item}) for item in both))


def place(draft: Draft, measures: Sequence[Measure], slots: Mapping[str, str]) -> list[Measure]:
    """Put each measure into the attribute its unit has in `slots`; returns those without one (they stay left over)."""
    rest: list[Measure] = []
    for measure in measures:
        if measure.unit in slots and draft.scan.free(measure.start, measure.end):
            draft.put_measure(slots[measure.unit], measure)
        elif measure.unit not in slots:
            rest.append(measure)
    return rest


def take_lengths(
    draft: Draft,
    measures: Sequence[Measure],
    *,
    bare: Sequence[str] = (),
    fits: Callable[[str, float], bool] = lambda _name, _size: True,
) -> None:
    """Put millimetres where the word beside them says; unnamed ones fill `bare` in order, or stay left over.

    A word between two lengths names the first that `fits` allows: (attribute, millimetres) to whether it can be.
    """
    names = set(KINDS[draft.kind])
    waiting: list[Measure] = []
    for measure in measures:
        if measure.unit != "mm" or not draft.scan.free(measure.start, measure.end):
            continue
        name = _named_length(draft, measure, names, fits)
        if name:
            draft.put_measure(name, measure)
        else:
            waiting.append(measure)
    free = [name for name in bare if not draft.has(name)]
    for measure, name in zip(waiting, free, strict=False):
        draft.put_measure(name, measure)


def length_name(phrase: str, names: set[str]) -> str | None:
    """The attribute of `names` a length word stands for; a switch's height is its actuator's, a belt's Ø the inside."""
    name = DIMENSION_WORDS.get(phrase)
    aliases = {"height": "actuator_height", "diameter": "inside_diameter"}
    if name and name not in names:
        name = aliases.get(name)
    return name if name in names else None


def _named_length(draft: Draft, measure: Measure, names: set[str], fits: Callable[[str, float], bool]) -> str | None:
    scan = draft.scan
    before = re.search(r"((?:[^\W\d_]+ ){0,1}[^\W\d_]+)\s?[:=]?\s?$", scan.low[: measure.start])
    after = re.match(r"\s?((?:[^\W\d_]+ ){0,1}[^\W\d_]+)", scan.low[measure.end :])
    options: list[tuple[int, int, str]] = []
    if after:
        words = after[1]
        options += [
            (measure.end + after.start(1), measure.end + after.start(1) + len(p), p) for p in (words, words.split()[0])
        ]
    if before:
        words, end = before[1], before.end(1)
        options += [(end - len(p), end, p) for p in (words, words.split()[-1])]
    for start, end, phrase in options:
        name = length_name(phrase, names)
        if name and scan.free(start, end) and fits(name, measure.values[0]):
            scan.claim(start, end)
            return name
    return None


def take_sizes(draft: Draft, parts: int = 2) -> tuple[float, ...] | None:
    """The first unclaimed `a x b` (or `a x b x c`) in millimetres, claimed; `2 x 1.5 V` is a count and a voltage."""
    more = rf"\s?[xX×*]\s?[LHlh]?\s?({NUMBER})"
    match = draft.scan.take(
        rf"{BEGIN}(?:[øØD]\s?)?({NUMBER})(?:\s?mm)?" + more * (parts - 1) + r"(?:\s?mm)?(?!\w|[.,]\d|\s?V\b)"
    )
    return tuple(first(size) for size in match.groups()) if match else None


def take_count(draft: Draft, name: str, units: str) -> None:
    """A whole number before one of the words in `units` (alternatives of a pattern): `24 way`, `9P`."""
    match = draft.scan.take(rf"{BEGIN}(\d{{1,3}})[\s-]?(?:{units})(?![^\W_])", low=True)
    if match:
        draft.put(name, float(match[1]))


def take_fraction_power(draft: Draft) -> None:
    """`1/4 W` and `¼W` before numbers are looked at."""
    match = draft.scan.take(r"(?<![\w./])(?<![\d\s],)(?:([¼½¾⅛])|1/(2|4|8|10|16))\s?(?:de\s)?[Ww](?:att)?(?![^\W_])")
    if match:
        sign = {"¼": 0.25, "½": 0.5, "¾": 0.75, "⅛": 0.125}
        draft.put("power", sign[match[1]] if match[1] else 1 / int(match[2]))


def mark_token(draft: Draft) -> str | None:
    """The piece after a word such as "marked", claimed with it; None when the line has no such word."""
    if not draft.marked:
        return None
    words = "marked|marking|mark|stamped|printed|code|aufdruck|gestempelt|marquage|маркировка"
    after = draft.scan.find(rf"(?<![^\W_])(?:{words})[:\s\"'=]{{1,4}}([^\s\"',;]{{1,12}})", low=True)
    before = draft.scan.find(rf"{BEGIN}([^\s\"',;]{{2,8}})[\"']?\s(?:chip\s)?(?:{words})(?![^\W_])", low=True)
    match = next(
        (m for m in (*after, *before) if re.search(r"\d", m[1]) and not _MEASURED.search(draft.scan.low[m.start(1) :])),
        None,
    )
    if match is None:
        return None
    draft.scan.claim(match.start(), match.end())
    return draft.scan.text[match.start(1) : match.end(1)]


def micro(farads: str) -> float:
    """Microfarads as farads."""
    return scaled(farads.replace(",", "."), -6)
