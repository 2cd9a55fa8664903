"""Code tables against the standards behind them and against independent libraries."""

import math

import eseries
import pytest
import rkm_codes

from catalog.cell_codes import decode_cell
from catalog.colour_bands import COLOURS, decode_bands
from catalog.dielectric_codes import decode_dielectric
from catalog.fuse_marks import PREFERRED_MILLIAMPS, decode_fuse
from catalog.markings import decode_eia96, decode_voltage, tolerance_letter
from catalog.preferred import members, nearest, series_of
from catalog.quantity import decode_rkm, encode_rkm, scaled
from catalog.sizes import gauge_area, gauge_diameter


@pytest.mark.parametrize("series", ["E3", "E6", "E12", "E24", "E48", "E96", "E192"])
def test_preferred_numbers(series):
    # IEC 60063, as held by an independent library of the series.
    theirs = sorted(int(figure) for figure in eseries.series(eseries.ESeries[series]))
    ours = list(members(series))
    width = {2: 1, 3: 10}[len(str(theirs[0]))] if len(str(theirs[0])) != len(str(ours[0])) else 1
    assert [figure * width for figure in ours] == theirs


def test_nearest_preferred_number():
    # IEC 60063, nearest member by ratio, against the same library.
    for value in (5.0, 7.8, 19.4, 333.0, 4.02e4, 9.9):
        theirs = eseries.find_nearest(eseries.ESeries.E96, value)
        ours = nearest(value, "E96").value
        assert abs(math.log(ours / value)) <= abs(math.log(theirs / value)) + 1e-12


def test_series_follow_the_geometric_rule():
    # IEC 60063: E48 to E192 are 10^(i/n) rounded to three figures, with the one exception 9.20 (from memory).
    for name, size in (("E48", 48), ("E96", 96), ("E192", 192)):
        exact = [round(100 * 10 ** (i / size)) for i in range(size)]
        odd = [(ours, rule) for ours, rule in zip(members(name), exact, strict=True) if ours != rule]
        assert odd == ([(920, 919)] if name == "E192" else [])
    # 4.7 is in the historic series and, as 4.70, in the finest, but neither in E48 nor E96.
    assert series_of(4700.0) == ("E3", "E6", "E12", "E24", "E192")


@pytest.mark.parametrize(
    "code", ["R47", "4R7", "47R", "4K7", "47K3", "M22", "2M2", "10M", "1G5", "R005", "0R22", "1K0"]
)
def test_resistance_codes(code):
    # IEC 60062 letter-and-digit code, against an independent library (which knows no L for milliohm).
    assert decode_rkm(code).value == pytest.approx(float(rkm_codes.from_rkm(code)), rel=1e-12)


@pytest.mark.parametrize("code", ["p33", "3p3", "33p", "n33", "3n3", "100n", "µ47", "4µ7", "10µ", "m33", "3m3"])
def test_capacitance_codes(code):
    # IEC 60062 letter-and-digit code, against the same library.
    assert decode_rkm(code, "F").value == pytest.approx(float(rkm_codes.from_rkm(code)), rel=1e-12)


def test_written_codes_are_read_by_the_other_library():
    # IEC 60062: what is written here means the same there.
    for figure in members("E24"):
        for power in range(7):
            value = scaled(str(figure), power)
            assert float(rkm_codes.from_rkm(encode_rkm(value))) == pytest.approx(value, rel=1e-12)


def test_colour_bands():
    # IEC 60062 colour table: digits 0 to 9 in order; tolerances of the 2016 edition; coefficients (from memory).
    assert [decode_bands(["brown", colour, "black"]).value for colour in COLOURS] == [
        10.0 + digit for digit in range(10)
    ]
    rows = {
        "brown": 1,
        "red": 2,
        "orange": 0.05,
        "yellow": 0.02,
        "green": 0.5,
        "blue": 0.25,
        "violet": 0.1,
        "grey": 0.01,
    }
    for colour, size in {**rows, "gold": 5, "silver": 10}.items():
        assert decode_bands(["brown", "black", "red", colour]).tolerance.plus == size
    assert decode_bands(["brown", "black", "gold"]).value == 1.0
    assert decode_bands(["brown", "black", "silver"]).value == 0.1


