"""Finding parts: order of hits, likeness of texts, stopping, and the slow search that compares everything."""

import random

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rapidfuzz import fuzz, process

from catalog import finder, makes, segments
from catalog.candidates import is_number, lookalikes
from catalog.describe import read
from catalog.finder import FLOOR, OWN, Index
from catalog.fit import fit
from catalog.likeness import SLICE, SLIP
from catalog.makes import GRADES, grade_rank, said
from catalog.reading import MAIN
from catalog.rules import identity
from catalog.search import number_form, search_form
from catalog.segments import Row
from catalog.spec import PartSpec, Value
from catalog.store import spec_text


class Reading(msgspec.Struct, frozen=True):
    status: str
    spec: PartSpec | None = None
    readings: tuple["Reading", ...] = ()


class Reason(msgspec.Struct, frozen=True):
    attribute: str
    result: str
    why: str


class Judged(msgspec.Struct, frozen=True):
    grade: str
    reasons: tuple[Reason, ...]


def fuse(current, volts=None):
    attributes = {"current": Value(current, "A")}
    if volts:
        attributes["voltage_ac"] = Value(volts, "V")
    return PartSpec("fuse", attributes)


def reader(text):
    """Reads fuses: `2A`, and `2A?` as 2 A or 20 A."""
    for word in text.split():
        if word.endswith("A?"):
            first = float(word[:-2])
            return Reading("ambiguous", None, (Reading("ok", fuse(first)), Reading("ok", fuse(10 * first))))
        if word.endswith("A") and word[:-1].isdigit():
            return Reading("ok", fuse(float(word[:-1])))
    return Reading("nothing")


def judge(wanted, candidate):
    """Equal current; no voltage stated is unknown, above 100 V drop-in."""
    if wanted.number("current") != candidate.number("current"):
        return Judged("refuse", (Reason("current", "refuse", "must be equal"),))
    volts = candidate.number("voltage_ac")
    grade = "unknown" if volts is None else "drop-in" if volts > 100 else "rework"
    return Judged(grade, (Reason("current", "exact", ""), Reason("voltage_ac", grade, "as rated")))


class Entry(msgspec.Struct, frozen=True):
    id: int
    description: str
    spec: PartSpec | None
    at_hand: bool
    number: str

    @property
    def row(self):
        search = search_form(f"{self.number} {self.description}")
        return Row(self.id, self.number, spec_text(self.spec), self.at_hand, search)


def entry(number, text, *, spec=None, quantity=5, part_number=None):
    return Entry(number, text, spec, bool(quantity), f"QX-{number}" if part_number is None else part_number)


def index_of(entries):
    return Index.of(one.row for one in entries)


STOCK = [
    entry(10, "belt square 43 mm"),
    entry(11, "glass fuse 2A", spec=fuse(2.0)),
    entry(12, "glass fuse 2A 250V", spec=fuse(2.0, 250)),
    entry(13, "glass fuse 2A 32V", spec=fuse(2.0, 32)),
    entry(14, "glass fuse 20A 250V", spec=fuse(20.0, 250)),
    entry(15, "fuse holder, chassis, unread"),
    entry(16, "potentiometer 10k log"),
]
INDEX = index_of(STOCK)


def ids(hits):
    return [hit.key for hit in hits]


def test_grades_come_before_text_and_refused_ones_after_what_cannot_be_judged():
    hits = INDEX.find("glass fuse 2A", reader=reader, judge=judge)
    assert ids(hits)[:3] == [12, 13, 11]
    assert [hit.grade for hit in hits[:3]] == ["drop-in", "rework", "unknown"]
    assert hits[0].why == "voltage ac: as rated"
    found = ids(hits)
    assert found.index(15) < found.index(14)
    assert next(hit for hit in hits if hit.key == 14).grade == "refuse"
    assert 10 not in found


def test_a_part_number_comes_first_however_it_is_written():
    for query in ("QX-14", "qx14", "qx 14"):
        first = INDEX.find(query, reader=reader, judge=judge)[0]
        assert (first.key, first.same_number, first.why) == (14, True, "same part number")


def test_an_ambiguous_query_promises_nothing_better_than_unknown():
    hits = INDEX.find("glass fuse 2A?", reader=reader, judge=judge)
    grades = {hit.key: hit.grade for hit in hits}
    assert {grades[number] for number in (11, 12, 13, 14)} == {"unknown"}


