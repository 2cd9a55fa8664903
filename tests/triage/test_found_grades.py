"""What finding says of a part is what a fit of the two texts says, whatever was left over or can be read twice."""

from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from catalog import find_store, first_of
from catalog.rules import Grade
from triage.actions import own_words, parts, prices
from triage.actions.findable import find_parts
from triage.actions.finding import why_it_fits
from triage.actions.judging import fit_texts
from triage.bench_file import BenchFile

WHAT = {
    "battery": (
        *(
            "CR2032",
            "CR2025",
            "ML2032",
            "LIR2032",
            "LR44",
            "SR44",
            "AG13",
            "R6",
            "AA battery",
            "2xAA battery",
            "pile 621",
        ),
        *("6F22", "PP3 block", "cell 2032", "NiMH AA 2000mAh", "AA alkaline 1.5V", "Knopfzelle CR2025 mit Lötfahne"),
    ),
    "capacitor": (
        *("elko 470uF 25V", "elko 470uF 35V 105C", "470uF", "10/16", "film 100", "film 100n 63V", "tantalum 4R7"),
        *("ceramic 100n X7R 50V", "2.2uF 4.7uF", "N750 47pF ceramic", "elko 32+16µF 350V", "X2 100n 275V"),
    ),
    "fuse": (
        *("fuse T1.6A 250V 5x20", "fuse F1.6A 250V 5x20", "fuse T 500", "fuse T500mA 250V", "FUSE T 315MA 250V"),
        *("T1,25A 250V träge 5x20", "fuse 2A", "fuse 2A 32V"),
    ),
    "resistor": ("resistor 10k 0.25W", "10k 1%", "resistor 472", "metal film 4k7 1% 0.6W", "470", "resistor 4R7 5W"),
    "active": ("BC547", "transistor BC557", "diode 1N4148", "regulator 7805 TO-220", "regulator 7905", "LM317 TO-220"),
    "mechanical": ("belt square 43 mm", "belt 135 mm circumference square 1.2", "motor 6V cw", "switch spdt 3A"),
}
MORE = ("", "", "", "blown", "not blown", "defekt", "like new", "or T4A", "VDE", "for the old set", "5 pcs", "no brand")
texts = st.sampled_from(sorted(WHAT)).flatmap(lambda kind: st.sampled_from(WHAT[kind]))
written = st.tuples(texts, st.sampled_from(MORE)).map(lambda both: " ".join(both).strip())


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(written, min_size=1, max_size=8, unique=True), st.lists(written, min_size=1, max_size=4), st.integers(1, 9)
)
def test_the_grade_of_what_is_found_is_that_of_a_fit(tmp_path_factory, drawer, queries, limit):
    with BenchFile(tmp_path_factory.mktemp("bench") / "bench.db", today=date(2026, 1, 8)) as bench:
        for text in drawer:
            parts.add_part(bench, text)
        for query in queries:
            for hit in find_parts(bench, query, limit):
                by_texts = fit_texts(bench, query, hit.entry.description).grade
                if hit.grade is None:
                    assert by_texts in {"unknown", "refuse"}, (query, hit)
                else:
                    assert hit.grade == by_texts, (query, hit)
                    assert why_it_fits(bench, query, None, hit.entry).grade == by_texts


@pytest.fixture
def bench(tmp_path):
    with BenchFile(tmp_path / "bench.db", today=date(2026, 1, 8)) as opened:
        yield opened


@pytest.mark.parametrize(
    ("query", "text"),
    [
        ("CR2025 coin cell", "pile bouton 621"),  # each cell that a 621 may be is too thin
        ("film 100n 63V", "elko 10/16"),
        ("2.2uF 4.7uF", "tantalum 100uF 3V"),
        ("cell 2032", "CR2032 blown"),
    ],
)
def test_what_every_reading_refuses_is_refused_where_it_is_found(bench, query, text):
    parts.add_part(bench, text)
    assert fit_texts(bench, query, text).grade == "refuse"
    assert {hit.grade for hit in find_parts(bench, query)} <= {"refuse", None}


def test_one_reading_that_refuses_does_not_speak_for_one_that_is_far_off(bench):
    parts.add_part(bench, "fuse T2A 250V 5x20")
    assert [hit.grade for hit in find_parts(bench, "fuse T 500")] == ["unknown"]


def test_the_readings_of_a_part_with_a_number_are_asked_by_that_number(bench):
    own_words.add_pair(bench, "CR2032", "K-1", Grade.REFUSE, note="too thick")
    parts.add_part(bench, "cell 2032", part_number="K-1")
    parts.add_part(bench, "cell 2032", part_number="K-2")
    grades = {hit.entry.part_number: hit for hit in find_parts(bench, "CR2032")}
    assert {number: hit.grade for number, hit in grades.items()} == {"K-1": "refuse", "K-2": "unknown"}
    assert [why_it_fits(bench, "CR2032", None, grades[one].entry).grade for one in ("K-1", "K-2")] == [
        "refuse",
        "unknown",
    ]


@pytest.mark.parametrize("more", ["blown", "like new", "10 or 22"])
def test_what_is_cut_off_is_graded_by_its_text_first(bench, more):
    for place in range(60):
        parts.add_part(bench, f"elko 470uF 25V {more}", place=f"box {place}")
    parts.add_part(bench, "condensateur chimique 470uF 25V radial", place="shelf")
    hits = find_parts(bench, "elko 470uF 25V", 5)
    assert len(hits) == 5
    assert (hits[0].entry.place, hits[0].grade) == ("shelf", "exact")


def test_what_was_not_looked_at_is_not_promised(bench, monkeypatch):
    monkeypatch.setattr(first_of, "MOST", 10)
    for place in range(60):
        parts.add_part(bench, f"elko 470uF 25V like new {place}", place=f"box {place}")
    assert {hit.grade for hit in find_parts(bench, "elko 470uF 25V", 5)} == {"unknown"}


def test_a_search_that_is_stopped_while_it_grades_promises_nothing(bench, monkeypatch):
    for place in range(60):
        parts.add_part(bench, f"elko 470uF 25V blown {place}", place=f"box {place}")
    asked = []
    texts_of = find_store.texts_of
    monkeypatch.setattr(find_store, "texts_of", lambda *said: asked.append(said) or texts_of(*said))
    assert find_parts(bench, "elko 470uF 25V", 5, cancelled=lambda: bool(asked)) == []
    assert len(asked) == 1


def test_of_a_grade_the_drawer_comes_before_what_is_sold_and_reads_a_little_more_alike(bench, write):
    prices.import_suppliers(bench, write("supplier,lead_days\nNorth Counter,3\n", "s.csv"))
    offers = "supplier,sku,description,pack,stock,price\nNorth Counter,ZZ-77,elko 470uF 25V,1,4,1\n"
    prices.import_offers(bench, write(offers, "o.csv"))
    parts.add_part(bench, "elko 25V 470uF radial", quantity=1)
    hits = find_parts(bench, "elko 470uF 25V")
    assert [(hit.entry.source, hit.grade) for hit in hits] == [("part", "exact"), ("offer", "exact")]
    assert hits[0].score < hits[1].score
