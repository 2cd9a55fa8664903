"""Following a signal through the actions on a real bench file: kept, taken back, locked, and what it leads to."""

from datetime import date

import pytest

from catalog.text import Refused
from triage import bench_check, store
from triage.actions import (
    files,
    findings,
    history,
    learned,
    looks,
    lots,
    needs,
    own_paths,
    probing,
    settings,
    unit_view,
    units,
)
from triage.actions.studies import case_of_unit, study_of
from triage.bench_file import BenchFile

TODAY = date(2026, 12, 1)
CHAIN = "tuner out > C12 coupling > top of volume > volume > wiper > IC7 / R3 > speaker tags (outside)"


@pytest.fixture
def unasked(tmp_path):
    """A handheld, a disc console and a radio; no hazard question is answered."""
    with BenchFile(tmp_path / "bench.db", today=TODAY) as opened:
        lots.new_lot(opened, "box")
        units.add_units(opened, "handheld dead\ndisc console no picture\nportable radio silent")
        yield opened


@pytest.fixture
def bench(unasked, nothing_hazardous):
    nothing_hazardous(unasked)
    return unasked


def chance(bench, number, fault):
    return study_of(bench, number).belief.present[fault]


def probe(bench, number, path, *said):
    for word in said:
        point, _, answer = word.partition(" ")
        probing.probe(bench, number, path, point, answer)


def test_the_signal_in_and_none_out_ends_in_the_part_between(bench):
    probe(bench, 1, "supply", "jack y", "behind_switch n", "behind_fuse y")
    view = probing.trace_view(bench, 1, "supply")
    assert view.next is None
    assert view.found == ((3, 4),)
    assert "power switch" in view.told
    assert chance(bench, 1, "power_switch") > 0.85
    assert unit_view.unit_view(bench, 1).suspects[0].fault == "power_switch"
    assert units.change_unit(bench, 1, working=20000).working == 20000
    assert "power_switch" in {part.fault for part in needs.wanted_parts(bench) if part.unit == 1}


def test_each_probe_is_one_event_and_is_taken_back_alone(bench):
    before = history.newest(bench)
    probe(bench, 1, "supply", "bay y", "rail n")
    events = bench.journal.history(1, 10)
    assert [event.action for event in events if event.id > before] == [
        "answer",
        "probe",
    ]  # rail is a check of the class
    kinds = [(item.kind, item.subject, item.answer) for item in store.happenings(bench.database, 1)]
    assert kinds[-3:] == [("case", "", "opened"), ("probe", "supply.bay", "there"), ("answer", "rails", "bad")]
    history.take_back(bench)
    history.take_back(bench)
    assert not case_of_unit(bench, 1).state.case_open
    assert probing.trace_view(bench, 1, "supply").found == ()
    history.do_again(bench)
    assert probing.trace_view(bench, 1, "supply").points[1].level == "there"


def test_the_case_is_opened_and_its_minutes_are_counted_once(bench):
    probe(bench, 1, "supply", "cells y", "bay y", "jack y")
    spent = [item.minutes for item in store.happenings(bench.database, 1) if item.kind == "probe"]
    open_minutes = bench.classes["handheld"].open_minutes
    assert spent == [1.0, 2.0 + open_minutes, 2.0]


def test_what_could_not_be_told_is_not_proposed_again_and_is_no_evidence(bench):
    start = probing.trace_view(bench, 1, "supply")
    held = study_of(bench, 1).belief.present
    probing.probe(bench, 1, "supply", start.points[start.next].point, "c")
    after = probing.trace_view(bench, 1, "supply")
    assert after.next != start.next
    assert study_of(bench, 1).belief.present == held
    assert unit_view.unit_view(bench, 1).done[-1].ignored


def test_hazards_come_before_probes(unasked):
    view = probing.trace_view(unasked, 1, "supply")
    assert view.ask_first.id == "swollen_pack"
    with pytest.raises(Refused, match=r"say first: .*swollen"):
        probing.probe(unasked, 1, "supply", "bay", "y")
    looks.hazard(unasked, 1, "swollen_pack", "yes")
    with pytest.raises(Refused, match=r"locked: Swollen pack"):
        probing.probe(unasked, 1, "supply", "cells", "y")
    assert not [item for item in store.happenings(unasked.database, 1) if item.kind == "probe"]


