"""Which kind of part a line is about: by its words, else by its codes and units, against the kind that was given."""

from __future__ import annotations

import itertools
import re

from catalog.accessories import is_accessory
from catalog.cell_codes import CELL_CODE, LOW_CELL, OLD_ROUND, decode_cell
from catalog.colour_bands import find_bands
from catalog.markings import SIGNIFICANDS
from catalog.numbered import without_names
from catalog.read_capacitor_marks import VOLTED_CODE, is_volted_code
from catalog.read_capacitors import DIELECTRIC, SAFETY, SLASHED, SMALL_SAFETY, is_value_and_volts
from catalog.read_power import fuse_by_mark
from catalog.read_semiconductors import DIODE_TYPE, REGULATOR_TYPE, SPACED_TYPE, TRANSISTOR_TYPE
from catalog.scan import Measure, Scan
from catalog.text import BEGIN, END, Refused
from catalog.words import FUSE_SPEED_WORDS, KIND_WORDS, MARK_WORDS

CAPACITORS = frozenset({"electrolytic", "tantalum", "ceramic", "film", "safety-cap", "capacitor"})
_PLUGGED = frozenset({"psu", "battery", "motor"})
_MATERIALS = frozenset({"ceramic", "film"})
_PURPOSE = re.compile(r"(?<![^\W_])(?:for|für|fuer|pour|para|для|voor|dla)\s")
_FEATURE = re.compile(r"(?<![^\W_])(?:with|mit|avec|con|w/|mains)\s?$")
_BARE = re.compile(r"[^\w]*(\d{1,7}(?:[.,]\d{1,4})?)[^\w]*")
_RELAY = re.compile(r"(?<![^\W_])(?:relays?|relais|реле)(?![^\W_])", re.IGNORECASE)
_BARE_WITH_VOLTS = re.compile(r"[1-9]\d{2}\s?[/ ]\s?\d{1,4}(?:[.,]\d)?\s?[kK]?[Vv](?:[Dd][Cc])?")
"""Three digits and volts are all that the line says: `102 2kV`."""
_SIGNED_VOLTS = re.compile(r"\d\s?[Vv]\s?[=~⎓](?![^\W\d_])")
"""The sign of direct or alternating current behind the volts, as on rating plates."""
_TOLERANCED = re.compile(r"[1-9]\d[0-6]J")
_CELL_COUNT = re.compile(rf"{BEGIN}\d{{1,2}}x(?:AAA|AA)(?![^\W_])")
_CODE_LETTER = re.compile(rf"{BEGIN}\d{{3}}[KM]{END}")
_FILM_CODE = re.compile(r"(?<![^\W_])(?:MK|FK)[TPSCIN](?![^\W_])")
_PREFIXED = re.compile(rf"{BEGIN}[0-3][{''.join(SIGNIFICANDS)}]\d{{3}}[A-Z]?{END}")
_HENRY = re.compile(rf"{BEGIN}\d{{1,3}}[nuµμm]\d{{1,3}}H(?![^\W_])")
_MARKED_CLASS = re.compile(rf"(?i:{'|'.join(MARK_WORDS)})[:\s]{{1,3}}([XY][1-4])(?![^\W_])")
_HOLDER = re.compile(r"(?:holder|halter|box|tray|cover|door|compartment|clip|fach|deckel)$")
"""What a thing named first is when it only holds another: `battery holder 2x AA`."""
_OF_RESISTORS = frozenset({"fusible", "draht"})
_TAPERED = re.compile(rf"{BEGIN}(?:B\d{{1,4}}[kK](?![^\W_])|[AB]\d{{1,4}}[kK]\s(?:dual|stereo|tandem)(?![^\W_]))")
"""A taper letter before kilohms is what stands on a potentiometer (common practice): `B50K`.
An `A10K` alone may be anything."""
_BARE_CELL = re.compile(rf"(?<![^\W_])(?:R(?:{'|'.join(OLD_ROUND)})|3R12)(?![^\W_]|[.,]\d)")
_PITCH = re.compile(r"(?<![\w.])(?:1[.,](?:0|25|27|5)|2[.,](?:0|5|54)|3[.,](?:5|81|96)|5[.,](?:0|08))(?![\w.])")
_CENTRE = re.compile(r"cent(?:re|er)\s(?:positive|negative)")
_WAYS = re.compile(r"\d{1,2}\s?[pP]")
"""Pins of a connector as well as picofarads, beside a usual pitch."""
_ALTERNATING = re.compile(r"\d\s?[Vv]\s?(?:AC|ac|Ac|~)")
_MARKED = re.compile(
    r"(?<![^\W_])(?:mark|marked|marking|stamped|printed|code)[:\s]{1,3}\d{3}(?!\d)|(?<!\d)\d{3} marked(?![^\W_])"
)
_ALL = frozenset({"ohm", "F"})


