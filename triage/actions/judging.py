"""What is understood of a description, and how one part stands in for another, with the person's own pairs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import msgspec

from catalog import store
from catalog.rules import Grade, Pair
from catalog.text import Refused, clean_line
from triage.bench_file import BenchFile

if TYPE_CHECKING:
    from catalog.fit import Fit
    from catalog.reading import Reading
    from catalog.spec import PartSpec


def read_description(text: str, kind: str | None = None) -> Reading:
    """What is understood of one description; `kind` if it is known already."""
    from catalog.describe import read  # noqa: PLC0415 - the reading tables are loaded when something is read

    return read(text, kind)


def judge_by(pairs: Sequence[store.Pair]) -> Callable[[PartSpec, PartSpec], Fit]:
    """A judge of wanted and candidate that knows the person's pairs."""
    from catalog.fit import fit  # noqa: PLC0415 - the rule tables are loaded when something is judged

    known = own_pairs(pairs)
    return lambda wanted, candidate: fit(wanted, candidate, pairs=known)


def own_pairs(pairs: Sequence[store.Pair]) -> tuple[Pair, ...]:
    """The person's pairs as the rules take them."""
    return tuple(
        Pair(pair.wanted, pair.candidate, Grade.DROP_IN if pair.fits else Grade.REFUSE, pair.note) for pair in pairs
    )


def fit_texts(bench: BenchFile, wanted: str, candidate: str, role: str | None = None) -> Fit:
    """How the candidate stands in for the wanted part, both as texts, with the person's own pairs.

    Raises:
        Refused: `role` is none of `catalog.spec.ROLES`.
    """
    from catalog import fit  # noqa: PLC0415 - the rule tables are loaded when something is judged

    pairs = own_pairs(store.pairs(bench.database))
    return fit.fit_texts(clean_line(wanted), clean_line(candidate), role, read=read_description, pairs=pairs)


def add_pair(bench: BenchFile, wanted: str, candidate: str, *, fits: bool = True, note: str = "") -> store.Pair:
    """Keep the person's word that one part number does, or does not, stand in for another.

    Raises:
        Refused: a number is empty, or both are the same.
    """
    numbers = {"wanted": clean_line(wanted, 200), "candidate": clean_line(candidate, 200)}
    for field, number in numbers.items():
        if not number:
            raise Refused("empty; expected a part number", where=f"pair.{field}")
    if numbers["wanted"].casefold() == numbers["candidate"].casefold():
        raise Refused("both are the same part number; a part always stands in for itself", where="pair.candidate")
    pair = store.Pair(0, **numbers, fits=fits, note=clean_line(note), at=bench.now())
    said = f"{pair.candidate} {'fits' if fits else 'does not fit'} for {pair.wanted}"
    with bench.journal.event("pair_add", said, at=pair.at) as recorder:
        row = {**msgspec.structs.asdict(pair), "fits": int(fits)}
        del row["id"]
        return msgspec.structs.replace(pair, id=recorder.insert("pairs", row))
