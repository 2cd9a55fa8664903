"""The form in which texts and part numbers are compared."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.search import number_form, search_form


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("4,7 µF", "4.7uF"),
        ("4.7 μF 25 V", "4.7uf 25v"),
        ("10 kΩ", "10 kohm"),
        ("10 k ohms", "10k"),
        ("5×20", "5x20"),
        ("Größe", "GROSSE"),
        ("AB-12/C", "ab 12 c"),
        ("105 °C", "105 c"),
    ],
)
def test_spellings_of_the_same_thing_have_one_form(one, other):
    assert search_form(one) == search_form(other)


@given(st.text(max_size=60))
def test_the_search_form_is_stable(text):
    form = search_form(text)
    assert search_form(form) == form
    assert number_form(form) == number_form(text)


@given(st.text(alphabet=st.sampled_from("abkmohsOHM019 -_/.,%+µΩé"), max_size=20))
def test_the_quick_way_to_a_number_gives_the_same_form(text):
    assert number_form(text) == re.sub(r"[\W_]", "", search_form(text))
