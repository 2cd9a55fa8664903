"""Why a line of the order is as it is: a page that is worked out while it is open, and given up when it is closed."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from triage.actions.plan_view import PlannedLine, PlanView
from triage.actions.plan_why import LineWhy, why_line
from triage.bench_file import BenchFile
from triage.screens.dialogs import Page
from triage.screens.order_draw import Target
from triage.screens.places import Place
from triage.screens.plain import plain, stacked, styled


class WhyPage(Page):
    """The reasons, once they are known."""

    def __init__(self, line: PlannedLine) -> None:
        """Nothing is known yet."""
        super().__init__("Why this line", plain("working out every other way … Esc stops", "bold"))
        self._line = line
        self.closed = False
        """Whether nobody waits for it any more."""

    def compose(self) -> ComposeResult:
        """The line, then the reasons."""
        with VerticalScroll(classes="-dialog", id="page"):
            yield Static(plain(self._title, "bold"), classes="-title")
            line = self._line
            yield Static(styled((f"{line.supplier} {line.sku}", "bold"), f", {line.description or line.part_number}"))
            yield Static(self._text, id="reasons")
            yield Static(plain("Esc closes this page"), classes="-keys")

    def tell(self, text: Content) -> None:
        """Show what was found."""
        if not self.closed:
            self.query_one("#reasons", Static).update(text)

    def on_unmount(self) -> None:
        """Give up what is still worked out."""
        self.closed = True


def tell_why(place: Place, plan: PlanView, line: Target | None, *, best: bool) -> None:
    """Open the page over a place and work the reasons out, if this is a line that is bought in the best plan."""
    if not isinstance(line, PlannedLine) or not line.supplier:
        place.say("stand on a line that is bought; y tells why it is")
        return
    if not best:
        place.say("only lines of the cheapest plan are explained; g plans again")
        return
    page = WhyPage(line)
    room = place.shell.room("why")

    def unwanted() -> bool:
        return page.closed or room.closing

    def found(bench: BenchFile) -> LineWhy | None:
        return why_line(bench, plan.lot.id, line.supplier, line.sku, shown=plan, cancel=unwanted)

    def told(reasons: LineWhy | None) -> None:
        if reasons is not None:
            page.tell(stacked(styled("• ", sentence) for sentence in reasons.sentences))

    place.app.push_screen(page)
    place.work_out(found, told, kind="why", lane="why", otherwise=lambda problem: page.tell(plain(problem)))
