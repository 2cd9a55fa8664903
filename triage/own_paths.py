"""A person's own signal paths: a chain typed in one line, as test points and parts, added to the class of a unit.

`tuner out > C12 coupling > top of volume > volume > wiper` has a point, the part behind it, the next point, and so on.
A part that the class knows by its fault or by its name is that fault; any other becomes a suspect of its own, which
needs that part and can be ordered like every other.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import msgspec

from catalog.text import Refused, clean_line
from triage.device_classes.schema import DeviceClass, Fault, Part, Path, PathPoint
from triage.lot import model_form

OWN_PRIOR: Final = 0.05
"""Chance of a part of one's own to be at fault before anything is seen (from memory: one part among twenty)."""
OWN_SUCCESS: Final = 0.9
"""Chance that changing it cures it (from memory)."""
OWN_MINUTES: Final = 30.0
"""Minutes to change it, opening included (from memory)."""
OWN_COST: Final = 1.0
"""Cost of it in currency units until it is described (from memory)."""
POINT_MINUTES: Final = 2.0
"""Minutes of one probe (common practice)."""
MOST_POINTS: Final = 40
OUTSIDE: Final = "(outside)"
"""Behind a point that is reached with the case closed."""


class OwnPath(msgspec.Struct, frozen=True):
    """One chain of the person's own, for a class, and for one model of it where that is said."""

    id: int
    device_class: str
    model: str
    """Empty for every unit of the class."""
    name: str
    chain: str
    tools: tuple[str, ...] = ()
    """What it takes to probe any of its points."""

    @property
    def path_id(self) -> str:
        """Id of the path in the class of a unit."""
        return f"own_{self.id}"

    def serves(self, device_class: str, model: str) -> bool:
        """Whether a unit of that class and model has this path."""
        return self.device_class == device_class and (not self.model or model_form(self.model) == model_form(model))


class Chain(msgspec.Struct, frozen=True):
    """A typed chain: points, and the parts between each pair."""

    points: tuple[str, ...]
    parts: tuple[tuple[str, ...], ...]


def read_chain(text: str) -> Chain:
    """Take a typed chain apart; several parts between two points are separated by a slash with blanks, ` / `.

    Raises:
        Refused: it does not begin and end with a point, a piece is empty, it is too long, or a point stands twice.
    """
    pieces = [clean_line(piece) for piece in clean_line(text).split(">")]
    if len(pieces) < 3 or len(pieces) % 2 == 0:
        raise Refused("expected point > part > point, and so on: it begins and ends with a test point", where="chain")
    if not all(pieces):
        raise Refused("there is nothing between two >; name the point or the part", where="chain")
    points, between = tuple(pieces[::2]), tuple(pieces[1::2])
    if len(points) > MOST_POINTS:
        raise Refused(f"{len(points)} points; at most {MOST_POINTS}", where="chain")
    seen: set[str] = set()
    for point in points:
        if point.casefold() in seen:
            raise Refused(f"“{point}” stands twice; each point has its own name", where="chain")
        seen.add(point.casefold())
    parts = tuple(tuple(filter(None, (clean_line(one) for one in each.split(" / ")))) for each in between)
    return Chain(points, parts)


def with_own_paths(device_class: DeviceClass, paths: Sequence[OwnPath]) -> DeviceClass:
    """The class with the person's own paths, and the suspects and parts that only they name."""
    faults, parts, added = list(device_class.faults), list(device_class.parts), list(device_class.paths)
    for own in paths:
        try:
            chain = read_chain(own.chain)
        except Refused:  # a bench file made by hand; `verify` names the row
            continue
        between = []
        for place, words in enumerate(chain.parts):
            stretch = []
            for nth, word in enumerate(words):
                known = _known(device_class, word)
                if not known:
                    known = f"{own.path_id}_{place}_{nth}"
                    faults.append(_fault(known, word))
                    parts.append(_part(known, word))
                stretch.append(known)
            between.append(tuple(stretch))
        points = tuple(_points(chain, own))
        added.append(Path(own.path_id, own.name, "P", points, tuple(between)))
    return msgspec.structs.replace(device_class, faults=tuple(faults), parts=tuple(parts), paths=tuple(added))


def _points(chain: Chain, own: OwnPath) -> Iterator[PathPoint]:
    for place, point in enumerate(chain.points):
        at = clean_line(point.removesuffix(OUTSIDE))
        state = "closed" if point.endswith(OUTSIDE) else "opened"
        yield PathPoint(f"p{place}", at, POINT_MINUTES, state=state, tools=own.tools)  # type: ignore[arg-type]


def _known(device_class: DeviceClass, word: str) -> str:
    """The fault of the class that a part's name stands for; empty when there is none."""
    said = word.casefold()
    for fault in device_class.faults:
        if said in {fault.id, fault.what.casefold()}:
            return fault.id
    for part in device_class.parts:
        serving = [fault.id for fault in device_class.faults if part.id in fault.needs]
        if said in {part.id, part.name.casefold()} and len(serving) == 1:
            return serving[0]
    return ""


def _fault(fault_id: str, what: str) -> Fault:
    return Fault(
        id=fault_id,
        what=what,
        origin="P",
        minutes=OWN_MINUTES,
        skill=2,
        risk="M",
        success=OWN_SUCCESS,
        prior=OWN_PRIOR,
        needs=(fault_id,),
        minutes_include_opening=True,
    )


def _part(part_id: str, name: str) -> Part:
    return Part(id=part_id, name=name, kind="listed", origin="P", typical_cost=OWN_COST, consumable=True)
