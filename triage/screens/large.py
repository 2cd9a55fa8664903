"""Large letters for the question: three columns by three lines each, readable from across the bench.

The letters are our own, drawn on a grid of three by five dots; two dots share one character cell.
"""

from __future__ import annotations

import unicodedata

_ROWS = 5
_DOTS: dict[str, str] = {
    "A": "75755", "B": "65656", "C": "74447", "D": "65556", "E": "74647", "F": "74644", "G": "74557", "H": "55755",
    "I": "72227", "J": "11157", "K": "55655", "L": "44447", "M": "57755", "N": "75555", "O": "75557", "P": "75744",
    "Q": "75573", "R": "75655", "S": "74717", "T": "72222", "U": "55557", "V": "55552", "W": "55775", "X": "55255",
    "Y": "55722", "Z": "71247", "0": "75557", "1": "26227", "2": "71747", "3": "71717", "4": "55711", "5": "74717",
    "6": "74757", "7": "71222", "8": "75757", "9": "75717", "?": "71302", "!": "22202", ".": "00002", ",": "00024",
    ":": "02020", "-": "00700", "/": "11244", "'": "22000", "(": "12221", ")": "42224", "%": "51245", "+": "02720",
}  # fmt: skip
"""Each letter as five digits, top to bottom; the digit's bits are its three dots, left to right."""

_CELLS = {(0, 0): " ", (1, 0): "▀", (0, 1): "▄", (1, 1): "█"}


def large(text: str, width: int) -> list[str]:
    """The text in large letters, broken between words to fit `width` cells; lines of cells, blank lines between."""
    per_line = max(4, (width + 1) // 4)
    lines: list[str] = []
    for line in _broken(_plain(text), per_line):
        lines += [*_drawn(line), ""]
    return lines[:-1]


def _drawn(line: str) -> list[str]:
    rows = ["".join(_dots(letter, row) + "0" for letter in line) for row in range(_ROWS)] + ["0" * 4 * len(line)]
    return [
        "".join(_CELLS[int(top), int(below)] for top, below in zip(rows[at], rows[at + 1], strict=True)).rstrip()
        for at in range(0, _ROWS + 1, 2)
    ]


def _dots(letter: str, row: int) -> str:
    return f"{int(_DOTS.get(letter, '00000')[row]):03b}"


def _plain(text: str) -> str:
    """Capitals without accents: what the grid can draw."""
    apart = unicodedata.normalize("NFD", text.replace("’", "'").upper())
    return "".join(letter for letter in apart if not unicodedata.combining(letter))


def _broken(text: str, per_line: int) -> list[str]:
    lines = [""]
    for word in text.split():
        if lines[-1] and len(lines[-1]) + 1 + len(word) > per_line:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()[:per_line]
    return lines
