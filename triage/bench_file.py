"""The open bench file: what every action is given.

Holds the database, the journal, the clock and the device classes, and nothing that computes. One object a thread:
a SQLite connection belongs to the thread that made it, so workers open their own with `another()`.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import UTC, date, datetime
from functools import cached_property, wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any, ParamSpec, Self, TypeVar

import platformdirs

from catalog.database import open_database, writing
from catalog.journal import Journal
from triage import schema, store
from triage.device_classes.loader import Classes, load_classes
from triage.person import Person, Said, person_of, said_of

if TYPE_CHECKING:
    from catalog.rules import Pair, Rule

Stamp = tuple[int, int] | None
P = ParamSpec("P")
T = TypeVar("T")

ENVIRONMENT = "LOTWRIGHT_BENCH"
CLASS_FOLDER = "classes"
"""Folder beside the bench file that holds the person's own device-class files."""


def default_path() -> Path:
    """Where the bench file lies when nothing is said: `LOTWRIGHT_BENCH`, else the user's data folder."""
    named = os.environ.get(ENVIRONMENT)
    return Path(named) if named else Path(platformdirs.user_data_dir("lotwright", appauthor=False)) / "bench.db"


class BenchFile:
    """One open bench file."""

    def __init__(self, path: Path, *, today: date | None = None, seed: int = 0) -> None:
        """Open or make the file; raises `Refused` when it is not ours or newer.

        Args:
            path: the file.
            today: the day to work with; None takes the clock.
            seed: for everything that draws at random.
        """
        self.path = path
        self.seed = seed
        self._today = today
        self.database = open_database(path, schema.MIGRATIONS, when=datetime.now(tz=UTC).strftime("%Y%m%d-%H%M%S"))
        self.journal = Journal(self.database)
        self._rules: tuple[Stamp, tuple[tuple[Rule, ...], tuple[Pair, ...]]] | None = None
        self.cache: dict[str, Any] = {}
        """Derived things worth keeping between two keystrokes; always safe to clear."""
        self.studies: dict[tuple[int, float], Any] = {}
        """Studies of units with the facts they rest on; pure, so all threads on this file share them."""
        self.shared: dict[str, Any] = {}
        """Other derived things that are never changed once made, shared likewise."""
        self.learned: dict[tuple[str, str, int], Any] = {}
        """Device classes with what was learned and what they rest on; shared in the same way."""

    def another(self) -> BenchFile:
        """The same file opened again, for another thread."""
        opened = BenchFile(self.path, today=self._today, seed=self.seed)
        opened.studies, opened.learned, opened.shared = self.studies, self.learned, self.shared
        return opened

    def close(self) -> None:
        """Close the connection; everything acknowledged is already on disk."""
        self.database.conn.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def now(self) -> str:
        """The moment of an event, ISO 8601 in UTC to the millisecond; on the stated day where one is stated."""
        moment = datetime.now(tz=UTC)
        if self._today is not None:
            here = datetime.now().astimezone().time()  # the day is the day here, also where that is not yet UTC's
            moment = datetime.combine(self._today, here).astimezone(UTC)
        return moment.isoformat(timespec="milliseconds")

    @property
    def hour(self) -> int:
        """The hour of the day by the clock here, 0 to 23."""
        return datetime.now().astimezone().hour

    @property
    def today(self) -> date:
        """The day all reckoning starts from."""
        return self._today or datetime.now().astimezone().date()

    @cached_property
    def classes(self) -> Classes:
        """The device classes by id: the built-in ones, then the person's own beside the bench file."""
        return load_classes(self.path.parent / CLASS_FOLDER)

    @property
    def class_problems(self) -> tuple[str, ...]:
        """One line for each of the person's class files that was left out: which, where in it, and why."""
        return self.classes.problems

    @property
    def rules_stamp(self) -> Stamp:
        """What tells one state of the file of rules from another: its time and size; None where there is no file."""
        from triage.rules_file import stamp  # noqa: PLC0415 - with the rules

        return stamp(self.path.parent)

    @property
    def rules_file(self) -> tuple[tuple[Rule, ...], tuple[Pair, ...]]:
        """The person's rules and pairs of the file beside the bench file; read again when the file was changed.

        Raises `Refused` when it is not right.
        """
        from triage.rules_file import read_rules  # noqa: PLC0415 - the rule tables, when something is judged

        seen = self.rules_stamp
        if self._rules is None or self._rules[0] != seen:
            self._rules = seen, read_rules(self.path.parent)
        return self._rules[1]

    @property
    def person(self) -> Person:
        """The person's settings as they stand."""
        return person_of(store.settings(self.database))

    @property
    def said(self) -> Said:
        """What the person really said about themselves."""
        return said_of(store.settings(self.database))

    @property
    def currency(self) -> str:
        """The currency that everything without its own is in."""
        return self.person.currency


def day_of(moment: str) -> date:
    """The day here on which something was noted, of its moment in ISO 8601; the day by which `today` goes too."""
    return datetime.fromisoformat(moment).astimezone().date()


def in_one_transaction(action: Callable[P, T]) -> Callable[P, T]:
    """Make an action, whose first argument is the bench file, read and write under one write lock.

    Nobody can change meanwhile what it read.
    """

    @wraps(action)
    def locked(*args: P.args, **kwargs: P.kwargs) -> T:
        bench = args[0]
        assert isinstance(bench, BenchFile)  # noqa: S101 - what the decorator is for
        with writing(bench.database):
            return action(*args, **kwargs)

    return locked
