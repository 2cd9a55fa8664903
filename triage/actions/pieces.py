"""Which pieces of the drawer are not good: by the words of their description, or by the unit they came out of."""

from __future__ import annotations

from collections.abc import Sequence

from catalog.search import Words
from catalog.unread import broken
from triage import store
from triage.bench_file import BenchFile

LIKELY_GOOD = 0.5
"""Chance of being good below which a lifted piece counts as bad where it is shown (our choice: likelier bad)."""


def lifted_good(bench: BenchFile) -> dict[int, float]:
    """{part id: chance that it works} of what was lifted out of units, by what was seen on them."""
    from triage.actions.studies import plain_study  # noqa: PLC0415 - a search thinks of no unit as a rule
    from triage.donors import chance_good  # noqa: PLC0415

    good: dict[int, float] = {}
    for part, origin in store.lifted_parts(bench.database).items():
        unit = store.unit(bench.database, origin.unit)
        if unit is not None and unit.device_class in bench.classes:
            found = plain_study(bench, unit)
            if any(one.id == origin.unit_part for one in found.device_class.parts):
                good[part] = chance_good(found, origin.unit_part)
    return good


def not_good(bench: BenchFile, entries: Sequence[Words]) -> dict[tuple[str, int], str]:
    """{source and id: what says that the pieces are not good} of those of the entries that are not."""
    found: dict[tuple[str, int], str] = {
        (one.source, one.id): worn for one in entries if one.left_over and (worn := broken((one.left_over,)))
    }
    lifted = set(store.lifted_parts(bench.database)) & {one.id for one in entries if one.source == "part"}
    good = lifted_good(bench) if lifted else {}
    for part in lifted:
        if good.get(part, 1.0) < LIKELY_GOOD:
            found.setdefault(("part", part), f"good {100 * good[part]:.0f} in 100, by the unit it came out of")
    return found