def test_live_mains_is_for_the_trained_only(bench):
    view = probing.trace_view(bench, 2, "supply")
    assert {point.point for point in view.points if point.locked} >= {"inlet", "after_fuse", "board"}
    with pytest.raises(Refused, match="live mains"):
        probing.probe(bench, 2, "supply", "after_fuse", "y")


def test_a_tool_that_is_not_owned_is_never_proposed(bench):
    view = probing.trace_view(bench, 1, "sound")
    assert view.points[0].locked == "needs a tool you do not have: scope"
    assert view.points[view.next].point == "cone"
    settings.change_person(bench, tools=("meter", "scope"))
    owned = probing.trace_view(bench, 1, "sound")
    assert not owned.points[0].locked


def test_after_a_repair_the_path_is_followed_afresh(bench):
    probe(bench, 1, "supply", "behind_fuse y", "behind_switch n")
    looks.repair(bench, 1, ("power_switch",))
    view = probing.trace_view(bench, 1, "supply")
    assert [point.level for point in view.points] == [""] * 6
    assert chance(bench, 1, "power_switch") < 0.2
    probe(bench, 1, "supply", "behind_fuse y", "behind_switch n")
    assert chance(bench, 1, "power_switch") > 0.5


def test_an_old_probe_is_corrected_and_all_follows(bench):
    probe(bench, 1, "supply", "behind_fuse y", "behind_switch n")
    last = store.happenings(bench.database, 1)[-1]
    with pytest.raises(Refused, match="no signal"):
        looks.correct(bench, 1, last.id, "4k7")
    looks.correct(bench, 1, last.id, "y")
    assert probing.trace_view(bench, 1, "supply").points[4].level == "there"
    assert chance(bench, 1, "power_switch") < 0.2
    [line] = [line for line in unit_view.unit_view(bench, 1).done if line.id == last.id]
    assert line.can_correct
    assert line.text == "cells to 5 V, board side of the switch: signal"


def test_paths_worth_following_are_those_with_several_suspects(bench):
    looks.answer(bench, 1, "cells_run", "n")
    assert next(view.path for view in probing.worth_following(bench, 1)) == "supply"
    probe(bench, 1, "supply", "behind_fuse y", "behind_switch n")
    assert "supply" not in [view.path for view in probing.worth_following(bench, 1)]


def test_powering_for_a_probe_brings_a_charge_back(unasked):
    for hazard in unasked.classes["disc_console"].hazards:
        looks.hazard(unasked, 2, hazard.id, "yes" if hazard.id == "mains_inside" else "no")
    looks.release(unasked, 2, "mains_inside", "plug out of the wall and the supply proven below 10 V")
    settings.change_person(unasked, live_mains=True)
    probing.probe(unasked, 2, "supply", "inlet", "y")
    assert case_of_unit(unasked, 2).state.recharged == {"stored_charge"}
    with pytest.raises(Refused, match="proven below 10 V"):
        probing.probe(unasked, 2, "supply", "board", "y")


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (("sound", "nowhere", "y"), "no point of that name"),
        (("nothing", "cone", "y"), "no path of that name"),
        (("supply", "bay", "maybe"), "expected y"),
    ],
)
def test_what_is_not_understood_is_refused_and_changes_nothing(bench, call, says):
    before = history.newest(bench)
    with pytest.raises(Refused, match=says):
        probing.probe(bench, 1, *call)
    assert history.newest(bench) == before


# --- paths of one's own ------------------------------------------------------------------------------------------


def test_a_part_of_an_own_path_becomes_a_suspect_and_is_wanted(bench):
    own = own_paths.add_path(bench, 3, CHAIN, name="sound")
    view = probing.trace_view(bench, 3, own.path_id)
    assert [point.at for point in view.points] == ["tuner out", "top of volume", "wiper", "speaker tags"]
    assert view.stretches[1].faults == ("volume",)  # the class knows it
    probe(bench, 3, own.path_id, "p0 y", "p1 n")
    suspect = unit_view.unit_view(bench, 3).suspects[0]
    assert (suspect.what, suspect.chance > 0.6) == ("C12 coupling", True)
    units.change_unit(bench, 3, own_worth=30000)
    assert ("C12 coupling", "listed") in {(part.part_name, part.kind) for part in needs.wanted_parts(bench)}
    need = needs.describe_need(bench, 3, suspect.fault, "electrolytic 10uF 16V radial", kind="electrolytic")
    assert need.fault == suspect.fault
    with pytest.raises(Refused, match="still wants"):
        own_paths.drop_path(bench, own.id)
    assert bench_check.check(bench.database).ok


