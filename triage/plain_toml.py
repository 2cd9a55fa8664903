"""Reading the person's own TOML files: cleaned, decoded into a struct, and refused with the file and the key path.

A slip is named by the ids of the entries it is in (`gamepad.toml: checks[centre].leak`), or by its line where the text
is no TOML.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from catalog.text import LINE_LIMIT, Refused, clean_line

T = TypeVar("T")

SIZE_LIMIT = 1_000_000
"""Largest file read, in bytes; the largest of ours are some twenty thousand."""

_AT_LINE = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)$")
_PLACE = re.compile(r" - at (?:`key` in )?`\$\.?([^`]*)`$")
_FIELD = re.compile(r"(unknown|required) field `([^`]*)`")


def file_bytes(path: Path) -> bytes:
    """What the file holds, up to one byte more than is read; raises Refused when it cannot be read."""
    try:
        with path.open("rb") as stream:
            return stream.read(SIZE_LIMIT + 1)
    except OSError as error:
        raise Refused(f"cannot be read: {error.strerror or error}", where=path.name) from error


def toml_table(data: bytes, name: str) -> dict[str, Any]:
    """The table that a TOML text states; `name` is the file named in a refusal."""
    if len(data) > SIZE_LIMIT:
        raise Refused(f"larger than {SIZE_LIMIT:,} bytes; such a file is a few pages of text", where=name)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise Refused("not UTF-8 text; save the file as UTF-8", where=f"{name}:{line}") from error
    for number, line_text in enumerate(text.split("\n"), start=1):
        if len(line_text) > LINE_LIMIT:
            raise Refused(f"line of {len(line_text):,} characters; at most {LINE_LIMIT:,}", where=f"{name}:{number}")
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        said = _AT_LINE.search(str(error))
        at = said.group(1) if said and said.group(1) else str(text.rstrip("\n").count("\n") + 1)
        problem = _AT_LINE.sub("", str(error))
        raise Refused(f"not valid TOML: {problem}", where=f"{name}:{at}") from error
    except RecursionError as error:
        raise Refused("nested too deeply; such a file is tables of plain values", where=name) from error


def as_struct(raw: Mapping[str, Any], form: type[T], name: str) -> T:
    """The decoded data, cleaned, as a struct; raises Refused with the key path of what does not suit it."""
    cleaned = _clean(raw, name, "")
    try:
        return msgspec.convert(cleaned, form)
    except msgspec.ValidationError as error:
        place, problem = _explain(str(error), cleaned)
        raise Refused(problem, where=f"{name}: {place}" if place else name) from error


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
