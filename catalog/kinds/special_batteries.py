"""Tests of cells: what may be charged, which chemistry stands in for which, what fits the holder."""

from __future__ import annotations

from catalog.cell_codes import PRIMARY, RECHARGEABLE
from catalog.rules import NOT_CANDIDATE, NOT_WANTED, Case, Grade, Outcome, normal, over, same_number
from catalog.spec import PartSpec

_PRIMARY = {normal(name): volts for name, volts in PRIMARY.values()}
_RECHARGEABLE = {normal(name): volts for name, volts in RECHARGEABLE.values()}
_NICKEL = ("nimh", "nicd")
_STANDS_IN = {
    ("alkaline", "silveroxide"): Grade.DROP_IN,
    ("lithiummanganesedioxide", "lithiumcarbonmonofluoride"): Grade.DROP_IN,
    ("alkaline", "lithiumirondisulfide"): Grade.DROP_IN,
    ("silveroxide", "alkaline"): Grade.COMPROMISE,
    ("alkaline", "zincair"): Grade.COMPROMISE,
    ("silveroxide", "zincair"): Grade.COMPROMISE,
    ("zinccarbon", "alkaline"): Grade.DROP_IN,
    ("alkaline", "zinccarbon"): Grade.COMPROMISE,
}
"""Wanted and candidate chemistry of primary cells to grade."""
# fmt: off
_ROUND_MINIMA = {
    (10.5, 44.5): (9.5, 43.3), (12.0, 30.2): (10.9, 29.1), (14.5, 50.5): (13.5, 49.2), (26.2, 50.0): (24.9, 48.6),
    (34.2, 61.5): (32.3, 59.5), (7.9, 3.6): (7.55, 3.3), (11.6, 4.2): (11.25, 3.8), (11.6, 5.4): (11.25, 5.0),
    (7.9, 5.4): (7.55, 5.0), (11.6, 3.05): (11.25, 2.75), (11.6, 2.1): (11.25, 1.85), (9.5, 2.7): (9.15, 2.4),
    (7.9, 2.6): (7.55, 2.3), (6.8, 2.15): (6.5, 1.9),
}
# fmt: on
"""Largest diameter and height of round cells, in mm, to the smallest. Source: handbook table of IEC round cells."""


def charge_system(case: Case) -> Outcome | None:
    """BA1 and BA7: a place that charges takes its own rechargeable system only.

    A place that is said to charge goes before what the wanted cell is: a primary cell there was a mistake.
    """
    chemistry = case.words("chemistry")
    shown = case.wanted.word("chemistry"), case.candidate.word("chemistry")
    kinds = rechargeable(case.wanted), rechargeable(case.candidate)
    uncharged = _says_no_charging(case.wanted) and case.role != "charging"
    if kinds[1] is False and (_charges(case) or (kinds[0] and not uncharged)):
        return Outcome("rechargeable", Grade.REFUSE, "a primary cell would be charged", *shown)
    if kinds[0] is None or kinds[1] is None:
        return Outcome("rechargeable", Grade.UNKNOWN, "check: rechargeable or primary not stated on both sides", *shown)
    if not kinds[0]:
        return _for_primary(case, shown)
    if uncharged:
        same = bool(chemistry[0]) and chemistry[0] == chemistry[1]
        return Outcome("chemistry", Grade.EXACT if same else Grade.DROP_IN, "nothing charges it in this place", *shown)
    return _same_system(chemistry, shown)


def _for_primary(case: Case, shown: tuple[str | None, str | None]) -> Outcome | None:
    """BA1 where the wanted cell is a primary one; what may be charged is judged by BA2."""
    if _charges(case):
        detail = "check: the charge system of the place is not stated; a primary cell does not belong there"
        return Outcome("chemistry", Grade.UNKNOWN, detail, *shown)
    both = not rechargeable(case.candidate)
    return Outcome("rechargeable", Grade.EXACT, "", wanted=False, candidate=False) if both else None


def _same_system(chemistry: tuple[str, str], shown: tuple[str | None, str | None]) -> Outcome:
    if not all(chemistry):
        return Outcome("chemistry", Grade.UNKNOWN, "check: charge system not stated on both sides", *shown)
    if chemistry[0] == chemistry[1]:
        return Outcome("chemistry", Grade.EXACT, "", *shown)
    if chemistry == ("nicd", "nimh"):
        return Outcome("chemistry", Grade.COMPROMISE, "stands trickle charge less well", *shown, rule="BA7")
    return Outcome("chemistry", Grade.REFUSE, "another charge system", *shown)


def rechargeable_for_primary(
    case: Case, *, nickel_volts: float, primary_volts: float, nickel_percent: float, volts: float
) -> Outcome | None:
    """BA2: within `volts`; as many nickel cells of `nickel_volts` as primary ones of `primary_volts` count for them."""
    if rechargeable(case.wanted) is not False or not rechargeable(case.candidate):
        return None
    wanted, candidate = case.numbers("voltage")
    if wanted is None or candidate is None:
        return None
    cells = candidate / nickel_volts, wanted / primary_volts
    nickel = case.words("chemistry")[1] in _NICKEL and same_number(*cells, nickel_percent / 100)
    same = nickel or not over(abs(candidate - wanted), volts)
    return Outcome("voltage", Grade.COMPROMISE if same else Grade.REFUSE, "rechargeable", wanted, candidate)


