"""Reading belts, feet, switches, connectors, flat cables, pickups, motors and parts known by their number only."""

from __future__ import annotations

import re

from catalog import read_common as common
from catalog.cell_codes import CELL_CODE
from catalog.reading import Choice, Draft
from catalog.scan import Measure
from catalog.text import BEGIN, END

_NONE: frozenset[str] = frozenset()
_SECTION_LIMIT = 12
_MAINS = frozenset({110.0, 115.0, 120.0, 125.0, 220.0, 230.0, 240.0, 250.0, 277.0, 380.0, 400.0})
"""Bare volts of a switch that are alternating (common practice); they promise nothing for direct current."""
PART_NUMBER = re.compile(
    r"(?<![^\W_])(?=[A-Za-z0-9./-]{0,24}\d)(?=[A-Za-z0-9./-]{0,24}[A-Z])([A-Z0-9][A-Za-z0-9./-]{2,24})(?![\w])"
)
_RATING = re.compile(
    r"\d+(?:[.,]\d+)?(?:[kmµunp]?(?:V|VA|VAC|VDC|A|Ah|W|Hz|H|F)|mm|cm|MHz|GHz|Ohm|R|K|M|P|x)|\d+[x/-]\d+\w?",
    re.IGNORECASE,
)
LAMP_BASE = re.compile(
    r"(?<![^\W_])(?:E(?:5|5\.5|10|12|14|17|27)|BA[79][sS]|BA15[dDsS]|B22[dD]?|GU?\d{1,2}(?:\.\d)?|W2x4\.6d)(?![^\W_])"
)
"""Caps of lamps after IEC 60061 (from memory)."""
_NO_NUMBER = re.compile(
    rf"{LAMP_BASE.pattern}|(?:TO|SOT|DO|SOD|SO|SOIC|SSOP|TSSOP|DIP|PDIP|DIL|SIP|SIL|ZIP|QFP|TQFP|LQFP|PLCC|BGA|SC)-?\d{{1,3}}[A-Z]{{0,2}}"
    r"|IP\d{2}[A-Z]?|(?:IEC|EN|DIN|ISO|VDE|UL|EIA|JIS)-?\d+(?:-\d+)*|EI-?\d{2,3}(?:[./x]\d+)?|M\d{1,2}(?:[.,]\d{1,2})?(?:x\d+)?"
    r"|\d{1,3}T|Z=?\d{1,3}|[A-Z]{0,4}\d{1,4}[xX]\d{1,4}|AWG\d{1,2}"
    r"|1[NS]\d{2,4}[A-Z]?|PP3|\d{1,2}x(?:UM|EIN|AUS|NO|NC|CO)|\d{1,2}[xX](?:AAA?|[CDN]|PP3)",
    re.IGNORECASE,
)
"""Packages, caps of lamps, standards, classes of protection, core and thread sizes, counts of teeth or signs: many
parts share them, so none is a part's own number (common practice)."""
_FORM = re.compile(
    r"(?<![^\W_])(?:(SP|DP|[1-9]P)(ST|DT|[1-9]\d?T)(?:-?(NO|NC))?|([1-9])\s?pole\s([1-9]\d?)\s?(?:way|throw))(?![^\W_])",
    re.IGNORECASE,
)
_FOOTPRINT = re.compile(
    rf"{BEGIN}({common.NUMBER})(?:\s?mm)?\s?[x×*]\s?({common.NUMBER})(?:(?:\s?mm)?\s?[x×*]\s?({common.NUMBER}))?(?:\s?mm)?(?![\w])"
)
_HEIGHT = re.compile(rf"(?<![^\W_])(?:h|height|höhe|hoch)\s?[:=]?\s?({common.NUMBER})(?:\s?mm)?(?![\w])")
_FORCE = re.compile(rf"{BEGIN}({common.NUMBER})\s?(gf|n|cn)(?![^\W_])")
_WAYS = (
    "way|ways|pin|pins|pos|position|positions|polig|pol|p|circuits|contacts|conductors|voies|broches|vías|poli|cond|adrig|"
    "контактов"
)
_BARE = re.compile(r"(?<![\w./-])(?<![\d\s],)(\d{1,3}(?:[.,]\d{1,2})?)(?![\w%/]|[.,]\d|\s?[x×*])")


