"""What a way of choosing earns on a class, without luck: every history it can come to, with the chance of that history.

    python tests/bench/policy_values.py --classes turntable --minute 0.20 --partings 8

A policy is asked once a history; answers branch with the exact chances of the class file (mode `stated` of the
simulation, without its limit of three faults a unit), a repair goes on as one history whose faults may be cured. The
money is the simulation's. A history less likely than `--floor` is sold there as it stands, which is the least it can
bring; `left` is the chance of all of them. A parting is a history at which two policies do different things: the
difference of their values is the sum over the partings of chance x difference from there on, so they are listed by it.

`--first` values each first action followed by our advice: where another is better by more than small change, the
advice has a hole.
"""

from __future__ import annotations

import triage  # noqa: F401 - before numpy, whose threads it settles

# isort: split
import argparse
import collections
import math
import sys
import time
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor

import msgspec
from quality import MINOR, OURS, POLICIES
from simulated import Clairvoyant, at_first, looked_at, repaired, sale

from triage.checks import Judge, NextAction, next_action
from triage.device_classes.loader import load_classes
from triage.device_classes.schema import DeviceClass
from triage.diagnosis import Network, Worlds, worlds
from triage.diagnosis.history import replay
from triage.diagnosis.network import Event
from triage.diagnosis.situation import Situation
from triage.diagnosis.sums import log_evidence_in
from triage.diagnosis.worlds import worlds_in
from triage.locks import ASSUMED_TOOLS, Means, UnitState, fixed_of
from triage.network import SOLD_AS_FAULTY, network_of
from triage.person import ALL_TOOLS
from triage.problems.next import LOSS
from triage.worth import Worth, worth_of

KEPT_WORLDS = 4096
FIRST_FLOOR = 1e-3
"""Histories less likely than this are not followed in the values of first actions."""


class Known:
    """The chances of a class: how likely each history is, and its worlds; shared by every policy."""

    def __init__(self, network: Network) -> None:
        """Nothing is worked out before it is asked for."""
        self._network = network
        self._logs: dict[tuple[Event, ...], float] = {}
        self._worlds: collections.OrderedDict[tuple[Event, ...], Worlds] = collections.OrderedDict()

    def chance(self, events: tuple[Event, ...]) -> float:
        """The chance that all the answers in a history come, given what is done in it."""
        if events not in self._logs:
            self._logs[events] = log_evidence_in(Situation(self._network, replay(self._network, events)))
        return math.exp(self._logs[events])

    def worlds(self, events: tuple[Event, ...]) -> Worlds:
        """The joint fault states after a history that can come."""
        if events not in self._worlds:
            situation = Situation(self._network, replay(self._network, events))
            found = worlds_in(situation, LOSS, log_evidence=math.log(self.chance(events)))
            if found is None:
                raise ValueError(f"no world has this history: {events}")
            self._worlds[events] = found
            if len(self._worlds) > KEPT_WORLDS:
                self._worlds.popitem(last=False)
        self._worlds.move_to_end(events)
        return self._worlds[events]


class Node(msgspec.Struct, frozen=True):
    """A history under a policy: what is done there, and the money from there on given the history."""

    chance: float
    doing: str
    value: float
    left: float
    """Chance of the histories below that are not followed."""
    minutes: float
    right: float
    """Share that ends sold as working with nothing wrong in it."""
    after: tuple[tuple[Event, ...], ...] = ()


class Bench(msgspec.Struct, frozen=True):
    """What all policies on a class share."""

    device_class: DeviceClass
    worth: Worth
    rate: float
    means: Means
    known: Known


