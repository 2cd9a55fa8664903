"""Probes along a path as evidence, against plain enumeration; and the point to probe next, against every strategy."""

import itertools
import math
from functools import cache

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from triage.device_classes.loader import load_classes
from triage.device_classes.schema import DeviceClass, Fault, Path, PathPoint
from triage.diagnosis import posterior
from triage.evidence import events_of
from triage.lot import Happening, Unit
from triage.network import network_of
from triage.path_evidence import LEAK, LEVELS, PERSISTENCE, SLIP, STOPS, UNPROVEN, lasting, runs_of, stretch_checks
from triage.tracing import Gap, first_bad, gaps, next_point

MISREAD = PERSISTENCE * SLIP
PRIORS = (0.05, 0.2, 0.4, 0.1, 0.3)


def chain(stages, before=0):
    """A class of nothing but one path, a fault a stage, and `before` faults ahead of it."""
    faults = [
        Fault(f"f{place}", f"part {place}", "P", 10.0, 1, "L", 0.9, prior=PRIORS[place])
        for place in range(stages + before)
    ]
    path = Path(
        "signal",
        "in to out",
        "P",
        tuple(PathPoint(f"p{place}", f"point {place}", 1.0) for place in range(stages + 1)),
        tuple((f"f{place}",) for place in range(stages)),
        tuple(f"f{stages + place}" for place in range(before)),
    )
    return DeviceClass("c", "chain", "P", 10, 0.5, 0.1, 5, False, ("chain",), (), (), tuple(faults), (), paths=(path,))


def told(*probes):
    """(point, level) in time as happenings; a tuple of faults is a repair of them."""
    return [
        Happening(place, 1, "", "repair", " ".join(probe), "done")
        if isinstance(probe[0], str)
        else Happening(place, 1, "", "probe", f"signal.p{probe[0]}", probe[1])
        for place, probe in enumerate(probes, 1)
    ]


def believed(device_class, happenings, known_faulty=None):
    network = network_of(device_class, known_faulty=known_faulty, more=stretch_checks(device_class, happenings))
    return posterior(network, events_of(device_class, Unit(1, 1, "c", "c"), happenings)).present


def by_enumeration(stages, before, probes):
    """The same from the words of the rule, without anything of the program: probes as {point: level}."""
    ids = [f"f{place}" for place in range(stages + before)]
    order = {"gone": 0, "weak": 1, "there": 2}
    stretches = []
    for point, level in probes.items():
        nearer = sorted((other for other in probes if other < point), reverse=True)
        if level == "gone":
            if nearer and probes[nearer[0]] == "gone":
                continue
            start = nearer[0] if nearer else None
        else:
            start = next((other for other in nearer if order[probes[other]] >= order[level]), None)
        worse = order[level] < (2 if start is None else order[probes[start]])
        stretches.append((start, point, worse))
    weights = dict.fromkeys(ids, 0.0)
    total = 0.0
    for present in itertools.product((False, True), repeat=len(ids)):
        weight = math.prod(prior if there else 1.0 - prior for prior, there in zip(PRIORS, present, strict=False))
        for start, point, worse in stretches:
            leak = UNPROVEN if start is None and not before else LEAK
            inside = [*range(start or 0, point), *(range(stages, stages + before) if start is None else ())]
            bad = 1.0 - (1.0 - leak) * math.prod(1.0 - STOPS for stage in inside if present[stage])
            says_bad = bad * (1.0 - MISREAD) + (1.0 - bad) * MISREAD
            weight *= says_bad if worse else 1.0 - says_bad
        total += weight
        for name, there in zip(ids, present, strict=True):
            weights[name] += weight if there else 0.0
    return {name: weight / total for name, weight in weights.items()}


@given(st.integers(1, 4), st.integers(0, 1), st.data())
@settings(max_examples=150)
def test_probes_weigh_as_plain_enumeration_says(stages, before, data):
    probes = data.draw(st.dictionaries(st.integers(0, stages), st.sampled_from(LEVELS), max_size=stages + 1))
    order = data.draw(st.permutations(list(probes.items())))
    got = believed(chain(stages, before), told(*order))
    assert got == pytest.approx(by_enumeration(stages, before, dict(order)), abs=1e-9)


def test_the_latest_word_on_a_point_counts_and_nothing_twice():
    device_class = chain(3)
    once = believed(device_class, told((0, "there"), (2, "gone"), (1, "there")))
    twice = believed(device_class, told((0, "there"), (2, "there"), (1, "there"), (2, "gone"), (2, "gone")))
    assert twice == pytest.approx(once, abs=1e-12)


def test_in_before_and_gone_behind_blames_the_part_between():
    got = believed(chain(4), told((1, "there"), (2, "gone")))
    assert got["f1"] > 0.85
    assert got["f0"] < 0.01
    assert got["f3"] == pytest.approx(PRIORS[3])  # behind it nothing was tested


def test_the_same_before_and_behind_clears_a_part_though_it_is_weak_already():
    got = believed(chain(3), told((0, "there"), (1, "weak"), (2, "weak")))
    assert got["f0"] > 0.5
    assert got["f1"] < 0.05


def test_two_faults_in_a_row_are_both_found():
    got = believed(chain(3), told((0, "there"), (1, "weak"), (3, "gone"), (2, "weak")))
    assert got["f0"] > 0.5
    assert got["f2"] > 0.9
    assert got["f1"] < 0.05


