"""What the advice earns on simulated units, beside other ways of choosing the next look. Run by hand:

    python tests/bench/quality.py --classes gamepad,turntable --units 50 --minute 0.05,0.20

Score = (policy - all sold as they are) / (clairvoyant - all sold as they are), pooled over the units. Every policy
meets the same units with the same luck, so differences are paired; ± is half a 95 % interval. Where the clairvoyant is
less than 1.00 a unit ahead, only money is shown. `gap` is ours less the policy's, in the same measure.
"""

from __future__ import annotations

import triage  # noqa: F401 - before numpy, whose threads it settles

# isort: split
import argparse
import collections
import json
import math
import sys
import time
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from pathlib import Path
from typing import get_args

import msgspec
import numpy as np
from habits import FREE, HABITS
from numpy.typing import NDArray
from simulated import Clairvoyant, Mode, Run, Unit, followed

from triage.checks import Judge, NextAction, next_action
from triage.device_classes.loader import load_classes
from triage.device_classes.schema import DeviceClass
from triage.diagnosis import BeyondExact, Network, Worlds, worlds
from triage.diagnosis.network import Event
from triage.further import advised
from triage.locks import ASSUMED_TOOLS, Means, UnitState
from triage.network import SOLD_AS_FAULTY, network_of
from triage.person import ALL_TOOLS
from triage.problems.next import LOSS
from triage.study import MOST_WORLDS
from triage.worth import Worth, worth_of

OURS = "lotwright"
POLICIES: dict[str, Judge] = {OURS: advised, **HABITS}
MINOR = 100
KEPT_WORLDS = 64
CHUNK = 12


class Settings(msgspec.Struct, frozen=True):
    """What one task simulates: some units of a class, every policy and mode, one worth of a minute."""

    class_id: str
    rate: float
    """Minor units a minute."""
    units: tuple[int, ...]
    policies: tuple[str, ...]
    modes: tuple[Mode, ...]
    tools: tuple[str, ...]
    seed: int


class Found(msgspec.Struct, frozen=True):
    """One unit under one policy; money in minor units."""

    class_id: str
    rate: float
    mode: str
    unit: int
    policy: str
    money: float
    as_is: float
    untouched: float
    """Best branch without a look or a repair."""
    clairvoyant: float
    minutes: float = 0.0
    made_right: bool = False
    needless: int = 0
    returned: bool = False
    most_repairs: int = 0


class Advisor:
    """A policy on one class for one person; what it said once about a history it need not work out again."""

    def __init__(self, device_class: DeviceClass, judge: Judge, worth: Worth, rate: float, means: Means) -> None:
        """One advisor serves all units of the class."""
        self._fixed = device_class, worth, rate, means, judge
        self._said: dict[tuple[Event, ...], NextAction] = {}

    def __call__(self, state: UnitState) -> NextAction:
        """The next action, as `solve next` works it out."""
        if state.events not in self._said:
            device_class, worth, rate, means, judge = self._fixed
            seen = _seen(device_class.id, state.events)
            said = next_action(device_class, seen, worth, rate=rate, state=state, means=means, judge=judge)
            self._said[state.events] = msgspec.structs.replace(said, locked=(), ranking=())
        return self._said[state.events]


_worlds: collections.OrderedDict[tuple[str, tuple[Event, ...]], Worlds] = collections.OrderedDict()


def _seen(class_id: str, events: tuple[Event, ...]) -> Worlds:
    key = class_id, events
    if key not in _worlds:
        network = _network(class_id)
        try:
            _worlds[key] = worlds(network, events, LOSS)
        except BeyondExact:  # as `solve next` does it
            _worlds[key] = worlds(network, events, LOSS, at_most=MOST_WORLDS)
        if len(_worlds) > KEPT_WORLDS:
            _worlds.popitem(last=False)
    _worlds.move_to_end(key)
    return _worlds[key]


@cache
def _network(class_id: str) -> Network:
    return network_of(load_classes()[class_id], known_faulty=SOLD_AS_FAULTY)


@cache
def _advisor(class_id: str, policy: str, rate: float, tools: tuple[str, ...]) -> Advisor:
    device_class = load_classes()[class_id]
    return Advisor(device_class, POLICIES[policy], worth_of(device_class), rate, Means(frozenset(tools)))


def simulate(task: Settings) -> list[Found]:
    """Every unit of a task under every policy and mode."""
    device_class = load_classes()[task.class_id]
    worth = worth_of(device_class)
    knows = Clairvoyant(device_class, worth, task.rate)
    found = []
    for number in task.units:
        for mode in task.modes:
            unit = Unit(device_class, f"{task.seed}/{task.class_id}/{number}", mode)
            as_is = worth.as_is - task.rate * worth.list_minutes
            untouched = max(as_is, worth.part_out - task.rate * worth.strip_minutes)
            known = Clairvoyant(unit.truth, worth, task.rate) if mode == "wrong" else knows
            row = Found(task.class_id, task.rate, mode, number, "", 0.0, as_is, untouched, known.money(unit))
            for policy in task.policies:
                advice = _advisor(task.class_id, policy, task.rate, task.tools)
                run = followed(device_class, unit, worth, task.rate, advice, free=policy == FREE)
                found.append(_filled(row, policy, run))
    return found


def _filled(row: Found, policy: str, run: Run) -> Found:
    return msgspec.structs.replace(
        row,
        policy=policy,
        money=run.money,
        minutes=run.minutes,
        made_right=run.made_right,
        needless=run.needless,
        returned=run.returned,
        most_repairs=run.most_repairs,
    )


# --- the tables ------------------------------------------------------------------------------------------------------


