"""The back room: order, giving way, and jobs that are called off."""

import threading

import pytest

from triage.screens.room import GaveWay, Room


class Opened:
    """Stands for a bench file: only its closing is asked for."""

    closed = False

    def close(self):
        self.closed = True


@pytest.fixture
def opened():
    return Opened()


@pytest.fixture
def room(opened):
    made = Room(lambda: opened, "test")
    yield made
    made.close()


def test_a_long_job_gives_way_only_while_another_waits(room):
    go, began = threading.Event(), threading.Event()

    def long(_):
        began.set()
        go.wait(10)
        room.check_way()
        return "done"

    first = room.submit(long)
    assert began.wait(10)
    second = room.submit(lambda _: "second")
    go.set()
    with pytest.raises(GaveWay):
        first.result(10)
    assert second.result(10) == "second"
    assert room.submit(long).result(10) == "done"


def test_a_job_called_off_before_it_began_waits_no_more(room):
    go, began = threading.Event(), threading.Event()

    def long(_):
        began.set()
        go.wait(10)
        room.check_way()
        return "done"

    first = room.submit(long)
    assert began.wait(10)
    assert room.submit(lambda _: "never").cancel()
    go.set()
    assert first.result(10) == "done"


def test_closing_finishes_what_was_sent_and_closes_the_file(opened):
    room = Room(lambda: opened, "test")
    sent = room.submit(lambda _: "kept")
    room.close()
    assert sent.result(0) == "kept"
    assert opened.closed
