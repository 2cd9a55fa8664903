"""Parts lifted out of a unit into the drawer or for another unit, and put back."""

import subprocess
import sys
from datetime import date

import pytest

from catalog.rules import Grade
from catalog.text import Refused
from triage import store
from triage.actions import (
    later,
    lifting,
    looks,
    lots,
    needs,
    own_words,
    parts,
    plan_facts,
    putting_back,
    unit_view,
    units,
)
from triage.actions.findable import find_parts
from triage.actions.history import do_again, take_back
from triage.actions.promises import set_right
from triage.actions.studies import study_of
from triage.actions.using import used_for
from triage.bench_file import BenchFile
from triage.donors import chance_good
from triage.lot import SetAside
from triage.wants import wanted_of

TODAY = date(2026, 12, 1)
MODULE = "SM-4K"


@pytest.fixture
def unasked(tmp_path):
    """A donor gamepad and one that waits for its stick module; nobody looked at the first."""
    with BenchFile(tmp_path / "bench.db", today=TODAY) as opened:
        lots.new_lot(opened, "box")
        units.add_units(opened, "2 gamepads drift")
        needs.describe_need(opened, 2, "stick_module", MODULE, kind="listed")
        yield opened


@pytest.fixture
def bench(unasked):
    for number in (1, 2):
        for hazard in unasked.classes["gamepad"].hazards:
            looks.hazard(unasked, number, hazard.id, "no")
    return unasked


def rows(bench):
    return {name: list(bench.database[name].rows) for name in ("parts", "needs", "set_asides", "happenings")}


def drawer(bench):
    return [
        (part.part_number, part.description, part.kind, part.quantity, part.place) for part in parts.list_parts(bench)
    ]


def test_a_part_taken_out_lies_in_the_drawer_and_undo_puts_everything_back(bench):
    before = rows(bench)
    done = lifting.lift(bench, 1, "stick_module", place="box 9", words=MODULE)
    assert drawer(bench) == [(MODULE, "stick module", "listed", 1, "box 9")]
    assert (done.drawer_part, done.promised, done.for_unit) == (1, 0, None)
    told = [(item.kind, item.subject, item.answer, item.value) for item in store.happenings(bench.database, 1)[-2:]]
    assert told == [("case", "", "opened", None), ("lift", "stick_module", "out", 1.0)]
    assert bench.journal.undo(at=bench.now()).summary == "unit 1: taken out: 1 × stick module"
    assert rows(bench) == before


def test_for_another_unit_it_is_promised_to_that_need(bench):
    taker = lifting.takers(bench, 1, "stick_module")[0]
    assert (taker.unit, taker.part, taker.words, taker.missing) == (2, "stick_module", MODULE, 1)
    done = lifting.lift(bench, 1, "stick_module", words=MODULE, need=taker.need)
    assert (done.promised, done.for_unit, done.place) == (1, 2, "from unit 1")
    need = store.needs(bench.database, number=2)[0]
    assert (need.state, need.source) == ("reserved", "from unit 1")
    assert lifting.takers(bench, 1, "stick_module") == ()
    looks.repair(bench, 2, ("stick_pot",))
    assert drawer(bench)[0][3] == 0
    assert store.needs(bench.database, number=2)[0].state == "fitted"


def test_what_was_described_for_that_part_names_it_and_it_is_kept_apart_from_its_like(bench):
    needs.describe_need(bench, 1, "stick_module", MODULE, kind="listed")
    parts.add_part(bench, "stick module", part_number="sm-4k", quantity=2, place="drawer 1", kind="listed")
    assert lifting.liftable(bench, 1)[0].words == MODULE
    assert lifting.lift(bench, 1, "stick_module", place="drawer 1").place == "drawer 1, from unit 1"
    bought, lifted = drawer(bench)
    assert bought == ("sm-4k", "stick module", "listed", 2, "drawer 1")
    assert lifted == ("", MODULE, "listed", 1, "drawer 1, from unit 1")
    assert parts.list_parts(bench)[1].spec.part_number == MODULE
    looks.repair(bench, 1, ("stick_pot",))  # its own worn one is no spare for it
    assert [line[3] for line in drawer(bench)] == [1, 1]


def test_without_words_it_is_named_after_the_class(bench):
    units.change_unit(bench, 1, model="GP-7")
    lifting.lift(bench, 1, "rumble_motor")
    assert drawer(bench)[0][1:] == ("rumble motor, Gamepad GP-7", "motor", 1, "from unit 1")


