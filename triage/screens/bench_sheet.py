"""The sheet of a unit's model on the Bench: what is known of it, adding a line, striking one."""

from __future__ import annotations

from triage.actions.model_sheets import SheetView, add_to_sheet, drop_from_sheet, sheet_view
from triage.model_sheets import TOPICS
from triage.screens.bench_found import show_learned
from triage.screens.dialogs import Choice, Choose, Form, Line
from triage.screens.places import Place

_EXAMPLES = {
    "volts": ("pin 3 of the supply plug", "5.1 V, standby 0"),
    "plug": ("outside supply", "9 V, plus inside, 5.5 × 2.1 mm"),
    "screws": ("lower half", "4 long at the back, 2 short under the feet"),
    "ribbon": ("pickup ribbon", "16 ways, blue side to the board"),
    "way_round": ("belt", "rib inside, over the small pulley first"),
    "note": ("", "lid hinge breaks if opened past 90 degrees"),
}


def show_sheet(place: Place, number: int) -> None:
    """What is known of the model of a unit."""
    place.work_out(lambda bench: sheet_view(bench, number), lambda view: _show(place, view), kind="ask")


def _show(place: Place, view: SheetView) -> None:
    choices = [Choice("add", "add a line")]
    choices += [Choice(str(line.id), f"{line.topic}: {line.text}") for line in view.lines]
    choices.append(Choice("learned", "what was found, beside the class file"))

    def chosen(picked: str | None) -> None:
        if picked == "add":
            _add(place, view)
        elif picked == "learned":
            show_learned(place, view.device_class, view.model)
        elif picked is not None:
            _about(place, view, int(picked))

    title = f"{view.class_name} {view.model}: its sheet" if view.model else f"{view.class_name}: no model said yet (e)"
    about = "Offered again with the next one of this model. A line chosen can be struck."
    place.app.push_screen(Choose(title, choices, about), chosen)


def _about(place: Place, view: SheetView, line_id: int) -> None:
    line = next(one for one in view.lines if one.id == line_id)

    def chosen(picked: str | None) -> None:
        if picked == "strike":
            place.act(
                lambda bench: drop_from_sheet(bench, view.unit, line_id),
                lambda _: place.say("struck; u takes it back"),
            )

    place.app.push_screen(Choose(f"{line.topic}: {line.text}", [Choice("strike", "strike this line")]), chosen)


def _add(place: Place, view: SheetView) -> None:
    def chosen(topic: str | None) -> None:
        if topic == "part":
            _which(place, view, topic, view.parts)
        elif topic == "fault":
            _which(place, view, topic, view.faults)
        elif topic is not None:
            where, what = _EXAMPLES[topic]
            lines = [Line("place", "where", "", where), Line("text", TOPICS[topic], "", what)]
            _form(place, view, topic, lines, first="text" if topic == "note" else "")

    place.app.push_screen(Choose("About what?", [Choice(topic, words) for topic, words in TOPICS.items()]), chosen)


def _which(place: Place, view: SheetView, topic: str, named: tuple[tuple[str, str], ...]) -> None:
    def chosen(picked: str | None) -> None:
        if picked is None:
            return
        lines = [
            Line("place", "where", "", "position on the board, if it matters"),
            Line("text", "what it is", "", "the words of a parts list"),
        ]
        if topic == "fault":
            lines = [
                Line("counted", "seen", "", "3 of 4, in units that are not on this bench"),
                Line("text", "more words", "", "may stay empty"),
            ]
        _form(place, view, topic, lines, which=picked)

    place.app.push_screen(Choose("Which one?", [Choice(key, words) for key, words in named]), chosen)


def _form(place: Place, view: SheetView, topic: str, lines: list[Line], *, which: str = "", first: str = "") -> None:
    def send(form: Form, typed: dict[str, str]) -> None:
        place.act(
            lambda bench: add_to_sheet(
                bench,
                view.unit,
                topic,
                typed["text"],
                place=typed.get("place", ""),
                part=which if topic == "part" else "",
                fault=which if topic == "fault" else "",
                counted=typed.get("counted", ""),
            ),
            form.accepted,
            otherwise=form.refused,
        )

    place.app.push_screen(Form(f"{view.model}: {TOPICS[topic]}", lines, send, first=first))
