"""Class files: what the built-in ones keep to, and where a broken one is refused."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from importlib import resources
from pathlib import Path

import msgspec
import pytest

from catalog.spec import KINDS
from catalog.text import LINE_LIMIT, Refused
from triage.device_classes.loader import build_class, load_classes, parse_class, read_class
from triage.device_classes.schema import Check, DeviceClass, Hazard, ReadingLimits
from triage.device_classes.validation import FOUND, gates_open, slips

OWNED = {"screwdriver", "iron", "meter"}
"""What a bench is assumed to have until the person says otherwise."""

SMALL = """\
id = "lamp"
name = "Lamp"
origin = "M"
working = 10.0
as_is_ratio = 0.3
part_out_ratio = 0.4
open_minutes = 5.0
mains = false
words = ["lamp"]

[[functions]]
id = "light"
name = "lights"

[[parts]]
id = "bulb"
name = "bulb"
kind = "listed"
origin = "M"
typical_cost = 1.0

[[faults]]
id = "blown"
what = "bulb blown"
origin = "M"
share = 0.7
needs = ["bulb"]
minutes = 5.0
skill = 1
risk = "L"
success = 0.9

[[faults]]
id = "loose"
what = "wire loose"
origin = "M"
share = 0.3
minutes = 5.0
skill = 2
risk = "L"
success = 0.9

[[checks]]
id = "glow"
question = "Does it glow?"
good = "yes"
do = "Switch it on."
origin = "M"
state = "closed"
powered = true
minutes = 1.0
leak = 0.02
fails = { blown = 0.95, loose = 0.5 }
function = "light"

[[checks]]
id = "rock"
question = "Did anything change?"
good = "no"
do = "Rock the lead."
origin = "M"
state = "opened"
minutes = 2.0
gate = ["glow failed"]
leak = 0.05
fails = { loose = 0.8 }

[[checks]]
id = "ohms"
question = "Under 10 ohm?"
good = "reading"
do = "Ohms across the bulb."
origin = "M"
state = "opened"
minutes = 2.0
leak = 0.05
fails = { blown = 0.9 }
reading = { unit = "ohm", low = 1.0, high = 10.0, scale = "log" }

[[symptoms]]
id = "dark"
origin = "M"
words = ["dark"]
checks = ["glow"]

[[hazards]]
id = "glass"
question = "Is the glass cracked?"
caution = "Cracked glass: gloves."
locks = ["powered"]
releases = ["bulb out"]
source = "common practice"
allows_post = true

[[conditions]]
id = "damp"
name = "damp"
question = "Is it rusty?"
prior = 0.1
origin = "M"
raises = { loose = 0.2 }

[[setups]]
id = "bench"
name = "on the bench"
minutes = 1.0
origin = "M"

[[paths]]
id = "supply"
name = "plug to bulb"
origin = "M"
between = [["loose"], ["blown"]]

[[paths.points]]
id = "plug"
at = "plug"
minutes = 1.0

[[paths.points]]
id = "holder"
at = "bulb holder"
minutes = 1.0

