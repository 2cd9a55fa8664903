"""Value marks printed on part bodies: chip digits, picofarad codes, tolerance and voltage letters.

Sources: IEC 60062 (tolerance letters, 1 % chip code, two-character code), EIA-198 practice (picofarad code), maker
practice (chip digits, voltage codes). Every decoder raises Refused for a mark its code does not hold.
"""

from __future__ import annotations

import re

import msgspec

from catalog.preferred import members
from catalog.quantity import decode_rkm, scaled
from catalog.text import Refused


class Tolerance(msgspec.Struct, frozen=True):
    """Allowed deviation as two positive magnitudes; `unit` is "%" or "pF"."""

    minus: float
    plus: float
    unit: str = "%"
    implied: bool = False
    """True when the mark does not say it: the code has it as a default."""


class Mark(msgspec.Struct, frozen=True):
    """A mark read: value in farad or ohm, with the tolerance and direct voltage it carries, if any."""

    value: float
    tolerance: Tolerance | None = None
    volts: float | None = None


# fmt: off
_SYMMETRIC = {
    "E": 0.005, "L": 0.01, "P": 0.02, "W": 0.05, "B": 0.1, "C": 0.25, "D": 0.5,
    "F": 1.0, "G": 2.0, "H": 3.0, "J": 5.0, "K": 10.0, "M": 20.0, "N": 30.0,
}
# fmt: on
_ASYMMETRIC = {"Q": (10.0, 30.0), "T": (10.0, 50.0), "S": (20.0, 50.0), "Z": (20.0, 80.0)}
_PICOFARADS = {"B": 0.1, "C": 0.25, "D": 0.5, "F": 1.0, "G": 2.0}

# fmt: off
SIGNIFICANDS = {
    "A": "1.0", "B": "1.25", "C": "1.6", "D": "2.0", "E": "2.5", "F": "3.15", "G": "4.0", "H": "5.0", "J": "6.3",
    "K": "8.0", "V": "3.5", "W": "4.5", "P": "2.2", "Q": "1.1", "Z": "1.8",
}
RATED_VOLTS = frozenset({
    2.5, 4, 6.3, 10, 16, 20, 25, 35, 40, 50, 63, 80, 100, 110, 125, 160, 180, 200, 220, 250, 315, 350, 400, 450, 500,
    630, 1000, 1250, 1600, 2000,
})
_ONE_LETTER = {
    "e": 2.5, "G": 4.0, "J": 6.3, "j": 6.3, "A": 10.0, "C": 16.0,
    "D": 20.0, "E": 25.0, "V": 35.0, "T": 50.0, "H": 50.0,
}
_EIA96_MULTIPLIERS = {
    "Z": -3, "Y": -2, "R": -2, "X": -1, "S": -1, "A": 0,
    "B": 1, "H": 1, "C": 2, "D": 3, "E": 4, "F": 5,
}
# fmt: on
"""`RATED_VOLTS`: direct volts that capacitors are made for, the ladder of the voltage codes and of IEC 60063-like
steps (40, 1250 and 1600 from memory): what a number right behind a value may be."""
_TWO_CHARACTER = dict(zip("ABCDEFGHJKLMNPQRSTUVWXYZ", members("E24"), strict=True))
_TWO_CHARACTER_LOWER = {"a": 25, "d": 40, "e": 45, "f": 50, "m": 60, "n": 70, "t": 80}
_CAPACITOR_MARK = re.compile(r"(?:(\d[A-Z]))?(\d{2}\d|\d{0,2}R\d{1,2})([A-Z])?")


def tolerance_letter(letter: str, farads: float | None = None) -> Tolerance:
    """What a tolerance letter means; `farads` is the value of a capacitor, below 10 pF of which it counts in pF."""
    if farads is not None and farads < 9.9999e-12 and letter in _PICOFARADS:
        return Tolerance(_PICOFARADS[letter], _PICOFARADS[letter], "pF")
    if farads is not None and letter == "P":
        raise Refused("'P' on a capacitor means different things in different lists: give the tolerance in percent")
    if letter in _SYMMETRIC:
        return Tolerance(_SYMMETRIC[letter], _SYMMETRIC[letter])
    if letter in _ASYMMETRIC:
        return Tolerance(*_ASYMMETRIC[letter])
    raise Refused(f"'{letter[:8]}' is no tolerance letter: expected one of {' '.join([*_SYMMETRIC, *_ASYMMETRIC])}")


