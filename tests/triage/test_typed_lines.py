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
from triage.typed_entries import MOST_SIGNS
from triage.typed_lines import TypedUnit, parse_units, take_untested

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


def test_two_class_names_side_by_side_are_asked() -> None:
    unit = _one("3 console pads drift")
    assert unit.class_id is None
    assert [candidate.id for candidate in unit.doubt] == ["disc_console", "gamepad"]
    assert (unit.count, unit.note) == (3, "console pads drift")


def test_what_names_no_class_is_kept_whole() -> None:
    unit = _one("2 tape decks eat tapes note: heavy")
    assert (unit.count, unit.class_id, unit.note) == (2, None, "tape decks eat tapes; heavy")


@pytest.mark.parametrize("count", ["0", "-2", "1.5", "1,000", "zero"])
def test_counts_that_are_none_name_the_line(count: str) -> None:
    with pytest.raises(Refused, match=r"^typed list:2:count: .* is no count of units; expected 1 to 99$"):
        parse_units(f"2 radios\n{count} gamepads", CLASSES)


@pytest.mark.parametrize("count", ["100", "99999999999999999999", "one hundred"])
def test_more_than_anybody_buys_at_once_is_asked_back(count: str) -> None:
    with pytest.raises(
        Refused, match=r"^typed list:1:count: really \d+\? expected 1 to 99; type more than that in parts$"
    ):
        parse_units(f"{count} gamepads", CLASSES)


def test_counts_behind_the_class_are_held_to_the_same() -> None:
    with pytest.raises(Refused, match=r"^lot\.txt:1:count: really 200\?"):
        parse_units("gamepads x200 drift", CLASSES, source="lot.txt")


def test_an_endless_line_is_refused_at_its_number() -> None:
    with pytest.raises(Refused, match=r"^typed list:2: line of 100,000 characters"):
        parse_units("radio\n" + "x" * 100_000, CLASSES)


def test_hostile_text_is_cleaned_and_kept_as_plain_words() -> None:
    unit = _one("2 radios dead \x1b[31mred\x1b[0m [bold]big[/bold]\u202e \x07note: \u200bq")
    assert (unit.count, unit.class_id, unit.symptoms) == (2, "portable_radio", ("dead",))
    assert unit.note == "red [bold]big[/bold]; q"
    assert unit.raw.isprintable()


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
        assert set(re.findall(r"[^\W_]+", unit.note)) <= set(re.findall(r"[^\W_]+", unit.raw))


Said = tuple[int, str | None, tuple[str, ...]]


def _said(text: str) -> list[Said]:
    return [(unit.count, unit.class_id, tuple(sorted(unit.symptoms))) for unit in parse_units(text, CLASSES)]


@pytest.mark.parametrize(
    ("line", "parts"),
    [
        ("gamepads: 2 drift, 1 dead", [(2, "drift"), (1, "dead")]),
        ("3 pads (2 drift, 1 dead)", [(2, "drift"), (1, "dead")]),
        ("3 pads (2 drift, 1 dead), no rumble", [(2, "drift no_rumble"), (1, "dead no_rumble")]),
        ("5 gamepads - 2 drift, 2 sticky buttons, 1 no rumble", [(2, "drift"), (2, "buttons"), (1, "no_rumble")]),
        ("gamepads 4 drift", [(4, "drift")]),
        ("4 pads, three dead one drift", [(3, "dead"), (1, "drift")]),
        ("two pads, one with drift, one dead", [(1, "drift"), (1, "dead")]),
        ("6 pads, 2 of them dead", [(2, "dead"), (4, "")]),
        ("5 pads, 2 drift, the rest dead", [(2, "drift"), (3, "dead")]),
        ("2 pads 1 dead 1 working", [(1, "dead"), (1, "")]),
    ],
)
def test_counts_behind_a_plural_share_it_out(line: str, parts: list[tuple[int, str]]) -> None:
    assert _said(line) == [(count, "gamepad", tuple(words.split())) for count, words in parts]


@pytest.mark.parametrize(
    ("line", "units"),
    [
        ("1 handheld no sound 1 handheld dead screen", [(1, "handheld", "no_sound"), (1, "handheld", "no_screen")]),
        ("amp hums / turntable no needle", [(1, "small_amp", "hum"), (1, "turntable", "stylus")]),
        ("turntable no belt + amp no sound", [(1, "turntable", "belt"), (1, "small_amp", "no_sound")]),
        ("dead radio, crackly radio", [(1, "portable_radio", "dead"), (1, "portable_radio", "crackles")]),
        ("2 dead radios 1 humming amp", [(2, "portable_radio", "dead"), (1, "small_amp", "hum")]),
        (
            "2 dead radios, 1 dead amp, 3 drifting pads",
            [(2, "portable_radio", "dead"), (1, "small_amp", "dead"), (3, "gamepad", "drift")],
        ),
        ("dead: 2 radios, 1 amp", [(2, "portable_radio", "dead"), (1, "small_amp", "dead")]),
        ("4 cart consoles: 3 blink 1 dead", [(3, "cart_console", "no_start"), (1, "cart_console", "dead")]),
        ("cd players: 2 skip, 1 wont read", [(2, "disc_music_player", "skips"), (1, "disc_music_player", "no_read")]),
        (
            "personal stereo belt gone, 2x tape recorder dead",
            [(1, "cassette_player", "not_turning"), (2, "cassette_player", "dead")],
        ),
        ("lot of 10 pads", [(10, "gamepad", "")]),
        ("box of 4 radios dead", [(4, "portable_radio", "dead")]),
        ("amps (3) hum", [(3, "small_amp", "hum")]),
        ("gamepad (x2) drift", [(2, "gamepad", "drift")]),
        ("gamepads 4", [(4, "gamepad", "")]),
        ("boombox tape dead / radio weak", [(1, "radio_cassette", "no_stations no_tape")]),
        ("disc console, pad port broken", [(1, "disc_console", "pads_dead")]),
        ("2 cd players drawer stuck / no disc", [(2, "disc_music_player", "no_read tray_stuck")]),
        ("amp 2 × 30 W one side dead", [(1, "small_amp", "one_side")]),
        ("radio (crackles)", [(1, "portable_radio", "crackles")]),
    ],
)
def test_entries_of_one_line(line: str, units: list[tuple[int, str, str]]) -> None:
    assert _said(line) == [(count, class_id, tuple(words.split())) for count, class_id, words in units]


