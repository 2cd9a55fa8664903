"""What a text says beyond what was understood: a check, a doubt or a broken part, told with its words."""

import pytest

from catalog.fit import Fit, Reason
from catalog.rules import COMMON, Grade
from catalog.unread import Rest, Unread, broken, rest_of, unread, with_unread

D, U, X = Grade.DROP_IN, Grade.UNKNOWN, Grade.REFUSE


def rest(*pieces, text="", **more):
    return Rest(text or " ".join(pieces), pieces, **more)


def grades(wanted, candidate, kind="fuse"):
    return [one.grade for one in unread(rest(*wanted), rest(*candidate), kind)]


OR = ("or", "oder", "ou", "o", "of", "lub", "или")
NOT = (
    *("not", "no", "non", "never", "without", "nicht", "kein", "keine", "nie", "ohne", "sans", "pas", "jamais"),
    *("sin", "senza", "niet", "не", "нет", "без"),
)
LIKE = (
    *("like", "similar", "equivalent", "equiv", "comparable", "replaces", "substitute", "same", "ähnlich", "ähnliche"),
    *("wie", "ersetzt", "entspricht", "vergleichbar", "gleichwertig", "équivalent", "remplace", "comme", "similaire"),
    *("equivalente", "sustituye", "come", "simile", "sostituisce", "vervangt", "zoals", "jak", "zamiennik", "аналог"),
    *("как", "заменяет", "fake", "counterfeit", "dummy", "replica", "clone", "suspect", "repaired", "unapproved"),
    *(
        "uncertified",
        "gefälscht",
        "fälschung",
        "attrappe",
        "nachbau",
        "geflickt",
        "repariert",
        "contrefaçon",
        "подделка",
    ),
)
GUARDS = ("safety", "approved", "certified", "flameless", "fireproof", "nonflammable", "protected", "mains", "unipolar")


@pytest.mark.parametrize("word", OR)
def test_another_figure_offered_as_a_choice_may_be_another_part(word):
    assert grades((), (f"{word} T4A",)) == [U]
    assert grades((f"{word} T4A",), ()) == [U]
    assert grades((), (f"{word} black",)) == [D]
    assert grades((), (f"T4A {word}",)) == [D]


@pytest.mark.parametrize("word", NOT)
def test_what_is_said_not_to_be_broken_is_whole(word):
    assert broken((f"{word} blown",)) == ""
    assert broken((f"({word} blown)",)) == ""
    assert broken((f"{word}, blown",)) == "blown"
    assert broken((f"{word} new, blown",)) == "blown"
    assert broken(("blown", word)) == "blown"


@pytest.mark.parametrize("word", LIKE)
def test_what_is_only_like_the_part_is_another_one(word):
    assert grades((), (f"{word} it",)) == [U]
    assert grades((), (f"X2-{word.upper()}",)) == [U]
    assert grades((), (f"{word}?",)) == [U]
    assert grades((word,), ()) == [D]
    assert grades((word,), (word,)) == []


@pytest.mark.parametrize("word", GUARDS)
def test_what_is_to_be_guarded_against_is_not_passed_over(word):
    assert grades((word,), ()) == [U]
    assert grades((f"{word}-type",), ()) == [U]
    assert grades((), (word,)) == [D]


@pytest.mark.parametrize("guard", ["VDE", "approval", "flame protection"])
def test_a_guard_that_is_denied_is_not_passed_over(guard):
    assert grades((), (f"no {guard}",)) == [U]
    assert grades((), (f"no box, {guard}",)) == [D]
    assert grades((), ("no box",)) == [D]


