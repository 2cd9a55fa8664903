"""Things that only go with a part and are not it: a knob, a charger, a tester, a heat sink.

Their line names the part and its figures, so that it would read like one.
"""

from __future__ import annotations

import re

_ACCESSORY = re.compile(
    r"(?<![^\W_])(?:knobs?|knopf|drehknopf|pulleys?|riemenscheibe|chargers?|ladegerät|testers?|prüfgerät|dimmers?|"
    r"heat ?sinks?|kühlkörper|"
    r"(?:lamp|bulb|led|lampen)[ -]?(?:drivers?|treiber|holders?|sockets?|bases?|ballast|transformers?|fassung))"
    r"(?![^\W_])"
)
_INCLUDED = re.compile(
    r"(?:[,;+&(]|(?<![^\W_])(?:with|mit|avec|con|incl|including|and|und|for|from|by|on|no|without|ohne|sans|w/))[\s.]*(?:an?\s)?$"
)


def is_accessory(line: str) -> bool:
    """Whether a cleaned line is about such a thing: `pot knob 10k`, `ML2032 charger`, not `pot 10k with knob`."""
    low = line.lower()
    return any(not _INCLUDED.search(low[: match.start()]) for match in _ACCESSORY.finditer(low))