def test_tolerance_letters():
    # IEC 60062 tolerance letters, those that agree with a published letter list.
    published = {"B": 0.1, "C": 0.25, "D": 0.5, "F": 1, "G": 2, "H": 3, "J": 5, "K": 10, "M": 20, "N": 30}
    assert {letter: tolerance_letter(letter).plus for letter in published} == published
    assert [(tolerance_letter(x).minus, tolerance_letter(x).plus) for x in "QTSZ"] == [
        (10, 30),
        (10, 50),
        (20, 50),
        (20, 80),
    ]


def test_one_percent_chip_code():
    # IEC 60062 annex A: position in E96, here taken from the independent library of IEC 60063.
    figures = sorted(int(figure) for figure in eseries.series(eseries.ESeries.E96))
    for position, figure in enumerate(figures, start=1):
        assert decode_eia96(f"{position:02d}A").value == figure


def test_dielectric_codes():
    # EIA-198: low and high temperature and change of the usual class 2 codes; class 1 slope and tolerance.
    rows = {
        "X7R": (-55, 125, 15),
        "X5R": (-55, 85, 15),
        "X7S": (-55, 125, 22),
        "X8R": (-55, 150, 15),
        "Y5P": (-30, 85, 10),
    }
    for code, (low, high, size) in rows.items():
        read = decode_dielectric(code)
        assert (read.low, read.high, read.change) == (low, high, (-size, size))
    assert decode_dielectric("Y5V").change == (-82, 22)
    assert decode_dielectric("Z5U").change == (-56, 22)
    assert (decode_dielectric("C0G").slope, decode_dielectric("C0G").slope_tolerance) == (0, 30)
    assert decode_dielectric("U2J").slope == -750


def test_wire_gauge():
    # ASTM B258: 0.005 inch at gauge 36, 0.460 inch at 4/0, 39 equal steps between.
    assert gauge_diameter("36") == pytest.approx(0.005 * 25.4e-3, rel=1e-12)
    assert gauge_diameter("4/0") == pytest.approx(0.460 * 25.4e-3, rel=1e-12)
    step = gauge_diameter("20") / gauge_diameter("21")
    assert step == pytest.approx((0.460 / 0.005) ** (1 / 39), rel=1e-12)
    # Ten gauges on, the cross-section is close to a tenth (common practice).
    assert gauge_area("10") / gauge_area("20") == pytest.approx(10, rel=0.02)


def test_cell_names():
    # IEC 60086-1/-2: letter of the system, round, size code; sizes of LINDEN table 4.9a for the old numbers.
    volts = {"LR6": 1.5, "SR44": 1.55, "PR48": 1.4, "CR2032": 3.0, "BR2032": 3.0, "FR6": 1.5, "R20": 1.5}
    assert {code: decode_cell(code).voltage for code in volts} == volts
    sizes = {"R03": (10.5, 44.5), "R6": (14.5, 50.5), "R14": (26.2, 50.0), "R20": (34.2, 61.5), "LR44": (11.6, 5.4)}
    assert {code: (decode_cell(code).diameter, decode_cell(code).height) for code in sizes} == sizes
    assert decode_cell("4LR44").voltage == 4 * decode_cell("LR44").voltage


def test_fuse_currents():
    # IEC 60127-2: rated currents follow the R10 series of ISO 3, rounded: ten steps to a decade.
    rounded = [100, 125, 160, 200, 250, 315, 400, 500, 630, 800]
    decade = [current for current in PREFERRED_MILLIAMPS if 100 <= current < 1000]
    assert decade == rounded
    for index, current in enumerate(decade):
        assert current == pytest.approx(100 * 10 ** (index / 10), rel=0.02)
    assert decode_fuse("T3.15AL250V").current * 1000 in PREFERRED_MILLIAMPS


def test_voltage_codes_climb_the_same_ladder():
    # Makers' practice (EIA/JIS): the significands are those of R10, a digit is a decade.
    ladder = [decode_voltage(f"1{letter}") for letter in "ABCDEFGHJK"]
    assert ladder == [10, 12.5, 16, 20, 25, 31.5, 40, 50, 63, 80]
    assert decode_voltage("2A") == 10 * decode_voltage("1A")
