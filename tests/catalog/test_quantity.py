"""Numbers with units, the letter-and-digit code and preferred numbers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.preferred import members, nearest, series_of
from catalog.quantity import decode_rkm, encode_rkm, engineering, numbers, scaled, unit_at
from catalog.text import Refused

RESISTANCE = (
    "R47=0.47 4R7=4.7 47R=47 470R=470 4k7=4.7e3 4K7=4.7e3 47K3=47.3e3 M22=220e3 2M2=2.2e6 "
    "10M=10e6 1G5=1.5e9 5L6=5.6e-3 "
    "R005=5e-3 0R22=0.22 1K0=1e3 470E=470 4E7=4.7"
)
CAPACITANCE = (
    "p33=0.33e-12 3p3=3.3e-12 33p=33e-12 330p=330e-12 n33=330e-12 3n3=3.3e-9 100n=100e-9 "
    "µ47=470e-9 4u7=4.7e-6 4µ7=4.7e-6 "
    "10µ=10e-6 m33=330e-6 3m3=3.3e-3 1F0=1 4μ7=4.7e-6"
)
TOLERANCES = "4K7J=4.7e3=J R22K=0.22=K 10RF=10=F M10G=100e3=G 100RB=100=B 1K0D=1e3=D 2M2M=2.2e6=M 47KC=47e3=C"


@pytest.mark.parametrize("row", RESISTANCE.split())
def test_resistance_codes(row):
    code, value = row.split("=")
    assert decode_rkm(code).value == float(value)


@pytest.mark.parametrize("row", CAPACITANCE.split())
def test_capacitance_codes(row):
    code, value = row.split("=")
    assert decode_rkm(code, "F").value == float(value)


@pytest.mark.parametrize("row", TOLERANCES.split())
def test_a_letter_after_a_complete_value_is_its_tolerance(row):
    code, value, letter = row.split("=")
    read = decode_rkm(code)
    assert (read.value, read.tolerance) == (float(value), letter)


def test_other_quantities_have_their_own_letters():
    assert decode_rkm("4u7", "H").value == 4.7e-6
    assert decode_rkm("6V3", "V").value == 6.3
    assert decode_rkm("5V1", "V").value == 5.1


@pytest.mark.parametrize("text", ["", "R", "47", "4X7", "12345R", "4k7k9", "M22M2"])
def test_what_is_no_letter_and_digit_code_is_refused(text):
    with pytest.raises(Refused):
        decode_rkm(text)


def test_mega_is_no_capacitance_letter():
    with pytest.raises(Refused):
        decode_rkm("2M2", "F")


@given(st.integers(1, 999), st.integers(-2, 9))
def test_resistance_round_trip(figure, power):
    value = scaled(str(figure), power)
    assert decode_rkm(encode_rkm(value)).value == value


@given(st.integers(1, 999), st.integers(-14, -3), st.sampled_from(["", "J", "K"]))
def test_capacitance_round_trip(figure, power, letter):
    value = scaled(str(figure), power)
    read = decode_rkm(encode_rkm(value, "F", letter), "F")
    assert (read.value, read.tolerance) == (value, letter)


def test_a_value_with_too_many_figures_is_not_written():
    with pytest.raises(Refused):
        encode_rkm(123456.7)


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("4,7", (4.7,)),
        ("0,125", (0.125,)),
        ("1,500", (1.5, 1500.0)),
        (".022", (0.022,)),
        ("1.500", (1.5,)),
        ("47", (47.0,)),
    ],
)
def test_numbers(text, values):
    assert numbers(text) == values


@pytest.mark.parametrize("text", ["", ".", "1.2.3", "1e5", "abc"])
def test_no_number_is_refused(text):
    with pytest.raises(Refused):
        numbers(text)


@pytest.mark.parametrize(
    ("spelling", "unit", "exponent"),
    [
        ("uF", "F", -6),
        ("µF", "F", -6),
        ("μF", "F", -6),
        ("ΜF", "F", -6),
        ("мкФ", "F", -6),
        ("нФ", "F", -9),
        ("пФ", "F", -12),
        ("кОм", "ohm", 3),
        ("МОм", "ohm", 6),
        ("мОм", "ohm", -3),
        ("Ω", "ohm", 0),
        ("\u2126", "ohm", 0),
        ("kOhm", "ohm", 3),
        ("KOHM", "ohm", 3),
        ("MΩ", "ohm", 6),
        ("mΩ", "ohm", -3),
        ("Meg", "ohm", 6),
        ("MFD", "F", -6),
        ("mmF", "F", -12),
        ("mmfd", "F", -12),
        ("В", "V", 0),
        ("mA", "A", -3),
        ("mAh", "Ah", -3),
        ("MHz", "Hz", 6),
    ],
)
def test_unit_spellings(spelling, unit, exponent):
    found = unit_at(spelling, 0)
    assert found is not None
    assert (found[0].unit, found[0].exponents, found[1]) == (unit, (exponent,), len(spelling))


def test_the_case_of_m_is_never_folded():
    assert unit_at("mF", 0)[0].exponents == (-3, -6)
    assert unit_at("MA", 0)[0].exponents == (-3, 6)
    assert unit_at("mhz", 0)[0].exponents == (6, -3)


def test_a_unit_is_not_the_beginning_of_a_word():
    assert unit_at("Vorrat", 0) is None
    assert unit_at("uF35V", 0)[1] == 2


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (4.7e-6, "F", "4.7 µF"),
        (4.7e-3, "F", "4700 µF"),
        (3.3e-13, "F", "0.33 pF"),
        (4700.0, "ohm", "4.7 kΩ"),
        (0.005, "ohm", "5 mΩ"),
        (0.0, "ohm", "0 Ω"),
        (0.315, "A", "315 mA"),
        (999999.0, "ohm", "1 MΩ"),
        (105.0, "degC", "105 °C"),
        (43.0, "mm", "43 mm"),
    ],
)
def test_engineering(value, unit, shown):
    assert engineering(value, unit) == shown


def test_the_nearest_member():
    found = nearest(5000.0, "E24")
    assert found.value == 5100.0
    assert found.error == pytest.approx(0.02)
    assert nearest(9.7, "E12").value == 10.0


@given(st.sampled_from(["E12", "E24", "E96", "E192"]), st.integers(0, 11), st.integers(-9, 6))
def test_a_member_is_its_own_nearest(series, index, decade):
    figure = members(series)[index]
    value = scaled(str(figure), decade)
    assert nearest(value, series).value == value
    assert series in series_of(value)
