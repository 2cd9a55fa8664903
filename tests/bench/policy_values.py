"""What a way of choosing earns on a class, without luck: every history it can come to, with the chance of that history.

    python tests/bench/policy_values.py --classes turntable --minute 0.20 --partings 8

A policy is asked once a history; answers branch with the chances of the class file (mode `stated` of the simulation,
without its limit of three faults a unit), a repair goes on as one history whose faults may be cured. The money is the
simulation's. A history less likely than `--floor` is not followed: it counts with its best plan as the sums have it
then, and `left` is the chance of all of them. All policies walk together, so that what they have in common is the same.
A parting is a history at which two do different things: the difference of their values is the sum over the partings of
chance x difference from there on, so they are listed by it.

`--first` values each first action followed by our advice: where another is better by more than small change, the
advice has a hole.
"""

from __future__ import annotations

import triage  # noqa: F401 - before numpy, whose threads it settles

# isort: split
import argparse
import math
import sys
import time
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor

import following
import msgspec
from quality import MINOR, OURS, POLICIES
from simulated import MOST_FAULTS, Clairvoyant, at_first, looked_at, repaired, sale

from triage.checks import NextAction, action_for
from triage.device_classes.loader import load_classes
from triage.device_classes.schema import DeviceClass
from triage.diagnosis import Repaired, Worlds
from triage.diagnosis.network import Event
from triage.locks import ASSUMED_TOOLS, Means, UnitState, fixed_of
from triage.network import SOLD_AS_FAULTY, network_of
from triage.outlook import heaviest
from triage.payoffs import Menu
from triage.person import ALL_TOOLS
from triage.plans import case_of
from triage.repair_orders import plans_for
from triage.worth import Worth, worth_of


class Node(msgspec.Struct, frozen=True):
    """A history under a policy: what is done there, and the money from there on given the history."""

    doing: str
    value: float
    minutes: float
    right: float
    """Share that ends sold as working with nothing wrong in it."""
    left: float = 0.0
    """Share in histories below that are not followed."""


class Parting(msgspec.Struct, frozen=True):
    """A history, its chance, and what each policy that comes there does."""

    chance: float
    events: tuple[Event, ...]
    nodes: dict[str, Node]


class Bench(msgspec.Struct, frozen=True):
    """One class for one person."""

    device_class: DeviceClass
    worth: Worth
    rate: float
    means: Means


class Forest:
    """Every history that some policies come to on one class."""

    def __init__(self, bench: Bench, floor: float) -> None:
        """Histories less likely than `floor` are not followed."""
        self._bench, self._floor = bench, floor
        self.partings: list[Parting] = []
        self.histories = 0

    def walked(self, state: UnitState, seen: Worlds, chance: float, policies: Sequence[str]) -> dict[str, Node]:
        """The node of a history for each policy that comes there; `seen` are its worlds."""
        self.histories += 1
        if chance < self._floor:
            return dict.fromkeys(policies, self._unfollowed(state, seen))
        bench = self._bench
        case = case_of(bench.device_class, bench.worth, rate=bench.rate, state=state, means=bench.means)
        said = {policy: action_for(case, seen, POLICIES[policy]) for policy in policies}
        together: dict[str, list[str]] = {}
        for policy, action in said.items():
            together.setdefault(_doing(action), []).append(policy)
        nodes: dict[str, Node] = {}
        for some in together.values():
            nodes |= self.done(state, seen, chance, said[some[0]], some)
        if len(together) > 1:
            self.partings.append(Parting(chance, state.events, nodes))
        return nodes

    def done(
        self, state: UnitState, seen: Worlds, chance: float, said: NextAction, policies: Sequence[str]
    ) -> dict[str, Node]:
        """The nodes of a history at which this is done first, and what the policies say after it."""
        bench, doing = self._bench, _doing(said)
        if said.action == "stop":
            return dict.fromkeys(policies, self._stopped(state, seen, said.branch))
        if said.check is None:
            after, minutes, parts = repaired(bench.device_class, bench.worth, state, said.faults)
            sides = [(1.0, self.walked(after, following.carried_on(seen, after.events), chance, policies))]
        else:
            bad, parts, sides = following.bad_chance(seen, said.check), 0.0, []
            for share, answer in ((1.0 - bad, "good"), (bad, "bad")):
                after, minutes = looked_at(bench.device_class, state, said.check, answer)
                if share > 0.0:
                    then = following.carried_on(seen, after.events)
                    sides.append((share, self.walked(after, then, chance * share, policies)))
        return {
            policy: Node(
                doing=doing,
                value=sum(share * nodes[policy].value for share, nodes in sides) - parts - bench.rate * minutes,
                minutes=sum(share * nodes[policy].minutes for share, nodes in sides) + minutes,
                right=sum(share * nodes[policy].right for share, nodes in sides),
                left=sum(share * nodes[policy].left for share, nodes in sides),
            )
            for policy in policies
        }

    def _stopped(self, state: UnitState, seen: Worlds, branch: str) -> Node:
        bench, right = self._bench, 0.0
        if branch == "fix" and fixed_of(bench.device_class, state).fixed:
            right = float(seen.weight[~seen.present.any(axis=1)].sum())
        value = 0.0
        for share, works in ((right, True), (1.0 - right, False)):
            minutes, earned = sale(bench.worth, branch, right=works, repaired=_mended(state))
            value += share * (earned - bench.rate * minutes)
        return Node(f"stop {branch}", value, minutes, right)

    def _unfollowed(self, state: UnitState, seen: Worlds) -> Node:
        bench = self._bench
        case = case_of(bench.device_class, bench.worth, rate=bench.rate, state=state, means=bench.means)
        view = heaviest(seen)
        money = Menu(case, view, plans_for(case, view)).payoffs(case_open=state.case_open)
        return Node("not followed", float(money.expected(view.weight).max()), 0.0, 0.0, left=1.0)