@pytest.mark.parametrize(
    "words",
    [
        *("puffed", "a bit puffy", "bloated", "swelling", "dented", "pierced", "bridged", "dried out", "recalled"),
        *("open circuit", "short", "short circuit", "charred", "burst", "defekt", "defective", "broken", "worn"),
        *(
            "for parts",
            "for parts only",
            "parts only",
            "spares or repair",
            "spares/repair",
            "non-working",
            "inoperative",
        ),
        *("Bastlerware", "für Bastler", "zum Basteln", "läuft nicht", "ohne Funktion", "en panne", "pour pièces"),
        *("ne fonctionne pas", "endommagé", "guasto", "guasta", "da riparare", "non funzionante", "difettoso"),
        *("averiado", "para piezas", "no funciona", "com defeito", "avariado", "werkt niet", "voor onderdelen"),
        *("uszkodzony", "na części", "неисправен", "неисправна", "не рабочий", "нерабочая", "сломан", "на запчасти"),
    ],
)
def test_what_no_bench_would_fit_again_is_broken(words):
    assert grades((), (words,))[0] is X
    assert broken(("short leads",)) == ""
    assert broken((words.upper(),))


@pytest.mark.parametrize("more", ["for the radio", "as spares", "parts: two", "Ersatzteil", "stuk", "pièce", "robust"])
def test_what_only_sounds_like_it_is_not_broken(more):
    assert broken((more,)) == ""


@pytest.mark.parametrize(
    "words",
    [
        *("untested", "not tested", "as is", "sold as-is", "ungetestet", "ungeprüft", "nicht getestet", "non testé"),
        *("non testata", "sin probar", "não testado", "niet getest", "nietestowane", "не проверено", "непроверен"),
    ],
)
def test_what_nobody_has_tried_may_be_good_or_not(words):
    assert grades((), (words,)) == [U]
    assert grades((words,), ()) == [D]
    assert broken((words,)) == ""


def test_figures_on_both_sides_may_be_another_part_and_a_number_by_its_shape_is_none():
    assert grades(("12V",), ("5V",)) == [U]
    assert grades(("12V",), ("red",)) == [D]
    assert grades(("red",), ("5V",)) == [D]
    named = Rest("coil TK-104K", ("TK-104K",)), Rest("coil QX-223K", ("QX-223K",))
    assert [one.grade for one in unread(*named, "inductor")] == [D]
    assert [one.grade for one in unread(Rest("coil", ("TK-104K",)), named[1], "inductor")] == [D]
    assert [one.grade for one in unread(rest("5V"), named[1], "inductor")] == [D]


def test_a_count_matters_for_cells_only():
    assert grades((), ("2x",), "battery") == [U]
    assert grades((), ("x 2", "red"), "battery") == [U]
    assert grades(("4 pcs",), (), "battery") == [U]
    assert grades(("2x",), ("2 x",), "battery") == []
    assert grades((), ("2x",)) == []
    assert grades((), ("10 pcs", "red")) == [D]
    assert grades((), ("red",), "battery") == [D]
    assert grades((), ("red 2x",)) == [D]
    assert grades((), ("red 2x",), "battery") == [U]
    assert grades((), ("red 5 pcs",), "battery") == [U]
    assert grades(("red",), ("2x red",)) == grades(("red",), ("10 pcs red",)) == grades(("red",), ("red x 2",)) == []
    assert grades((), ("5 x 20",)) == grades((), ("5x20",)) == grades((), ("2x 5",)) == [D]
    assert grades((), ("5 x 20",), "battery") == grades((), ("x20b",), "battery") == [D]


def test_words_are_told_on_the_side_that_has_them():
    source, why = "check: not understood: “red”", "Check what is meant by “red”"
    assert unread(rest("red"), rest(), "fuse") == (Unread("red", None, D, source, why),)
    assert unread(rest(), rest("red"), "fuse") == (Unread(None, "red", D, source, why),)
    both = unread(rest("Red, old", "7V"), rest("old (5V)", "..."), "fuse")
    said = "“red 7v” and “5v”"
    doubt = f"check: not understood, and may say another part: {said}"
    assert both == (Unread("red 7v", "5v", U, doubt, f"Check what is meant by {said}"),)
    assert unread(rest("RED"), rest("red"), "fuse") == ()
    assert unread(rest(), rest(), "fuse") == ()


