"""What probing along a signal path says of the faults: happenings of kind `probe` as events of the diagnosis.

A probe alone says little of one part. What counts is the stretch between two probed points: the same before and behind
it clears every part in between, worse behind it blames them; behind a point where the signal is gone nothing was
tested. So each probed point gives one event, about the stretch that ends in it. A repair on the path starts afresh:
what was probed before it goes on speaking of the unit as it was then.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Final, Literal, TypeAlias

import msgspec

from catalog.text import Refused, clean_line
from triage.device_classes.schema import Check as ClassCheck
from triage.device_classes.schema import DeviceClass, Path, PathPoint
from triage.diagnosis.network import Answered, Check
from triage.lot import Happening

Level: TypeAlias = Literal["there", "weak", "gone"]
LEVELS: Final[tuple[Level, ...]] = ("gone", "weak", "there")
"""From nothing to as it should be."""

Probed: TypeAlias = Literal["there", "weak", "gone", "cant_tell"]
PROBED: Final[dict[str, Probed]] = {
    "y": "there",
    "yes": "there",
    "there": "there",
    "signal": "there",
    "w": "weak",
    "weak": "weak",
    "n": "gone",
    "no": "gone",
    "gone": "gone",
    "no_signal": "gone",
    "c": "cant_tell",
    "cant_tell": "cant_tell",
}
"""What may be pressed or typed for what is seen at a test point."""

STOPS: Final = 0.9
"""Chance that a fault of a stretch shows behind it, where no check at a point of the path says (from memory)."""
LEAK: Final = 0.01
"""Chance that a stretch is bad by what is not listed, a joint or a track (from memory)."""
UNPROVEN: Final = 0.1
"""The same from the source on, where it was not looked at and nothing is listed before the path (from memory)."""
PERSISTENCE: Final = 0.8
"""Share of the chance that stays the same when a point is probed again after a repair, as in class files."""
SLIP: Final = 0.01
"""Chance that a probe says the opposite of that lasting state (from memory)."""


class Seen(msgspec.Struct, frozen=True):
    """What was last seen at one point: the level, and the place of the happening that said so."""

    level: Level
    index: int
    by_check: bool = False
    """True where a check that looks at the same thing said it: that answer is evidence of its own."""


class Run(msgspec.Struct):
    """What was seen along a path since the last work on it, by place of the point."""

    seen: dict[int, Seen] = {}
    cannot: set[int] = set()
    """Points where it could not be told, and where nothing was seen since."""


def subject_of(path: Path, point: PathPoint) -> str:
    """How a happening names a point; no check has a dot in its id."""
    return f"{path.id}.{point.id}"


def point_named(device_class: DeviceClass, subject: str) -> tuple[Path, int] | None:
    """The path and the place of the point that a happening names; None where the class has no such point (any more)."""
    path_id, dot, point_id = subject.partition(".")
    for path in device_class.paths if dot else ():
        if path.id == path_id:
            return next(((path, place) for place, point in enumerate(path.points) if point.id == point_id), None)
    return None


def probed(said: str, where: str) -> Probed:
    """What was seen at a test point, from a word or key of `PROBED`; raises Refused for another."""
    word = PROBED.get(clean_line(said, 40).casefold().replace("'", "").replace(" ", "_"))
    if word is None:
        raise Refused("expected y (signal), n (no signal), w (weak) or c (can't tell)", where=where)
    return word


def probe_look(path: Path, point: PathPoint) -> ClassCheck:
    """A probe as a look, so that every lock and caution of looks holds for it: the set is powered, the point live."""
    return ClassCheck(
        id=subject_of(path, point),
        question=f"Signal at {point.at}?",
        good="yes",
        do="",
        origin=path.origin,
        state=point.state,
        minutes=point.minutes,
        leak=LEAK,
        fails={},
        powered=True,
        tools=point.tools,
        permission=point.permission,
    )


def runs_of(device_class: DeviceClass, path: Path, happenings: Sequence[Happening]) -> list[Run]:
    """What was seen along the path, one run for each time between two works on it; the last is the present one."""
    places = {subject_of(path, point): place for place, point in enumerate(path.points)}
    linked: dict[str, list[int]] = {}
    for place, point in enumerate(path.points):
        if point.check:
            linked.setdefault(point.check, []).append(place)
    cures = {check.id: check.cures for check in device_class.checks}
    concerned = concerned_by(path)
    runs = [Run()]
    for index, item in enumerate(happenings):
        if item.kind == "probe" and item.subject in places:
            place = places[item.subject]
            if item.answer in LEVELS:
                runs[-1].seen[place] = Seen(item.answer, index)
                runs[-1].cannot.discard(place)
            elif place not in runs[-1].seen:
                runs[-1].cannot.add(place)
        elif item.kind in {"answer", "reading"} and item.answer in {"good", "bad"}:
            for place in linked.get(item.subject, ()):
                runs[-1].seen[place] = Seen("there" if item.answer == "good" else "gone", index, by_check=True)
        if _works_on(item, concerned, cures):
            runs.append(Run())
    return runs


def concerned_by(path: Path) -> frozenset[str]:
    """The faults that a path may show."""
    return frozenset((*path.before, *(fault for stretch in path.between for fault in stretch)))


def lasting(run: Run) -> list[tuple[int, Seen]]:
    """The points of a run that no better one further on speaks against, from the source on.

    A signal does not come back behind a point where it was gone: then that probe slipped.
    """
    kept: list[tuple[int, Seen]] = []
    for place, seen in sorted(run.seen.items()):
        while kept and LEVELS.index(kept[-1][1].level) < LEVELS.index(seen.level):
            kept.pop()
        kept.append((place, seen))
    return kept


def probe_events(device_class: DeviceClass, happenings: Sequence[Happening]) -> dict[int, Answered]:
    """{place of the happening: its event}; exactly one for every probe of a point that the class has."""
    events: dict[int, Answered] = {}
    for index, item in enumerate(happenings):
        if item.kind == "probe" and (named := point_named(device_class, item.subject)) is not None:
            events[index] = Answered(_stretch_id(named[0], None, named[1]), "cant_tell")
    if events:
        for path in device_class.paths:
            for run in runs_of(device_class, path, happenings):
                events.update(_events_of_run(path, run))
    return events


def stretch_checks(device_class: DeviceClass, happenings: Sequence[Happening]) -> tuple[Check, ...]:
    """The stretches that `probe_events` speaks of, as checks of the network."""
    named = {event.check for event in probe_events(device_class, happenings).values()}
    if not named:
        return ()
    return tuple(check for path in device_class.paths for check in _stretches(device_class, path) if check.id in named)


def _events_of_run(path: Path, run: Run) -> Iterator[tuple[int, Answered]]:
    for place, seen in run.seen.items():
        if seen.by_check:
            continue
        before = [(other, run.seen[other]) for other in sorted(run.seen) if other < place]
        if seen.level == "gone":
            start = before[-1] if before else None
            if start is not None and start[1].level == "gone":
                continue  # behind where it is gone nothing was tested
        else:  # a signal that is here was so all the way: the last point that was not worse
            start = next(
                (one for one in reversed(before) if LEVELS.index(one[1].level) >= LEVELS.index(seen.level)), None
            )
        good = seen.level == ("there" if start is None else start[1].level)
        stretch = _stretch_id(path, None if start is None else start[0], place)
        yield seen.index, Answered(stretch, "good" if good else "bad")


def shows_between(device_class: DeviceClass, path: Path, start: int, end: int) -> tuple[dict[str, float], float]:
    """How often each fault between two points shows at the second, and the chance that something unlisted does.

    `start` is -1 for the source, `end` the number of points for all that lies behind the last.
    """
    shown = shown_by_checks(device_class, path)
    faults = [*(path.before if start < 0 else ())]
    faults += [fault for stretch in path.between[max(start, 0) : end] for fault in stretch]
    unproven = start < 0 and not path.before
    return {fault: shown.get(fault, STOPS) for fault in faults}, UNPROVEN if unproven else LEAK


def _stretches(device_class: DeviceClass, path: Path) -> Iterator[Check]:
    for place in range(len(path.points)):
        for start in (-1, *range(place)):
            links, leak = shows_between(device_class, path, start, place)
            yield Check(
                id=_stretch_id(path, None if start < 0 else start, place),
                leak=leak,
                links=links,
                persistence=PERSISTENCE,
                flip=SLIP,
            )


def shown_by_checks(device_class: DeviceClass, path: Path) -> dict[str, float]:
    """How often each fault shows in the checks that look at a point of the path."""
    shown: dict[str, float] = {}
    for check in device_class.checks:
        if any(point.check == check.id for point in path.points):
            for fault, strength in check.fails.items():
                shown[fault] = max(strength, shown.get(fault, 0.0))
    return shown


def _stretch_id(path: Path, start: int | None, end: int) -> str:
    return f"{path.id}.{'' if start is None else path.points[start].id}>{path.points[end].id}"


def _works_on(item: Happening, concerned: Collection[str], cures: Mapping[str, Sequence[str]]) -> bool:
    """Whether a happening may have changed what the path lets through."""
    if item.kind == "repair":
        return any(fault in concerned for fault in item.subject.split())
    if item.kind == "lift":
        return True
    answered = item.kind in {"answer", "reading"} and item.answer not in {"not_tested", "does_not_apply"}
    return answered and any(fault in concerned for fault in cures.get(item.subject, ()))
