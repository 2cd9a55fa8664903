"""Order now or after the looks, on the screen: a page worked out while it is open; Enter shows today's order."""

from __future__ import annotations

import textwrap
from collections.abc import Callable
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from catalog.money import show
from triage.actions.order_timing import RARE, TimingView, order_timing, verdict
from triage.actions.plan_view import PlanView
from triage.bench_file import BenchFile
from triage.screens.dialogs import Page
from triage.screens.places import Place
from triage.screens.plain import fitted, plain, stacked, styled
from triage.two_stage_problem import LOOK_DAYS

TITLE = "Order now, or after the looks?"
WIDTH = 74
MOST_TO_DESCRIBE = 3


class TimingPage(Page):
    """The answer once it is known; the days until the looks are done can be stepped."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "take", "take", tooltip="Show today's order, to note or write it", id="timing.take"),
        Binding("plus,right", "later(1)", "later", tooltip="The looks are done a day later", id="timing.later"),
        Binding("minus,left", "later(-1)", "sooner", tooltip="The looks are done a day sooner", id="timing.sooner"),
        Binding("escape,q", "leave", "close", tooltip="Close this page", id="timing.close"),
    ]

    def __init__(self, work: Callable[[TimingPage], None], take: Callable[[TimingView], None]) -> None:
        """`work` begins to find the answer for the days that the page states; `take` gets it on Enter."""
        super().__init__(TITLE, plain("weighing what to order today … Esc stops", "bold"))
        self._work = work
        self._take = take
        self._view: TimingView | None = None
        self.look_days = LOOK_DAYS
        self.turn = 0
        """Number of the answer that is wanted; it rises with every step of the days."""
        self.closed = False
        """Whether nobody waits for it any more."""

    def compose(self) -> ComposeResult:
        """The answer and the keys."""
        with VerticalScroll(classes="-dialog", id="page"):
            yield Static(plain(TITLE, "bold"), classes="-title")
            yield Static(self._text, id="timing")
            yield Static(
                plain("Enter shows today's order, + and - move the day of the looks, Esc closes"), classes="-keys"
            )

    def on_mount(self) -> None:
        """Begin."""
        super().on_mount()
        self._work(self)

    def on_unmount(self) -> None:
        """Give up what is still worked out."""
        self.closed = True

    def tell(self, text: Content) -> None:
        """Show what is known."""
        if not self.closed:
            self.query_one("#timing", Static).update(text)

    def found(self, turn: int, view: TimingView) -> None:
        """The answer is there."""
        if turn == self.turn:
            self._view = view
            self.tell(drawn(view))

    def action_later(self, by: int) -> None:
        """Move the day on which the looks are done."""
        days = max(1, min(99, self.look_days + by))
        if days != self.look_days:
            self.look_days, self._view = days, None
            self.turn += 1
            self.tell(plain(f"weighing, with the looks done in {days} days … Esc stops", "bold"))
            self._work(self)

    def action_take(self) -> None:
        """Show today's order on the place."""
        if self._view is not None:
            self.dismiss(None)
            self._take(self._view)


def ask_timing(place: Place, plan: PlanView, take: Callable[[TimingView], None]) -> None:
    """Open the page over a place for the plan that it shows."""

    def work(page: TimingPage) -> None:
        turn, days, room = page.turn, page.look_days, place.shell.room("timing")

        def unwanted() -> bool:
            return page.closed or page.turn != turn or room.closing

        def told(done: int, most: int) -> None:
            said = plain(f"weighing order {done + 1} of at most {most} … Esc stops", "bold")
            place.app.call_from_thread(lambda: page.tell(said) if not unwanted() else None)

        def answer(bench: BenchFile) -> TimingView | None:
            return order_timing(bench, plan.lot.id, look_days=days, shown=plan, cancel=unwanted, progress=told)

        def show_it(view: TimingView | None) -> None:
            if view is not None:
                page.found(turn, view)

        place.work_out(
            answer, show_it, kind="timing", lane="timing", otherwise=lambda problem: page.tell(plain(problem))
        )

    def taken(view: TimingView) -> None:
        place.call_after_refresh(take, view)  # when the place is in sight again and knows its room

    place.app.push_screen(TimingPage(work, taken))


def drawn(view: TimingView) -> Content:
    """The sentences, today's lines, what is left, and what could be ordered if it were described."""
    days = f"{view.look_days} day{'s' if view.look_days != 1 else ''}"
    looking = ", ".join(map(str, view.looking))
    head = (
        f"Looks still pay on units {looking}; done in {days}." if looking else "No look pays any more: all is decided."
    )
    lines = [styled((head, "dim"))]
    for place, sentence in enumerate(verdict(view)):
        for row, piece in enumerate(textwrap.wrap(sentence, WIDTH - 2)):
            lines.append(styled("• " if row == 0 else "  ", (piece, "bold" if place == 0 else "")))
    currency = view.lot.currency
    if view.ordered.order:
        lines.append(styled(("Today", "bold underline")))
        unsure = {one.unit: one.chance for one in view.needs if one.now and one.chance < 1.0 - RARE}
        for line in view.ordered.order:
            units = ", ".join(f"{unit} ({unsure[unit]:.0%})" if unit in unsure else str(unit) for unit in line.units)
            name = fitted(line.description or line.part_number, WIDTH - 37)
            amount = fitted(show(line.amount, currency), 9, right=True)
            aside = fitted(f"for {units}" if units else "to reach a threshold", 22)
            lines.append(styled((f"{line.packs:>3} ", "bold"), name, (amount, "bold"), "  ", aside))
    if view.left:
        lines.append(styled(("Leave until after the looks", "bold underline")))
        for one in view.left:
            told = f"wanted {one.chance:.0%}, pays from {one.pays_from:.0%}"
            name = fitted(f"{one.part}: {one.words}", WIDTH - 7 - 30)
            lines.append(styled((f"{one.unit:>5} ", "bold"), name, fitted(told, 30, right=True)))
    if view.to_describe:
        lines.append(styled(("May be wanted, but cannot be ordered until described", "bold underline")))
        for other in view.to_describe[:MOST_TO_DESCRIBE]:
            told = f"wanted {other.chance:.0%}"
            lines.append(
                styled((f"{other.unit:>5} ", "bold"), fitted(other.name, WIDTH - 7 - 14), fitted(told, 14, right=True))
            )
    return stacked(lines)
