"""What the words of an own rule mean, as a sentence, and which words suit an attribute."""

import pytest

from catalog.rule_words import in_a_sentence, meaning_of, suitable
from catalog.rule_words import test_of as read_test
from catalog.rules import Grade
from catalog.spec import FLAG, TEXT, WORD


@pytest.mark.parametrize(
    ("words", "meaning"),
    [
        ("equal, else refuse", "tip must be as wanted; anything else is refused"),
        (
            "equal, within 2 % drop-in, within 0.5 rework, else compromise",
            "tip must be as wanted; 2 % off is drop-in; up to 0.5 off is rework; anything else is compromise",
        ),
        ("at least, else compromise", "tip must not be less than wanted; less is compromise"),
        (
            "at most, over by 2.5 rework, else refuse",
            "tip must not be more than wanted; up to 2.5 more is rework; more is refused",
        ),
        (
            "times 1 to 2 drop-in, times 3 or more rework, else refuse",
            "tip of 1 to 2 times the wanted is drop-in; 3 or more times the wanted is rework; anything else is refused",
        ),
        ("present, else rework", "a part without tip where it is wanted is rework"),
        ("absent, else refuse", "a part with tip where it is not wanted is refused"),
        (
            "order F < T, below compromise, above refuse",
            "tip: order F < T, below compromise, above refuse",
        ),
    ],
)
def test_a_test_is_told_as_a_sentence(words, meaning):
    assert meaning_of(read_test(words), "tip") == meaning
    assert meaning_of(read_test(words), "lead_tip") == meaning.replace("tip", "lead tip")


def test_a_refusal_is_told_as_what_a_part_is():
    assert [in_a_sentence(grade) for grade in Grade] == [
        *("exact", "drop-in", "rework", "compromise", "unknown", "refused"),
    ]


def test_the_words_offered_suit_the_attribute():
    assert suitable(FLAG) == ("present, else refuse", "absent, else refuse")
    assert suitable(WORD) == suitable(TEXT) == ("equal, else refuse",)
    assert suitable("V", rating=True) == ("at least, else refuse",)
    assert [words.split(",")[0] for words in suitable("mm")] == [
        *("at most", "at least", "equal", "times 0.9 to 1.1 drop-in"),
    ]
