"""Tests of resistors, fuses, semiconductors, cells and crystals that are more than one comparison."""

from __future__ import annotations

import re
from decimal import Decimal

from catalog.kinds.listed import MUST_MATCH
from catalog.rules import (
    HIGHER,
    LIMIT,
    NOT_CANDIDATE,
    NOT_WANTED,
    Case,
    Grade,
    Outcome,
    Window,
    graded,
    identity,
    normal,
    over,
    same_number,
    same_word,
)
from catalog.spec import PartSpec


def resistance_window(case: Case, *, tolerance: float, percent: float) -> Outcome:
    """RE1: the candidate's worst case inside the wanted tolerance, else nominal within `percent`.

    `tolerance` is the wanted tolerance where none is stated.
    """
    wanted, candidate = case.numbers("resistance")
    if wanted is None or candidate is None:
        return _missing("resistance", wanted, candidate)
    if same_number(wanted, candidate):
        return Outcome("resistance", Grade.EXACT, "", wanted, candidate)
    if wanted == 0 or candidate == 0:
        return Outcome("resistance", Grade.REFUSE, "a link matches only a link", wanted, candidate)
    room = _stated(case.wanted.number("tolerance"), tolerance) / 100
    spread = _stated(case.candidate.number("tolerance"), room * 100) / 100
    off = abs(candidate - wanted) / wanted
    detail = f"nominal {off * 100:.3g} % off"
    if not over(off + spread * candidate / wanted, room):
        return Outcome("resistance", Grade.DROP_IN, detail, wanted, candidate)
    grade = Grade.REFUSE if over(off, max(percent / 100, room)) else Grade.COMPROMISE
    return Outcome("resistance", grade, detail, wanted, candidate)


def fusible(case: Case) -> Outcome | None:
    """RE5: fusible only by fusible of the same resistance and power."""
    wanted, candidate = case.flags("fusible")
    if not wanted:
        return None
    if not candidate:
        return Outcome("fusible", Grade.REFUSE, "the candidate is an ordinary resistor", wanted=True)
    ohms = case.numbers("resistance")
    if ohms[0] is not None and ohms[1] is not None and not same_number(ohms[0], ohms[1]):
        return Outcome("resistance", Grade.REFUSE, "a fusible resistor only by its own value", *ohms)
    power = case.numbers("power")
    if power[0] is None or power[1] is None:
        return _missing("power", *power)
    same = same_number(power[0], power[1])
    return Outcome("power", Grade.EXACT if same else Grade.REFUSE, "", *power)


def non_inductive(case: Case) -> Outcome | None:
    """RE9: film, or wound without inductance, where that is asked for."""
    if not case.wanted.flag("non_inductive"):
        return None
    composition = case.candidate.word("composition")
    if case.candidate.flag("non_inductive"):
        return Outcome("non_inductive", Grade.EXACT, "", wanted=True, candidate=True)
    if composition is None:
        return Outcome("composition", Grade.UNKNOWN, NOT_CANDIDATE, wanted=True)
    wound = "wire" in composition.casefold()
    return Outcome("composition", Grade.REFUSE if wound else Grade.DROP_IN, "", "non-inductive", composition)


_TAPERS = {
    "linear": "lin",
    "logarithmic": "log",
    "audio": "log",
    "antilog": "reverselog",
    "antilogarithmic": "reverselog",
    "reverse": "reverselog",
    "revlog": "reverselog",
}
_LETTERS = {
    "europe": {"a": "lin", "b": "log", "c": "reverselog", "f": "reverselog"},
    "elsewhere": {"a": "log", "b": "lin", "c": "reverselog"},
}


def taper(case: Case) -> Outcome:
    """PO2 and PO3: equal tapers; a bare A or B says nothing while maker and region are not known."""
    wanted, candidate = _taper(case, wanted=True), _taper(case, wanted=False)
    shown = _taper_shown(case.wanted), _taper_shown(case.candidate)
    if wanted is None or candidate is None:
        bare = any(spec.word("taper_letter") for spec in (case.wanted, case.candidate))
        detail = "check: a bare letter means lin or log by region" if bare else "check: taper not stated"
        return Outcome("taper", Grade.UNKNOWN, detail, *shown, rule="PO3" if bare else "PO2")
    return Outcome("taper", Grade.EXACT if wanted == candidate else Grade.COMPROMISE, "", *shown)


def _taper_shown(spec: PartSpec) -> str | None:
    return spec.word("taper") or spec.word("taper_letter")


