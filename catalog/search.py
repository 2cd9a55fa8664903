"""Finding parts by what is typed: part number first, then fit, then likeness of the text.

The query is read as a spec and as text at once, so a half-remembered value and a half-remembered name both lead
somewhere. Everything is scanned, in slices between which the caller may stop it: exact, no index to keep in step, and
quick enough up to some ten thousand entries. Scores are compared with each other and with one fixed floor only; the
scorer's own cutoff is not exact at its boundary.
"""

from __future__ import annotations

import heapq
import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Literal, Protocol

import msgspec

from catalog.reading import far_apart, main_value
from catalog.spec import PartSpec

SLICE = 2_000
FLOOR = 55.0
"""Likeness (`WRatio`, 0 to 100) below which text alone is no hit; half-typed words stay above it (our choice)."""

_GRADES = ("exact", "drop-in", "rework", "compromise", "unknown")
_UNREAD, _REFUSED, _OTHER_KIND = range(len(_GRADES), len(_GRADES) + 3)
"""Ranks after the grades: cannot be judged, unfit, another kind of part."""

_FAMILIES = {"capacitor": ("electrolytic", "tantalum", "ceramic", "film", "safety-cap", "capacitor")}
"""Kinds that may be meant by a kind that names only the family."""

_UNITS = "pf|nf|uf|mf|f|ohm|kohm|mohm|r|k|m|v|a|ma|w|hz|khz|mhz|mm|h|uh|mh"
_SIGNS = str.maketrans({"μ": "u", "µ": "u", "ω": "ohm", "×": "x", "°": ""})
_BETWEEN = re.compile(r"(?<=\d),(?=\d)")
_SEPARATOR = re.compile(r"[^\w.%+]|_|(?<!\d)\.|\.(?!\d)")
_OHMS = re.compile(r"(?<=\d)([km]) ?ohms?\b")
_VALUE = re.compile(rf"(?<=\d) (?=(?:{_UNITS})\b)")


class Entry(msgspec.Struct, frozen=True):
    """One thing that can be found."""

    source: Literal["part", "offer"]
    id: int
    part_number: str
    description: str
    kind: str
    spec: PartSpec | None
    left_over: str
    quantity: int | None
    """Pieces there are; None = plenty."""
    place: str
    """Where it lies, for a part."""
    supplier: str
    """Who sells it, for an offer."""
    search: str
    """`search_form` of what it is to be found by, made when it was written."""


class Hit(msgspec.Struct, frozen=True):
    """An entry found."""

    entry: Entry
    grade: str | None
    """How the entry fits what the query reads as; None when that cannot be judged."""
    why: str
    score: float
    """Likeness of the texts, 0 to 100."""
    same_number: bool
    """The query is its part number."""


class QueryReading(Protocol):
    """What the query is understood as."""

    @property
    def status(self) -> str:
        """`ok`, `ambiguous` (then see `readings`), or another word."""

    @property
    def spec(self) -> PartSpec | None:
        """The one reading."""

    @property
    def readings(self) -> Sequence[QueryReading]:
        """Every reading of an ambiguous text."""


class Judged(Protocol):
    """How a candidate fits."""

    @property
    def grade(self) -> str:
        """One of the six grades."""

    @property
    def reasons(self) -> Sequence[JudgedReason]:
        """Why, attribute by attribute."""


class JudgedReason(Protocol):
    """One attribute's result."""

    @property
    def attribute(self) -> str:
        """Name of the attribute."""

    @property
    def result(self) -> str:
        """The attribute's own grade."""

    @property
    def why(self) -> str:
        """The reason in words."""


Reader = Callable[[str], QueryReading]
Judge = Callable[[PartSpec, PartSpec], Judged]
"""Wanted and candidate to grade and reasons."""


