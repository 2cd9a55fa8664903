"""Parts matched by their full number, or by the person's own list of pairs; for some, what the trade asks besides.

Relays, lamps, light-emitting diodes, rollers, stick modules, styluses and battery holders have rules of the trade: they
can refuse, and where all that must match is stated on both sides and met they stand for the number. Everything else
goes by its number only.
"""

from __future__ import annotations

from collections.abc import Mapping

from catalog.kinds.family import Defaults, Family
from catalog.rules import AtLeast, Equal, Grade, Ladder, Present, Ratio, Rule, Special, Step, Window

RULE = Rule(
    id="LI1",
    attributes=("part_number", "what"),
    test=Special("part_number"),
    must_know=True,
    why="nothing but the full number, or the person's own list, says that such a part fits",
)
BY_NUMBER = ("inductor", "ferrite", "thermistor", "wire")
"""Kinds whose descriptions are read but which are judged by number."""
MUST_MATCH: Mapping[str, tuple[str, ...]] = {
    "relay": ("coil_voltage", "coil_current", "contact_current", "poles", "throws", "footprint"),
    "lamp": ("voltage", "current"),
    "led": ("colour", "diameter", "voltage"),
    "roller": ("diameter", "bore", "width"),
    "stick-module": ("family", "height", "footprint", "resistance"),
    "stylus": ("family", "tip"),
}
"""What such a part is, to what must be stated on both sides before the rules of the trade stand for its number."""

_RELAY, _LAMP, _LED, _ROLLER = ({"what": (name,)} for name in ("relay", "lamp", "led", "roller"))
_STICK, _STYLUS, _HOLDER = ({"what": (name,)} for name in ("stick-module", "stylus", "battery-holder"))

