"""How quick finding is, beside a full comparison of every text by rapidfuzz in the same run. Run by hand:

    .venv/bin/python tests/bench/search.py 20000 200000 1000000 --seed 1 --queries 60

For each size it prints how long the index takes and how much memory, then for the text stage alone (`find --text-only`)
p50 and p95 of ours and of `process.extract` with `WRatio` over all strings (normalised alike for both), their ratio at
the median, recall@10 (the share of the ten best `WRatio` scores that ours reaches) and how often the best score is the
same; the same for FTS5 trigrams, the way that was not taken; the whole search with reading and judging; what one
changed part costs; and the longest gap of an asyncio loop while a worker thread answers a person who types.
"""

from __future__ import annotations

import argparse
import asyncio
import random
import resource
import sqlite3
import statistics
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from importlib import import_module
from pathlib import Path

import msgspec
from rapidfuzz import fuzz, process

from catalog.describe import read
from catalog.finder import Index
from catalog.fit import fit
from catalog.pricelists import described
from catalog.search import search_form
from catalog.segments import Row
from catalog.store import spec_text

sys.path.insert(0, str(Path(__file__).parent))
stock = import_module("stock")  # lies beside this file; a script's neighbours are no package

NEAR = 0.001
"""Scores are 32-bit floats on one side and 64-bit on the other."""


