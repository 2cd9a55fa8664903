"""Typed lines: counts, classes and symptoms are found, doubts are handed back, nothing is dropped."""

from __future__ import annotations

import re
from collections.abc import Mapping
from contextlib import suppress

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.text import Refused
from triage.device_classes.loader import load_classes
from triage.device_classes.schema import DeviceClass
from triage.matching import TypedUnit, match_class, match_symptoms, parse_units, settle

CLASSES = load_classes()


def _one(text: str, classes: Mapping[str, DeviceClass] = CLASSES) -> TypedUnit:
    (unit,) = parse_units(text, classes)
    return unit


@pytest.mark.parametrize(
    ("line", "count", "class_id", "symptoms", "note"),
    [
        ("3 gamepads drift", 3, "gamepad", ("drift",), ""),
        ("2 disc console dead", 2, "disc_console", ("dead",), ""),
        ("2x pad", 2, "gamepad", (), ""),
        ("2 x pad dead", 2, "gamepad", ("dead",), ""),
        ("gamepads", 1, "gamepad", (), ""),
        ("5 pcs joypads trigger broken", 5, "gamepad", ("trigger",), ""),
        ("3gamepads drift", 3, "gamepad", ("drift",), ""),
        ("gamepad x2 no rumble", 2, "gamepad", ("no_rumble",), ""),
        ("a pair of controllers, sticky buttons", 2, "gamepad", ("buttons",), ""),
        ("twenty-one radios deaf", 21, "portable_radio", ("weak",), ""),
        ("twenty one radios deaf", 21, "portable_radio", ("weak",), ""),
        ("forty radios", 40, "portable_radio", (), ""),
        ("fifteen radios", 15, "portable_radio", (), ""),
        ("a dozen pads", 12, "gamepad", (), ""),
        ("a radio with no sound", 1, "portable_radio", ("no_sound",), ""),
        ("- 4 game consoles no picture tatty", 4, "disc_console", ("no_picture",), "tatty"),
        ("disk console won't read any discs, tray stuck", 1, "disc_console", ("no_read", "tray_stuck"), ""),
        ("console doesn’t turn on", 1, "disc_console", ("dead",), ""),
        ("raido crackly and no fm", 1, "portable_radio", ("crackles", "no_fm"), ""),
        ("gampad drft", 1, "gamepad", ("drift",), ""),
        ("dead transistor radio", 1, "portable_radio", ("dead",), ""),
        ("wireless pad won't charge; battery leaked", 1, "gamepad", ("no_charge", "corroded"), ""),
        ("radio, no knobs, aerial snapped", 1, "portable_radio", ("aerial",), "no knobs"),
        ("64-bit console", 1, "disc_console", (), "64-bit"),
        ("gamepad with 2 sticks, drift", 1, "gamepad", ("drift",), "with 2"),
        ("GAMEPAD DRIFT", 1, "gamepad", ("drift",), ""),
        ("3\tgamepad\tdrift", 3, "gamepad", ("drift",), ""),
    ],
)
def test_lines_as_people_type_them(line: str, count: int, class_id: str, symptoms: tuple[str, ...], note: str) -> None:
    unit = _one(line)
    assert (unit.count, unit.class_id, set(unit.symptoms), unit.note) == (count, class_id, set(symptoms), note)
    assert unit.doubt == ()


def test_model_and_note_are_taken_as_they_stand() -> None:
    unit = _one("radio crackles model RX note: no lid, 2 knobs dead")
    assert (unit.class_id, unit.symptoms, unit.model, unit.note) == (
        "portable_radio",
        ("crackles",),
        "RX",
        "no lid, 2 knobs dead",
    )
    unit = _one("2 disc console dead model: GX-200 B2 scratched NOTE: from the attic")
    assert (unit.count, unit.model, unit.note) == (2, "GX-200 B2", "scratched; from the attic")


def test_a_count_that_is_not_stated_says_so() -> None:
    assert _one("gamepads drift").count_stated is False
    assert _one("1 gamepad drift").count_stated is True


def test_several_a_line_and_many_lines() -> None:
    units = parse_units("3 gamepads drift, 2 disc console dead and 1 radio no sound\n\n  \nradio; crackles\n", CLASSES)
    found = [(unit.line, unit.count, unit.class_id, unit.symptoms) for unit in units]
    assert found == [
        (1, 3, "gamepad", ("drift",)),
        (1, 2, "disc_console", ("dead",)),
        (1, 1, "portable_radio", ("no_sound",)),
        (4, 1, "portable_radio", ("crackles",)),
    ]
    assert units[1].raw == "2 disc console dead"
    assert parse_units("", CLASSES) == parse_units(" \n--\n", CLASSES) == ()


def test_a_number_inside_an_entry_starts_no_new_one() -> None:
    assert _one("gamepad drift, 2 screws missing").note == "2 screws missing"


def test_denied_symptoms_are_not_reported() -> None:
    unit = _one("game pad not drifting, no rumble")
    assert unit.symptoms == ("no_rumble",)
    assert unit.note == "not drifting"
    assert unit.symptom_doubt == ()