def test_a_probe_that_slipped_is_outweighed_by_the_signal_further_on():
    got = believed(chain(3), told((0, "there"), (1, "gone"), (3, "there"), (2, "there")))
    assert max(got.values()) < 0.3
    [run] = runs_of(chain(3), chain(3).paths[0], told((0, "there"), (1, "gone"), (3, "there")))
    assert [place for place, _ in lasting(run)] == [0, 3]


def test_after_a_repair_the_path_is_probed_afresh_and_the_old_word_stays():
    device_class = chain(3)
    before = told((0, "there"), (2, "gone"), (1, "there"))
    repaired = believed(device_class, [*before, *told(("f1",))])
    assert repaired["f1"] == pytest.approx(0.1 * believed(device_class, before)["f1"], rel=1e-6)
    again = believed(device_class, told((0, "there"), (2, "gone"), (1, "there"), ("f1",), (0, "there"), (3, "gone")))
    assert again["f2"] > again["f1"]
    runs = runs_of(device_class, device_class.paths[0], told((0, "there"), ("f1",), (3, "gone")))
    assert [sorted(run.seen) for run in runs] == [[0], [3]]


def test_an_answer_of_a_check_at_a_point_counts_once():
    console = load_classes()["cart_console"]
    seen = [
        Happening(1, 1, "", "answer", "led", "good"),
        Happening(2, 1, "", "answer", "picture", "bad"),
        Happening(3, 1, "", "probe", "picture.chip_out", "there"),
    ]
    events = events_of(console, Unit(1, 1, console.id, ""), seen)
    assert [event.check for event in events] == ["led", "picture", "picture.>chip_out"]
    network = network_of(console, more=stretch_checks(console, seen))
    assert set(network.checks[-1].links) == {"custom_ic", "crystal"}
    alone = posterior(network_of(console), events[:2]).present
    traced = posterior(network, events).present
    assert traced["rf_stage"] > alone["rf_stage"]
    assert traced["custom_ic"] < alone["custom_ic"]


def test_a_point_the_class_does_not_have_is_no_event():
    seen = [Happening(1, 1, "", "probe", "signal.p9", "gone"), Happening(2, 1, "", "probe", "p1", "gone")]
    assert events_of(chain(2), Unit(1, 1, "c", "c"), seen) == ()


# --- where to probe next -----------------------------------------------------------------------------------------


def follow(weights, costs, inside, opening, bad):
    """Probe as `next_point` says while place `bad` is the first bad one, until nothing is left to probe."""
    points, levels, opened, total = len(weights) - 1, {}, False, 0.0
    while True:
        [gap] = gaps(sorted(levels.items()), points)
        known = {point: cost for point, cost in costs.items() if point not in levels}
        best = next_point(gap, weights, known, inside=inside, opening=0.0 if opened else opening)
        if best is None:
            return total, gap
        first = best.point in inside and not opened
        total += costs[best.point] + (opening if first else 0.0)
        opened = opened or first
        levels[best.point] = 2 if best.point < bad else 0


def cheapest(weights, costs, inside, opening):
    """Least expected cost over every strategy, by trying every next point in every state."""
    places = range(len(weights))

    @cache
    def rest(low, high, opened):
        cuts = [point for point in costs if low <= point < high]
        if not cuts:
            return 0.0
        mass = sum(weights[low : high + 1])
        return min(
            mass * (costs[point] + (opening if point in inside and not opened else 0.0))
            + rest(low, point, opened or point in inside)
            + rest(point + 1, high, opened or point in inside)
            for point in cuts
        )

    return rest(places[0], places[-1], False)


@given(st.integers(2, 5), st.data())
@settings(max_examples=100)
def test_following_the_proposals_costs_least(points, data):
    weights = data.draw(st.lists(st.integers(1, 20), min_size=points + 1, max_size=points + 1))
    costs = data.draw(st.dictionaries(st.integers(0, points - 1), st.integers(1, 9), min_size=1))
    inside = data.draw(st.sets(st.sampled_from(sorted(costs))))
    opening = data.draw(st.integers(0, 8))
    total = 0.0
    for bad, weight in enumerate(weights):  # place `bad` is ahead of point `bad`
        cost, gap = follow(weights, costs, inside, opening, bad)
        total += weight * cost
        assert gap.start < bad <= gap.end
        assert not [point for point in costs if gap.start < point < gap.end]
    assert total == pytest.approx(cheapest(tuple(weights), costs, frozenset(inside), opening))


def test_gaps_from_the_source_on():
    assert gaps([], 4) == (Gap(-1, 4),)
    assert gaps([(0, 2)], 4) == (Gap(0, 4),)
    assert gaps([(0, 2), (3, 0)], 4) == (Gap(0, 3),)
    assert gaps([(0, 2), (1, 1), (3, 0)], 4) == (Gap(0, 1), Gap(1, 3))
    assert gaps([(1, 0), (2, 0)], 4) == (Gap(-1, 1),)


@given(st.lists(st.floats(0, 1), max_size=5))
def test_first_bad_is_a_distribution(chances):
    found = first_bad(chances)
    assert len(found) == len(chances) + 1
    assert sum(found) == pytest.approx(1.0)


def test_every_path_of_every_class_has_points_to_probe_and_suspects_of_its_class():
    for device_class in load_classes().values():
        for path in device_class.paths:
            known = {fault.id for fault in device_class.faults}
            assert {*path.before, *(fault for between in path.between for fault in between)} <= known
            assert not set(path.before) & {fault for between in path.between for fault in between}
            assert not [point for point in path.points if msgspec.structs.asdict(point)["minutes"] <= 0]