def test_a_query_that_names_only_the_family_finds_every_kind_of_it_and_promises_nothing():
    def capacitor(kind):
        return PartSpec(kind, {"capacitance": Value(1e-6, "F")})

    stock = [entry(1, "thing one", spec=capacitor("film")), entry(2, "thing two", spec=capacitor("electrolytic"))]
    hits = index_of([*stock, entry(3, "thing three", spec=fuse(1.0))]).find(
        "1u",
        reader=lambda text: Reading("ok", capacitor("capacitor")),
        judge=fit,
    )
    assert {(hit.key, hit.grade) for hit in hits} == {(1, "unknown"), (2, "unknown")}


@pytest.mark.parametrize(
    ("query", "number"),
    [
        ("potentimeter 10k", 16),
        ("log 10 k potentiometer", 16),
        ("43mm belt", 10),
        ("square blet 43", 10),
        ("holder fuse", 15),
        ("BELT", 10),
    ],
)
def test_typing_errors_and_word_order_do_not_matter(query, number):
    assert ids(INDEX.find(query))[0] == number


def test_half_typed_words_find_what_they_begin():
    for typed in ("be", "bel", "belt sq", "potent"):
        assert ids(INDEX.find(typed))[0] == (16 if typed == "potent" else 10)


def test_nonsense_and_nothing_find_nothing():
    assert INDEX.find("zzzzqqqq") == []
    assert INDEX.find("  \t ,") == []
    assert index_of([]).find("belt") == []


def test_signs_that_look_alike_are_taken_for_each_other_before_anything_is_judged():
    stock = [entry(1, "main board", part_number="ZX-01034"), entry(2, "fuse 2A", spec=fuse(2.0), part_number="")]
    stock += [entry(place, "board", part_number=f"ZX-01{place}34") for place in range(3, 9)]
    for query in ("zx0l034", "ZX O1O34", "2xo1034"):
        first = index_of(stock).find(query)[0]
        assert (first.key, first.same_number, first.why) == (1, False, "its part number, but for a slip")
    assert index_of(stock).find("ZX-01034")[0].same_number
    beside = index_of([*stock, entry(9, "board", part_number="ZX-0I034")])
    assert ids(beside.find("zx01034"))[:2] == [1, 9]


def test_a_number_with_too_many_signs_that_look_alike_is_taken_as_typed():
    assert set(lookalikes("zx01")) == {
        *("zxo1", "zxoi", "zxol", "zx0i", "zx0l", "2x01", "2x0i", "2x0l", "2xo1", "2xoi", "2xol"),
    }
    assert list(lookalikes("1" * 7)) == []
    assert list(lookalikes("lens")) == []


def test_a_part_of_ones_own_comes_before_a_like_offer_of_its_grade():
    own = entry(1, "glass fuse slow from the old radio 2A 250V 5x20 in a bag", spec=fuse(2.0, 250), part_number="")
    sold = entry(2, "glass fuse 2A 250V 5x20", spec=fuse(2.0, 250), quantity=0, part_number="")
    better = entry(3, "glass fuse 2A 32V", spec=fuse(2.0, 32), part_number="")
    hits = index_of([own, sold, better]).find("glass fuse 2A", reader=reader, judge=judge)
    assert ids(hits) == [1, 2, 3]
    assert 0 < hits[1].score - hits[0].score < OWN


def test_what_the_trade_has_rules_for_is_judged_by_what_it_states():
    texts = ["relay 12V SPDT 5A", "relay 24V SPDT 5A", "relay 12V SPDT 2A", "lamp 12V 100mA E10", "lever black"]
    stock = [entry(place, text, spec=specified(text, f"K-{place}")) for place, text in enumerate(texts)]
    graded = {hit.key: hit.grade for hit in index_of(stock).find("relay 12V SPDT 3A", reader=read, judge=fit)}
    assert (graded[0], graded[1], graded[2]) == ("unknown", "refuse", "refuse")
    assert graded.get(3) is None
    lamps = {hit.key: hit.grade for hit in index_of(stock).find("lamp 12V 110mA", reader=read, judge=fit)}
    assert lamps[3] == "drop-in"