def kinds_of(line: str, given: str | None) -> tuple[tuple[str, str], ...]:
    """The kinds a cleaned line may be, each with a reason; several when words and given kind or codes collide."""
    named = _narrowed(line, _named(line))
    by_code = _by_code(without_names(line))
    if given is None:
        found = named or (() if _another(line) else by_code)
        return _perhaps_class(line, found) or tuple((kind, f"taken as {kind}") for kind in found)
    if _BARE.fullmatch(line):
        return ((given, f"taken as {given}"),)
    for kind in named:
        if not _agree(given, kind):
            return ((given, f"taken as {given}, as given"), *((k, f"taken as {k}, as the words say") for k in named))
    closer = next((kind for kind in named if _closer(kind, given)), None)
    if closer is None and not named:
        closer = next((kind for kind in by_code if _closer(kind, given)), None)
        foreign = [kind for kind in by_code if not _agree(given, kind)]
        if foreign and len(by_code) == 1 and not closer:
            return (
                (given, f"taken as {given}, as given"),
                (foreign[0], f"taken as {foreign[0]}, as its unit or code says"),
            )
    return ((closer or given, f"taken as {closer or given}"),)


def _perhaps_class(line: str, found: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """Both kinds where an X2 may be the safety class of a capacitor or something else; empty where it cannot."""
    if len(found) == 1 and found[0] in CAPACITORS - {"safety-cap"} and (small := _small_safety(line)):
        return (("safety-cap", f"{small} as the safety class"), (found[0], f"{small} as the number of pieces"))
    if found == ("safety-cap",) and (marked := _MARKED_CLASS.search(line)):
        code = f"{marked[1]} as the two-character code"
        return (("safety-cap", f"{marked[1]} as the safety class"), ("capacitor", code))
    return ()


def _agree(given: str, kind: str) -> bool:
    same_unit = {"resistor", "potentiometer", "thermistor", "ferrite", "inductor"}
    return given == kind or _closer(kind, given) or _closer(given, kind) or (kind == "resistor" and given in same_unit)


def _closer(kind: str, than: str) -> bool:
    """Whether `kind` says more than `than` without contradicting it."""
    return (than == "capacitor" and kind in CAPACITORS - {"capacitor"}) or (than in _MATERIALS and kind == "safety-cap")


def _told_by_code(line: str, kinds: set[str]) -> tuple[str, ...]:
    """What a word that may name another part's body or plug stands for, where a code says so; else empty."""
    if kinds == {"ceramic"} and fuse_by_mark(line) and "F" not in _units(line):
        return ("fuse",)
    if kinds == {"connector"} and _CENTRE.search(line.lower()) and {"V", "A"} <= _units(line):
        return ("connector", "psu")
    return ()


def _units(line: str) -> set[str]:
    return {measure.unit for measure in Scan(line).measures(_ALL)}


def _another(line: str) -> bool:
    """Whether the line names only what an unknown thing is for: `knob for pot 10k`."""
    purpose = _PURPOSE.search(line.lower())
    after = Scan(line[purpose.end() :]).words(KIND_WORDS, claim=False) if purpose and purpose.start() else []
    return bool(after) and after[0][0] == 0


def _named(line: str) -> list[tuple[int, int, str]]:
    scan = Scan(line)
    purpose = _PURPOSE.search(scan.low)
    end = purpose.start() if purpose and purpose.start() else len(line)
    found = [hit for hit in scan.words(KIND_WORDS, claim=False) if hit[0] < end]
    features = [hit for hit in found if _FEATURE.search(scan.low[: hit[0]])]
    return [hit for hit in found if hit not in features] or found


def _narrowed(line: str, hits: list[tuple[int, int, str]]) -> tuple[str, ...]:
    """Drop the vaguer words; of words that form one compound the last names the part."""
    if is_accessory(line):
        return ("listed",)
    hits = _with_ohms(line, hits)
    kinds = {kind for _, _, kind in hits}
    if told := _told_by_code(line, kinds):
        return told
    if kinds & CAPACITORS and kinds <= CAPACITORS and SAFETY.search(line):
        return ("safety-cap",)
    if kinds & CAPACITORS - {"capacitor"}:
        kinds.discard("capacitor")
    if "safety-cap" in kinds or kinds - CAPACITORS:
        kinds -= _MATERIALS
    if kinds and kinds <= _MATERIALS and _fuse_by_words(line):
        return ("fuse",)  # of ceramic
    kinds = _without_features(line, kinds)
    if kinds & _PLUGGED and "connector" in kinds and hits[0][2] in _PLUGGED and not _one_compound(line, hits):
        kinds.discard("connector")  # the plug of the thing
    held = "listed" in kinds and _HOLDER.search(line[: hits[0][1]].lower()) is not None
    if held and (hits[-1][2] == "battery" or not _one_compound(line, hits)):
        return ("listed",)
    if len(kinds) > 1:
        hits = [hit for hit in hits if hit[2] in kinds]
        kinds = {hits[-1][2]} if _one_compound(line, hits) else kinds - {"listed"}
    if kinds == {"capacitor"}:
        kinds = {_construction(line)}
    return tuple(sorted(kinds))


def _without_features(line: str, kinds: set[str]) -> set[str]:
    """Without what only belongs to another kind: the coil of a relay, the switch of a potentiometer, a part's wire."""
    features = {"inductor"} if "listed" in kinds and _RELAY.search(line) else set()
    features |= {"switch"} if "potentiometer" in kinds else set()
    kinds = kinds - features
    return kinds - {"wire"} if len(kinds) > 1 else kinds


def _with_ohms(line: str, hits: list[tuple[int, int, str]]) -> list[tuple[int, int, str]]:
    """`fusible` and `Draht` name a resistor where ohms stand beside them and no other word says fuse or wire."""
    said = {line[start:end].lower() for start, end, kind in hits if kind in {"fuse", "wire"}}
    if said and said <= _OF_RESISTORS and any(measure.unit == "ohm" for measure in Scan(line).measures(_ALL)):
        return [(start, end, "resistor" if kind in {"fuse", "wire"} else kind) for start, end, kind in hits]
    return hits


def _one_compound(line: str, hits: list[tuple[int, int, str]]) -> bool:
    """Whether the words stand side by side, as in `battery connector`."""
    return all(not line[a[1] : b[0]].strip(" -") for a, b in itertools.pairwise(hits))


def _small_safety(line: str) -> str | None:
    """A class in small letters beside alternating volts, where it may as well be a count: `100nF 275VAC x2`."""
    small = SMALL_SAFETY.search(line)
    return small[0] if small and _ALTERNATING.search(line) else None


def _construction(line: str) -> str:
    """What marks say of a capacitor whose words do not."""
    small = _small_safety(line)
    if SAFETY.search(line) or (small and "y" in small):
        return "safety-cap"
    if DIELECTRIC.search(line):
        return "ceramic"
    return "film" if _FILM_CODE.search(line) else "capacitor"


def _by_code(line: str) -> tuple[str, ...]:
    """The kinds that codes and units alone allow, the surest sign first."""
    signs = (
        ("resistor", find_bands(line) is not None or re.search(r"(?<![^\W_])R_\d{4}", line) is not None),
        (_construction(line), re.search(r"(?<![^\W_])C_\d{4}", line) is not None),
        ("inductor", _HENRY.search(line) is not None),
        ("fuse", fuse_by_mark(line)),
        ("battery", any((m[1] or m[3] or not m[4]) and _is_cell(m[0]) for m in CELL_CODE.finditer(line))),
        ("battery", LOW_CELL.search(line) is not None or _CELL_COUNT.search(line) is not None),
        ("potentiometer", _TAPERED.search(line) is not None),
        ("psu", _CENTRE.search(line.lower()) is not None),
    )
    sure = next((kind for kind, seen in signs if seen), None)
    if sure:
        return (sure,)
    measures = Scan(line).measures(_ALL)
    units = {measure.unit for measure in measures} | ({"F"} if _PREFIXED.search(line) else set())
    open_kinds = _of_two(line, measures, units)
    if open_kinds:
        return open_kinds
    return _by_units(line, units)


def _by_units(line: str, units: set[str]) -> tuple[str, ...]:
    """The kinds that type numbers, units and what stands beside them allow."""
    registered = _registered(line)
    if registered and not units & {"F", "H"}:
        return (registered,)
    by_unit = (("F", _construction(line)), ("H", "inductor"), ("ohm", "resistor"), ("Hz", "crystal"))
    found = next((kind for unit, kind in by_unit if unit in units), None) or _by_type(line, units)
    if found:
        return (found,)
    if speeds := _fuse_by_words(line):
        return speeds
    if "A" in units and _SIGNED_VOLTS.search(line):
        return ("motor", "psu")
    return _of_digits(line)


def _fuse_by_words(line: str) -> tuple[str, ...]:
    """The kinds that amperes with a word of speed allow; empty where there are none, or a capacitance is stated."""
    units = {measure.unit for measure in Scan(line).measures(_ALL)}
    if "A" not in units or units & {"F", "H"}:
        return ()
    if fuse_by_mark(line):
        return ("fuse",)
    found = Scan(line).words(FUSE_SPEED_WORDS, claim=False)
    return found[0][2] if found else ()


def _of_digits(line: str) -> tuple[str, ...]:
    """What a line of digits alone may be."""
    if (pair := SLASHED.fullmatch(line)) and is_value_and_volts(pair):
        return ("capacitor",)
    shown = (_BARE, _TOLERANCED, _BARE_WITH_VOLTS)
    alone = any(pattern.fullmatch(line) for pattern in shown) or _MARKED.search(line.lower())
    return ("capacitor", "resistor") if alone else ()


def _of_two(line: str, measures: list[Measure], units: set[str]) -> tuple[str, ...]:
    """The two kinds that a code without its unit may mean; a safety class beside volts settles it."""
    if not units & {"F", "H"} and (code := VOLTED_CODE.search(line)) and is_volted_code(code):
        return (_construction(line),) if code[2] in "JZ" or SAFETY.search(line) else ("capacitor", "resistor")
    lettered = _CODE_LETTER.search(line) is not None
    if lettered and SAFETY.search(line) and "V" in units:
        return ("safety-cap",)
    if {"F", "ohm"} <= units or (lettered and not units - {"ohm", "V"}):
        return ("capacitor", "resistor")
    if not units - {"ohm", "V"} and _BARE_CELL.search(line):
        return ("battery", "resistor")
    if units == {"F"} and _PITCH.search(line) and all(_WAYS.fullmatch(line[m.start : m.end]) for m in measures):
        return ("connector", "capacitor")
    return ()


def _registered(line: str) -> str | None:
    types = (
        (DIODE_TYPE, "diode"),
        (TRANSISTOR_TYPE, "transistor"),
        (SPACED_TYPE, "transistor"),
        (REGULATOR_TYPE, "regulator"),
    )
    return next((kind for pattern, kind in types if pattern.search(line)), None)


def _by_type(line: str, units: set[str]) -> str | None:
    if SAFETY.search(line) and "V" in units:
        return "safety-cap"
    if DIELECTRIC.search(line) and re.search(r"(?<!\d)\d{3}(?!\d)", line):
        return "ceramic"
    return "wire" if re.search(r"(?<![^\W_])AWG|AWG(?![^\W_])", line) else None


def _is_cell(code: str) -> bool:
    try:
        decode_cell(code)
    except Refused:
        return False
    return True
