"""`solve sequence`: orders of repairs and probing trees stated as a problem, and the answer in plain data."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated, Any, Literal

import msgspec

from catalog.text import Refused
from triage.problems.form import decoded
from triage.sequence import Try, best_order, best_order_of_several, order_cost, order_cost_of_several
from triage.tracing import ProbeTree, best_probing, front_to_back, halving, probing_by

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

MOST_TRIES = 1_000
MOST_STAGES = 200
"""The work grows with the third power; no bench has longer chains."""
SUM_WITHIN = 1e-6

Chance = Annotated[float, msgspec.Meta(ge=0, le=1)]
Cost = Annotated[float, msgspec.Meta(ge=0, le=1e9)]
Weight = Annotated[float, msgspec.Meta(ge=0, le=1e12)]


class _Form(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """`note` and `expected` are for people and are not read."""

    id: str = ""
    note: Any = None
    expected: Any = None


class OneFaultForm(_Form, frozen=True, kw_only=True):
    """Exactly one of the faults is there; actions of a group pay its opening once."""

    kind: Literal["one_fault", "open_once"]
    p: Annotated[tuple[Chance, ...], msgspec.Meta(min_length=1, max_length=MOST_TRIES)]
    cost: tuple[Cost, ...]
    group: tuple[str | None, ...] | None = None
    open_cost: dict[str, Cost] = {}
    walk_away_cost: Cost | None = None
    """Cost of ending the matter otherwise at any time; without it every action is tried until it works."""


class SeveralFaultsForm(_Form, frozen=True, kw_only=True):
    """Each fault is there by itself, and one at least is there."""

    kind: Literal["several_faults"]
    p: Annotated[tuple[Chance, ...], msgspec.Meta(min_length=1, max_length=MOST_TRIES)]
    cost: tuple[Cost, ...]
    group: tuple[str | None, ...] | None = None
    open_cost: dict[str, Cost] = {}


class ProbeChainForm(_Form, frozen=True, kw_only=True):
    """Stages in a row, one of them bad."""

    kind: Literal["probe_chain"]
    weights: Annotated[tuple[Weight, ...], msgspec.Meta(min_length=1, max_length=MOST_STAGES)]
    probe_cost: tuple[Cost, ...]


class _Named(msgspec.Struct, frozen=True):
    """What every case has, whatever its kind."""

    id: str = ""
    kind: str = ""


KINDS = ("one_fault", "open_once", "several_faults", "probe_chain")


def answer(case: Mapping[str, Any]) -> dict[str, Any]:
    """The cheapest order of repairs, or the cheapest probing tree.

    Returns:
        id, cost, and `order` (places of the actions; `walks_away` where that is stated as a way out), with
        `cost_by_p_over_c` for several faults; or `tree` ({"probe": k, "bad_at_or_before": tree or stage, "bad_after":
        tree or stage}; a stage is its place from 0) with `cost_half_split` and `cost_front_to_back`.

    Raises:
        Refused: the case is malformed or makes no sense; the message begins with the key path.
    """
    kind = decoded(case, _Named).kind
    if kind in {"one_fault", "open_once"}:
        return _one_fault(decoded(case, OneFaultForm))
    if kind == "several_faults":
        return _several(decoded(case, SeveralFaultsForm))
    if kind == "probe_chain":
        return _chain(decoded(case, ProbeChainForm))
    raise Refused(f"expected one of {', '.join(KINDS)}", where="kind")


def _one_fault(form: OneFaultForm) -> dict[str, Any]:
    tries = _tries(form)
    together = math.fsum(form.p)
    if together > 1.0 + SUM_WITHIN:
        raise Refused(f"exactly one fault is there, so the chances sum to 1 at most, not {together:g}", where="p")
    found = best_order(tries, form.open_cost, giving_up=form.walk_away_cost)
    told: dict[str, Any] = {"id": form.id, "cost": found.cost, "order": list(found.order)}
    if form.walk_away_cost is not None:
        told["walks_away"] = found.gives_up
    if form.kind == "open_once":
        plain = best_order(tries).order
        told["cost_opening_ignored"] = order_cost(tries, plain, form.open_cost)
    return told


def _several(form: SeveralFaultsForm) -> dict[str, Any]:
    tries = _tries(form)
    if not any(form.p):
        raise Refused("one fault at least is there, so one chance at least is above 0", where="p")
    found = best_order_of_several(tries, form.open_cost)
    by_chance = sorted(range(len(tries)), key=lambda place: -tries[place].chance / max(tries[place].cost, 1e-300))
    return {
        "id": form.id,
        "cost": found.cost,
        "order": list(found.order),
        "cost_by_p_over_c": order_cost_of_several(tries, by_chance, form.open_cost),
    }


def _chain(form: ProbeChainForm) -> dict[str, Any]:
    if len(form.probe_cost) != len(form.weights) - 1:
        problem = f"{len(form.probe_cost)} probes for {len(form.weights)} stages; expected one fewer than stages"
        raise Refused(problem, where="probe_cost")
    if not any(form.weights):
        raise Refused("exactly one stage is bad, so one weight at least is above 0", where="weights")
    best = best_probing(form.weights, form.probe_cost)
    return {
        "id": form.id,
        "cost": best.cost,
        "tree": _plain_tree(best.tree),
        "cost_half_split": probing_by(form.weights, form.probe_cost, halving(form.weights)).cost,
        "cost_front_to_back": probing_by(form.weights, form.probe_cost, front_to_back).cost,
    }


def _tries(form: OneFaultForm | SeveralFaultsForm) -> Sequence[Try]:
    groups = form.group if form.group is not None else (None,) * len(form.p)
    for name, column in (("cost", form.cost), ("group", groups)):
        if len(column) != len(form.p):
            raise Refused(f"{len(column)} entries for {len(form.p)} chances; expected one each", where=name)
    for place, group in enumerate(groups):
        if group and group not in form.open_cost:
            raise Refused(f"{group!r} has no cost in open_cost; state what opening it costs", where=f"group[{place}]")
    return [Try(chance, cost, group or "") for chance, cost, group in zip(form.p, form.cost, groups, strict=True)]


def _plain_tree(tree: ProbeTree) -> dict[str, Any] | int:
    if isinstance(tree, int):
        return tree
    return {
        "probe": tree.behind_stage,
        "bad_at_or_before": _plain_tree(tree.gone),
        "bad_after": _plain_tree(tree.there),
    }
