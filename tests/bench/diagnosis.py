"""How long one unit takes to think about, against a general library for exact inference, with equal numbers.

    .venv/bin/pip install -e '.[bench]' && .venv/bin/python tests/bench/diagnosis.py [--units N] [--classes A,B]

Three tables: the chances of all faults after some answers, and the same after every further answer of every check
(both against pyagrum, the fastest of three of its engines for each class; both keep the network from case to case);
the whole step that a key press costs; and 40 faults x 40 checks. Times are processor time, the best of several runs,
with one thread each; a case's numbers must agree to 1e-9 or the run stops.
"""

from __future__ import annotations

import argparse
import math
import random
import statistics
import time
from functools import partial

from triage.device_classes.loader import load_classes
from triage.diagnosis import Answered, Check, Fault, Network, believe, foresee, gate_open, posterior, replay, worlds
from triage.lot import Happening, Unit
from triage.network import network_of
from triage.person import Person
from triage.study import Facts, study
from triage.worth import opens

ENGINES = ("LazyPropagation", "ShaferShenoyInference", "VariableElimination")
KNOWN_FAULTY = 0.9
ANSWERS = (0, 3, 6, 10)


def loaded():
    """The library, loaded after `triage` has asked for one thread of the linear algebra below both."""
    import pyagrum  # noqa: PLC0415

    pyagrum.setNumberOfThreads(1)
    return pyagrum


def best_of(work, runs=5):
    """Milliseconds of the quickest of some runs, and what the last of them came to."""
    times = []
    for _ in range(runs):
        start = time.process_time()
        result = work()
        times.append(time.process_time() - start)
    return 1000.0 * min(times), result


class Library:
    """The same network in pyagrum; `known_faulty` as evidence on a chain of ORs over the faults."""

    def __init__(self, network, engine):
        pyagrum = loaded()
        self.network = network
        net = pyagrum.BayesNet()
        for condition in network.conditions:
            net.add(pyagrum.LabelizedVariable(condition.id, "", 2))
            net.cpt(condition.id).fillWith([1.0 - condition.prior, condition.prior])
        for fault in network.faults:
            self._noisy(net, f"fault {fault.id}", fault.prior)
            for condition in network.conditions:
                if fault.id in condition.raises:
                    net.addWeightedArc(condition.id, f"fault {fault.id}", condition.raises[fault.id])
        for check in network.checks:
            self._noisy(net, f"check {check.id}", check.leak)
            for fault, strength in check.links.items():
                net.addWeightedArc(f"fault {fault}", f"check {check.id}", strength)
        above = None
        for fault in network.faults:
            self._noisy(net, f"any {fault.id}", 0.0)
            net.addWeightedArc(f"fault {fault.id}", f"any {fault.id}", 1.0)
            if above is not None:
                net.addWeightedArc(above, f"any {fault.id}", 1.0)
            above = f"any {fault.id}"
        self.any = above
        plain = posterior(unconditioned(network), [])
        none = plain.p_no_fault
        self.weights = [(1.0 - KNOWN_FAULTY) / none, KNOWN_FAULTY / (1.0 - none)]
        self.net = net
        self.engine = getattr(pyagrum, engine)(net)
        for fault in network.faults:
            self.engine.addTarget(f"fault {fault.id}")
        for check in network.checks:
            self.engine.addTarget(f"check {check.id}")

    @staticmethod
    def _noisy(net, name, leak):
        net.addNoisyORNet(loaded().LabelizedVariable(name, "", 2), leak)

    def _set(self, events):
        self.engine.eraseAllEvidence()
        top = max(self.weights)
        self.engine.addEvidence(self.any, [weight / top for weight in self.weights])
        for event in events:
            misread = self.network.check(event.check).misread
            pair = [misread, 1.0 - misread]
            self.engine.addEvidence(f"check {event.check}", pair if event.answer == "bad" else pair[::-1])

    def posterior(self, events):
        """Fault id to its chance."""
        self._set(events)
        self.engine.makeInference()
        return {fault.id: float(self.engine.posterior(f"fault {fault.id}")[1]) for fault in self.network.faults}

    def foresee(self, events, checks):
        """Check id to (chance of bad, chances after bad, chances after good)."""
        found = {}
        self._set(events)
        self.engine.makeInference()
        for check in checks:
            bad = float(self.engine.posterior(f"check {check.id}")[1])
            found[check.id] = [bad * (1.0 - check.misread) + (1.0 - bad) * check.misread]
        for check in checks:
            for answer in ("bad", "good"):
                found[check.id].append(self.posterior([*events, Answered(check.id, answer)]))
        return found


def unconditioned(network):
    """The network before it is known to be faulty."""
    return Network(network.faults, network.checks, network.conditions)


