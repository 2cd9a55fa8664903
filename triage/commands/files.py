"""`backup`, `verify`, `export` and `import`: the bench file as a whole."""

from __future__ import annotations

from pathlib import Path

import click

from catalog.text import Refused
from triage.commands.output import json_line, say, show, table
from triage.commands.shared import FILE, Command, Globals, json_option


@click.command(cls=Command)
@click.argument("file", type=FILE)
@json_option
@click.pass_obj
def backup(held: Globals, file: Path, *, as_json: bool) -> None:
    """Copy the bench file, complete and consistent, to a new FILE."""
    from triage.actions import files  # noqa: PLC0415 - loaded when a bench file is wanted

    with held.existing() as bench:
        target = files.backup(bench, file)
    say(f"backup written to {target}")
    if as_json:
        json_line({"file": str(target)})


@click.command(cls=Command)
@click.option("--digest", "only_digest", is_flag=True, help="Print only the digest: equal for two equal files.")
@json_option
@click.pass_obj
def verify(held: Globals, *, only_digest: bool, as_json: bool) -> None:
    """Check the whole bench file: every row, every reference, the journal."""
    from triage.actions import files  # noqa: PLC0415

    with held.existing() as bench:
        found = files.verify(bench)
    if as_json:
        json_line(
            {"ok": found.ok, "problems": list(found.problems), "digest": found.digest, "counts": dict(found.counts)}
        )
    elif only_digest:
        show(found.digest)
    else:
        table(("table", "rows"), sorted(found.counts.items()), right=("rows",))
        for problem in found.problems:
            show(problem)
        show(f"digest {found.digest}")
    if not found.ok:
        count = len(found.problems)
        raise Refused(f"{count} problem{'s' if count > 1 else ''}; restore a backup", where=str(held.path))


@click.command(cls=Command)
@click.argument("folder", type=FILE)
@json_option
@click.pass_obj
def export(held: Globals, folder: Path, *, as_json: bool) -> None:
    """Write everything as plain CSV files into FOLDER.

    An earlier export there is replaced.
    """
    from triage.actions import files  # noqa: PLC0415

    with held.existing() as bench:
        manifest = files.export(bench, folder)
    say(f"{sum(manifest.counts.values())} rows of {len(manifest.counts)} tables written to {folder}")
    if as_json:
        json_line({"folder": str(folder), "schema": manifest.schema, "counts": dict(manifest.counts)})


@click.command("import", cls=Command)
@click.argument("folder", type=FILE)
@json_option
@click.pass_obj
def import_(held: Globals, folder: Path, *, as_json: bool) -> None:
    """Make a new bench file from an export.

    --bench FILE names it; it is equal to the one that was exported.
    """
    from triage.actions import files  # noqa: PLC0415

    found = files.import_(folder, held.path)
    say(f"{sum(found.counts.values())} rows taken into {held.path}")
    if as_json:
        json_line({"file": str(held.path), "digest": found.digest, "counts": dict(found.counts)})
