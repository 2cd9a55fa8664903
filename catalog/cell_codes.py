"""Codes of cells and batteries: chemistry, voltage, size. Source: IEC 60086-1 and -2, and secondary-cell practice."""

from __future__ import annotations

import re
from types import MappingProxyType

import msgspec

from catalog.text import Refused

PRIMARY = MappingProxyType(
    {
        "": ("zinc-carbon", 1.5),
        "L": ("alkaline", 1.5),
        "S": ("silver-oxide", 1.55),
        "P": ("zinc-air", 1.4),
        "C": ("lithium-manganese-dioxide", 3.0),
        "B": ("lithium-carbon-monofluoride", 3.0),
        "E": ("lithium-thionyl-chloride", 3.6),
        "F": ("lithium-iron-disulfide", 1.5),
        "G": ("lithium-copper-oxide", 1.5),
        "Z": ("nickel-oxyhydroxide", 1.5),
        "M": ("mercury", 1.35),
        "N": ("mercury", 1.40),
    }
)
"""Letter before the shape letter, chemistry word and nominal volts of one cell."""
RECHARGEABLE = MappingProxyType(
    {
        "H": ("nimh", 1.2),
        "K": ("nicd", 1.2),
        "VL": ("vanadium-lithium", 3.0),
        "ML": ("manganese-lithium", 3.0),
        "MS": ("silicon-lithium", 3.0),
        "TC": ("titanium-lithium", 1.5),
        "LIR": ("li-ion", 3.6),
        "IC": ("li-ion", 3.6),
        "IN": ("li-ion", 3.6),
    }
)
# fmt: off
_DIAMETERS = {
    4: 4.8, 5: 5.8, 6: 6.8, 7: 7.9, 9: 9.5, 10: 10.0, 11: 11.6, 12: 12.5, 14: 14.5, 16: 16.0, 17: 17.0,
    18: 18.0, 20: 20.0, 23: 23.0, 24: 24.5, 26: 26.2, 30: 30.0,
}
OLD_ROUND = {
    "03": (10.5, 44.5), "1": (12.0, 30.2), "6": (14.5, 50.5), "14": (26.2, 50.0), "20": (34.2, 61.5),
    "41": (7.9, 3.6), "43": (11.6, 4.2), "44": (11.6, 5.4), "48": (7.9, 5.4), "54": (11.6, 3.05),
    "55": (11.6, 2.1), "57": (9.5, 2.7), "59": (7.9, 2.6), "60": (6.8, 2.15),
}
# fmt: on
_WHOLE = {
    "6LR61": ("alkaline", 9.0, 6, None),
    "6F22": ("zinc-carbon", 9.0, 6, None),
    "3LR12": ("alkaline", 4.5, 3, None),
    "3R12": ("zinc-carbon", 4.5, 3, None),
    "4LR44": ("alkaline", 6.0, 4, None),
    "4SR44": ("silver-oxide", 6.2, 4, None),
    "2CR5": ("lithium-manganese-dioxide", 6.0, 2, None),
    "CR2": ("lithium-manganese-dioxide", 3.0, 1, (15.6, 27.0)),
    "CR123A": ("lithium-manganese-dioxide", 3.0, 1, (17.0, 34.5)),
}
_ALIASES = {
    "CR123": "CR123A",
    # Trade numbers of alkaline button cells (from memory, AG13 also in published tables).
    "AG1": "LR60",
    "AG2": "LR59",
    "AG3": "LR41",
    "AG5": "LR48",
    "AG7": "LR57",
    "AG8": "LR55",
    "AG10": "LR54",
    "AG12": "LR43",
    "AG13": "LR44",
}
EVERYDAY = MappingProxyType(
    {
        **dict.fromkeys(("aaa", "micro"), "AAA"),
        **dict.fromkeys(("aa", "mignon"), "AA"),
        **dict.fromkeys(("c", "baby"), "C"),
        **dict.fromkeys(("d", "mono"), "D"),
        **dict.fromkeys(("n", "lady"), "N"),
        **dict.fromkeys(("pp3", "block"), "PP3"),
    }
)
"""Everyday and German names (common practice) to the name that is kept; `PP3` is the block of six small cells."""
EVERYDAY_SIZES = MappingProxyType({"AAA": "R03", "AA": "R6", "C": "R14", "D": "R20", "N": "R1"})
"""The name that is kept to the old size number of its one cell."""
BLOCK, BLOCK_VOLTS = "PP3", 9.0
"""The block, and its volts as a primary battery; rechargeable ones have fewer (6F22 of IEC 60086-2)."""
_COIN_SYSTEMS = (("C", "B", "ML", "VL", "LIR"), ("L", "S"))
"""Systems that cells of 12 mm across and more are made in, and those of smaller buttons (common practice)."""
_TRADE = "|".join(sorted((key for key in RECHARGEABLE if len(key) > 1), key=len, reverse=True))
CELL_CODE = re.compile(
    rf"(?<![^\W_])(?:(?:({_TRADE})R?|(\d{{1,2}})?([LSPCBEFGZMNHK])?R)(\d{{1,5}})([A-Z]{{0,2}})(?:-(\d))?|6F22|AG1[0-3]|AG[1-9]|2CR5)(?![^\W_])(?!/\d)"
)
"""Finds a code inside a longer line. A bare `R` plus digits needs a word that says battery before it is one."""

