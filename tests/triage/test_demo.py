"""The demo lot: built from its files by the actions alone, mixed enough to show every screen, safe to take back."""

import re
import shutil
from collections import Counter
from datetime import date, datetime, timedelta
from pathlib import Path

import msgspec
import pytest

from catalog.text import Refused, clean_line
from triage import demo, lotplan, store
from triage.actions import files, looks
from triage.actions.history import history, take_back
from triage.actions.list_rows import unread
from triage.actions.lot_view import lot_view
from triage.actions.needs import wanted_parts
from triage.actions.parts import list_parts
from triage.actions.plan_facts import gather
from triage.actions.planning import plan_lot
from triage.actions.prices import list_offers, list_suppliers
from triage.actions.studies import study_of
from triage.actions.unit_view import unit_view
from triage.bench_file import BenchFile
from triage.lot import case_open
from triage.study import study

TODAY = date(2031, 3, 5)
FOLDER = Path(demo.__file__).parents[1] / "demo"
TEXTS = ("units.csv", "parts.csv", "suppliers.csv", "offers.csv", "evenings.toml", "ABOUT.md")


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    path = tmp_path_factory.mktemp("demo") / "bench.db"
    demo.make_demo(path, TODAY)
    return path


@pytest.fixture(scope="module")
def bench(made):
    with BenchFile(made, today=TODAY) as opened:
        yield opened


@pytest.fixture(scope="module")
def view(bench):
    return lot_view(bench)


@pytest.fixture(scope="module")
def plan(bench, view):
    """What the lot is to do; `view` was taken before, since a plan lets the advice know what a minute is worth."""
    return plan_lot(bench)


def decided(plan, number):
    return next(unit for unit in plan.units if unit.number == number)


def test_the_file_is_sound_and_alone(made, bench):
    assert files.verify(bench).ok
    assert {entry.name for entry in made.parent.iterdir()} - {"bench.db-wal", "bench.db-shm", "bench.db-seats"} == {
        "bench.db"
    }


def test_days_are_offsets_from_today(bench):
    lot = store.lots(bench.database)[0]
    assert date.fromisoformat(lot.bought_on) < TODAY < date.fromisoformat(lot.deadline)
    assert lot.bought_on == (TODAY + timedelta(days=demo.load_script().lot.bought)).isoformat()
    days = {
        datetime.fromisoformat(item.at).astimezone().date()
        for unit in store.units(bench.database)
        for item in store.happenings(bench.database, unit.number)
    }
    assert days == {TODAY + timedelta(days=evening.day) for evening in demo.load_script().evenings}
    assert max(days) < TODAY
    moments = [event.at for event in reversed(history(bench, limit=10_000))]
    assert moments == sorted(moments)


def test_the_box_is_as_mixed_as_a_real_one(bench, view):
    units = store.units(bench.database)
    assert 20 <= len(units) <= 26
    assert len({unit.device_class for unit in units if unit.device_class}) >= 7
    doubtful = [unit for unit in units if not unit.device_class]
    assert len(doubtful) == 1
    assert set(doubtful[0].candidates) == {"portable_radio", "gamepad"}
    piles = Counter(row.pile for row in view.rows)
    assert piles["fix"] >= 8
    assert piles["part_out"] >= 1
    assert piles["as_is"] >= 3
    assert piles["undecided"] >= 5
    assert piles["hand_over"] == 1
    assert view.minutes_left > 0
    assert all(row.next_step for row in view.rows)


def test_the_evenings_hold_every_kind_of_happening(bench):
    done = [store.happenings(bench.database, unit.number) for unit in store.units(bench.database)]
    kinds = {item.kind for items in done for item in items}
    assert kinds >= {"answer", "reading", "repair", "hazard", "release", "condition", "case", "note"}
    assert sum(not items for items in done) >= 4  # untouched, for whoever tries it


def test_a_first_fault_hides_the_second(bench):
    found = study_of(bench, 3)
    done = found.facts.happenings
    order = [(item.kind, item.subject, item.answer) for item in done if item.subject in {"power_switch", "picture"}]
    assert order == [("repair", "power_switch", "done"), ("answer", "picture", "bad")]
    retest = next(place for place, item in enumerate(done) if item.subject == "picture")
    facts = type(found.facts)(unit=found.facts.unit, happenings=done[:retest], person=found.facts.person)
    hidden = study(found.device_class, facts).belief.present["av_socket"]
    assert hidden < 0.2 < 0.8 < found.belief.present["av_socket"]
    assert found.belief.present["power_switch"] < 0.1
    assert found.pile == "fix"


