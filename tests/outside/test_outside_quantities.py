"""Quantities against general-purpose libraries: quantiphy for SI prefixes, rkm-codes for the codes of IEC 60062.

`CASES` are spellings that stand on parts or in lists, by family, with the value that IEC 60062, the SI brochure (its
prefixes) or the usage of the trade gives them. Each library is held to the family it reads; DEVELOPERS.md has the
counts over all families.
"""

import pytest
import quantiphy
import rkm_codes

from catalog.describe import read

CASES = {
    # SI brochure: number, prefix, unit, with a decimal point.
    "plain": {
        "4.7 uF": 4.7e-6,
        "100nF": 100e-9,
        "22 pF": 22e-12,
        "0.47uF": 0.47e-6,
        "470 ohm": 470,
        "4.7 kohm": 4700,
        "1.5kΩ": 1500,
        "2.2 MΩ": 2.2e6,
        "10 mΩ": 0.01,
        "10 mH": 10e-3,
        "4.7 uH": 4.7e-6,
        "16 MHz": 16e6,
        "32.768kHz": 32768,
        "455 kHz": 455e3,
    },
    # IEC 60062, the table of letter-and-digit codes.
    "code": {
        "R47": 0.47,
        "4R7": 4.7,
        "47R": 47,
        "470R": 470,
        "4k7": 4700,
        "4K7": 4700,
        "47K3": 47300,
        "M22 resistor": 220e3,
        "2M2": 2.2e6,
        "10M resistor": 10e6,
        "1G5": 1.5e9,
        "5L6 resistor": 5.6e-3,
        "R005": 0.005,
        "0R22": 0.22,
        "1K0": 1000,
        "p33": 0.33e-12,
        "3p3": 3.3e-12,
        "33p": 33e-12,
        "n33": 330e-12,
        "3n3": 3.3e-9,
        "100n": 100e-9,
        "µ47": 0.47e-6,
        "4u7": 4.7e-6,
        "4µ7": 4.7e-6,
        "10µ": 10e-6,
    },
    # IEC 60062, a tolerance letter behind the value.
    "code and tolerance": {
        "4K7J": 4700,
        "R22K": 0.22,
        "10RF": 10,
        "M10G resistor": 100e3,
        "100RB": 100,
        "1K0D": 1000,
        "2M2M": 2.2e6,
        "47KC": 47e3,
    },
    # The decimal comma of most of Europe.
    "comma": {
        "4,7uF": 4.7e-6,
        "0,1R": 0.1,
        "1,5 kΩ": 1500,
        "0,22 µF": 0.22e-6,
        "2,2 nF": 2.2e-9,
        "4,7k": 4700,
        "0,047uF": 0.047e-6,
        "27,12 MHz": 27.12e6,
    },
    # Both micro signs, the capital that upper-casing makes of one, and its spellings.
    "micro": {
        "4.7 µF": 4.7e-6,
        "4.7 μF": 4.7e-6,
        "1ΜF cap": 1e-6,
        "10 mkF": 10e-6,
        "8 MFD": 8e-6,
        "100 mmfd": 100e-12,
        "250 µµF": 250e-12,
        "10 microfarad": 10e-6,
    },
    # Cyrillic units.
    "cyrillic": {
        "4,7 мкФ": 4.7e-6,
        "100 пФ": 100e-12,
        "68 нФ": 68e-9,
        "10 кОм": 10e3,
        "2 МОм": 2e6,
        "470 Ом": 470,
        "2к2": 2200,
        "22 мкГн": 22e-6,
    },
    # Capitals throughout, and the trade's short forms.
    "trade": {
        "100UF": 100e-6,
        "100NF": 100e-9,
        "22PF": 22e-12,
        "4.7KOHM": 4700,
        "10k": 10e3,
        "470E": 470,
        "4E7": 4.7,
        "10 Meg": 10e6,
        ".022uF": 0.022e-6,
        "2200µ": 2200e-6,
    },
}
OPEN = ("4.7mF capacitor", "1,500 ohm", "10m resistor", "1F capacitor", "1,500 pF")
"""Spellings that mean two things: no single value is right."""


@pytest.mark.parametrize("family", CASES)
def test_every_spelling_is_read(family):
    assert {text: read(text).value_si for text in CASES[family]} == CASES[family]


@pytest.mark.parametrize("text", OPEN)
def test_what_means_two_things_gets_no_value(text):
    assert (read(text).status, read(text).value_si) == ("ambiguous", None)


@pytest.mark.parametrize("text", CASES["plain"])
def test_si_prefixes_as_an_independent_library_reads_them(text):
    # quantiphy, an independent reader of numbers with SI prefixes; it knows neither codes nor the decimal comma.
    assert read(text).value_si == pytest.approx(float(quantiphy.Quantity(text)), rel=1e-12)


@pytest.mark.parametrize("text", [text for text in CASES["code"] if "L" not in text])
def test_codes_as_an_independent_library_reads_them(text):
    # rkm-codes, an independent reader of IEC 60062 letter-and-digit codes; it knows no L for milliohm.
    code = text.removesuffix(" resistor")
    assert read(text).value_si == pytest.approx(float(rkm_codes.from_rkm(code)), rel=1e-12)
