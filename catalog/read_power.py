"""Reading fuses, thermal fuses, resettable fuses, batteries and external supplies."""

from __future__ import annotations

import re

import msgspec

from catalog import read_common as common
from catalog.cell_codes import CELL_CODE, LOW_CELL, PRIMARY, RECHARGEABLE, decode_cell
from catalog.fuse_marks import BREAKING, FUSE_MARK, SPEEDS, FuseMark, from_match
from catalog.quantity import scaled
from catalog.read_capacitors import take_chip_size
from catalog.reading import Choice, Draft
from catalog.text import BEGIN, END, Refused

_NONE: frozenset[str] = frozenset()
_BODY = re.compile(rf"{BEGIN}(\d(?:[.,]\d{{1,2}})?)\s?[xX×*]\s?(\d{{2}}(?:[.,]\d{{1,2}})?)(?:\s?(?:mm|MM))?{END}")
_BODIES = {("6.35", "31.75"): "6.3x32", ("6.35", "32"): "6.3x32", ("6", "32"): "6.3x32"}
_PLUG = re.compile(
    rf"{BEGIN}({common.NUMBER})(?:\s?mm)?\s?[x×*/]\s?({common.NUMBER})(?:(?:\s?mm)?\s?[x×*]\s?({common.NUMBER}))?(?:\s?mm)?(?!\w|[.,]\d|\s?[VA])"
)
_MAINS = re.compile(
    rf"{BEGIN}(?:input\s?[:=]?\s?)?(\d{{2,3}}\s?(?:-|–|\.{{2,3}}|/|to)\s?\d{{3}}\s?V(?:AC|ac)?|(?:110|115|117|120|220|230|240)\s?V(?:AC|ac)?)"
    r"(?:\s?(?:input|mains|in))?(?![^\W_])"
)
_POLARITY = re.compile(
    r"\(\s?([+-])\s?\)\s?(?:innen|inside|centre|center|tip)|(?:centre|center|tip|innen)\s?[:=]?\s?([+-])(?!\w)"
    r"|(?<![\w+-])([+-])\s?innen(?![^\W_])"
)
_LEAST_VOLTS = 30
"""No miniature fuse is rated for less (common practice): `2A5` is no fuse of 5 V."""
_NAMED_SIZES = {"AAA": "R03", "AA": "R6", "C": "R14", "D": "R20", "N": "R1"}
LITHIUM_ROUND = re.compile(rf"{BEGIN}(1[0-8]|2[0-6])(\d\d0)(?!\w|[.,]\d|\s?m?[AV])")
"""Lithium-ion cylinders: millimetres across, then the height in tenths (IEC 61960, from memory): `18650`."""
_NAMED = re.compile(r"(?<![^\W_])(?:(\d{1,2})\s?x\s?)?(AAA|AA|(?:C|D|N)(?=\s(?:cell|size|battery)))(?![^\W_])")


def fill_fuse(draft: Draft) -> None:
    """The mark, else its parts one by one; volts are alternating unless direct is said."""
    scan = draft.scan
    body = scan.take(_BODY)
    if body:
        size = (body[1].replace(",", "."), body[2].replace(",", "."))
        draft.put("body", _BODIES.get(size, "x".join(size)))
    mark = scan.take(FUSE_MARK)
    if mark:
        if mark[1] and mark[4] and mark[1] != mark[4]:
            both = (mark[1], mark[4])
            draft.ask(*(Choice(f"{letter} as the speed", {"speed": draft.value("speed", letter)}) for letter in both))
        read = _amperes(draft, mark)
        for name, held in (("speed", read.speed), ("breaking", read.breaking)):
            if held and not draft.has(name):
                draft.put(name, held)
        if read.volts:
            draft.put("voltage_dc" if read.direct else "voltage_ac", read.volts)
    for low_word in ("glass", "ceramic"):
        if scan.low.find(low_word) >= 0:
            draft.put("material", low_word)
            scan.take(rf"(?<![^\W_]){low_word}(?![^\W_])", low=True)
    common.attribute_words(draft)
    rest = common.take_ratings(draft, scan.measures(_NONE), bare="voltage_ac")
    held_volts = draft.attributes.get("voltage_ac")
    if held_volts:
        draft.attributes["voltage_ac"] = draft.value("voltage_ac", held_volts.value)
    common.place(draft, rest, {"A": "current"})
    for name, letters in (("speed", SPEEDS), ("breaking", BREAKING)):
        alone = scan.take(rf"(?<![^\W_])({'|'.join(sorted(letters, key=len, reverse=True))}){END}")
        if alone and not (name == "breaking" and draft.has("breaking")):
            draft.put(name, alone[1])


