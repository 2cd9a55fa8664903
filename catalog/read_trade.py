"""Reading what is asked of relays, lamps, light-emitting diodes, varistors, rollers, sticks, styluses, cell holders.

These stay parts known by their number; what is stated besides lets a substitute be judged. A line that states none of
it is read by its number alone.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from catalog import read_common as common
from catalog.accessories import is_accessory
from catalog.attribute_words import COLOUR_WORDS
from catalog.cell_codes import CELL_CODE, EVERYDAY, EVERYDAY_SIZES, LOW_CELL
from catalog.read_mechanical import LAMP_BASE, fill_listed
from catalog.reading import Draft

_NONE: frozenset[str] = frozenset()
_WORDS = {
    "relay": r"relays?|relais|реле",
    "lamp": r"lamp|bulb|lampe|glühlampe|лампа",
    "led": r"leds?|leuchtdioden?|light emitting diode|светодиод\w{0,2}",
    "varistor": r"varistors?|vdr|mov|варистор\w?",
    "roller": r"pinch roller|idler tyre|idler tire|idler|andruckrolle|roller",
    "stick-module": r"stick module|analogue stick|analog stick",
    "stylus": r"stylus|nadel",
    "battery-holder": (
        r"(?:(?:battery|cell|battery cell)[ -])?(?:holders?|boxe?s?|trays?)|batterie(?:halter|fach|box)\w{0,3}|halter"
        r"|coupleur de piles|porte[ -]piles?|portapilas|portapile|батарейный отсек"
    ),
}
_FORM = re.compile(r"(?<![^\W_])(?:(SP|DP|[1-9]P)(ST|DT|[1-9]\d?T))(?![^\W_])", re.IGNORECASE)
_COIL = re.compile(r"(?:coil|spule)\s?[:=]?\s?$|^\s?(?:coil|spule)(?![^\W_])")
_CONTACTS = re.compile(r"(?<![^\W_])(?:contacts?|kontakte?)\s?[:=]?\s?$")
_AT_CONTACTS = re.compile(r"\s?(?:at the |on the )?(?:contacts?|kontakte?)(?![^\W_])")
_FAMILY = re.compile(
    r"(?<![^\W_])(?:series|family|serie)\s([A-Z0-9-]{1,12})(?![^\W_])|(?<![^\W_])([A-Z0-9-]{1,12})\s(?:series|family)(?![^\W_])"
)
_PINS = re.compile(r"(?<![^\W_])(?:pin map|pinout|pins like)\s?[:=]?\s?([A-Za-z0-9-]{1,16})(?![\w])")


_HELD = re.compile(
    rf"(?<![^\W_])(?:(?:for|für|pour|per|para|для)\s)?"
    rf"(?:(?P<some>\d{{1,2}})\s?(?:[xX×х]\s?)?(?=[A-Za-z]))?"
    rf"(?:(?P<name>AAA|AA|(?i:mignon|micro|pp3))|"
    r"(?P<letter>(?<=[xX×х]|\s)(?:C|D|N|(?i:baby|mono)))(?(some)|(?=\s(?:cells|size)))"
    rf"|(?P<code>(?:{LOW_CELL.pattern})|(?:{CELL_CODE.pattern})))(?![^\W_])"
    rf"(?:[ -](?:size|cells|batteries|zellen|batterien|piles?|pilas))?(?:\s?[xX×х]\s?(?P<times>\d{{1,2}})(?![\w.,]))?"
)
"""The cells that a holder is for, and how many."""
_EMPTY = r"(?<![^\W_])(?:empty|leer\w{0,2}|vide|vací[oa]|vuot[oa]|leeg)(?![^\W_])"


def fill_trade(draft: Draft) -> None:
    """The traits of the thing that is named, then its number."""
    low = draft.scan.low
    if is_accessory(draft.scan.text):
        fill_listed(draft)
        return
    what = next((name for name, words in _WORDS.items() if re.search(rf"(?<![^\W_])(?:{words})(?![^\W_])", low)), None)
    if what is not None:
        if pins := draft.scan.take(_PINS):
            draft.put("footprint", pins[1])
        if family := draft.scan.take(_FAMILY):
            draft.put("family", family[1] or family[2])
        _TRAITS[what](draft)
        if draft.attributes or draft.questions:
            draft.put("what", what)
    fill_listed(draft)


def _relay(draft: Draft) -> None:
    """Coil and contacts; of two voltages the one beside the word is the coil's, and so is a lone one up to 48 V."""
    scan = draft.scan
    if form := scan.take(_FORM):
        poles, throws = form[1].upper(), form[2].upper()
        draft.put("poles", {"S": 1.0, "D": 2.0}.get(poles[0]) or float(poles.rstrip("P")))
        draft.put("throws", {"S": 1.0, "D": 2.0}.get(throws[0]) or float(throws.rstrip("T")))
    ratings, rest = common.split_volts(draft, scan.measures(_NONE))
    for measure, sort in ratings:
        beside = _COIL.search(scan.low[: measure.start]) or _COIL.search(scan.low[measure.end :])
        contacts = _CONTACTS.search(scan.low[: measure.start]) or _AT_CONTACTS.match(scan.low, measure.end)
        if beside or (len(ratings) == 1 and max(measure.values) <= 48 and not contacts):
            draft.put_measure("coil_voltage", measure)
            if sort:
                draft.put("coil_current", sort)
        elif sort:
            draft.put_measure(f"voltage_{sort}", measure)
    if draft.has("coil_voltage"):
        scan.take(r"(?<![^\W_])(?:coil|spule)(?![^\W_])", low=True)
    common.place(draft, rest, {"A": "contact_current"})


