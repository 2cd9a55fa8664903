"""Reading resistors, potentiometers, inductors, ferrites, thermistors, crystals and wire."""

from __future__ import annotations

import math
import re

from catalog import read_common as common
from catalog.colour_bands import decode_bands, find_bands, other_bands
from catalog.markings import Tolerance, decode_chip_resistor, decode_eia96
from catalog.quantity import decode_rkm, numbers, scaled
from catalog.read_capacitors import take_chip_size
from catalog.read_several import take_gangs, take_range
from catalog.reading import Choice, Draft
from catalog.sizes import CHIPS, gauge_diameter
from catalog.text import BEGIN, END, Refused

_OHM = frozenset({"ohm"})
_BARE = re.compile(rf"{BEGIN}(\d{{1,7}}(?:[.,]\d{{1,4}})?)(?![\w%]|[.,]\d|\s?[x×*])")
_LONE_PREFIX = re.compile(rf"{BEGIN}([kKкКMМ])\s$")
_SECTION = re.compile(rf"{BEGIN}(\d{{1,3}}(?:[.,]\d{{1,3}})?)\s?(?:mm\s?²|mm\^?2|qmm|sq\.?\s?mm|кв\.?\s?мм)(?![^\W_])")
"""The cross-section of a wire."""
_LINK = re.compile(r"(?<![^\W_])(?:drahtbr(?:ü|ue)cke|wire link|wire bridge|zero ohm link|null ?ohm)(?![^\W_])")
_ARRAY = re.compile(r"(?<![^\W_])(?:A(\d{2}\d)([FGJKM])|([1-9]\d\d)([GJ]))(?![^\W_])")
_PREFIXED_TAPER = re.compile(r"(?<![^\W_])([ABC])\s?(?=\d{1,3}(?:[.,]\d)?\s?[kKкMR])")
_TAPER_AFTER = re.compile(r"(?<=[kKMΩ0-9])\s?([ABC])(?![\w])")
_LOAD = re.compile(rf"{BEGIN}({common.NUMBER})\s?[pP][Ff]?(?![^\W_])")
_PACKAGE = re.compile(r"(?<![^\W_])HC-?(?:49|18|33)\s?(?:/?\s?(US|U|S))?(?![^\W_])", re.IGNORECASE)
_B_VALUE = re.compile(r"(?<![^\W_])B\s?(?:25/\d{2,3})?\s?[:=]?\s?(\d{4})\s?K?(?![^\W_])(?:\s?(\d(?:[.,]\d)?)\s?%)?")


def fill_resistor(draft: Draft) -> None:
    """Ohms from bands, marks or plain values, then power, working voltage, tolerance and the words."""
    scan = draft.scan
    _bands(draft)
    if token := common.mark_token(draft):
        _chip_mark(draft, token)
    common.attribute_words(draft)
    common.take_fraction_power(draft)
    take_chip_size(draft)
    for style in ("0204", "0207"):
        if scan.take(rf"{BEGIN}{style}{END}"):
            draft.put("size", style)
    common.take_count(draft, "pins", "p|pin|pins")
    if coefficient := scan.take(rf"(?:±\s?)?({common.NUMBER})\s?ppm(?:\s?/\s?°?[CKck])?(?![^\W_])"):
        draft.put("temperature_coefficient", common.first(coefficient[1]))
    common.take_tolerance(draft)
    measures = scan.measures(_OHM)
    ratings, rest = common.split_volts(draft, measures)
    for measure, _ in ratings:
        draft.put_measure("voltage", measure)
    for measure in common.place(draft, rest, {"W": "power"}):
        if measure.unit == "ohm" and not take_range(draft, measure, "resistance", _OHM):
            draft.put_measure("resistance", measure)
            if measure.letter == "A":
                scan.release(measure.end - 1, measure.end)
            else:
                common.letter_tolerance(draft, measure)
    _array(draft)
    _link(draft)
    if not draft.has("resistance"):
        _bare_ohms(draft)


