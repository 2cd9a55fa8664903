"""`solve`: the engines on problems stated in JSON, one JSON object a line out.

A file is answered whole before anything is printed, so that a bad case never leaves half an output. Standard input is
a conversation: one case a line, each answer flushed at once.
"""

from __future__ import annotations

import importlib
import sys
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import click

from catalog.text import Refused
from triage.commands.output import json_line
from triage.commands.shared import FILE, Command, json_option

KINDS = ("purchase", "diagnosis", "next", "branches", "lot", "sequence")
FILE_LIMIT = 64 * 1024 * 1024
"""Largest file, or line of standard input, read, in bytes."""
STANDARD_INPUT = "standard input"

Answer = Callable[[Mapping[str, Any]], dict[str, Any]]


@click.command(cls=Command)
@click.argument("kind", type=click.Choice(KINDS))
@click.argument("file", type=FILE)
@json_option
def solve(kind: str, file: Path, *, as_json: bool) -> None:
    """Answer problems stated in JSON.

    FILE holds {"header": …, "cases": […]} or one case; - reads one case a line.

    Prints one JSON object a line, in the order of the cases, with or without --json.

    purchase takes suppliers, offers, units and needs, and if wanted: of a supplier own, shipping_by_value,
    shipping_by_weight, small_order_fee_cents, fee_below_cents, tax_percent, import_above_cents, import_percent,
    import_fee_cents; of an offer weight_milligrams; of a unit ready_day (when parts on their way for it come: until
    then no order makes it wait); of a need not_from, worths_cents (it may be left), all_or_none; of the case spares
    (pieces, use_chance, price_cents, accepts), pins (kind only, not or keep; supplier, offer, packs, need) and why. It
    gives ready_days by unit, riding (what spares and wishes cost the order and are worth), pins_cost_cents, why, and in
    conflicts the needs, dates, least orders, stock, kept lines and cash that cannot all be kept.

    lot takes parts with a price of their own, or suppliers and offers as purchase does, and units; if wanted:
    minutes_per_day with deadline_days, or minutes_by_day; of a unit day_loss_cents and ready_day.
    """
    answer: Answer = importlib.import_module(f"triage.problems.{kind}").answer
    if str(file) == "-":
        for number, line in enumerate(_lines(), start=1):
            if line.strip():
                for found in _answered(answer, line, f"{STANDARD_INPUT}:{number}", first_line=None):
                    json_line(found)
        return
    for found in _answered(answer, _load(file), str(file), first_line=1):
        json_line(found)


def _answered(answer: Answer, data: bytes, name: str, first_line: int | None) -> list[dict[str, Any]]:
    """The answers to every case of a text; `first_line` counts lines for syntax errors, None for a text of one line.

    Raises:
        Refused: at the first case that is not sound, with file and key path.
    """
    answers = []
    for place, case in _cases(_decoded(data, name, first_line), name):
        try:
            answers.append(answer(case))
        except Refused as refusal:
            path = ".".join(filter(None, (place, refusal.where)))
            raise Refused(refusal.problem, where=f"{name}: {path}" if path else name) from None
        except RecursionError:
            raise Refused("nested too deeply", where=f"{name}: {place}" if place else name) from None
    return answers


def _decoded(data: bytes, name: str, first_line: int | None) -> Any:
    import msgspec  # noqa: PLC0415 - the help needs no decoder

    try:
        return msgspec.json.decode(data.removeprefix(b"\xef\xbb\xbf"))
    except msgspec.DecodeError as error:
        problem, _, byte = str(error).rpartition("(byte ")
        position = byte.rstrip(")")
        where = name
        if first_line is not None:
            at = int(position) if position.isdigit() else len(data)
            line = first_line + data.count(b"\n", 0, at)
            where = f"{name}:{line}"
        raise Refused(f"{(problem or str(error)).strip()}; expected JSON", where=where) from None
    except (UnicodeDecodeError, RecursionError) as error:
        what = "this is no UTF-8 text" if isinstance(error, UnicodeDecodeError) else "nested too deeply"
        raise Refused(f"{what}; expected a problem in JSON", where=name) from None


def _cases(problem: Any, name: str) -> Iterator[tuple[str, Mapping[str, Any]]]:
    if not isinstance(problem, dict):
        raise Refused('expected {"header": …, "cases": […]} or one case as an object', where=name)
    if "cases" not in problem:
        yield "", problem
        return
    for key in problem:
        if key not in {"header", "cases"}:
            raise Refused("unknown key; a problem file has header and cases", where=f"{name}: {key}")
    if not isinstance(problem["cases"], list):
        raise Refused("expected a list", where=f"{name}: cases")
    for index, case in enumerate(problem["cases"]):
        if not isinstance(case, dict):
            raise Refused("expected an object", where=f"{name}: cases[{index}]")
        named = case.get("id")
        yield f"cases[{named if isinstance(named, str) and named else index}]", case


def _load(path: Path) -> bytes:
    try:
        with path.open("rb") as stream:
            data = stream.read(FILE_LIMIT + 1)
    except OSError as error:
        raise Refused(f"cannot be read ({error.strerror or error}); name a JSON file", where=str(path)) from None
    if len(data) > FILE_LIMIT:
        raise Refused(f"larger than {FILE_LIMIT // 1024 // 1024} MiB; split it", where=str(path))
    return data


def _lines() -> Iterator[bytes]:
    number = 1
    while line := sys.stdin.buffer.readline(FILE_LIMIT + 1):
        if len(line) > FILE_LIMIT:
            where = f"{STANDARD_INPUT}:{number}"
            raise Refused(f"a line of more than {FILE_LIMIT // 1024 // 1024} MiB; split it", where=where)
        yield line
        number += 1
