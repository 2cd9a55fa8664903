"""Reading part descriptions: free text to a `PartSpec`, what is uncertain as alternatives, the rest as left over.

It does not guess: where a code and a word collide, or a number can be two things, the answer is ambiguous and holds
every reading. Text that was not understood is returned, never dropped.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

import msgspec

from catalog.bare_numbers import open_number
from catalog.doubts import doubts
from catalog.kind_of import CAPACITORS, kinds_of
from catalog.numbered import part_numbers, purposes
from catalog.read_capacitors import fill_capacitor, safety_class
from catalog.read_mechanical import (
    fill_belt,
    fill_connector,
    fill_ffc,
    fill_foot,
    fill_motor,
    fill_pickup,
    fill_switch,
)
from catalog.read_passives import (
    fill_crystal,
    fill_ferrite,
    fill_inductor,
    fill_potentiometer,
    fill_resistor,
    fill_thermistor,
    fill_wire,
)
from catalog.read_power import NAMED_CELL, fill_battery, fill_fuse, fill_psu, fill_ptc, fill_thermal_fuse
from catalog.read_semiconductors import fill_diode, fill_regulator, fill_transistor
from catalog.read_several import GANGS, sections
from catalog.read_trade import fill_trade, held_cells
from catalog.reading import Draft, Reading, as_dict
from catalog.scan import Scan
from catalog.second_names import contradict, names
from catalog.spec import KINDS, PartSpec
from catalog.text import BEGIN, LINE_LIMIT, clean_line
from catalog.words import KIND_WORDS, MARK_WORDS, ROLE_WORDS, SMALL_WORDS, VINTAGE_WORDS

__all__ = ["Reading", "as_dict", "read"]

_FILLERS: Mapping[str, Callable[[Draft], None]] = MappingProxyType(
    {
        **dict.fromkeys(sorted(CAPACITORS), fill_capacitor),
        "resistor": fill_resistor,
        "potentiometer": fill_potentiometer,
        "inductor": fill_inductor,
        "ferrite": fill_ferrite,
        "thermistor": fill_thermistor,
        "crystal": fill_crystal,
        "wire": fill_wire,
        "fuse": fill_fuse,
        "thermal-fuse": fill_thermal_fuse,
        "ptc": fill_ptc,
        "battery": fill_battery,
        "psu": fill_psu,
        "diode": fill_diode,
        "transistor": fill_transistor,
        "regulator": fill_regulator,
        "belt": fill_belt,
        "foot": fill_foot,
        "switch": fill_switch,
        "connector": fill_connector,
        "ffc": fill_ffc,
        "pickup": fill_pickup,
        "motor": fill_motor,
        "listed": fill_trade,
    }
)
_PIECES = re.compile(
    rf"\(\s?[x×]\s?\d{{1,4}}\s?\)|{BEGIN}\d{{1,4}}\s?(?:шт\.?|pcs|pieces|stk|stück|pièces)(?![^\W_])|^\d{{1,3}}\s?[x×]\s(?=[^\W\d_])"
    rf"|{BEGIN}[x×]\d{{1,3}}$"
    rf"|{BEGIN}\d{{1,3}}\s?[x×х]\s?(?=\d{{1,4}}(?:[.,]\d{{1,2}})?\s?(?:[kкmмrω](?:\d|(?![^\W_]))|[µμunp](?:f(?![^\W_])|(?![^\W_]))|k?(?:ω|ohm)|мкф))"
)
_PLAIN_VALUES = frozenset({"resistor", "potentiometer", "inductor", "ferrite", "thermistor", "crystal"})
_OF_CELLS = frozenset({"battery", "listed"})
_AFTER_MARK_WORD = re.compile(rf"(?:{'|'.join(MARK_WORDS)})[:\s]{{1,3}}$")
_LEADING = re.compile(r"^(\d{1,2})\s+(?=([^\W\d_]+))")
_SIZE_COMMA = re.compile(r"(?<![\w.])(0\d{3,4}),(?=\d)")
"""The comma behind a size code parts fields; no decimal begins with a nought and another digit."""
_CONTACTS = frozenset({"switch", "listed"})
_OPEN_CONTACT = re.compile(r"(?<![^\W_])NO[\s,;:(]*$")
"""In capitals, on a switch or relay, this is the contact that is open at rest."""
_PLUS = re.compile(r"\s\+\s")


def read(text: str, kind: str | None = None) -> Reading:
    """Read one part description; `kind` is the kind the caller knows, a word of `catalog.spec.KINDS`.

    Never raises for what is in `text`: a line over the limit, or a mark outside its code, gives status "refused" with
    the reason; text with nothing in it that is understood gives "nothing".
    """
    if len(text) > LINE_LIMIT:
        return Reading(
            "refused", reason=f"the line has {len(text)} characters, at most {LINE_LIMIT} are read: shorten it"
        )
    if kind is not None and kind not in KINDS:
        return Reading(
            "refused", reason=f"'{clean_line(kind, 40)}' is no kind of part: expected one of {', '.join(KINDS)}"
        )
    line = _SIZE_COMMA.sub(r"\1;", clean_line(text))
    halves = _PLUS.split(line)
    if kind is None and len(halves) == 2 and not sections(line):
        parts = [_read_line(half, None) for half in halves]
        if all(part.value_si is not None or part.readings for part in parts):
            whys = [f"part {number} of 2 in the line: {half}" for number, half in enumerate(halves, start=1)]
            merged = _merged(list(zip(parts, whys, strict=True)))
            return msgspec.structs.replace(merged, left_over=tuple(piece for part in parts for piece in part.left_over))
    return _read_line(line, kind)


def _read_line(line: str, kind: str | None) -> Reading:
    """The reading of a line; with what it denies or doubts, and without, where that makes a difference."""
    plain = _with_each_name(line, _read_plainly(line, kind))
    if plain.status not in {"ok", "ambiguous"}:
        return plain
    places = doubts(Scan(line).low, {option.spec.kind for option in plain.readings or (plain,) if option.spec})
    if plain.spec and plain.spec.kind in _CONTACTS:
        places = tuple(place for place in places if not _OPEN_CONTACT.search(line[: place[0]]))
    if not places:
        return plain
    bare = line
    for start, end in places:
        bare = bare[:start] + " " * (end - start) + bare[end:]
    other = _read_plainly(bare, kind, line)
    if other.status not in {"ok", "ambiguous"}:
        name = plain.spec.kind if plain.spec else (plain.readings[0].spec or PartSpec("")).kind
        other = Reading("ok", PartSpec(kind or name), left_over=plain.left_over)
    if _facts(plain) == _facts(other):
        return plain
    said = ", ".join(line[start:end] for start, end in places)
    merged = _merged([(plain, f"with '{said}'"), (other, f"without '{said}'")])
    return msgspec.structs.replace(merged, spec=_in_common(plain.spec, other.spec), left_over=_known_left(plain, other))


def _with_each_name(line: str, plain: Reading) -> Reading:
    """The reading; where the line names two parts that contradict each other, a question with each of them."""
    if plain.status != "ok" or plain.spec is None:
        return plain
    places = names(line, plain.spec.kind)
    ways = []
    for held in places if len(places) > 1 else ():
        bare = line
        for start, end in places:
            bare = bare if (start, end) == held else bare[:start] + " " * (end - start) + bare[end:]
        way = _as_kind(bare, plain.spec.kind, line)
        if way.status in {"ok", "ambiguous"}:
            ways.append((way, f"as {line[held[0] : held[1]]}"))
    specs = [option.spec for way, _ in ways for option in way.readings or (way,) if option.spec is not None]
    if not any(contradict(specs[0], spec) for spec in specs[1:]):
        return plain
    common = specs[0]
    for spec in specs[1:]:
        common = _in_common(common, spec) or PartSpec(common.kind)
    return msgspec.structs.replace(_merged(ways), spec=common)


def _facts(reading: Reading) -> tuple[object, ...]:
    options = tuple(_facts(option) for option in reading.readings)
    return (reading.status, reading.spec, reading.value_si, reading.tolerance, reading.voltage, options)


def _known_left(plain: Reading, other: Reading) -> tuple[str, ...]:
    """What the denied reading leaves over, which is all that the other one does and more."""
    return other.left_over or plain.left_over


def _in_common(one: PartSpec | None, other: PartSpec | None) -> PartSpec | None:
    """What both say of one kind of part; None for two kinds."""
    if one is None or other is None or one.kind != other.kind:
        return None
    held = {name: value for name, value in one.attributes.items() if other.attributes.get(name) == value}
    number = one.part_number if one.part_number == other.part_number else ""
    return PartSpec(one.kind, held, one.role if one.role == other.role else None, number)


def _read_plainly(line: str, kind: str | None, shown: str = "") -> Reading:
    """The reading of a line that denies nothing; left-over pieces are cut from `shown`."""
    kinds = kinds_of(line, kind)
    if not kinds:
        return Reading("nothing", left_over=(line,) if line else ())
    if len(kinds) == 1:
        return _as_kind(line, kinds[0][0], shown)
    answers = [(_as_kind(line, name, shown), why) for name, why in kinds]
    usable = [(answer, why) for answer, why in answers if answer.status in {"ok", "ambiguous"}]
    if len(usable) == 1 and kind is not None and answers[0][0].status not in {"ok", "ambiguous"}:
        # the given kind stays a reading, even if nothing of the line speaks for it
        usable.insert(0, (Reading("ok", PartSpec(kind), left_over=answers[0][0].left_over), answers[0][1]))
    if len(usable) == 1:
        return usable[0][0]
    return _merged(usable) if usable else answers[0][0]


def _as_kind(line: str, kind: str, shown: str = "") -> Reading:
    scan = Scan(line, shown)
    tokens = set(re.findall(r"[^\W_]+", scan.low))
    old = any(word in tokens for word in VINTAGE_WORDS) or re.search(r"\d\s?(?:mfd|mmfd?|µµf|uuf)(?![^\W_])", scan.low)
    draft = Draft(scan, kind, marked=any(word in tokens for word in MARK_WORDS), vintage=bool(old))
    _set_aside(scan, kind)
    _FILLERS[kind](draft)
    named = scan.words(KIND_WORDS, claim=False)
    for start, end, meant in named:
        if _belongs(meant, kind):
            scan.claim(start, end)
    open_number(draft)
    if kind in CAPACITORS:
        roles = [role for _, _, role in scan.words(ROLE_WORDS)]
        draft.role = roles[0] if roles else None
    elif draft.attributes.get("charging_circuit"):
        draft.role = "charging"
    scan.words(SMALL_WORDS)
    if kind in CAPACITORS:
        scan.words(dict.fromkeys(VINTAGE_WORDS, True))
    if (
        not draft.attributes
        and not draft.questions
        and not draft.refused
        and not any(_belongs(k, kind) for _, _, k in named)
    ):
        return Reading("nothing", left_over=(scan.shown,) if line else ())
    return draft.reading()


def _belongs(meant: str, kind: str) -> bool:
    """Whether a kind word is spent once the part is taken as `kind`."""
    return meant == kind or (meant in CAPACITORS and kind in CAPACITORS and meant in {"capacitor", "film", "ceramic"})


def _set_aside(scan: Scan, kind: str) -> None:
    """Counts, part numbers and purposes are no values: they stay left over, and no number reader sees them."""
    held = held_cells(scan.text) if kind == "listed" else None
    for start, end in purposes(scan.text):
        if not _within(held, start):
            scan.set_aside(start, end)
    if kind in CAPACITORS or kind in _PLAIN_VALUES:
        for start, end in part_numbers(scan.text):
            scan.set_aside(start, end)
    for match in list(scan.find(_PIECES, low=True)):
        if kind == "potentiometer" and GANGS.match(scan.text, match.start()):
            continue  # two gangs as well as two pieces
        if kind in CAPACITORS and (made := sections(scan.text)) and made[0] == match.start():
            continue  # two sections as well as two pieces
        if kind in _OF_CELLS and (NAMED_CELL.match(scan.text, match.start()) or _within(held, match.start())):
            continue  # cells of one battery, or of one holder, as well as pieces
        if _AFTER_MARK_WORD.search(scan.low[: match.start()]):
            continue  # `code X5` is the mark
        if not (kind == "safety-cap" and safety_class(scan.text[match.start() : match.end()])):
            scan.set_aside(match.start(), match.end())
    leading = _LEADING.match(scan.low)
    if leading and leading[2] in KIND_WORDS and re.search(r"\d", scan.text[leading.end() :]):
        scan.set_aside(leading.start(1), leading.end(1))


def _within(held: tuple[int, int] | None, at: int) -> bool:
    return held is not None and held[0] <= at < held[1]


def _merged(answers: Sequence[tuple[Reading, str]]) -> Reading:
    """One ambiguous answer from several; alternatives of an answer that is itself ambiguous stand beside the others."""
    readings: list[Reading] = []
    for answer, why in answers:
        if answer.readings:
            readings += [
                msgspec.structs.replace(option, why=f"{why}; {option.why}".strip("; ")) for option in answer.readings
            ]
        else:
            readings.append(msgspec.structs.replace(answer, why=why))
    shared = [
        [piece for piece in option.left_over if all(any(piece in held for held in o.left_over) for o in readings)]
        for option in readings
    ]
    common_left = max(shared, key=lambda pieces: len("".join(pieces)))
    first = readings[0]
    return Reading(
        "ambiguous",
        unit=first.unit if all(option.unit == first.unit for option in readings) else None,
        tolerance=first.tolerance if all(option.tolerance == first.tolerance for option in readings) else None,
        voltage=first.voltage if all(option.voltage == first.voltage for option in readings) else None,
        readings=tuple(readings),
        left_over=tuple(common_left),
    )