def _link(draft: Draft) -> None:
    """A wire link is a resistor of 0 ohm; the word jumper adds nothing to a value of 0."""
    if not draft.has("resistance") and draft.scan.take(_LINK, low=True):
        draft.put("resistance", 0.0, implied=True)
    held = draft.attributes.get("resistance")
    if held and held.value == 0:
        draft.scan.take(r"(?<![^\W_])(?:jumper|bridge|link|brücke)(?![^\W_])", low=True)


def _bands(draft: Draft) -> None:
    found = find_bands(draft.scan.text)
    if found is None:
        return
    (start, end), bands = found
    draft.scan.claim(start, end)
    try:
        read = decode_bands(bands)
    except Refused as refused:
        ways = [Choice(f"bands as written cannot be: {refused.problem}")]
        for other, why in other_bands(bands):
            value = draft.value("resistance", other.value)
            ways.append(Choice(why, {"resistance": value}, other.tolerance))
        if len(ways) == 1:
            ways.append(Choice("the colours are no bands"))
        draft.questions.append(tuple(ways))
        return
    draft.put("resistance", read.value)
    common.set_tolerance(draft, read.tolerance)
    if read.coefficient is not None:
        draft.put("temperature_coefficient", read.coefficient)


def _chip_mark(draft: Draft, token: str) -> None:
    """A mark on a body: digits, R as the point, or the 1 % code; both where a mark fits two of them."""
    choices: list[Choice] = []
    reason = ""
    implied = Tolerance(1.0, 1.0, implied=True)
    ways = (
        ("digits of a chip mark", lambda: (decode_chip_resistor(token), None)),
        ("1 % chip code", lambda: (decode_eia96(token).value, implied)),
        ("letter-and-digit code", lambda: (decode_rkm(token).value, None)),
    )
    seen: set[float] = set()
    for why, decode in ways:
        try:
            value, tolerance = decode()
        except Refused as refused:
            reason = refused.problem if "position" in refused.problem or not reason else reason
            continue
        if value not in seen:
            seen.add(value)
            choices.append(Choice(why, {"resistance": draft.value("resistance", value)}, tolerance))
    if choices and not ("position" in reason and len(choices) == 1 and re.fullmatch(r"\d\d[A-Z]", token)):
        draft.ask(*choices)
    else:
        draft.refused = reason


def _array(draft: Draft) -> None:
    """The value inside an array's code is only a hint: it fills what the line leaves open, or makes it a question."""
    match = next(draft.scan.find(_ARRAY), None)
    if match is None:
        return
    draft.scan.claim(match.start(), match.end())
    value = decode_chip_resistor(match[1] or match[3])
    held = draft.attributes.get("resistance")
    if held is None:
        draft.put("resistance", value, implied=True)
    elif held.value != value:
        draft.put("resistance", value)
    if draft.tolerance is None:
        size = {"F": 1.0, "G": 2.0, "J": 5.0, "K": 10.0, "M": 20.0}[match[2] or match[4]]
        draft.tolerance = Tolerance(size, size, implied=True)


def _bare_ohms(draft: Draft) -> None:
    """A number without a unit is ohms; `10m` and a lone chip size are questions."""
    match = next(draft.scan.find(_BARE), None)
    if match is None:
        return
    draft.scan.claim(match.start(), match.end())
    ohms = Choice("plain ohms", {"resistance": draft.value("resistance", common.first(match[1]))})
    alone = _LONE_PREFIX.search(draft.scan.text[: match.start()])
    if alone and draft.scan.free(alone.start(), alone.end()):
        draft.scan.claim(alone.start(), alone.end())
        power = 6 if alone[1] in "MМ" else 3
        value = draft.value("resistance", scaled(match[1].replace(",", "."), power))
        draft.ask(Choice(f"{alone[1]} in front as the prefix", {"resistance": value}), ohms)
        return
    if match[1] in CHIPS and draft.kind == "resistor":
        draft.ask(ohms, Choice("a chip size, no value", {"size": draft.value("size", match[1])}))
    else:
        group = re.match(r" (\d{3})(?![\w.,])", draft.scan.text[match.end() :])
        if group and match[1].isdecimal() and draft.scan.free(match.end(), match.end() + 4):
            draft.scan.claim(match.end(), match.end() + 4)
            joined = draft.value("resistance", float(match[1] + group[1]))
            draft.ask(ohms, Choice("a space between thousands", {"resistance": joined}))
            return
        values = numbers(match[1])
        draft.ask(*(Choice(f"{value:g} ohm", {"resistance": draft.value("resistance", value)}) for value in values))


