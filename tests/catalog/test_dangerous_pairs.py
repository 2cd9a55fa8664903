"""Pairs of descriptions that look alike and would do harm, against grades written by hand from the rules.

`dangerous_pairs.csv` (fields parted by semicolons): the wanted part, the candidate, its place in the circuit where one
is said, and the grade that must come out. None of them may ever pass.
"""

import csv
from pathlib import Path

import pytest

from catalog.describe import read
from catalog.fit_texts import fit_texts
from catalog.rules import Grade

LIST = Path(__file__).with_name("dangerous_pairs.csv").read_text(encoding="utf-8")
ROWS = list(csv.DictReader(LIST.splitlines(), delimiter=";"))


def test_no_pair_of_the_list_is_written_down_as_one_that_passes():
    assert len({(row["wanted"], row["candidate"]) for row in ROWS}) == len(ROWS) >= 70
    assert {row["grade"] for row in ROWS} == {"refuse", "unknown"}


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['wanted']} <- {row['candidate']}")
def test_a_near_miss_that_would_do_harm_does_not_pass(row):
    verdict = fit_texts(row["wanted"], row["candidate"], row["role"] or None, read=read)
    assert verdict.grade is Grade(row["grade"]), [(one.rule, one.result, one.why) for one in verdict.reasons]


@pytest.mark.parametrize("text", sorted({row["wanted"] for row in ROWS}))
def test_the_wanted_part_of_each_pair_is_not_refused_for_itself(text):
    assert fit_texts(text, text, read=read).grade is not Grade.REFUSE
