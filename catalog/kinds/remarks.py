"""Worked figures that some rules add to their reason. Each takes a case and returns a sentence part, or nothing."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from catalog.formulas import crystal_pull, earth_leakage, ribbon_width
from catalog.lifetime import life_hours
from catalog.quantity import engineering
from catalog.rules import Case


def life_factor(case: Case) -> str:
    """How the life compares at equal rated hours when only the rated temperature differs."""
    wanted, candidate = case.numbers("temperature")
    if wanted is None or candidate is None or wanted == candidate:
        return ""
    return f"{life_hours(1, candidate, wanted):.3g} times the life of the original type"


def leakage(case: Case) -> str:
    """Current to earth through the candidate at 250 V, 50 Hz."""
    farads = case.candidate.number("capacitance")
    return f"leakage {engineering(earth_leakage(farads), 'A', 3)} at 250 V, 50 Hz" if farads else ""


def width(case: Case) -> str:
    """Width of the candidate's ribbon."""
    ways, pitch = case.candidate.number("conductors"), case.candidate.number("pitch")
    return f"the ribbon is {ribbon_width(ways, pitch):.4g} mm wide" if ways and pitch else ""


def pulling(case: Case) -> str:
    """How far a usual crystal runs off in the wanted part's load."""
    wanted, candidate = case.numbers("load")
    if not wanted or not candidate or wanted == candidate:
        return ""
    return f"a usual crystal runs {crystal_pull(wanted, candidate) * 1e6:+.0f} ppm off"


REMARKS: Mapping[str, Callable[[Case], str]] = MappingProxyType(
    {"life_factor": life_factor, "earth_leakage": leakage, "ribbon_width": width, "pulling": pulling}
)