def letter_for(tolerance: Tolerance) -> str:
    """The letter for a tolerance; Refused when no letter stands for it."""
    pair = (tolerance.minus, tolerance.plus)
    letters = (
        {(size, size): letter for letter, size in _PICOFARADS.items()}
        if tolerance.unit == "pF"
        else {**{(size, size): letter for letter, size in _SYMMETRIC.items()}, **{v: k for k, v in _ASYMMETRIC.items()}}
    )
    if pair not in letters:
        raise Refused(f"no letter stands for -{pair[0]:g}/+{pair[1]:g} {tolerance.unit}")
    return letters[pair]


def decode_chip_resistor(mark: str) -> float:
    """Ohms of a three- or four-digit chip mark, or one with R as the point: `472`, `4701`, `R005`, `000`."""
    if re.fullmatch(r"\d{3,4}", mark):
        return scaled(mark[:-1], int(mark[-1]))
    if re.fullmatch(r"\d{0,3}R\d{0,3}", mark) and mark != "R":
        return decode_rkm(mark).value
    raise Refused(f"'{mark[:40]}' is no chip resistor mark: expected three or four digits, or R as the point")


def encode_chip_resistor(ohms: float, digits: int = 3) -> str:
    """The chip mark of `ohms` with `digits` characters (3 or 4); Refused when it needs more figures."""
    for exponent in range(10):
        figure = f"{ohms / 10**exponent:.6f}".rstrip("0").rstrip(".")
        if "." not in figure and len(figure) == digits - 1 and scaled(figure, exponent) == ohms:
            return f"{figure}{exponent}"
    plain = f"{ohms:.{digits - 1}f}"
    mark = plain.removeprefix("0").replace(".", "R") if ohms < 1 else plain.replace(".", "R")
    mark = mark[:digits].ljust(digits, "0")
    if "R" not in mark or decode_rkm(mark).value != ohms:
        raise Refused(f"{ohms:g} ohm does not fit a chip mark of {digits} characters")
    return mark


def decode_eia96(mark: str) -> Mark:
    """Ohms of a two-digit position and multiplier letter on a 1 % chip: `66B`; the 1 % is implied."""
    match = re.fullmatch(r"(\d\d)([A-Z])", mark)
    if match is None or match[2] not in _EIA96_MULTIPLIERS:
        raise Refused(
            f"'{mark[:40]}' is no 1 % chip code: expected two digits and one of {' '.join(_EIA96_MULTIPLIERS)}"
        )
    position = int(match[1])
    if not 1 <= position <= 96:
        raise Refused(f"position {match[1]} is outside 01 to 96: read the mark again")
    figure = members("E96")[position - 1]
    return Mark(scaled(str(figure), _EIA96_MULTIPLIERS[match[2]]), Tolerance(1.0, 1.0, implied=True))


def encode_eia96(ohms: float) -> str:
    """The 1 % chip code of `ohms`, with the first of two equal letters; Refused when E96 does not hold the value."""
    for letter, exponent in _EIA96_MULTIPLIERS.items():
        for position, figure in enumerate(members("E96"), start=1):
            if letter not in "RSH" and scaled(str(figure), exponent) == ohms:
                return f"{position:02d}{letter}"
    raise Refused(f"{ohms:g} ohm is not in the E96 series, so it has no 1 % chip code")


def decode_picofarads(code: str) -> float:
    """Farads of a three-digit code (`104`; third digit 8 = x0.01, 9 = x0.1) or one with R as the point (`4R7`)."""
    if re.fullmatch(r"\d{3}", code):
        return scaled(code[:2], {"8": -2, "9": -1}.get(code[2], int(code[2])) - 12)
    if re.fullmatch(r"\d{0,2}R\d{0,2}", code) and code != "R":
        return scaled(f"{code.partition('R')[0] or 0}.{code.partition('R')[2] or 0}", -12)
    raise Refused(f"'{code[:40]}' is no picofarad code: expected three digits, or R as the point")


def encode_picofarads(farads: float) -> str:
    """The three-digit code of a capacitance with two significant figures; Refused when it needs more."""
    for exponent in (0, 1, 2, 3, 4, 5, 6, 7, -1, -2):
        for figure in range(10, 100):
            if scaled(str(figure), exponent - 12) == farads:
                return f"{figure}{ {-1: 9, -2: 8}.get(exponent, exponent) }"
    raise Refused(f"{farads:g} F needs more than two figures: no three-digit code stands for it")


def decode_capacitor(mark: str) -> Mark:
    """A ceramic or film mark with optional voltage code before and tolerance letter after: `2A104J`."""
    match = _CAPACITOR_MARK.fullmatch(mark)
    if match is None:
        raise Refused(f"'{mark[:40]}' is no capacitor mark: expected a form such as 104, 104K or 2A104J")
    farads = decode_picofarads(match[2])
    return Mark(
        farads,
        tolerance_letter(match[3], farads) if match[3] else None,
        decode_voltage(match[1]) if match[1] else None,
    )


