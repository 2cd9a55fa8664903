"""The drawer as places: what lies where, for whom, counting a place by hand, and moving lines to another place.

A place is free text such as `drawer 1, box A`; capitals make no difference. An empty one is where nothing was said.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import msgspec

from catalog import store
from catalog.pricelists import part_key
from catalog.text import Refused, clean_line
from triage.actions.parts import checked, get_part, list_parts, name_of
from triage.actions.promises import Promise, freed_by, keep_within, promises, waiting_again
from triage.bench_file import BenchFile, in_one_transaction
from triage.lot import SetAside

NO_PLACE = "no place stated"
"""How the empty place is written."""
MOST_PIECES = 1_000_000_000


class PlaceSum(msgspec.Struct, frozen=True):
    """One place with the number of its lines, the pieces that lie there, and how many of them are promised."""

    place: str
    lines: int
    pieces: int
    promised: int


class DrawerLine(msgspec.Struct, frozen=True):
    """One line of the drawer: what it is, how many are held, and to whom they are promised."""

    part: int
    name: str
    place: str
    held: int
    promised: tuple[Promise, ...]

    @property
    def free(self) -> int:
        """Pieces that are promised to nobody; never below none."""
        return max(0, self.held - sum(item.pieces for item in self.promised))


class Changed(msgspec.Struct, frozen=True):
    """One line whose count was changed."""

    part: int
    name: str
    before: int
    now: int

    def __str__(self) -> str:
        return f"{self.name}: {self.before} → {self.now}"


class Counted(msgspec.Struct, frozen=True):
    """What counting changed, and what follows from it."""

    changed: tuple[Changed, ...]
    waiting: tuple[str, ...]
    """In words, the units that wait again because fewer lie there than were promised."""

    @property
    def told(self) -> str:
        """All of it in one line."""
        said = "; ".join(map(str, self.changed)) or "everything as it was noted"
        return "; ".join((said, *self.waiting))


def places(bench: BenchFile) -> tuple[PlaceSum, ...]:
    """Every place in which parts lie, in the order of their names, the empty one last."""
    promised = promises(bench)
    lines: dict[str, list[store.Part]] = {}
    for part in list_parts(bench):
        lines.setdefault(part.place.casefold(), []).append(part)
    return tuple(
        PlaceSum(
            place=held[0].place,
            lines=len(held),
            pieces=sum(part.quantity for part in held),
            promised=sum(item.pieces for part in held for item in promised.get(part.id, ())),
        )
        for _, held in sorted(lines.items(), key=lambda entry: (not entry[0], entry[0]))
    )


def lines_of(bench: BenchFile, place: str) -> tuple[DrawerLine, ...]:
    """The lines of one place, oldest first.

    Raises:
        Refused: nothing lies in a place of that name.
    """
    promised = promises(bench)
    return tuple(_line(part, promised.get(part.id, ())) for part in _parts_in(bench, place))


@in_one_transaction
def count_place(bench: BenchFile, place: str, counted: Mapping[int, int]) -> Counted:
    """Note how many were counted of the lines of one place, {part id: pieces}, all as one event.

    A line that is not named keeps what is noted. Where fewer lie there than are promised, the youngest promises are
    let go. Nothing is written where nothing changes.

    Raises:
        Refused: no such place, a part that does not lie there, or no number of pieces; nothing was changed.
    """
    held = {part.id: part for part in _parts_in(bench, place)}
    for part_id in counted:
        if part_id not in held:
            lies = get_part(bench, part_id).place or NO_PLACE
            raise Refused(f"it does not lie there but in: {lies}", where=f"part {part_id}")
    return _count(bench, [held[part_id] for part_id in sorted(counted)], counted, f"counted {_word(place)}")


@in_one_transaction
def count_more(bench: BenchFile, part_id: int, by: int) -> Counted:
    """`by` pieces more (or fewer) of one part than are noted, never below none; raises Refused for no such part."""
    part = get_part(bench, part_id)
    return _count(bench, [part], {part_id: max(0, part.quantity + by)}, "counted")


@in_one_transaction
def move_lines(bench: BenchFile, part_ids: Iterable[int], place: str) -> tuple[store.Part, ...]:
    """These lines lie in another place from now on; one event. Returns those that moved, as they are now.

    Raises:
        Refused: no such part, or the same thing lies there already on a line of its own; nothing was changed.
    """
    words = clean_line(place)
    was = [get_part(bench, part_id) for part_id in dict.fromkeys(part_ids)]
    if not was:
        raise Refused("name at least one part", where="part")
    moved = [checked(bench, msgspec.structs.replace(part, place=words)) for part in was if part.place != words]
    if not moved:
        return ()
    keys = {part_key(part.part_number, part.description, part.place) for part in moved}
    if len(keys) < len(moved):
        raise Refused("two of them would be the same line there; move one and count both as that one", where="part")
    what = name_of(moved[0]) if len(moved) == 1 else f"{len(moved)} lines"
    summary = clean_line(f"{what} moved to {_word(words)}", 200)
    with bench.journal.event("drawer_move", summary, at=bench.now()) as recorder:
        for part in moved:
            recorder.update("parts", part.id, {"place": part.place})
    return tuple(moved)


def consequences(bench: BenchFile, counted: Mapping[int, int]) -> Counted:
    """What noting these counts would change, without changing anything; raises Refused for no such part."""
    return _consequences(bench, [get_part(bench, part_id) for part_id in counted], counted)


def _consequences(bench: BenchFile, parts: Iterable[store.Part], counted: Mapping[int, int]) -> Counted:
    changed: list[Changed] = []
    freed: list[SetAside] = []
    for part in parts:
        pieces = counted[part.id]
        if not 0 <= pieces <= MOST_PIECES:
            raise Refused("expected no or more pieces", where=f"part {part.id}")
        if pieces != part.quantity:
            changed.append(Changed(part.id, part.name, part.quantity, pieces))
            freed += freed_by(bench, part.id, pieces)
    return Counted(tuple(changed), waiting_again(bench, freed))


def _count(bench: BenchFile, parts: list[store.Part], counted: Mapping[int, int], did: str) -> Counted:
    found = _consequences(bench, parts, counted)
    if found.changed:
        with bench.journal.event("drawer_count", clean_line(f"{did}: {found.told}", 300), at=bench.now()) as recorder:
            for one in found.changed:
                recorder.update("parts", one.part, {"quantity": one.now})
                keep_within(bench, recorder, one.part, one.now)
    return found


def _parts_in(bench: BenchFile, place: str) -> list[store.Part]:
    key = clean_line(place).casefold()
    found = [part for part in list_parts(bench) if part.place.casefold() == key]
    if not found:
        raise Refused("nothing lies in a place of that name; `lotwright parts places` lists them", where=_word(place))
    return found


def _line(part: store.Part, promised: tuple[Promise, ...]) -> DrawerLine:
    return DrawerLine(part.id, part.name, part.place, part.quantity, promised)


def _word(place: str) -> str:
    return f"“{clean_line(place, 80)}”" if clean_line(place) else f"“{NO_PLACE}”"
