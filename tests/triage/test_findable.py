"""Finding over the bench file: kept in step with every change, whoever made it."""

import random
import threading
from datetime import date

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from catalog import find_store, segments
from catalog.pricelists import described
from catalog.rules import Grade
from catalog.staged import Stopped
from catalog.text import Refused
from triage.actions import files, findable, finding, judging, own_words, parts, prices, staging
from triage.actions import settings as settings_of
from triage.actions.findable import find_alike, find_parts
from triage.bench_file import BenchFile, in_one_transaction

OFFERS = "supplier,sku,description,pack,stock,price\nNorth Counter,ZZ-77,fuse T1.6A 250V 5x20,10,4,1\n"
QUERIES = ("fuse T1.6A", "qx9", "10k", "lens", "zz-77", "belt 43mm")


@pytest.fixture
def bench(tmp_path):
    with BenchFile(tmp_path / "bench.db", today=date(2026, 1, 8)) as opened:
        yield opened


def made_anew(bench):
    """The same file with no index yet."""
    fresh = bench.another()
    fresh.shared = {}
    return fresh


def same_as_anew(bench):
    with made_anew(bench) as fresh:
        return all(find_parts(bench, query) == find_parts(fresh, query) for query in QUERIES) and all(
            find_alike(bench, query) == find_alike(fresh, query) for query in QUERIES
        )


def test_finding_says_where_parts_lie_and_sees_every_change(bench, write, parts_list):
    parts.import_parts(bench, write(parts_list))
    first = find_parts(bench, "T1.6A 5x20")[0]
    assert (first.entry.place, first.entry.quantity) == ("box 3", 8)
    assert find_parts(bench, "qx9")[0].same_number
    index = findable.findable(bench).index
    assert findable.findable(bench).index is index
    part = parts.add_part(bench, "belt square 43 mm", place="box 9")
    assert find_parts(bench, "43mm belt")[0].entry.id == part.id
    bench.journal.undo(at=bench.now())
    assert part.id not in [hit.entry.id for hit in find_parts(bench, "43mm belt")]


def test_an_answer_at_the_bench_leaves_the_index_as_it_is(bench, write, parts_list):
    parts.import_parts(bench, write(parts_list))
    held = findable.findable(bench)
    with bench.journal.event("note", "something else", at=bench.now()):
        pass
    after = findable.findable(bench)
    assert after.index is held.index
    assert after.moment != held.moment


def test_all_threads_of_a_program_share_one_index(bench, write, parts_list):
    parts.import_parts(bench, write(parts_list))
    find_parts(bench, "lens")
    held = []

    def look():
        with bench.another() as other:
            held.append(findable.findable(other).index)

    thread = threading.Thread(target=look)
    thread.start()
    thread.join()
    assert held == [findable.findable(bench).index]


def test_finding_sees_what_another_program_wrote(bench):
    parts.add_part(bench, "glass lens")
    assert len(find_parts(bench, "lens")) == 1

    def write_elsewhere():
        with made_anew(bench) as other:
            parts.add_part(other, "plastic lens")

    thread = threading.Thread(target=write_elsewhere)
    thread.start()
    thread.join()
    assert len(find_parts(bench, "lens")) == 2


def test_what_is_rolled_back_is_not_kept(bench):
    parts.add_part(bench, "glass lens")
    find_parts(bench, "lens")

    @in_one_transaction
    def fails(bench):
        parts.add_part(bench, "plastic lens")
        assert len(find_parts(bench, "lens")) == 2
        raise RuntimeError

    with pytest.raises(RuntimeError):
        fails(bench)
    assert len(find_parts(bench, "lens")) == 1
    parts.add_part(bench, "belt square 43 mm")  # takes the number of the event that is no more
    assert [len(find_parts(bench, query)) for query in ("lens", "belt")] == [1, 1]


def test_an_index_of_another_files_past_is_made_anew(bench):
    parts.add_part(bench, "glass lens")
    held = findable.findable(bench)
    bench.shared["findable"] = type(held)(find_store.Moment(1, "another time"), held.index, held.judge, frozenset())
    assert len(find_parts(bench, "lens")) == 1
    assert findable.findable(bench).index is not held.index


