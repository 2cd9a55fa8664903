"""The dialogs of the Bench for a part that is taken out of a unit, or put back."""

from __future__ import annotations

import msgspec

from triage.actions.lifting import Liftable, Lifted, Taker, lift, liftable, takers
from triage.actions.putting_back import put_back
from triage.actions.using import used_to_put_back
from triage.screens.bench_forms import before_work
from triage.screens.bench_used import UsingForm
from triage.screens.dialogs import Choice, Choose, Form, Line
from triage.screens.parts_draw import pieces
from triage.screens.places import Place


def lift_a_part(place: Place, number: int) -> None:
    """Choose a part of the unit that comes out, or goes back; what could hold that back is asked first."""
    before_work(place, number, opening=True, then=lambda: _choose_part(place, number))


def _choose_part(place: Place, number: int) -> None:

    def offer(found: tuple[Liftable, ...]) -> None:
        back = [one for one in found if one.lifted]
        out = [one for one in found if one.inside]
        choices = [Choice(f"back {one.part}", f"put back: {one.name}", f"{one.lifted} taken out") for one in back]
        choices += [Choice(f"out {one.part}", one.name, _about(one)) for one in out]

        def chosen(picked: str | None) -> None:
            if picked is None:
                return
            way, _, part_id = picked.partition(" ")
            part = next(one for one in found if one.part == part_id)
            if way == "back":
                place.app.push_screen(_back_form(place, number, part))
            else:
                place.work_out(
                    lambda bench: takers(bench, number, part_id),
                    lambda waiting: _for_whom(place, number, part, waiting),
                    kind="ask",
                )

        if not choices:
            place.say("no part of this class is ever taken out")
            return
        place.app.push_screen(Choose(f"Unit {number}: which part comes out?", choices), chosen)

    place.work_out(lambda bench: liftable(bench, number), offer, kind="ask")


def lift_for(place: Place, number: int, part_id: str, words: str, need_id: int) -> None:
    """Take a part out of a unit for a need of another unit, as the plan has it."""
    before_work(place, number, opening=True, then=lambda: _open_lift_form(place, number, part_id, words, need_id))


def _open_lift_form(place: Place, number: int, part_id: str, words: str, need_id: int) -> None:
    def offer(found: tuple[tuple[Liftable, ...], tuple[Taker, ...]]) -> None:
        part = next((one for one in found[0] if one.part == part_id and one.inside), None)
        taker = next((one for one in found[1] if one.need == need_id), None)
        if part is None:
            place.say(f"it is not in unit {number} any more; g plans again")
        else:
            known = msgspec.structs.replace(part, words=part.words or words)
            place.app.push_screen(_out_form(place, number, known, taker))

    place.work_out(lambda bench: (liftable(bench, number), takers(bench, number, part_id)), offer, kind="ask")


def _about(one: Liftable) -> str:
    return f"{one.inside} in it" + (f", {one.words}" if one.words else "")


def _for_whom(place: Place, number: int, part: Liftable, waiting: tuple[Taker, ...]) -> None:
    """Where it goes: into the drawer, or to a unit that waits for one."""
    if not waiting:
        place.app.push_screen(_out_form(place, number, part, None))
        return

    def chosen(picked: str | None) -> None:
        if picked is not None:
            taker = next((one for one in waiting if str(one.need) == picked), None)
            place.app.push_screen(_out_form(place, number, part, taker))

    choices = [Choice(str(one.need), f"unit {one.unit} waits for it: {one.part_name}", one.words) for one in waiting]
    choices.append(Choice("", "into the drawer, for nobody yet"))
    place.app.push_screen(Choose(f"Whom is the {part.name} for?", choices), chosen)


def _out_form(place: Place, number: int, part: Liftable, taker: Taker | None) -> Form:
    def send(form: Form, typed: dict[str, str]) -> None:
        def done(lifted: Lifted) -> None:
            to = f"promised to unit {lifted.for_unit}, {lifted.place}" if lifted.promised else lifted.place
            place.say(f"unit {number}: {part.name} taken out: {to}; u takes it back")
            form.accepted()

        place.act(
            lambda bench: lift(
                bench,
                number,
                part.part,
                pieces(typed["pieces"]),
                place=typed["place"],
                words=typed["words"],
                need=taker.need if taker else None,
                way_round=typed["way_round"],
            ),
            done,
            otherwise=form.refused,
        )

    likely = part.words or (taker.words if taker and taker.alike else "")
    lines = [
        Line("way_round", "how it sits", "", "which way round, ribbons, screws"),
        Line("pieces", "pieces", str(part.inside)),
        Line("words", "what exactly it is", likely, "the number or words on it; empty: its name"),
        Line("place", "put where", "", f"empty: from unit {number}"),
    ]
    about = f"For unit {taker.unit}." if taker else "It lies in the drawer from now on."
    if part.sat:
        about += f" The sheet of this model: {part.sat}"
    return Form(f"Unit {number}: {part.name} comes out", lines, send, about=about)


def _back_form(place: Place, number: int, part: Liftable) -> Form:
    def send(typed: dict[str, str]) -> None:
        used = form.named

        def done(_: object) -> None:
            place.say(f"unit {number}: {part.name} is back in; its functions are tested anew; u takes it back")
            form.accepted()

        place.act(
            lambda bench: put_back(bench, number, part.part, pieces(typed["pieces"]), parts=used),
            done,
            otherwise=form.refused,
        )

    form = UsingForm(
        place,
        f"Unit {number}: {part.name} goes back in",
        [Line("pieces", "pieces", str(part.lifted))],
        send,
        lambda bench, query, _: used_to_put_back(bench, number, part.part, query),
        about="Tick what went in if it was another part of the drawer; as many as pieces.",
    )
    return form
