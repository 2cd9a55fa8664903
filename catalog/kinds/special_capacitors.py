"""Tests of capacitors that are more than a comparison of one attribute."""

from __future__ import annotations

import re

from catalog.dielectric_codes import Dielectric, decode_dielectric
from catalog.kinds.electrolytic import FREQUENCY_ROLES
from catalog.kinds.safety_cap import SERVES
from catalog.rules import (
    HIGHER,
    NOT_CANDIDATE,
    NOT_WANTED,
    Case,
    Grade,
    Outcome,
    Window,
    graded,
    over,
    same_number,
    same_word,
    worst,
)
from catalog.sizes import CHIPS, chip_area
from catalog.text import Refused

_ORDER = (("C0G",), ("X8R",), ("X7R",), ("X7S", "X6S"), ("X5R",), ("Y5V", "Z5U"))


def low_impedance(case: Case) -> Outcome | None:
    """AE6: a low-impedance part, or polymer, where low impedance is wanted; silence is general purpose."""
    if not case.wanted.flag("low_esr"):
        return None
    if case.candidate.flag("low_esr"):
        return Outcome("low_esr", Grade.EXACT, "", wanted=True, candidate=True)
    if case.candidate.flag("polymer"):
        return Outcome("low_esr", Grade.DROP_IN, "polymer is low in impedance", wanted=True)
    return Outcome("low_esr", Grade.COMPROMISE, "the candidate is general purpose", wanted=True)


def ceiling(case: Case) -> Outcome | None:
    """AE10: taller than a stated ceiling does not go in."""
    limit, height = case.wanted.number("height_limit"), case.candidate.number("height")
    if limit is None:
        return None
    if height is None:
        return Outcome("height", Grade.UNKNOWN, "check: height not stated under a ceiling", limit)
    return Outcome("height", Grade.REFUSE if over(height, limit) else Grade.EXACT, "", limit, height)


def polymer_for_wet(case: Case) -> Outcome | None:
    """AE13: polymer for wet, by the place."""
    if case.wanted.flag("polymer") or not case.candidate.flag("polymer"):
        return None
    if case.role in {*FREQUENCY_ROLES, "coupling"}:
        grade = Grade.REFUSE
    else:
        grade = Grade.DROP_IN if case.role in {"filter", "bypass"} else Grade.COMPROMISE
    return Outcome("polymer", grade, "polymer for a wet capacitor", wanted=False, candidate=True)


def tantalum_for_wet(case: Case, *, times: float) -> Outcome | None:
    """AE15: manganese-dioxide tantalum for wet aluminium needs twice the circuit volts, else twice the rating."""
    rating, candidate = case.numbers("voltage_dc")
    circuit = case.wanted.number("circuit_volts")
    if case.candidate.flag("polymer") or candidate is None or rating is None:
        return None
    base = rating if circuit is None else circuit
    if over(base, candidate):
        return Outcome("voltage_dc", Grade.REFUSE, "below the volts it must stand", base, candidate)
    if not over(times * base, candidate):
        return Outcome("voltage_dc", Grade.DROP_IN, f"at least {times:g} times the volts", base, candidate)
    grade = Grade.UNKNOWN if circuit is None else Grade.COMPROMISE
    detail = "check: circuit volts not stated" if circuit is None else f"less than {times:g} times the circuit volts"
    return Outcome("voltage_dc", grade, detail, base, candidate)


def film_volts(case: Case, *, ac_to_dc: float) -> Outcome | None:
    """FI2 and its like: like volts with like; alternating volts count for `ac_to_dc` times as many direct ones."""
    wanted = case.wanted.number("voltage_dc"), case.wanted.number("voltage_ac")
    candidate = case.candidate.number("voltage_dc"), case.candidate.number("voltage_ac")
    if wanted == (None, None):
        return Outcome("voltage_dc", Grade.UNKNOWN, NOT_WANTED, None, candidate[0] or candidate[1])
    if candidate == (None, None):
        return Outcome("voltage_dc", Grade.UNKNOWN, NOT_CANDIDATE, wanted[0] or wanted[1])
    found = []
    if wanted[0] is not None:
        direct = max(candidate[0] or 0, ac_to_dc * (candidate[1] or 0))
        same = candidate[0] is not None and same_number(wanted[0], candidate[0])
        grade = Grade.EXACT if same else worst([Grade.DROP_IN, _rating(wanted[0], direct)])
        better = grade is Grade.DROP_IN and candidate[0] is not None and candidate[0] > wanted[0]
        found.append(Outcome("voltage_dc", grade, HIGHER if better else "", wanted[0], candidate[0] or candidate[1]))
    if wanted[1] is not None:
        grade = _rating(wanted[1], candidate[1] or 0)
        detail = HIGHER if grade is Grade.DROP_IN else ""
        detail = detail if candidate[1] else "the candidate gives direct volts only"
        found.append(Outcome("voltage_ac", grade, detail, wanted[1], candidate[1] or candidate[0]))
    return max(found, key=lambda outcome: outcome.grade.rank)


