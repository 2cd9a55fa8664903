"""What was understood of one part description: the reading, its draft while it grows, and its form for output."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping

import msgspec

from catalog.markings import Tolerance
from catalog.quantity import engineering, scaled
from catalog.scan import Measure, Scan
from catalog.spec import KINDS, PartSpec, Value

_CAPACITORS = ("electrolytic", "tantalum", "ceramic", "film", "safety-cap", "capacitor")
MAIN: Mapping[str, tuple[str, str]] = {
    **dict.fromkeys(_CAPACITORS, ("capacitance", "F")),
    **dict.fromkeys(("resistor", "potentiometer", "thermistor"), ("resistance", "ohm")),
    **dict.fromkeys(("battery", "psu", "motor"), ("voltage", "V")),
    "fuse": ("current", "A"),
    "thermal-fuse": ("current", "A"),
    "ptc": ("hold_current", "A"),
    "diode": ("zener_voltage", "V"),
    "regulator": ("output_voltage", "V"),
    "inductor": ("inductance", "H"),
    "ferrite": ("impedance", "ohm"),
    "crystal": ("frequency", "Hz"),
    "belt": ("circumference", "m"),
    "wire": ("diameter", "m"),
}
"""Main attribute of a kind and the unit its value is given in; a kind not listed has none."""
_READINGS_LIMIT = 12
_NUMBERS = ("model_code", "part_number")


class Voltage(msgspec.Struct, frozen=True):
    """A rated or nominal voltage; `type` is "dc", "ac" or None when the text does not say."""

    value: float
    type: str | None = None


class Reading(msgspec.Struct, frozen=True):
    """The answer of `read`. `value_si` is the kind's main quantity in `unit`, None unless it is certain."""

    status: str
    """ok, ambiguous, refused or nothing."""
    spec: PartSpec | None = None
    """What is certain; None when nothing is, or the text was refused."""
    value_si: float | None = None
    unit: str | None = None
    tolerance: Tolerance | None = None
    voltage: Voltage | None = None
    readings: tuple[Reading, ...] = ()
    """The alternatives of an ambiguous text, each ok by itself with its `why`."""
    left_over: tuple[str, ...] = ()
    """Pieces of the text that were not understood, in order."""
    reason: str = ""
    """For a refused text: one line that says why and what to do."""
    why: str = ""
    """For an alternative: how the text was taken."""


def as_dict(reading: Reading) -> dict[str, object]:
    """The reading in plain types, for JSON; see `Reading`. `why` and `reason` appear only where they say something."""
    spec, tolerance, voltage = reading.spec, reading.tolerance, reading.voltage
    attributes = (
        {name: {"value": held.value, "unit": held.unit} for name, held in spec.attributes.items()} if spec else {}
    )
    form: dict[str, object] = {
        "status": reading.status,
        "kind": spec.kind or None if spec else None,
        "value_si": reading.value_si,
        "unit": reading.unit,
        "tolerance": msgspec.to_builtins(tolerance) if tolerance else None,
        "voltage": msgspec.to_builtins(voltage) if voltage else None,
        "attributes": attributes,
        "readings": [as_dict(option) for option in reading.readings],
        "left_over": list(reading.left_over),
    }
    return {**form, **{name: text for name, text in (("why", reading.why), ("reason", reading.reason)) if text}}


class Choice(msgspec.Struct, frozen=True):
    """One way to take an uncertain piece: what it adds to the certain attributes."""

    why: str
    attributes: dict[str, Value] = {}
    tolerance: Tolerance | None = None
    kind: str | None = None


