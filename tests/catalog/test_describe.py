"""Reading whole descriptions: kinds, attributes, traps of real text, and what must stay open."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.attribute_words import ATTRIBUTE_WORDS
from catalog.describe import as_dict, read
from catalog.quantity import encode_rkm, scaled
from catalog.spec import KINDS, ROLES
from catalog.text import LINE_LIMIT
from catalog.words import DIMENSION_WORDS, KIND_WORDS, ROLE_WORDS

PIECES = (
    *(
        "100nF",
        "47uF",
        "25V",
        "275VAC",
        "104K",
        "marked",
        "5x20",
        "T2A",
        "elko",
        "fuse",
        "belt",
        "1.2",
        "sq",
        "4k7",
        "5%",
    ),
    *("X7R", "X2", "+", "0805", "CR2032", "9V", "10k"),
)


def attributes(text, kind=None):
    reading = read(text, kind)
    assert reading.status == "ok", (text, reading)
    return {name: held.value for name, held in reading.spec.attributes.items()}


def values(reading):
    return {option.value_si for option in reading.readings}


@pytest.mark.parametrize(
    ("text", "kind", "value", "unit"),
    [
        ("4,7uF", "capacitor", 4.7e-6, "F"),
        ("0,1R 1%", "resistor", 0.1, "ohm"),
        ("10k 0,1%", "resistor", 10e3, "ohm"),
        ("Cap, 1ΜF, 16V", "capacitor", 1e-6, "F"),
        ("47uF35V", "capacitor", 47e-6, "F"),
        ("100uF/25V", "capacitor", 100e-6, "F"),
        ("25В-0,1мкФ", "capacitor", 0.1e-6, "F"),
        ("Elko 100uF 1,5mm", "electrolytic", 100e-6, "F"),
        ("1 condensateur 100uF", "capacitor", 100e-6, "F"),
        ("100uF 4 шт", "capacitor", 100e-6, "F"),
        ("470Ω 150V", "resistor", 470.0, "ohm"),
        ("120Ohm @100MHz ferrite bead", "ferrite", 120.0, "ohm"),
        (".022 400V paper", "film", 22e-9, "F"),
        ("0.1/630 film", "film", 0.1e-6, "F"),
        ("8MFD 450V electrolytic", "electrolytic", 8e-6, "F"),
        ("100 mmfd mica", "ceramic", 100e-12, "F"),
        ("mica 47", "ceramic", 47e-12, "F"),
        ("vintage ceramic 1000", "ceramic", 1e-9, "F"),
        ("4.7mF old paper capacitor", "film", 4.7e-6, "F"),
        ("1F 5.5V supercap", "capacitor", 1.0, "F"),
        ("elko 100 / 16V", "electrolytic", 100e-6, "F"),
        ("elko 470 / C", "electrolytic", 470e-6, "F"),
        ("ceramic marked 4R7", "ceramic", 4.7e-12, "F"),
        ("capacitor marked 104", "capacitor", 100e-9, "F"),
        ("capacitor code S4", "capacitor", 47e-9, "F"),
        ("ceramic 474", "ceramic", 470e-9, "F"),
        ("tantalum marked 107A", "tantalum", 100e-6, "F"),
        ("chip resistor marked 472", "resistor", 4.7e3, "ohm"),
        ("chip resistor marked 66B", "resistor", 4.75e3, "ohm"),
        ("resistor 47R", "resistor", 47.0, "ohm"),
        ("470E", "resistor", 470.0, "ohm"),
        ("4E7 resistor", "resistor", 4.7, "ohm"),
        ("5 mΩ resistor", "resistor", 5e-3, "ohm"),
        ("резистор 4,7 кОм", "resistor", 4.7e3, "ohm"),
        ("кОм 4,7 резистор", "resistor", 4.7e3, "ohm"),
        ("R_0603 470", "resistor", 470.0, "ohm"),
        ("brown black red gold", "resistor", 1e3, "ohm"),
        ("4u7H choke", "inductor", 4.7e-6, "H"),
        ("32.768kHz watch crystal 12.5pF 20ppm", "crystal", 32768.0, "Hz"),
        ("zener 5V1 500mW", "diode", 5.1, "V"),
        ("diode 9.1", "diode", 9.1, "V"),
        ("T3,15AH250V", "fuse", 3.15, "A"),
        ("2,5A FF", "fuse", 2.5, "A"),
        ("CR2032 with tabs", "battery", 3.0, "V"),
        ("psu 9 V DC 500 mA centre negative 5.5x2.1", "psu", 9.0, "V"),
        ("power supply 12 V DC 1 A 5.5x2.1", "psu", 12.0, "V"),
        ("motor 6 V CW governed 2400 rpm", "motor", 6.0, "V"),
        ("square belt 135 mm inside circumference 1.2", "belt", 0.135, "m"),
        ("AWG 36 wire", "wire", 0.127e-3, "m"),
        ("7905 regulator", "regulator", -5.0, "V"),
        ("NTC 10k B3950 1%", "thermistor", 10e3, "ohm"),
        ("ptc hold 0.5A trip 1A 30V", "ptc", 0.5, "A"),
    ],
)
def test_the_main_quantity(text, kind, value, unit):
    reading = read(text)
    assert (reading.status, reading.spec.kind, reading.value_si, reading.unit) == ("ok", kind, value, unit)


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("4.7 F, 10%, X7R, 10 V, 0805", None, {4.7, 4.7e-6}),
        ("4µ750V", None, {4.7e-6, 4e-6}),
        ("100Ω 1W + 100nF X2 275VAC", None, {100.0, 100e-9}),
        ("104K", None, {100e-9, 104e3}),
        ("470", None, {470.0, 47e-12, 470e-12, 470e-6}),
        ("100", "ceramic", {10e-12, 100e-12, 100e-6}),
        ("chip resistor marked 47R", None, {47.0, 3.01}),
        ("chip resistor marked 10E", None, {10.0, 1.24e6}),
        ("film 4R7", None, {4.7e-12, 4.7e-6}),
        ("1F capacitor", None, {1.0, 1e-6}),
        ("4.7mF capacitor", None, {4.7e-3, 4.7e-6}),
        ("1 MF X7R 0805", None, {1e-6, 1e-3}),
        ("10m resistor", None, {10e-3, 10e6}),
        ("1,500 ohm", None, {1.5, 1500.0}),
        ("film 5", None, {5e-12, 5e-6}),
        ("fuse 2", None, {2.0, 2e-3}),
        ("crystal 4.194304", None, {4194304.0, 4194.304}),
        ("choke 100", None, {100e-6, 0.1}),
        ("belt 43mm sq 1.2", None, {0.043, 0.135088}),
        ("2.2uF 4.7uF", None, {2.2e-6, 4.7e-6}),
        ("470R 9P (A102J)", None, {470.0, 1000.0}),
        ("resistor 1206", None, {1206.0, None}),
        ("M22", "capacitor", {0.22e-6, 22e-12, 220e3}),
        ("100nF", "resistor", {100e-9, None}),
        ("FUSE T 315MA 250V", None, {0.315, 315e6}),
    ],
)
def test_what_can_be_two_things_is_ambiguous(text, kind, expected):
    reading = read(text, kind)
    assert reading.status == "ambiguous"
    assert reading.value_si is None
    assert values(reading) == expected
    assert all(option.why for option in reading.readings)


def test_a_kind_settles_what_the_code_leaves_open():
    assert read("104K", "capacitor").value_si == 100e-9
    assert read("104K", "resistor").value_si == 104e3
    assert read("47", "resistor").value_si == 47.0
    assert read("0", "resistor").value_si == 0.0
    assert read("12", "diode").status == "ambiguous"


def test_words_that_contradict_the_given_kind_are_ambiguous():
    reading = read("470uF 16V tantalum", "electrolytic")
    assert reading.status == "ambiguous"
    assert {option.spec.kind for option in reading.readings} == {"tantalum", "electrolytic"}
    assert read("100nF ceramic", "capacitor").spec.kind == "ceramic"


def test_certain_parts_of_an_ambiguous_line_are_still_given():
    reading = read("4.7 F, 10%, X7R, 10 V, 0805")
    assert (reading.tolerance.plus, reading.voltage.value, reading.spec.word("dielectric")) == (10.0, 10.0, "X7R")


def test_rails_and_ranges_are_no_ratings():
    reading = read("47 uF electrolytic, 12 V input bulk")
    assert reading.voltage is None
    assert reading.left_over == ("12 V input bulk",)
    assert read("10uF 9-36 V").left_over == ("9-36 V",)
    assert read("1uF 25V, 12V rail").voltage.value == 25.0
    assert attributes("electrolytic 47uF 12V circuit")["circuit_volts"] == 12.0


def test_two_bare_ratings_are_a_question():
    assert {o.voltage.value for o in read("electrolytic 22uF 16V 35V").readings} == {16.0, 35.0}


def test_ac_and_dc_ratings_are_kept_apart():
    held = attributes("X2 safety capacitor 100nF 275VAC 630VDC RM15")
    assert (held["voltage_ac"], held["voltage_dc"], held["pitch"], held["safety_class"]) == (275.0, 630.0, 15.0, "X2")
    assert read("100nF 50V ceramic").voltage.type is None
    assert read("T2AL250V").voltage.type == "ac"
    assert "voltage_ac" not in attributes("fuse 32V DC 10A")


@pytest.mark.parametrize(
    ("text", "minus", "plus", "unit", "implied"),
    [
        ("10nF -20/+80% ceramic", 20, 80, "%", False),
        ("10nF +80-20% ceramic", 20, 80, "%", False),
        ("3.3pF ±0.25pF NP0", 0.25, 0.25, "pF", False),
        ("9p1 D ceramic", 0.5, 0.5, "pF", False),
        ("10pF C ceramic", 0.25, 0.25, "%", False),
        ("ceramic 104J", 5, 5, "%", False),
        ("100nJ ceramic", 5, 5, "%", False),
        ("4K7J", 5, 5, "%", False),
        ("resistor marked 01C", 1, 1, "%", True),
        ("brown red green", 20, 20, "%", True),
        ("NTC 10k B3950 1%", 1, 1, "%", True),
        ("470R 9P (A471J)", 5, 5, "%", True),
    ],
)
def test_tolerances(text, minus, plus, unit, implied):
    tolerance = read(text).tolerance
    assert (tolerance.minus, tolerance.plus, tolerance.unit, tolerance.implied) == (minus, plus, unit, implied)


def test_a_dielectrics_change_and_a_coefficient_are_no_tolerance():
    assert read("X7R 100nF ±15% 50V").tolerance is None
    assert read("resistor 10k 50ppm/K").tolerance is None
    assert read("resistor marked 472").tolerance is None
    assert read("NTC 10k 5% B3950 1%").tolerance.plus == 5.0


def test_letters_behind_three_digits_depend_on_the_construction():
    assert attributes("tantalum 476C")["voltage_dc"] == 16.0
    assert read("ceramic 476C").tolerance.plus == 0.25
    assert attributes("elko 100C", "electrolytic").get("temperature") == 100.0
    assert read("capacitor 476C").status == "ambiguous"
    assert read("capacitor 476K").tolerance.plus == 10.0
    assert attributes("tantalum marked 226 16")["voltage_dc"] == 16.0


def test_positions_and_digits_outside_a_code_are_refused():
    assert "outside 01 to 96" in read("resistor marked 97A").reason
    assert read("capacitor marked S8").status == "refused"


def test_bands_are_never_turned_round_silently():
    reading = read("Braun-Silber-Rot-Gold")
    assert reading.status == "ambiguous"
    assert any("never a digit" in option.why for option in reading.readings)
    assert values(reading) == {1800.0, None}


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            "1000uF 25V low-ESR electrolytic 10x20mm RM5 105°C 2000h radial",
            {
                "low_esr": True,
                "diameter": 10.0,
                "height": 20.0,
                "pitch": 5.0,
                "temperature": 105.0,
                "life": 2000.0,
                "style": "radial",
            },
        ),
        ("bipolar elko 22uF 50V axial", {"bipolar": True, "style": "axial", "voltage_dc": 50.0}),
        ("MKP 470nF 400V 5%", {"dielectric": "PP", "tolerance": 5.0}),
        ("X1/Y2 4.7nF 440VAC", {"safety_class": "X1/Y2", "voltage_ac": 440.0}),
        ("100nF 50V NPO 1608 metric", {"dielectric": "C0G", "size": "0603"}),
        ("fusible resistor 10R 1W flameproof", {"fusible": True, "flameproof": True, "power": 1.0}),
        ("¼W 4k7 5% carbon film", {"power": 0.25, "composition": "carbon-film", "tolerance": 5.0}),
        ("470 Ohm 1/4W", {"power": 0.25, "resistance": 470.0}),
        ("470R 9P (A471J)", {"pins": 9.0, "resistance": 470.0}),
        ("pot 10K lin dual", {"resistance": 10e3, "taper": "lin", "gangs": 2.0}),
        ("10k log pot with switch", {"taper": "log", "mains_switch": True, "gangs": 1.0}),
        ("B50K pot", {"taper_letter": "B", "resistance": 50e3}),
        ("A100K potentiometer japan", {"taper_letter": "A", "taper": "log"}),
        ("A100K potentiometer european", {"taper_letter": "A", "taper": "lin"}),
        ("C10K pot", {"taper": "revlog"}),
        ("fuse 5x20 T 2A 250V", {"body": "5x20", "speed": "T", "current": 2.0, "voltage_ac": 250.0}),
        ("Sicherung träge 1,6A 5x20", {"speed": "T", "current": 1.6}),
        ("fuse 1A slow blow glass", {"speed": "T", "material": "glass"}),
        ("thermal fuse 113°C 10A 250V", {"temperature": 113.0, "current": 10.0, "voltage_ac": 250.0}),
        (
            "courroie carrée 135 mm circonférence 1,2 mm",
            {"section": "square", "circumference": 135.0, "thickness": 1.2},
        ),
        (
            "Riemen flach 5 x 0,6 Umfang 250 mm",
            {"section": "flat", "circumference": 250.0, "width": 5.0, "thickness": 0.6},
        ),
        ("belt inside diameter 43mm 1.2 mm square", {"inside_diameter": 43.0, "thickness": 1.2}),
        (
            "tact push switch 6x6 h 5 mm",
            {
                "form": "tact",
                "footprint": "6x6",
                "actuator_height": 5.0,
                "action": "momentary",
                "poles": 1.0,
                "normally": "open",
            },
        ),
        ("Taster 6x6x5 mm", {"form": "push", "footprint": "6x6", "actuator_height": 5.0, "action": "momentary"}),
        ("slide switch SPDT", {"form": "slide", "poles": 1.0, "throws": 2.0}),
        ("DPDT toggle switch 3A 250VAC", {"poles": 2.0, "throws": 2.0, "current": 3.0, "voltage_ac": 250.0}),
        ("CR2032 with tabs", {"code": "CR2032", "terminals": "tabs", "diameter": 20.0, "height": 3.2}),
        ("CR2032 2 pin tabs", {"pin_count": 2.0, "terminals": "tabs"}),
        ("LR44", {"chemistry": "alkaline", "terminals": "bare"}),
        (
            "NiMH pack 4.8V 700mAh with plug",
            {"chemistry": "nimh", "voltage": 4.8, "capacity": 0.7, "terminals": "wires"},
        ),
        (
            "psu 9 V DC 500 mA centre negative 5.5x2.1",
            {"output": "dc", "polarity": "centre-negative", "plug_outer": 5.5, "plug_inner": 2.1, "current": 0.5},
        ),
        ("Netzteil 9V 500mA minus innen 5,5x2,1", {"polarity": "centre-negative", "output": "dc"}),
        ("psu 12V AC 1A", {"output": "ac", "voltage": 12.0}),
        ("wall wart 5V 2A input 100-240V", {"voltage": 5.0, "input_voltage": "100-240V"}),
        ("motor 6 V CW governed 2400 rpm", {"rotation": "cw", "governed": True, "speed": 2400.0}),
        ("motor 12V CCW plain 2 wire Ø24", {"rotation": "ccw", "plain": True, "wires": 2.0, "diameter": 24.0}),
        (
            "ffc 24 way 0.5 mm type A 100 mm",
            {"conductors": 24.0, "pitch": 0.5, "contact_sides": "same", "length": 100.0},
        ),
        (
            "connector 2.54 mm 6 pin header male",
            {"positions": 6.0, "pitch": 2.54, "gender": "male", "family": "pin header"},
        ),
        ("1N4007", {"type_number": "1N4007", "reverse_voltage": 1000.0, "current": 1.0}),
        ("2SC1815 transistor TO-92 ECB", {"polarity": "npn", "package": "TO-92", "pin_order": "E-C-B"}),
        ("78L05 TO-92", {"output_voltage": 5.0, "current": 0.1}),
        ("optical pickup KX-213C with mechanism", {"model_code": "KX-213C", "with_mechanism": True}),
        ("stick module XJ-10", {"part_number": "XJ-10"}),
        ("rubber foot 10x3 adhesive", {"diameter": 10.0, "height": 3.0, "fixing": "adhesive"}),
        ("crystal HC-49/US 4.194304MHz 18pF", {"frequency": 4194304.0, "load": 18e-12, "package": "HC-49/US"}),
    ],
)
def test_words_land_in_attributes(text, expected):
    held = attributes(text)
    assert {name: held.get(name) for name in expected} == expected


def test_parts_known_by_number_carry_it():
    for text, kind in (
        ("stick module XJ-10", "listed"),
        ("pickup KX-213C", "pickup"),
        ("BC547 transistor", "transistor"),
    ):
        spec = read(text).spec
        assert (spec.kind, spec.part_number) == (
            kind,
            text.replace("stick module ", "").replace("pickup ", "").split()[0],
        )


def test_roles():
    assert read("crossover capacitor 4.7uF bipolar").spec.role == "crossover"
    assert read("coupling 100nF film 400V").spec.role == "coupling"
    assert read("47uF smoothing elko").spec.role == "filter"
    assert read("100nF film").spec.role is None


def test_what_follows_for_is_context():
    reading = read("fuse for psu T2A")
    assert (reading.spec.kind, reading.left_over) == ("fuse", ("for psu",))


def test_nothing_is_dropped():
    reading = read("100nF Zauberwort 50V (x3) qqq")
    assert reading.left_over == ("Zauberwort", "(x3) qqq")
    assert read("asdf qwer").left_over == ("asdf qwer",)
    assert read("asdf qwer").status == "nothing"
    assert read("").status == "nothing"


def test_long_and_binary_lines_are_answered_at_once():
    reading = read("1" * 100_000)
    assert reading.status == "refused"
    assert "100000 characters" in reading.reason
    junk = "".join(map(chr, range(1, 1500)))
    assert read(junk).status in {"nothing", "ok", "ambiguous", "refused"}
    for piece in ("1 x ", "4µ7", "T2A", "1/", "-1+2", "red ", "marked ", "KX-213C/"):
        assert len(as_dict(read((piece * LINE_LIMIT)[:LINE_LIMIT], "switch"))["left_over"]) <= LINE_LIMIT


def test_escape_sequences_do_not_survive():
    reading = read("100nF \x1b[31mfoo\x1b[0m \u202ebar")
    assert reading.value_si == 100e-9
    assert reading.left_over == ("foo bar",)


def test_an_unknown_kind_is_refused():
    assert "no kind of part" in read("100nF", "gizmo").reason


def test_the_plain_form():
    form = as_dict(read("ceramic 104J 50V"))
    assert form == {
        "status": "ok",
        "kind": "ceramic",
        "value_si": 100e-9,
        "unit": "F",
        "tolerance": {"minus": 5.0, "plus": 5.0, "unit": "%", "implied": False},
        "voltage": {"value": 50.0, "type": None},
        "attributes": {
            "capacitance": {"value": 100e-9, "unit": "F"},
            "voltage_dc": {"value": 50.0, "unit": "V"},
            "tolerance": {"value": 5.0, "unit": "%"},
        },
        "readings": [],
        "left_over": [],
    }
    nothing = as_dict(read("asdf"))
    assert (nothing["status"], nothing["kind"], nothing["value_si"], nothing["attributes"]) == (
        "nothing",
        None,
        None,
        {},
    )


@given(st.text(max_size=80), st.sampled_from([None, *KINDS]))
def test_any_text_gets_an_answer(text, kind):
    reading = read(text, kind)
    assert reading.status in {"ok", "ambiguous", "refused", "nothing"}
    assert (reading.status == "ambiguous") == bool(reading.readings)
    if reading.spec:
        assert set(reading.spec.attributes) <= set(KINDS[reading.spec.kind])


@given(
    st.lists(
        st.sampled_from(PIECES),
        max_size=8,
    ),
    st.sampled_from([None, *KINDS]),
)
def test_pieces_in_any_order_get_an_answer(pieces, kind):
    reading = read(" ".join(pieces), kind)
    assert reading.status in {"ok", "ambiguous", "refused", "nothing"}
    for option in (reading, *reading.readings):
        if option.spec:
            assert set(option.spec.attributes) <= set(KINDS[option.spec.kind])


@given(st.integers(1, 999), st.integers(-2, 6))
def test_written_resistances_are_read_back(figure, power):
    value = scaled(str(figure), power)
    assert read(encode_rkm(value), "resistor").value_si == value


@given(
    st.integers(1, 999), st.sampled_from([("pF", -12), ("nF", -9), ("µF", -6), ("uF", -6)]), st.sampled_from(["", " "])
)
def test_plain_capacitances_are_read(figure, unit, space):
    assert read(f"{figure}{space}{unit[0]} 50V").value_si == scaled(str(figure), unit[1])


def test_the_word_lists_use_the_vocabulary():
    assert set(KIND_WORDS.values()) <= set(KINDS)
    assert set(ROLE_WORDS.values()) <= set(ROLES)
    for kind, table in ATTRIBUTE_WORDS.items():
        for effects in table.values():
            assert {name for name, _ in effects} <= set(KINDS[kind])
    assert set(DIMENSION_WORDS.values()) <= {name for names in KINDS.values() for name in names}
    for phrase in (*KIND_WORDS, *ROLE_WORDS, *(p for t in ATTRIBUTE_WORDS.values() for p in t)):
        assert phrase == phrase.lower().strip()
        assert len(phrase.split()) <= 4
