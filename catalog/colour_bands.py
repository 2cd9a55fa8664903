"""Colour bands of fixed resistors, with the colour words of several languages. Source: IEC 60062."""

from __future__ import annotations

import re
from collections.abc import Sequence

import msgspec
from rapidfuzz.distance import Levenshtein

from catalog.markings import Tolerance
from catalog.preferred import series_of
from catalog.quantity import scaled
from catalog.text import Refused

COLOURS = ("black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white")
_MULTIPLIERS = {**{colour: power for power, colour in enumerate(COLOURS)}, "gold": -1, "silver": -2, "pink": -3}
# fmt: off
_TOLERANCES = {
    "brown": 1.0, "red": 2.0, "orange": 0.05, "yellow": 0.02, "green": 0.5, "blue": 0.25, "violet": 0.1,
    "grey": 0.01, "gold": 5.0, "silver": 10.0,
}
_COEFFICIENTS = {
    "black": 250, "brown": 100, "red": 50, "orange": 15, "yellow": 25,
    "green": 20, "blue": 10, "violet": 5, "grey": 1,
}
# fmt: on
_SYNONYMS: dict[str, str] = {
    "black": "black schwarz noir negro nero zwart svart czarny чёрный черный preto",
    "brown": "brown braun brun marron marrón marrone bruin brązowy коричневый castanho",
    "red": "red rot rouge rojo rosso rood röd czerwony красный vermelho",
    "orange": "orange naranja arancione arancio oranje pomarańczowy оранжевый laranja",
    "yellow": "yellow gelb jaune amarillo giallo geel gul żółty жёлтый желтый amarelo",
    "green": "green grün gruen vert verde groen grön zielony зелёный зеленый",
    "blue": "blue blau bleu azul blu blauw blå niebieski синий",
    "violet": "violet purple violett lila violeta viola paars fioletowy фиолетовый roxo",
    "grey": "grey gray grau gris grigio grijs grå szary серый cinza",
    "white": "white weiß weiss blanc blanco bianco wit vit biały белый branco",
    "gold": "gold or oro goud guld złoty золотой золото ouro dorado",
    "silver": "silver silber argent plata argento zilver srebrny серебряный серебро prata plateado",
    "pink": "pink rosa rose roze różowy розовый",
}
_COLOUR_OF = {word: colour for colour, words in _SYNONYMS.items() for word in words.split()}


class Bands(msgspec.Struct, frozen=True):
    """A resistor read from its bands: ohms, tolerance (20 % implied for three bands), coefficient in 10^-6/K."""

    value: float
    tolerance: Tolerance
    coefficient: float | None = None


def colour(word: str) -> str | None:
    """The band colour a word of any known language names, or None."""
    return _COLOUR_OF.get(word.lower())


def decode_bands(bands: Sequence[str]) -> Bands:
    """Three or four bands hold two digits, five or six three; the sixth is the temperature coefficient.

    Raises Refused where a band cannot stand in its place: the order is never silently turned round.
    """
    names = [colour(band) for band in bands]
    if None in names:
        raise Refused(f"'{bands[names.index(None)][:40]}' is no band colour")
    known = [name for name in names if name]
    if not 3 <= len(known) <= 6:
        raise Refused(f"{len(known)} bands: a resistor has three to six")
    width = 2 if len(known) <= 4 else 3
    digits, rest = known[:width], known[width:]
    for name in digits:
        if name not in COLOURS:
            raise Refused(f"{name} is never a digit: the colours may be read from the wrong end or be wrong")
    if len(rest) > 1 and rest[1] not in _TOLERANCES:
        raise Refused(f"{rest[1]} is no tolerance band: it may be a type mark, so measure the part")
    if len(rest) > 2 and rest[2] not in _COEFFICIENTS:
        raise Refused(f"{rest[2]} is no temperature-coefficient band")
    value = scaled("".join(str(COLOURS.index(name)) for name in digits), _MULTIPLIERS[rest[0]])
    size = _TOLERANCES[rest[1]] if len(rest) > 1 else 20.0
    return Bands(
        value, Tolerance(size, size, implied=len(rest) == 1), _COEFFICIENTS[rest[2]] if len(rest) > 2 else None
    )