def _amperes(draft: Draft, mark: re.Match[str]) -> FuseMark:
    """The mark with its current stated; what figures right behind the A are is a question unless they must be volts."""
    read = from_match(mark)
    glued = mark[6] and not mark[7] and not mark[8] and mark[0].endswith(f"A{mark[6]}")
    if glued and float(mark[6]) < _LEAST_VOLTS:
        point = "" if re.search(r"[.,]", mark[2]) else "."
        pointed = scaled(f"{mark[2].replace(',', '.')}{point}{mark[6]}", -3 if mark[3] else 0)
        ways = ((read.current, f"{mark[6]} apart"), (pointed, "A as the point"))
        draft.ask(*(Choice(why, {"current": draft.value("current", amps)}) for amps, why in ways))
        return msgspec.structs.replace(read, volts=None)
    draft.put("current", read.current)
    if glued and read.volts is None:
        rated = {"voltage_ac": draft.value("voltage_ac", float(mark[6]))}
        draft.ask(Choice(f"{mark[6]} as the volts", rated), Choice(f"{mark[6]} as something else"))
    return read


def fill_thermal_fuse(draft: Draft) -> None:
    """Opening temperature, current, volts."""
    scan = draft.scan
    degrees = scan.take(rf"{BEGIN}(?:tf\s?[:=]?\s?)?(\d{{2,3}})\s?(?:°\s?c?|c|grad)(?![^\W_])", low=True)
    if degrees:
        draft.put("temperature", float(degrees[1]))
    common.attribute_words(draft)
    rest = common.take_ratings(draft, scan.measures(_NONE), bare="voltage_ac")
    common.place(draft, rest, {"A": "current", "degC": "temperature"})


def fill_ptc(draft: Draft) -> None:
    """Hold current first; trip, fault current and time by the words beside them."""
    scan = draft.scan
    take_chip_size(draft)
    common.attribute_words(draft)
    rest = common.take_ratings(draft, scan.measures(_NONE))
    words = {
        "hold": "hold_current",
        "ih": "hold_current",
        "trip": "trip_current",
        "it": "trip_current",
        "max": "fault_current",
    }
    words = {**words, "imax": "fault_current", "fault": "fault_current"}
    for measure in rest:
        before = re.search(r"(?<![^\W_])(hold|ih|trip|it|max|imax|fault)\s?[:=]?\s?$", scan.low[: measure.start])
        if before and not scan.free(before.start(), before.end()):
            before = None  # it named the current in front of it
        after = re.match(r"\s?(hold|trip|max|fault)(?![^\W_])", scan.low[measure.end :])
        said = before or after
        if measure.unit == "A":
            if said:
                offset = 0 if before else measure.end
                scan.claim(offset + said.start(), offset + said.end())
            draft.put_measure(words[said[1]] if said else "hold_current", measure)
    common.place(draft, [m for m in rest if m.unit != "A"], {"ohm": "resistance", "s": "trip_time"})


