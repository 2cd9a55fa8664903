"""The distinct makes among many parts: each spec once, found by kind and main value, judged once for all that share it.

A part number does not make another make, but for the numbers that a judge tells apart, which the caller names. Kept by
kind and main value, because a query's own value leaves few of them worth judging: what is far off, or is refused for
its value alone, is refused whatever else it states.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Protocol

import msgspec

from catalog.reading import MAIN, far_apart, main_value
from catalog.spec import PartSpec, Value

GRADES = ("exact", "drop-in", "rework", "compromise", "unknown")
"""What counts as a hit by its grade, best first."""

_FAMILIES = {"capacitor": ("electrolytic", "tantalum", "ceramic", "film", "safety-cap", "capacitor")}
"""Kinds that may be meant by a kind that names only the family."""
_NUMBER = ',"part_number":'
_SORT = "what"
"""Names the sort of a listed part that the trade has rules for."""
_OTHER_NUMBER = "?"
"""Stands for a part number that is neither the wanted one nor on a list."""
_UNNUMBERED, _NUMBERED = 0, 1
_TURN = 50
MOST = 1_000
"""Makes of one kind judged for one query, whatever its text: some 70 ms (measured; our choice)."""


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


class Judged(Protocol):
    """How a candidate fits."""

    @property
    def grade(self) -> str:
        """One of the six grades."""

    @property
    def reasons(self) -> Sequence[JudgedReason]:
        """Why, attribute by attribute."""


Judge = Callable[[PartSpec, PartSpec], Judged]
"""Wanted and candidate to grade and reasons."""

Said = tuple[str, str]
"""Grade and why."""


class Verdicts(msgspec.Struct, frozen=True):
    """What a query's specs say of every make they may concern."""

    kinds: frozenset[str]
    """Kinds that were judged at all."""
    found: dict[int, Said]
    """{make: grade and why}; a make of these kinds that is not in it is refused for its value."""
    nearest: dict[int, int]
    """{make: rank of the best grade that any way to read the query gives it}"""
    partly: bool = False
    """Too many might serve, so only those the caller named were judged."""


NOTHING_SAID = Verdicts(frozenset(), {}, {})


