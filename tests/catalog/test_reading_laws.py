"""Laws of reading descriptions: nothing raises, nothing is lost, nothing is invented, spelling does not matter."""

import csv
import math
import re
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from catalog.attribute_words import ATTRIBUTE_WORDS
from catalog.describe import as_dict, read
from catalog.markings import encode_chip_resistor, encode_eia96, encode_picofarads, encode_two_character
from catalog.numbered import part_numbers
from catalog.preferred import members
from catalog.quantity import scaled
from catalog.scan import Scan
from catalog.spec import KINDS
from catalog.text import clean_line
from catalog.words import KIND_WORDS

LIST = Path(__file__).with_name("descriptions.csv").read_text(encoding="utf-8")
TEXTS = [(row["text"], row["given"] or None) for row in csv.DictReader(LIST.splitlines(), delimiter=";")]
ALONE = re.compile(r"(?:[^\W\d_]+ )?\d+(?:/\d+)?")
READ = [text for text, given_kind in TEXTS if given_kind is None and read(text).status in {"ok", "ambiguous"}]
NUMBERED = {"pickup", "listed"}
ALPHABET = "0123456789.,/-+x %±µuμnpFfVvRkKMmΩEJ°C()мкФОмВ"

INDEPENDENT = [
    ["elko", "100uF", "25V", "105°C", "RM5", "10x16mm", "radial", "20%"],
    ["elko", "4,7µF", "63V", "axial"],
    ["resistor", "4k7", "5%", "0.25W", "carbon film", "350V"],
    ["Widerstand", "1,5 kΩ", "1%", "metal film", "50ppm/K", "1/4W"],
    ["fuse", "T2A", "250VAC", "5x20"],
    ["kerko", "100nF", "X7R", "50V", "0805", "10%"],
    ["100n", "X7R", "50V", "0805", "10%"],
    ["poti", "10k", "lin", "stereo", "mit schalter"],
    ["MKP", "470nF", "400V", "5%", "RM15"],
    ["X2", "100nF", "275VAC", "RM15", "MKP"],
    ["psu", "9V", "500mA", "centre negative", "5.5x2.1mm", "regulated"],
    ["NiMH", "3.6V", "700mAh", "with tabs"],
    ["CR2032", "with tabs", "2 pin"],
    ["quartz", "4.194304MHz", "18pF", "HC-49/U", "30ppm"],
    ["belt", "square", "circumference 135 mm", "1.2 mm thick"],
    ["motor", "6V", "CW", "governed", "2400 rpm"],
    ["connector", "2.54 mm", "6 way", "male", "angled"],
    ["ffc", "24 way", "0.5 mm", "type A", "100 mm"],
    ["zener", "5V1", "0,5W"],
    ["diode", "schottky", "40V", "3A"],
    ["transistor", "npn", "45V", "100mA", "TO-92"],
    ["regulator", "5V", "1A", "LDO", "TO-220"],
    ["choke", "100µH", "1A", "10%"],
    ["tantalum", "10uF", "16V", "case B"],
    ["thermal fuse", "113°C", "10A", "250V"],
    ["ptc", "hold 0.5A", "trip 1A", "30V"],
    ["ferrite bead", "600R", "@100MHz", "0805", "2A"],
    ["switch", "SPDT", "slide", "3A", "250VAC"],
    ["foot", "10x3", "adhesive"],
]


def facts(text, kind=None):
    """What was read, without the wording of reasons."""

    def plain(form):
        kept = {name: held for name, held in form.items() if name not in {"why", "readings", "left_over"}}
        return {**kept, "readings": [plain(option) for option in form["readings"]]}

    return plain(as_dict(read(text, kind)))


def check_form(text, reading):
    assert reading.status in {"ok", "ambiguous", "refused", "nothing"}
    for option in (reading, *reading.readings):
        held = option.spec.attributes if option.spec else {}
        assert set(held) <= set(KINDS[option.spec.kind] if option.spec else ())
        numbers = [item.value for item in held.values() if isinstance(item.value, float)]
        assert all(math.isfinite(number) for number in (*numbers, option.value_si or 0.0))
    if reading.status == "ambiguous":
        assert reading.value_si is None
        assert len({str(option) for option in reading.readings}) >= 2
    if reading.status == "nothing":
        assert reading.left_over == ((clean_line(text),) if clean_line(text) else ())
    at = 0
    for piece in reading.left_over:  # each stands in the text, in this order
        at = clean_line(text).index(piece, at) + len(piece)


@given(st.text(alphabet=ALPHABET, max_size=40), st.sampled_from([None, *KINDS]))
def test_digits_units_and_signs_in_any_mix_get_a_sound_answer(text, kind):
    check_form(text, read(text, kind))


