"""Tests of switches, connectors, belts, feet, motors and supplies that are more than one comparison."""

from __future__ import annotations

import math
import re

from catalog.rules import NOT_CANDIDATE, NOT_WANTED, Case, Grade, Outcome, Window, graded, over, same_number, same_word
from catalog.spec import PartSpec

_INFINITE = float("inf")


def contact_form(case: Case) -> Outcome:
    """SW1: the same contacts, or more with changeover for single throw; NO and NC never stand for each other."""
    shown = _contacts(case.wanted), _contacts(case.candidate)
    wanted, candidate = ((spec.number("poles"), spec.number("throws")) for spec in (case.wanted, case.candidate))
    if wanted == candidate == (None, None) and same_word(case.wanted.word("form") or "", shown[1]):
        return Outcome("form", Grade.EXACT, "", *shown)
    if None in wanted or None in candidate:
        detail = NOT_WANTED if None in wanted else NOT_CANDIDATE
        return Outcome("form", Grade.UNKNOWN, f"{detail}: poles and throws", *shown)
    more = [(have or 0) - (need or 0) for need, have in zip(wanted, candidate, strict=True)]
    if min(more) < 0:
        return Outcome("form", Grade.REFUSE, "fewer contacts", *shown)
    if candidate[1] == 1 and "latching" not in case.words("action"):
        rest = case.words("normally")
        if all(rest) and rest[0] != rest[1]:
            return Outcome("normally", Grade.REFUSE, "NO and NC are opposites", *shown)
        if not all(rest):
            return Outcome("normally", Grade.UNKNOWN, "check: NO or NC not stated on both sides", *shown)
    return Outcome("form", Grade.REWORK if max(more) > 0 else Grade.EXACT, "", *shown)


def _contacts(spec: PartSpec) -> str:
    poles, throws = spec.number("poles"), spec.number("throws")
    counted = f"{poles:g} poles, {throws:g} throws" if poles is not None and throws is not None else ""
    form = spec.word("form") or counted
    return f"{form} {spec.word('normally') or ''}".strip() if counted else form


def connector_pitch(case: Case, *, ways: float, metric: float, inch: float) -> Outcome:
    """CN2: equal; the `metric` pitch for that of a tenth of an `inch` and the reverse up to so many ways only."""
    wanted, candidate = case.numbers("pitch")
    if wanted is None or candidate is None:
        return Outcome("pitch", Grade.UNKNOWN, NOT_WANTED if wanted is None else NOT_CANDIDATE, wanted, candidate)
    if same_number(wanted, candidate):
        return Outcome("pitch", Grade.EXACT, "", wanted, candidate)
    near = {round(wanted, 3), round(candidate, 3)} == {metric, inch}
    few = (case.wanted.number("positions") or _INFINITE) <= ways
    return Outcome("pitch", Grade.COMPROMISE if near and few else Grade.REFUSE, "different", wanted, candidate)


def belt_length(case: Case, *, windows: tuple[Window, ...], pi_percent: float, agree_percent: float) -> Outcome:
    """BE1 to BE3: inside circumference against the new size, the old belt's measure, or the path round the pulleys.

    Figures within `pi_percent` of pi apart may be a diameter and a circumference; stated of one belt, the two must
    agree within `agree_percent`.
    """
    wanted, candidate = (_circumference(spec, agree_percent / 100) for spec in (case.wanted, case.candidate))
    if wanted is None or candidate is None:
        detail = NOT_WANTED if wanted is None else NOT_CANDIDATE
        return Outcome("circumference", Grade.UNKNOWN, detail, wanted, candidate)
    shown = round(wanted, 2), round(candidate, 2)
    bases = case.words("basis")
    if same_number(wanted, candidate) and (bases[0] in {"", "new", "nominal"} or bases[0] == bases[1]):
        return Outcome("circumference", Grade.EXACT, "", *shown)
    ratio = candidate / wanted if wanted else 0
    grade = graded(windows, ratio) or Grade.REFUSE
    detail = f"{ratio * 100:.4g} % of the wanted figure"
    if any(abs(ratio / pi - 1) <= pi_percent / 100 for pi in (math.pi, 1 / math.pi)):
        detail = "about pi apart: is one figure a diameter and the other a circumference?"
    return Outcome("circumference", grade, detail, *shown)


def _circumference(spec: PartSpec, slack: float) -> float | None:
    """Millimetres round the inside; None when not stated, or stated twice with figures further apart than `slack`."""
    stated, diameter = spec.number("circumference"), spec.number("inside_diameter")
    if diameter is None:
        return stated
    if stated is not None and not same_number(stated, math.pi * diameter, slack):
        return None
    return stated if stated is not None else math.pi * diameter