class Makes:
    """All makes met so far. Only grows, so an older reader may go on using it; one thread at a time adds."""

    def __init__(self) -> None:
        self._known: dict[tuple[str, int], int] = {}
        self._specs: list[str] = []
        """As stored: a hundred thousand specs taken apart would be a million small objects for every collection."""
        self._kinds: list[str] = []
        self._values: dict[str, dict[tuple[float | None, str | None], list[int]]] = {}

    def __len__(self) -> int:
        return len(self._specs)

    def kind(self, make: int) -> str:
        """The kind of a make."""
        return self._kinds[make]

    def of_kind(self, kind: str) -> list[int]:
        """The makes of a kind."""
        return [make for makes in tuple(self._values.get(kind, {}).values()) for make in makes]

    def add(self, spec: str) -> tuple[int, str]:
        """The make of a spec in its stored form (JSON), and the part number the spec states."""
        place = spec.rfind(_NUMBER)
        stated = spec[place + len(_NUMBER) : -1] if place >= 0 else '""'
        plain = spec[:place] if place >= 0 else spec
        if plain.startswith('{"kind":"listed"'):
            plain = _traits(spec)
        key = (plain, _UNNUMBERED if stated == '""' else _NUMBERED)
        make = self._known.get(key)
        if make is None:
            make = self._known[key] = self._new(spec)
        return make, "" if stated == '""' else str(msgspec.json.decode(stated))

    def _new(self, text: str) -> int:
        spec = _decoded(text)
        self._specs.append(text)
        self._kinds.append(sys.intern(spec.kind))
        values = self._values.setdefault(spec.kind, {})
        values.setdefault(main_value(spec), []).append(len(self._specs) - 1)
        return len(self._specs) - 1

    def spec(self, make: int, number: str | None = None) -> PartSpec:
        """The spec of a make under a part number; None takes a number that is nobody's, where it has one."""
        spec = _decoded(self._specs[make])
        if number is None:
            number = _OTHER_NUMBER if spec.part_number else ""
        if spec.kind == "listed":
            stated = {"part_number": Value(number)} if number else {}
            return PartSpec("listed", _without_number(spec) | stated, part_number=number)
        return msgspec.structs.replace(spec, part_number=number)

    def judged(
        self,
        wanted: Sequence[PartSpec],
        judge: Judge,
        among: Callable[[], Iterable[int]],
        cancelled: Callable[[], bool] = lambda: False,
    ) -> Verdicts:
        """Judge every make that may serve any of the ways to read a query; of several ways none promises anything.

        A query that states no value leaves thousands; of more than `MOST` only those are judged that `among` names.
        """
        kinds: set[str] = set()
        found: dict[int, Said] = {}
        nearest: dict[int, int] = {}
        by: dict[int, set[int]] = {}
        partly = False

        def tell(make: int, way: int, verdict: Judged) -> None:
            by.setdefault(make, set()).add(way)
            told = said(verdict, sure=len(wanted) == 1)
            if make not in found or grade_rank(told[0]) < grade_rank(found[make][0]):
                found[make] = told
            rank = grade_rank(str(verdict.grade))
            nearest[make] = min(rank, nearest.get(make, rank))

        for way, spec in enumerate(wanted):
            for kind in self._related(spec, judge):
                kinds.add(kind)
                makes = list(self._near(spec, kind, judge))
                if len(makes) > MOST:
                    partly, named = True, set(among())
                    makes = [(make, known) for make, known in makes if make in named]
                for count, (make, known) in enumerate(makes):
                    if count % _TURN == 0 and cancelled():
                        return NOTHING_SAID
                    tell(make, way, known or judge(spec, self.spec(make)))
        for make, ways in by.items():  # refused is only what every way refuses, also one that it is far from
            for way in range(len(wanted)) if found[make][0] == "refuse" else ():
                if way not in ways:
                    tell(make, way, judge(wanted[way], self.spec(make)))
        return Verdicts(frozenset(kinds), found, nearest, partly)

    def _related(self, wanted: PartSpec, judge: Judge) -> Iterator[str]:
        """The kinds that may serve: the wanted one, and those of which one make is not refused for its kind alone."""
        for kind, values in tuple(self._values.items()):
            if kind == wanted.kind:
                yield kind
            elif wanted.kind == "listed":
                continue  # of other kinds only that very number serves, and numbers are asked apart
            elif wanted.kind in _FAMILIES or kind in _FAMILIES:
                if kind in _FAMILIES.get(wanted.kind, ()) or wanted.kind in _FAMILIES.get(kind, ()):
                    yield kind
            elif kind != "listed":
                judged = judge(wanted, self.spec(next(iter(values.values()))[0]))
                if judged.grade != "refuse" or any(reason.attribute != "kind" for reason in judged.reasons):
                    yield kind

    def _near(self, wanted: PartSpec, kind: str, judge: Judge) -> Iterator[tuple[int, Judged | None]]:
        """Makes of a kind whose main value is not far off or not stated; with a verdict where the value settles it."""
        value = main_value(wanted)
        name = MAIN.get(kind, ("", ""))[0]
        if kind == "listed" and (sort := wanted.word(_SORT)):
            yield from ((make, None) for make in self.of_kind(kind) if _decoded(self._specs[make]).word(_SORT) == sort)
            return
        for held, makes in tuple(self._values[kind].items()):
            if far_apart(value, held, kind):
                continue
            stated = _decoded(self._specs[makes[0]]).attributes.get(name)
            alone = judge(wanted, PartSpec(kind, {name: stated})) if stated is not None and len(makes) > 1 else None
            if alone is None or not _refused_for(name, alone):
                yield from ((make, None) for make in tuple(makes))
            else:
                own = f'"{name}":'
                yield from ((make, alone if own in self._specs[make] else None) for make in tuple(makes))


def _traits(text: str) -> str:
    """What a part known by its number states of its sort: nothing, unless the trade has rules for the sort."""
    spec = _decoded(text) if f'"{_SORT}":' in text else PartSpec("listed")
    held = _without_number(spec) if spec.word(_SORT) else {}
    return msgspec.json.encode(PartSpec("listed", held)).decode()


def _without_number(spec: PartSpec) -> dict[str, Value]:
    if not spec.word(_SORT):
        return {}
    return {name: held for name, held in spec.attributes.items() if name != "part_number"}


def _decoded(text: str) -> PartSpec:
    return msgspec.json.decode(text, type=PartSpec)


def grade_rank(grade: str) -> int:
    """The place of a grade, the smaller the better; a refusal comes last."""
    return GRADES.index(grade) if grade in GRADES else len(GRADES)


def said(judged: Judged, *, sure: bool) -> Said:
    """Grade and why of a verdict; where the query leaves open what is meant, nothing better than unknown."""
    grade = str(judged.grade)
    if not sure and grade != "refuse":
        return "unknown", "the query leaves open which part is meant"
    reason = next((one for one in judged.reasons if str(one.result) == grade), None)
    if reason is None or grade == "exact":
        return grade, "everything stated agrees" if grade == "exact" else ""
    return grade, f"{reason.attribute.replace('_', ' ')}: {reason.why}"


def _refused_for(name: str, judged: Judged) -> bool:
    return any(reason.attribute == name and str(reason.result) == "refuse" for reason in judged.reasons)