def test_a_hazard_is_in_force(bench, view):
    seen = unit_view(bench, 9)
    assert [hazard.id for hazard in seen.hazards_in_force] == ["swollen_pack"]
    assert next(row for row in view.rows if row.number == 9).hazard
    with pytest.raises(Refused, match="locked"):
        looks.answer(bench, 9, "connects", "y")
    assert seen.pile == "hand_over"
    assert seen.unit.pile_reason


def test_one_is_repaired_and_tested_through_and_one_stands_open(bench):
    assert unit_view(bench, 11).fixed
    assert case_open(store.happenings(bench.database, 3))


def test_the_next_look_pays(bench, view):
    assert view.best_look == 5
    for number, gain in ((5, 400), (1, 100)):
        seen = unit_view(bench, number)
        assert seen.action == "check"
        assert seen.ask_first is None  # it can be answered at once
        assert study_of(bench, number).action.net_gain > gain


def test_one_sells_best_as_it_stands(bench):
    found = study_of(bench, 15)
    assert found.facts.unit.pile == ""  # by its sums, not by hand
    assert found.action.action == "stop"
    assert found.pile == "as_is"


def test_one_brings_most_taken_apart(plan):
    unit = decided(plan, 4)
    assert (unit.by_sums, unit.pile) == ("part_out", "part_out")


def test_a_donor_pays_because_another_unit_needs_its_part(bench, plan):
    giver, taker = decided(plan, 18), decided(plan, 17)
    assert (giver.by_sums, giver.pile) == ("as_is", "part_out")
    assert taker.pile == "fix"
    (line,) = plan.donors
    assert (line.donor, line.donor_part, line.units, line.grade) == (18, "pickup", (17,), "exact")
    facts = gather(bench, plan.lot, None)
    kept_whole = {**facts.problem.pins, "18": "as_is"}
    without = lotplan.plan(msgspec.structs.replace(facts.problem, pins=kept_whole))
    assert without.total < plan.total - 500


def test_a_substitute_beats_waiting_for_one_unit_and_not_for_another(plan):
    contested = {item.unit: item for item in plan.contested}
    quicker, patient = contested[2], contested[6]
    assert (quicker.taken, quicker.now.grade, quicker.wait.grade) == ("now", "drop-in", "exact")
    assert (patient.taken, patient.now.grade, patient.wait.grade) == ("wait", "drop-in", "exact")
    for item in (quicker, patient):
        assert item.now.date < item.wait.date
        assert item.now.goods > item.wait.goods
        assert item.flip_day_cost is not None
    assert quicker.ahead < 0 < patient.ahead
    assert quicker.flip_day_cost < quicker.day_cost
    assert patient.day_cost < patient.flip_day_cost
    grades = {unit: line.grade for line in plan.order for unit in line.units}
    assert (grades[2], grades[6]) == ("drop-in", "exact")


def test_a_makeshift_part_is_allowed_for_one_need(bench, plan):
    allowed = [need for need in store.needs(bench.database) if need.compromise_ok]
    assert [need.unit for need in allowed] == [16]
    (line,) = [line for line in plan.drawer if 16 in line.units]
    assert line.grade == "compromise"
    assert all(use.tell for use in line.uses)
    others = [line for line in (*plan.order, *plan.drawer, *plan.donors) if 16 not in line.units]
    assert "compromise" not in {line.grade for line in others}


def test_every_wanted_part_but_one_is_described(bench, plan):
    wanted = wanted_parts(bench)
    assert [(part.unit, part.part) for part in wanted if not part.described] == [(20, "relay")]
    assert [(part.unit, part.part) for part in plan.to_describe] == [(20, "relay")]
    assert any(offer.part_number == "RL-24" for offer in list_offers(bench))
    assert not plan.conflicts
    served = {unit for line in (*plan.order, *plan.drawer, *plan.donors) for unit in line.units}
    fixing = {unit.number for unit in plan.units if unit.pile == "fix"}
    assert {part.unit for part in wanted if part.described and part.unit in fixing} == served
    assert len(served) >= 10
    assert {unit for line in plan.drawer for unit in line.units} >= {8, 12, 16}
    # ten exact pieces come with the pack that 13 needs anyway: none of its nine is a looser one of the drawer
    assert [(line.grade, line.pieces) for line in plan.order if 13 in line.units] == [("exact", 10)]
    assert [use.pieces for line in plan.order for use in line.uses if use.unit == 13] == [9]


