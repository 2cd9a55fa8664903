"""Reading capacitors: plain values, volts, dielectrics, safety classes, sizes.

Codes follow IEC 60062 and EIA-198 practice. The kind alone never makes a number a mark, and what can be two things
stays two readings.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from catalog import read_common as common
from catalog.dielectric_codes import FILM_CODES, decode_dielectric
from catalog.markings import RATED_VOLTS, decode_aluminium_can, decode_picofarads, tolerance_letter
from catalog.preferred import series_of
from catalog.quantity import scaled
from catalog.read_capacitor_marks import take_codes
from catalog.read_several import take_range, take_sections
from catalog.reading import Choice, Draft
from catalog.scan import Measure
from catalog.sizes import CHIPS, METRIC_CHIPS, TANTALUM_CASES, imperial_chip
from catalog.spec import KINDS
from catalog.text import BEGIN, END, Refused

DIELECTRIC = re.compile(
    r"(?<![^\W_])(?:[XYZ][2-9][A-FPRSTUV]|[CBLAMPRSTVU][0-36-8][GHJKLMN]|NP[0Oo]|[Cc][0Oo]G|N\d{3,4}|x[5-8][rst]|y5[vup]|z5u|np[0o])(?![^\W_])"
)
SAFETY = re.compile(r"(?<![^\W_])([XY][1-4])(?:\s?/?\s?([XY][1-4]))?(?![^\W_])")
SMALL_SAFETY = re.compile(r"(?<![^\W_])[xy][12](?:\s?/?\s?[xy][12])?(?![^\W_])")
"""The same in small letters, where `x2` alone may also be two pieces."""
_LIFE = re.compile(rf"{BEGIN}(\d{{3,5}})\s?(?:h|hrs|hours|std)(?![^\W_])", re.IGNORECASE)
_DEGREES = re.compile(
    rf"{BEGIN}(?:-\s?\d{{2}}\s?°?C?\s?(?:\.{{2,3}}|/|to|-|–)\s?)?\+?(\d{{2,3}})"
    r"\s?(?:[°º]\s?C?|[Cc]|[Gg]rad)(?![^\W_])"
)
_PITCH = re.compile(rf"(?<![^\W_])(?:RM|rm|LS|P=)\s?=?\s?({common.NUMBER})(?:\s?mm)?(?![^\W_])")
SLASHED = re.compile(
    rf"{BEGIN}(\d{{0,4}}(?:[.,]\d{{1,4}})?)\s?/\s?(\d{{1,4}}(?:\.\d)?)(?:\s?[Vv])?\s?(~)?(?![\w/]|[.,]\d)"
)


def is_value_and_volts(pair: re.Match[str]) -> bool:
    """Whether a match of `SLASHED` holds a preferred value and volts that capacitors are made for: `10/16`."""
    value = common.first(pair[1]) if re.search(r"[1-9]", pair[1]) else 0.0
    two_figures = len(pair[1].replace(",", "").replace(".", "")) > 1
    return two_figures and "E24" in series_of(value) and float(pair[2]) in RATED_VOLTS and float(pair[2]) >= 6.3


_CAN = re.compile(
    rf"{BEGIN}(\d{{1,5}}(?:\.\d)?)\s?[/ ]\s?(?:(\d{{1,3}}(?:\.\d)?)\s?[Vv]?|(\dV\d)|([jJACEVHD]))(?![\w%]|[.,]\d)"
)
_BARE = re.compile(rf"{BEGIN}(\d{{1,5}}(?:[.,]\d{{1,4}})?|[.,]\d{{1,4}})(?![\w%]|[.,]\d|\s?[x×*]|\s?°)")
_WORKING = re.compile(
    rf"{BEGIN}(\d{{1,4}}(?:[.,]\d)?)\s?(?:WV|wv|Wv|wvdc|WVDC){END}|(?<![^\W_])(?:WV|wv)\s?[:=]?\s?(\d{{1,4}})(?:\s?[Vv])?{END}"
)
"""Working volts, which are the rating of old lists."""
_CEILING = re.compile(
    rf"(?:max\.?|under|below|clearance|low profile)\s?(?:height\s)?({common.NUMBER})\s?mm"
    rf"|({common.NUMBER})\s?mm\s?(?:max|clearance)"
)
_CATEGORIES = frozenset({65, 70, 85, 95, 100, 105, 115, 125, 130, 135, 145, 150, 155, 175, 200})
_BIG_FARADS = ("supercap", "supercapacitor", "edlc", "double layer", "gold cap", "goldcap")
_STARTS_A_NUMBER = re.compile(r"(?<![^\W_])(?:[RMKAµμunp])?\d")
_UNITS = frozenset({"F", "V"})


def fill_capacitor(draft: Draft) -> None:
    """Read all that a capacitor's line says into the draft."""
    scan = draft.scan
    _dielectric(draft)
    common.attribute_words(draft)
    _safety(draft)
    _size_code(draft)
    _mechanics(draft)
    common.take_tolerance(draft)
    if "voltage_dc" in KINDS[draft.kind] and (working := scan.take(_WORKING)):
        draft.put("voltage_dc", common.first(working[1] or working[2]))
    take_sections(draft)
    take_codes(draft)
    measures = scan.measures(_UNITS)
    volts_name = "voltage_ac" if draft.kind == "safety-cap" else "voltage_dc"
    rest = common.take_ratings(draft, [m for m in measures if m.unit != "F"], bare=volts_name)
    _farads(draft, [m for m in measures if m.unit == "F"])
    slots = {unit: name for unit, name in {"ohm": _ohm_slot(draft), "A": "ripple"}.items() if name in KINDS[draft.kind]}
    common.place(draft, rest, slots)
    bare = ["pitch"] if draft.kind != "safety-cap" else []
    common.take_lengths(draft, rest, bare=bare)
    if not draft.has("capacitance"):
        _bare_number(draft)
    alone = re.compile(rf"(?<![^\W_])([JKMZ]){END}")
    if draft.has("capacitance") and draft.tolerance is None and (letter := scan.take(alone)):
        common.set_tolerance(draft, tolerance_letter(letter[1], 1.0))