def resident() -> float:
    """Megabytes in use now."""
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith("VmRSS"):
            return int(line.split()[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def timed(job, *args):
    start = time.perf_counter()
    result = job(*args)
    return result, 1000 * (time.perf_counter() - start)


def spread(times):
    return f"p50 {statistics.median(times):8.2f} ms   p95 {statistics.quantiles(times, n=20)[-1]:8.2f} ms"


def rows_of(count, seed):
    """Rows as the program keeps them. Equal descriptions are read once here; that is not what is measured."""
    known = {}
    for number, row in enumerate(stock.part_rows(count, seed), start=1):
        text = row["description"]
        if text not in known:
            known[text] = described(text, "", "", read)
        what = known[text]
        spec = msgspec.structs.replace(what.spec, part_number=row["part_number"]) if what.spec else None
        form = search_form(f"{row['part_number']} {text} {what.kind if what.kind not in text else ''}")
        yield Row(number, row["part_number"], spec_text(spec), row["quantity"] != "0", form), text


def reached(scores, exact):
    return sum(ours >= best - NEAR for ours, best in zip(scores, exact, strict=False)) / len(exact)


def text_stage(index, texts, asked):
    ours, full, recall, same = [], [], [], 0
    by_sort = {}
    for sort, query in asked:
        form = search_form(query)
        exact, slow = timed(lambda form=form: process.extract(form, texts, scorer=fuzz.WRatio, limit=10))
        found, quick = timed(lambda query=query: index.alike(query, 10))
        best = [score for _, score, _ in exact]
        share = reached([one.score for one in found], best)
        ours.append(quick)
        full.append(slow)
        recall.append(share)
        same += bool(found) and found[0].score >= best[0] - NEAR
        by_sort.setdefault(sort, []).append(share)
    ratio = statistics.median(full) / statistics.median(ours)
    print(f"  every text       {spread(full)}")
    print(f"  text stage       {spread(ours)}   {ratio:.0f} times faster at the median")
    print(f"  recall@10 {statistics.mean(recall):.3f}, best score the same in {same} of {len(asked)}")
    print("  recall by sort   " + ", ".join(f"{sort} {statistics.mean(held):.3f}" for sort, held in by_sort.items()))


def fts(texts, asked):
    """FTS5 trigrams with the rarest first: the other way, rescored likewise."""
    database = sqlite3.connect(":memory:")
    database.execute("CREATE VIRTUAL TABLE t USING fts5(text, tokenize='trigram', detail='none')")
    _, built = timed(lambda: database.executemany("INSERT INTO t (rowid, text) VALUES (?, ?)", enumerate(texts)))

    def ask(form):
        grams = {form[at : at + 3] for at in range(len(form) - 2)}
        match = " OR ".join('"' + gram.replace('"', '""') + '"' for gram in grams)
        rows = database.execute("SELECT rowid FROM t WHERE t MATCH ? ORDER BY rank LIMIT 1500", (match,)).fetchall()
        return process.extract(form, [texts[row] for (row,) in rows], scorer=fuzz.WRatio, limit=10)

    times, recall = [], []
    for _, query in asked:
        form = search_form(query)
        if len(form) < 3:
            continue
        found, quick = timed(ask, form)
        times.append(quick)
        exact = process.extract(form, texts, scorer=fuzz.WRatio, limit=10)
        recall.append(reached([score for _, score, _ in found], [score for _, score, _ in exact]))
    print(
        f"  FTS5 trigrams    {spread(times)}   recall@10 {statistics.mean(recall):.3f}, built in {built / 1000:.1f} s"
    )


def whole(index, asked):
    times, again = [], []
    for _, query in asked:
        times.append(timed(lambda query=query: index.find(query, 200, reader=read, judge=fit))[1])
        again.append(timed(lambda query=query: index.find(f"{query} x", 200, reader=read, judge=fit))[1])
    print(f"  whole search     {spread(times)}   (read, judged, 200 hits)")
    print(f"  typed on         {spread(again)}")


def changes(index, rows, seed):
    chance = random.Random(seed)
    times = []
    for _ in range(200):
        row = chance.choice(rows)
        moved = msgspec.structs.replace(row, search=f"{row.search} moved")
        start = time.perf_counter()
        index = index.changed({row.key}, [moved])
        times.append(1000 * (time.perf_counter() - start))
    print(f"  one part changed {spread(times)}   {index.segments} segments after 200 changes")


async def typing(index, asked):
    """Keystrokes 60 ms apart, each search cancelled by the next; the loop is looked at every 2 ms, first while idle."""
    gaps, answers = [], []
    ended = False

    async def watch():
        last = time.perf_counter()
        while not ended:
            await asyncio.sleep(0.002)
            now = time.perf_counter()
            gaps.append(1000 * (now - last) - 2)
            last = now

    watcher = asyncio.create_task(watch())
    await asyncio.sleep(5)
    idle, gaps[:] = max(gaps), []
    loop, turn, latest = asyncio.get_running_loop(), 0, [0]
    with ThreadPoolExecutor(1) as room:
        for _, query in asked[:12]:
            for end in range(1, len(query) + 1):
                latest[0] = turn = turn + 1

                def search(text=query[:end], mine=turn):
                    return index.find(text, 200, reader=read, judge=fit, cancelled=lambda: mine != latest[0])

                start = time.perf_counter()
                job = loop.run_in_executor(room, search)
                job.add_done_callback(lambda _, start=start: answers.append(1000 * (time.perf_counter() - start)))
                await asyncio.sleep(0.06)
        await job
    ended = True
    await watcher
    gaps.sort()
    print(f"  typing           {turn} keys, answer {spread(answers)}")
    print(
        f"  gaps of the loop longest {gaps[-1]:.1f} ms, 1 in 100 {gaps[-len(gaps) // 100]:.1f} ms; idle {idle:.1f} ms"
    )


def measure(size, args):
    before = resident()
    pairs = list(rows_of(size, args.seed))
    rows = [row for row, _ in pairs]
    texts = [row.search for row in rows]
    listed = resident()
    worked = time.process_time()
    index, built = timed(Index.of, rows)
    worked = time.process_time() - worked
    print(f"\n{size:,} parts (seed {args.seed}), mean {statistics.mean(map(len, texts)):.0f} characters")
    more = resident() - listed
    print(f"  index built in {built / 1000:.2f} s, {worked:.2f} s of them at work")
    print(f"  {more:.0f} MB beside {listed - before:.0f} MB of rows")
    asked = stock.queries([(row.number, text) for row, text in pairs], args.queries, args.seed + 1)
    del pairs
    text_stage(index, texts, asked)
    if args.fts:
        fts(texts, asked)
    whole(index, asked)
    changes(index, rows, args.seed + 2)
    asyncio.run(typing(index, asked))


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("sizes", nargs="*", type=int, default=[20_000, 200_000])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--queries", type=int, default=60)
    parser.add_argument("--fts", action="store_true", help="also measure FTS5 trigrams")
    args = parser.parse_args()
    for size in args.sizes:
        measure(size, args)


if __name__ == "__main__":
    main()
