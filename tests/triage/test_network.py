"""A device class as a fault network."""

import pytest

from catalog.text import Refused
from triage.device_classes.loader import load_classes
from triage.device_classes.schema import Fault
from triage.diagnosis import Answered, Gate, Reported, posterior
from triage.network import known_faulty_of, network_of, prior_of, reported_events


@pytest.fixture
def gamepad():
    return load_classes()["gamepad"]


def test_priors_follow_from_shares_unless_stated(gamepad):
    network = network_of(gamepad)
    assert [fault.id for fault in network.faults] == [fault.id for fault in gamepad.faults]
    for fault, made in zip(gamepad.faults, network.faults, strict=True):
        assert made.prior == pytest.approx(1 - (1 - fault.share) ** 1.3)
    stated = Fault(id="x", what="", origin="M", minutes=1.0, skill=1, risk="L", success=1.0, share=0.5, prior=0.03)
    assert prior_of(stated) == 0.03
    assert network_of(gamepad, priors={"plug": 0.4}).faults[7].prior == 0.4


def test_checks_keep_their_gates_strengths_and_cures(gamepad):
    network = network_of(gamepad)
    assert network.check("centre").gate == (Gate("connects", "good"),)
    assert network.check("blow_retest").gate == (Gate("centre", "bad"),)
    assert network.check("blow_retest").cures == ("stick_dirty",)
    assert network.check("centre").links == {"stick_pot": 0.88, "stick_dirty": 0.7}
    assert (network.check("centre").persistence, network.check("centre").flip) == (0.8, 0.02)


def test_sold_as_faulty_means_a_fault_nine_times_in_ten(gamepad):
    assert (known_faulty_of("faulty"), known_faulty_of("untested")) == (0.9, None)
    belief = posterior(network_of(gamepad, known_faulty=known_faulty_of("faulty")), ())
    assert belief.p_no_fault == pytest.approx(0.1)


def test_a_condition_said_raises_its_faults(gamepad):
    before = posterior(network_of(gamepad, conditions={"damp": "no"}), ()).present
    after = posterior(network_of(gamepad, conditions={"damp": "yes"}), ()).present
    raises = next(condition.raises for condition in gamepad.conditions if condition.id == "damp")
    for fault in gamepad.faults:
        rise = raises.get(fault.id, 0.0)
        assert after[fault.id] == pytest.approx(1 - (1 - before[fault.id]) * (1 - rise))


def test_symptoms_are_soft_words_about_their_checks_and_an_answer_takes_their_place(gamepad):
    events = reported_events(gamepad, ["drift", "drift"])
    drift = next(symptom for symptom in gamepad.symptoms if symptom.id == "drift")
    assert events == tuple(Reported(check) for check in drift.checks)
    network = network_of(gamepad)
    told = posterior(network, events).present["stick_pot"]
    assert told > posterior(network, ()).present["stick_pot"]
    seen = (Answered("connects", "good"), *(Answered(check, "good") for check in drift.checks))
    assert posterior(network, (*events, *seen)).present == pytest.approx(posterior(network, seen).present)


@pytest.mark.parametrize(
    ("arguments", "where"), [({"conditions": {"fire": "yes"}}, "conditions"), ({"priors": {"ghost": 0.1}}, "priors")]
)
def test_names_the_class_does_not_have_are_refused(gamepad, arguments, where):
    with pytest.raises(Refused) as refused:
        network_of(gamepad, **arguments)
    assert refused.value.where == where


def test_an_unknown_symptom_is_refused(gamepad):
    with pytest.raises(Refused, match="has no symptom"):
        reported_events(gamepad, ["sings"])
