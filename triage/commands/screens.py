"""Opening the screens, on the bench file or on a fresh copy of the demo lot, and listing their keys.

The one module of the command line that loads the screens.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import click

from catalog.text import Refused
from triage.commands.output import say
from triage.commands.shared import Command, Globals


def open_screens(held: Globals, path: Path | None = None) -> None:
    """Run the screens until they are left, on `path` or on the bench file that is meant.

    Raises:
        Refused: the file is not a bench file.
    """
    _need_terminal()
    from triage.screens.app import LotwrightApp  # noqa: PLC0415 - only when they really open

    app = LotwrightApp(path or held.path, today=held.today, seed=held.seed)
    app.run()
    if app.return_code:
        raise click.exceptions.Exit(app.return_code)


@click.command(cls=Command)
@click.pass_obj
def demo(held: Globals) -> None:
    """Open the screens on a fresh copy of the demo lot, in a temporary folder or in a new --bench FILE."""
    _need_terminal()
    if held.bench is not None:
        _demo_in(held, held.bench)
        say(f"the demo lot is kept in {held.bench}; open it again with `lotwright --bench {held.bench}`")
        return
    with tempfile.TemporaryDirectory(prefix="lotwright-demo-") as folder:
        _demo_in(held, Path(folder) / "bench.db")
    say("the demo lot is gone; keep one with `lotwright demo --bench FILE`")


def _demo_in(held: Globals, path: Path) -> None:
    from triage.demo import make_demo  # noqa: PLC0415

    if path.exists():
        raise Refused("the file exists already; name a new one, or open it with `lotwright --bench`", where=str(path))
    say(f"demo lot in {path}")
    make_demo(path, held.day)
    open_screens(held, path)


def _need_terminal() -> None:
    if not (sys.stdin and sys.stdin.isatty() and sys.stdout and sys.stdout.isatty()):
        raise click.UsageError("the screens need a terminal; in scripts use a command, such as lot show --json")
