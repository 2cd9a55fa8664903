"""Reading diodes, transistors and linear regulators by type number and by words.

Figures of generic types (the 1N400x, 1N540x and 1N5817 ladders, the 78xx and 79xx families) are from memory and
marked as implied: the text did not say them.
"""

from __future__ import annotations

import re

from catalog import read_common as common
from catalog.quantity import scaled
from catalog.reading import Choice, Draft
from catalog.text import BEGIN, END

DIODE_TYPE = re.compile(
    r"(?<![^\W_])(1N\d{2,4}[A-Z]?|1S\d{2,5}[A-Z]?|(?:AA|BA|BB|BY|OA)[A-Z]?\d{2,4}[A-Z]{0,2}|BZ[A-Z]\d{2}[A-Z0-9]*)(?![^\W_])"
)
TRANSISTOR_TYPE = re.compile(
    r"(?<![^\W_])(2N\d{3,4}[A-Z]?|2S[ABCDJK]\d{2,4}[A-Z]{0,2}|(?:AC|AD|AF|BC|BD|BF|BS|BU)[A-Z]?\d{2,4}[A-Z]?(?:-\d{2})?|TIP\d{2,4}[A-Z]?|J\d{3}|OC\d{2,3})(?![^\W_])"
)
REGULATOR_TYPE = re.compile(
    r"(?<![^\W_])[A-Z]{0,3}((?:78|79)(?:L|M)?(?:0[35689]|1[0258]|2[04]))[A-Z]{0,3}(?![^\W_])|(?<![^\W_])[A-Z]{1,3}(317|337)[A-Z]{0,2}(?![^\W_])"
    r"|(?<![^\W_])L[MT]-?(333|338|350)[A-Z]{0,2}(?![^\W_])|(?<![^\W_])(?:lm|lt)\s?-?(317|333|337|338|350)[a-z]{0,2}(?![^\W_])"
    r"|(?<![^\W_])(?:lm|ua|uA|mc|l)\s?((?:78|79)(?:l|m)?(?:0[35689]|1[0258]|2[04]))[a-z]{0,3}(?![^\W_])"
)
_REGULATED = {
    **dict.fromkeys(("78", "317", "338", "350"), "positive"),
    **dict.fromkeys(("79", "333", "337"), "negative"),
}
"""Polarity of the output by the number of the family, fixed (78, 79) and adjustable (common practice)."""
_PACKAGE = re.compile(
    r"(?<![^\W_])(TO-?(?:\d{1,3})[A-Z]{0,2}|SOT-?\d{2,3}|DO-?\d{2,3}[A-Z]{0,2}|SOD-?\d{3}|SO-?8|DPAK|SM[ABC]|MELF|DIP-?\d)(?![^\W_])",
    re.IGNORECASE,
)
_LADDERS = {
    "1N400": (dict(zip("1234567", (50, 100, 200, 400, 600, 800, 1000), strict=True)), 1.0, "standard"),
    "1N540": (dict(zip("0124678", (50, 100, 200, 400, 600, 800, 1000), strict=True)), 3.0, "standard"),
    "1N581": (dict(zip("789", (20, 30, 40), strict=True)), 1.0, "schottky"),
}
_POLARITY = {"2SA": "pnp", "2SB": "pnp", "2SC": "npn", "2SD": "npn"}
_NPN = (
    *(
        "BC107",
        "BC108",
        "BC109",
        "BC237",
        "BC238",
        "BC239",
        "BC337",
        "BC338",
        "BC546",
        "BC547",
        "BC548",
        "BC549",
        "BC550",
    ),
    *(
        "BC635",
        "BC637",
        "BC639",
        "BC817",
        "BC818",
        "BC846",
        "BC847",
        "BC848",
        "BC849",
        "BC850",
        "BD135",
        "BD137",
        "BD139",
    ),
    *("2N2222", "2N3904", "2N3053", "2N3055"),
)
_PNP = (
    *(
        "BC177",
        "BC178",
        "BC179",
        "BC307",
        "BC308",
        "BC309",
        "BC327",
        "BC328",
        "BC556",
        "BC557",
        "BC558",
        "BC559",
        "BC560",
    ),
    *(
        "BC636",
        "BC638",
        "BC640",
        "BC807",
        "BC808",
        "BC856",
        "BC857",
        "BC858",
        "BC859",
        "BC860",
        "BD136",
        "BD138",
        "BD140",
    ),
    *("2N2907", "2N3906", "2N2905", "2N2955"),
)
_OTHER = {"2N3819": "n-jfet", "BF245": "n-jfet", "2N7000": "n-mos", "BS170": "n-mos", "BS250": "p-mos"}
_REGISTERED = {**dict.fromkeys(_NPN, "npn"), **dict.fromkeys(_PNP, "pnp"), **_OTHER}
"""Polarity of registered types that every bench knows (common practice); any suffix letter is left aside."""
_SIGNAL_DIODES = {"1N4148": (100.0, 0.2, "fast"), "1N914": (100.0, 0.2, "fast")}
"""Repetitive reverse volts, amperes, recovery of registered types (from memory)."""
SPACED_TYPE = re.compile(
    r"(?<![^\W_])(?i:((?:bc|bd|bf)\s?\d{3}[a-c]?|2n\s?\d{4}[a-c]?))(?![^\W_]|[.,/]\d|\s?(?:mm|x\d))"
)
"""The commonest registered types as they are typed: `bc 557`, `2n3904`."""
_OR = re.compile(r"\s?(?:/|\b(?:or|oder|ou|или)\b)\s?")
_PIN_ORDER = re.compile(
    r"(?<![^\W_])(?:pinout |pins? )?"
    r"((?:[EBC]-){2}[EBC]|[EBC]{3}|(?:[GDS]-){2}[GDS]|[GDS]{3}|(?:(?:IN|OUT|GND|ADJ)-){2}(?:IN|OUT|GND|ADJ))(?![^\W_])"
)
_NONE: frozenset[str] = frozenset()


