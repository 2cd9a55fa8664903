"""Ceramic dielectric codes and the letters of film types: what range and change a code promises.

Sources: EIA-198 (ceramic codes); EN 60062 clause 6 (film letters). Where published lists differ on a slope digit
(4, 5 and 9) the code is refused, not guessed.
"""

from __future__ import annotations

import msgspec

from catalog.text import Refused

_LOW = {"X": -55, "Y": -30, "Z": 10}
_HIGH = {"2": 45, "4": 65, "5": 85, "6": 105, "7": 125, "8": 150, "9": 200}
# fmt: off
_CHANGE: dict[str, tuple[float, float]] = {
    **{
        letter: (-size, size)
        for letter, size in zip("ABCDEFPRS", (1, 1.5, 2.2, 3.3, 4.7, 7.5, 10, 15, 22), strict=True)
    },
    "T": (-33.0, 22.0), "U": (-56.0, 22.0), "V": (-82.0, 22.0),
}
_SLOPE = {
    "C": 0.0, "B": 0.3, "L": 0.8, "A": 0.9, "M": 1.0, "P": 1.5,
    "R": 2.2, "S": 3.3, "T": 4.7, "V": 5.6, "U": 7.5,
}
# fmt: on
_SLOPE_FACTOR = {"0": -1, "1": -10, "2": -100, "3": -1000, "6": 10, "7": 100, "8": 1000}
_SLOPE_TOLERANCE = {"G": 30, "H": 60, "J": 120, "K": 250, "L": 500, "M": 1000, "N": 2500}
# fmt: off
_OLD_NAMES = {
    **dict.fromkeys(("NP0", "NPO", "COG", "C0G", "CG"), "C0G"),
    "N075": "U1G", "N150": "P2H", "N220": "R2H", "N330": "S2H", "N470": "T2H", "N750": "U2J",
    "N1500": "P3K", "N2200": "R3L",
}
# fmt: on
_FILM = {"T": "PET", "P": "PP", "S": "PS", "C": "PC", "I": "PPS", "N": "PEN"}
FILM_CODES = {f"{form}{letter}": name for form in ("MK", "FK", "K") for letter, name in _FILM.items()}


class Dielectric(msgspec.Struct, frozen=True):
    """A ceramic dielectric. Class 2: °C range and percent change; class 1: slope and its tolerance in 10^-6/K."""

    code: str
    rank: int
    """1 for temperature-compensating parts, 2 for the others."""
    low: int | None = None
    high: int | None = None
    change: tuple[float, float] | None = None
    slope: float | None = None
    slope_tolerance: float | None = None


def decode_dielectric(text: str) -> Dielectric:
    """Read `X7R`, `C0G` (also NP0, NPO, COG), `U2J` or an old name such as `N750`; Refused for anything else."""
    code = text.upper()
    code = _OLD_NAMES.get(code, code)
    if len(code) == 3 and code[0] in _LOW and code[1] in _HIGH and code[2] in _CHANGE:
        return Dielectric(code, 2, low=_LOW[code[0]], high=_HIGH[code[1]], change=_CHANGE[code[2]])
    if len(code) == 3 and code[0] in _SLOPE and code[1] in _SLOPE_FACTOR and code[2] in _SLOPE_TOLERANCE:
        slope = round(_SLOPE[code[0]] * _SLOPE_FACTOR[code[1]], 6) + 0.0
        return Dielectric(code, 1, slope=slope, slope_tolerance=_SLOPE_TOLERANCE[code[2]])
    raise Refused(f"'{text[:40]}' is no ceramic dielectric code that all lists agree on")