def test_a_thing_of_no_known_class_behind_a_slash_is_an_entry_to_be_asked_about() -> None:
    amp, deck = parse_units("amp hums / cassette deck eats tape", CLASSES)
    assert (amp.class_id, amp.note) == ("small_amp", "")
    assert (deck.class_id, deck.note) == (None, "cassette deck eats tape")
    assert "cassette_player" in [candidate.id for candidate in deck.doubt]


@pytest.mark.parametrize(
    ("line", "count", "note", "ask"),
    [
        ("radios", 1, "", "how many? 1 is taken"),
        ("a few gamepads drift", 1, "a few", "how many? 1 is taken"),
        ("bag of pads", 1, "bag of", "how many? 1 is taken"),
        ("3 gamepads drift x2", 3, "x2", "3 or 2 of them? 3 is taken"),
        (
            "pads x2 with controller",
            2,
            "with controller",
            "is “controller” one more unit? then put its count before it",
        ),
        ("2 handhelds: lines; dead", 2, "", "has each of the 2 all of this? else say 1 lines, 1 dead"),
        ("1 handheld no sound and 1 dead screen", 1, "1", "is “1 dead …” one more unit? then name its class too"),
        ("2 radios dead", 2, "", ""),
        ("radio, dead, 2 knobs missing", 1, "2 knobs missing", ""),
    ],
)
def test_what_is_in_doubt_is_asked_and_kept(line: str, count: int, note: str, ask: str) -> None:
    unit = _one(line)
    assert (unit.count, unit.ask) == (count, ask)
    assert not note or unit.note == note


def test_the_units_nothing_is_said_of_are_asked_about() -> None:
    dead, rest = parse_units("4 radios, 1 dead", CLASSES)
    assert (dead.count, rest.count) == (1, 3)
    assert rest.ask == "nothing is said of these: right?"


def test_parts_that_are_more_than_the_whole_are_refused() -> None:
    with pytest.raises(Refused, match=r"^typed list:1:count: 2 in all, but 3 in parts; which is it\?$"):
        parse_units("2 gamepads, 3 drift", CLASSES)


@pytest.mark.parametrize(
    "line", ["4 radios all untested", "box of 4 radios untested", "4 radios (not tested)", "4 radios sold as untested"]
)
def test_untested_is_how_they_were_bought(line: str) -> None:
    unit = _one(line)
    assert (unit.count, unit.class_id, unit.sold_as, unit.note) == (4, "portable_radio", "untested", "")
    assert _one("4 radios dead").sold_as is None
    assert [unit.sold_as for unit in parse_units("radios: 1 dead, 2 untested", CLASSES)] == [None, "untested"]
    assert take_untested("dead, untested") == ("dead", True)


def test_a_line_of_endless_entries_is_refused() -> None:
    with pytest.raises(Refused, match=r"^typed list:1: too much for one line"):
        parse_units("radio dead, " * (MOST_SIGNS + 2), CLASSES)


@given(
    counts=st.lists(st.integers(1, 9), min_size=1, max_size=5),
    class_id=st.sampled_from(sorted(CLASSES)),
    data=st.data(),
)
@settings(max_examples=60, deadline=None)
def test_parts_of_any_class_are_all_there(counts: list[int], class_id: str, data: st.DataObject) -> None:
    name = data.draw(st.sampled_from(CLASSES[class_id].words))
    seen = data.draw(st.lists(st.sampled_from(CLASSES[class_id].symptoms), min_size=len(counts), max_size=len(counts)))
    parts = ", ".join(f"{count} {symptom.words[0]}" for count, symptom in zip(counts, seen, strict=True))
    units = parse_units(f"{name}s: {parts}", CLASSES)
    assert [unit.count for unit in units] == counts
    assert all(unit.class_id == class_id for unit in units)
    assert all(symptom.id in unit.symptoms for unit, symptom in zip(units, seen, strict=True))


def test_a_part_of_a_line_that_counts_too_many_is_asked():
    with pytest.raises(Refused, match="100"):
        parse_units("gamepads: 2 drift, 100 dead", CLASSES)