def test_no_more_comes_out_than_is_in_it(bench):
    inside = bench.classes["gamepad"].part("rumble_motor").pieces
    with pytest.raises(Refused, match=rf"it holds {inside} of them"):
        lifting.lift(bench, 1, "rumble_motor", inside + 1)
    lifting.lift(bench, 1, "rumble_motor")
    with pytest.raises(Refused, match="it holds none of them"):
        lifting.lift(bench, 1, "rumble_motor")
    putting_back.put_back(bench, 1, "rumble_motor")
    assert [line[3] for line in drawer(bench)] == [0]
    with pytest.raises(Refused, match="none of them were lifted out"):
        putting_back.put_back(bench, 1, "rumble_motor")


@pytest.mark.parametrize(
    ("part", "details", "why"),
    [
        ("gold", {}, "no part of that name; known are stick_module"),
        ("pack", {}, "never taken from a donor"),
        ("stick_module", {"need": 99}, "expected a need of another unit"),
        ("stick_module", {"need": 1, "words": "XX-1"}, "it does not fit unit 2: "),
    ],
)
def test_what_cannot_be_is_refused_and_changes_nothing(bench, part, details, why):
    own_words.add_pair(bench, MODULE, "XX-1", Grade.REFUSE, note="other plug")
    before = rows(bench)
    with pytest.raises(Refused, match=why):
        lifting.lift(bench, 1, part, **details)
    assert rows(bench) == before


def test_no_hazard_is_gone_round(unasked):
    with pytest.raises(Refused, match=r"say first: .*swollen"):
        lifting.lift(unasked, 1, "stick_module")
    looks.hazard(unasked, 1, "swollen_pack", "yes")
    with pytest.raises(Refused, match="locked"):
        lifting.lift(unasked, 1, "stick_module")
    assert drawer(unasked) == []


def working(bench, number=1):
    """Every function of the unit shown to work."""
    for check in bench.classes["gamepad"].checks:
        if check.function:
            looks.answer(bench, number, check.id, "good")
    assert unit_view.unit_view(bench, number).fixed


def test_a_unit_that_lacks_a_part_is_not_fixed_and_bears_its_cost(bench):
    working(bench)
    whole = study_of(bench, 1)
    lifting.lift(bench, 1, "stick_module", words=MODULE)
    found, view = study_of(bench, 1), unit_view.unit_view(bench, 1)
    assert not view.fixed
    assert view.lifted == ("1 × stick module",)
    assert "lacks 1 × stick module, taken out" in view.where_was_i
    assert view.done[-1].text == "taken out: 1 × stick module (from unit 1)"
    cost = bench.classes["gamepad"].part("stick_module").typical_cost * 100
    fix = {"before": whole.decision.sum_of("fix"), "now": found.decision.sum_of("fix")}
    terms = {name: {term.name: term.amount for term in item.terms} for name, item in fix.items()}
    assert terms["before"].get("parts", 0.0) == 0.0
    assert terms["now"]["parts"] == pytest.approx(-cost)
    assert found.belief.present == whole.belief.present  # it says nothing of the faults
    resale = {part.id: part.resale * part.sell_chance for part in bench.classes["gamepad"].parts}
    left = 1 - resale["stick_module"] / sum(resale.values())
    assert found.case.worth.part_out == pytest.approx(whole.case.worth.part_out * left)
    assert found.case.worth.as_is == pytest.approx(whole.case.worth.as_is * bench.person.incomplete_ratio)
    assert "missing: 1 × stick module, taken out" in view.tell


def test_put_back_it_is_whole_but_tested_anew(bench):
    working(bench)
    lifting.lift(bench, 1, "rumble_motor")
    putting_back.put_back(bench, 1, "rumble_motor", parts=((1, 1),))
    view = unit_view.unit_view(bench, 1)
    assert drawer(bench)[0][3] == 0
    assert view.lifted == ()
    assert view.done[-1].text == "put back: 1 × rumble motor"
    assert not view.fixed
    working(bench)


def test_a_repair_that_fits_such_a_part_makes_it_whole(bench):
    lifting.lift(bench, 1, "stick_module")
    looks.repair(bench, 1, ("stick_pot",))
    assert unit_view.unit_view(bench, 1).lifted == ()


def test_to_be_fixed_it_wants_the_part_back_and_the_cost_is_counted_once(bench):
    units.change_unit(bench, 1, working=9000)
    units.overrule(bench, 1, "fix", "sells well")
    lifting.lift(bench, 1, "rumble_motor")
    found = study_of(bench, 1)
    wanted = {part.part: part.pieces for part in wanted_of(found, ())}
    assert wanted["rumble_motor"] == 1
    assert found.case.worth.part_costs["rumble_motor"] == 0.0
    assert found.case.worth.missing["rumble_motor"] > 0.0


def test_a_part_that_the_class_no_longer_knows_is_passed_over(bench):
    with bench.journal.event("old", "for the test", at=bench.now(), unit=1) as recorder:
        seen = looks.Happening(0, 1, bench.now(), "lift", "valve", "out", 1.0)
        store.save(recorder, "happenings", seen)
    view = unit_view.unit_view(bench, 1)
    assert view.lifted == ()
    assert view.done[-1].text == "taken out: 1 × valve"