def fill_belt(draft: Draft) -> None:
    """Size, section and thickness. A size that is not said to be a diameter or a circumference stays open."""
    scan = draft.scan
    for between in list(scan.find(rf"{BEGIN}\d{{2,4}}\s?[-–]\s?\d{{2,4}}(?:\s?mm)?(?![^\W_])")):
        scan.set_aside(between.start(), between.end())  # a range is no size
    common.attribute_words(draft)
    section = draft.attributes.get("section")
    flat = section is not None and section.value == "flat"
    sizes = scan.take(
        rf"{BEGIN}(?:[øØ]\s?)?({common.NUMBER})(?:\s?mm)?\s?[x×*]\s?({common.NUMBER})(?:(?:\s?mm)?\s?[x×*]\s?({common.NUMBER}))?(?:\s?mm)?(?![\w])"
    )
    across = scan.take(rf"[øØ]\s?({common.NUMBER})(?:\s?mm)?(?![\w]|\s?[x×*])") if not sizes else None
    if across and common.first(across[1]) > _SECTION_LIMIT:
        draft.put("inside_diameter", common.first(across[1]))
    elif across:
        scan.release(across.start(), across.end())
    stated = scan.measures(_NONE)
    bare = [Measure(m.start(), m.end(), "mm", (common.first(m[1]),)) for m in scan.find(_BARE)]
    measures = stated + [m for m in bare if not any(s.start <= m.start < s.end for s in stated)]
    common.take_lengths(draft, measures, fits=_belt_length)
    if sizes:
        _belt_sizes(draft, sizes, flat=flat)
    waiting = [m for m in measures if m.unit == "mm" and scan.free(m.start, m.end)]
    plain = [(m.start, m.end, m.values[0]) for m in waiting]
    alone = len(plain) == 1 and len(bare) == 1 and not draft.attributes
    if _sized(draft):
        scan.take(r"(?<![^\W_])(?:innen|inner|inside|interno|intérieur)(?![^\W_])", low=True)
    for start, end, value in sorted(plain):
        if alone and value <= _SECTION_LIMIT:
            scan.claim(start, end)
            ways = (("thickness", "as the thickness"), ("width", "as the width"))
            draft.ask(*(Choice(f"{value:g} mm {why}", {name: draft.value(name, value)}) for name, why in ways))
        elif value <= 6 and not draft.has("thickness") and not flat:
            scan.claim(start, end)
            draft.put("thickness", value)
        elif value <= 12 and flat and (name := next((n for n in ("width", "thickness") if not draft.has(n)), None)):
            scan.claim(start, end)
            draft.put(name, value)
        elif value > 12 and not _sized(draft):
            scan.claim(start, end)
            _open_size(draft, value)


def _belt_length(name: str, millimetres: float) -> bool:
    """A belt's round is longer than 12 mm, its section thinner (common practice)."""
    return (millimetres > _SECTION_LIMIT) == (name in {"circumference", "inside_diameter", "length"})


def _sized(draft: Draft) -> bool:
    return draft.has("circumference") or draft.has("inside_diameter")


def _open_size(draft: Draft, value: float) -> None:
    ways = (("circumference", "as the inside circumference"), ("inside_diameter", "as the inside diameter"))
    draft.ask(*(Choice(f"{value:g} mm {why}", {name: draft.value(name, value)}) for name, why in ways))