def test_offers_come_and_go_with_their_list(bench, write):
    prices.import_suppliers(bench, write("supplier,lead_days\nNorth Counter,3\n", "s.csv"))
    assert find_parts(bench, "zz-77") == []
    prices.import_offers(bench, write(OFFERS, "o.csv"))
    hit = find_parts(bench, "zz-77")[0]
    assert (hit.entry.source, hit.entry.supplier, hit.entry.quantity) == ("offer", "North Counter", 40)
    prices.import_offers(bench, write(OFFERS.replace("ZZ-77", "YY-78"), "o2.csv"))
    assert [hit.entry.part_number or hit.entry.description for hit in find_parts(bench, "yy-78 fuse")][:1]
    assert not any("zz" in hit.entry.search for hit in find_parts(bench, "zz-77"))
    assert same_as_anew(bench)
    bench.journal.undo(at=bench.now())
    assert "zz" in find_parts(bench, "zz-77")[0].entry.search
    bench.journal.redo(at=bench.now())
    assert same_as_anew(bench)


def test_a_pair_of_ones_own_counts_at_once(bench):
    for number, text in (("", "transistor BC547"), ("", "transistor BC557")):
        parts.add_part(bench, text, part_number=number)
    before = {hit.entry.description: hit.grade for hit in find_parts(bench, "BC547")}
    own_words.add_pair(bench, "BC547", "BC557", Grade.REFUSE, note="other polarity")
    after = {hit.entry.description: hit.grade for hit in find_parts(bench, "BC547")}
    assert after["transistor BC557"] == "refuse"
    assert after["transistor BC547"] == before["transistor BC547"]
    assert same_as_anew(bench)


def test_a_pair_is_no_hit_for_another_kind_of_part(bench):
    for text, number in (("stick module", "SM-4K"), ("stick module", "SM-4KX"), ("resistor 4.7 kohm 0.25 W", "")):
        parts.add_part(bench, text, part_number=number, kind="listed" if number else "")
    own_words.add_pair(bench, "SM-4K", "SM-4KX", note="other colour")
    assert [hit.entry.description for hit in find_parts(bench, "resistor 4.7 kohm")] == ["resistor 4.7 kohm 0.25 W"]
    fitting = {hit.entry.part_number: hit.grade for hit in find_parts(bench, "SM-4K")}
    assert (fitting["SM-4K"], fitting["SM-4KX"]) == ("exact", "drop-in")


def test_how_far_the_index_is_can_be_asked_meanwhile(bench, write, monkeypatch, parts_list):
    monkeypatch.setattr(segments, "_TURN", 1)
    parts.import_parts(bench, write(parts_list))
    seen = []
    row = segments.Row

    def watched(*told):
        seen.append(findable.making(bench))
        return row(*told)

    monkeypatch.setattr(segments, "Row", watched)
    assert not findable.is_ready(bench)
    assert findable.making(bench) is None
    find_parts(bench, "lens")
    assert [one.percent for one in seen] == sorted(one.percent for one in seen)
    assert seen[-1].done > 0
    assert findable.is_ready(bench)
    assert findable.making(bench) is None


STEPS = st.lists(st.integers(0, 10_000), min_size=3, max_size=14)
WORDS = ("lens unit", "fuse T1.6A 250V 5x20", "belt square 43 mm", "resistor 10k 0.25W", "lever black")


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(STEPS, st.sampled_from([0, 3, 2_000]))
def test_after_any_actions_finding_is_as_over_a_file_opened_anew(tmp_path, seeds, scanned):
    path = tmp_path / f"{random.random()}.db"
    with BenchFile(path, today=date(2026, 1, 8)) as bench, pytest.MonkeyPatch.context() as patch:
        patch.setattr(segments, "SCAN", scanned)
        for step in seeds:
            chance = random.Random(step)
            held = parts.list_parts(bench)
            match chance.randrange(5 if held else 1):
                case 0:
                    number = f"QX-{step}" if chance.random() < 0.6 else ""
                    place = f"box {step}"
                    if not any(part.place == place or part.part_number == number != "" for part in held):
                        parts.add_part(bench, chance.choice(WORDS), part_number=number, quantity=2, place=place)
                case 1:
                    parts.change_part(bench, chance.choice(held).id, quantity=chance.randrange(3))
                case 2:
                    parts.change_part(bench, chance.choice(held).id, description=f"{chance.choice(WORDS)} {step}")
                case 3:
                    bench.journal.undo(at=bench.now())
                case 4:
                    bench.journal.redo(at=bench.now())
            find_parts(bench, "lens")
        with made_anew(bench) as fresh:
            for query in QUERIES:
                ours, anew = find_parts(bench, query), find_parts(fresh, query)
                if scanned == 2_000:
                    assert ours == anew
                elif anew and (anew[0].grade or anew[0].same_number or anew[0].score > 65):
                    assert ours[:1] == anew[:1]


