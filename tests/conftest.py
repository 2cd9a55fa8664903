"""Shared by tests of several folders: a server on this machine that runs as long as a test does."""

import contextlib
import os
import threading

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
