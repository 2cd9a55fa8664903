"""A fault of the person's own on one unit: the same as if the class file listed it, on that unit alone."""

from datetime import date

import msgspec
import pytest

from catalog.text import Refused
from triage.actions import history, looks, lots, suspects, unit_view, units
from triage.actions.studies import study_of
from triage.bench_file import BenchFile
from triage.device_classes.schema import Fault, Part
from triage.diagnosis import Answered, posterior
from triage.lot import Happening
from triage.network import network_of
from triage.own_faults import SHOWS, OwnFault, next_id, own_faults, with_own_faults

CRACK = OwnFault("cracked board at the socket", ("charge",), chance=0.2, minutes=25.0, cost=350)


@pytest.fixture
def bench(tmp_path):
    with BenchFile(tmp_path / "bench.db", today=date(2026, 12, 1)) as opened:
        lots.new_lot(opened, "box")
        units.add_units(opened, "2 gamepads drift")
        for number in (1, 2):
            for hazard in opened.classes["gamepad"].hazards:
                looks.hazard(opened, number, hazard.id, "no")
        yield opened


def test_it_counts_as_if_the_class_file_listed_it(bench):
    plain = bench.classes["gamepad"]
    raw = msgspec.json.encode(CRACK).decode()
    ours = with_own_faults(plain, [Happening(1, 1, "", "own_fault", "own_1", "added", None, raw)], 100)
    listed = msgspec.structs.replace(
        plain,
        faults=(
            *plain.faults,
            Fault(
                id="own_1",
                what=CRACK.what,
                origin="P",
                minutes=25.0 + plain.open_minutes,
                skill=1,
                risk="L",
                success=0.8,
                prior=0.2,
                needs=("own_1",),
                minutes_include_opening=True,
            ),
        ),
        parts=(*plain.parts, Part("own_1", f"part for: {CRACK.what}", "listed", "P", 3.5, consumable=True)),
        checks=tuple(
            msgspec.structs.replace(check, fails={**check.fails, "own_1": SHOWS}) if check.id == "charge" else check
            for check in plain.checks
        ),
    )
    assert ours == listed
    events = (Answered("connects", "good"), Answered("charge", "bad"))
    before, after = (posterior(network_of(one, known_faulty=0.9), events) for one in (plain, ours))
    assert after.present["own_1"] > 0.2
    assert all(after.present[fault] <= before.present[fault] + 1e-12 for fault in before.present)


def test_it_joins_one_unit_moves_with_the_answers_and_is_taken_back(bench):
    looks.answer(bench, 1, "connects", "good")
    looks.answer(bench, 1, "charge", "bad")
    before = study_of(bench, 1).belief
    added = suspects.add_suspect(bench, 1, msgspec.structs.replace(CRACK, shows=()))
    assert added.subject == "own_1"
    found = study_of(bench, 1)
    assert own_faults(found.facts.happenings)["own_1"].shows == ("charge",)
    assert found.belief.present["own_1"] > 0.2
    assert "own_1" not in study_of(bench, 2).belief.present
    shown = next(item for item in unit_view.unit_view(bench, 1).suspects if item.fault == "own_1")
    assert shown.what == CRACK.what
    assert any(CRACK.what in line.text for line in unit_view.unit_view(bench, 1).done)
    looks.repair(bench, 1, ("own_1",))
    assert study_of(bench, 1).belief.present["own_1"] < found.belief.present["own_1"]
    history.take_back(bench)
    history.take_back(bench)
    assert study_of(bench, 1).belief == before


def test_what_was_taken_off_counts_no_more_and_its_name_is_not_used_again(bench):
    before = study_of(bench, 1).belief
    suspects.add_suspect(bench, 1, CRACK)
    suspects.drop_suspect(bench, 1, "own_1")
    assert study_of(bench, 1).belief.present == before.present
    assert suspects.add_suspect(bench, 1, CRACK).subject == "own_2"
    assert next_id(study_of(bench, 1).facts.happenings) == "own_3"
    with pytest.raises(Refused, match="own_2"):
        suspects.drop_suspect(bench, 1, "own_1")


def test_a_fault_without_a_cure_is_suspected_and_never_proposed(bench):
    looks.answer(bench, 1, "charge", "bad")
    suspects.add_suspect(bench, 1, msgspec.structs.replace(CRACK, repairable=False, chance=0.9))
    found = study_of(bench, 1)
    assert found.belief.present["own_1"] > 0.5
    assert "own_1" not in found.decision.sum_of("fix").cures
    with pytest.raises(Refused, match="no economic cure"):
        looks.repair(bench, 1, ("own_1",))


@pytest.mark.parametrize(
    ("said", "where"),
    [
        ({"what": "  "}, "what"),
        ({"what": "Stick pot worn out"}, "what"),
        ({"shows": ("nothing",)}, "shows"),
        ({"shows": ()}, "shows"),
        ({"chance": 0.0}, "chance"),
        ({"chance": float("nan")}, "chance"),
        ({"success": 1.5}, "success"),
        ({"minutes": -1.0}, "minutes"),
        ({"cost": -1}, "cost"),
    ],
)
def test_what_makes_no_sense_is_refused_and_changes_nothing(bench, said, where):
    if said.get("what", "").strip():
        said = {"what": bench.classes["gamepad"].faults[0].what.upper()}
    before = study_of(bench, 1)
    with pytest.raises(Refused) as refused:
        suspects.add_suspect(bench, 1, msgspec.structs.replace(CRACK, **said))
    assert refused.value.where == f"unit 1.{where}"
    assert study_of(bench, 1) == before
