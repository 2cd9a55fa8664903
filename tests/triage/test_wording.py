"""Words for one reading of an ambiguous text read back as exactly that reading."""

import pytest

from catalog.describe import read
from triage.actions.telling import judged
from triage.actions.wording import settled
from triage.lot import Happening

TEXTS = [
    ("104", None),
    ("104", "capacitor"),
    ("4,700 uF", "electrolytic"),
    ("belt 43 mm sq 1.2", "belt"),
    ("100 25V", "electrolytic"),
    ("330 16V radial", "electrolytic"),
    ("12", "diode"),
    ("1,250", "resistor"),
    ("fuse 2", None),
]


@pytest.mark.parametrize(("text", "kind"), TEXTS)
def test_every_reading_can_be_said(text, kind):
    readings = read(text, kind).readings
    assert len(readings) > 1
    said = [settled(reading, kind) for reading in readings]
    assert len(set(said)) == len(readings)
    for words, reading in zip(said, readings, strict=True):
        again = read(words, kind)
        assert again.status == "ok"
        stated = {name: held.value for name, held in reading.spec.attributes.items() if name != "tolerance"}
        assert {name: again.spec.attributes[name].value for name in stated} == stated


def test_what_was_left_over_is_kept():
    reading = read("104 zzfrob", "capacitor").readings[0]
    assert "zzfrob" in settled(reading, "capacitor")


def test_a_reading_without_short_words_is_not_made_up():
    written = next(reading for reading in read("1F capacitor").readings if "as written" in reading.why)
    assert settled(written) is None


@pytest.mark.parametrize(
    ("kind", "answer", "words"),
    [
        ("answer", "good", "as it should be"),
        ("answer", "bad", "not as it should be"),
        ("reading", "bad", "not as it should be"),
        ("answer", "cant_tell", ""),
        ("hazard", "yes", ""),
    ],
)
def test_an_answer_says_whether_it_was_the_good_one(kind, answer, words):
    assert judged(Happening(1, 1, "2026-12-01T20:00:00", kind, "light", answer)) == words