def fill_battery(draft: Draft) -> None:
    """The cell code gives chemistry, volts and size; packs give volts, cells and capacity in words."""
    scan = draft.scan
    code = scan.take(CELL_CODE) or scan.take(LOW_CELL)
    if code:
        _cell(draft, code[0])
    elif round_cell := scan.take(LITHIUM_ROUND):
        draft.put("code", round_cell[0])
        draft.put("diameter", float(round_cell[1]))
        draft.put("height", int(round_cell[2]) / 10)
    else:
        _named_cell(draft)
    pins = scan.take(rf"{BEGIN}(\d)[\s-]?pin(?:s|ned)?(?![^\W_])", low=True)
    if pins:
        draft.put("pin_count", float(pins[1]))
    common.take_count(draft, "cells", "x cells?|cells?|zellen|s pack")
    own_system = draft.has("rechargeable")
    common.attribute_words(draft)
    if code and draft.has("rechargeable") and not own_system:
        # the code of a primary cell gives the size only: neither its chemistry nor its volts are the rechargeable one's
        for name in ("chemistry", "voltage"):
            draft.attributes.pop(name, None)
    scan.take(r"(?<![^\W_])(?:battery )?pack(?![^\W_])", low=True)
    chemistry = draft.attributes.get("chemistry")
    if chemistry and chemistry.value in {"nimh", "nicd", "li-ion"}:
        draft.put("rechargeable", True)  # noqa: FBT003
    if sizes := common.take_sizes(draft):
        for name, size_mm in zip(("diameter", "height"), sizes, strict=True):
            draft.put(name, size_mm)
    ratings, rest = common.split_volts(draft, scan.measures(_NONE))
    for measure, _ in ratings:
        draft.put_measure("voltage", measure)
    draft.volts_type = "dc"
    common.place(draft, rest, {"Ah": "capacity"})
    common.take_lengths(draft, rest)
    volts = {name: volts for name, volts in (*PRIMARY.values(), *RECHARGEABLE.values())}  # noqa: C416
    chemistry = draft.attributes.get("chemistry")
    if not draft.has("voltage") and chemistry and draft.has("code") and not draft.has("cells"):
        draft.put("voltage", volts[str(chemistry.value)], implied=True)
    if draft.has("code") and not draft.has("cells"):
        draft.put("terminals", "bare", implied=True)


def _named_cell(draft: Draft) -> None:
    named = draft.scan.take(_NAMED)
    if named is None:
        return
    size = decode_cell(_NAMED_SIZES[named[2]])
    draft.put("code", named[2])
    if named[1]:
        draft.put("cells", float(named[1]))
    else:
        for name, held in (("diameter", size.diameter), ("height", size.height)):
            if held:
                draft.put(name, held)


def _cell(draft: Draft, code: str) -> None:
    try:
        cell = decode_cell(code)
    except Refused:
        draft.put("code", code.upper())
        return
    draft.put("code", cell.code)
    draft.put("chemistry", cell.chemistry)
    draft.put("voltage", cell.voltage)
    if cell.rechargeable:
        draft.put("rechargeable", True)  # noqa: FBT003
    if cell.cells > 1:
        draft.put("cells", float(cell.cells))
    for name, held in (("diameter", cell.diameter), ("height", cell.height)):
        if held:
            draft.put(name, held)


def fill_psu(draft: Draft) -> None:
    """Output first; mains figures are the input. Plug dimensions are outer by inner by length."""
    scan = draft.scan
    if polarity := scan.take(_POLARITY, low=True):
        sign = polarity[1] or polarity[2] or polarity[3]
        draft.put("polarity", "centre-positive" if sign == "+" else "centre-negative")
    mains = scan.take(_MAINS)
    if mains:
        draft.put("input_voltage", mains[1].replace(" ", ""))
    plug = scan.take(_PLUG)
    if plug:
        for name, size in zip(("plug_outer", "plug_inner", "plug_length"), plug.groups(), strict=True):
            if size:
                draft.put(name, common.first(size))
    ratings, rest = common.split_volts(draft, scan.measures(_NONE))
    if plug:
        scan.take(r"(?<![^\W_])(?:plug|stecker|connector|fiche|spina|conector|stekker|wtyk|штекер)(?![^\W_])", low=True)
    for measure, sort in ratings:
        draft.put_measure("voltage", measure)
        if sort:
            draft.put("output", sort)
    if scan.take(r"(?<![^\W_])ac\s?[/>-]{1,2}\s?ac(?![^\W_])", low=True):
        draft.put("output", "ac")
    elif scan.take(r"(?<![^\W_])ac\s?[/>-]{1,2}\s?dc(?![^\W_])", low=True):
        draft.put("output", "dc")
    common.attribute_words(draft)
    common.place(draft, rest, {"A": "current"})
    output = draft.attributes.get("output")
    if not output and "polarity" in draft.attributes:
        draft.put("output", "dc", implied=True)
    draft.volts_type = str(draft.attributes["output"].value) if "output" in draft.attributes else None


def fuse_by_mark(text: str) -> bool:
    """Whether a line holds a fuse mark that cannot be much else: a time letter beside the amperes."""
    return any(
        (match[1] and (match[5] or match[6] or match[1] != "M")) or match[4] not in {None, "M"}
        for match in re.finditer(FUSE_MARK, text)
    )
