"""Sloppy descriptions of our own invention against readings written by hand from the code tables, before any program.

`descriptions.csv` (fields parted by semicolons): the text, the kind the caller gives, then what must come out: status,
kind, main value in the base unit (all values where the text is ambiguous, `none` for a reading without one), the
attributes the text states (`yes` for a flag, `_` for a space, `minus` and `plus` for the sides of a tolerance), and the
pieces that must be left over, parted by `¦`.
"""

import csv
import math
from pathlib import Path

import pytest

from catalog.describe import read
from catalog.reading import MAIN

LIST = Path(__file__).with_name("descriptions.csv").read_text(encoding="utf-8")
ROWS = list(csv.DictReader(LIST.splitlines(), delimiter=";"))


def number(written):
    try:
        return float(written)
    except ValueError:
        return None


def stated(row):
    return dict(pair.split("=") for pair in row["attributes"].split())


def says(held, written):
    """Whether a value is the one written in the row."""
    if held is None or held is True or isinstance(held, str):
        return {None: "none", True: "yes"}.get(held, held) == written.replace("_", " ")
    expected = number(written)
    return expected is not None and math.isclose(held, expected, rel_tol=1e-9)


def deviations(row):
    """What differs between the row and the answer, in words."""
    reading = read(row["text"], row["given"] or None)
    if reading.status != row["status"]:
        return [f"status {reading.status}: {reading.reason or reading}"]
    left = [piece for piece in row["left_over"].split("¦") if piece]
    found = [] if list(reading.left_over) == left else [f"left over {reading.left_over}"]
    if reading.status in {"nothing", "refused"}:
        return found
    options = reading.readings or (reading,)
    kinds = {option.spec.kind for option in options if option.spec}
    if row["kind"] and kinds != {row["kind"]}:
        found.append(f"kind {kinds}")
    values, expected = {option.value_si for option in options}, row["value"].split()
    if len(values) != len(expected) or not all(any(says(value, one) for value in values) for one in expected):
        found.append(f"value {values}")
    wanted, tolerance = stated(row), reading.tolerance
    sides = {side: wanted.pop(side) for side in ("minus", "plus") if side in wanted}
    if not all(tolerance and says(getattr(tolerance, side), written) for side, written in sides.items()):
        found.append(f"tolerance {tolerance}")
    held = reading.spec.attributes if reading.spec else {}
    for name, written in wanted.items():
        if name not in held or not says(held[name].value, written):
            found.append(f"{name} is {held.get(name)}")
    if reading.status == "ok":
        known = {*wanted, MAIN.get(row["kind"], ("", ""))[0], "inside_diameter"}
        invented = {name: item.value for name, item in held.items() if not item.implied and name not in known}
        found += [f"{invented} is not in the text"] if invented else []
    return found


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["text"])
def test_a_sloppy_description_is_read_as_a_careful_technician_would(row):
    assert deviations(row) == []