def _lamp(draft: Draft) -> None:
    if draft.scan.take(r"(?<![^\W_])led(?![^\W_])", low=True):
        draft.put("led", value=True)
    if base := draft.scan.take(LAMP_BASE):
        draft.put("footprint", base[0].upper())
    ratings, rest = common.split_volts(draft, draft.scan.measures(_NONE))
    for measure, _ in ratings:
        draft.put_measure("voltage", measure)
    common.place(draft, rest, {"A": "current", "W": "power"})


def _led(draft: Draft) -> None:
    """Colour, body and the volts across it; what it gives light with is not judged."""
    for _, _, colour in draft.scan.words(COLOUR_WORDS):
        draft.put("colour", colour)
    ratings, rest = common.split_volts(draft, draft.scan.measures(_NONE))
    for measure, _ in ratings:
        draft.put_measure("voltage", measure)
    common.place(draft, rest, {"A": "current", "W": "power"})
    common.take_lengths(draft, rest, bare=["diameter"])


def _varistor(draft: Draft) -> None:
    """The volts it is worked at, which alternate unless direct is said."""
    rest = common.take_ratings(draft, draft.scan.measures(_NONE), bare="voltage_ac")
    common.take_lengths(draft, rest, bare=["diameter"])


def _roller(draft: Draft) -> None:
    if sizes := common.take_sizes(draft, 3):
        for name, size in zip(("diameter", "width", "bore"), sizes, strict=True):
            draft.put(name, size)
    common.take_lengths(draft, draft.scan.measures(_NONE))


def _stick(draft: Draft) -> None:
    if draft.scan.take(r"(?<![^\W_])(?:magnetic|hall)(?![^\W_])", low=True):
        draft.put("magnetic", value=True)
    measures = draft.scan.measures(frozenset({"ohm"}))
    common.place(draft, measures, {"ohm": "resistance"})
    common.take_lengths(draft, measures)


def _stylus(draft: Draft) -> None:
    if tip := draft.scan.take(r"(?<![^\W_])(conical|elliptical)(?![^\W_])", low=True):
        draft.put("tip", tip[1])


def _battery_holder(draft: Draft) -> None:
    """How many cells of which size it holds; it is none itself, and empty as it is sold."""
    if held := draft.scan.take(_HELD):
        size = (held["name"] or held["letter"] or "").lower()
        draft.put("cell", EVERYDAY.get(size) or _size_name(held["code"].upper()))
        if count := held["some"] or held["times"]:
            draft.put("cells", float(count))
    draft.scan.take(_EMPTY, low=True)


def held_cells(line: str) -> tuple[int, int] | None:
    """Where a line about a battery holder says which cells it is for, counts and all; None where it says none."""
    named = re.search(rf"(?<![^\W_])(?:{_WORDS['battery-holder']})(?![^\W_])", line.lower())
    held = _HELD.search(line) if named else None
    return held.span() if held else None


def _size_name(code: str) -> str:
    """What a code says of the size; a holder does not care what is in the cell.

    `AA` for LR6, `2032` for CR2032 and ML2032, `R44` for LR44 and SR44; a code that says more stays as it is.
    """
    match = CELL_CODE.fullmatch(code)
    if match is None or match[4] is None or match[2] or match[5] or match[6]:
        return code
    size = f"R{match[4]}"
    if len(match[4]) > 3:
        return match[4]
    return next((name for name, old in EVERYDAY_SIZES.items() if old == size), size)


_TRAITS: dict[str, Callable[[Draft], None]] = {
    "relay": _relay,
    "lamp": _lamp,
    "led": _led,
    "varistor": _varistor,
    "roller": _roller,
    "stick-module": _stick,
    "stylus": _stylus,
    "battery-holder": _battery_holder,
}