def film_size(case: Case) -> Outcome:
    """AE16, TA10: equal or smaller drops in; a bigger body, another style or no size stated is rework."""
    styles = case.words("style")
    axial = "axial" in styles
    pairs = [case.numbers(name) for name in ("pitch", "diameter", "height") if not (axial and name == "height")]
    stated = [(wanted, candidate) for wanted, candidate in pairs if wanted is not None and candidate is not None]
    if all(styles) and styles[0] != styles[1]:
        return Outcome("style", Grade.REWORK, "another style", *styles)
    if not stated:
        return Outcome("pitch", Grade.REWORK, "check: no size to compare")
    bigger = next(((wanted, candidate) for wanted, candidate in stated if over(candidate, wanted)), None)
    if bigger:
        return Outcome("pitch", Grade.REWORK, "the body is bigger", *bigger)
    return Outcome("pitch", Grade.DROP_IN, "the body is no bigger", *stated[0])


def ceramic_for_wet(case: Case) -> Outcome:
    """AE17: a multilayer ceramic is a compromise, and refused where the value sets the function."""
    grade = Grade.REFUSE if case.role in FREQUENCY_ROLES else Grade.COMPROMISE
    return Outcome("dielectric", grade, "ceramic for aluminium", None, case.candidate.word("dielectric"))


def tantalum_derating(
    case: Case, *, times: float, polymer_low: float, polymer_volts: float, polymer_high: float
) -> Outcome | None:
    """TA3: room between rating and circuit volts; a part with no less room than the original is never worse."""
    circuit, (rating, candidate) = case.wanted.number("circuit_volts"), case.numbers("voltage_dc")
    if circuit is None or candidate is None:
        return None
    if over(circuit, candidate):
        return Outcome("circuit_volts", Grade.REFUSE, "rated below the circuit volts", circuit, candidate)

    def good_for(volts: float, *, polymer: bool) -> float:
        """Circuit volts that a rating is good for; a polymer part keeps one share up to some volts, and less above."""
        if not polymer:
            return volts / times
        return max(polymer_low * min(volts, polymer_volts), polymer_high * volts)

    usable = good_for(candidate, polymer=case.candidate.flag("polymer"))
    if not over(circuit, usable):
        return Outcome("circuit_volts", Grade.EXACT, "", circuit, candidate)
    original = good_for(rating or 0, polymer=case.wanted.flag("polymer"))
    if rating and not over(original, usable):
        return Outcome(
            "circuit_volts",
            Grade.EXACT,
            "less room than is usual, as with the original",
            circuit,
            candidate,
            do=f"A higher rating than {candidate:g} V would last longer in this place",
        )
    return Outcome("circuit_volts", Grade.COMPROMISE, "less room above the circuit volts", circuit, candidate)


def always_compromise(case: Case) -> Outcome:
    """TA8: a wet part for tantalum is a compromise whatever its figures."""
    return Outcome("construction", Grade.COMPROMISE, "", case.wanted.kind, case.candidate.kind)


def ceramic_for_tantalum(case: Case, *, times: float, change: float) -> Outcome:
    """TA9: class 2 at so many times the volts drops in; C0G needs the volts only.

    A class that changes by more than `change` percent over its range is no match.
    """
    volts, candidate = case.numbers("voltage_dc")
    dielectric = case.candidate.word("dielectric")
    read = _dielectric(dielectric)
    if volts is not None and candidate is not None and over(volts, candidate):
        return Outcome("voltage_dc", Grade.REFUSE, "lower than wanted", volts, candidate)
    open_question = "check: volts and dielectric must both be stated"
    if read is None:
        return Outcome("dielectric", Grade.UNKNOWN, open_question, None, dielectric)
    if volts is None or candidate is None:
        return Outcome("voltage_dc", Grade.UNKNOWN, open_question, volts, candidate)
    if _unsteadiness(read)[0] > change:
        return Outcome("dielectric", Grade.REFUSE, "not steady enough", None, dielectric, unlocked=True)
    if read.rank == 1 or not over(times * volts, candidate):
        do = "Check that the supply is stable with the ceramic in place"
        return Outcome("voltage_dc", Grade.DROP_IN, "enough room for the loss under bias", volts, candidate, do=do)
    return Outcome("voltage_dc", Grade.COMPROMISE, f"less than {times:g} times the volts", volts, candidate)


