"""What leaves the command line: JSON and plain tables on standard output, talk on standard error.

One encoder and one way to lay out a table, so that no command can print a raw control character or another form.
"""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING, Any

import click

from catalog.text import clean_line

if TYPE_CHECKING:
    from triage.bench_week import Today

MESSAGE_LIMIT = 1_000
"""Longest line of talk, in characters."""


def json_line(value: Any) -> None:
    r"""Print one JSON object on one line in UTF-8 and flush it; NaN and infinity become null.

    Control and format characters stand as `\uXXXX` inside strings, also those that JSON itself would let through.
    """
    import msgspec  # noqa: PLC0415 - the help needs no encoder

    text = msgspec.json.encode(value).decode()
    if not text.isprintable():  # outside strings all of JSON is printable
        text = "".join(one if one.isprintable() else json.dumps(one)[1:-1] for one in text)
    click.echo(f"{text}\n".encode(), nl=False)


def say(text: str) -> None:
    """Talk: one clean line on standard error."""
    click.echo(clean_line(text, MESSAGE_LIMIT), err=True)


def show(text: str, *, indent: int = 0) -> None:
    """Data for a person: one clean line on standard output."""
    click.echo(" " * indent + clean_line(text))


def table(heads: Sequence[str], rows: Sequence[Sequence[object]], right: Collection[str] = ()) -> None:
    """Print rows under their heads, columns aligned; those named in `right` to the right, the last one never padded."""
    lines = [list(heads), *([clean_line(_plain(cell)) for cell in row] for row in rows)]
    widths = [max(_width(line[column]) for line in lines) for column in range(len(heads))]
    for line in lines:
        cells = []
        for head, cell, width in zip(heads, line, widths, strict=True):
            gap = " " * (width - _width(cell))
            cells.append(gap + cell if head in right else cell + gap)
        click.echo("  ".join(cells).rstrip())


def percent(chance: float) -> str:
    """A chance for a person: `0.5` is "50 %"; what is not quite certain never reads 0 or 100."""
    if 0 < chance < 0.005:
        return "<1 %"
    return ">99 %" if 0.995 < chance < 1 else f"{chance:.0%}".replace("%", " %")


def _plain(cell: object) -> str:
    if cell is None:
        return ""
    return f"{cell:g}" if isinstance(cell, float) else str(cell)


def _width(text: str) -> int:
    """Columns on a terminal."""
    if text.isascii():
        return len(text)
    wide = sum(unicodedata.east_asian_width(one) in "WF" for one in text)
    return len(text) + wide - sum(unicodedata.combining(one) > 0 for one in text)


def today_form(today: Today | None) -> dict[str, float] | None:
    """Today's bench minutes as plain data; None where hours by weekday limit nothing."""
    if today is None:
        return None
    return {"stated_minutes": today.stated, "spent_minutes": today.spent, "left_minutes": today.left}