@given(st.data())
def test_damaged_descriptions_get_a_sound_answer(data):
    text, kind = data.draw(st.sampled_from(TEXTS))
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(text)))
        text = text[:at] + data.draw(st.text(alphabet=ALPHABET, max_size=2)) + text[at + data.draw(st.integers(0, 2)) :]
    check_form(text, read(text, kind))


@given(st.sampled_from(READ), st.sampled_from(["qqxv", "Zauberwort", "QXV9-BB"]), st.booleans())
def test_a_word_that_says_nothing_is_left_over_and_changes_nothing(text, noise, behind):
    noisy = f"{text} {noise}" if behind else f"{noise} {text}"
    if not behind:
        assume(not re.match(r"\d+\s", text))  # a count in front is one only at the very beginning
    assume(not (behind and re.search(r"[xX]\d$", text)))  # so is one at the very end
    assume(not ALONE.fullmatch(text))  # beside other words a bare number says less
    assume(not (behind and re.search(r"(?<!\S)\d[\d.,]*$", text)))  # and the word behind it may be its unit
    kind = read(text).spec
    assume("-" not in noise or kind is None or kind.kind not in NUMBERED)  # there a number is a part's name
    assert noise in " ".join(read(noisy).left_over)
    assert facts(noisy) == facts(text)


@given(st.text(max_size=40), st.data())
def test_what_nobody_claims_is_left_over(text, data):
    line = clean_line(text)
    scan = Scan(line)
    for _ in range(data.draw(st.integers(0, 3))):
        start = data.draw(st.integers(0, len(line)))
        scan.claim(start, min(len(line), start + data.draw(st.integers(0, 8))))
    left = " ".join(scan.left_over())
    for match in re.finditer(r"[^\W_]{3,}", line):
        if scan.free(match.start(), match.end()) and match[0].lower() not in {"and", "with", "mit", "und"}:
            assert match[0] in left or match[0].lower() in {"avec", "von", "auf", "der", "die", "das", "the", "pcs"}


@given(st.sampled_from(READ), st.sampled_from(["µ", "μ", "u"]))
def test_the_forms_of_micro_are_one(text, sign):
    other = re.sub(r"(?<=\d)(\s?)[µμu](?=[FfH\d]|\s|$|/)", rf"\g<1>{sign}", text)
    assert facts(other) == facts(text)


@given(st.sampled_from(READ))
def test_comma_and_point_are_one(text):
    assume(not re.search(r"[1-9]\d*[.,]\d{3}(?!\d)", text))  # which may part thousands
    assume(not re.search(r"(?<!\d)0\d{3},\d", text))  # behind a size code it parts fields
    comma = re.sub(r"(?<=\d)[.,](?=\d)", ",", text)
    point = re.sub(r"(?<=\d)[.,](?=\d)", ".", text)
    assert facts(comma) == facts(point)


@given(st.sampled_from(READ))
def test_a_space_before_a_unit_changes_nothing(text):
    units = "[pnuµ]F|[kM]?Ω|[kM]?Ohm|VAC|VDC|V|mA|MHz|kHz|mH|µH|uH|mm|%|мкФ|нФ|пФ|кОм|В"
    measure = re.compile(rf"(?<![^\W_])(\d[\d.,]*)\s?(?=(?:{units})(?![^\W_]))")
    assume(text != "tantalum 476V")  # a code with its letter, if glued
    assert facts(measure.sub(r"\1", text)) == facts(measure.sub(r"\1 ", text))


@given(st.data(), st.sampled_from([" ", ", ", " / ", "; "]))
def test_the_order_of_independent_facts_does_not_matter(data, between):
    pieces = data.draw(st.sampled_from(INDEPENDENT))
    mixed = data.draw(st.permutations(pieces))
    assert read(between.join(mixed)).status == "ok"
    assert facts(between.join(mixed)) == facts(" ".join(pieces))
    assert read(between.join(mixed)).left_over == ()


@given(
    st.text(alphabet="BDGHJPQTVWZ", min_size=2, max_size=4),
    st.sampled_from(["104K", "47R", "2M2", "22p", "472", "100n", "4k7", "1R0J", "220M"]),
)
def test_a_part_number_gets_no_invented_value(head, code):
    name = f"{head}-{code}"
    assume(part_numbers(name))
    for text in (name, f"Brumvex {name}", f"{name} gadget", f"spare {name}"):
        assert read(text).status == "nothing"
        assert read(text).left_over == (text,)
    assert read(f"{name} 470uF 16V").value_si == 470e-6
    assert name in " ".join(read(f"resistor {name}").left_over)
    assert read(f"resistor {name}").value_si is None


