"""The person's own word on substitutes, in the place Parts: what it is about, and pairs of part numbers."""

from __future__ import annotations

from catalog.fit import Fit
from catalog.rules import Grade, identity
from catalog.text import Refused
from triage.actions.finding import Found, Search
from triage.actions.own_effect import Under, pair_effect
from triage.actions.own_words import add_pair, held_back
from triage.bench_file import BenchFile
from triage.rules_file import PAIR_GRADES
from triage.screens.dialogs import Choice, Choose, Form, Line
from triage.screens.parts_own_drop import what_was_said
from triage.screens.parts_own_rules import another_figure, own_rule
from triage.screens.parts_own_weigh import WHO, weighed
from triage.screens.places import Place

_CHOICES = (
    Choice("pair", "one part number fits for another, or does not"),
    Choice("figure", "another figure in a built-in rule"),
    Choice("rule", "a rule of your own"),
    Choice("drop", "see what you said, and drop it"),
)


def own_word(place: Place, search: Search | None, found: Found | None, fit: Fit | None) -> None:
    """Ask what the person has to say; what is searched for and under the cursor is filled in."""
    spec = search.reading.spec if search is not None and search.reading is not None else None
    query, kind = search.query.strip() if search is not None else "", spec.kind if spec is not None else ""
    under = None
    if search is not None and found is not None and fit is not None:
        under = Under(search.query, search.kind, found.hit.entry, fit)
        kind = kind or found.hit.entry.kind

    def chosen(choice: str | None) -> None:
        if choice == "pair":
            described = spec is not None and bool(spec.attributes)
            wanted = identity(spec) if spec is not None and identity(spec) else "" if described else query
            place.app.push_screen(_pair_form(place, wanted, found.hit.entry.part_number if found is not None else ""))
        elif choice == "figure":
            another_figure(place, kind, under)
        elif choice == "rule":
            own_rule(place, kind, under)
        elif choice == "drop":
            what_was_said(place)

    about = "It holds everywhere parts are judged. What is locked for safety stays so."
    place.app.push_screen(Choose("Your own word on substitutes", _CHOICES, about), chosen)


def _pair_form(place: Place, wanted: str, candidate: str) -> Form:
    lines = [
        Line("wanted", "wanted part number", wanted),
        Line("candidate", "the one that stands in", candidate),
        Line("grade", "how it fits", "drop-in", ", ".join(PAIR_GRADES)),
        Line("note", "note", "", "needs a shim"),
        WHO,
    ]
    about = f"How: {', '.join(PAIR_GRADES)}. It is never carried on from pair to pair."
    return weighed(
        place,
        "One part number for another",
        lines,
        effect=lambda bench, typed: pair_effect(bench, typed["wanted"], typed["candidate"], _grade(typed)),
        keep=_said_pair,
        about=about,
    )


def _grade(typed: dict[str, str]) -> Grade:
    try:
        return Grade(typed["grade"].strip().lower().replace(" ", "-"))
    except ValueError:
        raise Refused(f"expected one of {', '.join(PAIR_GRADES)}", where="how it fits") from None


def _said_pair(bench: BenchFile, typed: dict[str, str]) -> str:
    pair = add_pair(bench, typed["wanted"], typed["candidate"], _grade(typed), note=typed["note"], by=typed["by"])
    held = held_back(bench, pair)
    return f"kept; {held}" if held else f"{pair.candidate} for {pair.wanted}: {pair.grade}"
