"""The one form on the person and their bench: every setting, reached with the same key from every place."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from textual.widget import Widget

from catalog.money import figure, minor, show
from triage.actions.questions import still_assumed
from triage.actions.settings import change_person, days_of, hour_of, mains_of, rates_of, rates_text
from triage.bench_file import BenchFile
from triage.locks import TRAINING
from triage.person import ALL_TOOLS, Person
from triage.screens.dialogs import Choice, Choose, Form, Line, Tick, Ticks
from triage.screens.places import Place

_FIGURES = ("list_minutes", "day_cost_ratio", "returns_ratio", "incomplete_ratio")


class PersonForm(Form):
    """Hour, currency, tools, trainings, and what selling costs."""

    def __init__(
        self, person: Person, assumed: Sequence[str], send: Callable[[PersonForm, dict[str, str]], None]
    ) -> None:
        """Show what holds now; `assumed` names what was not said yet."""
        still = f" Still assumed: {', '.join(assumed)}." if assumed else ""
        super().__init__(
            "You and your bench",
            [
                Line(
                    "hour_worth",
                    f"an hour is worth, {person.currency}",
                    show(person.hour_worth, person.currency),
                    "0 where the evening is the fun of it",
                ),
                Line("currency", "currency", person.currency),
                Line("list_minutes", "minutes to photograph and list one", f"{person.list_minutes:g}"),
                Line("day_cost_ratio", "waiting a day, share of the price", f"{person.day_cost_ratio:g}"),
                Line("returns_ratio", "for returns, share of the price", f"{person.returns_ratio:g}"),
                Line("incomplete_ratio", "one that lacks something brings", f"{person.incomplete_ratio:g}"),
                Line("cut_off", "orders start next day from hour", f"{person.cut_off}", "24 = never"),
                Line(
                    "holidays",
                    "no orders start on",
                    ", ".join(map(str, person.holidays)),
                    "such as 2026-12-25, 2026-12-26",
                ),
                Line("mains", "volts at your sockets", _volts(person.mains), "230; a supply must stand them"),
                Line(
                    "rates",
                    "other currencies are worth",
                    rates_text(person.rates),
                    "such as USD 0.92 2026-11-20; GBP 1.15",
                ),
            ],
            lambda form, typed: send(self, typed),
            about=f"Space ticks. Keeping it says all of it.{still}",
        )
        self._person = person

    def compose_more(self) -> Sequence[Widget]:
        """The tick list."""
        things = [Tick(name, name.replace("_", " ")) for name in ALL_TOOLS]
        things += [Tick("live_mains", "trained for live mains"), Tick("tube", "trained for picture tubes")]
        return [Ticks(things, (*self._person.tools, *self._person.permissions))]

    @property
    def ticked(self) -> tuple[str, ...]:
        """What is ticked, in the order shown."""
        return self.query_one(Ticks).ticked


def _volts(mains: float | None) -> str:
    return "" if mains is None else f"{mains:g}"


def ask_person(place: Place) -> None:
    """Open the form over a place."""
    bench = place.shell.bench

    def send(form: PersonForm, typed: dict[str, str]) -> None:
        ticked = form.ticked

        def keep() -> None:
            place.act(lambda bench: _changed(bench, typed, ticked), form.accepted, otherwise=form.refused)

        new = [name for name in TRAINING if name in ticked and not getattr(place.shell.bench.person, name)]
        if new:
            confirm_training(place, new, keep)
        else:
            keep()

    place.app.push_screen(PersonForm(bench.person, still_assumed(bench), send))


def confirm_training(place: Place, names: Sequence[str], keep: Callable[[], None]) -> None:
    """A training unlocks what can kill: it is never kept by a stray tick or key."""
    what = " and ".join(TRAINING[name] for name in names)
    choices = [Choice("no", "no, leave it locked"), Choice("yes", f"yes, I was trained to work on {what}")]
    about = "This unlocks steps that can kill. Local codes and licensed practice come first."

    def chosen(word: str | None) -> None:
        if word == "yes":
            keep()

    place.app.push_screen(Choose(f"Were you trained to work on {what}?", choices, about, weigh=True), chosen)


def _changed(bench: BenchFile, typed: dict[str, str], ticked: Sequence[str]) -> Person:
    """Everything that is said by keeping the form and was another, or was not said before."""
    person, said = bench.person, bench.said
    currency = typed["currency"].upper()
    tools = tuple(name for name in ticked if name in ALL_TOOLS)
    now: dict[str, object] = {
        "currency": currency,
        "hour_worth": minor(typed["hour_worth"] or "0", currency),
        "cut_off": hour_of(typed["cut_off"] or "24"),
        "holidays": days_of(typed["holidays"]),
        "mains": mains_of(typed["mains"]),
        "rates": rates_of(typed["rates"], bench.today),
        **{name: float(figure(typed[name] or "0")) for name in _FIGURES},
        "live_mains": "live_mains" in ticked,
        "tube": "tube" in ticked,
    }
    changes = {name: value for name, value in now.items() if name not in said.names or value != getattr(person, name)}
    if set(tools) != set(person.tools) or not set(ALL_TOOLS) <= said.lacks | set(tools):
        changes["tools"] = tools
    return change_person(bench, **changes) if changes else person
