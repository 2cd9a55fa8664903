"""A form that says what it would do before it does it: Enter tells the effect, Enter again keeps it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from triage.bench_file import BenchFile
from triage.screens.dialogs import Form, Line
from triage.screens.places import Place

WHO = Line("by", "who says so", "", "empty: you")
WHY = Line("why", "why", "", "shown with every verdict")

Job = Callable[[BenchFile, dict[str, str]], str]


def weighed(place: Place, title: str, lines: Sequence[Line], *, effect: Job, keep: Job, about: str = "") -> Form:
    """A form whose first Enter says the `effect` of what is typed; another one, with nothing changed, keeps it."""
    told: dict[str, str] = {}

    def send(form: Form, typed: dict[str, str]) -> None:
        def done(said: str) -> None:
            place.say(f"{said}; u takes it back")
            form.accepted()

        if typed == told:
            place.act(lambda bench: keep(bench, typed), done, otherwise=form.refused)
        else:
            place.work_out(
                lambda bench: effect(bench, typed),
                lambda said: tell(form, typed, said),
                kind="ask",
                otherwise=form.refused,
            )

    def tell(form: Form, typed: dict[str, str], said: str) -> None:
        told.clear()
        told.update(typed)
        form.told(f"{said} Enter again keeps it.")

    empty = next((line.id for line in lines if not line.value), "")
    keys = "Enter tells what it would change, Enter again keeps it, Esc leaves it"
    return Form(title, lines, send, about=about, first=empty, keys=keys)
