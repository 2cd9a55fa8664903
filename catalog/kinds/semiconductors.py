"""Diodes, transistors and linear regulators."""

from __future__ import annotations

from catalog.kinds.family import Defaults, Family
from catalog.rules import MEMORY, AtLeast, Equal, Grade, Ladder, Present, Ratio, Rule, Special, Window

RECOVERY = ("standard", "fast", "ultrafast", "schottky")
PACKAGES = ("SOT-23", "SOT-89", "TO-92", "SOT-223", "TO-252", "TO-126", "TO-263", "TO-220", "TO-247", "TO-3")
"""Regulator bodies by the heat they shed, least first; from memory."""
_ZENER = ("zener_voltage",)
_PINS = "Cross the leads to the order of the original and insulate them"

DIODE = Family(
    "diode",
    (
        Rule(
            id="DI1",
            attributes=("reverse_voltage",),
            test=AtLeast(Grade.REFUSE),
            must_know=True,
            locked=True,
            not_if=_ZENER,
            why="it breaks down in reverse",
        ),
        Rule(
            id="DI2",
            attributes=("current",),
            test=AtLeast(Grade.REFUSE),
            must_know=True,
            locked=True,
            not_if=_ZENER,
            why="it overheats",
        ),
        Rule(
            id="DI3",
            attributes=("recovery",),
            test=Ladder(RECOVERY, below=Grade.REFUSE),
            locked=True,
            why="an ordinary rectifier in a switching place overheats and can burst",
            source="a rectifier maker's note",
        ),
        Rule(
            id="DI4",
            attributes=("recovery",),
            test=Special("schottky_for_silicon", figures={"volts": 60}),
            why="a Schottky diode leaks, more so when hot",
            tell="A Schottky diode replaces a silicon one",
        ),
        Rule(
            id="DI5",
            attributes=("material",),
            test=Special("germanium_diode"),
            why="0.3 V against 0.6 V decides in a detector or clamp",
        ),
        Rule(
            id="DI6",
            attributes=("zener_voltage",),
            test=Equal(Grade.REFUSE, percent=2),
            must_know=True,
            locked=True,
            only_if=_ZENER,
            why="5.1 V is not 5.6 V",
        ),
        Rule(
            id="DI7",
            attributes=("power",),
            test=AtLeast(Grade.REFUSE),
            must_know=True,
            locked=True,
            only_if=_ZENER,
            why="it overheats",
        ),
        Rule(
            id="DI8",
            attributes=("bridge",),
            test=Present(broken=Grade.REFUSE, extra=Grade.REFUSE),
            why="a bridge is four diodes, and one is not",
        ),
        Rule(
            id="DI8",
            attributes=("package", "pin_order"),
            test=Equal(Grade.REWORK),
            why="+ ~ ~ − and + ~ + − bridges, and other bodies, meet other holes",
            do=_PINS,
        ),
        Rule(
            id="DI9",
            attributes=("surge_current",),
            test=AtLeast(Grade.COMPROMISE),
            why="a big reservoir draws a surge at switch-on",
            tell="The rectifier fitted stands a smaller surge",
        ),
    ),
    place=("hot",),
    rework=Defaults(5, 0.02, 0.0),
    compromise=Defaults(0, 0.05, 0.0),
)