def test_the_order_has_a_choice_of_days(bench, plan):
    assert plan.status == "optimal"
    assert len({line.supplier for line in plan.order}) >= 3
    assert len(plan.front) >= 2
    assert plan.order_total < store.lots(bench.database)[0].cash_limit
    (tens,) = [line for line in plan.order if 13 in line.units]
    assert tens.pieces > sum(use.pieces for use in tens.uses)  # ten cost less than nine
    assert next(line.grade for line in plan.order if 14 in line.units) == "drop-in"


def test_the_lists_are_as_long_and_as_clear_as_they_say(bench):
    held, offers = list_parts(bench), list_offers(bench)
    assert len(held) >= 420
    assert len({(offer.supplier, offer.sku) for offer in offers}) >= 1000
    assert len(list_suppliers(bench)) == 6
    assert len(unread(held) + unread(offers)) <= 3
    vague = [one.description for one in (*held, *offers) if one.kind != "listed" and one.left_over == one.description]
    assert len(set(vague)) <= 3
    understood = sum(one.spec is not None for one in (*held, *offers))
    assert understood >= 0.99 * (len(held) + len(offers))
    assert all(one.place for one in held)
    assert any(len(offer.steps) > 2 for offer in offers)
    assert any(offer.pack > 1 for offer in offers)
    assert any(offer.stock_packs is not None for offer in offers)


def test_the_lists_hold_what_the_classes_use(bench):
    kinds = {part.kind for device_class in bench.classes.values() for part in device_class.parts}
    assert {offer.kind for offer in list_offers(bench)} >= kinds
    assert {part.kind for part in list_parts(bench)} >= kinds - {"pickup"}


def test_everything_can_be_taken_back(made, tmp_path):
    copy = tmp_path / "copy.db"
    shutil.copy(made, copy)
    with BenchFile(copy, today=TODAY) as opened:
        steps = 0
        while take_back(opened) is not None:
            steps += 1
        assert steps > 100
        assert store.units(opened.database) == []
        assert store.lots(opened.database) == []
        assert list_parts(opened) == []
        assert list_suppliers(opened) == []


def test_an_existing_file_is_refused_untouched(tmp_path):
    path = tmp_path / "bench.db"
    path.write_text("mine")
    with pytest.raises(Refused, match="exists already"):
        demo.make_demo(path, TODAY)
    assert path.read_text() == "mine"


def test_a_broken_script_leaves_nothing_behind(tmp_path, monkeypatch):
    folder = tmp_path / "installed" / "demo_files"
    shutil.copytree(FOLDER, folder)
    script = folder / demo.SCRIPT
    script.write_text(script.read_text().replace('used = ["SW-8L"]', 'used = ["SW-0"]'))
    monkeypatch.setattr(demo, "files", lambda _: tmp_path / "installed")
    target = tmp_path / "made" / "bench.db"
    with pytest.raises(Refused, match="SW-0"):
        demo.make_demo(target, TODAY)
    assert list(target.parent.iterdir()) == []
    script.write_text("lot = 1\n")
    with pytest.raises(Refused, match=demo.SCRIPT):
        demo.load_script()


def test_the_files_are_found_installed_first_then_beside(tmp_path, monkeypatch):
    assert demo.demo_folder() in {FOLDER, Path(demo.__file__).parent / "demo_files"}
    shutil.copytree(FOLDER, tmp_path / "demo_files")
    monkeypatch.setattr(demo, "files", lambda _: tmp_path)
    assert demo.demo_folder() == tmp_path / "demo_files"
    monkeypatch.setattr(demo, "files", lambda _: tmp_path / "nowhere")
    monkeypatch.setattr(demo, "__file__", str(tmp_path / "nowhere" / "triage" / "demo.py"))
    with pytest.raises(Refused, match="missing"):
        demo.demo_folder()


@pytest.mark.parametrize("name", TEXTS)
def test_texts_are_clean_and_hold_no_dates(name):
    text = (FOLDER / name).read_text(encoding="utf-8")
    for line in text.splitlines():
        assert clean_line(line) == re.sub(r"\s+", " ", line).strip()
    assert not re.search(r"(?:19|20)\d\d[-./]\d|\d{1,2}[./]\d{1,2}[./](?:19|20)?\d\d", text)