_ALIKE = {"silver": "grey", "gold": "yellow", "pink": "violet"}
"""Colours that are no digits, and the digit each is easily taken for on an old body (common practice)."""


def other_bands(bands: Sequence[str]) -> tuple[tuple[Bands, str], ...]:
    """What bands that cannot be as written may have been: from the other end, a type mark, or a colour like it.

    A colour is swapped only where a digit must stand, and only to a preferred value.
    """
    ways: list[tuple[Bands, str]] = []
    options = [(tuple(bands[::-1]), "bands read from the other end")]
    if len(bands) == 5:
        options.append((tuple(bands[:4]), f"four bands, and {bands[4]} as a type mark"))
    for place, band in enumerate(bands[: 2 if len(bands) <= 4 else 3]):
        like = _ALIKE.get(colour(band) or "")
        if like:
            options.append(((*bands[:place], like, *bands[place + 1 :]), f"{band} may be {like}"))
    for option, why in options:
        try:
            read = decode_bands(option)
        except Refused:
            continue
        swapped = "may be" in why
        if read not in [way for way, _ in ways] and not (swapped and not series_of(read.value)):
            ways.append((read, why))
    return tuple(ways)


def encode_bands(ohms: float, tolerance: float = 5.0, coefficient: float | None = None) -> tuple[str, ...]:
    """The bands of a value with its tolerance in percent and coefficient in 10^-6/K.

    Three bands for 20 %, four, five when it needs three digits, six with a coefficient.
    """
    last = [name for name, size in _TOLERANCES.items() if size == tolerance]
    sixth = [name for name, size in _COEFFICIENTS.items() if size == coefficient]
    shown = (last or tolerance == 20.0) and (sixth or coefficient is None) and (last or not sixth)
    for width in (3,) if coefficient is not None else (2, 3):
        for name, power in _MULTIPLIERS.items():
            figure = f"{ohms / 10.0**power:.6f}".rstrip("0").rstrip(".")
            held = figure.isdecimal() and len(figure) == width and scaled(figure, power) == ohms
            if held and shown and (last or len(figure) == 2):
                return (*(COLOURS[int(digit)] for digit in figure), name, *last, *sixth)
    raise Refused(
        f"{ohms:g} ohm with {tolerance:g} % cannot be shown in bands: three digits and a listed tolerance only"
    )


def find_bands(text: str) -> tuple[tuple[int, int], tuple[str, ...]] | None:
    """The first run of at least three colour words (spaces, hyphens, commas, slashes between), with its place.

    None where a word beside the run is tied to it, or is nearly a colour: then a band was not read, and the others
    alone would give a wrong value.
    """
    run: list[tuple[int, int, str]] = []
    for match in re.finditer(r"[^\W\d_]+", text):
        name = colour(match[0])
        joined = not run or not text[run[-1][1] : match.start()].strip(" -,/–>")
        if name and joined:
            run.append((match.start(), match.end(), name))
        elif len(run) >= 3:
            break
        else:
            run = [(match.start(), match.end(), name)] if name else []
    if not 3 <= len(run) <= 6 or _band_missed(text, run[0][0], run[-1][1]):
        return None
    return (run[0][0], run[-1][1]), tuple(name for _, _, name in run)


def _band_missed(text: str, start: int, end: int) -> bool:
    before = re.search(r"([^\W\d_]+)([\s\-,/–>]+)$", text[:start])
    after = re.match(r"([\s\-,/–>]+)([^\W\d_]+)", text[end:])
    beside = [(m[word].lower(), m[gap]) for m, word, gap in ((before, 1, 2), (after, 2, 1)) if m]
    return any(gap.strip() in {"-", "/", "–"} or _nearly_a_colour(word) for word, gap in beside)


def _nearly_a_colour(word: str) -> bool:
    """One slip away from a colour word of four letters or more."""
    return len(word) >= 4 and any(
        len(name) >= 4 and Levenshtein.distance(word, name, score_cutoff=1) <= 1 for name in _COLOUR_OF
    )