TRANSISTOR = Family(
    "transistor",
    (
        Rule(
            id="TR1",
            attributes=("polarity",),
            test=Equal(Grade.REFUSE),
            must_know=True,
            locked=True,
            why="type and polarity decide the circuit",
        ),
        Rule(
            id="TR1",
            attributes=("material",),
            test=Equal(Grade.REFUSE),
            assume="silicon",
            locked=True,
            why="germanium and silicon need another bias",
        ),
        Rule(
            id="TR2",
            attributes=("voltage",),
            test=AtLeast(Grade.REFUSE),
            must_know=True,
            locked=True,
            why="it breaks down",
        ),
        Rule(
            id="TR3",
            attributes=("current",),
            test=AtLeast(Grade.REFUSE),
            must_know=True,
            locked=True,
            why="beyond its rating gain falls and the die fails",
        ),
        Rule(id="TR4", attributes=("power",), test=AtLeast(Grade.REFUSE), locked=True, why="it overheats"),
        Rule(
            id="TR5",
            attributes=("gain",),
            test=Ratio((Window(0.5, 2, Grade.DROP_IN),), otherwise=Grade.COMPROMISE),
            why="gain sets bias and level",
            tell="A transistor of another gain is fitted",
        ),
        Rule(
            id="TR6",
            attributes=("transition_frequency",),
            test=AtLeast(Grade.COMPROMISE),
            why="a slower part loses high frequencies",
            tell="A slower transistor is fitted",
        ),
        Rule(
            id="TR7",
            attributes=("pin_order",),
            test=Special("transistor_pins"),
            why="2SC and 2SA are mostly E-C-B, 2N E-B-C, BC5xx C-B-E, flat side towards you",
            do=_PINS,
        ),
        Rule(
            id="TR8",
            attributes=("package",),
            test=Equal(Grade.REWORK),
            why="another body meets other holes or heat sink",
            do="Fit an insulator, check the tab with a meter",
        ),
        Rule(
            id="TR8",
            attributes=("isolated_tab",),
            test=Present(broken=Grade.REWORK, extra=Grade.REWORK),
            why="the tab may be live",
            do="Fit an insulator, check the tab with a meter",
        ),
        Rule(
            id="TR9",
            attributes=("bias_resistors",),
            test=Equal(Grade.REFUSE),
            must_know=True,
            only_if=("bias_resistors",),
            why="the resistors inside are part of the circuit",
        ),
        Rule(
            id="TR9",
            attributes=("bias_resistors",),
            test=Present(extra=Grade.REFUSE),
            why="the resistors inside are part of the circuit",
        ),
        Rule(
            id="TR10",
            attributes=("matched",),
            test=Present(broken=Grade.COMPROMISE),
            why="one of a matched or complementary pair drifts away from the other",
            do="Replace both of the pair",
            tell="One of a matched pair was replaced",
        ),
        Rule(
            id="TR11",
            attributes=("idss_class",),
            test=Special("idss"),
            must_know=True,
            when={"polarity": ("jfet", "njf", "pjf", "n-jfet", "p-jfet", "jfet-n", "jfet-p")},
            why="the current class sets the bias",
        ),
    ),
    rework=Defaults(5, 0.03, 0.0),
    compromise=Defaults(10, 0.05, 0.02),
)

REGULATOR = Family(
    "regulator",
    (
        Rule(
            id="RG1",
            attributes=("polarity",),
            test=Special("regulator_polarity"),
            locked=True,
            why="a regulator of the other polarity shorts the supply",
        ),
        Rule(
            id="RG1",
            attributes=("output_voltage", "output_voltage_max", "adjustable"),
            test=Special("regulated_volts", figures={"percent": 2}),
            must_know=True,
            locked=True,
            why="output volts and polarity within 2 %",
        ),
        Rule(
            id="RG2",
            attributes=("current",),
            test=AtLeast(Grade.REFUSE),
            must_know=True,
            locked=True,
            why="it limits or overheats",
        ),
        Rule(
            id="RG3",
            attributes=("input_voltage",),
            test=AtLeast(Grade.REFUSE),
            locked=True,
            why="the raw supply exceeds it",
        ),
        Rule(
            id="RG4",
            attributes=("dropout", "headroom"),
            test=Special("dropout"),
            locked=True,
            why="without headroom it does not regulate; 78xx needs 2 V",
            source="maker family data for 78xx",
        ),
        Rule(
            id="RG5",
            attributes=("ldo", "output_capacitor"),
            test=Special("ldo_for_standard"),
            why="old low-dropout parts want a certain series resistance and may ring with a ceramic",
            do="Fit the output capacitor the data sheet asks for",
        ),
        Rule(
            id="RG6",
            attributes=("pin_order",),
            test=Equal(Grade.REWORK),
            must_know=True,
            why="78xx IN-GND-OUT, 79xx GND-IN-OUT, LM317 ADJ-OUT-IN, 78Lxx OUT-GND-IN",
            source=MEMORY,
            do=_PINS,
        ),
        Rule(
            id="RG7",
            attributes=("package",),
            test=Ladder(PACKAGES, below=Grade.COMPROMISE, above=Grade.REWORK),
            why="a smaller body sheds less heat, a bigger one needs room",
            do="Make room or bolt to the heat sink with short wires",
            tell="The regulator fitted runs hotter",
        ),
        Rule(
            id="RG8",
            attributes=("adjustable",),
            test=Present(extra=Grade.REWORK),
            why="an adjustable part needs two resistors",
            do="Add the two resistors that set the output; measure before connecting the load",
        ),
        Rule(
            id="RG9",
            attributes=("switching",),
            test=Present(broken=Grade.DROP_IN, extra=Grade.COMPROMISE),
            why="a switching module adds noise",
            tell="A switching module replaces a linear regulator",
        ),
    ),
    place=("headroom",),
    rework=Defaults(5, 0.03, 0.0),
    compromise=Defaults(5, 0.05, 0.03),
)
