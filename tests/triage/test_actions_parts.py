"""Taking in, adding, changing, finding and writing out the person's parts."""

from datetime import date

import pytest

from catalog import store
from catalog.rules import Grade
from catalog.text import Refused
from triage.actions import judging, own_words, parts
from triage.bench_file import BenchFile


@pytest.fixture
def bench(tmp_path):
    with BenchFile(tmp_path / "bench.db", today=date(2026, 1, 8)) as opened:
        yield opened


def rows(bench):
    return {name: list(bench.database[name].rows) for name in ("parts", "suppliers")}


def test_a_parts_list_is_one_event_and_is_taken_back_as_one(bench, write, parts_list):
    done = parts.import_parts(bench, write(parts_list))
    assert (done.added, done.changed, done.unread, done.source) == (4, 0, 0, "parts.csv")
    held = {part.description: part for part in parts.list_parts(bench)}
    assert held["electrolytic 4.7uF 25V radial"].spec.number("capacitance") == 4.7e-6
    assert held["lens unit"].kind == "listed"
    assert held["lens unit"].spec.word("part_number") == "QX-9"
    assert held["lens unit"].unit_cost == 650
    after = rows(bench)
    assert [event.action for event in bench.journal.history()] == ["import_parts"]
    assert bench.journal.undo(at=bench.now()).action == "import_parts"
    assert parts.list_parts(bench) == []
    bench.journal.redo(at=bench.now())
    assert rows(bench) == after


def test_the_same_list_again_changes_nothing_and_a_newer_one_only_what_it_states(bench, write, parts_list):
    parts.import_parts(bench, write(parts_list))
    before = rows(bench)
    again = parts.import_parts(bench, write(parts_list))
    assert (again.added, again.changed, again.unchanged) == (0, 0, 4)
    assert rows(bench) == before
    newer = parts.import_parts(bench, write("part_number,quantity,place\nqx-9,3,\nQX-10,,drawer\n"))
    assert (newer.added, newer.changed) == (1, 1)
    lens = next(part for part in parts.list_parts(bench) if part.part_number == "QX-9")
    assert (lens.quantity, lens.place, lens.description, lens.unit_cost) == (3, "shelf", "lens unit", 650)
    bench.journal.undo(at=bench.now())
    assert rows(bench) == before


def test_a_bad_row_refuses_the_whole_list(bench, write, parts_list):
    path = write(parts_list + ",belt 43 mm,,-1,,,\n")
    with pytest.raises(Refused) as refused:
        parts.import_parts(bench, path)
    assert str(refused.value).startswith(f"{path}:6:quantity: ")
    assert rows(bench) == {"parts": [], "suppliers": []}
    assert bench.journal.history() == []


def test_what_is_written_out_is_read_in_to_the_same_parts(bench, write, tmp_path, parts_list):
    parts.import_parts(bench, write(parts_list))
    parts.add_part(bench, "=HYPERLINK belt", place="+box", quantity=2)
    out = tmp_path / "out.csv"
    assert parts.export_parts(bench, out) == 5
    assert "\n,=HYPERLINK" not in out.read_text(encoding="utf-8")
    with BenchFile(tmp_path / "other.db") as other:
        parts.import_parts(other, out)
        assert rows(other)["parts"] == rows(bench)["parts"]
    with pytest.raises(Refused, match="exists already"):
        parts.export_parts(bench, out)
    with pytest.raises(Refused, match="cannot be written"):
        parts.export_parts(bench, tmp_path / "none" / "out.csv")


def test_adding_and_changing_a_part(bench):
    part = parts.add_part(bench, "fuse T1.6A\x1b[31m 5x20", quantity=3, place="box 3")
    assert part == parts.get_part(bench, part.id)
    assert (part.kind, part.description, part.spec.number("current")) == ("fuse", "fuse T1.6A 5x20", 1.6)
    less = parts.change_part(bench, part.id, quantity=1, place="box 4")
    assert (less.quantity, less.place, less.spec) == (1, "box 4", part.spec)
    other = parts.change_part(bench, part.id, description="resistor 10k 0.25W")
    assert (other.kind, other.spec.number("resistance")) == ("resistor", 10_000)
    bench.journal.undo(at=bench.now())
    assert parts.get_part(bench, part.id) == less


def test_what_makes_no_part_is_refused(bench):
    part = parts.add_part(bench, "lens unit", part_number="QX-9")
    for attempt, said in (
        (lambda: parts.add_part(bench, " \x1b[0m "), "needs a description"),
        (lambda: parts.add_part(bench, "belt", kind="spaceship"), "is no kind"),
        (lambda: parts.add_part(bench, "belt", quantity=-1), "zero or more"),
        (lambda: parts.add_part(bench, "another", part_number="qx-9"), f"already as part {part.id}"),
        (lambda: parts.add_part(bench, "x" * 3000), "longer than"),
        (lambda: parts.change_part(bench, 99, quantity=1), "no part 99"),
    ):
        with pytest.raises(Refused, match=said):
            attempt()
    assert parts.list_parts(bench) == [part]


def test_pairs_are_kept_and_taken_back(bench):
    pair = own_words.add_pair(bench, "QX-9", "QX-10 ", note="needs a shim")
    own_words.add_pair(bench, "QX-9", "QX-11", Grade.REFUSE)
    assert [(held.candidate, held.grade) for held in store.pairs(bench.database)] == [
        ("QX-10", "drop-in"),
        ("QX-11", "refuse"),
    ]
    assert store.pairs(bench.database)[0] == pair
    bench.journal.undo(at=bench.now())
    assert store.pairs(bench.database) == [pair]
    with pytest.raises(Refused, match=r"pair\.wanted"):
        own_words.add_pair(bench, " ", "QX-1")
    with pytest.raises(Refused, match="same part number"):
        own_words.add_pair(bench, "QX-1", "qx-1")


def test_two_texts_are_judged_with_the_persons_own_pairs(bench):
    assert judging.fit_texts(bench, "resistor 10k 0.25W 5%", "resistor 10k 0.25W 1%").grade in {"exact", "drop-in"}
    assert judging.fit_texts(bench, "fuse T1.6A 250V 5x20", "fuse F1.6A 250V 5x20").grade != "exact"
    before = judging.fit_texts(bench, "transistor BC547", "transistor 2N3904").grade
    own_words.add_pair(bench, "BC547", "2N3904", Grade.REFUSE, note="other pin order")
    after = judging.fit_texts(bench, "transistor BC547", "transistor 2N3904")
    assert after.grade == "refuse"
    assert before != "exact"
    with pytest.raises(Refused, match="role"):
        judging.fit_texts(bench, "10k", "10k", role="decoration")
