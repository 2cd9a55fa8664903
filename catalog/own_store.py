"""The person's own rules of substitution, and how their word on two part numbers is kept.

Only loads and saves.
"""

from __future__ import annotations

import msgspec
from sqlite_utils import Database

from catalog.journal import Recorder
from catalog.rules import Rule
from catalog.shapes import ready

SCHEMA = """
CREATE TABLE own_rules (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    kind TEXT NOT NULL,
    name TEXT NOT NULL,
    rule TEXT NOT NULL,
    UNIQUE (kind, name)
) STRICT;
ALTER TABLE pairs ADD COLUMN grade TEXT NOT NULL DEFAULT 'drop-in'
    CHECK (grade IN ('drop-in', 'rework', 'compromise', 'refuse'));
UPDATE pairs SET grade = 'refuse' WHERE fits = 0;
ALTER TABLE pairs DROP COLUMN fits;
ALTER TABLE pairs ADD COLUMN said_by TEXT NOT NULL DEFAULT '';
UPDATE journal_rows SET
    before = json_remove(json_set(before, '$.grade',
        CASE json_extract(before, '$.fits') WHEN 0 THEN 'refuse' ELSE 'drop-in' END, '$.said_by', ''), '$.fits'),
    after = json_remove(json_set(after, '$.grade',
        CASE json_extract(after, '$.fits') WHEN 0 THEN 'refuse' ELSE 'drop-in' END, '$.said_by', ''), '$.fits')
    WHERE table_name = 'pairs';
"""
"""A pair says how well it fits; what the journal kept of pairs says it in the same form, so that undo puts it back."""
TABLES = ("own_rules",)


class OwnRule(msgspec.Struct, frozen=True):
    """One rule the person said; kind and name tell it."""

    id: int
    kind: str
    name: str
    rule: Rule


ready(OwnRule)


def own_rules(database: Database) -> list[OwnRule]:
    """The person's own rules, oldest first."""
    rows = database.query("SELECT id, kind, name, rule FROM own_rules ORDER BY id")
    return [msgspec.convert({**row, "rule": msgspec.json.decode(row["rule"])}, OwnRule) for row in rows]


def save_own_rule(recorder: Recorder, rule: Rule, row_id: int = 0) -> int:
    """Insert the rule (id 0) or write it over the one with that id; returns the id."""
    row = {"kind": rule.kind, "name": rule.id, "rule": msgspec.json.encode(rule).decode()}
    if row_id:
        recorder.update("own_rules", row_id, row)
        return row_id
    return recorder.insert("own_rules", row)
