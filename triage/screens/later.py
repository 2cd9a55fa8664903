"""The later list and the spares on the screen: what is makeshift, what the proper part is worth, the exchange."""

from __future__ import annotations

from catalog.money import minor, show
from catalog.text import Refused
from triage.actions.later import Wish, add_wish, change_wish, drop_wish, exchange, later_list
from triage.actions.plan_view import Riding
from triage.actions.spares import add_spare, chance_of, drop_spare, list_spares
from triage.bench_file import BenchFile
from triage.lot import Need, Spare
from triage.screens.dialogs import Choice, Choose, Form, Line
from triage.screens.places import Place

Listed = tuple[tuple[Wish, ...], tuple[Spare, ...]]
_STATES = {"ordered": "on its way", "reserved": "lies ready", "received": "lies ready", "dropped": "not wished for"}


def ask_later(place: Place, unit: int | None = None) -> None:
    """List what is makeshift in a unit, or in all with the spares wanted; one is changed, exchanged or dropped."""

    def found(bench: BenchFile) -> Listed:
        wishes = (one for one in later_list(bench, everything=True) if unit in {None, one.need.unit})
        return tuple(wishes), () if unit is not None else tuple(list_spares(bench))

    place.work_out(found, lambda listed: _choose(place, unit, listed), kind="ask")


def _choose(place: Place, unit: int | None, listed: Listed) -> None:
    wishes, spares = listed
    currency = place.shell.bench.currency
    choices = [Choice(f"w {place_}", *_wish_words(one, currency)) for place_, one in enumerate(wishes)]
    choices += [Choice(f"s {place_}", *_spare_words(one, currency)) for place_, one in enumerate(spares)]
    if unit is not None:
        choices.append(Choice("new", "something else in it is makeshift"))
    else:
        choices.append(Choice("spare", "add spares that would be good to have"))

    def chosen(word: str | None) -> None:
        kind, _, number = (word or "").partition(" ")
        if kind == "new" and unit is not None:
            new_wish(place, unit)
        elif kind == "spare":
            new_spare(place)
        elif kind == "w":
            ask_wish(place, wishes[int(number)])
        elif kind == "s":
            ask_spare(place, spares[int(number)])

    about = "A proper part rides along in an order that it makes dearer by less than it is worth."
    title = "Makeshift for now, and spares" if unit is None else f"Unit {unit}: what is makeshift for now"
    place.app.push_screen(Choose(title, choices, about, weigh=True), chosen)


def _wish_words(one: Wish, currency: str) -> tuple[str, str]:
    need = one.need
    aside = _STATES.get(need.state, f"worth {show(one.worth, currency)}" if need.text else "say what is proper")
    return f"{need.unit} {one.part_name}: {need.instead}", aside


def _spare_words(one: Spare, currency: str) -> tuple[str, str]:
    price = "" if one.price is None else f", at {show(one.price, currency)}"
    return f"spare: {one.pieces} × {one.text}", f"{one.chance * 100:g} % a year{price}"


def ask_wish(place: Place, wish: Wish) -> None:
    """What is to become of one wish."""
    need = wish.need
    ready = need.state in {"reserved", "received"}
    choices = [Choice("done", "the proper one is in now", "its functions are tested anew")] if ready else []
    choices.append(Choice("change", "what is proper, and what having it is worth"))
    choices.append(Choice("drop", "wish for it again" if need.state == "dropped" else "do not wish for it any more"))
    if not ready:
        choices.append(Choice("done", "the proper one is in now", "its functions are tested anew"))

    def chosen(word: str | None) -> None:
        if word == "done":
            place.act(
                lambda bench: exchange(bench, need.id),
                lambda kept: place.say(f"unit {kept.unit}: the proper {wish.part_name} is in; u takes it back"),
            )
        elif word == "drop":
            place.act(lambda bench: drop_wish(bench, need.id))
        elif word == "change":
            _change_wish(place, wish)

    proper = need.text or "not described yet"
    about = f"Now: {need.instead}. Proper: {proper}. What is makeshift stays told until the exchange."
    place.app.push_screen(Choose(f"Unit {need.unit}, {wish.part_name}", choices, about, weigh=True), chosen)


