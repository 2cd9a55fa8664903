"""The command `lotwright`: its commands, each loaded when called, and the one place that turns errors into exit codes.

Exit codes: 0 done, 1 failed, 2 wrong usage, 3 input refused, 4 no plan exists, 130 interrupted.
"""

from __future__ import annotations

import errno
import importlib
import locale
import os
import sqlite3
import sys
from contextlib import suppress
from typing import Any, NoReturn

import click

from catalog.text import Refused, clean_line
from triage.commands.output import say
from triage.commands.shared import Globals, Group

FAILED, USAGE, REFUSED, INTERRUPTED = 1, 2, 3, 130

SECTIONS: dict[str, dict[str, tuple[str, str]]] = {
    "Lots and units": {
        "lot": ("lots:lot", "Lots and the units in them."),
        "unit": ("units:unit", "Show or change what is known of a unit."),
        "pile": ("units:pile", "Put a unit on a pile against the sums, and say why."),
        "next": ("advice:next_step", "What to do next on a unit, and why."),
        "check": ("looks:check", "Answer a check of a unit."),
        "batch": ("batch:batch", "The same check down a list of units."),
        "trace": ("tracing:trace", "Follow a signal along a path of a unit."),
        "swap": ("swapping:swap", "Note what a swap test with a like unit told."),
        "path": ("tracing:path", "Signal paths of your own."),
        "repair": ("looks:repair", "Note that faults of a unit were repaired."),
        "lift": ("lifting:lift", "Take a part out of a unit, or put it back."),
        "hazard": ("looks:hazard", "Answer a hazard question of a unit."),
        "release": ("looks:release", "Confirm a precaution of a hazard."),
        "condition": ("looks:condition", "Say whether a hidden cause holds for a unit."),
        "suspect": ("suspects:suspect", "Add a fault of your own to a unit, or take it off."),
        "case": ("looks:case", "Say that the case of a unit was opened or closed."),
        "note": ("looks:note", "Keep a note in the history of a unit."),
        "found": ("findings:found", "Say what was wrong with a unit in the end."),
        "sheet": ("findings:sheet", "The sheet of a unit's model."),
        "correct": ("looks:correct", "Correct an old answer of a unit."),
        "odds": ("advice:odds", "How likely each fault of a unit is now."),
        "why": ("advice:why", "Which answers moved which suspect."),
        "learned": ("findings:learned", "What your findings say of a class."),
    },
    "Plan and order": {
        "need": ("orders:need", "The parts that a unit wants, and what exactly they are."),
        "plan": ("orders:plan", "Plan the whole lot at once, with one parts order."),
        "order": ("orders:order", "The parts order: show, write, place, take back."),
        "later": ("later:later", "What is makeshift, and the proper part wished for."),
        "spare": ("later:spare", "Spare parts that would be good to have."),
        "timing": ("timing:timing", "What to order today, and what after the looks."),
        "pin": ("orders:pin", "Say where the order is bought, and keep a line of it."),
        "receive": ("orders:receive", "Note that packs of an order line have come."),
    },
    "Parts and prices": {
        "read": ("texts:read", "What is understood of a part description."),
        "fit": ("texts:fit", "Whether one part may stand in for another."),
        "find": ("parts:find", "Search the parts and offers."),
        "rules": ("own_words:rules", "The rules of substitution, and your own."),
        "pairs": ("own_words:pairs", "Your own word on two part numbers."),
        "parts": ("parts:parts", "Your own parts."),
        "prices": ("prices:prices", "Suppliers and their price lists."),
    },
    "The bench file": {
        "undo": ("history:undo", "Take back the latest action."),
        "redo": ("history:redo", "Do again what was taken back last."),
        "history": ("history:history", "What was done, newest first."),
        "settings": ("person:settings", "Show or change what is assumed about you."),
        "classes": ("classes:classes", "The device classes: list them, check a file."),
        "backup": ("files:backup", "Copy the bench file to a new file."),
        "verify": ("files:verify", "Check the whole bench file."),
        "export": ("files:export", "Write everything as plain CSV files."),
        "import": ("files:import_", "Make a new bench file from an export."),
    },
    "The engines alone": {
        "solve": ("solve:solve", "Answer problems stated in JSON."),
    },
    "The screens": {
        "demo": ("screens:demo", "Open the screens on a fresh copy of the demo lot."),
        "keys": ("screens:keys", "Every place, key and action."),
    },
}
"""Section of the help -> command -> (module of `triage.commands` : object in it, one line of help)."""

