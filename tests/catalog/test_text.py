"""The text gate."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.text import LINE_LIMIT, Refused, clean_block, clean_line

CHARACTERS = st.one_of(st.characters(), st.characters(codec=None, categories=["Cs", "Cf", "Cc", "Co", "Zs", "Mn"]))
HOSTILE = st.lists(
    st.one_of(
        CHARACTERS,
        st.sampled_from(["\x1b[", "\x1b]", "\x9b", "\x9d", "\x1b\\", "\x07", "\u202e", "\u200b", "\r\n", ";"]),
    )
).map("".join)


@pytest.mark.parametrize(
    ("dirty", "clean"),
    [
        ("\x1b[31mred\x1b[0m ink", "red ink"),
        ("\x1b]0;a title\x07rest", "rest"),
        ("\x1b]8;;https://example.org\x1b\\link\x1b]8;;\x1b\\", "link"),
        ("\x1bP1;2qpicture\x1b\\after", "after"),
        ("\x9b31mred", "red"),
        ("x\x90data\x9cy", "xy"),
        ("a\x1b(Bb\x1bcd", "abd"),
        ("10k\x9d resistor", "10k resistor"),
        ("\x1b]0;never ended", "0;never ended"),
        ("1\u202e2\u202c3\u20664\u2069", "1234"),
        ("z\u200be\u200cr\u200do\ufeff", "zero"),
        ("so\u00adft", "soft"),
        ("nul\x00l", "null"),
        ("a\ud800b", "a�b"),
        ("a\ue000b", "a�b"),
        ("tag\U000e0041\U000e007f", "tag"),
        ("one\r\ntwo\u2028three\u00a0four\tfive", "one two three four five"),
        ("  lead and trail \n", "lead and trail"),
        ("e\u0301", "é"),
        ("\x7f\x1b", ""),
    ],
)
def test_what_could_move_a_cursor_or_hide_is_gone(dirty, clean):
    assert clean_line(dirty) == clean


@pytest.mark.parametrize(
    "text", ["4,7 мкФ", "10 кОм", "47 µF", "47 μF", "1 kΩ", "🔧 works", "❤️", "한글", "½ W ±5 %", "日本 100V"]
)
def test_letters_of_every_script_and_emoji_stay(text):
    assert clean_line(text) == text


def test_the_ohm_sign_becomes_the_letter():
    assert clean_line("5 \u2126") == "5 \u03a9"


@given(HOSTILE)
def test_a_clean_line_is_printable_composed_folded_short_and_stays_as_it_is(text):
    line = clean_line(text)
    assert line.isprintable()
    assert unicodedata.is_normalized("NFC", line)
    assert line == " ".join(line.split())
    assert len(line) <= LINE_LIMIT
    assert clean_line(line) == line
    assert line.encode("utf-8").decode("utf-8") == line


@given(HOSTILE, st.integers(1, 40))
def test_the_cut_keeps_to_the_limit_and_shows(text, limit):
    whole, cut = clean_line(text), clean_line(text, limit)
    if len(whole) <= limit:
        assert cut == whole
    else:
        assert len(cut) == limit
        assert cut.endswith("…")
        assert whole.startswith(cut[:-1])


@given(HOSTILE)
def test_a_block_is_clean_lines(text):
    block = clean_block(text)
    assert all(line == clean_line(line) for line in block.split("\n"))
    assert not block.startswith("\n")
    assert not block.endswith("\n")
    assert clean_block(block) == block


def test_a_block_keeps_its_line_ends():
    assert clean_block("\n one \n\n\x1b[2Jtwo\x00\r\n") == "one\n\ntwo"


def test_a_refusal_is_one_line_that_says_where():
    refusal = Refused("no\nsuch \x1b[31mpart", where="a\u202e.csv:3:count")
    assert str(refusal) == "a.csv:3:count: no such part"
    assert str(Refused("bare")) == "bare"
