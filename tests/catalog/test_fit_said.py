"""What the person's list may not do, and what is made of words and figures that nobody understood."""

import pytest

from catalog.describe import read
from catalog.fit import fit
from catalog.fit_texts import fit_texts
from catalog.rules import Grade, Pair, same_word
from catalog.spec import PartSpec, Value

E, D, R, C, U, X = tuple(Grade)


def judged(wanted, candidate, role=None, pairs=(), rules=()):
    return fit_texts(wanted, candidate, role, read=read, pairs=pairs, rules=rules)


def spec(kind, number="", **stated):
    return PartSpec(kind, {name: Value(value) for name, value in stated.items()}, part_number=number)


# the person's list and other kinds

ACROSS = [
    (spec("diode", type_number="1N4007"), spec("battery", code="CR2032")),
    (spec("ceramic", "K-1", capacitance=1e-7, voltage_dc=50.0), spec("electrolytic", "K-2", voltage_dc=6.3)),
    (spec("film", "K-1", voltage_dc=400.0), spec("electrolytic", "K-2", voltage_dc=16.0)),
    (spec("inductor", "K-1"), spec("resistor", "K-2")),
    (spec("electrolytic", "K-1", voltage_dc=400.0), spec("capacitor", "K-2", voltage_dc=16.0)),
    (spec("safety-cap", "K-1", safety_class="X2"), spec("", "K-2")),
]


@pytest.mark.parametrize(("wanted", "candidate"), ACROSS)
def test_a_pair_carries_no_part_across_kinds(wanted, candidate):
    numbers = [one.part_number or one.word("type_number") or one.word("code") for one in (wanted, candidate)]
    verdict = fit(wanted, candidate, pairs=[Pair(*numbers)])
    assert verdict.grade.rank >= U.rank
    assert verdict.grade is U or verdict.locked
