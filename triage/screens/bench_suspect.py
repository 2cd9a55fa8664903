"""The form of the Bench for a fault that is on no list: what it is, where it shows, what a cure takes."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from textual.widget import Widget

from catalog.money import minor
from catalog.text import Refused
from triage.actions.suspects import Suspecting, add_suspect, drop_suspect, suspecting
from triage.bench_file import BenchFile
from triage.lot import Happening
from triage.own_faults import OwnFault
from triage.screens.dialogs import Choice, Choose, Form, Line, Tick, Ticks
from triage.screens.places import Place


class SuspectForm(Form):
    """What is suspected, with the checks it shows in to tick."""

    def __init__(
        self, number: int, known: Suspecting, currency: str, send: Callable[[SuspectForm, dict[str, str]], None]
    ) -> None:
        """Tick what reads bad now; anything else can be ticked too."""
        super().__init__(
            f"Unit {number}: what do you suspect that is not listed?",
            [
                Line("what", "what it is", "", "cracked board at the socket"),
                Line("chance", "how likely before any look, 1 in", "10"),
                Line("minutes", "minutes a cure takes, case open", "15"),
                Line("cost", f"its parts cost, {currency}", "", "empty: work only; no: not worth curing"),
                Line("outside", "cured without opening: yes or no", "no"),
            ],
            lambda _, typed: send(self, typed),
            about="Ticked is what it makes bad. shift+Tab goes to the list, Space ticks.",
        )
        self._known = known

    def compose_more(self) -> Sequence[Widget]:
        """The checks, those that read bad first."""
        things = [Tick(item.check, item.question, "bad" if item.bad else "") for item in self._known.checks]
        return [Ticks(things, tuple(item.check for item in self._known.checks if item.bad))]

    @property
    def ticked(self) -> tuple[str, ...]:
        """The check ids ticked."""
        return self.query_one("#ticks", Ticks).ticked


def ask_suspect(place: Place, number: int) -> None:
    """Add a fault of the person's own, or take one off again."""
    place.work_out(lambda bench: suspecting(bench, number), lambda known: _choose(place, number, known), kind="ask")


def _choose(place: Place, number: int, known: Suspecting) -> None:
    if not known.own:
        _add(place, number, known)
        return
    choices = [Choice("", "add another"), *(Choice(name, f"take off: {what}") for name, what in known.own.items())]

    def chosen(name: str | None) -> None:
        if name:
            place.act(lambda bench: drop_suspect(bench, number, name))
        elif name is not None:
            _add(place, number, known)

    place.app.push_screen(Choose(f"Unit {number}: faults of your own", choices, weigh=True), chosen)


def _add(place: Place, number: int, known: Suspecting) -> None:
    def send(form: SuspectForm, typed: dict[str, str]) -> None:
        ticked = form.ticked
        place.act(lambda bench: _added(bench, number, ticked, typed), form.accepted, otherwise=form.refused)

    place.app.push_screen(SuspectForm(number, known, place.shell.bench.currency, send))


def _added(bench: BenchFile, number: int, ticked: tuple[str, ...], typed: dict[str, str]) -> Happening:
    hopeless = typed["cost"].casefold() == "no"
    outside = typed["outside"].casefold()
    if outside not in {"yes", "no", "y", "n", ""}:
        raise Refused("expected yes or no", where="outside")
    said = OwnFault(
        what=typed["what"],
        shows=ticked,
        chance=1.0 / _figure(typed["chance"] or "10", "chance", "a number above 1, such as 10", least=1.0),
        minutes=_figure(typed["minutes"] or "15", "minutes", "minutes such as 15", least=0.0),
        cost=minor(typed["cost"], bench.currency) if typed["cost"] and not hopeless else 0,
        inside=outside not in {"yes", "y"},
        repairable=not hopeless,
    )
    return add_suspect(bench, number, said)


def _figure(text: str, where: str, expected: str, *, least: float) -> float:
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = -1.0
    if not least <= value < 100_000:
        raise Refused(f"expected {expected}", where=where)
    return value
