"""Published probability networks, as far as faults, checks and conditions can express them exactly."""

import math

import pytest

from triage.diagnosis import Answered, Check, Condition, Fault, Network, Reading, foresee, posterior

# Russell & Norvig, Artificial Intelligence: A Modern Approach, noisy-OR table of fever: inhibitions cold 0.6, flu 0.2,
# malaria 0.1; rows in the order cold, flu, malaria.
FEVER = {
    (False, False, False): 0.0,
    (False, False, True): 0.9,
    (False, True, False): 0.8,
    (False, True, True): 0.98,
    (True, False, False): 0.4,
    (True, False, True): 0.94,
    (True, True, False): 0.88,
    (True, True, True): 0.988,
}


@pytest.mark.parametrize("present", FEVER)
def test_fever_by_noisy_or(present):
    faults = tuple(Fault(name, float(here)) for name, here in zip(("cold", "flu", "malaria"), present, strict=True))
    network = Network(faults, (Check("fever", 0.0, {"cold": 0.4, "flu": 0.8, "malaria": 0.9}),))
    assert posterior(network, []).predictive["fever"] == pytest.approx(FEVER[present], abs=1e-12)


def mixed(beliefs):
    """Chances by name, and the chance of the evidence, over (share, belief) pairs."""
    weights = [share * math.exp(belief.log_evidence) for share, belief in beliefs]
    names = beliefs[0][1].present
    chances = {
        name: sum(weight * belief.present[name] for weight, (_, belief) in zip(weights, beliefs, strict=True))
        / sum(weights)
        for name in names
    }
    return chances, sum(weights)


def test_burglary_when_both_neighbours_call():
    """Russell & Norvig, the burglar alarm: P(burglary | John and Mary call) = 0.284 (printed value from memory).

    The alarm's table is no noisy-OR of burglary and earthquake, but for a known earthquake it is one of burglary alone.
    """
    calls = Reading("alarm", (0.90 * 0.70, 0.05 * 0.01))
    beliefs = []
    for share, without, with_burglary in ((0.998, 0.001, 0.94), (0.002, 0.29, 0.95)):
        strength = 1.0 - (1.0 - with_burglary) / (1.0 - without)
        network = Network((Fault("burglary", 0.001),), (Check("alarm", without, {"burglary": strength}),))
        beliefs.append((share, posterior(network, [calls])))
    chances, _ = mixed(beliefs)
    assert round(chances["burglary"], 3) == 0.284


def clinic(*events, travelled="unknown", smoker="unknown", breathless=False):
    """Lauritzen & Spiegelhalter, Journal of the Royal Statistical Society B 50, 1988, chest clinic.

    Travel and smoking are conditions. "Either" is a plain OR of tuberculosis and lung cancer: a check without leak. The
    table of breathlessness is no noisy-OR of "either" and bronchitis, but for a known bronchitis it reads "either".
    """
    network = Network(
        (Fault("tub", 0.01), Fault("lung", 0.01), Fault("bronc", 0.30)),
        (Check("either", 0.0, {"tub": 1.0, "lung": 1.0}), Check("bronc", 0.0, {"bronc": 1.0})),
        (
            Condition("asia", {"tub": 1 - 0.95 / 0.99}, 0.01, travelled),
            Condition("smoke", {"lung": 1 - 0.90 / 0.99, "bronc": 1 - 0.40 / 0.70}, 0.5, smoker),
        ),
    )
    if not breathless:
        return mixed([(1.0, posterior(network, list(events)))])
    rows = (("bad", (0.9, 0.8)), ("good", (0.7, 0.1)))
    return mixed(
        [(1.0, posterior(network, [*events, Answered("bronc", seen), Reading("either", pair)])) for seen, pair in rows]
    )


XRAY = Reading("either", (0.98, 0.05))
CLEAR = Reading("either", (0.02, 0.95))


def test_chest_clinic_as_printed_in_a_tutorial():
    """Numbers printed in the tutorial of the gRain package (Højsgaard), which uses the network of the 1988 paper."""
    chances, evidence = clinic(travelled="yes", breathless=True)
    assert chances["lung"] == pytest.approx(0.09952515, abs=5e-9)
    assert chances["bronc"] == pytest.approx(0.8114021, abs=5e-8)
    assert 0.01 * evidence == pytest.approx(0.004501375, abs=5e-10)
    chances, _ = clinic(travelled="yes", smoker="yes", breathless=True)
    assert chances["lung"] == pytest.approx(0.1455191, abs=5e-8)
    assert chances["bronc"] == pytest.approx(0.8672582, abs=5e-8)


def test_chest_clinic_with_nothing_seen():
    """The same network; printed values from memory of the paper's example."""
    chances, _ = clinic()
    assert chances["tub"] == pytest.approx(0.0104)
    assert chances["lung"] == pytest.approx(0.055)
    assert chances["bronc"] == pytest.approx(0.45)
    _, either = clinic(Answered("either", "bad"))
    assert either == pytest.approx(0.064828)
    _, xray = clinic(XRAY)
    assert round(xray, 5) == 0.11029
    _, breathless = clinic(breathless=True)
    assert round(breathless, 6) == 0.435971


def test_chest_clinic_with_an_x_ray():
    """The same network, worked out from its tables."""
    chances, _ = clinic(XRAY, travelled="yes", breathless=True)
    assert round(chances["tub"], 6) == 0.391712
    assert round(chances["lung"], 6) == 0.444271
    chances, _ = clinic(CLEAR, travelled="yes", breathless=True)
    assert round(chances["tub"], 6) == 0.002249
    assert round(chances["lung"], 6) == 0.002550
    assert round(chances["bronc"], 6) == 0.862761


def test_a_positive_screening_test_as_asked_of_doctors():
    """Gigerenzer, Calculated Risks (2002): 0.8 % have it, 90 % of them test positive, 7 % of the others; about 9 %.

    The book counts in whole women, 7 out of 77. A second screen that speaks of the same woman, taken for independent,
    is worked out from the same figures.
    """
    strength = 1.0 - (1.0 - 0.90) / (1.0 - 0.07)
    network = Network((Fault("ill", 0.008),), (Check("screen", 0.07, {"ill": strength}),))
    after = posterior(network, [Answered("screen", "bad")]).present["ill"]
    assert after == pytest.approx(0.008 * 0.9 / (0.008 * 0.9 + 0.992 * 0.07))
    assert round(after, 2) == 0.09
    ahead = foresee(network, [])["screen"]
    assert ahead.bad == pytest.approx(0.008 * 0.9 + 0.992 * 0.07)
    assert ahead.if_bad["ill"] == pytest.approx(after)
    again = posterior(network, [Answered("screen", "bad")] * 2).present["ill"]
    assert again == pytest.approx(0.008 * 0.9**2 / (0.008 * 0.9**2 + 0.992 * 0.07**2))
