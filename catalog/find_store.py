"""What finding needs of the bench file: light rows of everything that can be found, and what changed since an event.

Only loads. Every change of a part, of a supplier's list in force or of a pair goes through the journal, whichever
process makes it, and the journal only grows: its last event tells what an index rests on, and the events after it tell
which of its entries to read again.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import TYPE_CHECKING, Literal

import msgspec
from sqlite_utils import Database

from catalog import journal_blocks
from catalog.search import Words
from catalog.unread import broken

if TYPE_CHECKING:
    from catalog.segments import Row

_OFFER_BIT = 1 << 40
_AT_ONCE = 500
_OWN_WORDS = ("pairs", "own_rules")
_PARTS = "SELECT id, part_number, spec, quantity > 0, search, left_over FROM parts"
_IN_FORCE = "FROM offers JOIN suppliers ON suppliers.id = offers.supplier AND suppliers.price_batch = offers.batch"
_OFFERS = f"SELECT offers.id, offers.part_number, offers.spec, 0, offers.search, '' {_IN_FORCE}"


class Moment(msgspec.Struct, frozen=True):
    """The last event of the journal; an empty journal has number 0."""

    event: int
    at: str


class Changed(msgspec.Struct, frozen=True):
    """What changed since a moment: keys of entries that may be other, new or gone; whether own pairs or rules did."""

    keys: frozenset[int]
    own_words: bool


def key_of(source: str, number: int) -> int:
    """The key of a part or an offer: parts come before offers, each by their number."""
    return number | (_OFFER_BIT if source == "offer" else 0)


def of_key(key: int) -> tuple[str, int]:
    """`part` or `offer`, and its number."""
    return ("offer" if key & _OFFER_BIT else "part"), key & (_OFFER_BIT - 1)


def now(database: Database) -> Moment:
    """The moment the file is at."""
    row = database.conn.execute("SELECT id, at FROM journal ORDER BY id DESC LIMIT 1").fetchone()
    return Moment(*row) if row else Moment(0, "")


def holds(database: Database, moment: Moment) -> bool:
    """Whether the moment is one of this journal's."""
    row = database.conn.execute("SELECT at FROM journal WHERE id = ?", (moment.event,)).fetchone()
    return moment.event == 0 or (row is not None and row[0] == moment.at)


def count(database: Database) -> int:
    """How many entries there are."""
    parts = database.conn.execute("SELECT count(*) FROM parts").fetchone()[0]
    offers = database.conn.execute(f"SELECT count(*) {_IN_FORCE}").fetchone()[0]
    return int(parts) + int(offers)


def rows(database: Database) -> Iterator[Row]:
    """Every part, then every offer in force, in the order of their keys."""
    yield from _rows(database, "part", f"{_PARTS} ORDER BY id")
    yield from _rows(database, "offer", f"{_OFFERS} ORDER BY offers.id")


def rows_of(database: Database, keys: Collection[int]) -> Iterator[Row]:
    """Those of these entries that there are; an offer only while it is in force; in the order of keys."""
    for source, select in (("part", f"{_PARTS} WHERE id"), ("offer", f"{_OFFERS} WHERE offers.id")):
        ids = sorted(number for key in keys for whose, number in (of_key(key),) if whose == source)
        for start in range(0, len(ids), _AT_ONCE):
            some = ids[start : start + _AT_ONCE]
            among = f"{select} IN ({', '.join('?' * len(some))}) ORDER BY 1"
            yield from _rows(database, source, among, some)


def texts_of(database: Database, keys: Collection[int]) -> dict[int, Words]:
    """What is written of those of these entries that there are."""
    found: dict[int, Words] = {}
    tables: tuple[tuple[Literal["part", "offer"], str], ...] = (("part", "parts"), ("offer", "offers"))
    for source, table in tables:
        ids = [number for key in keys for whose, number in (of_key(key),) if whose == source]
        for start in range(0, len(ids), _AT_ONCE):
            some = ids[start : start + _AT_ONCE]
            marks = ", ".join("?" * len(some))
            rows = database.conn.execute(
                f"SELECT id, part_number, description, kind, left_over FROM {table} WHERE id IN ({marks})",  # noqa: S608 - ours
                some,
            )
            for number, part_number, description, kind, left_over in rows:
                found[key_of(source, number)] = Words(
                    source=source,
                    id=number,
                    part_number=part_number,
                    description=description,
                    kind=kind,
                    left_over=left_over,
                )
    return found


def with_words(database: Database, words: Sequence[str], most: int) -> list[int]:
    """Keys of the first parts, then offers in force, whose search form holds every word as it stands."""
    holding = " AND ".join(["instr({}search, ?)"] * len(words))
    sources = (("part", "SELECT id FROM parts", ""), ("offer", f"SELECT offers.id {_IN_FORCE}", "offers."))
    found: list[int] = []
    for source, select, owner in sources:
        query = f"{select} WHERE {holding.replace('{}', owner)} LIMIT ?"
        numbers = database.conn.execute(query, (*words, most - len(found)))
        found += [key_of(source, number) for (number,) in numbers]
    return found


def changed(database: Database, since: Moment) -> Changed:
    """What the events after `since` touched; those taken back or done again count with the rows of their target."""
    touched = (
        "FROM journal JOIN journal_rows ON journal_rows.event IN (journal.id, journal.target)"
        " WHERE journal.id > ? AND table_name = ?"
    )
    parts = database.conn.execute(f"SELECT DISTINCT row_id {touched}", (since.event, "parts"))
    keys = {key_of("part", number) for (number,) in parts}
    events = database.conn.execute("SELECT coalesce(target, id) FROM journal WHERE id > ?", (since.event,)).fetchall()
    added = journal_blocks.ranges(database, [event for (event,) in events], "parts")
    keys |= {key_of("part", number) for numbers in added for number in numbers}
    offers = database.conn.execute(
        f"SELECT id FROM offers WHERE supplier IN (SELECT row_id {touched}"  # noqa: S608 - the text is ours
        " AND json_extract(before, '$.price_batch') IS NOT json_extract(after, '$.price_batch'))",
        (since.event, "suppliers"),
    )
    keys |= {key_of("offer", number) for (number,) in offers}
    words = (database.conn.execute(f"SELECT 1 {touched} LIMIT 1", (since.event, table)) for table in _OWN_WORDS)
    return Changed(frozenset(keys), any(found.fetchone() for found in words))


def _rows(database: Database, source: str, select: str, values: Collection[int] = ()) -> Iterator[Row]:
    from catalog.segments import Row  # noqa: PLC0415 - brings numpy, which start-up does without

    for number, part_number, spec, held, search, left in database.conn.execute(select, tuple(values)):
        usable = bool(held) and not (left and broken((left,)))
        yield Row(key_of(source, number), part_number, spec, usable, search)