LOW_CELL = re.compile(r"(?<![^\W_])(?:[lscp]r\d{2,4}|ml\d{4}|lir\d{4})(?![^\W_])(?!/\d)")
"""The same in small letters, where no bare `r` is one."""


class Cell(msgspec.Struct, frozen=True):
    """A cell code read. Millimetres are the code's maximum; sizes no code gives are None."""

    code: str
    chemistry: str
    voltage: float
    rechargeable: bool = False
    cells: int = 1
    diameter: float | None = None
    height: float | None = None


def decode_cell(code: str) -> Cell:
    """Read `CR2032`, `LR6`, `4LR44`, `ML2032`, `6F22`, `AG13`. Refused for what the code tables do not hold."""
    text = code.strip().upper()
    whole = _WHOLE.get(_ALIASES.get(text, text))
    if whole:
        diameter, height = whole[3] or (None, None)
        return Cell(text, whole[0], whole[1], cells=whole[2], diameter=diameter, height=height)
    match = CELL_CODE.fullmatch(_ALIASES.get(text, text))
    if match is None or match[4] is None:
        raise Refused(f"'{code[:40]}' is no cell code: expected a form such as CR2032 or LR6")
    trade, series, letter, digits = match[1], int(match[2] or 1), match[3] or "", match[4]
    chemistry, volts = RECHARGEABLE[trade or letter] if (trade or letter) in RECHARGEABLE else PRIMARY[letter]
    size = _size(digits)
    if size is None:
        raise Refused(f"'{code[:40]}': no cell of size {digits} is in the tables")
    return Cell(
        text,
        chemistry,
        round(volts * series, 3),
        rechargeable=bool(trade) or letter in RECHARGEABLE,
        cells=series,
        diameter=size[0],
        height=size[1] if series == 1 else None,
    )


def cells_of_size(digits: str) -> tuple[Cell, ...]:
    """The cells that a size without its letters may be: `2032` is CR2032, and rechargeable ones. Empty for no size."""
    size = _size(digits) if len(digits) > 2 else None
    if size is None or size[1] > size[0]:
        return ()
    systems = _COIN_SYSTEMS[0 if size[0] >= 12 else 1]
    return tuple(decode_cell(f"{one}{'R' if len(one) == 1 else ''}{digits}") for one in systems)


def encode_cell(letter: str, diameter: float, height: float) -> str:
    """The new-style round code of a single cell: `C`, 20.0 and 3.2 mm give CR2032. Refused for no such letter or size.

    `letter` is a system letter of IEC 60086 or a trade prefix such as ML (which has no R).
    """
    widths = {across: code for code, across in _DIAMETERS.items()}
    tenths = round(height * 10)
    known = letter in PRIMARY or letter in RECHARGEABLE
    if not known or diameter not in widths or abs(tenths - height * 10) > 1e-6 or not 1 <= tenths <= 999:
        raise Refused(f"no round cell code holds '{letter[:8]}' with {diameter:g} x {height:g} mm")
    # a one-digit diameter takes two digits of height, the others as many as the height has, two at least
    figures = f"{widths[diameter]}{tenths:02d}"
    code = f"{letter}{'' if letter in {'VL', 'ML', 'MS', 'TC', 'LIR'} else 'R'}{figures}"
    cell = decode_cell(code)
    if (cell.diameter, cell.height) != (diameter, tenths / 10):
        raise Refused(f"{diameter:g} x {height:g} mm has no round cell code of its own: {code} is another size")
    return code


def _size(digits: str) -> tuple[float, float] | None:
    """Diameter and height: the old number, or a diameter code followed by the height in tenths of a millimetre."""
    if digits in OLD_ROUND:
        return OLD_ROUND[digits]
    width = {3: 1, 4: 2, 5: 2}.get(len(digits))
    diameter = _DIAMETERS.get(int(digits[:width])) if width else None
    return (diameter, int(digits[width:]) / 10) if diameter and int(digits[width:]) else None
