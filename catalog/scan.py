"""One line of text while it is read: which pieces are understood, and the measures (numbers with units) in it.

Every reader claims the pieces it understood; what nobody claims is the left-over, so nothing is dropped.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import TypeVar

import msgspec

from catalog.markings import RATED_VOLTS
from catalog.preferred import series_of
from catalog.quantity import Rkm, decode_rkm, numbers, scaled, unit_at
from catalog.text import BEGIN, Refused

T = TypeVar("T")

_NUMBER = re.compile(r"\d{1,12}(?:[.,]\d{1,12})?|(?<![^\W\d_])[.,]\d{1,6}")
_POINT_OF_THOUSANDS = re.compile(r"[1-9]\d{0,2}\.\d{3}")
"""In half of Europe the point parts thousands: `1.000 µF`. Crystals are written with three decimals everywhere."""
_GROUPED = re.compile(r"(\d{1,3}(?: \d{3})*) (\d{3})(?![\d.,])")
_MOST_VOLTS = 50_000.0
"""No part at such a bench is rated higher (common practice), so `102 500V` is a number and its volts."""
_VOLTS = re.compile(r"\s?(k|m)?[VvВв]\s?(AC|DC|ac|dc|Ac|Dc|~|=|⎓)?(?![^\W\d_])")
_FARAD_LETTER = re.compile(r"\s?([pnuµμ])F([BCDJKMGZ])(?![^\W_])")
_BARE_PREFIX = re.compile(r"\s?([RKkкMmМGTLEepnuµμ])(?:([JKMGFZABCD])(?![^\W_]))?(?![^\W_])")
_RKM = re.compile(r"(\d{0,3})([RKkкMmGTLEpnuµμFVvHΩ])(\d{0,3})([A-Z])?")
_LETTER_OF_SIGN = str.maketrans("кvΩ", "kVR")
"""Letters of a code that the tables hold under another: the unit itself as the point is one of them."""
_DIGITS = re.compile(r"\d{1,3}(?![\w%°/*×-]|[.,]\d| ?[x×*]\s?\d)")
_OHM_WORD = re.compile(r"\s(?:[Oo]hms?|OHMS?|Ω|Ом)(?![^\W_])")
_LEADING = re.compile(r"R\d{1,4}|[MKpnuµμm]\d{2,3}|[µμ]\d")
_TOKEN = re.compile(r"[^\W_]+")
_SMALL = (
    "a an and or of with in on to the at is mit und von auf der die das ein eine et de du des la le les avec con y e "
    "di da per x х w o с и на pcs pc stk qty approx ca"
)
_FUNCTION_WORDS = frozenset(_SMALL.split())
_UNIT_OF_LETTER = {**dict.fromkeys("RKkкMМGTLE", "ohm"), **dict.fromkeys("pnuµμ", "F")}
_LETTER_POWERS = {"p": -12, "n": -9, "u": -6, "µ": -6, "μ": -6, "R": 0, "E": 0, "k": 3, "K": 3, "к": 3, "M": 6, "М": 6}
_LETTER_POWERS = {**_LETTER_POWERS, "G": 9, "T": 12, "L": -3}
_SEPARATORS = " \t,;:/|-–—*+.=&·•\"'±@#~×"


class Measure(msgspec.Struct, frozen=True):
    """A number with its unit found in the text; `values` has more than one entry where the text allows several."""

    start: int
    end: int
    unit: str
    values: tuple[float, ...]
    why: tuple[str, ...] = ()
    kind_of_volts: str | None = None
    letter: str = ""
    """The tolerance letter glued to the value, or empty."""
    rest: tuple[float | None, ...] = ()
    """For a glued text: the volts that go with each value."""
    volts_said: bool = True
    """Whether the sign of volts stands behind them; false for a bare number right behind the unit."""


class Scan:
    """A cleaned line with its claimed places. `low` is the same text, lower case, hyphens between letters as spaces."""

    def __init__(self, text: str, shown: str = "") -> None:
        """`text` must be cleaned already; `shown` is what left-over pieces are cut from, where it differs."""
        self.text = text
        self.shown = shown or text
        # places in both must agree: a letter whose small form is longer stays as it is
        low = text.lower() if text.isascii() else "".join(c.lower() if len(c.lower()) == 1 else c for c in text)
        self.low = re.sub(r"(?<=[^\W\d_])-(?=[^\W\d_])", " ", low)
        self._taken = bytearray(len(text))

    def free(self, start: int, end: int) -> bool:
        """Whether nobody has claimed any of the place."""
        return not any(self._taken[start:end])

    def claim(self, start: int, end: int) -> None:
        """Mark a place as understood."""
        self._taken[start:end] = b"\x01" * (end - start)

    def set_aside(self, start: int, end: int) -> None:
        """Keep a place from every reader but report it as left over."""
        self._taken[start:end] = b"\x02" * (end - start)

    def release(self, start: int, end: int) -> None:
        """Take back a claim: the place was not understood after all."""
        self._taken[start:end] = bytes(end - start)

    def find(self, pattern: str | re.Pattern[str], *, low: bool = False) -> Iterator[re.Match[str]]:
        """Matches in places nobody has claimed."""
        for match in re.finditer(pattern, self.low if low else self.text):
            if match.end() > match.start() and self.free(match.start(), match.end()):
                yield match

    def take(self, pattern: str | re.Pattern[str], *, low: bool = False) -> re.Match[str] | None:
        """Claim and return the first unclaimed match."""
        match = next(self.find(pattern, low=low), None)
        if match:
            self.claim(match.start(), match.end())
        return match

    def words(self, table: Mapping[str, T], *, claim: bool = True) -> list[tuple[int, int, T]]:
        """Phrases of `table` (one to four words) in unclaimed places, longest first at each place."""
        tokens = [(m.start(), m.end()) for m in _TOKEN.finditer(self.low)]
        found: list[tuple[int, int, T]] = []
        at = 0
        while at < len(tokens):
            step = 1
            for length in range(min(4, len(tokens) - at), 0, -1):
                start, end = tokens[at][0], tokens[at + length - 1][1]
                phrase = self.low[start:end]
                if phrase in table and self.free(start, end):
                    found.append((start, end, table[phrase]))
                    if claim:
                        self.claim(start, end)
                    step = length
                    break
            at += step
        return found

    def measures(self, units: frozenset[str]) -> list[Measure]:
        """Unclaimed measures; `units` are the quantities letter-and-digit codes may stand for (ohm, F, H, V)."""
        found: list[Measure] = []
        at = 0
        while at < len(self.text):
            measure = None
            glued = bool(found) and found[-1].end == at
            before = self.text[at - 1] if at else " "
            boundary = (
                glued
                or (at and self._taken[at - 1])
                or not (before.isalnum() or (before in ".,_" and at > 1 and self.text[at - 2].isdecimal()))
            )
            if boundary and not self._taken[at] and (self.text[at].isalnum() or self.text[at] in ".,"):
                measure = self._measure_at(at, units)
                measure = self._with_figures_behind(measure, units) if measure else None
            if measure:
                if self.free(measure.start, measure.end):
                    found.append(measure)
                at = measure.end
            else:
                number = _NUMBER.match(self.text, at)
                at = number.end() if number else at + 1
        return found

    def _with_figures_behind(self, measure: Measure, units: frozenset[str]) -> Measure | None:
        """A digit right behind a unit is the start of a next measure, or a question: the unit may be the point.

        None where there is no such question to ask; then nothing of the piece is read.
        """
        figures = _DIGITS.match(self.text, measure.end)
        if (
            figures is None
            or not self.text[measure.end - 1].isalpha()
            or not self.free(figures.start(), figures.end())
            or self._measure_at(measure.end, units)
        ):
            return measure
        number = _NUMBER.match(self.text, measure.start)
        volts = float(figures[0])
        rated = measure.unit == "F" and volts in RATED_VOLTS
        if number and not number[0].isdecimal() and rated and len(measure.values) == 1:
            # the point of `2,2uF50` stands already, so the unit is none
            return msgspec.structs.replace(measure, end=figures.end(), rest=(volts,), volts_said=False)
        if number is None or not number[0].isdecimal() or len(measure.values) > 1:
            return None
        pointed = Scan(f"{number[0]}.{figures[0]}{self.text[number.end() : measure.end]}").measures(units)
        if len(pointed) != 1 or pointed[0].values[0] == measure.values[0]:
            return None
        apart = f"{figures[0]} as the volts" if rated else f"{figures[0]} behind the unit apart"
        return msgspec.structs.replace(
            measure,
            end=figures.end(),
            values=(measure.values[0], pointed[0].values[0]),
            why=(apart, "the unit as the point"),
            rest=(volts, None) if rated else (),
            volts_said=False,
        )

    def _measure_at(self, at: int, units: frozenset[str]) -> Measure | None:
        number = _NUMBER.match(self.text, at)
        coded = self._rkm_at(at, units) or self._grouped_at(at, units)
        if coded or number is None:
            return coded
        volts = _VOLTS.match(self.text, number.end())
        if volts:
            power = {"k": 3, "m": -3, None: 0}[volts[1]]
            sign = {"~": "ac", "=": "dc", "⎓": "dc"}.get(volts[2] or "", (volts[2] or "").lower()) or None
            return _measure(number, volts.end(), "V", (power,), kind_of_volts=sign)
        lettered = _FARAD_LETTER.match(self.text, number.end())
        if lettered:
            found = _measure(number, lettered.end(), "F", (_LETTER_POWERS[lettered[1]],))
            return msgspec.structs.replace(found, letter=lettered[2])
        bare = _BARE_PREFIX.match(self.text, number.end())
        if (
            bare
            and not (bare[2] == "A" and bare[1] in "nuµμ")
            and (  # `500uA` are amperes
                bare[1] in "mM" or _UNIT_OF_LETTER.get(bare[1].upper() if bare[1] == "e" else bare[1]) is not None
            )
        ):
            resolved = _bare(number, bare, units)
            if resolved:
                return resolved
        spaces = re.match(r"\s?", self.text[number.end() :])
        start = number.end() + (spaces.end() if spaces else 0)
        unit = unit_at(self.text, start)
        behind = _measure(number, unit[1], unit[0].unit, unit[0].exponents, unit[0].why) if unit else None
        return behind or self._unit_first(number)

    def _grouped_at(self, at: int, units: frozenset[str]) -> Measure | None:
        """`10 000 uF`: thousands parted by a space, or a number of its own in front of the value."""
        grouped = _GROUPED.match(self.text, at)
        if grouped is None:
            return None
        last = self._measure_at(grouped.start(2), units)
        joined = Scan(grouped[1].replace(" ", "") + self.text[grouped.start(2) : last.end] if last else "")
        whole = joined.measures(units) if last and last.start == grouped.start(2) and not last.rest else []
        if last and last.unit == "V" and whole and whole[0].values[0] > _MOST_VOLTS:
            return None
        if last is None or len(whole) != 1 or whole[0].unit != last.unit or len(whole[0].values) > 1:
            return None
        values, why = whole[0].values, ("a space between thousands", "two numbers side by side")
        if grouped[2] != "000":
            values = (*values, *last.values)
        reasons = why if len(values) == 2 else ()
        return msgspec.structs.replace(last, start=at, values=values, why=reasons) if len(values) <= 2 else None

    def _unit_first(self, number: re.Match[str]) -> Measure | None:
        """A number behind its unit: `кОм 4,7`, `uF 100`."""
        window = self.text[max(0, number.start() - 9) : number.start()]
        before = re.search(rf"{BEGIN}([^\W\d_]{{2,5}}|Ω)[:\s]\s?$", window)
        at = number.start() - len(before[0]) if before else 0
        if (
            before is None
            or re.search(r"[\d.,]\s?$", self.text[max(0, at - 2) : at])
            or not self.free(at, number.end())
        ):
            return None
        unit = unit_at(self.text, at)
        if unit is None or unit[1] != at + len(before[1]) or unit[0].unit not in {"F", "ohm", "H", "Hz"}:
            return None
        found = _measure(number, number.end(), unit[0].unit, unit[0].exponents, unit[0].why)
        return msgspec.structs.replace(found, start=at)

    def _rkm_at(self, at: int, units: frozenset[str]) -> Measure | None:
        match = _RKM.match(self.text, at)
        if match is None or not match[3] or not (match[1] or _LEADING.match(self.text, at)):
            return None
        end, letter = match.end(3), match[2].translate(_LETTER_OF_SIGN)
        follow = re.match(r"[A-Za-zΩµμ%Ωа-яА-Я]*", self.text[end:])
        tail = follow[0] if follow else ""
        after = self.text[end + len(tail) : end + len(tail) + 1]
        tenth = len(match[3]) == 1 and letter == "V"  # `4V5` is one number in every kind of part
        unit = next((u for u in ("V", "ohm", "F", "H") if (u in units or tenth) and _holds(letter, u)), None)
        if unit is None or (unit == "V" and (not match[1] or len(match[1] + match[3]) > 3 or tail)):
            return None  # `25V85` is no decimal that the trade writes
        if (tail and unit != "V" and _VOLTS.match(self.text, end)) or tail in {"W", "%"}:
            return _splits(at, match, unit, self.text)
        own = {"F": ("F",), "H": ("H",), "ohm": ("Ω", "ohm", "Ohm", "OHM", "Ом", "ом"), "V": ()}[unit]
        if after.isdecimal() or (tail and tail not in own and not (len(tail) == 1 and tail in "BCDFGHJKMNQSTZP")):
            return None
        code: Rkm = decode_rkm(f"{match[1]}{letter}{match[3]}", unit)
        glued = "" if tail in own else tail
        return Measure(at, end + len(tail), unit, (code.value,), letter=glued)

    def left_over(self) -> tuple[str, ...]:
        """Pieces nobody claimed, in order; separators and pieces of nothing but function words are no pieces."""
        pieces: list[str] = []
        for match in re.finditer(rb"[\x00\x02]+", bytes(self._taken)):
            piece = _trimmed(self.shown[match.start() : match.end()])
            # a capital alone is a mark (A as a taper, W of watts), no function word
            words = [word if len(word) == 1 else word.lower() for word in piece.split()]
            bare = [word.strip(_SEPARATORS + "()[]{}<>") for word in words]
            if any(word not in _FUNCTION_WORDS for word in bare if word):
                pieces.append(piece)
        return tuple(pieces)


def _trimmed(piece: str) -> str:
    """Without separators at the ends, and without brackets whose partner stands elsewhere or that hold all of it."""
    outer = ""
    while outer != piece:
        outer, piece = piece, piece.strip(_SEPARATORS)
        for opening, closing in ("()", "[]", "{}", "<>"):
            if piece.startswith(opening) and (closing not in piece or piece.index(closing) == len(piece) - 1):
                piece = piece[1:]
            if piece.endswith(closing) and opening not in piece:
                piece = piece[:-1]
    return piece


def _holds(letter: str, unit: str) -> bool:
    try:
        decode_rkm(f"1{letter}0", unit)
    except Refused:
        return False
    return not (unit == "ohm" and letter == "m")


def _measure(
    number: re.Match[str],
    end: int,
    unit: str,
    powers: tuple[int, ...],
    why: tuple[str, ...] = (),
    *,
    kind_of_volts: str | None = None,
) -> Measure:
    """All readings of a number times all readings of its prefix."""
    plain = numbers(number[0])
    pointed = _POINT_OF_THOUSANDS.fullmatch(number[0])
    if pointed and (unit == "F" or (unit == "ohm" and powers == (0,))):
        plain = (*plain, float(number[0].replace(".", "")))
    values = tuple(scaled(repr(value), power) for power in powers for value in plain)
    reasons = list(why) if why else [""] * len(powers)
    if len(plain) == 2:
        sign = "point" if "." in number[0] else "comma"
        commas = (f"{sign} as decimal sign", f"{sign} between thousands")
        reasons = [f"{reason}; {comma}".strip("; ") for reason in reasons for comma in commas]
    return Measure(number.start(), end, unit, values, tuple(reasons) if len(values) > 1 else (), kind_of_volts)


def _bare(number: re.Match[str], bare: re.Match[str], units: frozenset[str]) -> Measure | None:
    """A number with a prefix letter and no unit: `10k`, `100n`, `4,7K`, `10m`."""
    letter, tail = bare[1], bare[2] or ""
    if letter == "m":
        if "ohm" not in units or tail:  # `500mA` is no ohms
            return None
        why = ("small m as milli", "small m written for mega")
        return _measure(number, bare.end(), "ohm", (-3, 6), why) if "F" not in units else None
    letter = letter.upper() if letter == "e" else letter
    if letter == "T" and bare[0][0] != "T":
        return None  # a T apart is the letter of a slow fuse
    unit = _UNIT_OF_LETTER[letter]
    if unit == "F" and "F" not in units and "H" in units:
        unit = "H"
    if unit not in units or letter not in _LETTER_POWERS:
        return None
    if tail == "F" and "F" in units and (unit == "F" or letter == "M"):
        return None  # the F is farad: `100nF`, and `1 MF` of old lists
    named = _OHM_WORD.match(number.string, bare.end()) if unit == "ohm" and not tail else None
    found = _measure(number, named.end() if named else bare.end(), unit, (_LETTER_POWERS[letter],))
    return msgspec.structs.replace(found, letter=tail)


def _splits(at: int, match: re.Match[str], unit: str, text: str) -> Measure | None:
    """`4µ750V` may be 4.7 µF 50 V or 4 µF 750 V; `47R5W` only 47 ohm and 5 W."""
    before, letter, digits = match[1], match[2].translate(_LETTER_OF_SIGN), match[3]
    options: list[tuple[float, float]] = []
    for length in range(min(len(digits), 3)):
        point, rest = digits[:length], digits[length:]
        value = decode_rkm(f"{before}{letter}{point}", unit).value if before or point else 0.0
        if rest[0] != "0" and value and (length == 0 or "E24" in series_of(value)):
            options.append((value, float(rest)))
    volts = _VOLTS.match(text, match.end(3))
    if before and len(options) == 1 and options[0][0] == decode_rkm(f"{before}{letter}", unit).value:
        return Measure(at, match.start(3), unit, (options[0][0],))
    if not volts or not options:
        return None
    why = tuple(f"split before {rest:g} V" for _, rest in options)
    values = tuple(value for value, _ in options)
    return Measure(
        at, volts.end(), unit, values, why if len(values) > 1 else (), rest=tuple(rest for _, rest in options)
    )
