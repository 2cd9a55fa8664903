"""Sizes named by codes: chip bodies, tantalum cases, wire gauge.

Sources: maker practice for chip and tantalum codes; ASTM B258 for wire gauge.
"""

from __future__ import annotations

import math
import re
from decimal import Decimal

from catalog.text import Refused

CHIPS = {
    "01005": ("0402", 0.4, 0.2),
    "0201": ("0603", 0.6, 0.3),
    "0402": ("1005", 1.0, 0.5),
    "0603": ("1608", 1.6, 0.8),
    "0805": ("2012", 2.0, 1.25),
    "1206": ("3216", 3.2, 1.6),
    "1210": ("3225", 3.2, 2.5),
    "1808": ("4520", 4.5, 2.0),
    "1812": ("4532", 4.5, 3.2),
    "2010": ("5025", 5.0, 2.5),
    "2220": ("5750", 5.7, 5.0),
    "2512": ("6332", 6.3, 3.2),
}
"""Imperial chip code to metric code, length and width in mm."""
METRIC_CHIPS = {metric: imperial for imperial, (metric, _, _) in CHIPS.items()}
TANTALUM_CASES = {"A": "3216-18", "B": "3528-21", "C": "6032-28", "D": "7343-31", "E": "7343-43", "X": "7343-43"}
_GAUGES = {"0000": -3, "000": -2, "00": -1, "0": 0}


def imperial_chip(code: str, *, metric: bool = False) -> str:
    """The imperial code of a chip size; a bare code is imperial unless only the metric list holds it."""
    if metric or code not in CHIPS:
        if code in METRIC_CHIPS:
            return METRIC_CHIPS[code]
        raise Refused(f"'{code[:40]}' is no chip size code: keep it as text")
    return code


def chip_area(code: str) -> float:
    """Length times width in mm² of an imperial chip size that the list holds."""
    _, length, width = CHIPS[code]
    return length * width


def gauge_number(text: str) -> int:
    """The number of a gauge: `24`, `4/0` and `0000` (both -3). Refused outside 4/0 to 50."""
    digits = re.fullmatch(r"([1-4])/0|(0{1,4})|([1-9]\d?)", text.strip())
    if digits is None or (digits[3] and int(digits[3]) > 50):
        raise Refused(f"'{text[:40]}' is no wire gauge: expected 4/0 to 50")
    return 1 - int(digits[1]) if digits[1] else _GAUGES[digits[2]] if digits[2] else int(digits[3])


def gauge_diameter(text: str) -> float:
    """Bare diameter in metres of a wire gauge."""
    return float(Decimal("0.127e-3") * Decimal(92 ** ((36 - gauge_number(text)) / 39)))


def gauge_area(text: str) -> float:
    """Cross-section in square metres of a solid wire of this gauge."""
    return math.pi / 4 * gauge_diameter(text) ** 2


def gauge_of(metres: float) -> str:
    """The gauge nearest to a bare diameter in metres."""
    number = round(36 - 39 * math.log(metres / 0.127e-3, 92))
    if not -3 <= number <= 50:
        raise Refused(f"{metres * 1000:g} mm lies outside the gauges 4/0 to 50")
    return str(number) if number > 0 else f"{1 - number}/0"