def _belt_sizes(draft: Draft, match: re.Match[str], *, flat: bool) -> None:
    """`135 x 1.2`, `135 x 5 x 0.6`, `1.2 x 200`, or only the section `5 x 0.6`; a word behind may name the long one."""
    figures = [common.first(size) for size in match.groups() if size]
    long = [size for size in figures if size > _SECTION_LIMIT]
    section = [size for size in figures if size <= _SECTION_LIMIT]
    said = _size_word(draft, match.end()) if len(long) == 1 else None
    if said:
        draft.put(said, long[0])
    elif long and not _sized(draft):
        _open_size(draft, long[0])
    if not flat and section and len(set(section)) == 1:
        draft.put("thickness", section[0])
    else:
        for name, size in zip(("width", "thickness"), section, strict=False):
            draft.put(name, size)


def _size_word(draft: Draft, at: int) -> str | None:
    """What the one or two words at `at` call a belt's size, claimed; None if they are no such words."""
    words = re.match(r"\s?(([^\W\d_]+)(?: [^\W\d_]+)?)", draft.scan.low[at:])
    for phrase in words.groups() if words else ():
        name = common.length_name(phrase, {"circumference", "inside_diameter"})
        if words and name:
            draft.scan.claim(at + words.start(1), at + words.start(1) + len(phrase))
            return name
    return None


def fill_foot(draft: Draft) -> None:
    """Diameter by height."""
    common.attribute_words(draft)
    if sizes := common.take_sizes(draft):
        draft.put("diameter", sizes[0])
        draft.put("height", sizes[1])
    common.take_lengths(draft, draft.scan.measures(_NONE))


def fill_switch(draft: Draft) -> None:
    """Contact form, action, size and rating. A tact switch is momentary, one normally open contact, unless said."""
    scan = draft.scan
    if form := scan.take(_FORM):
        poles, throws = (form[1] or form[4]).upper(), (form[2] or form[5]).upper()
        draft.put("poles", {"S": 1.0, "D": 2.0}.get(poles[0]) or float(poles.rstrip("P")))
        draft.put("throws", {"S": 1.0, "D": 2.0}.get(throws[0]) or float(throws.rstrip("T")))
        if form[3]:
            draft.put("normally", "open" if form[3].upper() == "NO" else "closed")
    if normally := scan.take(r"(?<![^\W_])(N\.?O\.?|N\.?C\.?)(?![^\W_]|\s(?i:good|funciona))"):
        draft.put("normally", "open" if "O" in normally[1] else "closed")
    if height := scan.take(_HEIGHT, low=True):
        draft.put("actuator_height", common.first(height[1]))
    if size := scan.take(_FOOTPRINT):
        draft.put("footprint", f"{common.first(size[1]):g}x{common.first(size[2]):g}")
        if size[3] and not draft.has("actuator_height"):
            draft.put("actuator_height", common.first(size[3]))
    common.take_count(draft, "pins", "pin|pins|legs|polig")
    if force := scan.take(_FORCE, low=True):
        newtons = {"gf": 0.00980665, "n": 1.0, "cn": 0.01}[force[2]] * common.first(force[1])
        draft.put("force", round(newtons, 4))
    common.attribute_words(draft)
    measures = scan.measures(_NONE)
    mains = any(m.unit == "V" and m.values[0] in _MAINS for m in measures)
    rest = common.take_ratings(draft, measures, bare="voltage_ac" if mains else "voltage_dc")
    common.place(draft, rest, {"A": "current"})
    common.take_lengths(draft, rest, bare=["actuator_height"] if draft.has("footprint") else [])
    kind_of = draft.attributes.get("form")
    if kind_of and kind_of.value == "tact":
        draft.put("action", "momentary", implied=True)
        if not draft.has("poles"):
            draft.put("poles", 1.0, implied=True)
            draft.put("throws", 1.0, implied=True)
            draft.put("normally", "open", implied=True)


