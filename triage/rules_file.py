"""The person's own rules and pairs in the file `rules.toml` beside the bench file.

    [[rules]]
    kind = "electrolytic"
    id = "low lid"                   # a name of your own
    attributes = ["height"]
    test = "at most, else refuse"    # in words, or as a table {test = "at_most", broken = "refuse"}
    instead_of = ""                  # a built-in rule whose place it takes; left out: beside the others
    by = "me"
    at = 2026-11-27
    why = "the lid of this set leaves no room"

    [[pairs]]
    wanted = "QX-9"
    candidate = "QX-10"
    grade = "rework"                 # drop-in, rework, compromise, or refuse
    note = "needs a shim"

An unknown key refuses the file, and so does a rule that could make something pass that must not.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

import msgspec

from catalog.rules import Grade, Pair, Rule
from catalog.text import Refused
from triage.plain_toml import as_struct, file_bytes, toml_table

NAME = "rules.toml"
"""Name of the file beside the bench file."""
PAIR_GRADES = (Grade.DROP_IN, Grade.REWORK, Grade.COMPROMISE, Grade.REFUSE)
"""What a person may say of two part numbers."""


class _File(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    rules: tuple[Rule, ...] = ()
    pairs: tuple[Pair, ...] = ()


def stamp(folder: Path) -> tuple[int, int] | None:
    """When the file was changed last, in nanoseconds, and its size in bytes; None where there is no file."""
    try:
        held = (folder / NAME).stat()
    except OSError:
        return None
    return held.st_mtime_ns, held.st_size


def read_rules(folder: Path) -> tuple[tuple[Rule, ...], tuple[Pair, ...]]:
    """The rules and pairs of the file in `folder`; none where there is no file. Refused when it is not right."""
    path = folder / NAME
    if not path.exists():
        return (), ()
    return parse_rules(file_bytes(path), path.name)


def parse_rules(data: bytes, name: str) -> tuple[tuple[Rule, ...], tuple[Pair, ...]]:
    """The rules and pairs that a TOML text states; `name` is the file named in a refusal."""
    from catalog.own_rules import checked  # noqa: PLC0415 - the rule tables, when there is such a file

    held = as_struct(_readable(toml_table(data, name), name), _File, name)
    rules = []
    for index, rule in enumerate(held.rules):
        try:
            rules.append(checked(msgspec.structs.replace(rule, by=rule.by or name)))
        except Refused as refusal:
            place = f"rules[{rule.id or index}].{refusal.where}".rstrip(".")
            raise Refused(refusal.problem, where=f"{name}: {place}") from None
    names = [(rule.kind, rule.id) for rule in rules]
    for rule in rules:
        if names.count((rule.kind, rule.id)) > 1:
            raise Refused(f"another rule for {rule.kind} has this name too", where=f"{name}: rules[{rule.id}].id")
    for index, pair in enumerate(held.pairs):
        if not pair.wanted or not pair.candidate or pair.grade not in PAIR_GRADES:
            field = "wanted" if not pair.wanted else "grade" if pair.candidate else "candidate"
            said = f"expected one of {', '.join(PAIR_GRADES)}" if field == "grade" else "expected a part number"
            raise Refused(said, where=f"{name}: pairs[{index}].{field}")
    return tuple(rules), tuple(msgspec.structs.replace(pair, by=pair.by or name) for pair in held.pairs)


def _readable(raw: Mapping[str, Any], name: str) -> dict[str, Any]:
    """The same with days as text and tests in words as tests."""
    found: dict[str, Any] = {}
    for key, entries in raw.items():
        if not isinstance(entries, list):
            found[key] = entries
            continue
        found[key] = [_entry(entry, f"{name}: {key}[{index}]") for index, entry in enumerate(entries)]
    return found


def _entry(entry: Any, place: str) -> Any:
    if not isinstance(entry, dict):
        return entry
    plain = {key: value.isoformat() if isinstance(value, date) else value for key, value in entry.items()}
    if isinstance(plain.get("test"), str):
        from catalog.rule_words import test_of  # noqa: PLC0415

        try:
            plain["test"] = msgspec.to_builtins(test_of(plain["test"]))
        except Refused as refusal:
            raise Refused(refusal.problem, where=f"{place}.test") from None
    return plain