def test_what_is_in_the_drawer_comes_before_what_is_sold():
    same = [entry(1, "belt 43 mm", quantity=0, part_number=""), entry(2, "belt 43 mm", part_number="")]
    assert ids(index_of(same).find("belt 43 mm")) == [2, 1]


def test_the_scan_stops_when_it_is_told_to():
    many = index_of([entry(number, f"belt {number}") for number in range(3 * SLICE)])
    asked = []

    def cancelled():
        asked.append(True)
        return len(asked) == 2

    assert many.find("belt 77", cancelled=cancelled) == []
    assert len(asked) == 2
    assert ids(many.find("belt 77"))[0] == 77


def test_slices_give_the_same_best_hits_as_one_pass():
    chance = random.Random(7)
    words = "belt fuse relay switch motor slow glass square small black 43 2a 10k 25v holder lever"
    stock = [entry(number, " ".join(chance.sample(words.split(), 4))) for number in range(2 * SLICE + 345)]
    query = search_form("small black relay 25v")
    marks = [(fuzz.WRatio(query, one.row.search) + fuzz.token_set_ratio(query, one.row.search)) / 2 for one in stock]
    best = sorted(marks, reverse=True)[:30]
    hits = index_of(stock).find(query, limit=30)
    assert [hit.score for hit in hits] == pytest.approx(best)


DRAWER = [
    "electrolytic 4.7uF 25V radial",
    "electrolytic 4.7uF 50V radial 105C",
    "electrolytic 10uF 16V radial",
    "electrolytic 470uF 25V radial",
    "tantalum 4.7uF 35V",
    "film 100nF 63V",
    "resistor 4.7k 0.25W 1%",
    "resistor 10k 0.25W 1%",
    "fuse T1.6A 250V 5x20",
    "fuse F1.6A 250V 5x20",
    "lens unit for a disc player",
]


@pytest.fixture(scope="module")
def drawer():
    readings = [(text, read(text)) for text in DRAWER]
    return index_of(
        [entry(number, text, spec=reading.spec, part_number="") for number, (text, reading) in enumerate(readings)]
    )


def test_what_is_remembered_of_a_part_finds_what_fits(drawer):
    hits = drawer.find("4.7 25v elko small", reader=read, judge=fit)
    graded = {DRAWER[hit.key]: hit.grade for hit in hits}
    assert DRAWER[hits[0].key] == "electrolytic 4.7uF 25V radial"
    assert graded["electrolytic 4.7uF 50V radial 105C"] in {"exact", "drop-in"}
    assert graded.get("electrolytic 10uF 16V radial", "refuse") == "refuse"
    assert graded.get("electrolytic 470uF 25V radial") is None
    assert graded.get("resistor 4.7k 0.25W 1%") is None
    assert drawer.find("lens unit", reader=read, judge=fit)[0].grade is None


def test_the_speed_of_a_fuse_is_not_overlooked(drawer):
    grades = {DRAWER[hit.key]: hit.grade for hit in drawer.find("T1.6A 250V 5x20 fuse", reader=read, judge=fit)}
    assert grades["fuse T1.6A 250V 5x20"] not in {None, "refuse"}
    assert grades["fuse F1.6A 250V 5x20"] == fit(read("T1.6A 250V 5x20 fuse").spec, read(DRAWER[9]).spec).grade


def test_every_grade_shown_is_the_judges_own(drawer):
    for query in ("4.7u 25v electrolytic", "10k resistor", "100n film 63V", "4.7uF 35V tantalum"):
        for hit in drawer.find(query, reader=read, judge=fit):
            if hit.grade is not None:
                assert hit.grade == fit(read(query).spec, read(DRAWER[hit.key]).spec).grade


def test_what_is_left_unjudged_for_its_value_would_have_been_refused(drawer):
    for query in ("4.7u 25v electrolytic", "10k resistor 0.25W", "100n film 63V", "47uF 25V electrolytic"):
        wanted = read(query).spec
        judged = {hit.key: hit.grade for hit in drawer.find(query, limit=99, reader=read, judge=fit)}
        for number, text in enumerate(DRAWER):
            spec = read(text).spec
            if spec is not None and spec.kind == wanted.kind and judged.get(number) is None:
                assert fit(wanted, spec).grade == "refuse", (query, text)


