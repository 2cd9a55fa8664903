"""How a described part may be marked on its body, in the codes that makers print, to know it in a drawer.

The codes are those of `catalog.markings` and its neighbours, each the inverse of what reading accepts. A value that a
code cannot hold has no mark in it. `doubt` says when a value looks like a slip.
"""

from __future__ import annotations

from collections.abc import Callable

from catalog.cell_codes import PRIMARY, RECHARGEABLE, encode_cell
from catalog.colour_bands import encode_bands
from catalog.fuse_marks import FuseMark, encode_fuse
from catalog.markings import (
    Tolerance,
    encode_chip_resistor,
    encode_eia96,
    encode_picofarads,
    encode_two_character,
    encode_voltage,
    letter_for,
    one_letter_for,
    tolerance_letter,
)
from catalog.preferred import nearest, series_of
from catalog.quantity import encode_rkm, engineering
from catalog.sizes import gauge_area, gauge_of
from catalog.spec import PartSpec
from catalog.text import Refused

_SMALL = frozenset({"capacitor", "ceramic", "film", "tantalum"})


def marks(spec: PartSpec) -> tuple[tuple[str, str], ...]:
    """(name of the code, mark) for each code that holds the part's value; empty for kinds without any."""
    if spec.kind == "resistor":
        return _resistor(spec)
    if spec.kind in _SMALL or spec.kind == "electrolytic":
        return _capacitor(spec)
    if spec.kind == "battery":
        return _cell(spec)
    if spec.kind == "fuse":
        return _fuse(spec)
    if spec.kind == "wire" and (metres := spec.number("diameter")):
        return _kept([("nearest wire gauge", lambda: f"AWG {gauge_of(metres)}, {_area(metres)}")])
    return ()


def doubt(spec: PartSpec) -> str:
    """One sentence where no series of preferred numbers holds a resistor's value; empty otherwise."""
    ohms = spec.number("resistance")
    if spec.kind != "resistor" or not ohms or series_of(ohms):
        return ""
    near = engineering(nearest(ohms, "E24").value, "ohm")
    return f"no preferred series holds {engineering(ohms, 'ohm')} (nearest: {near}); measure it if you can"


def _resistor(spec: PartSpec) -> tuple[tuple[str, str], ...]:
    ohms, percent = spec.number("resistance"), spec.number("tolerance")
    if ohms is None:
        return ()
    coefficient = spec.number("temperature_coefficient")
    return _kept(
        [
            ("letter and digit", lambda: encode_rkm(ohms, "ohm", _letter(percent))),
            ("bands" if percent else "first bands", lambda: _bands(ohms, percent, coefficient)),
            ("chip, three signs", lambda: encode_chip_resistor(ohms)),
            ("chip, four signs", lambda: encode_chip_resistor(ohms, 4)),
            ("chip, 1 % code", lambda: encode_eia96(ohms if percent in {None, 1.0} else -1.0)),
        ]
    )


def _bands(ohms: float, percent: float | None, coefficient: float | None) -> str:
    """All bands, or only those of the value where no tolerance is stated."""
    return " ".join(encode_bands(ohms, percent, coefficient) if percent else encode_bands(ohms)[:-1])


def _capacitor(spec: PartSpec) -> tuple[tuple[str, str], ...]:
    farads, volts, percent = spec.number("capacitance"), spec.number("voltage_dc"), spec.number("tolerance")
    if farads is None:
        return ()
    if spec.kind == "electrolytic":
        plain = f"{float(f'{farads * 1e6:.6g}'):g}"
        ways: list[tuple[str, Callable[[], str]]] = [("chip can", lambda: f"{plain}{one_letter_for(volts or 0)}")]
        return _kept(ways)
    letter = _letter(percent, farads)
    if spec.kind == "tantalum":
        lettered = _kept([("three digits", lambda: encode_picofarads(farads) + one_letter_for(volts or 0))])
        return lettered or _kept([("three digits", lambda: encode_picofarads(farads))])
    return _kept(
        [
            ("three digits", lambda: encode_picofarads(farads) + letter),
            ("with the volts", lambda: encode_voltage(volts or 0) + encode_picofarads(farads) + letter),
            ("letter and digit", lambda: encode_rkm(farads, "F", letter)),
            ("two characters", lambda: encode_two_character(farads)),
        ]
    )


def _cell(spec: PartSpec) -> tuple[tuple[str, str], ...]:
    """The code of a single round cell that is described by its chemistry and size."""
    across, height = spec.number("diameter"), spec.number("height")
    if spec.word("code") or across is None or height is None or (spec.number("cells") or 1) > 1:
        return ()
    systems = {chemistry: letter for letter, (chemistry, _) in reversed((*PRIMARY.items(), *RECHARGEABLE.items()))}
    letter = systems.get(spec.word("chemistry") or "")
    return _kept([("cell code", lambda: encode_cell(letter, across, height))]) if letter is not None else ()


def _fuse(spec: PartSpec) -> tuple[tuple[str, str], ...]:
    amperes, direct = spec.number("current"), spec.number("voltage_dc")
    if amperes is None:
        return ()
    volts = direct if direct is not None else spec.number("voltage_ac")
    mark = FuseMark(amperes, spec.word("speed"), spec.word("breaking"), volts, direct=direct is not None)
    return (("fuse mark", encode_fuse(mark)),)


def _letter(percent: float | None, farads: float | None = None) -> str:
    """The tolerance letter where it says exactly this; below 10 pF some letters count in pF."""
    try:
        letter = letter_for(Tolerance(percent, percent)) if percent else ""
        return letter if letter and tolerance_letter(letter, farads).unit == "%" else ""
    except Refused:
        return ""


def _area(metres: float) -> str:
    return f"{gauge_area(gauge_of(metres)) * 1e6:.3g} mm²"


def _kept(ways: list[tuple[str, Callable[[], str]]]) -> tuple[tuple[str, str], ...]:
    """The codes that hold the value."""
    found: list[tuple[str, str]] = []
    for name, write in ways:
        try:
            found.append((name, write()))
        except Refused:
            continue
    return tuple(found)