[[paths.points]]
id = "glow"
at = "bulb"
minutes = 1.0
"""


@pytest.fixture(scope="module", params=sorted(load_classes()))
def built_in(request: pytest.FixtureRequest) -> DeviceClass:
    return load_classes()[request.param]


def _owned(check: Check) -> bool:
    return check.permission is None and set(check.tools) <= OWNED


# ---- the built-in files


def test_built_in_files_carry_the_id_of_their_name_and_no_slip() -> None:
    classes = load_classes()
    names = {entry.name for entry in resources.files("triage.device_classes").iterdir() if entry.name.endswith(".toml")}
    assert {f"{each.id}.toml" for each in classes.values()} == names == {f"{key}.toml" for key in classes}
    assert len(classes) == 10
    assert {each.id: list(slips(each)) for each in classes.values()} == {key: [] for key in classes}


def test_every_fault_can_be_found_with_the_tools_of_a_plain_bench(built_in: DeviceClass) -> None:
    best = {
        fault.id: max(
            check.fails.get(fault.id, 0.0) * gates_open(built_in, check, fault.id)
            for check in built_in.checks
            if _owned(check)
        )
        for fault in built_in.faults
    }
    assert {fault: chance for fault, chance in best.items() if chance < FOUND} == {}


def test_every_function_can_be_tested_closed_on_a_plain_bench(built_in: DeviceClass) -> None:
    tested = {check.function for check in built_in.checks if check.function and _owned(check)}
    assert tested == {function.id for function in built_in.functions}
    assert all(check.state == "closed" and _owned(check) for check in built_in.checks if check.function)


def test_most_faulty_units_fail_a_function(built_in: DeviceClass) -> None:
    """`fixed` must mean something: whatever is wrong, the whole-function test is likely to show it."""
    seen = 0.0
    for fault in built_in.faults:
        missed = 1.0
        for check in built_in.checks:
            if check.function:
                missed *= 1 - check.fails.get(fault.id, 0.0)
        seen += (fault.share or 0.0) * (1 - missed)
    assert seen > 0.7


def test_texts_fit_a_small_terminal_and_ask(built_in: DeviceClass) -> None:
    asked = [*built_in.checks, *built_in.hazards, *built_in.conditions]
    assert all(item.question.endswith("?") and len(item.question) <= 76 for item in asked)
    cautions = [*built_in.cautions, *(item.caution for item in [*built_in.checks, *built_in.hazards])]
    assert all(len(caution) <= 76 for caution in cautions)
    assert all(len(check.do) <= 110 for check in built_in.checks)


def test_looks_that_change_nothing_are_good_when_the_answer_is_no(built_in: DeviceClass) -> None:
    changes = [check for check in built_in.checks if check.question == "Did anything change?"]
    assert all(check.good == "no" for check in changes)
    assert {check.good for check in built_in.checks} == {"yes", "no", "reading"}


def test_donor_parts_are_priced_below_new_ones_and_consumables_stay_out(built_in: DeviceClass) -> None:
    for part in built_in.parts:
        assert part.kind in KINDS
        assert part.resale == 0 if part.consumable else 0 < part.resale < part.typical_cost
    kept = sum(part.resale for part in built_in.parts)
    assert 0.5 < kept / (built_in.working * built_in.part_out_ratio) < 1.6


def test_each_share_that_is_not_from_memory_says_so(built_in: DeviceClass) -> None:
    origins = {fault.id: fault.origins.get("share", fault.origin) for fault in built_in.faults}
    assert set(origins.values()) <= {"R", "G", "C", "M"}
    assert "R" in origins.values()
    assert all(fault.origins.get("minutes", fault.origin) == "M" for fault in built_in.faults)


def test_words_name_one_class_only() -> None:
    said = [words for each in load_classes().values() for words in each.words]
    assert len(said) == len(set(said))
    assert all(words == words.lower() for words in said)


def test_live_mains_is_asked_for_wherever_an_open_mains_set_is_powered() -> None:
    for each in load_classes().values():
        if not each.mains:
            continue
        for check in each.checks:
            if check.state == "opened" and check.powered and check.permission != "live_mains":
                assert "close the case" in check.do or "on cells, mains lead out" in check.do
        for point in (point for path in each.paths for point in path.points):
            assert point.state == "closed" or point.permission == "live_mains"


# ---- hazards


def test_swollen_pack_locks_everything_wherever_there_may_be_one() -> None:
    packed = {each.id: h for each in load_classes().values() for h in each.hazards if h.id == "swollen_pack"}
    assert set(packed) == {"gamepad", "handheld", "cassette_player", "disc_music_player"}
    for swollen in packed.values():
        assert set(swollen.locks) == {"powered", "opened", "charging", "posting"}
        assert not swollen.allows_post
        assert swollen.locked_after(["isolated outside", "handed over"]) == set(swollen.locks)


def test_swollen_pack_holds_everything_until_the_pack_is_out() -> None:
    gamepad = load_classes()["gamepad"]
    (swollen,) = [hazard for hazard in gamepad.hazards if hazard.id == "swollen_pack"]
    all_locks = {"powered", "opened", "charging", "posting"}
    assert swollen.locked_after([]) == all_locks
    assert not swollen.allows_post
    assert swollen.locked_after(["isolated outside"]) == all_locks
    assert swollen.locked_after(["handed over"]) == all_locks
    assert swollen.locked_after(["something else"]) == all_locks
    assert swollen.locked_after(["isolated outside", "pack removed by a competent person"]) == frozenset()
    held = {check.id for check in gamepad.checks if check.held_by() & swollen.locked_after([])}
    assert {check.id for check in gamepad.checks} - held == {"port_look", "contacts_look", "plug_look"}
    assert gamepad.check("charge").held_by() == {"powered", "charging"}


@pytest.mark.parametrize(
    ("class_id", "hazard_id", "locks"),
    [
        ("disc_console", "mains_inside", {"opened"}),
        ("disc_console", "stored_charge", {"opened"}),
        ("disc_console", "unsafe_supply", {"powered"}),
        ("disc_console", "bare_laser", {"powered"}),
        ("portable_radio", "mains_inside", {"opened"}),
        ("portable_radio", "live_chassis", {"opened", "powered"}),
        ("portable_radio", "leaked_cells", {"powered", "posting"}),
        ("gamepad", "leaked_cells", {"powered", "posting"}),
        ("cart_console", "mains_inside", {"opened"}),
        ("cart_console", "unsafe_supply", {"powered"}),
        ("handheld", "leaked_cells", {"powered", "posting"}),
        ("cassette_player", "leaked_cells", {"powered", "posting"}),
        ("radio_cassette", "mains_inside", {"opened"}),
        ("radio_cassette", "stored_charge", {"opened"}),
        ("radio_cassette", "leaked_cells", {"powered", "posting"}),
        ("radio_cassette", "cracked_cap", {"powered"}),
        ("small_amp", "mains_inside", {"opened"}),
        ("small_amp", "stored_charge", {"opened"}),
        ("small_amp", "unsafe_supply", {"powered"}),
        ("small_amp", "live_chassis", {"opened", "powered"}),
        ("disc_music_player", "mains_inside", {"opened"}),
        ("disc_music_player", "stored_charge", {"opened"}),
        ("disc_music_player", "bare_laser", {"powered"}),
        ("turntable", "mains_inside", {"opened"}),
        ("turntable", "stored_charge", {"opened"}),
        ("turntable", "live_chassis", {"opened", "powered"}),
    ],
)
def test_hazards_lock_what_they_must_and_handing_over_frees_nothing(
    class_id: str, hazard_id: str, locks: set[str]
) -> None:
    (hazard,) = [each for each in load_classes()[class_id].hazards if each.id == hazard_id]
    assert hazard.locked_after([]) == locks
    assert hazard.locked_after([hazard.releases[0]]) == frozenset()
    handed = [action for action in hazard.releases if action.startswith("handed")]
    assert hazard.locked_after(handed) == locks
    if "opened" in locks and hazard_id != "live_chassis":
        assert "below 10 V" in hazard.releases[0] or "below a minute later" in hazard.releases[0]


def test_a_release_may_lift_some_locks_only() -> None:
    hazard = Hazard(
        id="x",
        question="?",
        caution="",
        locks=("powered", "opened"),
        releases=("cover on", "cured"),
        source="-",
        frees={"cover on": ("powered",)},
    )
    assert hazard.locked_after(["cover on"]) == {"opened"}
    assert hazard.locked_after(["cured"]) == frozenset()


# ---- readings


def test_limits_of_both_forms() -> None:
    assert ReadingLimits(unit="V", low=4.75, high=5.25).limits() == (4.75, 5.25)
    assert ReadingLimits(unit="V", nominal=5.0, tolerance=5.0).limits() == pytest.approx((4.75, 5.25))
    with pytest.raises(ValueError, match="low and high"):
        ReadingLimits(unit="V", low=1.0).limits()


def test_the_five_volt_rail_keeps_five_percent() -> None:
    reading = load_classes()["disc_console"].check("rail_5v").reading
    assert reading is not None
    assert reading.limits() == pytest.approx((5 * 0.95, 5 * 1.05))


def test_ohms_above_nought_are_read_on_a_log_scale(built_in: DeviceClass) -> None:
    for check in built_in.checks:
        if check.reading is not None and check.reading.unit == "ohm":
            low, _ = check.reading.limits()
            assert check.reading.scale == ("log" if low > 0 else "linear")


# ---- the person's own files


def test_own_files_add_and_override(tmp_path: Path) -> None:
    built = resources.files("triage.device_classes").joinpath("gamepad.toml").read_text("utf-8")
    (tmp_path / "lamp.toml").write_text(SMALL, encoding="utf-8")
    (tmp_path / "mine.toml").write_text(built.replace("working = 18.0", "working = 25.0"), encoding="utf-8")
    (tmp_path / "readme.txt").write_text("not a class", encoding="utf-8")
    classes = load_classes(tmp_path)
    assert set(classes) == {*load_classes(), "lamp"}
    assert len(classes) == len(load_classes()) + 1
    assert classes["gamepad"].working == 25.0
    assert load_classes()["gamepad"].working == 18.0
    assert "lamp" not in load_classes()
    with pytest.raises(KeyError):
        classes["teapot"]


def test_a_folder_that_is_not_there_adds_nothing(tmp_path: Path) -> None:
    assert set(load_classes(tmp_path / "none")) == set(load_classes())


def test_the_second_of_two_own_files_of_one_id_is_left_out(tmp_path: Path) -> None:
    (tmp_path / "a.toml").write_text(SMALL, encoding="utf-8")
    (tmp_path / "b.toml").write_text(SMALL.replace('name = "Lamp"', 'name = "Other"'), encoding="utf-8")
    classes = load_classes(tmp_path)
    assert classes["lamp"] == read_class(tmp_path / "a.toml")
    (problem,) = classes.problems
    assert problem.startswith("b.toml: a.toml has the id lamp too")


def test_files_that_are_not_right_are_left_out_and_the_others_stay(tmp_path: Path) -> None:
    (tmp_path / "gamepad.toml").write_text('id = "gamepad"\nname = [', encoding="utf-8")
    (tmp_path / "lamp.toml").write_text(SMALL, encoding="utf-8")
    (tmp_path / "x.toml").mkdir()
    classes = load_classes(tmp_path)
    assert classes["gamepad"] == load_classes()["gamepad"]
    assert "lamp" in classes
    assert [problem.split(": ")[0] for problem in classes.problems] == ["gamepad.toml:2", "x.toml"]
    assert "cannot be read" in classes.problems[1]


def test_a_file_that_is_gone_is_refused(tmp_path: Path) -> None:
    with pytest.raises(Refused, match=r"^gone\.toml: cannot be read"):
        read_class(tmp_path / "gone.toml")


def test_windows_line_ends_and_a_byte_order_mark_are_fine(tmp_path: Path) -> None:
    path = tmp_path / "lamp.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SMALL.replace("\n", "\r\n").encode())
    assert read_class(path) == parse_class(SMALL.encode(), "lamp.toml")


def test_inline_data_is_the_same_class() -> None:
    assert build_class(tomllib.loads(SMALL), "case 3") == parse_class(SMALL.encode(), "lamp.toml")
    with pytest.raises(Refused, match=r"^case 3: name: is missing"):
        build_class({"id": "lamp"}, "case 3")


# ---- refusals


BROKEN = [
    ("unknown key", 'name = "Lamp"', 'name = "Lamp"\ncolour = "red"', "colour: unknown key"),
    ("unknown key of a check", "leak = 0.02", "leak = 0.02\nleek = 1", "checks[glow].leek: unknown key"),
    ("missing", "leak = 0.02\n", "", "checks[glow].leak: is missing"),
    ("wrong type", "leak = 0.02", 'leak = "low"', "checks[glow].leak: expected float, got str"),
    ("wrong word", 'state = "closed"', 'state = "ajar"', "checks[glow].state: invalid enum value 'ajar'"),
    ("wrong type in a map", "blown = 0.95", 'blown = "x"', "checks[glow].fails.blown: expected float"),
    ("chance", "leak = 0.02", "leak = 1.02", "checks[glow].leak: 1.02 is not a chance"),
    ("not a number", "leak = 0.02", "leak = nan", "checks[glow].leak: nan is not a number"),
    ("endless", "working = 10.0", "working = inf", "working: inf is not a number"),
    ("strength", "blown = 0.95", "blown = 1.5", "checks[glow].fails.blown: 1.5 is not a chance"),
    ("price", "working = 10.0", "working = -10.0", "working: -10 is below 0"),
    ("cost", "typical_cost = 1.0", "typical_cost = -1.0", "parts[bulb].typical_cost: -1 is below 0"),
    ("minutes", "minutes = 1.0\nleak", "minutes = -1.0\nleak", "checks[glow].minutes: -1 is below 0"),
    ("flip", "leak = 0.02", "leak = 0.02\nflip = 0.6", "checks[glow].flip: 0.6 would make"),
    ("repeated id", 'id = "rock"', 'id = "glow"', "checks[glow].id: this id is used twice"),
    ("bad id", 'id = "bulb"', 'id = "the bulb"', "parts[the bulb].id: an id is"),
    ("kind", 'kind = "listed"', 'kind = "bulb"', "parts[bulb].kind: bulb is no kind of part"),
    ("pieces", "typical_cost = 1.0", "typical_cost = 1.0\npieces = 0", "parts[bulb].pieces: expected 1"),
    (
        "consumable",
        "typical_cost = 1.0",
        "typical_cost = 1.0\nconsumable = true\nresale = 1.0",
        "parts[bulb].consumable: what is used up",
    ),
    ("part of a fault", 'needs = ["bulb"]', 'needs = ["wick"]', "faults[blown].needs: wick is no part"),
    (
        "part it lies in",
        'needs = ["bulb"]',
        'needs = ["bulb"]\nlies_in = ["wick"]',
        "faults[blown].lies_in: wick is no part",
    ),
    ("fault of a check", "blown = 0.95", "burnt = 0.95", "checks[glow].fails.burnt: burnt is no fault"),
    ("gate", '"glow failed"', '"glows failed"', "checks[rock].gate: glows is no check"),
    ("cures", 'gate = ["glow failed"]', 'cures = ["rust"]', "checks[rock].cures: rust is no fault"),
    ("set-up", 'function = "light"', 'function = "light"\nsetup = "x"', "checks[glow].setup: x is no setup"),
    ("function", 'function = "light"', 'function = "heat"', "checks[glow].function: heat is no function"),
    ("untested function", 'function = "light"', "", "functions[light]: no check has this function"),
    ("symptom", 'checks = ["glow"]', 'checks = ["gloom"]', "symptoms[dark].checks: gloom is no check"),
    ("silent symptom", 'words = ["dark"]', "words = []", "symptoms[dark].words: state the words"),
    ("condition", "raises = { loose = 0.2 }", "raises = { rust = 0.2 }", "conditions[damp].raises.rust: rust is no"),
    ("condition strength", "raises = { loose = 0.2 }", "raises = { loose = 2 }", "conditions[damp].raises.loose: 2 is"),
    ("path", '[["loose"], ["blown"]]', '[["loose"], ["rust"]]', "paths[supply].between[1]: rust is no fault"),
    (
        "ahead of a path",
        'between = [["loose"], ["blown"]]',
        'between = [["loose"], ["blown"]]\nbefore = ["rust"]',
        "paths[supply].before: rust is no fault",
    ),
    (
        "check of a point",
        'at = "bulb holder"',
        'at = "bulb holder"\ncheck = "gloom"',
        "paths[supply].points[holder].check: gloom is no check",
    ),
    ("stretches", '[["loose"], ["blown"]]', '[["loose"]]', "paths[supply].between: 1 stretches for 3 points"),
    ("shares", "share = 0.7", "share = 0.6", "faults: the shares sum to 0.9"),
    ("no share", "share = 0.7\n", "", "faults[blown].share: state share or prior"),
    ("skill", "skill = 1", "skill = 5", "faults[blown].skill: 5 is no skill"),
    (
        "no cure",
        'success = 0.9\n\n[[faults]]\nid = "loose"',
        'success = 0.9\nrepairable = false\n\n[[faults]]\nid = "loose"',
        "faults[blown].success: above 0 where",
    ),
    ("reading without", 'good = "reading"', 'good = "yes"', 'checks[ohms].reading: good = "reading" and a reading'),
    ("reading missing", 'good = "no"', 'good = "reading"', 'checks[rock].reading: good = "reading" and a reading'),
    ("limits", "high = 10.0", "high = 0.5", "checks[ohms].reading: low 1 is not below high 0.5"),
    ("both forms", "high = 10.0", "high = 10.0, nominal = 5.0", "checks[ohms].reading: state low and high, or nominal"),
    ("log from nought", "low = 1.0", "low = 0.0", "checks[ohms].reading.scale: no log scale from 0"),
    ("range", "high = 10.0", "high = 10.0, range_high = 9.0", "checks[ohms].reading.range_high: 9 is not above"),
    ("locks", 'locks = ["powered"]', "locks = []", "hazards[glass].locks: locks nothing"),
    ("releases", 'releases = ["bulb out"]', "releases = []", "hazards[glass].releases: state what"),
    ("posting", "allows_post = true", "", "hazards[glass].allows_post: true exactly where"),
    ("frees", "allows_post = true", "allows_post = true\nfrees = { x = [] }", "hazards[glass].frees.x: is none"),
    (
        "frees too much",
        "allows_post = true",
        'allows_post = true\nfrees = { "bulb out" = ["opened"] }',
        "hazards[glass].frees.bulb out: opened is not locked",
    ),
    (
        "origin field",
        "share = 0.7",
        'share = 0.7\norigins = { shares = "R" }',
        "faults[blown].origins.shares: names no",
    ),
    ("origin word", "share = 0.7", 'share = 0.7\norigins = { share = "X" }', "faults[blown].origins.share: invalid"),
    ("empty text", 'question = "Does it glow?"', 'question = " "', "checks[glow].question: is empty"),
    ("ring of gates", "leak = 0.02", 'leak = 0.02\ngate = ["rock"]', "checks[glow].gate: waits for itself"),
    (
        "hidden by its gate",
        "leak = 0.05\nfails = { blown = 0.9 }",
        'leak = 0.05\ngate = ["glow"]\nfails = { blown = 0.9 }',
        "checks[ohms].gate: hides blown",
    ),
]


@pytest.mark.parametrize(("old", "new", "said"), [row[1:] for row in BROKEN], ids=[row[0] for row in BROKEN])
def test_a_slip_is_refused_at_its_place(old: str, new: str, said: str) -> None:
    assert old in SMALL
    with pytest.raises(Refused) as refusal:
        parse_class(SMALL.replace(old, new, 1).encode(), "lamp.toml")
    assert str(refusal.value).startswith(f"lamp.toml: {said}")
    assert "\n" not in str(refusal.value)


def test_a_fault_that_nothing_shows_is_refused() -> None:
    text = SMALL.replace("loose = 0.5", "loose = 0.2").replace("{ loose = 0.8 }", "{ blown = 0.8 }")
    with pytest.raises(Refused, match=r"^lamp\.toml: faults\[loose\]: no check that can be reached.*20%"):
        parse_class(text.encode(), "lamp.toml")


def test_four_conditions_are_too_many() -> None:
    raw = tomllib.loads(SMALL)
    raw["conditions"] = [{**raw["conditions"][0], "id": f"damp{number}"} for number in range(4)]
    with pytest.raises(Refused, match="conditions: 4 of them; at most 3"):
        build_class(raw, "lamp.toml")


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("id = 'a'\nname = \n", 2),
        ("id = 'a'\nid = 'b'\n", 2),
        ("id = 'a'\n\n[[checks\n", 3),
        ("id = 'a'\nname = 'never closed", 2),
        ('id = "a"\nname = """never closed\n', 2),
    ],
)
def test_what_is_no_toml_names_the_line(text: str, line: int) -> None:
    with pytest.raises(Refused, match=rf"^bad\.toml:{line}: not valid TOML"):
        parse_class(text.encode(), "bad.toml")