def _doing(said: NextAction) -> str:
    return said.check or (f"repair {' '.join(said.faults)}" if said.faults else f"stop {said.branch}")


def _mended(state: UnitState) -> bool:
    return any(isinstance(event, Repaired) for event in state.events)


class Task(msgspec.Struct, frozen=True):
    """One class at one worth of a minute."""

    class_id: str
    rate: float
    policies: tuple[str, ...]
    tools: tuple[str, ...]
    floor: float
    partings: int
    first: bool


class Row(msgspec.Struct, frozen=True):
    """The exact value of one policy on one class; money in minor units."""

    policy: str
    money: float
    minutes: float
    right: float
    left: float


class Result(msgspec.Struct, frozen=True):
    """What came out of a task, and lines about where the policies part."""

    task: Task
    as_is: float
    clairvoyant: float
    rows: tuple[Row, ...]
    histories: int
    seconds: float
    notes: tuple[str, ...]


def _clairvoyant(bench: Bench, seen: Worlds) -> float:
    """Its mean over units of as many faults as the simulation draws; more would take it minutes to work out."""
    knows = Clairvoyant(bench.device_class, bench.worth, bench.rate)
    few = seen.present.sum(axis=1) <= MOST_FAULTS
    weight = seen.weight[few] / seen.weight[few].sum()
    return math.fsum(
        float(chance) * knows.expected(frozenset(f for f, there in zip(seen.faults, row, strict=True) if there))
        for chance, row in zip(weight, seen.present[few], strict=True)
    )


def valued(task: Task) -> Result:
    """Every policy of a task on its class."""
    device_class = load_classes()[task.class_id]
    bench = Bench(device_class, worth_of(device_class), task.rate, Means(frozenset(task.tools)))
    seen = following.at_the_start(network_of(device_class, known_faulty=SOLD_AS_FAULTY))
    begun = time.process_time()
    forest, start = Forest(bench, task.floor), at_first(device_class)
    nodes = forest.walked(start, seen, 1.0, task.policies)
    rows = tuple(Row(policy, node.value, node.minutes, node.right, node.left) for policy, node in nodes.items())
    notes = [
        *_parted(forest.partings, task.policies, task.partings),
        *(_firsts(bench, start, seen, task.floor) if task.first else ()),
    ]
    took = time.process_time() - begun
    as_is = bench.worth.as_is - task.rate * bench.worth.list_minutes
    return Result(task, as_is, _clairvoyant(bench, seen), rows, forest.histories, took, tuple(notes))


def _parted(found: Sequence[Parting], policies: Sequence[str], most: int) -> Iterator[str]:
    """Where the first policy and another first part, dearest first; above 0 the other is ahead."""
    first = policies[0]
    for policy in policies[1:] if most else ():
        mine = [entry for entry in found if {first, policy} <= entry.nodes.keys()]
        apart = [
            (entry.chance * (entry.nodes[policy].value - entry.nodes[first].value), entry)
            for entry in mine
            if entry.nodes[policy].doing != entry.nodes[first].doing
        ]
        yield f"  {policy} parts from {first} at {len(apart)} histories, in all {sum(cost for cost, _ in apart):+.1f}"
        for cost, entry in sorted(apart, key=lambda pair: -abs(pair[0]))[:most]:
            one, two = entry.nodes[first], entry.nodes[policy]
            yield (
                f"    {cost:+7.2f}  chance {entry.chance:.4f}  {one.doing} {one.value:.0f}, {two.doing} {two.value:.0f}"
                f"  after {written(entry.events)}"
            )


