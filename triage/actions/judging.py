"""What is understood of a description, and how one part stands in for another by all that the person said too."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from catalog.text import clean_line
from triage.actions.own_words import OwnWords, own_words, with_also
from triage.bench_file import BenchFile

if TYPE_CHECKING:
    from catalog.fit import Fit
    from catalog.pricelists import Description
    from catalog.reading import Reading
    from catalog.spec import PartSpec
    from catalog.store import Part


def read_description(text: str, kind: str | None = None) -> Reading:
    """What is understood of one description; `kind` if it is known already."""
    from catalog.describe import read  # noqa: PLC0415 - the reading tables are loaded when something is read

    return read(text, kind)


def judge_by(
    bench: BenchFile, role: str | None = None, also: OwnWords | None = None
) -> Callable[[PartSpec, PartSpec], Fit]:
    """A judge of wanted and candidate, in this role of the wanted one, that knows the person's pairs and rules.

    `also` is what the person might say beside them.

    Raises:
        Refused: the person's file of rules is not right.
    """
    from catalog.fit import fit  # noqa: PLC0415 - the rule tables are loaded when something is judged

    own = with_also(own_words(bench), also)
    mains = bench.person.mains
    return lambda wanted, candidate: fit(wanted, candidate, role, pairs=own.pairs, rules=own.rules, mains=mains)


def judge_written(bench: BenchFile, role: str | None = None) -> Callable[[str, Description, Part], Fit | None]:
    """A judge of a wanted text, what is kept of it, and a part, by what both say beyond what was understood as well.

    `role` is that of the wanted one. It gives None where either has no spec.

    Raises:
        Refused: the person's file of rules is not right.
    """
    from catalog.unread import rest_of, unread, with_unread  # noqa: PLC0415 - as above

    judge = judge_by(bench, role)

    def written(text: str, wanted: Description, part: Part) -> Fit | None:
        if wanted.spec is None or part.spec is None:
            return None
        sides = rest_of(text, wanted.left_over, wanted.kind), rest_of(part.description, part.left_over, part.kind)
        return with_unread(judge(wanted.spec, part.spec), unread(*sides, wanted.spec.kind))

    return written


def fit_texts(
    bench: BenchFile, wanted: str, candidate: str, role: str | None = None, also: OwnWords | None = None
) -> Fit:
    """How the candidate stands in for the wanted part, both as texts, with the person's own pairs and rules.

    `also` is what the person might say beside them.

    Raises:
        Refused: `role` is none of `catalog.spec.ROLES`, or the person's file of rules is not right.
    """
    from catalog import fit_texts as texts  # noqa: PLC0415 - the rule tables are loaded when something is judged

    own = with_also(own_words(bench), also)
    return texts.fit_texts(
        clean_line(wanted),
        clean_line(candidate),
        role,
        read=read_description,
        pairs=own.pairs,
        rules=own.rules,
        mains=bench.person.mains,
    )