def better_than_tantalum(case: Case) -> Outcome | None:
    """TA10 for a ceramic: rework where style or pitch differ."""
    styles, pitch = case.words("style"), case.numbers("pitch")
    if all(styles) and styles[0] != styles[1]:
        return Outcome("style", Grade.REWORK, "another style", *styles)
    if pitch[0] is not None and pitch[1] is not None and not same_number(pitch[0], pitch[1]):
        return Outcome("pitch", Grade.REWORK, "another pitch", *pitch)
    return Outcome("size", Grade.DROP_IN, "check: see that the pads suit", None, case.candidate.word("size"))


def ceramic_capacitance(case: Case, *, windows: tuple[Window, ...]) -> Outcome:
    """CE1 and CE2: equal for class 1 and where the value sets the function, a window for the others."""
    wanted, candidate = case.numbers("capacitance")
    read = _dielectric(case.wanted.word("dielectric"))
    small = wanted is not None and not over(wanted, 1e-9)
    tuned = case.role in FREQUENCY_ROLES or (read.rank == 1 if read else small)
    rule = "CE1" if tuned else "CE2"
    if wanted is None or candidate is None:
        return _missing("capacitance", wanted, candidate, rule)
    if same_number(wanted, candidate):
        return Outcome("capacitance", Grade.EXACT, "", wanted, candidate, rule=rule)
    if tuned:
        return Outcome("capacitance", Grade.REFUSE, "different", wanted, candidate, rule=rule)
    ratio = candidate / wanted if wanted else 0
    return Outcome("capacitance", _in_windows(windows, ratio), f"{ratio:.3g} times the wanted value", wanted, candidate)


def ceramic_dielectric(case: Case) -> Outcome:
    """CE4 and CE5: the dielectric, best first; a temperature-compensating code only by itself."""
    words = case.wanted.word("dielectric"), case.candidate.word("dielectric")
    wanted, candidate = _dielectric(words[0]), _dielectric(words[1])
    rule = "CE5" if wanted and wanted.rank == 1 and wanted.code != "C0G" else "CE4"
    if same_word(words[0] or "", words[1] or "") or (wanted and candidate and wanted.code == candidate.code):
        return Outcome("dielectric", Grade.EXACT, "", *words, rule=rule)
    if candidate is None:
        return Outcome("dielectric", Grade.UNKNOWN, NOT_CANDIDATE, *words, rule=rule)
    if wanted is None:
        good = _no_lower(candidate, decode_dielectric("X7R"))
        detail = f"{NOT_WANTED}; X7R or better serves"
        return Outcome("dielectric", Grade.DROP_IN if good else Grade.UNKNOWN, detail, *words)
    if wanted.rank == 1:
        return Outcome("dielectric", Grade.REFUSE, "different", *words, rule=rule)
    better = _no_lower(candidate, wanted)
    detail = "steadier" if better else "less steady"
    return Outcome("dielectric", Grade.DROP_IN if better else Grade.COMPROMISE, detail, *words)


def chip_size(case: Case) -> Outcome | None:
    """CE6: another chip size is rework; a smaller one also loses more under bias."""
    wanted, candidate = case.wanted.word("size"), case.candidate.word("size")
    if wanted is None:
        return None
    if candidate is None:
        return Outcome("size", Grade.DROP_IN, NOT_CANDIDATE, wanted)
    if case.words("size")[0] == case.words("size")[1]:
        return Outcome("size", Grade.EXACT, "", wanted, candidate)
    smaller = wanted in CHIPS and candidate in CHIPS and chip_area(candidate) < chip_area(wanted)
    do = "Bridge the pads to the other chip size"
    do = f"{do}; check the capacitance left under bias" if smaller else do
    return Outcome("size", Grade.REWORK, "smaller" if smaller else "different", wanted, candidate, do=do)


def film_capacitance(case: Case, *, tolerance: float, windows: tuple[Window, ...]) -> Outcome:
    """FI1: within the wanted tolerance (`tolerance` percent unless stated); beyond it by the windows."""
    wanted, candidate = case.numbers("capacitance")
    if wanted is None or candidate is None:
        return _missing("capacitance", wanted, candidate)
    if same_number(wanted, candidate):
        return Outcome("capacitance", Grade.EXACT, "", wanted, candidate)
    room = (case.wanted.number("tolerance") or tolerance) / 100
    ratio = candidate / wanted if wanted else 0
    grade = _in_windows((Window(1 - room, 1 + room, Grade.DROP_IN), *windows), ratio)
    return Outcome("capacitance", grade, f"{ratio:.3g} times the wanted value", wanted, candidate)


def ceramic_for_film(case: Case) -> Outcome:
    """FI3 across kinds: only C0G, and at drop-in only for polyester and polystyrene."""
    words = case.wanted.word("dielectric"), case.candidate.word("dielectric")
    read = _dielectric(words[1])
    if read is None:
        return Outcome("dielectric", Grade.UNKNOWN, NOT_CANDIDATE, *words)
    if read.code != "C0G":
        return Outcome("dielectric", Grade.REFUSE, "not steady enough", *words)
    grade = Grade.DROP_IN if words[0] in {None, "PET", "PS"} else Grade.COMPROMISE
    return Outcome("dielectric", grade, "C0G ceramic", *words)