def many(count, words="belt square"):
    rows = (f"QX-{number},{words} {number} mm,{number % 7},box {number % 9}" for number in range(count))
    return "part_number,description,quantity,place\n" + "\n".join(rows) + "\n"


def test_a_list_of_many_is_one_event_found_at_once_and_taken_back(bench, write, parts_list):
    parts.import_parts(bench, write(parts_list))
    find_parts(bench, "lens")
    parts.import_parts(bench, write(many(700), "many.csv"))
    assert bench.journal.history()[0].action == "import_parts"
    assert bench.database.table("journal_blocks").count == 2
    assert find_parts(bench, "qx 655")[0].entry.description == "belt square 655 mm"
    assert same_as_anew(bench)
    with bench.another() as looked:
        assert files.verify(looked).ok
    bench.journal.undo(at=bench.now())
    assert len(parts.list_parts(bench)) == 4
    assert not any(hit.same_number for hit in find_parts(bench, "qx 655"))
    assert same_as_anew(bench)
    bench.journal.redo(at=bench.now())
    assert find_parts(bench, "qx 655")[0].same_number


def test_an_import_tells_how_far_it_is_and_leaves_nothing_when_it_is_stopped(bench, write):
    told = []

    def tell(doing, done, of):
        told.append((doing, done, of))

    staged = prices.stage_files(bench, [write(many(700))], kind="parts", progress=tell)
    assert {doing for doing, _, _ in told} == {"reading", "comparing"}

    def stop(doing, done, of):
        tell(doing, done, of)
        raise Stopped

    with pytest.raises(Refused, match="nothing was taken in"):
        staging.commit(bench, staged, stop)
    assert told[-1] == ("keeping", 500, 700)
    assert parts.list_parts(bench) == []
    assert bench.journal.history() == []
    assert bench.database.table("batches").count == 0
    staging.commit(bench, staged)
    assert len(parts.list_parts(bench)) == 700


def test_a_list_that_changes_parts_lets_go_what_it_no_longer_holds_only_there(bench, write):
    parts.import_parts(bench, write(many(700)))
    changed = many(700).replace("QX-5,belt square 5 mm,5,", "QX-5,belt square 5 mm,1,")
    done = parts.import_parts(bench, write(changed))
    assert (done.changed, done.unchanged) == (1, 699)
    assert find_parts(bench, "qx-5")[0].entry.quantity == 1
    bench.journal.undo(at=bench.now())
    assert find_parts(bench, "qx-5")[0].entry.quantity == 5


def test_plain_words_find_something_while_the_index_is_made(bench, write, parts_list):
    parts.import_parts(bench, write(parts_list))
    findable.will_be_made(bench)
    found = finding.search(bench, "Lens unit")
    assert found.making is not None
    assert [one.hit.entry.part_number for one in found.found] == ["QX-9"]
    findable.findable(bench)
    assert finding.search(bench, "Lens unit").making is None


def test_the_whole_drawer_is_read_a_page_at_a_time(bench, write):
    parts.import_parts(bench, write(many(250)))
    drawer = finding.search(bench, "").found
    assert len(drawer) == 250
    assert drawer[249].hit.entry.part_number == "QX-249"
    assert [one.hit.entry.part_number for one in drawer[98:102]] == ["QX-98", "QX-99", "QX-100", "QX-101"]
    assert drawer[-1].hit.entry == drawer[249].hit.entry
    bench.journal.undo(at=bench.now())
    assert drawer[150].hit.entry.description == "belt square 150 mm"  # the page is still held
    assert drawer[220].hit.entry.description == "belt square 220 mm"
    drawer.read_by(bench)
    assert drawer[150].hit.entry.description == "not there any more"
    with pytest.raises(IndexError):
        drawer[250]


MARKED = """part_number,description,kind,quantity,place,unit_cost,currency
,regulator 7805 TO-220 dud,,1,box 1,,
,regulator 7805 TO-220,,1,box 2,,
,regulator 7905 TO-220,,1,box 3,,
,elko 470uF 25V blown,,2,box 4,,
,elko 470uF 35V,,2,box 5,,
"""


