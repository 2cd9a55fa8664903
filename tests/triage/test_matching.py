"""Words of people to classes and symptoms: slips of the finger pass, near misses come back to be asked."""

from __future__ import annotations

from triage.device_classes.loader import load_classes
from triage.matching import match_class, match_symptoms

CLASSES = load_classes()


def test_near_misses_come_back_with_scores() -> None:
    match = match_class("joyypadd", CLASSES)
    assert match.class_id is None
    assert match.doubt[0].id == "gamepad"
    assert 60 <= match.doubt[0].score < 100
    near = match_symptoms("aerilla bent", CLASSES["portable_radio"])
    assert near.symptoms == ()
    assert "aerial" in [candidate.id for candidate in near.doubt]
    assert near.note == "aerilla bent"


def test_every_phrase_of_every_class_is_understood() -> None:
    for each in CLASSES.values():
        for words in each.words:
            assert match_class(words, CLASSES).class_id == each.id, words
            assert match_class(f"{words}s", CLASSES).class_id == each.id, words
        for symptom in each.symptoms:
            for phrase in symptom.words:
                assert symptom.id in match_symptoms(phrase, each).symptoms, (each.id, phrase)


def test_a_word_set_off_by_a_sign_is_no_rival_of_the_name_before_it() -> None:
    assert match_class("boombox, radio crackles", CLASSES).class_id == "radio_cassette"
    assert match_class("boombox radio crackles", CLASSES).class_id is None


def test_a_device_of_another_kind_that_shares_a_word_is_asked_about() -> None:
    classes = load_classes()
    for text in ("reel to reel tape recorder, dead", "Reel-to-reel recorder", "8 track tape player", "video recorder"):
        assert match_class(text, classes).class_id is None, text
    assert match_class("reel to reel tape recorder", classes).doubt[0].id == "cassette_player"
    assert match_class("tape recorder, dead", classes).class_id == "cassette_player"
    assert match_class("cassette player, wire broken", classes).class_id == "cassette_player"
