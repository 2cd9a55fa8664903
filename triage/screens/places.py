"""What every place shares: the line of places, the line for messages, the keys in sight, and work in the back room."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar, TypeVar, cast

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.screen import Screen
from textual.widgets import Static
from textual.worker import WorkType

from catalog.text import Refused
from triage.bench_file import BenchFile
from triage.screens.key_line import KeyLine
from triage.screens.plain import plain, styled
from triage.screens.room import GaveWay

if TYPE_CHECKING:
    from triage.screens.app import LotwrightApp

T = TypeVar("T")

PLACES: tuple[tuple[str, str, str], ...] = (
    ("lot", "F2", "Lot"),
    ("bench", "F3", "Bench"),
    ("parts", "F4", "Parts"),
    ("order", "F5", "Order"),
)
"""Id, key and word of each place, in their order on the screen."""


_FIELD_OF_A_UNIT = re.compile(r"^(unit \d+)\.[\w.]+$")


def _to_a_person(refused: Refused) -> str:
    """A refusal without the name that a check, hazard or field has in the files: the unit it is about is enough."""
    where = _FIELD_OF_A_UNIT.sub(r"\1", refused.where)
    return f"{where}: {refused.problem}" if where else refused.problem


class PlaceMark(Static):
    """One place in the top line; a click goes there."""

    def __init__(self, place: str, key: str, word: str, *, here: bool) -> None:
        """Mark the place where one is with pointers and reverse, not with colour alone."""
        text = styled((f"▸{key} {word}◂", "bold reverse")) if here else styled(f" {key} {word} ")
        super().__init__(text, classes="-here" if here else "")
        self.place = place

    async def on_click(self) -> None:
        """Go to the place."""
        await self.app.run_action(f"go('{self.place}')")


class PlaceLine(Horizontal):
    """The top line: all places, the one where one is, and how to get help."""

    def __init__(self, here: str) -> None:
        """`here` is the id of the place this line stands on."""
        super().__init__(id="places")
        self._here = here

    def compose(self) -> ComposeResult:
        """The marks, then help at the right."""
        for place, key, word in PLACES:
            yield PlaceMark(place, key, word, here=place == self._here)
        yield Static("", classes="-gap")
        yield Static(styled(" ? or F1 help  u take back  q quit "), classes="-aside")


class Place(Screen[None]):
    """A place: composes `compose_place` between the shared lines and redraws itself in `refresh_place`."""

    PLACE: ClassVar[str] = ""
    """Id of the place, as in `PLACES`."""
    ABOUT: ClassVar[str] = ""
    """What the place is for, in one or two sentences, shown by help."""
    AUTO_FOCUS = ""

    @property
    def shell(self) -> LotwrightApp:
        """The app, with its own type."""
        return cast("LotwrightApp", self.app)

    def compose(self) -> ComposeResult:
        """The shared lines around the place's own."""
        yield PlaceLine(self.PLACE)
        yield from self.compose_place()
        yield Static("", id="said")
        yield KeyLine()

    def compose_place(self) -> ComposeResult:
        """The widgets of the place itself."""
        yield from ()

    def refresh_place(self) -> None:
        """Show the state of the bench file as it is now."""

    def on_screen_resume(self) -> None:
        """Back from another place or a dialog."""
        self.come_back()

    def come_back(self) -> None:
        """Another place, or another program, may have changed what is shown."""
        self.refresh_place()

    def say(self, text: str, *, trouble: bool = False) -> None:
        """One line to the person: what was done, or why it was not. It stands until a key does something else."""
        line = self.query_one("#said", Static)
        line.set_class(trouble, "-trouble")
        line.update(plain(f"! {text}" if trouble else text))

    def work_out(
        self,
        job: Callable[[BenchFile], T],
        then: Callable[[T], None],
        *,
        kind: str = "show",
        lane: str = "desk",
        otherwise: Callable[[str], None] | None = None,
    ) -> None:
        """Run `job` in the back room and hand what it gives to `then`, here on the screen.

        A newer job of the same `kind` makes an older one's result stale, and it is dropped. A refusal or any other
        error becomes a message. A `lane` is a room of its own: long work that must not keep answers waiting takes one.
        """

        # handed over as a function: a worker that is replaced before it began leaves no coroutine behind
        async def work() -> None:
            await self._worked_out(job, then, lane, keep=False, otherwise=otherwise)

        handed: WorkType[None] = work
        self.run_worker(handed, group=kind, exclusive=True, exit_on_error=False)

    def act(
        self,
        job: Callable[[BenchFile], T],
        then: Callable[[T], None] | None = None,
        *,
        otherwise: Callable[[str], None] | None = None,
    ) -> None:
        """Do something that is written down: never dropped, and all places are shown anew afterwards.

        `then` gets the result before that; `otherwise` gets the one line that says why it was refused.
        """

        def done(result: T) -> None:
            if then is not None:
                then(result)
            self.shell.refresh_places()

        async def work() -> None:
            await self._worked_out(job, done, "desk", keep=True, otherwise=otherwise)

        handed: WorkType[None] = work
        self.run_worker(handed, group="act", exit_on_error=False)

    async def _worked_out(
        self,
        job: Callable[[BenchFile], T],
        then: Callable[[T], None],
        lane: str,
        *,
        keep: bool,
        otherwise: Callable[[str], None] | None = None,
    ) -> None:
        room = self.shell.room(lane)
        urgent = True
        try:
            while True:
                try:
                    waiting = asyncio.wrap_future(room.submit(job, urgent=urgent))
                    result = await (asyncio.shield(waiting) if keep else waiting)
                    break
                except GaveWay:
                    urgent = False
                    if room.closing:
                        return
            then(result)
        except Refused as refused:
            self._failed(_to_a_person(refused), otherwise)
        except Exception as error:  # a slip in one view must not end the evening
            self.log(error)
            self._failed(f"this went wrong: {type(error).__name__}: {error}", otherwise)

    def _failed(self, text: str, otherwise: Callable[[str], None] | None) -> None:
        self.say(text, trouble=True)
        if otherwise is not None:
            otherwise(text)
