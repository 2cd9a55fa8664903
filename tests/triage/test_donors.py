"""A unit of the lot that is worth more broken: what it would give, how likely good, and when the plan wants it."""

import shutil
from datetime import date

import msgspec
import pytest

from catalog.describe import read
from catalog.purchase_data import Accept
from catalog.sourcing import source
from catalog.sourcing_data import Donor, Want
from catalog.text import Refused
from triage import lotplan, store
from triage.actions import (
    later,
    lifting,
    look_view,
    looks,
    lots,
    needs,
    ordering,
    plan_facts,
    planning,
    prices,
    unit_view,
    units,
)
from triage.actions.studies import plain_study
from triage.bench_file import BenchFile
from triage.donors import donor_offers
from triage.lot_data import LotBranch
from triage.not_fixed import why_not_fixed

TODAY = date(2026, 12, 1)
SUPPLIERS = (
    "supplier,currency,lead_days,lead_days_late,min_order,shipping,free_from\nHeather Spares,EUR,2,4,0.00,3.00,\n"
)
OFFERS = (
    "supplier,sku,part_number,description,price,currency\nHeather Spares,H-3,PU-27B,optical pickup PU-27B,24.00,EUR\n"
)


@pytest.fixture(scope="module")
def two_alike(tmp_path_factory):
    """Unit 1 wants a pickup that is dear to buy; unit 2, of the same model, brings next to nothing as it stands."""
    folder = tmp_path_factory.mktemp("two alike")
    with BenchFile(folder / "bench.db", today=TODAY) as opened:
        for name, text, take_in in (
            ("suppliers.csv", SUPPLIERS, prices.import_suppliers),
            ("offers.csv", OFFERS, prices.import_offers),
        ):
            (folder / name).write_text(text, encoding="utf-8")
            take_in(opened, folder / name)
        lots.new_lot(opened, "box")
        units.add_units(opened, "disc console does not read discs\ndisc console dead")
        for number, pile, figures in (
            (1, "fix", {"working": 9000, "as_is": 1000}),
            (2, "", {"working": 4000, "as_is": 1200, "part_out": 1500}),
        ):
            units.change_unit(opened, number, model="grey tray loader", **figures)
            if pile:
                units.overrule(opened, number, pile, "wanted")
        units.overrule(opened, 2, "as_is", "not worth a look")
        until_the_pickup(opened)
        needs.describe_need(opened, 1, "pickup", "PU-27B")
    return folder / "bench.db"


@pytest.fixture
def bench(two_alike, tmp_path):
    shutil.copy(two_alike, tmp_path / "bench.db")
    with BenchFile(tmp_path / "bench.db", today=TODAY) as opened:
        yield opened


def until_the_pickup(bench):
    """Answer for unit 1 as one with a worn pickup would show it, until that is what its repair would cure."""
    looked = False
    for _ in range(60):
        view = unit_view.unit_view(bench, 1)
        if view.ask_first is not None:
            asked = view.ask_first
            looks.hazard(bench, 1, asked.id, "yes" if asked.expires and looked else "no")
            if asked.expires and looked:
                looks.release(bench, 1, asked.id, asked.releases[0])
            continue
        if "pickup" in {part.part for part in needs.wanted_parts(bench) if part.unit == 1}:
            return
        left = [view.look, *look_view.other_looks(bench, 1)] if view.look else look_view.other_looks(bench, 1)
        check = bench.classes["disc_console"].check(left[0].check)
        looks.answer(bench, 1, check.id, "bad" if check.fails.get("pickup_worn", 0.0) >= 0.5 else "good")
        looked = True
    pytest.fail("the pickup was never suspected most")


def free(bench):
    units.overrule(bench, 2, "part_out", "as parts")


def parts_of(bench):
    found = [plain_study(bench, unit) for unit in store.units(bench.database)]
    return donor_offers(found, needs.wanted_parts(bench), {1: store.needs(bench.database, number=1)})


def test_only_what_another_unit_wants_is_offered(bench):
    free(bench)
    (part,) = parts_of(bench)
    assert (part.unit, part.part, part.donor.unit, part.donor.pieces) == (2, "pickup", "2", 1)
    assert part.donor.spec.part_number == "PU-27B"
    assert 0.5 < part.donor.good < 1.0
    assert 0.0 < part.loss < 1500.0


