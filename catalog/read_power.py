"""Reading fuses, thermal fuses, resettable fuses, batteries and external supplies."""

from __future__ import annotations

import re

import msgspec

from catalog import read_common as common
from catalog.cell_codes import (
    BLOCK,
    BLOCK_VOLTS,
    CELL_CODE,
    EVERYDAY,
    EVERYDAY_SIZES,
    LOW_CELL,
    PRIMARY,
    RECHARGEABLE,
    Cell,
    cells_of_size,
    decode_cell,
)
from catalog.fuse_marks import BREAKING, FUSE_MARK, SPEEDS, FuseMark, from_match
from catalog.quantity import scaled
from catalog.read_capacitors import take_chip_size
from catalog.reading import Choice, Draft
from catalog.spec import Value
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
_SMALL_SPEED = re.compile(
    r"(?<![^\W_])(ff|tt|f|t)(?=\s?\d[\d.,]*\s?m?[aA](?![^\W_]))|(?<=\d[aA]|[mM][aA])\s?(ff|tt|mt|f|t|m[Tt]|MT)(?![^\W_])"
    r"|(?<![^\W_])(m[Tt]|MT)(?=\s?\d[\d.,]*\s?m?[aA](?![^\W_]))"
)
_SPEED_OF = {"ff": "FF", "f": "F", "mt": "M", "t": "T", "tt": "TT"}
"""Time letters as they are typed; `mT` is German for medium time-lag (common practice)."""
_LEAST_VOLTS = 30
"""No miniature fuse is rated for less (common practice): `2A5` is no fuse of 5 V."""
LITHIUM_ROUND = re.compile(rf"{BEGIN}(1[0-8]|2[0-6])(\d\d0)(?!\w|[.,]\d|\s?m?[AV])")
"""Lithium-ion cylinders: millimetres across, then the height in tenths (IEC 61960, from memory): `18650`."""
NAMED_CELL = re.compile(
    r"(?<![^\W_])(?:(\d{1,2})\s?x\s?)?(AAA|AA|(?:C|D|N)(?=\s(?:cell|size|battery))|(?i:mignon(?:zellen?)?|pp3"
    r"|(?:micro|baby|mono|lady)(?:[ -]?zellen?)?"
    r"|(?:e[ -]?|(?<=9 )|(?<=9v )|(?<=9v-)|(?<=9 v )|(?<=9 volt ))?block(?:batterie|(?=[ -]battery| 9 ?v))?))(?![^\W_])"
)
_SIZE = re.compile(r"(?<![\w.,-])(\d{3,4})(?![\w]|[.,-]\d|\s?(?:m?[aA]h?|[vV]|mm)(?![^\W_]))")
"""Figures beside a word for a cell that may be its size: `cell 2032`."""
_AS_PACK = re.compile(r"(?<![^\W_])(?:pack|akkupack|pak|accupack|battery pack)(?![^\W_])")


def fill_fuse(draft: Draft) -> None:
    """The mark, else its parts one by one; volts are alternating unless direct is said."""
    scan = draft.scan
    _fuse_mark(draft)
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


def _fuse_mark(draft: Draft) -> None:
    """The body, the mark, and time letters as they are typed."""
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
    if not draft.has("speed") and (small := scan.take(_SMALL_SPEED)):
        draft.put("speed", _SPEED_OF[(small[1] or small[2] or small[3]).lower()])


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
    by_code = _coded_cell(draft)
    pins = scan.take(rf"{BEGIN}(\d)[\s-]?pin(?:s|ned)?(?![^\W_])", low=True)
    if pins:
        draft.put("pin_count", float(pins[1]))
    common.take_count(draft, "cells", "x cells?|cells?|zellen|s pack")
    own_system = draft.has("rechargeable")
    common.attribute_words(draft)
    if by_code and draft.has("rechargeable") and not own_system:
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
    _implied_of_battery(draft)


def _coded_cell(draft: Draft) -> bool:
    """What a cell is called; whether that is the code of one chemistry."""
    scan = draft.scan
    code = scan.take(CELL_CODE) or scan.take(LOW_CELL)
    if code:
        _cell(draft, code[0])
    elif round_cell := scan.take(LITHIUM_ROUND):
        draft.put("code", round_cell[0])
        draft.put("diameter", float(round_cell[1]))
        draft.put("height", int(round_cell[2]) / 10)
    else:
        _named_cells(draft)
    return code is not None