def test_a_broken_part_is_told_once_and_what_is_to_be_replaced_may_be_broken():
    found = unread(rest(), rest("blown"), "fuse")
    assert found == (Unread(None, "blown", X, "the text says that it is broken: blown", "Take another one"),)
    assert grades((), ("blown old",)) == [X, D]
    assert grades(("blown",), ()) == []
    assert grades(("blown old",), ()) == [D]
    assert grades((), ("not blown",)) == [D]
    assert [one.candidate for one in unread(rest(), rest("not blown"), "fuse")] == ["not blown"]
    assert grades(("blown",), ("blown",)) == [X]


def test_a_text_of_several_readings_is_promised_by_none_of_them():
    text = "thermal fuse 115C, not resettable"
    kept = rest_of(text, text, "thermal-fuse")
    assert kept == Rest(text, (text,), several=True)
    why = "text can be read in more than one way"
    wanted = Unread(text, None, U, f"the wanted {why}", "Say more of the wanted part", "G1")
    candidate = Unread(None, text, U, f"the candidate {why}", "Say more of the candidate part", "G1")
    assert unread(kept, rest("red"), "fuse") == (wanted,)
    assert unread(rest("red"), kept, "fuse") == (candidate,)
    assert unread(kept, kept, "fuse") == (wanted, candidate)
    dead = rest_of("2A or 1A, dead", "2A or 1A, dead", "fuse")
    assert [one.grade for one in unread(rest(), dead, "fuse")] == [U, X]


def test_a_number_that_says_which_part_it_is_is_not_made_another_by_words():
    named = rest_of("lens QX-9", "lens QX-9", "listed")
    assert named == Rest("lens QX-9", ("lens QX-9",), numbered=True)
    assert unread(rest(), named, "listed") == ()
    assert unread(named, rest(), "listed") == ()
    assert [one.grade for one in unread(rest(), rest_of("x", "lens, broken", "listed"), "listed")] == [X]
    assert [one.grade for one in unread(named, rest_of("x", "lens 5V", "listed"), "listed")] == [U]
    assert rest_of("", "", "listed") == Rest(numbered=True)
    assert rest_of("fuse T1A red", "red", "fuse") == Rest("fuse T1A red", ("red",))
    assert rest_of("", "", "fuse") == Rest()


def test_what_is_said_beyond_never_makes_a_verdict_better():
    row = Reason("current", 1.0, 1.0, Grade.COMPROMISE, "FU1", "so", "")
    verdict = Fit(Grade.COMPROMISE, (row,), ("Do it",), ("Tell it",))
    assert with_unread(verdict, ()) is verdict
    lower = with_unread(verdict, unread(rest(), rest("red"), "fuse"))
    assert (lower.grade, lower.tell) == (Grade.COMPROMISE, ("Tell it",))
    assert [reason.rule for reason in lower.reasons] == ["FU1", "G4"]
    assert lower.do == ("Do it", "Check what is meant by “red”")
    worse = with_unread(verdict, unread(rest(), rest("blown"), "fuse"))
    assert worse.grade is X
    assert worse.reasons[0] == Reason(
        "text", None, "blown", X, "G4", "the text says that it is broken: blown", COMMON, locked=False
    )


@pytest.mark.parametrize(
    ("piece", "word"),
    [
        ("worn label", ""),
        ("label is damaged", ""),
        ("Etikett: beschädigt", ""),
        ("torn packaging", ""),
        ("worn label, cracked", "cracked"),
        ("label, damaged", "damaged"),
        ("worn belt", "worn"),
        ("labelled damaged", "damaged"),
    ],
)
def test_a_worn_label_is_no_worn_part(piece, word):
    assert broken((piece,)) == word
