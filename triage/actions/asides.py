"""What stands beside the advice on the Bench where it would gain clearly more: a tool not owned, a signal to follow."""

from __future__ import annotations

import math
from itertools import pairwise

import msgspec

from triage.actions.probing import TraceView, worth_following
from triage.actions.studies import study_of
from triage.bench_file import BenchFile
from triage.diagnosis import Situation, replay, worlds_in
from triage.other_ways import Stretch, ToolGain, Ways
from triage.path_evidence import shows_between
from triage.study import MOST_WORLDS, WORLDS_LEFT_OUT, Study


class Aside(msgspec.Struct, frozen=True):
    """Money in minor units, beyond the best look on offer; 0 where it is not clearly more."""

    follow: TraceView | None = None
    """A path on which a signal may be followed to tell suspects apart."""
    follow_gain: float = 0.0
    tools: tuple[str, ...] = ()
    """Tools that would make a look possible which gains clearly more than those on offer."""
    tool_question: str = ""
    tool_gain: float = 0.0


def aside_of(bench: BenchFile, number: int) -> Aside:
    """What else there is to do with a unit whose class is known; raises `Refused` where there is no such unit."""
    found = study_of(bench, number)
    paths = worth_following(bench, number)
    locked = found.action.locked if found.action is not None else ()
    if found.action is None or not (paths or any(entry.kind == "tool" for entry in locked)):
        return Aside(next(iter(paths), None))
    situation = Situation(found.network, replay(found.network, found.state.events))
    seen = worlds_in(situation, WORLDS_LEFT_OUT, at_most=MOST_WORLDS)
    if seen is None:
        return Aside(next(iter(paths), None))
    ways = Ways(found.case, seen)
    looks = max([0.0, *(entry.net_gain for entry in found.action.ranking)])
    gains = {place: _following(found, ways, path) - looks for place, path in enumerate(paths)}
    best = max(gains, key=lambda place: gains[place], default=None)
    if best is not None and gains[best] < ways.clear_gain:
        best, gains = 0, {0: 0.0}
    tool = ways.best_tool(locked)
    ahead = tool.gain - looks if tool is not None else -math.inf
    aside = Aside(paths[best], gains[best]) if best is not None else Aside()
    return _with_tool(aside, found, tool, ahead) if tool is not None and ahead >= ways.clear_gain else aside


def _following(found: Study, ways: Ways, view: TraceView) -> float:
    path = found.device_class.path(view.path)
    stretches = [Stretch(*shows_between(found.device_class, path, first, last)) for first, last in pairwise(view.edges)]
    return ways.gain_of_following(stretches[:-1], view.minutes)


def _with_tool(aside: Aside, found: Study, tool: ToolGain, ahead: float) -> Aside:
    question = found.device_class.check(tool.check).question
    return msgspec.structs.replace(aside, tools=tool.tools, tool_question=question, tool_gain=ahead)
