"""The dialogs of the Bench: a repair, hazards and hidden causes, mending an old answer."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from textual import on
from textual.widget import Widget

from catalog.text import Refused
from triage.actions import looks
from triage.actions.holding import InTheWay, in_the_way
from triage.actions.look_view import Look, told_apart
from triage.actions.unit_view import Done, UnitView
from triage.actions.using import used_for
from triage.bench_file import BenchFile
from triage.device_classes.schema import DeviceClass, Hazard
from triage.lot import Happening
from triage.screens.bench_used import UsingForm
from triage.screens.dialogs import Choice, Choose, Form, Line, Tick, Ticks
from triage.screens.places import Place
from triage.worth import opens

Then = Callable[[], None]


class RepairForm(UsingForm):
    """What was repaired, how long it took, a note, and which parts of the drawer went into it."""

    def __init__(self, place: Place, view: UnitView, send: Callable[[RepairForm, dict[str, str]], None]) -> None:
        """Tick what was proposed; everything else with a cure can be ticked too."""
        number, plan = view.unit.number, place.shell.planned.get(view.unit.lot)
        super().__init__(
            place,
            f"Unit {number}: what was repaired?",
            [
                Line("minutes", "minutes it took", "", "empty: the usual"),
                Line("note", "note", "", "screws in bag 14"),
                Line("makeshift", "makeshift", "", "empty: by its grade; no; in words"),
            ],
            lambda typed: send(self, typed),
            lambda bench, query, named: used_for(
                bench, number, self.ticked, query, planned=plan.drawer if plan is not None else (), named=named
            ),
            about="Space ticks what was cured and, below, the part that went in; Tab and shift+Tab move.",
        )
        self._curable = [item for item in view.suspects if item.curable]
        self._proposed = view.repair

    def compose_more(self) -> Sequence[Widget]:
        """The faults, likeliest first."""
        things = [Tick(item.fault, item.what, f"{item.chance * 100:.0f} %") for item in self._curable]
        return [Ticks(things, self._proposed)]

    @property
    def start(self) -> str:
        """Nothing proposed: the faults, so that Space ticks one, as the form says."""
        return super().start if self._proposed or not self._curable else "#ticks"

    @property
    def ticked(self) -> tuple[str, ...]:
        """The fault ids ticked, in the order shown."""
        return self.query_one("#ticks", Ticks).ticked

    @on(Ticks.Turned)
    def _other_faults(self, event: Ticks.Turned) -> None:
        """Other faults need other parts."""
        event.stop()
        self.look_again()


def choose_look(place: Place, offered: Sequence[Look], then: Callable[[Look], None]) -> None:
    """Choose one of the looks that may be taken now."""
    questions = told_apart(offered)
    choices = [
        Choice(look.check, questions[look.check], f"{look.minutes:g} min{', case open' if look.opened else ''}")
        for look in offered
    ]

    def chosen(check: str | None) -> None:
        if check is not None:
            then(next(look for look in offered if look.check == check))

    place.app.push_screen(Choose("Which look?", choices), chosen)


def before_work(place: Place, number: int, *, opening: bool, then: Then) -> None:
    """Ask first what work on the unit would be refused for, then go on; what locks it is said instead."""

    def go_on() -> None:
        before_work(place, number, opening=opening, then=then)

    def found(way: InTheWay) -> None:
        if way.locked:
            place.say(f"locked: {way.locked} h confirms what was done about it", trouble=True)
        elif way.ask is None:
            then()
        elif way.again:
            ask_release(place, number, way.ask, go_on, after_power=True)
        else:
            _ask_hazard(place, number, way.ask, go_on)

    place.work_out(lambda bench: in_the_way(bench, number, opening=opening), found, kind="ask")


def ask_repair(place: Place, view: UnitView) -> None:
    """Note a repair; a hazard that could hold it back is asked about before the form opens."""
    device_class = place.shell.bench.classes[view.unit.device_class]
    faults = view.repair or [item.fault for item in view.suspects if item.curable]
    before_work(
        place, view.unit.number, opening=opens(device_class, faults), then=lambda: _open_repair_form(place, view)
    )


def _open_repair_form(place: Place, view: UnitView) -> None:
    number = view.unit.number

    def send(form: RepairForm, typed: dict[str, str]) -> None:
        ticked, used = form.ticked, form.named
        place.act(lambda bench: _repaired(bench, number, ticked, typed, used), form.accepted, otherwise=form.refused)

    place.app.push_screen(RepairForm(place, view, send))


def _repaired(
    bench: BenchFile, number: int, faults: tuple[str, ...], typed: dict[str, str], used: tuple[tuple[int, int], ...]
) -> Happening:
    minutes: float | None = None
    if typed["minutes"]:
        try:
            minutes = float(typed["minutes"].replace(",", "."))
        except ValueError:
            minutes = -1.0
        if not 0 <= minutes < 100_000:
            raise Refused("expected minutes such as 12", where="minutes")
    return looks.repair(
        bench, number, faults, note=typed["note"], minutes=minutes, parts=used, makeshift=typed["makeshift"]
    )


def ask_dangers(place: Place, view: UnitView) -> None:
    """List the hazards and hidden causes of the class, to answer or answer anew."""
    device_class = place.shell.bench.classes.get(view.unit.device_class)
    if device_class is None:
        place.say("say first what it is", trouble=True)
        return
    force = {hazard.id for hazard in view.hazards_in_force}
    choices = [
        Choice(f"h {hazard.id}", hazard.question, "IN FORCE" if hazard.id in force else "")
        for hazard in device_class.hazards
    ]
    choices += [Choice(f"c {item.id}", item.question) for item in device_class.conditions]

    def chosen(picked: str | None) -> None:
        if picked is None:
            return
        kind, _, name = picked.partition(" ")
        if kind == "c":
            _ask_condition(place, view.unit.number, device_class, name)
            return
        hazard = next(item for item in device_class.hazards if item.id == name)
        if hazard.id in force:
            ask_release(place, view.unit.number, hazard)
        else:
            _ask_hazard(place, view.unit.number, hazard)

    if not choices:
        place.say("no hazards are listed for this class")
        return
    place.app.push_screen(Choose(f"Unit {view.unit.number}: hazards and hidden causes", choices), chosen)


def ask_release(
    place: Place, number: int, hazard: Hazard, then: Then | None = None, *, after_power: bool = False
) -> None:
    """Confirm a precaution of a hazard in force, or say that it was not so; one that powering brought back was so."""
    choices = [Choice(release, release) for release in hazard.releases]
    if not after_power:
        choices.append(Choice("", "it is not so after all"))

    def chosen(action: str | None) -> None:
        if action is None:
            return
        place.act(lambda bench: _released(bench, number, hazard, action), lambda _: then() if then else None)

    again = "It was powered since. " if after_power else ""
    about = f"{again}{hazard.caution} Confirm what was really done; Esc leaves it locked."
    place.app.push_screen(Choose("Done already?", choices, about, weigh=True), chosen)


def _released(bench: BenchFile, number: int, hazard: Hazard, action: str) -> Happening:
    """A release confirmed; an empty one says that the hazard was none."""
    if not action:
        return looks.hazard(bench, number, hazard.id, "no")
    return looks.release(bench, number, hazard.id, action)


def _ask_hazard(place: Place, number: int, hazard: Hazard, then: Then | None = None) -> None:
    def answered(said: str) -> None:
        if said == "yes":
            ask_release(place, number, hazard, then)
        elif then is not None:
            then()

    def chosen(said: str | None) -> None:
        if said is not None:
            place.act(lambda bench: looks.hazard(bench, number, hazard.id, said), lambda _: answered(said))

    choices = [Choice("yes", "yes", "locks at once"), Choice("no", "no")]
    place.app.push_screen(Choose(hazard.question, choices, hazard.caution, weigh=True), chosen)


def _ask_condition(place: Place, number: int, device_class: DeviceClass, name: str) -> None:
    held = next(item for item in device_class.conditions if item.id == name)

    def chosen(said: str | None) -> None:
        if said is not None:
            place.act(lambda bench: looks.condition(bench, number, name, said))

    choices = [Choice("yes", "yes"), Choice("no", "no"), Choice("unknown", "not known")]
    place.app.push_screen(Choose(held.question, choices, held.name, weigh=True), chosen)


def mend(place: Place, number: int, lines: Sequence[Done]) -> None:
    """Choose an old answer, then say what it should be."""
    mendable = [line for line in lines if line.can_correct]
    if not mendable:
        place.say("there is no answer to mend yet")
        return
    choices = [Choice(str(line.id), line.text) for line in reversed(mendable)]

    def chosen(picked: str | None) -> None:
        if picked is not None:
            mend_one(place, number, next(line for line in mendable if line.id == int(picked)))

    place.app.push_screen(Choose(f"Unit {number}: which answer was wrong?", choices), chosen)


def mend_one(place: Place, number: int, line: Done) -> None:
    """Say what one old answer should be; the unit is worked out anew from there."""

    def send(form: Form, typed: dict[str, str]) -> None:
        place.act(
            lambda bench: looks.correct(bench, number, line.id, typed["said"]), form.accepted, otherwise=form.refused
        )

    lines = [Line("said", "what it should be", "", "y, n, c (can't tell), s (not now), or a reading")]
    place.app.push_screen(Form("Mend an answer", lines, send, about=line.text))


def ask_note(place: Place, number: int) -> None:
    """Keep a note."""

    def send(form: Form, typed: dict[str, str]) -> None:
        place.act(lambda bench: looks.note(bench, number, typed["note"]), form.accepted, otherwise=form.refused)

    lines = [Line("note", "note", "", "long screws at the back; ribbon blue side up")]
    place.app.push_screen(Form(f"Unit {number}", lines, send))
