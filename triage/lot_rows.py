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
from triage.lot_finish import FinishRows

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from catalog.model import Model, Terms
    from catalog.purchase_data import PurchaseProblem
    from triage.lot_data import Bench, LotBranch, LotProblem, LotUnit, Yield


def allowed(problem: LotProblem, unit: LotUnit) -> tuple[LotBranch, ...]:
    """The branches a unit may take: all, or the one the person decided on."""
    pin = problem.pins.get(unit.id)
    return tuple(branch for branch in unit.branches if pin is None or branch.id == pin)


def order_of(problem: LotProblem) -> PurchaseProblem:
    """The order problem cut to the needs and the donors of branches that may be taken; spares may ride along always."""
    open_branches = [branch for unit in problem.units for branch in allowed(problem, unit)]
    needs = {need for branch in open_branches for need in branch.needs}
    givers = {each.offer for branch in open_branches for each in branch.yields}
    donors = {each.offer for unit in problem.units for branch in unit.branches for each in branch.yields}
    return msgspec.structs.replace(
        problem.order,
        needs=tuple(need for need in problem.order.needs if need.spare or need.id in needs),
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
        self.waits: dict[tuple[str, str], dict[int, int]] = defaultdict(dict)
        """{(unit, branch): {day: column: does it wait for parts of that day or later?}}"""
        self.finish: FinishRows | None = None
        """The days by which work is done, where something loses by the day."""
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
            model.row(self.minutes, high=problem.bench.left(0), name="bench minutes")
            if problem.bench.days is not None:
                losing = {
                    (unit.id, branch.id): branch
                    for unit in problem.units
                    for branch in allowed(problem, unit)
                    if branch.day_loss > 0.0
                }
                days = self._arrivals() if losing else self._binding_days(problem.bench)
                self._add_releases(problem.bench, days)
                if losing:
                    self._add_finish(problem.bench, losing, days)

    def minimise(self) -> None:
        """Set the objective: what the order costs less what the branches bring."""
        self.order.minimise(self.order.spent, self.order.rework, self.order.spares, self.order.waiting, self.losses)

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

    def _add_finish(self, bench: Bench, losing: Mapping[tuple[str, str], LotBranch], days: Sequence[int]) -> None:
        """Days by which work is done; the days until its parts came are charged already."""
        self.finish = FinishRows(self, bench, losing, days)
        for unit, loss in {unit: branch.day_loss for (unit, _), branch in losing.items() if branch.needs}.items():
            self.losses += [(late, -loss * span) for late, span in self.order.ready.get(unit, ())]
        self.losses += [(self.taken[key], -branch.day_loss * branch.ready) for key, branch in losing.items()]

    def _arrivals(self) -> list[int]:
        known = {branch.ready for unit in self.problem.units for branch in allowed(self.problem, unit)}
        return sorted((known | {lead for leads in self._leads.values() for lead in leads.values()}) - {0})

    def _add_releases(self, bench: Bench, days: Sequence[int]) -> None:
        """Work that waits for parts, by arrival day."""
        late: dict[str, dict[int, Terms]] = defaultdict(lambda: defaultdict(list))
        chains = [
            self._chain(unit, branch, days, late)
            for unit in self.problem.units
            for branch in allowed(self.problem, unit)
            if branch.needs or branch.ready
        ]
        for need, by_day in late.items():
            leads, pieces = self._leads[need].items(), self._needs[need].pieces
            said: Terms = []
            for day, columns in by_day.items():
                slow = [(self.order.served[need, offer], 1.0) for offer, lead in leads if lead >= day]
                if (terms := [*slow, *((column, -pieces) for column, _ in columns)]) != said:
                    self.model.row(terms, high=0)
                said = terms
        for day in days:
            waits = [term for chain in chains for term in chain.get(day, ())]
            self.model.row(waits, high=bench.left(day), name=f"bench minutes from day {day}")

    def _binding_days(self, bench: Bench) -> list[int]:
        """The arrival days from which the work that may wait until then could be more than the minutes left."""
        last: list[tuple[int, float]] = []
        for unit in self.problem.units:
            for branch in allowed(self.problem, unit):
                day = max((lead for need in branch.needs for lead in self._leads[need].values()), default=0)
                last.append((max(day, branch.ready), branch.minutes + self._most_extra_work(branch)))
        return [day for day in self._arrivals() if sum(work for own, work in last if own >= day) > bench.left(day)]

    def _chain(
        self, unit: LotUnit, branch: LotBranch, days: Sequence[int], late: dict[str, dict[int, Terms]]
    ) -> dict[int, Terms]:
        """Yes-or-no columns: does the branch wait until this day or later? Returns its work for each of `days`.

        Days between which nothing more arrives for the branch share a column; until what is on its way is here it waits
        for certain.
        """
        leads = {lead for need in branch.needs for lead in self._leads[need].values() if lead > branch.ready}
        before, arriving = self.taken[unit.id, branch.id], -1
        latest: Terms = [(before, branch.minutes), *self.extra_work(branch, before)] if branch.ready else []
        work: dict[int, Terms] = {}
        for day in days:
            following = min((lead for lead in leads if lead >= day), default=None)
            if following is None:
                if day > branch.ready:
                    break
            elif following != arriving and day > branch.ready:
                waits = self.model.choice(name=f"{unit.id}: {branch.id} not before day {following}")
                self.model.row([(waits, 1), (before, -1)], high=0)
                before, arriving, latest = waits, following, [(waits, branch.minutes), *self.extra_work(branch, waits)]
            work[day] = latest
            self.waits[unit.id, branch.id][day] = before
            for need in branch.needs:
                if max(self._leads[need].values(), default=0) >= day:
                    late[need][day].append((before, 1))
        return work

    def extra_work(self, branch: LotBranch, waits: int) -> Terms:
        """The extra work on substitutes, counted when the branch waits: at least the work, less all of it if not."""
        most = self._most_extra_work(branch)
        if not most:
            return []
        extra: Terms = [
            (self.order.served[need, offer], work)
            for need in branch.needs
            for offer, work in self._work[need].items()
            if work
        ]
        counted = self.model.column(high=most)
        self.model.row([(counted, 1), *((x, -work) for x, work in extra), (waits, -most)], low=-most)
        return [(counted, 1)]

    def _most_extra_work(self, branch: LotBranch) -> int:
        return sum(self._needs[need].pieces * max(self._work[need].values(), default=0) for need in branch.needs)
