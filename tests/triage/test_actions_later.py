"""The later list on a real bench file: fitted for now, riding along, received, exchanged; and spares beside it."""

import shutil
import subprocess
import sys
from datetime import date

import pytest

from catalog.text import Refused
from triage import store
from triage.actions import (
    goods_in,
    history,
    later,
    looks,
    lots,
    needs,
    ordering,
    parts,
    planning,
    prices,
    settings,
    spares,
    unit_view,
    units,
    using,
)
from triage.actions.lot_view import lot_view
from triage.bench_file import BenchFile

TODAY = date(2026, 12, 1)
BELT = "square belt 118 mm inside circumference 1.2 mm"
LONG = "square belt 121 mm inside circumference 1.2 mm"
FUSE = "fuse T1.6AL 250V 5x20 glass"
SUPPLIERS = """supplier,currency,lead_days,lead_days_late,shipping
Heather Spares,EUR,2,4,3.00
"""
OFFERS = f"""supplier,sku,description,pack,from,price
Heather Spares,H-1,{BELT},1,1,1.60
Heather Spares,H-2,{FUSE},5,1,0.30
"""


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Two consoles whose tray belt is to be replaced: unit 1 may take a belt that is a little long; made once."""
    folder = tmp_path_factory.mktemp("later")
    with BenchFile(folder / "bench.db", today=TODAY) as bench:
        settings.change_person(bench, currency="EUR", hour_worth=0)
        for text in (SUPPLIERS, OFFERS):
            (folder / "list.csv").write_text(text, encoding="utf-8")
            prices.import_any(bench, folder / "list.csv")
        lots.new_lot(bench, "box")
        units.add_units(bench, "2 disc console tray stuck")
        for number in (1, 2):
            for hazard in bench.classes["disc_console"].hazards:
                looks.hazard(bench, number, hazard.id, "no")
            units.change_unit(bench, number, working=9000)
            looks.answer(bench, number, "tray", "n")
            units.overrule(bench, number, "fix", "sells well")
        needs.describe_need(bench, 1, "belt", BELT, compromise_ok=True)
        parts.add_part(bench, LONG, quantity=1, place="drawer 3")
    return folder / "bench.db"


@pytest.fixture
def bench(made, tmp_path):
    shutil.copy(made, tmp_path / "bench.db")
    with BenchFile(tmp_path / "bench.db", today=TODAY) as opened:
        yield opened


def fitted(bench):
    """The long belt is set aside for unit 1 and fitted; gives the wish."""
    units.overrule(bench, 2, "as_is", "later")
    ordering.place_order(bench)
    looks.repair(bench, 1, ("tray_belt",))
    units.overrule(bench, 2, "", "")
    units.overrule(bench, 2, "fix", "sells well")
    (wish,) = later.later_list(bench)
    return wish


def test_a_compromise_that_is_fitted_leaves_a_wish_and_is_told(bench):
    wish = fitted(bench)
    assert (wish.need.unit, wish.need.part, wish.need.text, wish.need.state) == (1, "belt", BELT, "open")
    assert wish.need.instead == LONG
    assert wish.worth == 180  # what a compromise belt takes off 90.00 by the usual 2 %
    (told,) = [words for words in unit_view.unit_view(bench, 1).tell if "makeshift" in words]
    assert LONG in told
    assert "slightly different length" in told
    assert "makeshift" not in " ".join(unit_view.unit_view(bench, 2).tell)


def test_undo_of_the_repair_takes_the_wish_back_and_a_redo_brings_it_again(bench):
    units.overrule(bench, 2, "as_is", "later")
    ordering.place_order(bench)
    looks.repair(bench, 1, ("tray_belt",))
    history.take_back(bench)
    assert later.later_list(bench) == ()
    assert [need.state for need in store.needs(bench.database, number=1)] == ["reserved"]
    history.do_again(bench)
    assert [wish.need.instead for wish in later.later_list(bench)] == [LONG]


def test_what_a_plan_takes_is_chosen_only_while_a_compromise_is_allowed(bench):
    drawer = planning.plan_lot(bench, with_front=False).drawer
    assert [line.grade for line in drawer] == ["compromise"]
    (chosen,) = using.used_for(bench, 1, ("tray_belt",), planned=drawer).chosen
    assert (chosen.usable.name, chosen.pieces) == (LONG, 1)
    needs.describe_need(bench, 1, "belt", BELT, compromise_ok=False)
    assert using.used_for(bench, 1, ("tray_belt",), planned=drawer).chosen == ()


def test_the_person_says_that_it_is_proper_or_that_something_else_is_makeshift(bench):
    units.overrule(bench, 2, "as_is", "later")
    ordering.place_order(bench)
    looks.repair(bench, 1, ("tray_belt",), makeshift="no")
    assert later.later_list(bench) == ()
    looks.repair(bench, 2, ("tray_belt",), makeshift="a rubber band")
    (wish,) = later.later_list(bench)
    assert (wish.need.unit, wish.need.part, wish.need.text, wish.need.instead) == (2, "belt", "", "a rubber band")
    assert not planning.plan_lot(bench, with_front=False).riding  # nothing is known of the proper one yet
    assert later.change_wish(bench, wish.need.id, text=BELT).text == BELT
    assert [one.unit for one in planning.plan_lot(bench, with_front=False).riding] == [2]


def test_a_belt_that_fits_leaves_no_wish(bench):
    parts.add_part(bench, BELT, quantity=1)
    needs.describe_need(bench, 2, "belt", BELT)
    units.overrule(bench, 1, "as_is", "later")
    ordering.place_order(bench)
    looks.repair(bench, 2, ("tray_belt",))
    assert later.later_list(bench) == ()


def test_a_wish_rides_along_only_where_another_unit_orders(bench):
    wish = fitted(bench)
    alone = planning.plan_lot(bench)
    assert alone.order == ()
    (left,) = alone.riding
    assert (left.number, left.taken, left.costs, left.worth) == (wish.need.id, False, 460, 180)
    needs.describe_need(bench, 2, "belt", BELT)
    plan = planning.plan_lot(bench)
    (line,) = plan.order
    assert (line.pieces, line.units, line.whom, plan.order_total) == (2, (2, 1), "2, later 1", 620)
    (taken,) = plan.riding
    assert (taken.bought, taken.at_hand, taken.costs, taken.worth) == (1, 0, 160, 180)


@pytest.mark.parametrize(("worth", "bought"), [(159, 0), (161, 1), (0, 0)])
def test_it_is_bought_only_when_its_worth_exceeds_its_marginal_cost(bench, worth, bought):
    wish = fitted(bench)
    needs.describe_need(bench, 2, "belt", BELT)
    later.change_wish(bench, wish.need.id, worth=worth)
    (one,) = planning.plan_lot(bench).riding
    assert (one.bought, one.costs, one.worth) == (bought, 160, worth)


def test_a_dropped_wish_is_not_bought_and_what_is_makeshift_stays_told(bench):
    wish = fitted(bench)
    needs.describe_need(bench, 2, "belt", BELT)
    later.drop_wish(bench, wish.need.id)
    assert later.later_list(bench) == ()
    assert [line.pieces for line in planning.plan_lot(bench, with_front=False).order] == [1]
    assert "makeshift" in " ".join(unit_view.unit_view(bench, 1).tell)
    later.drop_wish(bench, wish.need.id)
    assert [one.need.id for one in later.later_list(bench)] == [wish.need.id]


def test_received_the_unit_asks_for_the_exchange_and_then_forgets_what_was_makeshift(bench):
    wish = fitted(bench)
    needs.describe_need(bench, 2, "belt", BELT)
    placed = ordering.place_order(bench)
    assert later.later_list(bench)[0].need.state == "ordered"
    assert "waits for" not in unit_view.unit_view(bench, 1).where_was_i  # it works meanwhile
    with pytest.raises(Refused, match="on its way"):
        later.exchange(bench, wish.need.id)
    goods_in.receive(bench, placed.lines[0].id)
    view = unit_view.unit_view(bench, 1)
    assert view.exchange == ("the proper tray belt lies ready: exchange it",)
    units.overrule(bench, 1, "as_is", "sold so")
    assert lot_view(bench).rows[0].next_step == "exchange: the proper tray belt lies ready"
    units.overrule(bench, 1, "fix", "sells well")
    assert "exchange it" in view.where_was_i
    stock = {part.description: part.quantity for part in parts.list_parts(bench)}
    assert stock[BELT] == 2
    for check in ("tray", "disc_read"):
        looks.answer(bench, 1, check, "good")
    later.exchange(bench, wish.need.id)
    stock = {part.description: part.quantity for part in parts.list_parts(bench)}
    assert stock[BELT] == 1
    view = unit_view.unit_view(bench, 1)
    assert view.exchange == ()
    assert "makeshift" not in " ".join(view.tell)
    assert any("exchanged for the proper one" in line.text for line in view.done)
    assert view.untested  # its functions are to be tested anew
    history.take_back(bench)
    assert unit_view.unit_view(bench, 1).exchange
    assert {part.description: part.quantity for part in parts.list_parts(bench)}[BELT] == 2


def test_feet_that_no_class_file_knows_can_be_makeshift(bench):
    wish = later.add_wish(
        bench, 2, "feet", "rubber foot 12 mm x 8 mm round", instead="feet of 5 mm", pieces=4, worth=200
    )
    assert wish.wish
    assert "feet is makeshift: feet of 5 mm" in unit_view.unit_view(bench, 2).tell
    later.exchange(bench, wish.id)
    view = unit_view.unit_view(bench, 2)
    assert "makeshift" not in " ".join(view.tell)
    assert any("feet exchanged" in line.text for line in view.done)


def test_a_wish_for_a_set_is_bought_whole_or_not_at_all(bench, tmp_path):
    (tmp_path / "more.csv").write_text(
        OFFERS + "Heather Spares,H-3,rubber foot 12 mm x 8 mm round,1,1,0.60\n", encoding="utf-8"
    )
    prices.import_any(bench, tmp_path / "more.csv")
    wish = later.add_wish(
        bench, 1, "feet", "rubber foot 12 mm x 8 mm round", instead="feet of 5 mm", pieces=4, worth=239
    )
    needs.describe_need(bench, 2, "belt", BELT)
    units.overrule(bench, 1, "as_is", "later")
    assert [one.bought for one in planning.plan_lot(bench).riding] == [0]
    later.change_wish(bench, wish.id, worth=241)
    (one,) = planning.plan_lot(bench).riding
    assert (one.bought, one.costs) == (4, 240)


def test_spares_are_worth_their_chance_times_the_price_and_are_promised_to_nobody(bench):
    needs.describe_need(bench, 2, "belt", BELT)
    units.overrule(bench, 1, "as_is", "later")
    spares.add_spare(bench, FUSE, pieces=2, chance=0.9, price=100)
    (one,) = planning.plan_lot(bench).riding
    # the first 0.90, the second 1 - 0.1 (1 + ln 10) of 1.00; one pack of five for 1.50
    assert (one.rides, one.wanted, one.bought, one.worth, one.costs) == ("spare", 2, 2, 90 + 67, 150)
    placed = ordering.place_order(bench)
    assert {line.sku for line in placed.lines} == {"H-1", "H-2"}
    fuses = next(line for line in placed.lines if line.sku == "H-2")
    assert (fuses.units, fuses.needs) == ((), ())
    assert planning.plan_lot(bench).riding == ()  # on their way
    goods_in.receive(bench, fuses.id)
    assert planning.plan_lot(bench).riding == ()  # in the drawer
    assert planning.plan_lot(bench).drawer == ()


def test_spares_without_a_price_are_reckoned_at_the_least_one(bench):
    spares.add_spare(bench, FUSE, pieces=1, chance=0.5)
    (one,) = planning.plan_lot(bench).riding
    assert (one.worth, one.taken) == (15, False)


@pytest.mark.parametrize(
    ("said", "match"),
    [
        ({"text": ""}, "say what it is"),
        ({"text": FUSE, "chance": 0.0}, "chance"),
        ({"text": FUSE, "pieces": 0}, "pieces"),
        ({"text": FUSE, "price": -1}, "price"),
        ({"text": "resistor", "kind": "belt"}, "more than one way"),
    ],
)
def test_spares_that_make_no_sense_are_refused(bench, said, match):
    with pytest.raises(Refused, match=match):
        spares.add_spare(bench, **{"chance": 0.5, **said})
    assert spares.list_spares(bench) == []


def test_spares_said_anew_take_the_place_of_the_old_and_can_be_dropped(bench):
    spares.add_spare(bench, FUSE, pieces=1, chance=0.5)
    again = spares.add_spare(bench, FUSE.upper(), pieces=3, chance=0.2)
    assert [(one.id, one.pieces) for one in spares.list_spares(bench)] == [(again.id, 3)]
    spares.drop_spare(bench, again.id)
    assert spares.list_spares(bench) == []
    history.take_back(bench)
    assert [one.pieces for one in spares.list_spares(bench)] == [3]


def test_a_proper_part_that_is_fitted_later_ends_what_was_makeshift(bench):
    wish = fitted(bench)
    later.drop_wish(bench, wish.need.id)
    needs.describe_need(bench, 1, "belt", BELT)
    parts.add_part(bench, BELT, quantity=1)
    looks.repair(bench, 1, ("tray_belt",))
    assert later.later_list(bench, everything=True) == ()
    assert "makeshift" not in " ".join(unit_view.unit_view(bench, 1).tell)


def test_a_proper_part_that_the_person_names_ends_what_was_makeshift_too(bench):
    fitted(bench)
    needs.describe_need(bench, 1, "belt", BELT)
    screw, belt = parts.add_part(bench, "screw set M2", quantity=9), parts.add_part(bench, BELT, quantity=1)
    looks.repair(bench, 1, ("tray_belt",), parts=((screw.id, 1),))
    assert len(later.later_list(bench)) == 1  # the screw is no belt
    history.take_back(bench)
    looks.repair(bench, 1, ("tray_belt",), parts=((belt.id, 1),))
    assert later.later_list(bench, everything=True) == ()


def test_another_makeshift_part_takes_the_place_of_the_first(bench):
    wish = fitted(bench)
    shorter = BELT.replace("118", "114")
    needs.describe_need(bench, 1, "belt", BELT, compromise_ok=True)
    part = parts.add_part(bench, shorter, quantity=1)
    looks.repair(bench, 1, ("tray_belt",), parts=((part.id, 1),))
    (now,) = later.later_list(bench)
    assert (now.need.id, now.need.instead, now.need.state) == (wish.need.id, shorter, "open")
    looks.repair(bench, 1, ("tray_belt",), makeshift="no")
    assert later.later_list(bench) == ()


def locked_elsewhere(bench):
    """Another running program says that the case stays shut: there is mains inside, and nothing was done about it."""
    code = (
        "import sys; from datetime import date; from pathlib import Path; from triage.bench_file import BenchFile;"
        " from triage.actions import looks\n"
        f"with BenchFile(Path(sys.argv[1]), today=date({TODAY.year}, {TODAY.month}, {TODAY.day})) as bench:\n"
        '    looks.hazard(bench, 1, "mains_inside", "yes")\n'
    )
    subprocess.run([sys.executable, "-c", code, str(bench.path)], check=True, timeout=60)


def test_an_exchange_done_again_goes_past_no_hazard(bench):
    wish = fitted(bench)
    later.exchange(bench, wish.need.id)
    history.take_back(bench)
    locked_elsewhere(bench)
    with pytest.raises(Refused, match="locked: Mains inside"):
        later.exchange(bench, wish.need.id)
    with pytest.raises(Refused, match="locked: Mains inside"):
        history.do_again(bench)
    assert [one.need.state for one in later.later_list(bench)] == ["open"]


def test_an_exchange_of_what_no_class_file_knows_is_held_back_as_work_without_opening_is(bench):
    wish = later.add_wish(bench, 1, "feet", "rubber foot 12 mm x 8 mm round", instead="feet of 5 mm")
    later.exchange(bench, wish.id)
    history.take_back(bench)
    looks.hazard(bench, 1, "mains_inside", "yes")
    with pytest.raises(Refused, match="locked: Mains inside"):
        later.exchange(bench, wish.id)
    assert [one.need.state for one in later.later_list(bench)] == ["open"]


def test_one_part_of_a_unit_is_wished_for_once(bench):
    wish = fitted(bench)
    with pytest.raises(Refused, match=f"wish {wish.need.id} is for it already"):
        later.add_wish(bench, 1, "belt", BELT, instead="a rubber band")
    later.drop_wish(bench, wish.need.id)
    with pytest.raises(Refused, match="is for it already"):
        later.add_wish(bench, 1, "Belt", BELT, kind="belt")
    assert [one.need.id for one in later.later_list(bench, everything=True)] == [wish.need.id]
    later.exchange(bench, wish.need.id)
    again = later.add_wish(bench, 1, "belt", BELT, instead="a rubber band")
    assert [one.need.id for one in later.later_list(bench)] == [again.id]


@pytest.mark.parametrize(("pile", "worth", "bought"), [("fix", 180, 1), ("part_out", 0, 0), ("dispose", 0, 0)])
def test_a_wish_is_worth_what_it_adds_to_what_is_sold(bench, pile, worth, bought):
    wish = fitted(bench)
    needs.describe_need(bench, 2, "belt", BELT)
    units.overrule(bench, 1, pile, "the case is cracked")
    (now,) = later.later_list(bench)
    assert (now.need.id, now.worth) == (wish.need.id, worth)
    assert [one.bought for one in planning.plan_lot(bench).riding] == [bought]
    later.change_wish(bench, wish.need.id, worth=200)
    assert [one.bought for one in planning.plan_lot(bench).riding] == [1]  # the person's word holds in any case


def test_of_a_unit_that_is_sold_as_it_stands_a_wish_adds_to_that_price(bench):
    fitted(bench)
    units.overrule(bench, 1, "as_is", "sold so")
    units.change_unit(bench, 1, as_is=4000)
    assert [one.worth for one in later.later_list(bench)] == [80]  # 2 % of 40.00


@pytest.mark.parametrize(
    ("text", "grade", "told"),
    [("square belt 200 mm inside circumference 1.2 mm", "it does not fit", "169.5 %"), ("belt", "not known", "")],
)
def test_a_part_that_does_not_fit_or_may_not_leaves_a_wish_for_the_wanted_one(bench, text, grade, told):
    wrong = parts.add_part(bench, text, kind="belt", quantity=1)
    screw = parts.add_part(bench, "screw set M2", quantity=9)
    named = ((wrong.id, 1), (screw.id, 2))
    (words,) = using.used_for(bench, 1, ("tray_belt",), named=named).makeshift
    assert grade in words
    looks.repair(bench, 1, ("tray_belt",), parts=named)
    (wish,) = later.later_list(bench)
    assert (wish.need.part, wish.need.text, wish.need.instead, wish.need.state) == ("belt", BELT, text, "open")
    assert told in wish.need.tell
    assert wish.need.tell  # a buyer is told why it is not what belongs there
    assert wish.worth == 180


def test_what_is_no_belt_or_lies_beside_a_fitting_one_leaves_no_wish(bench):
    screw = parts.add_part(bench, "screw set M2", quantity=9)
    wrong = parts.add_part(bench, "square belt 200 mm inside circumference 1.2 mm", quantity=1)
    looks.repair(bench, 1, ("tray_belt",), parts=((screw.id, 2),))
    assert later.later_list(bench) == ()
    history.take_back(bench)
    right = parts.add_part(bench, BELT, quantity=1)
    looks.repair(bench, 1, ("tray_belt",), parts=((wrong.id, 1), (right.id, 1)))
    assert later.later_list(bench) == ()


def test_a_part_in_the_very_words_of_what_is_wanted_is_no_makeshift_however_little_they_say(bench):
    needs.describe_need(bench, 2, "belt", "square belt")
    parts.add_part(bench, "square belt", quantity=1)
    looks.repair(bench, 2, ("tray_belt",))
    assert later.later_list(bench) == ()


def test_own_words_hold_of_every_part_of_the_repair(bench):
    device_class = bench.classes["disc_console"]
    fault = next(one for one in device_class.faults if one.repairable and one.needs and "belt" not in one.needs)
    looks.repair(bench, 2, ("tray_belt", fault.id), makeshift="odds and ends")
    wishes = later.later_list(bench)
    assert {wish.need.part for wish in wishes} == {"belt", *fault.needs}
    assert {wish.need.instead for wish in wishes} == {"odds and ends"}


def test_the_minutes_of_the_exchange_are_taken_off_what_a_wish_is_worth(bench):
    wish = fitted(bench)
    assert wish.worth == 180
    settings.change_person(bench, hour_worth=100)  # 1.00 an hour

    def exchanged():
        return later.exchange(bench, wish.need.id) and store.happenings(bench.database, 1)[-1].minutes

    (now,) = later.later_list(bench)
    minutes = exchanged()
    assert minutes > 0
    history.take_back(bench)
    assert now.worth == round(180 - minutes * 100 / 60)
    settings.change_person(bench, hour_worth=6000)
    assert [one.worth for one in later.later_list(bench)] == [0]
    later.change_wish(bench, wish.need.id, worth=200)
    assert [one.worth for one in later.later_list(bench)] == [200]  # the person's word holds in any case


def test_scarce_minutes_of_the_last_plan_do_not_move_what_a_wish_is_worth(bench):
    wish = fitted(bench)
    store.keep_lot_worths(bench.database, 1, minute=50.0, day=0.0)
    assert [one.worth for one in later.later_list(bench)] == [wish.worth]