class Tree:
    """Every history that one policy comes to on one class."""

    def __init__(self, bench: Bench, judge: Judge, floor: float) -> None:
        """Histories less likely than `floor` are not followed."""
        self._bench, self._judge, self._floor = bench, judge, floor
        self._asked: dict[tuple[Event, ...], NextAction] = {}
        self.nodes: dict[tuple[Event, ...], Node] = {}

    def asked(self, state: UnitState) -> NextAction:
        """What the policy does there; it is asked once."""
        if state.events not in self._asked:
            bench = self._bench
            seen = bench.known.worlds(state.events)
            said = next_action(
                bench.device_class,
                seen,
                bench.worth,
                rate=bench.rate,
                state=state,
                means=bench.means,
                judge=self._judge,
            )
            self._asked[state.events] = said
        return self._asked[state.events]

    def value(self, state: UnitState) -> Node:
        """The node of a history; the whole tree below it is built."""
        found = self.nodes.get(state.events)
        if found is None:
            found = self.nodes[state.events] = self._built(state)
        return found

    def _built(self, state: UnitState) -> Node:
        chance = self._bench.known.chance(state.events)
        if chance < self._floor:
            return msgspec.structs.replace(self._stopped(state, chance, _as_it_stands(self._bench.worth)), left=chance)
        return self.doing(state, self.asked(state))

    def doing(self, state: UnitState, said: NextAction) -> Node:
        """The node of a history at which this is done first, and what the policy says after it."""
        bench, chance = self._bench, self._bench.known.chance(state.events)
        if said.action == "stop":
            return self._stopped(state, chance, said.branch)
        if said.check is None:
            after, minutes, parts = repaired(bench.device_class, bench.worth, state, said.faults)
            then = self.value(after)
            return msgspec.structs.replace(
                then,
                doing=f"repair {' '.join(said.faults)}",
                value=then.value - parts - bench.rate * minutes,
                minutes=then.minutes + minutes,
                after=(after.events,),
            )
        sides: list[tuple[float, Node, tuple[Event, ...]]] = []
        for answer in ("good", "bad"):
            after, minutes = looked_at(bench.device_class, state, said.check, answer)
            if bench.known.chance(after.events) > 0.0:
                node = self.value(after)
                sides.append((node.chance / chance, node, after.events))
        if abs(sum(share for share, _, _ in sides) - 1.0) > 1e-6:
            raise ValueError(f"the answers of {said.check} do not add up after {state.events}")
        return Node(
            chance=chance,
            doing=said.check,
            value=sum(share * node.value for share, node, _ in sides) - bench.rate * minutes,
            left=sum(node.left for _, node, _ in sides),
            minutes=sum(share * node.minutes for share, node, _ in sides) + minutes,
            right=sum(share * node.right for share, node, _ in sides),
            after=tuple(events for _, _, events in sides),
        )

    def _stopped(self, state: UnitState, chance: float, branch: str) -> Node:
        bench = self._bench
        right = 0.0
        if branch == "fix" and fixed_of(bench.device_class, state).fixed:
            seen = bench.known.worlds(state.events)
            right = float(seen.weight[~seen.present.any(axis=1)].sum())
        mended = any(not hasattr(event, "check") for event in state.events)
        value = 0.0
        for share, works in ((right, True), (1.0 - right, False)):
            minutes, earned = sale(bench.worth, branch, right=works, repaired=mended)
            value += share * (earned - bench.rate * minutes)
        return Node(chance, f"stop {branch}", value, 0.0, minutes, right)


def _as_it_stands(worth: Worth) -> str:
    return "part_out" if worth.part_out > worth.as_is_after else "as_is"


def partings(ours: Tree, other: Tree) -> Iterator[tuple[float, tuple[Event, ...], Node, Node]]:
    """Where two policies part: what that costs ours in all (below 0: ours is ahead), the history, and both nodes."""
    left: list[tuple[Event, ...]] = [()]
    while left:
        events = left.pop()
        mine, theirs = ours.nodes[events], other.nodes[events]
        if mine.doing == theirs.doing:
            left += mine.after
        else:
            yield mine.chance * (theirs.value - mine.value), events, mine, theirs


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
    most: float
    """Bound from above: what is not followed brings the price of a working one."""
    minutes: float
    right: float
    left: float
    histories: int
    seconds: float


class Result(msgspec.Struct, frozen=True):
    """What came out of a task, and lines about where the policies part."""

    task: Task
    as_is: float
    clairvoyant: float
    rows: tuple[Row, ...]
    notes: tuple[str, ...]


def _clairvoyant(bench: Bench) -> float:
    knows = Clairvoyant(bench.device_class, bench.worth, bench.rate)
    seen = bench.known.worlds(())
    return math.fsum(
        float(weight) * knows.expected(frozenset(f for f, there in zip(seen.faults, row, strict=True) if there))
        for weight, row in zip(seen.weight, seen.present, strict=True)
    )


def valued(task: Task) -> Result:
    """Every policy of a task on its class."""
    device_class = load_classes()[task.class_id]
    worth = worth_of(device_class)
    network = network_of(device_class, known_faulty=SOLD_AS_FAULTY)
    bench = Bench(device_class, worth, task.rate, Means(frozenset(task.tools)), Known(network))
    trees: dict[str, Tree] = {}
    rows: list[Row] = []
    start = at_first(device_class)
    for policy in task.policies:
        begun = time.process_time()
        tree = trees[policy] = Tree(bench, POLICIES[policy], task.floor)
        top = tree.value(start)
        most = top.value + top.left * (worth.working - max(worth.as_is, worth.as_is_after))
        took = time.process_time() - begun
        rows.append(Row(policy, top.value, most, top.minutes, top.right, top.left, len(tree.nodes), took))
    as_is = worth.as_is - task.rate * worth.list_minutes
    notes = [
        *_parted(trees, task.partings),
        *(_firsts(bench, start, POLICIES[OURS]) if task.first else ()),
    ]
    return Result(task, as_is, _clairvoyant(bench), tuple(rows), tuple(notes))


