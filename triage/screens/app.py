"""The app shell: four places over one bench file, shared keys, and what the places have in common."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import ClassVar, Literal

from textual.actions import ActionParseResult
from textual.app import App
from textual.binding import Binding, BindingType
from textual.dom import DOMNode

from catalog.journal import Event
from triage.actions.history import do_again, take_back
from triage.actions.plan_view import PlanView
from triage.bench_file import BenchFile
from triage.screens.bench import BenchScreen
from triage.screens.help import HelpPage, bindings_of
from triage.screens.list_pages import Answer
from triage.screens.lot import LotScreen
from triage.screens.order import OrderScreen
from triage.screens.parts import PartsScreen
from triage.screens.person_form import ask_person
from triage.screens.places import PLACES, Place
from triage.screens.room import Room

PlaceId = Literal["lot", "bench", "parts", "order"]


class LotwrightApp(App[None]):
    """The full-screen program on one bench file."""

    TITLE = "lotwright"
    CSS_PATH = "app.tcss"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (100, "-middle"), (140, "-wide")]  # noqa: RUF012 - the base class's form
    MODES = {"lot": LotScreen, "bench": BenchScreen, "parts": PartsScreen, "order": OrderScreen}  # noqa: RUF012
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1,question_mark", "help", "help", key_display="?", tooltip="Keys of this place", id="help"),
        Binding(
            "u",
            "take_back",
            "take back",
            show=False,  # the top line says so, and q as well
            tooltip="Take back what was done last, as often as you like",
            id="undo",
        ),
        Binding("U,ctrl+r", "do_again", "do again", show=False, tooltip="Do again what was taken back", id="redo"),
        Binding("f2", "go('lot')", "Lot", show=False, priority=True, tooltip="All units of the lot", id="place.lot"),
        Binding(
            "f3", "go('bench')", "Bench", show=False, priority=True, tooltip="One unit, one question", id="place.bench"
        ),
        Binding(
            "f4",
            "go('parts')",
            "Parts",
            show=False,
            priority=True,
            tooltip="Your parts and what fits",
            id="place.parts",
        ),
        Binding(
            "f5", "go('order')", "Order", show=False, priority=True, tooltip="One order for the lot", id="place.order"
        ),
        Binding(
            "f9", "you", "you", show=False, tooltip="You and your bench: hour, tools, trainings, currency", id="you"
        ),
        Binding("q", "quit", "quit", show=False, tooltip="Leave; everything is on disk already", id="leave"),
        Binding("ctrl+q", "quit", "quit", show=False, priority=True, tooltip="Leave from anywhere", id="leave.always"),
    ]

    def __init__(
        self, bench_path: Path, *, today: date | None = None, seed: int = 0, first_place: PlaceId = "lot"
    ) -> None:
        """Open the bench file at `bench_path`, or make it; `today` None takes the clock.

        Raises:
            Refused: the file is not a bench file, or a newer one.
        """
        super().__init__()
        self.bench = BenchFile(bench_path, today=today, seed=seed)
        """For the main thread; work that may take long goes to `room`."""
        self.lot_id: int | None = None
        """The lot that all places show; None takes the newest."""
        self.unit_number: int | None = None
        """The unit that Lot has under its cursor and Bench shows."""
        self.describe_unit: int | None = None
        """A unit whose part is to be described when one comes to Parts."""
        self.columns_said: dict[str, Answer] = {}
        """By header, what was said of the columns of lists that are not taken in yet."""
        self.put_off: set[str] = set()
        """Questions put off until the next start, as `triage.asking.Question.put_off` names them."""
        self.planned: dict[int, PlanView] = {}
        """By lot, the last plan that Order showed."""
        self._first_place = first_place
        self._rooms: dict[str, Room] = {}

    def on_mount(self) -> None:
        """Start in the first place."""
        self.switch_mode(self._first_place)

    def on_unmount(self) -> None:
        """Let the rooms finish what was sent."""
        for room in self._rooms.values():
            room.close()
        self.bench.close()

    @property
    def place(self) -> Place | None:
        """The place one is in, also while a dialog stands over it."""
        bottom = self.screen_stack[0] if self.screen_stack else None
        return bottom if isinstance(bottom, Place) else None

    def room(self, lane: str = "desk") -> Room:
        """The back room of that name."""
        if lane not in self._rooms:
            self._rooms[lane] = Room(self.bench.another, lane)
        return self._rooms[lane]

    async def run_action(
        self,
        action: str | ActionParseResult,
        default_namespace: DOMNode | None = None,
        namespaces: Mapping[str, DOMNode] | None = None,
    ) -> bool:
        """What the last key said is over once another one does something."""
        if self.place is not None and self.place.is_mounted:
            self.place.say("")
        return await super().run_action(action, default_namespace, namespaces)

    def say(self, text: str, *, trouble: bool = False) -> None:
        """One line in the place one is in."""
        if self.place is not None:
            self.place.say(text, trouble=trouble)

    def refresh_places(self) -> None:
        """After an action: the place in sight is shown anew now, the others when one comes to them."""
        if self.place is not None:
            self.place.refresh_place()

    async def action_go(self, place: PlaceId) -> None:
        """Go to a place; not while a dialog waits for its answer."""
        if len(self.screen_stack) <= 1 and self.current_mode != place:
            await self.switch_mode(place)

    async def go_to_bench(self, number: int) -> None:
        """Show a unit on the Bench."""
        self.unit_number = number
        await self.action_go("bench")

    def action_help(self) -> None:
        """The keys of the place in sight."""
        if self.place is None or len(self.screen_stack) > 1:
            return
        word = next(word for place, _, word in PLACES if place == self.place.PLACE)
        sections = [(f"In {word}", bindings_of(type(self.place))), ("Everywhere", bindings_of(type(self)))]
        self.push_screen(HelpPage(word, self.place.ABOUT, sections))

    def action_you(self) -> None:
        """What is known of the person and their bench."""
        if self.place is not None and len(self.screen_stack) <= 1:
            ask_person(self.place)

    def action_take_back(self) -> None:
        """Undo the latest action of this program."""
        self._turn(take_back, "taken back: {}", "nothing left to take back")

    def action_do_again(self) -> None:
        """Redo what was taken back last."""
        self._turn(do_again, "done again: {}", "nothing to do again")

    def action_describe_need(self, unit: int) -> None:
        """Go to Parts to describe what the unit needs."""
        self.unit_number = self.describe_unit = unit
        self.call_later(self.action_go, "parts")

    def _turn(self, turn: Callable[[BenchFile], Event | None], said: str, nothing: str) -> None:
        if self.place is None or len(self.screen_stack) > 1:
            return
        place = self.place

        def told(event: Event | None) -> None:
            place.say(said.format(event.summary) if event else nothing)
            if event is not None and event.unit is not None:
                self.unit_number = event.unit

        place.act(turn, told)
