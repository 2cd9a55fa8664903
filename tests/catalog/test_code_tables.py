"""Every row of the standards' code tables, both ways where a code can be written."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog import markings
from catalog.cell_codes import PRIMARY, RECHARGEABLE, decode_cell, encode_cell
from catalog.colour_bands import COLOURS, decode_bands, encode_bands, other_bands
from catalog.dielectric_codes import FILM_CODES, decode_dielectric
from catalog.fuse_marks import PREFERRED_MILLIAMPS
from catalog.preferred import members, series_of
from catalog.quantity import scaled
from catalog.sizes import CHIPS, METRIC_CHIPS, TANTALUM_CASES, imperial_chip
from catalog.text import Refused

# IEC 60063, figures of one decade.
E48 = (
    "100 105 110 115 121 127 133 140 147 154 162 169 178 187 196 205 215 226 237 249 261 274 287 301 316 332 "
    "348 365 383 402 422 442 464 487 511 536 562 590 619 649 681 715 750 787 825 866 909 953"
)
E96 = (
    "100 102 105 107 110 113 115 118 121 124 127 130 133 137 140 143 147 150 154 158 162 165 169 174 178 182 "
    "187 191 196 200 205 210 215 221 226 232 237 243 249 255 261 267 274 280 287 294 301 309 316 324 332 340 "
    "348 357 365 374 383 392 402 412 422 432 442 453 464 475 487 499 511 523 536 549 562 576 590 604 619 634 "
    "649 665 681 698 715 732 750 768 787 806 825 845 866 887 909 931 953 976"
)
# IEC 60062 annex A.
MULTIPLIERS = {"Z": -3, "Y": -2, "R": -2, "X": -1, "S": -1, "A": 0, "B": 1, "H": 1, "C": 2, "D": 3, "E": 4, "F": 5}
# IEC 60062 annex B: letter and figure; small letters hold values outside E24.
TWO_CHARACTERS = (
    "A=1.0 B=1.1 C=1.2 D=1.3 E=1.5 F=1.6 G=1.8 H=2.0 J=2.2 K=2.4 L=2.7 M=3.0 N=3.3 P=3.6 Q=3.9 R=4.3 S=4.7 T=5.1 U=5.6 "
    "V=6.2 W=6.8 X=7.5 Y=8.2 Z=9.1 a=2.5 d=4.0 e=4.5 f=5.0 m=6.0 n=7.0 t=8.0"
)
# IEC 60062: colour, digit, power of ten, tolerance in percent, coefficient in 10^-6/K.
BANDS = {
    "black": (0, 0, None, 250),
    "brown": (1, 1, 1, 100),
    "red": (2, 2, 2, 50),
    "orange": (3, 3, 0.05, 15),
    "yellow": (4, 4, 0.02, 25),
    "green": (5, 5, 0.5, 20),
    "blue": (6, 6, 0.25, 10),
    "violet": (7, 7, 0.1, 5),
    "grey": (8, 8, 0.01, 1),
    "white": (9, 9, None, None),
    "gold": (None, -1, 5, None),
    "silver": (None, -2, 10, None),
    "pink": (None, -3, None, None),
}
# EIA-198, class 2: lower and upper temperature, largest change; class 1: slope, factor, tolerance.
LOW = {"X": -55, "Y": -30, "Z": 10}
HIGH = {"2": 45, "4": 65, "5": 85, "6": 105, "7": 125, "8": 150, "9": 200}
CHANGE = {
    **{
        letter: (-size, size)
        for letter, size in zip("ABCDEFPRS", (1, 1.5, 2.2, 3.3, 4.7, 7.5, 10, 15, 22), strict=True)
    },
    "T": (-33, 22),
    "U": (-56, 22),
    "V": (-82, 22),
}
SLOPE = {"C": 0, "B": 0.3, "L": 0.8, "A": 0.9, "M": 1, "P": 1.5, "R": 2.2, "S": 3.3, "T": 4.7, "V": 5.6, "U": 7.5}
FACTOR = {"0": -1, "1": -10, "2": -100, "3": -1000, "6": 10, "7": 100, "8": 1000}
SLOPE_TOLERANCE = {"G": 30, "H": 60, "J": 120, "K": 250, "L": 500, "M": 1000, "N": 2500}


@pytest.mark.parametrize(("series", "figures"), [("E48", E48), ("E96", E96)])
def test_the_finer_series(series, figures):
    assert members(series) == tuple(map(int, figures.split()))


@pytest.mark.parametrize(
    ("value", "series"),
    [
        (4.7e3, "E24"),
        (4.75e3, "E96"),
        (4.87e3, "E48 E96"),
        (5e3, ""),
        (6.19e3, "E48 E96"),
        (2.49e3, "E48 E96"),
        (2.2e3, "E24"),
        (1e3, "E24 E48 E96"),
        (1.02e3, "E96"),
        (7.8e3, ""),
    ],
)
def test_which_series_hold_a_value(value, series):
    assert [name for name in series_of(value) if name in {"E24", "E48", "E96"}] == series.split()


@pytest.mark.parametrize("letter", MULTIPLIERS)
def test_every_position_of_the_one_percent_code(letter):
    for position, figure in enumerate(E96.split(), start=1):
        value = scaled(figure, MULTIPLIERS[letter])
        assert markings.decode_eia96(f"{position:02d}{letter}").value == value
        assert markings.decode_eia96(markings.encode_eia96(value)).value == value


@pytest.mark.parametrize("row", TWO_CHARACTERS.split())
def test_every_letter_of_the_two_character_code(row):
    letter, figure = row.split("=")
    for digit in range(10):
        if digit == 8:
            with pytest.raises(Refused):
                markings.decode_two_character(f"{letter}{digit}")
            continue
        value = scaled(figure, (-1 if digit == 9 else digit) - 12)
        assert markings.decode_two_character(f"{letter}{digit}") == value
        if letter.isupper():
            assert markings.encode_two_character(value) == f"{letter}{digit}"


@pytest.mark.parametrize(
    ("letter", "volts"),
    [*zip("eGJACDEVH", (2.5, 4, 6.3, 10, 16, 20, 25, 35, 50), strict=True), ("T", 50), ("j", 6.3)],
)
def test_every_single_voltage_letter(letter, volts):
    assert markings.one_letter_volts(letter) == volts
    assert markings.one_letter_volts(markings.one_letter_for(volts)) == volts


def test_volts_without_a_letter_are_refused():
    with pytest.raises(Refused, match="no single letter"):
        markings.one_letter_for(63.0)


@pytest.mark.parametrize("colour", BANDS)
def test_every_colour_in_every_place(colour):
    digit, power, tolerance, coefficient = BANDS[colour]
    if digit is not None:
        assert decode_bands([colour, "brown", "black"]).value == 10 * digit + 1
        assert COLOURS[digit] == colour
    else:
        with pytest.raises(Refused, match="never a digit"):
            decode_bands([colour, "brown", "black"])
    assert decode_bands(["brown", "red", colour]).value == scaled("12", power)
    ends = [("brown", "red", "black", colour), ("brown", "red", "black", "red", "brown", colour)]
    for bands, expected in zip(ends, (tolerance, coefficient), strict=True):
        if expected is None:
            with pytest.raises(Refused):
                decode_bands(bands)
        else:
            read = decode_bands(bands)
            assert (read.coefficient if len(bands) == 6 else read.tolerance.plus) == expected


@given(
    st.integers(100, 999),
    st.integers(-3, 9),
    st.sampled_from([size for _, _, size, _ in BANDS.values() if size]),
    st.sampled_from([None, *(coefficient for _, _, _, coefficient in BANDS.values() if coefficient)]),
)
def test_bands_round_trip_with_every_tolerance_and_coefficient(figure, power, tolerance, coefficient):
    value = scaled(str(figure), power)
    read = decode_bands(encode_bands(value, tolerance, coefficient))
    assert (read.value, read.tolerance.plus, read.coefficient) == (value, tolerance, coefficient)


def test_three_bands_stand_for_twenty_percent():
    assert encode_bands(1e3, 20.0) == ("brown", "black", "red")
    with pytest.raises(Refused):
        encode_bands(1.23e3, 20.0)


def test_what_impossible_bands_may_have_been():
    assert [(read.value, why) for read, why in other_bands(["brown", "black", "red", "gold", "white"])] == [
        (1e3, "four bands, and white as a type mark")
    ]
    assert [read.value for read, _ in other_bands(["gold", "red", "violet", "yellow"])] == [4700.0]
    assert [read.value for read, _ in other_bands(["brown", "silver", "red", "gold"])] == [1800.0]


@pytest.mark.parametrize(("low", "high"), itertools.product(LOW, HIGH))
def test_every_dielectric_code_of_class_two(low, high):
    for letter, change in CHANGE.items():
        read = decode_dielectric(low + high + letter)
        assert (read.low, read.high, read.change, read.rank) == (LOW[low], HIGH[high], change, 2)


@pytest.mark.parametrize(("letter", "digit"), itertools.product(SLOPE, "0123456789"))
def test_every_dielectric_code_of_class_one(letter, digit):
    for last, tolerance in SLOPE_TOLERANCE.items():
        if digit not in FACTOR:  # the published lists do not agree
            with pytest.raises(Refused):
                decode_dielectric(letter + digit + last)
            continue
        read = decode_dielectric(letter + digit + last)
        assert read.slope == pytest.approx(SLOPE[letter] * FACTOR[digit])
        assert (read.slope_tolerance, read.rank) == (tolerance, 1)


@pytest.mark.parametrize(
    ("letter", "material"), [("T", "PET"), ("P", "PP"), ("S", "PS"), ("C", "PC"), ("I", "PPS"), ("N", "PEN")]
)
def test_every_film_letter(letter, material):
    # EN 60062 clause 6.
    assert {FILM_CODES[form + letter] for form in ("MK", "FK", "K")} == {material}


@pytest.mark.parametrize(
    "row",
    [
        "01005 0402 0.4 0.2",
        "0201 0603 0.6 0.3",
        "0402 1005 1.0 0.5",
        "0603 1608 1.6 0.8",
        "0805 2012 2.0 1.25",
        "1206 3216 3.2 1.6",
        "1210 3225 3.2 2.5",
        "1808 4520 4.5 2.0",
        "1812 4532 4.5 3.2",
        "2010 5025 5.0 2.5",
        "2220 5750 5.7 5.0",
        "2512 6332 6.3 3.2",
    ],
)
def test_every_chip_size_both_ways(row):
    imperial, metric, length, width = row.split()
    assert CHIPS[imperial] == (metric, float(length), float(width))
    assert METRIC_CHIPS[metric] == imperial
    assert imperial_chip(metric, metric=True) == imperial
    assert imperial_chip(imperial) == imperial


def test_every_tantalum_case():
    cases = {"A": "3216-18", "B": "3528-21", "C": "6032-28", "D": "7343-31", "E": "7343-43", "X": "7343-43"}
    assert cases == TANTALUM_CASES


@pytest.mark.parametrize(
    "row",
    [
        *(" zinc-carbon 1.5", "L alkaline 1.5", "S silver-oxide 1.55", "P zinc-air 1.4"),
        *("C lithium-manganese-dioxide 3.0", "B lithium-carbon-monofluoride 3.0", "E lithium-thionyl-chloride 3.6"),
        *("F lithium-iron-disulfide 1.5", "G lithium-copper-oxide 1.5", "Z nickel-oxyhydroxide 1.5"),
        *("M mercury 1.35", "N mercury 1.40", "H nimh 1.2", "K nicd 1.2", "IC li-ion 3.6", "IN li-ion 3.6"),
        *("VL vanadium-lithium 3", "ML manganese-lithium 3", "MS silicon-lithium 3", "TC titanium-lithium 1.5"),
        "LIR li-ion 3.6",
    ],
)
def test_every_system_letter_of_cells(row):
    letter, chemistry, volts = row.split(" ")
    code = f"{letter}{'' if letter in {'VL', 'ML', 'MS', 'TC', 'LIR'} else 'R'}2032"
    cell = decode_cell(code)
    assert (cell.chemistry, cell.voltage, cell.cells) == (chemistry, float(volts), 1)
    assert cell.rechargeable == (letter in RECHARGEABLE)
    assert encode_cell(letter, 20.0, 3.2) == code


@given(
    st.sampled_from([*PRIMARY, *RECHARGEABLE]),
    st.sampled_from([4.8, 5.8, 6.8, 7.9, 9.5, 10.0, 11.6, 12.5, 14.5, 16.0, 17.0, 20.0, 23.0, 24.5, 26.2, 30.0]),
    st.integers(10, 990),
)
def test_round_cells_round_trip(letter, diameter, tenths):
    if diameter < 10:
        tenths = tenths % 90 + 10  # a one-digit diameter leaves two digits for the height
    cell = decode_cell(encode_cell(letter, diameter, tenths / 10))
    assert (cell.diameter, cell.height) == (diameter, tenths / 10)


@pytest.mark.parametrize(
    ("letter", "diameter", "height"),
    [("Q", 20.0, 3.2), ("C", 21.0, 3.2), ("C", 20.0, 3.25), ("C", 6.8, 21.0), ("C", 20.0, 0.0)],
)
def test_no_round_cell_is_refused(letter, diameter, height):
    with pytest.raises(Refused):
        encode_cell(letter, diameter, height)


@pytest.mark.parametrize(
    ("trade", "cell"),
    zip(
        ("AG1", "AG2", "AG3", "AG5", "AG7", "AG8", "AG10", "AG12", "AG13"),
        ("LR60", "LR59", "LR41", "LR48", "LR57", "LR55", "LR54", "LR43", "LR44"),
        strict=True,
    ),
)
def test_trade_numbers_of_button_cells(trade, cell):
    ours, standard = decode_cell(trade), decode_cell(cell)
    assert (ours.chemistry, ours.voltage, ours.diameter, ours.height) == (
        standard.chemistry,
        standard.voltage,
        standard.diameter,
        standard.height,
    )


def test_every_preferred_fuse_current():
    milliamps = (
        "32 40 50 63 80 100 125 160 200 250 315 400 500 630 800 1000 1250 1600 2000 2500 3150 4000 5000 6300 8000"
    )
    assert [*map(int, milliamps.split()), 10000] == list(PREFERRED_MILLIAMPS)