TRADE = (
    Rule(
        id="RY1",
        attributes=("coil_voltage",),
        test=Ratio((Window(0.9, 1.1, Grade.COMPROMISE),)),
        vouched=True,
        when=_RELAY,
        locked=True,
        why="a coil more than 10 % off does not pull in, or burns",
        tell="A relay with another coil voltage is fitted",
    ),
    Rule(
        id="RY1",
        attributes=("coil_current",),
        test=Equal(Grade.REFUSE),
        vouched=True,
        when=_RELAY,
        locked=True,
        why="a coil for alternating current burns on direct current, and hums the other way round",
    ),
    Rule(
        id="RY2",
        attributes=("contact_current", "voltage_ac", "voltage_dc"),
        test=AtLeast(Grade.REFUSE),
        vouched=True,
        when=_RELAY,
        locked=True,
        why="contacts that are too weak burn or weld",
    ),
    Rule(
        id="RY3",
        attributes=("poles", "throws"),
        test=Equal(Grade.REFUSE),
        vouched=True,
        when=_RELAY,
        why="the set of contacts must be the same",
    ),
    Rule(
        id="RY4",
        attributes=("footprint",),
        test=Equal(Grade.REFUSE),
        vouched=True,
        when=_RELAY,
        why="the pins must come out in the same places",
    ),
    Rule(
        id="LP1",
        attributes=("voltage",),
        test=Equal(Grade.REFUSE),
        vouched=True,
        when=_LAMP,
        locked=True,
        why="another voltage burns out or stays dark",
    ),
    Rule(
        id="LP2",
        attributes=("current",),
        test=Special("lamp_current", (Window(0.8, 1.2, Grade.DROP_IN),)),
        vouched=True,
        when=_LAMP,
        locked=True,
        why="more current is more heat behind plastic; less is too dim",
    ),
    Rule(
        id="LP3",
        attributes=("power",),
        test=Ratio((Window(0.8, 1, Grade.DROP_IN),)),
        vouched=True,
        when=_LAMP,
        locked=True,
        why="more watts melt the plastic around the lamp",
    ),
    Rule(
        id="LP4",
        attributes=("led",),
        test=Present(broken=Grade.REFUSE, extra=Grade.COMPROMISE),
        vouched=True,
        when=_LAMP,
        why="a light-emitting diode needs its resistor and has another colour",
        do="Fit a series resistor for the diode and mind its polarity",
        tell="A light-emitting diode stands in for the lamp",
    ),
    Rule(
        id="LP5",
        attributes=("footprint",),
        test=Equal(Grade.REFUSE),
        vouched=True,
        when=_LAMP,
        why="another cap does not go into the holder",
    ),
    Rule(
        id="LD1",
        attributes=("colour",),
        test=Equal(Grade.REFUSE),
        vouched=True,
        when=_LED,
        why="another colour is another light, and another voltage",
    ),
    Rule(
        id="LD2",
        attributes=("diameter",),
        test=Equal(Grade.REFUSE),
        vouched=True,
        when=_LED,
        why="another body does not go into the panel",
    ),
    Rule(
        id="LD3",
        attributes=("voltage",),
        test=Ratio((Window(0.85, 1.15, Grade.DROP_IN),)),
        vouched=True,
        when=_LED,
        locked=True,
        why="the series resistor is made for its volts; one with a resistor inside has others",
    ),
    Rule(
        id="LD4",
        attributes=("current", "power"),
        test=AtLeast(Grade.REFUSE),
        vouched=True,
        when=_LED,
        locked=True,
        why="what drives it burns it out",
    ),
    Rule(
        id="RO1",
        attributes=("diameter",),
        test=Equal(Grade.REFUSE, near=(Step(0.1, Grade.DROP_IN),)),
        vouched=True,
        when=_ROLLER,
        why="another diameter changes the speed or the pressure",
    ),
    Rule(
        id="RO2",
        attributes=("bore", "width"),
        test=Equal(Grade.REFUSE),
        vouched=True,
        when=_ROLLER,
        why="it must turn on its axle and guide the full width",
    ),
    Rule(
        id="SK1",
        attributes=("family", "footprint"),
        test=Equal(Grade.REFUSE),
        vouched=True,
        when=_STICK,
        why="another family or another order of the pins does not work",
    ),
    Rule(
        id="SK2",
        attributes=("height",),
        test=Equal(Grade.REFUSE),
        vouched=True,
        when=_STICK,
        why="the cap must sit at the same height",
    ),
    Rule(
        id="SK3",
        attributes=("resistance",),
        test=Ratio((Window(0.8, 1.2, Grade.DROP_IN),)),
        vouched=True,
        when=_STICK,
        why="the host reads the resistance as the position",
    ),
    Rule(
        id="SK4",
        attributes=("magnetic",),
        test=Present(broken=Grade.COMPROMISE, extra=Grade.COMPROMISE),
        vouched=True,
        when=_STICK,
        why="the other sort works only where the host can be calibrated",
        do="Calibrate the host, and look whether the middle stays",
        tell="A stick module of the other sort is fitted",
    ),
    Rule(
        id="ST1",
        attributes=("family",),
        test=Equal(Grade.REFUSE),
        vouched=True,
        when=_STYLUS,
        why="a stylus belongs to its family of cartridges; the shape alone says nothing",
    ),
    Rule(
        id="ST2",
        attributes=("tip",),
        test=Ladder(("conical", "elliptical"), below=Grade.COMPROMISE),
        vouched=True,
        when=_STYLUS,
        why="a conical tip reads the highs less well",
        tell="A stylus with a simpler tip is fitted",
    ),
    Rule(
        id="BH1",
        attributes=("cell", "cells"),
        test=Equal(Grade.REFUSE),
        vouched=True,
        when=_HOLDER,
        why="other cells do not go in, and another number of them gives other volts",
    ),
)

FAMILY = Family(
    "listed",
    (RULE, *TRADE),
    rework=Defaults(10, 0.05, 0.02),
    compromise=Defaults(5, 0.08, 0.05),
)
