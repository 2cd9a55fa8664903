"""`classes`: the device classes there are, and whether a class file is right."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from triage.commands.output import json_line, say, show, table
from triage.commands.shared import FILE, Globals, Group, json_option

if TYPE_CHECKING:
    from triage.device_classes.schema import DeviceClass


@click.group(cls=Group, invoke_without_command=True)
@json_option
@click.pass_context
def classes(ctx: click.Context, *, as_json: bool) -> None:
    """List the device classes, or check a class file.

    Yours are *.toml files in the folder `classes` beside the bench file.
    """
    if ctx.invoked_subcommand is None:
        _list(ctx.ensure_object(Globals), as_json=as_json)


@classes.command("list")
@json_option
@click.pass_obj
def list_(held: Globals, *, as_json: bool) -> None:
    """List the device classes."""
    _list(held, as_json=as_json)


@classes.command()
@click.argument("file", type=FILE)
@json_option
def check(file: Path, *, as_json: bool) -> None:
    """Check a class file.

    What is wrong is named by its key path.
    """
    from triage.device_classes.loader import read_class  # noqa: PLC0415 - loaded when a class is read

    found = read_class(file)
    if as_json:
        json_line(_form(found))
    else:
        counts = f"{len(found.faults)} faults, {len(found.checks)} checks, {len(found.hazards)} hazards"
        show(f"{file.name}: a sound class “{found.name}” ({found.id}): {counts}")


def _list(held: Globals, *, as_json: bool) -> None:
    from triage.bench_file import CLASS_FOLDER  # noqa: PLC0415
    from triage.device_classes.loader import load_classes  # noqa: PLC0415

    loaded = load_classes(held.path.parent / CLASS_FOLDER)
    for problem in loaded.problems:
        say(problem)
    found = list(loaded.values())
    if as_json:
        json_line({"classes": [_form(one) for one in found]})
        return
    table(
        ("class", "name", "faults", "checks", "hazards", "words"),
        [(one.id, one.name, len(one.faults), len(one.checks), len(one.hazards), ", ".join(one.words)) for one in found],
        right=("faults", "checks", "hazards"),
    )


def _form(found: DeviceClass) -> dict[str, Any]:
    return {
        "class": found.id,
        "name": found.name,
        "mains": found.mains,
        "words": list(found.words),
        "checks": [{"check": check.id, "question": check.question, "good": check.good} for check in found.checks],
        "faults": [{"fault": fault.id, "what": fault.what, "needs": list(fault.needs)} for fault in found.faults],
        "hazards": [
            {"hazard": hazard.id, "question": hazard.question, "releases": list(hazard.releases)}
            for hazard in found.hazards
        ],
        "symptoms": [{"symptom": symptom.id, "words": list(symptom.words)} for symptom in found.symptoms],
    }
