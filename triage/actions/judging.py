"""What is understood of a description, and how one part stands in for another by all that the person said too."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from catalog.text import clean_line
from triage.actions.own_words import own_words
from triage.bench_file import BenchFile

if TYPE_CHECKING:
    from catalog.fit import Fit
    from catalog.reading import Reading
    from catalog.spec import PartSpec


def read_description(text: str, kind: str | None = None) -> Reading:
    """What is understood of one description; `kind` if it is known already."""
    from catalog.describe import read  # noqa: PLC0415 - the reading tables are loaded when something is read

    return read(text, kind)


def judge_by(bench: BenchFile, role: str | None = None) -> Callable[[PartSpec, PartSpec], Fit]:
    """A judge of wanted and candidate, in this role of the wanted one, that knows the person's pairs and rules.

    Raises:
        Refused: the person's file of rules is not right.
    """
    from catalog.fit import fit  # noqa: PLC0415 - the rule tables are loaded when something is judged

    own = own_words(bench)
    return lambda wanted, candidate: fit(wanted, candidate, role, pairs=own.pairs, rules=own.rules)


def fit_texts(bench: BenchFile, wanted: str, candidate: str, role: str | None = None) -> Fit:
    """How the candidate stands in for the wanted part, both as texts, with the person's own pairs and rules.

    Raises:
        Refused: `role` is none of `catalog.spec.ROLES`, or the person's file of rules is not right.
    """
    from catalog import fit_texts as texts  # noqa: PLC0415 - the rule tables are loaded when something is judged

    own = own_words(bench)
    return texts.fit_texts(
        clean_line(wanted), clean_line(candidate), role, read=read_description, pairs=own.pairs, rules=own.rules
    )
