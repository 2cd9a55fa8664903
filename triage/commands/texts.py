"""`read` and `fit`: what is understood of a description, and whether one part may stand in for another."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from triage.commands.output import json_line, show, table
from triage.commands.rows import Cells, answer_rows
from triage.commands.shared import FILE, LINE, MINUS, Command, Globals, json_option, words

if TYPE_CHECKING:
    from collections.abc import Callable

    from catalog.fit import Fit
    from catalog.spec import PartSpec


@click.command(cls=Command, context_settings=MINUS)
@words("text", nargs=-1)
@click.option("--kind", type=LINE, help="The kind of part, where it is known.")
@click.option("--file", "path", type=FILE, metavar="LIST.csv", help="Many at once: columns text, kind (optional).")
@json_option
def read(text: tuple[str, ...], kind: str | None, path: Path | None, *, as_json: bool) -> None:
    """Say what is understood of a part description.

    With --file, one JSON object for each row.
    """
    from catalog import describe  # noqa: PLC0415 - the reading tables, when wanted

    _one_of(text, path)
    known = _known_kind(kind)
    if path is not None:
        answer_rows(
            path,
            ("text", "kind"),
            1,
            lambda cells: describe.as_dict(describe.read(cells["text"], _kind(cells) or known)),
        )
        return
    reading = describe.read(LINE.convert(" ".join(text), None, None), known)
    if as_json:
        json_line(describe.as_dict(reading))
        return
    _print_reading(describe.as_dict(reading))
    if reading.status == "ok" and reading.spec is not None:
        _print_marks(reading.spec)


@click.command(cls=Command, context_settings=MINUS)
@words("wanted", required=False)
@words("candidate", required=False)
@click.option("--role", type=LINE, help="What the part does in its place, such as timing, coupling or filter.")
@click.option(
    "--file", "path", type=FILE, metavar="LIST.csv", help="Many at once: columns wanted, candidate, role (optional)."
)
@json_option
@click.pass_obj
def fit(
    held: Globals, wanted: str | None, candidate: str | None, role: str | None, path: Path | None, *, as_json: bool
) -> None:
    """Say whether one part may stand in for another.

    CANDIDATE for WANTED is exact, drop-in, rework, compromise, unknown or refuse.

    Your own rules and pairs count. With --file, one JSON object for each row.
    """
    from catalog.fit import as_dict  # noqa: PLC0415 - the rule tables, when wanted

    _one_of(tuple(word for word in (wanted, candidate) if word is not None), path, needed=2)
    with _Judge(held) as judge:
        if path is not None:
            answer_rows(
                path,
                ("wanted", "candidate", "role"),
                2,
                lambda cells: as_dict(judge(cells["wanted"], cells["candidate"], cells.get("role") or role)),
            )
            return
        verdict = judge(wanted or "", candidate or "", role)
    if as_json:
        json_line(as_dict(verdict))
    else:
        _print_fit(as_dict(verdict))


_PREFIXED = frozenset({"F", "H", "ohm", "Hz", "A", "V", "W", "m"})
_PLAIN = frozenset({"degC", "ppm", "%", "h", "s"})


class _Judge:
    """Judges two texts with the person's pairs and rules; makes no bench file only for that."""

    def __init__(self, held: Globals) -> None:
        self._bench = held.open() if held.there else None
        self._folder = held.path.parent

    def __enter__(self) -> Callable[[str, str, str | None], Fit]:
        from catalog.describe import read as understood  # noqa: PLC0415
        from catalog.fit_texts import fit_texts  # noqa: PLC0415
        from triage.actions import judging  # noqa: PLC0415
        from triage.rules_file import read_rules  # noqa: PLC0415

        bench = self._bench
        if bench is None:
            rules, pairs = read_rules(self._folder)
            return lambda wanted, candidate, role: fit_texts(
                wanted, candidate, role, read=understood, pairs=pairs, rules=rules
            )
        return lambda wanted, candidate, role: judging.fit_texts(bench, wanted, candidate, role)

    def __exit__(self, *_: object) -> None:
        if self._bench is not None:
            self._bench.close()


def _one_of(texts: tuple[str, ...], path: Path | None, needed: int = 1) -> None:
    if path is not None and texts:
        raise click.UsageError("give texts or --file, not both")
    if path is None and len(texts) < needed:
        raise click.UsageError("a description is missing; give it, or many with --file LIST.csv")


def _kind(cells: Cells) -> str | None:
    return _known_kind(cells.get("kind") or None)


def _known_kind(kind: str | None) -> str | None:
    from catalog.spec import KINDS  # noqa: PLC0415
    from catalog.text import Refused  # noqa: PLC0415

    if kind is not None and kind not in KINDS:
        raise Refused(f"“{kind[:40]}” is no kind of part; use one of {', '.join(KINDS)}", where="kind")
    return kind


def _print_reading(form: dict[str, Any]) -> None:
    show(f"{form['status']}{': ' + form['kind'] if form['kind'] else ''}")
    if form.get("reason"):
        show(form["reason"])
    _print_attributes(form)
    for number, option in enumerate(form["readings"], start=1):
        show(f"either {number}: {option['kind'] or 'unknown kind'} ({option.get('why', '')})")
        _print_attributes(option)
    if form["left_over"]:
        show(f"not understood: {' | '.join(form['left_over'])}")


def _print_marks(spec: PartSpec) -> None:
    """How the part may be marked, and whether its value is a strange one."""
    from catalog.shown_as import doubt, marks  # noqa: PLC0415

    for name, mark in marks(spec):
        show(f"may be marked: {mark} ({name})")
    if said := doubt(spec):
        show(said)


def _print_attributes(form: dict[str, Any]) -> None:
    tolerance = form["tolerance"]
    for name, held in form["attributes"].items():
        if name != "tolerance" or not tolerance:
            show(f"{name.replace('_', ' ')}: {_written(held['value'], held['unit'])}", indent=2)
    if tolerance:
        minus, plus = tolerance["minus"], tolerance["plus"]
        sides = f"±{plus:g}" if minus == plus else f"-{minus:g} +{plus:g}"
        show(f"tolerance: {sides} {tolerance['unit']}{' (implied)' if tolerance['implied'] else ''}", indent=2)


def _written(value: object, unit: str | None) -> str:
    """A value of an attribute for a person, such as 4.7 µF."""
    from catalog.quantity import engineering  # noqa: PLC0415

    if isinstance(value, bool):
        return "yes" if value else "no"
    if not isinstance(value, int | float):
        return "" if value is None else str(value)
    if unit in _PREFIXED:
        return engineering(float(value), unit)
    return f"{value:g} {unit}" if unit in _PLAIN else f"{value:g}"


def _unit_of(attribute: str) -> str | None:
    from catalog.spec import KINDS  # noqa: PLC0415

    units = {units[attribute] for units in KINDS.values() if attribute in units}
    return units.pop() if len(units) == 1 else None


def _print_fit(form: dict[str, Any]) -> None:
    show(form["grade"])
    if form["reasons"]:
        table(
            ("attribute", "wanted", "candidate", "result", "rule", "why"),
            [
                (
                    one["attribute"],
                    *(_written(one[side], _unit_of(one["attribute"])) for side in ("wanted", "candidate")),
                    one["result"],
                    one["rule"],
                    one["why"],
                )
                for one in form["reasons"]
            ],
        )
    for label in ("do", "tell"):
        for line in form[label]:
            show(f"{label}: {line}")
