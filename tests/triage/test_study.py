"""One study: advice and sums from facts alone, hazards first, scarce minutes, answers that hardly go together."""

import msgspec
import pytest

from triage.device_classes.loader import load_classes
from triage.evidence import conditions_of, events_of, state_of
from triage.lot import Happening, Unit
from triage.person import Person, locale_currency, person_of
from triage.study import Facts, hazards_in_force, questions_left, study

CLASSES = load_classes()


@pytest.fixture
def facts():
    """Facts of one unit of a class with these happenings, all of its hazards answered no."""

    def made(class_id, *happenings, hazards="no", **person):
        device_class = CLASSES[class_id]
        asked = [("hazard", hazard.id, hazards) for hazard in device_class.hazards] if hazards else []
        told = tuple(
            Happening(place, 1, "", kind, subject, answer)
            for place, (kind, subject, answer) in enumerate([*asked, *happenings], start=1)
        )
        return Facts(Unit(1, 1, class_id, class_id), told, Person("EUR", **person))

    return made


@pytest.mark.parametrize("class_id", CLASSES)
def test_the_sums_the_advice_and_the_pile_agree(facts, class_id):
    found = study(CLASSES[class_id], facts(class_id))
    values = {item.id: item.value for item in found.decision.sums}
    assert found.decision.best == max(values, key=values.get)
    if found.action.action == "stop":
        assert found.pile == found.action.branch
    else:
        assert found.pile in {"undecided", "fix"}
    assert found.action.value >= max(values.values()) - 1e-6


@pytest.mark.parametrize("class_id", CLASSES)
def test_an_unasked_hazard_comes_before_what_it_could_hold_back(facts, class_id):
    found = study(CLASSES[class_id], facts(class_id, hazards=""))
    held = CLASSES[class_id].check(found.action.check).held_by() if found.action.check else {"posting"}
    could = [hazard for hazard in CLASSES[class_id].hazards if held & set(hazard.locks)]
    assert found.ask_first == (could[0] if could else None)


def test_what_must_not_travel_can_only_be_handed_over(facts):
    found = study(CLASSES["gamepad"], facts("gamepad", ("hazard", "swollen_pack", "yes")))
    assert [hazard.id for hazard in hazards_in_force(found)] == ["swollen_pack"]
    sums = {item.kind: item.value for item in found.decision.sums}
    assert sums["as_is"] <= 0
    assert sums["part_out"] <= 0
    assert found.pile == "hand_over"


def test_scarce_minutes_cost_more_than_the_hour_is_worth(facts):
    plain = facts("portable_radio")
    scarce = msgspec.structs.replace(plain, lot_minute=10 * plain.rate)
    assert scarce.rate == 10 * plain.rate
    assert msgspec.structs.replace(plain, lot_minute=0.1).rate == plain.rate
    one, other = (study(CLASSES["portable_radio"], each) for each in (plain, scarce))
    minutes = one.decision.sum_of("as_is").minutes
    change = one.decision.sum_of("as_is").value - other.decision.sum_of("as_is").value
    assert change == pytest.approx(9 * plain.rate * minutes)


def test_answers_that_hardly_go_together_are_far_fetched(facts):
    device_class = CLASSES["gamepad"]
    agreeing = study(device_class, facts("gamepad", ("answer", "connects", "good")))
    assert not agreeing.belief.far_fetched
    said = {"ribbon_reseat": "bad", "cable_ohms": "bad", "charge": "bad", "connects": "good", "cable_flex": "good"}
    odd = study(device_class, facts("gamepad", *(("answer", check, word) for check, word in said.items())))
    assert odd.belief.far_fetched
    assert not odd.belief.impossible


def test_the_looks_left_are_those_that_nothing_locks(facts):
    found = study(CLASSES["gamepad"], facts("gamepad"))
    left = [check.id for check in questions_left(found)]
    assert left[0] == found.action.ranking[0].check
    assert not set(left) & {entry.check for entry in found.action.locked}
    assert len(left) == len(set(left))


def test_the_story_is_read_in_its_order():
    device_class = CLASSES["gamepad"]
    unit = Unit(1, 1, "gamepad", "gamepad", symptoms=("drift",))
    told = [
        Happening(1, 1, "", "answer", "connects", "good"),
        Happening(2, 1, "", "answer", "no such check", "bad"),
        Happening(3, 1, "", "case", "", "opened"),
        Happening(4, 1, "", "answer", "circle", "does_not_apply"),
        Happening(5, 1, "", "repair", "stick_worn nothing", "done"),
    ]
    state = state_of(device_class, unit, told)
    assert state.case_open
    assert state.does_not_apply == {"circle"}
    names = [type(event).__name__ for event in events_of(device_class, unit, told)]
    assert names[0] == "Reported"
    assert "Answered" in names
    assert conditions_of(device_class, told) == {}


def test_what_the_person_did_not_say_is_assumed(monkeypatch):
    monkeypatch.setattr("locale.localeconv", lambda: {"int_curr_symbol": "SEK "})
    assert person_of({}).currency == locale_currency() == "SEK"
    monkeypatch.setattr("locale.localeconv", lambda: {"int_curr_symbol": "???"})
    assert locale_currency() == "EUR"
    held = person_of({"currency": "EUR", "hour_worth": 600, "something else": 1})
    assert (held.minute_worth, held.permissions) == (10.0, frozenset())
    assert person_of({"currency": "EUR", "tube": True}).permissions == {"tube"}
