"""Following a signal on the Bench: the path drawn, the next point marked, one key for what is seen there.

Each answer is on disk before the next point is marked. The page computes nothing; the Bench below is shown anew with
every answer.
"""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.widgets import Static

from catalog.journal import Event
from triage.actions import looks
from triage.actions.history import take_back
from triage.actions.own_paths import add_path
from triage.actions.probing import TraceView, probe, trace_view
from triage.device_classes.schema import Hazard
from triage.lot import Happening
from triage.own_paths import OwnPath
from triage.screens import trace_draw
from triage.screens.bench_forms import ask_release
from triage.screens.dialogs import Form, Line, Over
from triage.screens.places import Place
from triage.screens.plain import plain


class TracePage(Over[None]):
    """One path of one unit."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("y", "seen('y')", "signal", tooltip="The signal is there", id="trace.there"),
        Binding("n", "seen('n')", "no signal", tooltip="No signal there", id="trace.gone"),
        Binding("w", "seen('w')", "weak", tooltip="It is there, but weak", id="trace.weak"),
        Binding("c", "seen('c')", "can't tell", tooltip="Probed, but cannot tell", id="trace.cant_tell"),
        Binding("down,j", "step(1)", "down", show=False, tooltip="The point after", id="trace.down"),
        Binding("up,k", "step(-1)", "up", show=False, tooltip="The point before", id="trace.up"),
        Binding("tab", "other(1)", "path", show=False, tooltip="Another path", id="trace.path"),
        Binding("a", "own", "own path", show=False, tooltip="A path of your own", id="trace.own"),
        Binding("u", "take_back", "take back", tooltip="Take back what was done last", id="trace.undo"),
        Binding("escape,q,f", "leave", "leave", tooltip="Back to the Bench", id="trace.leave"),
    ]

    def __init__(self, place: Place, number: int, class_name: str, path: str = "") -> None:
        """Show the path of a unit; without one that of the likeliest suspects. `place` is the Bench below."""
        super().__init__()
        self._below = place
        self._number = number
        self._class_name = class_name
        self._path = path
        self._view: TraceView | None = None
        self._at: int | None = None
        """Place of the point that an answer belongs to."""
        self._busy = True

    def compose(self) -> ComposeResult:
        """Head, cautions, what is known and the keys, the path, what was kept last."""
        with Vertical(id="trace"):
            yield Static("", id="trace-head")
            yield Static("", id="trace-cautions")
            yield Static("", id="trace-keys")
            with VerticalScroll(id="trace-body", can_focus=False):
                yield Static("", id="trace-chain")
            yield Static("", id="trace-said")

    def on_mount(self) -> None:
        """Work the path out."""
        self._load()

    def on_resize(self) -> None:
        """Share the room out anew."""
        self.call_after_refresh(self._show)

    def _load(self) -> None:
        number, path = self._number, self._path
        self._busy = True
        self._below.work_out(
            lambda bench: trace_view(bench, number, path), self._worked, kind="trace", otherwise=self._refused
        )

    def _worked(self, view: TraceView) -> None:
        if not self.is_attached:
            return
        self._view, self._path, self._at, self._busy = view, view.path, view.next, False
        self._show()

    def _refused(self, why: str) -> None:
        self._busy = False
        if self.is_attached:
            self.query_one("#trace-said", Static).update(plain(f"! {why}", "bold"))

    def _show(self) -> None:
        view = self._view
        if view is None or not self.is_attached:
            return
        self.query_one("#trace-head", Static).update(trace_draw.head(view, self._class_name))
        cautions = self.query_one("#trace-cautions", Static)
        told = trace_draw.cautions(view, self._at)
        cautions.set_class(not told.plain, "-empty")
        cautions.update(told)
        self.query_one("#trace-chain", Static).update(trace_draw.chain(view, self._at, self.size.width - 2))
        self.query_one("#trace-keys", Static).update(trace_draw.keys(view, self._at))
        if self._at is not None:
            body = self.query_one("#trace-body", VerticalScroll)
            body.scroll_to(y=max(0, 2 * self._at - body.size.height // 2), animate=False)

    def _say(self, text: str) -> None:
        self.query_one("#trace-said", Static).update(plain(text))

    # --- the keys --------------------------------------------------------------------------------------------------

    def action_seen(self, key: str) -> None:
        """What is seen at the marked point; or the answer to the hazard that comes before it."""
        view, at = self._view, self._at
        if view is None or self._busy:
            return
        if at is None:
            self._say("nothing is left to probe here; ↑ ↓ choose a point to probe again, Tab another path")
            return
        point, number = view.points[at], view.unit
        hazard = point.ask_first
        if hazard is not None:
            if key not in {"y", "n"}:
                self._say("a hazard takes y or n; when in doubt, y")
                return
            self._answer_hazard(hazard, key)
            return
        self._busy = True

        def kept(seen: Happening) -> None:
            self._say(f"kept: {point.at}: {trace_draw.seen_words(seen)}")
            self._load()

        self._below.act(lambda bench: probe(bench, number, view.path, point.point, key), kept, otherwise=self._refused)

    def _answer_hazard(self, hazard: Hazard, key: str) -> None:
        """A no goes on to the probe; a yes locks, and what was done about it is said on the Bench."""
        number = self._number
        self._busy = True

        def kept(_: Happening) -> None:
            if key == "n":
                self._load()
                return
            self.dismiss(None)
            ask_release(self._below, number, hazard)

        self._below.act(lambda bench: looks.hazard(bench, number, hazard.id, key), kept, otherwise=self._refused)

    def action_step(self, by: int) -> None:
        """Another point."""
        view = self._view
        if view is not None:
            start = self._at if self._at is not None else (0 if by > 0 else len(view.points)) - by
            self._at = min(max(start + by, 0), len(view.points) - 1)
            self._show()

    def action_other(self, by: int) -> None:
        """Another path of the unit."""
        if self._view is not None and not self._busy:
            ids = [path for path, _ in self._view.paths]
            self._path = ids[(ids.index(self._view.path) + by) % len(ids)]
            self._say("")
            self._load()

    def action_take_back(self) -> None:
        """Undo the latest action of this program, as everywhere."""
        if self._busy:
            return
        self._busy = True

        def told(event: Event | None) -> None:
            self._say(f"taken back: {event.summary}" if event else "nothing left to take back")
            self._load()

        self._below.act(take_back, told, otherwise=self._refused)

    def action_own(self) -> None:
        """A path of one's own, kept for the model or the class."""
        number = self._number

        def send(form: Form, typed: dict[str, str]) -> None:
            def kept(own: OwnPath) -> None:
                self._path = own.path_id
                form.accepted()
                self._load()

            tools = tuple(filter(None, (tool.strip() for tool in typed["tools"].split(","))))
            self._below.act(
                lambda bench: add_path(bench, number, typed["chain"], name=typed["name"], tools=tools),
                kept,
                otherwise=form.refused,
            )

        lines = [
            Line("chain", "point > part > point …", "", "tuner out > C12 > top of volume > volume > wiper"),
            Line("name", "name", "", "empty: from the first point to the last"),
            Line("tools", "tools it takes", "", "scope; empty: none"),
        ]
        about = (
            "It begins and ends with a test point. Two parts between two points: IC7 / R3. "
            "(outside) behind a point: it is reached with the case closed."
        )
        self.app.push_screen(Form("A path of your own", lines, send, about=about))

    def action_leave(self) -> None:
        """Back to the Bench."""
        self.dismiss(None)
