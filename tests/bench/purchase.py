"""How long the parts order takes, against the plain formulation and against a second solver, in one run.

By hand: `.venv/bin/python tests/bench/purchase.py --sizes 20x4 80x8 --seeds 1 2 3`. Not collected by pytest; nothing
is asserted about times. Seconds are those of the processor (every solver runs on one thread), so that other work on
the machine moves them little. All three ways must find the same optimum, else the run ends with an error.

The plain formulation is the textbook one: a price range is chosen by one yes-or-no column with a big bound, pieces are
tied to packs only in sum, no need is merged, no offer left out beforehand. Same solver, same settings as the program.
The second solver is CP-SAT (`pip install -e '.[second]'`) on the program's own rows; it is left out where it is not
installed.
"""

from __future__ import annotations

import argparse
import random
import statistics
import time
from collections import defaultdict

from catalog import purchase, solver
from catalog.model import Model
from catalog.pricing import Discount, PriceStep, segments
from catalog.purchase_data import Accept, Need, Offer, OrderUnit, PurchaseProblem, Supplier
from catalog.purchase_rows import PurchaseRows, rework_of_piece, usable

SIZES = {"20x4": (20, 4), "80x8": (80, 8), "200x12": (200, 12), "500x12": (500, 12)}


def generated(lines: int, suppliers: int, seed: int) -> PurchaseProblem:
    """An invented order: `lines` needs of about 2.5 units each, offered by two fifths of `suppliers`.

    Packs of 1, 5 and 10, one or two price breaks on seven offers in ten (one in ten of them incremental), stock limits,
    fewest packs, free postage, smallest orders, deadlines, waiting, and a substitute for one need in five.
    """
    draw = random.Random(1000 * lines + seed)
    senders = []
    for index in range(suppliers):
        lead = draw.choice([1, 2, 3, 4, 5, 7, 9, 12, 15, 21])
        shipping = draw.choice([0, 250, 395, 490, 650, 900])
        senders.append(
            Supplier(
                id=f"S{index}",
                lead_days=lead,
                lead_days_late=lead + draw.choice([0, 1, 2, 4]),
                shipping=shipping,
                free_from=draw.choice([None, 2500, 5000, 8000]) if shipping else None,
                min_order=draw.choice([0, 0, 500, 1000, 1500]),
            )
        )
    products = [f"p{index}" for index in range(max(3, lines * 7 // 10))]
    offers = []
    for product in products:
        base = round(10 ** draw.uniform(1.0, 3.1))
        covered = [sender for sender in senders if draw.random() < 0.4] or [draw.choice(senders)]
        for sender in covered:
            price = max(1, round(base * draw.uniform(0.75, 1.35)))
            steps, reached = [PriceStep(1, price)], price
            if draw.random() < 0.7:
                starts = sorted(draw.sample([5, 10, 25, 50], draw.choice([1, 2])))
                for start in starts:
                    reached = max(1, round(reached * draw.uniform(0.75, 0.95)))
                    steps.append(PriceStep(start, reached))
            pack = draw.choice([1, 1, 1, 5, 10]) if base < 200 else 1
            offers.append(
                Offer(
                    id=f"o{len(offers)}",
                    supplier=sender.id,
                    product=product,
                    steps=tuple(steps),
                    discount=Discount.INCREMENTAL if len(steps) > 1 and draw.random() < 0.1 else Discount.ALL_UNITS,
                    pack_size=pack,
                    min_packs=draw.choice([1, 1, 1, 1, 2]),
                    stock_packs=draw.choice([None, None, 2, 4, 10, 30]),
                )
            )
    units = [
        OrderUnit(
            id=f"u{index}",
            wait_per_day=draw.choice([0, 0, 3, 8, 15, 30]),
            deadline_day=draw.choice([None, None, None, None, 25, 15]),
        )
        for index in range(max(2, lines * 2 // 5))
    ]
    needs = []
    for index in range(lines):
        wanted = draw.sample(products, 2)
        accepts = [Accept(product=wanted[0])]
        if draw.random() < 0.2:
            accepts.append(Accept(product=wanted[1], rework_minutes=draw.choice([3, 5, 10]), grade="rework"))
        needs.append(
            Need(
                id=f"n{index}", unit=draw.choice(units).id, pieces=draw.choice([1, 1, 2, 2, 4]), accepts=tuple(accepts)
            )
        )
    problem = PurchaseProblem(
        suppliers=tuple(senders),
        offers=tuple(offers),
        units=tuple(units),
        needs=tuple(needs),
        labour_per_hour=1200,
    )
    return _possible(problem, draw)


def _possible(problem: PurchaseProblem, draw: random.Random) -> PurchaseProblem:
    """The same, with one sure offer for every product that could run out: what is measured must have a plan."""
    extra = []
    fast = min(problem.suppliers, key=lambda each: each.late)
    for product in sorted({accept.product for need in problem.needs for accept in need.accepts}):
        dear = max((o.steps[0].amount for o in problem.offers if o.product == product), default=500)
        price = round(dear * draw.uniform(1.1, 1.6))
        extra.append(Offer(id=f"sure {product}", supplier=fast.id, product=product, steps=(PriceStep(1, price),)))
    suppliers = tuple(
        Supplier(id=each.id, lead_days=each.lead_days, lead_days_late=each.lead_days_late, shipping=each.shipping)
        if each is fast
        else each
        for each in problem.suppliers
    )
    return PurchaseProblem(
        suppliers=suppliers,
        offers=(*problem.offers, *extra),
        units=problem.units,
        needs=problem.needs,
        labour_per_hour=problem.labour_per_hour,
    )


def plain_model(problem: PurchaseProblem) -> Model:
    """The textbook rows of the same problem."""
    model, suppliers = Model(), {supplier.id: supplier for supplier in problem.suppliers}
    goods, used, takers = defaultdict(list), defaultdict(list), defaultdict(list)
    x = {}
    for need in problem.needs:
        for offer, accept in usable(problem, need):
            cost = rework_of_piece(problem, accept) + accept.penalty
            x[need.id, offer.id] = model.column(cost, high=need.pieces, whole=True)
            takers[offer.id].append(need)
        model.row([(column, 1) for (name, _), column in x.items() if name == need.id], need.pieces, need.pieces)
    everything = sum(need.pieces for need in problem.needs)
    for offer in problem.offers:
        sender, packs, chosen = suppliers[offer.supplier], [], []
        for part in segments(offer.steps, offer.discount, offer.pack_size, offer.min_packs, offer.stock_packs):
            big = everything + (max(sender.free_from or 0, sender.min_order) // max(1, part.amount(1)) + 1)
            high = max(part.low, big) if part.high is None else part.high
            z, y = model.choice(), model.column(high=high, whole=True)
            model.row([(y, 1), (z, -part.low)], low=0)
            model.row([(y, 1), (z, -high)], high=0)
            goods[sender.id] += [(y, float(part.per_pack)), (z, float(part.fixed))]
            packs.append((y, -offer.pack_size))
            chosen.append((z, 1))
            used[sender.id].append((y, high))
        model.row(chosen, high=1)
        model.row([*((x[need.id, offer.id], 1) for need in takers[offer.id]), *packs], high=0)
    for sender in problem.suppliers:
        paid, free = model.choice(sender.shipping), model.choice()
        model.row([(paid, 1), (free, 1)], high=1)
        for y, high in used[sender.id]:
            model.row([(y, 1), (paid, -high), (free, -high)], high=0)
        model.row([*goods[sender.id], (paid, -sender.min_order), (free, -sender.min_order)], low=0)
        if sender.free_from is None:
            model.row([(free, 1)], high=0)
        else:
            model.row([*goods[sender.id], (free, -sender.free_from)], low=0)
        for column, cost in goods[sender.id]:
            model.set_cost(column, model.columns[column].cost + cost)
    for unit in problem.units:
        if unit.wait_per_day:
            day = model.column(unit.wait_per_day)
            for need in (need for need in problem.needs if need.unit == unit.id):
                for offer, _ in usable(problem, need):
                    lead = suppliers[offer.supplier].lead_days
                    late = model.choice()
                    model.row([(x[need.id, offer.id], 1), (late, -need.pieces)], high=0)
                    model.row([(day, 1), (late, -lead)], low=0)
    return model


def second_solver(problem: PurchaseProblem, limit: float) -> float | None:
    """The optimum by CP-SAT on the program's own rows, one worker; None where it is not proven within `limit`."""
    from ortools.sat.python import cp_model  # noqa: PLC0415 - may not be installed

    rows = PurchaseRows(Model(), problem)
    rows.minimise(rows.spent, rows.rework, rows.spares, rows.waiting)
    model = rows.model
    sat = cp_model.CpModel()
    columns = [sat.new_int_var(int(c.low), int(c.high), f"c{index}") for index, c in enumerate(model.columns)]
    for row in model.rows:
        total = sum(int(value) * columns[column] for column, value in row.terms.items())
        if row.low > -1e18:
            sat.add(total >= int(row.low))
        if row.high < 1e18:
            sat.add(total <= int(row.high))
    sat.minimize(sum(int(c.cost) * column for c, column in zip(model.columns, columns, strict=True) if c.cost))
    engine = cp_model.CpSolver()
    engine.parameters.num_workers = 1
    engine.parameters.linearization_level = 2
    engine.parameters.max_time_in_seconds = limit
    status = engine.solve(sat)
    return engine.objective_value if status == cp_model.OPTIMAL else None


def _timed(work):
    began = time.process_time()
    found = work()
    return found, time.process_time() - began


def measure(size: str, seed: int, *, limit: float, second: bool) -> dict[str, float]:
    """One problem all ways, seconds each; raises where two optima differ."""
    problem = generated(*SIZES[size], seed)
    steps: list[tuple[float, float, float]] = []
    began = time.process_time()
    best, own = _timed(
        lambda: purchase.plan(
            problem,
            on_incumbent=lambda seen: steps.append((time.process_time() - began, seen.objective, seen.bound)),
        )
    )
    plain, plainly = _timed(lambda: solver.solve(plain_model(problem), time_limit=limit))
    if plain.status is solver.Status.OPTIMAL and round(plain.objective) != best.total:
        raise SystemExit(f"{size} seed {seed}: {best.total} here, {plain.objective} in the plain formulation")
    other, others = _timed(lambda: second_solver(problem, limit)) if second else (None, 0.0)
    if other is not None and round(other) != best.total:
        raise SystemExit(f"{size} seed {seed}: {best.total} here, {other} by the second solver")
    near = next((at for at, objective, _ in steps if objective <= best.total * 1.001), own)
    early = min((objective for at, objective, _ in steps if at <= 0.5), default=float("inf"))
    print(
        f"{size:>7} seed {seed}: {best.total:>9} {len(problem.offers):>5} offers | here {own:6.2f} s,"
        f" within 0.1 % after {near:5.2f} s, {100 * (early / best.total - 1):6.2f} % off at 0.5 s"
        f" | plain {plainly:6.2f} s{'' if plain.status is solver.Status.OPTIMAL else ' (not proven)'}"
        f" | second {others:6.2f} s{'' if other is not None or not second else ' (not proven)'}",
        flush=True,
    )
    return {"own": own, "plain": plainly, "near": near, "second": others}


def main() -> None:
    """Measure the sizes and seeds asked for, and print the medians."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--sizes", nargs="+", default=["20x4", "80x8"], choices=SIZES)
    asked.add_argument("--seeds", nargs="+", type=int, default=[1, 2, 3])
    asked.add_argument("--limit", type=float, default=60.0, help="seconds for the plain way and the second solver each")
    asked.add_argument("--no-second", action="store_true", help="leave the second solver out")
    given = asked.parse_args()
    try:
        import ortools  # noqa: F401, PLC0415

        second = not given.no_second
    except ImportError:
        second = False
    purchase.plan(generated(3, 2, 0))  # the solver is loaded before anything is measured
    for size in given.sizes:
        all_ways = [measure(size, seed, limit=given.limit, second=second) for seed in given.seeds]
        middle = {name: statistics.median(each[name] for each in all_ways) for name in all_ways[0]}
        ratio = statistics.median(each["own"] / each["plain"] for each in all_ways)
        print(
            f"{size:>7} medians: here {middle['own']:.2f} s, plain {middle['plain']:.2f} s (ratio {ratio:.2f}),"
            f" second {middle['second']:.2f} s, within 0.1 % after {middle['near']:.2f} s",
            flush=True,
        )


if __name__ == "__main__":
    main()
