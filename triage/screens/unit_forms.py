"""Forms on one unit that several places use: what is known of it, and its pile by hand."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from catalog.money import minor, show
from triage.actions.units import change_unit, overrule
from triage.bench_file import BenchFile
from triage.device_classes.schema import DeviceClass
from triage.lot import PILE_WORDS, Unit
from triage.screens.dialogs import Choice, Choose, Form, Line
from triage.screens.places import Place

NONE = "none of these"
_FIGURES = ("working", "as_is", "part_out", "own_worth")
_WORDS = ("model", "note", "shelf", "complete")


def edit_unit(place: Place, unit: Unit) -> None:
    """Open the form on what is known of a unit."""
    bench = place.shell.bench
    currency = bench.currency
    figures = {name: getattr(unit, name) for name in _FIGURES}
    shown = {name: "" if value is None else show(value, currency) for name, value in figures.items()}
    own = shown["own_worth"] or ("no" if unit.keep == "no" else "")
    guess = "empty: guessed from its class"
    lines = [
        Line("model", "model", unit.model),
        Line("note", "note", unit.note),
        Line("shelf", "lies where", unit.shelf),
        Line("grade", "looks: A, B or C", unit.grade, "empty: not said, counts as B"),
        Line("complete", "complete: yes, or what is missing", unit.complete, "empty: not said"),
        Line("opened_before", "opened before it came: yes or no", unit.opened_before, "empty: not said"),
        Line("sold_as", "bought as: faulty or untested", unit.sold_as),
        Line("working", f"sells for when working, {currency}", shown["working"], guess),
        Line("as_is", f"sells for as it stands, {currency}", shown["as_is"], guess),
        Line("part_out", f"brings in parts, {currency}", shown["part_out"], guess),
        Line("own_worth", f"for your own shelf: worth, {currency}", own, "an amount; no: it is to be sold"),
    ]

    def send(form: Form, typed: dict[str, str]) -> None:
        place.act(lambda bench: _changed(bench, unit, typed), form.accepted, otherwise=form.refused)

    about = f"typed as “{unit.typed}”; prices are net, after fees and postage"
    place.app.push_screen(Form(f"Unit {unit.number}", lines, send, about=about))


def _changed(bench: BenchFile, unit: Unit, typed: dict[str, str]) -> Unit:
    new: dict[str, object] = {name: typed[name] for name in _WORDS}
    new["grade"] = typed["grade"].upper()
    new |= {name: typed[name].lower() for name in ("sold_as", "opened_before")}
    sold = typed["own_worth"].casefold() == "no"
    typed = {**typed, "own_worth": "" if sold else typed["own_worth"]}
    new["keep"] = "yes" if typed["own_worth"] else "no" if sold else ""
    new |= {name: minor(typed[name], bench.currency) if typed[name] else None for name in _FIGURES}
    changes = {name: value for name, value in new.items() if value != getattr(unit, name)}
    return change_unit(bench, unit.number, **changes) if changes else unit


def classes_for(classes: Mapping[str, DeviceClass], unit: Unit) -> tuple[str, ...]:
    """Class ids to choose from for a unit: the likely ones first, the others by name."""
    likely = [name for name in unit.candidates if name in classes]
    return (*likely, *sorted((name for name in classes if name not in likely), key=lambda name: classes[name].name))


def choose_class(place: Place, unit: Unit, then: Callable[[str | None], None]) -> None:
    """Ask what a unit is; the likely ones first."""
    classes = place.shell.bench.classes
    choices = [
        Choice(name, classes[name].name, "likely" if name in unit.candidates else "")
        for name in classes_for(classes, unit)
    ]
    choices.append(Choice(NONE, "none of these", "goes on the AS-IS pile"))
    place.app.push_screen(Choose(f"Unit {unit.number}, “{unit.typed}”: what is it?", choices, weigh=True), then)


def settle(bench: BenchFile, units: Sequence[Unit], device_class: str) -> None:
    """Say what units are; one of no known class goes on a pile by hand."""
    for unit in units:
        if device_class == NONE:
            overrule(bench, unit.number, "as_is", "of no class that is known")
        else:
            change_unit(bench, unit.number, device_class=device_class)


def put_on_pile(place: Place, unit: Unit) -> None:
    """Choose a pile against the sums, then ask for the reason."""
    choices = [Choice(name, word) for name, word in PILE_WORDS.items() if name != "undecided"]
    if unit.pile:
        choices.append(Choice("sums", "by the sums again", f"now {PILE_WORDS[unit.pile]}: {unit.pile_reason}"))

    def chosen(pile: str | None) -> None:
        if pile == "sums":
            place.act(lambda bench: overrule(bench, unit.number, "", ""))
        elif pile is not None:
            _ask_reason(place, unit, pile)

    place.app.push_screen(Choose(f"Unit {unit.number}: put it by hand on the pile", choices), chosen)


def _ask_reason(place: Place, unit: Unit, pile: str) -> None:
    def send(form: Form, typed: dict[str, str]) -> None:
        place.act(
            lambda bench: overrule(bench, unit.number, pile, typed["reason"]), form.accepted, otherwise=form.refused
        )

    lines = [Line("reason", "why, in a few words", unit.pile_reason, "promised to a friend")]
    place.app.push_screen(
        Form(f"Unit {unit.number} on {PILE_WORDS[pile]}", lines, send, about="The sums are kept too.")
    )
