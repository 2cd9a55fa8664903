"""Words about danger in what was typed of a unit, to the hazards of its class that they speak of.

`valve amp, got a shock` puts a question in front; it answers none. Somebody who has seen a danger should be asked about
it first, so the words of a phrase may stand in any order and a few words apart, and rather one question too many is
asked than one too few. Pure functions.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Final

from triage.device_classes.schema import DeviceClass, Sign
from triage.matching import NEGATIONS, Token, alike, phrase_of, tokens_of

APART: Final = 3
"""So many other words may stand among those of a phrase: `the cord had been badly cut`."""

_SET_OFF: Final = re.compile(r"[,;:/()]|\.\s")
_CORDS: Final = ("lead", "cord", "cable", "flex", "plug", "wire")
_HARMED: Final = ("cut", "bare", "frayed", "damaged", "melted", "burnt", "split", "chewed", "crushed", "smashed")
_CELLS: Final = ("battery", "batteries", "cell", "pack")
_SPOILT: Final = ("burst", "split", "exploded", "bent", "hot", "hissing")

SIGNS: Final[dict[Sign, tuple[str, ...]]] = {
    "shock": ("shock", "shocks", "zap", "tingle", "electrocuted", "live chassis", "live case", "live metal"),
    "burning": (
        *("smoke", "burning smell", "burnt smell", "burning plastic", "burnt inside", "burnt board", "stinks burning"),
        *("scorched", "charred", "singed", "sparks", "flames", "caught fire", "on fire", "went bang", "fumes"),
    ),
    "cord": (*(f"{what} {how}" for what in _CORDS for how in _HARMED), "plug broken", "no plug", "plug missing"),
    "valve": ("valve", "tube"),
    "pack": (
        *("swollen", "swelling", "swelled", "bulging", "bloated", "puffed", "puffy", "ballooned"),
        *(f"{what} {how}" for what in _CELLS for how in _SPOILT),
    ),
    "cells": (
        *("leaking", "acid", "crust", "crusty", "corroded", "corrosion", "oozing", "goo", "white powder"),
        *("green contacts", "rusty contacts"),
    ),
    "capacitor": tuple(f"capacitor {how}" for how in ("cracked", "crazed", "burst", "split")),
    "lens": tuple(f"lens {how}" for how in ("cracked", "broken", "smashed", "missing", "gone")),
}
"""What people say of each; common practice."""


def hazards_named(device_class: DeviceClass, texts: Iterable[str]) -> tuple[str, ...]:
    """Ids of the hazards that the texts speak of, those named first in front; `no smoke` names none."""
    found: dict[str, None] = {}
    for text in texts:
        said = _signs_in(text)
        named = [
            (min(said[sign] for sign in hazard.signs if sign in said), place, hazard.id)
            for place, hazard in enumerate(device_class.hazards)
            if not said.keys().isdisjoint(hazard.signs)
        ]
        found.update(dict.fromkeys(name for _, _, name in sorted(named)))
    return tuple(found)


@lru_cache(maxsize=1024)
def _signs_in(text: str) -> dict[Sign, int]:
    """{sign: where it is named first}; no phrase reaches over a comma."""
    found: dict[Sign, int] = {}
    begun = 0
    for clause in _SET_OFF.split(text):
        tokens = tokens_of(clause)
        for sign, phrases in SIGNS.items():
            places = [at for words in phrases if (at := _stands_at(tokens, phrase_of(words))) is not None]
            if places:
                found.setdefault(sign, begun + min(places))
        begun += len(tokens)
    return found


def _stands_at(tokens: Sequence[Token], phrase: Sequence[str]) -> int | None:
    """Index of the first place where all words of the phrase stand near each other and are not denied."""
    denies = phrase[0] in NEGATIONS
    for first, token in enumerate(tokens):
        near = tokens[first : first + len(phrase) + (0 if denies else APART)]
        begins = token.stem == phrase[0] if denies else any(alike(token.stem, word) for word in phrase)
        denied = not denies and first > 0 and tokens[first - 1].stem in NEGATIONS
        if begins and not denied and all(any(alike(other.stem, word) for other in near) for word in phrase):
            return first
    return None
