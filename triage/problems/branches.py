"""`solve branches`: the sums of one unit stated as a problem, and the answer in plain data."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Annotated, Any

import msgspec

from catalog.text import Refused
from triage.branches import AsIs, Branch, BranchKind, DonorPart, Fix, PartOut, decide
from triage.problems.form import Name, decoded, unique_names

if TYPE_CHECKING:
    from collections.abc import Mapping

Amount = Annotated[float, msgspec.Meta(ge=-(10**9), le=10**9)]
"""Minor units; an expectation, so not necessarily whole."""
Cost = Annotated[float, msgspec.Meta(ge=0, le=10**9)]
Minutes = Annotated[float, msgspec.Meta(ge=0, le=10**6)]
Chance = Annotated[float, msgspec.Meta(ge=0, le=1)]

_MONEY_TERMS = re.compile(r"(?:^|\.)(?:net_working|net_failed|parts|returns|net|own_use|minute_cost)$")


class _Form(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    pass


class FixForm(_Form, frozen=True, kw_only=True):
    """A repair, or another branch that ends one of two ways."""

    id: Name
    kind: BranchKind = "fix"
    success: Chance = 1.0
    net_working_cents: Amount = 0.0
    net_failed_cents: Amount = 0.0
    parts_cents: Cost = 0.0
    minutes: Minutes = 0.0
    delay_days: Cost = 0.0
    delay_cents_per_day: Cost = 0.0
    returns_cents: Cost = 0.0


class AsIsForm(_Form, frozen=True, kw_only=True):
    """Sold as it stands."""

    net_cents: Amount
    minutes: Minutes = 0.0


class DonorPartForm(_Form, frozen=True, kw_only=True):
    """A part of a unit taken apart."""

    id: Name
    net_cents: Amount = 0.0
    sell_chance: Chance = 1.0
    list_minutes: Minutes = 0.0
    own_use_cents: Amount | None = None


class PartOutForm(_Form, frozen=True, kw_only=True):
    """Taken apart."""

    strip_minutes: Minutes = 0.0
    parts: tuple[DonorPartForm, ...] = ()


class BranchesCase(_Form, frozen=True, kw_only=True):
    """One case; `group`, `note` and `expected` are for people and are not read."""

    id: str = ""
    group: Any = None
    note: Any = None
    expected: Any = None
    minute_cost_cents: Cost = 0.0
    branches: tuple[FixForm, ...] = ()
    as_is: AsIsForm | None = None
    part_out: PartOutForm | None = None


def answer(case: Mapping[str, Any]) -> dict[str, Any]:
    """Work the branches of one unit out.

    Returns:
        id, values {branch: minor units}, best, runner_up (null if alone), gap_cents (null if alone),
        flips [{branch, term, value}]; amounts are unrounded.

    Raises:
        Refused: the case is malformed or makes no sense; the message begins with the key path.
    """
    form = decoded(case, BranchesCase)
    branches = stated(form)
    decision = decide(branches, form.minute_cost_cents)
    values = {item.id: item.value for item in decision.sums}
    return {
        "id": form.id,
        "values": {branch.id: values[branch.id] for branch in branches},
        "best": decision.best,
        "runner_up": decision.runner_up,
        "gap_cents": decision.gap,
        "flips": [{"branch": flip.branch, "term": _term(flip.term), "value": flip.value} for flip in decision.flips],
    }


def stated(case: BranchesCase) -> list[Branch]:
    """The engine's branches for a decoded case: repairs as stated, then part-out, then as-is."""
    unique_names([fix.id for fix in case.branches], "branches")
    for index, fix in enumerate(case.branches):
        if (fix.id == "as_is" and case.as_is) or (fix.id == "part_out" and case.part_out):
            raise Refused(f"{fix.id!r} is stated twice; give this branch another id", where=f"branches[{index}].id")
    branches: list[Branch] = [
        Fix(
            id=fix.id,
            kind=fix.kind,
            success=fix.success,
            net_working=fix.net_working_cents,
            net_failed=fix.net_failed_cents,
            parts=fix.parts_cents,
            minutes=fix.minutes,
            delay_days=fix.delay_days,
            delay_per_day=fix.delay_cents_per_day,
            returns=fix.returns_cents,
        )
        for fix in case.branches
    ]
    if case.part_out is not None:
        unique_names([part.id for part in case.part_out.parts], "part_out.parts")
        parts = tuple(
            DonorPart(part.id, part.net_cents, part.sell_chance, part.list_minutes, part.own_use_cents)
            for part in case.part_out.parts
        )
        branches.append(PartOut(strip_minutes=case.part_out.strip_minutes, parts=parts))
    if case.as_is is not None:
        branches.append(AsIs(net=case.as_is.net_cents, minutes=case.as_is.minutes))
    if not branches:
        raise Refused("state at least one of branches, as_is and part_out", where="branches")
    return branches


def _term(term: str) -> str:
    if term == "delay_per_day":
        return "delay_cents_per_day"
    return f"{term}_cents" if _MONEY_TERMS.search(term) else term