def _change_wish(place: Place, wish: Wish) -> None:
    need, currency = wish.need, place.shell.bench.currency
    stated = "" if need.worth is None else show(need.worth, currency)
    lines = [
        Line("text", "the proper part", need.text, "as in a parts list"),
        Line(
            "worth",
            f"having it is worth, {currency}",
            stated,
            f"empty: by price, less the exchange ({show(wish.worth, currency)})",
        ),
    ]

    def changed(bench: BenchFile, typed: dict[str, str]) -> Need:
        worth = minor(typed["worth"], currency) if typed["worth"] else None
        text = typed["text"] if typed["text"] != need.text else None
        return change_wish(bench, need.id, text=text, worth=worth, by_price=worth is None)

    def send(form: Form, typed: dict[str, str]) -> None:
        place.act(lambda bench: changed(bench, typed), form.accepted, otherwise=form.refused)

    place.app.push_screen(Form(f"Unit {need.unit}, {wish.part_name}", lines, send, about=f"Now: {need.instead}"))


def new_wish(place: Place, unit: int) -> None:
    """Say that something in a unit is makeshift."""
    currency = place.shell.bench.currency
    lines = [
        Line("part", "what is it", "", "feet, knob, battery lid"),
        Line("instead", "what is there now", "", "feet of 5 mm"),
        Line("text", "the proper one", "", "rubber foot 12 mm x 8 mm round; empty: not known"),
        Line("pieces", "pieces", "1"),
        Line("worth", f"having it is worth, {currency}", "", "empty: by price, less the exchange"),
    ]

    def send(form: Form, typed: dict[str, str]) -> None:
        place.act(lambda bench: _wished(bench, unit, typed), form.accepted, otherwise=form.refused)

    about = "Whoever gets the unit is told. The proper one rides along in an order where it is cheap."
    place.app.push_screen(Form(f"Unit {unit}: what is makeshift?", lines, send, about=about))


def _wished(bench: BenchFile, unit: int, typed: dict[str, str]) -> Need:
    return add_wish(
        bench,
        unit,
        typed["part"],
        typed["text"],
        instead=typed["instead"],
        pieces=_pieces(typed["pieces"]),
        worth=minor(typed["worth"], bench.currency) if typed["worth"] else None,
    )


def new_spare(place: Place, text: str = "", kind: str = "") -> None:
    """Say which spares would be good to have; `text` and its kind where a part is in sight."""
    _spare_form(place, Spare(0, text, kind, 1, 0.0))


def ask_spare(place: Place, spare: Spare) -> None:
    """Change spares, or drop them."""

    def chosen(word: str | None) -> None:
        if word == "change":
            _spare_form(place, spare)
        elif word == "drop":
            place.act(lambda bench: drop_spare(bench, spare.id))

    choices = [Choice("change", "pieces, chance or price"), Choice("drop", "not wanted any more")]
    place.app.push_screen(Choose(f"Spare: {spare.text}", choices), chosen)


def _spare_form(place: Place, held: Spare) -> None:
    currency = place.shell.bench.currency
    chance = f"{held.chance * 100:g}" if held.chance else ""
    price = "" if held.price is None else show(held.price, currency)
    lines = [
        Line("text", "the part", held.text, "fuse T1.6AL 250V 5x20 glass"),
        Line("pieces", "pieces at most", str(held.pieces), "those in the drawer count"),
        Line("chance", "chance to use one in a year, %", chance, "60"),
        Line("price", f"a piece is reckoned at, {currency}", price, "empty: the least price on offer"),
    ]

    def send(form: Form, typed: dict[str, str]) -> None:
        place.act(lambda bench: _spared(bench, held, typed), form.accepted, otherwise=form.refused)

    about = "A piece is worth its chance times its price, and is bought where an order has it for less."
    place.app.push_screen(Form("Spares that would be good to have", lines, send, about=about))


def _spared(bench: BenchFile, held: Spare, typed: dict[str, str]) -> Spare:
    same = held.text.casefold() == typed["text"].casefold()
    kept = add_spare(
        bench,
        typed["text"],
        pieces=_pieces(typed["pieces"]),
        chance=chance_of(typed["chance"] or "0"),
        price=minor(typed["price"], bench.currency) if typed["price"] else None,
        kind=held.kind if same else "",
    )
    if held.id and not same:
        drop_spare(bench, held.id)
    return kept


def _pieces(text: str) -> int:
    if not (text.isascii() and text.isdigit()):
        raise Refused("expected a number such as 4", where="pieces")
    return int(text)


def ask_riding(place: Place, one: Riding) -> None:
    """What is to become of a row of the plan: its wish or its spares."""

    def found(bench: BenchFile) -> Wish | Spare | None:
        if one.rides == "wish":
            return next((wish for wish in later_list(bench) if wish.need.id == one.number), None)
        return next((spare for spare in list_spares(bench) if spare.id == one.number), None)

    def go_on(held: Wish | Spare | None) -> None:
        if isinstance(held, Wish):
            ask_wish(place, held)
        elif held is not None:
            ask_spare(place, held)
        else:
            place.say("it was dropped meanwhile; g plans again")

    place.work_out(found, go_on, kind="ask")
