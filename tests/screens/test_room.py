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


@pytest.fixture
def long(room):
    """A job that has begun, asks for way once its `go` is set, and can be sent again."""
    began = threading.Event()

    class Long:
        go = threading.Event()

        def job(self, _):
            began.set()
            self.go.wait(10)
            room.check_way()
            return "done"

    held = Long()
    held.sent = room.submit(held.job)
    assert began.wait(10)
    return held


def test_a_long_job_gives_way_only_while_another_waits(room, long):
    second = room.submit(lambda _: "second")
    long.go.set()
    with pytest.raises(GaveWay):
        long.sent.result(10)
    assert second.result(10) == "second"
    assert room.submit(long.job).result(10) == "done"


def test_a_job_called_off_before_it_began_waits_no_more(room, long):
    assert room.submit(lambda _: "never").cancel()
    long.go.set()
    assert long.sent.result(10) == "done"


def test_closing_finishes_what_was_sent_and_closes_the_file(opened):
    room = Room(lambda: opened, "test")
    sent = room.submit(lambda _: "kept")
    room.close()
    assert sent.result(0) == "kept"
    assert opened.closed