def test_pieces_marked_bad_say_so_and_come_behind_what_fits_and_is_good(bench, write):
    parts.import_parts(bench, write(MARKED))
    hits = [(hit.entry.place, hit.grade, hit.bad) for hit in find_parts(bench, "7805 TO-220")]
    assert hits[:3] == [("box 2", "exact", ""), ("box 3", None, ""), ("box 1", "refuse", "dud")]
    caps = [(hit.entry.place, hit.grade, hit.bad) for hit in find_parts(bench, "elko 470uF 25V")]
    assert caps[:2] == [("box 5", "drop-in", ""), ("box 4", "refuse", "blown")]
    whole = [(found.hit.entry.place, found.bad) for found in finding.search(bench, "").found]
    assert whole == [("box 1", "dud"), ("box 2", ""), ("box 3", ""), ("box 4", "blown"), ("box 5", "")]


def test_a_bad_piece_is_not_held_to_lie_in_the_drawer_before_what_is_sold(bench, write):
    row = "part_number,description,kind,quantity,place,unit_cost,currency\n,lens unit broken,,1,box 1,,\n"
    parts.import_parts(bench, write(row))
    suppliers = (
        "supplier,currency,lead_days,lead_days_late,min_order,shipping,free_from\nNorth Counter,EUR,2,4,0,4.00,\n"
    )
    prices.import_suppliers(bench, write(suppliers, "suppliers.csv"))
    offer = "supplier,sku,description,pack,stock,price\nNorth Counter,ZZ-77,lens unit broken,1,4,1\n"
    prices.import_any(bench, write(offer, "offers.csv"))
    held = findable.findable(bench).index
    assert len(held) == 2
    assert [segment.at_hand.tolist() for segment, _ in held._parts] == [[False, False]]


def test_a_size_without_its_letters_finds_the_cells_of_that_size_first(bench, write):
    cells = ("CR2025 coin cell", "cell holder CR2032", "NiMH cell pack 3.6V", "CR2032 coin cell", "ML2032 with tabs")
    rows = "".join(f",{text},,1,box {place},,\n" for place, text in enumerate(cells))
    parts.import_parts(bench, write(f"part_number,description,kind,quantity,place,unit_cost,currency\n{rows}"))
    hits = [(hit.entry.place, hit.grade) for hit in find_parts(bench, "cell 2032")]
    assert hits[0] == ("box 3", "unknown")
    assert {grade for _, grade in hits} <= {"unknown", "refuse", None}


def test_a_number_typed_with_a_letter_for_a_figure_is_found_among_many(bench, write):
    rows = "".join(f"ZX-{number:05},board,listed,1,shelf,,\n" for number in range(1000, 3500))
    parts.import_parts(bench, write(f"part_number,description,kind,quantity,place,unit_cost,currency\n{rows}"))
    assert len(findable.findable(bench).index) > segments.SCAN
    hit = find_parts(bench, "zx0l034", 3)[0]
    assert (hit.entry.part_number, hit.same_number) == ("ZX-01034", False)


FUSES = (
    # description, grade for a query that says no more than was understood
    ("fuse T1A 250V 5x20", "exact"),
    ("fuse T1A 250V 5x20 Werzel", "drop-in"),
    ("fuse T1A 250V 5x20 or T2A", "unknown"),
    ("fuse T1A 250V 5x20, replaces T2A", "unknown"),
    ("fuse T1A 250V 5x20 blown", "refuse"),
)


def test_what_was_left_over_of_a_description_counts_as_in_a_fit(bench):
    for text, _ in reversed(FUSES):
        parts.add_part(bench, text)
    hits = find_parts(bench, "fuse T1A 250V 5x20")
    assert [(hit.entry.description, hit.grade) for hit in hits] == list(FUSES)
    for hit in hits:
        why = finding.why_it_fits(bench, "fuse T1A 250V 5x20", None, hit.entry)
        assert why.grade == hit.grade == judging.fit_texts(bench, "fuse T1A 250V 5x20", hit.entry.description).grade
    assert hits[-1].why == "text: the text says that it is broken: blown"