def _implied_of_battery(draft: Draft) -> None:
    """Volts and form that go without saying for one cell or block; a bare figure may be its size."""
    volts = {name: volts for name, volts in (*PRIMARY.values(), *RECHARGEABLE.values())}  # noqa: C416
    chemistry, named = draft.attributes.get("chemistry"), draft.attributes.get("code")
    block = named is not None and named.value == BLOCK
    if block and not draft.has("voltage") and not draft.has("rechargeable"):
        draft.put("voltage", BLOCK_VOLTS, implied=True)
    if not draft.has("voltage") and chemistry and named and not block and not draft.has("cells"):
        draft.put("voltage", volts[str(chemistry.value)], implied=True)
    if named and not block and not draft.has("cells"):
        draft.put("terminals", "bare", implied=True)
    if not draft.has("code") and not draft.has("diameter") and not draft.has("voltage") and not draft.has("cells"):
        _sized_cell(draft)


def _named_cells(draft: Draft) -> None:
    """`AA`, `4x AA`, `Mignon`, `9V block`; two names of one size say the same, of two sizes none is picked."""
    found: dict[str, re.Match[str]] = {}
    for named in list(draft.scan.find(NAMED_CELL)):
        draft.scan.claim(named.start(), named.end())
        word = re.sub(r"[ -]?(?:zellen?|batterie)$", "", named[2].lower())
        name = EVERYDAY["block" if word.endswith("block") else word]
        if name not in found or named[1]:
            found[name] = named
    if len(found) > 1:
        draft.ask(*(Choice(f"{named[2]} as the size", _sized(draft, name)) for name, named in found.items()))
        return
    for name, named in found.items():
        facts = _sized(draft, name)
        draft.put("code", facts.pop("code").value)
        if named[1] and facts and not _AS_PACK.search(draft.scan.low) and not _packed_volts(draft, int(named[1])):
            pack = {"cells": draft.value("cells", float(named[1]))}
            draft.ask(Choice(f"{named[1]}x as the cells of one battery", pack), Choice(f"{named[1]}x as pieces", facts))
        elif named[1]:
            draft.put("cells", float(named[1]))
        else:
            for held, value in facts.items():
                draft.put(held, value.value)


def _sized(draft: Draft, name: str) -> dict[str, Value]:
    """The name of a size with what it says of one cell; nothing more for a block."""
    size = EVERYDAY_SIZES.get(name)
    return {"code": draft.value("code", name)} | (_dimensions(draft, decode_cell(size)) if size else {})


def _packed_volts(draft: Draft, cells: int) -> bool:
    """Whether volts are stated that so many cells in series have, and one has not."""
    volts = {volts for _, volts in (*PRIMARY.values(), *RECHARGEABLE.values())}
    stated = [measure.values[0] for measure in draft.scan.measures(_NONE) if measure.unit == "V"]
    return any(abs(one - cells * each) < 1e-6 for one in stated for each in volts) and cells > 1


def _dimensions(draft: Draft, cell: Cell) -> dict[str, Value]:
    sizes = (("diameter", cell.diameter), ("height", cell.height))
    return {name: draft.value(name, size) for name, size in sizes if size}


def _sized_cell(draft: Draft) -> None:
    """A size without its letters: every system it is made in is a reading, as some burst when they are charged."""
    for match in list(draft.scan.find(_SIZE)):
        cells = cells_of_size(match[1])
        if draft.attributes.get("rechargeable"):
            cells = tuple(cell for cell in cells if cell.rechargeable)
        if cells:
            draft.scan.claim(match.start(), match.end())
            draft.ask(*(Choice(f"as {cell.code}", _facts(draft, cell)) for cell in cells))
            return


def _cell(draft: Draft, code: str) -> None:
    try:
        cell = decode_cell(code)
    except Refused:
        draft.put("code", code.upper())
        return
    for name, held in _facts(draft, cell).items():
        draft.put(name, held.value)


def _facts(draft: Draft, cell: Cell) -> dict[str, Value]:
    """What a cell's code says."""
    facts = {name: draft.value(name, getattr(cell, name)) for name in ("code", "chemistry", "voltage")}
    if cell.rechargeable:
        facts["rechargeable"] = draft.value("rechargeable", value=True)
    if cell.cells > 1:
        facts["cells"] = draft.value("cells", float(cell.cells))
    return facts | _dimensions(draft, cell)


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
