"""An invented catalogue of any size, and what people type when they look for something in it. Everything from a seed.

Descriptions have the words and values of real drawers and price lists; numbers are two or three letters and three to
five digits, as nobody's. Queries come in four sorts: a part number with one or two slips, words of an entry without its
number, words of an entry mixed and mistyped, and three words of three different entries.
"""

from __future__ import annotations

import csv
import random
from collections.abc import Iterator
from pathlib import Path

E12 = (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2)
SHAPES = ("radial", "axial", "large", "small", "low profile", "blue", "grey", "new old stock", "tested", "short leads")
PARTS = ("lever", "spring", "knob", "lamp holder", "socket", "switch", "pickup arm", "gear", "guide", "ribbon", "foot")
COLOURS = ("black", "white", "silver", "brown", "clear", "red", "beige")
SLIPS = "abcdefghijklmnopqrstuvwxyz0123456789"


def _value(chance: random.Random, low: int, high: int, prefixes: str) -> str:
    number = chance.choice(E12) * 10 ** chance.randrange(low, high)
    return f"{number:g}{chance.choice(prefixes)}"


def _described(chance: random.Random) -> str:
    sort = chance.randrange(9)
    shape = chance.choice(SHAPES)
    if sort <= 1:
        volts = chance.choice((6.3, 10, 16, 25, 35, 50, 63, 100, 160, 250))
        return f"electrolytic {_value(chance, 0, 4, 'u')}F {volts}V {shape} {chance.choice((85, 105))}C"
    if sort == 2:
        return f"film capacitor {_value(chance, 0, 3, 'n')}F {chance.choice((63, 100, 250, 400, 630))}V {shape}"
    if sort == 3:
        return f"ceramic {_value(chance, 0, 3, 'pn')}F {chance.choice((50, 100, 500))}V {chance.choice(('C0G', 'X7R'))}"
    if sort <= 5:
        watts, percent = chance.choice((0.25, 0.5, 1, 2, 5)), chance.choice((1, 2, 5))
        return f"resistor {_value(chance, 0, 3, 'kM')} {watts}W {percent}% {shape}"
    if sort == 6:
        size = f"{chance.choice('TFM')}{chance.choice((100, 160, 250, 315, 500, 630, 800))}mA"
        return f"fuse {size} {chance.choice((125, 250))}V {chance.choice(('5x20', '6.3x32'))} {shape}"
    if sort == 7:
        return f"belt {chance.randrange(60, 900)} mm circumference square {chance.choice((1.2, 1.6, 2.0))}"
    words = chance.sample(COLOURS, 2)
    return f"{chance.choice(PARTS)} {' '.join(words)} {chance.randrange(3, 90)} mm {shape}"


def part_rows(count: int, seed: int) -> Iterator[dict[str, str]]:
    """Rows of a parts list, each number once."""
    chance = random.Random(seed)
    seen = set[str]()
    while len(seen) < count:
        letters = "".join(chance.choice("abcdefghjkmnprstuvwxyz") for _ in range(chance.choice((2, 3)))).upper()
        number = (
            f"{letters}{chance.choice(('-', '', ' '))}{chance.randrange(100, 99_999)}{chance.choice(('', '', 'A'))}"
        )
        plain = number.replace("-", "").replace(" ", "")
        if plain in seen:
            continue
        seen.add(plain)
        yield {
            "part_number": number,
            "description": _described(chance),
            "quantity": str(chance.randrange(0, 40)),
            "place": f"drawer {chance.randrange(1, 400)}",
            "unit_cost": f"{chance.randrange(2, 900) / 100:.2f}",
        }


def write_list(path: Path, count: int, seed: int) -> None:
    """A parts list as CSV."""
    with path.open("w", encoding="utf-8", newline="") as file:
        rows = part_rows(count, seed)
        first = next(rows)
        writer = csv.DictWriter(file, list(first), lineterminator="\n")
        writer.writeheader()
        writer.writerow(first)
        writer.writerows(rows)


def _slipped(word: str, chance: random.Random) -> str:
    for _ in range(chance.choice((1, 1, 2))):
        place, letter = chance.randrange(len(word)), chance.choice(SLIPS)
        match chance.randrange(4):
            case 0:
                word = word[:place] + letter + word[place + 1 :]
            case 1 if len(word) > 3:
                word = word[:place] + word[place + 1 :]
            case 2:
                word = word[:place] + letter + word[place:]
            case _:
                word = word[:place] + word[place + 1 : place + 2] + word[place : place + 1] + word[place + 2 :]
    return word


def queries(rows: list[tuple[str, str]], count: int, seed: int) -> list[tuple[str, str]]:
    """(sort, query) for (part number, description) pairs, the four sorts in turn."""
    chance = random.Random(seed)
    found = []
    for turn in range(count):
        number, text = chance.choice(rows)
        words = text.split()
        match turn % 4:
            case 0:
                found.append(("number with slips", _slipped(number, chance)))
            case 1:
                found.append(("words", " ".join(chance.sample(words, min(len(words), chance.choice((2, 3, 4)))))))
            case 2:
                mixed = chance.sample([*words, number], min(len(words) + 1, 4))
                slips = (_slipped(word, chance) if chance.random() < 0.4 else word for word in mixed)
                found.append(("mixed, mistyped", " ".join(slips)))
            case _:
                three = (chance.choice(chance.choice(rows)[1].split()) for _ in range(3))
                found.append(("three random words", " ".join(three)))
    return found
