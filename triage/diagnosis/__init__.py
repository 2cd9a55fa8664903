"""What is wrong with one unit: exact chances, the evidence behind them, and the worlds they leave possible."""

from triage.diagnosis.explain import Contribution, contributions
from triage.diagnosis.foresight import NextAnswer, foresee
from triage.diagnosis.history import History, Seen, gate_open, replay
from triage.diagnosis.network import (
    Answer,
    Answered,
    Check,
    Condition,
    Event,
    Fault,
    Gate,
    Likelihood,
    Network,
    Reading,
    Repaired,
    Reported,
    prior_of_share,
)
from triage.diagnosis.posterior import Belief, FaultSet, believe, believe_in, log_evidence, posterior
from triage.diagnosis.readings import Meter, Reads, Scale, likelihood_of, limits_of
from triage.diagnosis.situation import Situation
from triage.diagnosis.sums import BeyondExact, Method
from triage.diagnosis.worlds import Worlds, worlds, worlds_in

__all__ = [
    "Answer",
    "Answered",
    "Belief",
    "BeyondExact",
    "Check",
    "Condition",
    "Contribution",
    "Event",
    "Fault",
    "FaultSet",
    "Gate",
    "History",
    "Likelihood",
    "Meter",
    "Method",
    "Network",
    "NextAnswer",
    "Reading",
    "Reads",
    "Repaired",
    "Reported",
    "Scale",
    "Seen",
    "Situation",
    "Worlds",
    "believe",
    "believe_in",
    "contributions",
    "foresee",
    "gate_open",
    "likelihood_of",
    "limits_of",
    "log_evidence",
    "posterior",
    "prior_of_share",
    "replay",
    "worlds",
    "worlds_in",
]
