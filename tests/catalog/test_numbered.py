"""A numbered part gets no value from its name: part numbers that look like codes, in lists that have no kind column."""

import pytest

from catalog.describe import read
from catalog.numbered import part_numbers, rests_on_a_name
from catalog.pricelists import described

NAMES = [
    ("", "47R2"),
    ("", "472"),
    ("", "M22"),
    ("", "104K"),
    ("", "0805"),
    ("", "TK-104K"),
    ("Zindlar 47R2 display", "47R2"),
    ("display 220R rev2", "QX-9"),
    ("button board 104K", "BB-1"),
    ("keypad 100", "KP-100"),
    ("Brumvex 4k7", "QX-2"),
    ("4k7", "4k7"),
]
VALUES = [
    ("", "1N4007", "diode", "reverse_voltage", 1000.0),
    ("", "CR2032", "battery", "voltage", 3.0),
    ("", "7806", "regulator", "output_voltage", 6.0),
    ("", "100uF 16V", "capacitor", "capacitance", 100e-6),
    ("4k7 1% 0805", "QX-1", "resistor", "resistance", 4700.0),
    ("10k", "R10K", "resistor", "resistance", 10e3),
    ("MLCC 100n X7R", "100n", "ceramic", "capacitance", 100e-9),
    ("resistor network 47R2", "47R2", "resistor", "resistance", 47.2),
    ("470uF 16V Tolkara", "TK470", "capacitor", "capacitance", 470e-6),
    ("brown black red gold", "R1", "resistor", "resistance", 1e3),
    ("Tolkara deck 6V motor", "M-6", "motor", "voltage", 6.0),
]


@pytest.mark.parametrize(("text", "number"), NAMES)
def test_a_name_is_no_value(text, number):
    kept = described(text, number, "", read)
    assert kept.kind == "listed"
    assert kept.spec.part_number == number
    assert {name for name, held in kept.spec.attributes.items() if held.value != number} == set()


@pytest.mark.parametrize(("text", "number", "kind", "attribute", "value"), VALUES)
def test_what_says_a_value_keeps_it(text, number, kind, attribute, value):
    kept = described(text, number, "", read)
    assert (kept.kind, kept.spec.number(attribute)) == (kind, value)


def test_a_stated_kind_makes_a_code_a_value():
    assert described("", "47R2", "resistor", read).spec.number("resistance") == 47.2
    assert described("47R2", "QX-2", "resistor", read).spec.number("resistance") == 47.2


def test_part_numbers_are_found_by_their_place():
    assert part_numbers("board TK-104K 470uF") == ((6, 13),)
    assert part_numbers("CFR-25-4K7 5%") == ((0, 10),)
    for text in ("Elko-100n", "X7R-104K", "RM5-104K", "R-4k7", "C-100n", "TK-100nF", "MKP-104K", "25V-100n", "TK-5"):
        assert part_numbers(text) == (), text


def test_only_bare_codes_without_a_trade_word_are_names():
    assert rests_on_a_name("Zindlar 220R", "Q-1", ("Zindlar",))
    assert not rests_on_a_name("Zindlar 220R 5%", "Q-1", ("Zindlar",))
    assert not rests_on_a_name("resistor 220R", "Q-1", ())
    assert not rests_on_a_name("220R", "Q-1", ())