def test_what_it_is_cannot_be_said_anew_while_a_part_is_out(bench):
    lifting.lift(bench, 1, "stick_module")
    with pytest.raises(Refused, match="put them back first"):
        units.change_unit(bench, 1, device_class="disc_console")
    putting_back.put_back(bench, 1, "stick_module")
    assert units.change_unit(bench, 1, device_class="disc_console").device_class == "disc_console"


def counts(bench):
    return [line[3] for line in drawer(bench)]


def test_out_and_in_again_makes_no_pieces(bench):
    for _ in range(3):
        lifting.lift(bench, 1, "rumble_motor", 1)
        putting_back.put_back(bench, 1, "rumble_motor")
    assert counts(bench) == [0]


def test_what_was_promised_to_another_unit_and_goes_back_leaves_that_unit_waiting(bench):
    need = store.needs(bench.database, number=2)[0]
    lifting.lift(bench, 1, "stick_module", words=MODULE, need=need.id)
    putting_back.put_back(bench, 1, "stick_module")
    assert counts(bench) == [0]
    assert store.needs(bench.database, number=2)[0].state == "open"
    assert store.set_asides(bench.database) == []


def test_another_piece_may_go_in_and_just_as_many_leave(bench):
    spare = parts.add_part(bench, "motor of another make", quantity=5, place="drawer 2", kind="motor")
    lifting.lift(bench, 1, "rumble_motor", 1)
    before = rows(bench)
    with pytest.raises(Refused, match="name just 1"):
        putting_back.put_back(bench, 1, "rumble_motor", parts=((spare.id, 5),))
    with pytest.raises(Refused, match="holds 0 of them"):
        putting_back.put_back(bench, 1, "rumble_motor", parts=((999, 1),))
    assert rows(bench) == before
    putting_back.put_back(bench, 1, "rumble_motor", parts=((spare.id, 1),))
    assert counts(bench) == [4, 1]  # the one that came out lies there still


def test_part_by_part_its_need_is_met_only_when_nothing_is_lacking(bench):
    units.add_units(bench, "record player hums")
    for hazard in bench.classes["turntable"].hazards:
        looks.hazard(bench, 3, hazard.id, "no")
    lifting.lift(bench, 3, "feet")
    need = needs.describe_need(bench, 3, "feet", "rubber foot 30 mm", kind="listed")
    assert need.pieces == 4
    spare = parts.add_part(bench, "rubber foot 30 mm", quantity=5, place="drawer 3", kind="listed")
    with bench.journal.event("aside", "for the test", at=bench.now()) as recorder:
        store.save(recorder, "set_asides", SetAside(0, need.id, 4, part=spare.id))
    for left in (3, 2, 1, 0):
        putting_back.put_back(bench, 3, "feet", 1, parts=((spare.id, 1),))
        assert study_of(bench, 3).state.missing.get("feet", 0) == left
        promised = sum(item.pieces for item in store.set_asides(bench.database) if item.need == need.id)
        state = next(one.state for one in store.needs(bench.database, number=3))
        assert (promised, state) == ((left, "open") if left else (0, "fitted"))
    assert counts(bench) == [4, 1]  # its own four, and the fifth new one


def test_a_lifted_part_keeps_its_chance_of_being_dead(bench):
    needs.describe_need(bench, 1, "stick_module", MODULE, kind="listed")
    lifting.lift(bench, 1, "stick_module")
    good = plan_facts.lifted_good(bench)
    (line,) = good
    assert good[line] == pytest.approx(chance_good(study_of(bench, 1), "stick_module"))
    assert good[line] < 0.5  # it was sold with drift
    (hit,) = find_parts(bench, MODULE)
    assert (hit.same_number, hit.bad) == (True, f"good {100 * good[line]:.0f} in 100, by the unit it came out of")


def test_a_lifted_part_that_is_likely_good_is_not_called_bad(bench):
    needs.describe_need(bench, 1, "rumble_motor", "motor QX-7", kind="listed")
    lifting.lift(bench, 1, "rumble_motor", words="motor QX-7")
    assert min(plan_facts.lifted_good(bench).values()) >= 0.5
    assert [hit.bad for hit in find_parts(bench, "QX-7")] == [""]


def test_only_what_a_unit_waits_for_is_promised_to_it(bench):
    need = store.needs(bench.database, number=2)[0]
    with pytest.raises(Refused, match="waits for no such part"):
        lifting.lift(bench, 1, "rumble_motor", need=need.id)
    with pytest.raises(Refused, match="not known whether it fits"):
        lifting.lift(bench, 1, "stick_module", words="other thing", need=need.id)
    assert drawer(bench) == []


