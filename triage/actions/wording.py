"""Writing a part in words that read back as exactly that part, to settle a text that can be read in several ways."""

from __future__ import annotations

from collections.abc import Iterator

from catalog.describe import read
from catalog.quantity import engineering
from catalog.reading import Reading
from catalog.spec import PartSpec, Value


def settled(reading: Reading, kind: str | None = None) -> str | None:
    """Words that can only be read as this reading of an ambiguous text; None where none are known.

    What was left over of the text is kept at the end.
    """
    if reading.spec is None:
        return None
    spec = reading.spec
    # what the text did not say outright is restated too where it can be: "25 V" implies direct current, and is a rating
    stated = {name: held for name, held in spec.attributes.items() if not (held.implied and name == "tolerance")}
    tail = f" {' '.join(reading.left_over)}" if reading.left_over else ""
    for words in _ways(spec, stated):
        again = read(words, kind)
        if again.status == "ok" and again.spec is not None and _same(stated, again.spec):
            whole = read(words + tail, kind)
            return words + tail if whole.status == "ok" and whole.spec == again.spec else words
    return None


def _ways(spec: PartSpec, stated: dict[str, Value]) -> Iterator[str]:
    """The part in words, plainest first."""
    for first in ("", "after", "before"):
        for kind in (spec.kind, ""):
            pieces = [kind, *(_words(name, held, first) for name, held in stated.items())]
            yield " ".join(piece for piece in pieces if piece)


def _words(name: str, held: Value, naming: str) -> str:
    word = name.replace("_", " ")
    if held.value is True:
        return word
    if isinstance(held.value, str):
        return held.value
    unit = "" if held.unit in {None, "count"} else str(held.unit)
    suffix = {"voltage_ac": " AC", "voltage_dc": ""}.get(name, "")
    figure = engineering(float(held.value), unit) + suffix
    return {"after": f"{figure} {word}", "before": f"{word} {figure}"}.get(naming, figure) if naming else figure


def _same(stated: dict[str, Value], spec: PartSpec) -> bool:
    return all(name in spec.attributes and spec.attributes[name].value == held.value for name, held in stated.items())