def test_what_was_left_over_of_the_query_counts_too(bench):
    parts.add_part(bench, "fuse T1A 250V 5x20 Werzel")
    (asked,) = find_parts(bench, "fuse T1A 250V 5x20 werzel")
    assert asked.grade == "exact"
    (asked,) = find_parts(bench, "fuse T1A 250V 5x20 fireproof")
    assert (asked.grade, asked.why) == (
        "unknown",
        "text: check: not understood, and may say another part: “fireproof” and “werzel”",
    )


def test_a_part_that_can_be_read_in_two_ways_is_promised_by_neither(bench):
    text = "thermal fuse 115C 10A 250V, not resettable"
    part = parts.add_part(bench, text)
    (hit,) = find_parts(bench, "thermal fuse 115C 10A 250V")
    assert hit.grade == "unknown"
    assert finding.why_it_fits(bench, "thermal fuse 115C 10A 250V", None, hit.entry).grade == "unknown"
    assert part.left_over == text


def test_the_same_number_stays_first_whatever_else_is_written(bench):
    parts.add_part(bench, "coin cell CR2032")
    parts.add_part(bench, "coin cell CR2032, leaking", part_number="CR2032")
    hits = find_parts(bench, "CR2032")
    assert [(hit.entry.part_number, hit.same_number, hit.grade) for hit in hits] == [
        ("CR2032", True, "refuse"),
        ("", False, "exact"),
    ]


ADAPTOR = "9V 1A DC adapter 5.5x2.1 centre positive"


def test_the_persons_mains_counts_wherever_a_supply_is_judged(bench):
    parts.add_part(bench, f"{ADAPTOR} 120V")
    (before,) = find_parts(bench, ADAPTOR)
    assert before.grade == "drop-in"
    settings_of.change_person(bench, mains=230.0)
    (after,) = find_parts(bench, ADAPTOR)
    assert (after.grade, after.why) == ("refuse", "input voltage: the input must cover the mains at hand")
    assert finding.why_it_fits(bench, ADAPTOR, None, after.entry).locked
    assert judging.fit_texts(bench, ADAPTOR, f"{ADAPTOR} 100-240V").grade == "drop-in"
    assert judging.fit_texts(bench, f"{ADAPTOR} 120V", f"{ADAPTOR} 120V").grade == "exact"
    settings_of.change_person(bench, mains=None)
    assert find_parts(bench, ADAPTOR)[0].grade == "drop-in"


@pytest.mark.parametrize("volts", [79.9, 500.1, -230.0])
def test_volts_that_are_no_mains_are_refused_and_change_nothing(bench, volts):
    with pytest.raises(Refused, match=r"^settings\.mains: expected volts from 80 to 500, or none"):
        settings_of.change_person(bench, mains=volts)
    assert bench.person.mains is None


@pytest.mark.parametrize(("text", "volts"), [("230", 230), ("120 V", 120), ("230v", 230), ("none", None), (" ", None)])
def test_volts_of_the_mains_are_read_as_they_are_typed(text, volts):
    assert settings_of.mains_of(text) == volts


@pytest.mark.parametrize(("words", "grade"), [("", "exact"), ("or T2A", "unknown"), ("blown", "refuse")])
def test_a_piece_that_is_promised_or_used_is_judged_as_it_is_written(bench, words, grade):
    text = "fuse T1A 250V 5x20"
    part = parts.add_part(bench, f"{text} {words}")
    seen = described(text, "", "", judging.read_description)
    judge = judging.judge_written(bench)
    assert judge(text, seen, part).grade == grade
    assert judge("or T2A", msgspec.structs.replace(seen, left_over="or T2A"), part).grade in {"unknown", "refuse"}
    assert judge(text, msgspec.structs.replace(seen, spec=None), part) is None


def test_a_thermal_fuse_for_many_more_amperes_is_found_as_it_fits(bench):
    wanted, texts = "thermal fuse 1A 250V 130C", ("thermal fuse 15A 250V 130C", "thermal fuse 0.05A 250V 130C")
    for text in texts:
        parts.add_part(bench, text)
    hits = {hit.entry.description: hit.grade for hit in find_parts(bench, wanted)}
    assert hits[texts[0]] == judging.fit_texts(bench, wanted, texts[0]).grade == "drop-in"
    assert hits.get(texts[1]) in {None, "refuse"}
    assert judging.fit_texts(bench, wanted, texts[1]).grade == "refuse"