def _ohm_slot(draft: Draft) -> str:
    return "series_resistor" if draft.kind == "safety-cap" else "esr"


def _dielectric(draft: Draft) -> None:
    scan, names = draft.scan, KINDS[draft.kind]
    if draft.kind in {"ceramic", "capacitor", "safety-cap"} and (match := scan.take(DIELECTRIC)):
        try:
            draft.put("dielectric", decode_dielectric(match[0]).code)
        except Refused:
            draft.put("dielectric", match[0].upper())
    film = next(scan.find(r"(?<![^\W_])(?:MK|FK|K)[TPSCIN](?![^\W_])"), None)
    if film and "dielectric" in names and film[0] in FILM_CODES:
        scan.claim(film.start(), film.end())
        draft.put("dielectric", FILM_CODES[film[0]])


def safety_class(text: str) -> str | None:
    """The class a whole piece names, small letters allowed: `X2`, `x1/y2`."""
    match = SAFETY.fullmatch(text.upper())
    return "/".join(part for part in match.groups() if part) if match else None


def _safety(draft: Draft) -> None:
    if "safety_class" not in KINDS[draft.kind]:
        return
    match = draft.scan.take(SAFETY) or draft.scan.take(SMALL_SAFETY)
    if match and (named := safety_class(match[0])):
        draft.put("safety_class", named)


def _size_code(draft: Draft) -> None:
    """A chip size is taken out if another number remains; standing alone it is a question for `_bare_number`."""
    scan = draft.scan
    if "case" in KINDS[draft.kind] and (case := scan.take(r"(?i:case|size|gehäuse)\s([ABCDEX])(?![^\W_])")):
        draft.put("case", case[1].upper())
    if "case" in KINDS[draft.kind] and (body := scan.take(rf"(?<![\w])(3216|3528|6032|7343)(?:-\d\d)?{END}")):
        letters = [letter for letter, size in TANTALUM_CASES.items() if size.startswith(body[0])]
        draft.put("case", letters[0] if len(letters) == 1 else body[0])
    if "size" in KINDS[draft.kind]:
        take_chip_size(draft)


