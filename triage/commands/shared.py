"""What every command has in common: the bench file, the day and the seed before or after its name, and typed arguments.

Nothing heavy is imported here: this module is loaded for `--help`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from catalog.text import LINE_LIMIT, Refused, clean_line
from triage.commands.examples import EXAMPLES

if TYPE_CHECKING:
    from triage.bench_file import BenchFile

SEED_LIMIT = 2**63 - 1
NUMBER_LIMIT = 10**9

Function = TypeVar("Function", bound=Callable[..., Any])


class Globals:
    """The options that hold for every command."""

    def __init__(self) -> None:
        """Nothing said: the usual bench file, the clock, seed 0."""
        self.bench: Path | None = None
        self.today: date | None = None
        self.seed = 0

    @property
    def path(self) -> Path:
        """The bench file that is meant."""
        from triage.bench_file import default_path  # noqa: PLC0415 - loaded when a bench file is wanted

        return self.bench or default_path()

    @property
    def day(self) -> date:
        """The day to reckon from."""
        return self.today or datetime.now().astimezone().date()

    @property
    def there(self) -> bool:
        """Whether the bench file exists.

        Raises:
            Refused: the path is none, or leads where nobody may look.
        """
        try:
            return self.path.is_file()
        except OSError as error:
            raise Refused(
                f"cannot be opened ({error.strerror}); name another file", where=self.path.name[:60]
            ) from None

    def open(self) -> BenchFile:
        """The bench file, made if there is none yet.

        Raises:
            Refused: it is not ours, or a newer program wrote it.
        """
        from triage.bench_file import BenchFile  # noqa: PLC0415

        return BenchFile(self.path, today=self.today, seed=self.seed)

    def existing(self) -> BenchFile:
        """The bench file, which must be there: for commands that an empty one could not answer.

        Raises:
            Refused: as `open`, or there is none.
        """
        if not self.there:
            raise Refused(
                "there is no bench file here; name one with --bench, or start with `lotwright lot new NAME`",
                where=str(self.path),
            )
        return self.open()


class Line(click.ParamType):  # type: ignore[type-arg]  # older releases take none
    """One line of text, cleaned; a longer one than a line may be is refused, not cut."""

    name = "text"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """The cleaned line."""
        text = str(value)
        if len(text) > LINE_LIMIT:
            place = (param.human_readable_name if param else "text").upper()
            raise Refused(f"{len(text):,} characters; at most {LINE_LIMIT:,} are read, shorten it", where=place)
        return clean_line(text)


class Day(click.ParamType):  # type: ignore[type-arg]  # older releases take none
    """A day such as 2026-12-20."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """The day."""
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(str(value))
        except ValueError:
            self.fail(f"“{clean_line(str(value), 40)}” is no day; write it such as 2026-12-20", param, ctx)


class Number(click.ParamType):  # type: ignore[type-arg]  # older releases take none
    """A whole number within limits."""

    name = "number"

    def __init__(self, low: int, high: int) -> None:
        """From `low` to `high`, both allowed."""
        self._low = low
        self._high = high

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """The number."""
        text = str(value)
        if not (text.isascii() and text.isdigit() and len(text) < 20 and self._low <= int(text) <= self._high):
            self.fail(f"“{clean_line(text, 40)}” is no whole number from {self._low} to {self._high}", param, ctx)
        return int(text)


LINE = Line()
DAY = Day()
UNIT = Number(1, NUMBER_LIMIT)
MINUTES = click.FloatRange(0, 100_000)
FILE = click.Path(path_type=Path)


class _Word(click.Argument):
    """An argument that may begin with a minus, such as a reading of -0.3; what looks like an option is none."""

    def process_value(self, ctx: click.Context, value: Any) -> Any:
        for word in value if isinstance(value, tuple) else (value,):
            if isinstance(word, str) and word[:2] == "--" and word[2:3].isalpha() and " " not in word:
                raise click.NoSuchOption(word, ctx=ctx)
        return super().process_value(ctx, value)


def words(name: str, **details: Any) -> Callable[[Function], Function]:
    """An argument of free text that may begin with a minus; its command needs `settings=MINUS`."""
    return click.argument(name, cls=_Word, type=LINE, **details)


MINUS = {"ignore_unknown_options": True}
"""Context settings of a command whose arguments may begin with a minus."""


def global_options() -> list[click.Parameter]:
    """`--bench`, `--today` and `--seed`, for the program and for every command alike."""
    return [
        click.Option(
            ["--bench"],
            type=FILE,
            metavar="FILE",
            expose_value=False,
            callback=_keep("bench"),
            help="The bench file (else LOTWRIGHT_BENCH, else the one in your data folder).",
        ),
        click.Option(
            ["--today"],
            type=DAY,
            metavar="DATE",
            expose_value=False,
            callback=_keep("today"),
            help="The day to reckon from, such as 2026-12-20 (else the clock).",
        ),
        click.Option(
            ["--seed"],
            type=Number(0, SEED_LIMIT),
            metavar="N",
            expose_value=False,
            callback=_keep("seed"),
            help="For what is drawn at random (else 0).",
        ),
    ]


def _keep(name: str) -> Callable[[click.Context, click.Parameter, Any], None]:
    def keep(ctx: click.Context, _: click.Parameter, value: Any) -> None:
        held = ctx.ensure_object(Globals)
        if value is not None:
            setattr(held, name, value)

    return keep


class _Helpful(click.Command):
    """Help in short pieces: what it does, examples a line each, its own options, then those of every command."""

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the examples and the options."""
        path = ctx.command_path.partition(" ")[2]
        if examples := EXAMPLES.get(path):
            with formatter.section("Examples"):
                for example in examples:
                    formatter.write(f"{'':{formatter.current_indent}}lotwright {example}\n")
        everywhere = {"bench", "today", "seed"}
        for title, own in (("Options", True), ("Everywhere", False)):
            records = [
                record
                for param in self.get_params(ctx)
                if isinstance(param, click.Option)
                and (param.name not in everywhere) == own
                and (record := param.get_help_record(ctx)) is not None
            ]
            if records:
                with formatter.section(title):
                    formatter.write_dl(records)