def foot_diameter(case: Case, *, within: float) -> Outcome | None:
    """RF2: within so many mm; larger than a stated recess is trimmed."""
    wanted, candidate = case.numbers("diameter")
    recess = case.wanted.number("recess")
    if wanted is None and recess is None:
        return None
    if candidate is None:
        return Outcome("diameter", Grade.DROP_IN, NOT_CANDIDATE, wanted or recess)
    if recess is not None and over(candidate, recess):
        return Outcome("diameter", Grade.REWORK, "larger than the recess", recess, candidate)
    if wanted is None or same_number(wanted, candidate):
        return Outcome("diameter", Grade.EXACT, "", wanted or recess, candidate)
    if not over(abs(candidate - wanted), within):
        return Outcome("diameter", Grade.DROP_IN, f"within {within:g} mm", wanted, candidate)
    return Outcome("diameter", Grade.REWORK if recess else Grade.COMPROMISE, "different", wanted, candidate)


def rotation(case: Case) -> Outcome:
    """MO2: equal; the leads of a plain two-wire motor may be crossed."""
    shown = case.wanted.word("rotation"), case.candidate.word("rotation")
    if shown[0] is None or shown[1] is None:
        return Outcome("rotation", Grade.UNKNOWN, NOT_WANTED if shown[0] is None else NOT_CANDIDATE, *shown)
    if same_word(shown[0], shown[1]):
        return Outcome("rotation", Grade.EXACT, "", *shown)
    wires = [spec.number("wires") or 2 for spec in (case.wanted, case.candidate)]
    crossable = all(case.flags("plain")) and not any(case.flags("governed")) and max(wires) <= 2
    return Outcome("rotation", Grade.REWORK if crossable else Grade.REFUSE, "the other way round", *shown)


def governed(case: Case) -> Outcome:
    """MO3: whether the motor keeps its own speed; one of the two words must be named."""
    shown = _keeper(case.wanted), _keeper(case.candidate)
    if shown[0] is None or shown[1] is None:
        return Outcome("governed", Grade.UNKNOWN, "check: governed or plain not stated on both sides", *shown)
    return Outcome("governed", Grade.EXACT if shown[0] == shown[1] else Grade.REFUSE, "", *shown)


def _keeper(spec: PartSpec) -> str | None:
    named = spec.flag("governed"), spec.flag("plain")
    return None if named[0] == named[1] else "governed" if named[0] else "plain"


def motor_body(case: Case) -> Outcome:
    """MO5: what is stated on both sides must be equal; one dimension at least must be."""
    names = ("diameter", "length", "shaft")
    stated = [(name, *case.numbers(name)) for name in names if None not in case.numbers(name)]
    if not stated:
        return Outcome("diameter", Grade.UNKNOWN, "check: no dimension is stated on both sides")
    for name, wanted, candidate in stated:
        if not same_number(wanted or 0, candidate or 0):
            return Outcome(name, Grade.REWORK, "different", wanted, candidate)
    omitted = [name for name in names if case.wanted.number(name) is not None and case.candidate.number(name) is None]
    if omitted:
        return Outcome(omitted[0], Grade.DROP_IN, NOT_CANDIDATE, case.wanted.number(omitted[0]))
    return Outcome(stated[0][0], Grade.EXACT, "", *stated[0][1:])


def mains_input(case: Case, *, percent: float, lowest: float, highest: float) -> Outcome | None:
    """EP9: the candidate's input covers the wanted mains, else the person's.

    A check where the mains is not known; unknown where it is and the candidate does not state its input.
    """
    shown = case.wanted.word("input_voltage"), case.candidate.word("input_voltage")
    if same_word(shown[0] or "", shown[1] or ""):
        return Outcome("input_voltage", Grade.EXACT, "", *shown)
    wanted, candidate = (_mains(text, lowest, highest) for text in shown)
    if wanted is None or (case.mains and wanted[0] != wanted[1]):
        wanted = (case.mains, case.mains) if case.mains else wanted
    if wanted is None:
        return Outcome("input_voltage", Grade.DROP_IN, "check: the mains is not stated", *shown) if any(shown) else None
    if candidate is None:
        return Outcome("input_voltage", Grade.UNKNOWN, NOT_CANDIDATE, *shown)
    low, high = candidate[0] * (1 - percent / 100), candidate[1] * (1 + percent / 100)
    covers = not over(low, wanted[0]) and not over(wanted[1], high)
    grade = Grade.DROP_IN if covers else Grade.REFUSE
    return Outcome("input_voltage", grade, "", shown[0] or f"{wanted[0]:g} V", shown[1])


def _mains(text: str | None, lowest: float, highest: float) -> tuple[float, float] | None:
    """The range a text states; figures that no mains has are none."""
    volts = [float(number) for number in re.findall(r"\d{2,3}(?:\.\d+)?", text or "")]
    volts = [number for number in volts if lowest <= number <= highest]
    return (min(volts), max(volts)) if volts else None
