"""The dialogs of the Bench for a swap test: which part of which like unit, what is at risk, and what came of it."""

from __future__ import annotations

from triage.actions.swapping import SwapOffer, swap, swap_offers
from triage.screens.dialogs import Choice, Choose
from triage.screens.places import Place
from triage.swaps import OUTCOME_WORDS, Outcome


def swap_a_part(place: Place, number: int) -> None:
    """Choose an exchange with a like unit, then say what came of it."""

    def offer(found: tuple[SwapOffer, ...]) -> None:
        choices = [
            Choice(
                str(at),
                f"{one.part_name}, with unit {one.other}",
                f"{one.chance * 100:.0f} % suspect, {one.minutes:.0f} min: {one.question}",
            )
            for at, one in enumerate(found)
        ]

        def chosen(picked: str | None) -> None:
            if picked is not None:
                _came_of_it(place, found[int(picked)])

        if not choices:
            place.say("no like unit of the lot is good where this one is bad; answer the same look there first")
            return
        about = "One part changes places between two like units; the fault moves with it, or stays."
        place.app.push_screen(Choose(f"Unit {number}: which part changes places?", choices, about), chosen)

    place.work_out(lambda bench: swap_offers(bench, number), offer, kind="ask")


def _came_of_it(place: Place, one: SwapOffer) -> None:
    """What is at risk stands first; the answer is one event over both units."""
    outcomes: list[Outcome] = list(OUTCOME_WORDS)
    choices = [Choice(outcome, OUTCOME_WORDS[outcome], _about(outcome, one)) for outcome in outcomes]

    def chosen(picked: str | None) -> None:
        outcome = next((each for each in outcomes if each == picked), None)
        if outcome is not None:
            place.act(
                lambda bench: swap(bench, one.unit, one.part, one.other, outcome, check_id=one.check),
                lambda _: place.say(
                    f"kept for units {one.unit} and {one.other}: {OUTCOME_WORDS[outcome]}; both are back together"
                ),
            )

    about = f"! {one.risk} Exchange, answer, put both parts back. {one.question}"
    place.app.push_screen(Choose(f"{one.part_name}: what came of it?", choices, about, weigh=True), chosen)


def _about(outcome: Outcome, one: SwapOffer) -> str:
    bad = {"moves": (one.other,), "stays": (one.unit,), "neither": (), "both": (one.unit, one.other)}[outcome]
    return f"bad: unit {' and '.join(map(str, bad))}" if bad else "contacts, most likely"
