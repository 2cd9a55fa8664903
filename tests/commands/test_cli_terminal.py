"""On a real terminal: without a command the screens open on the bench file that is meant, and leave with their code."""

import fcntl
import os
import pty
import select
import struct
import subprocess
import sys
import termios

import pytest

CTRL_Q = b"\x11"


@pytest.fixture
def terminal(bench_path):
    """Run a command line on a terminal of 80 by 24, typing once `awaited` is on it; exit code and all output."""

    def terminal(*words, awaited=b"", typed=CTRL_Q):
        here, there = pty.openpty()
        fcntl.ioctl(there, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        with subprocess.Popen(
            [sys.executable, "-m", "triage", *map(str, words)],
            stdin=there,
            stdout=there,
            stderr=there,
            env={**os.environ, "TERM": "xterm-256color"},
            start_new_session=True,
        ) as running:
            os.close(there)
            shown, left = b"", False
            while piece := read(here):
                shown += piece
                if awaited and awaited in shown and not left:
                    os.write(here, typed)
                    left = True
            os.close(here)
            return running.wait(timeout=60), shown

    return terminal


def read(end):
    """What comes next; nothing once the other end is closed, or after a minute of silence."""
    ready, _, _ = select.select([end], [], [], 60)
    try:
        return os.read(end, 65536) if ready else b""
    except OSError:
        return b""


def test_without_a_command_the_screens_open_on_the_bench_file(lot, terminal):
    code, shown = terminal("--today", "2026-01-08", awaited=b"Gamepad")
    assert code == 0
    assert b"Gamepad" in shown
    assert b"Traceback" not in shown


def test_a_file_that_is_no_bench_file_opens_no_screen(write, terminal):
    code, shown = terminal("--bench", write("something else", "other.db"))
    assert code == 3
    assert len(shown.splitlines()) == 1
    assert b"bench file" in shown


def test_before_a_part_comes_out_it_is_asked_how_it_sits(described, terminal):
    code, shown = terminal("lift", 2, "stick_module", awaited=b"How does it sit", typed=b"long pin left\r")
    assert code == 0
    assert b"taken out" in shown
    assert b"was not said" not in shown
    assert "long pin left" in described("unit", 2, "--json").out
    assert "how it sat was not said" in described("lift", 2, "cable").err
