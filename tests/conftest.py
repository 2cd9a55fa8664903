"""Shared by tests of several folders: a server on this machine, and keys pressed in the running program."""

import contextlib
import os
import re
import threading
from pathlib import Path

import pytest

import triage  # noqa: F401 - before any test imports numpy, whose threads it settles

os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # programs that tests start would be compiled anew each time


@pytest.fixture
def serve(monkeypatch):
    """Runs an HTTP server in a thread of its own until the test is over; gives it back."""
    monkeypatch.setenv("NO_PROXY", "*")
    with contextlib.ExitStack() as at_the_end:

        def started(server):
            thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
            thread.start()
            for last in (server.server_close, thread.join, server.shutdown):  # called from the last to the first
                at_the_end.callback(last)
            return server

        yield started


@pytest.fixture
def settled():
    """Waits until no worker is running and nothing is left to draw."""

    async def wait(pilot):
        await pilot.pause()
        for _ in range(20):
            await pilot.app.workers.wait_for_complete()
            await pilot.pause()
            if all(worker.is_finished for worker in pilot.app.workers):
                return

    return wait


@pytest.fixture
def press(settled):
    """Presses keys one by one, each after everything before it has settled."""

    async def pressed(pilot, *keys):
        for key in keys:
            await pilot.press(key)
            await settled(pilot)

    return pressed


@pytest.fixture
def seen():
    """The characters on the screen, line by line."""

    def text(app):
        strips = app.screen._compositor.render_strips()
        return "\n".join("".join(segment.text for segment in strip) for strip in strips)

    return text


@pytest.fixture
def certain_lamp():
    """A class file whose answers leave no doubt: both looks show the one fault always, and nothing else."""
    text = (Path(__file__).parent / "hostile" / "lamp.toml").read_text(encoding="utf-8")
    text = re.sub(r"^gate = .*\n", "", text, flags=re.MULTILINE)
    for check, fails in (("glow", "blown = 0.95, loose = 0.5"), ("rock", "loose = 0.8")):
        assert f"{{ {fails} }}" in text, check
        text = text.replace(f"{{ {fails} }}", "{ blown = 1.0 }")
    text = text.replace("{ blown = 0.9 }", "{ loose = 0.8 }")
    return re.sub(r"^leak = .*$", "leak = 0.0\npersistence = 1.0\nflip = 0.0", text, flags=re.MULTILINE)