def take_chip_size(draft: Draft) -> None:
    """Claim a chip size code; `(1608 metric)` and metric-only codes are turned into the imperial one."""
    scan = draft.scan
    codes = "|".join(sorted({*CHIPS, *METRIC_CHIPS}, key=len, reverse=True))
    metric = scan.take(rf"[(\s]?({codes})\s?[Mm](?:etric)?\)?(?![^\W_])")
    if metric and metric[1] in METRIC_CHIPS:
        draft.put("size", imperial_chip(metric[1], metric=True))
    for match in list(scan.find(rf"{BEGIN}(?:[RCL]_)?({codes}){END}")):
        rest = scan.text[: match.start()] + " " * (match.end() - match.start()) + scan.text[match.end() :]
        if draft.has("dielectric") or _STARTS_A_NUMBER.search(rest):
            scan.claim(match.start(), match.end())
            draft.put("size", imperial_chip(match[1]))
            return


def _mechanics(draft: Draft) -> None:
    scan, names = draft.scan, KINDS[draft.kind]
    if "height_limit" in names and (ceiling := scan.take(_CEILING, low=True)):
        draft.put("height_limit", common.first(ceiling[1] or ceiling[2]))
    if pitch := scan.take(_PITCH):
        draft.put("pitch", common.first(pitch[1]))
    sizes = common.take_sizes(draft)
    if sizes:
        for name, size in zip(("diameter", "height"), sizes, strict=True):
            draft.put(name, size)
    if "temperature" in names:
        _temperature(draft)
        if life := scan.take(_LIFE):
            draft.put("life", float(life[1]))


def _temperature(draft: Draft) -> None:
    """An upper temperature; `105C` without a degree sign only where the capacitance stands elsewhere with its unit."""
    scan = draft.scan
    for match in list(scan.find(_DEGREES)):
        said = "°" in match[0] or match[0].lower().endswith("grad")
        valued = draft.kind == "electrolytic" or any(m.unit == "F" for m in scan.measures(_UNITS))
        if int(match[1]) in _CATEGORIES and (said or valued):
            scan.claim(match.start(), match.end())
            draft.put("temperature", float(match[1]))


def _farads(draft: Draft, measures: Sequence[Measure]) -> None:
    for found in measures:
        if take_range(draft, found, "capacitance", _UNITS):
            continue
        measure = _old_units(draft, found)
        draft.scan.claim(measure.start, measure.end)
        if measure.rest:
            pairs = zip(measure.values, measure.rest, measure.why or ("",), strict=True)
            draft.ask(
                *(
                    Choice(
                        why,
                        {"capacitance": draft.value("capacitance", f)}
                        | ({"voltage_dc": draft.value("voltage_dc", v, implied=not measure.volts_said)} if v else {}),
                    )
                    for f, v, why in pairs
                )
            )
        elif _plain_farads(draft, measure) and not _big_farads(draft):
            plain = measure.values[0]
            both = ((plain, "farad as written"), (scaled(repr(plain), -6), "the micro sign lost"))
            draft.ask(*(Choice(why, {"capacitance": draft.value("capacitance", v)}) for v, why in both))
        else:
            draft.put_measure("capacitance", measure)
        common.letter_tolerance(draft, measure, farads=True)
    for pattern in (rf"{BEGIN}(\d{{0,3}}R\d{{1,3}}){END}", rf"{BEGIN}M(\d{{2,3}}){END}"):
        match = draft.scan.take(pattern) if not draft.has("capacitance") else None
        if match and match[0][0] == "M":
            micro, coded = scaled(f"0.{match[1]}", -6), scaled(match[1], -12)
            both = ((micro, "M written for micro"), (coded, "plain pF with M as 20 %"))
            draft.ask(*(Choice(why, {"capacitance": draft.value("capacitance", v)}) for v, why in both))
        elif match:
            before, _, after = match[1].partition("R")
            _point_mark_any(draft, scaled(f"{before or 0}.{after}", -12))


def _point_mark_any(draft: Draft, farads: float) -> None:
    """R as the point without a mark word: never certain on a capacitor."""
    both = ((farads, "R as the point in pF"), (float(f"{farads * 1e6:.6g}"), "R as the point in µF"))
    draft.ask(*(Choice(why, {"capacitance": draft.value("capacitance", v)}) for v, why in both))