def _parted(trees: Mapping[str, Tree], most: int) -> Iterator[str]:
    if OURS not in trees or not most:
        return
    for policy, tree in trees.items():
        if policy != OURS:
            found = sorted(partings(trees[OURS], tree), key=lambda entry: -abs(entry[0]))
            yield f"  {policy} parts from {OURS} at {len(found)} histories, in all {sum(c for c, *_ in found):+.1f}"
            for cost, events, mine, theirs in found[:most]:
                yield (
                    f"    {cost:+7.2f}  chance {mine.chance:.4f}  ours {mine.doing} {mine.value:.0f}, "
                    f"other {theirs.doing} {theirs.value:.0f}  after {written(events)}"
                )


def _firsts(bench: Bench, start: UnitState, judge: Judge) -> Iterator[str]:
    """The exact value of each first look followed by the advice, and what the advice itself expected of it."""
    tree = Tree(bench, judge, FIRST_FLOOR)
    said = tree.asked(start)
    values = {
        entry.check: (
            tree.doing(start, msgspec.structs.replace(said, action="check", check=entry.check)).value,
            entry.net_gain,
        )
        for entry in said.ranking
    }
    own = tree.doing(start, said).value
    yield f"  first: {said.check or said.action} {own:.1f}, stopping at once {said.value:.1f}"
    for check, (value, expected) in sorted(values.items(), key=lambda entry: -entry[1][0]):
        yield f"    {check:18s} {value:8.1f}  {value - own:+7.1f}  expected {said.value + expected:8.1f}"


def written(events: Sequence[Event]) -> str:
    """A history in a line."""
    words = []
    for event in events:
        faults = getattr(event, "faults", None)
        words.append(f"repair({' '.join(faults)})" if faults else f"{event.check}:{event.answer}")  # type: ignore[union-attr]
    return " ".join(words) or "nothing"


def _lines(results: Sequence[Result]) -> Iterator[str]:
    by_rate: dict[float, list[Result]] = {}
    for result in results:
        by_rate.setdefault(result.task.rate, []).append(result)
    for rate, some in sorted(by_rate.items()):
        for result in some:
            span = result.clairvoyant - result.as_is
            yield f"\n{result.task.class_id}, a minute worth {rate / MINOR:.2f}: clairvoyant {span / MINOR:.2f} ahead"
            yield from _rows(result.rows, result.as_is, span)
            yield from result.notes
        if len(some) > 1:
            yield f"\nall {len(some)} classes, a minute worth {rate / MINOR:.2f}"
            span = sum(result.clairvoyant - result.as_is for result in some)
            ours = sum(row.money for result in some for row in result.rows if row.policy == OURS)
            for policy in some[0].task.policies:
                rows = [row for result in some for row in result.rows if row.policy == policy]
                gain = sum(row.money for row in rows) - sum(result.as_is for result in some)
                ahead = ours - sum(row.money for row in rows)
                yield (
                    f"  {policy:24s} score {gain / span:7.4f}  gap {ahead / span:+7.4f}  "
                    f"min {sum(row.minutes for row in rows) / len(rows):5.1f}  "
                    f"right {sum(row.right for row in rows) / len(rows):.3f}"
                )


def _rows(rows: Sequence[Row], as_is: float, span: float) -> Iterator[str]:
    for row in rows:
        yield (
            f"  {row.policy:24s} money {(row.money - as_is) / MINOR:6.3f}  score {(row.money - as_is) / span:7.4f} to "
            f"{(row.most - as_is) / span:7.4f}  min {row.minutes:5.1f}  right {row.right:.3f}  left {row.left:.3f}  "
            f"{row.histories} histories {row.seconds:.0f} s"
        )


def main() -> None:
    """Build the trees and print the tables."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--classes", default="", help="class ids with commas; all without it")
    ask.add_argument("--minute", default="0.20", help="worth of a minute, with commas")
    ask.add_argument("--policies", default=f"{OURS},entropy with stop,one-step money,two-step money", help="with commas")
    ask.add_argument("--plain", action="store_true", help="a person without special tools")
    ask.add_argument("--floor", type=float, default=1e-4, help="histories less likely than this are sold as they stand")
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
            print(f"\r{len(results)}/{len(tasks)} classes, {time.perf_counter() - begun:.0f} s", end="", file=sys.stderr)
    print(file=sys.stderr)
    for line in _lines(results):
        print(line)


if __name__ == "__main__":
    main()
