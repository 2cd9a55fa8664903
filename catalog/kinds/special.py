"""The named tests that rules may call, by name."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from catalog.kinds import special_batteries, special_capacitors, special_electrical, special_mechanical
from catalog.rules import Function

FUNCTIONS: Mapping[str, Function] = MappingProxyType(
    {
        function.__name__: function
        for function in (
            special_capacitors.low_impedance,
            special_capacitors.ceiling,
            special_capacitors.polymer_for_wet,
            special_capacitors.tantalum_for_wet,
            special_capacitors.film_volts,
            special_capacitors.film_size,
            special_capacitors.ceramic_for_wet,
            special_capacitors.tantalum_derating,
            special_capacitors.always_compromise,
            special_capacitors.ceramic_for_tantalum,
            special_capacitors.better_than_tantalum,
            special_capacitors.ceramic_capacitance,
            special_capacitors.ceramic_dielectric,
            special_capacitors.chip_size,
            special_capacitors.film_capacitance,
            special_capacitors.ceramic_for_film,
            special_capacitors.safety_class,
            special_capacitors.approved_part,
            special_capacitors.across_the_line,
            special_capacitors.line_to_case,
            special_capacitors.series_resistor,
            special_electrical.resistance_window,
            special_electrical.fusible,
            special_electrical.non_inductive,
            special_electrical.taper,
            special_electrical.fuse_volts,
            special_electrical.not_a_fuse,
            special_electrical.schottky_for_silicon,
            special_electrical.germanium_diode,
            special_electrical.transistor_pins,
            special_electrical.idss,
            special_electrical.regulator_polarity,
            special_electrical.regulated_volts,
            special_electrical.dropout,
            special_electrical.ldo_for_standard,
            special_electrical.frequency,
            special_electrical.crystal_element,
            special_electrical.part_number,
            special_electrical.lamp_current,
            special_electrical.breaking_hint,
            special_batteries.charge_system,
            special_batteries.rechargeable_for_primary,
            special_batteries.cell_volts,
            special_batteries.cell_size,
            special_batteries.primary_chemistry,
            special_batteries.cell_count,
            special_mechanical.contact_form,
            special_mechanical.connector_pitch,
            special_mechanical.belt_length,
            special_mechanical.foot_diameter,
            special_mechanical.rotation,
            special_mechanical.governed,
            special_mechanical.motor_body,
            special_mechanical.mains_input,
        )
    }
)