def _old_units(draft: Draft, measure: Measure) -> Measure:
    """`mF` on a plainly old line is µF; `MF` on a plainly modern one may be either."""
    piece = draft.scan.text[measure.start : measure.end]
    if piece.endswith("mF") and not piece.endswith("mmF") and draft.vintage and len(measure.values) == 2:
        return Measure(measure.start, measure.end, "F", measure.values[1:])
    modern = draft.has("size") or draft.has("dielectric") or draft.scan.low.find("mlcc") >= 0
    if re.search(r"MF$", piece) and modern and not draft.vintage and len(measure.values) == 1:
        value = measure.values[0]
        why = ("MF as microfarad, as in old lists", "MF as millifarad")
        return Measure(measure.start, measure.end, "F", (value, scaled(repr(value), 3)), why)
    return measure


def _plain_farads(draft: Draft, measure: Measure) -> bool:
    """Whether whole farads are written, without a prefix that a lost micro sign could have been."""
    written = draft.scan.text[measure.start : measure.end]
    plain = re.fullmatch(r"[\d.,]+\s?(?:[Ff]|[Ff]arads?|ф|Ф|фарад)|\d*F\d+", written)
    return plain is not None and len(measure.values) == 1 and measure.values[0] >= 0.01


def _big_farads(draft: Draft) -> bool:
    """Whether a whole farad value is believable: a double-layer word, or at most 5.5 V and no small-capacitor sign."""
    if any(word in draft.scan.low for word in _BIG_FARADS):
        return True
    held = draft.attributes.get("voltage_dc")
    small = draft.kind in {"ceramic", "film", "safety-cap"} or draft.has("dielectric")
    return bool(held and isinstance(held.value, float) and held.value <= 5.5 and not small)


def _bare_number(draft: Draft) -> None:
    """A number without a unit: only the forms that the trade writes without one are taken, the rest is a question."""
    scan, film = draft.scan, draft.kind == "film"
    slashed = scan.take(SLASHED) if film or (draft.kind == "capacitor" and draft.vintage) else None
    if draft.kind in {"capacitor", "electrolytic"} and slashed is None:
        slashed = next((pair for pair in scan.find(SLASHED) if is_value_and_volts(pair)), None)
    if slashed and slashed[1]:
        scan.claim(slashed.start(), slashed.end())
        draft.put("voltage_ac" if slashed[3] else "voltage_dc", float(slashed[2]), implied=not slashed[3])
        micro = common.micro(slashed[1] if slashed[1][0] not in ".," else f"0{slashed[1]}")
        pico = float(f"{micro * 1e-6:.6g}")
        both = ((micro, "µF in front of the volts"), (pico, "pF in front of the volts"))
        ways = both[: 1 if re.search(r"[.,]", slashed[1]) or draft.kind == "electrolytic" else 2]
        draft.ask(*(Choice(why, {"capacitance": draft.value("capacitance", v)}) for v, why in ways))
        return
    aluminium = draft.kind == "electrolytic" and re.search(r"el[ek]|alu|can|chimique|электро", scan.low) is not None
    can = scan.take(_CAN) if aluminium and not draft.has("voltage_dc") else None
    if can:
        mark = decode_aluminium_can(can[0])
        draft.put("capacitance", mark.value)
        if mark.volts is not None:
            draft.put("voltage_dc", mark.volts, implied=can[4] is None)
        return
    bare = next(scan.find(_BARE), None)
    if bare is None:
        return
    scan.claim(bare.start(), bare.end())
    draft.ask(*_bare_choices(draft, bare[1], aluminium=aluminium))


def _bare_choices(draft: Draft, written: str, *, aluminium: bool) -> list[Choice]:
    plain = common.first(written)

    def choice(farads: float, why: str) -> Choice:
        return Choice(why, {"capacitance": draft.value("capacitance", farads)})

    decimal = bool(re.search(r"[.,]", written))
    micro, pico = choice(scaled(repr(plain), -6), "plain µF"), choice(scaled(repr(plain), -12), "plain pF")
    if aluminium:
        return [micro]
    if decimal and plain < 1 and (draft.kind == "film" or draft.vintage):
        return [micro]
    small = draft.kind in {"ceramic", "film", "safety-cap"}
    if len(written) == 3 and written.isdecimal() and written[2] in "12345689" and written[0] != "0" and small:
        return [choice(decode_picofarads(written), "three-digit code")]
    if draft.vintage and not decimal and (draft.kind != "film" or plain > 10):
        return [pico]
    coded = [choice(decode_picofarads(written), "three-digit code")] if re.fullmatch(r"[1-9]\d\d", written) else []
    return [*coded, pico, micro]
