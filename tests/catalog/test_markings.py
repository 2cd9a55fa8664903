"""The code tables of part marks: every tabled example, round trips, and refusals."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog import markings
from catalog.cell_codes import decode_cell
from catalog.colour_bands import decode_bands, encode_bands, find_bands
from catalog.dielectric_codes import FILM_CODES, decode_dielectric
from catalog.fuse_marks import BREAKING, PREFERRED_MILLIAMPS, SPEEDS, FuseMark, decode_fuse, encode_fuse
from catalog.markings import Tolerance
from catalog.preferred import members
from catalog.quantity import scaled
from catalog.sizes import CHIPS, gauge_area, gauge_diameter, gauge_of, imperial_chip
from catalog.text import Refused

CHIP_RESISTORS = (
    "103=10e3 472=4.7e3 220=22 221=220 100=10 4R7=4.7 R22=0.22 0R0=0 1002=10e3 4701=4.7e3 "
    "1000=100 49R9=49.9 2491=2.49e3 "
    "1R00=1 R005=5e-3 000=0 0000=0"
)
ONE_PERCENT = (
    "01A=100 01C=10e3 18A=150 66B=4.75e3 68X=49.9 01Y=1 96D=976e3 30C=20e3 85E=7.5e6 47R=3.01 38H=2.43e3 25Z=0.178"
)
PICOFARADS = (
    "104=100e-9 103=10e-9 102=1e-9 101=100e-12 220=22e-12 221=220e-12 473=47e-9 "
    "224=220e-9 105=1e-6 475=4.7e-6 476=47e-6 "
    "107=100e-6 229=2.2e-12 479=4.7e-12 109=1e-12 158=0.15e-12 4R7=4.7e-12 100=10e-12"
)
TWO_CHARACTERS = "A1=10e-12 A2=100e-12 A5=100e-9 J3=2.2e-9 N4=33e-9 S4=47e-9 W3=6.8e-9 E6=1.5e-6 S9=0.47e-12 T6=5.1e-6"
VOLTAGES = (
    "0E=2.5 0G=4 0J=6.3 1A=10 1C=16 1D=20 1E=25 1V=35 1H=50 1J=63 1K=80 2A=100 2Q=110 "
    "2B=125 2C=160 2Z=180 2D=200 2P=220 "
    "2E=250 2F=315 2V=350 2G=400 2W=450 2H=500 2J=630 3A=1000 3D=2000 0L=5.5"
)
BANDS = {
    "brown black red gold": (1e3, 5),
    "yellow violet orange silver": (47e3, 10),
    "red red gold gold": (2.2, 5),
    "green blue silver gold": (0.56, 5),
    "brown black black red brown": (10e3, 1),
    "yellow violet black brown brown": (4.7e3, 1),
    "brown green black gold red": (15, 2),
    "orange white black orange violet": (390e3, 0.1),
    "brown red green": (1.2e6, 20),
    "blue grey brown gold": (680, 5),
    "red violet black yellow brown": (2.7e6, 1),
    "brown black pink gold": (0.01, 5),
}
FUSES = {
    "T2AL250V": ("T", 2, "L", 250),
    "F500mAL250V": ("F", 0.5, "L", 250),
    "T3,15AH250V": ("T", 3.15, "H", 250),
    "T 315 mA 250 V": ("T", 0.315, None, 250),
    "FF2,5A": ("FF", 2.5, None, None),
    "T1,6A/250V": ("T", 1.6, None, 250),
    "M 800mA": ("M", 0.8, None, None),
    "TT 0.63A L 250": ("TT", 0.63, "L", 250),
    "F6.3AH250V": ("F", 6.3, "H", 250),
    "T125mA E 250V": ("T", 0.125, "E", 250),
    "1A T": ("T", 1, None, None),
}
CELLS = {
    "CR2032": (20, 3.2),
    "CR2025": (20, 2.5),
    "CR2016": (20, 1.6),
    "CR1220": (12.5, 2),
    "CR1620": (16, 2),
    "CR2430": (24.5, 3),
    "CR2450": (24.5, 5),
    "SR621": (6.8, 2.1),
    "SR626": (6.8, 2.6),
    "SR920": (9.5, 2),
    "CR17345": (17, 34.5),
    "CR11108": (11.6, 10.8),
    "ER14505": (14.5, 50.5),
    "VL2330": (23, 3),
    "R03": (10.5, 44.5),
    "LR1": (12.0, 30.2),
    "LR6": (14.5, 50.5),
    "FR6": (14.5, 50.5),
    "R14": (26.2, 50.0),
    "R20": (34.2, 61.5),
    "LR41": (7.9, 3.6),
    "SR43": (11.6, 4.2),
    "LR44": (11.6, 5.4),
    "AG13": (11.6, 5.4),
    "SR48": (7.9, 5.4),
    "SR54": (11.6, 3.05),
    "SR55": (11.6, 2.1),
    "SR57": (9.5, 2.7),
    "SR59": (7.9, 2.6),
    "SR60": (6.8, 2.15),
    "CR2": (15.6, 27),
    "CR123A": (17, 34.5),
}


def pairs(table):
    return [tuple(row.split("=")) for row in table.split()]


@pytest.mark.parametrize(("mark", "value"), pairs(CHIP_RESISTORS))
def test_chip_resistors(mark, value):
    assert markings.decode_chip_resistor(mark) == float(value)


@pytest.mark.parametrize(("mark", "value"), pairs(ONE_PERCENT))
def test_one_percent_chips(mark, value):
    assert markings.decode_eia96(mark).value == float(value)
    assert markings.decode_eia96(mark).tolerance == Tolerance(1.0, 1.0, implied=True)


@pytest.mark.parametrize("mark", ["00A", "97A", "99Z"])
def test_positions_outside_the_series_are_refused(mark):
    with pytest.raises(Refused, match="outside 01 to 96"):
        markings.decode_eia96(mark)


@given(st.integers(1, 96), st.sampled_from("ZYXABCDEF"))
def test_one_percent_round_trip(position, letter):
    mark = f"{position:02d}{letter}"
    value = markings.decode_eia96(mark).value
    assert markings.decode_eia96(markings.encode_eia96(value)).value == value


@given(st.integers(10, 99), st.integers(0, 7))
def test_chip_resistor_round_trip(figure, power):
    value = scaled(str(figure), power)
    assert markings.decode_chip_resistor(markings.encode_chip_resistor(value)) == value


@pytest.mark.parametrize(("mark", "value"), pairs(PICOFARADS))
def test_picofarads(mark, value):
    assert markings.decode_picofarads(mark) == float(value)


@given(st.integers(10, 99), st.integers(0, 9))
def test_picofarad_round_trip(figure, digit):
    value = markings.decode_picofarads(f"{figure}{digit}")
    assert markings.decode_picofarads(markings.encode_picofarads(value)) == value


@pytest.mark.parametrize(
    ("mark", "farads", "tolerance", "volts"),
    [
        ("2A104J", 100e-9, 5, 100),
        ("1H473K", 47e-9, 10, 50),
        ("2E223K", 22e-9, 10, 250),
        ("104M", 100e-9, 20, None),
        ("100J", 10e-12, 5, None),
    ],
)
def test_capacitor_marks(mark, farads, tolerance, volts):
    read = markings.decode_capacitor(mark)
    assert (read.value, read.tolerance, read.volts) == (farads, Tolerance(tolerance, tolerance), volts)


@pytest.mark.parametrize(
    ("mark", "farads", "volts"),
    [
        ("476C", 47e-6, 16),
        ("A475", 4.7e-6, 10),
        ("107A", 100e-6, 10),
        ("226 16", 22e-6, 16),
        ("476J", 47e-6, 6.3),
        ("C105", 1e-6, 16),
        ("e337", 330e-6, 2.5),
        ("107", 100e-6, None),
    ],
)
def test_tantalum_marks(mark, farads, volts):
    read = markings.decode_tantalum(mark)
    assert (read.value, read.volts) == (farads, volts)


@pytest.mark.parametrize(
    ("mark", "farads", "volts"),
    [
        ("100 / 16V", 100e-6, 16),
        ("220 / 6V3", 220e-6, 6.3),
        ("47 / 25V", 47e-6, 25),
        ("10 / H", 10e-6, 50),
        ("470 / C", 470e-6, 16),
    ],
)
def test_aluminium_cans(mark, farads, volts):
    read = markings.decode_aluminium_can(mark)
    assert (read.value, read.volts) == (farads, volts)


@pytest.mark.parametrize(("mark", "value"), pairs(TWO_CHARACTERS))
def test_two_characters(mark, value):
    assert markings.decode_two_character(mark) == float(value)


@pytest.mark.parametrize("mark", ["A8", "b3", "c3", "y3", "g3", "I3", "O3", "AA"])
def test_unsafe_two_character_codes_are_refused(mark):
    with pytest.raises(Refused):
        markings.decode_two_character(mark)


@given(st.sampled_from("ABCDEFGHJKLMNPQRSTUVWXYZ"), st.sampled_from("012345679"))
def test_two_character_round_trip(letter, digit):
    value = markings.decode_two_character(letter + digit)
    assert markings.decode_two_character(markings.encode_two_character(value)) == value


@pytest.mark.parametrize(("code", "volts"), pairs(VOLTAGES))
def test_voltage_codes_both_ways(code, volts):
    assert markings.decode_voltage(code) == float(volts)
    assert markings.decode_voltage(markings.encode_voltage(float(volts))) == float(volts)


def test_small_e_and_capital_e_are_different_volts():
    assert (markings.one_letter_volts("e"), markings.one_letter_volts("E")) == (2.5, 25.0)


@pytest.mark.parametrize(
    ("letter", "minus", "plus"),
    [
        ("B", 0.1, 0.1),
        ("C", 0.25, 0.25),
        ("D", 0.5, 0.5),
        ("F", 1, 1),
        ("G", 2, 2),
        ("H", 3, 3),
        ("J", 5, 5),
        ("K", 10, 10),
        ("M", 20, 20),
        ("N", 30, 30),
        ("Q", 10, 30),
        ("T", 10, 50),
        ("S", 20, 50),
        ("Z", 20, 80),
        ("W", 0.05, 0.05),
        ("E", 0.005, 0.005),
        ("L", 0.01, 0.01),
        ("P", 0.02, 0.02),
    ],
)
def test_tolerance_letters_both_ways(letter, minus, plus):
    read = markings.tolerance_letter(letter)
    assert read == Tolerance(minus, plus)
    assert markings.letter_for(read) == letter


def test_letters_count_in_picofarads_below_ten_only():
    assert markings.tolerance_letter("C", 4.7e-12) == Tolerance(0.25, 0.25, "pF")
    assert markings.tolerance_letter("C", 10e-12) == Tolerance(0.25, 0.25, "%")
    assert markings.tolerance_letter("J", 4.7e-12) == Tolerance(5.0, 5.0, "%")
    with pytest.raises(Refused):
        markings.tolerance_letter("P", 1e-9)


@pytest.mark.parametrize("bands", BANDS)
def test_colour_bands(bands):
    read = decode_bands(bands.split())
    value, tolerance = BANDS[bands]
    assert (read.value, read.tolerance.minus) == (value, tolerance)
    assert read.tolerance.implied == (len(bands.split()) == 3)


def test_six_bands_end_with_the_coefficient():
    assert decode_bands(["brown", "black", "black", "red", "brown", "red"]).coefficient == 50


def test_other_languages_and_spellings_name_the_same_colours():
    assert decode_bands(["Braun", "Schwarz", "Rot", "Gold"]).value == 1e3
    assert decode_bands(["gelb", "purple", "orange", "argent"]).value == 47e3
    assert decode_bands(["blue", "gray", "brown", "gold"]).value == 680


@pytest.mark.parametrize(
    "bands", ["Braun Silber Rot Gold", "gold red red", "red red", "red red red black", "tan red red gold"]
)
def test_bands_in_impossible_places_are_refused(bands):
    with pytest.raises(Refused):
        decode_bands(bands.split())


@given(st.integers(10, 99), st.integers(-3, 9), st.sampled_from([5.0, 10.0, 1.0, 2.0]))
def test_band_round_trip(figure, power, tolerance):
    value = scaled(str(figure), power)
    read = decode_bands(encode_bands(value, tolerance))
    assert (read.value, read.tolerance.plus) == (value, tolerance)


def test_bands_are_found_inside_a_line():
    assert find_bands("resistor brown-black-red-gold 1/4W")[1] == ("brown", "black", "red", "gold")
    assert find_bands("red lamp, black knob") is None


@pytest.mark.parametrize(
    ("code", "low", "high", "change"),
    [
        ("X7R", -55, 125, (-15, 15)),
        ("X5R", -55, 85, (-15, 15)),
        ("X6S", -55, 105, (-22, 22)),
        ("X7S", -55, 125, (-22, 22)),
        ("X8R", -55, 150, (-15, 15)),
        ("X5S", -55, 85, (-22, 22)),
        ("Y5V", -30, 85, (-82, 22)),
        ("Y5P", -30, 85, (-10, 10)),
        ("Z5U", 10, 85, (-56, 22)),
        ("X7T", -55, 125, (-33, 22)),
    ],
)
def test_dielectrics_of_class_two(code, low, high, change):
    read = decode_dielectric(code)
    assert (read.low, read.high, read.change, read.rank) == (low, high, change, 2)


@pytest.mark.parametrize(
    ("code", "slope", "tolerance", "old"),
    [
        ("C0G", 0, 30, "NP0"),
        ("U2J", -750, 120, "N750"),
        ("P2H", -150, 60, "N150"),
        ("R2H", -220, 60, "N220"),
        ("S2H", -330, 60, "N330"),
        ("T2H", -470, 60, "N470"),
        ("P3K", -1500, 250, "N1500"),
        ("R3L", -2200, 500, "N2200"),
        ("U1G", -75, 30, "N075"),
    ],
)
def test_dielectrics_of_class_one(code, slope, tolerance, old):
    read = decode_dielectric(code)
    assert (read.slope, read.slope_tolerance) == (slope, tolerance)
    assert decode_dielectric(old) == read


def test_all_spellings_of_the_flat_dielectric():
    assert {decode_dielectric(text).code for text in ("NP0", "NPO", "COG", "C0G", "c0g")} == {"C0G"}


@pytest.mark.parametrize("code", ["S4H", "S5H", "S9H", "X3R", "Q7R", ""])
def test_dielectric_codes_that_lists_disagree_on_are_refused(code):
    with pytest.raises(Refused):
        decode_dielectric(code)


def test_film_letters():
    assert (FILM_CODES["MKT"], FILM_CODES["MKP"], FILM_CODES["FKP"]) == ("PET", "PP", "PP")


@pytest.mark.parametrize(
    ("gauge", "diameter", "area"),
    [
        ("4/0", 11.684, 107.2193),
        ("1/0", 8.251, 53.4751),
        ("10", 2.588, 5.2612),
        ("12", 2.053, 3.3088),
        ("14", 1.628, 2.0809),
        ("16", 1.291, 1.3087),
        ("18", 1.024, 0.823),
        ("20", 0.812, 0.5176),
        ("22", 0.644, 0.3255),
        ("24", 0.511, 0.2047),
        ("26", 0.405, 0.1288),
        ("28", 0.321, 0.081),
        ("30", 0.255, 0.0509),
        ("36", 0.127, 0.0127),
    ],
)
def test_wire_gauge(gauge, diameter, area):
    assert round(gauge_diameter(gauge) * 1e3, 3) == diameter
    assert round(gauge_area(gauge) * 1e6, 4) == area
    assert gauge_of(diameter * 1e-3) == gauge


@pytest.mark.parametrize("text", ["51", "5/0", "-1", "00000", "x"])
def test_no_gauge_is_refused(text):
    with pytest.raises(Refused):
        gauge_diameter(text)


def test_chip_sizes():
    assert imperial_chip("0603") == "0603"
    assert imperial_chip("1608") == "0603"
    assert imperial_chip("0603", metric=True) == "0201"
    assert imperial_chip("2012") == "0805"
    with pytest.raises(Refused):
        imperial_chip("0806")
    # A metric code is the length and width in tenths of a millimetre, the width rounded down for 1.25.
    for metric, length, width in CHIPS.values():
        assert metric == f"{int(length * 10):02d}{int(width * 10):02d}"


@pytest.mark.parametrize("mark", FUSES)
def test_fuse_marks(mark):
    read = decode_fuse(mark)
    assert (read.speed, read.current, read.breaking, read.volts) == FUSES[mark]


@given(
    st.sampled_from(SPEEDS),
    st.sampled_from(PREFERRED_MILLIAMPS),
    st.sampled_from([None, *BREAKING]),
    st.sampled_from([None, 32.0, 125.0, 250.0]),
)
def test_fuse_round_trip(speed, milliamps, breaking, volts):
    mark = FuseMark(scaled(str(milliamps), -3), speed, breaking, volts)
    assert decode_fuse(encode_fuse(mark)) == mark


@pytest.mark.parametrize("mark", ["", "T", "250V", "T2A F", "T2X"])
def test_no_fuse_mark_is_refused(mark):
    with pytest.raises(Refused):
        decode_fuse(mark)


@pytest.mark.parametrize("code", CELLS)
def test_cell_sizes(code):
    cell = decode_cell(code)
    assert (cell.diameter, cell.height) == CELLS[code]


@pytest.mark.parametrize(
    ("code", "chemistry", "volts", "rechargeable"),
    [
        ("R6", "zinc-carbon", 1.5, False),
        ("LR6", "alkaline", 1.5, False),
        ("SR44", "silver-oxide", 1.55, False),
        ("PR48", "zinc-air", 1.4, False),
        ("CR2032", "lithium-manganese-dioxide", 3.0, False),
        ("BR2032", "lithium-carbon-monofluoride", 3.0, False),
        ("ER14505", "lithium-thionyl-chloride", 3.6, False),
        ("FR6", "lithium-iron-disulfide", 1.5, False),
        ("ZR6", "nickel-oxyhydroxide", 1.5, False),
        ("MR44", "mercury", 1.35, False),
        ("NR44", "mercury", 1.4, False),
        ("HR6", "nimh", 1.2, True),
        ("KR6", "nicd", 1.2, True),
        ("VL2020", "vanadium-lithium", 3.0, True),
        ("ML2032", "manganese-lithium", 3.0, True),
        ("LIR2032", "li-ion", 3.6, True),
        ("4LR44", "alkaline", 6.0, False),
        ("6LR61", "alkaline", 9.0, False),
        ("6F22", "zinc-carbon", 9.0, False),
        ("3LR12", "alkaline", 4.5, False),
        ("4SR44", "silver-oxide", 6.2, False),
        ("2CR5", "lithium-manganese-dioxide", 6.0, False),
    ],
)
def test_cell_systems(code, chemistry, volts, rechargeable):
    cell = decode_cell(code)
    assert (cell.chemistry, cell.voltage, cell.rechargeable) == (chemistry, volts, rechargeable)


@pytest.mark.parametrize("code", ["", "CR", "XR2032", "CR9", "R999999"])
def test_no_cell_code_is_refused(code):
    with pytest.raises(Refused):
        decode_cell(code)


def test_the_two_character_letters_follow_the_series():
    assert [round(markings.decode_two_character(f"{c}1") * 1e12) for c in "ABCDEFGHJKLMNPQRSTUVWXYZ"] == list(
        members("E24")
    )
