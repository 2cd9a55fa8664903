"""Danger that was typed of a unit: its question comes before everything else, and only the person answers it."""

from __future__ import annotations

from datetime import date

import pytest

from catalog.text import Refused
from triage import store
from triage.actions import looks, lot_view, lots, unit_view, units
from triage.bench_file import BenchFile
from triage.device_classes.loader import load_classes
from triage.typed_hazards import hazards_named

CLASSES = load_classes()


@pytest.fixture
def bench(tmp_path):
    with BenchFile(tmp_path / "bench.db", today=date(2026, 12, 1)) as opened:
        lots.new_lot(opened, "box")
        yield opened


@pytest.mark.parametrize(
    ("class_id", "typed", "expected"),
    [
        ("small_amp", "valve amp hums, got a shock off it", ("live_chassis",)),
        ("small_amp", "tube amp, one tube is broken", ("live_chassis",)),
        ("small_amp", "it gave me a tingle", ("live_chassis",)),
        ("small_amp", "smoked when switched on", ("unsafe_supply",)),
        ("small_amp", "smells of burning", ("unsafe_supply",)),
        ("small_amp", "mains cord had been cut off", ("unsafe_supply",)),
        ("small_amp", "the plug was scorched", ("unsafe_supply",)),
        ("small_amp", "capacitor is cracked", ("cracked_cap",)),
        ("small_amp", "got a shok", ("live_chassis",)),
        ("small_amp", "no smoke", ()),
        ("small_amp", "no shock, no sparks", ()),
        ("small_amp", "hums, stock condition", ()),
        ("small_amp", "no sound, plug fine", ()),
        ("small_amp", "one channel dead, needs cleaning", ()),
        ("turntable", "flex is chewed", ("unsafe_supply",)),
        ("turntable", "old valve one, hum", ("live_chassis",)),
        ("turntable", "lead with bare wires", ("unsafe_supply",)),
        ("portable_radio", "valve radio, got a shock", ("live_chassis",)),
        ("portable_radio", "battery leaked", ("leaked_cells",)),
        ("portable_radio", "smoke came out", ("mains_inside",)),
        ("portable_radio", "won't tune", ()),
        ("radio_cassette", "got an electric shock from it", ("unsafe_supply",)),
        ("radio_cassette", "leaking cells, lead frayed", ("leaked_cells", "unsafe_supply")),
        ("disc_console", "burning smell", ("unsafe_supply",)),
        ("disc_console", "I got a shock from the case", ("unsafe_supply",)),
        ("disc_console", "no plug", ("unsafe_supply",)),
        ("disc_console", "lens cracked", ("bare_laser",)),
        ("disc_music_player", "battery swollen", ("swollen_pack",)),
        ("disc_music_player", "lead cut", ("unsafe_supply",)),
        ("cart_console", "adaptor cable melted", ("unsafe_supply",)),
        ("gamepad", "swollen battery", ("swollen_pack",)),
        ("gamepad", "pack is bulging", ("swollen_pack",)),
        ("gamepad", "smoke from the pad", ("swollen_pack",)),
        ("gamepad", "cell leaking", ("leaked_cells",)),
        ("gamepad", "cable cut", ()),
        ("gamepad", "not swollen", ()),
        ("handheld", "battery puffed up", ("swollen_pack",)),
        ("handheld", "crust in the battery bay", ("leaked_cells",)),
        ("cassette_player", "leaky battery", ("leaked_cells",)),
        ("cassette_player", "burst battery", ("swollen_pack",)),
    ],
)
def test_words_of_danger_name_the_hazard_that_they_speak_of(class_id, typed, expected):
    assert hazards_named(CLASSES[class_id], (typed,)) == expected


def test_what_was_typed_is_asked_first_and_not_answered(bench):
    (amp,) = units.add_units(bench, "valve amp no sound, got a shock").units
    view = unit_view.unit_view(bench, amp.number)
    assert view.ask_first.id == "live_chassis"
    assert view.typed_of == {"live_chassis"}
    assert store.happenings(bench.database, amp.number) == []
    assert lot_view.lot_view(bench).rows[0].next_step == view.ask_first.question
    for answered in ("mains_inside", "stored_charge", "unsafe_supply"):
        looks.hazard(bench, amp.number, answered, "no")
    assert unit_view.unit_view(bench, amp.number).ask_first.id == "live_chassis"
    looks.hazard(bench, amp.number, "live_chassis", "no")
    after = unit_view.unit_view(bench, amp.number)
    assert after.ask_first is None
    assert after.action == "check"


@pytest.mark.parametrize("class_id", list(CLASSES))
def test_a_danger_of_every_class_can_be_typed(bench, class_id):
    """By a note of the list, by one kept later on the Bench, and by a changed note."""
    hazard, words = next(
        (hazard.id, words)
        for hazard in CLASSES[class_id].hazards
        for words in ("swollen battery", "got a shock")
        if hazard.id in hazards_named(CLASSES[class_id], (words,))
    )
    name = CLASSES[class_id].words[0]
    listed, kept, changed = units.add_units(bench, f"1 {name} note: {words}\n2 {name} dead").units
    looks.note(bench, kept.number, words)
    units.change_unit(bench, changed.number, note=words)
    for unit in (listed, kept, changed):
        assert unit_view.unit_view(bench, unit.number).ask_first.id == hazard


def test_what_shows_only_inside_is_asked_where_it_was_typed_of(bench):
    (amp,) = units.add_units(bench, "amp dead, capacitor cracked").units
    for hazard in CLASSES["small_amp"].hazards:
        if hazard.id != "cracked_cap":
            looks.hazard(bench, amp.number, hazard.id, "no")
    assert unit_view.unit_view(bench, amp.number).ask_first.id == "cracked_cap"
    with pytest.raises(Refused, match=r"say first: .*capacitor"):
        looks.answer(bench, amp.number, "light", "n")
