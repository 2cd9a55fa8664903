"""Spares: pieces that would be good to have, with the chance of using one; an order takes them where they are cheap."""

from __future__ import annotations

import msgspec

from catalog.money import figure
from catalog.spec import KINDS
from catalog.text import Refused, clean_line
from triage import store
from triage.actions.later import kind_read
from triage.actions.needs import understood
from triage.bench_file import BenchFile, in_one_transaction
from triage.lot import Spare

MOST_PIECES = 99
"""Most spare pieces of one part: each is a choice of its own in the plan."""


@in_one_transaction
def add_spare(
    bench: BenchFile, text: str, *, pieces: int = 1, chance: float, price: int | None = None, kind: str = ""
) -> Spare:
    """Say that pieces of a part would be good to have; what is said anew of the same words takes the old one's place.

    Args:
        bench: the open bench file.
        text: the part, in the words of a parts list.
        pieces: at most so many, what lies in the drawer and is on its way included.
        chance: that at least one is used within a year, above 0 and at most 1.
        price: what a piece is reckoned at, minor units; None = the least price of a single one on offer.
        kind: its kind, where the words do not tell it.

    Raises:
        Refused: nothing is understood, a bad kind, number or chance.
    """
    words = clean_line(text)
    if not words:
        raise Refused("say what it is, such as “fuse T1.6A 5x20”", where="spare")
    kind = kind or kind_read(words)
    if kind not in KINDS:
        raise Refused(f"unknown kind; known are {', '.join(KINDS)}", where="spare")
    understood(words, kind, "spare")
    if not 1 <= pieces <= MOST_PIECES:
        raise Refused(f"expected 1 to {MOST_PIECES} pieces", where="spare")
    if not 0.0 < chance <= 1.0:
        raise Refused("expected a chance above 0 and at most 100 percent", where="spare")
    if price is not None and price < 0:
        raise Refused("expected a price of 0 or more", where="spare")
    old = next((one for one in store.spares(bench.database) if one.text.casefold() == words.casefold()), None)
    spare = Spare(old.id if old else 0, words, kind, pieces, chance, price)
    summary = clean_line(f"spares wanted: {pieces} × {words}", 200)
    with bench.journal.event("spare", summary, at=bench.now()) as recorder:
        return msgspec.structs.replace(spare, id=store.save(recorder, "spares", spare))


@in_one_transaction
def drop_spare(bench: BenchFile, spare_id: int) -> Spare:
    """These spares are not wanted any more.

    Raises:
        Refused: there are none with this number.
    """
    spare = next((one for one in store.spares(bench.database) if one.id == spare_id), None)
    if spare is None:
        raise Refused("there are no such spares; `lotwright spare` lists them", where=f"spare {spare_id}")
    with bench.journal.event(
        "spare_drop", clean_line(f"no spares wanted: {spare.text}", 200), at=bench.now()
    ) as recorder:
        recorder.delete("spares", spare.id)
    return spare


def list_spares(bench: BenchFile) -> list[Spare]:
    """The spares wanted, oldest first."""
    return store.spares(bench.database)


def chance_of(text: str) -> float:
    """A chance typed in percent, such as `60` or `60 %`, as a share.

    Raises:
        Refused: it is no number above 0 and at most 100.
    """
    percent = float(figure(clean_line(text, 20).removesuffix("%").strip()))
    if not 0.0 < percent <= 100.0:
        raise Refused("expected a percentage above 0 and at most 100, such as 60", where="chance")
    return percent / 100.0