def _package(draft: Draft) -> None:
    match = draft.scan.take(_PACKAGE)
    if match:
        plain = re.fullmatch(r"([A-Za-z]+)-?(\d.*)", match[1])
        draft.put("package", f"{plain[1]}-{plain[2]}".upper() if plain else match[1].upper())
    pins = draft.scan.take(_PIN_ORDER)
    if pins and len(set(re.findall(r"IN|OUT|GND|ADJ|[A-Z]", pins[1]))) == 3:
        draft.put("pin_order", "-".join(re.findall(r"IN|OUT|GND|ADJ|[A-Z]", pins[1])))


def fill_diode(draft: Draft) -> None:
    """Type number, or zener volts and power, or reverse volts and current."""
    scan = draft.scan
    zener = bool(re.search(r"zener|z diode|стабилитрон", scan.low))
    found = scan.take(DIODE_TYPE)
    if found:
        draft.put("type_number", found[1])
        draft.part_number = found[1]
        _ladder(draft, found[1])
    _package(draft)
    common.attribute_words(draft)
    common.take_fraction_power(draft)
    ratings, rest = common.split_volts(draft, scan.measures(frozenset({"V"})))
    for measure, _ in ratings:
        draft.put_measure("zener_voltage" if zener else "reverse_voltage", measure)
    for measure in rest:
        before = re.search(r"(?<![^\W_])(?:ifsm|surge)\s?[:=]?\s?$", scan.low[: measure.start])
        if measure.unit == "A":
            if before:
                scan.claim(before.start(), before.end())
            draft.put_measure("surge_current" if before else "current", measure)
    common.place(draft, [m for m in rest if m.unit != "A"], {"W": "power"})
    bare = next(scan.find(rf"{BEGIN}(\d{{1,3}}(?:[.,]\d{{1,2}})?)(?![\w%]|[.,]\d)"), None)
    if bare and not draft.has("zener_voltage") and not draft.has("reverse_voltage"):
        scan.claim(bare.start(), bare.end())
        value = common.first(bare[1])
        choices = [Choice("zener volts", {"zener_voltage": draft.value("zener_voltage", value)})]
        if not zener and not re.search(r"[.,]", bare[1]):
            choices.append(Choice("reverse volts", {"reverse_voltage": draft.value("reverse_voltage", value)}))
        draft.ask(*choices)


def _ladder(draft: Draft, number: str) -> None:
    if number in _SIGNAL_DIODES:
        volts, amperes, recovery = _SIGNAL_DIODES[number]
        draft.put("reverse_voltage", volts, implied=True)
        draft.put("current", amperes, implied=True)
        draft.put("recovery", recovery, implied=True)
    ladder = _LADDERS.get(number[:5])
    if ladder and number[5:6] in ladder[0]:
        draft.put("reverse_voltage", float(ladder[0][number[5]]), implied=True)
        draft.put("current", ladder[1], implied=True)
        draft.put("recovery", ladder[2], implied=True)


