"""Part numbers inside a line whose last piece looks like a value code: `TK-104K`, `HX-47R`.

Such a piece is a name, not a statement. It is kept from the readers of values, so that a numbered part never gets an
invented value; a word of the trade in front (`Elko-100n`, `X7R-104K`) makes it a value again.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from catalog.attribute_words import ATTRIBUTE_WORDS
from catalog.words import KIND_WORDS

_NUMBERED = re.compile(
    r"(?<![\w./-])(?<![\d\s],)([A-Z][A-Za-z0-9]{0,7})(?:-[A-Za-z0-9]{1,8}){0,3}"
    r"-(?:\d{0,3}[RKkMGLE]\d{0,3}[A-Z]?|\d{0,3}[pnuµμ]\d{0,3}(?!F)[A-Z]?|\d{3,4}[A-Z]?)(?![\w%Ωµμ]|[.,]\d|\s?[x×*])"
)
_TRADE_CODE = re.compile(
    r"[RCL]|RM\d*|[AD]C|AWG|[XY][1-4]|[XYZ][2-9][A-FPRSTUV]|[CU]\d[GJ]|NP[0O]|COG|N\d{3}|(?:MK|FK|K)[TPSCIN]\d*"
)
_PURPOSE = re.compile(r"(?i:(?<![^\W_])(?:for|für|fuer|pour|para|для|voor|dla))\s([^\s,;]*\d[^\s,;]*)")
_UNITLESS = re.compile(
    r"\d{2,4}[JKM]?|\d{3}[JKMZ]\d{2,4}|[0-3]?[A-Z]?\d{3}[A-Z]?|\d{0,4}(?:[.,]\d{1,3})?[RKkкMМGLEpnuµμ]\d{0,4}[A-Z]?|[RMpnµμ]\d{1,3}[A-Z]?"
)
_PIECE = re.compile(r"[^\s,;()\"]+")
_STRANGE = re.compile(r"[^\W\d_]{3,}")
_WORDS = frozenset({*KIND_WORDS, *(phrase for table in ATTRIBUTE_WORDS.values() for phrase in table)})


def part_numbers(line: str) -> tuple[tuple[int, int], ...]:
    """Places of the part numbers in a cleaned line that a reader of values would take for codes."""
    if "-" not in line:
        return ()
    return tuple(
        match.span()
        for match in _NUMBERED.finditer(line)
        if match[1].lower() not in _WORDS and not _TRADE_CODE.fullmatch(match[1])
    )


def purposes(line: str) -> tuple[tuple[int, int], ...]:
    """Places of figures right behind a word such as `for` (`cover for CR2032`): they say what the part is for."""
    return tuple(match.span(1) for match in _PURPOSE.finditer(line))


def without_names(line: str) -> str:
    """The line with part numbers, and figures that only say what a thing is for, blanked; places kept."""
    for start, end in (*part_numbers(line), *purposes(line)):
        line = line[:start] + " " * (end - start) + line[end:]
    return line


def rests_on_a_name(text: str, number: str, left_over: Sequence[str]) -> bool:
    """Whether what was read of a numbered part may come from its number alone, or from one bare code in a strange name.

    Args:
        text: its description, cleaned; empty where only the number was read.
        number: its part number.
        left_over: what was not understood.

    True only where no word of the trade stands in the text and all that can be a value is codes without a unit: then
    nothing says that a code is a value at all. A registered type, a cell code or a written unit is no such code.
    """
    pieces = [piece.strip(".:") for piece in _PIECE.findall(text or number)]
    if any(piece.lower() in _WORDS for piece in pieces):
        return False
    codes = [piece for piece in pieces if _UNITLESS.fullmatch(piece) or piece.casefold() == number.casefold()]
    figures = [piece for piece in pieces if re.search(r"\d", piece) and piece not in " ".join(left_over).split()]
    if any(piece not in codes for piece in figures):
        return False
    strange = any(_STRANGE.search(piece) for piece in left_over)
    return not text or strange or [piece.casefold() for piece in codes] == [number.casefold()]
