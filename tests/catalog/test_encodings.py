"""Bytes of a list as text: what is certain, what is assumed and said so, and what is refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.encodings import decoded
from catalog.text import Refused

WESTERN = (
    "Menge;Bezeichnung\n3;Elko 100 µF 16 V für Gehäuse\n",
    "pièce;dénomination;prix €\n2;résistance 4,7 kohm ±5 %;0,10\n",
    "belt Ø 43 mm, 1½ W, 25 °C, 5×20 – “new”\n",
    "Größe;Stück\nRiemen 80×1,2;4\n",
    "condensador de película 100nF 250V, año 1984\n",
)


@pytest.mark.parametrize("text", WESTERN)
def test_western_text_in_windows_1252_is_read_and_said(text):
    found = decoded(text.encode("cp1252"), "list.csv")
    assert found.text == text
    assert found.note == "read as Windows-1252; see that its letters are right"


@pytest.mark.parametrize("text", WESTERN)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
def test_utf_8_is_certain(text, encoding):
    found = decoded(text.encode(encoding), "list.csv")
    assert (found.text, found.note) == (text, "")


@pytest.mark.parametrize("mark", [b"\xff\xfe", b"\xfe\xff"])
def test_utf_16_with_its_mark_is_read_in_both_orders(mark):
    text = WESTERN[0]
    data = mark + text.encode("utf-16-le" if mark == b"\xff\xfe" else "utf-16-be")
    found = decoded(data, "list.csv")
    assert found.text == text
    assert "UTF-16" in found.note
    with pytest.raises(Refused, match=r"list\.csv:1: this is damaged UTF-16; save it as CSV in UTF-8"):
        decoded(data[:-1], "list.csv")


@pytest.mark.parametrize(
    ("text", "encoding"),
    [
        ("резистор 4к7", "cp1251"),
        ("ток 2 в", "cp1251"),
        ("Kondensator für Gehäuse", "cp850"),
        ("cap 100 µF", "cp850"),
        ("resistor ±5%", "cp850"),
        ("25 °C", "cp850"),
        ("Gehäuse für Gerät", "mac_roman"),
        ("stały rezystor żarówka", "cp1250"),
        ("抵抗 10k", "shift_jis"),
    ],
)
def test_other_encodings_are_refused_with_the_line_and_what_to_do(text, encoding):
    data = b"description\n" + text.encode(encoding) + b"\n"
    with pytest.raises(Refused, match=r"^list\.csv:2: .*save it as CSV in UTF-8"):
        decoded(data, "list.csv")


def test_a_broken_letter_in_utf_8_is_no_reason_to_read_the_others_wrongly():
    data = "Gehäuse\nfür µ\n".encode() + b"Ger\xe4t\n"
    with pytest.raises(Refused, match="UTF-8"):
        decoded(data, "list.csv")


@given(st.binary(max_size=200))
def test_whatever_comes_is_text_or_a_refusal(data):
    try:
        found = decoded(data, "x")
    except Refused:
        with pytest.raises(UnicodeDecodeError):
            data.decode()
    else:
        assert found.assumed or found.text.encode() in {data, data.removeprefix(b"\xef\xbb\xbf")}
