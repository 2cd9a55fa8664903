"""Small formulas of the trade that give a substitution rule its figure: leakage, ribbon width, pulling of a crystal."""

from __future__ import annotations

import math


def earth_leakage(farads: float, volts: float = 250.0, hertz: float = 50.0) -> float:
    """Amperes through a capacitor from mains to touchable metal: I = 2·pi·f·C·U."""
    return 2 * math.pi * hertz * farads * volts


def ribbon_width(conductors: float, pitch: float) -> float:
    """Width of a flat cable in the unit of its pitch: W = (N + 1)·P. Source: parameter tables of flat cables."""
    return (conductors + 1) * pitch


def crystal_pull(circuit_load: float, own_load: float, motional: float = 20e-15, shunt: float = 5e-12) -> float:
    """Relative frequency error of a crystal made for `own_load` in a circuit that loads it with `circuit_load`.

    Capacitances in farads; df/f = C1/2 · (1/(C0 + CL in circuit) − 1/(C0 + CL nominal)). The motional and shunt
    capacitances default to the usual 20 fF and 5 pF. Source: application notes on quartz pulling.
    """
    return motional / 2 * (1 / (shunt + circuit_load) - 1 / (shunt + own_load))
