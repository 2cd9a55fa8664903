"""What is asked, and when: each thing once, when it first matters, and never while a look is in front."""

import msgspec
import pytest

from triage.asking import assumptions, cash_limit_question, question_for, to_be_told, unit_assumptions
from triage.device_classes.loader import load_classes
from triage.lot import PILE_WORDS, Happening, Lot, Unit
from triage.person import ALL_TOOLS, TOOLS_LACKED, Person, Said, said_of
from triage.study import Facts, study
from triage.worth import OPENED_AS_IS_AT_MOST, worth_of

CLASSES = load_classes()
ALL_SAID = Said(frozenset(Person.__struct_fields__), frozenset(ALL_TOOLS))
PERSON = Person("EUR")


@pytest.fixture
def unit_study():
    """A study of a unit whose hazards are answered no; `person` and fields of the unit as stated."""

    def made(class_id, *happenings, person=PERSON, **fields):
        device_class = CLASSES[class_id]
        asked = [("hazard", hazard.id, "no") for hazard in device_class.hazards]
        told = tuple(
            Happening(place, 1, "", kind, subject, answer)
            for place, (kind, subject, answer) in enumerate([*asked, *happenings], start=1)
        )
        return study(device_class, Facts(Unit(1, 1, class_id, class_id, **fields), told, person))

    return made


@pytest.fixture
def stopped(unit_study):
    """A gamepad that is not worth a look at the assumed hour."""

    def made(**fields):
        found = unit_study("gamepad", symptoms=("drift",), **fields)
        assert (found.action.action, found.pile) == ("stop", "as_is")
        return found

    return made


def kinds(found, said, put_off=frozenset()):
    question = question_for(found, said, put_off)
    return question and (question.kind, question.about)


def test_the_hour_is_asked_when_the_advice_is_first_to_stop(stopped, unit_study):
    found = stopped()
    question = question_for(found, Said())
    assert question.kind == "hour"
    assert "assumed: 12.00 EUR" in question.lines[0]
    flip = next(flip for flip in found.decision.flips if flip.term == "minute_cost")
    assert f"turns to {PILE_WORDS[flip.to]} at {flip.value * 60 / 100:.2f}" in question.lines[0]
    assert kinds(found, Said(frozenset({"hour_worth"}))) != ("hour", "")
    assert kinds(found, Said(), {"hour"}) != ("hour", "")
    looking = unit_study("disc_console")
    assert looking.action.action == "check"
    assert question_for(looking, Said()) is None  # a look is in front


def test_nothing_is_asked_before_the_hazards_or_of_answers_that_contradict(stopped):
    found = stopped()
    hazard = CLASSES["gamepad"].hazards[0]
    assert question_for(msgspec.structs.replace(found, ask_first=hazard), Said()) is None
    assert question_for(msgspec.structs.replace(found, action=None), Said()) is None


def test_the_facts_of_a_unit_are_asked_when_its_price_matters_three_at_most(stopped):
    answers = {"grade": "C", "complete": "battery lid", "opened_before": "no"}
    said: dict[str, str] = {}
    for kind, answer in answers.items():
        found = stopped(**said)
        question = question_for(found, ALL_SAID)
        assert (question.kind, question.unit) == (kind, 1)
        assert question.put_off == "unit 1"
        assert question_for(found, ALL_SAID, {"unit 1"}) is None
        said[kind] = answer
    assert question_for(stopped(**said), ALL_SAID) is None


def test_looks_are_not_asked_where_the_persons_own_prices_hold(stopped):
    found = stopped(working=900, as_is=700)
    assert question_for(found, ALL_SAID).kind == "complete"


def test_a_fixed_unit_is_asked_for_the_own_shelf_and_one_to_be_fixed_for_nothing(unit_study):
    looks = []
    unsaid = unit_study("portable_radio", grade="A", complete="yes")
    while unsaid.action.action == "check":
        looks.append(("answer", unsaid.action.check, "good"))
        unsaid = unit_study("portable_radio", *looks, grade="A", complete="yes")
    assert kinds(unsaid, ALL_SAID) == ("found", "")
    looks.append(("found", "", "found"))
    found = unit_study("portable_radio", *looks, grade="A", complete="yes")
    assert found.fixed.fixed
    assert question_for(found, ALL_SAID).kind == "keep"
    kept = unit_study("portable_radio", *looks, grade="A", complete="yes", keep="yes", own_worth=4000)
    assert question_for(kept, ALL_SAID) is None
    leaning = msgspec.structs.replace(found, fixed=msgspec.structs.replace(found.fixed, fixed=False))
    assert question_for(leaning, ALL_SAID) is None


HOUR = frozenset({"hour_worth"})


@pytest.fixture
def blown(unit_study):
    """An amplifier that blows its fuse, its first look put down to "can't tell": only a series lamp would tell more."""
    found = unit_study("small_amp", symptoms=("blows_fuse",), working=9000)
    assert found.action.check is not None
    found = unit_study("small_amp", ("answer", found.action.check, "cant_tell"), symptoms=("blows_fuse",), working=9000)
    assert found.action.action == "stop"
    return found


@pytest.fixture
def wavering(unit_study):
    """A record player with the motor's control as the likeliest suspect, which only live mains would tell of."""
    found = unit_study("turntable", working=30000)
    done = msgspec.structs.replace(found.action, action="stop", branch="as_is", check=None)
    found = msgspec.structs.replace(found, action=done)
    present = {**dict.fromkeys(found.belief.present, 0.01), "control_ic": 0.5}
    return msgspec.structs.replace(found, belief=msgspec.structs.replace(found.belief, present=present))