def _taper(case: Case, *, wanted: bool) -> str | None:
    spec = case.wanted if wanted else case.candidate
    word = normal(spec.word("taper") or "")
    if word:
        return _TAPERS.get(word, word)
    letter, region = normal(spec.word("taper_letter") or ""), normal(spec.word("taper_region") or "")
    european = region.startswith("eu") or (letter == "f" and not region)  # F is used in Europe only
    known = _LETTERS["europe" if european else "elsewhere"]
    return known.get(letter) if region or letter in {"c", "f"} else None


def fuse_volts(case: Case) -> Outcome:
    """FU3 and FU6: like volts with like; volts of the other sort promise nothing."""
    found = []
    for name in ("voltage_ac", "voltage_dc"):
        wanted, candidate = case.numbers(name)
        if wanted is None:
            continue
        if candidate is None:
            other = case.candidate.number("voltage_ac" if name == "voltage_dc" else "voltage_dc")
            rule = "FU6" if other is not None and case.wanted.kind == "fuse" else ""
            found.append(Outcome(name, Grade.UNKNOWN, NOT_CANDIDATE, wanted, other, rule=rule))
            continue
        low = over(wanted, candidate) and not same_number(wanted, candidate)
        better = Grade.EXACT if same_number(wanted, candidate) else Grade.DROP_IN
        detail = HIGHER if better is Grade.DROP_IN and not low else ""
        found.append(Outcome(name, Grade.REFUSE if low else better, detail, wanted, candidate))
    if not found:
        return Outcome("voltage_ac", Grade.UNKNOWN, NOT_WANTED, None, case.candidate.number("voltage_ac"))
    return max(found, key=lambda outcome: outcome.grade.rank)


def not_a_fuse(case: Case) -> Outcome:
    """FU9, PT6: a part that does another job."""
    return Outcome("kind", Grade.REFUSE, "another kind of part", case.wanted.kind, case.candidate.kind)


def schottky_for_silicon(case: Case, *, volts: float) -> Outcome | None:
    """DI4: fine up to `volts` and cool, a compromise above or hot."""
    wanted, candidate = case.words("recovery")
    if candidate != "schottky" or wanted == "schottky":
        return None
    harsh = over(case.wanted.number("reverse_voltage") or 0, volts) or case.wanted.flag("hot")
    return Outcome("recovery", Grade.COMPROMISE if harsh else Grade.DROP_IN, "", wanted or "silicon", candidate)


def germanium_diode(case: Case) -> Outcome | None:
    """DI5: germanium only by germanium; germanium for silicon leaks."""
    wanted, candidate = case.words("material")
    if wanted == candidate:
        return Outcome("material", Grade.EXACT, "", wanted, candidate) if wanted else None
    if wanted == "germanium":
        return Outcome("material", Grade.REFUSE, "silicon unless germanium is said", wanted, candidate or None)
    if candidate == "germanium":
        return Outcome("material", Grade.COMPROMISE, "germanium leaks", wanted or None, candidate)
    return None


def transistor_pins(case: Case) -> Outcome | None:
    """TR7: rework if stated different; where it is not stated, a check."""
    wanted, candidate = case.words("pin_order")
    shown = case.wanted.word("pin_order"), case.candidate.word("pin_order")
    if wanted and candidate:
        return Outcome("pin_order", Grade.EXACT if wanted == candidate else Grade.REWORK, "", *shown)
    types = identity(case.wanted), identity(case.candidate)
    if wanted or (all(types) and not same_word(*types)):
        return Outcome("pin_order", Grade.DROP_IN, "check: pin order not stated on both sides", *shown)
    return None


def idss(case: Case) -> Outcome | None:
    """TR11: overlapping current classes of field-effect transistors."""
    shown = case.wanted.word("idss_class"), case.candidate.word("idss_class")
    if shown[0] is None or shown[1] is None:
        if case.same_type and shown == (None, None):
            return None
        return Outcome("idss_class", Grade.UNKNOWN, "check: class not stated on both sides", *shown)
    if same_word(shown[0], shown[1]):
        return Outcome("idss_class", Grade.EXACT, "", *shown)
    spans = [[float(number) for number in re.findall(r"\d+(?:\.\d+)?", word)] for word in shown if word]
    if any(len(span) != 2 for span in spans):
        return Outcome("idss_class", Grade.UNKNOWN, "check: these classes cannot be compared", *shown)
    apart = over(spans[0][0], spans[1][1]) or over(spans[1][0], spans[0][1])
    return Outcome("idss_class", Grade.REFUSE if apart else Grade.DROP_IN, "", *shown)