def cell_volts(case: Case, *, volts: float, listed_volts_a_cell: float, cell_volts: float) -> Outcome | None:
    """BA3: within `volts`, except the pairs that other rows judge.

    Pairs of primary chemistries that BA6 lists may differ by `listed_volts_a_cell` for each `cell_volts` of the wanted.
    """
    wanted, candidate = case.numbers("voltage")
    if wanted is None or candidate is None:
        detail = NOT_WANTED if wanted is None else NOT_CANDIDATE
        return Outcome("voltage", Grade.UNKNOWN, detail, wanted, candidate)
    if same_number(wanted, candidate):
        return Outcome("voltage", Grade.EXACT, "", wanted, candidate)
    if rechargeable(case.wanted) is False and rechargeable(case.candidate):
        return None
    listed = case.words("chemistry") in _STANDS_IN
    room = listed_volts_a_cell * max(1, round(wanted / cell_volts)) if listed else volts
    grade = Grade.REFUSE if over(abs(candidate - wanted), room) else Grade.DROP_IN
    return Outcome("voltage", grade, "different", wanted, candidate)


def cell_size(case: Case) -> Outcome | None:
    """BA4: within the IEC size; a thinner coin in a holder is a compromise, tabs are rework, packs are a check."""
    sizes = [case.numbers("diameter"), case.numbers("height")]
    if is_pack(case.wanted):
        for name, size in zip(("diameter", "height"), sizes, strict=True):
            if size[0] is not None and (size[1] is None or not same_number(size[0], size[1])):
                return Outcome(name, Grade.DROP_IN, "check: the size of the pack differs or is not stated", *size)
        return None
    (wanted, candidate), (tall, taller) = sizes
    if wanted is None or candidate is None or tall is None or taller is None:
        return Outcome("diameter", Grade.UNKNOWN, "check: diameter and height not stated on both sides", wanted)
    if same_number(wanted, candidate) and same_number(tall, taller):
        return Outcome("diameter", Grade.EXACT, "", wanted, candidate)
    return _round_size(case, (wanted, candidate), (tall, taller))


def _round_size(case: Case, diameter: tuple[float, float], height: tuple[float, float]) -> Outcome:
    least = _least(diameter[0], height[0])
    round_fits = same_number(*diameter) or least[0] <= diameter[1] <= diameter[0]
    high_fits = same_number(*height) or least[1] <= height[1] <= height[0]
    if round_fits and high_fits:
        return Outcome("height", Grade.DROP_IN, "within the limits of the size", *height)
    if any(normal(spec.word("terminals") or "bare") != "bare" for spec in (case.wanted, case.candidate)):
        return Outcome("height", Grade.REWORK, "another size with tabs or wires", *height)
    coin = height[0] < diameter[0]
    if coin and round_fits and height[1] < height[0]:
        return Outcome("height", Grade.COMPROMISE, "thinner", *height)
    if round_fits:
        return Outcome("height", Grade.REFUSE, "does not fit the holder", *height)
    return Outcome("diameter", Grade.REFUSE, "does not fit the holder", *diameter)


def primary_chemistry(case: Case) -> Outcome | None:
    """BA6: which primary chemistry stands in for which; pairs not on the list are not known."""
    if rechargeable(case.wanted) is not False or rechargeable(case.candidate) is not False:
        return None
    wanted, candidate = case.words("chemistry")
    shown = case.wanted.word("chemistry"), case.candidate.word("chemistry")
    if wanted == candidate:
        return Outcome("chemistry", Grade.EXACT, "", *shown)
    grade = _STANDS_IN.get((wanted, candidate), Grade.UNKNOWN)
    return Outcome("chemistry", grade, "" if grade is not Grade.UNKNOWN else "check: no rule for this pair", *shown)


def cell_count(case: Case) -> Outcome | None:
    """BA9: packs by the same number of cells."""
    if not is_pack(case.wanted):
        return None
    wanted, candidate = _count(case.wanted), _count(case.candidate)
    if wanted is None or candidate is None:
        return Outcome("cells", Grade.UNKNOWN, "check: cells not known on both sides", wanted, candidate)
    return Outcome("cells", Grade.EXACT if wanted == candidate else Grade.REFUSE, "", wanted, candidate)


def rechargeable(spec: PartSpec) -> bool | None:
    """Whether a cell may be charged; None when neither the word nor the chemistry says so."""
    chemistry = normal(spec.word("chemistry") or "")
    if spec.flag("rechargeable") or chemistry in _RECHARGEABLE:
        return True
    return False if chemistry in _PRIMARY else None


def is_pack(spec: PartSpec) -> bool:
    """Whether the part is more than one cell."""
    return (_count(spec) or spec.number("cells") or 1) > 1


def _count(spec: PartSpec) -> int | None:
    """Cells as stated or worked out from the volts; None when not known or when the two disagree."""
    stated, volts = spec.number("cells"), spec.number("voltage")
    chemistry = normal(spec.word("chemistry") or "")
    one = _RECHARGEABLE.get(chemistry) or _PRIMARY.get(chemistry)
    worked = round(volts / one) if volts is not None and one else None
    if stated is None:
        return worked
    return int(stated) if worked is None or worked == int(stated) else None


def _least(diameter: float, height: float) -> tuple[float, float]:
    known = (
        low for size, low in _ROUND_MINIMA.items() if same_number(size[0], diameter) and same_number(size[1], height)
    )
    return next(known, (diameter, height))


def _charges(case: Case) -> bool:
    """Whether the place is said to charge its cell."""
    return case.role == "charging" or case.wanted.flag("charging_circuit")


def _says_no_charging(spec: PartSpec) -> bool:
    held = spec.attributes.get("charging_circuit")
    return held is not None and held.value is False
