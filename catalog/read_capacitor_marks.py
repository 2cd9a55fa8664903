"""Reading marks of capacitors: three digits with what stands in front and behind, and pieces said to be the mark.

Codes follow IEC 60062 and EIA-198 practice; what a letter behind the digits means depends on the construction.
"""

from __future__ import annotations

import re

from catalog import read_common as common
from catalog.markings import (
    RATED_VOLTS,
    Mark,
    decode_aluminium_can,
    decode_capacitor,
    decode_picofarads,
    decode_tantalum,
    decode_two_character,
    decode_voltage,
    one_letter_volts,
    tolerance_letter,
)
from catalog.preferred import series_of
from catalog.quantity import scaled
from catalog.reading import Choice, Draft
from catalog.text import BEGIN, END, Refused

_CODE = re.compile(rf"{BEGIN}(\d[A-Z])?(\d{{3}})([A-Ze])?(?![\w%]|[.,]\d|\s?[x×*])")
VOLTED_CODE = re.compile(rf"{BEGIN}((?!0)\d{{3}})([JKMZ])[\s/]?(\d{{2,4}})(?:\s?[Vv])?{END}")
"""Picofarads, the tolerance and the volts in one piece, as film capacitors are printed: `473J63`."""
_ALTERNATING = frozenset({250, 275, 300, 305, 310, 330, 440})
"""Volts that such a piece may mean as alternating: parts across the mains are made for them (common practice)."""
_LETTER_CODE = re.compile(rf"{BEGIN}([eGJACDEVTH])(\d{{3}}){END}")
_TANTALUM_VOLTS = 125
"""No tantalum part is rated higher (common practice), so `476V` is a code with its letter."""


def take_codes(draft: Draft) -> None:
    """Marks: after a word that says so, with a voltage code in front, or three digits with a letter behind."""
    scan, token = draft.scan, common.mark_token(draft)
    if token:
        _mark(draft, token)
    if draft.kind != "electrolytic":
        _volted(draft)
    for code in list(scan.find(_CODE)):
        prefix, digits, letter = code.groups()
        volts = letter == "V" and not (draft.kind == "tantalum" and int(digits) > _TANTALUM_VOLTS)
        if letter == "e" and draft.kind != "tantalum":
            continue
        if prefix or (letter and not volts and not (letter == "F" and draft.kind == "electrolytic")):
            scan.claim(code.start(), code.end())
            _coded(draft, prefix, digits, letter)
    if draft.kind == "tantalum" and (match := scan.take(_LETTER_CODE)):
        draft.put("capacitance", decode_picofarads(match[2]))
        draft.put("voltage_dc", one_letter_volts(match[1]))


def is_volted_code(code: re.Match[str]) -> bool:
    """Whether a match of `VOLTED_CODE` holds a usual value and usual volts."""
    usual = "E24" in series_of(float(code[1][:2]))
    return usual and (int(code[3]) in RATED_VOLTS or int(code[3]) in _ALTERNATING)


def _volted(draft: Draft) -> None:
    """`473J63`; volts that may as well alternate are a question on a part of unknown construction."""
    for code in list(draft.scan.find(VOLTED_CODE)):
        if not is_volted_code(code) or (draft.kind == "tantalum" and code[2] not in "KM"):
            continue
        draft.scan.claim(code.start(), code.end())
        _coded(draft, None, code[1], code[2])
        volts = float(code[3])
        direct, alternating = ({name: draft.value(name, volts, implied=True)} for name in ("voltage_dc", "voltage_ac"))
        if draft.kind == "safety-cap":
            draft.ask(Choice("the volts alternate", alternating))
            continue
        ways = [Choice(f"{volts:g} V direct", direct)] if volts in RATED_VOLTS else []
        if volts in _ALTERNATING and (volts not in RATED_VOLTS or draft.kind in {"capacitor", "film"}):
            ways += [Choice(f"{volts:g} V alternating", alternating)]
            ways += [] if len(ways) > 1 else [Choice(f"{volts:g} as something else")]
        draft.ask(*ways)


def _coded(draft: Draft, prefix: str | None, digits: str, letter: str | None) -> None:
    can = draft.kind == "electrolytic"
    farads = scaled(digits, -6) if can and not prefix else decode_picofarads(digits)
    draft.put("capacitance", farads)
    if prefix:
        try:
            draft.put("voltage_dc", decode_voltage(prefix))
        except Refused as refused:
            draft.refused = refused.problem
            return
    if not letter:
        return
    volts = can or (draft.kind == "tantalum" and letter not in "KM")
    try:
        if volts:
            draft.put("voltage_dc", one_letter_volts(letter))
        elif draft.kind == "capacitor" and letter not in "JKMZ" and not prefix:
            _open_letter(draft, letter, farads)
        else:
            common.set_tolerance(draft, tolerance_letter(letter, farads))
    except Refused as refused:
        draft.refused = refused.problem


def _open_letter(draft: Draft, letter: str, farads: float) -> None:
    """On a part of unknown construction the letter is a tolerance or a voltage."""
    choices: list[Choice] = []
    for meaning in ("tolerance", "voltage"):
        try:
            if meaning == "tolerance":
                choices.append(Choice(f"{letter} as the tolerance", tolerance=tolerance_letter(letter, farads)))
            else:
                volts = draft.value("voltage_dc", one_letter_volts(letter))
                choices.append(Choice(f"{letter} as the voltage", {"voltage_dc": volts}))
        except Refused:
            continue
    if len(choices) < 2:
        choices.append(Choice(f"{letter} as a letter of the maker"))
    draft.ask(*choices)


def _mark(draft: Draft, token: str) -> None:
    """A piece said to be the mark on the part."""
    try:
        if draft.kind == "electrolytic" and re.fullmatch(r"\d{1,4}[jJACEVHD]?", token):
            _put_mark(draft, decode_aluminium_can(token))
        elif re.fullmatch(r"[A-Za-z]\d", token):
            draft.put("capacitance", decode_two_character(token))
        elif re.fullmatch(r"\d{0,2}R\d{1,2}", token):
            _point_mark(draft, decode_picofarads(token))
        elif draft.kind == "tantalum" and re.fullmatch(r"[A-Za-z]?\d{3}[A-Za-z]?", token):
            _put_mark(draft, decode_tantalum(token))
            volts = (
                None if draft.has("voltage_dc") else draft.scan.take(r"(?<=\d )\d{1,2}(?:\.\d)?(?=[Vv]?$|[Vv]?[\s,;])")
            )
            if volts and re.search(rf"{token}\s$", draft.scan.text[: volts.start()]):
                draft.put("voltage_dc", float(volts[0]))
        elif code := _CODE.fullmatch(token):
            _coded(draft, code[1], code[2], code[3])
        else:
            _put_mark(draft, decode_capacitor(token))
    except Refused as refused:
        draft.refused = refused.problem


def _put_mark(draft: Draft, mark: Mark) -> None:
    draft.put("capacitance", mark.value)
    if mark.volts is not None:
        draft.put("voltage_dc", mark.volts)
    if mark.tolerance is not None:
        common.set_tolerance(draft, mark.tolerance)


def _point_mark(draft: Draft, farads: float) -> None:
    """`4R7`: picofarads on a ceramic body, otherwise picofarads or microfarads."""
    if draft.kind == "ceramic":
        draft.put("capacitance", farads)
        return
    both = (
        (farads, "R as the point in pF, as on ceramic bodies"),
        (farads * 1e6, "R as the point in µF, as in order codes"),
    )
    draft.ask(*(Choice(why, {"capacitance": draft.value("capacitance", float(f"{v:.6g}"))}) for v, why in both))
