"""What spare pieces are worth, against uses drawn one small stretch of the year after another."""

from fractions import Fraction

import pytest

from catalog.spares import spare_worths, use_chances


def slowly(chance, pieces, stretches=20_000):
    """The chances of at least 1, 2, … uses when each short stretch of the year may see one, by plain counting."""
    each = 1.0 - (1.0 - chance) ** (1.0 / stretches)
    exactly = [1.0, *([0.0] * pieces)]
    for _ in range(stretches):
        for used in range(pieces, 0, -1):
            exactly[used] = exactly[used] * (1 - each) + exactly[used - 1] * each
        exactly[0] *= 1 - each
    return [1.0 - sum(exactly[:used]) for used in range(1, pieces + 1)]


@pytest.mark.parametrize("chance", [0.05, 0.4, 0.95])
def test_the_chances_are_those_of_counting_stretch_by_stretch(chance):
    assert use_chances(chance, 4) == pytest.approx(slowly(chance, 4), abs=2e-4)


def test_the_first_piece_has_the_chance_that_was_said_and_no_later_one_more():
    chances = use_chances(0.7, 6)
    assert chances[0] == pytest.approx(0.7)
    assert list(chances) == sorted(chances, reverse=True)
    assert use_chances(1.0, 3) == (1.0, 1.0, 1.0)


def test_worths_are_chance_times_price_rounded_half_up_once():
    assert spare_worths(0.5, 2, 101) == (51, 15)  # 0.5 and 1 - 0.5 (1 + ln 2) = 0.1534
    assert spare_worths(0.5, 1, Fraction(29, 10)) == (1,)
    assert spare_worths(0.5, 1, Fraction(3)) == (2,)


@pytest.mark.parametrize("chance", [0.0, -0.1, 1.01, float("nan")])
def test_a_chance_that_is_none_is_refused(chance):
    with pytest.raises(ValueError, match="chance"):
        use_chances(chance, 1)