def search_form(text: str) -> str:
    """The form texts are compared in: small letters, no accents, plain units, `4,7 µF` and `4.7uF` alike."""
    plain = unicodedata.normalize("NFKD", text.casefold()).translate(_SIGNS).casefold()
    plain = "".join(character for character in plain if not unicodedata.combining(character))
    plain = _SEPARATOR.sub(" ", _BETWEEN.sub(".", plain))
    return _OHMS.sub(r"\1", _VALUE.sub("", " ".join(plain.split())))


def number_form(part_number: str) -> str:
    """Letters and digits only: `ab-12 c` and `AB12C` are the same part number."""
    return re.sub(r"[\W_]", "", search_form(part_number))


_Rank = tuple[bool, int, float, bool, int]
"""Another number, grade, unlikeness, not at hand, position: smaller is better."""


class Index:
    """Entries ready to be searched, built once for a state of the catalogue.

    Remembers the last judgement, so that typing on behind a value does not judge again.
    """

    def __init__(self, entries: Sequence[Entry]) -> None:
        self.entries = tuple(entries)
        self._forms = [entry.search for entry in self.entries]
        self._numbers: dict[str, list[int]] = {}
        self._kinds: dict[str, list[int]] = {}
        self._values: dict[int, tuple[float | None, str | None]] = {}
        self._twins: dict[int, int] = {}
        """{position: the first entry of exactly the same spec}, which is judged for all of them"""
        self._last: tuple[tuple[Judge, bytes], _Judgement] | None = None
        first: dict[bytes, int] = {}
        for position, entry in enumerate(self.entries):
            if entry.part_number:
                self._numbers.setdefault(number_form(entry.part_number), []).append(position)
            if entry.spec is not None:
                self._kinds.setdefault(entry.spec.kind, []).append(position)
                self._values[position] = main_value(entry.spec)
                self._twins[position] = first.setdefault(msgspec.json.encode(entry.spec), position)

    @classmethod
    def of(cls, entries: Iterable[Entry]) -> Index:
        """An index over these entries."""
        return cls(tuple(entries))

    def find(
        self,
        query: str,
        limit: int = 50,
        *,
        reader: Reader | None = None,
        judge: Judge | None = None,
        cancelled: Callable[[], bool] = lambda: False,
    ) -> list[Hit]:
        """The best hits: same part number, then by grade, then by likeness; what is in the drawer before what is sold.

        Args:
            query: cleaned text as typed.
            limit: most hits returned.
            reader: reads the query as a spec; None searches by text alone.
            judge: grades an entry for what was read.
            cancelled: asked between slices; when true, the answer is empty.
        """
        form = search_form(query)
        if not form:
            return []
        judged = self._judged(query, reader, judge, cancelled) if reader and judge else _Judgement(frozenset(), {})
        same = set(self._numbers.get(number_form(query), ()))
        best: list[tuple[_Rank, float]] = []
        for positions, scores, alike in self._scores(form):
            if cancelled():
                return []
            ranked = [
                (self._rank(position, score, judged, same), score)
                for position, score, enough in zip(positions, scores, alike, strict=True)
                if enough or position in same or judged.fits(position)
            ]
            best = heapq.nsmallest(limit, [*best, *ranked])
        return [self._hit(rank[-1], score, judged, same) for rank, score in best]

    def _scores(self, form: str) -> Iterator[tuple[range, list[float], list[bool]]]:
        """Likeness, and whether it is enough for a hit, slice by slice.

        `WRatio` forgives most but gives the same mark to every text that shares one word with the query;
        `token_set_ratio` tells by how many.
        """
        from rapidfuzz import fuzz, process  # noqa: PLC0415 - brings numpy, which start-up does without

        for start in range(0, len(self._forms), SLICE):
            part = self._forms[start : start + SLICE]
            either = process.cdist([form], part, scorer=fuzz.WRatio)[0]
            every = process.cdist([form], part, scorer=fuzz.token_set_ratio)[0]
            yield range(start, start + len(part)), ((either + every) / 2).tolist(), (either >= FLOOR).tolist()

    def _judged(self, query: str, reader: Reader, judge: Judge, cancelled: Callable[[], bool]) -> _Judgement:
        reading = reader(query)
        ways = [reading] if reading.status == "ok" else reading.readings
        specs = [one.spec for one in ways if one.spec is not None]
        key = (judge, msgspec.json.encode(specs))
        if self._last is not None and self._last[0] == key:
            return self._last[1]
        kinds: set[str] = set()
        found: dict[int, tuple[str, str]] = {}
        for spec in specs:
            said: dict[int, tuple[str, str]] = {}
            for kind in self._related(spec, judge):
                kinds.add(kind)
                for count, position in enumerate(self._near(spec, kind)):
                    if count % 50 == 0 and cancelled():
                        return _Judgement(frozenset(), {})
                    twin = self._twins[position]
                    if twin not in said:
                        said[twin] = _said(judge(spec, self._spec(twin)), sure=len(ways) == 1)
                    if position not in found or _grade_rank(said[twin][0]) < _grade_rank(found[position][0]):
                        found[position] = said[twin]
        judged = _Judgement(frozenset(kinds), found)
        self._last = (key, judged)
        return judged

    def _related(self, wanted: PartSpec, judge: Judge) -> Iterator[str]:
        """The kinds that may serve: the wanted one, and those of which one entry is not refused for its kind alone."""
        for kind, positions in self._kinds.items():
            if kind == wanted.kind:
                yield kind
            elif wanted.kind in _FAMILIES or kind in _FAMILIES:
                if kind in _FAMILIES.get(wanted.kind, ()) or wanted.kind in _FAMILIES.get(kind, ()):
                    yield kind
            elif kind != "listed":
                judged = judge(wanted, self._spec(positions[0]))
                if judged.grade != "refuse" or any(reason.attribute != "kind" for reason in judged.reasons):
                    yield kind

    def _near(self, wanted: PartSpec, kind: str) -> list[int]:
        """Entries of a kind whose main value is not far from the wanted one, or not stated."""
        value = main_value(wanted)
        return [position for position in self._kinds[kind] if not far_apart(value, self._values[position])]

    def _spec(self, position: int) -> PartSpec:
        spec = self.entries[position].spec
        if spec is None:
            raise LookupError(f"entry {position} has no spec")
        return spec

    def _rank(self, position: int, score: float, judged: _Judgement, same: set[int]) -> _Rank:
        entry = self.entries[position]
        held = judged.found.get(position)
        if held:
            rank = _grade_rank(held[0])
        elif entry.spec is None or entry.spec.kind == "listed" or not judged.kinds:
            rank = _UNREAD
        else:
            rank = _REFUSED if entry.spec.kind in judged.kinds else _OTHER_KIND
        at_hand = entry.source == "part" and bool(entry.quantity)
        return (position not in same, rank, -score, not at_hand, position)

    def _hit(self, position: int, score: float, judged: _Judgement, same: set[int]) -> Hit:
        grade, why = judged.found.get(position, (None, ""))
        if position in same:
            why = "same part number"
        return Hit(self.entries[position], grade, why or "by its text", score, position in same)


class _Judgement(msgspec.Struct, frozen=True):
    kinds: frozenset[str]
    """Kinds the query reads as."""
    found: dict[int, tuple[str, str]]
    """{position: (grade, why)}"""

    def fits(self, position: int) -> bool:
        """Whether an entry is a hit by its grade, however its text reads."""
        return position in self.found and _grade_rank(self.found[position][0]) < _UNREAD


def _grade_rank(grade: str) -> int:
    return _GRADES.index(grade) if grade in _GRADES else _REFUSED


def _said(judged: Judged, *, sure: bool) -> tuple[str, str]:
    grade = str(judged.grade)
    if not sure and grade != "refuse":
        return "unknown", "the query leaves open which part is meant"
    reason = next((one for one in judged.reasons if str(one.result) == grade), None)
    if reason is None or grade == "exact":
        return grade, "everything stated agrees" if grade == "exact" else ""
    return grade, f"{reason.attribute.replace('_', ' ')}: {reason.why}"