def regulator_polarity(case: Case) -> Outcome | None:
    """RG1: positive and negative never stand in for each other; the sign of the volts says it where no word does."""
    shown = _regulator_sign(case.wanted), _regulator_sign(case.candidate)
    if None in shown:
        return None
    return Outcome("polarity", Grade.EXACT if shown[0] == shown[1] else Grade.REFUSE, "", *shown)


def _regulator_sign(spec: PartSpec) -> str | None:
    stated, volts = spec.word("polarity"), spec.number("output_voltage")
    if stated:
        return normal(stated)
    if volts is None:
        return None
    return "negative" if volts < 0 else "positive"


def regulated_volts(case: Case, *, percent: float) -> Outcome | None:
    """RG1 and RG8: output within `percent`, or inside the range of an adjustable part; the sign is the polarity."""
    wanted, candidate = _span(case, wanted=True), _span(case, wanted=False)
    if wanted is None or candidate is None:
        if wanted is None and candidate is None and case.same_type:
            return None
        detail = NOT_WANTED if wanted is None else NOT_CANDIDATE
        return Outcome("output_voltage", Grade.UNKNOWN, detail, *case.numbers("output_voltage"))
    shown = case.numbers("output_voltage")
    if all(same_number(*ends) for ends in zip(wanted, candidate, strict=True)):
        return Outcome("output_voltage", Grade.EXACT, "", *shown)
    if case.candidate.flag("adjustable"):
        slack = percent / 100 * abs(wanted[0])
        inside = not over(candidate[0] - slack, wanted[0]) and not over(wanted[1], candidate[1] + slack)
        detail = "inside the range" if inside else "outside the range"
        return Outcome("output_voltage", Grade.DROP_IN if inside else Grade.REFUSE, detail, *shown)
    near = not case.wanted.flag("adjustable") and not over(
        abs(candidate[0] - wanted[0]), percent / 100 * abs(wanted[0])
    )
    return Outcome("output_voltage", Grade.DROP_IN if near else Grade.REFUSE, "", *shown)


def _span(case: Case, *, wanted: bool) -> tuple[float, float] | None:
    spec = case.wanted if wanted else case.candidate
    low, high = spec.number("output_voltage"), spec.number("output_voltage_max")
    if low is None or (spec.flag("adjustable") and high is None):
        return None
    ends = (low, high) if high is not None and spec.flag("adjustable") else (low, low)
    return min(ends), max(ends)


def dropout(case: Case) -> Outcome | None:
    """RG4: no more than the original, unless the headroom is stated and enough."""
    wanted, candidate = case.numbers("dropout")
    headroom = case.wanted.number("headroom")
    if wanted is None and headroom is None:
        return None
    if candidate is None:
        return Outcome("dropout", Grade.UNKNOWN if headroom is not None else Grade.DROP_IN, NOT_CANDIDATE, wanted)
    if headroom is not None and over(candidate, headroom):
        return Outcome("dropout", Grade.REFUSE, "more than the headroom", headroom, candidate)
    if wanted is not None and same_number(wanted, candidate):
        return Outcome("dropout", Grade.EXACT, "", wanted, candidate)
    if headroom is not None or (wanted is not None and candidate < wanted):
        return Outcome("dropout", Grade.DROP_IN, "enough headroom", wanted, candidate)
    return Outcome("dropout", Grade.UNKNOWN, "check: headroom not stated", wanted, candidate)


def ldo_for_standard(case: Case) -> Outcome | None:
    """RG5: a low-dropout part needs an output capacitor that suits it."""
    wanted, candidate = case.flags("ldo")
    if not candidate or wanted:
        return None
    words = case.words("output_capacitor")
    suits = bool(words[0]) and words[0] == words[1]
    detail = "the output capacitor suits" if suits else "check: the output capacitor must suit"
    return Outcome("ldo", Grade.DROP_IN if suits else Grade.REWORK, detail, wanted=False, candidate=True)


def frequency(case: Case, *, ppm: float) -> Outcome:
    """XT1: equal, or the shorter figure a rounding of the longer and no more than `ppm` away."""
    wanted, candidate = case.numbers("frequency")
    if wanted is None or candidate is None:
        return _missing("frequency", wanted, candidate)
    if abs(wanted - candidate) <= LIMIT * 1e-3 * abs(wanted):
        return Outcome("frequency", Grade.EXACT, "", wanted, candidate)
    apart = abs(candidate - wanted) / abs(wanted) * 1e6 if wanted else float("inf")
    rounded = not over(apart, ppm) and _is_rounding(wanted, candidate)
    detail = f"{apart:.3g} ppm apart" + (", a rounding" if rounded else "")
    return Outcome("frequency", Grade.DROP_IN if rounded else Grade.REFUSE, detail, wanted, candidate)


