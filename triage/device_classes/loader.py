"""Reading device-class files: built-in ones, the person's own beside them, each decoded, cleaned and checked.

A slip is refused with the file, the key path by ids (`gamepad.toml: checks[centre].leak`) and what was expected.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from catalog.shapes import ready
from catalog.text import Refused, clean_line
from triage.device_classes.schema import DeviceClass
from triage.device_classes.validation import slips
from triage.plain_toml import as_struct, file_bytes, toml_table

ready(DeviceClass)


class Classes(Mapping[str, DeviceClass]):
    """Classes by id; a built-in one is decoded when it is first asked for, so that starting up reads none."""

    def __init__(self, own: Mapping[str, DeviceClass], problems: tuple[str, ...] = ()) -> None:
        """`own` adds to the built-in classes or overrides them; `problems` says which files were left out and why."""
        self._own = own
        self._ids = tuple(sorted({*_built_in_ids(), *own}))
        self.problems = problems

    def __getitem__(self, class_id: str) -> DeviceClass:
        if class_id in self._own:
            return self._own[class_id]
        if class_id not in self._ids:
            raise KeyError(class_id)
        return _built_in(class_id)

    def __iter__(self) -> Iterator[str]:
        return iter(self._ids)

    def __len__(self) -> int:
        return len(self._ids)


def load_classes(own_folder: Path | None = None) -> Classes:
    """Every class by id: the built-in ones, then the `*.toml` of `own_folder`, which add or override by id.

    A folder that is not there adds nothing. A file that is not right is left out, one line each in `problems`: a slip
    in one of them must not keep the person from the lot on the bench.
    """
    own: dict[str, DeviceClass] = {}
    came_from: dict[str, str] = {}
    problems: list[str] = []
    for path in sorted(own_folder.glob("*.toml")) if own_folder is not None else ():
        try:
            read = read_class(path)
        except Refused as refusal:
            problems.append(f"{refusal} (the file is left out)")
            continue
        if read.id in own:
            both = f"{came_from[read.id]} has the id {read.id} too; give each file its own id (the file is left out)"
            problems.append(f"{clean_line(path.name)}: {both}")
        else:
            own[read.id], came_from[read.id] = read, clean_line(path.name)
    return Classes(own, tuple(problems))


def read_class(path: Path) -> DeviceClass:
    """The class of one file; raises Refused naming the file and the key path, or the line where it is no TOML."""
    return parse_class(file_bytes(path), path.name)


def parse_class(data: bytes, name: str) -> DeviceClass:
    """The class that a TOML text states; `name` is the file named in a refusal."""
    return build_class(toml_table(data, name), name)


def build_class(raw: Mapping[str, Any], name: str) -> DeviceClass:
    """The class that decoded data states (a class given inline in JSON has the same form); `name` for refusals."""
    built = as_struct(raw, DeviceClass, name)
    for place, problem in slips(built):
        raise Refused(problem, where=f"{name}: {place}" if place else name)
    return built


@cache
def _built_in_ids() -> tuple[str, ...]:
    names = (entry.name for entry in resources.files(__package__).iterdir())
    return tuple(sorted(name.removesuffix(".toml") for name in names if name.endswith(".toml")))


@cache
def _built_in(class_id: str) -> DeviceClass:
    name = f"{class_id}.toml"
    return parse_class(resources.files(__package__).joinpath(name).read_bytes(), name)
