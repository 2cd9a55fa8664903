"""Saying what was wrong with a unit in the end, and what all findings of a class together say."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from catalog.journal import Recorder
from catalog.text import Refused, clean_line
from triage import forecasts, store
from triage.actions.learned import LEARNED_SINCE, closed_units, since
from triage.actions.studies import study_of
from triage.bench_file import BenchFile, in_one_transaction
from triage.device_classes.schema import DeviceClass
from triage.diagnosis import believe, replay
from triage.findings import Closed, finding_of, repaired
from triage.learning import Learned, learn
from triage.lot import Happening, model_form
from triage.model_sheets import sheet_of, stated_faults


class LearnedView(msgspec.Struct, frozen=True):
    """What the findings of a class say: beside each fault's chance in the file, what was found and what is used."""

    device_class: str
    name: str
    model: str
    """The model it is shown for; empty for the class at large."""
    seen: int
    """Units of the class on the bench file, with or without a finding."""
    learned: Learned
    words: dict[str, str]
    """{fault: what it is}"""
    since: str
    """Findings from this moment on count; empty for all."""
    score: forecasts.Score | None
    """How good the forecasts of this class were."""

    @property
    def told(self) -> tuple[str, ...]:
        """How good the forecasts were, and from when on findings count, a line each."""
        lines = [f"findings count from {self.since[:10]} on"] if self.since else []
        if self.score is None:
            return (*lines, "no forecast can be scored yet: it is kept at the first repair, and scored by the finding")
        found = self.score
        error = f"mean squared error {found.brier:.3f}, before any look {found.base:.3f}"
        lines.append(f"forecasts of {found.units} unit{'s' if found.units != 1 else ''}: {error}")
        if not found.enough:
            lines.append(f"too few to judge by: {forecasts.ENOUGH} are wanted")
            return tuple(lines)
        return (*lines, *(_bin(one) for one in found.bins if one.count))


class FindingForm(msgspec.Struct, frozen=True):
    """What the question about a finding is put with."""

    unit: int
    faults: tuple[tuple[str, str], ...]
    """(fault id, what it is), likeliest at the start first."""
    likely: tuple[str, ...]
    """What was repaired."""
    said: tuple[str, ...] | None
    """What was said before; None where nothing was."""


def finding_form(bench: BenchFile, number: int) -> FindingForm:
    """The faults that can be named as a finding; raises `Refused` as `study_of`."""
    study = study_of(bench, number)
    chances = study.belief.at_start
    order = sorted(study.device_class.faults, key=lambda fault: -chances.get(fault.id, 0.0))
    said = finding_of(study.device_class, study.facts.happenings)
    return FindingForm(
        unit=number,
        faults=tuple((fault.id, fault.what) for fault in order),
        likely=repaired(study.device_class, study.facts.happenings),
        said=None if said is None else tuple(fault.id for fault in order if fault.id in said),
    )


def _bin(one: forecasts.Bin) -> str:
    span = f"{one.low80:.0%} to {one.high80:.0%}"
    return f"said {one.low:.0%} to {one.high:.0%}: {one.hits} of {one.count} were there (80 % sure: {span})"


@in_one_transaction
def found(bench: BenchFile, number: int, faults: tuple[str, ...]) -> Happening:
    """Say what was wrong with a unit; no fault says that nothing was. The latest word counts. One event.

    Raises:
        Refused: no such unit or fault, or its class is still in doubt.
    """
    study = study_of(bench, number)
    known = {fault.id: fault.what for fault in study.device_class.faults}
    for fault in faults:
        if fault not in known:
            raise Refused(f"no fault of that name; known are {', '.join(known)}", where=f"unit {number}.{fault}")
    what = ", ".join(known[fault] for fault in faults) or "nothing wrong with it"
    summary = clean_line(f"unit {number}: found: {what}", 200)
    with bench.journal.event("found", summary, at=bench.now(), unit=number) as recorder:
        keep_forecast(bench, recorder, number)
        seen = Happening(0, number, bench.now(), "found", " ".join(faults), "found")
        row_id = store.save(recorder, "happenings", seen)
    return msgspec.structs.replace(seen, id=row_id)


def keep_forecast(bench: BenchFile, recorder: Recorder, number: int) -> None:
    """Keep what is believed of a unit before it is known, once a unit and class, to be scored later."""
    study = study_of(bench, number)
    held = {one.unit: one for one in store.forecasts(bench.database)}.get(number)
    if study.belief.impossible or (held is not None and held.device_class == study.device_class.id):
        return
    before = believe(study.network, replay(study.network, ()), details=False)
    row = store.Forecast(
        id=held.id if held else 0,
        unit=number,
        at=bench.now(),
        device_class=study.device_class.id,
        chances={fault: round(chance, 6) for fault, chance in study.belief.at_start.items()},
        base={fault: round(chance, 6) for fault, chance in before.at_start.items()},
    )
    store.save(recorder, "forecasts", row)


def learned_view(bench: BenchFile, class_id: str, model: str = "") -> LearnedView:
    """What was learned of a class, for one model where one is named.

    Raises:
        Refused: there is no such class.
    """
    device_class = _class(bench, class_id)
    closed = closed_units(bench, device_class)
    units = [unit for unit in store.units(bench.database) if unit.device_class == class_id]
    stated = stated_faults(sheet_of(store.model_lines(bench.database, class_id), class_id, model))
    return LearnedView(
        device_class=class_id,
        name=device_class.name,
        model=model,
        seen=sum(not model or model_form(unit.model) == model_form(model) for unit in units),
        learned=learn(device_class, closed, model=model_form(model), stated=stated),
        words={fault.id: fault.what for fault in device_class.faults},
        since=since(bench, class_id),
        score=_score(bench, class_id, closed),
    )


def reset_learning(bench: BenchFile, class_id: str) -> None:
    """Learn of a class anew from now on: the file's numbers hold until something is found again. One event.

    Raises:
        Refused: there is no such class.
    """
    device_class = _class(bench, class_id)
    moments = {**store.settings(bench.database).get(LEARNED_SINCE, {}), class_id: bench.now()}
    summary = f"{device_class.name}: findings so far are not learned from any more"
    with bench.journal.event("reset_learning", clean_line(summary, 200), at=bench.now()) as recorder:
        store.save_setting(recorder, bench.database, LEARNED_SINCE, moments)


def _score(bench: BenchFile, class_id: str, closed: Sequence[Closed]) -> forecasts.Score | None:
    kept = {one.unit: one for one in store.forecasts(bench.database) if one.device_class == class_id}
    return forecasts.score(
        [
            forecasts.Forecast(unit.unit, kept[unit.unit].chances, kept[unit.unit].base, unit.faults)
            for unit in closed
            if unit.unit in kept
        ]
    )


def _class(bench: BenchFile, class_id: str) -> DeviceClass:
    if class_id not in bench.classes:
        known = ", ".join(bench.classes)
        raise Refused(f"there is no class {class_id!r}; known are {known}", where="class")
    return bench.classes[class_id]
