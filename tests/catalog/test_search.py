"""Finding parts: order of hits, likeness of texts, stopping."""

import random

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rapidfuzz import fuzz

from catalog.describe import read
from catalog.fit import fit
from catalog.search import SLICE, Entry, Index, number_form, search_form
from catalog.spec import PartSpec, Value


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


def entry(number, text, *, spec=None, quantity=5, source="part"):
    return Entry(
        source=source,
        id=number,
        part_number=f"QX-{number}",
        description=text,
        kind=spec.kind if spec else "",
        spec=spec,
        left_over="",
        quantity=quantity,
        place="box",
        supplier="",
        search=search_form(f"QX-{number} {text}"),
    )


STOCK = [
    entry(10, "belt square 43 mm"),
    entry(11, "glass fuse 2A", spec=fuse(2.0)),
    entry(12, "glass fuse 2A 250V", spec=fuse(2.0, 250)),
    entry(13, "glass fuse 2A 32V", spec=fuse(2.0, 32)),
    entry(14, "glass fuse 20A 250V", spec=fuse(20.0, 250)),
    entry(15, "fuse holder, chassis, unread"),
    entry(16, "potentiometer 10k log"),
]
INDEX = Index.of(STOCK)


def ids(hits):
    return [hit.entry.id for hit in hits]


def test_grades_come_before_text_and_refused_ones_after_what_cannot_be_judged():
    hits = INDEX.find("glass fuse 2A", reader=reader, judge=judge)
    assert ids(hits)[:3] == [12, 13, 11]
    assert [hit.grade for hit in hits[:3]] == ["drop-in", "rework", "unknown"]
    assert hits[0].why == "voltage ac: as rated"
    found = ids(hits)
    assert found.index(15) < found.index(14)
    assert next(hit for hit in hits if hit.entry.id == 14).grade == "refuse"
    assert 10 not in found


def test_a_part_number_comes_first_however_it_is_written():
    for query in ("QX-14", "qx14", "qx 14"):
        first = INDEX.find(query, reader=reader, judge=judge)[0]
        assert (first.entry.id, first.same_number, first.why) == (14, True, "same part number")


def test_an_ambiguous_query_promises_nothing_better_than_unknown():
    hits = INDEX.find("glass fuse 2A?", reader=reader, judge=judge)
    grades = {hit.entry.id: hit.grade for hit in hits}
    assert {grades[number] for number in (11, 12, 13, 14)} == {"unknown"}


def test_a_query_that_names_only_the_family_finds_every_kind_of_it_and_promises_nothing():
    def capacitor(kind):
        return PartSpec(kind, {"capacitance": Value(1e-6, "F")})

    stock = [entry(1, "thing one", spec=capacitor("film")), entry(2, "thing two", spec=capacitor("electrolytic"))]
    hits = Index.of([*stock, entry(3, "thing three", spec=fuse(1.0))]).find(
        "1u",
        reader=lambda text: Reading("ok", capacitor("capacitor")),
        judge=fit,
    )
    assert {(hit.entry.id, hit.grade) for hit in hits} == {(1, "unknown"), (2, "unknown")}


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
    assert Index.of([]).find("belt") == []


def test_what_is_in_the_drawer_comes_before_what_is_sold():
    same = [
        entry(1, "belt 43 mm", source="offer", quantity=None),
        entry(1, "belt 43 mm", quantity=0),
        entry(1, "belt 43 mm", quantity=2),
    ]
    hits = Index.of(same).find("belt 43 mm")
    assert [(hit.entry.source, hit.entry.quantity) for hit in hits] == [("part", 2), ("offer", None), ("part", 0)]


def test_the_scan_stops_when_it_is_told_to():
    many = Index.of([entry(number, f"belt {number}") for number in range(3 * SLICE)])
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
    marks = [(fuzz.WRatio(query, one.search) + fuzz.token_set_ratio(query, one.search)) / 2 for one in stock]
    best = sorted(marks, reverse=True)[:30]
    hits = Index.of(stock).find(query, limit=30)
    assert [hit.score for hit in hits] == pytest.approx(best)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("4,7 µF", "4.7uF"),
        ("4.7 μF 25 V", "4.7uf 25v"),
        ("10 kΩ", "10 kohm"),
        ("10 k ohms", "10k"),
        ("5×20", "5x20"),
        ("Größe", "GROSSE"),
        ("AB-12/C", "ab 12 c"),
        ("105 °C", "105 c"),
    ],
)
def test_spellings_of_the_same_thing_have_one_form(one, other):
    assert search_form(one) == search_form(other)


@given(st.text(max_size=60))
def test_the_search_form_is_stable(text):
    form = search_form(text)
    assert search_form(form) == form
    assert number_form(form) == number_form(text)


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
    return Index.of([entry(number, text, spec=reading.spec) for number, (text, reading) in enumerate(readings)])


def test_what_is_remembered_of_a_part_finds_what_fits(drawer):
    hits = drawer.find("4.7 25v elko small", reader=read, judge=fit)
    graded = {DRAWER[hit.entry.id]: hit.grade for hit in hits}
    assert DRAWER[hits[0].entry.id] == "electrolytic 4.7uF 25V radial"
    assert graded["electrolytic 4.7uF 50V radial 105C"] in {"exact", "drop-in"}
    assert graded.get("electrolytic 10uF 16V radial", "refuse") == "refuse"
    assert graded.get("electrolytic 470uF 25V radial") is None
    assert graded.get("resistor 4.7k 0.25W 1%") is None
    assert drawer.find("lens unit", reader=read, judge=fit)[0].grade is None


def test_the_speed_of_a_fuse_is_not_overlooked(drawer):
    grades = {DRAWER[hit.entry.id]: hit.grade for hit in drawer.find("T1.6A 250V 5x20 fuse", reader=read, judge=fit)}
    assert grades["fuse T1.6A 250V 5x20"] not in {None, "refuse"}
    assert grades["fuse F1.6A 250V 5x20"] == fit(read("T1.6A 250V 5x20 fuse").spec, read(DRAWER[9]).spec).grade


def test_every_grade_shown_is_the_judges_own(drawer):
    for query in ("4.7u 25v electrolytic", "10k resistor", "100n film 63V", "4.7uF 35V tantalum"):
        for hit in drawer.find(query, reader=read, judge=fit):
            if hit.grade is not None:
                assert hit.grade == fit(read(query).spec, hit.entry.spec).grade


def test_what_is_left_unjudged_for_its_value_would_have_been_refused(drawer):
    for query in ("4.7u 25v electrolytic", "10k resistor 0.25W", "100n film 63V", "47uF 25V electrolytic"):
        wanted = read(query).spec
        judged = {hit.entry.id: hit.grade for hit in drawer.find(query, limit=99, reader=read, judge=fit)}
        for one in drawer.entries:
            if one.spec is not None and one.spec.kind == wanted.kind and judged.get(one.id) is None:
                assert fit(wanted, one.spec).grade == "refuse", (query, one.description)


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