def fill_potentiometer(draft: Draft) -> None:
    """Ohms, taper word or letter, gangs, shaft and switch. A taper letter means a taper only with its region."""
    scan = draft.scan
    letter = scan.take(_PREFIXED_TAPER)
    gangs = scan.take(
        r"(?<![^\W_])(?:(dual|stereo|tandem|ganged|double|doppel)(?: gang)?|(\d) ?gang|single gang|mono)(?![^\W_])",
        low=True,
    )
    if gangs:
        draft.put("gangs", 2.0 if gangs[1] else float(gangs[2] or 1))
    take_gangs(draft)
    common.attribute_words(draft)
    common.take_fraction_power(draft)
    common.take_tolerance(draft)
    measures = scan.measures(_OHM)
    for measure in common.place(draft, measures, {"W": "power"}):
        if measure.unit == "ohm":
            draft.put_measure("resistance", measure)
            if measure.letter in {"A", "B", "C"}:
                draft.put("taper_letter", measure.letter)
            elif measure.letter:
                common.letter_tolerance(draft, measure)
        elif measure.unit == "mm":
            _shaft(draft, measure.start, measure.end)
    letter = letter or scan.take(_TAPER_AFTER) or scan.take(r"(?<![^\W_])([ABC])(?![\w])")
    if letter:
        draft.put("taper_letter", letter[1])
    if not draft.has("resistance"):
        _bare_ohms(draft)
    if not draft.has("gangs"):
        draft.put("gangs", 1.0, implied=True)
    _taper(draft)


def _shaft(draft: Draft, start: int, end: int) -> None:
    scan = draft.scan
    near = re.compile(r"(?:[^\W\d_]+\s)?(?:shaft|welle|axe|achse)", re.IGNORECASE)
    after = re.match(r"\s?(?:[^\W\d_]+\s)?(?:shaft|welle|axe|achse)(?![^\W_])", scan.low[end:])
    before = re.search(r"(?<![^\W_])(?:shaft|welle|axe|achse)\s?$", scan.low[:start])
    if after or before:
        scan.claim(before.start() if before else start, end + (after.end() if after else 0))
        size = scan.text[start:end].replace(" ", "")
        held = draft.attributes.pop("shaft", None)
        draft.put("shaft", f"{held.value} {size}" if held else size)
    elif near.search(scan.text) and "shaft" in draft.attributes:
        scan.claim(start, end)
        draft.put("shaft", f"{draft.attributes.pop('shaft').value} {scan.text[start:end]}")


def _taper(draft: Draft) -> None:
    letter, region = draft.attributes.get("taper_letter"), draft.attributes.get("taper_region")
    if letter is None or draft.has("taper"):
        return
    tapers = {"asia": {"A": "log", "B": "lin"}, "europe": {"A": "lin", "B": "log"}}
    taper = (
        "revlog"
        if letter.value == "C"
        else tapers.get(str(region.value), {}).get(str(letter.value))
        if region
        else None
    )
    if taper:
        draft.put("taper", taper, implied=True)


def fill_inductor(draft: Draft) -> None:
    """Henry first; ohms are the winding's resistance, `0.2R` only beside a stated inductance."""
    scan = draft.scan
    common.attribute_words(draft)
    take_chip_size(draft)
    common.take_tolerance(draft)
    slots = {"H": "inductance", "A": "current", "ohm": "resistance"}
    measures = draft.scan.measures(frozenset({"H"}))
    common.place(draft, measures, slots)
    for measure in measures:
        if measure.unit == "H":
            common.letter_tolerance(draft, measure)
    winding = scan.take(rf"{BEGIN}({common.NUMBER})\s?R(?![^\W_])") if draft.has("inductance") else None
    if winding:
        draft.put("resistance", common.first(winding[1]))


