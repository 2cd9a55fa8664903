"""The demo lot: built from its files by the actions alone, mixed enough to show every screen, safe to take back."""

import re
import shutil
from collections import Counter
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from catalog import store as catalog_store
from catalog.describe import read
from catalog.pricelists import described
from catalog.rules import Grade
from catalog.text import Refused, clean_line
from triage import demo, store
from triage.actions import files, looks
from triage.actions.history import history, take_back
from triage.actions.judging import judge_by
from triage.actions.list_rows import unread
from triage.actions.lot_view import lot_view
from triage.actions.needs import wanted_parts
from triage.actions.parts import list_parts
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


def test_the_piles_come_out_mixed(view):
    piles = Counter(row.pile for row in view.rows)
    assert piles["fix"] >= 2
    assert piles["part_out"] >= 1
    assert piles["as_is"] >= 3
    assert piles["undecided"] >= 3
    assert piles["hand_over"] == 1
    assert len({row.device_class for row in view.rows}) == 4  # three classes and the doubtful one
    assert view.best_look is not None
    assert view.minutes_left > 0
    assert all(row.next_step for row in view.rows)


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


def test_one_is_repaired_and_tested_one_stands_open_one_is_in_doubt(bench):
    assert unit_view(bench, 11).fixed
    assert case_open(store.happenings(bench.database, 3))
    doubtful = [unit for unit in store.units(bench.database) if not unit.device_class]
    assert len(doubtful) == 1
    assert set(doubtful[0].candidates) == {"portable_radio", "gamepad"}
    kinds = {
        item.kind for unit in store.units(bench.database) for item in store.happenings(bench.database, unit.number)
    }
    assert kinds >= {"answer", "reading", "repair", "hazard", "release", "condition", "case", "note"}


def test_every_wanted_part_is_described_and_found_somewhere(bench):
    wanted = wanted_parts(bench)
    assert all(part.described for part in wanted)
    judge = judge_by(catalog_store.pairs(bench.database))
    wait = {supplier.id: supplier.lead_days for supplier in list_suppliers(bench)}
    drawer, ways = set[int](), dict[int, set[tuple[Grade, int]]]()
    for part in wanted:
        number = part.need.text if part.need.kind == "listed" else ""
        spec = described(part.need.text, number, part.need.kind, read).spec
        fits = lambda one, spec=spec: one.spec is not None and judge(spec, one.spec).grade.rank <= Grade.REWORK.rank  # noqa: E731
        if sum(held.quantity for held in list_parts(bench) if fits(held)) >= part.pieces:
            drawer.add(part.unit)
        ways[part.unit] = {
            (judge(spec, offer.spec).grade, wait[offer.supplier]) for offer in list_offers(bench) if fits(offer)
        }
    assert len(wanted) >= 6
    assert len(drawer) >= 2
    assert drawer < ways.keys()
    assert all(ways.values())
    soonest = {unit: {grade: min(d for g, d in held if g == grade) for grade, _ in held} for unit, held in ways.items()}
    quicker = {unit for unit, days in soonest.items() if days.get(Grade.DROP_IN, 99) < days.get(Grade.EXACT, 0)}
    assert len(quicker) >= 2
    assert [unit for unit, days in soonest.items() if Grade.EXACT not in days] == [14]


def test_the_order_has_a_choice_of_days(bench):
    plan = plan_lot(bench)
    assert plan.status == "optimal"
    suppliers = {line.supplier for line in plan.order}
    assert len(suppliers) >= 2
    assert plan.drawer
    assert {use.grade for line in plan.order for use in line.uses} >= {"exact", "drop-in"}
    assert len(plan.front) >= 2
    assert plan.order_total < store.lots(bench.database)[0].cash_limit


def test_descriptions_are_understood_but_for_three(bench):
    held, offers = list_parts(bench), list_offers(bench)
    assert len(held) >= 115
    assert len({(offer.supplier, offer.sku) for offer in offers}) >= 250
    assert len(list_suppliers(bench)) == 5
    assert len(unread(held) + unread(offers)) <= 3
    vague = [one.description for one in (*held, *offers) if one.kind != "listed" and one.left_over == one.description]
    assert len(set(vague)) <= 3
    ok = sum(read(one.description, one.kind or None).status == "ok" for one in held)
    assert ok >= 0.95 * len(held)
    assert any(len(offer.steps) > 2 for offer in offers)
    assert any(offer.pack > 1 for offer in offers)
    assert any(offer.stock_packs is not None for offer in offers)


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