def _firsts(bench: Bench, start: UnitState, seen: Worlds, floor: float) -> Iterator[str]:
    """The value of each first look followed by the advice, and what the advice itself expected of it."""
    forest = Forest(bench, floor)
    case = case_of(bench.device_class, bench.worth, rate=bench.rate, state=start, means=bench.means)
    said = action_for(case, seen, POLICIES[OURS])
    values: Mapping[str, tuple[float, float]] = {
        entry.check: (
            forest.done(
                start, seen, 1.0, msgspec.structs.replace(said, action="check", check=entry.check, faults=()), (OURS,)
            )[OURS].value,
            entry.net_gain,
        )
        for entry in said.ranking
    }
    own = forest.done(start, seen, 1.0, said, (OURS,))[OURS].value
    yield f"  first: {_doing(said)} {own:.1f}, stopping at once {said.value:.1f}"
    for check, (value, expected) in sorted(values.items(), key=lambda entry: -entry[1][0]):
        yield f"    {check:18s} {value:8.1f}  {value - own:+7.1f}  expected {said.value + expected:8.1f}"


def written(events: Sequence[Event]) -> str:
    """A history in a line."""
    words = []
    for event in events:
        faults = getattr(event, "faults", None)
        words.append(f"repair({' '.join(faults)})" if faults else f"{event.check}:{event.answer}")  # type: ignore[union-attr]
    return " ".join(words) or "nothing"


def _lines(result: Result) -> Iterator[str]:
    span = result.clairvoyant - result.as_is
    yield (
        f"\n{result.task.class_id}, a minute worth {result.task.rate / MINOR:.2f}: "
        f"clairvoyant {span / MINOR:.2f} ahead, {result.histories} histories, {result.seconds:.0f} s"
    )
    for row in result.rows:
        yield (
            f"  {row.policy:24s} money {(row.money - result.as_is) / MINOR:6.3f}  "
            f"score {(row.money - result.as_is) / span:7.4f}  min {row.minutes:5.1f}  right {row.right:.3f}  "
            f"left {row.left:.3f}"
        )
    yield from result.notes


def _over_all(results: Sequence[Result]) -> Iterator[str]:
    by_rate: dict[float, list[Result]] = {}
    for result in results:
        by_rate.setdefault(result.task.rate, []).append(result)
    for rate, some in sorted(by_rate.items()):
        yield f"\nall {len(some)} classes, a minute worth {rate / MINOR:.2f}"
        span = sum(result.clairvoyant - result.as_is for result in some)
        money = {
            policy: sum(row.money for result in some for row in result.rows if row.policy == policy)
            for policy in some[0].task.policies
        }
        first = money[some[0].task.policies[0]]
        for policy, earned in money.items():
            gain = earned - sum(result.as_is for result in some)
            yield f"  {policy:24s} score {gain / span:7.4f}  gap {(first - earned) / span:+7.4f}"


def main() -> None:
    """Build the trees and print the tables."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--classes", default="", help="class ids with commas; all without it")
    ask.add_argument("--minute", default="0.20", help="worth of a minute, with commas")
    ask.add_argument(
        "--policies", default=f"{OURS},entropy with stop,one-step money,two-step money", help="with commas"
    )
    ask.add_argument("--plain", action="store_true", help="a person without special tools")
    ask.add_argument("--floor", type=float, default=1e-4, help="histories less likely than this are not followed")
    ask.add_argument("--partings", type=int, default=0, help="how many of the dearest partings are listed")
    ask.add_argument("--first", action="store_true", help="the value of each first look followed by the advice")
    ask.add_argument("--processes", type=int, default=2)
    chosen = ask.parse_args()
    tools = ASSUMED_TOOLS if chosen.plain else ALL_TOOLS
    tasks = [
        Task(
            class_id,
            float(minute) * MINOR,
            tuple(chosen.policies.split(",")),
            tools,
            chosen.floor,
            chosen.partings,
            chosen.first,
        )
        for minute in chosen.minute.split(",")
        for class_id in (chosen.classes.split(",") if chosen.classes else load_classes())
    ]
    print(f"histories down to {chosen.floor:g}, policies {chosen.policies}")
    begun, results = time.perf_counter(), []
    with ProcessPoolExecutor(chosen.processes) as pool:
        for result in pool.map(valued, tasks):
            results.append(result)
            for line in _lines(result):
                print(line, flush=True)
            print(
                f"\r{len(results)}/{len(tasks)} classes, {time.perf_counter() - begun:.0f} s", end="", file=sys.stderr
            )
    print(file=sys.stderr)
    for line in _over_all(results):
        print(line)


if __name__ == "__main__":
    main()
