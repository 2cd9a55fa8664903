"""Finding parts by what is typed: part number first, then fit, then likeness of the text.

The query is read as a spec and as text at once, so a half-remembered value and a half-remembered name both lead
somewhere. Of a large catalogue the texts are compared that share most letters with the query (`catalog.grams`), and of
each grade those of its entries; of a small one, all of them. Scores are compared with each other and with one fixed
floor only; the scorer's own cutoff is not exact at its boundary.

An index is never changed. `changed` gives the next one and leaves nearly all of it as it is, so that one changed part
costs about a millisecond. Needs numpy and rapidfuzz, so it is imported when something is searched, not at start-up.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence

import msgspec
import numpy as np
from numpy.typing import NDArray
from rapidfuzz import fuzz

from catalog.candidates import alike, lookalikes, most_alike, weights_of
from catalog.first_of import Places, first_of
from catalog.likeness import compared, slipped
from catalog.makes import GRADES, NOTHING_SAID, Judge, Makes, Said, Verdicts, grade_rank, said
from catalog.rules import identity
from catalog.search import Reader, number_form, search_form
from catalog.segments import NO_MAKE, Bools, Positions, Row, Segment, joined, segment
from catalog.spec import PartSpec

TRIED = 2_000
"""Texts of one grade that are compared."""
FLOOR = 55.0
"""Likeness (`WRatio`, 0 to 100) below which text alone is no hit; half-typed words stay above it (our choice)."""
OWN = 15.0
"""How much less alike a part of the drawer may be and still come before an offer of its grade (our choice)."""
MEANT = 15.0
"""How much less alike may be what one way to read an open query finds fitting, and still come first (our choice)."""
_REMEMBERED = 16

_NOT_GOOD = len(GRADES)
"""What a rank grows by where the pieces fit and are not good: they come behind all that fit and are."""
_UNREAD, _REFUSED, _REFUSED_AS_WRITTEN, _OTHER_KIND = range(2 * len(GRADES), 2 * len(GRADES) + 4)
"""Ranks after those: cannot be judged, unfit, fit by its spec and not by its text, another kind of part."""
_RANKS = 4
"""Which of the keys of an order the ranks are."""


class Match(msgspec.Struct, frozen=True):
    """An entry found, by its key."""

    key: int
    grade: str | None
    """How the entry fits what the query reads as; None when that cannot be judged."""
    why: str
    score: float
    """Likeness of the texts, 0 to 100."""
    same_number: bool
    """The query is its part number."""


Written = Callable[[Sequence[tuple[int, Said]]], Sequence[tuple[Said, bool]]]
"""Keys of entries, with grade and why by their specs, to the same by all that is written of them, never better; and
whether their pieces are good."""


class _Judgement(msgspec.Struct, frozen=True):
    """Verdicts, and the rank of every make by them; shape (makes,)."""

    verdicts: Verdicts
    wanted: tuple[PartSpec, ...]
    ranks: NDArray[np.int8] | None
    """None where the query is not read as any part."""
    nearest: NDArray[np.int8] | None
    """Rank of every make by the way to read the query that suits it best; None likewise."""


_UNJUDGED = _Judgement(NOTHING_SAID, (), None, None)


class _Query(msgspec.Struct, frozen=True):
    """One search: what was typed in the forms it is compared in, how it is judged, and whether it is still wanted."""

    form: str
    number: str
    limit: int
    judgement: _Judgement
    judge: Judge | None
    told_apart: frozenset[str]
    written: Written | None
    cancelled: Callable[[], bool]


class _Scored(msgspec.Struct, frozen=True):
    """Entries of one segment under their ranks and scores; one place for each in every array."""

    segment: Segment
    positions: Positions
    same: Bools
    ranks: NDArray[np.int8]
    nearest: NDArray[np.int8]
    """Ranks by the way to read the query that suits each best."""
    scores: NDArray[np.float32]
    told: dict[int, Said]
    """{position: what was said of this very entry}"""
    slips: Bools
    """Its part number is the one that was typed, but for a slip."""
    mistaken: Bools
    """It is so but for signs that look alike."""

    def order(self) -> tuple[NDArray[np.generic], ...]:
        """The keys to sort by, the last one first."""
        taken = self.segment
        own = taken.at_hand[self.positions]
        nearer = np.where(own & (self.ranks < len(GRADES)), np.float32(OWN), np.float32(0))
        nearer += np.where(self.nearest <= grade_rank("drop-in"), np.float32(MEANT), np.float32(0))
        return (
            taken.keys[self.positions],
            -self.scores,
            ~own,
            -(self.scores + nearer),
            self.ranks,
            ~self.mistaken,
            ~self.same,
        )


class Index:
    """All entries ready to be searched. Remembers its last judgements, so that typing on does not judge again."""

    def __init__(self, parts: Iterable[tuple[Segment, Bools]], makes: Makes) -> None:
        """Take segments, each with the entries in it that still stand; use `of` and `changed`."""
        self._parts = tuple(parts)
        self._makes = makes
        self._known: dict[bytes, tuple[Judge, _Judgement]] = {}

    @classmethod
    def of(cls, rows: Iterable[Row], progress: Callable[[int], object] = lambda _: None) -> Index:
        """An index over these rows, in the order of their keys; `progress` as in `catalog.segments.segment`."""
        makes = Makes()
        whole = segment(rows, makes, progress)
        return cls([(whole, np.ones(len(whole), bool))], makes)

    def __len__(self) -> int:
        return sum(int(np.count_nonzero(alive)) for _, alive in self._parts)

    @property
    def segments(self) -> int:
        """How many segments there are."""
        return len(self._parts)

    def changed(self, keys: Collection[int], rows: Iterable[Row]) -> Index:
        """The index after the entries of these keys went or changed; `rows` holds those there now, in their order."""
        kept = []
        touched = np.fromiter(keys, np.int64, len(keys))
        for held, alive in self._parts:
            gone = held.places(touched)
            if len(gone):
                alive = alive.copy()  # noqa: PLW2901 - the older index keeps its own
                alive[gone] = False
            kept.append((held, alive))
        coming = segment(rows, self._makes)
        if len(coming):
            kept.append((coming, np.ones(len(coming), bool)))
        return Index(_settled(kept), self._makes)

    # --- searching -----------------------------------------------------------------------------------------------

    def find(
        self,
        query: str,
        limit: int = 50,
        *,
        reader: Reader | None = None,
        judge: Judge | None = None,
        told_apart: Collection[str] = (),
        written: Written | None = None,
        cancelled: Callable[[], bool] = lambda: False,
    ) -> list[Match]:
        """The best hits: same part number, then one that only looks alike, then by grade, then by likeness.

        Of a grade what is in the drawer comes before what is sold and reads a little more alike.

        Args:
            query: cleaned text as typed.
            limit: most hits returned.
            reader: reads the query as a spec; None searches by number and text alone.
            judge: grades an entry for what was read.
            told_apart: part numbers that the judge knows something about.
            written: what the texts of entries that fit make of their grades; asked of as many as may be among the best.
            cancelled: asked between steps; when true, the answer is empty.
        """
        form = search_form(query)
        if not form:
            return []
        judgement = self._judged(query, form, reader, judge, cancelled) if reader and judge else _UNJUDGED
        asked = _Query(form, number_form(query), limit, judgement, judge, frozenset(told_apart), written, cancelled)
        found = []
        for held, alive in self._parts:
            scored = self._scored(held, alive, asked)
            if scored is None or cancelled():
                return []
            found.append(scored)
        best = self._best(found, asked)
        return [] if cancelled() else best  # stopped within, their grades are not those of their texts

    def alike(self, query: str, limit: int = 50, *, cancelled: Callable[[], bool] = lambda: False) -> list[Match]:
        """The texts most alike by `WRatio`, and among equals those that share most words: the text stage alone.

        A full comparison of every text would give the same best one; `tests/bench/search.py` measures how many of the
        others too.
        """
        form = search_form(query)
        if not form:
            return []
        found: list[tuple[float, float, int]] = []
        for held, alive in self._parts:
            tried = alike(held, alive, form)
            either = compared(held, tried, form, fuzz.WRatio, cancelled)
            if either is None:
                return []
            least = -np.sort(-either)[limit - 1] if len(either) > limit else 0.0
            good = either >= least
            tried, either = tried[good], either[good]
            every = compared(held, tried, form, fuzz.token_set_ratio, cancelled)
            if every is None:
                return []
            found += zip((-either).tolist(), (-every).tolist(), held.keys[tried].tolist(), strict=True)
        return [Match(key, None, "by its text", -score, same_number=False) for score, _, key in sorted(found)[:limit]]

    def _judged(self, query: str, form: str, reader: Reader, judge: Judge, cancelled: Callable[[], bool]) -> _Judgement:
        reading = reader(query)
        ways = [reading] if reading.status == "ok" else reading.readings
        wanted = tuple(one.spec for one in ways if one.spec is not None)
        if not wanted:
            return _UNJUDGED
        key = msgspec.json.encode(wanted)
        held = self._known.get(key)
        if held is not None and held[0] is judge:
            return held[1]
        verdicts = self._makes.judged(wanted, judge, lambda: self._made_alike(form), cancelled)
        if cancelled():
            return _UNJUDGED
        ranks = np.full(len(self._makes), _OTHER_KIND if verdicts.kinds else _UNREAD, np.int8)
        ranks[self._makes.of_kind("listed")] = _UNREAD
        for kind in verdicts.kinds - {"listed"}:
            ranks[self._makes.of_kind(kind)] = _REFUSED
        for make, told in verdicts.found.items():
            ranks[make] = _rank(told)
        nearest = ranks.copy()
        for make, rank in verdicts.nearest.items():
            nearest[make] = min(int(ranks[make]), rank)
        judgement = _Judgement(verdicts, wanted, ranks, nearest)
        if verdicts.partly:
            return judgement
        if len(self._known) >= _REMEMBERED:
            self._known.clear()
        self._known[key] = (judge, judgement)
        return judgement

    def _made_alike(self, form: str) -> Iterator[int]:
        """The makes of the entries whose texts share most with the query."""
        for held, alive in self._parts:
            yield from np.unique(held.makes[alike(held, alive, form)]).tolist()

    def _scored(self, held: Segment, alive: Bools, asked: _Query) -> _Scored | None:
        """The entries of a segment that may be among the best, or None when cancelled."""
        ranks = np.full(len(held), _UNREAD, np.int8)
        nearest = ranks
        if asked.judgement.ranks is not None and asked.judgement.nearest is not None:
            made = held.makes != NO_MAKE
            ranks[made] = asked.judgement.ranks[held.makes[made]]
            nearest = ranks.copy()
            nearest[made] = asked.judgement.nearest[held.makes[made]]
        told = self._by_number(held, asked)
        for place, verdict in told.items():
            ranks[place] = nearest[place] = _rank(verdict)
        same, mistaken = np.zeros((2, len(held)), bool)
        same[_own_number(held, asked.number)] = True
        for form in lookalikes(asked.number):
            mistaken[_own_number(held, form)] = True
        tried = _to_try(held, alive, asked, ranks, same | mistaken)
        either = compared(held, tried, asked.form, fuzz.WRatio, asked.cancelled)
        every = None if either is None else compared(held, tried, asked.form, fuzz.token_set_ratio, asked.cancelled)
        if either is None or every is None:
            return None
        scores = (either + every) / np.float32(2)
        slips = slipped(held, tried, asked.number, scores)
        slips |= mistaken[tried]
        good = same[tried] | (ranks[tried] < _UNREAD) | (either >= FLOOR) | slips
        tried, scores, slips = tried[good], scores[good], slips[good]
        return _Scored(held, tried, same[tried], ranks[tried], nearest[tried], scores, told, slips, mistaken[tried])

    def _by_number(self, held: Segment, asked: _Query) -> dict[int, Said]:
        """Verdicts on the entries whose very number counts: it is the wanted one, or the judge knows it."""
        found: dict[int, Said] = {}
        wanted, judge = asked.judgement.wanted, asked.judge
        if not wanted or judge is None:
            return found
        asked_for = {number_form(identity(one)) for one in wanted}
        numbers = asked_for | {number_form(one) for one in asked.told_apart}
        for place in {place for number in numbers for place in held.numbered(number)}:
            make = int(held.makes[place])
            number = PartSpec("listed", part_number=held.numbers[place])
            spec = number if make == NO_MAKE else self._makes.spec(make, held.stated(place))
            ways = [said(judge(one, spec), sure=len(wanted) == 1) for one in wanted]
            best = min(ways, key=lambda told: grade_rank(told[0]))
            if best[0] == "unknown" and spec.kind == "listed" and number_form(held.numbers[place]) not in asked_for:
                continue  # what is known of this number is about another part than the one wanted
            found[place] = best
        return found

    def _best(self, found: Sequence[_Scored], asked: _Query) -> list[Match]:
        if not found:
            return []
        keys = [np.concatenate(column) for column in zip(*(one.order() for one in found), strict=True)]
        bounds = np.cumsum([0, *(len(one.positions) for one in found)])
        verdicts, written = asked.judgement.verdicts, asked.written
        lowered: dict[int, Said] = {}

        def held(place: int) -> tuple[_Scored, int]:
            whose = int(np.searchsorted(bounds, place, "right")) - 1
            return found[whose], place - int(bounds[whose])

        def as_written(some: Places) -> NDArray[np.generic]:
            ranks = keys[_RANKS][some].copy()
            if written is None or asked.cancelled():
                return ranks
            fitting = np.flatnonzero(ranks < len(GRADES)).tolist()
            stood = [_stood(*held(int(some[turn])), verdicts) for turn in fitting]
            for turn, before, (now, good) in zip(fitting, stood, written(stood), strict=True):
                if now != before[1]:
                    lowered[int(some[turn])] = now
                rank = _rank(now, refused=_REFUSED_AS_WRITTEN)
                ranks[turn] = rank if good or rank >= len(GRADES) else rank + _NOT_GOOD
            return ranks

        best = first_of(keys, _RANKS, asked.limit, as_written)
        return [_match(*held(place), verdicts, lowered.get(place)) for place in best.tolist()]


def _own_number(held: Segment, form: str) -> list[int]:
    """Positions whose own part number has this form."""
    return [place for place in held.numbered(form) if number_form(held.numbers[place]) == form]


def _match(scored: _Scored, place: int, verdicts: Verdicts, lowered: Said | None) -> Match:
    position = int(scored.positions[place])
    grade, why = lowered or _told(scored, position, verdicts)
    same = bool(scored.same[place])
    if same and not lowered:
        why = "same part number"
    elif not why:
        why = "its part number, but for a slip" if scored.slips[place] else "by its text"
    return Match(int(scored.segment.keys[position]), grade, why, float(scored.scores[place]), same)


def _stood(scored: _Scored, place: int, verdicts: Verdicts) -> tuple[int, Said]:
    """The key of an entry that fits by its spec, and how it does."""
    position = int(scored.positions[place])
    grade, why = _told(scored, position, verdicts)
    return int(scored.segment.keys[position]), (grade or "", why)


def _told(scored: _Scored, position: int, verdicts: Verdicts) -> tuple[str | None, str]:
    verdict = scored.told.get(position) or verdicts.found.get(int(scored.segment.makes[position]))
    return verdict or (None, "")


def _to_try(held: Segment, alive: Bools, asked: _Query, ranks: NDArray[np.int8], same: Bools) -> Positions:
    """Positions worth comparing: of each grade down to the limit the most alike, and the most alike of any grade."""
    if held.words is None:
        return np.flatnonzero(alive)
    weights = weights_of(held, alive, asked.form, asked.number)
    chosen = [np.flatnonzero(same & alive), *most_alike(held, alive, asked.form, asked.number, weights)]
    enough = 0
    for rank in range(len(GRADES)):
        places = np.flatnonzero((ranks == rank) & alive)
        enough += len(places)
        if len(places) > TRIED:
            places = places[np.argpartition(weights[places], len(places) - TRIED)[len(places) - TRIED :]]
        chosen.append(places)
        if enough >= asked.limit:
            break
    return np.unique(np.concatenate(chosen))


def _rank(told: Said, refused: int = _REFUSED) -> int:
    rank = grade_rank(told[0])
    return rank if rank < len(GRADES) else refused


def _settled(parts: list[tuple[Segment, Bools]]) -> Iterator[tuple[Segment, Bools]]:
    """Join small segments at the end, so that their number stays with the logarithm of the changes."""
    parts = [(held, alive) for held, alive in parts if alive.any() or len(held) == 0]
    while len(parts) > 1 and 2 * len(parts[-1][0]) >= len(parts[-2][0]):
        whole = joined(parts[-2:])
        parts[-2:] = [(whole, np.ones(len(whole), bool))]
    return iter(parts)