def answered(network, count, chance):
    """Answers of an invented faulty unit to some checks without cures, gates kept."""
    present = set()
    while not present:
        present = {fault.id for fault in network.faults if chance.random() < fault.prior}
    events = []
    while len(events) < count:
        latest = replay(network, events).latest
        left = [c for c in network.checks if c.id not in latest and not c.cures and gate_open(c, latest)]
        if not left:
            break
        check = chance.choice(left)
        quiet = 1.0 - check.leak
        for fault in check.links.keys() & present:
            quiet *= 1.0 - check.links[fault]
        events.append(Answered(check.id, "good" if chance.random() < quiet else "bad"))
    return events


def same(ours, theirs, what):
    """Stop where the numbers differ."""
    worst = max(abs(ours[name] - theirs[name]) for name in ours)
    if worst > 1e-9:
        raise SystemExit(f"{what}: the numbers differ by {worst:.1e}")


def against_library(classes, units):
    """Posterior and one-step look, ours and theirs, class by class."""
    print(f"{'class':18} {'answers':>7} {'posterior ms':>23} {'ratio':>6} {'one step ms':>23} {'ratio':>6}  engine")
    ratios: dict[int, list[tuple[float, float]]] = {}
    for device_class in classes.values():
        network = network_of(device_class, known_faulty=KNOWN_FAULTY)
        chance = random.Random(f"{device_class.id} 1")
        cases = [answered(network, count, chance) for count in ANSWERS for _ in range(units)]
        libraries = [Library(network, engine) for engine in ENGINES]
        speed = [sum(best_of(partial(k.posterior, e), 2)[0] for e in cases[:: max(1, units)]) for k in libraries]
        library = libraries[speed.index(min(speed))]
        for count in ANSWERS:
            rows = []
            for events in cases[ANSWERS.index(count) * units : (ANSWERS.index(count) + 1) * units]:
                mine, belief = best_of(partial(posterior_only, network, events))
                theirs, chances = best_of(partial(library.posterior, events))
                same(belief.present, chances, f"{device_class.id} posterior")
                latest = replay(network, events).latest
                asked = [c for c in network.checks if c.id not in latest and not c.cures and gate_open(c, latest)]
                step, ahead = best_of(partial(foresee, network, events))
                other, found = best_of(partial(library.foresee, events, asked), 2)
                for check in asked:
                    bad, if_bad, if_good = found[check.id]
                    same({"bad": ahead[check.id].bad}, {"bad": bad}, f"{device_class.id} {check.id}")
                    same(ahead[check.id].if_bad, if_bad, f"{device_class.id} {check.id} bad")
                    same(ahead[check.id].if_good, if_good, f"{device_class.id} {check.id} good")
                rows.append((mine, theirs, step, other))
            mine, theirs, step, other = (statistics.median(column) for column in zip(*rows, strict=True))
            ratios.setdefault(count, []).append((theirs / mine, other / step))
            print(
                f"{device_class.id:18} {count:7} {mine:10.2f} : {theirs:10.2f} {theirs / mine:6.1f}"
                f" {step:10.2f} : {other:10.2f} {other / step:6.1f}  {type(library.engine).__name__}",
                flush=True,
            )
    for name, pairs in [*ratios.items(), ("all", [pair for each in ratios.values() for pair in each])]:
        one, ahead = (statistics.mean(column) for column in zip(*pairs, strict=True))
        print(f"{'mean':18} {name:>7} {'':23} {one:6.1f} {'':23} {ahead:6.1f}")


def posterior_only(network, events):
    """The chances alone, as the whole step asks for them."""
    return believe(network, replay(network, events), details=False)


class Bench:
    """One invented faulty unit whose advice is followed; every step is one set of facts."""

    def __init__(self, device_class, seed):
        self.device_class = device_class
        self.chance = random.Random(f"{device_class.id} {seed}")
        network = network_of(device_class)
        self.present = set()
        while not self.present:
            self.present = {fault.id for fault in network.faults if self.chance.random() < fault.prior}
        self.unit = Unit(1, 1, device_class.id, device_class.id)
        self.person = Person("EUR", hour_worth=self.chance.choice([0, 300, 1200]))
        self.happenings = []
        for hazard in device_class.hazards:
            self._note("hazard", hazard.id, "no")

    def _note(self, kind, subject, answer):
        self.happenings.append(Happening(len(self.happenings) + 1, 1, "", kind, subject, answer))

    def facts(self):
        return Facts(self.unit, tuple(self.happenings), self.person)

    def follow(self, found):
        """Do what is advised, or any other open look where the advice is to stop; False where there is none."""
        action, device_class = found.action, self.device_class
        if action.action == "repair":
            if opens(device_class, action.faults) and not found.state.case_open:
                self._note("case", "", "opened")
            self._note("repair", " ".join(action.faults), "done")
            self._cure(action.faults)
            return True
        left = [entry.check for entry in action.ranking]
        check_id = action.check if action.action == "check" else self.chance.choice(left) if left else None
        if check_id is None:
            return False
        check = device_class.check(check_id)
        if check.state == "opened" and not found.state.case_open:
            self._note("case", "", "opened")
        quiet = 1.0 - check.leak
        for fault in check.fails.keys() & self.present:
            quiet *= 1.0 - check.fails[fault]
        self._note("answer", check.id, "good" if self.chance.random() < quiet else "bad")
        self._cure(check.cures)
        return True

    def _cure(self, faults):
        for fault in faults:
            if self.chance.random() < self.device_class.fault(fault).success:
                self.present.discard(fault)


