"""What stands beside the advice on the Bench: a tool not owned or a signal that would gain more, a doubtful answer."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import msgspec

from triage.actions.probing import TraceView, worth_following
from triage.actions.studies import study_of
from triage.bench_file import BenchFile
from triage.diagnosis import Situation, replay, worlds_in
from triage.locks import may_look_again
from triage.other_ways import Stretch, Ways
from triage.path_evidence import shows_between
from triage.study import MOST_WORLDS, WORLDS_LEFT_OUT, Study, questions_left


class Aside(msgspec.Struct, frozen=True):
    """Money in minor units, beyond the best look on offer; 0 where it is not clearly more."""

    follow: TraceView | None = None
    """A path on which a signal may be followed to tell suspects apart."""
    follow_gain: float = 0.0
    tools: tuple[str, ...] = ()
    """Tools that would make a look possible which gains clearly more than those on offer."""
    tool_question: str = ""
    tool_gain: float = 0.0
    again: str = ""
    """Question of a function that read bad, likelier by mistake than by any one fault; empty where there is none."""
    again_chance: float = 0.0


def aside_of(bench: BenchFile, number: int) -> Aside:
    """What else there is to do with a unit whose class is known; raises `Refused` where there is no such unit."""
    found = study_of(bench, number)
    paths = worth_following(bench, number)
    plain = Aside(next(iter(paths), None))
    if found.action is None:
        return plain
    again = may_look_again(found.device_class, found.case.record)
    if not (paths or again or any(entry.kind == "tool" for entry in found.action.locked)):
        return plain
    situation = Situation(found.network, replay(found.network, found.state.events))
    seen = worlds_in(situation, WORLDS_LEFT_OUT, at_most=MOST_WORLDS)
    if seen is None:
        return plain
    ways = Ways(found.case, seen, found.action.locked)
    best_look = max([0.0, *(entry.net_gain for entry in found.action.ranking)])
    return _doubted(_with_tool(_with_path(plain, paths, found, ways, best_look), found, ways, best_look), found, ways)


def _with_path(aside: Aside, paths: Sequence[TraceView], found: Study, ways: Ways, best_look: float) -> Aside:
    gains = [_following(found, ways, path) - best_look for path in paths]
    if not gains or max(gains) < ways.clear_gain:
        return aside
    return msgspec.structs.replace(aside, follow=paths[gains.index(max(gains))], follow_gain=max(gains))


def _following(found: Study, ways: Ways, view: TraceView) -> float:
    path = found.device_class.path(view.path)
    stretches = [Stretch(*shows_between(found.device_class, path, first, last)) for first, last in pairwise(view.edges)]
    return ways.gain_of_following(stretches[:-1], view.minutes)


def _with_tool(aside: Aside, found: Study, ways: Ways, best_look: float) -> Aside:
    tool = ways.best_tool()
    if tool is None or tool.gain - best_look < ways.clear_gain:
        return aside
    question = found.device_class.check(tool.check).question
    return msgspec.structs.replace(aside, tools=tool.tools, tool_question=question, tool_gain=tool.gain - best_look)


def _doubted(aside: Aside, found: Study, ways: Ways) -> Aside:
    doubt = ways.false_alarm()
    if doubt is None or (found.action is not None and found.action.check == doubt.check):
        return aside
    if doubt.check not in {check.id for check in questions_left(found)}:
        return aside  # a hazard holds it back, or it takes what the person lacks
    question = found.device_class.check(doubt.check).question
    return msgspec.structs.replace(aside, again=question, again_chance=doubt.chance)
