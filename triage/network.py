"""A device class as a fault network: the one place where class files and the diagnosis meet."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final, Literal

from catalog.text import Refused
from triage.device_classes.schema import Check, DeviceClass, Fault
from triage.diagnosis.network import Check as NetworkCheck
from triage.diagnosis.network import Condition, Gate, Network, Reported, prior_of_share
from triage.diagnosis.network import Fault as NetworkFault

SOLD_AS_FAULTY: Final = 0.9
"""Chance that a unit sold as faulty has any fault at all (from memory)."""

_FAILED = " failed"


def network_of(
    device_class: DeviceClass,
    *,
    known_faulty: float | None = None,
    conditions: Mapping[str, Literal["yes", "no", "unknown"]] | None = None,
    priors: Mapping[str, float] | None = None,
    more: Iterable[NetworkCheck] = (),
) -> Network:
    """The fault network of one unit of a class.

    `known_faulty` is the chance of any fault before any answer (None = not conditioned), `conditions` what the person
    said about hidden causes, `priors` fault chances learned elsewhere that take the place of the file's, `more` checks
    that the file does not list.
    Raises `Refused`, naming the key path, for names the class does not have and for numbers that are no chances.
    """
    said, learned = dict(conditions or {}), dict(priors or {})
    for where, names, known in (
        ("conditions", said, {condition.id for condition in device_class.conditions}),
        ("priors", learned, {fault.id for fault in device_class.faults}),
    ):
        for name in names:
            if name not in known:
                raise Refused(f"class {device_class.id} has no {name!r}; it has {_listed(known)}", where=where)
    return Network(
        faults=tuple(
            NetworkFault(fault.id, learned.get(fault.id, prior_of(fault)), fault.success)
            for fault in device_class.faults
        ),
        checks=(
            *(
                NetworkCheck(
                    id=check.id,
                    leak=check.leak,
                    links=dict(check.fails),
                    gate=gates_of(check),
                    cures=check.cures,
                    persistence=check.persistence,
                    flip=check.flip,
                )
                for check in device_class.checks
            ),
            *more,
        ),
        conditions=tuple(
            Condition(condition.id, dict(condition.raises), condition.prior, said.get(condition.id, "unknown"))
            for condition in device_class.conditions
        ),
        known_faulty=known_faulty,
    )


def known_faulty_of(sold_as: str) -> float | None:
    """The chance of any fault that the seller's word stands for: 0.9 for `faulty`, nothing for `untested`."""
    return SOLD_AS_FAULTY if sold_as == "faulty" else None


def prior_of(fault: Fault) -> float:
    """Chance that a unit has this fault: as stated, otherwise from its share among main faults."""
    if fault.prior is not None:
        return fault.prior
    if fault.share is None:
        raise Refused("state share or prior", where=f"faults[{fault.id}]")
    return prior_of_share(fault.share)


def gates_of(check: Check) -> tuple[Gate, ...]:
    """The gate of a check: `x` wants x good, `x failed` wants it bad."""
    return tuple(
        Gate(entry.removesuffix(_FAILED), "bad") if entry.endswith(_FAILED) else Gate(entry) for entry in check.gate
    )


def reported_events(device_class: DeviceClass, symptom_ids: Iterable[str]) -> tuple[Reported, ...]:
    """What reported symptoms say: weak evidence on each check they speak to, once a check.

    Raises `Refused` for a symptom the class does not have.
    """
    symptoms = {symptom.id: symptom for symptom in device_class.symptoms}
    spoken: dict[str, None] = {}
    for symptom_id in symptom_ids:
        if symptom_id not in symptoms:
            problem = f"class {device_class.id} has no symptom {symptom_id!r}; it has {_listed(symptoms)}"
            raise Refused(problem, where="symptoms")
        spoken.update(dict.fromkeys(symptoms[symptom_id].checks))
    return tuple(Reported(check_id) for check_id in spoken)


def _listed(names: Iterable[str]) -> str:
    return ", ".join(sorted(names)) or "none"