def test_another_model_gives_nothing_unless_its_part_is_described(bench):
    free(bench)
    units.change_unit(bench, 2, model="black slim")
    assert parts_of(bench) == ()
    needs.describe_need(bench, 2, "pickup", "PU-27B")
    found = [plain_study(bench, unit) for unit in store.units(bench.database)]
    described = {number: store.needs(bench.database, number=number) for number in (1, 2)}
    wanted = [part for part in needs.wanted_parts(bench) if part.unit == 1]
    (part,) = donor_offers(found, wanted, described)
    assert part.donor.spec.part_number == "PU-27B"


@pytest.mark.parametrize("proper", ["PU-27B", ""])
def test_what_is_makeshift_is_not_offered_as_the_proper_part(bench, proper):
    free(bench)
    wanted = [part for part in needs.wanted_parts(bench) if part.unit == 1]
    later.add_wish(bench, 2, "pickup", proper, instead="a pickup of another player", kind="pickup")
    found = [plain_study(bench, unit) for unit in store.units(bench.database)]
    held = {number: store.needs(bench.database, number=number) for number in (1, 2)}
    assert donor_offers(found, wanted, {1: held[1]})  # it would be, if nothing were said
    assert donor_offers(found, wanted, held) == ()


def test_what_was_lifted_out_is_not_offered_again(bench):
    free(bench)
    for hazard in bench.classes["disc_console"].hazards:
        if hazard.id not in {"mains_inside", "stored_charge"}:
            looks.hazard(bench, 2, hazard.id, "no")
        else:
            looks.hazard(bench, 2, hazard.id, "yes")
            looks.release(bench, 2, hazard.id, hazard.releases[0])
    lifting.lift(bench, 2, "pickup")
    assert parts_of(bench) == ()


def test_the_plan_takes_it_apart_and_orders_nothing(bench):
    assert [line.sku for line in planning.plan_lot(bench).order] == ["H-3"]
    free(bench)
    plan = planning.plan_lot(bench)
    assert plan.status == "optimal"
    assert plan.order == ()
    (line,) = plan.donors
    assert (line.donor, line.donor_part, line.pieces, line.units, line.place) == (2, "pickup", 1, (1,), "unit 2")
    assert plan.drawer == ()


def test_left_to_the_sums_a_unit_is_taken_apart_only_where_another_gains(bench):
    units.overrule(bench, 2, "", "")
    units.change_unit(bench, 2, working=1200, as_is=1200, part_out=1300)
    assert plain_study(bench, store.unit(bench.database, 2)).pile == "as_is"
    plan = planning.plan_lot(bench)
    assert [(unit.pile, unit.by_sums) for unit in plan.units] == [("fix", "fix"), ("part_out", "as_is")]
    assert [line.units for line in plan.donors] == [(1,)]
    units.overrule(bench, 1, "as_is", "sold to the neighbour")
    plan = planning.plan_lot(bench)
    assert [unit.pile for unit in plan.units] == ["as_is", "as_is"]
    assert plan.donors == ()


def test_a_donor_alone_is_nothing_to_order(bench):
    free(bench)
    with pytest.raises(Refused, match="nothing to order"):
        ordering.place_order(bench)


def test_a_piece_that_may_be_dead_bears_its_chance():
    spec = read("PU-27B", "pickup").spec
    want = Want(id="w", unit="1", pieces=1, spec=spec, value=9000, failed=1000, chance=0.8)
    given = source([want], currency="EUR", day=TODAY, donors=[Donor(id="d", unit="2", pieces=1, spec=spec, good=0.9)])
    (need,) = given.problem.needs
    assert need.accepts == (Accept(product="from d", grade="exact", penalty=round(0.8 * 0.1 * (9000 - 1000))),)


def test_a_unit_whose_parts_serve_another_says_so(bench):
    free(bench)
    units.overrule(bench, 2, "", "")
    units.change_unit(bench, 2, working=1200, as_is=1200, part_out=1300)
    facts = plan_facts.gather(bench, lots.get_lot(bench), None)
    second = msgspec.structs.replace(
        facts.problem.units[1],
        branches=(
            *(one for one in facts.problem.units[1].branches if one.kind != "fix"),
            LotBranch(id="fix", kind="fix", value=1100.0),
        ),
    )
    problem = msgspec.structs.replace(facts.problem, units=(facts.problem.units[0], second))
    why = why_not_fixed(problem, lotplan.plan(problem), "2")
    assert (why.serves, why.conflicts) == (("1",), ())