def test_typing_on_without_a_new_value_judges_nothing_again(drawer):
    asked = []

    def counting(wanted, candidate):
        asked.append(candidate)
        return fit(wanted, candidate)

    first = drawer.find("4.7u 25v elko", reader=read, judge=counting)
    count = len(asked)
    second = drawer.find("4.7u 25v elko sm", reader=read, judge=counting)
    assert count > 0
    assert len(asked) == count
    assert [hit.grade for hit in first][:3] == [hit.grade for hit in second][:3]


# --- the slow search that compares everything ---------------------------------------------------------------------

WORDS = (
    "electrolytic 4.7uF 25V radial",
    "electrolytic 4.7uF 50V radial 105C",
    "electrolytic 1000uF 16V axial",
    "tantalum 4.7uF 35V",
    "film 100nF 63V",
    "ceramic 100nF 50V X7R",
    "capacitor 100nF",
    "resistor 4.7k 0.25W 1%",
    "resistor 4.7k 2W 5%",
    "resistor 10k 0.25W 1%",
    "fuse T1.6A 250V 5x20",
    "fuse F1.6A 250V 5x20",
    "fuse T2A 250V 5x20",
    "transistor BC547",
    "transistor BC557",
    "diode 1N4007",
    "potentiometer 10k log",
    "belt 135 mm circumference square 1.2",
    "belt 140 mm circumference square 1.2",
    "lever black 12 mm",
    "lamp holder white",
    "relay 12V SPDT 5A",
    "relay 24V SPDT 5A",
    "lamp 12V 100mA E10",
    "LED red 5mm 2V",
)
MORE = (
    "electrolytic 47uF 25V radial 105C 5 mm pitch",
    "electrolytic 220uF 25V low esr",
    "electrolytic 4.7uF 50V bipolar",
    "resistor 4.7k 0.5W 5% fusible",
    "resistor 4.3k 0.25W 5%",
    "resistor 5.1k 0.25W 5%",
    "film 150nF 63V 5%",
    "film 100nF 400V",
    "ceramic 22pF 50V C0G 5%",
    "ceramic 33pF 50V C0G 5%",
    "safety capacitor X2 100nF 275V AC",
    "safety capacitor Y2 4.7nF 250V AC",
    "fuse T2.5A 250V 5x20 ceramic",
    "fuse F500mA 250V 6.3x32",
    "thermal fuse 10A 250V 130C",
    "zener diode 5.1V 0.5W",
    "zener diode 5.6V 1.3W",
    "regulator 7805",
    "regulator 7812",
    "inductor 10mH",
    "inductor 100uH 1A",
    "crystal 4.000 MHz",
    "crystal 4.433 MHz",
    "ptc 0.5A 60V",
    "battery CR2032",
    "potentiometer 10k lin",
    "potentiometer 50k log stereo",
    "trimmer 4.7k",
    "belt 200 mm circumference flat 4",
)
QUERIES = (
    "4.7u 25v elko",
    "4k7",
    "100n",
    "fuse T1.6A 250V",
    "BC547",
    "belt 135",
    "lever",
    "lamp holdr wite",
    "AB-1204",
    "ab1240",
    "resistor 10k 1%",
    "1N4007 diode",
    "10",
    "relay 12V SPDT 5A",
    "lamp 12V 100mA",
    "a8-i2o4",
    "BCS47",
)


def specified(text, number, kind=""):
    """A spec as the catalogue keeps it: with the part number, `listed` where nothing is understood."""
    spec = None if kind else read(text).spec
    if spec is None:
        return PartSpec("listed", {"part_number": Value(number)}, part_number=number) if number else None
    return msgspec.structs.replace(spec, part_number=number or spec.part_number)