def test_an_own_path_is_offered_for_its_model_only(bench):
    units.add_units(bench, "2 portable radio")
    units.change_unit(bench, 4, model="R 12")
    units.change_unit(bench, 5, model="r 12")
    own = own_paths.add_path(bench, 4, "in > C1 > out")
    assert own.model == "R 12"
    names = {number: dict(probing.trace_view(bench, number).paths) for number in (3, 4, 5)}
    assert own.path_id in names[4]
    assert own.path_id in names[5]
    assert own.path_id not in names[3]
    assert names[5][own.path_id] == "in to out"
    history.take_back(bench)
    assert own.path_id not in dict(probing.trace_view(bench, 5).paths)


def test_an_own_path_that_is_let_go_takes_its_evidence_along(bench):
    held = chance(bench, 3, "speaker")
    own = own_paths.add_path(bench, 3, "in > C1 > middle > speaker > out")
    probe(bench, 3, own.path_id, "p1 y", "p2 n")
    assert chance(bench, 3, "speaker") > held
    own_paths.drop_path(bench, own.id)
    assert own_paths.own_paths(bench) == []
    assert chance(bench, 3, "speaker") == pytest.approx(held)
    assert "own_" in unit_view.unit_view(bench, 3).done[-1].text
    history.take_back(bench)
    assert chance(bench, 3, "speaker") > held


@pytest.mark.parametrize(
    ("chain", "says"),
    [
        ("a > b", "begins and ends"),
        ("a > b > c > d", "begins and ends"),
        ("a >  > c", "nothing between"),
        ("a > b > A", "stands twice"),
        (" > ".join(f"x{place}" for place in range(99)), "at most"),
    ],
)
def test_a_chain_that_cannot_be_read_is_refused(bench, chain, says):
    with pytest.raises(Refused, match=says):
        own_paths.add_path(bench, 3, chain)
    assert own_paths.own_paths(bench) == []


def test_a_unit_that_was_probed_is_learned_from_like_every_other(bench):
    looks.answer(bench, 1, "cells_run", "n")
    probe(bench, 1, "supply", "behind_fuse y", "behind_switch n")
    findings.found(bench, 1, ("power_switch",))
    units.add_units(bench, "handheld dead")
    closed = learned.closed_units(bench, bench.classes["handheld"])
    assert [(one.faults, one.answers) for one in closed] == [(frozenset({"power_switch"}), (("cells_run", True),))]
    assert chance(bench, 4, "power_switch") > 0


def test_a_finding_that_only_an_own_path_knows_is_no_unit_without_a_fault(bench):
    own = own_paths.add_path(bench, 3, "in > C1 > out")
    fault = probing.trace_view(bench, 3, own.path_id).stretches[0].faults[0]
    findings.found(bench, 3, (fault,))
    assert findings.finding_form(bench, 3).said == (fault,)
    assert learned.closed_units(bench, bench.classes["portable_radio"]) == []


def test_a_chain_broken_by_hand_keeps_nobody_from_the_unit_and_is_named(bench):
    own = own_paths.add_path(bench, 3, "in > C1 > out")
    bench.database.conn.execute("UPDATE own_paths SET chain = 'in > out'")
    bench.database.conn.commit()
    assert own.path_id not in dict(probing.trace_view(bench, 3).paths)
    assert [problem.split(": ")[0] for problem in bench_check.check(bench.database).problems] == ["own_paths 1 chain"]


def test_probes_swaps_and_own_paths_go_through_an_export_unchanged(bench, tmp_path):
    own = own_paths.add_path(bench, 3, CHAIN, tools=("scope",))
    probe(bench, 3, own.path_id, "p0 y", "p1 n")
    files.export(bench, tmp_path / "out")
    files.import_(tmp_path / "out", tmp_path / "copy.db")
    with BenchFile(tmp_path / "copy.db", today=TODAY) as copy:
        assert bench_check.digest(copy.database) == bench_check.digest(bench.database)
        assert study_of(copy, 3).belief.present == study_of(bench, 3).belief.present