def safety_class(case: Case) -> Outcome | None:
    """SC1: every class wanted must be served by a class of the candidate."""
    wanted, candidate = _classes(case.wanted.word("safety_class")), _classes(case.candidate.word("safety_class"))
    words = case.wanted.word("safety_class"), case.candidate.word("safety_class")
    if not wanted:
        return Outcome("safety_class", Grade.UNKNOWN, NOT_WANTED, *words)
    if not candidate:
        return None
    if wanted == candidate:
        return Outcome("safety_class", Grade.EXACT, "", *words)
    served = all(any(own in SERVES.get(need, ()) for own in candidate) for need in wanted)
    return Outcome("safety_class", Grade.DROP_IN if served else Grade.REFUSE, "", *words)


def approved_part(case: Case) -> Outcome | None:
    """SC2: a candidate without a class is an ordinary capacitor."""
    word = case.candidate.word("safety_class")
    if case.candidate.kind == "safety-cap" and _classes(word):
        return None
    detail = "the candidate carries no class"
    return Outcome("safety_class", Grade.REFUSE, detail, case.wanted.word("safety_class"), word)


def across_the_line(case: Case, *, windows: tuple[Window, ...]) -> Outcome | None:
    """SC4: the value in an X place."""
    classes = _classes(case.wanted.word("safety_class"))
    if classes and not any(name.startswith("X") for name in classes):
        return None
    return _safety_value(case, windows)


def line_to_case(case: Case, *, windows: tuple[Window, ...]) -> Outcome | None:
    """SC5: the value in a Y place; any increase is refused."""
    if not any(name.startswith("Y") for name in _classes(case.wanted.word("safety_class"))):
        return None
    return _safety_value(case, windows)


def series_resistor(case: Case) -> Outcome | None:
    """SC7: the same resistor inside, or none in either."""
    wanted, candidate = case.numbers("series_resistor")
    if wanted is None and candidate is None:
        return None
    same = wanted is not None and candidate is not None and same_number(wanted, candidate)
    return Outcome("series_resistor", Grade.EXACT if same else Grade.REFUSE, "", wanted, candidate)


def _classes(word: str | None) -> frozenset[str]:
    return frozenset(re.findall(r"[XY]\d", (word or "").upper()))


def _safety_value(case: Case, windows: tuple[Window, ...]) -> Outcome:
    wanted, candidate = case.numbers("capacitance")
    if wanted is None or candidate is None:
        return _missing("capacitance", wanted, candidate)
    if same_number(wanted, candidate):
        return Outcome("capacitance", Grade.EXACT, "", wanted, candidate)
    ratio = candidate / wanted if wanted else 0
    detail = f"{ratio:.3g} times the wanted value"
    return Outcome("capacitance", _in_windows(windows, ratio), detail, wanted, candidate, unlocked=ratio < 1)


def _in_windows(windows: tuple[Window, ...], ratio: float) -> Grade:
    """The grade of the first window that holds the ratio, else refuse."""
    return graded(windows, ratio) or Grade.REFUSE


def _rating(wanted: float, candidate: float) -> Grade:
    if same_number(wanted, candidate):
        return Grade.EXACT
    return Grade.DROP_IN if candidate > wanted else Grade.REFUSE


def _missing(name: str, wanted: float | None, candidate: float | None, rule: str = "") -> Outcome:
    detail = NOT_WANTED if wanted is None else NOT_CANDIDATE
    return Outcome(name, Grade.UNKNOWN, detail, wanted, candidate, rule=rule)


def _dielectric(word: str | None) -> Dielectric | None:
    try:
        return decode_dielectric(word) if word else None
    except Refused:
        return None


def _no_lower(candidate: Dielectric, wanted: Dielectric) -> bool:
    """Whether the candidate is the same or better: by the stated order, else by change and then by range."""
    tiers = [
        next((tier for tier, codes in enumerate(_ORDER) if one.code in codes), None) for one in (candidate, wanted)
    ]
    if tiers[0] is not None and tiers[1] is not None:
        return tiers[0] <= tiers[1]
    return _unsteadiness(candidate) <= _unsteadiness(wanted)


def _unsteadiness(read: Dielectric) -> tuple[float, float]:
    """Largest change in percent over its range, 0 for class 1; then, to put equals in order, minus the range in K."""
    if read.change is None or read.low is None or read.high is None:
        return (0.0, 0.0)
    return (max(map(abs, read.change)), -float(read.high - read.low))