def _column(rows: Sequence[Found], field: str) -> NDArray[np.float64]:
    return np.array([float(getattr(row, field)) for row in rows])


def _half(values: NDArray[np.float64]) -> float:
    """Half a 95 % interval of a mean."""
    return 1.96 * float(values.std(ddof=1)) / math.sqrt(len(values)) if len(values) > 1 else math.nan


def _against(gain: NDArray[np.float64], span: NDArray[np.float64]) -> tuple[float, float]:
    """A pooled ratio and half its 95 % interval (ratio estimator)."""
    mean = float(span.mean())
    ratio = float(gain.mean()) / mean
    return ratio, _half(gain - ratio * span) / mean


def _lines(rows: Sequence[Found]) -> Iterator[str]:
    by_policy: dict[str, list[Found]] = {}
    for row in rows:
        by_policy.setdefault(row.policy, []).append(row)
    first = next(iter(by_policy.values()))
    span = _column(first, "clairvoyant") - _column(first, "as_is")
    as_is, scored = _column(first, "as_is"), float(span.mean()) >= MINOR
    money: dict[str, NDArray[np.float64]] = {policy: _column(found, "money") for policy, found in by_policy.items()}
    money["best untouched branch"] = _column(first, "untouched")
    money["clairvoyant"] = _column(first, "clairvoyant")
    ours = money.get(OURS)
    for policy, earned in money.items():
        gain = (earned - as_is) / MINOR
        line = f"  {policy:22s} money {gain.mean():7.2f} ±{_half(gain):5.2f}"
        if scored:
            score, half = _against(earned - as_is, span)
            line += f"  score {score:6.3f} ±{half:.3f}"
        if ours is not None and policy not in {OURS, "clairvoyant"}:
            ahead = (
                _against(ours - earned, span) if scored else ((ours - earned).mean() / 100, _half(ours - earned) / 100)
            )
            line += f"  gap {ahead[0]:6.3f} ±{ahead[1]:.3f}{'*' if abs(ahead[0]) > ahead[1] else ' '}"
        if policy in by_policy:
            found = by_policy[policy]
            line += (
                f"  min {_column(found, 'minutes').mean():5.1f}  right {_column(found, 'made_right').mean():.2f}"
                f"  needless {_column(found, 'needless').mean():.2f}  back {_column(found, 'returned').mean():.3f}"
            )
        yield line


def _tables(found: Sequence[Found], *, by_class: bool) -> Iterator[str]:
    groups: dict[tuple[float, str, str], list[Found]] = {}
    for row in found:
        groups.setdefault((row.rate, row.mode, "all classes"), []).append(row)
        if by_class:
            groups.setdefault((row.rate, row.mode, row.class_id), []).append(row)
    for (rate, mode, where), rows in sorted(groups.items()):
        units = len({(row.class_id, row.unit) for row in rows})
        yield f"\n{where}, mode {mode}, a minute worth {rate / MINOR:.2f}, {units} units"
        yield from _lines(rows)


def _tasks(chosen: argparse.Namespace) -> Iterable[Settings]:
    tools = ASSUMED_TOOLS if chosen.plain else ALL_TOOLS
    policies = tuple(name for name in POLICIES if not chosen.policies or name in chosen.policies.split(","))
    for first in range(chosen.first, chosen.first + chosen.units, CHUNK):
        numbers = tuple(range(first, min(first + CHUNK, chosen.first + chosen.units)))
        for class_id in chosen.classes.split(",") if chosen.classes else load_classes():
            for minute in chosen.minute.split(","):
                rate = float(minute) * MINOR
                modes = tuple(chosen.modes.split(","))
                yield Settings(class_id, rate, numbers, policies, modes, tools, chosen.seed)


def _mapped(processes: int, tasks: Sequence[Settings]) -> Iterator[list[Found]]:
    if processes == 1:
        yield from map(simulate, tasks)
        return
    with ProcessPoolExecutor(processes) as pool:
        yield from pool.map(simulate, tasks)


def main() -> None:
    """Simulate and print the tables."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--classes", default="", help="class ids with commas; all without it")
    ask.add_argument("--units", type=int, default=30, help="units a class")
    ask.add_argument("--first", type=int, default=0, help="number of the first unit")
    ask.add_argument("--minute", default="0,0.05,0.10,0.20", help="worth of a minute, with commas")
    ask.add_argument("--modes", default="stated", help=f"with commas, of {', '.join(get_args(Mode))}")
    ask.add_argument("--policies", default="", help=f"with commas, of {', '.join(POLICIES)}")
    ask.add_argument("--plain", action="store_true", help="a person without special tools")
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--processes", type=int, default=2)
    ask.add_argument("--by-class", action="store_true")
    ask.add_argument("--out", type=Path, help="write every unit's result there, one JSON line each")
    chosen = ask.parse_args()
    begun, found = time.perf_counter(), []
    tasks = list(_tasks(chosen))
    print(f"seed {chosen.seed}, units {chosen.first} to {chosen.first + chosen.units - 1} of each class")
    for place, some in enumerate(_mapped(chosen.processes, tasks), start=1):
        found += some
        if chosen.out:
            with chosen.out.open("a") as stream:
                stream.writelines(json.dumps(msgspec.to_builtins(row)) + "\n" for row in some)
        print(f"\r{place}/{len(tasks)} tasks, {time.perf_counter() - begun:.0f} s", end="", file=sys.stderr)
    print(file=sys.stderr)
    for line in _tables(found, by_class=chosen.by_class):
        print(line)
    print(f"\n{time.perf_counter() - begun:.0f} s; most repairs of one fault: {max(row.most_repairs for row in found)}")


if __name__ == "__main__":
    main()