COMMANDS = {name: entry for section in SECTIONS.values() for name, entry in section.items()}


class Program(Group):
    """The program: knows its commands by name and imports the module of the one that is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names, in the order of the help."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name, loaded."""
        if cmd_name not in COMMANDS:
            return None
        module, _, name = COMMANDS[cmd_name][0].partition(":")
        command = getattr(importlib.import_module(f"triage.commands.{module}"), name)
        return command if isinstance(command, click.Command) else None

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the commands by section, without loading any."""
        for title, section in SECTIONS.items():
            with formatter.section(title):
                formatter.write_dl([(name, text) for name, (_, text) in section.items()])

    def main(self, *arguments: Any, **details: Any) -> NoReturn:
        """Run one command line and leave with its exit code; whatever goes wrong is one line."""
        details["standalone_mode"] = False
        try:
            code = super().main(*arguments, **details)
            sys.stdout.flush()
        except click.UsageError as error:
            _complain(_usage(error))
            code = USAGE
        except Refused as error:
            _complain(str(error))
            code = REFUSED
        except (click.Abort, KeyboardInterrupt):
            _complain("stopped")
            code = INTERRUPTED
        except click.ClickException as error:
            _complain(error.format_message())
            code = FAILED
        except OSError as error:
            _let_go(error)
            code = FAILED
        except sqlite3.Error as error:
            _complain(f"the bench file could not be used: {error}")
            code = FAILED
        except Exception as error:  # a fault of the program; the person still gets one line, not a page
            if os.environ.get("LOTWRIGHT_TRACEBACK"):
                raise
            _complain(f"failed, a fault of lotwright itself: {type(error).__name__}: {error}")
            code = FAILED
        sys.exit(code if isinstance(code, int) else 0)


def _usage(error: click.UsageError) -> str:
    path = error.ctx.command_path if error.ctx else "lotwright"
    message = clean_line(error.format_message(), 600).rstrip(".")
    return f"{path}: {message}; see {path} --help"


def _complain(text: str) -> None:
    try:
        say(text)
    except OSError as error:
        _let_go(error)


def _let_go(error: OSError) -> None:
    """Say what failed; where a pipe was closed by its reader, be quiet and write no more."""
    if error.errno == errno.EPIPE or not isinstance(error.filename, str | bytes):
        _mute()
    if error.errno != errno.EPIPE:
        place = f"{error.filename}: " if error.filename else ""
        say(f"{place}{error.strerror or error}")


def _mute() -> None:
    """Send what is still buffered nowhere, so that ending the program does not fail on it again."""
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
    except (OSError, ValueError, AttributeError):  # no real file behind it
        return


@click.command(
    "lotwright",
    cls=Program,
    invoke_without_command=True,
    no_args_is_help=False,
    epilog="Exit codes: 0 done, 1 failed, 2 wrong usage, 3 input refused, 4 no plan exists, 130 interrupted.",
)
@click.version_option(package_name="lotwright", message="%(prog)s %(version)s")
@click.pass_context
def program(ctx: click.Context) -> None:
    """Sort a mixed lot of faulty vintage electronics: the look that pays most, three piles, one parts order.

    Without a command the screens open.
    """
    if ctx.invoked_subcommand is None:
        from triage.commands.screens import open_screens  # noqa: PLC0415 - only here are the screens wanted

        open_screens(ctx.ensure_object(Globals))


def main() -> NoReturn:
    """Run the command line of this process, with the money of the person's locale."""
    with suppress(locale.Error):
        locale.setlocale(locale.LC_MONETARY, "")
    program.main(prog_name="lotwright")
