"""What the two bench texts explain is still there to be explained, each entry with a reason, each count right."""

import ast
import importlib
import inspect
import re
import sys
from collections import Counter
from pathlib import Path

import pytest

from catalog.kinds import FAMILIES

BENCH = Path(__file__).parents[1] / "bench"
FILES = ("mutation.txt", "row_dropping.txt")


@pytest.fixture(scope="module")
def bench():
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(BENCH))
        yield importlib.import_module("mutation"), importlib.import_module("row_dropping")
    for name in ("mutation", "row_dropping"):
        sys.modules.pop(name)


def slips_of(mutation, name):
    module = importlib.import_module(name)
    tree = ast.parse(inspect.getsource(module))
    said = [one[0] for one in mutation.places(tree, mutation.functions(module))]
    said += [one[0] for one in mutation.tables(module)]
    return Counter(f"{name} {one}" for one in said)


def test_every_slip_that_is_explained_can_still_be_made(bench):
    mutation, row_dropping = bench
    told = row_dropping.explained(BENCH / "mutation.txt")
    assert told
    names = {one.split()[0] for one in told}
    assert names <= set(mutation.MODULES)
    assert not told - sum((slips_of(mutation, name) for name in names), Counter())


def test_every_row_that_is_explained_can_still_be_dropped(bench):
    told = bench[1].explained(BENCH / "row_dropping.txt")
    assert told
    possible = Counter(f"{kind} {said}" for kind, family in FAMILIES.items() for said, _ in bench[1].changes(family))
    assert not told - possible


@pytest.mark.parametrize("name", FILES)
def test_every_entry_has_a_reason_below_it(name):
    lines = (BENCH / name).read_text(encoding="utf-8").splitlines()
    after = [below for line, below in zip(lines, [*lines[1:], ""], strict=True) if line.startswith("- ")]
    assert after
    assert [below for below in after if not below.startswith(("- ", "  "))] == []


def test_the_counts_are_those_of_the_entries(bench):
    told = bench[1].explained(BENCH / "mutation.txt")
    text = (BENCH / "mutation.txt").read_text(encoding="utf-8")
    counted = {
        name: int(left) for name, left in re.findall(r"^ +(catalog\S+): \d+ changes, (\d+) survive", text, re.MULTILINE)
    }
    assert set(counted) == set(bench[0].MODULES)
    found = Counter()
    for said, times in told.items():
        found[said.split()[0]] += times
    assert {name: found[name] for name in counted} == counted
    rows = (BENCH / "row_dropping.txt").read_text(encoding="utf-8")
    assert re.search(rf"\b{bench[1].explained(BENCH / 'row_dropping.txt').total()} survive", rows)