def elsewhere(bench, *lines):
    """Another running program on the same file does this."""
    code = (
        "import sys; from datetime import date; from pathlib import Path; from triage.bench_file import BenchFile;"
        " from triage.actions import lifting, looks, needs\n"
        f"with BenchFile(Path(sys.argv[1]), today=date({TODAY.year}, {TODAY.month}, {TODAY.day})) as bench:\n"
    )
    code += "".join(f"    {line}\n" for line in lines)
    subprocess.run([sys.executable, "-c", code, str(bench.path)], check=True, timeout=60)


def test_done_again_it_goes_past_no_hazard(bench):
    lifting.lift(bench, 1, "stick_module")
    take_back(bench)
    elsewhere(bench, 'looks.hazard(bench, 1, "swollen_pack", "yes")')
    before = rows(bench)
    with pytest.raises(Refused, match="locked"):
        do_again(bench)
    assert rows(bench) == before


def test_done_again_no_more_comes_out_than_is_in_it(bench):
    lifting.lift(bench, 1, "stick_module")
    take_back(bench)
    elsewhere(bench, f'lifting.lift(bench, 1, "stick_module", words="{MODULE}")')
    with pytest.raises(Refused, match="taken out meanwhile"):
        do_again(bench)
    assert counts(bench) == [1]


def test_done_again_nothing_is_promised_to_what_is_not_wanted_any_more(bench):
    need = store.needs(bench.database, number=2)[0]
    lifting.lift(bench, 1, "stick_module", words=MODULE, need=need.id)
    take_back(bench)
    elsewhere(bench, f"needs.drop_need(bench, {need.id})")
    with pytest.raises(Refused, match="changed since"):
        do_again(bench)
    assert store.set_asides(bench.database) == []
    assert store.needs(bench.database, number=2)[0].state == "dropped"


def test_promises_that_came_back_are_cut_to_what_is_wanted(bench):
    need = needs.describe_need(bench, 2, "stick_module", MODULE, pieces=2)
    held = parts.add_part(bench, "stick module", part_number=MODULE, quantity=9, place="drawer 1", kind="listed")
    with bench.journal.event("undo", "for the test", at=bench.now()) as recorder:
        for pieces in (1, 2):
            store.save(recorder, "set_asides", SetAside(0, need.id, pieces, part=held.id))
        set_right(bench, recorder)
    assert [item.pieces for item in store.set_asides(bench.database)] == [1, 1]
    assert store.needs(bench.database, number=2)[0].state == "reserved"


def two_consoles(bench, role):
    """Unit 3 is a donor, unit 4 waits for a switch in this role; gives the need."""
    units.add_units(bench, "2 disc consoles dead")
    for number in (3, 4):
        for hazard in bench.classes["disc_console"].hazards:
            looks.hazard(bench, number, hazard.id, "no")
    return needs.describe_need(bench, 4, "switch", "switch SPST NO latching 2A", role=role)


def test_what_the_role_of_a_need_holds_back_is_not_promised_to_it_nor_told_as_fitting(bench):
    other = "switch SPST NO latching 3A"
    need = two_consoles(bench, "mains")  # nothing says for what voltage: at the mains that must be known
    with pytest.raises(Refused, match="not known whether it fits"):
        lifting.lift(bench, 3, "switch", words=other, need=need.id)
    parts.add_part(bench, other, kind="switch", quantity=1)
    (seen,) = used_for(bench, 4, ("power_switch",)).others
    assert seen.grade == "unknown"
    needs.describe_need(bench, 4, "switch", need.text)
    (seen,) = used_for(bench, 4, ("power_switch",)).others
    assert seen.grade == "drop-in"
    assert lifting.lift(bench, 3, "switch", words=other, need=need.id).promised == 1


def test_what_is_makeshift_does_not_come_out_as_the_proper_part(bench):
    """What a unit wishes for is not what it has in it, whatever its class and model say."""
    for number in (1, 2):
        units.change_unit(bench, number, model="QX-1")
    later.add_wish(bench, 1, "stick_module", MODULE, instead="stick module of another make")
    need = store.needs(bench.database, number=2)[0]
    assert [taker.alike for taker in lifting.takers(bench, 1, "stick_module")] == [False]
    with pytest.raises(Refused, match="not known whether it fits"):
        lifting.lift(bench, 1, "stick_module", need=need.id)
    lifting.lift(bench, 1, "stick_module")
    assert [part.part_number for part in parts.list_parts(bench)] == ["stick module of another make"]


def test_what_nobody_said_of_a_makeshift_part_stays_unsaid(bench):
    later.add_wish(bench, 1, "stick_module", MODULE)
    lifting.lift(bench, 1, "stick_module")
    (part,) = parts.list_parts(bench)
    assert (part.part_number, part.description) == ("", "stick module, Gamepad")