@pytest.mark.parametrize("power", range(-12, -5))
def test_every_two_figure_capacitance_is_read_from_its_marks(power):
    for figure in members("E24"):
        farads = scaled(str(figure), power)
        code = encode_picofarads(farads)
        assert read(f"ceramic marked {code}").value_si == farads
        assert read(f"film {code}K").value_si == farads
        if power < -6:
            reading = read(f"capacitor code {(mark := encode_two_character(farads))}")
            assert {option.value_si for option in reading.readings or (reading,)} >= {farads}
            assert (reading.status == "ambiguous") == (mark in {"X1", "X2", "X3", "X4", "Y1", "Y2", "Y3", "Y4"})


@pytest.mark.parametrize("power", range(-1, 6))
def test_every_preferred_resistance_is_read_from_its_marks(power):
    for figure in members("E24"):
        ohms = scaled(str(figure), power)
        assert read(f"chip resistor marked {encode_chip_resistor(ohms)}").value_si == ohms
    for figure in members("E96"):
        ohms = scaled(str(figure), power)
        reading = read(f"chip resistor marked {encode_eia96(ohms)}")
        options = {option.value_si for option in reading.readings or (reading,)}
        assert ohms in options
        assert (reading.status == "ambiguous") == (len(options) > 1)


DENIED = ["not {}", "no {}", "non-{}", "without {}", "kein {}", "nicht {}", "ohne {}", "sans {}", "не {}", "без {}"]
DENIED += [
    "instead of {}",
    "not for {}",
    "maybe {}",
    "{}?",
    "{} ?",
    "{} (?)",
    "?{}",
    "({} removed)",
    "{} missing",
    "{}: no",
]


def sure(reading):
    """What stands beyond doubt: the attributes of a reading that is ok, else those that all its readings share."""
    options = reading.readings or (reading,)
    held = [{(name, item.value) for name, item in option.spec.attributes.items()} for option in options if option.spec]
    return set.intersection(*held) if held else set()


@given(st.sampled_from(INDEPENDENT), st.data(), st.sampled_from(DENIED))
def test_what_is_denied_or_doubted_is_no_fact(pieces, data, way):
    at = data.draw(st.integers(0, len(pieces) - 1))
    assume(pieces[at].lower() not in KIND_WORDS)  # of another kind the rest of the line may say other things
    denied = way.format(pieces[at])
    rest = pieces[:at] + pieces[at + 1 :]
    said, without = sure(read(" ".join(pieces))), sure(read(", ".join(rest)))
    reading = sure(read(", ".join([*rest, denied])))
    assert not (said - without) & reading, (denied, reading)


@pytest.mark.parametrize("kind", sorted(ATTRIBUTE_WORDS))
def test_no_word_of_any_kind_is_a_fact_beside_a_denial(kind):
    for phrase, effects in ATTRIBUTE_WORDS[kind].items():
        for way in ("not {}", "ohne {}", "non-{}", "{}?", "({} removed)"):
            text = way.format(phrase)
            if any(own in text.lower().replace("-", " ") and own != phrase for own in ATTRIBUTE_WORDS[kind]):
                continue  # a phrase of its own, or a longer one
            assert not set(effects) & sure(read(text, kind)), text


POINTED = [("resistor", "ohm"), ("resistor", "Ω"), ("resistor", "R"), ("resistor", "k"), ("elko", "uF"), ("film", "nF")]
POINTED += [("elko 100uF", "V"), ("choke", "µH"), ("fuse", "A"), ("zener", "v"), ("zener", "V"), ("psu", "V")]
POINTED += [("psu", "v"), ("motor", "V"), ("NiMH", "v"), ("regulator", "v"), ("crystal", "MHz"), ("relay", "V")]
POINTED += [("resistor 10k", "W"), ("lamp", "v"), ("film 10nF", "V")]


@given(st.sampled_from(POINTED), st.integers(0, 99), st.integers(1, 999), st.sampled_from(["", " 5%", ", new", " 3"]))
def test_a_digit_right_behind_a_unit_is_never_left_over_silently(what, before, behind, tail):
    words, unit = what
    reading = read(f"{words} {before}{unit}{behind}{tail}")
    whole = sure(read(words))
    cut = {held for held in sure(read(f"{words} {before}{unit}")) - whole if isinstance(held[1], float)}
    assert reading.status != "ok" or not cut & sure(reading), reading
    pieces = " ".join(reading.left_over).split()
    assert str(behind) not in pieces or reading.status == "ambiguous" or str(behind) == tail.strip()
