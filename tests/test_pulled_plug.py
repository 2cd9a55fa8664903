"""The plug is pulled at random moments: what was acknowledged is there, no half action is, the file opens.

The program runs in a process of its own and answers question after question; whenever the screen has moved on it says
so. It is killed without warning (SIGKILL) at a random moment after a few answers, and the file it leaves is looked
over.
"""

import json
import random
import shutil
import signal
import subprocess
import sys
import time
from datetime import date
from pathlib import Path

import pytest

from triage.actions.files import verify
from triage.actions.unit_view import unit_view
from triage.bench_file import BenchFile
from triage.demo import make_demo

TODAY = date(2026, 12, 1)
GROUPS, KILLS = 10, 5  # 50 kills in all
MOST_ANSWERS = 4
LONGEST_WAIT = 0.3
"""Seconds, about what one answer takes: the kill falls anywhere between two acknowledgements."""

EVENING = """
import asyncio, json, random, sys
from datetime import date
from pathlib import Path
from triage.screens.app import LotwrightApp

async def settle(pilot):
    await pilot.pause()
    for _ in range(50):
        await pilot.app.workers.wait_for_complete()
        await pilot.pause()
        if all(worker.is_finished for worker in pilot.app.workers):
            return

async def evening(path, seed):
    draw = random.Random(seed)
    app = LotwrightApp(Path(path), today=date(2026, 12, 1), first_place="bench")
    app.unit_number = draw.choice([1, 5, 6, 7, 10, 11, 14])
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        print(json.dumps({"started": True}), flush=True)
        while True:
            if len(app.screen_stack) > 1:  # a question about what was done stands over the Bench
                await pilot.press("escape")
                await settle(pilot)
            view = app.place._view
            if view.ask_first is not None:
                key = draw.choice("yn")
            elif view.look is not None:
                key = draw.choice("yyynnnccsu")
            else:
                key = draw.choice(["right", "b", "u"])
            number, before = view.unit.number, len(view.done)
            await pilot.press(key)
            await settle(pilot)
            view = app.place._view
            newest = app.bench.journal.history(limit=1)[0]
            said = {"event": newest.id, "summary": newest.summary, "unit": view.unit.number, "done": len(view.done)}
            print(json.dumps(said), flush=True)

asyncio.run(evening(sys.argv[1], int(sys.argv[2])))
"""


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    path = tmp_path_factory.mktemp("demo") / "demo.db"
    make_demo(path, TODAY)
    return path


@pytest.mark.parametrize("group", range(GROUPS))
def test_nothing_acknowledged_is_lost(demo, tmp_path, group):
    draw = random.Random(f"pulled plug {group}")
    acknowledged = 0
    path = tmp_path / "bench.db"
    shutil.copy(demo, path)
    for kill in range(KILLS):  # the same file goes on after every kill, as it would at home
        acks = run_and_kill(
            path, seed=group * 100 + kill, answers=draw.randint(0, MOST_ANSWERS), wait=draw.uniform(0.0, LONGEST_WAIT)
        )
        acknowledged += len(acks)
        with BenchFile(path, today=TODAY) as bench:
            found = verify(bench)
            assert found.ok, found.problems
            assert_no_half_action(bench)
            if acks:
                last = acks[-1]
                events = {event.id: event for event in bench.journal.history(limit=10_000)}
                assert events[last["event"]].summary == last["summary"]
                newer = [event for event in events.values() if event.id > last["event"]]
                assert len(newer) <= 1  # at most the action that was under way
                if not newer:
                    assert len(unit_view(bench, last["unit"]).done) == last["done"]
    assert acknowledged > 0


def run_and_kill(path: Path, *, seed: int, answers: int, wait: float) -> list[dict]:
    """Let the program run for so many answers and `wait` seconds more, kill it, and give what it acknowledged."""
    command = [sys.executable, "-c", EVENING, str(path), str(seed)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as program:
        first = program.stdout.readline()
        assert json.loads(first or "{}") == {"started": True}, program.stderr.read()
        said = [program.stdout.readline() for _ in range(answers)]
        time.sleep(wait)
        program.send_signal(signal.SIGKILL)
        said += program.stdout.read().splitlines(keepends=True)
        assert program.wait() == -signal.SIGKILL
    return [json.loads(line) for line in said if line.endswith("\n")]


def assert_no_half_action(bench: BenchFile) -> None:
    """Every event has its rows, numbered without a gap, and what the newest one left is what stands in the table."""
    rows = bench.database.conn.execute
    for event, target in rows("SELECT id, target FROM journal"):
        positions = [row[0] for row in rows("SELECT position FROM journal_rows WHERE event = ?", (event,))]
        assert positions == list(range(1, len(positions) + 1))
        assert positions or target is not None or is_bulk(bench, event)
    newest = {}
    for event, target, action in rows("SELECT id, target, action FROM journal ORDER BY id"):
        source = target if target is not None else event
        side = "before" if action == "undo" else "after"
        images = rows(f"SELECT table_name, row_id, {side} FROM journal_rows WHERE event = ?", (source,)).fetchall()  # noqa: S608
        for table, row_id, image in reversed(images) if action == "undo" else images:
            newest[table, row_id] = image
    for (table, row_id), image in newest.items():
        cursor = rows(f'SELECT * FROM "{table}" WHERE rowid = ?', (row_id,))  # noqa: S608
        row = cursor.fetchone()
        held = dict(zip([column[0] for column in cursor.description], row, strict=True)) if row else None
        assert held == (json.loads(image) if image else None), (table, row_id)


def is_bulk(bench: BenchFile, event: int) -> bool:
    return bench.database.conn.execute("SELECT batch FROM journal WHERE id = ?", (event,)).fetchone()[0] is not None
