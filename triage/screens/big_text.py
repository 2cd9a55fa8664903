"""The question in letters that can be read from a metre away: five by seven dots, two dots to a terminal cell."""

from __future__ import annotations

from textual.content import Content

from catalog.text import clean_line
from triage.screens.plain import stacked, styled

_DOTS = """
A 01110 10001 10001 11111 10001 10001 10001
B 11110 10001 10001 11110 10001 10001 11110
C 01111 10000 10000 10000 10000 10000 01111
D 11110 10001 10001 10001 10001 10001 11110
E 11111 10000 10000 11110 10000 10000 11111
F 11111 10000 10000 11110 10000 10000 10000
G 01111 10000 10000 10011 10001 10001 01111
H 10001 10001 10001 11111 10001 10001 10001
I 111 010 010 010 010 010 111
J 00011 00001 00001 00001 00001 10001 01110
K 10001 10010 10100 11000 10100 10010 10001
L 10000 10000 10000 10000 10000 10000 11111
M 10001 11011 10101 10101 10001 10001 10001
N 10001 11001 11001 10101 10011 10011 10001
O 01110 10001 10001 10001 10001 10001 01110
P 11110 10001 10001 11110 10000 10000 10000
Q 01110 10001 10001 10001 10101 10010 01101
R 11110 10001 10001 11110 10100 10010 10001
S 01111 10000 10000 01110 00001 00001 11110
T 11111 00100 00100 00100 00100 00100 00100
U 10001 10001 10001 10001 10001 10001 01110
V 10001 10001 10001 10001 10001 01010 00100
W 10001 10001 10001 10101 10101 11011 10001
X 10001 01010 01010 00100 01010 01010 10001
Y 10001 10001 01010 00100 00100 00100 00100
Z 11111 00001 00010 00100 01000 10000 11111
0 01110 10011 10011 10101 11001 11001 01110
1 010 110 010 010 010 010 111
2 01110 10001 00001 00110 01000 10000 11111
3 11110 00001 00001 01110 00001 00001 11110
4 00010 00110 01010 10010 11111 00010 00010
5 11111 10000 11110 00001 00001 10001 01110
6 01110 10000 11110 10001 10001 10001 01110
7 11111 00001 00010 00010 00100 00100 00100
8 01110 10001 10001 01110 10001 10001 01110
9 01110 10001 10001 01111 00001 00001 01110
? 01110 10001 00001 00110 00100 00000 00100
! 1 1 1 1 1 0 1
. 0 0 0 0 0 0 1
, 000 000 000 000 000 010 100
: 0 0 1 0 0 1 0
; 000 000 010 000 000 010 100
- 000 000 000 111 000 000 000
+ 000 000 010 111 010 000 000
/ 001 001 010 010 010 100 100
' 1 1 0 0 0 0 0
( 001 010 010 010 010 010 001
) 100 010 010 010 010 010 100
% 10001 10001 00010 00100 01000 10001 10001
"""
_LETTERS = {line[0]: line[2:].split() for line in _DOTS.strip().splitlines()}
_HALVES = {"00": " ", "10": "▀", "01": "▄", "11": "█"}
_QUARTERS = dict(zip((f"{place:04b}" for place in range(16)), " ▗▖▄▝▐▞▟▘▚▌▙▀▜▛█", strict=True))
"""Upper left, upper right, lower left, lower right dot to the block character."""
_SPACE = 4
_ROWS = 4


def big(text: str, width: int, rows: int) -> Content:
    """The text in large letters, broken at words to `width` cells and `rows` rows: the largest size that fits.

    Sizes are one dot a cell, then two dots a cell; what fits neither way, or has a letter without dots, stays plain.
    """
    words = clean_line(text).upper().translate({0x201C: None, 0x201D: None, 0x2019: "'", 0x2013: "-"}).split()
    if all(letter in _LETTERS for word in words for letter in word):
        for dots in (1, 2):
            lines = _broken(words, width * dots)
            if lines and len(lines) * _ROWS <= rows:
                return stacked(styled((row, "bold")) for line in lines for row in _drawn(line, dots))
    return styled((clean_line(text), "bold"))


def _broken(words: list[str], width: int) -> list[str]:
    """Lines of at most `width` dots; none where a word alone is wider."""
    lines: list[str] = []
    for word in words:
        if _dots(word) > width:
            return []
        if lines and _dots(f"{lines[-1]} {word}") <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


def _dots(line: str) -> int:
    return sum(_SPACE if letter == " " else len(_LETTERS[letter][0]) + 1 for letter in line)


def _drawn(line: str, dots: int) -> list[str]:
    """One line of letters as terminal rows, two dots high and `dots` dots wide a cell."""
    scan = ["".join(_scan(letter, row) for letter in line) for row in range(2 * _ROWS)]
    rows = []
    for row in range(_ROWS):
        upper, lower = (text + "0" * (len(text) % 2) for text in scan[2 * row : 2 * row + 2])
        if dots == 1:
            drawn = "".join(_HALVES[a + b] for a, b in zip(upper, lower, strict=True))
        else:
            pairs = range(0, len(upper), 2)
            drawn = "".join(_QUARTERS[upper[at : at + 2] + lower[at : at + 2]] for at in pairs)
        rows.append(drawn.rstrip())
    return rows


def _scan(letter: str, row: int) -> str:
    """One row of dots of a letter with the gap after it; below the seventh there are none."""
    if letter == " ":
        return "0" * _SPACE
    held = _LETTERS[letter]
    return (held[row] if row < len(held) else "0" * len(held[0])) + "0"