def decode_tantalum(mark: str) -> Mark:
    """A tantalum mark: three digits in pF, a voltage letter before or after (`C105`, `476J`) or volts (`226 16`)."""
    match = re.fullmatch(r"([eGJACDEVTH])?(\d{3})(?:([eGJACDEVTH])|([KM])| (\d{1,2}(?:\.\d)?)V?)?", mark)
    if match is None or (match[1] and (match[3] or match[5])):
        raise Refused(f"'{mark[:40]}' is no tantalum mark: expected three digits and one voltage letter or the volts")
    letter = match[1] or match[3]
    volts = one_letter_volts(letter) if letter else float(match[5]) if match[5] else None
    return Mark(decode_picofarads(match[2]), tolerance_letter(match[4]) if match[4] else None, volts)


def decode_aluminium_can(mark: str) -> Mark:
    """An aluminium chip can: plain microfarads, then volts or their letter: `100 / 16V`, `220 / 6V3`, `10H`, `47`."""
    match = re.fullmatch(
        r"(\d{1,5}(?:\.\d)?)(?:\s?[/ ]\s?(?:(\d{1,3}(?:\.\d)?)\s?[Vv]?|(\d{1,2}V\d)|([A-Za-z]))|([A-Za-z]))?", mark
    )
    if match is None:
        raise Refused(f"'{mark[:40]}' is no aluminium can mark: expected microfarads, then volts or a voltage letter")
    farads, plain, point, *letters = match.groups()
    letter = letters[0] or letters[1]
    volts = float(plain) if plain else decode_rkm(point, "V").value if point else None
    volts = one_letter_volts(letter) if letter else volts
    return Mark(scaled(farads, -6), None, volts)


def decode_two_character(mark: str) -> float:
    """Farads of the letter-and-digit capacitor code: `S4` is 47 nF. Digit 9 is x0.1; 8 is not used."""
    match = re.fullmatch(r"([A-Za-z])([0-9])", mark)
    figure = ({**_TWO_CHARACTER, **_TWO_CHARACTER_LOWER}).get(match[1]) if match else None
    if match is None or figure is None or match[2] == "8":
        raise Refused(f"'{mark[:40]}' is no two-character capacitor code: sources give no safe reading of it")
    return scaled(str(figure), (-1 if match[2] == "9" else int(match[2])) - 13)


def encode_two_character(farads: float) -> str:
    """The two-character code of an E24 capacitance; Refused when none stands for it."""
    for letter in _TWO_CHARACTER:
        for digit in "012345679":
            if decode_two_character(letter + digit) == farads:
                return letter + digit
    raise Refused(f"{farads:g} F has no two-character code: the code holds E24 values from 0.1 pF to 91 µF")


def decode_voltage(code: str) -> float:
    """Direct volts of a digit-and-letter code: `1H` is 50 V, `0J` is 6.3 V."""
    if code == "0L":
        return 5.5  # double-layer parts only
    match = re.fullmatch(r"([0-3])([A-Z])", code)
    if match is None or match[2] not in SIGNIFICANDS:
        raise Refused(f"'{code[:40]}' is no voltage code: expected a digit 0 to 3 and one of {' '.join(SIGNIFICANDS)}")
    return scaled(SIGNIFICANDS[match[2]], int(match[1]))


def encode_voltage(volts: float) -> str:
    """The digit-and-letter code of a direct voltage; Refused when the ladder does not hold it."""
    if volts == 5.5:
        return "0L"
    for digit in range(4):
        for letter, significand in SIGNIFICANDS.items():
            if scaled(significand, digit) == volts:
                return f"{digit}{letter}"
    raise Refused(f"{volts:g} V is not on the ladder of voltage codes")


def one_letter_for(volts: float) -> str:
    """The single letter for a direct voltage; of two letters for 50 V the H. Refused where none stands for it."""
    letters = {held: letter for letter, held in _ONE_LETTER.items() if letter not in "jT"}
    if volts not in letters:
        raise Refused(f"no single letter stands for {volts:g} V: expected one of {' '.join(f'{v:g}' for v in letters)}")
    return letters[volts]


def one_letter_volts(letter: str) -> float:
    """Volts of the single letter on tantalum chips and aluminium cans; `e` and `E` differ."""
    if letter not in _ONE_LETTER:
        raise Refused(f"'{letter[:8]}' is no one-letter voltage mark: expected one of {' '.join(_ONE_LETTER)}")
    return _ONE_LETTER[letter]