def _is_rounding(one: float, other: float) -> bool:
    """Whether the figure with fewer digits is the other one rounded."""
    short, long = sorted((Decimal(repr(one)).normalize(), Decimal(repr(other)).normalize()), key=_digits)
    if _digits(short) == _digits(long):
        return False
    places = Decimal(1).scaleb(int(short.as_tuple().exponent))
    return long.quantize(places).normalize() == short


def _digits(number: Decimal) -> int:
    return len(number.as_tuple().digits)


def crystal_element(case: Case) -> Outcome | None:
    """XT6 to XT8: crystal, ceramic resonator and oscillator module; silence is a crystal."""
    shown = case.wanted.word("element"), case.candidate.word("element")
    wanted, candidate = (_element(word) for word in shown)
    if wanted == candidate:
        return Outcome("element", Grade.EXACT, "", *shown) if any(shown) else None
    if "oscillator" in {wanted, candidate}:
        return Outcome("element", Grade.REFUSE, "an oscillator module needs a supply", *shown, rule="XT8")
    if wanted == "resonator":
        return Outcome("element", Grade.REWORK, "a crystal needs two capacitors", *shown, rule="XT7")
    grade = Grade.REFUSE if case.wanted.flag("timekeeping") else Grade.COMPROMISE
    return Outcome("element", grade, "a resonator for a crystal", *shown)


def _element(word: str | None) -> str:
    text = normal(word or "crystal")
    return next((name for name in ("oscillator", "resonator", "crystal") if name in text), text)


def part_number(case: Case) -> Outcome:
    """LI1: the same full number, or a pair on the person's own list; else the trade's rules, where they can judge.

    They can where both are the same sort of thing and state all that must match.
    """
    said = case.listed("part_number", case.identities, Grade.UNKNOWN)
    what = case.words("what")
    names = MUST_MATCH.get(case.wanted.word("what") or "", ())
    complete = bool(names) and what[0] == what[1] and all(None not in case.plain(name) for name in names)
    if complete and said.grade is Grade.UNKNOWN and case.barred is None:
        detail = "not the number; all that must match is stated"
        return Outcome("part_number", Grade.DROP_IN, detail, said.wanted, said.candidate)
    return said


def breaking_hint(case: Case) -> Outcome | None:
    """FU4 by the body: ceramic wanted and no breaking capacity stated, only ceramic or a stated H serves for sure."""
    wanted, candidate = case.plain("material")
    if wanted is None:
        return None
    if candidate is not None and same_word(str(wanted), str(candidate)):
        return Outcome("material", Grade.EXACT, "", wanted, candidate)
    breaking = case.words("breaking")
    hinted = case.words("material")[0] == "ceramic" and not breaking[0] and breaking[1] != "h"
    if hinted:
        detail = "check: the breaking capacity is not stated, and the wanted body is ceramic"
        return Outcome("material", Grade.UNKNOWN, detail, wanted, candidate)
    return Outcome("material", Grade.DROP_IN, "different" if candidate else NOT_CANDIDATE, wanted, candidate)


def lamp_current(case: Case, *, windows: tuple[Window, ...]) -> Outcome | None:
    """LP2: like current for like; a light-emitting diode in a lamp's place takes less, and that is right."""
    wanted, candidate = case.numbers("current")
    if wanted is None:
        return None
    if candidate is None:
        return Outcome("current", Grade.DROP_IN if case.same_type else Grade.UNKNOWN, NOT_CANDIDATE, wanted, None)
    if same_number(wanted, candidate):
        return Outcome("current", Grade.EXACT, "", wanted, candidate)
    if case.candidate.flag("led") and not case.wanted.flag("led") and candidate < wanted:
        return Outcome("current", Grade.DROP_IN, "a diode takes less", wanted, candidate)
    ratio = candidate / wanted if wanted else 0
    grade = graded(windows, ratio) or Grade.REFUSE
    return Outcome("current", grade, f"{ratio:.3g} times the wanted value", wanted, candidate)


def _stated(number: float | None, otherwise: float) -> float:
    return otherwise if number is None else number


def _missing(name: str, wanted: float | None, candidate: float | None) -> Outcome:
    return Outcome(name, Grade.UNKNOWN, NOT_WANTED if wanted is None else NOT_CANDIDATE, wanted, candidate)
