"""Taking in a list on the screen: a file or an address, its columns if they are strange, what it would change, and yes.

Nothing is written before the yes. Fetching and reading run in rooms of their own; they and the taking in say how far
they are, and end, with nothing kept, when the form is left.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import msgspec

from catalog.columns import IGNORED, Unmapped, looks_like
from catalog.staged import Stopped, no_progress
from catalog.text import Refused, RefusedRows
from triage.actions.list_rows import Imported
from triage.actions.prices import Fetch, fetch, list_feeds, open_address, sheet_for
from triage.actions.sheets import Opened, Question, header_of, open_file, question_of
from triage.actions.staging import Stage, commit, stage
from triage.actions.units import Added, add_units_csv
from triage.bench_file import BenchFile
from triage.screens.dialogs import Form, Line, Page
from triage.screens.list_pages import Answer, Columns, Summary
from triage.screens.places import Place
from triage.screens.plain import plain, stacked

_BETWEEN_LOOKS = 0.2
"""Seconds between two looks at how far a work is."""


class _Asked(msgspec.Struct, frozen=True):
    """The columns have to be said first."""

    question: Question
    why: str
    supplier: str = ""


class _Units(msgspec.Struct, frozen=True):
    """A list of units, which is added at once."""

    path: Path


class _Same(msgspec.Struct, frozen=True):
    """Nothing new at the address."""

    address: str


class Bar:
    """How far a long work is: told by the room it runs in, drawn by the form that waits for it."""

    _CELLS = 30

    def __init__(self) -> None:
        self.stopped = False
        self._told = ("", 0, 0)

    def tell(self, doing: str, done: int, of: int) -> None:
        """Note how far it is; raises `Stopped` once the person has stopped it."""
        if self.stopped:
            raise Stopped
        self._told = (doing, done, of)

    def __str__(self) -> str:
        doing, done, of = self._told
        if not of:
            return ""
        full = self._CELLS * done // of
        return (
            f"{doing} {'█' * full}{'░' * (self._CELLS - full)} {100 * done // of:3} %, {done:,} of {of:,}; Esc stops it"
        )


Looked = Stage | Fetch | _Asked | _Units | _Same


def take_in_form(place: Place, *, units: bool = False, after: Callable[[str], None] | None = None) -> Form:
    """The form; `units` lets a list of units into the lot in sight, `after` gets the line that says what was done."""
    taking = _TakingIn(place, units=units, after=after or place.say)
    known = len(list_feeds(place.shell.bench))
    again = f" Left empty, the {known} known address{'es are' if known > 1 else ' is'} fetched again." if known else ""
    holds = "units, parts, suppliers or prices" if units else "parts, suppliers or prices"
    form = Form(
        "Take in a CSV list",
        [Line("path", "file or address", "", "~/list.csv or https://…")],
        taking.sent,
        keys="Enter looks at it, Esc leaves it",
        about=f"Its header tells whether it holds {holds}. What it would change is shown first.{again}",
    )
    taking.form = form
    return form


class _TakingIn:
    """One form on its way from what was typed to what is kept."""

    def __init__(self, place: Place, *, units: bool, after: Callable[[str], None]) -> None:
        self.form: Form | None = None
        self._place = place
        self._units = units
        self._after = after
        self._turn = 0
        self._bar = Bar()

    def sent(self, form: Form, typed: dict[str, str]) -> None:
        """Look at what was typed."""
        text = typed["path"].strip("'\"")
        if "://" in text:
            self._fetch(lambda bench, stop: self._looked_at_address(bench, text, stop), f"fetching {text} …")
        elif text:
            path = Path(text).expanduser()
            self._read(lambda bench, bar: self._looked_at_file(bench, path, bar))
        elif list_feeds(self._place.shell.bench):
            self._fetch(lambda bench, stop: fetch(bench, cancelled=stop), "fetching …")
        else:
            form.refused("name a file, or an address that begins with http:// or https://")

    def _fetch(self, job: Callable[[BenchFile, Callable[[], bool]], Looked], said: str) -> None:
        form, room = self.form, self._place.shell.room("fetch")
        if form is None:
            return
        self._turn += 1
        mine = self._turn

        def stop() -> bool:
            return room.closing or self._turn != mine or not form.is_attached

        form.told(f"{said} Esc stops it")
        self._place.work_out(
            lambda bench: job(bench, stop), self._seen, kind="list", lane="fetch", otherwise=form.refused
        )

    def _read(self, job: Callable[[BenchFile, Bar], Looked]) -> None:
        """Read in a room of its own, with a bar."""
        bar = self._watched()
        self._place.work_out(
            lambda bench: job(bench, bar), self._seen, kind="list", lane="list", otherwise=self._refused
        )

    def _watched(self) -> Bar:
        """A bar that is drawn until something else is said; it stops the work when the form is left."""
        bar, form, room = Bar(), self.form, self._place.shell.room("list")
        self._bar.stopped = True
        self._bar = bar

        def look() -> None:
            if form is None or not form.is_attached or room.closing:
                bar.stopped = True
            if bar.stopped or self._bar is not bar:
                timer.stop()
            elif form is not None and str(bar):
                form.told(str(bar))

        timer = self._place.set_interval(_BETWEEN_LOOKS, look)
        return bar

    def _looked_at_file(self, bench: BenchFile, path: Path, bar: Bar) -> Looked:
        opened = open_file(path)
        if self._units and looks_like(opened.text, name=opened.where) == "units":
            return _Units(path)
        return _looked(bench, opened, self._said(opened), bar)

    def _looked_at_address(self, bench: BenchFile, address: str, stop: Callable[[], bool]) -> Looked:
        opened = open_address(bench, address, cancelled=stop)
        return _Same(address) if opened is None else _looked(bench, opened, self._said(opened))

    def _said(self, opened: Opened) -> Answer | None:
        """What was said of these columns before; it is kept until the list is taken in, or the question is left."""
        return self._place.shell.columns_said.get(header_of(opened))

    def _seen(self, found: Looked) -> None:
        form = self.form
        self._bar.stopped = True
        if form is None or not form.is_attached:
            return
        form.told("")
        if isinstance(found, _Asked):
            self._ask(found)
        elif isinstance(found, _Units):
            self._add_units(form, found.path)
        elif isinstance(found, _Same):
            self._end(f"{found.address}: nothing new there")
        elif isinstance(found, Fetch):
            self._show_fetched(form, found)
        else:
            self._show(found, ())

    def _show_fetched(self, form: Form, found: Fetch) -> None:
        notes = (*found.failed, *found.refused)
        if found.stage.lists:
            self._show(found.stage, notes)
        elif notes:
            form.refused(notes[0] + (f" (and {len(notes) - 1} more)" if len(notes) > 1 else ""))
        else:
            self._end("nothing new at the known addresses")

    def _show(self, staged: Stage, notes: tuple[str, ...]) -> None:
        def decided(what: str | None) -> None:
            if what == "keep":
                self._keep(staged)
            elif what == "columns":
                sheet = staged.lists[0].sheet
                answer = Answer(sheet.kind, sheet.columns, sheet.supplier)
                self._read(lambda bench, _: _asked(bench, sheet.opened, answer))

        self._place.app.push_screen(Summary(staged, notes), decided)

    def _ask(self, asked: _Asked) -> None:
        said, header = self._place.shell.columns_said, header_of(asked.question.opened)

        def answered(answer: Answer | None) -> None:
            if answer is None:
                said.pop(header, None)
                return
            said[header] = answer
            self._read(lambda bench, bar: _looked(bench, asked.question.opened, answer, bar))

        self._place.app.push_screen(Columns(asked.question, asked.why, asked.supplier), answered)

    def _keep(self, staged: Stage) -> None:
        bar = self._watched()

        def done(imported: Sequence[Imported]) -> None:
            for one in staged.lists:
                self._place.shell.columns_said.pop(header_of(one.sheet.opened), None)
            self._end("; ".join(one.summary for one in imported))

        self._place.act(lambda bench: commit(bench, staged, bar.tell), done, otherwise=self._refused)

    def _add_units(self, form: Form, path: Path) -> None:
        lot_id = self._place.shell.lot_id

        def added(bench: BenchFile) -> Added | RefusedRows:
            try:
                return add_units_csv(bench, path, lot_id=lot_id)
            except RefusedRows as refused:
                return refused

        def done(found: Added | RefusedRows) -> None:
            if isinstance(found, RefusedRows):
                form.refused(str(found))
                if len(found.lines) > 1:
                    self._place.app.push_screen(Page("It cannot be taken in", stacked(map(plain, found.lines))))
            else:
                said = f"{len(found.units)} units added from {path.name}"
                self._end(f"{said}; {found.note}" if found.note else said)

        self._place.act(added, done, otherwise=form.refused)

    def _end(self, said: str) -> None:
        self._bar.stopped = True
        if self.form is not None:
            self.form.accepted()
        self._after(said)

    def _refused(self, why: str) -> None:
        self._bar.stopped = True
        if self.form is not None and self.form.is_attached:
            self.form.refused(why)


def _looked(bench: BenchFile, opened: Opened, answer: Answer | None = None, bar: Bar | None = None) -> Looked:
    """The list read and compared, or what has to be asked first."""
    kind = answer.kind if answer else None
    supplier = answer.supplier if answer else ""
    try:
        sheet = sheet_for(bench, opened, answer.columns if answer else None, kind=kind, supplier=supplier)
    except Refused as refused:
        if answer is None and not isinstance(refused, Unmapped):
            raise
        return _asked(bench, opened, answer, str(refused) if answer else "")
    return stage(bench, [sheet], bar.tell if bar else no_progress)


def _asked(bench: BenchFile, opened: Opened, answer: Answer | None, why: str = "") -> _Asked:
    """The question, with what was said last in place of the guess; `why` says what is wrong with that."""
    question = question_of(bench, opened, answer.kind if answer else None)
    if answer is not None and answer.columns:
        said = {field: title for title, field in answer.columns.items() if field != IGNORED}
        question = msgspec.structs.replace(question, guesses={**question.guesses, answer.kind: said})
    return _Asked(question, why, answer.supplier if answer else "")
