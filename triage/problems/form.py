"""Decoding a problem case into a typed record, with the key path of what is wrong in a refusal."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

import msgspec

from catalog.text import Refused, clean_line

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

Form = TypeVar("Form")

Money = Annotated[int, msgspec.Meta(ge=0, le=10**9)]
"""Whole cents; the limit keeps every sum exact in the solver."""
Count = Annotated[int, msgspec.Meta(ge=0, le=10**6)]
Whole = Annotated[int, msgspec.Meta(ge=1, le=10**6)]
"""A number of things of which there is at least one."""
Name = Annotated[str, msgspec.Meta(min_length=1, max_length=200)]

_PLACE = re.compile(r"^(?P<problem>.*?)(?: - at `\$?\.?(?P<place>.*)`)?$", re.DOTALL)


def decoded(case: Mapping[str, Any], form: type[Form]) -> Form:
    """`case` as a `form`; keys that the form does not have are refused.

    Raises:
        Refused: `where` is the key path, such as `offers[3].stock_packs`.
    """
    try:
        return msgspec.convert(case, form)
    except msgspec.ValidationError as error:
        found = _PLACE.match(str(error))
        problem, place = (found["problem"], found["place"] or "") if found else (str(error), "")
        raise Refused(problem.replace("`", ""), where=place) from None


def unique_names(names: Iterable[str], place: str) -> None:
    """Refuse a name that is used twice or is no plain printable text; `place` is the list's key, such as `offers`."""
    seen: set[str] = set()
    for index, name in enumerate(names):
        where = f"{place}[{index}].id"
        if clean_line(name) != name:
            raise Refused(f"expected plain text on one line, got {name!r}", where=where)
        if name in seen:
            raise Refused(f"{name!r} is used twice; give each its own id", where=where)
        seen.add(name)