def test_a_class_word_that_names_two_classes_is_asked() -> None:
    other = msgspec.structs.replace(CLASSES["disc_console"], id="cart", words=("slot console", "console"))
    classes = {**CLASSES, "cart": other}
    unit = _one("3 consoles no picture", classes)
    assert unit.class_id is None
    assert {candidate.id for candidate in unit.doubt} == {"disc_console", "cart"}
    assert (unit.count, unit.symptoms, unit.note) == (3, (), "consoles no picture")
    assert _one("3 slot consoles no picture", classes).class_id == "cart"
    settled = settle(unit, classes["cart"])
    assert (settled.count, settled.class_id, settled.symptoms, settled.note) == (3, "cart", ("no_picture",), "")
    assert settled.doubt == ()


def test_two_class_names_side_by_side_are_asked() -> None:
    unit = _one("3 console pads drift")
    assert unit.class_id is None
    assert [candidate.id for candidate in unit.doubt] == ["disc_console", "gamepad"]
    assert settle(unit, CLASSES["gamepad"]).symptoms == ("drift",)


def test_what_names_no_class_is_kept_whole() -> None:
    unit = _one("2 tape decks eat tapes note: heavy")
    assert (unit.count, unit.class_id, unit.note) == (2, None, "tape decks eat tapes; heavy")
    settled = settle(_one("2 grey boxes, no sound note: not dead yet"), CLASSES["portable_radio"])
    assert (settled.class_id, settled.symptoms, settled.note) == (
        "portable_radio",
        ("no_sound",),
        "grey boxes; not dead yet",
    )


def test_near_misses_come_back_with_scores() -> None:
    match = match_class("joyypadd", CLASSES)
    assert match.class_id is None
    assert match.doubt[0].id == "gamepad"
    assert 60 <= match.doubt[0].score < 100
    near = match_symptoms("aerilla bent", CLASSES["portable_radio"])
    assert near.symptoms == ()
    assert "aerial" in [candidate.id for candidate in near.doubt]
    assert near.note == "aerilla bent"


@pytest.mark.parametrize("count", ["0", "-2", "100", "1.5", "1,000", "99999999999999999999", "one hundred", "zero"])
def test_counts_that_are_none_name_the_line(count: str) -> None:
    with pytest.raises(Refused, match=r"^typed list:2:count: .* is no count of units; expected 1 to 99$"):
        parse_units(f"2 radios\n{count} gamepads", CLASSES)


def test_counts_behind_the_class_are_held_to_the_same() -> None:
    with pytest.raises(Refused, match=r"^lot\.txt:1:count: 200 is no count"):
        parse_units("gamepads x200 drift", CLASSES, source="lot.txt")


def test_an_endless_line_is_refused_at_its_number() -> None:
    with pytest.raises(Refused, match=r"^typed list:2: line of 100,000 characters"):
        parse_units("radio\n" + "x" * 100_000, CLASSES)


def test_hostile_text_is_cleaned_and_kept_as_plain_words() -> None:
    unit = _one("2 radios dead \x1b[31mred\x1b[0m [bold]big[/bold]\u202e \x07note: \u200bq")
    assert (unit.count, unit.class_id, unit.symptoms) == (2, "portable_radio", ("dead",))
    assert unit.note == "red [bold]big[/bold]; q"
    assert unit.raw.isprintable()


def test_every_phrase_of_every_class_is_understood() -> None:
    for each in CLASSES.values():
        for words in each.words:
            assert match_class(words, CLASSES).class_id == each.id, words
            assert match_class(f"{words}s", CLASSES).class_id == each.id, words
        for symptom in each.symptoms:
            for phrase in symptom.words:
                assert symptom.id in match_symptoms(phrase, each).symptoms, (each.id, phrase)


WORDS = st.lists(st.from_regex(r"[b-df-hj-np-tv-z]{9,12}", fullmatch=True), min_size=1, max_size=8)


@given(words=WORDS, count=st.integers(1, 99), class_id=st.sampled_from(sorted(CLASSES)), data=st.data())
@settings(max_examples=60, deadline=None)
def test_no_word_is_dropped(words: list[str], count: int, class_id: str, data: st.DataObject) -> None:
    name = data.draw(st.sampled_from(CLASSES[class_id].words))
    unit = _one(f"{count} {name} {' '.join(words)}")
    assert unit.class_id == class_id
    assert unit.count == count
    assert unit.note == " ".join(words)


@given(st.text(max_size=120))
@settings(max_examples=200, deadline=None)
def test_any_text_is_read_in_plain_words_or_refused(text: str) -> None:
    units: tuple[TypedUnit, ...] = ()
    with suppress(Refused):
        units = parse_units(text, CLASSES)
    for unit in units:
        assert 1 <= unit.count <= 99
        assert all(part.isprintable() for part in (unit.raw, unit.note, unit.model))
        assert set(re.findall(r"\w+", unit.note)) <= set(re.findall(r"\w+", unit.raw))
