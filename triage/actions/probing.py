"""Following a signal on a unit: what was probed, the point to probe next, and one probe noted.

A probe is one happening, kept before the next point is shown. What looks are held back by holds back probes too.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import msgspec

from catalog.text import Refused, clean_line
from triage import store
from triage.actions import looks
from triage.actions.holding import may_probe
from triage.actions.studies import case_of_unit, study_of
from triage.actions.telling import PROBED_WORDS
from triage.actions.unit_view import cautions_of
from triage.bench_file import BenchFile, in_one_transaction
from triage.device_classes.schema import Check, DeviceClass, Hazard, Path
from triage.locks import Locked, lock_of, unasked
from triage.lot import Happening
from triage.outlook import check_minutes
from triage.path_evidence import LEVELS, UNPROVEN, Run, lasting, probe_look, probed, runs_of
from triage.plans import Case
from triage.study import Study
from triage.tracing import Gap, NextPoint, first_bad, gaps, next_point


class PointView(msgspec.Struct, frozen=True):
    """One test point."""

    point: str
    at: str
    minutes: float
    """Attended minutes, opening included where that is still to do."""
    level: str
    """there, weak, gone; empty while it was not probed."""
    opened: bool
    locked: str
    """Why it may not be probed now; empty when it may."""
    check: str
    """The check of the class that looks at the same thing."""
    ask_first: Hazard | None
    """A hazard to be asked about before it is probed."""


class StretchView(msgspec.Struct, frozen=True):
    """What lies between two neighbouring points."""

    faults: tuple[str, ...]
    what: tuple[str, ...]
    chance: float
    """That one of them is there now."""


class TraceView(msgspec.Struct, frozen=True):
    """One path of one unit."""

    unit: int
    path: str
    name: str
    paths: tuple[tuple[str, str], ...]
    """(id, name) of every path of the unit."""
    points: tuple[PointView, ...]
    stretches: tuple[StretchView, ...]
    """One fewer than points."""
    next: int | None
    """Place of the point to probe next; None when nothing is left to probe."""
    minutes: float
    """Expected minutes from the next point on until one stretch is left."""
    edges: tuple[int, ...]
    """Where the next point lies: the last point with a better signal, -1 for the source; the points that may be probed;
    the first point with a worse one, the number of points where none is. Empty where next is None."""
    found: tuple[tuple[int, int], ...]
    """(point, next point) between which the signal gets worse; -1 for before the first."""
    told: str
    """What is known now, in one line."""
    cautions: tuple[str, ...]
    """Standing cautions and those of hazards in force; first on the screen."""

    @property
    def ask_first(self) -> Hazard | None:
        """A hazard to be asked about before the next point is probed."""
        return None if self.next is None else self.points[self.next].ask_first


def trace_view(bench: BenchFile, number: int, path_id: str = "") -> TraceView:
    """One path of a unit as it stands; without a path the one that the likeliest suspects lie on.

    Raises:
        Refused: no such unit or path, its class is in doubt, or it has no path.
    """
    found = study_of(bench, number)
    path = _path(found, path_id)
    run = runs_of(found.device_class, path, found.facts.happenings)[-1]
    points = tuple(_point(found, path, place, run) for place in range(len(path.points)))
    stretches = tuple(
        StretchView(
            faults=between,
            what=tuple(found.device_class.fault(fault).what for fault in between),
            chance=_any_of(found, between),
        )
        for between in path.between
    )
    where = gaps([(place, LEVELS.index(seen.level)) for place, seen in lasting(run)], len(points))
    costs = _costs(found, points, run)
    best = _next(found, path, points, where, costs)
    return TraceView(
        unit=number,
        path=path.id,
        name=path.name,
        paths=tuple((one.id, one.name) for one in found.device_class.paths),
        points=points,
        stretches=stretches,
        next=best.point if best is not None else None,
        minutes=best.cost if best is not None else 0.0,
        edges=_edges(where, costs, best) if best is not None else (),
        found=tuple((gap.start, gap.end) for gap in where if gap.end < len(points)),
        told=_told(points, stretches, where, best),
        cautions=cautions_of(found),
    )


def worth_following(bench: BenchFile, number: int) -> tuple[TraceView, ...]:
    """The paths on which a point may be probed that has a suspect stretch on either side, likeliest first."""
    found = study_of(bench, number)
    views = [trace_view(bench, number, path.id) for path in found.device_class.paths]
    worth = [view for view in views if view.next is not None and _tells_apart(view)]
    return tuple(sorted(worth, key=lambda view: -max(stretch.chance for stretch in view.stretches)))


def _tells_apart(view: TraceView) -> bool:
    suspect = [place for place, stretch in enumerate(view.stretches) if stretch.chance >= SUSPECT]
    return any(
        suspect[0] < place <= suspect[-1]
        for place, point in enumerate(view.points)
        if suspect and not point.locked and not point.level
    )


SUSPECT = 0.1
"""From this chance on a stretch counts as suspect (our choice)."""


@in_one_transaction
def probe(
    bench: BenchFile, number: int, path_id: str, point_id: str, said: str, *, minutes: float | None = None
) -> Happening:
    """Note what was seen at one point: signal, no signal, weak, or can't tell.

    Where a check of the class looks at the same thing, the answer is that check's.

    Args:
        bench: the open bench file.
        number: the unit.
        path_id: the path.
        point_id: the point.
        said: a word or key of `path_evidence.PROBED`.
        minutes: what it took; None counts the minutes of the point.

    Raises:
        Refused: no such unit, path or point, it is locked, or the word is not understood.
    """
    case = case_of_unit(bench, number)
    path = _named_path(case.device_class, path_id, number)
    point = next((one for one in path.points if one.id == point_id), None)
    where = f"unit {number}.{path.id}"
    if point is None:
        known = ", ".join(one.id for one in path.points)
        raise Refused(f"no point of that name; known are {known}", where=f"{where}.{clean_line(point_id, 40)}")
    word = probed(said, f"{where}.{point.id}")
    if point.check:
        told = {"there": "good", "cant_tell": "c"}.get(word, "bad")
        return looks.answer(bench, number, point.check, told, minutes=minutes)
    look = probe_look(path, point)
    may_probe(case, look, number)
    spent = check_minutes(case, look) if minutes is None else minutes
    seen = Happening(0, number, bench.now(), "probe", look.id, word, None, clean_line(said, 40), spent)
    summary = f"unit {number}: {path.name}, {point.at}: {PROBED_WORDS[word]}"
    with bench.journal.event("probe", clean_line(summary, 200), at=bench.now(), unit=number) as recorder:
        if point.state == "opened" and not case.state.case_open:
            store.save(recorder, "happenings", Happening(0, number, bench.now(), "case", "", "opened"))
        row_id = store.save(recorder, "happenings", seen)
    return msgspec.structs.replace(seen, id=row_id)


def _path(found: Study, path_id: str) -> Path:
    paths = found.device_class.paths
    number = found.facts.unit.number
    if not paths:
        raise Refused("this class has no signal path", where=f"unit {number}")
    if path_id:
        return _named_path(found.device_class, path_id, number)
    return max(paths, key=lambda path: max(_any_of(found, between) for between in path.between))


def _named_path(device_class: DeviceClass, path_id: str, number: int) -> Path:
    try:
        return device_class.path(path_id)
    except KeyError:
        known = ", ".join(path.id for path in device_class.paths) or "none"
        where = f"unit {number}.{clean_line(path_id, 40)}"
        raise Refused(f"no path of that name; known are {known}", where=where) from None


def _look_of(case: Case, path: Path, place: int) -> Check:
    point = path.points[place]
    return case.device_class.check(point.check) if point.check else probe_look(path, point)


def _point(found: Study, path: Path, place: int, run: Run) -> PointView:
    case, point, look = found.case, path.points[place], _look_of(found.case, path, place)
    locked: Locked | None = lock_of(case.device_class, look, case.state, case.means, case.record)
    seen = run.seen.get(place)
    return PointView(
        point=point.id,
        at=point.at,
        minutes=check_minutes(case, look),
        level=seen.level if seen is not None else "",
        opened=look.state == "opened",
        locked="" if locked is None or (locked.kind == "answered" and seen is not None) else locked.why,
        check=point.check,
        ask_first=next(
            iter(unasked(case.device_class, case.state, look.held_by(), opening=look.state == "opened")), None
        ),
    )


def _any_of(found: Study, faults: tuple[str, ...]) -> float:
    """Chance that one of several faults is there now, as if they were independent."""
    none = 1.0
    for fault in faults:
        none *= 1.0 - found.belief.present.get(fault, 0.0)
    return 1.0 - none


def _costs(found: Study, points: Sequence[PointView], run: Run) -> dict[int, float]:
    """Minutes of the points that may still be probed, by place, opening left out."""
    opening = 0.0 if found.state.case_open else found.device_class.open_minutes
    return {
        place: point.minutes - (opening if point.opened else 0.0)
        for place, point in enumerate(points)
        if not point.locked and not point.level and place not in run.cannot
    }


def _next(
    found: Study, path: Path, points: Sequence[PointView], where: Sequence[Gap], costs: Mapping[int, float]
) -> NextPoint | None:
    """The point to probe: in the first gap, source first, that a probe can still make smaller."""
    ahead = _any_of(found, path.before) if path.before else UNPROVEN
    weights = first_bad([ahead, *(_any_of(found, between) for between in path.between)])
    opening = 0.0 if found.state.case_open else found.device_class.open_minutes
    inside = [place for place, point in enumerate(points) if point.opened]
    proposed = (next_point(gap, weights, costs, inside=inside, opening=opening) for gap in where)
    return next((best for best in proposed if best is not None), None)


def _edges(where: Sequence[Gap], costs: Mapping[int, float], best: NextPoint) -> tuple[int, ...]:
    gap = next(gap for gap in where if gap.start < best.point < gap.end)
    return (gap.start, *(place for place in sorted(costs) if gap.start < place < gap.end), gap.end)


def _told(
    points: Sequence[PointView], stretches: Sequence[StretchView], where: Sequence[Gap], best: NextPoint | None
) -> str:
    settled = [gap for gap in where if best is None or not gap.start < best.point < gap.end]
    told = [_settled(points, stretches, gap) for gap in settled]
    if best is not None:
        told.append(f"next {points[best.point].at}; about {best.cost:.0f} min until nothing more can be told apart")
    return "; ".join(told)


def _settled(points: Sequence[PointView], stretches: Sequence[StretchView], gap: Gap) -> str:
    """A gap that no probe makes smaller, in words."""
    if gap.end == len(points):
        if gap.start == len(points) - 1:
            return "the signal comes through to the end: the fault is not on this path"
        if gap.start < 0:
            return "no point may be probed now"
        return f"it is there at {points[gap.start].at}, and no point behind it may be probed now"
    if gap.end == 0:
        return f"it is missing at {points[0].at} already: look ahead of this path"
    word = "weaker" if points[gap.end].level == "weak" else "gone"
    what = " or ".join(part for stretch in stretches[max(gap.start, 0) : gap.end] for part in stretch.what)
    if gap.start < 0:
        return f"{word} at {points[gap.end].at}: ahead of this path, or {what}"
    return f"in at {points[gap.start].at}, {word} at {points[gap.end].at}: {what}"