def obvious(entries, query, wanted):
    """Every entry judged and compared, in the order in which hits are shown."""
    form, number = search_form(query), number_form(query)
    verdicts = [fit(wanted, one.spec) if one.spec is not None and wanted is not None else None for one in entries]

    def of_its_kind(spec):
        kind = spec.kind
        if wanted.kind == "listed":
            sort = wanted.word("what")
            return kind == "listed" and (sort is None or spec.word("what") == sort)
        family = {"electrolytic", "tantalum", "ceramic", "film", "safety-cap", "capacitor"}
        if wanted.kind == kind:
            return True
        if "capacitor" in {wanted.kind, kind}:
            return {wanted.kind, kind} <= family
        first = next(one.spec for one in entries if one.spec is not None and one.spec.kind == kind)
        judged = fit(wanted, first)
        return kind != "listed" and (
            judged.grade != "refuse" or any(reason.attribute != "kind" for reason in judged.reasons)
        )

    related = wanted is not None and any(
        of_its_kind(one.spec) or wanted.kind == one.spec.kind for one in entries if one.spec is not None
    )
    found = []
    for one, verdict in zip(entries, verdicts, strict=True):
        either = fuzz.WRatio(form, one.row.search)
        score = (either + fuzz.token_set_ratio(form, one.row.search)) / 2
        alike = fuzz.ratio(number, number_form(one.number))
        slip = is_number(number) and alike >= SLIP
        score = max(score, alike) if slip else score
        same = bool(number) and number_form(one.number) == number
        mistaken = is_number(number) and not same and taken_for(number_form(one.number)) == taken_for(number)
        grade = None
        if verdict is not None and (of_its_kind(one.spec) or identity_counts(wanted, one.spec)):
            grade = said(verdict, sure=True)[0]
        rank = len(GRADES)
        if grade is not None:
            rank = grade_rank(grade) if grade != "refuse" else len(GRADES) + 1
        elif related and one.spec is not None and one.spec.kind != "listed":
            rank = len(GRADES) + 2
        if same or mistaken or rank < len(GRADES) or either >= FLOOR or slip:
            own = OWN if one.at_hand and rank < len(GRADES) else 0
            order = (not same, not mistaken, rank, -round(score + own, 2), not one.at_hand, -round(score, 2))
            found.append((*order, one.id))
    return sorted(found)


def taken_for(number):
    """A number with one sign for all that look like it."""
    return number.translate(str.maketrans("oilsbz", "011582"))


def identity_counts(wanted, spec):
    return bool(identity(wanted)) and number_form(identity(wanted)) == number_form(spec.part_number)


numbers = st.sampled_from(["", "AB-1204", "AB 1240", "ab1204b", "XK 77", "BC547", "CD-9"])
entries_of = st.lists(
    st.tuples(st.sampled_from(WORDS), numbers, st.booleans(), st.booleans()), min_size=1, max_size=25
).map(
    lambda rows: [
        Entry(place, text, specified(text, number, "listed" if listed else ""), held, number)
        for place, (text, number, held, listed) in enumerate(rows)
    ]
)


@settings(max_examples=60, deadline=None)
@given(entries_of, st.sampled_from(QUERIES))
def test_what_is_found_is_what_comparing_everything_finds(entries, query):
    reading = read(query)
    wanted = reading.spec if reading.status == "ok" else None
    if reading.status == "ambiguous":
        return
    slow = obvious(entries, query, wanted)
    hits = index_of(entries).find(query, limit=99, reader=read, judge=fit)
    assert {hit.key for hit in hits} == {row[-1] for row in slow}
    assert [hit.key for hit in hits] == [row[-1] for row in slow]
    for hit in hits:
        if hit.grade is not None:
            assert hit.grade == fit(wanted, entries[hit.key].spec).grade


changes_of = st.lists(
    st.tuples(st.integers(0, 24), st.sampled_from([*WORDS, None]), numbers, st.booleans()), min_size=1, max_size=30
)


@pytest.mark.parametrize("scanned", [0, 5, 2_000])
@settings(max_examples=40, deadline=None)
@given(entries_of, changes_of, st.sampled_from(QUERIES), st.data())
def test_after_any_changes_the_index_finds_what_one_made_anew_finds(scanned, entries, changes, query, data):
    held = {one.id: one for one in entries}
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(segments, "SCAN", scanned)
        index = index_of(entries)
        for number, text, part_number, at_hand in changes:
            if text is None:
                held.pop(number, None)
            else:
                held[number] = Entry(number, text, specified(text, part_number), at_hand, part_number)
            index = index.changed({number}, [held[number].row] if number in held else [])
            if data.draw(st.booleans()):
                index.find(query, reader=read, judge=fit)
        now = [held[number] for number in sorted(held)]
        anew = index_of(now)
        assert len(index) == len(anew) == len(now)
        ours, slow = (one.find(query, limit=99, reader=read, judge=fit) for one in (index, anew))
        if scanned == 2_000:
            assert ours == slow
            assert index.alike(query, limit=99) == anew.alike(query, limit=99)
        elif slow and (slow[0].grade or slow[0].same_number or slow[0].score > 65):
            assert ours[:1] == slow[:1]  # less alike ones may share no three letters, and are not compared


