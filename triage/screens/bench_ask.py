"""The questions the Bench asks beside the main one: what was repaired, hazards, old answers, other looks, the past."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import msgspec

from triage.actions import looks
from triage.actions.unit_view import Done, Look, UnitView, other_looks
from triage.bench_file import BenchFile
from triage.screens.dialogs import Choice, Choose, Form, Line
from triage.screens.places import Place

Do = Callable[[Callable[[BenchFile], object]], None]


def ask_repair(place: Place, view: UnitView, do: Do) -> None:
    """What was repaired: what is proposed first, then the likeliest suspects."""
    number = view.unit.number
    known = {suspect.fault: suspect.what for suspect in view.suspects}
    choices = []
    if view.repair:
        choices.append(Choice(" ".join(view.repair), "; ".join(known[name] for name in view.repair), "proposed"))
    curable = [suspect for suspect in view.suspects if suspect.curable and (suspect.fault,) != view.repair]
    choices += [Choice(item.fault, item.what, f"{item.chance * 100:.0f} %") for item in curable[:12]]

    def chosen(faults: str | None) -> None:
        if faults:
            do(lambda bench: looks.repair(bench, number, tuple(faults.split())))

    place.app.push_screen(
        Choose(f"Unit {number}: what was repaired?", choices, "The minutes of the class file are counted."), chosen
    )


def ask_hazard(place: Place, view: UnitView, do: Do) -> None:
    """Confirm a precaution of a hazard in force, or answer a hazard question."""
    number = view.unit.number
    choices = [
        Choice(f"release {hazard.id} {index}", words, hazard.caution)
        for hazard in view.hazards_in_force
        for index, words in enumerate(hazard.releases)
    ]
    held = {hazard.id for hazard in view.hazards_in_force}
    hazards = {hazard.id: hazard for hazard in place.shell.bench.classes[view.unit.device_class].hazards}
    choices += [
        Choice(f"yes {hazard.id}", f"yes: {hazard.question}") for hazard in hazards.values() if hazard.id not in held
    ]
    choices += [Choice(f"no {hazard.id}", f"no: {hazard.question}") for hazard in view.hazards_in_force]

    def chosen(what: str | None) -> None:
        if what is None:
            return
        word, _, rest = what.partition(" ")
        if word == "release":
            hazard_id, _, index = rest.partition(" ")
            action = hazards[hazard_id].releases[int(index)]
            do(lambda bench: looks.release(bench, number, hazard_id, action))
        else:
            do(lambda bench: looks.hazard(bench, number, rest, word))

    if choices:
        about = "Confirm only what was really done." if view.hazards_in_force else "No hazard is in force."
        place.app.push_screen(Choose(f"Unit {number}: hazards", choices, about), chosen)


def ask_mend(place: Place, view: UnitView, do: Do) -> None:
    """Which old answer is wrong, then what it should be."""
    number = view.unit.number
    lines: Sequence[Done] = view.conflict or tuple(reversed([item for item in view.done if item.can_correct]))
    choices = [Choice(str(item.id), item.text) for item in lines]

    def chosen(happening: str | None) -> None:
        if happening is None:
            return

        def send(form: Form, typed: dict[str, str]) -> None:
            place.act(
                lambda bench: looks.correct(bench, number, int(happening), typed["answer"]),
                form.accepted,
                otherwise=form.refused,
            )

        line = Line("answer", "y n c s, or a reading", "", "c")
        place.app.push_screen(Form("What should it be?", [line], send))

    if choices:
        place.app.push_screen(Choose(f"Unit {number}: which answer is wrong?", choices), chosen)
    else:
        place.say("no answer was given yet")


def ask_past(place: Place, view: UnitView, do: Do) -> None:
    """What the unit went through, such as a leaked cell or damp storage."""
    number = view.unit.number
    device_class = place.shell.bench.classes.get(view.unit.device_class)
    choices = [
        Choice(f"{condition.id} {word}", f"{condition.question} {word}")
        for condition in (device_class.conditions if device_class else ())
        for word in ("yes", "no")
    ]

    def chosen(said: str | None) -> None:
        if said is not None:
            condition, _, word = said.rpartition(" ")
            do(lambda bench: looks.condition(bench, number, condition, word))

    if choices:
        place.app.push_screen(Choose(f"Unit {number}: what it went through", choices), chosen)
    else:
        place.say("nothing of that kind is known for this class")


def ask_look(place: Place, found: Sequence[Any], take: Callable[[str], None]) -> None:
    """Choose another look."""
    offered: list[Look] = list(found)
    choices = [
        Choice(look.check, look.question, f"{look.minutes:.0f} min{', case open' if look.opened else ''}")
        for look in offered
    ]

    def chosen(check: str | None) -> None:
        if check is not None:
            take(check)

    if choices:
        place.app.push_screen(Choose("Other looks, the best first", choices), chosen)
    else:
        place.say("there is no other look that may be taken now")


def with_look(bench: BenchFile, view: UnitView, check: str) -> UnitView:
    """The view with the look that the person chose in the place of the proposed one."""
    look = next((item for item in other_looks(bench, view.unit.number) if item.check == check), None)
    if look is None:
        return view
    return msgspec.structs.replace(view, look=look, action="check", reason="a look of your own choice")
