"""The tables inside the named tests, line by line: chemistries of cells, sizes of round cells, tapers of controls."""

import itertools

import pytest

from catalog.fit import fit
from catalog.rules import Grade
from catalog.spec import PartSpec, Value

E, D, R, C, U, X = tuple(Grade)
PRIMARY = (
    "zinc-carbon", "alkaline", "silver-oxide", "zinc-air", "lithium-manganese-dioxide", "lithium-carbon-monofluoride",
    "lithium-thionyl-chloride", "lithium-iron-disulfide", "lithium-copper-oxide", "nickel-oxyhydroxide", "mercury",
)  # fmt: skip
RECHARGEABLE = (
    "nimh", "nicd", "vanadium-lithium", "manganese-lithium", "silicon-lithium", "titanium-lithium", "li-ion",
)  # fmt: skip
STANDS_IN = {
    ("alkaline", "silver-oxide"): D,
    ("lithium-manganese-dioxide", "lithium-carbon-monofluoride"): D,
    ("alkaline", "lithium-iron-disulfide"): D,
    ("silver-oxide", "alkaline"): C,
    ("alkaline", "zinc-air"): C,
    ("silver-oxide", "zinc-air"): C,
    ("zinc-carbon", "alkaline"): D,
    ("alkaline", "zinc-carbon"): C,
}
ROUND = [
    # IEC round cells: largest diameter and height, smallest diameter and height, mm
    (10.5, 44.5, 9.5, 43.3), (12.0, 30.2, 10.9, 29.1), (14.5, 50.5, 13.5, 49.2), (26.2, 50.0, 24.9, 48.6),
    (34.2, 61.5, 32.3, 59.5), (7.9, 3.6, 7.55, 3.3), (11.6, 4.2, 11.25, 3.8), (11.6, 5.4, 11.25, 5.0),
    (7.9, 5.4, 7.55, 5.0), (11.6, 3.05, 11.25, 2.75), (11.6, 2.1, 11.25, 1.85), (9.5, 2.7, 9.15, 2.4),
    (7.9, 2.6, 7.55, 2.3), (6.8, 2.15, 6.5, 1.9),
]  # fmt: skip
TAPERS = {
    "lin": ("lin", "linear"),
    "log": ("log", "logarithmic", "audio"),
    "reverse log": ("reverse log", "antilog", "antilogarithmic", "reverse", "rev log"),
}
LETTERS = {
    ("A", "europe"): "lin", ("B", "europe"): "log", ("C", "europe"): "reverse log", ("F", "europe"): "reverse log",
    ("A", "asia"): "log", ("B", "asia"): "lin", ("C", "asia"): "reverse log", ("C", None): "reverse log",
    ("F", None): "reverse log", ("A", None): None, ("B", None): None, ("F", "asia"): None,
}  # fmt: skip


def part(kind, **stated):
    return PartSpec(kind, {name: Value(value) for name, value in stated.items() if value is not None})


def result(wanted, candidate, rule):
    return [one.result for one in fit(wanted, candidate).reasons if one.rule == rule]


def cell(chemistry, volts=1.5, diameter=14.5, height=50.5):
    return part("battery", chemistry=chemistry, voltage=volts, diameter=diameter, height=height)


@pytest.mark.parametrize("chemistry", PRIMARY)
def test_a_primary_cell_is_never_charged(chemistry):
    for system in RECHARGEABLE:
        assert result(cell(system), cell(chemistry), "BA1") == [X]
        assert result(cell(chemistry), cell(system, 4.0), "BA2") == [X]
        assert result(cell(chemistry), cell(system), "BA2") == [C]


@pytest.mark.parametrize(("wanted", "candidate"), itertools.product(RECHARGEABLE, repeat=2))
def test_a_charger_takes_its_own_system_only(wanted, candidate):
    same, for_nicd = wanted == candidate, (wanted, candidate) == ("nicd", "nimh")
    assert result(cell(wanted), cell(candidate), "BA7" if for_nicd else "BA1") == [C if for_nicd else E if same else X]


@pytest.mark.parametrize(("wanted", "candidate"), itertools.product(PRIMARY, repeat=2))
def test_which_primary_chemistry_stands_in_for_which(wanted, candidate):
    expected = E if wanted == candidate else STANDS_IN.get((wanted, candidate), U)
    assert result(cell(wanted), cell(candidate), "BA6") == [expected]
    near = D if (wanted, candidate) in STANDS_IN else X
    assert result(cell(wanted), cell(candidate, 1.64), "BA3") == [near]


@pytest.mark.parametrize("nickel", ["nimh", "nicd"])
def test_nickel_cells_count_for_one_and_a_half_volts(nickel):
    assert result(cell("alkaline"), cell(nickel, 1.2), "BA2") == [C]
    assert result(cell("alkaline"), cell("li-ion", 1.2), "BA2") == [X]


@pytest.mark.parametrize(("diameter", "height", "least_diameter", "least_height"), ROUND)
def test_a_round_cell_may_be_as_small_as_its_size_allows(diameter, height, least_diameter, least_height):
    wanted = cell("alkaline", 1.5, diameter, height)
    assert result(wanted, cell("alkaline", 1.5, least_diameter, least_height), "BA4") == [D]
    assert result(wanted, cell("alkaline", 1.5, least_diameter * 0.99, height), "BA4") == [X]
    thin = C if height < diameter else X
    assert result(wanted, cell("alkaline", 1.5, diameter, least_height * 0.99), "BA4") == [thin]


def control(**stated):
    return part("potentiometer", resistance=1e4, **stated)


@pytest.mark.parametrize(("wanted", "candidate"), itertools.product(TAPERS, repeat=2))
def test_the_words_for_a_taper(wanted, candidate):
    for one, other in itertools.product(TAPERS[wanted], TAPERS[candidate]):
        assert result(control(taper=one), control(taper=other), "PO2") == [E if wanted == candidate else C]


@pytest.mark.parametrize(("letter", "region"), LETTERS)
def test_what_a_letter_says_of_the_taper(letter, region):
    lettered = control(taper_letter=letter, taper_region=region)
    for taper in TAPERS:
        said = LETTERS[letter, region]
        expected = (U, "PO3") if said is None else (E if said == taper else C, "PO2")
        for pair in ((lettered, control(taper=taper)), (control(taper=taper), lettered)):
            assert result(*pair, expected[1]) == [expected[0]]
