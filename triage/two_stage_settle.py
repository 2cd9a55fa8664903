"""A two-stage problem made small without changing its answer: only what has to do with parts is left to chance.

Pure. A branch that another one beats whatever parts cost is left out; findings without parts are worth their best
branch and count as one; and where a repair pays even if its parts are bought by themselves after the diagnosis, it is
made in any case, so that all such findings with the same parts count as one with their mean worth.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

import msgspec

from catalog.charges import NO_CHARGES
from catalog.pricing import line_amount
from catalog.purchase_data import Need, PurchaseProblem
from catalog.purchase_rows import usable
from triage.lot_data import LotBranch
from triage.two_stage_data import DoubtfulUnit, Finding, TwoStageProblem
from triage.two_stage_recourse import ordered_later


def settled(problem: TwoStageProblem) -> tuple[TwoStageProblem, float]:
    """The problem of the units that have to do with parts, and what the others bring on average."""
    later = ordered_later(problem.order, problem.look_days)
    alone = {need.id: _alone(later, need) for need in later.needs}
    concerned, rest = list[DoubtfulUnit](), 0.0
    for unit in problem.units:
        findings = _together([_smaller(finding, alone) for finding in unit.findings])
        if any(_of_parts(branch) for finding in findings for branch in finding.branches):
            concerned.append(DoubtfulUnit(id=unit.id, findings=tuple(findings)))
        else:
            rest += math.fsum(finding.chance * finding.branches[0].value for finding in findings)
    return msgspec.structs.replace(problem, units=tuple(concerned)), rest


def _of_parts(branch: LotBranch) -> bool:
    return bool(branch.needs or branch.yields)


def _smaller(finding: Finding, alone: Mapping[str, float]) -> Finding:
    """The finding with only the branches that may be taken."""
    left: list[LotBranch] = []
    for branch in sorted(finding.branches, key=lambda one: (-one.value, len(one.needs))):
        if branch.yields or not any(set(other.needs) <= set(branch.needs) for other in left):
            left.append(branch)
    plain = max((branch.value for branch in left if not _of_parts(branch)), default=-math.inf)
    repairs = [branch for branch in left if _of_parts(branch)]
    if len(repairs) == 1 and not repairs[0].yields:
        (repair,) = repairs
        if repair.value - plain > math.fsum(alone[need] for need in repair.needs):
            left = repairs
    return Finding(chance=finding.chance, branches=tuple(left))


def _together(findings: Iterable[Finding]) -> list[Finding]:
    """Findings with a single branch of the same parts as one, with the mean worth."""
    kept: list[Finding] = []
    single: dict[tuple[str, ...], list[Finding]] = {}
    for finding in findings:
        if len(finding.branches) == 1 and not finding.branches[0].yields:
            single.setdefault(tuple(sorted(finding.branches[0].needs)), []).append(finding)
        else:
            kept.append(finding)
    for alike in single.values():
        chance = math.fsum(finding.chance for finding in alike)
        worth = math.fsum(finding.chance * finding.branches[0].value for finding in alike)
        if chance > 0.0:
            branch = msgspec.structs.replace(alike[0].branches[0], value=worth / chance)
            kept.append(Finding(chance=chance, branches=(branch,)))
    return kept


def _alone(order: PurchaseProblem, need: Need) -> float:
    """The most that meeting the need can add to any later order: bought by itself, with postage and waiting.

    Infinite where nothing is sure: a ceiling on cash, or a known stock, a smallest order or more charges everywhere.
    """
    if order.cash_limit is not None:
        return math.inf
    suppliers = {supplier.id: supplier for supplier in order.suppliers}
    waiting = next(unit for unit in order.units if unit.id == need.unit)
    least = math.inf
    for offer, accept in usable(order, need):
        supplier = suppliers[offer.supplier]
        if supplier.own or offer.stock_packs is not None or supplier.charges != NO_CHARGES:
            continue
        packs = max(offer.min_packs, 1, -(-need.pieces // offer.pack_size))
        amount = line_amount(offer.steps, offer.discount, packs * offer.pack_size)
        if amount >= supplier.min_order:
            work = (2 * order.labour_per_hour * accept.rework_minutes + 60) // 120 + accept.penalty
            wait = waiting.wait_per_day * max(0, supplier.lead_days - waiting.ready_day)
            least = min(least, amount + supplier.shipping + work * need.pieces + wait)
    return least
