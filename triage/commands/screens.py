"""Opening the screens, on the bench file or on a fresh copy of the demo lot, and listing their keys.

The one module of the command line that loads the screens.
"""

from __future__ import annotations

import importlib
import pkgutil
import re
import sys
import tempfile
from pathlib import Path

import click

from triage.commands.output import json_line, say, table
from triage.commands.shared import Command, Globals, json_option


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
    """Open the screens on a fresh copy of the demo lot.

    It lies in a temporary folder, or in a new --bench FILE.
    """
    _need_terminal()
    if held.bench is not None:
        _demo_in(held, held.bench)
        say(f"the demo lot is kept in {held.bench}; open it again with `lotwright --bench {held.bench}`")
        return
    with tempfile.TemporaryDirectory(prefix="lotwright-demo-") as folder:
        _demo_in(held, Path(folder) / "bench.db")
    say("the demo lot is gone; keep one with `lotwright demo --bench FILE`")


@click.command(cls=Command)
@json_option
def keys(*, as_json: bool) -> None:
    """List every place of the screens with its keys and what they do."""
    found = _keys()
    if as_json:
        json_line({"keys": found})
        return
    table(("place", "key", "what it does"), [(one["place"], one["key"], one["does"]) for one in found])


def _keys() -> list[dict[str, str]]:
    """The bindings that the app, its places and its dialogs state themselves, each place once."""
    from triage import screens  # noqa: PLC0415 - only here and where they open
    from triage.screens.app import LotwrightApp  # noqa: PLC0415
    from triage.screens.help import bindings_of, key_words  # noqa: PLC0415

    owners: dict[type, str] = {LotwrightApp: "everywhere"}
    owners |= {screen: place for place, screen in LotwrightApp.MODES.items() if isinstance(screen, type)}
    for module in pkgutil.iter_modules(screens.__path__, f"{screens.__name__}."):
        for held in vars(importlib.import_module(module.name)).values():
            if isinstance(held, type) and held.__module__ == module.name:
                owners.setdefault(held, _in_words(held.__name__))
    return [
        {
            "place": place,
            "key": key_words(binding),
            "keys": binding.key,
            "action": binding.action,
            "does": binding.tooltip or binding.description,
        }
        for owner, place in owners.items()
        for binding in bindings_of(owner)
    ]


def _in_words(name: str) -> str:
    """`NewLotDialog` is "new lot dialog"."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name).lower()


def _demo_in(held: Globals, path: Path) -> None:
    from triage.demo import make_demo  # noqa: PLC0415

    make_demo(path, held.day)
    say(f"demo lot in {path}")
    open_screens(held, path)


def _need_terminal() -> None:
    if not (sys.stdin and sys.stdin.isatty() and sys.stdout and sys.stdout.isatty()):
        raise click.UsageError("the screens need a terminal; in scripts use a command, such as lot show --json")