def test_a_tool_is_asked_for_once_when_the_likeliest_suspect_could_be_looked_at_with_it(blown):
    question = question_for(blown, Said(HOUR))
    assert (question.kind, question.about, question.title) == ("tool", "series_lamp", "Do you have a series lamp?")
    shut = [blown.device_class.check(entry.check) for entry in blown.action.locked if entry.kind == "tool"]
    suspect = max(blown.belief.present, key=blown.belief.present.get)
    assert any(check.tools == ("series_lamp",) and suspect in check.fails for check in shut)
    assert kinds(blown, Said(HOUR, frozenset({"series_lamp"}))) == ("grade", "")
    assert kinds(blown, Said(HOUR), {"tool series_lamp"}) == ("grade", "")
    owned = msgspec.structs.replace(blown.facts.person, tools=(*PERSON.tools, "series_lamp"))
    with_it = study(blown.device_class, msgspec.structs.replace(blown.facts, person=owned))
    assert kinds(with_it, Said(HOUR)) != ("tool", "series_lamp")


def test_no_tool_is_asked_for_what_could_not_pay_at_best(blown):
    worth = msgspec.structs.replace(blown.case.worth, working=1.0, part_out=1.0)
    poor = msgspec.structs.replace(blown, case=msgspec.structs.replace(blown.case, worth=worth))
    assert kinds(poor, Said(HOUR)) == ("grade", "")


def test_a_training_is_asked_once_and_no_is_the_easy_answer(wavering):
    question = question_for(wavering, Said(HOUR, frozenset(ALL_TOOLS)))
    assert (question.kind, question.about) == ("training", "live_mains")
    assert "n is a fine answer" in question.lines[0]
    said = Said(HOUR | {"live_mains"}, frozenset(ALL_TOOLS))
    assert kinds(wavering, said) != ("training", "live_mains")


def test_the_cash_limit_is_asked_once_a_lot_when_something_is_ordered():
    lot = Lot(7, "box", "EUR")
    question = cash_limit_question(lot, 460)
    assert (question.kind, question.lot, question.put_off) == ("cash_limit", 7, "lot 7")
    assert "4.60 EUR" in question.lines[0]
    assert cash_limit_question(lot, 0) is None
    assert cash_limit_question(msgspec.structs.replace(lot, cash_limit=0), 460) is None
    assert cash_limit_question(msgspec.structs.replace(lot, no_cash_limit=True), 460) is None


def test_every_title_and_line_fits_the_narrow_screen(stopped, blown, wavering):
    questions = [question_for(stopped(), Said()), question_for(stopped(), ALL_SAID)]
    questions += [
        question_for(stopped(grade="B"), ALL_SAID),
        question_for(stopped(grade="B", complete="yes"), ALL_SAID),
    ]
    questions += [question_for(blown, Said(HOUR)), question_for(wavering, Said(HOUR, frozenset(ALL_TOOLS)))]
    for question in questions:
        assert all(len(line) <= 74 for line in (question.title, *question.lines)), question


def test_what_is_assumed_is_named_until_it_is_said():
    assert assumptions(PERSON, Said()) == (
        "you have screwdriver, iron, meter",
        "an hour is worth 12.00",
        "money is EUR",
        "no training for live mains or picture tubes",
    )
    assert assumptions(PERSON, Said(frozenset({"tools", "live_mains", "currency"}))) == (
        "an hour is worth 12.00",
        "no training for picture tubes",
    )
    assert assumptions(PERSON, ALL_SAID) == ()
    assert len(unit_assumptions(Unit(1, 1, "", "x"))) == 4
    assert unit_assumptions(Unit(1, 1, "", "x", grade="B", complete="lid", own_worth=100)) == (
        "nobody opened it before",
    )


def test_tools_stated_as_a_list_are_all_there_are():
    assert said_of({}) == Said()
    assert said_of({"tools": ["meter"]}).lacks == frozenset(ALL_TOOLS) - {"meter"}
    assert said_of({"tools": ["meter"], TOOLS_LACKED: ["scope"]}).lacks == {"scope"}


def test_what_lacks_something_brings_less_and_is_told(unit_study):
    gamepad = CLASSES["gamepad"]
    whole, less = worth_of(gamepad), worth_of(gamepad, complete=0.85)
    assert less.working == pytest.approx(0.85 * whole.working)
    assert less.as_is == pytest.approx(0.85 * whole.as_is)
    assert less.part_out == whole.part_out  # what is there brings what it brought
    assert worth_of(gamepad, complete=0.85, working=2000.0).working == 2000.0
    found = unit_study("gamepad", complete="battery lid", opened_before="yes")
    assert found.case.worth.working == pytest.approx(0.85 * whole.working)
    assert to_be_told(found.facts.unit) == ("missing: battery lid", "it was opened before it came here")
    assert to_be_told(Unit(1, 1, "", "x", complete="yes", opened_before="no")) == ()


def test_one_that_was_opened_before_brings_no_more_than_one_for_parts():
    console = msgspec.structs.replace(CLASSES["disc_console"], as_is_ratio=0.5)
    opened = worth_of(console, opened_before=True)
    assert opened.as_is == pytest.approx(OPENED_AS_IS_AT_MOST * opened.working)
    assert worth_of(console, opened_before=True, as_is=4000.0).as_is == 4000.0  # the person's own figure stands
    low = msgspec.structs.replace(console, as_is_ratio=0.2)
    assert worth_of(low, opened_before=True).as_is == worth_of(low).as_is


def test_looks_that_were_not_said_count_as_used():
    gamepad = CLASSES["gamepad"]
    assert worth_of(gamepad, grade="") == worth_of(gamepad, grade="B")
