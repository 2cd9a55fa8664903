"""Marks written for a described part read back as that part, and strange values are told."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.describe import read
from catalog.markings import decode_capacitor
from catalog.preferred import members
from catalog.quantity import decode_rkm, scaled
from catalog.shown_as import doubt, marks
from catalog.spec import PartSpec, Value


def resistor(ohms, percent=None):
    held = {"resistance": Value(ohms, "ohm")}
    return PartSpec("resistor", held | ({"tolerance": Value(percent, "%")} if percent else {}))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            "resistor 4k7 1%",
            {
                "letter and digit": "4K7F",
                "bands": "yellow violet red brown",
                "chip, three signs": "472",
                "chip, four signs": "4701",
            },
        ),
        ("resistor 4.75k 1%", {"chip, 1 % code": "66B", "bands": "yellow violet green brown brown"}),
        ("resistor 10k", {"first bands": "brown black orange"}),
        ("kerko 100nF 50V 10%", {"three digits": "104K", "with the volts": "1H104K", "two characters": "A5"}),
        ("elko 470uF 16V", {"chip can": "470C"}),
        ("tantal 10uF 16V", {"three digits": "106C"}),
        ("fuse T 3,15A 250VAC", {"fuse mark": "T3.15A250V"}),
        ("silver oxide button cell 9.5x2.7mm", {"cell code": "SR927"}),
        ("AWG 24 wire", {"nearest wire gauge": "AWG 24, 0.205 mm²"}),
    ],
)
def test_marks(text, expected):
    found = dict(marks(read(text).spec))
    assert {name: found.get(name) for name in expected} == expected


def test_what_no_code_holds_has_no_mark():
    assert marks(read("belt square 135 mm circumference 1.2").spec) == ()
    assert marks(PartSpec("resistor")) == ()
    assert "chip, three signs" not in dict(marks(resistor(4750.0)))
    assert dict(marks(read("4.7pF 1% NP0").spec))["three digits"] == "479"  # F would be 1 pF there


@given(st.sampled_from(members("E24")), st.integers(-1, 5), st.sampled_from([None, 1.0, 2.0, 5.0, 10.0]))
def test_marks_of_resistors_read_back(figure, power, percent):
    ohms = scaled(str(figure), power)
    for name, mark in marks(resistor(ohms, percent)):
        text = {"bands": mark, "first bands": mark, "letter and digit": f"resistor {mark}"}.get(name)
        reading = read(text or f"chip resistor marked {mark}")
        options = {option.value_si: option.tolerance for option in reading.readings or (reading,)}
        assert ohms in options, (name, mark)
        if name in {"bands", "letter and digit"} and percent:
            assert options[ohms].plus == percent


@given(st.sampled_from(members("E12")), st.integers(-11, -7), st.sampled_from([6.3, 16.0, 50.0, 100.0]))
def test_marks_of_ceramics_read_back(figure, power, volts):
    farads = scaled(str(figure), power)
    held = {"capacitance": Value(farads, "F"), "voltage_dc": Value(volts, "V"), "tolerance": Value(10.0, "%")}
    found = dict(marks(PartSpec("ceramic", held)))
    mark = decode_capacitor(found["with the volts"])
    assert (mark.value, mark.volts, mark.tolerance.plus) == (farads, volts, 10.0)
    assert decode_rkm(found["letter and digit"], "F").value == farads


def test_a_value_no_series_holds_is_told():
    assert doubt(resistor(5000.0)) == "no preferred series holds 5 kΩ (nearest: 5.1 kΩ); measure it if you can"
    assert doubt(resistor(7800.0)).startswith("no preferred series holds 7.8 kΩ")
    for ohms in (0.0, 4700.0, 4750.0, 1.02e3):
        assert doubt(resistor(ohms)) == ""
    assert doubt(read("poti 5k").spec) == ""