def fill_connector(draft: Draft) -> None:
    """Positions, pitch, gender, mount; the series only where the line calls it one."""
    scan = draft.scan
    series = scan.take(
        r"(?<![^\W_])(?:series|family|serie)\s([A-Z0-9-]{1,12})(?![^\W_])|(?<![^\W_])([A-Z0-9-]{1,12})\s(?:series|family)(?![^\W_])"
    )
    if series:
        draft.put("family", series[1] or series[2])
    elif scan.low.find("pin header") >= 0:  # before "6 pin" of "6 pin header" is taken
        draft.put("family", "pin header")
    rows = scan.take(rf"{BEGIN}([1-4])\s?[x×*]\s?(\d{{1,2}})(?:[\s-]?(?:way|pin|pins|pos|p))?{END}")
    if rows:
        draft.put("positions", float(int(rows[1]) * int(rows[2])))
    else:
        common.take_count(draft, "positions", _WAYS)
    common.attribute_words(draft, settled=frozenset({"family"}) if series else frozenset())
    ratings, rest = common.split_volts(draft, scan.measures(_NONE))
    for measure, _ in ratings:
        draft.put_measure("voltage", measure)
    common.place(draft, rest, {"A": "current"})
    # a lone length is the pitch only beside positions or a family: 3.5 mm is a jack's width
    common.take_lengths(draft, rest, bare=["pitch"] if draft.has("positions") or draft.has("family") else [])


def fill_ffc(draft: Draft) -> None:
    """Ways, pitch, type of ends, length. Of two unnamed lengths one up to 2.54 mm is the pitch."""
    scan = draft.scan
    common.take_count(draft, "conductors", _WAYS)
    if kind_of := scan.take(r"(?<![^\W_])(?:typ|type|forward|form)\s?([abcd])(?![^\W_])", low=True):
        sides = {"a": "same", "d": "opposite", "b": "type-b", "c": "type-c"}
        draft.put("contact_sides", sides[kind_of[1]])
    common.attribute_words(draft)
    measures = [m for m in scan.measures(_NONE) if m.unit == "mm"]
    common.take_lengths(draft, measures)
    for measure in measures:
        if scan.free(measure.start, measure.end):
            name = "pitch" if measure.values[0] <= 2.54 and not draft.has("pitch") else "length"
            if not draft.has(name):
                draft.put_measure(name, measure)


def fill_pickup(draft: Draft) -> None:
    """The model code with its suffix decides everything; of two codes none is picked."""
    common.attribute_words(draft)
    _number(draft, "model_code")


def fill_listed(draft: Draft) -> None:
    """A part known by its number only; of two numbers none is picked."""
    _number(draft, "part_number")


def _number(draft: Draft, name: str) -> None:
    """Claim the part number; a figure with its unit (`12V`) is none."""
    named = (match for match in draft.scan.find(PART_NUMBER) if not CELL_CODE.fullmatch(match[1]))
    found = [match for match in named if not (_RATING.fullmatch(match[1]) or _NO_NUMBER.fullmatch(match[1]))]
    for match in found:
        draft.scan.claim(match.start(), match.end())
    codes = list(dict.fromkeys(match[1] for match in found))
    draft.ask(*(Choice(f"{code} as the part's number", {name: draft.value(name, code)}) for code in codes))


def fill_motor(draft: Draft) -> None:
    """Volts, rotation, governed or plain, speed, wires, sizes."""
    scan = draft.scan
    common.attribute_words(draft)
    common.take_count(draft, "wires", "wire|wires|adrig|fils|lead")
    sizes = common.take_sizes(draft)
    if sizes:
        draft.put("diameter", sizes[0])
        draft.put("length", sizes[1])
    if diameter := scan.take(rf"[øØ]\s?({common.NUMBER})(?:\s?mm)?"):
        draft.put("diameter", common.first(diameter[1]))
    ratings, rest = common.split_volts(draft, scan.measures(_NONE))
    draft.volts_type = "dc" if any(sort == "dc" for _, sort in ratings) else None
    for measure, _ in ratings:
        draft.put_measure("voltage", measure)
    common.place(draft, rest, {"rpm": "speed"})
    lengths: list[Measure] = [m for m in rest if m.unit == "mm"]
    common.take_lengths(draft, lengths)