def _transistor_type(draft: Draft, found: re.Match[str]) -> None:
    """The type with the polarity known of it; `BC547 or BC557` is a question."""
    scan = draft.scan
    numbers = [found[1]]
    link = _OR.match(scan.text, found.end())
    other = (TRANSISTOR_TYPE.match(scan.text, link.end()) or SPACED_TYPE.match(scan.text, link.end())) if link else None
    if other:
        scan.claim(found.end(), other.end())
        numbers.append(other[1])
    choices = []
    for number in (written.upper().replace(" ", "") for written in numbers):
        facts = {"type_number": draft.value("type_number", number)}
        polarity = _POLARITY.get(number[:3]) or _REGISTERED.get(re.sub(r"[A-Z]?(?:-\d+)?$", "", number))
        if polarity:
            facts["polarity"] = draft.value("polarity", polarity, implied=True)
        choices.append(Choice(f"type {number}", facts))
        draft.part_number = "" if other else number
    draft.ask(*choices)


def fill_transistor(draft: Draft) -> None:
    """Type number and the figures in words; the polarity follows from the letters of a registered type."""
    scan = draft.scan
    if found := scan.take(TRANSISTOR_TYPE) or scan.take(SPACED_TYPE):
        _transistor_type(draft, found)
    _package(draft)
    gain = scan.take(rf"(?<![^\W_])(?:hfe|gain|β)\s?[:=>]?\s?(\d{{1,5}}){END}", low=True)
    if gain:
        draft.put("gain", float(gain[1]))
    common.attribute_words(draft)
    ratings, rest = common.split_volts(draft, scan.measures(_NONE))
    for measure, _ in ratings:
        draft.put_measure("voltage", measure)
    common.place(draft, rest, {"A": "current", "W": "power", "Hz": "transition_frequency"})


def fill_regulator(draft: Draft) -> None:
    """Type number of the fixed families, or volts and current in words."""
    scan = draft.scan
    found = scan.take(REGULATOR_TYPE)
    if found:
        number = found[0].upper().replace(" ", "")
        draft.put("type_number", number)
        draft.part_number = number
        adjustable = found[2] or found[3] or found[4]
        family = (found[1] or found[5] or "").upper()
        draft.put("polarity", _REGULATED[adjustable or family[:2]], implied=True)
        if family:
            volts = float(family[-2:])
            draft.put("output_voltage", volts if family.startswith("78") else -volts, implied=True)
            draft.put("current", {"L": 0.1, "M": 0.5}.get(family[2:3], 1.0), implied=True)
            draft.put("dropout", 2.0, implied=True)
        else:
            draft.put("adjustable", True, implied=True)  # noqa: FBT003
    _package(draft)
    common.attribute_words(draft)
    maximum = scan.take(
        r"(?<![^\W_])(?:max(?:imum)?\s(?:input|in)|vin(?:\smax)?|input(?:\smax)?)\s?[:=]?\s?(\d{1,3}(?:[.,]\d)?)\s?v(?![^\W_])",
        low=True,
    )
    if maximum:
        draft.put("input_voltage", common.first(maximum[1]))
    dropout = scan.take(r"(?<![^\W_])dropout\s?[:=]?\s?(\d{1,2}(?:[.,]\d{1,2})?)\s?v(?![^\W_])", low=True)
    if dropout:
        draft.put("dropout", common.first(dropout[1]))
    ratings, rest = common.split_volts(draft, scan.measures(frozenset({"V"})))
    below = draft.attributes.get("polarity")
    for measure, _ in ratings:
        if len(measure.values) > 1:
            draft.put_measure("output_voltage", measure)
            continue
        negative = scan.text[measure.start - 1 : measure.start] in {"-", "−"} and measure.start > 0
        value = measure.values[0]
        scan.claim(measure.start - negative, measure.end)
        # a figure without a sign agrees with a negative type, or with the word
        negative = negative or (below is not None and below.value == "negative")
        draft.put("output_voltage", scaled(repr(-value if negative else value)))
    common.place(draft, rest, {"A": "current"})