def test_binary_junk_and_huge_input_are_refused() -> None:
    with pytest.raises(Refused, match=r"^bad\.toml:2: not UTF-8"):
        parse_class(b"id = 'a'\n\xff\xfe\x00", "bad.toml")
    with pytest.raises(Refused, match=r"^bad\.toml:1: not valid TOML"):
        parse_class(b"\x00\x01\x02", "bad.toml")
    with pytest.raises(Refused, match=r"^bad\.toml:2: line of 100,007 characters"):
        parse_class(b"id = 'a'\nname='" + b"x" * 100_000 + b"'", "bad.toml")
    with pytest.raises(Refused, match=r"^bad\.toml: larger than"):
        parse_class(b"#\n" * 600_000, "bad.toml")
    with pytest.raises(Refused, match=r"^bad\.toml: nested too deeply"):
        parse_class(b"".join(b"a = " + b"[" * 1900 for _ in range(1)), "bad.toml")


def test_a_text_longer_than_a_line_is_refused_not_cut() -> None:
    long = "\n".join(["x" * (LINE_LIMIT // 2)] * 3)
    with pytest.raises(Refused, match=r"^lamp\.toml: checks\[glow\]\.do: text of"):
        parse_class(SMALL.replace('"Switch it on."', f'"""{long}"""').encode(), "lamp.toml")


def test_hostile_text_is_cleaned_on_entry() -> None:
    text = SMALL.replace('"Does it glow?"', r'"Does \u001b[31mit\u202e [bold]glow[/bold]\u0007?"')
    text = text.replace('what = "bulb blown"', 'what = "bulb\\nblown\\u200b"')
    read = parse_class(text.encode(), "lamp.toml")
    assert read.check("glow").question == "Does it [bold]glow[/bold]?"
    assert read.fault("blown").what == "bulb blown"
    every_text = msgspec.json.encode(read).decode()
    assert re.search(r"\\u001b|\\u0007|\u202e|\u200b", every_text) is None


def test_refusals_carry_no_escape_sequences() -> None:
    with pytest.raises(Refused) as refusal:
        parse_class(SMALL.replace('kind = "listed"', r'kind = "\u001b]0;x\u0007bulb"').encode(), "la\x1b[31mmp.toml")
    assert str(refusal.value).isprintable()


def test_look_ups_by_id() -> None:
    read = parse_class(SMALL.encode(), "lamp.toml")
    assert read.part("bulb").typical_cost == 1.0
    with pytest.raises(KeyError):
        read.fault("bulb")


MEETING = """
import sys, threading
from triage.device_classes.loader import load_classes
classes, met, names = load_classes(), threading.Barrier(4), []
def read():
    met.wait()
    names.append(classes["gamepad"].id)
sys.setswitchinterval(1e-6)
threads = [threading.Thread(target=read) for _ in range(4)]
for thread in threads: thread.start()
for thread in threads: thread.join()
print(*sorted(set(names)), len(names))
"""


def test_threads_that_meet_over_the_first_class_read_it_and_live():
    """Without `catalog.shapes.ready` half of such processes die of a bad address."""
    done = subprocess.run([sys.executable, "-c", MEETING], capture_output=True, check=False, text=True)
    assert done.returncode == 0, done.stderr
    assert done.stdout.split() == ["gamepad", "4"]


TIED = {"series lamp": "series_lamp", "transformer": "isolating_transformer", "bench supply": "bench_supply"}
"""Words of a caution -> the tool they ask for."""


def test_a_caution_that_asks_for_a_tool_is_tied_to_it(built_in: DeviceClass) -> None:
    """The check needs that tool, or the caution says what to answer without it."""
    for check in built_in.checks:
        for word, tool in TIED.items():
            if word in check.caution.lower():
                assert tool in check.tools or ": s, not now" in check.caution, (check.id, check.caution)


@pytest.mark.parametrize("class_id", sorted(load_classes()))
def test_the_whole_function_test_takes_no_tool_and_no_training(class_id):
    for check in load_classes()[class_id].checks:
        if check.function:
            assert not check.tools, check.id
            assert check.permission is None, check.id
            assert check.state == "closed", check.id
