"""Two pages about a list that is to be taken in: what its columns hold, and what it would change.

Neither writes: the first gives back an answer, the second a yes or no.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import ClassVar

import msgspec
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from triage.actions.sheets import Question, answer_of, fields_of, still_missing
from triage.actions.staging import Stage
from triage.screens.dialogs import Choice, Choose, Over
from triage.screens.plain import fitted, plain, stacked, styled

LISTS = {"parts": "your parts", "suppliers": "suppliers", "offers": "prices of a supplier"}
_LINES_SHOWN = 300
_NONE, _KIND, _DONE, _WHOLE = "none", "which list", "all said", "whole:"


class Answer(msgspec.Struct, frozen=True):
    """What a person said of a header: which list it is, {column: field or `-`}, and whose it is."""

    kind: str
    columns: dict[str, str]
    supplier: str


class Columns(Over[Answer | None]):
    """For each of our fields a column, or none; guessed at first."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q", "leave", "leave", tooltip="Take nothing in", id="columns.leave"),
        Binding("ctrl+s", "send", "read it", tooltip="Read the list so", id="columns.send"),
        Binding("j", "down", "down", show=False, tooltip="Next", id="columns.down"),
        Binding("k", "up", "up", show=False, tooltip="Previous", id="columns.up"),
    ]

    def __init__(self, question: Question, why: str = "", supplier: str = "") -> None:
        """Ask `question`; `why` says what was wrong with the answer before."""
        super().__init__()
        self._question = question
        self._why = why
        self._kind = question.kind
        self._chosen = dict(question.guesses[self._kind])
        self._supplier = supplier
        if not supplier and len(question.suppliers) == 1:
            self._supplier = question.suppliers[0]

    def compose(self) -> ComposeResult:
        """What is asked, the fields, and the keys."""
        with Vertical(classes="-dialog"):
            yield Static(plain(f"What do the columns of {self._question.opened.source} hold?", "bold"))
            yield Static(plain("Asked once, then remembered. What has no column here is left out."), classes="-about")
            yield OptionList(id="columns")
            yield Static(plain(f"! {self._why}" if self._why else "", "bold"), classes="-refused")
            yield Static(plain("Enter changes a line, ctrl+s reads the list so, Esc leaves it"), classes="-keys")

    def on_mount(self) -> None:
        """Start where something is missing, else at the end."""
        self._fill()
        listed = self.query_one(OptionList)
        rows = (_KIND, *fields_of(self._kind))
        missing = self._missing()
        first = missing[0].split(" or ")[0] if missing else ""
        listed.highlighted = rows.index(first) if first else len(rows)
        listed.focus()

    @property
    def _stated(self) -> str:
        """Whose list it is, as far as no column says so."""
        return self._supplier if self._kind == "offers" and "supplier" not in self._chosen else ""

    def _missing(self) -> tuple[str, ...]:
        return still_missing(self._kind, self._chosen, self._stated)

    def _fill(self) -> None:
        listed = self.query_one(OptionList)
        kept = listed.highlighted
        listed.clear_options()
        listed.add_options(Option(text, id=name) for name, text in self._lines())
        listed.highlighted = kept

    def _lines(self) -> Iterator[tuple[str, Content]]:
        needed = {
            field: "needed" if len(group) == 1 else "one of these is needed"
            for missing in self._missing()
            for group in (missing.split(" or "),)
            for field in group
        }
        samples = {title.text: " · ".join(title.samples) for title in self._question.titles}
        yield _KIND, styled((fitted("it is a list of", 16), "dim"), (LISTS[self._kind], "bold"))
        for field in fields_of(self._kind):
            title = self._chosen.get(field)
            label = fitted(field.replace("_", " "), 16)
            if title is not None:
                yield field, styled(label, (fitted(title, 24), "bold"), (f"  {samples[title]}", "dim"))
            elif field == "supplier" and self._stated:
                yield field, styled(label, ("all of it: ", "dim"), (self._stated, "bold"))
            else:
                yield field, styled(label, (needed.get(field, "—"), "bold" if field in needed else "dim"))
        yield _DONE, styled(("read the list so", "bold"))

    @on(OptionList.OptionSelected)
    def _picked(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        name = event.option_id or ""
        if name == _DONE:
            self.action_send()
        elif name == _KIND:
            choices = [Choice(kind, text) for kind, text in LISTS.items()]
            self.app.push_screen(Choose("Which list is it?", choices), self._is_kind)
        else:
            self.app.push_screen(
                Choose(f"Which column holds: {name.replace('_', ' ')}?", self._choices(name)),
                lambda chosen: self._is_column(name, chosen),
            )

    def _choices(self, field: str) -> list[Choice]:
        choices = [Choice(_NONE, "none of them")]
        if field == "supplier" and self._kind == "offers":
            choices += [Choice(f"{_WHOLE}{name}", f"all of it is from {name}") for name in self._question.suppliers]
        return choices + [
            Choice(f"title:{title.text}", title.text, " · ".join(title.samples)) for title in self._question.titles
        ]

    def _is_kind(self, kind: str | None) -> None:
        if kind is not None and kind != self._kind:
            self._kind = kind
            self._chosen = dict(self._question.guesses[kind])
            self._fill()

    def _is_column(self, field: str, chosen: str | None) -> None:
        if chosen is None:
            return
        self._chosen.pop(field, None)
        if field == "supplier":
            self._supplier = chosen.removeprefix(_WHOLE) if chosen.startswith(_WHOLE) else ""
        if chosen.startswith("title:"):
            title = chosen.removeprefix("title:")
            self._chosen = {other: held for other, held in self._chosen.items() if held != title} | {field: title}
        self._fill()

    def action_send(self) -> None:
        """Give back the answer, when it says all that is needed."""
        missing = self._missing()
        if missing:
            fields = "; ".join(missing).replace("_", " ")
            self.query_one(".-refused", Static).update(plain(f"! still needed: {fields}", "bold"))
            return
        self.dismiss(Answer(self._kind, answer_of(self._question, self._chosen), self._stated))

    def action_leave(self) -> None:
        """No answer."""
        self.dismiss(None)

    def action_down(self) -> None:
        """Next line."""
        self.query_one(OptionList).action_cursor_down()

    def action_up(self) -> None:
        """Previous line."""
        self.query_one(OptionList).action_cursor_up()


class Summary(Over[str | None]):
    """What a list would change. Gives back `keep`, `columns` (look at those again), or None."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "keep", "keep", tooltip="Take it in; u takes it back as one", id="summary.keep"),
        Binding("escape,q", "leave", "leave", tooltip="Change nothing", id="summary.leave"),
        Binding("m", "columns", "columns", tooltip="Say again what the columns hold", id="summary.columns"),
    ]

    def __init__(self, staged: Stage, notes: Sequence[str] = ()) -> None:
        """Tell what `staged` would change; `notes` stand above it."""
        super().__init__()
        self._staged = staged
        self._notes = tuple(notes)

    @property
    def _sound(self) -> bool:
        return not self._staged.problems

    def compose(self) -> ComposeResult:
        """The counts, the changes one by one, and the keys."""
        keys = "Enter keeps it, Esc leaves everything as it was" if self._sound else "Esc closes this page"
        columns = ", m says the columns again" if len(self._staged.lists) == 1 else ""
        with Vertical(classes="-dialog -summary"):
            yield Static(
                plain("What it would change" if self._sound else "It cannot be taken in", "bold"), classes="-title"
            )
            with VerticalScroll(id="summary"):
                yield Static(stacked(self._told()))
            yield Static("", classes="-refused")
            yield Static(plain(keys + columns), classes="-keys")

    def on_mount(self) -> None:
        """The page takes the arrows."""
        self.query_one("#summary").focus()

    def _told(self) -> Iterator[Content]:
        for note in self._notes:
            yield plain(f"! {note}", "bold")
        for note in self._staged.notes:
            yield plain(note)
        problems = self._staged.problems
        if problems:
            count = self._staged.problem_count
            what = "1 thing is" if count == 1 else f"{count} things are"
            yield plain(f"{what} not right; correct the list, all of it or nothing is taken in:")
            for problem in problems:
                yield plain(f"! {problem}")
            if count > len(problems):
                yield plain(f"and {count - len(problems)} more", "dim")
            return
        for one in self._staged.lists:
            yield plain(one.done.summary)
        changes = self._staged.changes
        for change in changes[:_LINES_SHOWN]:
            how = f"  {change.note}" if change.note else ""
            about = f"  {change.text}" if change.text not in change.name else ""
            yield styled((fitted(change.what, 9), "bold"), change.name, how, (about, "dim"))
        if len(changes) > _LINES_SHOWN:
            yield plain(f"and {len(changes) - _LINES_SHOWN} more", "dim")
        for text in self._staged.unread[:_LINES_SHOWN]:
            yield styled((fitted("not understood", 16), "bold"), text)

    def action_keep(self) -> None:
        """Yes, when it can be."""
        if self._sound:
            self.dismiss("keep")
        else:
            self.query_one(".-refused", Static).update(plain("! nothing is taken in while rows cannot be read", "bold"))

    def action_columns(self) -> None:
        """The columns were said wrongly."""
        if len(self._staged.lists) == 1:
            self.dismiss("columns")

    def action_leave(self) -> None:
        """No."""
        self.dismiss(None)
