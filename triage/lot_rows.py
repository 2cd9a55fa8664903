"""The rows of a whole lot: branches, donors, bench minutes and release days, around the rows of one order.

Each unit takes one branch; a need is met in full if and only if a branch that names it is taken; a donor's pieces exist
only if it is taken apart. Repairs that use what arrives on day r or later must together fit into the minutes left from
day r on, for every r: necessary and sufficient for one bench where work may be put aside and taken up again.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

import msgspec

from catalog.purchase_rows import PurchaseRows, usable

if TYPE_CHECKING:
    from catalog.model import Model
    from catalog.purchase_data import PurchaseProblem
    from catalog.purchase_rows import Terms
    from triage.lot_data import Bench, LotBranch, LotProblem, LotUnit, Yield


def allowed(problem: LotProblem, unit: LotUnit) -> tuple[LotBranch, ...]:
    """The branches a unit may take: all, or the one the person decided on."""
    pin = problem.pins.get(unit.id)
    return tuple(branch for branch in unit.branches if pin is None or branch.id == pin)


def order_of(problem: LotProblem) -> PurchaseProblem:
    """The order problem cut to the needs and the donors of branches that may be taken."""
    open_branches = [branch for unit in problem.units for branch in allowed(problem, unit)]
    needs = {need for branch in open_branches for need in branch.needs}
    givers = {each.offer for branch in open_branches for each in branch.yields}
    donors = {each.offer for unit in problem.units for branch in unit.branches for each in branch.yields}
    return msgspec.structs.replace(
        problem.order,
        needs=tuple(need for need in problem.order.needs if need.id in needs),
        offers=tuple(offer for offer in problem.order.offers if offer.id not in donors or offer.id in givers),
    )


class LotRows:
    """The model of a lot; `required` false makes every unit optional, for asking which units stand in the way."""

    def __init__(self, model: Model, problem: LotProblem, *, required: frozenset[str] | None = None) -> None:
        self.model = model
        self.problem = problem
        order = order_of(problem)
        self.order = PurchaseRows(model, order, conditional=frozenset(need.id for need in order.needs))
        for column in self.order.served.values():
            # Minutes and donors tie the pieces to each other: whole data alone no longer make them whole.
            model.columns[column] = msgspec.structs.replace(model.columns[column], whole=True)
        self.taken: dict[tuple[str, str], int] = {}
        """{(unit, branch): column}"""
        self.sold: dict[tuple[str, str, int], int] = {}
        """{(unit, branch, place among its yields): column of pieces taken out and sold}"""
        self.losses: Terms = []
        """What the branches and donors bring, as costs."""
        self.minutes: Terms = []
        self._needs = {need.id: need for need in order.needs}
        arrival = {supplier.id: supplier.lead_days for supplier in order.suppliers}
        self._leads: dict[str, dict[str, int]] = {}
        """{need: {offer: typical arrival day}}"""
        self._work: dict[str, dict[str, int]] = {}
        """{need: {offer: minutes of extra work on a piece}}"""
        for need in order.needs:
            ways = usable(order, need)
            self._leads[need.id] = {offer.id: arrival[offer.supplier] for offer, _ in ways}
            self._work[need.id] = {offer.id: accept.rework_minutes for offer, accept in ways}
        self._takers: dict[str, list[str]] = defaultdict(list)
        for (name, offer), column in self.order.served.items():
            self._takers[offer].append(name)
            self.minutes.append((column, self._work[name][offer]))
        for unit in problem.units:
            self._add_unit(unit, needed=required is None or unit.id in required)
        if problem.bench is not None:
            model.row(self.minutes, high=problem.bench.minutes, name="bench minutes")
            if problem.bench.days is not None:
                self._add_releases(problem.bench)

    def minimise(self) -> None:
        """Set the objective: what the order costs less what the branches bring."""
        self.order.minimise(self.order.spent, self.order.rework, self.order.waiting, self.losses)

    def _add_unit(self, unit: LotUnit, *, needed: bool) -> None:
        choices: Terms = []
        for branch in allowed(self.problem, unit):
            take = self.model.choice(name=f"{unit.id}: {branch.id}")
            self.taken[unit.id, branch.id] = take
            choices.append((take, 1))
            self.losses.append((take, -branch.value))
            self.minutes.append((take, branch.minutes))
            for need in branch.needs:
                self.model.add_term(self.order.need_rows[need], take, -self._needs[need].pieces)
            for place, each in enumerate(branch.yields):
                self._add_yield((unit.id, branch.id, place), each, take)
        self.model.row(choices, 1 if needed else 0, 1, name=f"{unit.id}: one branch")

    def _add_yield(self, key: tuple[str, str, int], each: Yield, take: int) -> None:
        pieces: Terms = []
        for need in self._takers.get(each.offer or "", ()):
            x = self.order.served[need, each.offer or ""]
            pieces.append((x, 1))
            self.losses.append((x, each.used_cost))
            self.model.row([(x, 1), (take, -min(self._needs[need].pieces, each.pieces))], high=0)
        if each.value > 0:
            sold = self.model.column(high=each.pieces, whole=True, name=f"{key[0]}: {each.part} sold")
            self.sold[key] = sold
            pieces.append((sold, 1))
            self.losses.append((sold, -each.value))
            self.minutes.append((sold, each.sale_minutes))
        self.minutes += [(column, each.minutes) for column, _ in pieces]
        if pieces:
            self.model.row([*pieces, (take, -each.pieces)], high=0, name=f"{key[0]}: {each.part} taken out")

    def _add_releases(self, bench: Bench) -> None:
        """Work that waits for parts, by arrival day."""
        late: dict[str, dict[int, Terms]] = defaultdict(lambda: defaultdict(list))
        chains = [
            self._chain(unit, branch, late)
            for unit in self.problem.units
            for branch in allowed(self.problem, unit)
            if branch.needs
        ]
        for need, days in late.items():
            for day, columns in days.items():
                leads = self._leads[need].items()
                slow = [(self.order.served[need, offer], 1.0) for offer, lead in leads if lead >= day]
                pieces = self._needs[need].pieces
                self.model.row([*slow, *((column, -pieces) for column, _ in columns)], high=0)
        for day in sorted({day for chain in chains for day in chain}):
            waits: Terms = []
            for chain in chains:
                following = min((own for own in chain if own >= day), default=None)
                waits += chain[following] if following is not None else []
            self.model.row(waits, high=bench.left(day), name=f"bench minutes from day {day}")

    def _chain(self, unit: LotUnit, branch: LotBranch, late: dict[str, dict[int, Terms]]) -> dict[int, Terms]:
        """One yes-or-no column per arrival day of a branch: does it wait until that day or later? Returns its work."""
        before = self.taken[unit.id, branch.id]
        work: dict[int, Terms] = {}
        for day in sorted({lead for need in branch.needs for lead in self._leads[need].values() if lead > 0}):
            waits = self.model.choice(name=f"{unit.id}: {branch.id} not before day {day}")
            self.model.row([(waits, 1), (before, -1)], high=0)
            work[day] = [(waits, branch.minutes), *self._extra_work(branch, waits)]
            for need in branch.needs:
                if day in self._leads[need].values():
                    late[need][day].append((waits, 1))
            before = waits
        return work

    def _extra_work(self, branch: LotBranch, waits: int) -> Terms:
        """The extra work on substitutes, counted when the branch waits: at least the work, less all of it if not."""
        extra: Terms = []
        most = 0
        for need in branch.needs:
            works = self._work[need]
            extra += [(self.order.served[need, offer], work) for offer, work in works.items() if work]
            most += self._needs[need].pieces * max(works.values(), default=0)
        if not most:
            return []
        counted = self.model.column(high=most)
        self.model.row([(counted, 1), *((x, -work) for x, work in extra), (waits, -most)], low=-most)
        return [(counted, 1)]
