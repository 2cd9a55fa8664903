"""Cells and batteries."""

from __future__ import annotations

from catalog.kinds.family import Defaults, Family
from catalog.rules import AtLeast, Equal, Grade, Present, Rule, Special

_PLUGS = ("plug", "wires+plug")

FAMILY = Family(
    "battery",
    (
        Rule(
            id="BA1",
            attributes=("rechargeable", "chemistry", "charging_circuit"),
            test=Special("charge_system"),
            must_know=True,
            locked=True,
            why="a charging circuit bursts a primary cell, and each rechargeable system has its own charge voltage",
            source="makers' designer's guides for coin cells, UL conditions",
            tell="Cells of another system are fitted",
        ),
        Rule(
            id="BA1",
            attributes=("protected",),
            test=Present(broken=Grade.REFUSE),
            locked=True,
            why="a lithium cell without its protection board must not replace one that has it",
        ),
        Rule(
            id="BA2",
            attributes=("rechargeable", "voltage"),
            test=Special(
                "rechargeable_for_primary",
                figures={"nickel_volts": 1.2, "primary_volts": 1.5, "nickel_percent": 1, "volts": 0.1},
            ),
            locked=True,
            why="less capacity, more self-discharge, and nothing charges it; 3.6 V is too much for a 3 V place",
            tell="A rechargeable cell stands in for a primary one",
        ),
        Rule(
            id="BA3",
            attributes=("voltage",),
            test=Special("cell_volts", figures={"volts": 0.1, "listed_volts_a_cell": 0.15, "cell_volts": 1.5}),
            must_know=True,
            locked=True,
            why="within 0.1 V: 1.5 V alkaline for 1.35 V mercury is too much",
        ),
        Rule(
            id="BA4",
            attributes=("diameter", "height"),
            test=Special("cell_size"),
            must_know=True,
            why="too thin loses contact, too thick presses the wrong way",
            source="IEC round cell sizes as tabulated in a handbook of batteries",
            do="Pack or re-seat the cell so that it cannot move",
            tell="A thinner cell is fitted",
        ),
        Rule(
            id="BA5",
            attributes=("terminals",),
            test=Equal(Grade.REWORK),
            must_know=True,
            assume="bare",
            why="tabs, wires and holders are not interchangeable",
            source="makers' safety notes",
            do="Use a cell with welded tabs or fit a holder; never solder to the can",
        ),
        Rule(
            id="BA5",
            attributes=("pin_count",),
            test=Equal(Grade.REWORK),
            why="the tabs do not meet the holes",
            do="Re-lay the holes; never solder to the can",
        ),
        Rule(
            id="BA6",
            attributes=("chemistry",),
            test=Special("primary_chemistry"),
            locked=True,
            why="flat discharge, leakage and the need for air differ",
            tell="A cell of another chemistry is fitted",
        ),
        Rule(
            id="BA8",
            attributes=("capacity",),
            test=AtLeast(Grade.COMPROMISE),
            why="it runs for less time",
            tell="The battery runs for less time than the original",
        ),
        Rule(
            id="BA9",
            attributes=("cells",),
            test=Special("cell_count"),
            must_know=True,
            locked=True,
            why="the count sets the volts",
        ),
        Rule(
            id="BA9",
            attributes=("plug_polarity",),
            test=Equal(Grade.REFUSE),
            must_know=True,
            locked=True,
            when={"terminals": _PLUGS},
            why="a reversed plug does harm",
        ),
        Rule(
            id="BA9",
            attributes=("plug_polarity",),
            test=Equal(Grade.REFUSE),
            locked=True,
            unless={"terminals": _PLUGS},
            why="a reversed plug does harm",
        ),
    ),
    place=("charging_circuit",),
    rework=Defaults(10, 0.02, 0.0),
    compromise=Defaults(0, 0.05, 0.03),
)