def large(count, seed=3):
    """Many entries of a few words each, so that only those that share letters are compared."""
    chance = random.Random(seed)
    words = (
        "belt fuse relay switch motor slow glass",
        "square small black 43mm 2a",
        "10k 25v holder lever spring knob",
    )
    words = " ".join(words).split()
    return [
        entry(number, " ".join(chance.sample(words, 4)), part_number=f"{chance.choice('abcdef')}k{number + 1000}")
        for number in range(count)
    ]


def test_of_many_the_most_alike_are_those_of_a_full_comparison():
    stock = large(segments.SCAN * 2)
    index = index_of(stock)
    texts = [one.row.search for one in stock]
    queries = ["small balck relay 25v", "ak1204", "bk 12o4", "knob motor", "lever spring 10k slow", "dk3104 belt"]
    for query in queries:
        best = [score for _, score, _ in process.extract(search_form(query), texts, scorer=fuzz.WRatio, limit=10)]
        ours = [hit.score for hit in index.alike(query, 10)]
        assert ours[0] == pytest.approx(best[0], abs=0.01)
        assert sum(one >= other - 0.01 for one, other in zip(ours, best, strict=True)) >= 8, query


def test_of_many_a_number_with_a_slip_is_found_and_named_so():
    index = index_of(large(segments.SCAN * 2))
    for query in ("ak2204", "ak22o4x"):
        numbers = [hit.key for hit in index.find(query, 8)]
        assert 1204 in numbers
    hit = next(hit for hit in index.find("zk2204", 20) if hit.key == 1204)
    assert hit.why == "its part number, but for a slip"


def test_of_many_every_grade_is_filled_from_what_fits_however_its_text_reads():
    stock = large(segments.SCAN * 2)
    odd = Entry(len(stock), "thing without a like word", read("fuse T1.6A 250V 5x20").spec, True, "ZZ-9")
    index = index_of([*stock, odd])
    assert index.find("fuse T1.6A 250V 5x20", reader=read, judge=fit)[0].key == odd.id
    assert index.find("zz9", reader=read, judge=fit)[0].same_number
    assert is_number("zz9") is False


def test_what_is_refused_for_its_main_value_alone_is_refused_whatever_else_it_states():
    specs = [spec for text in (*WORDS, *MORE) if (spec := read(text).spec) is not None]
    checked = 0
    for wanted in specs:
        for candidate in specs:
            name = MAIN.get(candidate.kind, ("",))[0]
            held = candidate.attributes.get(name)
            if held is None:
                continue
            alone = fit(wanted, PartSpec(candidate.kind, {name: held}))
            if any(reason.attribute == name and reason.result == "refuse" for reason in alone.reasons):
                checked += 1
                assert fit(wanted, candidate).grade == "refuse", (wanted, candidate)
    assert checked > 100


def test_where_too_many_may_serve_only_those_alike_are_judged_and_truly(monkeypatch):
    words = [f"resistor {ohms}k {watts}W" for ohms in (1, 2.2, 4.7, 10, 22, 47) for watts in (0.25, 0.5, 1, 2)]
    entries = [Entry(place, text, read(text).spec, True, f"QX-{place}") for place, text in enumerate(words)]
    index = index_of(entries)
    whole = index.find("resistor 2W", limit=99, reader=read, judge=fit)
    monkeypatch.setattr(makes, "MOST", 3)
    monkeypatch.setattr(finder, "alike", lambda held, alive, form: np.array([3, 7, 8]))
    partly = index_of(entries).find("resistor 2W", limit=99, reader=read, judge=fit)
    fitting = {hit.key for hit in whole if hit.grade not in {None, "refuse"}}
    assert {hit.key for hit in partly if hit.grade not in {None, "refuse"}} == {3, 7, 8} & fitting == {3, 7}
    for hit in partly:
        if hit.grade is not None:
            assert hit.grade == fit(read("resistor 2W").spec, entries[hit.key].spec).grade
    monkeypatch.undo()
    again = index.find("resistor 2W", limit=99, reader=read, judge=fit)
    assert again == whole