def whole_step(classes, units):
    """One study of a unit, from the facts to the advice, while the advice is followed for up to 14 steps.

    All steps are gone through five times over and each counts with its best, so that a busy moment of the machine does
    not fall on one class alone.
    """
    steps = []
    for device_class in classes.values():
        for seed in range(units):
            bench = Bench(device_class, seed)
            for _ in range(14):
                facts = bench.facts()
                found = study(device_class, facts)
                steps.append([device_class, facts, bool(found.case.record.repairs), math.inf])
                if found.action is None or not bench.follow(found):
                    break
    for _ in range(5):
        for step in steps:
            step[3] = min(step[3], best_of(partial(study, step[0], step[1]), 1)[0])
    print(
        f"\n{'class':18} {'faults':>6} {'checks':>6} {'steps':>6} {'median ms':>10} {'p95 ms':>8} {'p95 repaired':>13}"
    )
    for device_class in classes.values():
        mine = sorted(took for one, _, _, took in steps if one is device_class)
        repaired = sorted(took for one, _, after, took in steps if one is device_class and after)
        print(
            f"{device_class.id:18} {len(device_class.faults):6} {len(device_class.checks):6} {len(mine):6}"
            f" {statistics.median(mine):10.2f} {high(mine):8.2f} {high(repaired):13.2f}"
        )
    everything = sorted(took for *_, took in steps)
    print(f"{'all':18} {'':6} {'':6} {len(everything):6} {statistics.median(everything):10.2f} {high(everything):8.2f}")


def high(times):
    """The 95th of a hundred; 0 for none."""
    return times[int(0.95 * len(times))] if times else 0.0


def large():
    """40 faults x 40 checks, all answered, up to 10 bad; with class-file doubt every good answer is uncertain too."""
    print(f"\n{'40 x 40':24} {'bad':>4} {'posterior ms':>13} {'one step ms':>12} {'worlds ms':>10} {'worlds':>7}")
    for name, links, persistence, flip, answers in (
        ("answers taken as said", 5, 0.0, 0.0, 40),
        ("doubt as in class files", 5, 0.8, 0.02, 40),
    ):
        for bad in (0, 3, 6, 10):
            chance = random.Random(f"large {bad}")
            ids = [f"f{i}" for i in range(40)]
            network = Network(
                tuple(Fault(fault, chance.uniform(0.01, 0.1), 0.9) for fault in ids),
                tuple(
                    Check(
                        f"c{j}",
                        chance.uniform(0.01, 0.05),
                        {fault: chance.uniform(0.5, 0.95) for fault in chance.sample(ids, links)},
                        persistence=persistence,
                        flip=flip,
                    )
                    for j in range(40)
                ),
                known_faulty=KNOWN_FAULTY,
            )
            events = [Answered(f"c{j}", "bad" if j < bad else "good") for j in range(answers)]
            took, _ = best_of(partial(posterior_only, network, events), 2)
            step, _ = best_of(partial(foresee, network, events), 1)
            search, found = best_of(partial(worlds, network, events, 1e-3, at_most=4000), 1)
            print(f"{name:24} {bad:4} {took:13.2f} {step:12.2f} {search:10.2f} {len(found.weight):7}", flush=True)


def main():
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--units", type=int, default=3, help="invented units a class and number of answers")
    parser.add_argument("--classes", default="", help="class ids, separated by commas; all without it")
    parser.add_argument("--only", choices=["library", "step", "large"], help="one of the three tables")
    chosen = parser.parse_args()
    classes = load_classes()
    if chosen.classes:
        classes = {name: classes[name] for name in chosen.classes.split(",")}
    if chosen.only in {None, "library"}:
        against_library(classes, chosen.units)
    if chosen.only in {None, "step"}:
        whole_step(classes, chosen.units)
    if chosen.only in {None, "large"}:
        large()


if __name__ == "__main__":
    main()
