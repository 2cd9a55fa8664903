"""Reading device-class files: built-in ones, the person's own beside them, each decoded, cleaned and checked.

A slip is refused with the file, the key path by ids (`gamepad.toml: checks[centre].leak`) and what was expected.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

import msgspec

from catalog.shapes import ready
from catalog.text import LINE_LIMIT, Refused, clean_line
from triage.device_classes.schema import DeviceClass
from triage.device_classes.validation import slips

SIZE_LIMIT = 1_000_000
"""Largest class file read, in bytes; the built-in ones are some twenty thousand."""

_AT_LINE = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)$")
_PLACE = re.compile(r" - at (?:`key` in )?`\$\.?([^`]*)`$")
_FIELD = re.compile(r"(unknown|required) field `([^`]*)`")

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
    try:
        with path.open("rb") as stream:
            data = stream.read(SIZE_LIMIT + 1)
    except OSError as error:
        raise Refused(f"cannot be read: {error.strerror or error}", where=path.name) from error
    return parse_class(data, path.name)


def parse_class(data: bytes, name: str) -> DeviceClass:
    """The class that a TOML text states; `name` is the file named in a refusal."""
    if len(data) > SIZE_LIMIT:
        raise Refused(f"larger than {SIZE_LIMIT:,} bytes; a class file is a few pages of text", where=name)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise Refused("not UTF-8 text; save the file as UTF-8", where=f"{name}:{line}") from error
    for number, line_text in enumerate(text.split("\n"), start=1):
        if len(line_text) > LINE_LIMIT:
            raise Refused(f"line of {len(line_text):,} characters; at most {LINE_LIMIT:,}", where=f"{name}:{number}")
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        said = _AT_LINE.search(str(error))
        at = said.group(1) if said and said.group(1) else str(text.rstrip("\n").count("\n") + 1)
        problem = _AT_LINE.sub("", str(error))
        raise Refused(f"not valid TOML: {problem}", where=f"{name}:{at}") from error
    except RecursionError as error:
        raise Refused("nested too deeply; a class file is tables of plain values", where=name) from error
    return build_class(raw, name)


def build_class(raw: Mapping[str, Any], name: str) -> DeviceClass:
    """The class that decoded data states (a class given inline in JSON has the same form); `name` for refusals."""
    cleaned = _clean(raw, name, "")
    try:
        built = msgspec.convert(cleaned, DeviceClass)
    except msgspec.ValidationError as error:
        place, problem = _explain(str(error), cleaned)
        raise Refused(problem, where=f"{name}: {place}" if place else name) from error
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


def _clean(value: Any, name: str, place: str) -> Any:
    """The same data with every text and key cleaned; a text longer than a line may be is refused, not cut."""
    if isinstance(value, str):
        if len(value) > LINE_LIMIT:
            raise Refused(f"text of {len(value):,} characters; at most {LINE_LIMIT:,}", where=f"{name}: {place}")
        return clean_line(value)
    if isinstance(value, Mapping):
        step = f"{place}." if place else ""
        return {_clean(key, name, place): _clean(inner, name, f"{step}{key}") for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_clean(inner, name, f"{place}[{_label(inner, index)}]") for index, inner in enumerate(value)]
    return value


def _label(item: Any, index: int) -> str:
    """How an entry of a list is named in a key path: by its id, else by its number from 0."""
    named = item.get("id") if isinstance(item, Mapping) else None
    return named if isinstance(named, str) and named else str(index)


def _explain(message: str, raw: Mapping[str, Any]) -> tuple[str, str]:
    """(key path by ids, problem in plain words) of a decoder's message."""
    where = _PLACE.search(message)
    place = _named_place(where.group(1), raw) if where else ""
    problem = message[: where.start()] if where else message
    if field := _FIELD.search(problem):
        place = f"{place}.{field.group(2)}" if place else field.group(2)
        return place, "unknown key; remove it or correct its name" if field.group(1) == "unknown" else "is missing"
    return place, problem[:1].lower() + problem[1:].replace("`", "")


def _named_place(path: str, raw: Any) -> str:
    """`checks[3].fails[...]` -> `checks[centre].fails.stick_pot`: list numbers by id, the odd value out by its key."""
    place = ""
    for step in re.findall(r"\[[^\]]*\]|[^.\[\]]+", path):
        if step == "[...]":
            odd = next((key for key, value in raw.items() if not _is_number(value)), "") if raw else ""
            place, raw = (f"{place}.{odd}" if odd else place), raw.get(odd)
        elif step.startswith("["):
            index = int(step[1:-1])
            place, raw = f"{place}[{_label(raw[index], index)}]", raw[index]
        else:
            place, raw = (f"{place}.{step}" if place else step), raw.get(step) if isinstance(raw, Mapping) else None
    return place


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
