"""Numbers with units as people type them: SI prefixes, decimal comma, unit spellings, letter-and-digit code.

Written here and not rested on a package, because those looked at misread cases that occur on parts without a word, such
as `4,7uF`, `4k7`, `22PF` or `470E`; the counts are in DEVELOPERS.md. They serve the tests as independent checks.

Values are exact decimal readings rounded once to float, so `4.7 µF` is the float written `4.7e-6`.
Source: IEC 60062, letter-and-digit code.
"""

from __future__ import annotations

import re
from decimal import Decimal

import msgspec

from catalog.text import Refused

_MICRO = re.compile("[µμ]|Μ(?=[Ff])")
"""The two micro signs, and before F the capital Greek letter that upper-casing makes of them."""

_EXPONENTS = {"p": -12, "n": -9, "u": -6, "m": -3, "": 0, "k": 3, "M": 6, "G": 9, "T": 12}
_DISPLAY = {-12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G", 12: "T"}
_SIGNS = {"ohm": "Ω", "degC": "°C"}

RESISTANCE_LETTERS = {"L": -3, "R": 0, "E": 0, "K": 3, "k": 3, "M": 6, "G": 9, "T": 12}
CAPACITANCE_LETTERS = {"p": -12, "n": -9, "u": -6, "m": -3, "F": 0}
INDUCTANCE_LETTERS = {"n": -9, "u": -6, "m": -3, "H": 0}
VOLTAGE_LETTERS = {"V": 0}
_LETTERS = {"ohm": RESISTANCE_LETTERS, "F": CAPACITANCE_LETTERS, "H": INDUCTANCE_LETTERS, "V": VOLTAGE_LETTERS}

_RKM = re.compile(r"(\d{0,4})([A-Za-z])(\d{0,4})([A-Z]?)")
_NUMBER = re.compile(r"(\d{0,12})(?:([.,])(\d{0,12}))?")


class Rkm(msgspec.Struct, frozen=True):
    """A letter-and-digit code read: value in the base unit, and the tolerance letter if one follows."""

    value: float
    tolerance: str = ""


def scaled(digits: str, exponent: int = 0) -> float:
    """`digits` (a plain decimal such as "4.7") times ten to `exponent`, rounded once."""
    return float(Decimal(digits).scaleb(exponent))


def numbers(text: str) -> tuple[float, ...]:
    """All readings of a plain number with decimal point or comma; one, or two where a comma may be either sign.

    `4,7` and `0,125` are decimals; `1,500` is both 1.5 and 1500. Raises Refused for anything else.
    """
    match = _NUMBER.fullmatch(text)
    if match is None or not (match[1] or match[3]):
        raise Refused(f"'{text[:40]}' is not a number: write digits with one decimal point or comma")
    decimal = scaled(f"{match[1] or 0}.{match[3] or 0}")
    grouped = match[2] == "," and len(match[3]) == 3 and match[1][:1] in set("123456789")
    return (decimal, scaled(match[1] + match[3])) if grouped else (decimal,)


def decode_rkm(text: str, unit: str = "ohm") -> Rkm:
    """Read a letter-and-digit code in `unit` (ohm, F, H or V): `4k7`, `R005`, `4µ7`, `6V3`, `M10G`.

    Raises Refused when it is not such a code. A letter after a complete value is a tolerance letter.
    """
    letters = _LETTERS[unit]
    match = _RKM.fullmatch(_plain_micro(text))
    if match is None or not (match[1] or match[3]):
        raise Refused(f"'{text[:40]}' is no letter-and-digit code: expected a form such as 4k7, R47 or 4µ7")
    before, letter, after, tail = match.groups()
    letter = letter if letter in letters else letter.lower() if letter.lower() in letters else letter
    if letter not in letters or (unit == "F" and letter == "m" and match[2] == "M"):
        raise Refused(f"'{letter}' is no multiplier letter for {unit}: expected one of {' '.join(letters)}")
    return Rkm(scaled(f"{before or 0}.{after or 0}", letters[letter]), tail)


def encode_rkm(value: float, unit: str = "ohm", tolerance: str = "") -> str:
    """The letter-and-digit code of `value` with at most four significant figures: 4700.0 gives `4K7`.

    Raises Refused for a value that four figures or the letters of `unit` cannot hold.
    """
    letters = {exponent: letter for letter, exponent in _LETTERS[unit].items() if letter not in "kE"}
    figure = Decimal(repr(value))
    if unit == "ohm" and figure >= Decimal("0.01"):
        letters.pop(-3)  # R47 is what is printed, not 470L
    for exponent in sorted(letters, reverse=True):
        scaled_figure = figure.scaleb(-exponent).normalize()
        if scaled_figure >= 1 or (exponent == min(letters) and scaled_figure > 0) or figure == 0:
            before, _, after = format(scaled_figure, "f").partition(".")
            before = "" if before == "0" and after else before
            if len(before) > 3 or len(after) > 4 or len((before + after).strip("0")) > 4:
                break
            letter = letters[0 if figure == 0 else exponent]
            return f"{before}{'µ' if letter == 'u' else letter}{after}{tolerance}"
    raise Refused(f"{value:g} {unit} cannot be written as a letter-and-digit code: it needs at most four figures")


def engineering(value: float, unit: str, figures: int = 4) -> str:
    """`value` in base units for reading: `engineering(4.7e-06, "F")` is "4.7 µF"; trade units take no prefix."""
    sign = _SIGNS.get(unit, unit)
    if unit not in {"F", "ohm", "H", "Hz", "A", "V", "W", "m", "s"} or value == 0:
        return f"{value:.{figures}g} {sign}".rstrip()
    rounded = Decimal(f"{value:.{figures - 1}e}")
    # Millifarads are not said in the trade: a can of 4700 µF is sold as that.
    top = -6 if unit == "F" and -3 <= rounded.adjusted() < -1 else 12
    exponent = min(max(rounded.adjusted() // 3 * 3, -12), top)
    return f"{rounded.scaleb(-exponent).normalize():f} {_DISPLAY[exponent]}{sign}"


def _plain_micro(text: str) -> str:
    return _MICRO.sub("u", text)


# Units --------------------------------------------------------------------------------------------------------------

_UNIT_WORDS: dict[str, tuple[str, ...]] = {
    "F": ("f", "farad", "farads", "ф", "фарад"),
    "ohm": ("ω", "Ω", "ohm", "ohms", "ohme", "ohmios", "ом"),
    "H": ("h", "henry", "гн", "генри"),
    "Hz": ("hz", "hertz", "гц", "герц"),
    "V": ("v", "volt", "volts", "voltios", "в", "вольт"),
    "A": ("a", "amp", "amps", "ampere", "amperes", "а", "ампер"),
    "W": ("w", "watt", "watts", "vatios", "вт", "ватт"),
}
_PREFIX_WORDS = {
    **{spelling: exponent for spelling, exponent in _EXPONENTS.items() if spelling != "T"},
    "g": 9,
    "mk": -6,
    "Mk": -6,
    "pico": -12,
    "nano": -9,
    "micro": -6,
    "mikro": -6,
    "milli": -3,
    "kilo": 3,
    "mega": 6,
    "пико": -12,
    "нано": -9,
    "микро": -6,
    "кило": 3,
    "мега": 6,
    "п": -12,
    "н": -9,
    "мк": -6,
    "к": 3,
    "м": -3,
    "М": 6,
}
_FIXED: dict[str, tuple[str, int]] = {
    **dict.fromkeys(("mfd", "Mfd", "Mf", "mfd.", "Mfd.", "ufd"), ("F", -6)),
    **dict.fromkeys(("mmf", "mmfd", "Mmf", "Mmfd", "uuf", "uufd"), ("F", -12)),
    **dict.fromkeys(("meg", "Meg", "megohm", "Megohm", "megohms"), ("ohm", 6)),
    **dict.fromkeys(("mm", "Mm", "мм", "Мм"), ("mm", 0)),
    **dict.fromkeys(("cm", "см"), ("mm", 1)),
    **dict.fromkeys(("ah",), ("Ah", 0)),
    **dict.fromkeys(("mah", "Mah", "мач"), ("Ah", -3)),
    **dict.fromkeys(("%",), ("%", 0)),
    **dict.fromkeys(("ppm",), ("ppm", 0)),
    **dict.fromkeys(("°c", "degc", "℃", "grad"), ("degC", 0)),
    **dict.fromkeys(("rpm", "u/min", "r/min", "tr/min", "об/мин"), ("rpm", 0)),
    **dict.fromkeys(("hrs", "hours", "hour", "std", "stunden"), ("h", 0)),
    **dict.fromkeys(("s", "sec"), ("s", 0)),
    **dict.fromkeys(("ms",), ("s", -3)),
    **dict.fromkeys(("gf",), ("gf", 0)),
    **dict.fromkeys(("va",), ("VA", 0)),
}


class Unit(msgspec.Struct, frozen=True):
    """A unit spelling read: base unit and the exponents its prefix may mean (two where the case collides)."""

    unit: str
    exponents: tuple[int, ...]
    why: tuple[str, ...] = ()
    """One sentence for each exponent, when there are several."""


def _folded(text: str) -> str:
    """Lower case, except that a leading m or M (or its Cyrillic twin) keeps its own: milli is not mega."""
    plain = _plain_micro(text)
    head = plain[:1] if plain[:1] in set("mMмМ") else plain[:1].lower()
    return head + "".join(c.lower() if len(c.lower()) == 1 else c for c in plain[1:])


def _table() -> dict[str, Unit]:
    table: dict[str, Unit] = {}
    for unit, words in _UNIT_WORDS.items():
        for prefix, exponent in _PREFIX_WORDS.items():
            for word in words:
                table[_folded(prefix + word)] = _unit(unit, prefix, exponent)
    for word, (unit, exponent) in _FIXED.items():
        table[_folded(word)] = Unit(unit, (exponent,))
    table["mf"] = Unit("F", (-3, -6), ("mF as millifarad", "mF as microfarad, as in old lists"))
    return table


def _unit(unit: str, prefix: str, exponent: int) -> Unit:
    """A mega where only milli makes sense (`500 MA`) or the reverse (`4 mHz`) is offered both ways, never folded."""
    if prefix == "M" and unit in {"H", "V", "A", "W"}:
        return Unit(unit, (-3, 6), ("capital M written for milli", "M as mega"))
    if prefix == "m" and unit == "Hz":
        return Unit(unit, (6, -3), ("small m written for mega", "m as milli"))
    return Unit(unit, (exponent,))


_UNITS = _table()
_LONGEST = max(map(len, _UNITS))


def unit_at(text: str, start: int) -> tuple[Unit, int] | None:
    """The longest unit spelling that begins at `start` and is not the beginning of a longer word, with its end."""
    window = _folded(text[start : start + _LONGEST])
    for length in range(len(window), 0, -1):
        piece = window[:length]
        found = _UNITS.get(piece)
        end = start + length
        if found and (end >= len(text) or not text[end].isalpha() or not text[end - 1].isalpha()):
            return found, end
    return None
