"""The dialog of the Bench that says what was wrong with a unit in the end, and the page of what was learned."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content
from textual.widget import Widget

from triage.actions.findings import FindingForm, LearnedView, finding_form, found, learned_view, reset_learning
from triage.screens.dialogs import Choice, Choose, Form, Page, Tick, Ticks
from triage.screens.places import Place
from triage.screens.plain import stacked, styled

NOTHING = "nothing"


class FoundForm(Form):
    """Tick what was wrong; what was repaired is ticked already."""

    def __init__(self, place: Place, about: FindingForm) -> None:
        """Ask about one unit."""
        super().__init__(
            f"Unit {about.unit}: what was wrong with it?",
            [],
            lambda form, _: _send(place, about, form),
            about="Space ticks, Enter keeps. Only what you found yourself: the odds of the next one learn from it.",
        )
        self._asked = about

    def compose_more(self) -> Sequence[Widget]:
        """The faults, likeliest first, and that nothing was wrong."""
        things = [Tick(fault, what) for fault, what in self._asked.faults]
        ticked = self._asked.likely if self._asked.said is None else self._asked.said or (NOTHING,)
        return [Ticks([*things, Tick(NOTHING, "nothing was wrong with it")], ticked)]

    def on_mount(self) -> None:
        """The list takes the keys."""
        self.query_one(Ticks).focus()

    @property
    def ticked(self) -> tuple[str, ...]:
        """What is ticked, in the order shown."""
        return self.query_one(Ticks).ticked


def ask_found(place: Place, number: int) -> None:
    """Say what was wrong with a unit."""

    def ask(about: FindingForm) -> None:
        place.app.push_screen(FoundForm(place, about))

    place.work_out(lambda bench: finding_form(bench, number), ask, kind="ask")


def _send(place: Place, about: FindingForm, form: Form) -> None:
    ticked = form.query_one(Ticks).ticked
    if not ticked:
        form.refused("tick what was wrong, or that nothing was")
    elif NOTHING in ticked and len(ticked) > 1:
        form.refused("either something was wrong with it, or nothing")
    else:
        faults = tuple(fault for fault in ticked if fault != NOTHING)
        place.act(lambda bench: found(bench, about.unit, faults), form.accepted, otherwise=form.refused)


def show_learned(place: Place, class_id: str, model: str) -> None:
    """What the findings of a class say beside its file."""
    place.work_out(lambda bench: learned_view(bench, class_id, model), lambda view: _choose(place, view), kind="ask")


def _choose(place: Place, view: LearnedView) -> None:
    if not view.learned.closed:
        place.app.push_screen(Page(_title(view), learned_page(view)))
        return

    def chosen(picked: str | None) -> None:
        if picked == "page":
            place.app.push_screen(Page(_title(view), learned_page(view)))
        elif picked == "reset":
            place.act(
                lambda bench: reset_learning(bench, view.device_class),
                lambda _: place.say(f"{view.name}: learned anew from now on; u takes it back"),
            )

    choices = [
        Choice("page", "class file and your bench side by side"),
        Choice("reset", "learn anew from now on", "the findings stay in the history"),
    ]
    place.app.push_screen(Choose(_title(view), choices), chosen)


def _title(view: LearnedView) -> str:
    return f"{view.name}{f' {view.model}' if view.model else ''}: what was found"


def learned_page(view: LearnedView) -> Content:
    """The class file's chances, what was found, and what is used."""
    learned = view.learned
    lines: list[Content] = [
        styled(f"{view.seen} on this bench, {learned.closed} of the class with a finding"),
        styled((f"{'class file':>10}{'your bench':>12}{'this model':>12}{'used':>7}", "bold")),
    ]
    for tally in sorted(learned.tallies, key=lambda one: -one.used):
        mine = f"{tally.found} of {tally.of}" if tally.of else "-"
        model = f"{tally.model_found} of {tally.model_of}" if tally.model_of else "-"
        lines.append(
            styled(
                f"{tally.file * 100:8.0f} %{mine:>12}{model:>12}",
                (f"{tally.used * 100:5.0f} %", "bold"),
                f"  {view.words[tally.fault]}",
            )
        )
    lines += [styled(""), *(styled(line) for line in view.told)]
    return stacked(lines)