class Draft:
    """A part being read: certain attributes, open questions, and the text they come from."""

    def __init__(self, scan: Scan, kind: str, *, marked: bool, vintage: bool) -> None:
        """`marked`: the line calls a number a mark; `vintage`: it is plainly about old parts."""
        self.scan, self.kind, self.marked, self.vintage = scan, kind, marked, vintage
        self.attributes: dict[str, Value] = {}
        self.tolerance: Tolerance | None = None
        self.role: str | None = None
        self.part_number = ""
        self.refused = ""
        self.questions: list[tuple[Choice, ...]] = []
        self.volts_type: str | None = None

    def value(self, name: str, value: float | str | bool, *, implied: bool = False) -> Value:  # noqa: FBT001
        """A value with the unit its kind stores it in."""
        unit = KINDS[self.kind][name]
        return Value(value, None if unit in {"word", "text", "flag", "count"} else unit, implied)

    def put(self, name: str, value: float | str | bool, *, implied: bool = False) -> None:  # noqa: FBT001
        """State an attribute. A second, different statement becomes a question; an implied one never overrides."""
        held, new = self.attributes.get(name), self.value(name, value, implied=implied)
        if held is None or (held.implied and not implied):
            self.attributes[name] = new
        elif held.value != value and not implied:
            del self.attributes[name]
            self.ask(*(Choice(_said(name, item), {name: item}) for item in (held, new)))

    def ask(self, *choices: Choice) -> None:
        """Leave a piece open; a single choice is no question and is taken."""
        if len(choices) == 1:
            for name, held in choices[0].attributes.items():
                self.put(name, held.value, implied=held.implied)
            self.tolerance = choices[0].tolerance or self.tolerance
        elif choices:
            self.questions.append(choices)

    def put_measure(self, name: str, measure: Measure) -> None:
        """State an attribute from a measure and claim its place; several values become a question."""
        self.scan.claim(measure.start, measure.end)
        if len(measure.values) == 1:
            self.put(name, measure.values[0])
        else:
            pairs = zip(measure.values, measure.why, strict=True)
            self.ask(*(Choice(why, {name: self.value(name, value)}) for value, why in pairs))

    def has(self, name: str) -> bool:
        """Whether the attribute is stated or asked about."""
        return name in self.attributes or any(name in choice.attributes for group in self.questions for choice in group)

    def reading(self) -> Reading:
        """The finished reading."""
        left = self.scan.left_over()
        if self.refused:
            return Reading("refused", reason=self.refused, left_over=left)
        if not self.questions:
            return self._single(self.attributes, self.tolerance, self.kind, left)
        options: list[Reading] = []
        for choices in itertools.islice(itertools.product(*self.questions), _READINGS_LIMIT):
            attributes, tolerance, kind = dict(self.attributes), self.tolerance, self.kind
            for choice in choices:
                attributes |= choice.attributes
                tolerance, kind = choice.tolerance or tolerance, choice.kind or kind
            option = self._single(attributes, tolerance, kind, left)
            options.append(msgspec.structs.replace(option, why="; ".join(choice.why for choice in choices)))
        certain = self._single(self.attributes, self.tolerance, self.kind, left)
        kinds = {option.spec.kind for option in options if option.spec}
        spec = certain.spec if len(kinds) == 1 else None
        units = {option.unit for option in options}
        return msgspec.structs.replace(
            certain,
            status="ambiguous",
            spec=spec,
            value_si=None,
            unit=next(iter(units)) if len(units) == 1 else MAIN.get(self.kind, ("", None))[1] if spec else None,
            readings=tuple(options),
        )

    def _single(
        self, attributes: dict[str, Value], tolerance: Tolerance | None, kind: str, left: tuple[str, ...]
    ) -> Reading:
        number = next((attributes[name].value for name in _NUMBERS if name in attributes), "")
        spec = PartSpec(kind, dict(attributes), self.role, self.part_number or str(number))
        tolerance_value = _percent(spec, tolerance)
        if tolerance and tolerance_value is not None and "tolerance" in KINDS[kind]:
            spec.attributes["tolerance"] = Value(tolerance_value, "%", tolerance.implied)
        value, unit = main_value(spec)
        return Reading("ok", spec, value, unit, tolerance, _voltage(spec, self.volts_type), left_over=left)


def _said(name: str, held: Value) -> str:
    number = not isinstance(held.value, str | bool)
    shown = engineering(float(held.value), held.unit or "") if number else held.value
    return f"{name.replace('_', ' ')} {shown}"


FAR = 10.0
"""Main values further apart than this factor are not even judged: no rule of the kinds reaches so far (our choice)."""
_ANY_MORE = frozenset({"thermal-fuse"})
"""Kinds of which any higher main value serves: a thermal fuse for more amperes opens at the same heat (rule TF2)."""


def main_value(spec: PartSpec) -> tuple[float | None, str | None]:
    """The main quantity of a part and its unit; both None where the kind has none or it is not stated."""
    name, unit = MAIN.get(spec.kind, ("", ""))
    if spec.kind == "belt":
        size, across = spec.number("circumference"), spec.number("inside_diameter")
        if size is None and across is not None:
            size = round(math.pi * across, 3)
        return (scaled(repr(size), -3), unit) if size is not None else (None, None)
    value = spec.number(name)
    return (value, unit) if value is not None else (None, None)


def far_apart(wanted: tuple[float | None, str | None], other: tuple[float | None, str | None], kind: str) -> bool:
    """Whether the main value of another part is further from that of a wanted `kind` than any rule reaches."""
    if not wanted[0] or not other[0] or wanted[1] != other[1]:
        return False
    ratio = other[0] / wanted[0]
    return ratio < 1 / FAR or (ratio > FAR and kind not in _ANY_MORE)


def _percent(spec: PartSpec, tolerance: Tolerance | None) -> float | None:
    """The larger side in percent; a tolerance in picofarads needs the value."""
    if tolerance is None or tolerance.unit == "%":
        return max(tolerance.minus, tolerance.plus) if tolerance else None
    farads = spec.number("capacitance")
    return round(max(tolerance.minus, tolerance.plus) * 1e-10 / farads, 6) if farads else None


def _voltage(spec: PartSpec, said: str | None) -> Voltage | None:
    for name, sort in (("voltage_ac", "ac"), ("voltage_dc", "dc"), ("voltage", None), ("reverse_voltage", None)):
        value = spec.number(name)
        if value is not None:
            held = spec.attributes[name]
            return Voltage(value, said if sort is None else None if held.implied else sort)
    return None