def fill_ferrite(draft: Draft) -> None:
    """Impedance at the test frequency."""
    take_chip_size(draft)
    common.place(draft, draft.scan.measures(_OHM), {"ohm": "impedance", "Hz": "test_frequency", "A": "current"})


def fill_thermistor(draft: Draft) -> None:
    """Resistance at 25 °C. A percentage right behind the B value is B's, unless it is the only one."""
    scan = draft.scan
    match = next(scan.find(_B_VALUE), None)
    if match:
        draft.put("b_value", float(match[1]))
        scan.claim(match.start(), match.end())
        elsewhere = scan.text[: match.start()] + scan.text[match.end() :]
        if match[2] and "%" not in elsewhere:
            size = common.first(match[2])
            draft.tolerance = Tolerance(size, size, implied=True)
    common.take_tolerance(draft)
    common.place(draft, scan.measures(_OHM), {"ohm": "resistance"})
    scan.take(rf"{BEGIN}@?\s?25\s?°\s?C")


def fill_crystal(draft: Draft) -> None:
    """Frequency; picofarads are the load, ohms the series resistance."""
    scan = draft.scan
    if package := scan.take(_PACKAGE):
        size = re.search(r"49|18|33", package[0])
        suffix = {"S": "US", None: ""}.get(package[1] and package[1].upper(), (package[1] or "").upper())
        draft.put("package", f"HC-{size[0] if size else ''}{'/' + suffix if suffix else ''}")
    common.attribute_words(draft)
    if load := scan.take(_LOAD):
        draft.put("load", scaled(load[1].replace(",", "."), -12))
    if ppm := scan.take(rf"(?:±\s?|\+/-\s?)?({common.NUMBER})\s?ppm(?![^\W_])"):
        draft.put("tolerance_ppm", common.first(ppm[1]))
    measures = scan.measures(_OHM)
    for measure in measures:
        if measure.unit == "Hz":
            take_range(draft, measure, "frequency", _OHM)
    bare = [m for m in measures if re.search(r"[kKкMМ]$", scan.text[m.start : m.end]) and scan.free(m.start, m.end)]
    if len(bare) == 1 and all(measure.unit != "Hz" for measure in measures):
        scan.claim(bare[0].start, bare[0].end)
        ways = (("frequency", "as the frequency, its Hz left out"), ("esr", "as ohms"))
        ohms = bare[0].values[0]
        draft.ask(*(Choice(f"{ohms:g} {why}", {name: draft.value(name, ohms)}) for name, why in ways))
    common.place(draft, measures, {"Hz": "frequency", "ohm": "esr"})


def fill_wire(draft: Draft) -> None:
    """A gauge is kept as the bare diameter in metres, a cross-section as that of the solid wire."""
    scan = draft.scan
    gauge = scan.take(rf"{BEGIN}(?:AWG\s?#?\s?([1-4]/0|0{{1,4}}|\d{{1,2}})|([1-4]/0|0{{1,4}}|\d{{1,2}})\s?AWG){END}")
    if gauge:
        try:
            draft.put("diameter", gauge_diameter(gauge[1] or gauge[2]))
        except Refused as refused:
            draft.refused = refused.problem
    common.take_count(draft, "strands", "strand|strands|adrig")
    if area := scan.take(_SECTION, low=True):
        draft.put("diameter", round(math.sqrt(4 / math.pi * common.first(area[1])) * 1e-3, 9))
    for measure in scan.measures(frozenset()):
        if measure.unit == "mm" and not draft.has("diameter"):
            scan.claim(measure.start, measure.end)
            draft.put("diameter", scaled(repr(measure.values[0]), -3))