class Command(_Helpful):
    """A command that takes the global options too."""

    def __init__(self, *arguments: Any, **details: Any) -> None:
        """Like any command of the library."""
        super().__init__(*arguments, **details)
        self.params.extend(global_options())


class Group(_Helpful, click.Group):
    """A command of several commands; it takes the global options too."""

    command_class = Command

    def __init__(self, *arguments: Any, **details: Any) -> None:
        """Like any group of the library."""
        super().__init__(*arguments, **details)
        self.params.extend(global_options())

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The same, with the commands in it first."""
        self.format_commands(ctx, formatter)
        super().format_options(ctx, formatter)


def json_option(function: Function) -> Function:
    """`--json`: one JSON object on one line instead of a table."""
    return click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of a table.")(function)


def map_option(function: Function) -> Function:
    """`--map COLUMN=FIELD`, as often as needed."""
    return click.option(
        "--map",
        "column_map",
        multiple=True,
        metavar="COLUMN=FIELD",
        callback=lambda _ctx, _param, value: dict(pairs(value, "--map")),
        help="What a column of the list holds; FIELD - leaves it out. May be given again.",
    )(function)


def pairs(stated: Iterable[str], where: str) -> list[tuple[str, str]]:
    """`NAME=VALUE` words taken apart, both cleaned.

    Raises:
        Refused: no `=`, an empty name, or a name given twice.
    """
    found: dict[str, str] = {}
    for word in stated:
        name, sign, value = (part.strip() for part in LINE.convert(word, None, None).partition("="))
        if not sign or not name:
            raise Refused(f"“{clean_line(word, 60)}” is no NAME=VALUE", where=where)
        if name in found:
            raise Refused(f"“{name}” is given twice", where=where)
        found[name] = value
    return list(found.items())


def used_part(stated: str) -> tuple[int, int]:
    """(part number in the catalogue, pieces) of `PART[:PIECES]`, one piece where none is said."""
    part, _, pieces = stated.partition(":")
    count = Number(1, NUMBER_LIMIT)
    try:
        return count.convert(part, None, None), count.convert(pieces or "1", None, None)
    except click.BadParameter as error:
        raise Refused(error.message, where="--part") from None
