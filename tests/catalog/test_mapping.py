"""Headers that are not ours: what they may hold, and telling the same one again."""

import pytest

from catalog.columns import FIELDS, IGNORED, looks_like, read_table, write_table
from catalog.mapping import KINDS_OF_LIST, WORDS, column_map, fingerprint, guess, likeliest, missing, titles

GERMAN = "Artikelnummer;Bezeichnung;Preis netto;VE;Farbe\nA1;belt;1,20;10;red\nA2;fuse;0,30;;\nA1;;;;\n"


def test_titles_come_once_each_with_the_first_things_below():
    found = titles("﻿a b, c ,,A-B\n1,x,9,2\n2,x,,3\n3\n4,y,,".removeprefix("﻿"))
    assert [title.text for title in found] == ["a b", "c"]
    assert found[0].samples == ("1", "2", "3")
    assert found[1].samples == ("x", "y")


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_the_delimiter_is_the_one_that_parts_most(delimiter):
    text = delimiter.join(["Was", "Wo ist es", "Zahl"]) + "\n" + delimiter.join(["x", "y", "3"]) + "\n"
    assert [title.text for title in titles(text)] == ["Was", "Wo ist es", "Zahl"]


def test_a_fingerprint_knows_the_header_in_any_order_and_case():
    assert fingerprint(titles("a b;C\n")) == fingerprint(titles("c,A-b\n1,2\n"))
    assert fingerprint(titles("a;c\n")) != fingerprint(titles("a;c;d\n"))
    assert fingerprint(titles("a|b;c\n")) != fingerprint(titles("a;b|c\n"))


@pytest.mark.parametrize("kind", KINDS_OF_LIST)
def test_our_own_header_is_guessed_for_what_it_is(kind):
    found = titles(write_table(kind, []))
    assert guess(kind, found) == {field: field for field in FIELDS[kind]}
    assert missing(kind, guess(kind, found)) == ()
    assert likeliest(found) == kind


def test_a_foreign_price_list_is_guessed_and_read_by_the_guess():
    found = titles(GERMAN)
    chosen = guess("offers", found)
    assert chosen == {"sku": "Artikelnummer", "description": "Bezeichnung", "pack": "VE", "price": "Preis netto"}
    assert missing("offers", chosen) == ("supplier",)
    assert likeliest(found) == "offers"
    columns = column_map(found, chosen)
    assert columns["Farbe"] == IGNORED
    table = read_table("offers", GERMAN, columns, name="x", stated={"supplier": "North"})
    assert table.records[0].cells == {
        "supplier": "North",
        "sku": "A1",
        "description": "belt",
        "price": "1,20",
        "pack": "10",
    }
    assert looks_like(GERMAN, columns, stated={"supplier": "North"}) == "offers"
    assert looks_like(GERMAN, columns) is None


def test_no_title_is_taken_twice_and_nothing_is_guessed_of_nonsense():
    found = titles("qqq;zzzz;price\n1;2;3\n")
    assert guess("offers", found) == {"price": "price"}
    for kind in KINDS_OF_LIST:
        chosen = guess(kind, titles("Preis;Preis netto;Menge;Lager\n"))
        assert len(set(chosen.values())) == len(chosen)


def test_every_field_has_words_to_be_guessed_by():
    assert {field for kind in KINDS_OF_LIST for field in FIELDS[kind]} == set(WORDS)
