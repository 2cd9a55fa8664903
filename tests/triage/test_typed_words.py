"""What people type of each class, with the symptom meant, written by hand before the program saw it.

Most are false friends: a word that looks like one of a symptom and is another word, or a part that is said to be well.
"""

from __future__ import annotations

import pytest

from triage.device_classes.loader import load_classes
from triage.typed_lines import parse_units

CLASSES = load_classes()

TYPED = {
    "disc_console": [
        ("disc console, drawer won't open", {"tray_stuck"}),
        ("disc console dead, read the label", {"dead"}),
        ("disc console won't read discs", {"no_read"}),
        ("disc console, switch off works", set()),
        ("disc console, tray ok, no picture", {"no_picture"}),
        ("disc console skips, good deal", {"no_read"}),
        ("disc console, fan is fine, clicks", {"grinding"}),
        ("disc console, needs new clock battery", {"clock_lost"}),
        ("disc console quite dusty", {"fan_noise"}),
        ("disc console trips the breaker", {"blows_fuse"}),
    ],
    "cart_console": [
        ("cartridge console slow", set()),
        ("cartridge console shows title then hangs", set()),
        ("cartridge console quite dirty", set()),
        ("cartridge console, switch stays off", set()),
        ("cartridge console snowy picture", {"no_picture"}),
        ("cartridge console, slot dirty", {"slot"}),
        ("cartridge console, black screen and buzz", {"no_picture", "bars"}),
        ("cartridge console needs blowing", {"no_start"}),
        ("cartridge console, power comes and goes", {"cuts_out"}),
    ],
    "handheld": [
        ("handheld, switched off all year", set()),
        ("handheld goes on and off", {"cuts_out"}),
        ("handheld, paint worn off", set()),
        ("handheld, battery cover broke off", set()),
        ("handheld quite scratched", {"scratched"}),
        ("handheld, lines on screen", {"lines"}),
        ("handheld, dim screen and no sound", {"faded", "no_sound"}),
        ("handheld eats batteries", {"short_life"}),
        ("handheld, likes new", set()),
        ("handheld, speaker fine, buttons stick", {"buttons"}),
    ],
    "gamepad": [
        ("gamepad should work", set()),
        ("gamepad, old stock", set()),
        ("gamepad, rubber off", set()),
        ("gamepad comes on then off", set()),
        ("gamepad, stick ok, trigger stuck", {"trigger"}),
        ("gamepad, drfit", {"drift"}),
        ("gamepad drives me mad, drift", {"drift"}),
        ("gamepad lags behind", {"lag"}),
        ("gamepad won't hold charge", {"no_charge"}),
        ("gamepad, flat battery", {"no_charge"}),
        ("gamepad, cable good, dead", {"dead"}),
        ("gamepad with sticker", set()),
    ],
    "cassette_player": [
        ("cassette player, bent door", {"door"}),
        ("cassette player, clip bent", set()),
        ("cassette player, belt new, eats tapes", {"eats_tapes"}),
        ("cassette player rewinds fast enough", set()),
        ("cassette player slow", {"wrong_speed"}),
        ("cassette player, volume scratchy", {"crackles"}),
        ("cassette player, knob off", set()),
        ("cassette player full of dust", set()),
        ("cassette player, left dead", {"one_side"}),
        ("cassette player works, tested last week", set()),
    ],
    "radio_cassette": [
        ("boombox, now works", set()),
        ("boombox wow and flutter", {"wrong_speed"}),
        ("boombox, slot of dust", set()),
        ("boombox, aerial fine, tape eats tapes", {"no_tape"}),
        ("boombox, door hangs off", {"door"}),
        ("boombox, door ok, hum", {"hum"}),
        ("boombox, handle bent", set()),
        ("boombox, last owner was deaf", set()),
        ("boombox, left speaker rattles", {"speaker"}),
    ],
    "portable_radio": [
        ("radio bought last week", set()),
        ("radio, switch off", set()),
        ("radio, knob fell off", set()),
        ("radio, back off", set()),
        ("radio on and off", {"intermittent"}),
        ("radio on & off", {"intermittent"}),
        ("radio from a station kiosk", set()),
        ("radio really nice", set()),
        ("radio, quite weak", {"weak"}),
        ("radio deaf on mw", {"weak"}),
        ("radio, good sound but aerial snapped", {"aerial"}),
        ("radio mute", {"no_sound"}),
        ("radio, hissing only", {"no_stations"}),
        ("radio, dead, good case", {"dead"}),
        ("radio, case cracked", set()),
        ("radio, tried it, solder joint loose", set()),
    ],
    "small_amp": [
        ("amp really quiet, one channel", {"one_side"}),
        ("amp, knob off", set()),
        ("amp, stock condition, hum", {"hum"}),
        ("amp, scratchy pots", {"crackles"}),
        ("amp cuts out when hot", {"hot"}),
        ("amp, relay ok, protection", {"protection"}),
        ("amp, left channel dead", {"one_side"}),
        ("amp, dial lamp out", {"lamps"}),
        ("amp, lid off", set()),
    ],
    "disc_music_player": [
        ("cd player, clock lost", set()),
        ("cd player, terror of a thing", set()),
        ("cd player skips", {"skips"}),
        ("cd player ships with remote", set()),
        ("cd player, trays fine, no disc", {"no_read"}),
        ("cd player, old stock", set()),
        ("cd player, display dim", {"display"}),
        ("cd player, tried it, won't open", {"tray_stuck"}),
        ("cd player, lid off", set()),
        ("cd player, bumps when it closes", set()),
    ],
    "turntable": [
        ("turntable, arm bent", set()),
        ("turntable, belt fine, hums", {"hum"}),
        ("turntable, needle bent", {"stylus"}),
        ("turntable, needed by my gran", set()),
        ("turntable runs fast", {"wrong_speed"}),
        ("turntable needs a clean", set()),
        ("turntable, feel free to ask", set()),
        ("turntable, dust cover off", set()),
        ("turntable lead cut off", {"leads"}),
        ("turntable, motor noisy", {"motor_noise"}),
        ("turntable, arm won't return", {"automatic"}),
        ("turntable, stylus good, one channel", {"one_side"}),
    ],
}


@pytest.mark.parametrize(
    ("class_id", "line", "expected"),
    [(class_id, line, expected) for class_id, lines in TYPED.items() for line, expected in lines],
)
def test_words_are_taken_for_what_is_meant(class_id, line, expected):
    (unit,) = parse_units(line, CLASSES)
    assert (unit.class_id, set(unit.symptoms)) == (class_id, expected)


def test_the_table_holds_enough_and_every_class():
    assert TYPED.keys() == CLASSES.keys()
    assert sum(map(len, TYPED.values())) >= 80
